//! The ledger as pages read it, what lies on the shelf, and what the gauges want of it.
//! Lines are written in `kits.rs`; whether a kit is short is decided in `calc::lots`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::kits::{lot_found, lots_asked};
use crate::calc::lots::Wanted;
use crate::record::kit::{Lot, Movement};
use crate::record::rebuild::RebuildState;
use crate::record::{
    GaugeId, KitId, KitNumber, LotId, LotNumber, Moment, OrderNumber, RebuildId, StockLineId,
    TagNumber,
};

/// A line of the ledger as pages show it.
#[derive(Debug, Clone)]
pub struct LedgerLine {
    /// The row.
    pub id: StockLineId,
    /// The kit.
    pub kit: KitNumber,
    /// The lot.
    pub lot: LotNumber,
    /// What moved it.
    pub kind: Movement,
    /// By how many, with its sign.
    pub quantity: i64,
    /// What the lot held after it.
    pub balance: i64,
    /// The day it happened.
    pub on_date: Date,
    /// When it was written.
    pub at: Moment,
    /// Who wrote it.
    pub person: String,
    /// Why, where no rebuild says it.
    pub reason: String,
    /// The gauge of the rebuild it was for.
    pub tag: Option<TagNumber>,
    /// That rebuild's number on its gauge.
    pub ordinal: Option<i64>,
    /// Where, if that was not the lot's own place.
    pub place: Option<String>,
    /// The order a receipt came of.
    pub order: Option<OrderNumber>,
}

/// Where a page of a ledger begins: only what stands before a line, or before a move that came after it,
/// is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Before {
    /// The line.
    pub line: StockLineId,
    /// The move after it; none where the page goes on beneath the line itself.
    pub moved: Option<i64>,
}

impl Before {
    /// The latest page.
    pub const LATEST: Self = Self {
        line: StockLineId(i64::MAX),
        moved: None,
    };

    /// The first number a line may not have: a line stands beneath the moves made after it.
    const fn lines(self) -> StockLineId {
        match self.moved {
            Some(_) => StockLineId(self.line.0.saturating_add(1)),
            None => self.line,
        }
    }
}

/// A part of a lot that was put elsewhere, as pages show it.
#[derive(Debug, Clone)]
pub struct Moved {
    /// The row.
    pub id: i64,
    /// The kit.
    pub kit: KitNumber,
    /// The lot.
    pub lot: LotNumber,
    /// The last line of the ledger before it.
    pub after_line: StockLineId,
    /// How many.
    pub quantity: i64,
    /// Where they lay.
    pub from: String,
    /// Where they went.
    pub to: String,
    /// The day it happened.
    pub on_date: Date,
    /// When it was written.
    pub at: Moment,
    /// Who wrote it.
    pub person: String,
    /// Why, if anybody said so.
    pub reason: String,
}

/// The moves of a lot, or of all, before a place in the ledger, the latest first.
pub async fn moves(
    db: &mut SqliteConnection,
    lot: Option<LotId>,
    before: Before,
    most: i64,
) -> Result<Vec<Moved>> {
    let moved = before.moved.unwrap_or(0);
    macro_rules! moved {
        ($which:literal, $lot:expr) => {
            sqlx::query_as!(
                Moved,
                r#"SELECT m.id AS "id!: i64", k.number AS "kit!: KitNumber", l.number AS "lot!: LotNumber", m.after_line AS "after_line!: StockLineId",
                     m.quantity AS "quantity!: i64", coalesce(m.from_place, m.own_place) AS "from!: String",
                     CASE WHEN m.to_place IS NULL AND m.from_place = m.own_place THEN 'the rest of the lot there' ELSE coalesce(m.to_place, m.own_place) END AS "to!: String", m.on_date AS "on_date!: Date", m.at AS "at!: Moment",
                     p.name AS "person!: String",
                     m.reason AS "reason!: String"
                   FROM lot_move m JOIN lot l ON l.id = m.lot_id JOIN kit k ON k.id = l.kit_id JOIN known_as p ON p.person_id = m.person_id AND p.since <= m.at AND p.until > m.at
                   WHERE "#
                    + $which
                    + " AND (m.after_line, m.id) < (?2, ?3)
                   ORDER BY m.after_line DESC, m.id DESC LIMIT ?4",
                $lot,
                before.line,
                moved,
                most
            )
            .fetch_all(db)
            .await?
        };
    }
    Ok(if lot.is_some() {
        moved!("m.lot_id = ?1", lot)
    } else {
        moved!("?1 IS NULL", lot)
    })
}

