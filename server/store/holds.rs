//! Holds under way and what was read during them. A hold is over once a test was recorded after it
//! began; which one counts is decided in `acts::holds`.

use sqlx::SqliteConnection;

use super::Result;
use super::columns::stamped;
use crate::calc::quantity::{StampedPressure, StampedTemperature};
use crate::record::hold::{Hold, HoldReading};
use crate::record::pressure_test::Medium;
use crate::record::{HoldId, InstrumentId, InstrumentNumber, Moment, PersonId, RebuildId};

/// Begins a hold.
pub async fn add(
    db: &mut SqliteConnection,
    rebuild: RebuildId,
    (instrument, medium): (InstrumentId, Medium),
    person: PersonId,
    now: Moment,
) -> Result<HoldId> {
    let id = sqlx::query!(
        "INSERT INTO hold (rebuild_id, instrument_id, medium, began_at, person_id) VALUES (?1, ?2, ?3, ?4, ?5)",
        rebuild,
        instrument,
        medium,
        now,
        person
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
    let value = super::columns::Digits(pressure.value);
    let degrees = temperature.map(|t| super::columns::Digits(t.value));
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

/// The hold of a rebuild that is under way: the latest, begun since a moment, with no test after it.
pub async fn under_way(
    db: &mut SqliteConnection,
    rebuild: RebuildId,
    since: Moment,
) -> Result<Option<Hold>> {
    let row = sqlx::query!(
        r#"SELECT h.id AS "id!: HoldId", h.began_at, h.medium, i.number AS "instrument!: InstrumentNumber",
             p.name AS "person!: String"
           FROM hold h JOIN instrument i ON i.id = h.instrument_id JOIN known_as p ON p.person_id = h.person_id AND p.since <= h.began_at AND p.until > h.began_at
           WHERE h.rebuild_id = ?1 AND h.began_at >= ?2
             AND NOT EXISTS (SELECT 1 FROM pressure_test t WHERE t.rebuild_id = h.rebuild_id AND t.at >= h.began_at)
           ORDER BY h.id DESC LIMIT 1"#,
        rebuild,
        since
    )
    .fetch_optional(&mut *db)
    .await?;
    let Some(row) = row else {
        return Ok(None);
    };
    let readings = sqlx::query!(
        r#"SELECT r.at, r.pressure_value, r.pressure_unit, r.temperature_value, r.temperature_unit,
             p.name AS "person!: String"
           FROM hold_reading r JOIN known_as p ON p.person_id = r.person_id AND p.since <= r.at AND p.until > r.at WHERE r.hold_id = ?1 ORDER BY r.id"#,
        row.id
    )
    .fetch_all(db)
    .await?;
    Ok(Some(Hold {
        id: row.id,
        began: row.began_at,
        instrument: row.instrument,
        medium: row.medium,
        person: row.person,
        readings: readings
            .into_iter()
            .map(|r| HoldReading {
                at: r.at,
                pressure: StampedPressure::new(r.pressure_value.0, r.pressure_unit),
                temperature: stamped(r.temperature_value, r.temperature_unit),
                person: r.person,
            })
            .collect(),
    }))
}
