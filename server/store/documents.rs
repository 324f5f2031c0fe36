//! The papers that came with a lot: material certificates, declarations, delivery notes.
//! Whether a file is one of these kinds is decided where it comes in.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::{DocumentId, LotId, Moment, PersonId};

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

/// The papers of a lot, in order.
pub async fn of_lot(db: &mut SqliteConnection, lot: LotId) -> Result<Vec<Document>> {
    Ok(sqlx::query_as!(
        Document,
        r#"SELECT d.id, d.title, d.media_type, length(d.bytes) AS "length!: i64", lower(hex(d.sha256)) AS "mark!: String",

             coalesce((SELECT n.who FROM audit n WHERE n.person_id = d.person_id AND n.at <= d.at ORDER BY n.at DESC, n.id DESC LIMIT 1), p.name) AS "person!: String", d.at
           FROM lot_document d JOIN person p ON p.id = d.person_id WHERE d.lot_id = ?1 ORDER BY d.id LIMIT 100"#,
        lot
    )
    .fetch_all(db)
    .await?)
}

/// The media type and the bytes of a lot's paper with this mark.
pub async fn bytes(
    db: &mut SqliteConnection,
    lot: LotId,
    mark: &[u8],
) -> Result<Option<(String, Vec<u8>)>> {
    let row = sqlx::query!(
        "SELECT media_type, bytes FROM lot_document WHERE lot_id = ?1 AND sha256 = ?2 ORDER BY id LIMIT 1",
        lot,
        mark
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| (row.media_type, row.bytes)))
}

/// A paper about to be kept.
#[derive(Debug, Clone)]
pub struct NewDocument<'a> {
    /// The lot.
    pub lot: LotId,
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
    let id = sqlx::query!(
        "INSERT INTO lot_document (lot_id, title, media_type, sha256, bytes, person_id, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        new.lot,
        new.title,
        new.media_type,
        new.sha256,
        new.bytes,
        person,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(DocumentId(id))
}
