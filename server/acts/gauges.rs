//! Deeds done to a gauge of the register: taken in, corrected, put to rest and brought back.
//! What happens at the bench is elsewhere.

use serde_json::json;

use super::{Deed, Result};
use crate::record::gauge::{self, Assumed, Particulars, Standing};
use crate::record::{GaugeId, Refusal};
use crate::store;

/// Takes a gauge into the register.
///
/// # Errors
/// Refuses a tag number that is taken, and a day of hanging that is still to come.
pub async fn register(deed: &mut Deed, particulars: &Particulars) -> Result<GaugeId> {
    hung(deed, particulars)?;
    if store::gauges::id_of(deed.db(), particulars.tag.as_str())
        .await?
        .is_some()
    {
        return Err(Refusal::field(
            "tag",
            format!("Another gauge hangs under {} already", particulars.tag),
        )
        .into());
    }
    let id = store::gauges::add(deed.db(), particulars).await?;
    let mut rows = vec![("gauge", id.0)];
    if !particulars.rating_points.is_empty() {
        rows.push(("rating_point", id.0));
    }
    deed.record(
        "took into the register",
        &subject(particulars),
        Some(id),
        json!({}),
        &rows,
    )
    .await?;
    deed.touch(id);
    Ok(id)
}

/// Corrects what is known of a gauge, from the version that was read. What was assumed of it stays so until
/// it is corrected or confirmed as it stands.
///
/// # Errors
/// Refuses when somebody changed it meanwhile, or when the tag number is taken.
pub async fn correct(
    deed: &mut Deed,
    id: GaugeId,
    version: i64,
    (particulars, confirmed): (&Particulars, &[Assumed]),
) -> Result<()> {
    let Some(before) = store::gauges::by_id(deed.db(), id).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    if before.version != version {
        let by = store::audit::last_hand(deed.db(), &subject(&before.particulars)).await?;
        return Err(Refusal::Changed {
            what: format!("Gauge {}", before.particulars.tag),
            by,
        }
        .into());
    }
    let particulars = &Particulars {
        assumed: particulars.still_assumed(&before.particulars, confirmed),
        ..particulars.clone()
    };
    if before.particulars == *particulars {
        return Ok(());
    }
    hung(deed, particulars)?;
    let taken = store::gauges::id_of(deed.db(), particulars.tag.as_str()).await?;
    if taken.is_some_and(|other| other != id) {
        return Err(Refusal::field(
            "tag",
            format!("Another gauge hangs under {} already", particulars.tag),
        )
        .into());
    }
    store::gauges::change(deed.db(), id, version, particulars).await?;
    let Some(after) = store::gauges::by_id(deed.db(), id).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    let changes = gauge::changes(&before, &after);
    let mut rows = vec![("gauge", id.0)];
    if !particulars.rating_points.is_empty() || !before.particulars.rating_points.is_empty() {
        rows.push(("rating_point", id.0));
    }
    deed.record(
        "corrected",
        &subject(particulars),
        Some(id),
        json!({ "changes": changes }),
        &rows,
    )
    .await?;
    deed.touch(id);
    Ok(())
}

/// A gauge hangs since a day that has come: before, nothing of it falls due.
fn hung(deed: &Deed, particulars: &Particulars) -> Result<()> {
    if particulars
        .installed_on
        .is_some_and(|day| day > deed.today())
    {
        let words = "This day is still to come; take the gauge in when it hangs";
        return Err(Refusal::field("installed_on", words).into());
    }
    Ok(())
}

/// Rests a gauge, brings it back or retires it.
///
/// # Errors
/// Refuses a change its standing or an open rebuild does not allow.
pub async fn change_standing(
    deed: &mut Deed,
    id: GaugeId,
    version: i64,
    to: Standing,
    reason: &str,
) -> Result<()> {
    let Some(gauge) = store::gauges::by_id(deed.db(), id).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    if reason.trim().is_empty() {
        return Err(
            Refusal::field("reason", "Say why in a few words; it stays in the history").into(),
        );
    }
    let open = store::rebuilds::open_of(deed.db(), id).await?.is_some();
    gauge::may_become(gauge.standing, to, open).map_err(Refusal::NotNow)?;
    if !store::gauges::change_standing(deed.db(), id, version, to).await? {
        let by = store::audit::last_hand(deed.db(), &subject(&gauge.particulars)).await?;
        return Err(Refusal::Changed {
            what: format!("Gauge {}", gauge.particulars.tag),
            by,
        }
        .into());
    }
    let deed_words = match to {
        Standing::InService => "brought back into service",
        Standing::Resting => "put to rest",
        Standing::Retired => "retired",
    };
    deed.record(
        deed_words,
        &subject(&gauge.particulars),
        Some(id),
        json!({ "reason": reason.trim() }),
        &[("gauge", id.0)],
    )
    .await?;
    deed.touch(id);
    Ok(())
}

/// How a gauge is named in the audit chain.
pub fn subject(particulars: &Particulars) -> String {
    format!("gauge {}", particulars.tag)
}
