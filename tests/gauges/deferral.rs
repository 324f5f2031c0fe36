//! A deferral is asked for with reason, risk and mitigations, signed by somebody else, and never
//! passes its limit.

use axum::http::StatusCode;

use gaugewright::calc::due::Rule;
use time::macros::date;

use super::hang;
use crate::due::work::{asks, kept};
use crate::plant::{PASSWORD, Plant, Visitor};

const PAGE: &str = "/gauges/LG-1107A/deferral";

async fn ask(visitor: &mut Visitor, fields: &[(&str, &str)]) -> crate::plant::Answer {
    let mut all = vec![
        ("moves", "rebuild"),
        ("until", "2026-06-30"),
        ("hard_limit", "2026-09-30"),
        ("reason", "kit comes in May"),
        ("risk", "the gasket hardens further"),
        ("mitigations", "looked over weekly"),
    ];
    all.retain(|(name, _)| !fields.iter().any(|(other, _)| other == name));
    all.extend_from_slice(fields);
    visitor.fill(PAGE, PAGE, &all).await
}

/// Decides what waits on the gauge's page of deferrals.
async fn decide(visitor: &mut Visitor, fields: &[(&str, &str)]) -> crate::plant::Answer {
    let opened = visitor.get(PAGE).await;
    let (key, request) = (opened.field("key"), opened.field("request"));
    let mut all = vec![("key", key.as_str()), ("request", request.as_str())];
    all.extend_from_slice(fields);
    visitor.post(&format!("{PAGE}/decide"), &all).await
}

const SIGN: &[(&str, &str)] = &[("decision", "sign"), ("password", PASSWORD)];

/// Asked for by the engineer, signed by the inspector.
async fn sign(plant: &Plant, fields: &[(&str, &str)]) -> crate::plant::Answer {
    ask(&mut plant.engineer().await, fields)
        .await
        .is(StatusCode::SEE_OTHER);
    decide(&mut plant.inspector().await, SIGN).await
}

/// Rebuild due 1 April 2026, look-over 1 March 2026: both fall before the deferral.
const NEARLY_DUE: &[(&str, &str)] = &[("installed_on", "2024-10-01")];

#[tokio::test]
async fn a_signed_deferral_of_the_rebuild_leaves_the_look_over_where_it_is() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, NEARLY_DUE).await;
    sign(&plant, &[]).await.is(StatusCode::SEE_OTHER);
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("deferral 30 Jun 2026 considered")
        .says("rebuild interval 1 Apr 2026 deferred")
        .says("look-over interval 1 Jan 2025 governs")
        .says("Deferral signed until 30 Jun 2026 , never past 30 Sep 2026 kit comes in May")
        .says("Test inspector");
    engineer
        .get(PAGE)
        .await
        .says("the gasket hardens further looked over weekly Test reliability engineer")
        .says("signed by Test inspector");
}

/// Steam is rebuilt every 18 months and looked over every 3: installed on 1 October 2024, then on 20 December
/// 2025.
#[tokio::test]
async fn a_deferral_moves_what_asks_for_the_rebuild_and_one_of_the_look_over_does_not() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, NEARLY_DUE).await;
    let interval = (Rule::RebuildInterval, date!(2026 - 04 - 01));
    let before = kept(&plant, "LG-1107A").await;
    asks(&before, interval, interval, interval.1);
    sign(&plant, &[]).await.is(StatusCode::SEE_OTHER);
    let deferred = (Rule::Deferral, date!(2026 - 06 - 30));
    let after = kept(&plant, "LG-1107A").await;
    asks(&after, deferred, deferred, deferred.1);
    // The look-over is late since 1 January 2025, and governs.
    assert_eq!(
        (after.rule, after.date),
        (Rule::LookOver, date!(2025 - 01 - 01))
    );
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[("installed_on", "2025-12-20")]).await;
    let look_over = [
        ("moves", "look-over"),
        ("until", "2026-05-10"),
        ("hard_limit", "2026-05-31"),
    ];
    sign(&plant, &look_over).await.is(StatusCode::SEE_OTHER);
    let row = kept(&plant, "LG-1107A").await;
    assert_eq!(
        (row.rule, row.date),
        (Rule::Deferral, date!(2026 - 05 - 10))
    );
    let interval = (Rule::RebuildInterval, date!(2027 - 06 - 20));
    asks(&row, interval, interval, interval.1);
}

