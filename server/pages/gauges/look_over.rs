//! Recording a look-over, the short visual inspection in service; one tap on what it found.
//! One that finds a failure reports it as well.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use super::show::found;
use crate::acts;
use crate::acts::in_service::LookOver;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::gauge::Gauge;
use crate::record::rebuild::{FailureKind, LookOverFound};

/// What is typed or tapped. `found` is what a look-over finds, or the failure it found.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    found: String,
    on: String,
    note: String,
}

#[derive(Template)]
#[template(path = "gauges/look_over.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    typed: Typed,
    errors: Errors,
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let gauge = found(&mut *app.store().read().await?, &tag).await?;
    answer::page(&Page {
        typed: Typed {
            on: show::plain_date(&chrome.today),
            ..Typed::default()
        },
        chrome,
        gauge,
        errors: Errors::none(),
    })
}

/// Records it.
pub async fn record(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = found(&mut *app.store().read().await?, &tag).await?;
    let done = match parsed(&posted.form) {
        Ok(look_over) => record_one(&chrome, &posted.key, &gauge, &look_over)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => answer::refused(&Page {
            chrome,
            gauge,
            typed: posted.form,
            errors: errors?,
        }),
    }
}

fn parsed(typed: &Typed) -> Result<LookOver, Errors> {
    let mut read = Reader::new();
    let on = read.needed_date("on", &typed.on);
    let note = read.text("note", &typed.note, 2000);
    let failure = typed.found.parse::<FailureKind>().ok();
    let found = match failure {
        Some(_) => Some(LookOverFound::Failure),
        None => read.parse("found", &typed.found),
    };
    read.finish(on.zip(found).map(|(on, found)| LookOver {
        on,
        found,
        failure,
        note,
    }))
}

async fn record_one(
    chrome: &Chrome,
    key: &str,
    gauge: &Gauge,
    look_over: &LookOver,
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::in_service::look_over(&mut deed, gauge.id, look_over).await?;
    let to = address::gauge(&gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}
