//! Instruments with their latest calibration, and what relied on them.
//! Whether one may be used on a day is decided in `record::instrument`.

use std::collections::HashMap;

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::columns::Digits;
use crate::record::instrument::{Calibration, Found, Instrument, InstrumentKind, Uncertainty};
use crate::record::pressure_test::TestResult;
use crate::record::rebuild::RebuildState;
use crate::record::{
    CalibrationId, InstrumentId, Moment, RebuildId, TagNumber, TestId, TestNumber,
};

/// One statement with the instrument's columns, its latest calibration beside them, and an ending.
macro_rules! instruments {
    ($ending:literal $(, $value:expr)*) => {
        sqlx::query!(
            r#"SELECT i.id AS "id!", i.number AS "number!", i.kind AS "kind!", i.description, i.range_low, i.range_high, i.unit,
                 i.resolution, i.cycle_limit, i.retired_at, i.version, c.id AS "calibration?: CalibrationId",
                 c.calibrated_on AS "calibrated_on?: Date", c.due_on AS "due_on?: Date", c.reference AS "reference?: String",
                 c.found AS "found?: Found", c.uncertainty, c.uncertainty_unit, c.coverage
               FROM instrument i LEFT JOIN calibration c ON c.id = (SELECT latest.id FROM calibration latest
                 WHERE latest.instrument_id = i.id AND latest.taken_back_at IS NULL ORDER BY latest.calibrated_on DESC, latest.id DESC LIMIT 1) "#
                + $ending
            $(, $value)*
        )
    };
}

/// What a certificate states of the uncertainty, where it does.
macro_rules! uncertainty {
    ($row:ident) => {
        match ($row.uncertainty, $row.uncertainty_unit, $row.coverage) {
            (Some(value), Some(unit), Some(coverage)) => Some(Uncertainty {
                value: value.0,
                unit,
                coverage: coverage.0,
            }),
            _ => None,
        }
    };
}

pub(super) use uncertainty;

macro_rules! instrument {
    ($row:expr) => {{
        let row = $row;
        let calibration = match (
            row.calibration,
            row.calibrated_on,
            row.due_on,
            row.reference,
            row.found,
        ) {
            (Some(id), Some(calibrated_on), Some(due_on), Some(reference), Some(found)) => {
                Some(Calibration {
                    id,
                    calibrated_on,
                    due_on,
                    reference,
                    found,
                    uncertainty: uncertainty!(row),
                })
            }
            _ => None,
        };
        Instrument {
            calibration,
            id: row.id,
            number: row.number,
            kind: row.kind,
            description: row.description,
            range_low: row.range_low.0,
            range_high: row.range_high.0,
            unit: row.unit,
            resolution: row.resolution.map(|d| d.0),
            cycle_limit: row.cycle_limit,
            retired: row.retired_at.is_some(),
            version: row.version,
        }
    }};
}

/// The instrument of that number.
pub async fn by_number(db: &mut SqliteConnection, number: &str) -> Result<Option<Instrument>> {
    let row = instruments!("WHERE i.number = ?1", number)
        .fetch_optional(db)
        .await?;
    Ok(row.map(|row| instrument!(row)))
}

/// An instrument by its row.
pub async fn by_id(db: &mut SqliteConnection, id: InstrumentId) -> Result<Option<Instrument>> {
    let row = instruments!("WHERE i.id = ?1", id)
        .fetch_optional(db)
        .await?;
    Ok(row.map(|row| instrument!(row)))
}

/// An instrument with the calibration that counted on a day: the latest one made up to then.
pub async fn on_day(
    db: &mut SqliteConnection,
    number: &str,
    day: Date,
) -> Result<Option<Instrument>> {
    let Some(mut instrument) = by_number(&mut *db, number).await? else {
        return Ok(None);
    };
    let row = sqlx::query!(
        "SELECT id, calibrated_on, due_on, reference, found, uncertainty, uncertainty_unit, coverage FROM calibration
         WHERE instrument_id = ?1 AND calibrated_on <= ?2 AND taken_back_at IS NULL ORDER BY calibrated_on DESC, id DESC LIMIT 1",
        instrument.id,
        day
    )
    .fetch_optional(db)
    .await?;
    instrument.calibration = row.map(|row| Calibration {
        id: row.id,
        calibrated_on: row.calibrated_on,
        due_on: row.due_on,
        reference: row.reference,
        found: row.found,
        uncertainty: uncertainty!(row),
    });
    Ok(Some(instrument))
}

