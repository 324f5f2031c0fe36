//! Changing one's own password, with the old one asked for again.
//! Somebody who forgot it asks the administrator for a one-time address.

use askama::Template;
use axum::extract::State;
use serde::Deserialize;

use crate::acts;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address};
use crate::record::{Refusal, person};

/// What is typed; nothing of it is ever shown again.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    old: String,
    password: String,
    again: String,
}

#[derive(Template)]
#[template(path = "people/password.html")]
struct Page {
    chrome: Chrome,
    errors: Errors,
}

/// The page.
pub async fn show(chrome: Chrome) -> Answer {
    answer::page(&Page {
        chrome,
        errors: Errors::none(),
    })
}

/// Changes it.
pub async fn change(State(app): State<App>, chrome: Chrome, posted: Posted<Typed>) -> Answer {
    match change_one(&app, &chrome, &posted).await {
        Ok(()) => Ok(see_other(address::BOARD)),
        Err(error) => answer::refused(&Page {
            errors: form::refused(error)?,
            chrome,
        }),
    }
}

async fn change_one(app: &App, chrome: &Chrome, posted: &Posted<Typed>) -> acts::Result<()> {
    let (somebody, typed) = (chrome.person(), &posted.form);
    chosen(&typed.password, &typed.again, &somebody.sign_in)?;
    acts::people::sign_again(app.store(), app.clock(), somebody, "old", typed.old.clone()).await?;
    let hash = acts::people::hash_password(typed.password.clone()).await?;
    let mut deed = chrome.deed(&posted.key).await?;
    let kept = &chrome.signed.token;
    acts::people::change_own_password(&mut deed, kept, somebody, (&typed.password, &hash)).await?;
    deed.commit(address::BOARD).await
}

/// Whether a new password will do and was typed the same twice.
///
/// # Errors
/// Says so beside the field.
pub fn chosen(password: &str, again: &str, sign_in: &str) -> Result<(), Refusal> {
    person::password(password, sign_in).map_err(|m| Refusal::field("password", m))?;
    if password == again {
        Ok(())
    } else {
        Err(Refusal::field("again", "The two are not the same"))
    }
}
