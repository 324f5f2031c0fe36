//! The schema as the last net: every trigger, every named CHECK and every unique number is provoked
//! past all other rules, and what a person would read is held against plain words.

mod refusals;

use std::collections::BTreeSet;

use gaugewright::record::Refusal;
use gaugewright::store;

use crate::plant::Plant;

/// One of everything, straight into the tables. People are 1 to 5 and areas and classes 1 and 2 of
/// the test plant; rebuild 1 and its records are finished, rebuild 2 is at the bench.
const WORLD: &str = "
INSERT INTO kit (number, name, kind, lead_days) VALUES ('TW-K-1', 'reflex 250', 'reflex', 30);
INSERT INTO lot (kit_id, number, received_on) VALUES (1, 'L-1', '2025-01-10');
INSERT INTO instrument (number, kind, range_low, range_high, unit) VALUES ('PG-1', 'pressure-gauge', '0', '3000', '[psi]');
INSERT INTO calibration (instrument_id, calibrated_on, due_on, reference, found, person_id, at)
  VALUES (1, '2025-01-01', '2026-01-01', 'C-1', 'within-tolerance', 3, '2025-01-02T08:00:00.000Z');
INSERT INTO gauge (tag, area_id, service_class_id, standing, kind, sections, isolation) VALUES
  ('LG-1', 1, 1, 'in-service', 'reflex', 2, 'in-service'), ('LG-2', 1, 1, 'in-service', 'reflex', 2, 'in-service');
INSERT INTO nameplate_photo (gauge_id, at, person_id, width, height, sha256, jpeg, small_jpeg)
  VALUES (1, '2025-01-02T08:00:00.000Z', 1, 1, 1, zeroblob(32), x'ff', x'ff');
INSERT INTO shutdown_window (area_id, name, starts_on, ends_on) VALUES (1, 'spring', '2026-05-04', '2026-05-15');
INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by) VALUES
  (1, 1, 'at-the-bench', 'interval', '2025-03-01', '2025-02-01T08:00:00.000Z', 4),
  (2, 1, 'planned', 'leak', '2026-02-22', '2026-02-01T08:00:00.000Z', 4);
INSERT INTO rebuild_day (rebuild_id, was_for, planned_for, reason, person_id, at) VALUES (2, '2026-02-22', '2026-03-01', 'no crane', 4, '2026-02-02T08:00:00.000Z');
UPDATE rebuild SET planned_for = '2026-03-01' WHERE id = 2;
UPDATE rebuild SET state = 'at-the-bench' WHERE id = 2;
INSERT INTO bench_entry (rebuild_id, topic, facts, at, person_id) VALUES
  (1, 'remark', '{}', '2025-03-01T08:00:00.000Z', 1), (2, 'remark', '{}', '2026-03-01T08:00:00.000Z', 1);
INSERT INTO bench_entry (rebuild_id, topic, facts, at, person_id, supersedes) VALUES (2, 'remark', '{}', '2026-03-01T09:00:00.000Z', 1, 2);
INSERT INTO rebuild_move (rebuild_id, from_state, to_state, at, person_id, after_entry, after_test) VALUES
  (2, 'planned', 'at-the-bench', '2026-03-01T07:00:00.000Z', 1, 0, 0);
INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id) VALUES (1, 'receipt', 6, 6, '2025-01-10T08:00:00.000Z', '2025-01-10', 2);
INSERT INTO pressure_test (number, year, ordinal, gauge_id, rebuild_id, tested_on, result, facts, instrument_id, person_id, at) VALUES
  ('T-1', 2025, 1, 1, 1, '2025-03-02', 'passed', '{}', 1, 1, '2025-03-02T08:00:00.000Z'),
  ('T-2', 2026, 1, 2, 2, '2026-03-02', 'failed', '{}', 1, 1, '2026-03-02T08:00:00.000Z'),
  ('T-3', 2026, 2, 1, NULL, '2026-03-02', 'passed', '{}', 1, 1, '2026-03-02T09:00:00.000Z');
INSERT INTO witnessing (test_id, person_id, at) VALUES (1, 3, '2025-03-02T09:00:00.000Z'), (3, 3, '2026-03-02T09:30:00.000Z');
INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256) VALUES ('C-1', 2025, 1, 1, 3, '2025-03-02T10:00:00.000Z', '{}',
  '0000000000000000000000000000000000000000000000000000000000000000');
