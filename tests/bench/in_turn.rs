//! Whose turn it is at the shelf: what a planned rebuild is told of its kits while others wait for the same
//! ones, on the list, on its sheet and in the storeroom.

use axum::http::StatusCode;

use super::world::{Bench, SHEET, send};
use crate::gauges::edit::NAMEPLATE;
use crate::gauges::hang;
use crate::plant::{Plant, Visitor};

/// Gauges of one kit, three kits each; LG-1107A is there already. On the shelf lie four of A-101, up to
/// 30 Sep 2026, and four of A-102, which keep; the four of A-099 have expired.
async fn three_gauges() -> Bench {
    let mut bench = Bench::with(&[("sections", "1"), ("kits_per_rebuild", "3")]).await;
    for tag in ["LG-1107B", "LG-1107C"] {
        let own = ["tag", "sections", "kits_per_rebuild"];
        let kept = NAMEPLATE.iter().filter(|(name, _)| !own.contains(name));
        let mut fields: Vec<(&str, &str)> = kept.copied().collect();
        let changes = [
            ("tag", tag),
            ("sections", "1"),
            ("kits_per_rebuild", "3"),
            ("kit", "1"),
        ];
        fields.extend(changes);
        bench
            .engineer
            .fill("/gauges/new", "/gauges/new", &fields)
            .await
            .is(StatusCode::SEE_OTHER);
    }
    bench
}

