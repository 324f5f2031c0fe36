//! The days of the plant: what falls due, what is planned, what arrives, and the private addresses
//! calendar programs read them under. How they are drawn or written is decided elsewhere.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::due::COUNTED;
use crate::record::rebuild::RebuildState;
use crate::record::{
    AreaId, FeedId, InstrumentNumber, KitNumber, Moment, OrderNumber, PersonId, TagNumber,
};

/// Gauges that fall due on one day, with the area.
#[derive(Debug, Clone)]
pub struct DueDay {
    /// The day.
    pub on: Date,
    /// The area.
    pub area_id: AreaId,
    /// Its name.
    pub area: String,
    /// How many.
    pub gauges: i64,
    /// The tag numbers of the first of them, by a comma.
    pub tags: String,
}

/// What falls due between two days, by day and area.
pub async fn due_days(
    db: &mut SqliteConnection,
    (from, to): (Date, Date),
    area: Option<AreaId>,
    most: i64,
) -> Result<Vec<DueDay>> {
    Ok(sqlx::query_as!(
        DueDay,
        r#"SELECT x.latest_on AS "on!: Date", x.area_id AS "area_id!: AreaId", a.name AS "area!: String", x.gauges AS "gauges!: i64",
             (SELECT group_concat(tag, ', ') FROM (SELECT g.tag FROM due d INDEXED BY due_area JOIN gauge g ON g.id = d.gauge_id
                WHERE d.area_id = x.area_id AND d.latest_on = x.latest_on ORDER BY d.gauge_id LIMIT 6)) AS "tags!: String"
           FROM (SELECT latest_on, area_id, gauges FROM due_day INDEXED BY due_day_latest
                 WHERE latest_on >= ?1 AND latest_on <= ?2 AND (?3 IS NULL OR area_id = ?3)
                 ORDER BY latest_on, area_id LIMIT ?4) x
             JOIN area a ON a.id = x.area_id ORDER BY x.latest_on, a.name"#,
        from,
        to,
        area,
        most
    )
    .fetch_all(db)
    .await?)
}

/// How many gauges of an area, or of all areas, are past due, counted up to [`COUNTED`].
pub async fn count_past(
    db: &mut SqliteConnection,
    today: Date,
    area: Option<AreaId>,
) -> Result<i64> {
    let counted = match area {
        Some(area) => {
            sqlx::query_scalar!(
                r#"SELECT count(*) AS "count!: i64" FROM (SELECT 1 FROM due INDEXED BY due_area WHERE area_id = ?1 AND latest_on < ?2 LIMIT ?3)"#,
                area,
                today,
                COUNTED
            )
            .fetch_one(db)
            .await?
        }
        None => {
            sqlx::query_scalar!(
                r#"SELECT count(*) AS "count!: i64" FROM (SELECT 1 FROM due INDEXED BY due_latest WHERE latest_on < ?1 LIMIT ?2)"#,
                today,
                COUNTED
            )
            .fetch_one(db)
            .await?
        }
    };
    Ok(counted)
}

/// How many gauges fall due in each month between two days.
pub async fn due_months(
    db: &mut SqliteConnection,
    from: Date,
    to: Date,
) -> Result<Vec<(String, i64)>> {
    let rows = sqlx::query!(
        r#"SELECT substr(latest_on, 1, 7) AS "month!: String", sum(gauges) AS "gauges!: i64"
           FROM due_day INDEXED BY due_day_latest WHERE latest_on >= ?1 AND latest_on <= ?2 GROUP BY 1 ORDER BY 1"#,
        from,
        to
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.month, row.gauges))
        .collect())
}

/// A rebuild planned for a day.
#[derive(Debug, Clone)]
pub struct PlannedDay {
    /// The day.
    pub on: Date,
    /// The gauge.
    pub tag: TagNumber,
    /// Its area.
    pub area: String,
    /// How far it has come.
    pub state: RebuildState,
    /// When it was taken to the bench.
    pub started_at: Option<Moment>,
}

/// The open rebuilds planned between two days.
pub async fn planned(
    db: &mut SqliteConnection,
    (from, to): (Date, Date),
    area: Option<AreaId>,
    most: i64,
) -> Result<Vec<PlannedDay>> {
    Ok(sqlx::query_as!(
        PlannedDay,
        r#"SELECT r.planned_for AS "on!: Date", g.tag AS "tag!: TagNumber", a.name AS area,
             r.state AS "state!: RebuildState", r.started_at AS "started_at?: Moment"
           FROM rebuild r INDEXED BY rebuild_by_planned_day JOIN gauge g ON g.id = r.gauge_id JOIN area a ON a.id = g.area_id
           WHERE r.state NOT IN ('returned', 'abandoned') AND r.planned_for >= ?1 AND r.planned_for <= ?2
             AND (?3 IS NULL OR g.area_id = ?3)
           ORDER BY r.planned_for, g.tag LIMIT ?4"#,
        from,
        to,
        area,
        most
    )
    .fetch_all(db)
    .await?)
}

