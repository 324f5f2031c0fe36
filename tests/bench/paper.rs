//! The bench sheet on paper: the same numbers as on the screen, read back by poppler and qpdf.

use axum::http::StatusCode;

use super::world::Bench;
use crate::papers::{ask, read_without_complaint};

async fn printed(bench: &mut Bench, paper: &str) -> Option<String> {
    let address = format!("/bench/LG-1107A/sheet.pdf?paper={paper}");
    let answer = bench.technician.get(&address).await;
    answer.is(StatusCode::OK);
    assert_eq!(answer.headers["content-type"], "application/pdf");
    read_without_complaint(&answer.bytes);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("sheet.pdf");
    std::fs::write(&file, &answer.bytes).unwrap();
    ask("qpdf", &["--check"], &file, &[])?;
    let text = ask("pdftotext", &["-raw"], &file, &["-"])?;
    let words = String::from_utf8(text).unwrap();
    Some(words.replace('\u{200b}', "").split_whitespace().collect())
}

#[tokio::test]
async fn the_paper_carries_plan_limits_cautions_and_fields() {
    let mut bench = Bench::with(&[("sections", "4")]).await.planned().await;
    for paper in ["a4", "letter"] {
        let Some(words) = printed(&mut bench, paper).await else {
            return;
        };
        for wanted in [
            "Bench sheet LG-1107A",
            "rebuild 1, leak",
            "reflex, 4 sections",
            "Locked out and tagged",
            "Glass and gaskets are thrown away, always",
            "flat within 0.002 in, at least 0.1",
            "32 ft·lbf (43.39 N·m), nameplate",
            "5 ft·lbf, 10 ft·lbf, 15 ft·lbf, 20 ft·lbf, 25 ft·lbf, 32 ft·lbf",
            "Never tighten a gauge under pressure",
            "Required: 1500 psi, held for at least 5 min",
            "Wrench, calibrated until",
        ] {
            let wanted: String = wanted.split_whitespace().collect();
            assert!(words.contains(&wanted), "{paper}: {wanted} not in {words}");
        }
    }
}

#[tokio::test]
async fn a_transparent_gauge_has_the_faces_of_both_sides_on_paper() {
    let changes = [("sections", "3"), ("kind", "transparent"), ("kit", "2")];
    let mut bench = Bench::with(&changes).await.planned().await;
    let Some(words) = printed(&mut bench, "a4").await else {
        return;
    };
    assert!(words.contains("coverrecessattheback"), "{words}");
}