async fn planned(bench: &mut Bench, tag: &str, day: &str) {
    let page = format!("/gauges/{tag}/rebuild");
    let fields = [("cause", "interval"), ("planned_for", day)];
    bench
        .engineer
        .fill(&page, &page, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

/// common practice, no source; by hand. 10 March: B takes 3 of A-101, C the last one of it and 2 of A-102.
/// 2 October: A-101 has expired, and of the 4 of A-102 these 2 are gone: 2 of 3.
#[tokio::test]
async fn kits_that_rebuilds_planned_before_take_are_not_in_hand() {
    let mut bench = three_gauges().await;
    // The later day was planned first: the day decides.
    planned(&mut bench, "LG-1107A", "2026-10-02").await;
    planned(&mut bench, "LG-1107B", "2026-03-10").await;
    planned(&mut bench, "LG-1107C", "2026-03-10").await;
    let waits = "kits: 2 of 3 SW-K-250R in hand, 2 are reserved for rebuilds that come before it";
    bench
        .technician
        .get("/bench")
        .await
        .says(waits)
        .says("kits are in the storeroom");
    bench.sheet().await.says(waits).says(
        "3 kits of SW-K-250R needed: none issued yet, 4 usable in the storeroom of which 2 are reserved for rebuilds that come before it",
    );
    for tag in ["LG-1107B", "LG-1107C"] {
        bench
            .technician
            .get(&format!("/bench/{tag}"))
            .await
            .says("kits are in the storeroom");
    }
    bench
        .press("ready")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("2 of 3 SW-K-250R can be used on 2 Oct 2026, 2 are reserved for rebuilds that come before it");
    bench.is_sound().await;
}

/// common practice, no source; by hand: 8 may be used in March, and 3 + 3 + 3 are wanted of them.
#[tokio::test]
async fn of_rebuilds_planned_for_one_day_the_one_planned_last_is_short() {
    let mut bench = three_gauges().await;
    for tag in ["LG-1107C", "LG-1107A", "LG-1107B"] {
        planned(&mut bench, tag, "2026-03-10").await;
    }
    let short = "kits: 2 of 3 SW-K-250R in hand, 6 are reserved for rebuilds that come before it";
    let b = "/bench/LG-1107B";
    bench.technician.get(b).await.says(short);
    bench.sheet().await.says("kits are in the storeroom");
    // Who has taken its kits waits for none, and nothing more is reserved for it.
    send(
        &mut bench.technician,
        &format!("{SHEET}/kits"),
        &[("lot", "1"), ("quantity", "3")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    let short = "kits: 2 of 3 SW-K-250R in hand, 3 are reserved for rebuilds that come before it";
    bench.technician.get(b).await.says(short);
    bench
        .technician
        .get(SHEET)
        .await
        .says("3 kits of SW-K-250R needed: 3 issued")
        .says("kits are issued");
    bench.is_sound().await;
}

/// common practice, no source; by hand: 8 may be used in March. While the first waits for its own kits too,
/// 8 - 3 - 3 = 2 are left for the third; once it has three of another number, 8 - 3 = 5 are.
#[tokio::test]
async fn a_rebuild_that_took_another_kit_reserves_none_of_its_own_any_more() {
    let mut bench = three_gauges().await;
    for tag in ["LG-1107A", "LG-1107B", "LG-1107C"] {
        planned(&mut bench, tag, "2026-03-10").await;
    }
    let last = "/bench/LG-1107C";
    bench
        .technician
        .get(last)
        .await
        .says("kits: 2 of 3 SW-K-250R in hand, 6 are reserved for rebuilds that come before it");
    let other = [
        ("kit", "SW-K-250T"),
        ("lot", "4"),
        ("quantity", "3"),
        ("reason", "same glass, gaskets checked against the drawing"),
    ];
    let kits = format!("{SHEET}/kits?kit=SW-K-250T");
    send(&mut bench.technician, &kits, &other)
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .technician
        .get(last)
        .await
        .says("kits are in the storeroom")
        .says("of which 3 are reserved for rebuilds that come before it");
    bench
        .technician
        .get("/storeroom/kits/SW-K-250R")
        .await
        .says("Planned rebuilds reserve 6 of it");
    bench.is_sound().await;
}

/// common practice, no source; by hand: 8 may be used today, 3 + 3 are wanted on 10 March.
#[tokio::test]
async fn a_gauge_at_the_bench_is_told_which_kits_rebuilds_planned_before_it_wait_for() {
    let mut bench = three_gauges().await;
    planned(&mut bench, "LG-1107A", "2026-10-02").await;
    planned(&mut bench, "LG-1107B", "2026-03-10").await;
    planned(&mut bench, "LG-1107C", "2026-03-10").await;
    bench.press("start").await.is(StatusCode::SEE_OTHER);
    let kits = format!("{SHEET}/kits");
    bench.technician.get(&kits).await.says(
        "6 of the 8 that may be used today are reserved for rebuilds that come before this one.",
    );
    bench
        .technician
        .get("/storeroom/kits/SW-K-250R")
        .await
        .says("Planned rebuilds reserve 9 of it");
    bench
        .technician
        .get("/bench/LG-1107B/kits")
        .await
        .does_not_say("reserved for rebuilds that come before");
    // The gauge that lies open has them nevertheless, where somebody takes them.
    let three = [("lot", "1"), ("quantity", "3")];
    send(&mut bench.technician, &kits, &three)
        .await
        .is(StatusCode::SEE_OTHER);
    bench
        .technician
        .get("/bench/LG-1107C")
        .await
        .says("kits: 2 of 3 SW-K-250R in hand, 3 are reserved for rebuilds that come before it");
    bench.is_sound().await;
}

const ORDER: &str = "/orders/TW-O-2026-0001";

/// A step of the first order.
async fn order_goes(keeper: &mut Visitor, step: &str, fields: &[(&str, &str)]) {
    let page = keeper.get(ORDER).await;
    let (key, version) = (page.field("key"), page.field("version"));
    let mut all = vec![("key", key.as_str()), ("version", version.as_str())];
    all.extend_from_slice(fields);
    let answer = keeper.post(&format!("{ORDER}/{step}"), &all).await;
    answer.is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_rebuild_short_of_kits_names_those_before_it_and_what_is_on_the_way_for_when() {
    let mut bench = three_gauges().await;
    planned(&mut bench, "LG-1107A", "2026-10-02").await;
    planned(&mut bench, "LG-1107B", "2026-03-10").await;
    planned(&mut bench, "LG-1107C", "2026-03-10").await;
    let mut keeper = bench.plant.storekeeper().await;
    let none = "Before it: LG-1107B , LG-1107C . None of SW-K-250R is on the way.";
    keeper.get("/bench").await.says(none);
    // What is only drafted is not on the way.
    let draft = [("kit", "SW-K-250R"), ("quantity", "16")];
    keeper
        .fill("/orders/new", "/orders/new", &draft)
        .await
        .is(StatusCode::SEE_OTHER);
    keeper.get("/bench").await.says(none);
    let placed = [
        ("supplier", "Fennel Gauge"),
        ("reference", "F-77"),
        ("placed_on", "2026-03-02"),
        ("promised_on", "2026-10-20"),
    ];
    order_goes(&mut keeper, "place", &placed).await;
    let page = keeper.get("/bench").await;
    page.says(
        "Of SW-K-250R on the way: 16 promised for 20 Oct 2026, after its day ( TW-O-2026-0001 ).",
    );
    assert!(page.text.contains(&format!("href=\"{ORDER}\"")));
    let promised = [
        ("kit", "SW-K-250R"),
        ("promised_on", "2026-09-20"),
        ("reason", "glass came sooner"),
    ];
    order_goes(&mut keeper, "promise", &promised).await;
    keeper
        .get("/bench")
        .await
        .says("16 promised for 20 Sep 2026 ( TW-O-2026-0001 ).");
    bench
        .plant
        .turn_to(time::macros::datetime!(2026-09-21 09:00 UTC));
    let mut technician = bench.plant.technician().await;
    technician
        .get("/bench")
        .await
        .says("16 promised for 20 Sep 2026, late ( TW-O-2026-0001 ).");
}

#[tokio::test]
async fn of_an_empty_shelf_the_first_rebuilds_that_come_before_are_named() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    crate::needs::adds_kit(&mut engineer).await;
    for number in 1..=7 {
        let tag = format!("LG-{number}");
        let fields = [
            ("tag", tag.as_str()),
            ("kit", "1"),
            ("kits_per_rebuild", "1"),
        ];
        hang(&mut engineer, &fields).await;
        let page = format!("/gauges/{tag}/rebuild");
        let fields = [("cause", "interval"), ("planned_for", "2026-03-10")];
        engineer
            .fill(&page, &page, &fields)
            .await
            .is(StatusCode::SEE_OTHER);
    }
    engineer
        .get("/bench")
        .await
        .says("0 of 1 TW-K-250R in hand None of TW-K-250R is on the way.")
        .says("0 of 1 TW-K-250R in hand Before it: LG-1 . None of")
        .says("Before it: LG-1 , LG-2 , LG-3 , LG-4 , LG-5 . None of")
        .says("Before it: LG-1 , LG-2 , LG-3 , LG-4 , LG-5 and others.");
}

/// common practice, no source; by hand: 8 may be used today, 20 go into it.
#[tokio::test]
async fn a_gauge_that_lies_open_says_how_many_of_its_kits_are_to_be_had() {
    let mut bench = Bench::with(&[("sections", "1"), ("kits_per_rebuild", "20")])
        .await
        .inspected()
        .await;
    bench.technician.get("/bench").await.says(
        "20 kits to be issued 8 of 20 SW-K-250R in the storeroom. None of SW-K-250R is on the way.",
    );
}
