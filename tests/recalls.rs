//! Recalls through the pages: what relied on a wrench, a pressure gauge or a lot, what is decided about
//! each, and what that does to certificates, due dates and the shelf.

use axum::http::StatusCode;

use crate::plant::{Answer, PASSWORD, Plant, Visitor};
use crate::pressure_tests::world::{PASSED, certified, plant, rebuilt, signs, sound, tested, with};

/// The plant with a gauge that was rebuilt, tested and certified.
async fn proved() -> (Plant, String) {
    let plant = plant().await;
    rebuilt(&plant).await;
    let number = certified(&plant).await;
    (plant, number)
}

async fn found_bad(engineer: &mut Visitor, instrument: &str) -> Answer {
    calibrated(engineer, instrument, "2026-03-02", "out-of-tolerance").await
}

async fn calibrated(engineer: &mut Visitor, instrument: &str, on: &str, found: &str) -> Answer {
    let page = format!("/instruments/{instrument}/calibrate");
    let reference = format!("CAL {on} {found}");
    let fields = [
        ("calibrated_on", on),
        ("due_on", "2027-03-01"),
        ("reference", &reference),
        ("found", found),
        ("note", ""),
    ];
    engineer.fill(&page, &page, &fields).await
}

async fn decides(engineer: &mut Visitor, fields: &[(&str, &str)]) -> Answer {
    engineer
        .fill("/recalls/1", "/recalls/1/decide", fields)
        .await
}

/// The value of the only thing of a kind that can be ticked on the page.
async fn thing(engineer: &mut Visitor, what: &str) -> String {
    let page = engineer.get("/recalls/1").await;
    let mark = format!("value=\"{what}-");
    let at = page.text.find(&mark).expect("something to tick") + "value=\"".len();
    page.text[at..].split('"').next().unwrap_or("").to_owned()
}

#[tokio::test]
async fn a_wrench_found_out_of_tolerance_questions_what_relied_on_it_at_once() {
    let (plant, number) = proved().await;
    let mut engineer = plant.engineer().await;
    let answer = found_bad(&mut engineer, "TW-07").await;
    assert_eq!(answer.goes_to(), "/recalls/1");
    engineer
        .get("/recalls/1")
        .await
        .says("1 decision to make")
        .says("from 3 Nov 2025, when it was last found within tolerance")
        .says("LG-1107A")
        .says("rebuild 1")
        .says(&number);
    let page = format!("/pressure-tests/certificates/{number}");
    engineer.get(&page).await.says("Questioned.");
    engineer.get("/recalls").await.says("Recall 1");
    engineer
        .get("/instruments/TW-07")
        .await
        .says("Recall 1 lists each of them");
    sound(&plant).await;
}

