//! Kits that may stand in for another one, as the plant stated it, with what lies on the shelf of them.
//! How many kits are to be ordered stands in `needs.rs`.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::{KitId, KitNumber};

/// A kit that may stand in for another.
#[derive(Debug, Clone)]
pub struct Alternative {
    /// The row.
    pub id: i64,
    /// The other kit.
    pub kit: KitNumber,
    /// The other kit's row.
    pub kit_id: KitId,
    /// What it is for.
    pub name: String,
    /// What has to be minded.
    pub note: String,
    /// How many of it lie on the shelf.
    pub on_hand: i64,
}

/// The kits that may stand in for one.
pub async fn of_kit(db: &mut SqliteConnection, kit: KitId) -> Result<Vec<Alternative>> {
    Ok(sqlx::query_as!(
        Alternative,
        r#"SELECT a.id AS "id!: i64", k.number AS "kit!: KitNumber", k.id AS "kit_id!: KitId", k.name, a.note,
             coalesce((SELECT sum((SELECT s.balance FROM stock_line s WHERE s.lot_id = o.lot_id ORDER BY s.id DESC LIMIT 1))
                FROM lot_on_shelf o WHERE o.kit_id = k.id), 0) AS "on_hand!: i64"
           FROM kit_alternative a JOIN kit k ON k.id = a.other_id WHERE a.kit_id = ?1 ORDER BY k.number"#,
        kit
    )
    .fetch_all(db)
    .await?)
}

/// Names a kit that may stand in for another; returns the row.
pub async fn add(db: &mut SqliteConnection, kit: KitId, other: KitId, note: &str) -> Result<i64> {
    Ok(sqlx::query!(
        "INSERT INTO kit_alternative (kit_id, other_id, note) VALUES (?1, ?2, ?3)",
        kit,
        other,
        note
    )
    .execute(db)
    .await?
    .last_insert_rowid())
}

/// Takes that back.
pub async fn remove(db: &mut SqliteConnection, kit: KitId, row: i64) -> Result<bool> {
    let done = sqlx::query!(
        "DELETE FROM kit_alternative WHERE id = ?1 AND kit_id = ?2",
        row,
        kit
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}
