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
        .says(
            "Tightening step 5 ft·lbf (6.779 N·m) The last pass may rise by up to half a step more",
        )
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

const SAYS_THIS_TOO: &str =
    "The choices changed; write the ground anew, or tick that it says this too";

/// A certificate would name an issue of the procedure that says ten minutes.
#[tokio::test]
async fn a_ground_left_as_it_was_for_other_choices_is_asked_about_once() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let written = ("ground", "SW-PT-01 issue 3");
    save(&mut engineer, &[("hold_minutes", "10"), written])
        .await
        .is(StatusCode::SEE_OTHER);
    // What the ground does not stand for changes without a word.
    let owner = [("hold_minutes", "10"), ("owner", "Another Owner"), written];
    save(&mut engineer, &owner).await.is(StatusCode::SEE_OTHER);
    engineer
        .get(PAGE)
        .await
        .does_not_say("says the changed choices too");
    let shorter = save(&mut engineer, &[("hold_minutes", "6"), written]).await;
    shorter
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says(SAYS_THIS_TOO)
        .says("The ground as it is written says the changed choices too");
    assert!(shorter.text.contains("id=\"ground-wrong\""), "beside it");
    assert_eq!(shorter.field("hold_minutes"), "6", "what was typed stays");
    engineer
        .get("/plant")
        .await
        .says("Shortest hold 10 minutes");
    let ticked = [("hold_minutes", "6"), written, ("ground_stands", "yes")];
    save(&mut engineer, &ticked).await.is(StatusCode::SEE_OTHER);
    engineer
        .get("/plant")
        .await
        .says("Shortest hold 6 minutes")
        .says("SW-PT-01 issue 3");
    // The tick was for that change, and not for the next one.
    save(&mut engineer, &[("hold_minutes", "7"), written])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says(SAYS_THIS_TOO);
    let anew = [("hold_minutes", "7"), ("ground", "SW-PT-01 issue 4")];
    save(&mut engineer, &anew).await.is(StatusCode::SEE_OTHER);
    assert!(crate::verify::report(&plant).await.sound());
}

/// One writes a ground, the other shortens the hold: put together, neither said that it stands for that.
#[tokio::test]
async fn the_second_saver_is_asked_whether_the_other_s_ground_says_their_choices_too() {
    let plant = Plant::new().await;
    let (mut engineer, mut administrator) = (plant.engineer().await, plant.administrator().await);
    let opened = administrator.get(PAGE).await;
    let (version, before) = (
        opened.field("version"),
        opened.field("opened").replace("&#34;", "\""),
    );
    let theirs = ("ground", "SW-PT-02 issue 1");
    save(&mut engineer, &[("step", "6"), theirs])
        .await
        .is(StatusCode::SEE_OTHER);
    let read = [("version", version.as_str()), ("opened", before.as_str())];
    let mine = [("hold_minutes", "15"), ("ground", ""), read[0], read[1]];
    let page = save(&mut administrator, &mine).await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("changed this from nothing to SW-PT-02 issue 1; it is taken over here")
        .says(SAYS_THIS_TOO)
        .says("The ground as it is written says the changed choices too");
    let together = [("step", "6"), ("hold_minutes", "15"), theirs];
    save(&mut administrator, &together)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says(SAYS_THIS_TOO);
    let ticked = [together[0], together[1], theirs, ("ground_stands", "yes")];
    save(&mut administrator, &ticked)
        .await
        .is(StatusCode::SEE_OTHER);
    // The other way about: a new ground of one's own, with choices of somebody else taken over.
    let opened = administrator.get(PAGE).await;
    let before = opened.field("opened").replace("&#34;", "\"");
    let version = opened.field("version");
    let hold = [
        ("step", "6"),
        ("hold_minutes", "20"),
        ("ground", "SW-PT-02 issue 2"),
    ];
    save(&mut engineer, &hold).await.is(StatusCode::SEE_OTHER);
    let mine = [
        ("step", "6"),
        ("hold_minutes", "15"),
        ("wall", "0.120"),
        ("ground", "SW-PT-02 issue 3"),
        ("version", version.as_str()),
        ("opened", before.as_str()),
    ];
    save(&mut administrator, &mine)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("changed this from 15 to 20; it is taken over here")
        .says(SAYS_THIS_TOO);
}
