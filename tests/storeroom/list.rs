//! The storeroom's first page: what is short, and every kit by number.

use super::*;

#[tokio::test]
async fn an_empty_storeroom_says_how_it_is_filled_and_by_whom() {
    let plant = Plant::new().await;
    let mut keeper = plant.storekeeper().await;
    keeper
        .get("/storeroom")
        .await
        .is(StatusCode::OK)
        .says("Add the first kit");
    let mut technician = plant.technician().await;
    technician
        .get("/storeroom")
        .await
        .is(StatusCode::OK)
        .says("A storekeeper or the reliability engineer adds them");
}

#[tokio::test]
async fn a_kit_is_short_where_less_may_be_used_than_falls_due_within_ninety_days() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let kit = adds_kit(&mut engineer, &[]).await;
    receives(&mut engineer, &kit, ("A1", "1"), "").await;
    takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
    // 4 wanted by 30 April, 1 on hand: 3 missing; ten days earlier is 20 April; a pack is 5. Ten days of
    // lead time and thirty of review after 20 April is 30 May.
    engineer
        .get("/storeroom")
        .await
        .says("Nothing to order within 30 days, 1 kit later")
        .says("20 Apr 2026 in 49 days 5 30 May 2026 1 0 30 Apr 2026");
    engineer
        .get(&kit)
        .await
        .says("TW-K-250R is 3 short for the next 90 days")
        .says("Order 5 by 20 Apr 2026")
        .says("LG-1107A BH-D-101 30 Apr 2026");
    receives(&mut engineer, &kit, ("A2", "3"), "").await;
    engineer
        .get("/storeroom")
        .await
        .says("Nothing to order within 30 days");
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn a_rebuild_beyond_ninety_days_wants_nothing_yet() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let kit = adds_kit(&mut engineer, &[]).await;
    takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
    // 30 April less 90 days is 30 January.
    plant.turn_to(time::macros::datetime!(2026-01-29 12:00 UTC));
    let mut engineer = plant.engineer().await;
    engineer
        .get(&kit)
        .await
        .says("has nothing on the shelf and nothing wants it");
    plant.turn_to(time::macros::datetime!(2026-01-30 12:00 UTC));
    let mut engineer = plant.engineer().await;
    engineer.get(&kit).await.says("is 4 short");
}

#[tokio::test]
async fn expired_kits_do_not_count_as_stock_that_may_be_used() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let kit = adds_kit(&mut engineer, &[("shelf_life_months", "24")]).await;
    receives(&mut engineer, &kit, ("OLD", "6"), "2026-03-01").await;
    receives(&mut engineer, &kit, ("LAST", "2"), "2026-03-02").await;
    takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
    // Today is 2 March: a last day of today still counts for today, yesterday's does not.
    engineer
        .get("/storeroom")
        .await
        .says("1 kind of kit; 2 kits on the shelf may be used, 6 may not be used");
    engineer
        .get(&kit)
        .await
        .says("no, expired")
        .says("Take lot LAST first");
}

#[tokio::test]
async fn a_lot_that_expires_before_the_day_it_is_wanted_does_not_cover_it() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let kit = adds_kit(&mut engineer, &[("shelf_life_months", "24")]).await;
    receives(&mut engineer, &kit, ("SOON", "10"), "2026-04-29").await;
    takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
    engineer
        .get(&kit)
        .await
        .says("TW-K-250R is 4 short")
        .says("10 kits on the shelf expire unused within 90 days");
    receives(&mut engineer, &kit, ("LATER", "4"), "2026-04-30").await;
    engineer
        .get(&kit)
        .await
        .says("TW-K-250R covers what rebuilds take in the next 90 days");
}

