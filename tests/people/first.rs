//! The first administrator of an empty plant.

use axum::http::StatusCode;
use gaugewright::acts::people::first_address;
use gaugewright::pages::{App, routes};
use gaugewright::record::moment::Clock;
use gaugewright::store::Store;

use crate::plant::{Visitor, start};

pub const FIRST: &[(&str, &str)] = &[
    ("name", "Saltmarsh Works"),
    ("owner", "Saltmarsh"),
    ("address", "1 Quay"),
    ("zone", "Europe/Lisbon"),
    ("test_code", "asme-b313"),
    ("hold_minutes", "10"),
    ("step", "5"),
    ("step_unit", "[ft_i].[lbf_av]"),
    ("flatness", "0.002"),
    ("flatness_unit", "[in_i]"),
    ("wall", "0.100"),
    ("wall_unit", "[in_i]"),
    ("skim_limit", "2"),
    ("number_prefix", "SW"),
    ("judged", "yes"),
    ("drop", "20"),
    ("drop_unit", "[psi]"),
    ("guard", "expanded"),
    ("thermometer", "0.5"),
    ("paper", "letter"),
    ("ground", "SW-PT-01 issue 1"),
    ("who", "Ada Minder"),
    ("sign_in", "ada"),
    ("password", "a strip of flat glass"),
    ("again", "a strip of flat glass"),
];

/// An empty plant and whoever opens its first address.
pub struct Empty {
    pub store: Store,
    clock: Clock,
    pub visitor: Visitor,
    pub address: String,
    _folder: tempfile::TempDir,
}

/// A plant nobody has named yet, with the address its first start prints.
pub async fn empty() -> Empty {
    let folder = tempfile::tempdir().expect("a folder");
    let store = Store::open(folder.path()).await.expect("a new database");
    let clock = Clock::standing(start());
    let token = first_address(&store, &clock)
        .await
        .expect("an answer")
        .expect("an address");
    let app = App::new(store.clone(), clock.clone(), None);
    Empty {
        visitor: Visitor::of(routes::service(&app)),
        address: format!("/people/first/{}", token.text()),
        store,
        clock,
        _folder: folder,
    }
}

#[tokio::test]
async fn the_address_printed_at_the_first_start_names_plant_and_administrator() {
    let mut empty = empty().await;
    let page = empty.visitor.get(&empty.address).await;
    page.is(StatusCode::OK)
        .says("Name the plant and yourself")
        .says("Proposed: 0.002 in (0.05 mm), common practice");
    assert_eq!(page.field("hold_minutes"), "5");
    let answer = empty.visitor.post(&empty.address, FIRST).await;
    answer.is(StatusCode::SEE_OTHER);
    assert_eq!(answer.goes_to(), "/plant");
    empty
        .visitor
        .get("/plant")
        .await
        .says("Saltmarsh Works: 0 areas, 0 service classes")
        .says("name the first area")
        .says("ASME B31.3")
        .says("Europe/Lisbon")
        .says("Ada Minder , administrator");
}

#[tokio::test]
async fn the_address_works_once_and_none_is_made_once_there_is_an_administrator() {
    let mut empty = empty().await;
    empty.visitor.post(&empty.address, FIRST).await;
    let mut late = Visitor::of(routes::service(&App::new(
        empty.store.clone(),
        empty.clock.clone(),
        None,
    )));
    for answer in [
        late.get(&empty.address).await,
        late.post(&empty.address, FIRST).await,
    ] {
        answer.is(StatusCode::SEE_OTHER);
        assert_eq!(answer.goes_to(), "/people/sign-in");
    }
    let another = first_address(&empty.store, &empty.clock)
        .await
        .expect("an answer");
    assert!(another.is_none());
}

#[tokio::test]
async fn another_start_prints_another_address_and_the_first_stops_working() {
    let mut empty = empty().await;
    let again = first_address(&empty.store, &empty.clock)
        .await
        .expect("an answer")
        .expect("an address");
    empty
        .visitor
        .get(&empty.address)
        .await
        .is(StatusCode::CONFLICT)
        .says("This address was used before or ran out");
    empty
        .visitor
        .get(&format!("/people/first/{}", again.text()))
        .await
        .is(StatusCode::OK);
    empty.clock.set(start().plus(time::Duration::days(3)));
    empty
        .visitor
        .get(&format!("/people/first/{}", again.text()))
        .await
        .is(StatusCode::CONFLICT);
}

