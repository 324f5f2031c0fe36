//! The audit chain in the database: the last link, a new line, and the seals of rows. A seal's
//! text is made from the schema itself, which is why two statements here are not checked at compile time.

use sqlx::{Row, SqliteConnection};

use super::Result;
use crate::record::audit::{BEGINNING, Line, Seal, hex, sha256_hex};
use crate::record::{GaugeId, Moment, PersonId};

/// Tables whose rows are evidence or settings: every row in them carries a seal in the chain.
pub const SEALED: &[&str] = &[
    "plant",
    "person",
    "area",
    "service_class",
    "kit",
    "lot",
    "instrument",
    "calibration",
    "gauge",
    "rating_point",
    "nameplate_photo",
    "shutdown_window",
    "rebuild",
    "rebuild_move",
    "bench_entry",
    "stock_line",
    "failure",
    "look_over",
    "deferral",
    "pressure_test",
    "witnessing",
    "signing_key",
    "certificate",
    "certificate_paper",
    "instrument_use",
    "test_rule",
    "planned_test",
    "gas_request",
    "gas_answer",
    "recall",
    "recall_decision",
    "certificate_mark",
    "hold",
    "hold_reading",
    "storeroom_rule",
    "kit_terms",
    "class_rate",
    "class_cost",
    "kit_order",
    "kit_order_line",
    "order_receipt",
    "kit_alternative",
    "lot_document",
    "calibration_document",
    "window_choice",
    "deferral_request",
    "gasket_age",
    "re_torque",
    "bench_photo",
    "hand_over",
    "lot_move",
    "witness_asked",
    "witness_declined",
    "rebuild_day",
];

/// The number and hash of the last line; the beginning of the chain if there is none.
pub async fn last_link(db: &mut SqliteConnection) -> Result<(i64, [u8; 32])> {
    let last = sqlx::query!("SELECT id, hash FROM audit ORDER BY id DESC LIMIT 1")
        .fetch_optional(db)
        .await?;
    Ok(last.map_or((0, BEGINNING), |row| {
        (row.id, row.hash.try_into().unwrap_or(BEGINNING))
    }))
}

