//! One account, for the administrator: name, role, open or closed, and a one-time address for a new
//! password. Accounts are closed, never deleted: names stand on records.

use askama::Template;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use serde::{Deserialize, Serialize};

use super::{once, roles, whole_address};
use crate::acts;
use crate::acts::people::{ADDRESS_LASTS, Token};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::merge::{self, Field};
use crate::pages::{App, address};
use crate::record::Refusal;
use crate::record::person::{Person, Role};
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Serialize, Deserialize)]
#[serde(default)]
pub struct Typed {
    name: String,
    role: String,
    account: String,
    version: i64,
    #[serde(skip_serializing)]
    opened: String,
}

const FIELDS: &[Field] = &[
    Field {
        name: "name",
        parts: &["name"],
    },
    Field {
        name: "role",
        parts: &["role"],
    },
    Field {
        name: "account",
        parts: &["account"],
    },
];

const OPEN: &str = "open";
const CLOSED: &str = "closed";

#[derive(Template)]
#[template(path = "people/account.html")]
struct Page {
    chrome: Chrome,
    person: Person,
    typed: Typed,
    errors: Errors,
}

impl Page {
    fn roles() -> Vec<(String, String)> {
        roles()
    }

    fn standings() -> Vec<(String, String)> {
        [(OPEN, "open"), (CLOSED, "closed: cannot sign in")]
            .map(|(word, shown)| (word.to_owned(), shown.to_owned()))
            .to_vec()
    }
}

impl Typed {
    fn of(person: &Person) -> Self {
        let typed = Self {
            name: person.name.clone(),
            role: person.role.word().to_owned(),
            account: if person.closed { CLOSED } else { OPEN }.to_owned(),
            version: person.version,
            opened: String::new(),
        };
        Self {
            opened: merge::opened(&typed),
            ..typed
        }
    }

    fn read(&self, person: &Person) -> Result<Person, Errors> {
        let mut read = Reader::new();
        let name = read.needed(
            "name",
            &self.name,
            120,
            "Write the name as it should stand on records",
        );
        let role: Option<Role> = read.parse("role", &self.role);
        if self.account != OPEN && self.account != CLOSED {
            read.refuse("account", "Choose whether the account is open or closed");
        }
        read.finish(name.zip(role).map(|(name, role)| Person {
            name,
            role,
            closed: self.account == CLOSED,
            version: self.version,
            ..person.clone()
        }))
    }
}

async fn found(app: &App, sign_in: &str) -> Result<Person, PageError> {
    let mut db = app.store().read().await?;
    store::people::by_sign_in(&mut db, sign_in)
        .await?
        .map(|(person, _)| person)
        .ok_or(PageError::NotFound("person"))
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(name): Path<String>) -> Answer {
    let person = found(&app, &name).await?;
    answer::page(&Page {
        chrome,
        typed: Typed::of(&person),
        person,
        errors: Errors::none(),
    })
}

/// Changes it.
pub async fn change(
    State(app): State<App>,
    chrome: Chrome,
    Path(name): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let person = found(&app, &name).await?;
    let errors = match posted.form.read(&person) {
        Ok(wanted) => match change_one(&chrome, &posted.key, &wanted).await {
            Ok(()) => return Ok(see_other(address::PEOPLE)),
            Err(acts::Error::Refused(Refusal::Changed { by, .. })) => {
                return second_saver(&app, chrome, posted.form, &name, &by).await;
            }
            Err(error) => form::refused(error)?,
        },
        Err(errors) => errors,
    };
    answer::refused(&Page {
        chrome,
        person,
        typed: posted.form,
        errors,
    })
}

async fn change_one(chrome: &Chrome, key: &str, wanted: &Person) -> acts::Result<()> {
    let mut deed = chrome.deed(key).await?;
    acts::people::change(&mut deed, wanted).await?;
    deed.commit(address::PEOPLE).await
}

async fn second_saver(app: &App, chrome: Chrome, typed: Typed, name: &str, by: &str) -> Answer {
    let now = found(app, name).await?;
    let fresh = Typed::of(&now);
    let opened = typed.opened.clone();
    let (merged, errors) = merge::merge(&opened, (typed, &fresh), FIELDS, by, |field, values| {
        let first = values.first().cloned().unwrap_or_default();
        match field {
            "role" => first
                .parse::<Role>()
                .map_or(first, |role| role.shown().to_owned()),
            _ => first,
        }
    });
    answer::refused(&Page {
        chrome,
        person: now,
        typed: Typed {
            version: fresh.version,
            opened: fresh.opened,
            ..merged
        },
        errors,
    })
}

/// Nothing is typed to reset a password.
#[derive(Debug, Deserialize)]
pub struct Nothing {}

/// Makes a one-time address for a new password; their sessions end.
pub async fn reset(
    State(app): State<App>,
    chrome: Chrome,
    Path(name): Path<String>,
    headers: HeaderMap,
    posted: Posted<Nothing>,
) -> Answer {
    let person = found(&app, &name).await?;
    match reset_one(&chrome, &posted.key, &person).await {
        Ok(token) => once::page(&once::Page {
            chrome,
            person,
            address: whole_address(&app, &headers, &address::set_password(token.text())),
            until: app.clock().now().plus(ADDRESS_LASTS),
        }),
        Err(error) => answer::refused(&Page {
            errors: form::refused(error)?,
            chrome,
            typed: Typed::of(&person),
            person,
        }),
    }
}

async fn reset_one(chrome: &Chrome, key: &str, person: &Person) -> acts::Result<Token> {
    let mut deed = chrome.deed(key).await?;
    let token = acts::people::reset(&mut deed, person.id).await?;
    deed.commit(&address::account(&person.sign_in)).await?;
    Ok(token)
}
