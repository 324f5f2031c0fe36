//! Tightening a returned gauge again, cold and without pressure, after its first heat cycle. It closes
//! what the practice of the service class asked for; the rebuild itself stays as it was finished.

use serde_json::json;
use time::Date;

use super::in_service::hanging;
use super::{Deed, Error, Result, gauges, recalls};
use crate::calc::calendar::said;
use crate::record::gauge::Gauge;
use crate::record::re_torque::ReTorque;
use crate::record::rebuild::RebuildState;
use crate::record::recall::About;
use crate::record::refusal::unticked;
use crate::record::{GaugeId, Refusal};
use crate::store;

/// Records that the bolting was tightened again on a day.
///
/// # Errors
/// Refuses a gauge that was never returned from a rebuild or is open at the bench, a day before the
/// return or to come, anything not confirmed, another torque than the nameplate's, and a wrench that
/// may not be relied on.
pub async fn record(deed: &mut Deed, id: GaugeId, on: Date, facts: &ReTorque) -> Result<()> {
    let gauge = hanging(deed, id).await?;
    let Some(last) = store::re_torques::latest_return(deed.db(), id).await? else {
        let words =
            "This gauge was not rebuilt in this register; there is nothing to tighten again";
        return Err(Refusal::not_now(words).into());
    };
    if let Some(open) = store::rebuilds::open_of(deed.db(), id).await?
        && matches!(open.state, RebuildState::AtTheBench | RebuildState::OnTest)
    {
        let words = format!(
            "Rebuild {} is {}; it is tightened on its bench sheet",
            open.ordinal, open.state
        );
        return Err(Refusal::not_now(words).into());
    }
    if on > deed.today() {
        return Err(Refusal::field("on", "This day is still to come").into());
    }
    if on < last.on {
        let words = format!(
            "The gauge was returned on {}; the first heat cycle comes after that",
            said(last.on)
        );
        return Err(Refusal::field("on", words).into());
    }
    if let Some(open) = ReTorque::before(gauge.particulars.isolation)
        .iter()
        .find(|one| !facts.confirmed.contains(one))
    {
        let words = unticked(open, "a gauge is never tightened under pressure or hot");
        return Err(Refusal::field(open.field(), words).into());
    }
    torque_fits(&gauge, facts)?;
    let number = facts.wrench.as_str();
    let Some(wrench) = store::instruments::on_day(deed.db(), number, on).await? else {
        let words = format!("No instrument has the number {number}");
        return Err(Refusal::field("wrench", words).into());
    };
    wrench
        .may_tighten(facts.torque, on)
        .map_err(|why| Refusal::field("wrench", why))?;
    let made = store::instruments::loadings(deed.db(), &[wrench.id]).await?;
    wrench
        .may_go_on(made.get(&wrench.id).copied().unwrap_or(0))
        .map_err(|why| Refusal::field("wrench", why))?;
    let (person, now) = (deed.person()?, deed.now());
    let of = (id, last.rebuild_id);
    let row = store::re_torques::add(deed.db(), of, on, facts, person, now).await?;
    let used =
        store::instruments::note_use(deed.db(), wrench.id, Some(last.rebuild_id), None, on).await?;
    let mut rows = vec![("re_torque", row.0), ("instrument_use", used)];
    rows.extend(recalls::reached(deed, used, About::Rebuild(last.rebuild_id)).await?);
    deed.record(
        "tightened again",
        &gauges::subject(&gauge.particulars),
        Some(id),
        json!({
            "after rebuild": last.ordinal, "on": on.to_string(), "torque": facts.torque.to_string(),
            "wrench": facts.wrench, "moved": facts.moved, "confirmed": facts.confirmed,
        }),
        &rows,
    )
    .await?;
    deed.touch(id);
    Ok(())
}

fn torque_fits(gauge: &Gauge, facts: &ReTorque) -> Result<()> {
    let refused = |field: &str, words: String| Err(Error::from(Refusal::field(field, words)));
    match (gauge.particulars.torque, &facts.torque_from) {
        (Some(stamped), _) if stamped != facts.torque => {
            refused("torque", format!("The nameplate asks for {stamped}"))
        }
        (Some(_), Some(_)) => refused("torque_from", "The nameplate tells the torque".to_owned()),
        (None, None) => refused(
            "torque_from",
            "The register holds no torque; say where this one comes from".to_owned(),
        ),
        _ => Ok(()),
    }
}