#[tokio::test]
async fn what_is_wrong_is_said_beside_each_field_and_nothing_is_half_named() {
    let mut empty = empty().await;
    let wrong = [
        ("name", "", "Write the plant\u{2019}s name"),
        ("zone", "Atlantis", "is not a time zone"),
        (
            "hold_minutes",
            "5",
            "ASME B31.3 asks for at least 10 minutes",
        ),
        ("step", "-1", "Write a number above zero"),
        ("flatness", "flat", "Write a number such as 1500 or 12.5"),
        ("wall", "", "Write the least wall that may stay"),
        ("skim_limit", "10", "Write a whole number from 0 to 9"),
        ("number_prefix", "S W", "Letters, digits and hyphens only"),
        ("drop", "", "Write the drop that still counts as none"),
        ("guard", "", "Choose the guard band"),
        (
            "thermometer",
            "0",
            "Write the standard uncertainty of a temperature",
        ),
        ("sign_in", "a", "A sign-in name has 2 to 60"),
        ("who", "", "Write your name as it should stand on records"),
        ("again", "another", "The two are not the same"),
    ];
    let fields: Vec<(&str, &str)> = FIRST
        .iter()
        .map(|(name, value)| {
            wrong
                .iter()
                .find(|(field, ..)| field == name)
                .map_or((*name, *value), |(_, bad, _)| (*name, *bad))
        })
        .collect();
    let answer = empty.visitor.post(&empty.address, &fields).await;
    answer.is(StatusCode::UNPROCESSABLE_ENTITY);
    for (field, _, says) in wrong {
        answer.says(says);
        assert!(
            answer.text.contains(&format!("href=\"#{field}\"")),
            "{field}"
        );
    }
    assert_eq!(answer.field("owner"), "Saltmarsh");
    assert_eq!(answer.field("password"), "");
    // The address still works after a refusal.
    empty
        .visitor
        .post(&empty.address, FIRST)
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn an_empty_plant_s_sign_in_page_says_what_to_do_first() {
    let mut empty = empty().await;
    empty.visitor.get("/").await.is(StatusCode::SEE_OTHER);
    empty
        .visitor
        .get("/people/sign-in")
        .await
        .says("This register is still empty");
}

#[tokio::test]
async fn what_only_the_procedure_can_decide_is_asked_and_never_chosen_for_the_plant() {
    let mut empty = empty().await;
    let page = empty.visitor.get(&empty.address).await;
    page.says("Is the change of pressure over a hold judged?")
        .says("JCGM 106:2012")
        .says("IAPWS-95");
    for name in ["drop", "thermometer"] {
        assert_eq!(page.field(name), "", "{name}");
    }
    let unanswered: Vec<(&str, &str)> = FIRST
        .iter()
        .map(|(name, value)| match *name {
            "judged" | "paper" | "ground" => (*name, ""),
            _ => (*name, *value),
        })
        .collect();
    empty
        .visitor
        .post(&empty.address, &unanswered)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Choose whether it is judged")
        .says("Choose the paper certificates are printed on")
        .says("Name the procedure with its issue, or who decided");
    empty
        .visitor
        .post(&empty.address, FIRST)
        .await
        .is(StatusCode::SEE_OTHER);
    empty
        .visitor
        .get("/plant/test-plan")
        .await
        .says("20 psi")
        .says("2 standard uncertainties")
        .says("0.5 K")
        .says("chosen for the plant: SW-PT-01 issue 1");
}

#[tokio::test]
async fn a_field_left_empty_is_asked_for_once_and_the_page_says_before_what_is_needed() {
    let mut empty = empty().await;
    let page = empty.visitor.get(&empty.address).await;
    page.says("Every field of this page is needed, unless it says that it may stay empty")
        .says("Needed where it is judged");
    let without: Vec<(&str, &str)> = FIRST
        .iter()
        .map(|(name, value)| (*name, if *name == "thermometer" { "" } else { *value }))
        .collect();
    let answer = empty.visitor.post(&empty.address, &without).await;
    answer
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .does_not_say("Write a number such as 1500 or 12.5");
    // Once in the list on top, where it is the only one, and once beside the field.
    let said = "Write the standard uncertainty of a temperature";
    assert_eq!(answer.text.matches(said).count(), 2);
}

#[tokio::test]
async fn a_plant_may_choose_that_a_change_of_pressure_is_not_judged() {
    let mut empty = empty().await;
    let unjudged: Vec<(&str, &str)> = FIRST
        .iter()
        .map(|(name, value)| match *name {
            "judged" => (*name, "no"),
            "drop" | "guard" | "thermometer" => (*name, ""),
            _ => (*name, *value),
        })
        .collect();
    empty
        .visitor
        .post(&empty.address, &unjudged)
        .await
        .is(StatusCode::SEE_OTHER);
    empty
        .visitor
        .get("/plant/test-plan")
        .await
        .says("printed, not judged")
        .says("chosen for the plant: SW-PT-01 issue 1");
}
