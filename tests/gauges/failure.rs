//! A failure reported in the field makes the gauge due now.

use axum::http::StatusCode;

use super::hang;
use crate::plant::Plant;

const PAGE: &str = "/gauges/LG-1107A/failure";
/// A gauge whose rebuild and look-over are both far off.
const FAR_OFF: &[(&str, &str)] = &[("installed_on", "2026-02-20")];

#[tokio::test]
async fn one_tap_on_what_is_wrong_makes_the_gauge_due_today() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, FAR_OFF).await;
    let mut storekeeper = plant.storekeeper().await;
    let answer = storekeeper
        .fill(PAGE, PAGE, &[("kind", "cracked-glass")])
        .await;
    answer.is(StatusCode::SEE_OTHER);
    storekeeper
        .get(answer.goes_to())
        .await
        .says("Due 2 Mar 2026 (today): failure in service")
        .says("cracked glass , seen 2 Mar 2026, reported by Test storekeeper")
        .says("Keep clear of the glass line")
        .says("Failure: cracked glass , open");
    storekeeper
        .get("/due")
        .await
        .says("LG-1107A")
        .says("failure in service");
}

#[tokio::test]
async fn the_earliest_of_two_open_failures_sets_the_date() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, FAR_OFF).await;
    let mut technician = plant.technician().await;
    technician.fill(PAGE, PAGE, &[("kind", "leak")]).await;
    technician
        .fill(
            PAGE,
            PAGE,
            &[("kind", "stuck-valve"), ("seen_on", "27 Feb 2026")],
        )
        .await;
    technician
        .get("/gauges/LG-1107A")
        .await
        .says("Due 27 Feb 2026");
    technician
        .get(PAGE)
        .await
        .says("Reported already: leak , seen 2 Mar 2026");
}

#[tokio::test]
async fn something_else_needs_a_word_of_what() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut technician = plant.technician().await;
    technician
        .fill(PAGE, PAGE, &[("kind", "other")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say in a few words what is wrong");
    technician
        .fill(PAGE, PAGE, &[("kind", "other"), ("note", "cover loose")])
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_refused_report_keeps_what_was_typed() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut technician = plant.technician().await;
    technician
        .fill(
            PAGE,
            PAGE,
            &[
                ("kind", "leak"),
                ("note", "drips"),
                ("seen_on", "2026-03-03"),
            ],
        )
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("This day is still to come")
        .says("drips");
    technician
        .fill(PAGE, PAGE, &[("kind", ""), ("note", "drips")])
        .await
        .says("Choose one: what went wrong");
}

#[tokio::test]
async fn pressing_twice_reports_one_failure() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut technician = plant.technician().await;
    let key = technician.get(PAGE).await.field("key");
    let fields = [("key", key.as_str()), ("kind", "leak")];
    let first = technician.post(PAGE, &fields).await;
    let second = technician.post(PAGE, &fields).await;
    assert_eq!(first.goes_to(), second.goes_to());
    // Gone back and reported once more it is still one.
    technician
        .fill(PAGE, PAGE, &[("kind", "leak")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Leak, seen that day, is on record already; Test technician reported it");
    let page = technician.get("/gauges/LG-1107A/history").await;
    assert_eq!(page.text.matches("Failure:").count(), 1);
}

#[tokio::test]
async fn nothing_is_reported_of_a_retired_gauge() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    engineer
        .fill(
            "/gauges/LG-1107A/standing",
            "/gauges/LG-1107A/standing",
            &[
                ("to", "retired"),
                ("reason", "vessel gone"),
                ("version", "1"),
            ],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .fill(PAGE, PAGE, &[("kind", "leak")])
        .await
        .says("This gauge is retired");
}

#[tokio::test]
async fn a_failure_was_not_seen_before_the_gauge_hung() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, FAR_OFF).await;
    let mut technician = plant.technician().await;
    technician
        .fill(PAGE, PAGE, &[("kind", "leak"), ("seen_on", "1999-01-01")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("check the year");
    let look_over = "/gauges/LG-1107A/look-over";
    technician
        .fill(
            look_over,
            look_over,
            &[("found", "sound"), ("on", "1990-01-01")],
        )
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("check the year");
}

#[tokio::test]
async fn a_failure_reported_by_mistake_is_taken_back_with_a_reason_and_stays_readable() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, FAR_OFF).await;
    plant
        .storekeeper()
        .await
        .fill(PAGE, PAGE, &[("kind", "leak")])
        .await
        .is(StatusCode::SEE_OTHER);
    let back = "/gauges/LG-1107A/take-back/1";
    let mut technician = plant.technician().await;
    technician
        .fill(back, back, &[("why", "wrong gauge")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Test storekeeper reported it");
    let mut inspector = plant.inspector().await;
    inspector
        .fill(back, back, &[("why", "")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say what the mistake was");
    inspector
        .fill(back, back, &[("why", "it was the gauge beside it")])
        .await
        .is(StatusCode::SEE_OTHER);
    inspector
        .get("/gauges/LG-1107A")
        .await
        .says("Due 20 May 2026")
        .does_not_say("Failure open")
        .says("taken back by Test inspector as reported by mistake: it was the gauge beside it");
    inspector.get(back).await.is(StatusCode::NOT_FOUND);
    crate::storeroom::all_is_sealed_and_true(&plant).await;
}
