//! The storeroom's first page: every kit as its shelf stands, one row of the projection each, and
//! the lot to take next; and shelves with who wants of them. How they cover it is decided in `calc::lots`.

use std::collections::HashMap;
use std::sync::Arc;

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::kits::{lot_found, lots_asked};
use crate::record::kit::Lot;
use crate::record::turn::{NAMED, Queue, Turn};
use crate::record::{KitId, KitNumber, LotId, RebuildId};

/// A kit's row on the storeroom's first page.
#[derive(Debug, Clone)]
pub struct OnShelf {
    /// The kit.
    pub kit: KitNumber,
    /// What it is for.
    pub name: String,
    /// Days an order is on the way.
    pub lead_days: i64,
    /// Comes in packs of.
    pub pack: i64,
    /// Least order.
    pub minimum: i64,
    /// Kits on the shelf that may be used.
    pub usable: i64,
    /// Kits on the shelf that may not.
    pub unusable: i64,
    /// Kits wanted in the days ahead.
    pub wanted: i64,
    /// Kits missing in the days ahead.
    pub short: i64,
    /// The first day one is missing.
    pub short_on: Option<Date>,
    /// The latest day to order for it.
    pub order_by: Option<Date>,
    /// The lot to take next.
    pub next: Option<LotId>,
}

macro_rules! on_shelf {
    ($db:expr, $from:literal $(, $value:expr)*) => {
        sqlx::query_as!(
            OnShelf,
            r#"SELECT k.number AS "kit!: KitNumber", k.name AS "name!: String", k.lead_days AS "lead_days!: i64", k.pack AS "pack!: i64",
                 k.minimum AS "minimum!: i64", o.usable AS "usable!: i64", o.unusable AS "unusable!: i64", o.ahead_wanted AS "wanted!: i64",
                 o.ahead_short AS "short!: i64", o.ahead_short_on AS "short_on?: Date", o.ahead_order_by AS "order_by?: Date",
                 (SELECT l.id FROM lot_on_shelf s JOIN lot l ON l.id = s.lot_id
                  WHERE s.kit_id = k.id AND l.received_on <= ?1 AND (l.expires_on IS NULL OR l.expires_on >= ?1)
                    AND NOT EXISTS (SELECT 1 FROM lot_held_back h WHERE h.lot_id = l.id)
                  ORDER BY l.expires_on IS NULL, l.expires_on, l.received_on, l.number LIMIT 1) AS "next?: LotId" "#
                + $from
            $(, $value)*
        )
        .fetch_all($db)
        .await
    };
}

/// Kits by number after one of them, with these words in number or name if any are given, as they
/// stand on the shelf.
pub async fn list(
    db: &mut SqliteConnection,
    (words, after): (&str, &str),
    today: Date,
    most: i64,
) -> Result<Vec<OnShelf>> {
    Ok(on_shelf!(
        db,
        "FROM kit k JOIN kit_outlook o ON o.kit_id = k.id
         WHERE k.number > ?2 AND (?3 = '' OR instr(lower(k.number), lower(?3)) OR instr(lower(k.name), lower(?3)))
         ORDER BY k.number LIMIT ?4",
        today,
        after,
        words,
        most
    )?)
}

/// The kits that are short in the days ahead, the one to order first on top.
pub async fn short(db: &mut SqliteConnection, today: Date, most: i64) -> Result<Vec<OnShelf>> {
    Ok(on_shelf!(
        db,
        "FROM kit_outlook o INDEXED BY kit_outlook_ahead CROSS JOIN kit k ON k.id = o.kit_id
         WHERE o.ahead_order_by IS NOT NULL ORDER BY o.ahead_order_by, o.kit_id LIMIT ?2",
        today,
        most
    )?)
}

/// What all shelves hold together.
#[derive(Debug, Clone, Copy)]
pub struct Together {
    /// Kits there are.
    pub kits: i64,
    /// Kits that are short in the days ahead.
    pub short: i64,
    /// Pieces that may be used.
    pub usable: i64,
    /// Pieces that may not.
    pub unusable: i64,
}

