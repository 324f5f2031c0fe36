//! People: signing in and out, accounts, one-time addresses, passwords, the first administrator.

mod account;
mod door;
mod figures;
pub mod first;
pub mod names;
mod password;

mod sign_in {
    use axum::http::StatusCode;
    use gaugewright::record::person::Role;

    use crate::plant::{PASSWORD, Plant};

    #[tokio::test]
    async fn everybody_signed_out_is_sent_to_the_sign_in_page_and_on_to_where_they_wanted() {
        let plant = Plant::new().await;
        let mut visitor = plant.visitor();
        let answer = visitor.get("/gauges?q=LG").await;
        answer.is(StatusCode::SEE_OTHER);
        assert_eq!(answer.goes_to(), "/people/sign-in?next=%2Fgauges%3Fq%3DLG");
        let page = visitor.get(answer.goes_to()).await;
        assert_eq!(page.field("next"), "/gauges?q=LG");
    }

    #[tokio::test]
    async fn nobody_is_sent_to_another_site_after_signing_in() {
        let plant = Plant::new().await;
        for next in [
            "https://elsewhere.example",
            "//elsewhere.example",
            "/\\elsewhere.example",
            "/\t/elsewhere.example",
            "/\n/elsewhere.example",
            "/\0/elsewhere.example",
            "/ /elsewhere.example",
        ] {
            let mut visitor = plant.visitor();
            let answer = visitor
                .post(
                    "/people/sign-in",
                    &[("name", "engineer"), ("password", PASSWORD), ("next", next)],
                )
                .await;
            assert_eq!(answer.goes_to(), "/");
        }
    }

    #[tokio::test]
    async fn a_wrong_name_and_a_wrong_password_read_the_same() {
        let plant = Plant::new().await;
        let mut visitor = plant.visitor();
        for (name, password) in [("engineer", "wrong password here"), ("nobody", PASSWORD)] {
            visitor
                .post("/people/sign-in", &[("name", name), ("password", password)])
                .await
                .is(StatusCode::UNPROCESSABLE_ENTITY)
                .says("The name or the password is not right");
        }
    }

    #[tokio::test]
    async fn after_eight_failed_attempts_even_the_right_password_waits() {
        let plant = Plant::new().await;
        let mut visitor = plant.visitor();
        for _ in 0..8 {
            visitor
                .post(
                    "/people/sign-in",
                    &[("name", "engineer"), ("password", "not this one")],
                )
                .await;
        }
        visitor
            .post(
                "/people/sign-in",
                &[("name", "engineer"), ("password", PASSWORD)],
            )
            .await
            .says("Too many attempts under this name. Wait 15 minutes");
        plant.turn_to(time::macros::datetime!(2026-03-02 09:16 UTC));
        let answer = visitor
            .post(
                "/people/sign-in",
                &[("name", "engineer"), ("password", PASSWORD)],
            )
            .await;
        answer.is(StatusCode::SEE_OTHER);
    }

    #[tokio::test]
    async fn a_session_ends_twelve_hours_after_it_was_last_used() {
        let plant = Plant::new().await;
        let mut engineer = plant.signed_in(Role::Engineer).await;
        plant.turn_to(time::macros::datetime!(2026-03-02 20:59 UTC));
        engineer.get("/").await.is(StatusCode::OK);
        plant.turn_to(time::macros::datetime!(2026-03-03 08:58 UTC));
        engineer.get("/").await.is(StatusCode::OK);
        plant.turn_to(time::macros::datetime!(2026-03-03 20:59 UTC));
        engineer.get("/").await.is(StatusCode::SEE_OTHER);
    }

    #[tokio::test]
    async fn signing_out_ends_the_session() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let mut copy = engineer.clone();
        engineer
            .post("/people/sign-out", &[])
            .await
            .is(StatusCode::SEE_OTHER);
        copy.get("/").await.is(StatusCode::SEE_OTHER);
    }
}
