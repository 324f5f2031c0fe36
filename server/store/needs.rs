//! What the answer to "what to order" is made from, and the projection its lists are sorted by.
//! What to order is computed in `calc::needs`.

use std::collections::BTreeMap;

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::columns::Digits;
use crate::calc::stock_plan::Receipt;
use crate::record::need::{ClassRecord, Rules, Stated, Terms, Then};
use crate::record::{GaugeId, KitId, KitNumber, Moment, ServiceClassId, TagNumber};

/// The storeroom's rules: those the plant chose, or the usual ones.
pub async fn rules(db: &mut SqliteConnection) -> Result<Rules> {
    let row = sqlx::query!(
        "SELECT service_level, review_days, currency, version FROM storeroom_rule WHERE id = 1"
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map_or_else(Rules::usual, |row| Rules {
        service_level: row.service_level.0,
        review_days: u32::try_from(row.review_days).unwrap_or(0),
        currency: row.currency,
        chosen: true,
        version: row.version,
    }))
}

/// Keeps the storeroom's rules; false if somebody changed them meanwhile.
pub async fn put_rules(db: &mut SqliteConnection, rules: &Rules) -> Result<bool> {
    let level = Digits(rules.service_level);
    let done = sqlx::query!(
        "INSERT INTO storeroom_rule (id, service_level, review_days, currency) VALUES (1, ?1, ?2, ?3)
         ON CONFLICT (id) DO UPDATE SET service_level = excluded.service_level, review_days = excluded.review_days,
           currency = excluded.currency, version = storeroom_rule.version + 1
         WHERE storeroom_rule.version = ?4",
        level,
        rules.review_days,
        rules.currency,
        rules.version
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// A kit's own terms; empty ones where it has none.
pub async fn terms(db: &mut SqliteConnection, kit: KitId) -> Result<Terms> {
    let row = sqlx::query!(
        "SELECT cost, supplier, service_level, review_days, version FROM kit_terms WHERE id = ?1",
        kit
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map_or_else(Terms::default, |row| Terms {
        cost: row.cost.map(|d| d.0),
        supplier: row.supplier,
        service_level: row.service_level.map(|d| d.0),
        review_days: row.review_days.and_then(|d| u32::try_from(d).ok()),
        version: row.version,
    }))
}

/// Keeps a kit's terms; false if somebody changed them meanwhile.
pub async fn put_terms(db: &mut SqliteConnection, kit: KitId, terms: &Terms) -> Result<bool> {
    let (cost, level) = (terms.cost.map(Digits), terms.service_level.map(Digits));
    let done = sqlx::query!(
        "INSERT INTO kit_terms (id, cost, supplier, service_level, review_days) VALUES (?1, ?2, ?3, ?4, ?5)
         ON CONFLICT (id) DO UPDATE SET cost = excluded.cost, supplier = excluded.supplier,
           service_level = excluded.service_level, review_days = excluded.review_days, version = kit_terms.version + 1
         WHERE kit_terms.version = ?6",
        kit,
        cost,
        terms.supplier,
        level,
        terms.review_days,
        terms.version
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Every service class with its gauges in service, its failures since a month, and what was stated.
pub async fn class_records(db: &mut SqliteConnection, since: &str) -> Result<Vec<ClassRecord>> {
    let rows = sqlx::query!(
        r#"SELECT c.id AS "id!: ServiceClassId", c.name AS "name!: String", coalesce(n.gauges, 0) AS "gauges!: i64",
             coalesce((SELECT sum(f.failures) FROM class_failures f WHERE f.service_class_id = c.id AND f.month >= ?1), 0) AS "failures!: i64",
             r.failures_per_year AS "per_year?: Digits", r.ground AS "ground?: String", r.version AS "version?: i64"
           FROM service_class c LEFT JOIN class_count n ON n.service_class_id = c.id LEFT JOIN class_rate r ON r.id = c.id
           ORDER BY c.name"#,
        since
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| ClassRecord {
            class: row.id,
            name: row.name,
            gauges: row.gauges,
            failures: row.failures,
            stated: match (row.per_year, row.ground, row.version) {
                (Some(per_year), Some(ground), Some(version)) => Some(Stated {
                    class: row.id,
                    per_year: per_year.0,
                    ground,
                    version,
                }),
                _ => None,
            },
        })
        .collect())
}

/// Keeps a stated failure rate; false if somebody changed it meanwhile.
pub async fn put_rate(db: &mut SqliteConnection, stated: &Stated) -> Result<bool> {
    let rate = Digits(stated.per_year);
    let done = sqlx::query!(
        "INSERT INTO class_rate (id, failures_per_year, ground) VALUES (?1, ?2, ?3)
         ON CONFLICT (id) DO UPDATE SET failures_per_year = excluded.failures_per_year, ground = excluded.ground,
           version = class_rate.version + 1
         WHERE class_rate.version = ?4",
        stated.class,
        rate,
        stated.ground,
        stated.version
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// How many gauges in service of each class take a kit, by kits for a rebuild.
pub async fn takers(
    db: &mut SqliteConnection,
    kit: KitId,
) -> Result<BTreeMap<ServiceClassId, Vec<(u32, u32)>>> {
    let rows = sqlx::query!(
        "SELECT service_class_id, kits, gauges FROM class_kit WHERE kit_id = ?1",
        kit
    )
    .fetch_all(db)
    .await?;
    let mut by_class: BTreeMap<ServiceClassId, Vec<(u32, u32)>> = BTreeMap::new();
    for row in rows {
        by_class.entry(row.service_class_id).or_default().push((
            u32::try_from(row.kits).unwrap_or(0),
            u32::try_from(row.gauges).unwrap_or(0),
        ));
    }
    Ok(by_class)
}

/// When the register began to watch: the moment of its first audit line.
pub async fn began(db: &mut SqliteConnection) -> Result<Option<Moment>> {
    Ok(
        sqlx::query_scalar!("SELECT at FROM audit ORDER BY id LIMIT 1")
            .fetch_optional(db)
            .await?,
    )
}

/// What is awaited of a kit, by the day it was promised; what has no day yet is left out.
pub async fn awaited(db: &mut SqliteConnection, kit: KitId) -> Result<Vec<Receipt>> {
    let rows = sqlx::query!(
        r#"SELECT promised_on AS "on!: Date", awaited FROM kit_order_line
           WHERE kit_id = ?1 AND awaited > 0 AND promised_on IS NOT NULL ORDER BY promised_on"#,
        kit
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Receipt {
            on: row.on,
            quantity: u32::try_from(row.awaited).unwrap_or(0),
            last_usable: None,
        })
        .collect())
}

/// Gauges of a class that is rebuilt again before the end of what is looked at: the day of the next
/// rebuild, the interval after it, and the kits.
pub async fn short_intervals(
    db: &mut SqliteConnection,
    kit: KitId,
    until: Date,
    months: u32,
) -> Result<Vec<(Date, u32, u32)>> {
    let any = sqlx::query_scalar!(
        r#"SELECT EXISTS (SELECT 1 FROM service_class WHERE rebuild_months < ?1) AS "any!: bool""#,
        months
    )
    .fetch_one(&mut *db)
    .await?;
    if !any {
        return Ok(Vec::new());
    }
    let rows = sqlx::query!(
        r#"SELECT n.on_date, c.rebuild_months AS "months!: i64", g.kits_per_rebuild
           FROM kit_need n INDEXED BY kit_need_kit JOIN gauge g ON g.id = n.gauge_id JOIN service_class c ON c.id = g.service_class_id
           WHERE n.kit_id = ?1 AND n.on_date <= ?2 AND c.rebuild_months < ?3 AND g.standing = 'in-service'"#,
        kit,
        until,
        months
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .filter_map(|row| {
            Some((
                row.on_date,
                u32::try_from(row.months).ok()?,
                u32::try_from(row.kits_per_rebuild).ok()?,
            ))
        })
        .collect())
}

/// Kits whose projection has to be reckoned anew: marked by what moved, or reckoned on another day.
pub async fn stale(db: &mut SqliteConnection, most: i64) -> Result<Vec<KitId>> {
    Ok(sqlx::query_scalar!(
        "SELECT kit_id FROM kit_outlook INDEXED BY kit_outlook_stale WHERE stale = 1 ORDER BY kit_id LIMIT ?1",
        most
    )
    .fetch_all(db)
    .await?)
}

/// Kits whose projection was reckoned before a day.
pub async fn reckoned_before(
    db: &mut SqliteConnection,
    day: Date,
    most: i64,
) -> Result<Vec<KitId>> {
    Ok(sqlx::query_scalar!(
        "SELECT kit_id FROM kit_outlook INDEXED BY kit_outlook_reckoned WHERE reckoned_on < ?1 LIMIT ?2",
        day,
        most
    )
    .fetch_all(db)
    .await?)
}

/// What a kit's shelf covers of what falls due in the days ahead, failures left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ahead {
    /// Kits on the shelf that may not be used.
    pub unusable: u32,
    /// Kits wanted.
    pub wanted: u32,
    /// Kits missing.
    pub short: u32,
    /// The first day one is missing.
    pub short_on: Option<Date>,
    /// The latest day to order for it.
    pub order_by: Option<Date>,
}

/// A row of the projection about to be kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reckoned {
    /// The kit.
    pub kit: KitId,
    /// The day it was reckoned on.
    pub on: Date,
    /// Latest day to order.
    pub order_by: Option<Date>,
    /// First day kits are short.
    pub short_on: Option<Date>,
    /// First day planned rebuilds alone are short.
    pub rebuilds_short_on: Option<Date>,
    /// The order that follows.
    pub then: Option<Then>,
    /// Kits to order, usable, on the way, planned, kept for failures.
    pub kits: [u32; 5],
    /// The last day of the span.
    pub until: Date,
    /// The shelf in the days ahead.
    pub ahead: Ahead,
}

/// Keeps a row of the projection.
pub async fn put(db: &mut SqliteConnection, row: &Reckoned) -> Result<()> {
    let [quantity, usable, on_the_way, planned, cover] = row.kits;
    let then_quantity = row.then.map(|then| then.quantity);
    let (then_by, then_on) = row.then.map(|then| (then.by, then.arrives)).unzip();
    sqlx::query!(
        "UPDATE kit_outlook SET stale = 0, refused = NULL, reckoned_on = ?2, order_by = ?3, short_on = ?4, quantity = ?5, usable = ?6,
           on_the_way = ?7, planned = ?8, cover = ?9, until_on = ?10, unusable = ?11, ahead_wanted = ?12, ahead_short = ?13,
           ahead_short_on = ?14, ahead_order_by = ?15, rebuilds_short_on = ?16, then_quantity = ?17, then_by = ?18, then_on = ?19
         WHERE kit_id = ?1",
        row.kit,
        row.on,
        row.order_by,
        row.short_on,
        quantity,
        usable,
        on_the_way,
        planned,
        cover,
        row.until,
        row.ahead.unusable,
        row.ahead.wanted,
        row.ahead.short,
        row.ahead.short_on,
        row.ahead.order_by,
        row.rebuilds_short_on,
        then_quantity,
        then_by,
        then_on
    )
    .execute(db)
    .await?;
    Ok(())
}

/// The rows of the projection that count, after a kit: those nothing moved since they were reckoned.
pub async fn standing_after(
    db: &mut SqliteConnection,
    after: KitId,
    most: i64,
) -> Result<Vec<(Reckoned, KitNumber)>> {
    let rows = sqlx::query!(
        r#"SELECT o.kit_id AS "kit_id!: KitId", k.number AS "number!: KitNumber", o.reckoned_on AS "on!: Date", o.order_by AS "order_by?: Date",
             o.short_on AS "short_on?: Date", o.quantity AS "quantity!: u32", o.usable AS "usable!: u32", o.on_the_way AS "on_the_way!: u32",
             o.planned AS "planned!: u32", o.cover AS "cover!: u32", o.until_on AS "until_on!: Date", o.unusable AS "unusable!: u32",
             o.ahead_wanted AS "ahead_wanted!: u32", o.ahead_short AS "ahead_short!: u32", o.ahead_short_on AS "ahead_short_on?: Date",
             o.ahead_order_by AS "ahead_order_by?: Date", o.rebuilds_short_on AS "rebuilds_short_on?: Date",
             o.then_quantity AS "then_quantity?: u32", o.then_by AS "then_by?: Date", o.then_on AS "then_on?: Date"
           FROM kit_outlook o JOIN kit k ON k.id = o.kit_id
           WHERE o.kit_id > ?1 AND o.stale = 0 AND o.refused IS NULL AND o.reckoned_on > '' ORDER BY o.kit_id LIMIT ?2"#,
        after,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| {
            let kept = Reckoned {
                kit: row.kit_id,
                on: row.on,
                order_by: row.order_by,
                short_on: row.short_on,
                rebuilds_short_on: row.rebuilds_short_on,
                then: then(row.then_quantity, row.then_by, row.then_on),
                kits: [
                    row.quantity,
                    row.usable,
                    row.on_the_way,
                    row.planned,
                    row.cover,
                ],
                until: row.until_on,
                ahead: Ahead {
                    unusable: row.unusable,
                    wanted: row.ahead_wanted,
                    short: row.ahead_short,
                    short_on: row.ahead_short_on,
                    order_by: row.ahead_order_by,
                },
            };
            (kept, row.number)
        })
        .collect())
}

/// The order that follows, where one is kept.
pub(super) fn then(quantity: Option<u32>, by: Option<Date>, arrives: Option<Date>) -> Option<Then> {
    Some(Then {
        quantity: quantity?,
        by: by?,
        arrives: arrives?,
    })
}

/// How many rows of the projection do not count now: those of kits that wait to be reckoned, and of kits
/// that could not be.
pub async fn not_standing(db: &mut SqliteConnection) -> Result<(i64, i64)> {
    let row = sqlx::query!(
        r#"SELECT count(iif(stale = 1 OR reckoned_on = '', 1, NULL)) AS "waiting!: i64",
             count(iif(stale = 0 AND reckoned_on > '' AND refused IS NOT NULL, 1, NULL)) AS "refused!: i64" FROM kit_outlook"#
    )
    .fetch_one(db)
    .await?;
    Ok((row.waiting, row.refused))
}

/// Keeps that a kit could not be reckoned on a day, and why. What was reckoned last stays, so that a
/// kit to be ordered does not vanish from the list.
pub async fn put_refused(db: &mut SqliteConnection, kit: KitId, on: Date, why: &str) -> Result<()> {
    sqlx::query!(
        "UPDATE kit_outlook SET stale = 0, refused = ?3, reckoned_on = ?2 WHERE kit_id = ?1",
        kit,
        on,
        why
    )
    .execute(db)
    .await?;
    Ok(())
}

/// A gauge whose open rebuild reserves kits.
#[derive(Debug, Clone)]
pub struct Reserving {
    /// The gauge.
    pub gauge_id: GaugeId,
    /// Its tag number.
    pub tag: TagNumber,
    /// The day its rebuild is planned for.
    pub on_date: Date,
    /// Kits still to come from the shelf.
    pub kits: i64,
}

/// The planned rebuilds that reserve kits, the soonest first.
pub async fn reserving(db: &mut SqliteConnection, kit: KitId, most: i64) -> Result<Vec<Reserving>> {
    Ok(sqlx::query_as!(
        Reserving,
        r#"SELECT n.gauge_id AS "gauge_id!", g.tag AS "tag!", n.on_date, n.kits
           FROM kit_need n INDEXED BY kit_need_reserved JOIN gauge g ON g.id = n.gauge_id
           WHERE n.kit_id = ?1 AND n.rebuild_id IS NOT NULL ORDER BY n.on_date, n.gauge_id LIMIT ?2"#,
        kit,
        most
    )
    .fetch_all(db)
    .await?)
}

/// The shutdown windows whose rebuilds want each of several kits on a day of its own, by name: those planned for
/// that day, and those that cannot be done outside of a window. Of each window that stands on the day one gauge is
/// looked for, so that a list need not walk all those of a day.
pub async fn windows_wanting(
    db: &mut SqliteConnection,
    days: &[(KitId, Date)],
) -> Result<Vec<(KitId, String)>> {
    let days = serde_json::to_string(
        &days
            .iter()
            .map(|(kit, on)| (kit.0, on.to_string()))
            .collect::<Vec<_>>(),
    )?;
    let rows = sqlx::query!(
        r#"SELECT DISTINCT k.id AS "kit!: KitId", w.name AS "name!: String"
           FROM json_each(?1) j CROSS JOIN kit k ON k.id = j.value ->> 0 CROSS JOIN shutdown_window w ON w.ends_on >= j.value ->> 1 AND w.starts_on <= j.value ->> 1
           WHERE EXISTS (
             SELECT 1 FROM kit_need n INDEXED BY kit_need_kit CROSS JOIN gauge g ON g.id = n.gauge_id
             WHERE n.kit_id = k.id AND n.on_date = j.value ->> 1 AND g.area_id = w.area_id
               AND (n.rebuild_id IS NOT NULL OR g.isolation = 'shutdown-only'))
           ORDER BY 1, 2 LIMIT 240"#,
        days
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| (row.kit, row.name)).collect())
}

