//! A deferral is signed by an engineer with a reason, and never passes its limit.

use axum::http::StatusCode;

use super::hang;
use crate::plant::{PASSWORD, Plant, Visitor};

const PAGE: &str = "/gauges/LG-1107A/deferral";

async fn sign(visitor: &mut Visitor, fields: &[(&str, &str)]) -> crate::plant::Answer {
    let mut all = vec![
        ("until", "2026-06-30"),
        ("hard_limit", "2026-09-30"),
        ("reason", "kit comes in May; looked over weekly"),
        ("password", PASSWORD),
    ];
    all.retain(|(name, _)| !fields.iter().any(|(other, _)| other == name));
    all.extend_from_slice(fields);
    visitor.fill(PAGE, PAGE, &all).await
}

/// Rebuild due 1 April 2026, look-over 1 March 2026: both fall before the deferral.
const NEARLY_DUE: &[(&str, &str)] = &[("installed_on", "2024-10-01")];

#[tokio::test]
async fn a_signed_deferral_stands_in_for_interval_and_look_over_until_its_date() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, NEARLY_DUE).await;
    let answer = sign(&mut engineer, &[]).await;
    answer.is(StatusCode::SEE_OTHER);
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("Due 30 Jun 2026")
        .says("deferral 30 Jun 2026 governs")
        .says("rebuild interval 1 Apr 2026 deferred")
        .says("Deferral signed until 30 Jun 2026 , never past 30 Sep 2026 kit comes in May; looked over weekly")
        .says("Test reliability engineer");
}

#[tokio::test]
async fn a_wrong_password_signs_nothing_and_keeps_what_was_typed() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, NEARLY_DUE).await;
    let answer = sign(&mut engineer, &[("password", "some other words")]).await;
    answer
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("This is not your password")
        .says("kit comes in May");
    assert_eq!(answer.field("until"), "2026-06-30");
    assert_eq!(answer.field("password"), "");
    sign(&mut engineer, &[("password", "")])
        .await
        .says("Sign with your password");
    engineer
        .get("/gauges/LG-1107A")
        .await
        .does_not_say("Deferral signed");
}

#[tokio::test]
async fn a_second_deferral_never_passes_the_limit_signed_before() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, NEARLY_DUE).await;
    sign(&mut engineer, &[]).await.is(StatusCode::SEE_OTHER);
    sign(
        &mut engineer,
        &[("until", "2026-10-31"), ("hard_limit", "2026-12-31")],
    )
    .await
    .is(StatusCode::UNPROCESSABLE_ENTITY)
    .says("The limit signed before is 2026-09-30; no later deferral passes it until the gauge is rebuilt");
    sign(
        &mut engineer,
        &[("until", "2026-09-30"), ("hard_limit", "2026-09-30")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("Due 30 Sep 2026");
}

#[tokio::test]
async fn a_failure_is_never_deferred() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, NEARLY_DUE).await;
    engineer
        .fill(
            "/gauges/LG-1107A/failure",
            "/gauges/LG-1107A/failure",
            &[("kind", "leak")],
        )
        .await;
    sign(&mut engineer, &[])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("What governs is failure in service on 2026-03-02; no deferral moves it");
}

#[tokio::test]
async fn what_is_not_due_before_is_not_deferred_and_the_limit_is_not_before_the_date() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[("installed_on", "2026-02-20")]).await;
    for (fields, says) in [
        (
            vec![("until", "2026-03-10")],
            "Nothing that may be deferred falls due before this day",
        ),
        (
            vec![("hard_limit", "2026-05-30")],
            "The date no deferral passes is not before the deferral",
        ),
        (
            vec![("until", "2026-03-02")],
            "A deferral ends on a day to come",
        ),
        (vec![("reason", "")], "Give the reason"),
        (
            vec![("until", "soon")],
            "Write the date as 2026-12-31 or 31 Dec 2026",
        ),
    ] {
        sign(&mut engineer, &fields)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says(says);
    }
}

#[tokio::test]
async fn only_engineers_sign() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, NEARLY_DUE).await;
    for mut visitor in [
        plant.technician().await,
        plant.storekeeper().await,
        plant.inspector().await,
        plant.administrator().await,
    ] {
        visitor.get(PAGE).await.is(StatusCode::FORBIDDEN);
        visitor
            .post(PAGE, &[("until", "2026-06-30")])
            .await
            .is(StatusCode::FORBIDDEN);
    }
}
