//! Tightening a returned gauge again: due where the practice of its class asks for it, closed by
//! recording it, refused hot, under pressure, too early or with a wrench that may not be relied on.

use axum::http::StatusCode;
use gaugewright::calc::due::Rule;
use gaugewright::record::person::Role;
use gaugewright::record::plant::ServiceClass;
use gaugewright::{acts, store};
use time::macros::{date, datetime};

use crate::bench::world::{Bench, RETURNED};
use crate::due::work::{asks, kept};
use crate::plant::Answer;
use crate::windows::agree;

const GAUGE: &str = "/gauges/LG-1107A";
const PAGE: &str = "/gauges/LG-1107A/re-torque";

const DONE: &[(&str, &str)] = &[
    ("on", "2026-03-09"),
    ("isolated", "yes"),
    ("locked", "yes"),
    ("zero", "yes"),
    ("cold", "yes"),
    ("wrench", "TW-07"),
    ("moved", "some"),
];

/// The practice of every class: within how many days bolting is tightened again.
async fn practice(bench: &Bench, days: Option<u16>) {
    let mut deed = bench.plant.deed_of(Role::Engineer).await;
    let classes = store::plant::service_classes(deed.db()).await.unwrap();
    for class in classes {
        let changed = ServiceClass {
            re_torque_days: days,
            ..class
        };
        acts::plant::change_service_class(&mut deed, &changed)
            .await
            .expect("a class");
    }
    deed.commit("").await.expect("committed");
}

/// Returned on 2 March 2026 in a class whose practice asks for a re-torque within so many days.
async fn returned(days: Option<u16>) -> Bench {
    let mut bench = Bench::new().await.on_test().await;
    practice(&bench, days).await;
    bench.tested("passed").await;
    bench.go("return", RETURNED).await.is(StatusCode::SEE_OTHER);
    bench
}

/// A week later: the technician has signed in again.
async fn a_week_later(bench: &mut Bench) {
    bench.plant.turn_to(datetime!(2026-03-09 10:00 UTC));
    bench.technician = bench.plant.technician().await;
}

async fn sent(bench: &mut Bench, changes: &[(&str, &str)]) -> Answer {
    let kept = DONE
        .iter()
        .filter(|(name, _)| changes.iter().all(|(changed, _)| changed != name));
    let fields: Vec<(&str, &str)> = kept.chain(changes).copied().collect();
    bench.technician.fill(PAGE, PAGE, &fields).await
}

#[tokio::test]
async fn a_window_s_plan_asks_for_no_rebuild_where_only_the_re_torque_is_due() {
    let bench = returned(Some(14)).await;
    let mut engineer = bench.plant.engineer().await;
    agree(&mut engineer, "1", "spring", ("2026-03-20", "2026-03-24"))
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/windows/Boiler%20House/2026-03-20/plan")
        .await
        .says("re-torque after the first heat cycle 16 Mar 2026 asks for no rebuild, which is due");
}

/// Returned on 2 March 2026: tightened again within 14 days, rebuilt again after 18 months.
#[tokio::test]
async fn a_re_torque_asks_for_the_work_and_leaves_the_next_rebuild_where_it_is() {
    let bench = returned(Some(14)).await;
    let row = kept(&bench.plant, "LG-1107A").await;
    assert_eq!(
        (row.rule, row.date),
        (Rule::Retorque, date!(2026 - 03 - 16))
    );
    let rebuild = (Rule::RebuildInterval, date!(2027 - 09 - 02));
    asks(&row, (row.rule, row.date), rebuild, rebuild.1);
}

/// published: NIST SP 811 (2008), B.8: ft·lbf to N·m 1.355818, so 32 are 43.386 N·m.
#[tokio::test]
async fn who_reads_as_stamped_sees_the_nameplate_s_torque_alone() {
    let mut bench = returned(Some(14)).await;
    bench
        .technician
        .get(PAGE)
        .await
        .says("once round at 32 ft·lbf , as the nameplate says")
        .does_not_say("N·m");
    bench.technician.reads("si").await;
    bench
        .technician
        .get(PAGE)
        .await
        .says("32 ft·lbf (43.38 N·m)");
}