/// An instrument as it stood at a moment of that day: retired only if it was retired by then.
pub async fn as_of(
    db: &mut SqliteConnection,
    number: &str,
    (at, day): (Moment, Date),
) -> Result<Option<Instrument>> {
    let Some(mut instrument) = on_day(&mut *db, number, day).await? else {
        return Ok(None);
    };
    instrument.retired = sqlx::query_scalar!(
        r#"SELECT retired_at <= ?2 AS "retired?: bool" FROM instrument WHERE id = ?1"#,
        instrument.id,
        at
    )
    .fetch_one(db)
    .await?
    .unwrap_or(false);
    Ok(Some(instrument))
}

/// Instruments in use of one kind, by number.
pub async fn of_kind(db: &mut SqliteConnection, kind: InstrumentKind) -> Result<Vec<Instrument>> {
    of_kinds(db, &[kind]).await
}

/// Instruments in use of some kinds, by number.
pub async fn of_kinds(
    db: &mut SqliteConnection,
    kinds: &[InstrumentKind],
) -> Result<Vec<Instrument>> {
    let kinds = serde_json::to_string(kinds)?;
    let rows = instruments!(
        "WHERE i.kind IN (SELECT value FROM json_each(?1)) AND i.retired_at IS NULL ORDER BY i.number LIMIT 500",
        kinds
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| instrument!(row)).collect())
}

/// Instruments in use of one kind whose latest calibration lasts to a day, at most so many of those it lasts
/// longest for, by number.
pub async fn covered_on(
    db: &mut SqliteConnection,
    kind: InstrumentKind,
    day: Date,
    most: i64,
) -> Result<Vec<Instrument>> {
    let rows = instruments!(
        "WHERE i.id IN (SELECT k.instrument_id FROM calibration_cover k INDEXED BY calibration_cover_kind
             WHERE k.kind = ?1 AND k.until_on >= ?2 ORDER BY k.until_on DESC, k.instrument_id DESC LIMIT ?3)
           AND i.retired_at IS NULL ORDER BY i.number",
        kind,
        day,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| instrument!(row)).collect())
}

/// Where a page of the list by next calibration begins: the cover and the row of the line before.
pub type After = (String, InstrumentId);

/// Instruments in use whose calibration is due next: those that nothing covers come first.
pub async fn by_next_calibration(
    db: &mut SqliteConnection,
    kind: Option<InstrumentKind>,
    after: Option<After>,
    most: i64,
) -> Result<Vec<(String, Instrument)>> {
    let (after_until, after_id) = after.unzip();
    macro_rules! lines {
        ($from_where:literal) => {{
            let keys = sqlx::query!(
                r#"SELECT k.instrument_id AS "instrument_id!", k.until_on "#
                    + $from_where
                    + " AND (k.until_on, k.instrument_id) > (coalesce(?2, ''), coalesce(?3, 0)) ORDER BY k.until_on, k.instrument_id LIMIT ?4",
                kind,
                after_until,
                after_id,
                most
            )
            .fetch_all(&mut *db)
            .await?;
            keys.into_iter()
                .map(|key| (key.instrument_id, key.until_on))
                .collect::<Vec<_>>()
        }};
    }
    let keys = if kind.is_some() {
        lines!("FROM calibration_cover k INDEXED BY calibration_cover_kind WHERE k.kind = ?1")
    } else {
        lines!("FROM calibration_cover k INDEXED BY calibration_cover_until WHERE ?1 IS NULL")
    };
    let ids = serde_json::to_string(&keys.iter().map(|(id, _)| id).collect::<Vec<_>>())?;
    let rows = instruments!("WHERE i.id IN (SELECT value FROM json_each(?1))", ids)
        .fetch_all(db)
        .await?;
    let mut found: HashMap<InstrumentId, Instrument> = rows
        .into_iter()
        .map(|row| (row.id, instrument!(row)))
        .collect();
    Ok(keys
        .into_iter()
        .filter_map(|(id, until)| found.remove(&id).map(|one| (until, one)))
        .collect())
}

