//! Handing a rebuild to somebody of the next shift, and taking it over: both stand on the sheet and in
//! the record.

use axum::http::StatusCode;
use time::macros::datetime;

use super::world::{Bench, SHEET, send};

const NOTE: &str = "Section 1 is stripped; my lock L-12 hangs until you put yours on";

#[tokio::test]
async fn who_hands_to_whom_and_what_to_know_stands_on_the_sheet_and_in_the_record() {
    let mut bench = Bench::new().await.stripped().await;
    let form = bench.send("hand-over", &[("to", "4"), ("note", "")]).await;
    form.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say what the other has to know");
    bench
        .record("hand-over", &[("to", "4"), ("note", NOTE)])
        .await;
    bench
        .sheet()
        .await
        .says("Test technician handed this to Test reliability engineer")
        .says(NOTE)
        .does_not_say("I take it over");
    bench.plant.turn_to(datetime!(2026-03-02 14:05 UTC));
    let sheet = bench.engineer.get(SHEET).await;
    sheet.says("I take it over");
    let key = sheet.field("key");
    let address = format!("{SHEET}/take-over");
    for _ in 0..2 {
        bench
            .engineer
            .post(&address, &[("key", &key)])
            .await
            .is(StatusCode::SEE_OTHER);
    }
    bench
        .engineer
        .get(SHEET)
        .await
        .does_not_say("I take it over")
        .says("taken over 2 Mar 2026, 14:05");
    bench.its_record().await.says(NOTE).says("taken over");
    bench.is_sound().await;
}

/// 29 CFR 1910.147(f)(4), from memory: the protection by lock and tag goes on from shift to shift, each
/// under a lock of their own.
#[tokio::test]
async fn who_takes_over_is_told_to_hang_a_lock_of_their_own_before_any_work() {
    let own = "hang your own lock and tag as the plant’s procedure says";
    let mut bench = Bench::new().await.stripped().await;
    bench
        .record("hand-over", &[("to", "4"), ("note", NOTE)])
        .await;
    for page in ["/", "/bench", SHEET] {
        let shown = bench.engineer.get(page).await;
        shown
            .says("Nobody works under another’s lock")
            .says(own)
            .says("prove again that it is cold and free of pressure");
    }
    bench.sheet().await.does_not_say(own);
    // Taking it over is no work yet: what there is to know stays on top until they record something.
    let key = bench.engineer.get(SHEET).await.field("key");
    bench.plant.turn_to(datetime!(2026-03-02 14:05 UTC));
    bench
        .engineer
        .post(&format!("{SHEET}/take-over"), &[("key", &key)])
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .engineer
        .get(SHEET)
        .await
        .says("Test technician handed this to Test reliability engineer")
        .says(own)
        .does_not_say("I take it over");
    bench.plant.turn_to(datetime!(2026-03-02 14:20 UTC));
    let address = format!("{SHEET}/remark");
    send(
        &mut bench.engineer,
        &address,
        &[("text", "my lock L-31 hangs")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    bench
        .engineer
        .get(SHEET)
        .await
        .does_not_say("handed this to")
        .does_not_say(own);
}

#[tokio::test]
async fn what_was_handed_to_somebody_stands_on_their_board_and_bench_until_they_take_it_over() {
    let mut bench = Bench::new().await.stripped().await;
    bench
        .record("hand-over", &[("to", "4"), ("note", NOTE)])
        .await;
    for page in ["/", "/bench"] {
        bench
            .engineer
            .get(page)
            .await
            .says("Handed over to you")
            .says("LG-1107A BH-D-101 steam drum: Test technician handed it to you on 2 Mar 2026")
            .says("It waits for: the bolting to be checked")
            .says(NOTE);
        bench
            .technician
            .get(page)
            .await
            .does_not_say("Handed over to you");
    }
    let key = bench.engineer.get(SHEET).await.field("key");
    let address = format!("{SHEET}/take-over");
    bench
        .engineer
        .post(&address, &[("key", &key)])
        .await
        .is(StatusCode::SEE_OTHER);
    for page in ["/", "/bench"] {
        bench
            .engineer
            .get(page)
            .await
            .does_not_say("Handed over to you");
    }
}

#[tokio::test]
async fn nobody_hands_over_to_themselves_or_to_somebody_who_does_not_work_at_the_bench() {
    let mut bench = Bench::new().await.started().await;
    for (to, words) in [
        ("1", "Choose somebody else than yourself"),
        ("2", "Choose one: a technician or an engineer"),
        ("", "Choose who takes it over"),
    ] {
        bench
            .send("hand-over", &[("to", to), ("note", NOTE)])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says(words);
    }
    bench.sheet().await.does_not_say("handed this to");
}

#[tokio::test]
async fn what_was_not_handed_to_somebody_is_not_taken_over_by_them() {
    let mut bench = Bench::new().await.started().await;
    let key = bench.sheet().await.field("key");
    bench
        .technician
        .post(&format!("{SHEET}/take-over"), &[("key", &key)])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Nothing of this rebuild waits to be taken over by you");
}
