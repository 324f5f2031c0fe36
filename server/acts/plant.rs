//! Deeds about the plant itself: naming it, its procedures' choices, areas, service classes.
//! A changed interval moves due dates, so it refreshes the gauges of its class; another least wall
//! refreshes those with a measured one.

use serde_json::json;

use super::{Deed, Result, refresh_many};
use crate::record::gauge::Change;
use crate::record::plant::{Plant, ServiceClass};
use crate::record::{AreaId, Refusal, ServiceClassId};
use crate::store;

/// What is asked of whoever leaves a written ground as it is while the choices it stands for change.
pub const SAYS_THIS_TOO: &str =
    "The choices changed; write the ground anew, or tick that it says this too";

/// The same as [`settle`], by somebody who did not say yet that a ground left as it was says the changed
/// choices too: certificates would name an issue of a procedure that says otherwise.
///
/// # Errors
/// As [`settle`]; and refuses, beside the ground, one that was left as it was for other choices.
pub async fn settle_asking(deed: &mut Deed, plant: &Plant) -> Result<()> {
    if let Some(before) = store::plant::find(deed.db()).await? {
        let left = before.version == plant.version
            && !before.ground.is_empty()
            && before.ground == plant.ground;
        if left && !before.chose_as(plant) {
            return Err(Refusal::field("ground", SAYS_THIS_TOO).into());
        }
    }
    settle(deed, plant).await
}

/// Names the plant, or changes what its procedures chose.
///
/// # Errors
/// Refuses when somebody changed it meanwhile.
pub async fn settle(deed: &mut Deed, plant: &Plant) -> Result<()> {
    let before = store::plant::find(deed.db()).await?;
    let as_before = before.as_ref().filter(|before| before.chose_as(plant));
    let plant = &Plant {
        settled_on: match as_before {
            Some(before) => before.settled_on,
            None => Some(plant.zone.date(deed.now())),
        },
        ..plant.clone()
    };
    if !store::plant::put(deed.db(), plant).await? {
        let by = store::audit::last_hand(deed.db(), "plant").await?;
        return Err(Refusal::Changed {
            what: "The plant's settings".to_owned(),
            by,
        }
        .into());
    }
    let another_wall = before
        .as_ref()
        .is_some_and(|before| before.wall_limit != plant.wall_limit);
    let changes = before.map_or_else(Vec::new, |before| {
        Change::between(shown(&before), shown(plant))
    });
    let facts = if changes.is_empty() {
        serde_json::Value::Object(
            shown(plant)
                .into_iter()
                .map(|(what, value)| (what.to_owned(), value.into()))
                .collect(),
        )
    } else {
        json!({ "changes": changes })
    };
    deed.record("settled", "plant", None, facts, &[("plant", 1)])
        .await?;
    if another_wall {
        let measured = store::wear::measured(deed.db()).await?;
        refresh_many::of_gauges(deed.db(), &measured).await?;
    }
    Ok(())
}

/// The plant's settings as its history names them.
fn shown(plant: &Plant) -> Vec<(&'static str, String)> {
    vec![
        ("name", plant.name.clone()),
        ("owner", plant.owner.clone()),
        ("address", plant.address.clone()),
        ("time zone", plant.zone.name().to_owned()),
        ("code of reference", plant.test_code.name().to_owned()),
        ("hold, minutes", plant.hold_minutes.to_string()),
        ("tightening step", plant.tightening_step.to_string()),
        ("flatness limit", plant.flatness_limit.to_string()),
        ("wall limit", plant.wall_limit.to_string()),
        ("skims allowed", plant.skim_limit.to_string()),
        ("numbers begin with", plant.number_prefix.clone()),
        ("ground of these", plant.ground.clone()),
    ]
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

/// Gives an area another name.
///
/// # Errors
/// Refuses a name that is taken or empty.
pub async fn rename_area(deed: &mut Deed, id: AreaId, before: &str, name: &str) -> Result<()> {
    let name = named("name", name)?;
    let taken = store::plant::area_named(deed.db(), &name).await?;
    if taken.is_some_and(|other| other != id) {
        return Err(Refusal::field("name", "There is an area of this name already").into());
    }
    if !store::plant::rename_area(deed.db(), id, (before, &name)).await? {
        let by = store::audit::last_hand(deed.db(), &format!("area {before}")).await?;
        return Err(Refusal::Changed {
            what: format!("The area {before}"),
            by,
        }
        .into());
    }
    deed.record(
        "renamed",
        &format!("area {name}"),
        None,
        json!({ "before": before, "after": name }),
        &[("area", id.0)],
    )
    .await
}

/// Adds a service class with its intervals.
///
/// # Errors
/// Refuses a name that is taken or empty.
pub async fn add_service_class(deed: &mut Deed, class: &ServiceClass) -> Result<ServiceClassId> {
    let name = named("name", &class.name)?;
    if store::plant::service_class_named(deed.db(), &name)
        .await?
        .is_some()
    {
        return Err(Refusal::field("name", "There is a service class of this name already").into());
    }
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
        &class_subject(&name),
        None,
        intervals(class),
        &[("service_class", id.0)],
    )
    .await?;
    Ok(id)
}

/// Changes a service class, from the version that was read; new intervals move the due dates of all
/// its gauges in service.
///
/// # Errors
/// Refuses a name that is taken or empty, and a change made meanwhile by somebody else.
pub async fn change_service_class(deed: &mut Deed, class: &ServiceClass) -> Result<()> {
    let Some(before) = store::plant::service_class(deed.db(), class.id).await? else {
        return Err(Refusal::Missing("service class").into());
    };
    let name = named("name", &class.name)?;
    let taken = store::plant::service_class_named(deed.db(), &name).await?;
    if taken.is_some_and(|other| other.id != class.id) {
        return Err(Refusal::field("name", "There is a service class of this name already").into());
    }
    let after = ServiceClass {
        name: name.clone(),
        ..class.clone()
    };
    if !store::plant::change_service_class(deed.db(), &after).await? {
        let by = store::audit::last_hand(deed.db(), &class_subject(&before.name)).await?;
        return Err(Refusal::Changed {
            what: format!("Service class {}", before.name),
            by,
        }
        .into());
    }
    let facts = json!({
        "before": { "name": before.name, "intervals": intervals(&before) },
        "after": { "name": name, "intervals": intervals(&after) },
    });
    deed.record(
        "changed",
        &class_subject(&name),
        None,
        facts,
        &[("service_class", class.id.0)],
    )
    .await?;
    let moved = before.rebuild_months != after.rebuild_months
        || before.look_over_months != after.look_over_months;
    if moved {
        refresh_many::of_class(deed.db(), class.id).await?;
    }
    Ok(())
}

fn class_subject(name: &str) -> String {
    format!("service class {name}")
}

fn named(field: &str, name: &str) -> Result<String> {
    let name = name.trim();
    if name.is_empty() || name.chars().count() > 60 {
        return Err(Refusal::field(field, "A name has 1 to 60 characters").into());
    }
    Ok(name.to_owned())
}

fn intervals(class: &ServiceClass) -> serde_json::Value {
    json!({
        "rebuild months": class.rebuild_months, "look-over months": class.look_over_months,
        "deferred at most, months": class.defer_months,
        "re-torque days": class.re_torque_days, "flushed before opening": class.flush,
    })
}
