//! Instruments with their latest calibration, and what relied on them.
//! Whether one may be used on a day is decided in `record::instrument`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::columns::Digits;
use crate::record::instrument::{Calibration, Found, Instrument, InstrumentKind};
use crate::record::{CalibrationId, InstrumentId, Moment, PersonId, RebuildId, TestId};

async fn latest_calibration(
    db: &mut SqliteConnection,
    id: InstrumentId,
) -> Result<Option<Calibration>> {
    Ok(sqlx::query_as!(
        Calibration,
        "SELECT id, calibrated_on, due_on, reference, found FROM calibration WHERE instrument_id = ?1
         ORDER BY calibrated_on DESC, id DESC LIMIT 1",
        id
    )
    .fetch_optional(db)
    .await?)
}

macro_rules! instrument {
    ($db:expr, $row:expr) => {{
        let row = $row;
        Instrument {
            calibration: latest_calibration($db, row.id).await?,
            id: row.id,
            number: row.number,
            kind: row.kind,
            description: row.description,
            range_low: row.range_low.0,
            range_high: row.range_high.0,
            unit: row.unit,
            resolution: row.resolution.map(|d| d.0),
            retired: row.retired_at.is_some(),
            version: row.version,
        }
    }};
}

/// The instrument of that number.
pub async fn by_number(db: &mut SqliteConnection, number: &str) -> Result<Option<Instrument>> {
    let row = sqlx::query!(
        "SELECT id, number, kind, description, range_low, range_high, unit, resolution, retired_at, version
         FROM instrument WHERE number = ?1",
        number
    )
    .fetch_optional(&mut *db)
    .await?;
    Ok(match row {
        Some(row) => Some(instrument!(db, row)),
        None => None,
    })
}

/// An instrument by its row.
pub async fn by_id(db: &mut SqliteConnection, id: InstrumentId) -> Result<Option<Instrument>> {
    let number = sqlx::query_scalar!("SELECT number FROM instrument WHERE id = ?1", id)
        .fetch_optional(&mut *db)
        .await?;
    match number {
        Some(number) => by_number(db, number.as_str()).await,
        None => Ok(None),
    }
}

/// Instruments in use of one kind, by number.
pub async fn of_kind(db: &mut SqliteConnection, kind: InstrumentKind) -> Result<Vec<Instrument>> {
    let rows = sqlx::query!(
        "SELECT id, number, kind, description, range_low, range_high, unit, resolution, retired_at, version
         FROM instrument WHERE kind = ?1 AND retired_at IS NULL ORDER BY number LIMIT 500",
        kind
    )
    .fetch_all(&mut *db)
    .await?;
    let mut list = Vec::with_capacity(rows.len());
    for row in rows {
        list.push(instrument!(db, row));
    }
    Ok(list)
}

/// Adds an instrument without a calibration.
pub async fn add(db: &mut SqliteConnection, i: &Instrument) -> Result<InstrumentId> {
    let (low, high, resolution) = (
        Digits(i.range_low),
        Digits(i.range_high),
        i.resolution.map(Digits),
    );
    let id = sqlx::query!(
        "INSERT INTO instrument (number, kind, description, range_low, range_high, unit, resolution) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        i.number,
        i.kind,
        i.description,
        low,
        high,
        i.unit,
        resolution
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(InstrumentId(id))
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
    /// Anything else.
    pub note: &'a str,
}

/// Records a calibration.
pub async fn add_calibration(
    db: &mut SqliteConnection,
    c: &NewCalibration<'_>,
    person: PersonId,
    now: Moment,
) -> Result<CalibrationId> {
    let id = sqlx::query!(
        "INSERT INTO calibration (instrument_id, calibrated_on, due_on, reference, found, note, person_id, at)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        c.instrument,
        c.calibrated_on,
        c.due_on,
        c.reference,
        c.found,
        c.note,
        person,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(CalibrationId(id))
}

/// Notes that a rebuild or a test relied on an instrument; returns the row.
pub async fn note_use(
    db: &mut SqliteConnection,
    instrument: InstrumentId,
    rebuild: Option<RebuildId>,
    test: Option<TestId>,
    used_on: Date,
) -> Result<i64> {
    Ok(sqlx::query!(
        "INSERT INTO instrument_use (instrument_id, rebuild_id, test_id, used_on) VALUES (?1, ?2, ?3, ?4)",
        instrument,
        rebuild,
        test,
        used_on
    )
    .execute(db)
    .await?
    .last_insert_rowid())
}
