//! What to order as lists and boards read it from the projection `kit_outlook`: lines by the day of their
//! order, one kit's, and counts. How it is reckoned and kept is in `needs.rs`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::columns::Digits;
use super::needs::then;
use crate::record::need::Outlook;
use crate::record::{KitId, KitNumber};

/// The kits that could not be reckoned when it was tried last, and why.
pub async fn refused(
    db: &mut SqliteConnection,
    most: i64,
) -> Result<Vec<(KitId, KitNumber, String)>> {
    let rows = sqlx::query!(
        r#"SELECT o.kit_id AS "id!: KitId", k.number AS "number!: KitNumber", o.refused AS "why!: String"
           FROM kit_outlook o INDEXED BY kit_outlook_refused JOIN kit k ON k.id = o.kit_id
           WHERE o.refused IS NOT NULL ORDER BY o.kit_id LIMIT ?1"#,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.id, row.number, row.why))
        .collect())
}

macro_rules! outlooks {
    ($from:literal $(, $value:expr)*) => {
        sqlx::query!(
            r#"SELECT o.kit_id AS "kit_id!", k.number AS "number!: KitNumber", k.name AS "name!: String", o.order_by AS "order_by?: Date",
                 o.short_on AS "short_on?: Date", o.quantity, o.usable, o.on_the_way, o.planned, o.cover, o.until_on AS "until_on?: Date",
                 o.rebuilds_short_on AS "rebuilds_short_on?: Date", o.then_quantity AS "then_quantity?: u32", o.then_by AS "then_by?: Date",
                 o.then_on AS "then_on?: Date", t.cost AS "cost?: Digits" "#
                + $from
            $(, $value)*
        )
    };
}

macro_rules! outlook {
    ($row:expr) => {{
        let row = $row;
        Outlook {
            kit_id: row.kit_id,
            kit: row.number,
            name: row.name,
            order_by: row.order_by,
            short_on: row.short_on,
            rebuilds_short_on: row.rebuilds_short_on,
            then: then(row.then_quantity, row.then_by, row.then_on),
            quantity: row.quantity,
            usable: row.usable,
            on_the_way: row.on_the_way,
            planned: row.planned,
            cover: row.cover,
            until_on: row.until_on,
            cost: row.cost.map(|d| d.0),
        }
    }};
}

/// The kits to order by their day, after one of them.
pub async fn to_order(
    db: &mut SqliteConnection,
    after: Option<(Date, KitId)>,
    most: i64,
) -> Result<Vec<Outlook>> {
    let (day, id) = after.unzip();
    let rows = outlooks!(
        "FROM kit_outlook o INDEXED BY kit_outlook_order CROSS JOIN kit k ON k.id = o.kit_id LEFT JOIN kit_terms t ON t.id = o.kit_id
         WHERE o.order_by IS NOT NULL AND (o.order_by, o.kit_id) > (coalesce(?1, ''), coalesce(?2, 0))
         ORDER BY o.order_by, o.kit_id LIMIT ?3",
        day,
        id,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| outlook!(row)).collect())
}

/// What to order of one kit.
pub async fn outlook_of(db: &mut SqliteConnection, kit: KitId) -> Result<Option<Outlook>> {
    let row = outlooks!(
        "FROM kit_outlook o JOIN kit k ON k.id = o.kit_id LEFT JOIN kit_terms t ON t.id = o.kit_id WHERE o.kit_id = ?1",
        kit
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| outlook!(row)))
}

/// How many kits are to be ordered by a day, counted up to so many. Where what is on the way would cover
/// the lack if only it came sooner, nothing is to be ordered but what follows.
pub async fn count_to_order(db: &mut SqliteConnection, by: Date, most: i64) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM (
             SELECT * FROM (SELECT 1 FROM kit_outlook INDEXED BY kit_outlook_to_order
               WHERE order_by IS NOT NULL AND order_by <= ?1 AND quantity > 0 LIMIT ?2)
             UNION ALL
             SELECT 1 FROM kit_outlook INDEXED BY kit_outlook_to_hurry WHERE order_by IS NOT NULL AND quantity = 0 AND then_by <= ?1
             LIMIT ?2)"#,
        by,
        most
    )
    .fetch_one(db)
    .await?)
}

/// How many kits ask for something, each counted up to the same bound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asking {
    /// To be ordered before a day.
    pub past: i64,
    /// To be ordered up to a later day.
    pub soon: i64,
    /// To be ordered at all in the time looked ahead.
    pub all: i64,
    /// What is on the way comes too late.
    pub hurried: i64,
}

/// Counts the kits to be ordered and those whose orders are to be hurried, in one walk.
pub async fn count_asking(
    db: &mut SqliteConnection,
    (today, soon): (Date, Date),
    most: i64,
) -> Result<Asking> {
    Ok(sqlx::query_as!(
        Asking,
        r#"SELECT count(*) AS "all!: i64", count(*) FILTER (WHERE order_by < ?1) AS "past!: i64",
             count(*) FILTER (WHERE order_by <= ?2) AS "soon!: i64",
             (SELECT count(*) FROM (SELECT 1 FROM kit_outlook INDEXED BY kit_outlook_to_hurry
                WHERE order_by IS NOT NULL AND quantity = 0 LIMIT ?3)) AS "hurried!: i64"
           FROM (
             SELECT order_by FROM (SELECT order_by FROM kit_outlook INDEXED BY kit_outlook_to_order
               WHERE order_by IS NOT NULL AND quantity > 0 ORDER BY order_by LIMIT ?3)
             UNION ALL
             SELECT then_by FROM kit_outlook INDEXED BY kit_outlook_to_hurry WHERE order_by IS NOT NULL AND quantity = 0 AND then_by IS NOT NULL
             LIMIT ?3)"#,
        today,
        soon,
        most
    )
    .fetch_one(db)
    .await?)
}

/// The first day an order has to be placed, where anything is to be ordered.
pub async fn first_order(db: &mut SqliteConnection) -> Result<Option<Date>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT min(day) AS "day?: Date" FROM (
             SELECT * FROM (SELECT order_by AS day FROM kit_outlook INDEXED BY kit_outlook_to_order
               WHERE order_by IS NOT NULL AND quantity > 0 ORDER BY order_by LIMIT 1)
             UNION ALL
             SELECT then_by FROM kit_outlook INDEXED BY kit_outlook_to_hurry WHERE order_by IS NOT NULL AND quantity = 0 AND then_by IS NOT NULL)"#
    )
    .fetch_one(db)
    .await?)
}

/// Of how many kits what is on the way comes too late, whenever that is, counted up to so many: what is to
/// come sooner is asked for as soon as that is known.
pub async fn count_to_hurry(db: &mut SqliteConnection, most: i64) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM (SELECT 1 FROM kit_outlook INDEXED BY kit_outlook_to_hurry
           WHERE order_by IS NOT NULL AND quantity = 0 LIMIT ?1)"#,
        most
    )
    .fetch_one(db)
    .await?)
}