/// What all shelves hold together: one row a kit is read.
pub async fn together(db: &mut SqliteConnection) -> Result<Together> {
    Ok(sqlx::query_as!(
        Together,
        r#"SELECT count(*) AS "kits!: i64", count(ahead_order_by) AS "short!: i64", coalesce(sum(usable), 0) AS "usable!: i64",
             coalesce(sum(unusable), 0) AS "unusable!: i64" FROM kit_outlook"#
    )
    .fetch_one(db)
    .await?)
}

/// Some lots by their rows.
pub async fn lots(db: &mut SqliteConnection, rows: &[LotId]) -> Result<Vec<Lot>> {
    let list = serde_json::to_string(rows)?;
    let rows = lots_asked!(
        "FROM json_each(?1) j CROSS JOIN lot l ON l.id = j.value JOIN kit k ON k.id = l.kit_id",
        list
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| lot_found!(row)).collect())
}

/// How many lots on the shelf have their last day in a span of days, counted up to so many.
pub async fn count_ending(
    db: &mut SqliteConnection,
    (from, until): (Date, Date),
    most: i64,
) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM (
             SELECT 1 FROM kit k CROSS JOIN lot l INDEXED BY lot_kit ON l.kit_id = k.id AND l.expires_on BETWEEN ?1 AND ?2
             WHERE EXISTS (SELECT 1 FROM lot_on_shelf o WHERE o.kit_id = l.kit_id AND o.lot_id = l.id) LIMIT ?3)"#,
        from,
        until,
        most
    )
    .fetch_one(db)
    .await?)
}

/// The shelves of some kits with the open rebuilds planned up to a day that still want of them, in their
/// order: two statements, however many kits or rebuilds there are.
pub async fn queues(
    db: &mut SqliteConnection,
    kits: &[KitId],
    until: Date,
) -> Result<HashMap<KitId, Arc<Queue>>> {
    let mut all: HashMap<KitId, Queue> = kits.iter().map(|k| (*k, Queue::default())).collect();
    if all.is_empty() {
        return Ok(HashMap::new());
    }
    let kits: Vec<KitId> = all.keys().copied().collect();
    for lot in super::stock::shelf_of(db, &kits).await? {
        if let Some(queue) = all.get_mut(&lot.kit_id) {
            queue.shelf.push(lot);
        }
    }
    // Each of them wants one kit at least: behind as many as lie on the fullest shelf nothing is left. Pages
    // name some that come before even where nothing lies there.
    let fullest = all
        .values()
        .map(|queue| queue.shelf.iter().map(|lot| lot.on_hand).sum::<i64>())
        .max()
        .unwrap_or(0);
    let named = i64::try_from(NAMED).unwrap_or(i64::MAX);
    let most = fullest.max(named).saturating_add(1);
    let list = serde_json::to_string(&kits)?;
    let rows = sqlx::query!(
        r#"SELECT n.kit_id AS "kit_id!: KitId", n.on_date AS "on_date!: Date", n.rebuild_id AS "rebuild_id!: RebuildId", n.kits AS "kits!: i64"
           FROM json_each(?1) j CROSS JOIN kit_need n ON n.gauge_id IN (
             SELECT m.gauge_id FROM kit_need m INDEXED BY kit_need_in_turn
             WHERE m.kit_id = j.value AND m.rebuild_id IS NOT NULL AND m.on_date <= ?2
             ORDER BY m.on_date, m.rebuild_id LIMIT ?3)
           ORDER BY n.kit_id, n.on_date, n.rebuild_id"#,
        list,
        until,
        most
    )
    .fetch_all(db)
    .await?;
    for row in rows {
        if let Some(queue) = all.get_mut(&row.kit_id) {
            queue.turns.push(Turn {
                on: row.on_date,
                rebuild: row.rebuild_id,
                kits: u32::try_from(row.kits).unwrap_or(0),
            });
        }
    }
    Ok(all
        .into_iter()
        .map(|(kit, queue)| (kit, Arc::new(queue)))
        .collect())
}
