//! How much falls due and when, counted: by area and span of days, failed, without a window.
//! The due list itself, line by line, is in `due.rs`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::due::COUNTED;
use crate::record::AreaId;

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
/// later. Asked of the days gauges fall due on, so that the answer does not grow with gauges.
pub async fn spans(
    db: &mut SqliteConnection,
    today: Date,
    days: i64,
    last: i64,
) -> Result<Vec<Span>> {
    Ok(sqlx::query_as!(
        Span,
        r#"SELECT area_id AS "area_id!: AreaId",
             CAST(CASE WHEN latest_on < ?1 THEN -1
                  ELSE min((max(julianday(latest_on) - julianday(?1), 1) - 1) / ?2, ?3) END AS INTEGER) AS "at!: i64",
             sum(gauges) AS "gauges!: i64"
           FROM due_day GROUP BY 1, 2"#,
        today,
        days,
        last
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

/// How many gauges of the plant find no window before their date, counted up to [`COUNTED`].
pub async fn count_unplaced(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM (SELECT 1 FROM due INDEXED BY due_without_window WHERE pull = 'no-window' LIMIT ?1)",
        COUNTED
    )
    .fetch_one(db)
    .await?)
}
