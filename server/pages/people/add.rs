//! Adding somebody: name, sign-in name, role. The answer is the one-time address that sets their
//! password, shown once.

use askama::Template;
use axum::extract::State;
use axum::http::HeaderMap;
use serde::Deserialize;

use super::{once, roles, whole_address};
use crate::acts;
use crate::acts::people::{ADDRESS_LASTS, Token};
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address};
use crate::record::PersonId;
use crate::record::person::Role;
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    name: String,
    sign_in: String,
    role: String,
}

#[derive(Template)]
#[template(path = "people/add.html")]
struct Page {
    chrome: Chrome,
    typed: Typed,
    errors: Errors,
}

impl Page {
    fn roles() -> Vec<(String, String)> {
        roles()
    }
}

/// The empty form.
pub async fn show(chrome: Chrome) -> Answer {
    answer::page(&Page {
        chrome,
        typed: Typed {
            role: Role::Technician.word().to_owned(),
            ..Typed::default()
        },
        errors: Errors::none(),
    })
}

/// Adds somebody.
pub async fn add(
    State(app): State<App>,
    chrome: Chrome,
    headers: HeaderMap,
    posted: Posted<Typed>,
) -> Answer {
    let mut read = Reader::new();
    let role: Option<Role> = read.parse("role", &posted.form.role);
    let errors = match read.finish(role) {
        Ok(role) => match add_one(&chrome, &posted, role).await {
            Ok((id, token)) => {
                let mut db = app.store().read().await?;
                let person = store::people::by_id(&mut db, id)
                    .await?
                    .ok_or(PageError::NotFound("person"))?;
                return once::page(&once::Page {
                    chrome,
                    person,
                    address: whole_address(&app, &headers, &address::set_password(token.text())),
                    until: app.clock().now().plus(ADDRESS_LASTS),
                });
            }
            Err(error) => form::refused(error)?,
        },
        Err(errors) => errors,
    };
    answer::refused(&Page {
        chrome,
        typed: posted.form,
        errors,
    })
}

async fn add_one(
    chrome: &Chrome,
    posted: &Posted<Typed>,
    role: Role,
) -> acts::Result<(PersonId, Token)> {
    let mut deed = chrome.deed(&posted.key).await?;
    let done = acts::people::add(&mut deed, &posted.form.sign_in, &posted.form.name, role).await?;
    // Pressed again, the button leads to the account: the address itself is shown only once.
    deed.commit(&address::account(posted.form.sign_in.trim().to_lowercase()))
        .await?;
    Ok(done)
}
