//! Requests for tests with gas and the second person's answer: those of a gauge, and writing them.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::record::gas_test::{GasAnswer, GasFacts, GasRequest};
use crate::record::{GasRequestId, GaugeId, Moment, PersonId, TagNumber};

/// The requests of a gauge, the latest first.
pub async fn of_gauge(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    most: i64,
) -> Result<Vec<GasRequest>> {
    let rows = sqlx::query!(
        r#"SELECT r.id AS "id!: GasRequestId", r.facts, r.reason, r.person_id,
             p.name AS "person!: String", r.at,
             a.approved AS "approved?: bool", a.until_on AS "until_on?: Date", a.words AS "words?: String",

             q.name AS "answered_by?: String", a.at AS "answered_at?: Moment"
           FROM gas_request r JOIN known_as p ON p.person_id = r.person_id AND p.since <= r.at AND p.until > r.at LEFT JOIN gas_answer a ON a.request_id = r.id
             LEFT JOIN known_as q ON q.person_id = a.person_id AND q.since <= a.at AND q.until > a.at
           WHERE r.gauge_id = ?1 ORDER BY r.id DESC LIMIT ?2"#,
        gauge,
        most
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| {
            let answer = match (row.approved, row.words, row.answered_by, row.answered_at) {
                (Some(approved), Some(words), Some(person), Some(at)) => Some(GasAnswer {
                    approved,
                    until: row.until_on,
                    words,
                    person,
                    at,
                }),
                _ => None,
            };
            Ok(GasRequest {
                id: row.id,
                facts: serde_json::from_str::<GasFacts>(&row.facts)?,
                reason: row.reason,
                person_id: row.person_id,
                person: row.person,
                at: row.at,
                answer,
            })
        })
        .collect()
}

/// Keeps a request.
pub async fn ask(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    (facts, reason): (&GasFacts, &str),
    (person, now): (PersonId, Moment),
) -> Result<GasRequestId> {
    let facts = serde_json::to_string(facts)?;
    let id = sqlx::query!(
        "INSERT INTO gas_request (gauge_id, facts, reason, person_id, at) VALUES (?1, ?2, ?3, ?4, ?5)",
        gauge,
        facts,
        reason,
        person,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(GasRequestId(id))
}

/// Keeps the answer to a request.
pub async fn answer(
    db: &mut SqliteConnection,
    id: GasRequestId,
    (approved, until, words): (bool, Option<Date>, &str),
    (person, now): (PersonId, Moment),
) -> Result<()> {
    sqlx::query!(
        "INSERT INTO gas_answer (request_id, approved, until_on, words, person_id, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        id,
        approved,
        until,
        words,
        person,
        now
    )
    .execute(db)
    .await?;
    Ok(())
}

/// A request nobody answered yet.
#[derive(Debug, Clone)]
pub struct Open {
    /// The gauge.
    pub tag: TagNumber,
    /// Why liquid cannot be used.
    pub reason: String,
    /// Who asked, and so cannot answer.
    pub person_id: PersonId,
    /// Their name.
    pub person: String,
}

/// Requests nobody answered yet, the oldest first.
pub async fn open(db: &mut SqliteConnection, most: i64) -> Result<Vec<Open>> {
    Ok(sqlx::query_as!(
        Open,
        r#"SELECT g.tag, r.reason, r.person_id,
             p.name AS "person!: String" FROM gas_request r JOIN gauge g ON g.id = r.gauge_id JOIN known_as p ON p.person_id = r.person_id AND p.since <= r.at AND p.until > r.at
         WHERE NOT EXISTS (SELECT 1 FROM gas_answer a WHERE a.request_id = r.id) ORDER BY r.id LIMIT ?1"#,
        most
    )
    .fetch_all(db)
    .await?)
}