/// Writes a line with its hash.
pub async fn add(db: &mut SqliteConnection, line: &Line, hash: &[u8; 32]) -> Result<()> {
    let hash = hash.as_slice();
    sqlx::query!(
        "INSERT INTO audit (id, at, person_id, who, deed, subject, gauge_id, facts, hash) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        line.id,
        line.at,
        line.person_id,
        line.who,
        line.deed,
        line.subject,
        line.gauge_id,
        line.facts,
        hash
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Writes many lines with their hashes, in one statement.
pub async fn add_many(db: &mut SqliteConnection, lines: &[(Line, [u8; 32])]) -> Result<()> {
    let list: Vec<serde_json::Value> = lines
        .iter()
        .map(|(line, hash)| {
            serde_json::json!([
                line.id,
                line.at,
                line.person_id,
                line.who,
                line.deed,
                line.subject,
                line.gauge_id,
                line.facts,
                hex(hash)
            ])
        })
        .collect();
    let list = serde_json::to_string(&list)?;
    sqlx::query!(
        "INSERT INTO audit (id, at, person_id, who, deed, subject, gauge_id, facts, hash)
         SELECT value ->> 0, value ->> 1, value ->> 2, value ->> 3, value ->> 4, value ->> 5, value ->> 6, value ->> 7,
           unhex(value ->> 8)
         FROM json_each(?1)",
        list
    )
    .execute(db)
    .await?;
    Ok(())
}

/// One line of the chain as it stands in the database.
#[derive(Debug)]
pub struct Kept {
    /// The line.
    pub line: Line,
    /// The hash kept with it.
    pub hash: Vec<u8>,
}

/// The lines after a number, in order, at most so many.
pub async fn lines_after(db: &mut SqliteConnection, after: i64, most: i64) -> Result<Vec<Kept>> {
    let rows = sqlx::query!(
        "SELECT id, at, person_id, who, deed, subject, gauge_id, facts, hash FROM audit WHERE id > ?1 ORDER BY id LIMIT ?2",
        after,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Kept {
            line: Line {
                id: row.id,
                at: row.at,
                person_id: row.person_id,
                who: row.who,
                deed: row.deed,
                subject: row.subject,
                gauge_id: row.gauge_id,
                facts: row.facts,
            },
            hash: row.hash,
        })
        .collect())
}

/// A line as pages list it.
#[derive(Debug)]
pub struct Shown {
    /// Its number.
    pub id: i64,
    /// When.
    pub at: Moment,
    /// Who.
    pub who: String,
    /// What was done.
    pub deed: String,
    /// To what.
    pub subject: String,
    /// Before and after.
    pub facts: String,
}

/// The latest lines about one gauge, before a line number.
pub async fn of_gauge(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    before: i64,
    most: i64,
) -> Result<Vec<Shown>> {
    Ok(sqlx::query_as!(
        Shown,
        "SELECT id, at, who, deed, subject, facts FROM audit WHERE gauge_id = ?1 AND id < ?2 ORDER BY id DESC LIMIT ?3",
        gauge,
        before,
        most
    )
    .fetch_all(db)
    .await?)
}

/// The latest lines of the whole chain, before a line number.
pub async fn latest(db: &mut SqliteConnection, before: i64, most: i64) -> Result<Vec<Shown>> {
    Ok(sqlx::query_as!(
        Shown,
        "SELECT id, at, who, deed, subject, facts FROM audit WHERE id < ?1 ORDER BY id DESC LIMIT ?2",
        before,
        most
    )
    .fetch_all(db)
    .await?)
}

/// Who changed a subject last, for the message to a second saver.
pub async fn last_hand(db: &mut SqliteConnection, subject: &str) -> Result<String> {
    let who = sqlx::query_scalar!(
        "SELECT who FROM audit WHERE subject = ?1 ORDER BY id DESC LIMIT 1",
        subject
    )
    .fetch_optional(db)
    .await?;
    Ok(who.unwrap_or_else(|| "somebody else".to_owned()))
}

/// The statement that gives the canonical text of the rows of a table: every column that is not
/// NULL, by name, in the order of the schema. A later column that is NULL leaves old seals true.
///
/// `rating_point` has no row id of its own: its rows are sealed under their gauge.
pub async fn canonical_sql(db: &mut SqliteConnection, table: &'static str) -> Result<String> {
    let columns = sqlx::query(sqlx::AssertSqlSafe(format!(
        "SELECT name, type FROM pragma_table_xinfo('{table}') WHERE hidden = 0 ORDER BY cid"
    )))
    .fetch_all(db)
    .await?;
    let mut pairs = Vec::new();
    for column in columns {
        let name: String = column.try_get(0)?;
        let kind: String = column.try_get(1)?;
        // A password and its time are the person's own affair and no history.
        if table == "person" && name == "password_hash" {
            continue;
        }
        let value = if kind == "BLOB" {
            format!("hex({name})")
        } else {
            name.clone()
        };
        pairs.push(format!("'{name}', {value}"));
    }
    let object = format!("json_patch('{{}}', json_object({}))", pairs.join(", "));
    Ok(match table {
        "rating_point" => format!(
            "SELECT gauge_id, group_concat(line, ' ') FROM (SELECT gauge_id, {object} AS line FROM rating_point ORDER BY gauge_id, position)"
        ),
        "witnessing" => format!("SELECT test_id, {object} FROM witnessing"),
        "gas_answer" => format!("SELECT request_id, {object} FROM gas_answer"),
        _ => format!("SELECT id, {object} FROM {table}"),
    })
}

fn key_of(table: &str) -> &'static str {
    match table {
        "rating_point" => "gauge_id",
        "witnessing" => "test_id",
        "gas_answer" => "request_id",
        _ => "id",
    }
}

