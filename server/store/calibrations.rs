//! Calibrations of instruments: recorded once, taken back when recorded by mistake, never changed.
//! Which of them counts on a day is asked with the instrument.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::columns::Digits;
use super::instruments::uncertainty;
use crate::record::instrument::{Calibration, Found, Uncertainty};
use crate::record::{CalibrationId, InstrumentId, Moment, PersonId};

/// A calibration as its page lists it.
#[derive(Debug, Clone)]
pub struct CalibrationLine {
    /// The row.
    pub id: CalibrationId,
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
    /// How many papers are kept with it.
    pub papers: i64,
    /// Anything else.
    pub note: String,
    /// Who recorded it.
    pub person: String,
    /// When it was recorded.
    pub at: Moment,
    /// Who took it back as recorded by mistake, and why.
    pub taken_back: Option<(String, String)>,
}

/// An instrument's calibrations, the latest first, after one of them.
pub async fn of_instrument(
    db: &mut SqliteConnection,
    id: InstrumentId,
    before: Option<(Date, CalibrationId)>,
    most: i64,
) -> Result<Vec<CalibrationLine>> {
    let (before_on, before_id) = before.unzip();
    let rows = sqlx::query!(
        r#"SELECT c.id AS "id!", c.calibrated_on, c.due_on, c.reference, c.found, c.uncertainty, c.uncertainty_unit, c.coverage,
             (SELECT count(*) FROM calibration_document d WHERE d.calibration_id = c.id) AS "papers!: i64", c.note,
             p.name AS "person!: String", c.at, b.name AS "taken_back_by?: String", c.taken_back_why
         FROM calibration c JOIN known_as p ON p.person_id = c.person_id AND p.since <= c.at AND p.until > c.at
           LEFT JOIN known_as b ON b.person_id = c.taken_back_by AND b.since <= c.taken_back_at AND b.until > c.taken_back_at
         WHERE c.instrument_id = ?1 AND (c.calibrated_on, c.id) < (coalesce(?2, '9999'), coalesce(?3, 0))
         ORDER BY c.calibrated_on DESC, c.id DESC LIMIT ?4"#,
        id,
        before_on,
        before_id,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| CalibrationLine {
            id: row.id,
            calibrated_on: row.calibrated_on,
            due_on: row.due_on,
            reference: row.reference,
            found: row.found,
            uncertainty: uncertainty!(row),
            papers: row.papers,
            note: row.note,
            person: row.person,
            at: row.at,
            taken_back: row.taken_back_by.zip(row.taken_back_why),
        })
        .collect())
}

/// A calibration by its row.
pub async fn by_id(
    db: &mut SqliteConnection,
    id: CalibrationId,
) -> Result<Option<(InstrumentId, Calibration)>> {
    let row = sqlx::query!(
        "SELECT id, instrument_id, calibrated_on, due_on, reference, found, uncertainty, uncertainty_unit, coverage
         FROM calibration WHERE id = ?1",
        id
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| {
        let calibration = Calibration {
            id: row.id,
            calibrated_on: row.calibrated_on,
            due_on: row.due_on,
            reference: row.reference,
            found: row.found,
            uncertainty: uncertainty!(row),
        };
        (row.instrument_id, calibration)
    }))
}

/// Takes a calibration back that was recorded by mistake; false if it was taken back already.
pub async fn take_back(
    db: &mut SqliteConnection,
    id: CalibrationId,
    why: &str,
    person: PersonId,
    now: Moment,
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE calibration SET taken_back_at = ?2, taken_back_by = ?3, taken_back_why = ?4
         WHERE id = ?1 AND taken_back_at IS NULL",
        id,
        now,
        person,
        why
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// The day of the last calibration before one that found the instrument within tolerance.
pub async fn last_sound_before(
    db: &mut SqliteConnection,
    id: InstrumentId,
    before: (Date, CalibrationId),
) -> Result<Option<Date>> {
    let (on, calibration) = before;
    Ok(sqlx::query_scalar!(
        "SELECT calibrated_on FROM calibration WHERE instrument_id = ?1 AND (calibrated_on, id) < (?2, ?3)
           AND found = 'within-tolerance' AND taken_back_at IS NULL ORDER BY calibrated_on DESC, id DESC LIMIT 1",
        id,
        on,
        calibration
    )
    .fetch_optional(db)
    .await?)
}

/// A calibration about to be recorded.
#[derive(Debug, Clone)]
pub struct NewCalibration<'a> {
    /// The instrument.
    pub instrument: InstrumentId,
    /// When it was done.
    pub calibrated_on: Date,
    /// Last day it covers.
    pub due_on: Date,
    /// The calibration certificate's reference.
    pub reference: &'a str,
    /// What was found.
    pub found: Found,
    /// The uncertainty it states, if it states one.
    pub uncertainty: Option<&'a Uncertainty>,
    /// Anything else.
    pub note: &'a str,
}

/// Records a calibration.
pub async fn add(
    db: &mut SqliteConnection,
    c: &NewCalibration<'_>,
    person: PersonId,
    now: Moment,
) -> Result<CalibrationId> {
    let (value, unit, coverage) = c.uncertainty.map_or((None, None, None), |u| {
        (
            Some(Digits(u.value)),
            Some(&u.unit),
            Some(Digits(u.coverage)),
        )
    });
    let id = sqlx::query!(
        "INSERT INTO calibration (instrument_id, calibrated_on, due_on, reference, found, note, person_id, at,
           uncertainty, uncertainty_unit, coverage)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11)",
        c.instrument,
        c.calibrated_on,
        c.due_on,
        c.reference,
        c.found,
        c.note,
        person,
        now,
        value,
        unit,
        coverage
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(CalibrationId(id))
}
