//! Other days of rebuilds that are planned and not begun: which day it was, which it is now, and why.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::record::rebuild::Rebuild;
use crate::record::{Moment, PersonId, RebuildId};

/// A day that was given instead of another.
#[derive(Debug, Clone)]
pub struct DayGiven {
    /// The day it was planned for.
    pub was_for: Date,
    /// The day it was given.
    pub planned_for: Date,
    /// Why.
    pub reason: String,
    /// Who gave it.
    pub person: String,
    /// When.
    pub at: Moment,
}

/// Gives a rebuild another day, from the version that was read; answers the row of what was said, or
/// nothing where the rebuild moved meanwhile. The schema refuses one that is begun.
pub async fn give(
    db: &mut SqliteConnection,
    rebuild: &Rebuild,
    (to, reason): (Date, &str),
    person: PersonId,
    now: Moment,
) -> Result<Option<i64>> {
    let row = sqlx::query!(
        "INSERT INTO rebuild_day (rebuild_id, was_for, planned_for, reason, person_id, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        rebuild.id,
        rebuild.planned_for,
        to,
        reason,
        person,
        now
    )
    .execute(&mut *db)
    .await?
    .last_insert_rowid();
    let done = sqlx::query!(
        "UPDATE rebuild SET planned_for = ?3, version = version + 1 WHERE id = ?1 AND version = ?2",
        rebuild.id,
        rebuild.version,
        to
    )
    .execute(db)
    .await?;
    Ok((done.rows_affected() == 1).then_some(row))
}

/// The days a rebuild was given, in order.
pub async fn of_rebuild(db: &mut SqliteConnection, rebuild: RebuildId) -> Result<Vec<DayGiven>> {
    Ok(sqlx::query_as!(
        DayGiven,
        r#"SELECT d.was_for, d.planned_for, d.reason, p.name AS "person!: String", d.at
           FROM rebuild_day d JOIN known_as p ON p.person_id = d.person_id AND p.since <= d.at AND p.until > d.at
           WHERE d.rebuild_id = ?1 ORDER BY d.id"#,
        rebuild
    )
    .fetch_all(db)
    .await?)
}
