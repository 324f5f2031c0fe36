//! Deferrals that were asked for and what became of them.
//! The signed ones, which due dates are decided from, are in `in_service.rs`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::calc::due::Moves;
use crate::record::deferral::{Decided, Request};
use crate::record::{GaugeId, Moment, PersonId, RequestId, TagNumber};

macro_rules! requests {
    ($ending:literal $(, $value:expr)*) => {
        sqlx::query_as!(
            Request,
            r#"SELECT q.id, q.gauge_id, q.until_on, q.hard_limit_on, q.moves, q.reason, q.risk, q.mitigations, q.asked_by,
                 a.name AS "asker!: String", q.asked_at,
                 q.decision,
                 d.name AS "decider?: String", q.decided_at, q.decision_note
               FROM deferral_request q JOIN known_as a ON a.person_id = q.asked_by AND a.since <= q.asked_at AND a.until > q.asked_at LEFT JOIN known_as d ON d.person_id = q.decided_by AND d.since <= q.decided_at AND d.until > q.decided_at "#
                + $ending
            $(, $value)*
        )
    };
}

/// The deferral of a gauge that waits for a decision.
pub async fn waiting(db: &mut SqliteConnection, gauge: GaugeId) -> Result<Option<Request>> {
    Ok(
        requests!("WHERE q.gauge_id = ?1 AND q.decision IS NULL", gauge)
            .fetch_optional(db)
            .await?,
    )
}

/// Every deferral of a gauge that was asked for, the latest first.
pub async fn of_gauge(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    most: i64,
) -> Result<Vec<Request>> {
    Ok(requests!(
        "WHERE q.gauge_id = ?1 ORDER BY q.id DESC LIMIT ?2",
        gauge,
        most
    )
    .fetch_all(db)
    .await?)
}

/// A deferral by its row.
pub async fn by_id(db: &mut SqliteConnection, id: RequestId) -> Result<Option<Request>> {
    Ok(requests!("WHERE q.id = ?1", id).fetch_optional(db).await?)
}

/// Every deferral that waits for a decision, the oldest first, with its gauge.
pub async fn all_waiting(
    db: &mut SqliteConnection,
    most: i64,
) -> Result<Vec<(TagNumber, Date, String, Moment)>> {
    let rows = sqlx::query!(
        r#"SELECT g.tag AS "tag!: TagNumber", q.until_on,
             a.name AS "asker!: String", q.asked_at
           FROM deferral_request q INDEXED BY deferral_request_open JOIN gauge g ON g.id = q.gauge_id JOIN known_as a ON a.person_id = q.asked_by AND a.since <= q.asked_at AND a.until > q.asked_at
           WHERE q.decision IS NULL ORDER BY q.asked_at LIMIT ?1"#,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.tag, row.until_on, row.asker, row.asked_at))
        .collect())
}

/// How many deferrals wait for a signature, counted up to so many.
pub async fn count_waiting(db: &mut SqliteConnection, most: i64) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM (SELECT 1 FROM deferral_request INDEXED BY deferral_request_open WHERE decision IS NULL LIMIT ?1)",
        most
    )
    .fetch_one(db)
    .await?)
}

/// A deferral about to be asked for.
#[derive(Debug, Clone)]
pub struct NewRequest<'a> {
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
}

/// Keeps what was asked for.
pub async fn add(
    db: &mut SqliteConnection,
    new: &NewRequest<'_>,
    person: PersonId,
    now: Moment,
) -> Result<RequestId> {
    let id = sqlx::query!(
        "INSERT INTO deferral_request (gauge_id, until_on, hard_limit_on, reason, risk, mitigations, asked_by, asked_at, moves)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        new.gauge,
        new.until,
        new.hard_limit,
        new.reason,
        new.risk,
        new.mitigations,
        person,
        now,
        new.moves
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(RequestId(id))
}

/// Keeps what became of it; false if somebody decided meanwhile.
pub async fn decide(
    db: &mut SqliteConnection,
    id: RequestId,
    (decision, note): (Decided, &str),
    person: PersonId,
    now: Moment,
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE deferral_request SET decision = ?2, decision_note = ?3, decided_by = ?4, decided_at = ?5
         WHERE id = ?1 AND decision IS NULL",
        id,
        decision,
        note,
        person,
        now
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}
