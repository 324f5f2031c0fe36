//! The guide of a plant's first hour: each step done or not by what the register holds, shown to those
//! who settle things, told to the others, and gone when all is done.

use axum::http::StatusCode;
use gaugewright::acts::{Deed, Who, people};
use gaugewright::record::moment::Clock;
use gaugewright::record::person::Role;
use gaugewright::store;

use crate::gauges::hang;
use crate::people::first::{Empty, FIRST, empty};
use crate::plant::{PASSWORD, Plant, Visitor, start};

/// The administrator of an empty plant adds somebody of each role over the pages; passwords are set
/// past them, since hashing is slow on purpose.
async fn adds_people(empty: &mut Empty) {
    for role in ["engineer", "technician", "inspector"] {
        let fields = [("name", role), ("sign_in", role), ("role", role)];
        empty
            .visitor
            .fill("/people/add", "/people/add", &fields)
            .await
            .is(StatusCode::OK)
            .says("set-password");
    }
    let hash = people::hash_password(PASSWORD.to_owned())
        .await
        .expect("a hash");
    let clock = Clock::standing(start());
    let mut deed = Deed::begin(&empty.store, &clock, Who::program(), None)
        .await
        .expect("a deed");
    for role in [Role::Engineer, Role::Technician, Role::Inspector] {
        let somebody = store::people::of_role(deed.db(), role)
            .await
            .expect("people");
        store::people::set_password(deed.db(), somebody[0].id, &hash)
            .await
            .expect("set");
    }
    deed.commit("").await.expect("committed");
}

/// Another browser at the same plant, with somebody signed in.
async fn signs_in(mut visitor: Visitor, name: &str) -> Visitor {
    visitor
        .post("/people/sign-in", &[("name", name), ("password", PASSWORD)])
        .await
        .is(StatusCode::SEE_OTHER);
    visitor
}

async fn fills(visitor: &mut Visitor, page: &str, fields: &[(&str, &str)]) {
    visitor
        .fill(page, page, fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn an_empty_plant_is_led_through_its_first_hour_and_then_left_alone() {
    let mut empty = empty().await;
    let other_browser = empty.visitor.clone();
    empty.visitor.post(&empty.address.clone(), FIRST).await;
    let page = empty.visitor.get("/").await;
    page.says("0 gauges in the register yet")
        .says("The first hour: 1 of 7 steps done")
        .says("Settle what the plant\u{2019}s procedures say done")
        .says("Still missing: a reliability engineer, who plans; a technician");
    // What is not theirs says whose it is and has no link.
    page.says("Done by the storekeeper or the reliability engineer.");
    assert!(!page.text.contains("href=\"/storeroom/new-kit\""));
    assert!(page.text.contains("class=\"button\" href=\"/people/add\""));

    adds_people(&mut empty).await;
    let mut administrator = empty.visitor.clone();
    let mut engineer = signs_in(other_browser, "engineer").await;
    engineer
        .get("/")
        .await
        .says("The first hour: 2 of 7 steps done");

    // Who adds an area goes on with the guide, which shows what is next.
    let area = [("name", "Boiler House")];
    let added = administrator
        .fill("/plant/area", "/plant/area", &area)
        .await;
    assert_eq!(added.goes_to(), "/#guide");
    let page = administrator.get("/").await;
    page.says("2 of 7 steps done")
        .says("what is missing is a service class with an interval");
    assert!(page.text.contains("class=\"button\" href=\"/plant/class\""));
    let class = [
        ("name", "saturated steam"),
        ("rebuild_months", "18"),
        ("look_over_months", "3"),
        ("flush", "no"),
    ];
    let added = administrator
        .fill("/plant/class", "/plant/class", &class)
        .await;
    assert_eq!(added.goes_to(), "/#guide");
    let page = administrator.get("/").await;
    page.says("3 of 7 steps done");
    // Gauges name their kit, so kits come before them.
    let at = |words: &str| page.text.find(words).expect(words);
    assert!(at("Add the kits and receive the first lot") < at("Bring in the gauges"));

    crate::needs::adds_kit(&mut engineer).await;
    engineer
        .get("/")
        .await
        .says("3 of 7 steps done")
        .says("There is a kit");
    crate::needs::receives(&mut engineer, "L-1", "6", "2027-01-01").await;
    engineer.get("/").await.says("4 of 7 steps done");

    hang(&mut administrator, &[]).await;
    administrator
        .get("/")
        .await
        .says("1 gauge, 1 past due")
        .says("5 of 7 steps done");

    let wrench = [
        ("number", "TW-07"),
        ("kind", "torque-wrench"),
        ("description", ""),
        ("range_low", "10"),
        ("range_high", "80"),
        ("unit", "[ft_i].[lbf_av]"),
        ("resolution", "0.5"),
    ];
    fills(&mut engineer, "/instruments/new", &wrench).await;
    engineer.get("/").await.says("5 of 7 steps done");
    let calibration = [
        ("calibrated_on", "2025-03-03"),
        ("due_on", "2026-03-02"),
        ("reference", "CAL 25/118"),
        ("found", "within-tolerance"),
    ];
    fills(&mut engineer, "/instruments/TW-07/calibrate", &calibration).await;
    engineer
        .get("/")
        .await
        .says("6 of 7 steps done")
        .says("Look at what is due");

    let looked = [("on", "2026-03-02"), ("found", "sound")];
    fills(&mut engineer, "/gauges/LG-1107A/look-over", &looked).await;
    for who in [&mut engineer, &mut administrator] {
        who.get("/").await.does_not_say("The first hour");
    }
    // With nothing left to be led through, what is added shows where it stands.
    let area = [("name", "Tank Row")];
    let added = administrator
        .fill("/plant/area", "/plant/area", &area)
        .await;
    assert_eq!(added.goes_to(), "/plant");
}

#[tokio::test]
async fn others_see_what_waits_for_whom_and_what_is_theirs() {
    let plant = Plant::new().await;
    let page = plant.storekeeper().await.get("/").await;
    page.says("The register is being set up: 2 of 7 steps done")
        .says("Settle what the plant\u{2019}s procedures say waits for the administrator or the reliability engineer")
        .says("Add the kits and receive the first lot : Add a kit");
    assert!(page.text.contains("href=\"/storeroom/new-kit\""));
    let page = plant.technician().await.get("/").await;
    page.says("Bring in the gauges waits for the administrator or the reliability engineer")
        .says("Look at what is due : The due list");
    assert!(!page.text.contains("href=\"/gauges/bring-in\""));
}

#[tokio::test]
async fn a_closed_account_is_nobody_of_its_role() {
    let plant = Plant::new().await;
    let account = "/people/account/inspector";
    let mut administrator = plant.administrator().await;
    let fields = [
        ("name", "Test inspector"),
        ("role", "inspector"),
        ("account", "closed"),
        ("version", "1"),
    ];
    fills(&mut administrator, account, &fields).await;
    administrator
        .get("/")
        .await
        .says("1 of 7 steps done")
        .says("Still missing: an inspector, who witnesses and certifies.");
}
