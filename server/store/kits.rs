//! Kits, lots and the stock ledger. On hand is the balance of a lot's last line.
//! Which lot goes first is decided in `calc::lots`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::record::gauge::Kind;
use crate::record::kit::{Kit, Lot, Movement, Part};
use crate::record::{KitId, KitNumber, LotId, LotNumber, Moment, PersonId, RebuildId, StockLineId};

/// The row of the kit of that number.
pub async fn id_of(db: &mut SqliteConnection, number: &str) -> Result<Option<KitId>> {
    Ok(
        sqlx::query_scalar!("SELECT id FROM kit WHERE number = ?1", number)
            .fetch_optional(db)
            .await?,
    )
}

/// Every kit's row and number, by number, for choosing one.
pub async fn numbers(db: &mut SqliteConnection) -> Result<Vec<(KitId, KitNumber)>> {
    let rows = sqlx::query!("SELECT id, number FROM kit ORDER BY number LIMIT 2000")
        .fetch_all(db)
        .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.number)).collect())
}

/// Every kit's row, number and what it is for, for recognising numbers in a list.
pub async fn numbers_and_kinds(db: &mut SqliteConnection) -> Result<Vec<(KitId, KitNumber, Kind)>> {
    let rows = sqlx::query!("SELECT id, number, kind FROM kit")
        .fetch_all(db)
        .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.id, row.number, row.kind))
        .collect())
}

/// One statement with a kit's columns and an ending.
macro_rules! kits {
    ($ending:literal $(, $value:expr)*) => {
        sqlx::query!(
            "SELECT id, number, name, kind, glass_length_mm, contents, shelf_life_months, lead_days, pack, minimum, version FROM kit "
                + $ending
            $(, $value)*
        )
    };
}

macro_rules! kit {
    ($row:expr) => {{
        let row = $row;
        Kit {
            id: row.id,
            number: row.number,
            name: row.name,
            kind: row.kind,
            glass_length_mm: row.glass_length_mm.and_then(|mm| u16::try_from(mm).ok()),
            contents: row.contents,
            shelf_life_months: row.shelf_life_months.and_then(|m| u32::try_from(m).ok()),
            lead_days: u32::try_from(row.lead_days).unwrap_or(0),
            pack: u32::try_from(row.pack).unwrap_or(1),
            minimum: u32::try_from(row.minimum).unwrap_or(1),
            version: row.version,
        }
    }};
}

/// A kit by its row.
pub async fn by_id(db: &mut SqliteConnection, id: KitId) -> Result<Option<Kit>> {
    let row = kits!("WHERE id = ?1", id).fetch_optional(db).await?;
    Ok(row.map(|row| kit!(row)))
}

/// The kit of that number.
pub async fn by_number(db: &mut SqliteConnection, number: &str) -> Result<Option<Kit>> {
    let row = kits!("WHERE number = ?1", number)
        .fetch_optional(db)
        .await?;
    Ok(row.map(|row| kit!(row)))
}

/// Kits by number after one of them, with these words in number or name if any are given.
pub async fn list(
    db: &mut SqliteConnection,
    words: &str,
    after: &str,
    most: i64,
) -> Result<Vec<Kit>> {
    let rows = kits!(
        "WHERE number > ?1 AND (?2 = '' OR instr(lower(number), lower(?2)) OR instr(lower(name), lower(?2))) ORDER BY number LIMIT ?3",
        after,
        words,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| kit!(row)).collect())
}

/// These kits, by number.
pub async fn some(db: &mut SqliteConnection, ids: &[KitId]) -> Result<Vec<Kit>> {
    let ids = serde_json::to_string(ids)?;
    let rows = kits!(
        "WHERE id IN (SELECT value FROM json_each(?1)) ORDER BY number",
        ids
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| kit!(row)).collect())
}

