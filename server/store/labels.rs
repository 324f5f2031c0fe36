//! What labels of gauges say: asked for a whole area or for those named.
//! How labels lie on a sheet is the paper's affair.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::{AreaId, TagNumber};

/// Gauges that still hang, for labels: tag number, vessel, service, area; those of an area or those
/// named, if any are.
pub async fn of_gauges(
    db: &mut SqliteConnection,
    area: Option<AreaId>,
    only: &[&str],
    most: i64,
) -> Result<Vec<(TagNumber, String, String, String)>> {
    let list = serde_json::to_string(only)?;
    let none = only.is_empty();
    let rows = sqlx::query!(
        r#"SELECT g.tag AS "tag!: TagNumber", g.vessel, g.service, a.name AS area
           FROM gauge g JOIN area a ON a.id = g.area_id
           WHERE g.standing <> 'retired' AND (?1 IS NULL OR g.area_id = ?1)
             AND (?2 OR g.tag IN (SELECT value COLLATE NOCASE FROM json_each(?3)))
           ORDER BY g.tag LIMIT ?4"#,
        area,
        none,
        list,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.tag, row.vessel, row.service, row.area))
        .collect())
}
