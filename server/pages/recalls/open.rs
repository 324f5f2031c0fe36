//! Opening a recall of a lot with the reason; or of an instrument whose calibration found it out of
//! tolerance before recalls were kept. A new calibration opens its recall by itself.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use sqlx::SqliteConnection;

use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address};
use crate::record::instrument::Found;
use crate::record::kit::Lot;
use crate::record::{CalibrationId, InstrumentNumber, Refusal};
use crate::store;

/// What is to be recalled, as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    kit: String,
    lot: String,
    instrument: String,
}

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    reason: String,
}

enum What {
    Lot(Box<Lot>),
    Instrument(InstrumentNumber, CalibrationId, String),
}

#[derive(Template)]
#[template(path = "recalls/open.html")]
struct Page {
    chrome: Chrome,
    what: What,
    typed: Typed,
    errors: Errors,
}

impl Page {
    /// Where to go when nothing is to be recalled.
    fn back(&self) -> String {
        match &self.what {
            What::Lot(lot) => address::lot(&lot.kit, &lot.number),
            What::Instrument(number, ..) => address::instrument(number),
        }
    }
}

async fn found(db: &mut SqliteConnection, asked: &Asked) -> Result<What, PageError> {
    if asked.instrument.is_empty() && asked.lot.is_empty() {
        // Nothing to recall is named: it is chosen from the storeroom or the instruments.
        return Err(PageError::SeeOther(address::RECALLS.to_owned()));
    }
    if asked.instrument.is_empty() {
        let lot = store::kits::lot_by_number(db, &asked.kit, &asked.lot)
            .await?
            .ok_or(PageError::NotFound("lot"))?;
        return Ok(What::Lot(Box::new(lot)));
    }
    let instrument = store::instruments::by_number(db, &asked.instrument)
        .await?
        .ok_or(PageError::NotFound("instrument"))?;
    match instrument.calibration {
        Some(c) if c.found == Found::OutOfTolerance => {
            Ok(What::Instrument(instrument.number, c.id, c.reference))
        }
        _ => Err(PageError::Refused(Refusal::not_now(format!(
            "{} is not out of tolerance; record the calibration that found it so",
            instrument.number
        )))),
    }
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let what = found(&mut db, &asked).await?;
    answer::page(&Page {
        chrome,
        what,
        typed: Typed::default(),
        errors: Errors::none(),
    })
}

/// Opens the recall.
pub async fn open(
    State(app): State<App>,
    chrome: Chrome,
    Query(asked): Query<Asked>,
    posted: Posted<Typed>,
) -> Answer {
    let what = {
        let mut db = app.store().read().await?;
        found(&mut db, &asked).await?
    };
    match open_one(&chrome, &posted, &what).await {
        Ok(to) => Ok(see_other(&to)),
        Err(error) => answer::refused(&Page {
            errors: form::refused(error)?,
            chrome,
            what,
            typed: posted.form,
        }),
    }
}

async fn open_one(chrome: &Chrome, posted: &Posted<Typed>, what: &What) -> acts::Result<String> {
    let mut deed = chrome.deed(&posted.key).await?;
    let to = match what {
        What::Lot(lot) => {
            address::recall(acts::recalls::of_lot(&mut deed, lot.id, &posted.form.reason).await?)
        }
        What::Instrument(_, by, _) => {
            address::recall(acts::recalls::of_instrument(&mut deed, *by).await?)
        }
    };
    deed.commit(&to).await?;
    Ok(to)
}
