//! Setting a password through a one-time address, and signing in with it at once.
//! Who may make such an address is the administrator's affair.

use askama::Template;
use axum::extract::{Form, Path, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse};
use axum_extra::extract::CookieJar;
use serde::Deserialize;

use super::password::chosen;
use super::signed_in_to;
use crate::acts::people::{self, Token};
use crate::acts::{self, Deed, Who};
use crate::pages::answer::{self, Answer};
use crate::pages::form::{self, Errors};
use crate::pages::{App, address};
use crate::record::person::Person;

/// What is typed; nothing of it is ever shown again.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    password: String,
    again: String,
}

#[derive(Template)]
#[template(path = "people/set_password.html")]
struct Page {
    /// Whose password it sets; nobody's where the address does not work any more.
    person: Option<Person>,
    errors: Errors,
}

async fn whose(app: &App, token: &Token) -> acts::Result<Option<Person>> {
    let mut db = app.store().read().await?;
    people::whose(&mut db, token, app.clock().now()).await
}

fn gone() -> Answer {
    let page = Page {
        person: None,
        errors: Errors::none(),
    };
    Ok((StatusCode::GONE, Html(page.render()?)).into_response())
}

/// The page.
pub async fn show(State(app): State<App>, Path(token): Path<String>) -> Answer {
    match whose(&app, &Token::from_text(&token)).await? {
        None => gone(),
        person => answer::page(&Page {
            person,
            errors: Errors::none(),
        }),
    }
}

/// Sets it. The address itself is the secret, so no session and no form key are asked for.
pub async fn set(
    State(app): State<App>,
    jar: CookieJar,
    Path(token): Path<String>,
    Form(typed): Form<Typed>,
) -> Answer {
    let token = Token::from_text(&token);
    let Some(person) = whose(&app, &token).await? else {
        return gone();
    };
    let done = async {
        chosen(&typed.password, &typed.again, &person.sign_in)?;
        let hash = people::hash_password(typed.password.clone()).await?;
        let mut deed = Deed::begin(app.store(), app.clock(), Who::program(), None).await?;
        people::set_password(&mut deed, &token, &typed.password, &hash).await?;
        deed.commit("").await?;
        signed_in_to(
            &app,
            &jar,
            &person.sign_in,
            typed.password.clone(),
            address::BOARD,
        )
        .await
    };
    match done.await {
        Ok(response) => Ok(response),
        Err(error) => answer::refused(&Page {
            errors: form::refused(error)?,
            person: Some(person),
        }),
    }
}
