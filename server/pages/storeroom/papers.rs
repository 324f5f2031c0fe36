//! The papers that came with a lot: shown, served to keep, and added. A paper is evidence: it is never
//! changed and never taken away.

use askama::Template;
use axum::extract::{Multipart, Path, Query, State};
use serde::Deserialize;

use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors};
use crate::pages::paper;
use crate::pages::upload::{self, Uploaded};
use crate::pages::{App, address, show};
use crate::record::audit::unhex;
use crate::record::kit::Lot;
use crate::store;
use crate::store::documents::{Document, Of};

/// The largest paper taken.
const MOST_BYTES: usize = 12 * 1024 * 1024;

/// Which paper.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    mark: String,
}

#[derive(Template)]
#[template(path = "storeroom/papers.html")]
struct Page {
    chrome: Chrome,
    lot: Lot,
    papers: Vec<Document>,
    title: String,
    errors: Errors,
}

/// The page, or a paper by the mark of its content.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((kit, number)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Answer {
    let lot = found(&app, &kit, &number).await?;
    let mut db = app.store().read().await?;
    if asked.mark.is_empty() {
        let papers = store::documents::of_lot(&mut db, lot.id).await?;
        return answer::page(&Page {
            chrome,
            lot,
            papers,
            title: String::new(),
            errors: Errors::none(),
        });
    }
    let none = || PageError::NotFound("paper");
    let mark = unhex(&asked.mark)
        .filter(|mark| mark.len() == 32)
        .ok_or_else(none)?;
    let (media_type, bytes) = store::documents::bytes(&mut db, Of::Lot(lot.id), &mark)
        .await?
        .ok_or_else(none)?;
    paper::kept("lot-paper", &asked.mark, &media_type, bytes)
}

/// Adds a paper.
pub async fn add(
    State(app): State<App>,
    chrome: Chrome,
    Path((kit, number)): Path<(String, String)>,
    form: Multipart,
) -> Answer {
    let uploaded = upload::read(&chrome.signed, form, MOST_BYTES).await?;
    let lot = found(&app, &kit, &number).await?;
    let done = match add_one(&chrome, &uploaded, &lot).await {
        Ok(to) => return Ok(see_other(&to)),
        Err(error) => form::refused(error)?,
    };
    let mut db = app.store().read().await?;
    let papers = store::documents::of_lot(&mut db, lot.id).await?;
    answer::refused(&Page {
        chrome,
        lot,
        papers,
        title: uploaded.fields.get("title").cloned().unwrap_or_default(),
        errors: done,
    })
}

async fn add_one(chrome: &Chrome, uploaded: &Uploaded, lot: &Lot) -> acts::Result<String> {
    if uploaded.too_large {
        let words = "A paper has at most 12 MB; this file is larger";
        return Err(crate::record::Refusal::field("paper", words).into());
    }
    let title = uploaded.fields.get("title").map_or("", String::as_str);
    let mut deed = chrome.deed(&uploaded.key).await?;
    acts::documents::add(&mut deed, lot.id, title, &uploaded.bytes).await?;
    let to = address::lot_part(&lot.kit, &lot.number, "papers");
    deed.commit(&to).await?;
    Ok(to)
}

async fn found(app: &App, kit: &str, number: &str) -> Result<Lot, PageError> {
    let mut db = app.store().read().await?;
    store::kits::lot_by_number(&mut db, kit, number)
        .await?
        .ok_or(PageError::NotFound("lot"))
}
