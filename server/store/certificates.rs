//! Marks on certificates: all of one, and adding another. How a certificate stands by them is decided
//! in `record::certificate_mark`; certificates themselves are in `pressure_tests.rs`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::record::certificate_mark::{Mark, MarkKind, Standing, standing};
use crate::record::{
    CertificateId, CertificateNumber, GaugeId, InstrumentId, InstrumentNumber, MarkId, Moment,
    PersonId, RecallId,
};

/// The row of the certificate of this number and the gauge it speaks of.
pub async fn row_of(
    db: &mut SqliteConnection,
    number: &CertificateNumber,
) -> Result<Option<(CertificateId, GaugeId)>> {
    let row = sqlx::query!(
        r#"SELECT c.id AS "id!: CertificateId", t.gauge_id FROM certificate c JOIN pressure_test t ON t.id = c.test_id
           WHERE c.number = ?1"#,
        number
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| (row.id, row.gauge_id)))
}

/// Every mark on a certificate, in the order they were made.
pub async fn marks(db: &mut SqliteConnection, certificate: CertificateId) -> Result<Vec<Mark>> {
    Ok(sqlx::query_as!(
        Mark,
        r#"SELECT m.id AS "id!: MarkId", m.kind, m.reason, m.recall_id AS "recall: RecallId",
             p.name AS "person!: String", m.at
           FROM certificate_mark m JOIN known_as p ON p.person_id = m.person_id AND p.since <= m.at AND p.until > m.at WHERE m.certificate_id = ?1 ORDER BY m.id"#,
        certificate
    )
    .fetch_all(db)
    .await?)
}

/// How a certificate stands now.
pub async fn current(db: &mut SqliteConnection, certificate: CertificateId) -> Result<Standing> {
    Ok(standing(&marks(db, certificate).await?))
}

/// The certificate of a gauge's latest passed test that was certified, as it stands, and how.
pub async fn latest_of(
    db: &mut SqliteConnection,
    gauge: GaugeId,
) -> Result<Option<(CertificateNumber, Vec<Mark>)>> {
    let row = sqlx::query!(
        r#"SELECT c.id AS "id!: CertificateId", c.number AS "number!: CertificateNumber"
           FROM pressure_test t JOIN certificate c ON c.test_id = t.id
           WHERE t.gauge_id = ?1 AND t.result = 'passed' ORDER BY t.id DESC, c.id DESC LIMIT 1"#,
        gauge
    )
    .fetch_optional(&mut *db)
    .await?;
    match row {
        Some(row) => Ok(Some((row.number, marks(db, row.id).await?))),
        None => Ok(None),
    }
}

/// A certificate in question whose test was read on a pressure gauge: of all of that gauge the latest.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MadeWith {
    /// The pressure gauge.
    pub instrument: InstrumentNumber,
    /// The certificate.
    pub certificate: CertificateNumber,
    /// The day of its test.
    pub tested_on: Date,
    /// Why it is in question.
    pub reason: String,
    /// How many certificates made with that gauge are in question.
    pub count: i64,
}

/// What is in question today of what was tested with these pressure gauges, one line a gauge. It walks the
/// doubts that were ever raised, which are few beside the tests.
pub async fn questioned_with(
    db: &mut SqliteConnection,
    instruments: &[InstrumentId],
) -> Result<Vec<MadeWith>> {
    let ids: Vec<i64> = instruments.iter().map(|id| id.0).collect();
    let ids = serde_json::to_string(&ids)?;
    Ok(sqlx::query_as!(
        MadeWith,
        r#"SELECT i.number AS "instrument!: InstrumentNumber", c.number AS "certificate!: CertificateNumber",
             max(t.tested_on) AS "tested_on!: Date", m.reason AS "reason!: String", count(DISTINCT c.id) AS "count!: i64"
           FROM certificate_mark m INDEXED BY certificate_mark_kind CROSS JOIN certificate c ON c.id = m.certificate_id
             CROSS JOIN pressure_test t ON t.id = c.test_id CROSS JOIN instrument i ON i.id = t.instrument_id
           WHERE m.kind = 'questioned' AND t.instrument_id IN (SELECT value FROM json_each(?1))
             AND NOT EXISTS (SELECT 1 FROM certificate_mark l WHERE l.certificate_id = m.certificate_id AND l.recall_id IS m.recall_id AND l.id > m.id)
             AND (SELECT s.standing FROM certificate_standing s WHERE s.certificate_id = c.id) = 'questioned'
           GROUP BY i.id ORDER BY i.number"#,
        ids
    )
    .fetch_all(db)
    .await?)
}

/// A mark about to be made.
#[derive(Debug, Clone, Copy)]
pub struct NewMark<'a> {
    /// The certificate.
    pub certificate: CertificateId,
    /// What it says.
    pub kind: MarkKind,
    /// Why.
    pub reason: &'a str,
    /// The recall that raised it, if one did.
    pub recall: Option<RecallId>,
    /// The plant's day on which it is made.
    pub on: Date,
}

/// Adds a mark; the schema refuses one on a certificate that is withdrawn.
pub async fn add_mark(
    db: &mut SqliteConnection,
    mark: &NewMark<'_>,
    person: PersonId,
    now: Moment,
) -> Result<MarkId> {
    let id = sqlx::query!(
        "INSERT INTO certificate_mark (certificate_id, kind, reason, recall_id, person_id, at, on_date) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        mark.certificate,
        mark.kind,
        mark.reason,
        mark.recall,
        person,
        now,
        mark.on
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(MarkId(id))
}