#[tokio::test]
async fn a_returned_gauge_falls_due_for_it_and_recording_it_closes_that() {
    let mut bench = returned(Some(14)).await;
    // 2 March and 14 days.
    bench
        .technician
        .get(GAUGE)
        .await
        .says("Due 16 Mar 2026")
        .says("re-torque after the first heat cycle")
        .says("Tighten again, by 16 Mar 2026");
    bench
        .technician
        .get("/")
        .await
        .says("1 gauge is to be tightened again");
    bench
        .technician
        .get("/due?rule=retorque")
        .await
        .says("LG-1107A")
        .says("tighten again");
    a_week_later(&mut bench).await;
    bench
        .technician
        .get(PAGE)
        .await
        .says("by 16 Mar 2026")
        .says("Cold and without pressure only")
        .says("32 ft·lbf");
    let answer = sent(&mut bench, &[]).await;
    answer.is(StatusCode::SEE_OTHER);
    assert_eq!(answer.goes_to(), GAUGE);
    bench
        .technician
        .get(GAUGE)
        .await
        .does_not_say("Tighten again, by")
        .says("Tightened again to 32 ft·lbf");
    bench
        .technician
        .get("/due?rule=retorque")
        .await
        .does_not_say("LG-1107A");
    bench
        .its_record()
        .await
        .says("9 Mar 2026, to 32 ft·lbf with TW-07 , some nuts moved, Test technician");
    bench.is_sound().await;
}

#[tokio::test]
async fn where_the_practice_does_not_ask_nothing_falls_due() {
    let mut bench = returned(None).await;
    bench
        .technician
        .get(GAUGE)
        .await
        .does_not_say("re-torque after the first heat cycle");
    bench.its_record().await.says("not asked for");
    // A later change of the practice does not ask for it on gauges that are back already.
    practice(&bench, Some(14)).await;
    bench.is_sound().await;
}

#[tokio::test]
async fn nothing_is_tightened_hot_under_pressure_too_early_or_with_a_wrench_out_of_calibration() {
    let mut bench = returned(Some(14)).await;
    a_week_later(&mut bench).await;
    for (change, words) in [
        (
            ("cold", ""),
            "a gauge is never tightened under pressure or hot",
        ),
        (
            ("zero", ""),
            "a gauge is never tightened under pressure or hot",
        ),
        (
            ("on", "2026-03-01"),
            "the first heat cycle comes after that",
        ),
        (("on", "2026-03-10"), "This day is still to come"),
        (("wrench", ""), "Choose the torque wrench"),
        (("wrench", "FS-01"), "FS-01 is no torque wrench"),
        (("moved", ""), "Say whether nuts moved"),
    ] {
        let refused = sent(&mut bench, &[change]).await;
        refused.is(StatusCode::UNPROCESSABLE_ENTITY).says(words);
        assert_eq!(refused.field("note"), "");
    }
    bench.technician.get(GAUGE).await.says("Tighten again, by");
}

#[tokio::test]
async fn a_gauge_that_was_never_rebuilt_has_nothing_to_tighten_again() {
    let mut bench = Bench::new().await;
    bench
        .technician
        .get(PAGE)
        .await
        .says("It was not rebuilt in this register");
    let key = bench.technician.get(GAUGE).await.field("key");
    let mut fields = vec![("key", key.as_str())];
    fields.extend_from_slice(DONE);
    bench
        .technician
        .post(PAGE, &fields)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn pressed_twice_it_is_one_re_torque() {
    let mut bench = returned(Some(14)).await;
    a_week_later(&mut bench).await;
    let key = bench.technician.get(PAGE).await.field("key");
    let mut fields = vec![("key", key.as_str())];
    fields.extend_from_slice(DONE);
    for _ in 0..2 {
        bench
            .technician
            .post(PAGE, &fields)
            .await
            .is(StatusCode::SEE_OTHER);
    }
    let mut db = bench.plant.store.read().await.unwrap();
    let rows: i64 = sqlx::query_scalar("SELECT count(*) FROM re_torque")
        .fetch_one(&mut *db)
        .await
        .unwrap();
    assert_eq!(rows, 1);
}

/// That no valve keeps such a gauge apart from its vessel is common practice, no source.
#[tokio::test]
async fn a_gauge_that_cannot_be_isolated_is_tightened_again_with_its_vessel_out_of_service_only() {
    let mut bench = returned(Some(14)).await;
    a_week_later(&mut bench).await;
    bench
        .plant
        .run("UPDATE gauge SET isolation = 'shutdown-only' WHERE tag = 'LG-1107A'")
        .await
        .expect("a gauge");
    let line = "Its vessel is out of service and free of pressure";
    bench
        .technician
        .get(PAGE)
        .await
        .says(line)
        .does_not_say("Both gauge valves are shut");
    sent(&mut bench, &[])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says(line);
    sent(&mut bench, &[("vessel", "yes")])
        .await
        .is(StatusCode::SEE_OTHER);
}