/// Instruments out of use, by number.
pub async fn retired(db: &mut SqliteConnection, after: &str, most: i64) -> Result<Vec<Instrument>> {
    let rows = instruments!(
        "WHERE i.retired_at IS NOT NULL AND i.number > ?1 ORDER BY i.number LIMIT ?2",
        after,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| instrument!(row)).collect())
}

/// How many instruments are in use.
#[derive(Debug, Clone, Copy)]
pub struct InUse {
    /// All of them.
    pub all: i64,
    /// Those that no calibration covers on the day.
    pub uncovered: i64,
    /// Those that are covered on the day and not any more on the later one.
    pub running_out: i64,
}

/// Counts the instruments in use by what covers them today and on a later day.
pub async fn in_use(db: &mut SqliteConnection, today: Date, later: Date) -> Result<InUse> {
    Ok(sqlx::query_as!(
        InUse,
        r#"SELECT count(*) AS "all!: i64", count(*) FILTER (WHERE until_on < ?1) AS "uncovered!: i64",
             count(*) FILTER (WHERE until_on >= ?1 AND until_on < ?2) AS "running_out!: i64"
           FROM calibration_cover"#,
        today,
        later
    )
    .fetch_one(db)
    .await?)
}

/// Nuts of a section whose bolt layout nobody wrote down: as many as a section can have, so that no
/// wrench is trusted longer than it may be. The views of `wrench_day` count the same.
pub const MOST_NUTS: i64 = 24;

/// How many loadings torque wrenches made since their latest calibrations: each nut of each pass of each
/// section tightened at the bench, and each nut tightened again after the first heat cycle. Those that
/// made none are left out. The days are a projection that the schema keeps with each entry.
pub async fn loadings(
    db: &mut SqliteConnection,
    ids: &[InstrumentId],
) -> Result<HashMap<InstrumentId, u32>> {
    let ids = serde_json::to_string(ids)?;
    let rows = sqlx::query!(
        r#"SELECT w.id AS "id!: InstrumentId", sum(d.made) AS "made!: i64"
           FROM (SELECT i.id, i.number, coalesce((SELECT max(c.calibrated_on) FROM calibration c WHERE c.instrument_id = i.id AND c.taken_back_at IS NULL), '') AS since
             FROM instrument i WHERE i.id IN (SELECT value FROM json_each(?1)) AND i.kind = 'torque-wrench') w
           CROSS JOIN wrench_day d ON d.wrench = w.number AND d.day >= w.since
           GROUP BY w.id HAVING sum(d.made) > 0"#,
        ids
    )
    .fetch_all(db)
    .await?;
    let count = |made: i64| u32::try_from(made.max(0)).unwrap_or(u32::MAX);
    Ok(rows
        .into_iter()
        .map(|row| (row.id, count(row.made)))
        .collect())
}

/// Days of torque wrenches whose loadings are not those their entries give.
pub async fn astray(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "rows!: i64"
           FROM wrench_day_made r FULL JOIN wrench_day d ON d.wrench = r.wrench AND d.day = r.day
           WHERE coalesce(r.made, 0) <> coalesce(d.made, 0)"#
    )
    .fetch_one(db)
    .await?)
}

