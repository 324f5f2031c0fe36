//! The list: what waits for whom, and finding a test again.

use axum::http::StatusCode;

use gaugewright::acts;
use gaugewright::acts::certificates::Marking;
use gaugewright::record::certificate_mark::MarkKind;
use gaugewright::record::person::Role;

use super::world::{
    FORM, PASSED, certified, plant, pressure_gauge, rebuilt, signs, take_in, tested, with,
};
use crate::plant::{PASSWORD, plain};

#[tokio::test]
async fn a_test_waits_for_its_witness_then_for_its_certificate_then_for_nothing() {
    let plant = plant().await;
    let mut inspector = plant.inspector().await;
    inspector
        .get("/pressure-tests")
        .await
        .says("No test waits for a signature");
    let number = tested(&mut plant.technician().await, PASSED).await;
    inspector
        .get("/pressure-tests")
        .await
        .says("1 test waits for a witness")
        .says("Waiting for a witness");
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    inspector
        .get("/pressure-tests?waiting=certificate")
        .await
        .says("1 test waits for a certificate")
        .says(&number);
    inspector
        .get("/pressure-tests?waiting=witness")
        .await
        .says("No test fits");
    signs(&mut inspector, &number, "certificate")
        .await
        .is(StatusCode::SEE_OTHER);
    inspector
        .get("/pressure-tests")
        .await
        .says("No test waits for a signature")
        .says("TW-C-2026-0001");
}

#[tokio::test]
async fn a_later_test_takes_the_place_of_an_earlier_one_and_a_failed_one_waits_for_nobody() {
    let plant = plant().await;
    let mut technician = plant.technician().await;
    tested(&mut technician, PASSED).await;
    tested(&mut technician, PASSED).await;
    technician
        .get("/pressure-tests")
        .await
        .says("1 test waits for a witness");
    let leak = with(PASSED, &[("leak", "leak"), ("note", "at the vent")]);
    tested(&mut technician, &leak).await;
    technician
        .get("/pressure-tests")
        .await
        .says("No test waits for a signature")
        .says("3 tests recorded this year");
}

#[tokio::test]
async fn gauges_on_test_stand_on_top_until_they_have_passed() {
    let plant = plant().await;
    rebuilt(&plant).await;
    let mut technician = plant.technician().await;
    technician.get("/pressure-tests").await.says("To be tested");
    let leak = with(PASSED, &[("leak", "leak"), ("note", "at the vent")]);
    tested(&mut technician, &leak).await;
    technician
        .get("/pressure-tests")
        .await
        .says("on test, failed before");
    tested(&mut technician, PASSED).await;
    technician
        .get("/pressure-tests")
        .await
        .does_not_say("To be tested");
}

#[tokio::test]
async fn a_test_is_found_by_its_number_its_certificate_s_its_gauge_its_result_and_its_instrument() {
    let plant = plant().await;
    take_in(&plant, &[("tag", "LG-2201"), ("vessel", "TR-T-9")]).await;
    pressure_gauge(&plant, "PG-23", "3000").await;
    let certificate = certified(&plant).await;
    let mut technician = plant.technician().await;
    let other = "/pressure-tests/new/LG-2201";
    let failed = with(
        PASSED,
        &[("instrument", "PG-23"), ("leak", "leak"), ("note", "vent")],
    );
    technician
        .fill(other, other, &failed)
        .await
        .is(StatusCode::SEE_OTHER);
    for (query, found, not) in [
        ("q=tw-t-2026-0001", "TW-T-2026-0001", "TW-T-2026-0002"),
        (
            &format!("q={certificate}"),
            "TW-T-2026-0001",
            "TW-T-2026-0002",
        ),
        ("q=LG-2201", "TW-T-2026-0002", "TW-T-2026-0001"),
        ("q=TR-T", "TW-T-2026-0002", "TW-T-2026-0001"),
        ("result=failed", "TW-T-2026-0002", "TW-T-2026-0001"),
        ("result=passed", "TW-T-2026-0001", "TW-T-2026-0002"),
        ("instrument=PG-23", "TW-T-2026-0002", "TW-T-2026-0001"),
        ("q=LG-2201&result=passed", "No test fits", "TW-T-2026-0002"),
        ("instrument=PG-99", "No test fits", "TW-T-2026-0002"),
    ] {
        technician
            .get(&format!("/pressure-tests?{query}"))
            .await
            .is(StatusCode::OK)
            .says(found)
            .does_not_say(not);
    }
    technician
        .get("/pressure-tests?q=%22*%2F&after=nonsense")
        .await
        .is(StatusCode::OK);
}

