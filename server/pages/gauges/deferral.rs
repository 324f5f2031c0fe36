//! Signing a deferral: a later date with a reason, a limit no deferral passes, and the engineer's
//! password again. What may be deferred at all is decided in `calc::due`.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::show::found;
use crate::acts;
use crate::acts::in_service::Deferral;
use crate::calc::due::{self, Decision};
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::gauge::Gauge;
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    until: String,
    hard_limit: String,
    reason: String,
    password: String,
}

#[derive(Template)]
#[template(path = "gauges/deferral.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    typed: Typed,
    errors: Errors,
    decision: Option<Decision>,
    in_force: Option<due::Deferral>,
}

impl Page {
    async fn new(
        db: &mut SqliteConnection,
        chrome: Chrome,
        gauge: Gauge,
        typed: Typed,
        errors: Errors,
    ) -> store::Result<Self> {
        let facts = store::due::facts(db, gauge.id).await?.map(|known| known.2);
        Ok(Self {
            chrome,
            typed,
            errors,
            decision: facts.as_ref().and_then(|facts| due::decide(facts).ok()),
            in_force: facts.and_then(|facts| facts.deferral),
            gauge,
        })
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let gauge = found(&mut db, &tag).await?;
    let mut page = Page::new(&mut db, chrome, gauge, Typed::default(), Errors::none()).await?;
    if let Some(before) = page.in_force {
        page.typed.hard_limit = before.hard_limit.to_string();
    }
    answer::page(&page)
}

/// Signs it.
pub async fn sign(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = found(&mut *app.store().read().await?, &tag).await?;
    let done = match parsed(&posted.form) {
        Ok(deferral) => sign_one(&app, &chrome, &posted, &gauge, &deferral)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let errors = errors?;
            let mut db = app.store().read().await?;
            let typed = Typed {
                password: String::new(),
                ..posted.form
            };
            answer::refused(&Page::new(&mut db, chrome, gauge, typed, errors).await?)
        }
    }
}

fn parsed(typed: &Typed) -> Result<Deferral, Errors> {
    let mut read = Reader::new();
    let until = read.needed_date("until", &typed.until);
    let hard_limit = read.needed_date("hard_limit", &typed.hard_limit);
    let reason = read.needed(
        "reason",
        &typed.reason,
        2000,
        "Give the reason in 3 to 2000 characters; it stays in the history",
    );
    if typed.password.is_empty() {
        read.refuse("password", "Sign with your password");
    }
    let whole = (|| {
        Some(Deferral {
            until: until?,
            hard_limit: hard_limit?,
            reason: reason?,
        })
    })();
    read.finish(whole)
}

async fn sign_one(
    app: &App,
    chrome: &Chrome,
    posted: &Posted<Typed>,
    gauge: &Gauge,
    deferral: &Deferral,
) -> acts::Result<String> {
    let password = posted.form.password.clone();
    acts::people::sign_again(
        app.store(),
        app.clock(),
        chrome.person(),
        "password",
        password,
    )
    .await?;
    let mut deed = chrome.deed(&posted.key).await?;
    acts::in_service::defer(&mut deed, gauge.id, deferral).await?;
    let to = address::gauge(&gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}
