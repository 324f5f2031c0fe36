//! The papers that came with a lot or with a calibration: certificates, declarations, delivery notes.
//! Whether a file is one of these kinds is decided where it comes in.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::{CalibrationId, DocumentId, InstrumentId, LotId, Moment, PersonId};

/// A paper without its bytes.
#[derive(Debug, Clone)]
pub struct Document {
    /// The row.
    pub id: DocumentId,
    /// What it is.
    pub title: String,
    /// Its media type.
    pub media_type: String,
    /// How long it is, bytes.
    pub length: i64,
    /// The mark of its content.
    pub mark: String,
    /// Who added it.
    pub person: String,
    /// When.
    pub at: Moment,
}

/// What a paper came with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// A lot.
    Lot(LotId),
    /// A calibration of an instrument.
    Calibration(CalibrationId),
}

/// The papers of a lot, in order.
pub async fn of_lot(db: &mut SqliteConnection, lot: LotId) -> Result<Vec<Document>> {
    Ok(sqlx::query_as!(
        Document,
        r#"SELECT d.id, d.title, d.media_type, length(d.bytes) AS "length!: i64", lower(hex(d.sha256)) AS "mark!: String",

             p.name AS "person!: String", d.at
           FROM lot_document d JOIN known_as p ON p.person_id = d.person_id AND p.since <= d.at AND p.until > d.at WHERE d.lot_id = ?1 ORDER BY d.id LIMIT 100"#,
        lot
    )
    .fetch_all(db)
    .await?)
}

/// The papers of an instrument's calibrations, each with the row of its calibration, the latest
/// calibration first.
pub async fn of_instrument(
    db: &mut SqliteConnection,
    instrument: InstrumentId,
) -> Result<Vec<(CalibrationId, Document)>> {
    let rows = sqlx::query!(
        r#"SELECT c.id AS "calibration!: CalibrationId", d.id AS "id!: DocumentId", d.title, d.media_type, length(d.bytes) AS "length!: i64",
             lower(hex(d.sha256)) AS "mark!: String",
             p.name AS "person!: String", d.at
           FROM calibration c JOIN calibration_document d ON d.calibration_id = c.id JOIN known_as p ON p.person_id = d.person_id AND p.since <= d.at AND p.until > d.at
           WHERE c.instrument_id = ?1 ORDER BY c.calibrated_on DESC, c.id DESC, d.id LIMIT 200"#,
        instrument
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| {
            let document = Document {
                id: row.id,
                title: row.title,
                media_type: row.media_type,
                length: row.length,
                mark: row.mark,
                person: row.person,
                at: row.at,
            };
            (row.calibration, document)
        })
        .collect())
}

/// The media type and the bytes of a paper with this mark.
pub async fn bytes(
    db: &mut SqliteConnection,
    of: Of,
    mark: &[u8],
) -> Result<Option<(String, Vec<u8>)>> {
    match of {
        Of::Lot(lot) => {
            let row = sqlx::query!(
                "SELECT media_type, bytes FROM lot_document WHERE lot_id = ?1 AND sha256 = ?2 ORDER BY id LIMIT 1",
                lot,
                mark
            )
            .fetch_optional(db)
            .await?;
            Ok(row.map(|row| (row.media_type, row.bytes)))
        }
        Of::Calibration(calibration) => {
            let row = sqlx::query!(
                "SELECT media_type, bytes FROM calibration_document WHERE calibration_id = ?1 AND sha256 = ?2 ORDER BY id LIMIT 1",
                calibration,
                mark
            )
            .fetch_optional(db)
            .await?;
            Ok(row.map(|row| (row.media_type, row.bytes)))
        }
    }
}

/// A paper about to be kept.
#[derive(Debug, Clone)]
pub struct NewDocument<'a> {
    /// What it came with.
    pub of: Of,
    /// What it is.
    pub title: &'a str,
    /// Its media type.
    pub media_type: &'a str,
    /// SHA-256 of its bytes.
    pub sha256: &'a [u8],
    /// Its bytes.
    pub bytes: &'a [u8],
}

/// Keeps a paper.
pub async fn add(
    db: &mut SqliteConnection,
    new: &NewDocument<'_>,
    person: PersonId,
    now: Moment,
) -> Result<DocumentId> {
    let done = match new.of {
        Of::Lot(lot) => {
            sqlx::query!(
                "INSERT INTO lot_document (lot_id, title, media_type, sha256, bytes, person_id, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                lot,
                new.title,
                new.media_type,
                new.sha256,
                new.bytes,
                person,
                now
            )
            .execute(db)
            .await?
        }
        Of::Calibration(calibration) => {
            sqlx::query!(
                "INSERT INTO calibration_document (calibration_id, title, media_type, sha256, bytes, person_id, at)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
                calibration,
                new.title,
                new.media_type,
                new.sha256,
                new.bytes,
                person,
                now
            )
            .execute(db)
            .await?
        }
    };
    Ok(DocumentId(done.last_insert_rowid()))
}