#[tokio::test]
async fn the_list_is_paged_by_day_and_row_and_shows_each_test_once() {
    let plant = plant().await;
    let mut technician = plant.technician().await;
    // Four days, written in the wrong order.
    for day in 0..52 {
        let day = format!("2026-02-{:02}", 25 + day % 4);
        let fields = with(PASSED, &[("began_on", day.as_str())]);
        technician
            .fill(FORM, FORM, &fields)
            .await
            .is(StatusCode::SEE_OTHER);
    }
    let first = technician.get("/pressure-tests?result=passed").await;
    let next = first
        .text
        .split("class=\"pager\"")
        .nth(1)
        .expect("a next page");
    let next = next
        .split("href=\"")
        .nth(1)
        .unwrap()
        .split('"')
        .next()
        .unwrap();
    let second = technician.get(&next.replace("&#38;", "&")).await;
    let seen = |text: &str| -> Vec<String> {
        let rows = text.split("<tbody>").nth(1).unwrap();
        rows.match_indices("\">TW-T-2026-")
            .map(|(at, _)| rows[at + 2..at + 16].to_owned())
            .collect()
    };
    let (mut all, rest) = (seen(&first.text), seen(&second.text));
    assert_eq!((all.len(), rest.len()), (50, 2));
    all.extend(rest);
    all.sort();
    all.dedup();
    assert_eq!(all.len(), 52);
    let words = plain(&first.text);
    assert!(words.find("28 Feb 2026") < words.find("25 Feb 2026"));
}

#[tokio::test]
async fn a_search_that_fits_too_many_gauges_says_that_it_was_cut_short() {
    let plant = plant().await;
    let mut db = plant.store.write().await.unwrap();
    sqlx::query(
        "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 200)
         INSERT INTO gauge (tag, area_id, service_class_id, standing, kind, sections, isolation)
         SELECT printf('LG-9%03d', i), 1, 1, 'in-service', 'reflex', 1, 'in-service' FROM n",
    )
    .execute(&mut *db)
    .await
    .unwrap();
    db.commit().await.unwrap();
    let mut technician = plant.technician().await;
    let words = "only the tests of the first 200 are shown";
    technician.get("/pressure-tests?q=LG").await.says(words);
    technician
        .get("/pressure-tests?q=LG-9")
        .await
        .does_not_say(words);
}

#[tokio::test]
async fn the_tests_are_taken_away_as_they_are_shown() {
    let plant = plant().await;
    let mut technician = plant.technician().await;
    let passed = tested(&mut technician, PASSED).await;
    let leak = with(PASSED, &[("leak", "leak"), ("note", "at the vent")]);
    let failed = tested(&mut technician, &leak).await;
    for (query, wanted) in [
        ("", vec![&passed, &failed]),
        ("?result=passed", vec![&passed]),
        ("?result=failed&q=LG-1107A", vec![&failed]),
        ("?from=2026-03-02&to=2026-03-02", vec![&passed, &failed]),
        ("?from=2026-03-03", vec![]),
        ("?to=2026-03-01", vec![]),
        ("?instrument=PG-22", vec![&passed, &failed]),
        ("?instrument=PG-99", vec![]),
    ] {
        let page = technician.get(&format!("/pressure-tests{query}")).await;
        let csv = technician
            .get(&format!("/pressure-tests/list.csv{query}"))
            .await;
        csv.is(StatusCode::OK);
        for number in [&passed, &failed] {
            let there = wanted.contains(&number);
            let row = format!("/pressure-tests/{number}\"");
            let listed = page
                .text
                .split("<tbody>")
                .nth(1)
                .is_some_and(|rows| rows.contains(&row));
            assert_eq!(listed, there, "page {query}");
            assert_eq!(csv.text.contains(number.as_str()), there, "list {query}");
        }
    }
    let csv = technician.get("/pressure-tests/list.csv").await;
    assert!(
        csv.text
            .contains("passed,2026-03-02,1500 psi,Test technician"),
        "{}",
        csv.text
    );
    let book = technician.get("/pressure-tests/list.xlsx").await;
    assert_eq!(&book.bytes[..2], b"PK");
}

