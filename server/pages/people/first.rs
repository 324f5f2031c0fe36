//! The first administrator of an empty plant, through the address printed at the first start: they
//! name the plant, say what its procedures chose, and choose their password.

use askama::Template;
use axum::body::Bytes;
use axum::extract::{Path, State};
use axum_extra::extract::CookieJar;
use serde::Deserialize;

use super::password::chosen;
use super::signed_in_to;
use crate::acts::people::{self, Token};
use crate::acts::{self, Deed, Who};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::form::{self, Errors, Reader};
use crate::pages::plant::{judging, settings};
use crate::pages::{App, address};
use crate::record::plant::Plant;
use crate::record::{Refusal, person};
use crate::store;
use crate::store::test_plans::Of;

/// What the first administrator types about themselves.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    who: String,
    sign_in: String,
    password: String,
    again: String,
}

#[derive(Template)]
#[template(path = "people/first.html")]
struct Page {
    typed: settings::Typed,
    judging: judging::Typed,
    person: Typed,
    errors: Errors,
}

/// Whether the address works; somebody who comes late is sent to sign in.
async fn works(app: &App, token: &Token) -> Result<bool, PageError> {
    let mut db = app.store().read().await?;
    Ok(people::first_works(&mut db, token, app.clock().now()).await?)
}

async fn too_late(app: &App) -> Answer {
    let mut db = app.store().read().await?;
    if store::people::administrators(&mut db).await? > 0 {
        return Ok(see_other(address::SIGN_IN));
    }
    Err(PageError::Refused(Refusal::not_now(
        "This address was used before or ran out; start the program again and open the one it prints",
    )))
}

/// The page.
pub async fn show(State(app): State<App>, Path(token): Path<String>) -> Answer {
    if !works(&app, &Token::from_text(&token)).await? {
        return too_late(&app).await;
    }
    answer::page(&Page {
        typed: settings::Typed::proposed(),
        judging: judging::Typed::proposed(),
        person: Typed::default(),
        errors: Errors::none(),
    })
}

/// Names the plant and its first administrator. The address itself is the secret.
pub async fn settle(
    State(app): State<App>,
    jar: CookieJar,
    Path(token): Path<String>,
    body: Bytes,
) -> Answer {
    let token = Token::from_text(&token);
    if !works(&app, &token).await? {
        return too_late(&app).await;
    }
    let unreadable = |e: serde_html_form::de::Error| PageError::BadForm(e.to_string());
    let typed: settings::Typed = serde_html_form::from_bytes(&body).map_err(unreadable)?;
    let judging: judging::Typed = serde_html_form::from_bytes(&body).map_err(unreadable)?;
    let person: Typed = serde_html_form::from_bytes(&body).map_err(unreadable)?;
    let mut read = Reader::new();
    let plant = typed.read(&mut read, false);
    let rule = judging.read(&mut read);
    let sign_in = read.take("sign_in", person::sign_in_name(&person.sign_in));
    let name = read.needed(
        "who",
        &person.who,
        120,
        "Write your name as it should stand on records",
    );
    if let Err(Refusal::Fields(fields)) = chosen(
        &person.password,
        &person.again,
        sign_in.as_deref().unwrap_or_default(),
    ) {
        for field in fields {
            read.refuse(&field.field, field.message);
        }
    }
    let whole = (|| {
        let (plant, rule) = (plant?, rule?);
        let ground = rule.ground.clone();
        Some((Plant { ground, ..plant }, rule, sign_in?, name?))
    })();
    let done: Result<_, Result<Errors, PageError>> = match read.finish(whole) {
        Ok((plant, rule, sign_in, name)) => async {
            let hash = people::hash_password(person.password.clone()).await?;
            let mut deed = Deed::begin(app.store(), app.clock(), Who::program(), None).await?;
            let secret = (person.password.as_str(), hash.as_str());
            people::first(&mut deed, &token, &plant, (&sign_in, &name), secret).await?;
            acts::test_plans::choose(&mut deed, Of::default(), "the plant", &rule).await?;
            deed.commit("").await?;
            signed_in_to(
                &app,
                &jar,
                &sign_in,
                person.password.clone(),
                address::PLANT,
            )
            .await
        }
        .await
        .map_err(|error: acts::Error| form::refused(error)),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(response) => Ok(response),
        Err(errors) => answer::refused(&Page {
            errors: errors?,
            typed,
            judging,
            person,
        }),
    }
}