/// How many places hold another number of kits than the ledger and the moves give; nought in a sound
/// database.
pub async fn places_astray(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"WITH lies AS (
             SELECT lot_id, place, sum(kits) AS kits FROM (
               SELECT lot_id, place, quantity AS kits FROM stock_line WHERE place IS NOT NULL
               UNION ALL SELECT lot_id, to_place, quantity FROM lot_move WHERE to_place IS NOT NULL
               UNION ALL SELECT lot_id, from_place, -quantity FROM lot_move WHERE from_place IS NOT NULL)
             GROUP BY lot_id, place HAVING sum(kits) <> 0)
           SELECT
             (SELECT count(*) FROM (SELECT lot_id, place, kits FROM lies EXCEPT SELECT lot_id, place, kits FROM lot_elsewhere))
             + (SELECT count(*) FROM (SELECT lot_id, place, kits FROM lot_elsewhere EXCEPT SELECT lot_id, place, kits FROM lies))
             + (SELECT count(*) FROM (SELECT lot_id, sum(kits) AS away FROM lies GROUP BY lot_id) a
                WHERE a.away > coalesce((SELECT balance FROM stock_line s WHERE s.lot_id = a.lot_id ORDER BY s.id DESC LIMIT 1), 0))
           AS "astray!: i64""#
    )
    .fetch_one(db)
    .await?)
}

/// The lines of one lot, the latest first, before a place in the ledger.
pub async fn of_lot(
    db: &mut SqliteConnection,
    lot: LotId,
    before: Before,
    most: i64,
) -> Result<Vec<LedgerLine>> {
    let before = before.lines();
    Ok(sqlx::query_as!(
        LedgerLine,
        r#"SELECT s.id AS "id!", k.number AS "kit!: KitNumber", l.number AS "lot!: LotNumber", s.kind, s.quantity, s.balance, s.on_date, s.at,

             p.name AS "person!: String", s.reason, g.tag AS "tag?: TagNumber", r.ordinal AS "ordinal?: i64", s.place,
             (SELECT o.number FROM order_receipt c JOIN kit_order_line n ON n.id = c.line_id JOIN kit_order o ON o.id = n.order_id
              WHERE c.stock_line_id = s.id) AS "order?: OrderNumber"
           FROM stock_line s JOIN lot l ON l.id = s.lot_id JOIN kit k ON k.id = l.kit_id JOIN known_as p ON p.person_id = s.person_id AND p.since <= s.at AND p.until > s.at
             LEFT JOIN rebuild r ON r.id = s.rebuild_id LEFT JOIN gauge g ON g.id = r.gauge_id
           WHERE s.lot_id = ?1 AND s.id < ?2 ORDER BY s.id DESC LIMIT ?3"#,
        lot,
        before,
        most
    )
    .fetch_all(db)
    .await?)
}