/// How a certificate stands is said wherever its number is, in the words of the register of certificates.
#[tokio::test]
async fn beside_the_number_of_a_certificate_stands_how_it_stands_in_lists_history_and_exports() {
    let plant = plant().await;
    let number = certified(&plant).await;
    for (kind, standing) in [
        (None, "stands"),
        (Some(MarkKind::Questioned), "questioned"),
        (Some(MarkKind::Stands), "stands"),
        (Some(MarkKind::Withdrawn), "withdrawn"),
    ] {
        if let Some(kind) = kind {
            let mut deed = plant.deed_of(Role::Inspector).await;
            let marking = Marking {
                kind,
                reason: "looked at again",
                recall: None,
            };
            acts::certificates::mark(&mut deed, &number.parse().unwrap(), marking)
                .await
                .unwrap();
            deed.commit("").await.unwrap();
        }
        let mut reader = plant.storekeeper().await;
        let beside = format!("{number} {standing}");
        for page in [
            "/pressure-tests",
            "/pressure-tests/TW-T-2026-0001",
            "/gauges/LG-1107A",
            "/gauges/LG-1107A/history",
        ] {
            reader.get(page).await.says(&beside);
        }
        let csv = reader.get("/pressure-tests/list.csv").await;
        csv.says(&format!("{number},{standing}"));
    }
}

#[tokio::test]
async fn a_superseded_certificate_gives_way_to_the_one_that_stands_in_its_place() {
    let plant = plant().await;
    let old = certified(&plant).await;
    let page = format!("/pressure-tests/certificates/{old}/correct");
    let fields = [
        ("reason", "the place of the test was left out"),
        ("place", "test bench 2"),
        ("password", PASSWORD),
    ];
    let mut inspector = plant.inspector().await;
    let new = inspector.fill(&page, &page, &fields).await;
    new.is(StatusCode::SEE_OTHER);
    for page in ["/pressure-tests", "/gauges/LG-1107A/history"] {
        inspector
            .get(page)
            .await
            .says("TW-C-2026-0002 stands")
            .does_not_say(&old);
    }
    inspector
        .get("/pressure-tests/certificates")
        .await
        .says("superseded by TW-C-2026-0002");
}

/// Who reads only one of the two pages is not left with a place the other one takes back.
#[tokio::test]
async fn a_certificate_s_page_states_the_place_and_the_test_s_page_what_a_correction_states_otherwise()
 {
    let plant = plant().await;
    let old = certified(&plant).await;
    let page = format!("/pressure-tests/certificates/{old}/correct");
    let fields = [
        ("reason", "the place of the test was left out"),
        ("place", "test bench 2"),
        ("read_at", "top of the gauge"),
        ("password", PASSWORD),
    ];
    let mut inspector = plant.inspector().await;
    inspector
        .get("/pressure-tests/TW-T-2026-0001")
        .await
        .does_not_say("corrected by");
    inspector
        .fill(&page, &page, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    inspector
        .get("/pressure-tests/certificates/TW-C-2026-0002")
        .await
        .says("Place test bench 2")
        .says("Read top of the gauge");
    inspector
        .get("/pressure-tests/TW-T-2026-0001")
        .await
        .says("corrected by TW-C-2026-0002 : test bench 2")
        .says("corrected by TW-C-2026-0002 : top of the gauge");
}
