//! Taking a look-over back that was recorded by mistake, with the reason. It stays in the history, and
//! the gauge is due by the one before it.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use super::show::found;
use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address, show};
use crate::record::LookOverId;
use crate::record::gauge::Gauge;
use crate::store;
use crate::store::in_service::StandingLookOver;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    why: String,
}

#[derive(Template)]
#[template(path = "gauges/look_over_mistake.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    look_over: StandingLookOver,
    typed: Typed,
    errors: Errors,
}

async fn page(
    app: &App,
    chrome: Chrome,
    (tag, look_over): (&str, i64),
    typed: Typed,
    errors: Errors,
) -> Result<Page, PageError> {
    let mut db = app.store().read().await?;
    let gauge = found(&mut db, tag).await?;
    let look_over = store::in_service::look_over(&mut db, gauge.id, LookOverId(look_over))
        .await?
        .ok_or(PageError::NotFound("look-over"))?;
    Ok(Page {
        chrome,
        gauge,
        look_over,
        typed,
        errors,
    })
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((tag, look_over)): Path<(String, i64)>,
) -> Answer {
    let at = (tag.as_str(), look_over);
    answer::page(&page(&app, chrome, at, Typed::default(), Errors::none()).await?)
}

/// Takes it back.
pub async fn take_back(
    State(app): State<App>,
    chrome: Chrome,
    Path((tag, look_over)): Path<(String, i64)>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = found(&mut *app.store().read().await?, &tag).await?;
    let done = async {
        let mut deed = chrome.deed(&posted.key).await?;
        let why = posted.form.why.as_str();
        acts::in_service::take_back_look_over(&mut deed, gauge.id, LookOverId(look_over), why)
            .await?;
        let to = address::gauge(&gauge.particulars.tag);
        deed.commit(&to).await?;
        Ok(to)
    };
    match done.await {
        Ok(to) => Ok(see_other(&to)),
        Err(error) => {
            let errors = form::refused(error)?;
            let at = (tag.as_str(), look_over);
            answer::refused(&page(&app, chrome, at, posted.form, errors).await?)
        }
    }
}