#[tokio::test]
async fn what_stands_stands_with_its_reason_beside_it() {
    let (plant, number) = proved().await;
    let mut engineer = plant.engineer().await;
    found_bad(&mut engineer, "TW-07").await;
    let rebuild = thing(&mut engineer, "rebuild").await;
    let why = "read 2 % high; the bolt stress stays within the plan";
    let fields = [
        ("about", rebuild.as_str()),
        ("decision", "stands"),
        ("reason", why),
    ];
    decides(&mut engineer, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/recalls/1")
        .await
        .says("everything is decided")
        .says(why);
    let page = format!("/pressure-tests/certificates/{number}");
    let shown = engineer.get(&page).await;
    shown.does_not_say("Questioned.").says(why).says("stands");
    engineer
        .get("/gauges/LG-1107A")
        .await
        .does_not_say("recall 2 Mar 2026");
    sound(&plant).await;
}

#[tokio::test]
async fn what_is_done_again_falls_due_and_its_certificate_is_withdrawn() {
    let (plant, number) = proved().await;
    let mut engineer = plant.engineer().await;
    found_bad(&mut engineer, "PG-22").await;
    let test = thing(&mut engineer, "test").await;
    let fields = [
        ("about", test.as_str()),
        ("decision", "repeat"),
        ("reason", "read 6 % high: the proof was short of 1500 psi"),
    ];
    decides(&mut engineer, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    let page = format!("/pressure-tests/certificates/{number}");
    engineer.get(&page).await.says("Withdrawn.");
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("recall 2 Mar 2026");
    sound(&plant).await;
}

#[tokio::test]
async fn a_decision_needs_a_thing_a_choice_and_a_reason_and_pressed_twice_is_one() {
    let (plant, _) = proved().await;
    let mut engineer = plant.engineer().await;
    found_bad(&mut engineer, "TW-07").await;
    let refused = decides(&mut engineer, &[("reason", "")]).await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY);
    refused
        .says("Tick what you decide about")
        .says("Choose whether it stands or is done again")
        .says("Say why");
    let rebuild = thing(&mut engineer, "rebuild").await;
    let key = engineer.get("/recalls/1").await.field("key");
    let fields = [
        ("key", key.as_str()),
        ("about", rebuild.as_str()),
        ("decision", "stands"),
        ("reason", "within its margin"),
    ];
    for _ in 0..2 {
        engineer
            .post("/recalls/1/decide", &fields)
            .await
            .is(StatusCode::SEE_OTHER);
    }
    let mut db = plant.store.read().await.unwrap();
    let made: i64 = sqlx::query_scalar("SELECT count(*) FROM recall_decision")
        .fetch_one(&mut *db)
        .await
        .unwrap();
    assert_eq!(made, 1);
}

#[tokio::test]
async fn a_recalled_lot_is_held_back_and_names_the_rebuilds_it_went_into() {
    let (plant, number) = proved().await;
    let mut engineer = plant.engineer().await;
    let lot = "/storeroom/kits/SW-K-250B/lots/L-4471";
    engineer.get(lot).await.says("Recall this lot");
    let open = "/recalls/open?kit=SW-K-250B&lot=L-4471";
    let nothing = engineer.fill(open, open, &[("reason", "")]).await;
    nothing.is(StatusCode::UNPROCESSABLE_ENTITY);
    nothing.says("Say what is wrong with the lot");
    let opened = engineer
        .fill(open, open, &[("reason", "glass chipped in two boxes")])
        .await;
    assert_eq!(opened.goes_to(), "/recalls/1");
    engineer
        .get("/recalls/1")
        .await
        .says("2 decisions to make")
        .says("6 kits left of the lot")
        .says("held back")
        .says(&number);
    engineer.get(lot).await.says("Held back by recall 1");
    let issue = format!("{lot}/issue");
    let mut keeper = plant.storekeeper().await;
    let refused = keeper
        .fill(
            &issue,
            &issue,
            &[("quantity", "1"), ("reason", "for a trial")],
        )
        .await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY);
    refused.says("recalled and held back");
    // Found good after all, what is left may be issued again.
    let fields = [
        ("about", "left"),
        ("decision", "stands"),
        ("reason", "the other boxes were opened and looked at"),
    ];
    decides(&mut engineer, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    engineer.get(lot).await.does_not_say("Held back");
    sound(&plant).await;
}

#[tokio::test]
async fn only_the_engineer_decides() {
    let (plant, _) = proved().await;
    found_bad(&mut plant.engineer().await, "TW-07").await;
    let mut technician = plant.technician().await;
    technician
        .get("/recalls/1")
        .await
        .says("The reliability engineer decides")
        .does_not_say("Decide about what is ticked");
    technician
        .post("/recalls/1/decide", &[])
        .await
        .is(StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn what_used_it_after_the_day_it_was_found_bad_is_in_doubt_until_it_is_found_good_again() {
    let (plant, number) = proved().await;
    let mut engineer = plant.engineer().await;
    // Found bad ten days ago; the paper arrives today, and a test was made in between.
    calibrated(&mut engineer, "PG-22", "2026-02-20", "out-of-tolerance")
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/recalls/1")
        .await
        .says("1 decision to make")
        .says(&number);
    let page = format!("/pressure-tests/certificates/{number}");
    engineer.get(&page).await.says("Questioned.");
    // Found good the day before the test, the test is out of it.
    calibrated(&mut engineer, "PG-22", "2026-03-01", "within-tolerance")
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/recalls/1")
        .await
        .says("Nothing on record relied on it");
    sound(&plant).await;
}

#[tokio::test]
async fn adjusted_and_found_good_on_the_same_day_it_is_trusted_from_the_next_day_on() {
    let (plant, _) = proved().await;
    let mut engineer = plant.engineer().await;
    calibrated(&mut engineer, "PG-22", "2026-03-01", "out-of-tolerance").await;
    engineer.get("/recalls/1").await.says("1 decision to make");
    calibrated(&mut engineer, "PG-22", "2026-03-01", "within-tolerance").await;
    engineer
        .get("/recalls/1")
        .await
        .says("Nothing on record relied on it");
    // A third reading of that day has the last word, and answers with the recall there is.
    let third = calibrated(&mut engineer, "PG-22", "2026-03-01", "out-of-tolerance").await;
    assert_eq!(third.goes_to(), "/recalls/1");
    engineer.get("/recalls/1").await.says("1 decision to make");
    sound(&plant).await;
}

#[tokio::test]
async fn a_test_entered_late_for_a_day_in_doubt_is_on_the_recall_at_once() {
    let plant = plant().await;
    let mut engineer = plant.engineer().await;
    let opened = found_bad(&mut engineer, "PG-22").await;
    assert_eq!(opened.goes_to(), "/recalls/1");
    engineer
        .get("/recalls/1")
        .await
        .says("Nothing on record relied on it");
    engineer
        .get("/instruments/PG-22")
        .await
        .says("recall 1 lists what is entered later");
    let yesterday = with(PASSED, &[("began_on", "2026-03-01")]);
    let number = tested(&mut plant.technician().await, &yesterday).await;
    engineer
        .get("/recalls/1")
        .await
        .says("1 decision to make")
        .says(&number);
    sound(&plant).await;
}

#[tokio::test]
async fn a_second_finding_of_one_day_is_recorded_and_answered_by_the_same_recall() {
    let (plant, _) = proved().await;
    let mut engineer = plant.engineer().await;
    found_bad(&mut engineer, "TW-07").await;
    let again = found_bad(&mut engineer, "TW-07").await;
    assert_eq!(again.goes_to(), "/recalls/1");
    let page = engineer.get("/instruments/TW-07").await;
    assert_eq!(
        page.text.matches("CAL 2026-03-02 out-of-tolerance").count(),
        2
    );
}

#[tokio::test]
async fn a_recall_marks_and_decides_all_that_relied_on_it_however_much_it_is() {
    let (plant, number) = proved().await;
    // More rebuilds relied on the wrench later than the one that was certified.
    plant
        .run(
            "UPDATE rebuild SET ordinal = 3000;
             WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 2100)
               INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, ended_on, ended_at, ended_by, abandoned_reason)
               SELECT 1, i, 'abandoned', 'interval', '2026-03-02', '2026-03-02T08:00:00.000Z', 4, '2026-03-02', '2026-03-02T08:00:00.000Z', 4, 'never begun' FROM n;
             INSERT INTO instrument_use (instrument_id, rebuild_id, used_on)
               SELECT i.id, r.id, '2026-03-02' FROM rebuild r JOIN instrument i ON i.number = 'TW-07' WHERE r.ordinal < 3000",
        )
        .await
        .unwrap();
    let mut engineer = plant.engineer().await;
    found_bad(&mut engineer, "TW-07").await;
    engineer
        .get("/recalls/1")
        .await
        .says("2\u{202f}101 decisions to make")
        .says("Earlier ones")
        .does_not_say(&number);
    let page = format!("/pressure-tests/certificates/{number}");
    engineer.get(&page).await.says("Questioned.");
    let rebuild: i64 = {
        let mut db = plant.store.read().await.unwrap();
        sqlx::query_scalar("SELECT id FROM rebuild WHERE ordinal = 3000")
            .fetch_one(&mut *db)
            .await
            .unwrap()
    };
    let about = format!("rebuild-{rebuild}");
    let fields = [
        ("about", about.as_str()),
        ("decision", "stands"),
        ("reason", "within its margin"),
    ];
    decides(&mut engineer, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/recalls/1")
        .await
        .says("2\u{202f}100 decisions to make");
    engineer.get(&page).await.does_not_say("Questioned.");
}

#[tokio::test]
async fn a_correction_settles_no_doubt() {
    let (plant, number) = proved().await;
    found_bad(&mut plant.engineer().await, "PG-22").await;
    let page = format!("/pressure-tests/certificates/{number}/correct");
    let mut inspector = plant.inspector().await;
    let fields = [
        ("reason", "the place of the test was left out"),
        ("place", "Bench, instrument workshop"),
        ("password", PASSWORD),
    ];
    let corrected = inspector.fill(&page, &page, &fields).await;
    corrected.is(StatusCode::SEE_OTHER);
    let later = corrected.goes_to().to_owned();
    inspector.get(&later).await.says("Questioned.");
    inspector
        .get("/pressure-tests/certificates?standing=questioned")
        .await
        .says("TW-C-2026-0002");
    inspector
        .get("/pressure-tests/certificates")
        .await
        .says("2 certificates, 1 in question");
    inspector
        .get("/gauges/LG-1107A")
        .await
        .says("The reliability engineer decides whether it stands; an inspector may withdraw it");
    // The decision reaches the new one too.
    let mut engineer = plant.engineer().await;
    let test = thing(&mut engineer, "test").await;
    let stands = [
        ("about", test.as_str()),
        ("decision", "stands"),
        ("reason", "read 1 % low; the proof was above 1500 psi"),
    ];
    decides(&mut engineer, &stands)
        .await
        .is(StatusCode::SEE_OTHER);
    inspector.get(&later).await.does_not_say("Questioned.");
    sound(&plant).await;
}

/// A gauge on test that passed and was witnessed, and the test's number.
async fn witnessed() -> (Plant, String) {
    let plant = plant().await;
    rebuilt(&plant).await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    signs(&mut plant.inspector().await, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    (plant, number)
}

async fn returned(plant: &Plant) -> Answer {
    let mut technician = plant.technician().await;
    let sheet = "/bench/LG-1107A";
    let version = technician.get(sheet).await.field("version");
    let fields = [
        ("version", version.as_str()),
        ("drained", "yes"),
        ("opened", "yes"),
        ("warmed", "yes"),
        ("watched", "yes"),
    ];
    technician
        .fill(sheet, "/bench/LG-1107A/return", &fields)
        .await
}

#[tokio::test]
async fn nothing_is_certified_or_returned_on_a_recalled_instrument_before_it_is_decided() {
    let (plant, number) = witnessed().await;
    let mut engineer = plant.engineer().await;
    assert_eq!(
        found_bad(&mut engineer, "PG-22").await.goes_to(),
        "/recalls/1"
    );
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "certificate")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("PG-22 is recalled (recall 1), and nobody has decided yet");
    returned(&plant)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("PG-22 is recalled (recall 1)");
    let test = thing(&mut engineer, "test").await;
    let about = |decision| {
        [
            ("about", test.as_str()),
            ("decision", decision),
            ("reason", "compared with the master gauge"),
        ]
    };
    decides(&mut engineer, &about("repeat")).await;
    signs(&mut inspector, &number, "certificate")
        .await
        .says("it was decided that this test is repeated");
    returned(&plant).await.says("this test is repeated");
    decides(&mut engineer, &about("stands")).await;
    signs(&mut inspector, &number, "certificate")
        .await
        .is(StatusCode::SEE_OTHER);
    returned(&plant).await.is(StatusCode::SEE_OTHER);
    sound(&plant).await;
}

#[tokio::test]
async fn a_gauge_on_test_with_kits_of_a_recalled_lot_waits_for_the_decision() {
    let (plant, number) = witnessed().await;
    let mut engineer = plant.engineer().await;
    let open = "/recalls/open?kit=SW-K-250B&lot=L-4471";
    engineer
        .fill(open, open, &[("reason", "glass chipped in two boxes")])
        .await
        .is(StatusCode::SEE_OTHER);
    returned(&plant)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Lot L-4471 of SW-K-250B is recalled (recall 1)");
    signs(&mut plant.inspector().await, &number, "certificate")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("nobody has decided yet what that means for this rebuild");
    let rebuild = thing(&mut engineer, "rebuild").await;
    let fields = [
        ("about", rebuild.as_str()),
        ("decision", "repeat"),
        ("reason", "the glass is not to be trusted"),
    ];
    decides(&mut engineer, &fields).await;
    returned(&plant)
        .await
        .says("this rebuild is done again; take the gauge back to the bench");
    sound(&plant).await;
}
