//! The check of a whole register finds every change to what was recorded, and nothing else.

use gaugewright::acts;
use gaugewright::record::person::Role;
use gaugewright::store;

use crate::gauges::edit::NAMEPLATE;
use crate::plant::Plant;

pub async fn report(plant: &Plant) -> acts::verify::Report {
    let mut db = store::open_for_reading(&plant.folder)
        .await
        .expect("the register");
    acts::verify::verify(&mut db).await.expect("a report")
}

async fn with_a_gauge() -> Plant {
    let plant = Plant::new().await;
    plant
        .engineer()
        .await
        .fill("/gauges/new", "/gauges/new", NAMEPLATE)
        .await;
    plant
}

/// Changes the file behind the program's back, with the triggers out of the way.
async fn tamper(plant: &Plant, sql: &'static str) {
    use sqlx::{ConnectOptions, Connection, Executor};
    let file = plant.folder.join("register.db");
    let mut db = sqlx::sqlite::SqliteConnectOptions::new()
        .filename(file)
        .foreign_keys(false)
        .connect()
        .await
        .expect("the file");
    let triggers: Vec<String> = sqlx::query_scalar(
        "SELECT 'DROP TRIGGER ' || name FROM sqlite_schema WHERE type = 'trigger'",
    )
    .fetch_all(&mut db)
    .await
    .expect("triggers");
    for drop in triggers {
        db.execute(sqlx::AssertSqlSafe(drop))
            .await
            .expect("dropped");
    }
    db.execute(sql).await.expect("tampered");
    db.close().await.expect("closed");
}

#[tokio::test]
async fn an_untouched_register_is_sound() {
    let plant = with_a_gauge().await;
    let report = report(&plant).await;
    assert!(report.sound(), "{:?}", report.findings);
    assert!(report.lines >= 10);
    assert_eq!(report.due_dates, 1);
}

#[tokio::test]
async fn an_altered_audit_line_is_named() {
    let plant = with_a_gauge().await;
    tamper(&plant, "UPDATE audit SET who = 'Nobody' WHERE id = 3").await;
    let findings = report(&plant).await.findings;
    assert!(
        findings
            .iter()
            .any(|f| f.starts_with("audit line 3 was altered")),
        "{findings:?}"
    );
}

#[tokio::test]
async fn a_gauge_kept_as_without_a_date_that_has_one_is_counted() {
    let plant = with_a_gauge().await;
    tamper(&plant, "INSERT INTO undated VALUES (1, 'LG-1107A')").await;
    let findings = report(&plant).await.findings;
    assert!(
        findings
            .iter()
            .any(|f| f.starts_with("1 gauges are kept as without a due date")),
        "{findings:?}"
    );
}

#[tokio::test]
async fn a_missing_audit_line_is_named() {
    let plant = with_a_gauge().await;
    tamper(&plant, "DELETE FROM audit WHERE id = 4").await;
    let findings = report(&plant).await.findings;
    assert!(
        findings.iter().any(|f| f == "audit line 4 is missing"),
        "{findings:?}"
    );
}

#[tokio::test]
async fn an_altered_nameplate_is_named_with_the_line_that_wrote_it() {
    let plant = with_a_gauge().await;
    tamper(
        &plant,
        "UPDATE gauge SET torque_value = '92' WHERE tag = 'LG-1107A'",
    )
    .await;
    let findings = report(&plant).await.findings;
    assert!(
        findings
            .iter()
            .any(|f| f.starts_with("record gauge 1 was altered since audit line")),
        "{findings:?}"
    );
}

#[tokio::test]
async fn a_record_slipped_in_or_taken_out_is_named() {
    let plant = with_a_gauge().await;
    tamper(&plant, "INSERT INTO area (name) VALUES ('Nowhere')").await;
    let findings = report(&plant).await.findings;
    assert!(
        findings.iter().any(|f| f.ends_with("has no audit line")),
        "{findings:?}"
    );

    let plant = with_a_gauge().await;
    tamper(&plant, "DELETE FROM service_class WHERE id = 2").await;
    let findings = report(&plant).await.findings;
    assert!(
        findings
            .iter()
            .any(|f| f.starts_with("record service_class 2 is gone")),
        "{findings:?}"
    );
}

#[tokio::test]
async fn a_due_date_that_its_facts_do_not_give_is_named() {
    let plant = with_a_gauge().await;
    tamper(&plant, "UPDATE due SET latest_on = '2031-01-01'").await;
    let findings = report(&plant).await.findings;
    assert!(
        findings
            .iter()
            .any(|f| f.starts_with("the due date kept for gauge LG-1107A")),
        "{findings:?}"
    );
}

