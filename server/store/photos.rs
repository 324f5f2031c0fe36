//! Photographs of nameplates, as they were made ready when they came in.
//! How an upload is checked and made smaller is not known here.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::{GaugeId, Moment, PersonId, PhotoId};

/// A photograph without its bytes.
#[derive(Debug, Clone)]
pub struct Photo {
    /// The row.
    pub id: PhotoId,
    /// When it was added.
    pub at: Moment,
    /// Who added it.
    pub person: String,
    /// Its width in pixels.
    pub width: i64,
    /// Its height in pixels.
    pub height: i64,
    /// The mark of its content.
    pub mark: String,
}

/// The photographs of a gauge's nameplate, the latest first.
pub async fn of_gauge(db: &mut SqliteConnection, gauge: GaugeId, most: i64) -> Result<Vec<Photo>> {
    Ok(sqlx::query_as!(
        Photo,
        r#"SELECT n.id, n.at,
             p.name AS "person!: String", n.width, n.height, lower(hex(n.sha256)) AS "mark!: String"
           FROM nameplate_photo n JOIN known_as p ON p.person_id = n.person_id AND p.since <= n.at AND p.until > n.at WHERE n.gauge_id = ?1 ORDER BY n.id DESC LIMIT ?2"#,
        gauge,
        most
    )
    .fetch_all(db)
    .await?)
}

/// The bytes of a gauge's photograph with this mark, large or small.
pub async fn bytes(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    mark: &[u8],
    small: bool,
) -> Result<Option<Vec<u8>>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT CASE WHEN ?3 THEN small_jpeg ELSE jpeg END AS "bytes!: Vec<u8>"
           FROM nameplate_photo WHERE gauge_id = ?1 AND sha256 = ?2 ORDER BY id DESC LIMIT 1"#,
        gauge,
        mark,
        small
    )
    .fetch_optional(db)
    .await?)
}

/// A photograph about to be kept.
#[derive(Debug, Clone)]
pub struct NewPhoto<'a> {
    /// The gauge.
    pub gauge: GaugeId,
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
    photo: &NewPhoto<'_>,
    person: PersonId,
    now: Moment,
) -> Result<PhotoId> {
    let id = sqlx::query!(
        "INSERT INTO nameplate_photo (gauge_id, at, person_id, width, height, sha256, jpeg, small_jpeg) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        photo.gauge,
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
