//! Rebuilds and what was recorded at the bench.
//! Which step may follow which is decided in `record`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::record::bench::{Entry, Facts};
use crate::record::rebuild::{Cause, Rebuild, RebuildState};
use crate::record::{EntryId, GaugeId, Moment, PersonId, RebuildId};

/// The open rebuild of a gauge, if it has one.
pub async fn open_of(db: &mut SqliteConnection, gauge: GaugeId) -> Result<Option<Rebuild>> {
    Ok(sqlx::query_as!(
        Rebuild,
        "SELECT id, gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, note, started_at, ended_on, ended_at,
           ended_by, abandoned_reason, version
         FROM rebuild WHERE gauge_id = ?1 AND state NOT IN ('returned', 'abandoned')",
        gauge
    )
    .fetch_optional(db)
    .await?)
}

/// A rebuild by its row.
pub async fn by_id(db: &mut SqliteConnection, id: RebuildId) -> Result<Option<Rebuild>> {
    Ok(sqlx::query_as!(
        Rebuild,
        "SELECT id, gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, note, started_at, ended_on, ended_at,
           ended_by, abandoned_reason, version
         FROM rebuild WHERE id = ?1",
        id
    )
    .fetch_optional(db)
    .await?)
}

/// A gauge's rebuild by its number.
pub async fn by_ordinal(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    ordinal: i64,
) -> Result<Option<Rebuild>> {
    Ok(sqlx::query_as!(
        Rebuild,
        "SELECT id, gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, note, started_at, ended_on, ended_at,
           ended_by, abandoned_reason, version
         FROM rebuild WHERE gauge_id = ?1 AND ordinal = ?2",
        gauge,
        ordinal
    )
    .fetch_optional(db)
    .await?)
}

/// A gauge's rebuilds, the latest first.
pub async fn of_gauge(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    most: i64,
) -> Result<Vec<Rebuild>> {
    Ok(sqlx::query_as!(
        Rebuild,
        "SELECT id, gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, note, started_at, ended_on, ended_at,
           ended_by, abandoned_reason, version
         FROM rebuild WHERE gauge_id = ?1 ORDER BY ordinal DESC LIMIT ?2",
        gauge,
        most
    )
    .fetch_all(db)
    .await?)
}

/// A rebuild about to be planned.
#[derive(Debug, Clone)]
pub struct NewRebuild<'a> {
    /// The gauge.
    pub gauge: GaugeId,
    /// Why.
    pub cause: Cause,
    /// The day it is planned for.
    pub planned_for: Date,
    /// What the planner wrote.
    pub note: &'a str,
}

/// Plans a rebuild; the schema refuses a second open one of the same gauge.
pub async fn add(
    db: &mut SqliteConnection,
    r: &NewRebuild<'_>,
    person: PersonId,
    now: Moment,
) -> Result<RebuildId> {
    let id = sqlx::query!(
        "INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, note)
         VALUES (?1, 1 + coalesce((SELECT max(ordinal) FROM rebuild WHERE gauge_id = ?1), 0), 'planned', ?2, ?3, ?4, ?5, ?6)",
        r.gauge,
        r.cause,
        r.planned_for,
        now,
        person,
        r.note
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(RebuildId(id))
}

/// Moves a rebuild to another state, from the version that was read; false if it moved meanwhile.
pub async fn change_state(
    db: &mut SqliteConnection,
    rebuild: &Rebuild,
    to: RebuildState,
    now: Moment,
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE rebuild SET state = ?3, started_at = CASE WHEN ?3 = 'at-the-bench' THEN coalesce(started_at, ?4) ELSE started_at END,
           version = version + 1
         WHERE id = ?1 AND version = ?2",
        rebuild.id,
        rebuild.version,
        to,
        now
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// How a rebuild ended.
#[derive(Debug, Clone)]
pub struct End<'a> {
    /// Returned or abandoned.
    pub state: RebuildState,
    /// The day.
    pub on: Date,
    /// Why, where it was abandoned.
    pub reason: Option<&'a str>,
}

/// Ends a rebuild, from the version that was read; false if it moved meanwhile.
pub async fn end(
    db: &mut SqliteConnection,
    rebuild: &Rebuild,
    end: &End<'_>,
    person: PersonId,
    now: Moment,
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE rebuild SET state = ?3, ended_on = ?4, ended_at = ?5, ended_by = ?6, abandoned_reason = ?7, version = version + 1
         WHERE id = ?1 AND version = ?2",
        rebuild.id,
        rebuild.version,
        end.state,
        end.on,
        now,
        person,
        end.reason
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Everything recorded at the bench in a rebuild, in order, with whether a later entry corrects it.
pub async fn entries(db: &mut SqliteConnection, rebuild: RebuildId) -> Result<Vec<Entry>> {
    let rows = sqlx::query!(
        r#"SELECT e.id, e.section, e.facts, e.at, e.person_id, p.name AS person, e.supersedes,
             EXISTS (SELECT 1 FROM bench_entry later WHERE later.supersedes = e.id) AS "superseded!: bool"
           FROM bench_entry e JOIN person p ON p.id = e.person_id WHERE e.rebuild_id = ?1 ORDER BY e.id"#,
        rebuild
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| {
            Ok(Entry {
                id: row.id,
                section: row.section.and_then(|s| u8::try_from(s).ok()),
                facts: serde_json::from_str::<Facts>(&row.facts)?,
                at: row.at,
                person_id: row.person_id,
                person: row.person,
                supersedes: row.supersedes,
                superseded: row.superseded,
            })
        })
        .collect()
}

/// Records an entry at the bench.
pub async fn add_entry(
    db: &mut SqliteConnection,
    rebuild: RebuildId,
    entry: (Option<u8>, &Facts, Option<EntryId>),
    person: PersonId,
    now: Moment,
) -> Result<EntryId> {
    let (section, facts, supersedes) = entry;
    let topic = facts.topic();
    let text = serde_json::to_string(facts)?;
    let id = sqlx::query!(
        "INSERT INTO bench_entry (rebuild_id, topic, section, facts, at, person_id, supersedes) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        rebuild,
        topic,
        section,
        text,
        now,
        person,
        supersedes
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(EntryId(id))
}