#[tokio::test]
async fn what_to_order_of_a_kit_that_its_stock_and_needs_do_not_give_is_named() {
    let (plant, mut engineer) = crate::needs::small_plant().await;
    crate::needs::receives(&mut engineer, "K", "8", "").await;
    assert_eq!(report(&plant).await.kits, 1);
    for sql in [
        "UPDATE kit_outlook SET order_by = '2027-12-05'",
        "UPDATE kit_outlook SET quantity = 50",
        "UPDATE kit_outlook SET ahead_wanted = 0",
    ] {
        let (plant, mut engineer) = crate::needs::small_plant().await;
        crate::needs::receives(&mut engineer, "K", "8", "").await;
        tamper(&plant, sql).await;
        let findings = report(&plant).await.findings;
        assert!(
            findings
                .iter()
                .any(|f| f.starts_with("what to order of kit TW-K-250R is kept otherwise")),
            "{sql}: {findings:?}"
        );
    }
}

#[tokio::test]
async fn what_something_moved_since_is_reckoned_before_it_is_compared() {
    let (plant, mut engineer) = crate::needs::small_plant().await;
    crate::needs::receives(&mut engineer, "K", "8", "").await;
    // Another kit of the same class: a failure of LG-1 moves the rate its failures are drawn from,
    // though not a line of its own.
    let mut other = crate::storeroom::KIT.to_vec();
    other.retain(|(name, _)| *name != "number");
    other.push(("number", "TW-K-320R"));
    engineer
        .fill("/storeroom/new-kit", "/storeroom/new-kit", &other)
        .await;
    let fields = [("tag", "LG-9"), ("kit", "2"), ("kits_per_rebuild", "1")];
    crate::gauges::hang(&mut engineer, &fields).await;
    let today = time::macros::date!(2026 - 03 - 02);
    acts::needs::new_day(&plant.store, today).await.unwrap();
    assert_eq!(report(&plant).await.kits, 2);
    let page = "/gauges/LG-1/failure";
    engineer.fill(page, page, &[("kind", "leak")]).await;
    let moved = report(&plant).await;
    assert!(moved.sound(), "{:?}", moved.findings);
    assert_eq!(moved.kits, 1, "the other kit waits to be reckoned");
    assert_eq!(moved.kits_of(), "1 of 2 kits");
    assert_eq!(
        moved.left_out(),
        ["1 kit is not reckoned yet; the register does so within minutes while it is served"]
    );
    acts::needs::new_day(&plant.store, today).await.unwrap();
    let reckoned = report(&plant).await;
    assert!(reckoned.sound(), "{:?}", reckoned.findings);
    assert_eq!(reckoned.kits, 2);
    assert_eq!(reckoned.kits_of(), "2 kits");
    assert!(reckoned.left_out().is_empty());
}

#[tokio::test]
async fn any_byte_of_recorded_text_changed_in_the_file_is_found() {
    let plant = with_a_gauge().await;
    plant.store.close().await;
    let file = plant.folder.join("register.db");
    let sound = std::fs::read(&file).expect("the file");
    // Words that stand in the history and nowhere else in the file's live pages.
    for words in [
        "steam drum",
        "took into the register",
        "Test Owner",
        "\"code of reference\":\"common practice\"",
    ] {
        let at = sound
            .windows(words.len())
            .rposition(|w| w == words.as_bytes())
            .unwrap_or_else(|| panic!("{words:?} is in the file"));
        for place in [at, at + words.len() - 1] {
            let mut altered = sound.clone();
            altered[place] ^= 1;
            std::fs::write(&file, &altered).expect("written");
            let report = report(&plant).await;
            assert!(
                !report.sound(),
                "the change of byte {place} in {words:?} was not found"
            );
        }
        std::fs::write(&file, &sound).expect("restored");
    }
}

#[tokio::test]
async fn a_backup_made_while_people_work_is_a_sound_register() {
    let plant = with_a_gauge().await;
    let copy = tempfile::tempdir().expect("a folder");
    let mut deed = plant.deed_of(Role::Engineer).await;
    acts::plant::add_area(&mut deed, "Half done")
        .await
        .expect("an area");
    store::copy_to(&plant.folder, &copy.path().join("register.db"))
        .await
        .expect("a copy beside an open transaction");
    drop(deed);
    let mut db = store::open_for_reading(copy.path())
        .await
        .expect("the copy");
    let report = acts::verify::verify(&mut db).await.expect("a report");
    assert!(report.sound(), "{:?}", report.findings);
    let again = store::copy_to(&plant.folder, &copy.path().join("register.db")).await;
    assert!(
        again
            .unwrap_err()
            .to_string()
            .starts_with("will not overwrite")
    );
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_check_beside_people_who_write_sees_one_moment_and_cries_no_wolf() {
    let plant = with_a_gauge().await;
    let (store, clock) = (plant.store.clone(), plant.clock.clone());
    let writing = tokio::spawn(async move {
        for number in 0..400 {
            let mut deed = acts::Deed::begin(&store, &clock, acts::Who::program(), None)
                .await
                .expect("a deed");
            acts::plant::add_area(&mut deed, &format!("Row {number}"))
                .await
                .expect("an area");
            deed.commit("").await.expect("committed");
        }
    });
    let mut checked = 0;
    while !writing.is_finished() || checked == 0 {
        let report = report(&plant).await;
        assert!(report.sound(), "{:?}", report.findings);
        checked += 1;
    }
    writing.await.expect("written");
}
