//! A rebuild that is planned and not begun may be given another day; nothing else of it changes.

use axum::http::StatusCode;

use crate::bench::world::Bench;
use crate::plant::{Answer, Visitor};
use crate::storeroom::all_is_sealed_and_true;

const PAGE: &str = "/gauges/LG-1107A/rebuild";

/// Fills the form as it was opened.
async fn give(visitor: &mut Visitor, fields: &[(&str, &str)]) -> Answer {
    let opened = visitor.get(PAGE).await;
    let seen = (opened.field("rebuild"), opened.field("version"));
    let mut all = vec![("rebuild", seen.0.as_str()), ("version", seen.1.as_str())];
    all.extend_from_slice(fields);
    visitor.fill(PAGE, &format!("{PAGE}/day"), &all).await
}

const NEXT_WEEK: &[(&str, &str)] = &[
    ("planned_for", "2026-03-09"),
    ("reason", "the scaffold comes a week later"),
];

#[tokio::test]
async fn a_planned_rebuild_is_given_another_day_and_its_record_says_which_it_had() {
    let mut bench = Bench::new().await.planned().await;
    bench
        .engineer
        .get("/gauges/LG-1107A")
        .await
        .says("planned for 2 Mar 2026. Another day");
    let page = bench.engineer.get(PAGE).await;
    page.says("Another day for the rebuild of LG-1107A")
        .says("Rebuild 1 is planned for 2 Mar 2026");
    assert_eq!(page.field("planned_for"), "2 Mar 2026");
    let answer = give(&mut bench.engineer, NEXT_WEEK).await;
    answer.is(StatusCode::SEE_OTHER);
    assert_eq!(answer.goes_to(), "/bench/LG-1107A");
    bench
        .engineer
        .get("/bench/LG-1107A")
        .await
        .says("Planned for 9 Mar 2026");
    bench
        .engineer
        .get("/gauges/LG-1107A/rebuilds/1")
        .await
        .says("Other days 2 Mar 2026 to 9 Mar 2026: the scaffold comes a week later Test reliability engineer, 2 Mar 2026");
    all_is_sealed_and_true(&bench.plant).await;
}

#[tokio::test]
async fn its_kits_are_wanted_for_the_day_it_was_given() {
    let mut bench = Bench::new().await.planned().await;
    give(&mut bench.engineer, NEXT_WEEK)
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .engineer
        .get("/needs/kits/SW-K-250R")
        .await
        .says("LG-1107A 9 Mar 2026");
    all_is_sealed_and_true(&bench.plant).await;
}

#[tokio::test]
async fn a_rebuild_made_ready_is_made_ready_again_for_another_day() {
    let mut bench = Bench::new().await.planned().await;
    bench.press("ready").await.is(StatusCode::SEE_OTHER);
    bench
        .engineer
        .get(PAGE)
        .await
        .says("for another day it is made ready again");
    give(&mut bench.engineer, NEXT_WEEK)
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .engineer
        .get("/gauges/LG-1107A")
        .await
        .says("Rebuild 1 is planned");
    all_is_sealed_and_true(&bench.plant).await;
}

#[tokio::test]
async fn a_rebuild_at_the_bench_keeps_its_day() {
    let mut bench = Bench::new().await.planned().await;
    let opened = bench.engineer.get(PAGE).await;
    let (key, row, version) = (
        opened.field("key"),
        opened.field("rebuild"),
        opened.field("version"),
    );
    bench.press("start").await.is(StatusCode::SEE_OTHER);
    let mut fields = vec![
        ("key", key.as_str()),
        ("rebuild", row.as_str()),
        ("version", version.as_str()),
    ];
    fields.extend_from_slice(NEXT_WEEK);
    bench
        .engineer
        .post(&format!("{PAGE}/day"), &fields)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY);
    bench
        .engineer
        .get("/gauges/LG-1107A")
        .await
        .says("planned for 2 Mar 2026.")
        .does_not_say("Another day");
    bench
        .engineer
        .get(PAGE)
        .await
        .says("Rebuild 1 is at the bench")
        .does_not_say("Give it this day");
}

#[tokio::test]
async fn what_is_wrong_with_another_day_stands_beside_its_field_and_what_was_typed_stays() {
    let mut bench = Bench::new().await.planned().await;
    for (day, reason, words) in [
        ("2026-03-01", "no crane", "This day is past"),
        (
            "2026-03-02",
            "no crane",
            "It is planned for 2 Mar 2026 already",
        ),
        ("2026-03-09", " ", "Say why it is given another day"),
    ] {
        let fields = [("planned_for", day), ("reason", reason)];
        let page = give(&mut bench.engineer, &fields).await;
        page.is(StatusCode::UNPROCESSABLE_ENTITY).says(words);
        assert_eq!(page.field("planned_for"), day);
    }
}

