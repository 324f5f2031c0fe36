//! The plant's settings: what its procedures chose.

use axum::http::StatusCode;

use super::{Plant, Visitor};

const PAGE: &str = "/plant/settings";

const SETTINGS: &[(&str, &str)] = &[
    ("name", "Test Works"),
    ("owner", "Test Owner"),
    ("address", "1 Quay"),
    ("zone", "UTC"),
    ("test_code", "common-practice"),
    ("hold_minutes", "5"),
    ("step", "5"),
    ("step_unit", "[ft_i].[lbf_av]"),
    ("flatness", "0.002"),
    ("flatness_unit", "[in_i]"),
    ("wall", "0.100"),
    ("wall_unit", "[in_i]"),
    ("skim_limit", "2"),
    ("number_prefix", "TW"),
];

async fn save(visitor: &mut Visitor, instead: &[(&str, &str)]) -> super::Answer {
    let opened = visitor.get(PAGE).await;
    let hidden: Vec<(&str, String)> = ["key", "version", "opened"]
        .iter()
        .map(|name| (*name, opened.field(name).replace("&#34;", "\"")))
        .collect();
    let mut fields: Vec<(&str, &str)> = hidden.iter().map(|(n, v)| (*n, v.as_str())).collect();
    fields.extend(SETTINGS);
    fields.retain(|(name, _)| !instead.iter().any(|(other, _)| other == name));
    fields.extend_from_slice(instead);
    visitor.post(PAGE, &fields).await
}

#[tokio::test]
async fn what_the_procedures_chose_is_changed_by_engineer_and_administrator() {
    let plant = Plant::new().await;
    for (mut visitor, hold) in [
        (plant.engineer().await, "15"),
        (plant.administrator().await, "20"),
    ] {
        save(
            &mut visitor,
            &[("hold_minutes", hold), ("test_code", "asme-viii-ug99")],
        )
        .await
        .is(StatusCode::SEE_OTHER);
        visitor
            .get("/plant")
            .await
            .says(&format!("Shortest hold {hold} minutes"))
            .says("ASME VIII-1 UG-99");
    }
}

#[tokio::test]
async fn every_code_of_reference_can_be_chosen_and_comes_back() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    for (code, name) in [
        ("common-practice", "common practice"),
        ("asme-b313", "ASME B31.3"),
        ("asme-viii-ug99", "ASME VIII-1 UG-99"),
        ("ped", "PED Annex I 7.4"),
    ] {
        save(
            &mut engineer,
            &[("test_code", code), ("hold_minutes", "30")],
        )
        .await
        .is(StatusCode::SEE_OTHER);
        engineer
            .get("/plant")
            .await
            .says(&format!("Code of reference {name}"));
    }
}

#[tokio::test]
async fn a_hold_shorter_than_the_code_asks_for_is_refused() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    // ASME B31.3-2022, 345.2.2(a): the leak test pressure is maintained for at least 10 minutes.
    save(
        &mut engineer,
        &[("test_code", "asme-b313"), ("hold_minutes", "9")],
    )
    .await
    .is(StatusCode::UNPROCESSABLE_ENTITY)
    .says("ASME B31.3 asks for at least 10 minutes");
}

#[tokio::test]
async fn the_second_saver_of_the_settings_loses_nothing() {
    let plant = Plant::new().await;
    let (mut engineer, mut administrator) = (plant.engineer().await, plant.administrator().await);
    let opened = administrator.get(PAGE).await;
    let (version, before) = (
        opened.field("version"),
        opened.field("opened").replace("&#34;", "\""),
    );
    save(&mut engineer, &[("step", "6"), ("owner", "Another Owner")])
        .await
        .is(StatusCode::SEE_OTHER);
    let answer = save(
        &mut administrator,
        &[("step", "4"), ("version", &version), ("opened", &before)],
    )
    .await;
    answer
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The register now holds 6 ft·lbf, saved by Test reliability engineer; you typed 4 ft·lbf")
        .says("changed this from Test Owner to Another Owner; it is taken over here");
    assert_eq!(answer.field("step"), "4");
    assert_eq!(answer.field("owner"), "Another Owner");
}