/// Whether there is no kit at all.
pub async fn none(db: &mut SqliteConnection) -> Result<bool> {
    Ok(
        sqlx::query_scalar!(r#"SELECT NOT EXISTS (SELECT 1 FROM kit) AS "none!: bool""#)
            .fetch_one(db)
            .await?,
    )
}

/// Adds a kit.
pub async fn add(db: &mut SqliteConnection, kit: &Kit) -> Result<KitId> {
    let id = sqlx::query!(
        "INSERT INTO kit (number, name, kind, glass_length_mm, contents, shelf_life_months, lead_days, pack, minimum)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        kit.number,
        kit.name,
        kit.kind,
        kit.glass_length_mm,
        kit.contents,
        kit.shelf_life_months,
        kit.lead_days,
        kit.pack,
        kit.minimum
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(KitId(id))
}

/// Changes a kit if nobody did so since its version; false if somebody did.
pub async fn change(db: &mut SqliteConnection, kit: &Kit) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE kit SET number = ?3, name = ?4, kind = ?5, glass_length_mm = ?6, contents = ?7, shelf_life_months = ?8,
           lead_days = ?9, pack = ?10, minimum = ?11, version = version + 1 WHERE id = ?1 AND version = ?2",
        kit.id,
        kit.version,
        kit.number,
        kit.name,
        kit.kind,
        kit.glass_length_mm,
        kit.contents,
        kit.shelf_life_months,
        kit.lead_days,
        kit.pack,
        kit.minimum
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// One statement with a lot's columns, what it holds, and an ending.
macro_rules! lots_asked {
    ($ending:literal $(, $value:expr)*) => {
        sqlx::query!(
            r#"SELECT l.id AS "id!", l.kit_id AS "kit_id!", k.number AS "kit!: KitNumber", l.number AS "number!", l.received_on AS "received_on!",
                 l.expires_on, l.place AS "place!",
                 (SELECT s.balance FROM stock_line s WHERE s.lot_id = l.id ORDER BY s.id DESC LIMIT 1) AS "on_hand?: i64",
                 (SELECT json_group_array(json_array(e.place, e.kits)) FROM lot_elsewhere e WHERE e.lot_id = l.id) AS "elsewhere!: String",
                 (SELECT h.recall_id FROM lot_held_back h WHERE h.lot_id = l.id) AS "held_back?: crate::record::RecallId" "#
                + $ending
            $(, $value)*
        )
    };
}
pub(super) use lots_asked;

macro_rules! lot_found {
    ($row:expr) => {{
        let row = $row;
        Lot {
            id: row.id,
            kit_id: row.kit_id,
            kit: row.kit,
            number: row.number,
            received_on: row.received_on,
            expires_on: row.expires_on,
            place: row.place,
            on_hand: row.on_hand.unwrap_or(0),
            elsewhere: $crate::store::kits::parts(&row.elsewhere),
            held_back: row.held_back,
        }
    }};
}
pub(super) use lot_found;

/// What lies elsewhere, from the list of places and numbers the statement gathers.
pub(super) fn parts(list: &str) -> Vec<Part> {
    let pairs: Vec<(String, i64)> = serde_json::from_str(list).unwrap_or_default();
    pairs
        .into_iter()
        .map(|(place, kits)| Part {
            place: Some(place),
            kits,
        })
        .collect()
}

/// The lots of a kit that still hold something, first expired first, those that keep last.
pub async fn lots_on_hand(db: &mut SqliteConnection, kit: KitId) -> Result<Vec<Lot>> {
    let rows = lots_asked!(
        "FROM lot_on_shelf o JOIN lot l ON l.id = o.lot_id JOIN kit k ON k.id = l.kit_id WHERE o.kit_id = ?1
         ORDER BY l.expires_on IS NULL, l.expires_on, l.received_on, l.number",
        kit
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| lot_found!(row)).collect())
}

/// A lot by its row, with what it holds.
pub async fn lot(db: &mut SqliteConnection, id: LotId) -> Result<Option<Lot>> {
    let row = lots_asked!(
        "FROM lot l JOIN kit k ON k.id = l.kit_id WHERE l.id = ?1",
        id
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| lot_found!(row)))
}

/// A kit's lot of that number, with what it holds.
pub async fn lot_by_number(
    db: &mut SqliteConnection,
    kit: &str,
    number: &str,
) -> Result<Option<Lot>> {
    let row = lots_asked!(
        "FROM kit k JOIN lot l ON l.kit_id = k.id WHERE k.number = ?1 AND l.number = ?2",
        kit,
        number
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| lot_found!(row)))
}

