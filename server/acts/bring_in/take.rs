//! Writing the good lines of a list: gauges with their seals and audit lines, and the areas and
//! service classes they are the first to need. Whether they may be written is decided before.

use std::collections::HashMap;

use serde_json::json;

use super::{CHUNK, Previewed};
use crate::acts::deed::GaugeEntry;
use crate::acts::{Deed, Result, gauges, plant};
use crate::record::gauge::Particulars;
use crate::record::plant::ServiceClass;
use crate::record::plant_list::plan::Outcome;
use crate::record::plant_list::row::Checker;
use crate::record::plant_list::table::Line;
use crate::record::plant_list::{Draft, Named, folded};
use crate::record::{AreaId, Refusal, ServiceClassId};
use crate::store;

/// Writes the gauges, their seals and their audit lines, and makes their areas and classes first
/// needed. Lines are read again some at a time, so that a long list is never held as gauges at once.
pub(super) async fn take(deed: &mut Deed, file_name: &str, previewed: &Previewed) -> Result<()> {
    let mut checker = Checker::new(&previewed.matching, &previewed.known);
    let mut made = Made::default();
    let good: Vec<&Line> = previewed
        .table
        .lines
        .iter()
        .zip(&previewed.plan.outcomes)
        .filter(|(_, outcome)| **outcome == Outcome::Good)
        .map(|(line, _)| line)
        .collect();
    for lines in good.chunks(CHUNK) {
        let mut some: Vec<Particulars> = Vec::with_capacity(lines.len());
        for line in lines {
            let draft = checker.read(line).map_err(|_| {
                Refusal::not_now(format!("Line {} can no longer be taken in", line.number))
            })?;
            let (area, class) = made.settle(deed, &draft).await?;
            some.push(draft.settled(area, class));
        }
        let ids = store::gauges::add_many(deed.db(), &some).await?;
        let entries = ids
            .iter()
            .zip(lines.iter().zip(&some))
            .map(|(id, (line, gauge))| GaugeEntry {
                gauge: *id,
                subject: gauges::subject(gauge),
                facts: json!({ "reason": format!("line {} of {file_name}", line.number) }),
                has_points: !gauge.rating_points.is_empty(),
            })
            .collect();
        deed.record_many("took into the register", entries).await?;
        for id in ids {
            deed.touch(id);
        }
    }
    Ok(())
}

/// Areas and service classes a list made, by their folded names.
#[derive(Default)]
struct Made {
    areas: HashMap<String, AreaId>,
    classes: HashMap<String, ServiceClassId>,
}

impl Made {
    /// The rows of a gauge's area and class, made where they are new.
    async fn settle(&mut self, deed: &mut Deed, draft: &Draft) -> Result<(AreaId, ServiceClassId)> {
        let area = match &draft.area {
            Named::Known(id) => *id,
            Named::New(name) => {
                let key = folded(name);
                if let Some(id) = self.areas.get(&key) {
                    *id
                } else {
                    let id = plant::add_area(deed, name).await?;
                    self.areas.insert(key, id);
                    id
                }
            }
        };
        let class = match &draft.class {
            Named::Known(id) => *id,
            Named::New(name) => {
                let key = folded(name);
                if let Some(id) = self.classes.get(&key) {
                    *id
                } else {
                    let id = plant::add_service_class(deed, &without_intervals(name)).await?;
                    self.classes.insert(key, id);
                    id
                }
            }
        };
        Ok((area, class))
    }
}

/// A class as a list names it: its intervals are for a person to set.
fn without_intervals(name: &str) -> ServiceClass {
    ServiceClass {
        id: ServiceClassId(0),
        name: name.to_owned(),
        description: String::new(),
        rebuild_months: None,
        look_over_months: None,
        defer_months: None,
        re_torque_days: None,
        flush: false,
        version: 0,
    }
}
