//! Shutdown windows by area and the gauges they have to take.
//! What they do to due dates is decided in `calc::due`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::due::COUNTED;
use crate::calc::due::{Candidate, Rule};
use crate::record::gauge::{Gauge, Isolation};
use crate::record::{AreaId, GaugeId, TagNumber, WindowId};

/// A shutdown window.
#[derive(Debug, Clone, PartialEq, Eq)]
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

/// The windows of an area that end on or after a day, by their first day.
pub async fn of_area(db: &mut SqliteConnection, area: AreaId, day: Date) -> Result<Vec<Window>> {
    Ok(sqlx::query_as!(
        Window,
        "SELECT w.id, w.area_id, a.name AS area, w.name, w.starts_on, w.ends_on, w.version
         FROM shutdown_window w JOIN area a ON a.id = w.area_id WHERE w.area_id = ?1 AND w.ends_on >= ?2 ORDER BY w.ends_on LIMIT 20",
        area,
        day
    )
    .fetch_all(db)
    .await?)
}

/// The next window of an area that begins after a day.
pub async fn next_after(
    db: &mut SqliteConnection,
    area: AreaId,
    day: Date,
) -> Result<Option<Window>> {
    Ok(sqlx::query_as!(
        Window,
        "SELECT w.id, w.area_id, a.name AS area, w.name, w.starts_on, w.ends_on, w.version
         FROM shutdown_window w JOIN area a ON a.id = w.area_id WHERE w.area_id = ?1 AND w.ends_on > ?2 AND w.starts_on > ?2 ORDER BY w.starts_on, w.id LIMIT 1",
        area,
        day
    )
    .fetch_optional(db)
    .await?)
}

/// The windows that ended before a day, the latest first.
pub async fn ended_before(db: &mut SqliteConnection, day: Date, most: i64) -> Result<Vec<Window>> {
    Ok(sqlx::query_as!(
        Window,
        "SELECT w.id, w.area_id, a.name AS area, w.name, w.starts_on, w.ends_on, w.version
         FROM shutdown_window w JOIN area a ON a.id = w.area_id WHERE w.ends_on < ?1 ORDER BY w.ends_on DESC, w.id DESC LIMIT ?2",
        day,
        most
    )
    .fetch_all(db)
    .await?)
}

/// A window by its row.
pub async fn by_id(db: &mut SqliteConnection, id: WindowId) -> Result<Option<Window>> {
    Ok(sqlx::query_as!(
        Window,
        "SELECT w.id, w.area_id, a.name AS area, w.name, w.starts_on, w.ends_on, w.version
         FROM shutdown_window w JOIN area a ON a.id = w.area_id WHERE w.id = ?1",
        id
    )
    .fetch_optional(db)
    .await?)
}

/// The window of an area that begins on a day.
pub async fn starting(
    db: &mut SqliteConnection,
    area: &str,
    starts_on: Date,
) -> Result<Option<Window>> {
    Ok(sqlx::query_as!(
        Window,
        "SELECT w.id, w.area_id, a.name AS area, w.name, w.starts_on, w.ends_on, w.version
         FROM shutdown_window w JOIN area a ON a.id = w.area_id WHERE a.name = ?1 AND w.starts_on = ?2 ORDER BY w.id LIMIT 1",
        area,
        starts_on
    )
    .fetch_optional(db)
    .await?)
}

/// A window of an area that shares a day with this span, other than the one given.
pub async fn overlapping(
    db: &mut SqliteConnection,
    area: AreaId,
    span: (Date, Date),
    other_than: Option<WindowId>,
) -> Result<Option<Window>> {
    let (starts_on, ends_on) = span;
    Ok(sqlx::query_as!(
        Window,
        "SELECT w.id, w.area_id, a.name AS area, w.name, w.starts_on, w.ends_on, w.version
         FROM shutdown_window w JOIN area a ON a.id = w.area_id
         WHERE w.area_id = ?1 AND w.ends_on >= ?2 AND w.starts_on <= ?3 AND w.id IS NOT ?4 ORDER BY w.ends_on LIMIT 1",
        area,
        starts_on,
        ends_on,
        other_than
    )
    .fetch_optional(db)
    .await?)
}

/// The window of an area that covers a day.
pub async fn covering(
    db: &mut SqliteConnection,
    area: AreaId,
    day: Date,
) -> Result<Option<Window>> {
    overlapping(db, area, (day, day), None).await
}

/// Whether a gauge cannot be isolated in service and a day lies in no shutdown window of its area.
pub async fn is_outside(db: &mut SqliteConnection, gauge: &Gauge, day: Date) -> Result<bool> {
    let p = &gauge.particulars;
    Ok(p.isolation == Isolation::ShutdownOnly && covering(db, p.area_id, day).await?.is_none())
}

/// Moves or renames a window if nobody did so meanwhile.
pub async fn change(db: &mut SqliteConnection, window: &Window) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE shutdown_window SET name = ?2, starts_on = ?3, ends_on = ?4, version = version + 1 WHERE id = ?1 AND version = ?5",
        window.id,
        window.name,
        window.starts_on,
        window.ends_on,
        window.version
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
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

/// How many gauges of the whole plant find no window before their date, counted up to
/// [`COUNTED`].
pub async fn count_no_window(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM (SELECT 1 FROM due INDEXED BY due_without_window WHERE pull = 'no-window' LIMIT ?1)",
        COUNTED
    )
    .fetch_one(db)
    .await?)
}

/// How many gauges an area's window has to take, counted up to [`COUNTED`].
pub async fn count_in_window(
    db: &mut SqliteConnection,
    area: AreaId,
    ends_on: Date,
) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM (SELECT 1 FROM due WHERE area_id = ?1 AND window_ends_on = ?2 LIMIT ?3)",
        area,
        ends_on,
        COUNTED
    )
    .fetch_one(db)
    .await?)
}

/// A gauge a shutdown window is about.
#[derive(Debug, Clone)]
pub struct Bound {
    /// The gauge.
    pub gauge_id: GaugeId,
    /// Its area.
    pub area_id: AreaId,
    /// Its tag number.
    pub tag: TagNumber,
    /// The vessel.
    pub vessel: String,
    /// What it shows.
    pub service: String,
    /// The kit, by number.
    pub kit: Option<String>,
    /// Kits for a rebuild.
    pub kits_per_rebuild: i64,
    /// What asks for its work: the rule.
    pub work_rule: Option<Rule>,
    /// Its date.
    pub work_date: Option<Date>,
}

impl Bound {
    /// The work it waits for. What governs its due date may be a look-over, which needs no shutdown.
    pub fn work(&self) -> Option<Candidate> {
        super::window_plan::cause(self.work_rule, self.work_date)
    }
}

/// The gauges an area's window has to take, after a gauge.
pub async fn in_window(
    db: &mut SqliteConnection,
    area: AreaId,
    ends_on: Date,
    after: GaugeId,
    most: i64,
) -> Result<Vec<Bound>> {
    Ok(sqlx::query_as!(
        Bound,
        r#"SELECT d.gauge_id AS "gauge_id!", d.area_id, g.tag, g.vessel, g.service, k.number AS "kit?: String", g.kits_per_rebuild, d.work_rule AS "work_rule?: Rule", d.work_date
           FROM due d JOIN gauge g ON g.id = d.gauge_id LEFT JOIN kit k ON k.id = g.kit_id
           WHERE d.area_id = ?1 AND d.window_ends_on = ?2 AND d.gauge_id > ?3 ORDER BY d.gauge_id LIMIT ?4"#,
        area,
        ends_on,
        after,
        most
    )
    .fetch_all(db)
    .await?)
}
