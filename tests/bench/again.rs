//! A gauge that came back from its test only to be tightened again: once round at the full torque; every
//! pass where a nut hung, the bolting was touched or the cover opened.

use axum::http::StatusCode;

use super::world::{ASSEMBLED, Bench, SHEET, send};
use crate::pressure_tests::world::{plant, rebuilt, taken_back};

const TIGHT: &[(&str, &str)] = &[("section", "1"), ("wrench", "TW-07")];
const ONE_ROUND: &[(&str, &str)] = &[("section", "1"), ("wrench", "TW-07"), ("again", "yes")];
const FIRST_PASS: &str = "/bench/LG-1107A/tightened?section=1&wrench=TW-07&pass=1";

/// A gauge of one section that failed its test and came back.
async fn back(rework: &str) -> Bench {
    let mut bench = Bench::new().await.on_test().await;
    bench.tested("failed").await;
    bench
        .go("back", &[("rework", rework), ("reason", "weep at nut 4")])
        .await
        .is(StatusCode::SEE_OTHER);
    bench
}

/// A wrench set below what a nut stands at clicks at once. Common practice, no source.
#[tokio::test]
async fn a_section_that_was_tight_goes_round_once_at_the_full_torque() {
    let mut bench = back("tighten").await;
    bench
        .sheet()
        .await
        .says("Tighten the gauge again")
        .says("Sent back from its test: weep at nut 4; to be done again: tightened again; the cover stays closed.")
        .says("once round at the full torque")
        .says("The maker’s instructions come first where they differ")
        .says("Begin the round");
    bench
        .technician
        .get(FIRST_PASS)
        .await
        .says("Tighten again, once round")
        .says("All nuts at 32 ft·lbf: it is tight")
        .does_not_say("All nuts at 5 ft·lbf");
    // What an old page noted of passes that move no nut is not taken.
    let finished = "5 2026-03-02T09:00:00.000Z,32 2026-03-02T09:00:00.000Z";
    let mut noted = TIGHT.to_vec();
    noted.push(("finished", finished));
    bench
        .send("tightened", &noted)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The passes noted on this page are not those of the plan, which are 32 ft·lbf");
    bench.record("tightened", ONE_ROUND).await;
    let words = "Passes once round at 32 ft·lbf; its cover had stayed closed";
    bench
        .sheet()
        .await
        .says("Last recorded: Tightened again")
        .says(words);
    bench.its_record().await.says(words);
    // By hand: six passes over twelve nuts, and each of them once more.
    bench
        .engineer
        .get("/instruments/TW-07")
        .await
        .says("84 loadings since its calibration");
    bench.is_sound().await;
}

#[tokio::test]
async fn what_is_put_right_of_such_a_round_stays_one_round() {
    let mut bench = back("tighten").await;
    bench.record("tightened", TIGHT).await;
    let entry: i64 = {
        let mut db = bench.plant.store.read().await.unwrap();
        sqlx::query_scalar("SELECT max(id) FROM bench_entry")
            .fetch_one(&mut *db)
            .await
            .unwrap()
    };
    let mut correction = TIGHT.to_vec();
    correction.extend([("note", "nut 4 moved"), ("reason", "forgot the note")]);
    let address = Bench::correction("tightened", entry);
    send(&mut bench.technician, &address, &correction)
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .sheet()
        .await
        .says("nut 4 moved")
        .says("Passes once round at 32 ft·lbf");
    bench
        .engineer
        .get("/instruments/TW-07")
        .await
        .says("84 loadings since its calibration");
    bench.is_sound().await;
}

#[tokio::test]
async fn a_hanging_nut_or_bolting_that_was_touched_takes_every_pass() {
    for found in [&["hangs", "renewed"][..], &["run-by-hand"]] {
        let mut bench = back("tighten").await;
        for done in found {
            bench.record("bolting", &[("done", done)]).await;
        }
        bench
            .technician
            .get(FIRST_PASS)
            .await
            .says("Tighten, pass 1 of 6")
            .says("All nuts at 5 ft·lbf")
            .does_not_say("once round");
        // A page that was opened before offered one round.
        bench
            .send("tightened", ONE_ROUND)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("one round is not enough: go through every pass from the first");
        bench.record("tightened", TIGHT).await;
        bench.its_record().await.does_not_say("once round");
        bench.is_sound().await;
    }
}

#[tokio::test]
async fn a_cover_that_was_opened_takes_every_pass() {
    let mut bench = back("open").await;
    bench
        .record("kits", &[("lot", "1"), ("quantity", "1")])
        .await;
    bench.record("assembled", ASSEMBLED).await;
    bench
        .technician
        .get(FIRST_PASS)
        .await
        .says("Tighten, pass 1 of 6");
    bench.record("tightened", TIGHT).await;
    bench.its_record().await.does_not_say("once round");
}

#[tokio::test]
async fn of_several_sections_the_one_that_came_back_is_named_and_no_order_given() {
    let plant = plant().await;
    let id = rebuilt(&plant).await;
    taken_back(&plant, id).await;
    let mut technician = plant.technician().await;
    technician
        .get(SHEET)
        .await
        .says("Tighten section 2 of 4 again")
        .says("Sent back from its test: a nut was marked wrongly; to be done again, section 2: tightened again")
        .does_not_say("are done in the order");
    technician
        .get(&format!("{SHEET}/enter"))
        .await
        .says("Section 2, once round at 32 ft·lbf");
    technician
        .get(&format!("{SHEET}/tightened?section=2&wrench=TW-07&pass=1"))
        .await
        .says("Tighten section 2 again, once round");
    // Of a section that is tight every pass would be made.
    technician
        .get(&format!("{SHEET}/tightened?section=3&wrench=TW-07&pass=2"))
        .await
        .says("Tighten section 3, pass 2 of 6");
}