INSERT INTO signing_key (fingerprint, public_key, made_at, reason) VALUES ('0000000000000000',
  '0000000000000000000000000000000000000000000000000000000000000000', '2025-01-01T08:00:00.000Z', 'first');
INSERT INTO certificate_paper (certificate_id, paper, sha256, at) VALUES (1, 'a4',
  '0000000000000000000000000000000000000000000000000000000000000000', '2025-03-02T11:00:00.000Z');
INSERT INTO test_rule (ground) VALUES ('procedure 1');
INSERT INTO planned_test (gauge_id, planned_for, witnessed, person_id, at, dropped) VALUES (1, '2026-01-05', 0, 4, '2026-01-01T08:00:00.000Z', 'not needed');
INSERT INTO planned_test (gauge_id, planned_for, witnessed, person_id, at) VALUES (1, '2026-05-05', 0, 4, '2026-01-01T08:00:00.000Z');
INSERT INTO gas_request (gauge_id, facts, reason, person_id, at) VALUES
  (1, '{}', 'no liquid may come in', 1, '2026-01-01T08:00:00.000Z'), (1, '{}', 'no liquid may come in', 1, '2026-01-02T08:00:00.000Z');
INSERT INTO gas_answer (request_id, approved, words, person_id, at) VALUES (1, 0, 'use water', 3, '2026-01-01T09:00:00.000Z');
INSERT INTO instrument_use (instrument_id, rebuild_id, used_on) VALUES (1, 1, '2025-03-01');
UPDATE rebuild SET state = 'on-test' WHERE id = 2;
INSERT INTO hold (rebuild_id, instrument_id, medium, began_at, person_id) VALUES (2, 1, 'water', '2026-03-02T08:00:00.000Z', 1);
INSERT INTO hold_reading (hold_id, at, pressure_value, pressure_unit, person_id) VALUES (1, '2026-03-02T08:00:00.000Z', '1500', '[psi]', 1);
UPDATE rebuild SET state = 'at-the-bench' WHERE id = 2;
UPDATE rebuild SET state = 'returned', ended_on = '2025-03-03', ended_at = '2025-03-03T08:00:00.000Z', ended_by = 4 WHERE id = 1;
INSERT INTO failure (gauge_id, seen_on, kind, person_id, at, rebuild_id) VALUES
  (1, '2025-02-27', 'leak', 1, '2025-02-27T08:00:00.000Z', 1), (2, '2026-02-27', 'leak', 1, '2026-02-27T08:00:00.000Z', NULL);
INSERT INTO recall (instrument_id, since_on, until_on, reason, person_id, at)
  VALUES (1, '2025-01-01', '2026-03-01', 'found out of tolerance', 4, '2026-03-01T08:00:00.000Z');
INSERT INTO recall_decision (recall_id, test_id, gauge_id, decision, reason, on_date, person_id, at)
  VALUES (1, 1, 1, 'repeat', 'beyond its limit', '2026-03-01', 4, '2026-03-01T09:00:00.000Z');
INSERT INTO certificate_mark (certificate_id, kind, reason, recall_id, person_id, at)
  VALUES (1, 'withdrawn', 'beyond its limit', 1, 4, '2026-03-01T09:00:00.000Z');
INSERT INTO look_over (gauge_id, on_date, found, person_id, at) VALUES (1, '2025-06-01', 'sound', 1, '2025-06-01T08:00:00.000Z');
INSERT INTO deferral (gauge_id, until_on, hard_limit_on, reason, person_id, at)
  VALUES (1, '2026-12-01', '2027-01-31', 'kit late', 4, '2025-07-01T08:00:00.000Z');