#[tokio::test]
async fn a_look_over_is_deferred_for_itself_and_the_next_look_over_ends_that() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[("installed_on", "2025-12-20")]).await;
    let look_over = [
        ("moves", "look-over"),
        ("until", "2026-05-10"),
        ("hard_limit", "2026-05-31"),
    ];
    sign(&plant, &look_over).await.is(StatusCode::SEE_OTHER);
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("Due 10 May 2026")
        .says("look-over interval 20 Mar 2026 deferred")
        .says("rebuild interval 20 Jun 2027 considered");
    let page = "/gauges/LG-1107A/look-over";
    plant.turn_to(time::macros::datetime!(2026-03-10 09:00 UTC));
    plant
        .technician()
        .await
        .fill(page, page, &[("found", "sound"), ("on", "2026-03-10")])
        .await
        .is(StatusCode::SEE_OTHER);
    // Three calendar months on, as python-dateutil (relativedelta): 10 June 2026.
    plant
        .engineer()
        .await
        .get("/gauges/LG-1107A")
        .await
        .says("Due 10 Jun 2026")
        .does_not_say("deferral 10 May 2026");
    crate::storeroom::all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn no_deferral_goes_further_than_one_interval_or_what_the_service_class_allows() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, NEARLY_DUE).await;
    // Due 1 April 2026, interval 18 months: common practice, no source.
    let far = [("until", "2026-06-30"), ("hard_limit", "2027-10-02")];
    ask(&mut engineer, &far)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says(
            "The rebuild may be deferred to 1 Oct 2027 at the latest: one interval past its date",
        );
    plant
        .run("UPDATE service_class SET defer_months = 6")
        .await
        .unwrap();
    let far = [("until", "2026-06-30"), ("hard_limit", "2026-10-02")];
    ask(&mut engineer, &far)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("to 1 Oct 2026 at the latest: the service class allows 6 months past its date");
    ask(&mut engineer, &[("hard_limit", "2026-10-01")])
        .await
        .is(StatusCode::SEE_OTHER);
    ask(&mut engineer, &[("moves", "")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn nothing_moves_before_somebody_else_has_signed() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, NEARLY_DUE).await;
    ask(&mut engineer, &[]).await.is(StatusCode::SEE_OTHER);
    engineer
        .get("/gauges/LG-1107A")
        .await
        .does_not_say("Deferral signed")
        .says("A deferral to 30 Jun 2026 is asked for by Test reliability engineer and waits for the signature of somebody else.");
    engineer
        .get(PAGE)
        .await
        .says("waits for a signature")
        .says("You asked for it; somebody else signs");
    decide(&mut engineer, SIGN)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Who asked for a deferral does not sign it");
    engineer
        .get("/due")
        .await
        .says("Deferrals that wait for a signature: LG-1107A until 30 Jun 2026");
}

#[tokio::test]
async fn a_second_one_is_not_asked_for_while_one_waits() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, NEARLY_DUE).await;
    // Two pages open at once.
    let key = engineer.get(PAGE).await.field("key");
    ask(&mut engineer, &[]).await.is(StatusCode::SEE_OTHER);
    let again = [
        ("key", key.as_str()),
        ("moves", "rebuild"),
        ("until", "2026-07-31"),
        ("hard_limit", "2026-09-30"),
        ("reason", "kit comes in May"),
        ("risk", "the gasket hardens further"),
        ("mitigations", "looked over weekly"),
    ];
    engineer
        .post(PAGE, &again)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("A deferral until 30 Jun 2026 that Test reliability engineer asked for waits");
}

