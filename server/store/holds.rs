//! Holds under way and what was read during them. A hold is over once a test was recorded after it
//! began; which one counts is decided in `acts::holds`.

use std::collections::HashMap;

use sqlx::SqliteConnection;

use super::Result;
use super::columns::{Digits, stamped};
use crate::calc::pressure_test::Code;
use crate::calc::quantity::{StampedPressure, StampedTemperature};
use crate::record::hold::{Hold, HoldReading, Running};
use crate::record::pressure_test::{BeganWith, Medium, PressureTest};
use crate::record::test_plan::Rules;
use crate::record::{HoldId, InstrumentId, InstrumentNumber, Moment, PersonId, RebuildId};

/// Begins a hold, with what counts for it.
pub async fn add(
    db: &mut SqliteConnection,
    rebuild: RebuildId,
    (instrument, medium, with): (InstrumentId, Medium, &BeganWith),
    person: PersonId,
    now: Moment,
) -> Result<HoldId> {
    let rules = &with.rules;
    let hold = i64::from(rules.hold_minutes);
    let rating = Digits(with.rating.value);
    let at = with.rating_temperature.map(|t| (Digits(t.value), t.unit));
    let (at, at_unit) = at.unzip();
    let (factor, ratio) = (rules.factor.map(Digits), rules.stress_ratio.map(Digits));
    let (limit, limit_unit) = rules.limit.map(|p| (Digits(p.value), p.unit)).unzip();
    let (drop, drop_unit) = rules
        .allowed_drop
        .map(|p| (Digits(p.value), p.unit))
        .unzip();
    let kelvin = rules.thermometer.map(Digits);
    let choices = serde_json::to_string(&with.choices)?;
    let id = sqlx::query!(
        "INSERT INTO hold (rebuild_id, instrument_id, medium, began_at, person_id, rating_value, rating_unit, rating_at_value,
           rating_at_unit, code, factor, hold_minutes, stress_ratio, limit_value, limit_unit, drop_value, drop_unit, guard,
           thermometer, choices)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20)",
        rebuild,
        instrument,
        medium,
        now,
        person,
        rating,
        with.rating.unit,
        at,
        at_unit,
        rules.code,
        factor,
        hold,
        ratio,
        limit,
        limit_unit,
        drop,
        drop_unit,
        rules.guard,
        kelvin,
        choices
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(HoldId(id))
}

/// Keeps a reading; returns its row.
pub async fn add_reading(
    db: &mut SqliteConnection,
    hold: HoldId,
    (pressure, temperature): (StampedPressure, Option<StampedTemperature>),
    person: PersonId,
    now: Moment,
) -> Result<i64> {
    let value = Digits(pressure.value);
    let degrees = temperature.map(|t| Digits(t.value));
    let degrees_unit = temperature.map(|t| t.unit);
    Ok(sqlx::query!(
        "INSERT INTO hold_reading (hold_id, at, pressure_value, pressure_unit, temperature_value, temperature_unit, person_id)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        hold,
        now,
        value,
        pressure.unit,
        degrees,
        degrees_unit,
        person
    )
    .execute(db)
    .await?
    .last_insert_rowid())
}

/// One statement with the columns of holds, and an ending.
macro_rules! holds {
    ($ending:literal $(, $value:expr)*) => {
        sqlx::query!(
            r#"SELECT h.id AS "id!: HoldId", h.began_at, h.medium, i.number AS "instrument!: InstrumentNumber",
                 p.name AS "person!: String", h.rating_value, h.rating_unit, h.rating_at_value, h.rating_at_unit, h.code, h.factor,
                 h.hold_minutes, h.stress_ratio, h.limit_value, h.limit_unit, h.drop_value, h.drop_unit, h.guard, h.thermometer, h.choices
               FROM hold h JOIN instrument i ON i.id = h.instrument_id JOIN known_as p ON p.person_id = h.person_id AND p.since <= h.began_at AND p.until > h.began_at "#
                + $ending
            $(, $value)*
        )
    };
}

