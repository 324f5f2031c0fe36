//! Shutdown windows by area and the gauges that have to be done in them. Everybody reads them;
//! engineers and administrators agree and move them.

pub mod edit;
pub mod list;
mod needed;
pub mod pack;
pub mod plan;
pub mod show;

use std::collections::HashMap;

use sqlx::SqliteConnection;

use crate::calc::OutOfRange;
use crate::calc::due::{Candidate, Due, Facts, governing_only};
use crate::record::GaugeId;
use crate::store;
use crate::store::due::Bound;

/// A gauge a window is about, with the work it waits for. What governs its due date may be a
/// look-over, which needs no shutdown, so the work is asked for apart.
struct Waiting {
    gauge: Bound,
    work: Option<Candidate>,
}

/// The due date of a gauge's work with its look-over left out.
fn work(facts: &Facts) -> Result<Due, OutOfRange> {
    governing_only(&Facts {
        look_over_anchor: None,
        look_over_months: None,
        look_over_deferral: None,
        ..facts.clone()
    })
}

/// What governs each gauge's work of some kind, where anything does.
async fn governing(
    db: &mut SqliteConnection,
    gauges: impl Iterator<Item = GaugeId>,
    work: impl Fn(&Facts) -> Result<Due, OutOfRange>,
) -> store::Result<HashMap<GaugeId, Candidate>> {
    let ids: Vec<GaugeId> = gauges.collect();
    Ok(store::due::facts_of(db, &ids)
        .await?
        .into_iter()
        .filter_map(|known| Some((known.gauge_id, work(&known.facts).ok()?.governing?)))
        .collect())
}

async fn waiting(db: &mut SqliteConnection, bound: Vec<Bound>) -> store::Result<Vec<Waiting>> {
    let work = governing(db, bound.iter().map(|gauge| gauge.gauge_id), work).await?;
    Ok(bound
        .into_iter()
        .map(|gauge| Waiting {
            work: work.get(&gauge.gauge_id).copied(),
            gauge,
        })
        .collect())
}
