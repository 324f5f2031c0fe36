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
fn work(facts: &Facts) -> Option<Due> {
    let facts = Facts {
        look_over_anchor: None,
        look_over_months: None,
        look_over_deferral: None,
        ..facts.clone()
    };
    governing_only(&facts).ok()
}

async fn waiting(db: &mut SqliteConnection, bound: Vec<Bound>) -> store::Result<Vec<Waiting>> {
    let ids: Vec<GaugeId> = bound.iter().map(|gauge| gauge.gauge_id).collect();
    let work: HashMap<GaugeId, Option<Candidate>> = store::due::facts_of(db, &ids)
        .await?
        .into_iter()
        .map(|known| {
            let due = work(&known.facts);
            (known.gauge_id, due.and_then(|due| due.governing))
        })
        .collect();
    Ok(bound
        .into_iter()
        .map(|gauge| Waiting {
            work: work.get(&gauge.gauge_id).copied().flatten(),
            gauge,
        })
        .collect())
}