#[tokio::test]
async fn a_refused_one_says_why_and_one_may_be_taken_back() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, NEARLY_DUE).await;
    ask(&mut engineer, &[]).await.is(StatusCode::SEE_OTHER);
    let mut inspector = plant.inspector().await;
    decide(&mut inspector, &[("decision", "refuse"), ("note", "")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say why it is refused");
    decide(
        &mut inspector,
        &[("decision", "refuse"), ("note", "do it in April")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    engineer
        .get(PAGE)
        .await
        .says("refused by Test inspector")
        .says("do it in April");
    ask(&mut engineer, &[]).await.is(StatusCode::SEE_OTHER);
    decide(&mut engineer, &[("decision", "refuse")])
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get(PAGE)
        .await
        .says("taken back by Test reliability engineer");
    crate::storeroom::all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn a_wrong_password_signs_nothing() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, NEARLY_DUE).await;
    ask(&mut plant.engineer().await, &[])
        .await
        .is(StatusCode::SEE_OTHER);
    let mut inspector = plant.inspector().await;
    let wrong = [("decision", "sign"), ("password", "some other words")];
    let answer = decide(&mut inspector, &wrong).await;
    answer
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("This is not your password");
    assert_eq!(answer.field("password"), "");
    inspector
        .get("/gauges/LG-1107A")
        .await
        .does_not_say("Deferral signed");
}

#[tokio::test]
async fn a_second_deferral_never_passes_the_limit_signed_before() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, NEARLY_DUE).await;
    sign(&plant, &[]).await.is(StatusCode::SEE_OTHER);
    ask(
        &mut engineer,
        &[("until", "2026-10-31"), ("hard_limit", "2026-12-31")],
    )
    .await
    .is(StatusCode::UNPROCESSABLE_ENTITY)
    .says("The limit signed before is 30 Sep 2026; no later deferral passes it until the gauge is rebuilt");
    sign(
        &plant,
        &[("until", "2026-09-30"), ("hard_limit", "2026-09-30")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("deferral 30 Sep 2026 considered");
}

#[tokio::test]
async fn a_failure_is_never_deferred_even_one_reported_while_the_deferral_waits() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, NEARLY_DUE).await;
    ask(&mut engineer, &[]).await.is(StatusCode::SEE_OTHER);
    engineer
        .fill(
            "/gauges/LG-1107A/failure",
            "/gauges/LG-1107A/failure",
            &[("kind", "leak")],
        )
        .await;
    decide(&mut plant.inspector().await, SIGN)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Failure in service, 2 Mar 2026, comes before that day; no deferral moves it");
}

#[tokio::test]
async fn what_is_not_due_before_is_not_deferred_and_the_limit_is_not_before_the_date() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[("installed_on", "2026-02-20")]).await;
    for (fields, says) in [
        (
            vec![("until", "2026-03-10")],
            "No date of the rebuild lies before this day",
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
        (vec![("risk", "")], "Say what could go wrong meanwhile"),
        (vec![("mitigations", "")], "Say what is done against it"),
        (
            vec![("until", "soon")],
            "Write the date as 31 Dec 2026 or 2026-12-31",
        ),
    ] {
        let answer = ask(&mut engineer, &fields).await;
        answer.is(StatusCode::UNPROCESSABLE_ENTITY).says(says);
        assert_eq!(answer.field("hard_limit").len(), 10, "what was typed stays");
    }
}

#[tokio::test]
async fn only_engineers_ask_and_neither_technician_nor_storekeeper_signs() {
    let plant = Plant::new().await;
    hang(&mut plant.engineer().await, NEARLY_DUE).await;
    for mut visitor in [plant.technician().await, plant.storekeeper().await] {
        visitor.get(PAGE).await.is(StatusCode::FORBIDDEN);
        visitor
            .post(&format!("{PAGE}/decide"), &[("request", "1")])
            .await
            .is(StatusCode::FORBIDDEN);
    }
    for mut visitor in [plant.inspector().await, plant.administrator().await] {
        visitor
            .post(PAGE, &[("until", "2026-06-30")])
            .await
            .is(StatusCode::FORBIDDEN);
    }
}
