//! One word looked for in everything people know by a number: gauges, kits, lots, instruments, tests,
//! certificates and orders. Each question is served by an index and answers a few lines at most.

use sqlx::SqliteConnection;

use super::Result;
use super::gauge_list::match_words;

/// One thing that was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// The number it is known by.
    pub number: String,
    /// The number of what it belongs to: a lot's kit.
    pub of: String,
    /// What tells it from the others.
    pub says: String,
}

macro_rules! found {
    ($db:expr, $sql:literal $(, $value:expr)*) => {
        sqlx::query_as!(Found, $sql $(, $value)*).fetch_all($db).await?
    };
}

/// The end of all numbers that begin so: no number holds the last character of all.
fn end(typed: &str) -> String {
    format!("{typed}\u{10ffff}")
}

/// A pattern for LIKE that finds a piece of text, whatever signs it holds.
fn piece(typed: &str) -> String {
    let mut pattern = String::from("%");
    for sign in typed.chars() {
        if matches!(sign, '%' | '_' | '\\') {
            pattern.push('\\');
        }
        pattern.push(sign);
    }
    pattern.push('%');
    pattern
}

/// Gauges by words of tag, vessel, service, maker and order number; retired ones too.
pub async fn gauges(db: &mut SqliteConnection, typed: &str, most: i64) -> Result<Vec<Found>> {
    let words = match_words(typed);
    if words.is_empty() {
        return Ok(Vec::new());
    }
    Ok(found!(
        db,
        r#"SELECT g.tag AS "number!: String", '' AS "of!: String",
             trim(g.vessel || ' ' || g.service) || CASE g.standing WHEN 'in-service' THEN '' ELSE ', ' || g.standing END AS "says!: String"
           FROM gauge_words w JOIN gauge g ON g.id = w.rowid WHERE w.gauge_words MATCH ?1 LIMIT ?2"#,
        words,
        most
    ))
}

/// The gauge of exactly that tag.
pub async fn gauge(db: &mut SqliteConnection, tag: &str) -> Result<Option<String>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT tag AS "tag!: String" FROM gauge WHERE tag = ?1"#,
        tag
    )
    .fetch_optional(db)
    .await?)
}

/// Kits by a piece of number or name. A plant has hundreds of kits, not thousands.
pub async fn kits(db: &mut SqliteConnection, typed: &str, most: i64) -> Result<Vec<Found>> {
    let piece = piece(typed);
    Ok(found!(
        db,
        r#"SELECT number AS "number!: String", '' AS "of!: String", name AS "says!: String" FROM kit
           WHERE number LIKE ?1 ESCAPE '\' OR name LIKE ?1 ESCAPE '\' ORDER BY number LIMIT ?2"#,
        piece,
        most
    ))
}

/// Lots whose number begins so.
pub async fn lots(db: &mut SqliteConnection, typed: &str, most: i64) -> Result<Vec<Found>> {
    let end = end(typed);
    Ok(found!(
        db,
        r#"SELECT l.number AS "number!: String", k.number AS "of!: String", 'of kit ' || k.number AS "says!: String"
           FROM lot l JOIN kit k ON k.id = l.kit_id WHERE l.number >= ?1 AND l.number < ?2 ORDER BY l.number LIMIT ?3"#,
        typed,
        end,
        most
    ))
}

/// Instruments by a piece of number or description. A plant has hundreds of them at most.
pub async fn instruments(db: &mut SqliteConnection, typed: &str, most: i64) -> Result<Vec<Found>> {
    let piece = piece(typed);
    Ok(found!(
        db,
        r#"SELECT number AS "number!: String", '' AS "of!: String",
             replace(kind, '-', ' ') || CASE description WHEN '' THEN '' ELSE ', ' || description END || CASE WHEN retired_at IS NULL THEN '' ELSE ', retired' END AS "says!: String"
           FROM instrument WHERE number LIKE ?1 ESCAPE '\' OR description LIKE ?1 ESCAPE '\' ORDER BY number LIMIT ?2"#,
        piece,
        most
    ))
}

/// Pressure tests whose number begins so, or of that year and ordinal.
pub async fn tests(
    db: &mut SqliteConnection,
    typed: &str,
    in_year: Option<(i64, i64)>,
    most: i64,
) -> Result<Vec<Found>> {
    let (year, ordinal) = in_year.unzip();
    let end = end(typed);
    Ok(found!(
        db,
        r#"SELECT t.number AS "number!: String", '' AS "of!: String", g.tag || ', ' || t.tested_on || ', ' || t.result AS "says!: String"
           FROM pressure_test t JOIN gauge g ON g.id = t.gauge_id
           WHERE (t.number >= ?1 AND t.number < ?2) OR (t.year = ?3 AND t.ordinal = ?4) ORDER BY t.number LIMIT ?5"#,
        typed,
        end,
        year,
        ordinal,
        most
    ))
}

/// Certificates whose number begins so, of that year and ordinal, or whose short code stands for
/// the beginning of that hash.
pub async fn certificates(
    db: &mut SqliteConnection,
    typed: &str,
    in_year: Option<(i64, i64)>,
    hash: Option<&str>,
    most: i64,
) -> Result<Vec<Found>> {
    let (year, ordinal) = in_year.unzip();
    let end_of_numbers = end(typed);
    let end_of_hashes = hash.map(|hash| format!("{hash}g"));
    Ok(found!(
        db,
        r#"SELECT c.number AS "number!: String", '' AS "of!: String", g.tag || ', issued ' || substr(c.issued_at, 1, 10) AS "says!: String"
           FROM certificate c JOIN pressure_test t ON t.id = c.test_id JOIN gauge g ON g.id = t.gauge_id
           WHERE (c.number >= ?1 AND c.number < ?2) OR (c.year = ?3 AND c.ordinal = ?4) OR (c.sha256 >= ?5 AND c.sha256 < ?6)
           ORDER BY c.number LIMIT ?7"#,
        typed,
        end_of_numbers,
        year,
        ordinal,
        hash,
        end_of_hashes,
        most
    ))
}

/// Orders whose number begins so.
pub async fn orders(db: &mut SqliteConnection, typed: &str, most: i64) -> Result<Vec<Found>> {
    let end = end(typed);
    Ok(found!(
        db,
        r#"SELECT number AS "number!: String", '' AS "of!: String", trim(supplier || ' ' || state) AS "says!: String"
           FROM kit_order WHERE number >= ?1 AND number < ?2 ORDER BY number LIMIT ?3"#,
        typed,
        end,
        most
    ))
}
