//! The torque wrenches for the gauges chosen into a window: which fit, and whether their loadings last.
//! What a wrench is good for is decided in `calc::tighten`; each torque is asked of each range once,
//! however many wrenches share it.

use sqlx::SqliteConnection;
use time::Date;

use super::needed::{NAMED, Served};
use crate::calc::quantity::StampedTorque;
use crate::calc::tighten;
use crate::record::InstrumentId;
use crate::record::instrument::{Cycles, Instrument, InstrumentKind};
use crate::store;
use crate::store::window_plan::Candidate;

/// A torque wrench that is to be calibrated again before the chosen gauges are done with it.
pub struct RunsOut {
    /// Its number.
    pub number: String,
    /// Chosen gauges it fits.
    pub gauges: i64,
    /// Loadings they take: every nut in every pass of every section.
    pub takes: i64,
    /// Loadings left before it is calibrated again.
    pub left: i64,
    /// Other wrenches that may take some of them, the first few.
    pub others: Vec<String>,
}

/// The chosen gauges that are tightened to one torque.
struct Asked {
    torque: StampedTorque,
    gauges: i64,
    /// Loadings they take together: every nut in every pass of every section; none where no passes follow
    /// from the torque.
    takes: Option<i64>,
}

/// A wrench that may be used through a day.
struct Wrench {
    id: InstrumentId,
    number: String,
    cycles: Cycles,
    /// Whether it fits each of the torques asked for.
    fits: Vec<bool>,
}

/// Wrenches that are looked at while they serve every torque; a plant with more of them lacks none.
const LOOKED_AT: usize = 12;
/// Wrenches that are looked at where the first ones leave a torque out.
const AT_MOST: usize = 500;

/// The torques asked for and the wrenches that may be used through a day.
pub struct Wrenches {
    asked: Vec<Asked>,
    usable: Vec<Wrench>,
    /// Whether there are more than were looked at.
    pub more: bool,
}

impl Wrenches {
    /// Gathers them.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn of(
        db: &mut SqliteConnection,
        (day, step): (Date, StampedTorque),
        chosen: &[Candidate],
    ) -> store::Result<Self> {
        let found = Self::among(&mut *db, (day, step), chosen, LOOKED_AT).await?;
        if found.more && found.torques().iter().any(|one| one.by.is_empty()) {
            return Self::among(db, (day, step), chosen, AT_MOST).await;
        }
        Ok(found)
    }

    /// The same among so many of those whose calibration lasts longest.
    async fn among(
        db: &mut SqliteConnection,
        (day, step): (Date, StampedTorque),
        chosen: &[Candidate],
        count: usize,
    ) -> store::Result<Self> {
        let asked = asked(chosen, step);
        let kind = InstrumentKind::TorqueWrench;
        let most = i64::try_from(count + 1).unwrap_or(i64::MAX);
        let mut all = store::instruments::covered_on(&mut *db, kind, day, most).await?;
        let more = all.len() > count;
        all.truncate(count);
        all.retain(|one| one.usable_on(day).is_ok());
        let ids: Vec<InstrumentId> = all.iter().map(|one| one.id).collect();
        let made = store::instruments::loadings(db, &ids).await?;
        let mut ranges: Vec<((StampedTorque, StampedTorque), Vec<bool>)> = Vec::new();
        let mut usable = Vec::with_capacity(all.len());
        for one in all {
            let made = made.get(&one.id).copied().unwrap_or(0);
            let (Some(range), Some(cycles)) = (one.torque_range(), one.cycles(made)) else {
                continue;
            };
            let known = ranges.iter().position(|(known, _)| *known == range);
            let at = known.unwrap_or_else(|| {
                ranges.push((range, fits(&one, &asked, day)));
                ranges.len() - 1
            });
            usable.push(Wrench {
                id: one.id,
                number: one.number.to_string(),
                cycles,
                fits: ranges[at].1.clone(),
            });
        }
        Ok(Self {
            asked,
            usable,
            more,
        })
    }

    /// Each torque with the wrenches that may go on and fit it.
    pub fn torques(&self) -> Vec<Served> {
        let served = |(at, asked): (usize, &Asked)| {
            let fit = self.usable.iter();
            let fit = fit.filter(|one| !one.cycles.spent() && one.fits[at]);
            let numbers = fit.map(|one| one.number.clone());
            Served::by(asked.torque.to_string(), asked.gauges, numbers)
        };
        self.asked.iter().enumerate().map(served).collect()
    }

    /// The first of the wrenches that would not last for all the gauges they fit, and how many more there are.
    pub fn run_out(&self) -> (Vec<RunsOut>, usize) {
        let mut all: Vec<RunsOut> = Vec::new();
        let mut more = 0;
        for wrench in &self.usable {
            let served = self.served(wrench);
            let takes: i64 = served.iter().filter_map(|at| self.asked[*at].takes).sum();
            if takes <= wrench.cycles.left() {
                continue;
            }
            if all.len() == NAMED {
                more += 1;
                continue;
            }
            let others = self.usable.iter();
            let others = others
                .filter(|other| other.id != wrench.id && !other.cycles.spent())
                .filter(|other| served.iter().any(|at| other.fits[*at]))
                .map(|other| other.number.clone())
                .take(NAMED)
                .collect();
            all.push(RunsOut {
                number: wrench.number.clone(),
                gauges: served.iter().map(|at| self.asked[*at].gauges).sum(),
                takes,
                left: wrench.cycles.left(),
                others,
            });
        }
        (all, more)
    }

    /// Which of the torques a wrench fits, those without passes left out.
    fn served(&self, wrench: &Wrench) -> Vec<usize> {
        (0..self.asked.len())
            .filter(|at| wrench.fits[*at] && self.asked[*at].takes.is_some())
            .collect()
    }
}

fn fits(wrench: &Instrument, asked: &[Asked], day: Date) -> Vec<bool> {
    asked
        .iter()
        .map(|one| wrench.may_tighten(one.torque, day).is_ok())
        .collect()
}

/// The torques of the chosen gauges, in the order in which they come.
fn asked(chosen: &[Candidate], step: StampedTorque) -> Vec<Asked> {
    let mut list: Vec<(Asked, Option<i64>)> = Vec::new();
    for one in chosen {
        let Some(torque) = one.torque else { continue };
        let known = list.iter().position(|(asked, _)| asked.torque == torque);
        let at = known.unwrap_or_else(|| {
            let passes = tighten::plan(torque, step).ok();
            let passes = passes.and_then(|plan| i64::try_from(plan.passes.len()).ok());
            let none = Asked {
                torque,
                gauges: 0,
                takes: passes.map(|_| 0),
            };
            list.push((none, passes));
            list.len() - 1
        });
        let (asked, passes) = &mut list[at];
        asked.gauges += 1;
        if let (Some(takes), Some(passes)) = (&mut asked.takes, passes) {
            *takes += *passes * one.nuts * one.sections;
        }
    }
    list.into_iter().map(|(asked, _)| asked).collect()
}
