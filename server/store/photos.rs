//! Photographs as they were made ready when they came in: of nameplates, and of work at the bench, which
//! are part of the record of a rebuild. How an upload is checked and made smaller is not known here.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::{GaugeId, Moment, PersonId, PhotoId, RebuildId};

/// A photograph without its bytes.
#[derive(Debug, Clone)]
pub struct Photo {
    /// The row.
    pub id: PhotoId,
    /// The section it shows; none for the whole gauge, and for a nameplate.
    pub section: Option<i64>,
    /// What it shows; nothing is written of a nameplate.
    pub caption: String,
    /// When it was added.
    pub at: Moment,
    /// Who added it.
    pub person: String,
    /// The mark of its content.
    pub mark: String,
}

/// What was photographed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// The nameplate of a gauge.
    Nameplate(GaugeId),
    /// A rebuild at the bench.
    Rebuild(RebuildId),
}

/// The photographs of a gauge's nameplate, the latest first.
pub async fn of_gauge(db: &mut SqliteConnection, gauge: GaugeId, most: i64) -> Result<Vec<Photo>> {
    Ok(sqlx::query_as!(
        Photo,
        r#"SELECT n.id, NULL AS "section: i64", '' AS "caption!: String", n.at,
             p.name AS "person!: String", lower(hex(n.sha256)) AS "mark!: String"
           FROM nameplate_photo n JOIN known_as p ON p.person_id = n.person_id AND p.since <= n.at AND p.until > n.at WHERE n.gauge_id = ?1 ORDER BY n.id DESC LIMIT ?2"#,
        gauge,
        most
    )
    .fetch_all(db)
    .await?)
}

/// The photographs of a rebuild, in order.
pub async fn of_rebuild(db: &mut SqliteConnection, rebuild: RebuildId) -> Result<Vec<Photo>> {
    Ok(sqlx::query_as!(
        Photo,
        r#"SELECT b.id, b.section, b.caption, b.at,
             p.name AS "person!: String", lower(hex(b.sha256)) AS "mark!: String"
           FROM bench_photo b JOIN known_as p ON p.person_id = b.person_id AND p.since <= b.at AND p.until > b.at WHERE b.rebuild_id = ?1 ORDER BY b.id"#,
        rebuild
    )
    .fetch_all(db)
    .await?)
}

/// The bytes of the photograph with this mark, large or small.
pub async fn bytes(
    db: &mut SqliteConnection,
    of: Of,
    mark: &[u8],
    small: bool,
) -> Result<Option<Vec<u8>>> {
    Ok(match of {
        Of::Nameplate(gauge) => {
            sqlx::query_scalar!(
                r#"SELECT CASE WHEN ?3 THEN small_jpeg ELSE jpeg END AS "bytes!: Vec<u8>"
                   FROM nameplate_photo WHERE gauge_id = ?1 AND sha256 = ?2 ORDER BY id DESC LIMIT 1"#,
                gauge,
                mark,
                small
            )
            .fetch_optional(db)
            .await?
        }
        Of::Rebuild(rebuild) => {
            sqlx::query_scalar!(
                r#"SELECT CASE WHEN ?3 THEN small_jpeg ELSE jpeg END AS "bytes!: Vec<u8>"
                   FROM bench_photo WHERE rebuild_id = ?1 AND sha256 = ?2 ORDER BY id LIMIT 1"#,
                rebuild,
                mark,
                small
            )
            .fetch_optional(db)
            .await?
        }
    })
}

/// A photograph about to be kept.
#[derive(Debug, Clone)]
pub struct NewPhoto<'a> {
    /// What it is of.
    pub of: Of,
    /// The section it shows and what it shows, at the bench.
    pub shows: (Option<u8>, &'a str),
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
    let done = match photo.of {
        Of::Nameplate(gauge) => {
            sqlx::query!(
                "INSERT INTO nameplate_photo (gauge_id, at, person_id, width, height, sha256, jpeg, small_jpeg) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
                gauge,
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
        }
        Of::Rebuild(rebuild) => {
            let (section, caption) = photo.shows;
            sqlx::query!(
                "INSERT INTO bench_photo (rebuild_id, section, caption, at, person_id, width, height, sha256, jpeg, small_jpeg)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
                rebuild,
                section,
                caption,
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
        }
    };
    Ok(PhotoId(done.last_insert_rowid()))
}
