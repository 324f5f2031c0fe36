//! Recording a calibration from its certificate. It is never changed afterwards; the latest counts.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;
use time::Date;

use super::found;
use crate::acts;
use crate::acts::instruments::Calibrated;
use crate::calc::calendar::add_months;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::instrument::{Found, Instrument, Uncertainty};

/// Months a calibration covers when none before says otherwise.
const USUAL_MONTHS: u32 = 12;

/// The coverage factor most certificates state: about 95 % of a normal distribution (JCGM 100:2008, 6.3.3).
const USUAL_COVERAGE: &str = "2";

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    calibrated_on: String,
    due_on: String,
    reference: String,
    found: String,
    uncertainty: String,
    uncertainty_unit: String,
    coverage: String,
    note: String,
    stated: String,
}

#[derive(Template)]
#[template(path = "instruments/calibrate.html")]
struct Page {
    chrome: Chrome,
    instrument: Instrument,
    typed: Typed,
    errors: Errors,
}

impl Page {
    /// The units of its uncertainty, its own first.
    fn units(&self) -> Vec<(String, String)> {
        let mut list = Uncertainty::units(self.instrument.kind);
        list.sort_by_key(|(code, _)| *code != self.instrument.unit);
        list.into_iter()
            .map(|(code, shown)| (code.to_owned(), shown.to_owned()))
            .collect()
    }

    fn findings() -> Vec<(String, String)> {
        std::iter::once((String::new(), "choose".to_owned()))
            .chain(
                Found::ALL
                    .iter()
                    .map(|found| (found.word().to_owned(), found.shown().to_owned())),
            )
            .collect()
    }
}

/// The form as it opens: done today, covering as long as the calibration before did.
fn begun(instrument: &Instrument, today: Date) -> Typed {
    let months = instrument.calibration.as_ref().map_or(USUAL_MONTHS, |c| {
        let days = (c.due_on - c.calibrated_on).whole_days();
        u32::try_from((days + 15) / 30).map_or(USUAL_MONTHS, |months| months.max(1))
    });
    Typed {
        calibrated_on: show::plain_date(&today),
        due_on: add_months(today, months)
            .map_or_else(|_| String::new(), |day| show::plain_date(&day)),
        coverage: USUAL_COVERAGE.to_owned(),
        ..Typed::default()
    }
}

fn parsed(t: &Typed) -> Result<Calibrated, Errors> {
    let mut read = Reader::new();
    let calibrated_on = read.needed_date("calibrated_on", &t.calibrated_on);
    let due_on = read.needed_date("due_on", &t.due_on);
    let reference = read.needed(
        "reference",
        &t.reference,
        80,
        "Write the reference of the calibration certificate, at most 80 characters",
    );
    let found = read.take(
        "found",
        t.found
            .parse()
            .map_err(|_: String| "Choose what the calibration found"),
    );
    let note = read.text("note", &t.note, 500);
    let uncertainty = stated(&mut read, t);
    let whole = (|| {
        Some(Calibrated {
            calibrated_on: calibrated_on?,
            due_on: due_on?,
            reference: reference?,
            found: found?,
            uncertainty: uncertainty?,
            note,
            stated: !t.stated.is_empty(),
        })
    })();
    read.finish(whole)
}

/// The uncertainty as the certificate states it; nothing where the field was left empty.
#[expect(
    clippy::option_option,
    reason = "the outer one tells a refused field, the inner one a field left empty"
)]
fn stated(read: &mut Reader, t: &Typed) -> Option<Option<Uncertainty>> {
    if t.uncertainty.trim().is_empty() {
        return Some(None);
    }
    let value = read.decimal("uncertainty", &t.uncertainty);
    let coverage = read.decimal("coverage", &t.coverage);
    Some(Some(Uncertainty {
        value: value?,
        unit: t.uncertainty_unit.clone(),
        coverage: coverage?,
    }))
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    let instrument = found(&app, &number).await?;
    answer::page(&Page {
        typed: begun(&instrument, chrome.today),
        chrome,
        instrument,
        errors: Errors::none(),
    })
}

/// Records the calibration.
pub async fn calibrate(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let instrument = found(&app, &number).await?;
    let done = match parsed(&posted.form) {
        Ok(calibrated) => calibrate_one(&chrome, &posted.key, &instrument, &calibrated)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => answer::refused(&Page {
            chrome,
            instrument,
            typed: posted.form,
            errors: errors?,
        }),
    }
}

async fn calibrate_one(
    chrome: &Chrome,
    key: &str,
    instrument: &Instrument,
    calibrated: &Calibrated,
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    let (_, recall) = acts::instruments::calibrate(&mut deed, instrument.id, calibrated).await?;
    let to = recall.map_or_else(|| address::instrument(&instrument.number), address::recall);
    deed.commit(&to).await?;
    Ok(to)
}