macro_rules! hold {
    ($row:expr, $readings:expr) => {{
        let row = $row;
        let minutes = row.hold_minutes.and_then(|m| u32::try_from(m).ok());
        let rating = stamped(row.rating_value, row.rating_unit);
        let began_with = match (rating, row.code, minutes, row.choices) {
            (Some(rating), Some(code), Some(hold_minutes), Some(choices)) => Some(BeganWith {
                rating,
                rating_temperature: stamped(row.rating_at_value, row.rating_at_unit),
                rules: Rules {
                    code,
                    factor: row.factor.map(|digits| digits.0),
                    hold_minutes,
                    stress_ratio: row.stress_ratio.map(|digits| digits.0),
                    limit: stamped(row.limit_value, row.limit_unit),
                    allowed_drop: stamped(row.drop_value, row.drop_unit),
                    guard: row.guard,
                    thermometer: row.thermometer.map(|digits| digits.0),
                },
                choices: serde_json::from_str(&choices)?,
            }),
            _ => None,
        };
        Hold {
            id: row.id,
            began: row.began_at,
            instrument: row.instrument,
            medium: row.medium,
            person: row.person,
            began_with,
            readings: $readings,
        }
    }};
}

/// The hold of a rebuild that is under way: the latest, begun since a moment, with no test after it.
pub async fn under_way(
    db: &mut SqliteConnection,
    rebuild: RebuildId,
    since: Moment,
) -> Result<Option<Hold>> {
    let row = holds!(
        "WHERE h.rebuild_id = ?1 AND h.began_at >= ?2
           AND NOT EXISTS (SELECT 1 FROM pressure_test t WHERE t.rebuild_id = h.rebuild_id AND t.at >= h.began_at)
         ORDER BY h.id DESC LIMIT 1",
        rebuild,
        since
    )
    .fetch_optional(&mut *db)
    .await?;
    let Some(row) = row else {
        return Ok(None);
    };
    let readings = readings(db, row.id).await?;
    Ok(Some(hold!(row, readings)))
}

/// The latest hold of each of some rebuilds, where no test came after it.
pub async fn latest(
    db: &mut SqliteConnection,
    rebuilds: &[RebuildId],
) -> Result<HashMap<RebuildId, Running>> {
    let ids = serde_json::to_string(rebuilds)?;
    let rows = sqlx::query!(
        r#"SELECT h.rebuild_id AS "rebuild!: RebuildId", h.began_at AS "began!: Moment", h.code AS "code?: Code",
             h.hold_minutes AS "minutes?: i64"
           FROM json_each(?1) j CROSS JOIN hold h ON h.id = (SELECT max(x.id) FROM hold x WHERE x.rebuild_id = j.value)
           WHERE NOT EXISTS (SELECT 1 FROM pressure_test t WHERE t.rebuild_id = h.rebuild_id AND t.at >= h.began_at)"#,
        ids
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| {
            let minutes = row.minutes.and_then(|m| u32::try_from(m).ok());
            let running = Running {
                began: row.began,
                asked: row.code.zip(minutes),
            };
            (row.rebuild, running)
        })
        .collect())
}

/// The holds of a test's rebuild that came to nothing before it, in order: begun since the test before, and
/// not the one it was made of.
pub async fn came_to_nothing(db: &mut SqliteConnection, test: &PressureTest) -> Result<Vec<Hold>> {
    let Some(rebuild) = test.rebuild_id else {
        return Ok(Vec::new());
    };
    let rows = holds!(
        "WHERE h.rebuild_id = ?1 AND h.began_at <= ?2 AND h.began_at <> ?3
           AND h.began_at > coalesce((SELECT max(t.at) FROM pressure_test t WHERE t.rebuild_id = ?1 AND t.id < ?4), '')
         ORDER BY h.id",
        rebuild,
        test.at,
        test.facts.began,
        test.id
    )
    .fetch_all(&mut *db)
    .await?;
    let mut list = Vec::with_capacity(rows.len());
    for row in rows {
        let readings = readings(db, row.id).await?;
        list.push(hold!(row, readings));
    }
    Ok(list)
}

/// What was read during a hold, in order.
async fn readings(db: &mut SqliteConnection, hold: HoldId) -> Result<Vec<HoldReading>> {
    let rows = sqlx::query!(
        r#"SELECT r.at, r.pressure_value, r.pressure_unit, r.temperature_value, r.temperature_unit,
             p.name AS "person!: String"
           FROM hold_reading r JOIN known_as p ON p.person_id = r.person_id AND p.since <= r.at AND p.until > r.at WHERE r.hold_id = ?1 ORDER BY r.id"#,
        hold
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|r| HoldReading {
            at: r.at,
            pressure: StampedPressure::new(r.pressure_value.0, r.pressure_unit),
            temperature: stamped(r.temperature_value, r.temperature_unit),
            person: r.person,
        })
        .collect())
}
