//! A gauge's whole history: every kind of line, newest first, paged without gaps.

use axum::http::StatusCode;
use sqlx::Row;
use time::macros::datetime;

use super::hang;
use crate::bench::world::{Bench, RETURNED};
use crate::plant::{Plant, plain};

const HISTORY: &str = "/gauges/LG-1107A/history";

/// One of everything the bench, the storeroom and the inspector leave behind. People are rows 1
/// (technician), 3 (inspector) and 4 (engineer) of the test plant.
const LIFE: &str = "
INSERT INTO kit (number, name, kind, lead_days) VALUES ('TW-K-250', 'reflex 250', 'reflex', 30);
INSERT INTO lot (kit_id, number, received_on) VALUES (1, 'L-77', '2025-01-10');
INSERT INTO instrument (number, kind, range_low, range_high, unit) VALUES
  ('TW-3', 'torque-wrench', '10', '100', '[ft_i].[lbf_av]'), ('PG-4', 'pressure-gauge', '0', '3000', '[psi]');
INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, note)
  VALUES (1, 1, 'at-the-bench', 'leak', '2025-03-10', '2025-03-01T08:00:00.000Z', 4, 'leaks below');
INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, rebuild_id) VALUES
  (1, 'receipt', 9, 9, '2025-01-10T08:00:00.000Z', '2025-01-10', 1, NULL),
  (1, 'issue', -4, 5, '2025-03-10T08:00:00.000Z', '2025-03-10', 1, 1),
  (1, 'return', 1, 6, '2025-03-10T15:00:00.000Z', '2025-03-10', 1, 1);
INSERT INTO instrument_use (instrument_id, rebuild_id, used_on) VALUES (1, 1, '2025-03-10');
INSERT INTO pressure_test (number, year, ordinal, gauge_id, rebuild_id, tested_on, result, facts, instrument_id, person_id, at)
  VALUES ('TW-T-1', 2025, 1, 1, 1, '2025-03-11', 'passed', '{}', 2, 1, '2025-03-11T10:00:00.000Z');
INSERT INTO instrument_use (instrument_id, test_id, used_on) VALUES (2, 1, '2025-03-11');
INSERT INTO witnessing (test_id, person_id, at) VALUES (1, 3, '2025-03-11T10:30:00.000Z');
INSERT INTO certificate (number, year, ordinal, test_id, issued_by, issued_at, record, sha256)
  VALUES ('TW-C-1', 2025, 1, 1, 3, '2025-03-11T11:00:00.000Z', '{}', '0000000000000000000000000000000000000000000000000000000000000000');
UPDATE rebuild SET state = 'returned', ended_on = '2025-03-12', ended_at = '2025-03-12T09:00:00.000Z', ended_by = 4 WHERE id = 1;
INSERT INTO failure (gauge_id, seen_on, kind, note, person_id, at, rebuild_id)
  VALUES (1, '2025-02-27', 'leak', 'drips', 1, '2025-02-27T16:00:00.000Z', 1);
INSERT INTO look_over (gauge_id, on_date, found, note, person_id, at)
  VALUES (1, '2025-06-01', 'sound', '', 1, '2025-06-01T10:00:00.000Z');
INSERT INTO deferral (gauge_id, until_on, hard_limit_on, reason, person_id, at)
  VALUES (1, '2026-12-01', '2027-01-31', 'kit late', 4, '2025-07-01T10:00:00.000Z');
INSERT INTO nameplate_photo (gauge_id, at, person_id, width, height, sha256, jpeg, small_jpeg)
  VALUES (1, '2025-08-01T10:00:00.000Z', 1, 10, 10, x'00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff', x'ff', x'ff');
";

#[tokio::test]
async fn everything_that_happened_stands_newest_first_with_who_and_with_what() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    plant.run(LIFE).await.expect("a life");
    let page = engineer.get(HISTORY).await;
    page.is(StatusCode::OK);
    let text = plain(&page.text);
    let in_order = [
        "2 Mar 2026 Taken into the register",
        "1 Aug 2025 Photograph of the nameplate",
        "1 Jul 2025 Deferral signed until 1 Dec 2026 , never past 31 Jan 2027 kit late",
        "1 Jun 2025 Look-over: sound",
        "12 Mar 2025 Rebuild 1 , returned: leak leaks below Test reliability engineer",
        "11 Mar 2025 Pressure test TW-T-1 passed , witnessed by Test inspector certificate TW-C-1 stands Test technician",
        "11 Mar 2025 Used pressure gauge PG-4 in test TW-T-1",
        "10 Mar 2025 Used torque wrench TW-3 in rebuild 1",
        "1 kit TW-K-250 of lot L-77 came back from rebuild 1",
        "4 kits TW-K-250 of lot L-77 went to rebuild 1",
        "27 Feb 2025 Failure: leak , answered by rebuild 1 drips Test technician",
    ];
    let mut from = 0;
    for words in in_order {
        let at = text[from..]
            .find(words)
            .unwrap_or_else(|| panic!("{words:?} should come next in {text}"));
        from += at;
    }
    // The kit's receipt is the storeroom's affair, not this gauge's.
    page.does_not_say("9 kits");
}

