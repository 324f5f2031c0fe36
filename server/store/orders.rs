//! Orders of kits, their lines and what came of them.
//! Which step may follow which is decided in `acts::orders`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::columns::Digits;
use crate::record::order::{Order, OrderLine, OrderState};
use crate::record::{
    KitId, KitNumber, LotNumber, OrderId, OrderLineId, OrderNumber, PersonId, StockLineId,
};

macro_rules! orders {
    ($ending:literal $(, $value:expr)*) => {
        sqlx::query_as!(
            Order,
            r#"SELECT o.id AS "id!", o.number, o.state, o.supplier, o.reference, o.note, o.made_on,
                 p.name AS "made_by!: String", o.placed_on, o.closed_on,
                 o.withdrawn_reason, o.version
               FROM kit_order o JOIN known_as p ON p.person_id = o.made_by AND p.since <= o.made_on || 'T23:59:59.999Z' AND p.until > o.made_on || 'T23:59:59.999Z' "#
                + $ending
            $(, $value)*
        )
    };
}

/// The order of that number.
pub async fn by_number(db: &mut SqliteConnection, number: &str) -> Result<Option<Order>> {
    Ok(orders!("WHERE o.number = ?1", number)
        .fetch_optional(db)
        .await?)
}

/// An order by its row.
pub async fn by_id(db: &mut SqliteConnection, id: OrderId) -> Result<Option<Order>> {
    Ok(orders!("WHERE o.id = ?1", id).fetch_optional(db).await?)
}

/// The orders in one state, the latest first, before one of them.
pub async fn in_state(
    db: &mut SqliteConnection,
    state: OrderState,
    before: Option<OrderId>,
    most: i64,
) -> Result<Vec<Order>> {
    Ok(orders!(
        "WHERE o.state = ?1 AND o.id < coalesce(?2, 9223372036854775807) ORDER BY o.id DESC LIMIT ?3",
        state,
        before,
        most
    )
    .fetch_all(db)
    .await?)
}

/// How many orders begin with a text, for the next number.
pub async fn last_number(db: &mut SqliteConnection, begins: &str) -> Result<Option<OrderNumber>> {
    Ok(sqlx::query_scalar!(
        "SELECT number FROM kit_order WHERE substr(number, 1, length(?1)) = ?1 ORDER BY id DESC LIMIT 1",
        begins
    )
    .fetch_optional(db)
    .await?)
}

/// Makes a draft.
pub async fn add(
    db: &mut SqliteConnection,
    number: &OrderNumber,
    supplier: &str,
    made_on: Date,
    person: PersonId,
) -> Result<OrderId> {
    let id = sqlx::query!(
        "INSERT INTO kit_order (number, state, supplier, made_on, made_by) VALUES (?1, 'draft', ?2, ?3, ?4)",
        number,
        supplier,
        made_on,
        person
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(OrderId(id))
}

/// Changes an order from the version that was read; false if somebody did meanwhile.
pub async fn change(db: &mut SqliteConnection, order: &Order) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE kit_order SET state = ?3, supplier = ?4, reference = ?5, note = ?6, placed_on = ?7, closed_on = ?8,
           withdrawn_reason = ?9, version = version + 1 WHERE id = ?1 AND version = ?2",
        order.id,
        order.version,
        order.state,
        order.supplier,
        order.reference,
        order.note,
        order.placed_on,
        order.closed_on,
        order.withdrawn_reason
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// The lines of an order, by kit.
pub async fn lines(db: &mut SqliteConnection, order: OrderId) -> Result<Vec<OrderLine>> {
    let rows = sqlx::query!(
        r#"SELECT l.id AS "id!", l.kit_id AS "kit_id!", k.number AS "kit!: KitNumber", k.name AS "name!: String", l.quantity, l.cost,
             l.promised_on, l.awaited, k.pack, k.minimum
           FROM kit_order_line l JOIN kit k ON k.id = l.kit_id WHERE l.order_id = ?1 ORDER BY k.number"#,
        order
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| OrderLine {
            id: row.id,
            kit_id: row.kit_id,
            kit: row.kit,
            name: row.name,
            quantity: row.quantity,
            cost: row.cost.map(|d| d.0),
            promised_on: row.promised_on,
            awaited: row.awaited,
            pack: row.pack,
            minimum: row.minimum,
        })
        .collect())
}

