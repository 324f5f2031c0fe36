//! Keeps the projections of due dates and of the kits they want true: reads a gauge's facts, lets
//! `calc::due` decide, writes the dates. Whether one is past is the reader's today's affair.

use sqlx::SqliteConnection;
use time::Date;

use super::{Error, Result};
use crate::calc::OutOfRange;
use crate::calc::due::{self, Candidate, Facts, Rule, WindowPull};
use crate::record::gauge::Standing;
use crate::record::{GaugeId, Refusal};
use crate::store::{self, due::Known, due::Row, stock::Need};

/// Refreshes one gauge's due date.
///
/// # Errors
/// The store's failure, or a date outside the calendar's range.
pub async fn of_gauge(db: &mut SqliteConnection, gauge: GaugeId) -> Result<()> {
    let (row, need) = projected(db, gauge).await?;
    match row {
        Some(row) => store::due::put(db, &row).await?,
        None => store::due::remove(db, gauge).await?,
    }
    match need {
        Some(need) => store::stock::put_needs(db, &[need]).await?,
        None => store::stock::remove_needs(db, &[gauge]).await?,
    }
    Ok(())
}

/// What the projection should hold for a gauge now: nothing for one that is not in service or that
/// no rule applies to.
///
/// # Errors
/// The store's failure, or a date outside the calendar's range.
pub async fn computed(db: &mut SqliteConnection, gauge: GaugeId) -> Result<Option<Row>> {
    Ok(projected(db, gauge).await?.0)
}

/// The same with what the projection of kits should hold: the kits of an open rebuild on its planned
/// day, else those of the next one on its latest day; nothing for a gauge that no rule and no plan
/// sends to the bench, or whose open rebuild has all its kits in hand.
///
/// # Errors
/// The store's failure, or a date outside the calendar's range.
pub async fn projected(
    db: &mut SqliteConnection,
    gauge: GaugeId,
) -> Result<(Option<Row>, Option<Need>)> {
    let Some((standing, area_id, facts)) = store::due::facts(db, gauge).await? else {
        return Ok((None, None));
    };
    let known = Known {
        gauge_id: gauge,
        standing,
        area_id,
        facts,
    };
    let day = (gauge, rebuild_day(&known)?);
    let need = store::stock::needs_on(db, &[day]).await?.pop();
    let row = match standing {
        Standing::InService => decided(&known)?,
        Standing::Resting | Standing::Retired => None,
    };
    Ok((row, need))
}

/// The row of the projection that a gauge's facts give.
pub(super) fn decided(known: &Known) -> Result<Option<Row>> {
    let decided = due::governing_only(&known.facts).map_err(beyond)?;
    let rebuild = due::rebuild_only(&known.facts).map_err(beyond)?;
    let work = without_look_over(&known.facts)?;
    // Where a window pulls the rebuild before an earlier look-over, the rebuild sets the latest date.
    let first = match (decided.governing, rebuild.governing) {
        (Some(first), Some(rebuild))
            if !first.rule.takes_kits() && decided.latest_date < Some(first.date) =>
        {
            Some(rebuild)
        }
        (first, _) => first,
    };
    Ok(first.map(|governing| Row {
        gauge_id: known.gauge_id,
        area_id: known.area_id,
        rule: governing.rule,
        date: governing.date,
        rebuild_on: rebuild.latest_date,
        withdrawn_on: known.facts.withdrawn_on,
        work_rule: work.map(|cause| cause.rule),
        work_date: work.map(|cause| cause.date),
        rebuild_rule: rebuild.governing.map(|cause| cause.rule),
        rebuild_date: rebuild.governing.map(|cause| cause.date),
        latest_on: decided.latest_date.unwrap_or(governing.date),
        pull: decided.window.into(),
        since_on: since(&known.facts, governing.rule),
        window_ends_on: match decided.window {
            WindowPull::PulledTo(window) => Some(window.ends),
            WindowPull::NotNeeded | WindowPull::NoWindow => None,
        },
    }))
}

/// What asks for the work on a gauge that may need a shutdown: look-overs never do.
fn without_look_over(facts: &Facts) -> Result<Option<Candidate>> {
    let work = due::governing_only(&Facts {
        look_over_anchor: None,
        look_over_months: None,
        look_over_deferral: None,
        ..facts.clone()
    });
    Ok(work.map_err(beyond)?.governing)
}

/// The latest day a gauge's facts send it to the bench; none while it is not in service.
pub(super) fn rebuild_day(known: &Known) -> Result<Option<Date>> {
    if known.standing != Standing::InService {
        return Ok(None);
    }
    Ok(due::rebuild_only(&known.facts).map_err(beyond)?.latest_date)
}

#[expect(
    clippy::needless_pass_by_value,
    reason = "the shape of a function for map_err"
)]
pub(super) fn beyond(error: OutOfRange) -> Error {
    Error::from(Refusal::not_now(error.to_string()))
}

/// When the time that is running out began, for the column in the drawn glass.
fn since(facts: &Facts, rule: Rule) -> Option<Date> {
    match rule {
        Rule::LookOver => facts.look_over_anchor,
        Rule::Failure => facts.failure_on,
        Rule::Recall => facts.recall_on,
        Rule::Withdrawn => facts.withdrawn_on,
        _ => facts.anchor,
    }
}
