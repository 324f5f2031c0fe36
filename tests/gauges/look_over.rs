//! Look-overs begin the look-over interval anew; one that finds a failure reports it.

use axum::http::StatusCode;

use super::hang;
use crate::plant::Plant;

const PAGE: &str = "/gauges/LG-1107A/look-over";

#[tokio::test]
async fn a_sound_look_over_begins_its_interval_anew() {
    let plant = Plant::new().await;
    hang(
        &mut plant.engineer().await,
        &[("installed_on", "2025-11-30")],
    )
    .await;
    let mut technician = plant.technician().await;
    technician
        .get("/gauges/LG-1107A")
        .await
        .says("Due 28 Feb 2026");
    technician
        .fill(PAGE, PAGE, &[("found", "sound"), ("on", "2026-02-27")])
        .await
        .is(StatusCode::SEE_OTHER);
    // Three calendar months on, as python-dateutil (relativedelta): 27 May 2026.
    technician
        .get("/gauges/LG-1107A")
        .await
        .says("Due 27 May 2026")
        .says("Look-over: sound");
}

#[tokio::test]
async fn a_look_over_recorded_by_mistake_is_taken_back_and_the_one_before_counts_again() {
    let plant = Plant::new().await;
    hang(
        &mut plant.engineer().await,
        &[("installed_on", "2025-11-30")],
    )
    .await;
    let mut technician = plant.technician().await;
    technician
        .fill(PAGE, PAGE, &[("found", "sound"), ("on", "2026-02-27")])
        .await
        .is(StatusCode::SEE_OTHER);
    let back = "/gauges/LG-1107A/look-over/1";
    technician
        .get("/gauges/LG-1107A")
        .await
        .says("Due 27 May 2026")
        .says("take it back");
    technician
        .fill(back, back, &[("why", "")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say what the mistake was");
    technician
        .fill(back, back, &[("why", "it was the gauge beside it")])
        .await
        .is(StatusCode::SEE_OTHER);
    // Due again by the day it was hung, as it was before.
    technician
        .get("/gauges/LG-1107A")
        .await
        .says("Due 28 Feb 2026")
        .says("taken back by Test technician as recorded by mistake: it was the gauge beside it");
    technician.get(back).await.is(StatusCode::NOT_FOUND);
    crate::storeroom::all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn a_look_over_of_somebody_else_is_taken_back_by_those_who_judge() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut inspector = plant.inspector().await;
    inspector
        .fill(PAGE, PAGE, &[("found", "sound"), ("on", "2026-02-27")])
        .await
        .is(StatusCode::SEE_OTHER);
    let back = "/gauges/LG-1107A/look-over/1";
    plant
        .technician()
        .await
        .fill(back, back, &[("why", "wrong gauge")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Test inspector recorded it; they, an inspector or an engineer take it back");
    plant
        .engineer()
        .await
        .fill(back, back, &[("why", "wrong gauge")])
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn what_is_to_be_watched_is_said() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut inspector = plant.inspector().await;
    inspector
        .fill(PAGE, PAGE, &[("found", "watch"), ("on", "2026-03-01")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say in a few words what is to be watched");
    inspector
        .fill(
            PAGE,
            PAGE,
            &[
                ("found", "watch"),
                ("on", "2026-03-01"),
                ("note", "glass dull at the top"),
            ],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    inspector
        .get("/gauges/LG-1107A")
        .await
        .says("Look-over: to be watched glass dull at the top");
}

#[tokio::test]
async fn a_look_over_that_finds_a_leak_reports_the_failure_in_the_same_breath() {
    let plant = Plant::new().await;
    hang(
        &mut plant.engineer().await,
        &[("installed_on", "2026-01-31")],
    )
    .await;
    let mut technician = plant.technician().await;
    technician
        .fill(
            PAGE,
            PAGE,
            &[
                ("found", "leak"),
                ("on", "2026-03-01"),
                ("note", "at the lower cover"),
            ],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    technician
        .get("/gauges/LG-1107A")
        .await
        .says("Look-over: a failure")
        .says("Failure: leak , open at the lower cover")
        .says("Due 1 Mar 2026 (1 day over): failure in service");
}

#[tokio::test]
async fn nobody_looks_over_tomorrow_or_without_saying_what_it_found() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut technician = plant.technician().await;
    for (found, on, says) in [
        ("sound", "2026-03-03", "This day is still to come"),
        ("", "2026-03-01", "Choose one: what the look-over found"),
        ("sound", "", "Write the date as 31 Dec 2026 or 2026-12-31"),
        (
            "sound",
            "31.2.26",
            "Write the date as 31 Dec 2026 or 2026-12-31",
        ),
    ] {
        technician
            .fill(PAGE, PAGE, &[("found", found), ("on", on)])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says(says);
    }
    technician
        .get("/gauges/LG-1107A/history?only=look-over")
        .await
        .says("Nothing more of this kind");
}

#[tokio::test]
async fn a_day_stands_in_its_field_as_people_read_it_and_is_read_back_so() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    let mut technician = plant.technician().await;
    let filled = technician.get(PAGE).await.field("on");
    assert_eq!(filled, "2 Mar 2026");
    // Copied from a page, the spaces may be such that do not break.
    for on in [filled.as_str(), "1\u{a0}Mar\u{a0}2026"] {
        technician
            .fill(PAGE, PAGE, &[("found", "sound"), ("on", on)])
            .await
            .is(StatusCode::SEE_OTHER);
    }
}

#[tokio::test]
async fn storekeepers_and_administrators_do_not_look_over() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, &[]).await;
    for mut visitor in [plant.storekeeper().await, plant.administrator().await] {
        visitor.get(PAGE).await.is(StatusCode::FORBIDDEN);
        visitor
            .post(PAGE, &[("found", "sound")])
            .await
            .is(StatusCode::FORBIDDEN);
    }
}