INSERT INTO kit (number, name, kind, lead_days) VALUES ('TW-K-2', 'reflex 250, graphite', 'reflex', 30);
INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id) VALUES (1, 'receipt', 1, 7, '2025-01-11T08:00:00.000Z', '2025-01-11', 2);
INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason) VALUES (1, 'count', -1, 6, '2025-01-12T08:00:00.000Z', '2025-01-12', 2, 'lost');
INSERT INTO lot_move (lot_id, to_place, quantity, after_line, at, on_date, person_id) VALUES (1, 'rack 9', 2, 3, '2025-01-13T08:00:00.000Z', '2025-01-13', 2);
INSERT INTO witness_asked (test_id, person_id, asked_by, at) VALUES (2, 4, 1, '2026-03-02T08:30:00.000Z');
INSERT INTO witness_declined (test_id, person_id, reason, at) VALUES (2, 4, 'was at another gauge', '2026-03-02T09:00:00.000Z');
INSERT INTO kit_order (number, state, made_on, made_by, placed_on) VALUES ('O-1', 'draft', '2026-02-01', 2, NULL), ('O-2', 'received', '2026-02-01', 2, '2026-02-01'), ('O-3', 'draft', '2026-02-01', 2, NULL);
INSERT INTO kit_order_line (order_id, kit_id, quantity, promised_on, awaited) VALUES (1, 1, 4, '2026-04-01', 3);
UPDATE kit_order SET state = 'placed', placed_on = '2026-02-01' WHERE id = 1;
INSERT INTO order_receipt (line_id, stock_line_id, quantity) VALUES (1, 1, 1);
INSERT INTO kit_alternative (kit_id, other_id, note) VALUES (1, 2, 'graphite gaskets');
INSERT INTO lot_document (lot_id, title, media_type, sha256, bytes, person_id, at) VALUES (1, 'certificate', 'application/pdf', x'00', x'00', 2, '2026-03-01T08:00:00.000Z');
INSERT INTO calibration_document (calibration_id, title, media_type, sha256, bytes, person_id, at) VALUES (1, 'certificate', 'application/pdf', x'00', x'00', 3, '2026-03-01T08:00:00.000Z');
INSERT INTO window_choice (window_id, gauge_id, person_id, at) VALUES (1, 1, 4, '2026-03-01T08:00:00.000Z');
INSERT INTO deferral_request (gauge_id, until_on, hard_limit_on, reason, risk, mitigations, asked_by, asked_at, decision, decided_by, decided_at) VALUES
  (1, '2026-12-01', '2026-12-01', 'kit late', 'leak', 'looked at', 4, '2026-02-01T08:00:00.000Z', 'refused', 3, '2026-02-02T08:00:00.000Z');
INSERT INTO deferral_request (gauge_id, until_on, hard_limit_on, reason, risk, mitigations, asked_by, asked_at) VALUES
  (1, '2026-12-01', '2026-12-01', 'kit late', 'leak', 'looked at', 4, '2026-03-01T08:00:00.000Z');
INSERT INTO class_cost (service_class_id, planned, failure, ground, person_id, at) VALUES (1, '400', '3000', 'made up', 4, '2026-03-01T08:00:00.000Z');
INSERT INTO calendar_feed (person_id, token_hash, made_at) VALUES (4, x'01', '2026-03-01T08:00:00.000Z');
INSERT INTO re_torque (gauge_id, rebuild_id, on_date, facts, person_id, at) VALUES (1, 1, '2025-03-10', '{}', 1, '2025-03-10T08:00:00.000Z');
INSERT INTO bench_photo (rebuild_id, at, person_id, width, height, sha256, jpeg, small_jpeg) VALUES (2, '2026-03-01T08:00:00.000Z', 1, 1, 1, zeroblob(32), x'ff', x'ff');
INSERT INTO hand_over (rebuild_id, person_id, to_id, note, at) VALUES (2, 1, 4, 'locks hang', '2026-03-01T08:00:00.000Z');
INSERT INTO due (gauge_id, area_id, rule, date, latest_on, pull) VALUES (1, 1, 'look-over', '2026-09-01', '2026-09-01', 'not-needed');
";

/// A plant with one of everything.
async fn world() -> Plant {
    let plant = Plant::new().await;
    plant.run(WORLD).await.expect("the world");
    plant
}

/// What a person would read when the schema refuses a statement.
async fn read_by_a_person(plant: &Plant, sql: &str) -> String {
    match plant.run(sql).await {
        Ok(()) => panic!("the schema let through: {sql}"),
        Err(store::Error::Refused(Refusal::Fields(fields))) => fields
            .into_iter()
            .map(|f| f.message)
            .collect::<Vec<_>>()
            .join(". "),
        Err(store::Error::Refused(refusal)) => refusal.to_string(),
        Err(other) => panic!("no plain words for {other}: {sql}"),
    }
}

async fn in_plain_words(cases: &[(&str, &str, &str)]) {
    let plant = world().await;
    for (name, sql, words) in cases {
        let said = read_by_a_person(&plant, sql).await;
        assert_eq!(said, *words, "{name}: {sql}");
    }
}

