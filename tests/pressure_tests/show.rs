//! One test: who may witness and certify it, and that it is never changed.

use axum::http::StatusCode;
use gaugewright::record::person::Role;
use gaugewright::store;
use sqlx::Executor;
use time::macros::datetime;

use super::world::{
    PASSED, certified, entered, plant, rebuilt, signs, sound, taken_back, tested, tightened, with,
};
use crate::gauges::edit::NAMEPLATE;
use crate::plant::{PASSWORD, Plant};

#[tokio::test]
async fn the_tester_cannot_witness() {
    let plant = plant().await;
    let mut inspector = plant.inspector().await;
    let number = tested(&mut inspector, PASSED).await;
    let page = inspector.get(&format!("/pressure-tests/{number}")).await;
    page.says("You made this test; another inspector has to witness it");
    let key = inspector
        .get("/pressure-tests/new/LG-1107A")
        .await
        .field("key");
    inspector
        .post(
            &format!("/pressure-tests/{number}/witness"),
            &[("key", &key), ("password", PASSWORD)],
        )
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("the witness is another person than the tester");
}

#[tokio::test]
async fn a_witness_signs_with_the_password_and_once() {
    let plant = plant().await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    let page = format!("/pressure-tests/{number}");
    let action = format!("{page}/witness");
    let mut inspector = plant.inspector().await;
    inspector
        .fill(&page, &action, &[("password", "not this one at all")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("This is not your password; nothing was signed");
    inspector
        .fill(&page, &action, &[("password", "")])
        .await
        .says("Give your password");
    let key = inspector.get("/people/password").await.field("key");
    let fields = [("key", key.as_str()), ("password", PASSWORD)];
    let first = inspector.post(&action, &fields).await;
    let second = inspector.post(&action, &fields).await;
    assert_eq!(first.goes_to(), page);
    assert_eq!(second.goes_to(), page);
    inspector
        .get(&page)
        .await
        .says("Witnessed by Test inspector on 2 Mar 2026, 09:00");
    let fresh = inspector.get("/people/password").await.field("key");
    inspector
        .post(&action, &[("key", &fresh), ("password", PASSWORD)])
        .await
        .says("Test inspector witnessed this test already");
    sound(&plant).await;
}

#[tokio::test]
async fn only_an_inspector_witnesses_and_certifies() {
    let plant = plant().await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    for role in [
        Role::Technician,
        Role::Engineer,
        Role::Storekeeper,
        Role::Administrator,
    ] {
        let mut visitor = plant.signed_in(role).await;
        let page = visitor.get(&format!("/pressure-tests/{number}")).await;
        page.is(StatusCode::OK);
        assert!(!page.text.contains("type=\"password\""), "{role}");
        for deed in ["witness", "certificate"] {
            visitor
                .post(&format!("/pressure-tests/{number}/{deed}"), &[])
                .await
                .is(StatusCode::FORBIDDEN);
        }
    }
}

#[tokio::test]
async fn only_a_passed_and_witnessed_test_is_certified() {
    let plant = plant().await;
    let mut technician = plant.technician().await;
    let mut inspector = plant.inspector().await;
    let number = tested(&mut technician, PASSED).await;
    let refused = signs(&mut inspector, &number, "certificate").await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Nobody witnessed this test yet");
    let leak = with(PASSED, &[("leak", "leak"), ("note", "at the top vent")]);
    let failed = tested(&mut technician, &leak).await;
    let page = format!("/pressure-tests/{failed}");
    let key = inspector.get("/people/password").await.field("key");
    inspector
        .post(
            &format!("{page}/certificate"),
            &[("key", &key), ("password", PASSWORD)],
        )
        .await
        .says("This test failed; only a passed test is certified");
    // The first test was passed, but the gauge has leaked since.
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    signs(&mut inspector, &number, "certificate")
        .await
        .says(&format!("The gauge failed a later test, {failed}"));
}

#[tokio::test]
async fn work_done_after_the_test_is_not_certified_by_it() {
    let plant = plant().await;
    let id = rebuilt(&plant).await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    plant.turn_to(datetime!(2026-03-02 10:00 UTC));
    taken_back(&plant, id).await;
    entered(&plant, id, Some(2), tightened("32", None)).await;
    signs(&mut inspector, &number, "certificate")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The gauge went back to the bench after this test");
}

#[tokio::test]
async fn a_rating_corrected_after_the_test_is_not_certified_by_it() {
    let plant = plant().await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    let edit = "/gauges/LG-1107A/edit";
    let corrected = with(NAMEPLATE, &[("rating", "1100"), ("version", "1")]);
    plant
        .engineer()
        .await
        .fill(edit, edit, &corrected)
        .await
        .is(StatusCode::SEE_OTHER);
    signs(&mut inspector, &number, "certificate")
        .await
        .says("The rating of LG-1107A was corrected after this test, which was made from 1000 psi");
}

#[tokio::test]
async fn a_test_of_a_gauge_whose_rating_was_taken_away_is_not_certified() {
    let plant = plant().await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    let edit = "/gauges/LG-1107A/edit";
    let without: Vec<_> = NAMEPLATE
        .iter()
        .map(|(name, value)| (*name, if *name == "rating" { "" } else { *value }))
        .chain([("version", "1")])
        .collect();
    plant
        .engineer()
        .await
        .fill(edit, edit, &without)
        .await
        .is(StatusCode::SEE_OTHER);
    signs(&mut inspector, &number, "certificate")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The rating of LG-1107A was corrected after this test");
}

#[tokio::test]
async fn one_test_gives_one_certificate_however_often_it_is_pressed() {
    let plant = plant().await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    let page = format!("/pressure-tests/{number}");
    let action = format!("{page}/certificate");
    let key = inspector.get("/people/password").await.field("key");
    let other = inspector.get("/people/password").await.field("key");
    let reason = ("reason", "Return to service");
    let fields = [("key", key.as_str()), reason, ("password", PASSWORD)];
    let first = inspector.post(&action, &fields).await;
    let second = inspector.post(&action, &fields).await;
    assert_eq!(
        first.goes_to(),
        "/pressure-tests/certificates/TW-C-2026-0001"
    );
    assert_eq!(second.goes_to(), first.goes_to());
    inspector
        .post(&action, &[("key", &other), ("password", PASSWORD)])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Certificate TW-C-2026-0001 was issued from this test already");
    sound(&plant).await;
}

async fn refused_by_the_schema(plant: &Plant, sql: &'static str, key: &str) {
    let mut tx = plant.store.write().await.unwrap();
    let error = tx.execute(sql).await.expect_err(sql).to_string();
    assert!(error.contains(key), "{sql}: {error}");
}

#[tokio::test]
async fn a_finished_test_and_a_certificate_are_unchangeable_in_sql() {
    let plant = plant().await;
    certified(&plant).await;
    tested(&mut plant.technician().await, PASSED).await;
    for (sql, key) in [
        ("UPDATE pressure_test SET result = 'failed'", "test-unchanged"),
        ("DELETE FROM pressure_test", "test-unchanged"),
        (
            "INSERT OR REPLACE INTO pressure_test (id, number, year, ordinal, gauge_id, tested_on, result, facts, instrument_id, person_id, at)
             SELECT id, number, year, 3, gauge_id, tested_on, 'failed', facts, instrument_id, person_id, at FROM pressure_test WHERE id = 1",
            "test-unchanged",
        ),
        (
            "INSERT OR REPLACE INTO pressure_test (number, year, ordinal, gauge_id, tested_on, result, facts, instrument_id, person_id, at)
             SELECT number, year, 3, gauge_id, tested_on, 'failed', facts, instrument_id, person_id, at FROM pressure_test WHERE id = 1",
            "test-unchanged",
        ),
        ("UPDATE witnessing SET person_id = 1", "test-unchanged"),
        ("DELETE FROM witnessing", "test-unchanged"),
        ("INSERT OR REPLACE INTO witnessing (test_id, person_id, at) VALUES (1, 5, '')", "test-unchanged"),
        // The technician is the tester of the second test.
        ("INSERT INTO witnessing (test_id, person_id, at) SELECT 2, person_id, '' FROM pressure_test WHERE id = 2", "another person"),
        ("UPDATE certificate SET record = '{}'", "certificate-unchanged"),
        ("DELETE FROM certificate", "certificate-unchanged"),
        (
            "INSERT OR REPLACE INTO certificate (id, number, year, ordinal, test_id, issued_by, issued_at, record, sha256)
             SELECT id, number, year, 2, test_id, issued_by, issued_at, '{}', sha256 FROM certificate",
            "certificate-unchanged",
        ),
        // Nobody witnessed the second test.
        (
            "INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256)
             SELECT 'TW-C-2026-0002', year, 2, 2, issued_by, issued_at, record, sha256 FROM certificate",
            "certificate-unchanged",
        ),
    ] {
        refused_by_the_schema(&plant, sql, key).await;
    }
    sound(&plant).await;
    let mut db = plant.store.read().await.unwrap();
    let test = store::pressure_tests::by_number(&mut db, "TW-T-2026-0001")
        .await
        .unwrap()
        .unwrap();
    assert_eq!(
        test.certificate.unwrap().number.to_string(),
        "TW-C-2026-0001"
    );
}

/// published: NIST SP 811 (2008), B.8: psi to kPa 6.894757: 1000 psi are 68.9476 bar, 1500 are
/// 103.4214, 1505 are 103.7661, 1510 are 104.1108, 3000 are 206.8427.
#[tokio::test]
async fn a_person_who_reads_si_sees_every_pressure_as_read_with_bar_behind_it() {
    let plant = plant().await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    let address = format!("/pressure-tests/{number}");
    let mut inspector = plant.inspector().await;
    inspector
        .get(&address)
        .await
        .says("its test at 1500 psi")
        .does_not_say("103.5 bar");
    inspector.reads("si").await;
    inspector
        .get(&address)
        .await
        .says("its test at 1500 psi (103.5 bar)")
        .says("0 1510 psi (104.1 bar) 18.0 °C 5 1505 psi (103.8 bar) 17.8 °C")
        .says("from a rating of 1000 psi (68.94 bar)")
        .says("0 to 3000 psi (0 to 206.8 bar)");
    inspector
        .get("/pressure-tests")
        .await
        .says("1500 psi (103.5 bar)");
    inspector
        .get("/pressure-tests/new/LG-1107A")
        .await
        .says("at 1500 psi (103.5 bar), held for 5 min");
}
