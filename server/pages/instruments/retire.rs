//! Taking an instrument out of use, and bringing it back. What it measured stays on record.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use super::found;
use crate::acts;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address, show};
use crate::record::instrument::Instrument;

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    /// "yes" takes it out of use, anything else brings it back.
    retire: String,
    reason: String,
    version: i64,
}

#[derive(Template)]
#[template(path = "instruments/retire.html")]
struct Page {
    chrome: Chrome,
    instrument: Instrument,
    typed: Typed,
    errors: Errors,
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    let instrument = found(&app, &number).await?;
    answer::page(&Page {
        chrome,
        instrument,
        typed: Typed::default(),
        errors: Errors::none(),
    })
}

/// Retires the instrument or brings it back.
pub async fn retire(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let instrument = found(&app, &number).await?;
    match retire_one(&chrome, &posted, &instrument)
        .await
        .map_err(form::refused)
    {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => answer::refused(&Page {
            chrome,
            instrument,
            typed: posted.form,
            errors: errors?,
        }),
    }
}

async fn retire_one(
    chrome: &Chrome,
    posted: &Posted<Typed>,
    instrument: &Instrument,
) -> acts::Result<String> {
    let typed = &posted.form;
    let retire = typed.retire == "yes";
    let mut deed = chrome.deed(&posted.key).await?;
    let (id, version) = (instrument.id, typed.version);
    acts::instruments::change_use(&mut deed, id, version, retire, &typed.reason).await?;
    let to = address::instrument(&instrument.number);
    deed.commit(&to).await?;
    Ok(to)
}
