//! Taking a failure back that was reported by mistake, with the reason. The report stays in the
//! history; a failure that was seen is answered by a rebuild and not here.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use super::show::found;
use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address, show};
use crate::record::FailureId;
use crate::record::gauge::Gauge;
use crate::store;
use crate::store::in_service::OpenFailure;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    why: String,
}

#[derive(Template)]
#[template(path = "gauges/take_back.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    failure: OpenFailure,
    typed: Typed,
    errors: Errors,
}

async fn page(
    app: &App,
    chrome: Chrome,
    (tag, failure): (&str, i64),
    typed: Typed,
    errors: Errors,
) -> Result<Page, PageError> {
    let mut db = app.store().read().await?;
    let gauge = found(&mut db, tag).await?;
    let failure = store::in_service::open_failures(&mut db, gauge.id)
        .await?
        .into_iter()
        .find(|one| one.id == FailureId(failure))
        .ok_or(PageError::NotFound("open failure"))?;
    Ok(Page {
        chrome,
        gauge,
        failure,
        typed,
        errors,
    })
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((tag, failure)): Path<(String, i64)>,
) -> Answer {
    let at = (tag.as_str(), failure);
    answer::page(&page(&app, chrome, at, Typed::default(), Errors::none()).await?)
}

/// Takes it back.
pub async fn take_back(
    State(app): State<App>,
    chrome: Chrome,
    Path((tag, failure)): Path<(String, i64)>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = found(&mut *app.store().read().await?, &tag).await?;
    let done = async {
        let mut deed = chrome.deed(&posted.key).await?;
        let why = posted.form.why.as_str();
        acts::in_service::take_back_failure(&mut deed, gauge.id, FailureId(failure), why).await?;
        let to = address::gauge(&gauge.particulars.tag);
        deed.commit(&to).await?;
        Ok(to)
    };
    match done.await {
        Ok(to) => Ok(see_other(&to)),
        Err(error) => {
            let errors = form::refused(error)?;
            let at = (tag.as_str(), failure);
            answer::refused(&page(&app, chrome, at, posted.form, errors).await?)
        }
    }
}
