//! A wrench that is found bad while a section is being tightened with it: no pass goes on with it, and what was
//! done with it does not count.

use axum::http::StatusCode;

use super::world::{Bench, SHEET};

const PASS_4: &str = "/bench/LG-1107A/tightened?section=1&wrench=TW-07&pass=4";
const WHY: &str = "TW-07 was found out of tolerance on 2 Mar 2026";

async fn found(bench: &mut Bench, what: &str) {
    let page = "/instruments/TW-07/calibrate";
    let fields = [
        ("calibrated_on", "2026-03-02"),
        ("due_on", "2027-03-01"),
        ("reference", what),
        ("found", what),
        ("note", ""),
    ];
    bench
        .engineer
        .fill(page, page, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn no_pass_goes_on_with_a_wrench_that_was_found_bad_meanwhile() {
    let mut bench = Bench::new().await.assembled().await;
    bench.technician.get(PASS_4).await.says("pass 4 of 6");
    found(&mut bench, "out-of-tolerance").await;
    let page = bench.technician.get(PASS_4).await;
    page.says(WHY).does_not_say("pass 4 of 6");
    assert!(
        page.text.contains("id=\"wrench-wrong\""),
        "beside the choice"
    );
    assert!(page.text.contains("data-tightens"), "another one is chosen");
}

/// Common practice, no source: a good wrench moves no nut that was pulled too far by a bad one.
#[tokio::test]
async fn passes_made_with_a_bad_wrench_are_made_again_from_loosened_nuts() {
    let mut bench = Bench::new().await.assembled().await;
    found(&mut bench, "out-of-tolerance").await;
    bench
        .technician
        .get(PASS_4)
        .await
        .says("The passes that were made with it do not count")
        .says("Loosen every nut of this section in the reverse order");
    // Before the first pass there is nothing to loosen.
    let begun = format!("{SHEET}/tightened?section=1&wrench=TW-07&begin=yes");
    bench
        .technician
        .get(&begun)
        .await
        .says(WHY)
        .does_not_say("Loosen every nut of this section");
}

#[tokio::test]
async fn the_press_that_ends_a_section_is_refused_with_a_wrench_that_was_found_bad() {
    let mut bench = Bench::new().await.assembled().await;
    let end = format!("{SHEET}/tightened?section=1&wrench=TW-07&pass=6");
    let page = bench.technician.get(&end).await;
    let (key, seen) = (page.field("key"), page.field("seen"));
    found(&mut bench, "out-of-tolerance").await;
    let fields = [
        ("key", key.as_str()),
        ("seen", seen.as_str()),
        ("section", "1"),
        ("wrench", "TW-07"),
        ("pass", "6"),
        ("finished", ""),
    ];
    let answer = bench
        .technician
        .post(&format!("{SHEET}/tightened"), &fields)
        .await;
    answer
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says(WHY)
        .says("The passes that were made with it do not count");
    bench.sheet().await.says("Tighten the gauge");
}
