//! What is recorded about a gauge in service: failures, look-overs and deferrals.
//! What they do to a due date is decided in `calc::due`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::calc::due::Moves;
use crate::record::rebuild::{FailureKind, LookOverFound};
use crate::record::{FailureId, GaugeId, LookOverId, Moment, PersonId};

/// A failure no rebuild has answered yet.
#[derive(Debug, Clone)]
pub struct OpenFailure {
    /// The row.
    pub id: FailureId,
    /// What went wrong.
    pub kind: FailureKind,
    /// When it was seen.
    pub seen_on: Date,
    /// What was written.
    pub note: String,
    /// Who reported it.
    pub person: String,
    /// Their row.
    pub person_id: PersonId,
}

/// The failures of a gauge that no rebuild has answered yet, the oldest first.
pub async fn open_failures(db: &mut SqliteConnection, gauge: GaugeId) -> Result<Vec<OpenFailure>> {
    Ok(sqlx::query_as!(
        OpenFailure,
        r#"SELECT f.id, f.kind, f.seen_on, f.note,
             p.name AS "person!: String", f.person_id FROM failure f JOIN known_as p ON p.person_id = f.person_id AND p.since <= f.at AND p.until > f.at
         WHERE f.gauge_id = ?1 AND f.rebuild_id IS NULL AND f.taken_back_at IS NULL ORDER BY f.seen_on, f.id LIMIT 50"#,
        gauge
    )
    .fetch_all(db)
    .await?)
}

/// A failure about to be reported.
#[derive(Debug, Clone)]
pub struct NewFailure<'a> {
    /// The gauge.
    pub gauge: GaugeId,
    /// What went wrong.
    pub kind: FailureKind,
    /// When it was seen.
    pub seen_on: Date,
    /// What was written.
    pub note: &'a str,
}

/// Keeps a reported failure.
pub async fn add_failure(
    db: &mut SqliteConnection,
    failure: &NewFailure<'_>,
    person: PersonId,
    now: Moment,
) -> Result<FailureId> {
    let id = sqlx::query!(
        "INSERT INTO failure (gauge_id, seen_on, kind, note, person_id, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        failure.gauge,
        failure.seen_on,
        failure.kind,
        failure.note,
        person,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(FailureId(id))
}

/// Takes a failure back that was reported by mistake; false if it was answered or taken back already.
pub async fn take_back_failure(
    db: &mut SqliteConnection,
    id: FailureId,
    why: &str,
    person: PersonId,
    now: Moment,
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE failure SET taken_back_at = ?2, taken_back_by = ?3, taken_back_why = ?4
         WHERE id = ?1 AND rebuild_id IS NULL AND taken_back_at IS NULL",
        id,
        now,
        person,
        why
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// A look-over about to be recorded.
#[derive(Debug, Clone)]
pub struct NewLookOver<'a> {
    /// The gauge.
    pub gauge: GaugeId,
    /// The day.
    pub on: Date,
    /// What it found.
    pub found: LookOverFound,
    /// What was written.
    pub note: &'a str,
}

/// Keeps a look-over; returns its row.
pub async fn add_look_over(
    db: &mut SqliteConnection,
    look_over: &NewLookOver<'_>,
    person: PersonId,
    now: Moment,
) -> Result<i64> {
    Ok(sqlx::query!(
        "INSERT INTO look_over (gauge_id, on_date, found, note, person_id, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        look_over.gauge,
        look_over.on,
        look_over.found,
        look_over.note,
        person,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid())
}

/// A look-over as it stands.
#[derive(Debug, Clone)]
pub struct StandingLookOver {
    /// The row.
    pub id: LookOverId,
    /// The day.
    pub on: Date,
    /// What it found.
    pub found: LookOverFound,
    /// What was written.
    pub note: String,
    /// Who recorded it.
    pub person: String,
    /// Their row.
    pub person_id: PersonId,
}

/// A look-over of a gauge, unless it was taken back.
pub async fn look_over(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    id: LookOverId,
) -> Result<Option<StandingLookOver>> {
    Ok(sqlx::query_as!(
        StandingLookOver,
        r#"SELECT l.id AS "id: LookOverId", l.on_date AS "on: Date", l.found, l.note, p.name AS "person!: String", l.person_id
         FROM look_over l JOIN known_as p ON p.person_id = l.person_id AND p.since <= l.at AND p.until > l.at
         WHERE l.id = ?1 AND l.gauge_id = ?2 AND l.taken_back_at IS NULL"#,
        id,
        gauge
    )
    .fetch_optional(db)
    .await?)
}

/// Takes a look-over back that was recorded by mistake; false if it was taken back already.
pub async fn take_back_look_over(
    db: &mut SqliteConnection,
    id: LookOverId,
    why: &str,
    person: PersonId,
    now: Moment,
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE look_over SET taken_back_at = ?2, taken_back_by = ?3, taken_back_why = ?4
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

/// A deferral about to be signed.
#[derive(Debug, Clone)]
pub struct NewDeferral<'a> {
    /// The gauge.
    pub gauge: GaugeId,
    /// What it moves.
    pub moves: Moves,
    /// The later date.
    pub until: Date,
    /// The date no deferral of this interval passes.
    pub hard_limit: Date,
    /// Why.
    pub reason: &'a str,
    /// What could go wrong meanwhile.
    pub risk: &'a str,
    /// What is done against it.
    pub mitigations: &'a str,
    /// Who asked for it.
    pub asked_by: PersonId,
}

/// Keeps a signed deferral; returns its row.
pub async fn add_deferral(
    db: &mut SqliteConnection,
    deferral: &NewDeferral<'_>,
    person: PersonId,
    now: Moment,
) -> Result<i64> {
    Ok(sqlx::query!(
        "INSERT INTO deferral (gauge_id, until_on, hard_limit_on, reason, person_id, at, risk, mitigations, asked_by, moves)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
        deferral.gauge,
        deferral.until,
        deferral.hard_limit,
        deferral.reason,
        person,
        now,
        deferral.risk,
        deferral.mitigations,
        deferral.asked_by,
        deferral.moves
    )
    .execute(db)
    .await?
    .last_insert_rowid())
}
