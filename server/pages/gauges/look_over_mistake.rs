//! Taking a look-over back that was recorded by mistake, with the reason. It stays in the history, and
//! the gauge is due by the one before it.

use axum::extract::{Path, State};

use super::show::found;
use crate::acts;
use crate::pages::answer::{Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::Posted;
use crate::pages::mistake::{self, Subject, Typed};
use crate::pages::{App, address, show};
use crate::record::LookOverId;
use crate::store;

async fn subject(app: &App, (tag, look_over): (&str, i64)) -> Result<Subject, PageError> {
    let mut db = app.store().read().await?;
    let gauge = found(&mut db, tag).await?;
    let look_over = store::in_service::look_over(&mut db, gauge.id, LookOverId(look_over))
        .await?
        .ok_or(PageError::NotFound("look-over"))?;
    let tag = &gauge.particulars.tag;
    Ok(Subject {
        what: "look-over",
        made: "recorded",
        of: tag.to_string(),
        page: address::gauge(tag),
        says: (
            look_over.found.to_string(),
            format!(
                " on {}, recorded by {}{}",
                show::date(&look_over.on),
                look_over.person,
                mistake::noted(&look_over.note)
            ),
        ),
        caution: "Only where it was the wrong gauge, the wrong day or not done at all. Where it is the latest, the next look-over counts from the one before it. A failure reported with it stays open until it is taken back itself.".to_owned(),
        taken: "look-over",
        kept: "It stays in the history, under your name",
    })
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((tag, look_over)): Path<(String, i64)>,
) -> Answer {
    mistake::ask(chrome, subject(&app, (&tag, look_over)).await?)
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
        let (id, why) = (LookOverId(look_over), posted.form.why.as_str());
        acts::in_service::take_back_look_over(&mut deed, gauge.id, id, why).await?;
        let to = address::gauge(&gauge.particulars.tag);
        deed.commit(&to).await?;
        Ok(to)
    };
    match done.await {
        Ok(to) => Ok(see_other(&to)),
        Err(error) => {
            let subject = subject(&app, (&tag, look_over)).await?;
            mistake::refused(chrome, subject, posted.form, error)
        }
    }
}