#[tokio::test]
async fn the_plant_s_day_follows_its_time_zone() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    plant.turn_to(time::macros::datetime!(2026-03-02 12:30 UTC));
    save(&mut engineer, &[("zone", "Pacific/Auckland")])
        .await
        .is(StatusCode::SEE_OTHER);
    crate::gauges::hang(&mut engineer, &[]).await;
    engineer
        .fill(
            "/gauges/LG-1107A/failure",
            "/gauges/LG-1107A/failure",
            &[("kind", "leak")],
        )
        .await;
    // New Zealand daylight time is UTC+13 (IANA time zone database), so it is the 3rd there.
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("seen 3 Mar 2026, reported by Test reliability engineer");
}

#[tokio::test]
async fn others_do_not_see_the_settings() {
    let plant = Plant::new().await;
    for mut visitor in [
        plant.technician().await,
        plant.storekeeper().await,
        plant.inspector().await,
    ] {
        for page in ["/plant", PAGE, "/plant/area", "/plant/class"] {
            visitor.get(page).await.is(StatusCode::FORBIDDEN);
        }
    }
}

#[tokio::test]
async fn a_limit_that_cannot_be_meant_is_refused_in_both_units() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    for (change, words) in [
        (
            vec![("flatness", "900")],
            "is not how flat a seating face has to be; 0.0002 to 0.0098 in is",
        ),
        // Typed for millimetres while inches stand beside it; NIST SP 811 (2008), B.8: 1 in = 25.4 mm.
        (
            vec![("flatness", "0.05")],
            "0.05 in (1.27 mm) is not how flat a seating face has to be",
        ),
        (
            vec![("flatness", "5"), ("flatness_unit", "mm")],
            "5 mm (0.197 in) is not how flat a seating face has to be; 0.005 to 0.25 mm is",
        ),
        (
            vec![("step", "500")],
            "is not a step of the tightening passes",
        ),
        (vec![("wall", "9")], "is not a least wall"),
    ] {
        save(&mut administrator, &change)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says(words);
    }
    let metric = [("flatness", "0.05"), ("flatness_unit", "mm")];
    save(&mut administrator, &metric)
        .await
        .is(StatusCode::SEE_OTHER);
}

/// published: NIST SP 811 (2008), B.8: in to mm 25.4, ft·lbf to N·m 1.355818.
#[tokio::test]
async fn the_plant_s_limits_are_read_in_the_person_s_unit() {
    let plant = crate::plant::Plant::new().await;
    let mut engineer = plant.engineer().await;
    engineer.reads("si").await;
    engineer
        .get("/plant")
        .await
        .says("Tightening step 5 ft·lbf (6.779 N·m)")
        .says("Seating face flat within 0.002 in (50.8 µm)")
        .says("Least wall 0.100 in (2.54 mm)");
}

#[tokio::test]
async fn what_was_chosen_for_the_plant_names_its_ground_or_that_none_was_written() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    crate::gauges::hang(&mut engineer, &[]).await;
    let test = "/pressure-tests/new/LG-1107A";
    let none = "the plant\u{2019}s settings of 2 Mar 2026; no ground written";
    for page in ["/plant", test] {
        engineer.get(page).await.says(none);
    }
    // Another name of the plant is no other choice, and the day stays.
    plant.turn_to(time::macros::datetime!(2026-03-05 09:00 UTC));
    let mut administrator = plant.administrator().await;
    let mut engineer = plant.engineer().await;
    save(&mut administrator, &[("name", "Other Works")])
        .await
        .is(StatusCode::SEE_OTHER);
    engineer.get("/plant").await.says(none);
    save(&mut administrator, &[("hold_minutes", "10")])
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get("/plant")
        .await
        .says("the plant\u{2019}s settings of 5 Mar 2026; no ground written");
    let ground = [("hold_minutes", "10"), ("ground", "SW-PT-01 issue 3")];
    save(&mut administrator, &ground)
        .await
        .is(StatusCode::SEE_OTHER);
    engineer
        .get(test)
        .await
        .says("Shortest hold 10 min chosen for the plant: SW-PT-01 issue 3")
        .does_not_say("no ground written");
    assert!(crate::verify::report(&plant).await.sound());
}
