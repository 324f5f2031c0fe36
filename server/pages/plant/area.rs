//! Adding an area and giving one another name. An area is never taken away: gauges hang in it.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::board::guide;
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address};
use crate::record::AreaId;
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    name: String,
}

#[derive(Template)]
#[template(path = "plant/area.html")]
struct Page {
    chrome: Chrome,
    /// The area being renamed; none when one is added.
    before: Option<String>,
    typed: Typed,
    errors: Errors,
}

/// The empty form.
pub async fn new(chrome: Chrome) -> Answer {
    answer::page(&Page {
        chrome,
        before: None,
        typed: Typed::default(),
        errors: Errors::none(),
    })
}

/// Adds an area.
pub async fn add(State(app): State<App>, chrome: Chrome, posted: Posted<Typed>) -> Answer {
    let done = async {
        let mut deed = chrome.deed(&posted.key).await?;
        acts::plant::add_area(&mut deed, &posted.form.name).await?;
        let to = guide::onwards(&app, deed.db(), address::PLANT).await?;
        deed.commit(to).await?;
        acts::Result::Ok(to)
    };
    match done.await {
        Ok(to) => Ok(see_other(to)),
        Err(error) => answer::refused(&Page {
            errors: form::refused(error)?,
            chrome,
            before: None,
            typed: posted.form,
        }),
    }
}

/// The form with the name it has.
pub async fn edit(State(app): State<App>, chrome: Chrome, Path(name): Path<String>) -> Answer {
    found(&app, &name).await?;
    answer::page(&Page {
        chrome,
        typed: Typed { name: name.clone() },
        before: Some(name),
        errors: Errors::none(),
    })
}

/// Renames it.
pub async fn rename(
    State(app): State<App>,
    chrome: Chrome,
    Path(name): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let id = found(&app, &name).await?;
    let done = async {
        let mut deed = chrome.deed(&posted.key).await?;
        acts::plant::rename_area(&mut deed, id, &name, &posted.form.name).await?;
        deed.commit(address::PLANT).await
    };
    match done.await {
        Ok(()) => Ok(see_other(address::PLANT)),
        Err(error) => answer::refused(&Page {
            errors: form::refused(error)?,
            chrome,
            before: Some(name),
            typed: posted.form,
        }),
    }
}

async fn found(app: &App, name: &str) -> Result<AreaId, PageError> {
    let mut db = app.store().read().await?;
    store::plant::area_named(&mut db, name)
        .await?
        .ok_or(PageError::NotFound("area"))
}