/// Puts a lot in another place or gives it another last day.
pub async fn change_lot(
    db: &mut SqliteConnection,
    id: LotId,
    place: &str,
    expires_on: Option<Date>,
) -> Result<()> {
    sqlx::query!(
        "UPDATE lot SET place = ?2, expires_on = ?3 WHERE id = ?1",
        id,
        place,
        expires_on
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Adds a lot; what it holds comes with its receipt line.
pub async fn add_lot(
    db: &mut SqliteConnection,
    kit: KitId,
    number: &LotNumber,
    days: (Date, Option<Date>),
    place: &str,
) -> Result<LotId> {
    let (received_on, expires_on) = days;
    let id = sqlx::query!(
        "INSERT INTO lot (kit_id, number, received_on, expires_on, place) VALUES (?1, ?2, ?3, ?4, ?5)",
        kit,
        number,
        received_on,
        expires_on,
        place
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(LotId(id))
}

/// A line about to be written to the ledger.
#[derive(Debug, Clone)]
pub struct NewLine<'a> {
    /// The lot that moves.
    pub lot: LotId,
    /// What moves it.
    pub kind: Movement,
    /// By how many, with its sign.
    pub quantity: i64,
    /// The day it happens.
    pub on_date: Date,
    /// The rebuild it is for.
    pub rebuild: Option<RebuildId>,
    /// Why, where no rebuild says it.
    pub reason: &'a str,
    /// Where, if that is not the lot's own place.
    pub place: Option<&'a str>,
}

/// Writes a ledger line; the schema refuses a balance below zero, of the lot and of the place.
pub async fn add_line(
    db: &mut SqliteConnection,
    line: &NewLine<'_>,
    person: PersonId,
    now: Moment,
) -> Result<StockLineId> {
    let id = sqlx::query!(
        "INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id, rebuild_id, reason, place)
         VALUES (?1, ?2, ?3, ?3 + coalesce((SELECT balance FROM stock_line WHERE lot_id = ?1 ORDER BY id DESC LIMIT 1), 0),
           ?4, ?5, ?6, ?7, ?8, ?9)",
        line.lot,
        line.kind,
        line.quantity,
        now,
        line.on_date,
        person,
        line.rebuild,
        line.reason,
        line.place
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(StockLineId(id))
}

/// Kits of a lot about to be put in another place.
#[derive(Debug, Clone)]
pub struct NewMove<'a> {
    /// The lot, and what its own place is called.
    pub lot: (LotId, &'a str),
    /// Where they lie; none names the lot's own place.
    pub from: Option<&'a str>,
    /// Where they go; none names the lot's own place.
    pub to: Option<&'a str>,
    /// How many.
    pub quantity: u32,
    /// The day.
    pub on_date: Date,
    /// Why, if anybody says so.
    pub reason: &'a str,
}

/// Writes a move; the schema refuses more than lie there.
pub async fn add_move(
    db: &mut SqliteConnection,
    new: &NewMove<'_>,
    person: PersonId,
    now: Moment,
) -> Result<i64> {
    let (lot, own) = new.lot;
    Ok(sqlx::query!(
        "INSERT INTO lot_move (lot_id, from_place, to_place, own_place, quantity, after_line, at, on_date, person_id, reason)
         VALUES (?1, ?2, ?3, ?4, ?5, (SELECT max(id) FROM stock_line), ?6, ?7, ?8, ?9)",
        lot,
        new.from,
        new.to,
        own,
        new.quantity,
        now,
        new.on_date,
        person,
        new.reason
    )
    .execute(db)
    .await?
    .last_insert_rowid())
}

/// What a rebuild took from the storeroom, net of returns: lot and number of kits.
pub async fn taken_for(
    db: &mut SqliteConnection,
    rebuild: RebuildId,
) -> Result<Vec<(LotId, LotNumber, KitNumber, i64)>> {
    let rows = sqlx::query!(
        r#"SELECT l.id AS "id!", l.number AS "number!", k.number AS "kit!: KitNumber", sum(-s.quantity) AS "taken!: i64"
           FROM stock_line s JOIN lot l ON l.id = s.lot_id JOIN kit k ON k.id = l.kit_id
           WHERE s.rebuild_id = ?1 GROUP BY l.id HAVING sum(-s.quantity) > 0"#,
        rebuild
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.id, row.number, row.kit, row.taken))
        .collect())
}
