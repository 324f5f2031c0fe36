//! Taking a calibration back that was recorded by mistake, with the reason. It stays on record and covers
//! nothing; once something relied on it, a recall decides.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use super::found;
use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address, show};
use crate::record::CalibrationId;
use crate::record::instrument::{Calibration, Instrument};
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    why: String,
}

#[derive(Template)]
#[template(path = "instruments/mistake.html")]
struct Page {
    chrome: Chrome,
    instrument: Instrument,
    calibration: Calibration,
    typed: Typed,
    errors: Errors,
}

async fn page(
    app: &App,
    chrome: Chrome,
    (number, calibration): (&str, i64),
    typed: Typed,
    errors: Errors,
) -> Result<Page, PageError> {
    let instrument = found(app, number).await?;
    let mut db = app.store().read().await?;
    let calibration = store::calibrations::by_id(&mut db, CalibrationId(calibration))
        .await?
        .filter(|(of, _)| *of == instrument.id)
        .map(|(_, calibration)| calibration)
        .ok_or(PageError::NotFound("calibration"))?;
    Ok(Page {
        chrome,
        instrument,
        calibration,
        typed,
        errors,
    })
}

/// The form.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((number, calibration)): Path<(String, i64)>,
) -> Answer {
    let at = (number.as_str(), calibration);
    answer::page(&page(&app, chrome, at, Typed::default(), Errors::none()).await?)
}

/// Takes it back.
pub async fn take_back(
    State(app): State<App>,
    chrome: Chrome,
    Path((number, calibration)): Path<(String, i64)>,
    posted: Posted<Typed>,
) -> Answer {
    let instrument = found(&app, &number).await?;
    let done = async {
        let mut deed = chrome.deed(&posted.key).await?;
        let (id, why) = (CalibrationId(calibration), posted.form.why.as_str());
        acts::instruments::take_back_calibration(&mut deed, instrument.id, id, why).await?;
        let to = address::instrument(&instrument.number);
        deed.commit(&to).await?;
        Ok(to)
    };
    match done.await {
        Ok(to) => Ok(see_other(&to)),
        Err(error) => {
            let errors = form::refused(error)?;
            let at = (number.as_str(), calibration);
            answer::refused(&page(&app, chrome, at, posted.form, errors).await?)
        }
    }
}
