//! Deeds done to instruments: taken in, corrected, calibrated, retired and brought back.
//! What relied on one is noted by the rebuild or the test that used it.

use serde_json::json;
use time::Date;

use super::{Deed, Result, mistake, recalls};
use crate::calc::calendar::add_months;
use crate::record::instrument::{self, Found, Instrument, Uncertainty};
use crate::record::{CalibrationId, InstrumentId, InstrumentNumber, RecallId, Refusal};
use crate::store::{self, calibrations::NewCalibration};

/// Takes an instrument in, without a calibration; its row and version are given by the register.
///
/// # Errors
/// Refuses a number that is taken, and a range, unit or resolution that does not fit.
pub async fn add(deed: &mut Deed, instrument: &Instrument) -> Result<InstrumentId> {
    sound(instrument)?;
    free(deed, &instrument.number, None).await?;
    let id = store::instruments::add(deed.db(), instrument).await?;
    deed.record(
        "took in",
        &subject(&instrument.number),
        None,
        json!({ "kind": instrument.kind, "range": instrument.range() }),
        &[("instrument", id.0)],
    )
    .await?;
    Ok(id)
}

/// Corrects what is known of an instrument, from the version that was read.
///
/// # Errors
/// Refuses when somebody changed it meanwhile, when the number is taken, and what does not fit.
pub async fn correct(deed: &mut Deed, instrument: &Instrument) -> Result<()> {
    let before = found(deed, instrument.id).await?;
    same(deed, &before, instrument.version).await?;
    sound(instrument)?;
    let changes = instrument::changes(&before, instrument);
    if changes.is_empty() {
        return Ok(());
    }
    free(deed, &instrument.number, Some(instrument.id)).await?;
    // Bench entries and papers name it by its number: another number would make them name another.
    if before.number != instrument.number && store::instruments::used(deed.db(), before.id).await? {
        let words = format!(
            "{} was relied on under this number, which stays; retire it and take in another",
            before.number
        );
        return Err(Refusal::field("number", words).into());
    }
    store::instruments::change(deed.db(), instrument).await?;
    deed.record(
        "corrected",
        &subject(&instrument.number),
        None,
        json!({ "changes": changes }),
        &[("instrument", instrument.id.0)],
    )
    .await
}

/// A calibration as its certificate states it.
#[derive(Debug, Clone)]
pub struct Calibrated {
    /// When it was done.
    pub calibrated_on: Date,
    /// Last day it covers.
    pub due_on: Date,
    /// The calibration certificate's reference.
    pub reference: String,
    /// What was found.
    pub found: Found,
    /// The uncertainty it states, if it states one.
    pub uncertainty: Option<Uncertainty>,
    /// Anything else.
    pub note: String,
    /// Whether somebody said that the certificate itself states days that are unusual.
    pub stated: bool,
}

/// Records a calibration. It is never changed: a later one supersedes it. One that found the
/// instrument out of tolerance opens a recall in the same deed: what relied on it is in doubt from
/// that moment on, not from when somebody thinks of it.
///
/// # Errors
/// Refuses a day to come, a cover that ends before it begins, a missing reference, and an
/// instrument that is out of use.
pub async fn calibrate(
    deed: &mut Deed,
    id: InstrumentId,
    calibrated: &Calibrated,
) -> Result<(CalibrationId, Option<RecallId>)> {
    let instrument = found(deed, id).await?;
    if instrument.retired {
        let words = format!(
            "{} is out of use; bring it back before it is calibrated",
            instrument.number
        );
        return Err(Refusal::not_now(words).into());
    }
    if calibrated.calibrated_on > deed.today() {
        return Err(Refusal::field("calibrated_on", "This day is still to come").into());
    }
    if calibrated.due_on <= calibrated.calibrated_on {
        let words = "The last day it covers comes after the day it was done";
        return Err(Refusal::field("due_on", words).into());
    }
    if !calibrated.stated
        && let Some(words) = unusual(&instrument, calibrated, deed.today())
    {
        return Err(Refusal::field("stated", words).into());
    }
    let reference = calibrated.reference.trim();
    if reference.is_empty() || reference.chars().count() > 80 {
        let words = "Write the reference of the calibration certificate, at most 80 characters";
        return Err(Refusal::field("reference", words).into());
    }
    if let Some(uncertainty) = &calibrated.uncertainty {
        let faults = uncertainty.faults(instrument.kind);
        if !faults.is_empty() {
            return Err(Refusal::Fields(faults).into());
        }
    }
    let new = NewCalibration {
        instrument: id,
        calibrated_on: calibrated.calibrated_on,
        due_on: calibrated.due_on,
        reference,
        found: calibrated.found,
        uncertainty: calibrated.uncertainty.as_ref(),
        note: calibrated.note.trim(),
    };
    let (person, now) = (deed.person()?, deed.now());
    let calibration = store::calibrations::add(deed.db(), &new, person, now).await?;
    deed.record(
        "calibrated",
        &subject(&instrument.number),
        None,
        json!({
            "reference": reference, "found": calibrated.found, "covers": calibrated.due_on.to_string(),
            "uncertainty": calibrated.uncertainty.as_ref().map(|u| u.shown(instrument.kind)),
        }),
        &[("calibration", calibration.0)],
    )
    .await?;
    let recall = match calibrated.found {
        Found::OutOfTolerance => Some(recalls::of_instrument(deed, calibration).await?),
        Found::WithinTolerance => None,
    };
    Ok((calibration, recall))
}

