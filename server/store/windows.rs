//! Shutdown windows by area.
//! What they do to due dates is decided in `calc::due`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::record::{AreaId, GaugeId, WindowId};

/// A shutdown window.
#[derive(Debug, Clone)]
pub struct Window {
    /// The row.
    pub id: WindowId,
    /// Its area's row.
    pub area_id: AreaId,
    /// The area that stands.
    pub area: String,
    /// What it is called.
    pub name: String,
    /// Its first day.
    pub starts_on: Date,
    /// Its last day.
    pub ends_on: Date,
    /// Counts the changes.
    pub version: i64,
}

/// The windows that end on or after a day, by their first day.
pub async fn from(db: &mut SqliteConnection, day: Date) -> Result<Vec<Window>> {
    Ok(sqlx::query_as!(
        Window,
        "SELECT w.id, w.area_id, a.name AS area, w.name, w.starts_on, w.ends_on, w.version
         FROM shutdown_window w JOIN area a ON a.id = w.area_id WHERE w.ends_on >= ?1 ORDER BY w.starts_on, w.id LIMIT 500",
        day
    )
    .fetch_all(db)
    .await?)
}

/// Adds a window.
pub async fn add(
    db: &mut SqliteConnection,
    area: AreaId,
    name: &str,
    starts_on: Date,
    ends_on: Date,
) -> Result<WindowId> {
    let id = sqlx::query!(
        "INSERT INTO shutdown_window (area_id, name, starts_on, ends_on) VALUES (?1, ?2, ?3, ?4)",
        area,
        name,
        starts_on,
        ends_on
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(WindowId(id))
}

/// The gauges of an area whose due date a window can move.
pub async fn gauges_bound_to(db: &mut SqliteConnection, area: AreaId) -> Result<Vec<GaugeId>> {
    Ok(sqlx::query_scalar!(
        "SELECT id FROM gauge WHERE area_id = ?1 AND isolation = 'shutdown-only' AND standing = 'in-service'",
        area
    )
    .fetch_all(db)
    .await?)
}
