//! Photographs of a nameplate: serving them under the mark of their content, and taking one in.
//! They are shown on the gauge's own page; making an upload ready is `pages::picture`.

use axum::extract::{Multipart, Path, Query, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::IntoResponse;
use serde::Deserialize;

use super::show::{self, found};
use crate::acts;
use crate::acts::in_service::Photograph;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors};
use crate::pages::upload::{self, Uploaded};
use crate::pages::{App, address, picture};
use crate::record::audit::unhex;
use crate::record::gauge::Gauge;
use crate::store;
use crate::store::photos::Of;

/// Which photograph.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    mark: String,
    small: String,
}

/// Serves a photograph. Its address carries the mark of its content, so browsers may keep it; an
/// address without a mark leads to the latest one.
pub async fn show(
    State(app): State<App>,
    Path(tag): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    let none = || PageError::NotFound("photograph");
    let mut db = app.store().read().await?;
    let gauge = store::gauges::id_of(&mut db, &tag)
        .await?
        .ok_or(PageError::NotFound("gauge"))?;
    let small = !asked.small.is_empty();
    if asked.mark.is_empty() {
        let latest = store::photos::of_gauge(&mut db, gauge, 1).await?;
        let mark = latest.first().map(|p| p.mark.clone()).ok_or_else(none)?;
        return Ok(see_other(&address::gauge_photo(&tag, &mark, small)));
    }
    let mark = unhex(&asked.mark)
        .filter(|mark| mark.len() == 32)
        .ok_or_else(none)?;
    let jpeg = store::photos::bytes(&mut db, Of::Nameplate(gauge), &mark, small)
        .await?
        .ok_or_else(none)?;
    Ok((
        [
            (CONTENT_TYPE, "image/jpeg"),
            (CACHE_CONTROL, "private, max-age=31536000, immutable"),
        ],
        jpeg,
    )
        .into_response())
}

/// Takes a photograph in.
pub async fn add(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    form: Multipart,
) -> Answer {
    let uploaded = upload::read(&chrome.signed, form, picture::MOST_BYTES).await?;
    let gauge = found(&mut *app.store().read().await?, &tag).await?;
    let done = match ready(&uploaded).await {
        Ok(photo) => add_one(&chrome, &uploaded.key, &gauge, &photo)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let mut db = app.store().read().await?;
            answer::refused(&show::Page::new(&mut db, chrome, gauge, errors?).await?)
        }
    }
}

async fn ready(uploaded: &Uploaded) -> Result<Photograph, Errors> {
    let refuse = |message: &str| {
        let mut errors = Errors::none();
        errors.add("photo", message);
        errors
    };
    if uploaded.too_large {
        return Err(refuse(
            "A photograph has at most 12 MB; this file is larger",
        ));
    }
    if uploaded.bytes.is_empty() {
        return Err(refuse("Choose a photograph first"));
    }
    picture::ready(uploaded.bytes.clone())
        .await
        .map_err(|message| refuse(&message))
}

async fn add_one(
    chrome: &Chrome,
    key: &str,
    gauge: &Gauge,
    photo: &Photograph,
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::in_service::photograph(&mut deed, gauge.id, photo).await?;
    let to = address::gauge(&gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}
