//! How much falls due and when, counted: by area and span of days, failed, without a window.
//! The due list itself, line by line, is in `due.rs`.

use sqlx::SqliteConnection;
use time::{Date, Duration};

use super::Result;
use super::due::COUNTED;
use super::windows::{Bound, Window};
use crate::calc::due::Rule;
use crate::record::{AreaId, GaugeId, TagNumber};

/// How many gauges of an area fall due in a span of days.
#[derive(Debug, Clone, Copy)]
pub struct Span {
    /// The area.
    pub area_id: AreaId,
    /// Which span: -1 before today, 0 today and the days after it, and so on.
    pub at: i64,
    /// How many.
    pub gauges: i64,
}

/// Gauges falling due by area and span of days from today on, the last span holding all that is
/// later. Asked of the days gauges fall due on, so that the answer does not grow with gauges; each
/// span is one walk of an index, since reckoning with every single day would cost more than reading it.
pub async fn spans(
    db: &mut SqliteConnection,
    today: Date,
    days: i64,
    last: i64,
) -> Result<Vec<Span>> {
    // A day belongs to the span it is the last day of: "within 30 days" takes the thirtieth.
    let begins = |at: i64| match at {
        -1 => String::new(),
        0 => today.to_string(),
        _ => today
            .saturating_add(Duration::days(at * days + 1))
            .to_string(),
    };
    let edges: Vec<_> = (-1..=last)
        .map(|at| {
            let ends = if at == last {
                "~".to_owned()
            } else {
                begins(at + 1)
            };
            serde_json::json!([at, begins(at), ends])
        })
        .collect();
    let edges = serde_json::Value::Array(edges).to_string();
    Ok(sqlx::query_as!(
        Span,
        r#"SELECT a.id AS "area_id!: AreaId", j.value ->> 0 AS "at!: i64",
             coalesce((SELECT sum(d.gauges) FROM due_day d
               WHERE d.area_id = a.id AND d.latest_on >= j.value ->> 1 AND d.latest_on < j.value ->> 2), 0) AS "gauges!: i64"
           FROM area a CROSS JOIN json_each(?1) j"#,
        edges
    )
    .fetch_all(db)
    .await?)
}

/// How many areas and days have another count kept than gauges fall due there and then.
pub async fn wrong_days(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM (
             SELECT area_id, latest_on, gauges FROM due_day
             EXCEPT SELECT area_id, latest_on, count(*) FROM due GROUP BY area_id, latest_on
             UNION ALL
             SELECT * FROM (SELECT area_id, latest_on, count(*) FROM due GROUP BY area_id, latest_on
             EXCEPT SELECT area_id, latest_on, gauges FROM due_day))"#
    )
    .fetch_one(db)
    .await?)
}

/// How many gauges in service no rule gives a date, counted up to [`COUNTED`], and whether any has one.
pub async fn count_undated(db: &mut SqliteConnection) -> Result<(i64, bool)> {
    let row = sqlx::query!(
        r#"SELECT (SELECT count(*) FROM (SELECT 1 FROM undated LIMIT ?1)) AS "undated!: i64",
             EXISTS (SELECT 1 FROM due) AS "dated!: bool""#,
        COUNTED
    )
    .fetch_one(db)
    .await?;
    Ok((row.undated, row.dated))
}

/// How many gauges are kept as without a date and have one or are not in service, or the other way round.
pub async fn wrong_undated(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM (
             SELECT * FROM (SELECT gauge_id, tag COLLATE BINARY FROM undated
             EXCEPT SELECT g.id, g.tag COLLATE BINARY FROM gauge g
               WHERE g.standing = 'in-service' AND NOT EXISTS (SELECT 1 FROM due d WHERE d.gauge_id = g.id))
             UNION ALL
             SELECT * FROM (SELECT g.id, g.tag COLLATE BINARY FROM gauge g
               WHERE g.standing = 'in-service' AND NOT EXISTS (SELECT 1 FROM due d WHERE d.gauge_id = g.id)
             EXCEPT SELECT gauge_id, tag COLLATE BINARY FROM undated))"#
    )
    .fetch_one(db)
    .await?)
}

