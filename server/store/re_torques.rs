//! Bolting tightened again after a return: what was done, and what is still asked for.
//! By when it falls due is decided in `calc::due`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::record::re_torque::{Done, ReTorque};
use crate::record::{GaugeId, Moment, PersonId, ReTorqueId, RebuildId};

/// The latest return of a gauge, which a re-torque follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Returned {
    /// The rebuild.
    pub rebuild_id: RebuildId,
    /// Its number within the gauge.
    pub ordinal: i64,
    /// The day it was returned.
    pub on: Date,
    /// By when the practice asks for it.
    pub asked_by: Option<Date>,
    /// The day it was tightened again, where it was.
    pub done_on: Option<Date>,
}

/// The latest return of a gauge, if it was ever rebuilt.
pub async fn latest_return(db: &mut SqliteConnection, gauge: GaugeId) -> Result<Option<Returned>> {
    Ok(sqlx::query_as!(
        Returned,
        r#"SELECT r.id AS "rebuild_id!: RebuildId", r.ordinal, r.ended_on AS "on!: Date", r.re_torque_due_on AS "asked_by: Date",
             (SELECT max(t.on_date) FROM re_torque t WHERE t.rebuild_id = r.id) AS "done_on?: Date"
           FROM rebuild r WHERE r.gauge_id = ?1 AND r.state = 'returned' ORDER BY r.ordinal DESC LIMIT 1"#,
        gauge
    )
    .fetch_optional(db)
    .await?)
}

/// Keeps a re-torque.
pub async fn add(
    db: &mut SqliteConnection,
    (gauge, rebuild): (GaugeId, RebuildId),
    on: Date,
    facts: &ReTorque,
    person: PersonId,
    now: Moment,
) -> Result<ReTorqueId> {
    let text = serde_json::to_string(facts)?;
    let id = sqlx::query!(
        "INSERT INTO re_torque (gauge_id, rebuild_id, on_date, facts, person_id, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        gauge,
        rebuild,
        on,
        text,
        person,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(ReTorqueId(id))
}

/// What was tightened again after a rebuild, in order.
pub async fn of_rebuild(db: &mut SqliteConnection, rebuild: RebuildId) -> Result<Vec<Done>> {
    let rows = sqlx::query!(
        r#"SELECT t.id, t.rebuild_id, t.on_date, t.facts, t.at,
           p.name AS "person!: String" FROM re_torque t JOIN known_as p ON p.person_id = t.person_id AND p.since <= t.at AND p.until > t.at
         WHERE t.rebuild_id = ?1 ORDER BY t.id"#,
        rebuild
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| {
            Ok(Done {
                id: row.id,
                rebuild_id: row.rebuild_id,
                on: row.on_date,
                facts: serde_json::from_str(&row.facts)?,
                person: row.person,
                at: row.at,
            })
        })
        .collect()
}
