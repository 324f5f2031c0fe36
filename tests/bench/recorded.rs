//! What the sheet says was recorded: the last of it at the top of the next step; and in their place among
//! the entries the kits that were issued and given back, the steps from state to state and the tests.

use axum::http::StatusCode;
use time::macros::datetime;

use super::world::{ASSEMBLED, Bench, MADE_SAFE, SHEET};
use crate::plant::plain;

/// What stands under "Recorded so far" of the sheet.
async fn so_far(bench: &mut Bench) -> String {
    let page = bench.sheet().await;
    let words = plain(&page.text);
    let (_, recorded) = words.split_once("Recorded so far").expect("the record");
    recorded.to_owned()
}

/// Asserts that words stand in this order.
fn in_order(text: &str, words: &[&str]) {
    let mut from = 0;
    for one in words {
        let at = text[from..].find(one);
        from += at.unwrap_or_else(|| panic!("{one:?} after {words:?} in {text}"));
    }
}

#[tokio::test]
async fn kits_issued_and_given_back_stand_in_their_place_with_lot_and_who() {
    let mut bench = Bench::with(&[("sections", "1"), ("kits_per_rebuild", "2")])
        .await
        .inspected()
        .await;
    bench.plant.turn_to(datetime!(2026-03-02 09:10 UTC));
    bench
        .record("kits", &[("lot", "1"), ("quantity", "2")])
        .await;
    let page = bench.sheet().await;
    page.says("Last recorded: 2 kits issued, lot A-101 . Test technician, 2 Mar 2026, 09:10.");
    assert!(page.text.contains("/storeroom/kits/SW-K-250R/lots/A-101\""));
    let issued = "2 kits issued Test technician, 2 Mar 2026, 09:10 Kit SW-K-250R Lot A-101 , to be used up to 30 Sep 2026";
    let recorded = so_far(&mut bench).await;
    in_order(&recorded, &[issued, "Bolting checked", "Stripped"]);
    // One is brought back, and another one taken in its place.
    bench.plant.turn_to(datetime!(2026-03-02 09:20 UTC));
    let (kits, back) = (format!("{SHEET}/kits"), format!("{SHEET}/kits-back"));
    bench
        .technician
        .fill(&kits, &back, &[("lot", "1"), ("back", "1")])
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .sheet()
        .await
        .says("Last recorded: 1 kit given back to the storeroom, lot A-101");
    bench
        .record("kits", &[("lot", "1"), ("quantity", "1")])
        .await;
    bench.plant.turn_to(datetime!(2026-03-02 09:30 UTC));
    bench.record("assembled", ASSEMBLED).await;
    let recorded = so_far(&mut bench).await;
    let order = [
        "Assembled",
        "1 kit issued",
        "1 kit given back to the storeroom",
        "2 kits issued",
        "Bolting checked",
    ];
    in_order(&recorded, &order);
    bench.is_sound().await;
}

#[tokio::test]
async fn each_step_says_what_was_recorded_last_by_whom_and_when() {
    let mut bench = Bench::new().await.planned().await;
    bench.sheet().await.does_not_say("Last recorded");
    bench.press("start").await.is(StatusCode::SEE_OTHER);
    bench.sheet().await.says("Last recorded: To the bench");
    bench.plant.turn_to(datetime!(2026-03-02 09:05 UTC));
    bench.record("made-safe", MADE_SAFE).await;
    let last = "Last recorded: Made safe . Test technician, 2 Mar 2026, 09:05.";
    bench.sheet().await.says(last);
    // Who looks on from another tablet reads the same; a step that is only opened says nothing of it.
    bench.engineer.get(SHEET).await.says(last);
    bench
        .technician
        .get(&format!("{SHEET}/remark"))
        .await
        .does_not_say("Last recorded");
}

#[tokio::test]
async fn once_it_was_tested_the_test_is_what_was_recorded_last() {
    let mut bench = Bench::new().await.on_test().await;
    bench.sheet().await.says("Last recorded: Sent to its test");
    bench.tested("passed").await;
    bench
        .sheet()
        .await
        .says("Last recorded: Pressure test TW-T-1, passed . Test inspector");
}

#[tokio::test]
async fn a_test_of_whose_tester_no_name_was_kept_is_a_test_nevertheless() {
    let mut bench = Bench::new().await.on_test().await;
    bench.tested("passed").await;
    bench
        .plant
        .run("DELETE FROM known_as WHERE person_id = (SELECT person_id FROM pressure_test)")
        .await
        .expect("no name");
    bench
        .sheet()
        .await
        .says("Passed its test: return it")
        .says("Pressure test TW-T-1, passed . somebody whose name was not kept");
}

#[tokio::test]
async fn the_first_pass_of_a_section_says_what_was_recorded_last_and_no_other() {
    let mut bench = Bench::new().await.assembled().await;
    let pass = |n: u8| format!("{SHEET}/tightened?section=1&wrench=TW-07&pass={n}");
    bench
        .technician
        .get(&pass(1))
        .await
        .says("Last recorded: Assembled");
    bench
        .technician
        .get(&pass(2))
        .await
        .does_not_say("Last recorded");
}

#[tokio::test]
async fn steps_from_state_to_state_and_tests_stand_in_their_place() {
    let mut bench = Bench::new().await.on_test().await;
    bench.tested("failed").await;
    let back = [("rework", "tighten"), ("reason", "weep at nut 4")];
    bench.go("back", &back).await.is(StatusCode::SEE_OTHER);
    bench.record("tightened", &[("wrench", "TW-07")]).await;
    let order = [
        "Tightened again",
        "Back to the bench",
        "weep at nut 4; to be done again: tightened again; the cover stays closed",
        "Pressure test TW-T-1 , failed",
        "Sent to its test",
        "Tightened",
        "Assembled",
        "1 kit issued",
        "Bolting checked",
        "Made safe",
        "To the bench",
    ];
    in_order(&so_far(&mut bench).await, &order);
    // The record tells the same from the beginning.
    let page = bench.its_record().await;
    let words = plain(&page.text);
    let (_, done) = words.split_once("What was done").expect("the story");
    let forwards = [
        "To the bench",
        "Made safe",
        "1 kit issued , SW-K-250R , lot A-101",
        "Assembled",
        "Sent to its test",
        "Pressure test TW-T-1 : failed",
        "Back to the bench",
        "Tightened again",
    ];
    in_order(done, &forwards);
}