/// How many gauges have a failure that no rebuild has answered, counted up to [`COUNTED`].
pub async fn count_failed(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM (SELECT DISTINCT gauge_id FROM failure INDEXED BY failure_open WHERE rebuild_id IS NULL AND taken_back_at IS NULL LIMIT ?1)",
        COUNTED
    )
    .fetch_one(db)
    .await?)
}

/// How many gauges are to be tested again for a withdrawn certificate, counted up to [`COUNTED`].
pub async fn count_withdrawn(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM (SELECT 1 FROM due INDEXED BY due_withdrawn WHERE withdrawn_on IS NOT NULL LIMIT ?1)",
        COUNTED
    )
    .fetch_one(db)
    .await?)
}

/// How many gauges a rule governs with a date before a day, counted up to [`COUNTED`].
pub async fn count_governed(db: &mut SqliteConnection, rule: Rule, before: Date) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM (SELECT 1 FROM due INDEXED BY due_rule WHERE rule = ?1 AND latest_on < ?2 LIMIT ?3)",
        rule,
        before,
        COUNTED
    )
    .fetch_one(db)
    .await?)
}

/// How many gauges of the plant find no window before their date, counted up to [`COUNTED`].
pub async fn count_unplaced(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM (SELECT 1 FROM due INDEXED BY due_without_window WHERE pull = 'no-window' LIMIT ?1)",
        COUNTED
    )
    .fetch_one(db)
    .await?)
}

/// How many gauges each of some windows has to take, in their order, each counted up to [`COUNTED`].
pub async fn in_windows(db: &mut SqliteConnection, windows: &[Window]) -> Result<Vec<i64>> {
    let list: Vec<_> = windows
        .iter()
        .map(|window| serde_json::json!([window.area_id, window.ends_on.to_string()]))
        .collect();
    let list = serde_json::Value::Array(list).to_string();
    Ok(sqlx::query_scalar!(
        r#"SELECT (SELECT count(*) FROM (SELECT 1 FROM due d INDEXED BY due_in_window
             WHERE d.area_id = j.value ->> 0 AND d.window_ends_on = j.value ->> 1 LIMIT ?2)) AS "count!: i64"
           FROM json_each(?1) j ORDER BY j.key"#,
        list,
        COUNTED
    )
    .fetch_all(db)
    .await?)
}

/// The areas with gauges that find no window before their date, by name, and how many they are, each
/// counted up to [`COUNTED`].
pub async fn count_without_window(db: &mut SqliteConnection) -> Result<Vec<(AreaId, String, i64)>> {
    let rows = sqlx::query!(
        r#"SELECT a.id AS "id!: AreaId", a.name AS "name!: String",
             (SELECT count(*) FROM (SELECT 1 FROM due d INDEXED BY due_without_window
                WHERE d.area_id = a.id AND d.pull = 'no-window' LIMIT ?1)) AS "count!: i64"
           FROM area a ORDER BY a.name"#,
        COUNTED
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .filter(|row| row.count > 0)
        .map(|row| (row.id, row.name, row.count))
        .collect())
}

/// The gauges that find no window before their date: of each area the soonest few.
pub async fn without_window(db: &mut SqliteConnection, of_each: i64) -> Result<Vec<Bound>> {
    Ok(sqlx::query_as!(
        Bound,
        r#"SELECT d.gauge_id AS "gauge_id!: GaugeId", d.area_id AS "area_id!: AreaId", g.tag AS "tag!: TagNumber", g.vessel AS "vessel!: String",
             g.service AS "service!: String", k.number AS "kit?: String", g.kits_per_rebuild AS "kits_per_rebuild!: i64",
             d.work_rule AS "work_rule?: Rule", d.work_date AS "work_date?: Date"
           FROM area a CROSS JOIN due d ON d.gauge_id IN (
               SELECT x.gauge_id FROM due x INDEXED BY due_without_window
               WHERE x.area_id = a.id AND x.pull = 'no-window' ORDER BY x.latest_on, x.gauge_id LIMIT ?1)
             CROSS JOIN gauge g ON g.id = d.gauge_id LEFT JOIN kit k ON k.id = g.kit_id
           ORDER BY d.latest_on, d.gauge_id"#,
        of_each
    )
    .fetch_all(db)
    .await?)
}