/// Seals one row as it stands now; nothing if there is no such row.
pub async fn seal(
    db: &mut SqliteConnection,
    table: &'static str,
    canonical: &str,
    id: i64,
) -> Result<Option<Seal>> {
    let sql = match table {
        "rating_point" => format!("{canonical} WHERE gauge_id = ?1 GROUP BY gauge_id"),
        _ => format!("{canonical} WHERE {} = ?1", key_of(table)),
    };
    let row = sqlx::query(sqlx::AssertSqlSafe(sql))
        .bind(id)
        .fetch_optional(db)
        .await?;
    row.map(|row| -> Result<Seal> {
        let text: String = row.try_get(1)?;
        Ok(Seal {
            table: table.to_owned(),
            id,
            sha256: sha256_hex(text.as_bytes()),
        })
    })
    .transpose()
}

/// Seals many rows of one table as they stand now, in one statement; rows that are not there have
/// no seal. The same text is hashed as in [`seal`].
pub async fn seal_many(
    db: &mut SqliteConnection,
    table: &'static str,
    canonical: &str,
    ids: &[i64],
) -> Result<Vec<Seal>> {
    let key = key_of(table);
    let group = if table == "rating_point" {
        " GROUP BY gauge_id"
    } else {
        ""
    };
    let sql = format!("{canonical} WHERE {key} IN (SELECT value FROM json_each(?1)){group}");
    let rows = sqlx::query(sqlx::AssertSqlSafe(sql))
        .bind(serde_json::to_string(ids)?)
        .fetch_all(db)
        .await?;
    rows.into_iter()
        .map(|row| {
            let text: String = row.try_get(1)?;
            Ok(Seal {
                table: table.to_owned(),
                id: row.try_get(0)?,
                sha256: sha256_hex(text.as_bytes()),
            })
        })
        .collect()
}

/// The name somebody had at a moment.
pub async fn person_name(
    db: &mut SqliteConnection,
    id: PersonId,
    at: Moment,
) -> Result<Option<String>> {
    Ok(sqlx::query_scalar!(
        "SELECT name FROM known_as WHERE person_id = ?1 AND since <= ?2 AND until > ?2",
        id,
        at
    )
    .fetch_optional(db)
    .await?)
}

/// One sealed row as it stands now.
#[derive(Debug)]
pub struct Standing {
    /// The row.
    pub id: i64,
    /// SHA-256 of its canonical text, in hexadecimal.
    pub sha256: String,
}

/// The rows of a sealed table after a row, in order, as they stand now.
pub async fn standing_after(
    db: &mut SqliteConnection,
    table: &'static str,
    canonical: &str,
    after: i64,
    most: i64,
) -> Result<Vec<Standing>> {
    let key = key_of(table);
    let group = if table == "rating_point" {
        "GROUP BY gauge_id"
    } else {
        ""
    };
    let sql = format!("{canonical} WHERE {key} > ?1 {group} ORDER BY {key} LIMIT ?2");
    let rows = sqlx::query(sqlx::AssertSqlSafe(sql))
        .bind(after)
        .bind(most)
        .fetch_all(db)
        .await?;
    rows.into_iter()
        .map(|row| {
            let text: String = row.try_get(1)?;
            Ok(Standing {
                id: row.try_get(0)?,
                sha256: sha256_hex(text.as_bytes()),
            })
        })
        .collect()
}

/// What SQLite itself finds wrong with the file; nothing where all is well.
pub async fn damage(db: &mut SqliteConnection) -> Result<Vec<String>> {
    let mut found: Vec<String> = sqlx::query_scalar("PRAGMA integrity_check(20)")
        .fetch_all(&mut *db)
        .await?;
    found.retain(|line| line != "ok");
    let loose = sqlx::query("PRAGMA foreign_key_check")
        .fetch_all(db)
        .await?;
    for row in loose {
        let table: String = row.try_get(0)?;
        let parent: String = row.try_get(2)?;
        found.push(format!(
            "a row of {table} points to a row of {parent} that is not there"
        ));
    }
    Ok(found)
}

/// Stock lines whose balance is not the balance before it plus its quantity.
pub async fn wrong_balances(db: &mut SqliteConnection) -> Result<Vec<i64>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT id AS "id!: i64" FROM (
             SELECT id, balance, sum(quantity) OVER (PARTITION BY lot_id ORDER BY id) AS running FROM stock_line)
           WHERE balance <> running LIMIT 20"#
    )
    .fetch_all(db)
    .await?)
}
