//! Taking an instrument in and correcting one: number, kind, range as marked, unit, resolution.
//! A second saver sees what the first one changed and loses nothing of what they typed.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use super::found;
use crate::acts;
use crate::calc::quantity::{TorqueUnit, Unit};
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address};
use crate::record::InstrumentId;
use crate::record::instrument::{Instrument, InstrumentKind};
use crate::record::person::Reads;

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    number: String,
    kind: String,
    description: String,
    range_low: String,
    range_high: String,
    unit: String,
    resolution: String,
    cycle_limit: String,
    version: i64,
}

#[derive(Template)]
#[template(path = "instruments/edit.html")]
struct Page {
    chrome: Chrome,
    typed: Typed,
    errors: Errors,
    /// The instrument being corrected; none when one is taken in.
    instrument: Option<Instrument>,
}

impl Page {
    fn kinds() -> Vec<(String, String)> {
        InstrumentKind::ALL
            .iter()
            .map(|kind| (kind.word().to_owned(), kind.shown().to_owned()))
            .collect()
    }

    /// Every unit an instrument may read in, those of the chosen kind first.
    fn units(&self) -> Vec<(String, String)> {
        let chosen = self.typed.kind.parse().ok();
        let mut list: Vec<(String, String)> = Vec::new();
        for kind in chosen.iter().chain(InstrumentKind::ALL) {
            for (code, symbol) in kind.units() {
                if !list.iter().any(|(known, _)| known == code) {
                    list.push((code.to_owned(), format!("{symbol}, {}", kind.measures())));
                }
            }
        }
        list
    }
}

fn blank(reads: Reads) -> Typed {
    Typed {
        kind: InstrumentKind::TorqueWrench.word().to_owned(),
        unit: reads.unit(TorqueUnit::FootPound).ucum().to_owned(),
        ..Typed::default()
    }
}

fn typed_of(i: &Instrument) -> Typed {
    Typed {
        number: i.number.to_string(),
        kind: i.kind.word().to_owned(),
        description: i.description.clone(),
        range_low: i.range_low.to_string(),
        range_high: i.range_high.to_string(),
        unit: i.unit.clone(),
        resolution: i.resolution.map_or_else(String::new, |r| r.to_string()),
        cycle_limit: i.cycle_limit.map_or_else(String::new, |n| n.to_string()),
        version: i.version,
    }
}

fn parsed(t: &Typed, id: InstrumentId) -> Result<Instrument, Errors> {
    let mut read = Reader::new();
    let number = read.parse("number", &t.number);
    let kind: Option<InstrumentKind> = read.parse("kind", &t.kind);
    let description = read.text("description", &t.description, 120);
    let range_low = read.decimal("range_low", &t.range_low);
    let range_high = read.decimal("range_high", &t.range_high);
    let step = t.resolution.trim();
    let resolution = (!step.is_empty())
        .then(|| read.decimal("resolution", step))
        .flatten();
    let cycle_limit = match t.cycle_limit.trim() {
        "" => Some(None),
        text => read
            .needed_whole("cycle_limit", text, 1..=1_000_000)
            .map(Some),
    };
    let whole = (|| {
        Some(Instrument {
            id,
            number: number?,
            kind: kind?,
            description,
            range_low: range_low?,
            range_high: range_high?,
            unit: t.unit.clone(),
            resolution,
            cycle_limit: cycle_limit?,
            retired: false,
            calibration: None,
            version: t.version,
        })
    })();
    // What does not fit together is said at once, beside what cannot be read.
    for fault in whole.iter().flat_map(Instrument::faults) {
        read.refuse(&fault.field, fault.message);
    }
    read.finish(whole)
}

/// The empty form.
pub async fn new(chrome: Chrome) -> Answer {
    answer::page(&Page {
        typed: blank(chrome.reads()),
        chrome,
        errors: Errors::none(),
        instrument: None,
    })
}

/// Takes the instrument in.
pub async fn add(chrome: Chrome, posted: Posted<Typed>) -> Answer {
    let done = match parsed(&posted.form, InstrumentId(0)) {
        Ok(instrument) => add_one(&chrome, &posted.key, &instrument)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => answer::refused(&Page {
            chrome,
            typed: posted.form,
            errors: errors?,
            instrument: None,
        }),
    }
}

async fn add_one(chrome: &Chrome, key: &str, instrument: &Instrument) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::instruments::add(&mut deed, instrument).await?;
    let to = address::instrument(&instrument.number);
    deed.commit(&to).await?;
    Ok(to)
}

/// The form with what is known.
pub async fn edit(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    let instrument = found(&app, &number).await?;
    answer::page(&Page {
        chrome,
        typed: typed_of(&instrument),
        errors: Errors::none(),
        instrument: Some(instrument),
    })
}

/// Corrects the instrument.
pub async fn correct(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let instrument = found(&app, &number).await?;
    let done = match parsed(&posted.form, instrument.id) {
        Ok(corrected) => correct_one(&chrome, &posted.key, &corrected)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => answer::refused(&Page {
            chrome,
            typed: posted.form,
            errors: errors?,
            instrument: Some(instrument),
        }),
    }
}

async fn correct_one(chrome: &Chrome, key: &str, instrument: &Instrument) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::instruments::correct(&mut deed, instrument).await?;
    let to = address::instrument(&instrument.number);
    deed.commit(&to).await?;
    Ok(to)
}
