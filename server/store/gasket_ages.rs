//! How old the gaskets of a kit may become in service, and the gauges that concerns.
//! The date it gives a gauge is decided in `calc::due`.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::kit::GasketAge;
use crate::record::{GaugeId, KitId};

/// What was stated of a kit; none where nothing ever was.
pub async fn of_kit(db: &mut SqliteConnection, kit: KitId) -> Result<Option<GasketAge>> {
    let row = sqlx::query!(
        "SELECT months, ground, version FROM gasket_age WHERE id = ?1",
        kit
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| GasketAge {
        months: row.months.and_then(|months| u32::try_from(months).ok()),
        ground: row.ground,
        version: row.version,
    }))
}

/// Keeps what is stated of a kit; false if somebody changed it meanwhile.
pub async fn put(db: &mut SqliteConnection, kit: KitId, age: &GasketAge) -> Result<bool> {
    let done = sqlx::query!(
        "INSERT INTO gasket_age (id, months, ground) VALUES (?1, ?2, ?3)
         ON CONFLICT (id) DO UPDATE SET months = excluded.months, ground = excluded.ground, version = gasket_age.version + 1
         WHERE gasket_age.version = ?4",
        kit,
        age.months,
        age.ground,
        age.version
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// The gauges that take a kit, or whose last rebuild fitted it.
pub async fn concerned(db: &mut SqliteConnection, kit: KitId) -> Result<Vec<GaugeId>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT id AS "id!: GaugeId" FROM gauge WHERE kit_id = ?1
           UNION SELECT r.gauge_id FROM lot l JOIN stock_line s ON s.lot_id = l.id JOIN rebuild r ON r.id = s.rebuild_id
           WHERE l.kit_id = ?1 ORDER BY 1"#,
        kit
    )
    .fetch_all(db)
    .await?)
}