#[tokio::test]
async fn kits_in_hand_for_an_open_rebuild_are_not_wanted_twice() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let kit = adds_kit(&mut engineer, &[]).await;
    receives(&mut engineer, &kit, ("A1", "4"), "").await;
    takes_in_gauge(&mut engineer, "LG-1107A", "1").await;
    let rebuild = plans_rebuild(&plant, "LG-1107A").await;
    let lot = lot_id(&plant, "A1").await;
    let mut deed = plant.deed_of(Role::Technician).await;
    stock::issue(&mut deed, rebuild, lot, 3).await.unwrap();
    deed.commit("").await.unwrap();
    engineer
        .get(&kit)
        .await
        .says("1 on the shelf may be used, 1 wanted");
    let mut deed = plant.deed_of(Role::Storekeeper).await;
    stock::take_back(&mut deed, lot, Some(rebuild), 1, "")
        .await
        .unwrap();
    deed.commit("").await.unwrap();
    engineer
        .get(&kit)
        .await
        .says("2 on the shelf may be used, 2 wanted");
    let mut deed = plant.deed_of(Role::Technician).await;
    stock::issue(&mut deed, rebuild, lot, 2).await.unwrap();
    deed.commit("").await.unwrap();
    engineer
        .get(&kit)
        .await
        .says("has nothing on the shelf and nothing wants it");
    // The lot's ledger names the rebuild, and the gauge's history the movement.
    let mut db = plant.store.read().await.unwrap();
    let gauge = store::gauges::id_of(&mut db, "LG-1107A")
        .await
        .unwrap()
        .unwrap();
    let history = store::audit::of_gauge(&mut db, gauge, i64::MAX, 10)
        .await
        .unwrap();
    assert_eq!(history[0].deed, "issued");
    assert_eq!(history[0].subject, "kit TW-K-250R lot A1");
    all_is_sealed_and_true(&plant).await;
}

/// Corrects the gauge's kit from the version that was read.
async fn names_kit(engineer: &mut Visitor, (kit, version): (&str, &str)) {
    let fields = [
        ("tag", "LG-1107A"),
        ("area", "1"),
        ("class", "1"),
        ("kind", "reflex"),
        ("sections", "4"),
        ("bolt_form", "bolts"),
        ("isolation", "in-service"),
        ("installed_on", "2024-10-31"),
        ("kit", kit),
        ("kits_per_rebuild", "4"),
        ("version", version),
    ];
    let page = "/gauges/LG-1107A/edit";
    engineer
        .fill(page, page, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_gauge_that_names_no_kit_is_said_so_and_naming_one_moves_the_want() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let kit = adds_kit(&mut engineer, &[]).await;
    let other = adds_kit(&mut engineer, &[("number", "TW-K-320R")]).await;
    takes_in_gauge(&mut engineer, "LG-1107A", "").await;
    engineer
        .get("/storeroom")
        .await
        .says("1 gauge due in that time names no kit");
    names_kit(&mut engineer, ("1", "1")).await;
    engineer.get(&kit).await.says("is 4 short");
    names_kit(&mut engineer, ("2", "2")).await;
    engineer.get(&kit).await.says("nothing wants it");
    engineer.get(&other).await.says("is 4 short");
    all_is_sealed_and_true(&plant).await;
}

#[tokio::test]
async fn the_list_goes_on_by_kit_number_and_is_searched_by_number_or_name() {
    let plant = Plant::new().await;
    let mut deed = plant.deed_of(Role::Engineer).await;
    for n in 0..53 {
        let kit = gaugewright::record::kit::Kit {
            id: gaugewright::record::KitId(0),
            number: format!("TW-K-{n:03}").parse().unwrap(),
            name: format!("kit of length {n}"),
            kind: gaugewright::record::gauge::Kind::Reflex,
            glass_length_mm: None,
            contents: String::new(),
            shelf_life_months: None,
            lead_days: 1,
            pack: 1,
            minimum: 1,
            version: 0,
        };
        acts::kits::add(&mut deed, &kit).await.unwrap();
    }
    deed.commit("").await.unwrap();
    let mut inspector = plant.inspector().await;
    inspector
        .get("/storeroom")
        .await
        .says("TW-K-049")
        .does_not_say("TW-K-050")
        .says("Next 50");
    inspector
        .get("/storeroom?after=TW-K-049")
        .await
        .says("TW-K-050")
        .says("TW-K-052")
        .does_not_say("TW-K-049")
        .does_not_say("Next 50");
    inspector
        .get("/storeroom?q=LENGTH%2017")
        .await
        .says("TW-K-017")
        .does_not_say("TW-K-018");
}