/// Takes a calibration back that was recorded by mistake, such as that of another instrument. It stays
/// readable, with who took it back and why; the one before it counts, and a recall that began on its day
/// is widened.
///
/// # Errors
/// Refuses a missing reason, a calibration of another instrument or taken back meanwhile, one that found
/// the instrument out of tolerance, and one that something relied on: those are a recall's affair.
pub async fn take_back_calibration(
    deed: &mut Deed,
    id: InstrumentId,
    calibration: CalibrationId,
    why: &str,
) -> Result<()> {
    let instrument = found(deed, id).await?;
    let why = mistake(why)?;
    let one = match store::calibrations::by_id(deed.db(), calibration).await? {
        Some((of, one)) if of == id => one,
        _ => return Err(Refusal::Missing("calibration").into()),
    };
    if one.found == Found::OutOfTolerance {
        let words = "It opened a recall; what is in doubt is decided there, and a calibration that finds it good ends the doubt";
        return Err(Refusal::not_now(words).into());
    }
    let last_used = store::instruments::last_used(deed.db(), id).await?;
    if last_used.is_some_and(|day| day >= one.calibrated_on) {
        let words = format!(
            "{} was relied on since that day; record what its calibration really found, and a recall decides what becomes of it",
            instrument.number
        );
        return Err(Refusal::not_now(words).into());
    }
    let (person, now) = (deed.person()?, deed.now());
    if !store::calibrations::take_back(deed.db(), calibration, why, person, now).await? {
        return Err(Refusal::not_now("This calibration was taken back meanwhile").into());
    }
    deed.record(
        "took back a calibration of",
        &subject(&instrument.number),
        None,
        json!({ "reference": one.reference, "calibrated on": one.calibrated_on.to_string(), "why": why }),
        &[("calibration", calibration.0)],
    )
    .await?;
    recalls::widened(deed, id, &one).await
}

/// Months a calibration usually covers where none before says otherwise; common practice, no source.
const USUAL_MONTHS: u32 = 12;

/// What is unusual about the days of a calibration: a cover of more than three times the usual one, or a
/// calibration of years ago. Both are mostly slips of the year.
fn unusual(instrument: &Instrument, new: &Calibrated, today: Date) -> Option<String> {
    let before = instrument.calibration.as_ref().map_or(USUAL_MONTHS, |c| {
        let months = (c.due_on - c.calibrated_on).whole_days() / 30;
        u32::try_from(months).unwrap_or(USUAL_MONTHS).clamp(1, 60)
    });
    let usual = before.max(USUAL_MONTHS);
    let most = add_months(new.calibrated_on, usual * 3).ok()?;
    if new.due_on > most {
        return Some(format!(
            "It would cover more than three times the usual {usual} months; check both years, and tick this only where the certificate states so"
        ));
    }
    let years = (today - new.calibrated_on).whole_days() / 365;
    (years >= 3).then(|| {
        format!("It was calibrated {years} years ago by this; check the year, and tick this only where the certificate states so")
    })
}

/// Takes an instrument out of use, or brings it back, from the version that was read.
///
/// # Errors
/// Refuses a missing reason, and when somebody changed it meanwhile.
pub async fn change_use(
    deed: &mut Deed,
    id: InstrumentId,
    version: i64,
    retire: bool,
    reason: &str,
) -> Result<()> {
    let instrument = found(deed, id).await?;
    same(deed, &instrument, version).await?;
    let reason = reason.trim();
    if !(3..=500).contains(&reason.chars().count()) {
        let words = "Say why in a few words; it stays in the history";
        return Err(Refusal::field("reason", words).into());
    }
    if instrument.retired == retire {
        return Ok(());
    }
    let at = retire.then(|| deed.now());
    store::instruments::change_use(deed.db(), id, at).await?;
    deed.record(
        if retire { "retired" } else { "brought back" },
        &subject(&instrument.number),
        None,
        json!({ "reason": reason }),
        &[("instrument", id.0)],
    )
    .await
}

/// How an instrument is named in the audit chain.
pub fn subject(number: &InstrumentNumber) -> String {
    format!("instrument {number}")
}

fn sound(instrument: &Instrument) -> Result<()> {
    let faults = instrument.faults();
    if faults.is_empty() {
        Ok(())
    } else {
        Err(Refusal::Fields(faults).into())
    }
}

async fn found(deed: &mut Deed, id: InstrumentId) -> Result<Instrument> {
    store::instruments::by_id(deed.db(), id)
        .await?
        .ok_or_else(|| Refusal::Missing("instrument").into())
}

async fn same(deed: &mut Deed, instrument: &Instrument, version: i64) -> Result<()> {
    if instrument.version == version {
        return Ok(());
    }
    let by = store::audit::last_hand(deed.db(), &subject(&instrument.number)).await?;
    Err(Refusal::Changed {
        what: format!("Instrument {}", instrument.number),
        by,
    }
    .into())
}

async fn free(deed: &mut Deed, number: &InstrumentNumber, but: Option<InstrumentId>) -> Result<()> {
    let taken = store::instruments::by_number(deed.db(), number.as_str())
        .await?
        .map(|other| other.id);
    if taken.is_some() && taken != but {
        let words = format!("Another instrument is {number} already");
        return Err(Refusal::field("number", words).into());
    }
    Ok(())
}