/// Kits promised for a day.
#[derive(Debug, Clone)]
pub struct Arrival {
    /// The day.
    pub on: Date,
    /// The order.
    pub order: OrderNumber,
    /// The kit.
    pub kit: KitNumber,
    /// How many are still to come.
    pub awaited: i64,
}

/// The kits promised between two days.
pub async fn arrivals(
    db: &mut SqliteConnection,
    (from, to): (Date, Date),
    most: i64,
) -> Result<Vec<Arrival>> {
    Ok(sqlx::query_as!(
        Arrival,
        r#"SELECT l.promised_on AS "on!: Date", o.number AS "order!: OrderNumber", k.number AS "kit!: KitNumber", l.awaited
           FROM kit_order_line l INDEXED BY kit_order_line_promised JOIN kit_order o ON o.id = l.order_id JOIN kit k ON k.id = l.kit_id
           WHERE l.awaited > 0 AND l.promised_on >= ?1 AND l.promised_on <= ?2 ORDER BY l.promised_on, l.id LIMIT ?3"#,
        from,
        to,
        most
    )
    .fetch_all(db)
    .await?)
}

/// The instruments whose calibration ends between two days, with its last day.
pub async fn calibrations(
    db: &mut SqliteConnection,
    (from, to): (Date, Date),
    most: i64,
) -> Result<Vec<(Date, InstrumentNumber)>> {
    let rows = sqlx::query!(
        r#"SELECT c.until_on AS "on!: Date", i.number AS "number!: InstrumentNumber"
           FROM calibration_cover c INDEXED BY calibration_cover_until JOIN instrument i ON i.id = c.instrument_id
           WHERE c.until_on >= ?1 AND c.until_on <= ?2 ORDER BY c.until_on, c.instrument_id LIMIT ?3"#,
        from,
        to,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| (row.on, row.number)).collect())
}

/// A private address of somebody.
#[derive(Debug, Clone)]
pub struct Feed {
    /// The row.
    pub id: FeedId,
    /// Whose it is.
    pub person_id: PersonId,
    /// The area it is about; none for the whole plant.
    pub area_id: Option<AreaId>,
    /// That area's name.
    pub area: Option<String>,
    /// When it was made.
    pub made_at: Moment,
}

/// Keeps a private address.
pub async fn add_feed(
    db: &mut SqliteConnection,
    person: PersonId,
    token_hash: &[u8],
    area: Option<AreaId>,
    now: Moment,
) -> Result<FeedId> {
    let id = sqlx::query!(
        "INSERT INTO calendar_feed (person_id, token_hash, area_id, made_at) VALUES (?1, ?2, ?3, ?4)",
        person,
        token_hash,
        area,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(FeedId(id))
}

/// The private addresses of somebody that still work, the latest first.
pub async fn feeds_of(db: &mut SqliteConnection, person: PersonId) -> Result<Vec<Feed>> {
    Ok(sqlx::query_as!(
        Feed,
        r#"SELECT f.id, f.person_id, f.area_id, a.name AS "area?: String", f.made_at
           FROM calendar_feed f LEFT JOIN area a ON a.id = f.area_id
           WHERE f.person_id = ?1 AND f.revoked_at IS NULL ORDER BY f.id DESC LIMIT 50"#,
        person
    )
    .fetch_all(db)
    .await?)
}

/// The private address with this hash, if it still works and its owner still signs in here.
pub async fn feed(db: &mut SqliteConnection, token_hash: &[u8]) -> Result<Option<Feed>> {
    Ok(sqlx::query_as!(
        Feed,
        r#"SELECT f.id, f.person_id, f.area_id, a.name AS "area?: String", f.made_at
           FROM calendar_feed f JOIN person p ON p.id = f.person_id LEFT JOIN area a ON a.id = f.area_id
           WHERE f.token_hash = ?1 AND f.revoked_at IS NULL AND p.closed_at IS NULL"#,
        token_hash
    )
    .fetch_optional(db)
    .await?)
}

/// Ends a private address of somebody; false if there is none.
pub async fn revoke_feed(
    db: &mut SqliteConnection,
    id: FeedId,
    person: PersonId,
    now: Moment,
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE calendar_feed SET revoked_at = ?3 WHERE id = ?1 AND person_id = ?2 AND revoked_at IS NULL",
        id,
        person,
        now
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}