#[tokio::test]
async fn the_certificate_the_kit_and_the_instrument_can_be_opened_from_the_line() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    plant.run(LIFE).await.expect("a life");
    let page = engineer.get(HISTORY).await;
    for address in [
        "/pressure-tests/certificates/TW-C-1.pdf",
        "/pressure-tests/TW-T-1",
        "/storeroom/kits/TW-K-250",
        "/storeroom/kits/TW-K-250/lots/L-77",
        "/instruments/PG-4",
        "/gauges/LG-1107A/rebuilds/1",
        "/gauges/LG-1107A/photo?mark=00112233445566778899aabbccddeeff",
    ] {
        assert!(page.text.contains(address), "{address}");
    }
}

#[tokio::test]
async fn one_kind_of_line_can_be_asked_for_in_the_address() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    plant.run(LIFE).await.expect("a life");
    engineer
        .get(&format!("{HISTORY}?only=test"))
        .await
        .says("TW-T-1")
        .does_not_say("Look-over: sound")
        .does_not_say("Taken into the register");
}

#[tokio::test]
async fn paging_shows_every_line_once_even_within_one_moment() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    // 120 look-overs, 40 of them recorded at the same moment.
    plant
        .run(
            "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 120)
             INSERT INTO look_over (gauge_id, on_date, found, note, person_id, at)
             SELECT 1, '2025-01-01', 'sound', 'number ' || i || '.', 1,
               CASE WHEN i BETWEEN 40 AND 79 THEN '2025-05-05T05:05:05.000Z' ELSE '2025-05-05T05:' || printf('%02d', i % 60) || ':00.' || printf('%03d', i) || 'Z' END
             FROM n",
        )
        .await
        .expect("look-overs");
    let mut seen = Vec::new();
    let mut page = engineer.get(HISTORY).await;
    loop {
        let text = plain(&page.text);
        seen.extend(
            text.split("number ")
                .skip(1)
                .filter_map(|rest| rest.split('.').next()?.parse::<u32>().ok()),
        );
        let Some(at) = page.text.find("before=") else {
            break;
        };
        let start = page.text[..at].rfind('"').expect("an address") + 1;
        let end = at + page.text[at..].find('"').expect("its end");
        let next = page.text[start..end].replace("&#38;", "&");
        page = engineer.get(&next).await;
    }
    assert_eq!(seen.len(), 120);
    seen.sort_unstable();
    assert_eq!(seen, (1..=120).collect::<Vec<_>>());
}

#[tokio::test]
async fn an_older_page_says_that_newer_lines_exist_and_leads_back_to_them() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    plant.run(LIFE).await.expect("a life");
    engineer
        .get(&format!("{HISTORY}?only=test"))
        .await
        .does_not_say("Newer ones than these");
    let older = engineer
        .get(&format!(
            "{HISTORY}?only=test&before=2026-01-01T00:00:00.000Z_test_9"
        ))
        .await;
    older
        .says("TW-T-1")
        .says("Newer ones than these are on record. From the newest");
    let link = format!("<a href=\"{HISTORY}?only=test\">From the newest</a>");
    assert!(older.text.contains(&link), "{}", older.text);
}

/// Evidence: what was used on two days was used on both, and somebody used it.
#[tokio::test]
async fn each_day_an_instrument_was_used_has_its_own_line_with_who_recorded_it() {
    let mut bench = Bench::new().await.on_test().await;
    bench.tested("passed").await;
    bench.go("return", RETURNED).await.is(StatusCode::SEE_OTHER);
    bench.plant.turn_to(datetime!(2026-03-09 10:00 UTC));
    bench.technician = bench.plant.technician().await;
    let again = "/gauges/LG-1107A/re-torque";
    let fields = [
        ("on", "2026-03-09"),
        ("isolated", "yes"),
        ("locked", "yes"),
        ("zero", "yes"),
        ("cold", "yes"),
        ("wrench", "TW-07"),
        ("moved", "some"),
    ];
    bench
        .technician
        .fill(again, again, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .technician
        .get(&format!("{HISTORY}?only=instrument"))
        .await
        .says("9 Mar 2026 Used torque wrench TW-07 after rebuild 1 Test technician")
        .says("2 Mar 2026 Used torque wrench TW-07 in rebuild 1 Test technician");
}

#[tokio::test]
async fn a_key_that_is_none_shows_the_latest_lines() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    for before in [
        "x",
        "2025_test_1",
        "%00",
        "2026-03-02T09:00:00.000Z_nothing_1",
    ] {
        engineer
            .get(&format!("{HISTORY}?before={before}&only=nonsense"))
            .await
            .is(StatusCode::OK)
            .says("Taken into the register");
    }
}

#[tokio::test]
async fn no_part_of_the_question_walks_a_whole_table() {
    let plant = Plant::new().await;
    let source = include_str!("../../server/store/history.rs");
    let sql = source
        .split("r#\"")
        .nth(1)
        .and_then(|rest| rest.split("\"#").next())
        .expect("the question");
    let mut db = plant.store.read().await.expect("a reader");
    let plan = sqlx::query(sqlx::AssertSqlSafe(format!("EXPLAIN QUERY PLAN {sql}")))
        .fetch_all(&mut *db)
        .await
        .expect("a plan");
    let steps: Vec<String> = plan.iter().map(|row| row.get::<String, _>(3)).collect();
    assert!(
        steps
            .iter()
            .any(|step| step.starts_with("SEARCH a USING INDEX audit_gauge"))
    );
    for step in &steps {
        // The seals of a line are a list inside that line, and no table.
        let seals = step.starts_with("SCAN s VIRTUAL TABLE");
        assert!(
            !step.starts_with("SCAN ") || step == "SCAN h" || seals,
            "{step} walks a whole table:\n{}",
            steps.join("\n")
        );
    }
}