/// Names in the schema that a kind of statement gives, in order.
async fn named(sql: &'static str) -> BTreeSet<String> {
    let plant = Plant::new().await;
    let mut db = plant.store.read().await.expect("a reader");
    let texts: Vec<String> = sqlx::query_scalar(sql)
        .fetch_all(&mut *db)
        .await
        .expect("the schema");
    texts.into_iter().collect()
}

fn covered(cases: &[(&str, &str, &str)]) -> BTreeSet<String> {
    cases.iter().map(|(name, ..)| (*name).to_owned()).collect()
}

/// The names of the constraints of a kind in the schema's own text.
async fn constraints(kind: &str) -> BTreeSet<String> {
    let schema = named("SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL").await;
    let mut found = BTreeSet::new();
    for text in &schema {
        for part in text.split("CONSTRAINT ").skip(1) {
            let mut words = part.split_whitespace();
            if let (Some(name), Some(what)) = (words.next(), words.next())
                && what.starts_with(kind)
            {
                found.insert(name.to_owned());
            }
        }
    }
    assert!(!found.is_empty());
    found
}

#[tokio::test]
async fn every_trigger_refuses_in_plain_words() {
    in_plain_words(refusals::TRIGGERS).await;
}

#[tokio::test]
async fn every_check_refuses_in_plain_words() {
    in_plain_words(refusals::CHECKS).await;
}

#[tokio::test]
async fn every_unique_number_refuses_in_plain_words() {
    in_plain_words(refusals::UNIQUE).await;
}

#[tokio::test]
async fn no_trigger_that_refuses_goes_without_a_test() {
    let all =
        named("SELECT name FROM sqlite_schema WHERE type = 'trigger' AND sql LIKE '%RAISE%'").await;
    assert_eq!(all, covered(refusals::TRIGGERS));
}

#[tokio::test]
async fn no_check_goes_without_a_test() {
    assert_eq!(constraints("CHECK").await, covered(refusals::CHECKS));
}

#[tokio::test]
async fn no_unique_number_goes_without_a_test() {
    let mut all = constraints("UNIQUE").await;
    all.extend(
        named("SELECT name FROM sqlite_schema WHERE type = 'index' AND sql LIKE 'CREATE UNIQUE%'")
            .await,
    );
    assert_eq!(all, covered(refusals::UNIQUE));
}

#[tokio::test]
async fn what_is_never_deleted_is_not_replaced_either() {
    let plant = world().await;
    let kept: Vec<String> = {
        let mut db = plant.store.read().await.expect("a reader");
        sqlx::query_scalar(
            "SELECT DISTINCT tbl_name FROM sqlite_schema WHERE type = 'trigger' AND sql LIKE '%BEFORE DELETE%RAISE%'",
        )
        .fetch_all(&mut *db)
        .await
        .expect("the schema")
    };
    assert!(kept.len() > 20, "{kept:?}");
    for table in kept {
        let rows: i64 = {
            let mut db = plant.store.read().await.expect("a reader");
            let count = sqlx::AssertSqlSafe(format!("SELECT count(*) FROM {table}"));
            sqlx::query_scalar(count)
                .fetch_one(&mut *db)
                .await
                .expect("a count")
        };
        assert!(rows > 0, "the world has no {table}");
        let sql = format!(
            "DELETE FROM sign_in_attempt; INSERT OR REPLACE INTO {table} SELECT * FROM {table} ORDER BY 1 LIMIT 1"
        );
        assert!(
            plant.run(&sql).await.is_err(),
            "{table} lets a row be replaced"
        );
    }
}

#[tokio::test]
async fn what_points_nowhere_is_refused_in_plain_words() {
    let plant = world().await;
    let said = read_by_a_person(&plant, "UPDATE gauge SET area_id = 99 WHERE id = 1").await;
    assert_eq!(
        said,
        "Something this refers to is not in the register; load the page again"
    );
}

#[tokio::test]
async fn every_table_is_strict() {
    let loose = named(
        "SELECT name FROM pragma_table_list WHERE schema = 'main' AND type = 'table' AND strict = 0
         AND name NOT LIKE 'sqlite_%' AND name NOT LIKE '_sqlx_%'",
    )
    .await;
    assert!(loose.is_empty(), "{loose:?}");
}
