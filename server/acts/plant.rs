//! Deeds about the plant itself: naming it, areas, service classes, shutdown windows.
//! A changed interval or window moves due dates, so it refreshes the gauges it binds.

use serde_json::json;

use super::{Deed, Result};
use crate::record::plant::{Plant, ServiceClass};
use crate::record::{AreaId, Refusal, ServiceClassId};
use crate::store;

/// Names the plant, or changes what its procedures chose.
///
/// # Errors
/// Refuses when somebody changed it meanwhile.
pub async fn settle(deed: &mut Deed, plant: &Plant) -> Result<()> {
    if !store::plant::put(deed.db(), plant).await? {
        let by = store::audit::last_hand(deed.db(), "plant").await?;
        return Err(Refusal::Changed {
            what: "The plant's settings".to_owned(),
            by,
        }
        .into());
    }
    let facts = json!({
        "name": plant.name, "owner": plant.owner, "time zone": plant.zone.name(), "code": plant.test_code,
        "hold minutes": plant.hold_minutes, "tightening step": plant.tightening_step.to_string(),
        "flatness limit": plant.flatness_limit.to_string(), "wall limit": plant.wall_limit.to_string(),
        "skim limit": plant.skim_limit,
    });
    deed.record("settled", "plant", None, facts, &[("plant", 1)])
        .await
}

/// Adds an area.
///
/// # Errors
/// Refuses a name that is taken or empty.
pub async fn add_area(deed: &mut Deed, name: &str) -> Result<AreaId> {
    let name = named("name", name)?;
    if store::plant::area_named(deed.db(), &name).await?.is_some() {
        return Err(Refusal::field("name", "There is an area of this name already").into());
    }
    let id = store::plant::add_area(deed.db(), &name).await?;
    deed.record(
        "added",
        &format!("area {name}"),
        None,
        json!({}),
        &[("area", id.0)],
    )
    .await?;
    Ok(id)
}

/// Adds a service class with its intervals.
///
/// # Errors
/// Refuses a name that is taken or empty.
pub async fn add_service_class(deed: &mut Deed, class: &ServiceClass) -> Result<ServiceClassId> {
    let name = named("name", &class.name)?;
    let id = store::plant::add_service_class(
        deed.db(),
        &ServiceClass {
            name: name.clone(),
            ..class.clone()
        },
    )
    .await?;
    deed.record(
        "added",
        &format!("service class {name}"),
        None,
        intervals(class),
        &[("service_class", id.0)],
    )
    .await?;
    Ok(id)
}

fn named(field: &str, name: &str) -> Result<String> {
    let name = name.trim();
    if name.is_empty() || name.chars().count() > 60 {
        return Err(Refusal::field(field, "A name has 1 to 60 characters").into());
    }
    Ok(name.to_owned())
}

fn intervals(class: &ServiceClass) -> serde_json::Value {
    json!({ "rebuild months": class.rebuild_months, "look-over months": class.look_over_months })
}
