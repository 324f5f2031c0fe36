//! The papers of an instrument's calibrations: shown, served to keep, and added. A paper is evidence: it
//! is never changed and never taken away.

use askama::Template;
use axum::extract::{Multipart, Path, Query, State};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::found;
use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors};
use crate::pages::paper;
use crate::pages::upload::{self, Uploaded};
use crate::pages::{App, address, show};
use crate::record::audit::unhex;
use crate::record::instrument::Instrument;
use crate::record::{CalibrationId, Refusal};
use crate::store;
use crate::store::calibrations::CalibrationLine;
use crate::store::documents::{Document, Of};

/// The largest paper taken.
const MOST_BYTES: usize = 12 * 1024 * 1024;
/// Calibrations a paper can be added to: the latest ones.
const MOST: i64 = 50;

/// Which paper.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    mark: String,
}

#[derive(Template)]
#[template(path = "instruments/papers.html")]
struct Page {
    chrome: Chrome,
    instrument: Instrument,
    calibrations: Vec<CalibrationLine>,
    papers: Vec<(CalibrationId, Document)>,
    title: String,
    calibration: String,
    errors: Errors,
}

impl Page {
    async fn new(
        db: &mut SqliteConnection,
        chrome: Chrome,
        instrument: Instrument,
    ) -> Result<Self, PageError> {
        let calibrations =
            store::calibrations::of_instrument(db, instrument.id, None, MOST).await?;
        let latest = calibrations
            .iter()
            .find(|one| one.taken_back.is_none())
            .map(|one| one.id.0.to_string());
        Ok(Self {
            papers: store::documents::of_instrument(db, instrument.id).await?,
            calibrations,
            chrome,
            instrument,
            title: String::new(),
            calibration: latest.unwrap_or_default(),
            errors: Errors::none(),
        })
    }

    /// The calibrations to choose from, in words.
    fn choices(&self) -> Vec<(String, String)> {
        self.calibrations
            .iter()
            .map(|c| {
                let gone = c.taken_back.as_ref().map_or("", |_| ", taken back");
                let words = format!("{}, {}{gone}", show::date(&c.calibrated_on), c.reference);
                (c.id.0.to_string(), words)
            })
            .collect()
    }

    /// The papers of a calibration.
    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "templates hand on what they loop over by reference"
    )]
    fn of(&self, calibration: &CalibrationId) -> Vec<&Document> {
        self.papers
            .iter()
            .filter(|(of, _)| of == calibration)
            .map(|(_, document)| document)
            .collect()
    }
}

/// The page, or a paper by the mark of its content.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    let instrument = found(&app, &number).await?;
    let mut db = app.store().read().await?;
    if asked.mark.is_empty() {
        return answer::page(&Page::new(&mut db, chrome, instrument).await?);
    }
    let none = || PageError::NotFound("paper");
    let mark = unhex(&asked.mark)
        .filter(|mark| mark.len() == 32)
        .ok_or_else(none)?;
    let papers = store::documents::of_instrument(&mut db, instrument.id).await?;
    let (calibration, _) = papers
        .into_iter()
        .find(|(_, document)| document.mark.eq_ignore_ascii_case(&asked.mark))
        .ok_or_else(none)?;
    let (media_type, bytes) = store::documents::bytes(&mut db, Of::Calibration(calibration), &mark)
        .await?
        .ok_or_else(none)?;
    paper::kept("calibration-paper", &asked.mark, &media_type, bytes)
}

/// Adds a paper.
pub async fn add(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    form: Multipart,
) -> Answer {
    let uploaded = upload::read(&chrome.signed, form, MOST_BYTES).await?;
    let instrument = found(&app, &number).await?;
    let errors = match add_one(&app, &chrome, &uploaded, &instrument).await {
        Ok(to) => return Ok(see_other(&to)),
        Err(error) => form::refused(error)?,
    };
    let mut db = app.store().read().await?;
    let mut page = Page::new(&mut db, chrome, instrument).await?;
    let typed = |name: &str| uploaded.fields.get(name).cloned().unwrap_or_default();
    page.title = typed("title");
    page.calibration = typed("calibration");
    page.errors = errors;
    answer::refused(&page)
}

async fn add_one(
    app: &App,
    chrome: &Chrome,
    uploaded: &Uploaded,
    instrument: &Instrument,
) -> acts::Result<String> {
    if uploaded.too_large {
        let words = "A paper has at most 12 MB; this file is larger";
        return Err(Refusal::field("paper", words).into());
    }
    let typed = |name: &str| uploaded.fields.get(name).map_or("", String::as_str);
    let calibration = typed("calibration").parse().map(CalibrationId).ok();
    let known = {
        let mut db = app.store().read().await?;
        match calibration {
            Some(id) => store::calibrations::by_id(&mut db, id).await?,
            None => None,
        }
    };
    let (Some(calibration), Some(_)) = (calibration, known.filter(|(of, _)| *of == instrument.id))
    else {
        let words = "Choose the calibration it belongs to";
        return Err(Refusal::field("calibration", words).into());
    };
    let mut deed = chrome.deed(&uploaded.key).await?;
    acts::documents::add_to_calibration(&mut deed, calibration, typed("title"), &uploaded.bytes)
        .await?;
    let to = address::instrument_part(&instrument.number, "papers");
    deed.commit(&to).await?;
    Ok(to)
}