/// The lines of the whole storeroom, the latest first, before a place in the ledger.
pub async fn latest(
    db: &mut SqliteConnection,
    before: Before,
    most: i64,
) -> Result<Vec<LedgerLine>> {
    let before = before.lines();
    Ok(sqlx::query_as!(
        LedgerLine,
        r#"SELECT s.id AS "id!", k.number AS "kit!: KitNumber", l.number AS "lot!: LotNumber", s.kind, s.quantity, s.balance, s.on_date, s.at,

             p.name AS "person!: String", s.reason, g.tag AS "tag?: TagNumber", r.ordinal AS "ordinal?: i64", s.place,
             (SELECT o.number FROM order_receipt c JOIN kit_order_line n ON n.id = c.line_id JOIN kit_order o ON o.id = n.order_id
              WHERE c.stock_line_id = s.id) AS "order?: OrderNumber"
           FROM stock_line s CROSS JOIN lot l ON l.id = s.lot_id JOIN kit k ON k.id = l.kit_id JOIN known_as p ON p.person_id = s.person_id AND p.since <= s.at AND p.until > s.at
             LEFT JOIN rebuild r ON r.id = s.rebuild_id LEFT JOIN gauge g ON g.id = r.gauge_id
           WHERE s.id < ?1 ORDER BY s.id DESC LIMIT ?2"#,
        before,
        most
    )
    .fetch_all(db)
    .await?)
}

/// Every lot that still holds something, by kit, first expired first.
pub async fn shelf(db: &mut SqliteConnection) -> Result<Vec<Lot>> {
    let rows = lots_asked!(
        "FROM lot_on_shelf o JOIN lot l ON l.id = o.lot_id JOIN kit k ON k.id = l.kit_id
         ORDER BY l.kit_id, l.expires_on IS NULL, l.expires_on, l.received_on, l.number"
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| lot_found!(row)).collect())
}

/// The lots of a kit that hold nothing any more, the latest first, before a lot.
pub async fn used_up(
    db: &mut SqliteConnection,
    kit: KitId,
    before: Option<LotId>,
    most: i64,
) -> Result<Vec<Lot>> {
    let rows = lots_asked!(
        "FROM lot l INDEXED BY lot_of_kit JOIN kit k ON k.id = l.kit_id
         WHERE l.kit_id = ?1 AND l.id < coalesce(?2, 9223372036854775807)
           AND NOT EXISTS (SELECT 1 FROM lot_on_shelf o WHERE o.kit_id = l.kit_id AND o.lot_id = l.id)
         ORDER BY l.id DESC LIMIT ?3",
        kit,
        before,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| lot_found!(row)).collect())
}

/// How many kits of a lot are out with a rebuild, or without one.
pub async fn out_of(
    db: &mut SqliteConnection,
    lot: LotId,
    rebuild: Option<RebuildId>,
) -> Result<i64> {
    let out = if rebuild.is_some() {
        sqlx::query_scalar!(
            r#"SELECT sum(-quantity) AS "out?: i64" FROM stock_line WHERE rebuild_id = ?2 AND lot_id = ?1"#,
            lot,
            rebuild
        )
        .fetch_one(db)
        .await?
    } else {
        sqlx::query_scalar!(
            r#"SELECT sum(-quantity) AS "out?: i64" FROM stock_line
               WHERE lot_id = ?1 AND rebuild_id IS NULL AND kind IN ('issue', 'return')"#,
            lot
        )
        .fetch_one(db)
        .await?
    };
    Ok(out.unwrap_or(0))
}

/// Kits of a lot that are out with a rebuild that is not finished.
#[derive(Debug, Clone)]
pub struct OutWith {
    /// The rebuild.
    pub rebuild: RebuildId,
    /// Its number on its gauge.
    pub ordinal: i64,
    /// The gauge.
    pub tag: TagNumber,
    /// How many.
    pub kits: i64,
}

/// The open rebuilds that hold kits of a lot.
pub async fn out_with(db: &mut SqliteConnection, lot: LotId) -> Result<Vec<OutWith>> {
    Ok(sqlx::query_as!(
        OutWith,
        r#"SELECT r.id AS "rebuild!: RebuildId", r.ordinal AS "ordinal!: i64", g.tag AS "tag!: TagNumber", sum(-s.quantity) AS "kits!: i64"
           FROM stock_line s JOIN rebuild r ON r.id = s.rebuild_id JOIN gauge g ON g.id = r.gauge_id
           WHERE s.lot_id = ?1 AND r.state NOT IN ('returned', 'abandoned')
           GROUP BY r.id HAVING sum(-s.quantity) > 0 ORDER BY g.tag LIMIT 200"#,
        lot
    )
    .fetch_all(db)
    .await?)
}

