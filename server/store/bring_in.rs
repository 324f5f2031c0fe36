//! Plants' lists on their way in: the file, the table read from it, how its columns were matched
//! and what became of it. What a list may become is decided in `acts`.

use sqlx::SqliteConnection;

use super::Result;
use super::due::COUNTED;
use crate::record::{BringInId, Moment, PersonId};

/// A list without its bytes.
#[derive(Debug, Clone)]
pub struct Upload {
    /// The row.
    pub id: BringInId,
    /// Who chose the file.
    pub person_id: PersonId,
    /// Their name.
    pub person: String,
    /// When.
    pub at: Moment,
    /// The file's name.
    pub file_name: String,
    /// SHA-256 of the file, in hexadecimal.
    pub sha256: Option<String>,
    /// How the file was read, as JSON.
    pub found: Option<String>,
    /// How its columns were matched, as JSON; none before a person did.
    pub matching: Option<String>,
    /// Lines below the headings.
    pub lines: Option<i64>,
    /// When it was taken in.
    pub accepted_at: Option<Moment>,
    /// Gauges taken in from it.
    pub accepted_rows: Option<i64>,
    /// Lines that were refused.
    pub refused_rows: Option<i64>,
    /// Lines that were no gauges.
    pub passed_over_rows: Option<i64>,
    /// When it was left without taking anything.
    pub left_at: Option<Moment>,
    /// Who took it in or left it.
    pub closed_by: Option<String>,
    /// Whether the file is still kept.
    pub has_file: bool,
    /// Whether the refused lines are still kept.
    pub has_refused: bool,
}

macro_rules! uploads {
    ($which:literal, $($with:expr),*) => {
        sqlx::query_as!(
            Upload,
            r#"SELECT b.id, b.person_id,
                 p.name AS "person!: String", b.at, b.file_name, b.sha256, b.found, b.matching, b.lines,
                 b.accepted_at, b.accepted_rows, b.refused_rows, b.passed_over_rows, b.left_at,
                 (SELECT c.name
                  FROM known_as c WHERE c.person_id = b.closed_by AND c.since <= coalesce(b.accepted_at, b.left_at)
                    AND c.until > coalesce(b.accepted_at, b.left_at)) AS "closed_by?: String",
                 length(b.bytes) > 0 AS "has_file!: bool", b.refused IS NOT NULL AS "has_refused!: bool"
               FROM bring_in b JOIN known_as p ON p.person_id = b.person_id AND p.since <= b.at AND p.until > b.at "#
                + $which,
            $($with),*
        )
    };
}

/// One list.
pub async fn find(db: &mut SqliteConnection, id: BringInId) -> Result<Option<Upload>> {
    Ok(uploads!("WHERE b.id = ?1", id).fetch_optional(db).await?)
}

/// The latest lists.
pub async fn latest(db: &mut SqliteConnection, most: i64) -> Result<Vec<Upload>> {
    Ok(uploads!("ORDER BY b.id DESC LIMIT ?1", most)
        .fetch_all(db)
        .await?)
}

/// Of how many gauges lists only let assume how they are isolated, counted up to [`COUNTED`].
pub async fn count_isolation_assumed(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM (SELECT 1 FROM gauge INDEXED BY gauge_isolation_assumed
           WHERE instr(assumed, 'isolation') > 0 AND standing <> 'retired' LIMIT ?1)",
        COUNTED
    )
    .fetch_one(db)
    .await?)
}

/// What is kept of a new list.
#[derive(Debug)]
pub struct New<'a> {
    /// Who chose the file.
    pub person: PersonId,
    /// When.
    pub at: Moment,
    /// The file's name.
    pub file_name: &'a str,
    /// The file as it came.
    pub bytes: &'a [u8],
    /// Its SHA-256 in hexadecimal.
    pub sha256: &'a str,
}

/// What was read from a file.
#[derive(Debug)]
pub struct Read<'a> {
    /// How it was read, as JSON.
    pub found: &'a str,
    /// What its headings are recognised by.
    pub heading_key: &'a str,
    /// Lines below the headings.
    pub lines: i64,
    /// The table.
    pub kept: &'a [u8],
}

