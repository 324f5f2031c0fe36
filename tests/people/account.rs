//! The administrator's work: adding people, changing roles, closing accounts, resetting passwords.

use axum::http::StatusCode;

use crate::plant::{Answer, PASSWORD, Plant, Visitor};
use crate::pressure_tests::world;

const NEW: &str = "another strip of glass";

/// The path of the one-time address a page shows.
pub fn shown_once(page: &Answer) -> String {
    let (_, rest) = page
        .text
        .split_once("id=\"once\">http://plant.test")
        .expect("a one-time address");
    rest.split('<').next().expect("its end").to_owned()
}

async fn add(administrator: &mut Visitor, fields: &[(&str, &str)]) -> Answer {
    administrator
        .fill("/people/add", "/people/add", fields)
        .await
}

const MARA: &[(&str, &str)] = &[
    ("name", "Mara Quill"),
    ("sign_in", "mara"),
    ("role", "inspector"),
];

#[tokio::test]
async fn somebody_added_sets_their_password_through_the_address_shown_once_and_is_signed_in() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    let page = add(&mut administrator, MARA).await;
    page.is(StatusCode::OK)
        .says("One-time address for Mara Quill")
        .says("works once, until 5 Mar 2026, 09:00");
    administrator
        .get("/people")
        .await
        .says("6 people sign in here")
        .says("Mara Quill mara inspector no password yet");
    let address = shown_once(&page);
    let mut mara = plant.visitor();
    mara.get(&address)
        .await
        .says("Set your password, Mara Quill");
    let answer = mara
        .post(&address, &[("password", NEW), ("again", NEW)])
        .await;
    answer.is(StatusCode::SEE_OTHER);
    mara.get("/").await.is(StatusCode::OK).says("Mara Quill");
}

#[tokio::test]
async fn a_one_time_address_works_once_and_for_three_days() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    let address = shown_once(&add(&mut administrator, MARA).await);
    plant.turn_to(time::macros::datetime!(2026-03-05 09:00 UTC));
    let mut mara = plant.visitor();
    mara.get(&address)
        .await
        .is(StatusCode::GONE)
        .says("This address does not work any more");
    plant.turn_to(time::macros::datetime!(2026-03-05 08:59 UTC));
    mara.post(&address, &[("password", NEW), ("again", NEW)])
        .await
        .is(StatusCode::SEE_OTHER);
    let mut other = plant.visitor();
    other.get(&address).await.is(StatusCode::GONE);
    other
        .post(&address, &[("password", PASSWORD), ("again", PASSWORD)])
        .await
        .is(StatusCode::GONE);
    other
        .get(&format!("{}x", &address[..address.len() - 1]))
        .await
        .is(StatusCode::GONE);
}

#[tokio::test]
async fn the_address_is_shown_once_even_if_the_button_is_pressed_twice() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    let key = administrator.get("/people/add").await.field("key");
    let mut fields = vec![("key", key.as_str())];
    fields.extend_from_slice(MARA);
    administrator
        .post("/people/add", &fields)
        .await
        .is(StatusCode::OK);
    let again = administrator.post("/people/add", &fields).await;
    again.is(StatusCode::SEE_OTHER);
    assert_eq!(again.goes_to(), "/people/account/mara");
    administrator
        .get(again.goes_to())
        .await
        .does_not_say("set-password/");
}

#[tokio::test]
async fn a_taken_or_malformed_sign_in_name_is_refused_and_what_was_typed_stays() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    for (sign_in, says) in [
        ("Engineer", "Somebody signs in under this name already"),
        (
            "a b",
            "A sign-in name has 2 to 60 letters, digits, dots or hyphens",
        ),
        (
            "",
            "A sign-in name has 2 to 60 letters, digits, dots or hyphens",
        ),
    ] {
        let answer = add(
            &mut administrator,
            &[
                ("name", "Mara Quill"),
                ("sign_in", sign_in),
                ("role", "inspector"),
            ],
        )
        .await;
        answer.is(StatusCode::UNPROCESSABLE_ENTITY).says(says);
        assert_eq!(answer.field("name"), "Mara Quill");
    }
    add(
        &mut administrator,
        &[("name", " "), ("sign_in", "mara"), ("role", "inspector")],
    )
    .await
    .says("Write the name as it should stand on records");
    add(
        &mut administrator,
        &[("name", "Mara"), ("sign_in", "mara"), ("role", "owner")],
    )
    .await
    .says("Choose one: the role");
}

#[tokio::test]
async fn a_reset_ends_their_sessions_and_leads_to_a_new_password() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    let mut technician = plant.technician().await;
    let page = administrator
        .fill(
            "/people/account/technician",
            "/people/account/technician/reset",
            &[],
        )
        .await;
    page.is(StatusCode::OK)
        .says("One-time address for Test technician");
    technician.get("/").await.is(StatusCode::SEE_OTHER);
    let address = shown_once(&page);
    technician
        .post(&address, &[("password", NEW), ("again", NEW)])
        .await
        .is(StatusCode::SEE_OTHER);
    plant
        .visitor()
        .post(
            "/people/sign-in",
            &[("name", "technician"), ("password", PASSWORD)],
        )
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY);
    plant
        .visitor()
        .post(
            "/people/sign-in",
            &[("name", "technician"), ("password", NEW)],
        )
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_new_one_time_address_makes_the_earlier_one_stop_working() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    let first = shown_once(&add(&mut administrator, MARA).await);
    let page = administrator
        .fill("/people/account/mara", "/people/account/mara/reset", &[])
        .await;
    let second = shown_once(&page);
    plant.visitor().get(&first).await.is(StatusCode::GONE);
    plant.visitor().get(&second).await.is(StatusCode::OK);
}

