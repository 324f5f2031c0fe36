//! Passwords: what will do, and changing one's own.

use axum::http::StatusCode;

use crate::plant::{PASSWORD, Plant, Visitor};

const PAGE: &str = "/people/password";
const NEW: &str = "another strip of glass";

async fn change(visitor: &mut Visitor, old: &str, new: &str, again: &str) -> crate::plant::Answer {
    visitor
        .fill(
            PAGE,
            PAGE,
            &[("old", old), ("password", new), ("again", again)],
        )
        .await
}

#[tokio::test]
async fn a_changed_password_ends_every_other_session_and_keeps_this_one() {
    let plant = Plant::new().await;
    let mut here = plant.technician().await;
    let mut elsewhere = plant.technician().await;
    change(&mut here, PASSWORD, NEW, NEW)
        .await
        .is(StatusCode::SEE_OTHER);
    here.get("/").await.is(StatusCode::OK);
    elsewhere.get("/").await.is(StatusCode::SEE_OTHER);
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
async fn the_old_password_is_asked_for_and_counted_like_a_sign_in() {
    let plant = Plant::new().await;
    let mut technician = plant.technician().await;
    for _ in 0..8 {
        change(&mut technician, "not the one I have", NEW, NEW)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("This is not your password");
    }
    change(&mut technician, PASSWORD, NEW, NEW)
        .await
        .says("Too many attempts under this name");
}

#[tokio::test]
async fn a_password_is_long_enough_and_typed_the_same_twice() {
    let plant = Plant::new().await;
    let mut technician = plant.technician().await;
    for (new, again, says) in [
        (
            "eleven char",
            "eleven char",
            "A password has at least 12 characters",
        ),
        (NEW, "another strip of glas", "The two are not the same"),
        (
            "technician of glass",
            "technician of glass",
            "A password must not hold the sign-in name",
        ),
        (
            "aaaaaaaaaaaaaaa",
            "aaaaaaaaaaaaaaa",
            "Use more than four different characters",
        ),
    ] {
        let answer = change(&mut technician, PASSWORD, new, again).await;
        answer.is(StatusCode::UNPROCESSABLE_ENTITY).says(says);
        assert!(!answer.text.contains(new), "no password is shown again");
    }
    technician.get("/").await.is(StatusCode::OK);
}

#[tokio::test]
async fn a_reset_ends_the_old_password_at_once() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    administrator
        .fill(
            "/people/account/technician",
            "/people/account/technician/reset",
            &[],
        )
        .await
        .is(StatusCode::OK);
    // A password is reset because somebody else knows it: it opens nothing any more.
    plant
        .visitor()
        .post(
            "/people/sign-in",
            &[("name", "technician"), ("password", PASSWORD)],
        )
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY);
    administrator
        .fill(
            "/people/account/administrator",
            "/people/account/administrator/reset",
            &[],
        )
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("This is your own account");
    administrator.get("/").await.is(StatusCode::OK);
}

#[tokio::test]
async fn closing_an_account_ends_its_one_time_address_for_good() {
    let plant = Plant::new().await;
    let mut administrator = plant.administrator().await;
    let account = "/people/account/technician";
    let page = administrator
        .fill(account, &format!("{account}/reset"), &[])
        .await;
    let address = super::account::shown_once(&page);
    for (standing, version) in [("closed", "1"), ("open", "2")] {
        administrator
            .fill(
                account,
                account,
                &[
                    ("name", "Test technician"),
                    ("role", "technician"),
                    ("account", standing),
                    ("version", version),
                ],
            )
            .await
            .is(StatusCode::SEE_OTHER);
    }
    plant.visitor().get(&address).await.is(StatusCode::GONE);
}