/// Adds an instrument without a calibration.
pub async fn add(db: &mut SqliteConnection, i: &Instrument) -> Result<InstrumentId> {
    let (low, high, resolution) = (
        Digits(i.range_low),
        Digits(i.range_high),
        i.resolution.map(Digits),
    );
    let id = sqlx::query!(
        "INSERT INTO instrument (number, kind, description, range_low, range_high, unit, resolution, cycle_limit)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        i.number,
        i.kind,
        i.description,
        low,
        high,
        i.unit,
        resolution,
        i.cycle_limit
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(InstrumentId(id))
}

/// Changes what is known of an instrument if nobody did so since its version; false if somebody did.
pub async fn change(db: &mut SqliteConnection, i: &Instrument) -> Result<bool> {
    let (low, high, resolution) = (
        Digits(i.range_low),
        Digits(i.range_high),
        i.resolution.map(Digits),
    );
    let done = sqlx::query!(
        "UPDATE instrument SET number = ?3, kind = ?4, description = ?5, range_low = ?6, range_high = ?7, unit = ?8,
           resolution = ?9, cycle_limit = ?10, version = version + 1 WHERE id = ?1 AND version = ?2",
        i.id,
        i.version,
        i.number,
        i.kind,
        i.description,
        low,
        high,
        i.unit,
        resolution,
        i.cycle_limit
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Takes an instrument out of use at a moment, or brings it back.
pub async fn change_use(
    db: &mut SqliteConnection,
    id: InstrumentId,
    retired_at: Option<Moment>,
) -> Result<()> {
    sqlx::query!(
        "UPDATE instrument SET retired_at = ?2, version = version + 1 WHERE id = ?1",
        id,
        retired_at
    )
    .execute(db)
    .await?;
    Ok(())
}

/// The last day a rebuild or a test relied on an instrument.
pub async fn last_used(db: &mut SqliteConnection, id: InstrumentId) -> Result<Option<Date>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT max(used_on) AS "day?: Date" FROM instrument_use WHERE instrument_id = ?1"#,
        id
    )
    .fetch_one(db)
    .await?)
}

/// What relied on an instrument: a rebuild, or a pressure test.
#[derive(Debug, Clone)]
pub struct UseLine {
    /// The row.
    pub id: i64,
    /// The day.
    pub used_on: Date,
    /// The gauge.
    pub tag: TagNumber,
    /// The rebuild's number on that gauge, where it was a rebuild.
    pub ordinal: Option<i64>,
    /// The rebuild's state.
    pub state: Option<RebuildState>,
    /// The test's number, where it was a test.
    pub test: Option<TestNumber>,
    /// What came of the test.
    pub result: Option<TestResult>,
}

/// What relied on an instrument, the latest first, after one of them.
pub async fn uses(
    db: &mut SqliteConnection,
    id: InstrumentId,
    before: Option<(Date, i64)>,
    most: i64,
) -> Result<Vec<UseLine>> {
    let (before_on, before_id) = before.unzip();
    Ok(sqlx::query_as!(
        UseLine,
        r#"SELECT u.id AS "id!", u.used_on AS "used_on!", g.tag AS "tag!: TagNumber", r.ordinal AS "ordinal?: i64",
             r.state AS "state?: RebuildState", t.number AS "test?: TestNumber", t.result AS "result?: TestResult"
           FROM instrument_use u LEFT JOIN rebuild r ON r.id = u.rebuild_id LEFT JOIN pressure_test t ON t.id = u.test_id
             JOIN gauge g ON g.id = coalesce(t.gauge_id, r.gauge_id)
           WHERE u.instrument_id = ?1 AND (u.used_on, u.id) < (coalesce(?2, '9999'), coalesce(?3, 0))
           ORDER BY u.used_on DESC, u.id DESC LIMIT ?4"#,
        id,
        before_on,
        before_id,
        most
    )
    .fetch_all(db)
    .await?)
}

/// Whether anything on record relied on an instrument, or a hold was read on it.
pub async fn used(db: &mut SqliteConnection, id: InstrumentId) -> Result<bool> {
    Ok(sqlx::query_scalar!(
        r#"SELECT EXISTS (SELECT 1 FROM instrument_use WHERE instrument_id = ?1)
             OR EXISTS (SELECT 1 FROM hold WHERE instrument_id = ?1) AS "used!: bool""#,
        id
    )
    .fetch_one(db)
    .await?)
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
