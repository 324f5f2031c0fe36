//! The invented plant: it can be made at any minute of any day, and what it holds is sound.

mod dates;

use gaugewright::acts::verify;
use gaugewright::demo::{self, Size};
use gaugewright::record::Moment;
use gaugewright::record::instrument::InstrumentKind;
use gaugewright::record::moment::Clock;
use gaugewright::store;
use time::OffsetDateTime;
use time::macros::datetime;

async fn made_at(at: OffsetDateTime) {
    made(at, 30).await;
}

async fn made(at: OffsetDateTime, gauges: u32) {
    let folder = tempfile::tempdir().expect("a folder");
    let clock = Clock::standing(Moment::new(at));
    let size = Size {
        gauges,
        kits: 9,
        stock_lines: 0,
    };
    demo::make(folder.path(), &clock, size)
        .await
        .unwrap_or_else(|error| panic!("{gauges} made at {at}: {error}"));
    let mut db = store::open_for_reading(folder.path()).await.expect("opens");
    let report = verify::verify(&mut db).await.expect("read");
    assert!(report.sound(), "{gauges} at {at}: {:?}", report.findings);
}

/// Nobody who tries a step of the bench stands there without the instrument it is read with.
#[tokio::test]
async fn the_demo_has_every_kind_of_instrument_the_bench_reads_with() {
    let folder = tempfile::tempdir().expect("a folder");
    let now = datetime!(2026-11-30 09:00 UTC);
    let clock = Clock::standing(Moment::new(now));
    let size = Size {
        gauges: 30,
        kits: 9,
        stock_lines: 0,
    };
    demo::make(folder.path(), &clock, size)
        .await
        .expect("the demo");
    let mut db = store::open_for_reading(folder.path()).await.expect("opens");
    for kinds in [
        InstrumentKind::GAP,
        InstrumentKind::HEIGHTS,
        InstrumentKind::WALL,
        &[InstrumentKind::TorqueWrench],
        &[InstrumentKind::PressureGauge],
    ] {
        let all = store::instruments::of_kinds(&mut db, kinds).await.unwrap();
        let good = all.iter().any(|one| one.usable_on(now.date()).is_ok());
        assert!(good, "{}", InstrumentKind::any_of(kinds));
    }
}

/// What a practitioner would smile at: an order placed before it was drafted, gaskets of elastomer on a
/// boiler, lots numbered as for a test.
#[tokio::test]
async fn the_demo_s_orders_kits_and_lots_are_such_as_a_plant_could_have() {
    let folder = tempfile::tempdir().expect("a folder");
    let clock = Clock::standing(Moment::new(datetime!(2026-11-30 09:00 UTC)));
    let size = Size {
        gauges: 143,
        kits: 9,
        stock_lines: 0,
    };
    demo::make(folder.path(), &clock, size)
        .await
        .expect("the demo");
    let mut db = store::open_for_reading(folder.path()).await.expect("opens");
    for (what, many, question) in [
        (
            "orders that were placed and drafted on one day",
            2,
            "SELECT count(*) FROM kit_order WHERE placed_on = made_on",
        ),
        (
            "orders that were placed before they were drafted",
            0,
            "SELECT count(*) FROM kit_order WHERE placed_on < made_on",
        ),
        (
            "gauges with graphite on the nameplate and a kit that ages on the shelf",
            0,
            "SELECT count(*) FROM gauge g JOIN kit k ON k.id = g.kit_id
             WHERE g.gasket_material = 'graphite' AND k.shelf_life_months IS NOT NULL",
        ),
        (
            "lots whose numbers tell what they were made for",
            0,
            "SELECT count(*) FROM lot WHERE number LIKE '%OLD%' OR number LIKE '%PART%'",
        ),
    ] {
        let found: i64 = sqlx::query_scalar(question)
            .fetch_one(&mut db)
            .await
            .expect("an answer");
        assert_eq!(found, many, "{what}");
    }
    let elastomer: i64 = sqlx::query_scalar(
        "SELECT count(*) FROM gauge g JOIN kit k ON k.id = g.kit_id WHERE k.shelf_life_months IS NOT NULL",
    )
    .fetch_one(&mut db)
    .await
    .expect("an answer");
    assert!(elastomer > 5, "{elastomer} gauges");
}

#[tokio::test]
async fn the_demo_is_made_just_after_midnight() {
    made_at(datetime!(2026-11-30 00:00:05 UTC)).await;
}

/// Three hundred gauges ask for the plant's three wrenches at the same time again and again.
#[tokio::test]
async fn a_gauge_waits_until_a_wrench_comes_free() {
    made(datetime!(2026-11-30 11:00 UTC), 300).await;
}

/// Above two thousand the history is thin: every part of the making runs, and little is asked of each.
#[tokio::test]
async fn a_fleet_made_to_measure_speed_with_is_sound() {
    made(datetime!(2026-11-30 11:00 UTC), 2_001).await;
}

#[tokio::test]
async fn the_demo_is_made_just_before_midnight_and_in_another_zone_s_evening() {
    made_at(datetime!(2026-12-01 23:59:50 UTC)).await;
    made_at(datetime!(2026-07-14 19:20 -5)).await;
}