/// The lots an open rebuild holds kits of.
pub async fn held_by(
    db: &mut SqliteConnection,
    rebuild: RebuildId,
) -> Result<Vec<(LotId, LotNumber, i64)>> {
    let rows = sqlx::query!(
        r#"SELECT l.id AS "id!: LotId", l.number AS "number!: LotNumber", sum(-s.quantity) AS "kits!: i64"
           FROM stock_line s JOIN lot l ON l.id = s.lot_id WHERE s.rebuild_id = ?1 AND s.kind IN ('issue', 'return')
           GROUP BY l.id HAVING sum(-s.quantity) > 0 ORDER BY l.number LIMIT 50"#,
        rebuild
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.id, row.number, row.kits))
        .collect())
}

/// What a gauge's next rebuild wants from the shelf: a row of the projection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Need {
    /// The gauge.
    pub gauge_id: GaugeId,
    /// Its kit, where one is named.
    pub kit_id: Option<KitId>,
    /// The day of its open rebuild, or the latest day of the next one.
    pub on_date: Date,
    /// Kits still to come from the shelf.
    pub kits: i64,
    /// The open rebuild that reserves them.
    pub rebuild_id: Option<RebuildId>,
}

/// What gauges want of the shelf, each with the latest day of its next rebuild, in one statement:
/// its kits less those its open rebuild has in hand, those taken in the place of the named one too. An open
/// rebuild says the day itself; a gauge with neither wants nothing.
pub async fn needs_on(
    db: &mut SqliteConnection,
    days: &[(GaugeId, Option<Date>)],
) -> Result<Vec<Need>> {
    let list: Vec<_> = days
        .iter()
        .map(|(gauge, on)| serde_json::json!([gauge, on.map(|on| on.to_string())]))
        .collect();
    let list = serde_json::Value::Array(list).to_string();
    let rows = sqlx::query!(
        r#"SELECT g.id AS "id!", g.kit_id, r.id AS "rebuild_id?: RebuildId", coalesce(r.planned_for, j.value ->> 1) AS "on_date?: Date",
             g.kits_per_rebuild + coalesce((
               SELECT sum(s.quantity) FROM stock_line s
               WHERE s.rebuild_id = r.id AND s.kind IN ('issue', 'return')), 0) AS "kits!: i64"
           FROM json_each(?1) j CROSS JOIN gauge g ON g.id = j.value ->> 0
             LEFT JOIN rebuild r ON r.gauge_id = g.id AND r.state NOT IN ('returned', 'abandoned')"#,
        list
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .filter(|row| row.kits > 0)
        .filter_map(|row| {
            Some(Need {
                gauge_id: row.id,
                kit_id: row.kit_id,
                on_date: row.on_date?,
                kits: row.kits,
                rebuild_id: row.rebuild_id,
            })
        })
        .collect())
}

