//! Planning a rebuild: what is proposed, what is refused, and that a gauge has one open rebuild.

use axum::http::StatusCode;

use crate::bench::world::Bench;

const PLAN: &str = "/gauges/LG-1107A/rebuild";
const TODAY: &[(&str, &str)] = &[("cause", "interval"), ("planned_for", "2026-03-02")];

#[tokio::test]
async fn planning_proposes_the_cause_and_the_day_and_says_what_it_takes() {
    let mut bench = Bench::new().await;
    let page = bench.engineer.get(PLAN).await;
    page.says("1 of SW-K-250R ; 8 in the storeroom may be used on that day")
        .says("32 ft·lbf");
    // Due since 30 April 2024, so today is proposed.
    assert_eq!(page.field("planned_for"), "2 Mar 2026");
}

#[tokio::test]
async fn a_planned_rebuild_waits_on_its_bench_sheet() {
    let mut bench = Bench::new().await;
    let answer = bench.engineer.fill(PLAN, PLAN, TODAY).await;
    answer.is(StatusCode::SEE_OTHER);
    assert_eq!(answer.goes_to(), "/bench/LG-1107A");
}

#[tokio::test]
async fn a_gauge_has_one_open_rebuild_at_a_time() {
    let mut bench = Bench::new().await;
    let first = bench.engineer.get(PLAN).await.field("key");
    bench
        .engineer
        .fill(PLAN, PLAN, TODAY)
        .await
        .is(StatusCode::SEE_OTHER);
    bench.engineer.get(PLAN).await.says("Rebuild 1 is planned");
    let mut again = vec![("key", first.as_str())];
    again.extend_from_slice(TODAY);
    bench
        .engineer
        .post(PLAN, &again)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Rebuild 1 of LG-1107A is planned; a gauge has one open rebuild at a time");
}

#[tokio::test]
async fn pressing_twice_plans_one_rebuild() {
    let mut bench = Bench::new().await;
    let key = bench.engineer.get(PLAN).await.field("key");
    let mut fields = vec![("key", key.as_str())];
    fields.extend_from_slice(TODAY);
    for _ in 0..2 {
        let answer = bench.engineer.post(PLAN, &fields).await;
        assert_eq!(answer.goes_to(), "/bench/LG-1107A");
    }
}

#[tokio::test]
async fn two_people_planning_at_once_plan_one_rebuild() {
    let mut bench = Bench::new().await;
    let mut other = bench.plant.engineer().await;
    let (a, b) = (
        bench.engineer.get(PLAN).await.field("key"),
        other.get(PLAN).await.field("key"),
    );
    let one = [("key", a.as_str()), TODAY[0], TODAY[1]];
    let two = [("key", b.as_str()), TODAY[0], TODAY[1]];
    let (first, second) = tokio::join!(bench.engineer.post(PLAN, &one), other.post(PLAN, &two));
    let mut statuses = [first.status, second.status];
    statuses.sort();
    assert_eq!(
        statuses,
        [StatusCode::SEE_OTHER, StatusCode::UNPROCESSABLE_ENTITY]
    );
}

#[tokio::test]
async fn only_engineers_plan() {
    let bench = Bench::new().await;
    for mut visitor in [
        bench.plant.technician().await,
        bench.plant.storekeeper().await,
        bench.plant.inspector().await,
        bench.plant.administrator().await,
    ] {
        visitor.get(PLAN).await.is(StatusCode::FORBIDDEN);
    }
}

#[tokio::test]
async fn a_day_that_is_past_is_refused_and_what_was_typed_stays() {
    let mut bench = Bench::new().await;
    let answer = bench
        .engineer
        .fill(
            PLAN,
            PLAN,
            &[
                ("cause", "leak"),
                ("planned_for", "2026-03-01"),
                ("note", "bring the long key"),
            ],
        )
        .await;
    answer
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("This day is past")
        .says("bring the long key");
    assert_eq!(answer.field("planned_for"), "2026-03-01");
}

#[tokio::test]
async fn a_gauge_that_cannot_be_isolated_is_planned_into_a_shutdown_window() {
    let mut bench = Bench::with(&[("sections", "1"), ("isolation", "shutdown-only")]).await;
    let mut deed = bench
        .plant
        .deed_of(gaugewright::record::person::Role::Engineer)
        .await;
    let window = gaugewright::store::windows::add(
        deed.db(),
        gaugewright::record::AreaId(1),
        "spring stop",
        time::macros::date!(2026 - 04 - 06),
        time::macros::date!(2026 - 04 - 12),
    )
    .await
    .expect("a window");
    deed.record(
        "added",
        "window",
        None,
        serde_json::json!({}),
        &[("shutdown_window", window.0)],
    )
    .await
    .expect("sealed");
    deed.commit("").await.expect("committed");

    let page = bench.engineer.get(PLAN).await;
    page.says("spring stop, 6 Apr 2026 to 12 Apr 2026");
    assert_eq!(page.field("planned_for"), "6 Apr 2026");
    for day in ["2026-04-05", "2026-04-13"] {
        bench
            .engineer
            .fill(PLAN, PLAN, &[("cause", "interval"), ("planned_for", day)])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("no shutdown window of its area covers the day");
    }
    let anyway = [
        ("cause", "interval"),
        ("planned_for", "2026-04-05"),
        ("stands_anyway", "yes"),
    ];
    bench
        .engineer
        .fill(PLAN, PLAN, &anyway)
        .await
        .says("Say why the vessel stands on that day");
    bench
        .engineer
        .fill(
            PLAN,
            PLAN,
            &[("cause", "interval"), ("planned_for", "2026-04-12")],
        )
        .await
        .is(StatusCode::SEE_OTHER);
}
