//! Deeds about shutdown windows: agreeing one and moving one. Either moves due dates, so the gauges
//! of the area that wait for a shutdown are refreshed in the same transaction.

use serde_json::json;
use time::Date;

use super::{Deed, Result, rebuild_days, refresh_many};
use crate::calc::calendar::said;
use crate::record::{AreaId, Refusal, WindowId};
use crate::store;
use crate::store::windows::Window;

/// Longest window that is taken as meant, in days.
const LONGEST: i64 = 366;

/// A window as it was agreed.
#[derive(Debug, Clone)]
pub struct Agreed {
    /// The area that stands.
    pub area: AreaId,
    /// What it is called.
    pub name: String,
    /// Its first day.
    pub starts_on: Date,
    /// Its last day.
    pub ends_on: Date,
    /// Whether the rebuilds planned into it go with it, where it is moved.
    pub with_rebuilds: bool,
}

/// Adds a shutdown window.
///
/// # Errors
/// Refuses days in the wrong order, a window that is over, and one that overlaps another of the area.
pub async fn add(deed: &mut Deed, agreed: &Agreed) -> Result<WindowId> {
    if agreed.ends_on < deed.today() {
        return Err(Refusal::field("ends_on", "This window is over already").into());
    }
    let name = checked(deed, agreed, None).await?;
    let id = store::windows::add(
        deed.db(),
        agreed.area,
        &name,
        agreed.starts_on,
        agreed.ends_on,
    )
    .await?;
    deed.record(
        "agreed",
        &subject(id),
        None,
        json!({ "name": name, "area": agreed.area.0, "starts": agreed.starts_on.to_string(), "ends": agreed.ends_on.to_string() }),
        &[("shutdown_window", id.0)],
    )
    .await?;
    refresh_many::of_area(deed.db(), agreed.area).await?;
    Ok(id)
}

/// Moves or renames a window, from the version that was read. Its area stays; the rebuilds planned into it go
/// with it where that was agreed.
///
/// # Errors
/// As for a new one; and when somebody changed it meanwhile.
pub async fn change(deed: &mut Deed, before: &Window, agreed: &Agreed) -> Result<()> {
    let name = checked(deed, agreed, Some(before.id)).await?;
    let after = Window {
        name: name.clone(),
        starts_on: agreed.starts_on,
        ends_on: agreed.ends_on,
        ..before.clone()
    };
    if !store::windows::change(deed.db(), &after).await? {
        let by = store::audit::last_hand(deed.db(), &subject(before.id)).await?;
        return Err(Refusal::Changed {
            what: format!("The window \u{201c}{}\u{201d}", before.name),
            by,
        }
        .into());
    }
    deed.record(
        "moved",
        &subject(before.id),
        None,
        json!({
            "before": { "name": before.name, "starts": before.starts_on.to_string(), "ends": before.ends_on.to_string() },
            "after": { "name": name, "starts": agreed.starts_on.to_string(), "ends": agreed.ends_on.to_string() },
        }),
        &[("shutdown_window", before.id.0)],
    )
    .await?;
    let days = (agreed.starts_on, agreed.ends_on);
    if agreed.with_rebuilds && days != (before.starts_on, before.ends_on) {
        rebuild_days::follow_window(deed, before, days).await?;
    }
    refresh_many::of_area(deed.db(), before.area_id).await
}

async fn checked(deed: &mut Deed, agreed: &Agreed, other_than: Option<WindowId>) -> Result<String> {
    let name = agreed.name.trim();
    if name.is_empty() || name.chars().count() > 80 {
        return Err(Refusal::field("name", "Name the window in 1 to 80 characters").into());
    }
    if agreed.ends_on < agreed.starts_on {
        return Err(Refusal::field("ends_on", "A window ends on or after its first day").into());
    }
    if (agreed.ends_on - agreed.starts_on).whole_days() > LONGEST {
        return Err(Refusal::field("ends_on", "A window lasts a year at most").into());
    }
    let span = (agreed.starts_on, agreed.ends_on);
    if let Some(other) =
        store::windows::overlapping(deed.db(), agreed.area, span, other_than).await?
    {
        return Err(Refusal::field(
            "starts_on",
            format!(
                "{} stands already from {} to {} (\u{201c}{}\u{201d})",
                other.area,
                said(other.starts_on),
                said(other.ends_on),
                other.name
            ),
        )
        .into());
    }
    Ok(name.to_owned())
}

/// How a window is named in the audit chain: by its row, since its days may move.
fn subject(id: WindowId) -> String {
    format!("shutdown window {}", id.0)
}
