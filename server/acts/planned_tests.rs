//! Planning a test beside the rebuild's own, dropping it with a reason, and its end in a passed test.
//! A failed test leaves it open: it is repeated.

use serde_json::json;
use time::Date;

use super::{Deed, Result};
use crate::record::gauge::Standing;
use crate::record::person::Role;
use crate::record::pressure_test::TestResult;
use crate::record::{GaugeId, Refusal, TestId};
use crate::store;

/// Plans a test of a gauge.
///
/// # Errors
/// Refuses anybody but inspectors and engineers, a retired gauge, a day that is past, and a second
/// planned test of one gauge.
pub async fn plan(
    deed: &mut Deed,
    tag: &str,
    (day, witnessed, note): (Date, bool, &str),
) -> Result<()> {
    planner(deed)?;
    let tag = tag.trim();
    let Some(gauge) = store::gauges::by_tag(deed.db(), tag).await? else {
        return Err(Refusal::field("tags", format!("There is no gauge {tag}")).into());
    };
    if gauge.standing == Standing::Retired {
        return Err(Refusal::field("tags", format!("{tag} is retired")).into());
    }
    if day < deed.today() {
        return Err(Refusal::field("day", "This day is past").into());
    }
    if store::planned_tests::of_gauge(deed.db(), gauge.id)
        .await?
        .is_some()
    {
        let words = format!("A test of {tag} is planned already; drop that one first");
        return Err(Refusal::field("tags", words).into());
    }
    let by = (deed.person()?, deed.now());
    let id =
        store::planned_tests::add(deed.db(), gauge.id, (day, witnessed, note.trim()), by).await?;
    deed.record(
        "planned a test",
        &format!("gauge {}", gauge.particulars.tag),
        Some(gauge.id),
        json!({ "for": day.to_string(), "witnessed": witnessed, "note": note.trim() }),
        &[("planned_test", id.0)],
    )
    .await
}

/// Drops the planned test of a gauge.
///
/// # Errors
/// Refuses anybody but inspectors and engineers, and a missing reason.
pub async fn drop_it(deed: &mut Deed, tag: &str, why: &str) -> Result<()> {
    planner(deed)?;
    let why = why.trim();
    if !(3..=400).contains(&why.chars().count()) {
        return Err(Refusal::field("why", "Say why in 3 to 400 characters").into());
    }
    let Some(gauge) = store::gauges::id_of(deed.db(), tag).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    let Some(id) = store::planned_tests::of_gauge(deed.db(), gauge).await? else {
        return Err(Refusal::not_now("No test of this gauge is planned").into());
    };
    store::planned_tests::drop_it(deed.db(), id, why).await?;
    deed.record(
        "dropped a planned test",
        &format!("gauge {tag}"),
        Some(gauge),
        json!({ "reason": why }),
        &[("planned_test", id.0)],
    )
    .await
}

/// A test was recorded: a passed one that belongs to no rebuild ends what was planned.
pub(super) async fn ended(
    deed: &mut Deed,
    gauge: GaugeId,
    test: TestId,
    result: TestResult,
    of_rebuild: bool,
) -> Result<()> {
    if of_rebuild || result != TestResult::Passed {
        return Ok(());
    }
    let Some(id) = store::planned_tests::of_gauge(deed.db(), gauge).await? else {
        return Ok(());
    };
    store::planned_tests::done(deed.db(), id, test).await?;
    deed.record(
        "made the planned test",
        &format!("planned test {}", id.0),
        Some(gauge),
        json!({}),
        &[("planned_test", id.0)],
    )
    .await
}

fn planner(deed: &Deed) -> Result<()> {
    if matches!(deed.who().role, Some(Role::Inspector | Role::Engineer)) {
        Ok(())
    } else {
        Err(Refusal::not_now("Tests are planned by an inspector or an engineer").into())
    }
}