#[tokio::test]
async fn the_second_of_two_people_who_give_another_day_is_told_of_the_first() {
    let mut bench = Bench::new().await.planned().await;
    let mut second = bench.plant.engineer().await;
    let opened = second.get(PAGE).await;
    let (key, row, version) = (
        opened.field("key"),
        opened.field("rebuild"),
        opened.field("version"),
    );
    give(&mut bench.engineer, NEXT_WEEK)
        .await
        .is(StatusCode::SEE_OTHER);
    let fields = [
        ("key", key.as_str()),
        ("rebuild", row.as_str()),
        ("version", version.as_str()),
        ("planned_for", "2026-03-16"),
        ("reason", "the permit office is shut"),
    ];
    let page = second.post(&format!("{PAGE}/day"), &fields).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Rebuild 1 is planned for 9 Mar 2026")
        .says("the permit office is shut");
    assert_eq!(page.field("planned_for"), "2026-03-16");
}

#[tokio::test]
async fn a_gauge_that_waits_for_a_shutdown_is_given_a_day_of_a_window_or_the_reason_why_not() {
    let mut bench = Bench::with(&[("sections", "1"), ("isolation", "shutdown-only")]).await;
    for days in [("2026-03-02", "2026-03-04"), ("2026-04-01", "2026-04-05")] {
        crate::windows::agree(&mut bench.engineer, "1", "outage", days)
            .await
            .is(StatusCode::SEE_OTHER);
    }
    let mut bench = bench.planned().await;
    give(&mut bench.engineer, NEXT_WEEK)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("no shutdown window of its area covers the day");
    let within = [
        ("planned_for", "2026-04-02"),
        ("reason", "no crane in March"),
    ];
    give(&mut bench.engineer, &within)
        .await
        .is(StatusCode::SEE_OTHER);
    let anyway = [
        ("planned_for", "2026-03-20"),
        ("reason", "the drum is down for its inspection"),
        ("stands_anyway", "yes"),
    ];
    give(&mut bench.engineer, &anyway)
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .technician
        .get("/bench/LG-1107A")
        .await
        .says("a day in no shutdown window of Boiler House");
    all_is_sealed_and_true(&bench.plant).await;
}

#[tokio::test]
async fn only_engineers_give_another_day() {
    let bench = Bench::new().await.planned().await;
    for mut visitor in [
        bench.plant.technician().await,
        bench.plant.storekeeper().await,
        bench.plant.inspector().await,
        bench.plant.administrator().await,
    ] {
        visitor
            .post(&format!("{PAGE}/day"), NEXT_WEEK)
            .await
            .is(StatusCode::FORBIDDEN);
        visitor
            .get("/bench/LG-1107A")
            .await
            .does_not_say("Give it another day");
    }
}

/// What was wrong with a field says nothing of what somebody else did: the next press is still refused for it.
#[tokio::test]
async fn a_refused_field_does_not_let_another_s_day_be_written_over_unseen() {
    let mut bench = Bench::new().await.planned().await;
    let mut second = bench.plant.engineer().await;
    let opened = second.get(PAGE).await;
    let (row, version) = (opened.field("rebuild"), opened.field("version"));
    give(&mut bench.engineer, NEXT_WEEK)
        .await
        .is(StatusCode::SEE_OTHER);
    let mut fields = vec![
        ("rebuild", row.as_str()),
        ("version", version.as_str()),
        ("planned_for", "2026-03-16"),
    ];
    let address = format!("{PAGE}/day");
    let page = second.fill(PAGE, &address, &fields).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say why it is given another day");
    let seen = (page.field("rebuild"), page.field("version"));
    assert_eq!(
        (seen.0.as_str(), seen.1.as_str()),
        (row.as_str(), version.as_str())
    );
    fields.push(("reason", "the permit office is shut"));
    second
        .fill(PAGE, &address, &fields)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Test reliability engineer");
}

#[tokio::test]
async fn who_was_second_to_plan_a_rebuild_may_give_it_another_day_from_the_page_that_says_so() {
    let bench = Bench::new().await;
    let mut second = bench.plant.engineer().await;
    let key = second.get(PAGE).await.field("key");
    let mut bench = bench.planned().await;
    let fields = [
        ("key", key.as_str()),
        ("cause", "interval"),
        ("planned_for", "2026-03-05"),
    ];
    let page = second.post(PAGE, &fields).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Another day for the rebuild of LG-1107A");
    let (row, version) = (page.field("rebuild"), page.field("version"));
    let fields = [
        ("rebuild", row.as_str()),
        ("version", version.as_str()),
        ("planned_for", "2026-03-05"),
        ("reason", "no crane before"),
    ];
    second
        .fill(PAGE, &format!("{PAGE}/day"), &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .technician
        .get("/gauges/LG-1107A")
        .await
        .says("planned for 5 Mar 2026");
}

#[tokio::test]
async fn a_rebuild_of_another_gauge_is_given_no_day_from_this_one_s_page() {
    let mut bench = Bench::new().await.planned().await;
    crate::gauges::hang(&mut bench.engineer, &[("tag", "LG-9")]).await;
    let opened = bench.engineer.get(PAGE).await;
    let (row, version) = (opened.field("rebuild"), opened.field("version"));
    let mut fields = vec![("rebuild", row.as_str()), ("version", version.as_str())];
    fields.extend_from_slice(NEXT_WEEK);
    bench
        .engineer
        .fill("/gauges/LG-9/rebuild", "/gauges/LG-9/rebuild/day", &fields)
        .await
        .is(StatusCode::NOT_FOUND);
    bench
        .engineer
        .get("/gauges/LG-1107A")
        .await
        .says("planned for 2 Mar 2026");
}
