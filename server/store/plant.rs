//! The plant's own row, its areas and its service classes.
//! A new database has no plant row until the first administrator names the plant.

use sqlx::SqliteConnection;

use super::columns::Digits;
use super::{Error, Result};
use crate::calc::quantity::Stamped;
use crate::record::moment::Zone;
use crate::record::plant::{Area, Plant, ServiceClass};
use crate::record::{AreaId, ServiceClassId};

/// Whether this is the invented plant; none before it has been named. Every version's register answers it.
pub async fn is_demo(db: &mut SqliteConnection) -> Result<Option<bool>> {
    Ok(
        sqlx::query_scalar!(r#"SELECT demo AS "demo!: bool" FROM plant WHERE id = 1"#)
            .fetch_optional(db)
            .await?,
    )
}

/// The plant, if it has been named.
pub async fn find(db: &mut SqliteConnection) -> Result<Option<Plant>> {
    let row = sqlx::query!(
        "SELECT name, owner, address, time_zone, test_code, hold_minutes, tightening_step, tightening_unit,
                flatness_limit, flatness_unit, wall_limit, wall_unit, skim_limit, number_prefix, ground, settled_on, demo, version
         FROM plant WHERE id = 1"
    )
    .fetch_optional(db)
    .await?;
    row.map(|row| {
        Ok(Plant {
            name: row.name,
            owner: row.owner,
            address: row.address,
            zone: Zone::named(&row.time_zone).map_err(Error::Unreadable)?,
            test_code: row.test_code,
            hold_minutes: u32::try_from(row.hold_minutes).unwrap_or(5),
            tightening_step: Stamped::new(row.tightening_step.0, row.tightening_unit),
            flatness_limit: Stamped::new(row.flatness_limit.0, row.flatness_unit),
            wall_limit: Stamped::new(row.wall_limit.0, row.wall_unit),
            skim_limit: u8::try_from(row.skim_limit).unwrap_or(0),
            number_prefix: row.number_prefix,
            ground: row.ground.unwrap_or_default(),
            settled_on: row.settled_on,
            demo: row.demo,
            version: row.version,
        })
    })
    .transpose()
}

/// Writes the plant's row, new or over the version it was read at; false if it moved meanwhile.
pub async fn put(db: &mut SqliteConnection, plant: &Plant) -> Result<bool> {
    let zone = plant.zone.name();
    let hold = i64::from(plant.hold_minutes);
    let skims = i64::from(plant.skim_limit);
    let (step, flat, wall) = (
        Digits(plant.tightening_step.value),
        Digits(plant.flatness_limit.value),
        Digits(plant.wall_limit.value),
    );
    let ground = Some(plant.ground.as_str()).filter(|ground| !ground.is_empty());
    let done = sqlx::query!(
        "INSERT INTO plant (id, name, owner, address, time_zone, test_code, hold_minutes, tightening_step, tightening_unit,
                            flatness_limit, flatness_unit, wall_limit, wall_unit, skim_limit, number_prefix, demo,
                            ground, settled_on)
         VALUES (1, ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?17, ?18)
         ON CONFLICT (id) DO UPDATE SET
           name = excluded.name, owner = excluded.owner, address = excluded.address, time_zone = excluded.time_zone,
           test_code = excluded.test_code, hold_minutes = excluded.hold_minutes,
           tightening_step = excluded.tightening_step, tightening_unit = excluded.tightening_unit,
           flatness_limit = excluded.flatness_limit, flatness_unit = excluded.flatness_unit,
           wall_limit = excluded.wall_limit, wall_unit = excluded.wall_unit, skim_limit = excluded.skim_limit,
           number_prefix = excluded.number_prefix, ground = excluded.ground, settled_on = excluded.settled_on,
           version = plant.version + 1
         WHERE plant.version = ?16",
        plant.name,
        plant.owner,
        plant.address,
        zone,
        plant.test_code,
        hold,
        step,
        plant.tightening_step.unit,
        flat,
        plant.flatness_limit.unit,
        wall,
        plant.wall_limit.unit,
        skims,
        plant.number_prefix,
        plant.demo,
        plant.version,
        ground,
        plant.settled_on
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Every area, by name.
pub async fn areas(db: &mut SqliteConnection) -> Result<Vec<Area>> {
    Ok(
        sqlx::query_as!(Area, "SELECT id, name FROM area ORDER BY name")
            .fetch_all(db)
            .await?,
    )
}

/// The area of that name.
pub async fn area_named(db: &mut SqliteConnection, name: &str) -> Result<Option<AreaId>> {
    Ok(
        sqlx::query_scalar!("SELECT id FROM area WHERE name = ?1", name)
            .fetch_optional(db)
            .await?,
    )
}

/// Gives an area another name.
pub async fn rename_area(
    db: &mut SqliteConnection,
    id: AreaId,
    (before, name): (&str, &str),
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE area SET name = ?3 WHERE id = ?1 AND name = ?2",
        id,
        before,
        name
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Adds an area.
pub async fn add_area(db: &mut SqliteConnection, name: &str) -> Result<AreaId> {
    let id = sqlx::query!("INSERT INTO area (name) VALUES (?1)", name)
        .execute(db)
        .await?
        .last_insert_rowid();
    Ok(AreaId(id))
}

macro_rules! class {
    ($row:expr) => {
        ServiceClass {
            id: $row.id,
            name: $row.name,
            description: $row.description,
            rebuild_months: $row.rebuild_months.and_then(|m| u32::try_from(m).ok()),
            look_over_months: $row.look_over_months.and_then(|m| u32::try_from(m).ok()),
            defer_months: $row.defer_months.and_then(|m| u32::try_from(m).ok()),
            re_torque_days: $row.re_torque_days.and_then(|d| u16::try_from(d).ok()),
            flush: $row.flush.unwrap_or(false),
            version: $row.version,
        }
    };
}

/// Every service class, by name.
pub async fn service_classes(db: &mut SqliteConnection) -> Result<Vec<ServiceClass>> {
    let rows = sqlx::query!("SELECT id, name, description, rebuild_months, look_over_months, defer_months, re_torque_days, flush, version FROM service_class ORDER BY name")
        .fetch_all(db)
        .await?;
    Ok(rows.into_iter().map(|row| class!(row)).collect())
}

/// One service class.
pub async fn service_class(
    db: &mut SqliteConnection,
    id: ServiceClassId,
) -> Result<Option<ServiceClass>> {
    let row = sqlx::query!(
        "SELECT id, name, description, rebuild_months, look_over_months, defer_months, re_torque_days, flush, version FROM service_class WHERE id = ?1",
        id
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| class!(row)))
}

/// The service class of that name.
pub async fn service_class_named(
    db: &mut SqliteConnection,
    name: &str,
) -> Result<Option<ServiceClass>> {
    let row = sqlx::query!(
        "SELECT id, name, description, rebuild_months, look_over_months, defer_months, re_torque_days, flush, version FROM service_class WHERE name = ?1",
        name
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| class!(row)))
}

/// Adds a service class.
pub async fn add_service_class(
    db: &mut SqliteConnection,
    class: &ServiceClass,
) -> Result<ServiceClassId> {
    let id = sqlx::query!(
        "INSERT INTO service_class (name, description, rebuild_months, look_over_months, defer_months, re_torque_days, flush)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        class.name,
        class.description,
        class.rebuild_months,
        class.look_over_months,
        class.defer_months,
        class.re_torque_days,
        class.flush
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(ServiceClassId(id))
}

/// Changes a service class if nobody did so meanwhile.
pub async fn change_service_class(db: &mut SqliteConnection, class: &ServiceClass) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE service_class SET name = ?2, description = ?3, rebuild_months = ?4, look_over_months = ?5, defer_months = ?7,
           re_torque_days = ?8, flush = ?9, version = version + 1
         WHERE id = ?1 AND version = ?6",
        class.id,
        class.name,
        class.description,
        class.rebuild_months,
        class.look_over_months,
        class.version,
        class.defer_months,
        class.re_torque_days,
        class.flush
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}
