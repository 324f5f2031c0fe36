//! Rebuilds handed from one person to another, with what the other has to know.
//! Whether somebody may hand over is decided in `acts::hand_overs`.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::{HandOverId, Moment, PersonId, RebuildId, TagNumber};

/// A hand-over as the sheet shows it.
#[derive(Debug, Clone)]
pub struct HandOver {
    /// The row.
    pub id: HandOverId,
    /// Who handed it over.
    pub person: String,
    /// To whom.
    pub to_id: PersonId,
    /// Their name.
    pub to: String,
    /// What they have to know.
    pub note: String,
    /// When.
    pub at: Moment,
    /// When they took it over.
    pub taken_at: Option<Moment>,
}

/// The hand-overs of a rebuild, in order.
pub async fn of_rebuild(db: &mut SqliteConnection, rebuild: RebuildId) -> Result<Vec<HandOver>> {
    Ok(sqlx::query_as!(
        HandOver,
        r#"SELECT h.id,
             p.name AS "person!: String", h.to_id,
             t.name AS "to!: String", h.note, h.at, h.taken_at
           FROM hand_over h JOIN known_as p ON p.person_id = h.person_id AND p.since <= h.at AND p.until > h.at JOIN known_as t ON t.person_id = h.to_id AND t.since <= h.at AND t.until > h.at
           WHERE h.rebuild_id = ?1 ORDER BY h.id"#,
        rebuild
    )
    .fetch_all(db)
    .await?)
}

/// An open rebuild that was handed to somebody who has not taken it over yet.
#[derive(Debug, Clone)]
pub struct Handed {
    /// The rebuild.
    pub rebuild_id: RebuildId,
    /// The gauge.
    pub tag: TagNumber,
    /// The vessel.
    pub vessel: String,
    /// What it shows.
    pub service: String,
    /// Who handed it over.
    pub person: String,
    /// What there is to know.
    pub note: String,
    /// When.
    pub at: Moment,
}

/// How many hand-overs of one person are looked through, the latest first: what was neither taken over
/// nor done with among so many is older than any shift.
const LOOKED_THROUGH: i64 = 100;

/// What was handed to somebody and waits to be taken over, the latest first.
pub async fn waiting_for(
    db: &mut SqliteConnection,
    person: PersonId,
    most: i64,
) -> Result<Vec<Handed>> {
    Ok(sqlx::query_as!(
        Handed,
        r#"SELECT h.rebuild_id, g.tag, g.vessel, g.service, p.name AS "person!: String", h.note, h.at
           FROM (SELECT id, rebuild_id, person_id, note, at FROM hand_over INDEXED BY hand_over_waiting
                 WHERE to_id = ?1 AND taken_at IS NULL ORDER BY id DESC LIMIT ?2) h
             CROSS JOIN rebuild r ON r.id = h.rebuild_id
             JOIN gauge g ON g.id = r.gauge_id
             JOIN known_as p ON p.person_id = h.person_id AND p.since <= h.at AND p.until > h.at
           WHERE r.state NOT IN ('returned', 'abandoned')
             AND NOT EXISTS (SELECT 1 FROM hand_over later WHERE later.rebuild_id = h.rebuild_id AND later.id > h.id)
           ORDER BY h.id DESC LIMIT ?3"#,
        person,
        LOOKED_THROUGH,
        most
    )
    .fetch_all(db)
    .await?)
}

/// Keeps a hand-over.
pub async fn add(
    db: &mut SqliteConnection,
    rebuild: RebuildId,
    (person, to): (PersonId, PersonId),
    note: &str,
    now: Moment,
) -> Result<HandOverId> {
    let id = sqlx::query!(
        "INSERT INTO hand_over (rebuild_id, person_id, to_id, note, at) VALUES (?1, ?2, ?3, ?4, ?5)",
        rebuild,
        person,
        to,
        note,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(HandOverId(id))
}

/// Writes down that the other took it over; false where that was written before.
pub async fn take(db: &mut SqliteConnection, id: HandOverId, now: Moment) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE hand_over SET taken_at = ?2 WHERE id = ?1 AND taken_at IS NULL",
        id,
        now
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}
