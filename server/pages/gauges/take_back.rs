//! Taking a failure back that was reported by mistake, with the reason. The report stays in the
//! history; a failure that was seen is answered by a rebuild and not here.

use axum::extract::{Path, State};

use super::show::found;
use crate::acts;
use crate::pages::answer::{Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::Posted;
use crate::pages::mistake::{self, Subject, Typed};
use crate::pages::{App, address, show};
use crate::record::FailureId;
use crate::store;

async fn subject(app: &App, (tag, failure): (&str, i64)) -> Result<Subject, PageError> {
    let mut db = app.store().read().await?;
    let gauge = found(&mut db, tag).await?;
    let failure = store::in_service::open_failures(&mut db, gauge.id)
        .await?
        .into_iter()
        .find(|one| one.id == FailureId(failure))
        .ok_or(PageError::NotFound("open failure"))?;
    let tag = &gauge.particulars.tag;
    Ok(Subject {
        what: "failure",
        made: "reported",
        of: tag.to_string(),
        page: address::gauge(tag),
        says: (
            failure.kind.to_string(),
            format!(
                ", seen {}, reported by {}{}",
                show::date(&failure.seen_on),
                failure.person,
                mistake::noted(&failure.note)
            ),
        ),
        caution: "Only where it was the wrong gauge, the wrong day or no failure. A leak that stopped by itself was a leak: plan its rebuild.".to_owned(),
        taken: "report",
        kept: "It stays in the history, under your name",
    })
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((tag, failure)): Path<(String, i64)>,
) -> Answer {
    mistake::ask(chrome, subject(&app, (&tag, failure)).await?)
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
        let (id, why) = (FailureId(failure), posted.form.why.as_str());
        acts::in_service::take_back_failure(&mut deed, gauge.id, id, why).await?;
        let to = address::gauge(&gauge.particulars.tag);
        deed.commit(&to).await?;
        Ok(to)
    };
    match done.await {
        Ok(to) => Ok(see_other(&to)),
        Err(error) => {
            let subject = subject(&app, (&tag, failure)).await?;
            mistake::refused(chrome, subject, posted.form, error)
        }
    }
}
