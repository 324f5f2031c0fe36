//! Resting, bringing back and retiring.

use axum::http::StatusCode;

use super::hang;
use crate::plant::Plant;

const PAGE: &str = "/gauges/LG-1107A/standing";

#[tokio::test]
async fn a_resting_gauge_falls_due_on_no_date_and_comes_back_as_it_was() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    engineer
        .fill(
            PAGE,
            PAGE,
            &[
                ("to", "resting"),
                ("reason", "vessel empty"),
                ("version", "1"),
            ],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("resting. No due date")
        .says("Put to rest: vessel empty");
    engineer.get("/due").await.does_not_say("LG-1107A");
    engineer
        .fill(
            PAGE,
            PAGE,
            &[
                ("to", "in-service"),
                ("reason", "vessel filled"),
                ("version", "2"),
            ],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("Due 30 Apr 2024")
        .says("Brought back into service: vessel filled");
}

#[tokio::test]
async fn a_retired_gauge_comes_back_as_resting_first() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    let change = |to: &'static str, version: &'static str| {
        vec![("to", to), ("reason", "as planned"), ("version", version)]
    };
    engineer
        .fill(PAGE, PAGE, &change("retired", "1"))
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get(PAGE)
        .await
        .says("Bring back as resting")
        .does_not_say("Bring back into service");
    engineer
        .fill(PAGE, PAGE, &change("in-service", "2"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("A retired gauge comes back as resting first");
    engineer
        .fill(PAGE, PAGE, &change("resting", "2"))
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_reason_is_asked_for_and_what_was_typed_stays() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    engineer
        .fill(
            PAGE,
            PAGE,
            &[("to", "resting"), ("reason", " "), ("version", "1")],
        )
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say why in a few words; it stays in the history");
    engineer
        .fill(
            PAGE,
            PAGE,
            &[("to", "scrapped"), ("reason", "rusty"), ("version", "1")],
        )
        .await
        .says("Choose one: whether the gauge is in service")
        .says("rusty");
}

#[tokio::test]
async fn the_second_of_two_people_is_told_who_was_first() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let mut administrator = plant.administrator().await;
    hang(&mut engineer, &[]).await;
    let stale = administrator.get(PAGE).await.field("version");
    engineer
        .fill(
            PAGE,
            PAGE,
            &[
                ("to", "resting"),
                ("reason", "vessel empty"),
                ("version", "1"),
            ],
        )
        .await;
    administrator
        .fill(
            PAGE,
            PAGE,
            &[("to", "retired"), ("reason", "old"), ("version", &stale)],
        )
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("was changed by Test reliability engineer since you opened this page")
        .says("is resting");
}

#[tokio::test]
async fn a_gauge_whose_rebuild_is_open_does_not_rest() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    plant
        .run("INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by) VALUES (1, 1, 'planned', 'interval', '2026-04-01', '2026-03-01T08:00:00.000Z', 4)")
        .await
        .expect("a rebuild");
    // The page opened before the rebuild was planned still has its buttons.
    engineer
        .get(PAGE)
        .await
        .says("A rebuild of this gauge is open")
        .does_not_say("Put to rest");
    let key = engineer.get("/gauges/LG-1107A/failure").await.field("key");
    engineer
        .post(
            PAGE,
            &[
                ("key", key.as_str()),
                ("to", "resting"),
                ("reason", "empty"),
                ("version", "1"),
            ],
        )
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("finish or abandon it first");
}