/// Writes many rows of the projection, those that are other than before, in one statement.
pub async fn put_needs(db: &mut SqliteConnection, needs: &[Need]) -> Result<()> {
    let list: Vec<_> = needs
        .iter()
        .map(|need| {
            serde_json::json!([
                need.gauge_id,
                need.kit_id,
                need.on_date.to_string(),
                need.kits,
                need.rebuild_id
            ])
        })
        .collect();
    let list = serde_json::Value::Array(list).to_string();
    sqlx::query!(
        "INSERT INTO kit_need (gauge_id, kit_id, on_date, kits, rebuild_id)
         SELECT value ->> 0, value ->> 1, value ->> 2, value ->> 3, value ->> 4 FROM json_each(?1) WHERE true
         ON CONFLICT (gauge_id) DO UPDATE SET kit_id = excluded.kit_id, on_date = excluded.on_date, kits = excluded.kits,
           rebuild_id = excluded.rebuild_id
         WHERE (kit_id, on_date, kits, rebuild_id) IS NOT (excluded.kit_id, excluded.on_date, excluded.kits, excluded.rebuild_id)",
        list
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Takes many gauges out of the projection.
pub async fn remove_needs(db: &mut SqliteConnection, gauges: &[GaugeId]) -> Result<()> {
    let list = serde_json::to_string(gauges)?;
    sqlx::query!(
        "DELETE FROM kit_need WHERE gauge_id IN (SELECT value FROM json_each(?1))",
        list
    )
    .execute(db)
    .await?;
    Ok(())
}

/// A gauge's row of the projection.
pub async fn need_of(db: &mut SqliteConnection, gauge: GaugeId) -> Result<Option<Need>> {
    Ok(sqlx::query_as!(
        Need,
        "SELECT gauge_id, kit_id, on_date, kits, rebuild_id FROM kit_need WHERE gauge_id = ?1",
        gauge
    )
    .fetch_optional(db)
    .await?)
}

/// What is wanted of one kit up to a day, by day; what is past counts on the first day.
pub async fn wants_of(
    db: &mut SqliteConnection,
    kit: KitId,
    today: Date,
    until: Date,
) -> Result<Vec<Wanted>> {
    let rows = sqlx::query!(
        r#"SELECT max(on_date, ?2) AS "on_date!: Date", sum(kits) AS "kits!: i64"
           FROM kit_need_day WHERE kit_id = ?1 AND on_date <= ?3 GROUP BY 1 ORDER BY 1"#,
        kit,
        today,
        until
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| wanted(row.on_date, row.kits))
        .collect())
}

fn wanted(on: Date, kits: i64) -> Wanted {
    Wanted {
        on,
        quantity: u32::try_from(kits).unwrap_or(u32::MAX),
    }
}

/// A gauge that wants a kit.
#[derive(Debug, Clone)]
pub struct Wanting {
    /// The gauge.
    pub gauge_id: GaugeId,
    /// Its tag number.
    pub tag: TagNumber,
    /// The vessel.
    pub vessel: String,
    /// The latest day of its rebuild.
    pub on_date: Date,
    /// The state of its rebuild, where one is open.
    pub state: Option<RebuildState>,
    /// Kits still to come from the shelf.
    pub kits: i64,
}

/// The gauges that want a kit up to a day, the earliest first, after one of them.
pub async fn wanting(
    db: &mut SqliteConnection,
    kit: KitId,
    until: Date,
    after: Option<(Date, GaugeId)>,
    most: i64,
) -> Result<Vec<Wanting>> {
    let (after_on, after_id) = after.unzip();
    Ok(sqlx::query_as!(
        Wanting,
        r#"SELECT n.gauge_id AS "gauge_id!", g.tag AS "tag!", g.vessel AS "vessel!", n.on_date, r.state AS "state?: RebuildState", n.kits
           FROM kit_need n INDEXED BY kit_need_kit JOIN gauge g ON g.id = n.gauge_id LEFT JOIN rebuild r ON r.id = n.rebuild_id
           WHERE n.kit_id = ?1 AND n.on_date <= ?2 AND (n.on_date, n.gauge_id) > (coalesce(?3, ''), coalesce(?4, 0))
           ORDER BY n.on_date, n.gauge_id LIMIT ?5"#,
        kit,
        until,
        after_on,
        after_id,
        most
    )
    .fetch_all(db)
    .await?)
}

/// How many gauges are rebuilt up to a day and name no kit, at most so many counted.
pub async fn without_kit(db: &mut SqliteConnection, until: Date, most: i64) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM (SELECT 1 FROM kit_need INDEXED BY kit_need_kit WHERE kit_id IS NULL AND on_date <= ?1 LIMIT ?2)",
        until,
        most
    )
    .fetch_one(db)
    .await?)
}

