//! Reporting a failure from the field: one tap to come here, one tap on what is wrong.
//! The gauge is due from that moment; planning its rebuild is another page.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use super::show::found;
use crate::acts;
use crate::acts::in_service::Failure;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::gauge::Gauge;
use crate::record::rebuild::FailureKind;
use crate::store;
use crate::store::in_service::OpenFailure;

/// What is typed or tapped.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    kind: String,
    seen_on: String,
    note: String,
}

#[derive(Template)]
#[template(path = "gauges/failure.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    typed: Typed,
    errors: Errors,
    open: Vec<OpenFailure>,
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let gauge = found(&mut db, &tag).await?;
    let open = store::in_service::open_failures(&mut db, gauge.id).await?;
    answer::page(&Page {
        chrome,
        gauge,
        typed: Typed::default(),
        errors: Errors::none(),
        open,
    })
}

/// Reports it.
pub async fn report(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = found(&mut *app.store().read().await?, &tag).await?;
    let done = match parsed(&posted.form, chrome.today) {
        Ok(failure) => report_one(&chrome, &posted.key, &gauge, &failure)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let errors = errors?;
            let mut db = app.store().read().await?;
            let open = store::in_service::open_failures(&mut db, gauge.id).await?;
            answer::refused(&Page {
                chrome,
                gauge,
                typed: posted.form,
                errors,
                open,
            })
        }
    }
}

fn parsed(typed: &Typed, today: time::Date) -> Result<Failure, Errors> {
    let mut read = Reader::new();
    let kind: Option<FailureKind> = read.parse("kind", &typed.kind);
    let seen_on = if typed.seen_on.trim().is_empty() {
        Some(today)
    } else {
        read.date("seen_on", &typed.seen_on)
    };
    let note = read.text("note", &typed.note, 2000);
    read.finish(kind.zip(seen_on).map(|(kind, seen_on)| Failure {
        kind,
        seen_on,
        note,
    }))
}

async fn report_one(
    chrome: &Chrome,
    key: &str,
    gauge: &Gauge,
    failure: &Failure,
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::in_service::report_failure(&mut deed, gauge.id, failure).await?;
    let to = address::gauge(&gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}
