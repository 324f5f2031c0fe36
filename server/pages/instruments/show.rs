//! One instrument: whether it may be relied on today, every calibration, and what relied on it.
//! After a calibration that found it out of tolerance, what is in doubt is named.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;
use sqlx::SqliteConnection;
use time::Date;

use super::why_not;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, form, show};
use crate::record::instrument::{Cycles, Found, Instrument};
use crate::record::person::Role;
use crate::record::recall::Recall;
use crate::record::{CalibrationId, RecallId};
use crate::store;
use crate::store::calibrations::CalibrationLine;
use crate::store::certificates::MadeWith;
use crate::store::instruments::UseLine;
use crate::store::recalls::Of;

/// Lines of each list on a page.
const PAGE: usize = 20;
/// Where the two lists of the page go on.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    calibrations: String,
    uses: String,
}

/// What relied on an instrument from its last sound calibration on, after one that was not.
struct Doubt {
    since: Option<Date>,
    found_on: Date,
    /// The recall that lists it and how much it lists; none where none was opened.
    recall: Option<(RecallId, i64)>,
}

#[derive(Template)]
#[template(path = "instruments/show.html")]
struct Page {
    chrome: Chrome,
    instrument: Instrument,
    why_not: Option<String>,
    /// Loadings since its calibration, of a torque wrench.
    loadings: Option<Cycles>,
    doubt: Option<Doubt>,
    /// Certificates in question that were made with it.
    questioned: Vec<MadeWith>,
    recalls: Vec<Recall>,
    calibrations: Vec<CalibrationLine>,
    more_calibrations: Option<String>,
    uses: Vec<UseLine>,
    more_uses: Option<String>,
    /// The page as it begins, where one of its lists goes on.
    newest: Option<String>,
    last_used: Option<Date>,
}

impl Page {
    /// Whether this calibration may be taken back: it found the instrument good, and nothing has relied on
    /// the instrument since.
    fn may_go(&self, one: &CalibrationLine) -> bool {
        one.found == Found::WithinTolerance
            && one.taken_back.is_none()
            && self.last_used.is_none_or(|day| day < one.calibrated_on)
    }
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    let mut db = app.store().read().await?;
    let instrument = store::instruments::by_number(&mut db, &number)
        .await?
        .ok_or(PageError::NotFound("instrument"))?;
    let here = address::instrument(&instrument.number);
    let most = i64::try_from(PAGE + 1).unwrap_or(21);

    let before = key(&asked.calibrations).map(|(on, id)| (on, CalibrationId(id)));
    let mut calibrations =
        store::calibrations::of_instrument(&mut db, instrument.id, before, most).await?;
    let more = calibrations.len() > PAGE;
    calibrations.truncate(PAGE);
    let more_calibrations = calibrations.last().filter(|_| more).map(|last| {
        let before = format!("{}_{}", last.calibrated_on, last.id.0);
        address::with_query(&here, &[("calibrations", before)])
    });

    let mut uses = store::instruments::uses(&mut db, instrument.id, key(&asked.uses), most).await?;
    let more = uses.len() > PAGE;
    uses.truncate(PAGE);
    let more_uses = uses.last().filter(|_| more).map(|last| {
        let before = format!("{}_{}", last.used_on, last.id);
        address::with_query(&here, &[("uses", before)])
    });
    let recalls = store::recalls::of(&mut db, Of::Instrument(instrument.id)).await?;
    let doubt = doubt(&mut db, &instrument, &recalls).await?;
    let questioned = store::certificates::questioned_with(&mut db, &[instrument.id]).await?;
    let made = store::instruments::loadings(&mut db, &[instrument.id]).await?;
    let made = made.get(&instrument.id).copied().unwrap_or(0);
    let last_used = store::instruments::last_used(&mut db, instrument.id).await?;
    let on = !asked.calibrations.is_empty() || !asked.uses.is_empty();
    answer::page(&Page {
        newest: on.then_some(here),
        last_used,
        why_not: why_not(&instrument, made, chrome.today),
        loadings: instrument.cycles(made),
        chrome,
        instrument,
        doubt,
        questioned,
        recalls,
        calibrations,
        more_calibrations,
        uses,
        more_uses,
    })
}

/// What the latest calibration puts in doubt, if it found the instrument out of tolerance.
async fn doubt(
    db: &mut SqliteConnection,
    instrument: &Instrument,
    recalls: &[Recall],
) -> Result<Option<Doubt>, PageError> {
    let latest = instrument.calibration.as_ref();
    let Some(bad) = latest.filter(|c| c.found == Found::OutOfTolerance) else {
        return Ok(None);
    };
    let key = (bad.calibrated_on, bad.id);
    let since = store::calibrations::last_sound_before(db, instrument.id, key).await?;
    let recall = match recalls.iter().find(|r| r.until == bad.calibrated_on) {
        Some(opened) => {
            let of = Of::Instrument(instrument.id);
            let counted = store::recalls::count_relying(db, opened.id, of).await?;
            Some((opened.id, counted.all))
        }
        None => None,
    };
    Ok(Some(Doubt {
        since,
        found_on: bad.calibrated_on,
        recall,
    }))
}

fn key(text: &str) -> Option<(Date, i64)> {
    let (date, id) = text.split_once('_')?;
    Some((form::read_date(date)?, id.parse().ok()?))
}