#[tokio::test]
async fn another_role_takes_effect_at_once() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    let mut technician = plant.technician().await;
    administrator
        .fill(
            "/people/account/technician",
            "/people/account/technician",
            &[
                ("name", "Test technician"),
                ("role", "engineer"),
                ("account", "open"),
                ("version", "1"),
            ],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    technician.get("/").await.is(StatusCode::SEE_OTHER);
    technician
        .post(
            "/people/sign-in",
            &[("name", "technician"), ("password", PASSWORD)],
        )
        .await;
    technician.get("/gauges/new").await.is(StatusCode::OK);
}

#[tokio::test]
async fn a_closed_account_signs_in_no_more_until_it_is_opened_again() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    let mut technician = plant.technician().await;
    let account = "/people/account/technician";
    let change = |account: &'static str, version: &'static str| {
        vec![
            ("name", "Test technician"),
            ("role", "technician"),
            ("account", account),
            ("version", version),
        ]
    };
    administrator
        .fill(account, account, &change("closed", "1"))
        .await
        .is(StatusCode::SEE_OTHER);
    technician.get("/").await.is(StatusCode::SEE_OTHER);
    let sign_in = [("name", "technician"), ("password", PASSWORD)];
    technician
        .post("/people/sign-in", &sign_in)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY);
    administrator
        .get(account)
        .await
        .says("the account is closed")
        .does_not_say("Make a one-time address");
    administrator
        .fill(account, account, &change("open", "2"))
        .await
        .is(StatusCode::SEE_OTHER);
    technician
        .post("/people/sign-in", &sign_in)
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn finished_work_keeps_the_name_it_was_done_under() {
    let plant = world::plant().await;
    let number = world::tested(&mut plant.technician().await, world::PASSED).await;
    plant.turn_to(time::macros::datetime!(2026-03-02 10:00 UTC));
    for (role, name) in [("technician", "Nell Harrow"), ("inspector", "Odo Finch")] {
        let account = format!("/people/account/{role}");
        plant
            .administrator()
            .await
            .fill(
                &account,
                &account,
                &[
                    ("name", name),
                    ("role", role),
                    ("account", "open"),
                    ("version", "1"),
                ],
            )
            .await
            .is(StatusCode::SEE_OTHER);
    }
    plant.turn_to(time::macros::datetime!(2026-03-02 11:00 UTC));
    let mut inspector = plant.inspector().await;
    let page = format!("/pressure-tests/{number}");
    inspector
        .get(&page)
        .await
        .says("Test technician")
        .does_not_say("Nell Harrow");
    // What is signed afterwards carries the new name of who signs, and the old one of who tested.
    world::signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    inspector
        .get(&page)
        .await
        .says("Test technician")
        .says("Odo Finch")
        .does_not_say("Nell Harrow");
    inspector
        .get("/gauges/LG-1107A/history")
        .await
        .says("Test technician")
        .does_not_say("Nell Harrow");
    world::sound(&plant).await;
}

#[tokio::test]
async fn the_last_administrator_stays() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    let account = "/people/account/administrator";
    for (role, standing) in [("engineer", "open"), ("administrator", "closed")] {
        administrator
            .fill(
                account,
                account,
                &[
                    ("name", "Test administrator"),
                    ("role", role),
                    ("account", standing),
                    ("version", "1"),
                ],
            )
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("This is the last administrator; make somebody else administrator first");
    }
}

#[tokio::test]
async fn two_administrators_changing_one_account_see_each_other() {
    let plant = Plant::new().await;
    let mut first = plant.administrator().await;
    let mut second = plant.administrator().await;
    let account = "/people/account/technician";
    let opened = second.get(account).await;
    let hidden = opened.field("opened").replace("&#34;", "\"");
    first
        .fill(
            account,
            account,
            &[
                ("name", "Test technician"),
                ("role", "inspector"),
                ("account", "open"),
                ("version", "1"),
            ],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    let answer = second
        .fill(
            account,
            account,
            &[
                ("name", "Tess Technician"),
                ("role", "technician"),
                ("account", "open"),
                ("version", "1"),
                ("opened", &hidden),
            ],
        )
        .await;
    answer.is(StatusCode::UNPROCESSABLE_ENTITY).says(
        "Test administrator changed this from technician to inspector; it is taken over here",
    );
    assert_eq!(answer.field("name"), "Tess Technician");
    assert_eq!(answer.field("version"), "2");
}

#[tokio::test]
async fn only_administrators_look_after_people() {
    let plant = Plant::new().await;
    for mut visitor in [
        plant.technician().await,
        plant.storekeeper().await,
        plant.inspector().await,
        plant.engineer().await,
    ] {
        for page in ["/people", "/people/add", "/people/account/administrator"] {
            visitor.get(page).await.is(StatusCode::FORBIDDEN);
        }
        visitor
            .post("/people/account/administrator/reset", &[])
            .await
            .is(StatusCode::FORBIDDEN);
    }
}

#[tokio::test]
async fn an_account_that_is_none_is_not_in_the_register() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    administrator
        .get("/people/account/nobody")
        .await
        .is(StatusCode::NOT_FOUND);
}