/// How many kits the planned rebuilds reserve.
pub async fn reserved(db: &mut SqliteConnection, kit: KitId) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT coalesce(sum(kits), 0) AS "kits!: i64" FROM kit_need INDEXED BY kit_need_reserved
           WHERE kit_id = ?1 AND rebuild_id IS NOT NULL"#,
        kit
    )
    .fetch_one(db)
    .await?)
}

/// The rules the projections of due dates and needs were made with.
pub async fn projected_by(db: &mut SqliteConnection) -> Result<i64> {
    Ok(
        sqlx::query_scalar!("SELECT version FROM projection_rules WHERE id = 1")
            .fetch_one(db)
            .await?,
    )
}

/// Notes the rules the projections are made with now.
pub async fn projected(db: &mut SqliteConnection, version: i64) -> Result<()> {
    sqlx::query!(
        "UPDATE projection_rules SET version = ?1 WHERE id = 1",
        version
    )
    .execute(db)
    .await?;
    Ok(())
}

/// How many rows of the counts that triggers keep differ from what they are made from.
pub async fn astray(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT
             (SELECT count(*) FROM (
                SELECT service_class_id, count(*) FROM gauge WHERE standing = 'in-service' GROUP BY 1
                EXCEPT SELECT service_class_id, gauges FROM class_count))
             + (SELECT count(*) FROM (
                SELECT kit_id, service_class_id, kits_per_rebuild, count(*) FROM gauge
                  WHERE standing = 'in-service' AND kit_id IS NOT NULL GROUP BY 1, 2, 3
                EXCEPT SELECT kit_id, service_class_id, kits, gauges FROM class_kit))
             + (SELECT count(*) FROM (
                SELECT kit_id, service_class_id, kits, gauges FROM class_kit
                EXCEPT SELECT kit_id, service_class_id, kits_per_rebuild, count(*) FROM gauge
                  WHERE standing = 'in-service' AND kit_id IS NOT NULL GROUP BY 1, 2, 3))
             + (SELECT count(*) FROM (
                SELECT l.id, l.quantity - coalesce((SELECT sum(r.quantity) FROM order_receipt r WHERE r.line_id = l.id), 0)
                  FROM kit_order_line l JOIN kit_order o ON o.id = l.order_id WHERE o.state IN ('placed', 'received')
                EXCEPT SELECT id, awaited FROM kit_order_line))
           AS "astray!: i64""#
    )
    .fetch_one(db)
    .await?)
}
