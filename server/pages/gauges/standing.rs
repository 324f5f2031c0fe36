//! Putting a gauge to rest, bringing it back and retiring it, each with a reason.
//! Which change is allowed from where is decided in `record::gauge`.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use super::show::found;
use crate::acts;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address};
use crate::record::gauge::{Gauge, Standing, may_become};
use crate::store;

/// What is typed or tapped.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    to: String,
    reason: String,
    version: i64,
}

#[derive(Template)]
#[template(path = "gauges/standing.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    rebuild_open: bool,
    typed: Typed,
    errors: Errors,
}

impl Page {
    /// What the gauge may become now, with the words on its button.
    fn offers(&self) -> Vec<(Standing, &'static str)> {
        [
            (Standing::InService, "Bring back into service"),
            (Standing::Resting, "Put to rest"),
            (Standing::Retired, "Retire for good"),
        ]
        .into_iter()
        .filter(|(to, _)| may_become(self.gauge.standing, *to, self.rebuild_open).is_ok())
        .map(|(to, words)| match (self.gauge.standing, to) {
            (Standing::Retired, Standing::Resting) => (to, "Bring back as resting"),
            _ => (to, words),
        })
        .collect()
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let gauge = found(&mut db, &tag).await?;
    let rebuild_open = store::rebuilds::open_of(&mut db, gauge.id).await?.is_some();
    answer::page(&Page {
        chrome,
        gauge,
        rebuild_open,
        typed: Typed::default(),
        errors: Errors::none(),
    })
}

/// Changes it.
pub async fn change(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = found(&mut *app.store().read().await?, &tag).await?;
    let mut read = Reader::new();
    let to = read.parse("to", &posted.form.to);
    let done = match read.finish(to) {
        Ok(to) => change_one(&chrome, &posted, &gauge, to)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let errors = errors?;
            let mut db = app.store().read().await?;
            let gauge = found(&mut db, &tag).await?;
            let rebuild_open = store::rebuilds::open_of(&mut db, gauge.id).await?.is_some();
            answer::refused(&Page {
                chrome,
                gauge,
                rebuild_open,
                typed: posted.form,
                errors,
            })
        }
    }
}

async fn change_one(
    chrome: &Chrome,
    posted: &Posted<Typed>,
    gauge: &Gauge,
    to: Standing,
) -> acts::Result<String> {
    let mut deed = chrome.deed(&posted.key).await?;
    let (version, reason) = (posted.form.version, posted.form.reason.as_str());
    acts::gauges::change_standing(&mut deed, gauge.id, version, to, reason).await?;
    let to = address::gauge(&gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}
