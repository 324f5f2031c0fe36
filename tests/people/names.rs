//! Names as on the deed: what somebody did under a name keeps it on every page after the account was
//! renamed, and what they do afterwards carries the new one.

use axum::http::StatusCode;
use sqlx::Row;
use time::macros::datetime;

use crate::bench::world::{Bench, RETURNED, SHEET};
use crate::gauges::photo::small_file;
use crate::plant::{Answer, Plant, Visitor};

const OLD: [&str; 2] = ["Test technician", "Test reliability engineer"];
const NEW: [&str; 2] = ["Nell Harrow", "Odo Finch"];

/// The administrator gives an account another name.
pub async fn renames(plant: &Plant, role: &str, name: &str, version: &str) {
    let account = format!("/people/account/{role}");
    let fields = [
        ("name", name),
        ("role", role),
        ("account", "open"),
        ("version", version),
    ];
    plant
        .administrator()
        .await
        .fill(&account, &account, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

/// Photographed and handed over at the bench by the technician.
async fn photographed_and_handed_over(bench: &mut Bench) {
    let page = format!("{SHEET}/photo");
    let key = bench.technician.get(&page).await.field("key");
    let fields = [("key", key.as_str()), ("caption", "leak path")];
    let file = ("photo", "IMG_0001.JPG", small_file());
    bench
        .technician
        .upload(&page, &fields, (file.0, file.1, &file.2))
        .await
        .is(StatusCode::SEE_OTHER);
    let note = [("to", "4"), ("note", "my lock L-12 hangs")];
    bench.record("hand-over", &note).await;
}

fn as_on_the_deed(page: &Answer) {
    for name in NEW {
        page.does_not_say(name);
    }
}

#[tokio::test]
async fn entries_photographs_and_hand_overs_of_an_open_sheet_keep_their_names() {
    let mut bench = Bench::new().await.assembled().await;
    photographed_and_handed_over(&mut bench).await;
    bench.plant.turn_to(datetime!(2026-03-02 10:00 UTC));
    renames(&bench.plant, "technician", NEW[0], "1").await;
    renames(&bench.plant, "engineer", NEW[1], "1").await;
    bench.plant.turn_to(datetime!(2026-03-02 11:00 UTC));
    let mut inspector = bench.plant.inspector().await;
    let sheet = inspector.get(SHEET).await;
    as_on_the_deed(&sheet);
    sheet
        .says("Test technician handed this to Test reliability engineer on 2 Mar 2026, 09:00")
        .says("leak path Test technician, 2 Mar 2026, 09:00")
        .says("Test technician to Test reliability engineer, 2 Mar 2026, 09:00");
    // What is done from now on carries the new name beside the old ones.
    bench.technician = bench.plant.technician().await;
    bench.record("tightened", &[("wrench", "TW-07")]).await;
    let record = bench.its_record().await;
    record
        .says("Nell Harrow, 2 Mar 2026, 11:00")
        .says("Test technician, 2 Mar 2026, 09:00")
        .says("by Test reliability engineer on 2 Mar 2026, 09:00");
    bench.is_sound().await;
}

#[tokio::test]
async fn a_finished_rebuild_its_re_torque_its_kits_and_stated_costs_keep_their_names() {
    let mut bench = Bench::new().await.assembled().await;
    photographed_and_handed_over(&mut bench).await;
    bench.record("tightened", &[("wrench", "TW-07")]).await;
    bench.press("test").await.is(StatusCode::SEE_OTHER);
    bench.tested("passed").await;
    bench.go("return", RETURNED).await.is(StatusCode::SEE_OTHER);
    bench.plant.turn_to(datetime!(2026-03-09 10:00 UTC));
    bench.technician = bench.plant.technician().await;
    bench.engineer = bench.plant.engineer().await;
    let page = "/gauges/LG-1107A/re-torque";
    let again = [
        ("on", "2026-03-09"),
        ("isolated", "yes"),
        ("locked", "yes"),
        ("zero", "yes"),
        ("cold", "yes"),
        ("wrench", "TW-07"),
        ("moved", "some"),
    ];
    sends(&mut bench.technician, page, &again).await;
    let page = "/gauges/LG-1107A/failure";
    let leak = [("kind", "leak"), ("seen_on", "2026-03-09"), ("note", "")];
    sends(&mut bench.technician, page, &leak).await;
    let page = "/life/costs/saturated%20steam";
    let costs = [
        ("planned", "400"),
        ("failure", "3000"),
        ("bench_hours", "4.5"),
        ("ground", "made up for this test"),
        ("seen", "0"),
    ];
    sends(&mut bench.engineer, page, &costs).await;
    bench.plant.turn_to(datetime!(2026-03-10 10:00 UTC));
    renames(&bench.plant, "technician", NEW[0], "1").await;
    renames(&bench.plant, "engineer", NEW[1], "1").await;
    bench.plant.turn_to(datetime!(2026-03-10 11:00 UTC));
    let mut inspector = bench.plant.inspector().await;
    for (page, says) in [
        (
            "/gauges/LG-1107A/rebuilds/1",
            vec![
                "some nuts moved, Test technician",
                "leak path Test technician",
                "Test technician to Test reliability engineer",
                "by Test reliability engineer on",
            ],
        ),
        ("/gauges/LG-1107A/history", OLD.to_vec()),
        ("/gauges/LG-1107A", Vec::new()),
        (
            "/life/lives?class=1",
            vec!["stated by Test reliability engineer"],
        ),
        (
            "/storeroom/kits/SW-K-250R/lots/A-101",
            vec!["Test technician"],
        ),
    ] {
        let shown = inspector.get(page).await;
        shown.is(StatusCode::OK);
        as_on_the_deed(&shown);
        for words in says {
            shown.says(words);
        }
    }
    bench.is_sound().await;
}

async fn sends(who: &mut Visitor, page: &str, fields: &[(&str, &str)]) {
    who.fill(page, page, fields).await.is(StatusCode::SEE_OTHER);
}

/// A register from before names were kept over time gets them from its audit lines: the same rows that
/// every change of a name would have written.
#[tokio::test]
async fn the_names_of_a_register_from_before_are_those_of_its_audit_lines() {
    let plant = Plant::new().await;
    for (at, name, version) in [
        (datetime!(2026-03-02 10:00 UTC), "Nell Harrow", "1"),
        (datetime!(2026-03-02 11:00 UTC), "Nell Harrow-Finch", "2"),
        (datetime!(2026-03-02 12:00 UTC), "Nell Harrow", "3"),
    ] {
        plant.turn_to(at);
        renames(&plant, "technician", name, version).await;
    }
    let kept = names(&plant).await;
    let of_one: Vec<_> = kept.iter().filter(|row| row.0 == 1).collect();
    assert_eq!(of_one.len(), 4, "{kept:?}");
    assert_eq!(of_one[0].3, "Test technician");
    assert_eq!(of_one[0].2, "2026-03-02T10:00:00.000Z");
    let migration = include_str!("../../migrations/0057_known_as.sql");
    let from = migration.find("WITH renamed").expect("the statement");
    let made = migration[from..].split(';').next().expect("its end");
    plant
        .run(&format!("DELETE FROM known_as; {made}"))
        .await
        .expect("made from the audit lines");
    assert_eq!(names(&plant).await, kept);
}

async fn names(plant: &Plant) -> Vec<(i64, String, String, String)> {
    let mut db = plant.store.read().await.expect("a reader");
    sqlx::query("SELECT person_id, since, until, name FROM known_as ORDER BY person_id, since")
        .fetch_all(&mut *db)
        .await
        .expect("names")
        .iter()
        .map(|row| (row.get(0), row.get(1), row.get(2), row.get(3)))
        .collect()
}

#[tokio::test]
async fn a_name_that_no_audit_line_knows_is_found_by_the_check() {
    let bench = Bench::new().await.started().await;
    bench.is_sound().await;
    bench
        .plant
        .run("UPDATE known_as SET name = 'Somebody Else' WHERE person_id = 1")
        .await
        .expect("another name");
    let report = {
        let mut db = gaugewright::store::open_for_reading(&bench.plant.folder)
            .await
            .expect("the register");
        gaugewright::acts::verify::verify(&mut db)
            .await
            .expect("a report")
    };
    assert!(
        report
            .findings
            .iter()
            .any(|one| one.contains("under other names")),
        "{:?}",
        report.findings
    );
}
