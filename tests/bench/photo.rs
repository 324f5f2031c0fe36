//! Photographs taken at the bench: kept anew without what the camera wrote beside the picture, shown
//! on the sheet and in the record, never changed.

use axum::http::StatusCode;

use super::world::{Bench, SHEET};
use crate::gauges::photo::small_file;
use crate::plant::Answer;

async fn taken(bench: &mut Bench, fields: &[(&str, &str)], bytes: &[u8]) -> Answer {
    let key = bench
        .technician
        .get(&format!("{SHEET}/photo"))
        .await
        .field("key");
    let mut all = vec![("key", key.as_str())];
    all.extend_from_slice(fields);
    let file = ("photo", "IMG_0001.JPG", bytes);
    bench
        .technician
        .upload(&format!("{SHEET}/photo"), &all, file)
        .await
}

#[tokio::test]
async fn a_photograph_of_what_was_found_stays_in_the_record_of_the_rebuild() {
    let mut bench = Bench::with(&[("sections", "2")]).await.started().await;
    let fields = [("section", "2"), ("caption", "leak path, lower end")];
    let answer = taken(&mut bench, &fields, &small_file()).await;
    answer.is(StatusCode::SEE_OTHER);
    assert_eq!(answer.goes_to(), SHEET);
    let sheet = bench.sheet().await;
    sheet
        .says("leak path, lower end, section 2")
        .says("Test technician");
    let record = bench.its_record().await;
    record.says("Photographs").says("leak path, lower end");
    let at = record.text.find("/rebuilds/1/photos/").expect("a picture");
    let start = record.text[..at].rfind('"').expect("a quote") + 1;
    let end = start + record.text[start..].find('"').expect("a quote");
    let address = record.text[start..end].replace("&#38;", "&");
    let served = bench.technician.get(&address).await;
    served.is(StatusCode::OK);
    assert_eq!(served.headers["content-type"], "image/jpeg");
    bench.is_sound().await;
}

#[tokio::test]
async fn what_is_no_photograph_or_of_no_section_is_refused_beside_its_field() {
    let mut bench = Bench::with(&[("sections", "2")]).await.started().await;
    for (fields, bytes, words) in [
        (
            [("section", "2"), ("caption", "kept words")],
            b"not a picture".to_vec(),
            "this is none of them",
        ),
        (
            [("section", "2"), ("caption", "kept words")],
            Vec::new(),
            "Choose a photograph first",
        ),
        (
            [("section", ""), ("caption", "kept words")],
            small_file(),
            "Choose the section",
        ),
    ] {
        let refused = taken(&mut bench, &fields, &bytes).await;
        refused.is(StatusCode::UNPROCESSABLE_ENTITY).says(words);
        assert_eq!(refused.field("caption"), "kept words");
    }
    bench.sheet().await.does_not_say("Photographs");
}