/// How many rows of the projections the triggers keep differ from what they are made from: lots on
/// the shelf, kits wanted by day, calibration covers. Nought in a sound database.
pub async fn astray(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT
             (SELECT count(*) FROM lot l WHERE
                (SELECT coalesce((SELECT s.balance FROM stock_line s WHERE s.lot_id = l.id ORDER BY s.id DESC LIMIT 1), 0) > 0)
                <> EXISTS (SELECT 1 FROM lot_on_shelf o WHERE o.kit_id = l.kit_id AND o.lot_id = l.id))
             + (SELECT count(*) FROM (
                  SELECT kit_id, on_date, sum(kits) FROM kit_need WHERE kit_id IS NOT NULL GROUP BY 1, 2
                  EXCEPT SELECT kit_id, on_date, kits FROM kit_need_day))
             + (SELECT count(*) FROM (
                  SELECT kit_id, on_date, kits FROM kit_need_day
                  EXCEPT SELECT kit_id, on_date, sum(kits) FROM kit_need WHERE kit_id IS NOT NULL GROUP BY 1, 2))
             + (SELECT count(*) FROM instrument i LEFT JOIN calibration_cover v ON v.instrument_id = i.id
                  WHERE v.until_on IS NOT iif(i.retired_at IS NULL, coalesce((SELECT iif(c.found = 'within-tolerance', c.due_on, '')
                    FROM calibration c WHERE c.instrument_id = i.id AND c.taken_back_at IS NULL ORDER BY c.calibrated_on DESC, c.id DESC LIMIT 1), ''), NULL))
           AS "astray!: i64""#
    )
    .fetch_one(db)
    .await?)
}

/// What lies on the shelf of some kits, by kit, first expired first.
pub async fn shelf_of(db: &mut SqliteConnection, kits: &[KitId]) -> Result<Vec<Lot>> {
    let list = serde_json::to_string(kits)?;
    let rows = lots_asked!(
        "FROM json_each(?1) j CROSS JOIN lot_on_shelf o ON o.kit_id = j.value JOIN lot l ON l.id = o.lot_id JOIN kit k ON k.id = l.kit_id
         ORDER BY l.kit_id, l.expires_on IS NULL, l.expires_on, l.received_on, l.number",
        list
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| lot_found!(row)).collect())
}

/// The lots of this number, whichever kit they are of, those on the shelf first.
pub async fn of_number(db: &mut SqliteConnection, number: &str) -> Result<Vec<Lot>> {
    let rows = lots_asked!(
        "FROM lot l INDEXED BY lot_by_number JOIN kit k ON k.id = l.kit_id WHERE l.number = ?1
         ORDER BY NOT EXISTS (SELECT 1 FROM lot_on_shelf o WHERE o.kit_id = l.kit_id AND o.lot_id = l.id), l.id DESC LIMIT 20",
        number
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| lot_found!(row)).collect())
}

/// A line of many that are written at once, with the balance it leaves.
#[derive(Debug, Clone)]
pub struct BulkLine {
    /// What moves it.
    pub kind: Movement,
    /// By how many, with its sign.
    pub quantity: i64,
    /// What the lot holds afterwards.
    pub balance: i64,
    /// The day.
    pub on_date: Date,
    /// Why.
    pub reason: &'static str,
}

/// Writes many lines of one lot in one statement, in order; the schema checks every balance.
pub async fn add_lines(
    db: &mut SqliteConnection,
    lot: LotId,
    lines: &[BulkLine],
    (person, now): (crate::record::PersonId, Moment),
) -> Result<Vec<i64>> {
    let list: Vec<_> = lines
        .iter()
        .map(|line| {
            serde_json::json!([
                line.kind,
                line.quantity,
                line.balance,
                line.on_date.to_string(),
                line.reason
            ])
        })
        .collect();
    let list = serde_json::Value::Array(list).to_string();
    Ok(sqlx::query_scalar!(
        r#"INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, reason)
           SELECT ?1, value ->> 0, value ->> 1, value ->> 2, ?2, value ->> 3, ?3, value ->> 4
           FROM json_each(?4) ORDER BY key RETURNING id AS "id!: i64""#,
        lot,
        now,
        person,
        list
    )
    .fetch_all(db)
    .await?)
}
