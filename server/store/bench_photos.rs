//! Photographs taken at the bench, part of the record of a rebuild.
//! How an upload is checked and made smaller is not known here.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::{Moment, PersonId, PhotoId, RebuildId};

/// A photograph without its bytes.
#[derive(Debug, Clone)]
pub struct BenchPhoto {
    /// The row.
    pub id: PhotoId,
    /// The section it shows; none for the whole gauge.
    pub section: Option<i64>,
    /// What it shows.
    pub caption: String,
    /// When it was added.
    pub at: Moment,
    /// Who added it.
    pub person: String,
    /// The mark of its content.
    pub mark: String,
}

/// The photographs of a rebuild, in order.
pub async fn of_rebuild(db: &mut SqliteConnection, rebuild: RebuildId) -> Result<Vec<BenchPhoto>> {
    Ok(sqlx::query_as!(
        BenchPhoto,
        r#"SELECT b.id, b.section, b.caption, b.at,
             p.name AS "person!: String", lower(hex(b.sha256)) AS "mark!: String"
           FROM bench_photo b JOIN known_as p ON p.person_id = b.person_id AND p.since <= b.at AND p.until > b.at WHERE b.rebuild_id = ?1 ORDER BY b.id"#,
        rebuild
    )
    .fetch_all(db)
    .await?)
}

/// The bytes of a rebuild's photograph with this mark, large or small.
pub async fn bytes(
    db: &mut SqliteConnection,
    rebuild: RebuildId,
    mark: &[u8],
    small: bool,
) -> Result<Option<Vec<u8>>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT CASE WHEN ?3 THEN small_jpeg ELSE jpeg END AS "bytes!: Vec<u8>"
           FROM bench_photo WHERE rebuild_id = ?1 AND sha256 = ?2 ORDER BY id LIMIT 1"#,
        rebuild,
        mark,
        small
    )
    .fetch_optional(db)
    .await?)
}

/// A photograph about to be kept.
#[derive(Debug, Clone)]
pub struct NewBenchPhoto<'a> {
    /// The rebuild.
    pub rebuild: RebuildId,
    /// The section it shows.
    pub section: Option<u8>,
    /// What it shows.
    pub caption: &'a str,
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// SHA-256 of the large picture.
    pub sha256: &'a [u8],
    /// The large picture, JPEG.
    pub jpeg: &'a [u8],
    /// The small picture, JPEG.
    pub small_jpeg: &'a [u8],
}

/// Keeps a photograph.
pub async fn add(
    db: &mut SqliteConnection,
    photo: &NewBenchPhoto<'_>,
    person: PersonId,
    now: Moment,
) -> Result<PhotoId> {
    let id = sqlx::query!(
        "INSERT INTO bench_photo (rebuild_id, section, caption, at, person_id, width, height, sha256, jpeg, small_jpeg)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
        photo.rebuild,
        photo.section,
        photo.caption,
        now,
        person,
        photo.width,
        photo.height,
        photo.sha256,
        photo.jpeg,
        photo.small_jpeg
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(PhotoId(id))
}