/// Writes a line of a draft: the same kit again replaces it.
pub async fn put_line(
    db: &mut SqliteConnection,
    order: OrderId,
    kit: KitId,
    quantity: u32,
    cost: Option<rust_decimal::Decimal>,
) -> Result<OrderLineId> {
    let cost = cost.map(Digits);
    Ok(sqlx::query_scalar!(
        r#"INSERT INTO kit_order_line (order_id, kit_id, quantity, cost) VALUES (?1, ?2, ?3, ?4)
           ON CONFLICT (order_id, kit_id) DO UPDATE SET quantity = excluded.quantity, cost = excluded.cost
           RETURNING id AS "id!: OrderLineId""#,
        order,
        kit,
        quantity,
        cost
    )
    .fetch_one(db)
    .await?)
}

/// Takes a line out of a draft.
pub async fn remove_line(db: &mut SqliteConnection, line: OrderLineId) -> Result<()> {
    sqlx::query!("DELETE FROM kit_order_line WHERE id = ?1", line)
        .execute(db)
        .await?;
    Ok(())
}

/// Notes when a line is promised and how many are awaited.
pub async fn await_line(
    db: &mut SqliteConnection,
    line: OrderLineId,
    promised_on: Option<Date>,
    awaited: i64,
) -> Result<()> {
    sqlx::query!(
        "UPDATE kit_order_line SET promised_on = ?2, awaited = ?3 WHERE id = ?1",
        line,
        promised_on,
        awaited
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Notes which ledger line answered a line of an order; returns the row.
pub async fn add_receipt(
    db: &mut SqliteConnection,
    line: OrderLineId,
    stock_line: StockLineId,
    quantity: u32,
) -> Result<i64> {
    Ok(sqlx::query!(
        "INSERT INTO order_receipt (line_id, stock_line_id, quantity) VALUES (?1, ?2, ?3)",
        line,
        stock_line,
        quantity
    )
    .execute(db)
    .await?
    .last_insert_rowid())
}

/// What came of an order.
#[derive(Debug, Clone)]
pub struct Came {
    /// The kit.
    pub kit: KitNumber,
    /// The lot.
    pub lot: LotNumber,
    /// How many.
    pub quantity: i64,
    /// The day.
    pub on_date: Date,
    /// Who received them.
    pub person: String,
}

/// What came of an order, in order.
pub async fn came(db: &mut SqliteConnection, order: OrderId) -> Result<Vec<Came>> {
    Ok(sqlx::query_as!(
        Came,
        r#"SELECT k.number AS "kit!: KitNumber", t.number AS "lot!: LotNumber", r.quantity, s.on_date,
             p.name AS "person!: String"
           FROM kit_order_line l JOIN order_receipt r ON r.line_id = l.id JOIN stock_line s ON s.id = r.stock_line_id
             JOIN lot t ON t.id = s.lot_id JOIN kit k ON k.id = l.kit_id JOIN known_as p ON p.person_id = s.person_id AND p.since <= s.at AND p.until > s.at
           WHERE l.order_id = ?1 ORDER BY r.id"#,
        order
    )
    .fetch_all(db)
    .await?)
}

/// A line that is awaited, with its order.
#[derive(Debug, Clone)]
pub struct Awaited {
    /// The order.
    pub order: OrderNumber,
    /// Who supplies it.
    pub supplier: String,
    /// The kit.
    pub kit: KitNumber,
    /// How many were ordered.
    pub quantity: i64,
    /// How many are still to come.
    pub awaited: i64,
    /// The promised day.
    pub promised_on: Option<Date>,
}

/// Everything awaited, by the promised day, those without one first; after a day and a row.
pub async fn awaited(db: &mut SqliteConnection, most: i64) -> Result<Vec<Awaited>> {
    Ok(sqlx::query_as!(
        Awaited,
        r#"SELECT o.number AS "order!: OrderNumber", o.supplier, k.number AS "kit!: KitNumber", l.quantity, l.awaited, l.promised_on
           FROM kit_order_line l INDEXED BY kit_order_line_promised JOIN kit_order o ON o.id = l.order_id JOIN kit k ON k.id = l.kit_id
           WHERE l.awaited > 0 ORDER BY l.promised_on, l.id LIMIT ?1"#,
        most
    )
    .fetch_all(db)
    .await?)
}

/// What is awaited of one kit, by the promised day.
pub async fn awaited_of(db: &mut SqliteConnection, kit: KitId) -> Result<Vec<Awaited>> {
    Ok(sqlx::query_as!(
        Awaited,
        r#"SELECT o.number AS "order!: OrderNumber", o.supplier, k.number AS "kit!: KitNumber", l.quantity, l.awaited, l.promised_on
           FROM kit_order_line l INDEXED BY kit_order_line_awaited JOIN kit_order o ON o.id = l.order_id JOIN kit k ON k.id = l.kit_id
           WHERE l.kit_id = ?1 AND l.awaited > 0 ORDER BY l.promised_on, l.id LIMIT 100"#,
        kit
    )
    .fetch_all(db)
    .await?)
}

/// What is awaited of some kits, by the promised day, so many lines of each at most.
pub async fn awaited_of_each(
    db: &mut SqliteConnection,
    kits: &[KitNumber],
    most: i64,
) -> Result<Vec<Awaited>> {
    let kits = serde_json::to_string(kits)?;
    Ok(sqlx::query_as!(
        Awaited,
        r#"SELECT o.number AS "order!: OrderNumber", o.supplier AS "supplier!: String", k.number AS "kit!: KitNumber",
             l.quantity AS "quantity!: i64", l.awaited AS "awaited!: i64", l.promised_on AS "promised_on?: Date"
           FROM json_each(?1) j CROSS JOIN kit k ON k.number = j.value CROSS JOIN kit_order_line l ON l.id IN (
             SELECT m.id FROM kit_order_line m INDEXED BY kit_order_line_awaited
             WHERE m.kit_id = k.id AND m.awaited > 0 ORDER BY m.promised_on IS NULL, m.promised_on, m.id LIMIT ?2)
             JOIN kit_order o ON o.id = l.order_id
           ORDER BY k.id, l.promised_on IS NULL, l.promised_on, l.id"#,
        kits,
        most
    )
    .fetch_all(db)
    .await?)
}

/// Kits that stand in a draft and are not ordered yet.
#[derive(Debug, Clone)]
pub struct Drafted {
    /// The kit.
    pub kit_id: KitId,
    /// The draft.
    pub order: OrderNumber,
    /// How many.
    pub quantity: i64,
}

/// What of these kits stands in drafts, the first few drafts first.
pub async fn drafted(db: &mut SqliteConnection, kits: &[KitId], most: i64) -> Result<Vec<Drafted>> {
    let kits = serde_json::to_string(kits)?;
    Ok(sqlx::query_as!(
        Drafted,
        r#"SELECT l.kit_id AS "kit_id!: KitId", o.number AS "order!: OrderNumber", l.quantity AS "quantity!: i64"
           FROM kit_order o INDEXED BY kit_order_state CROSS JOIN kit_order_line l ON l.order_id = o.id
           WHERE o.state = 'draft' AND l.quantity > 0 AND l.kit_id IN (SELECT value FROM json_each(?1))
           ORDER BY o.id, l.kit_id LIMIT ?2"#,
        kits,
        most
    )
    .fetch_all(db)
    .await?)
}

/// How many orders are drafted and not placed, counted up to so many.
pub async fn count_drafts(db: &mut SqliteConnection, most: i64) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM (SELECT 1 FROM kit_order INDEXED BY kit_order_state WHERE state = 'draft' LIMIT ?1)"#,
        most
    )
    .fetch_one(db)
    .await?)
}

/// How many lines are late on a day, counted up to so many.
pub async fn count_late(db: &mut SqliteConnection, today: Date, most: i64) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM (SELECT 1 FROM kit_order_line INDEXED BY kit_order_line_promised
           WHERE awaited > 0 AND promised_on < ?1 LIMIT ?2)"#,
        today,
        most
    )
    .fetch_one(db)
    .await?)
}