/// Adds a list.
pub async fn add(db: &mut SqliteConnection, new: &New<'_>, read: &Read<'_>) -> Result<BringInId> {
    let id = sqlx::query!(
        "INSERT INTO bring_in (person_id, at, file_name, bytes, sha256, found, heading_key, lines, kept)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        new.person,
        new.at,
        new.file_name,
        new.bytes,
        new.sha256,
        read.found,
        read.heading_key,
        read.lines,
        read.kept
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(BringInId(id))
}

/// The file as it came; empty once it is forgotten.
pub async fn file(db: &mut SqliteConnection, id: BringInId) -> Result<Vec<u8>> {
    Ok(
        sqlx::query_scalar!("SELECT bytes FROM bring_in WHERE id = ?1", id)
            .fetch_optional(db)
            .await?
            .unwrap_or_default(),
    )
}

/// The table read from the file; nothing once it is forgotten.
pub async fn table(db: &mut SqliteConnection, id: BringInId) -> Result<Option<Vec<u8>>> {
    Ok(
        sqlx::query_scalar!("SELECT kept FROM bring_in WHERE id = ?1", id)
            .fetch_optional(db)
            .await?
            .flatten(),
    )
}

/// The refused lines; nothing once they are forgotten.
pub async fn refused(db: &mut SqliteConnection, id: BringInId) -> Result<Option<Vec<u8>>> {
    Ok(
        sqlx::query_scalar!("SELECT refused FROM bring_in WHERE id = ?1", id)
            .fetch_optional(db)
            .await?
            .flatten(),
    )
}

/// Keeps a table read anew from the same file; how its columns were matched no longer holds.
pub async fn read_again(db: &mut SqliteConnection, id: BringInId, read: &Read<'_>) -> Result<()> {
    sqlx::query!(
        "UPDATE bring_in SET found = ?2, heading_key = ?3, lines = ?4, kept = ?5, matching = NULL WHERE id = ?1",
        id,
        read.found,
        read.heading_key,
        read.lines,
        read.kept
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Keeps how the columns were matched.
pub async fn put_matching(db: &mut SqliteConnection, id: BringInId, matching: &str) -> Result<()> {
    sqlx::query!(
        "UPDATE bring_in SET matching = ?2 WHERE id = ?1",
        id,
        matching
    )
    .execute(db)
    .await?;
    Ok(())
}

/// How the columns of the latest other list with the same headings were matched.
pub async fn matching_like(db: &mut SqliteConnection, id: BringInId) -> Result<Option<String>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT e.matching AS "matching!: String" FROM bring_in b JOIN bring_in e ON e.heading_key = b.heading_key
           WHERE b.id = ?1 AND e.id <> b.id AND e.matching IS NOT NULL ORDER BY e.id DESC LIMIT 1"#,
        id
    )
    .fetch_optional(db)
    .await?)
}

/// What became of a list that was taken in.
#[derive(Debug)]
pub struct Taken<'a> {
    /// Gauges taken in.
    pub accepted: i64,
    /// Lines refused.
    pub refused_rows: i64,
    /// Lines that were no gauges.
    pub passed_over: i64,
    /// The refused lines as a file to mend; none if there are none.
    pub refused: Option<&'a [u8]>,
}

/// Notes that a list was taken in, and forgets its file.
pub async fn take(
    db: &mut SqliteConnection,
    id: BringInId,
    by: (PersonId, Moment),
    taken: &Taken<'_>,
) -> Result<()> {
    let (person, at) = by;
    sqlx::query!(
        "UPDATE bring_in SET accepted_at = ?2, closed_by = ?3, accepted_rows = ?4, refused_rows = ?5, passed_over_rows = ?6,
           refused = ?7, bytes = x'', kept = NULL WHERE id = ?1",
        id,
        at,
        person,
        taken.accepted,
        taken.refused_rows,
        taken.passed_over,
        taken.refused
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Notes that a list was left without taking anything, and forgets its file.
pub async fn leave(db: &mut SqliteConnection, id: BringInId, by: (PersonId, Moment)) -> Result<()> {
    let (person, at) = by;
    sqlx::query!(
        "UPDATE bring_in SET left_at = ?2, closed_by = ?3, bytes = x'', kept = NULL WHERE id = ?1",
        id,
        at,
        person
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Forgets files, tables and refused lines of lists that came before a moment; how many.
pub async fn forget_before(db: &mut SqliteConnection, moment: Moment) -> Result<u64> {
    let done = sqlx::query!(
        "UPDATE bring_in SET bytes = x'', kept = NULL, refused = NULL
         WHERE at < ?1 AND (length(bytes) > 0 OR refused IS NOT NULL)",
        moment
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected())
}
