//! A fleet with the plan that is tried on it, and the checks it passes before anything is computed.
//! What it will ask for is worked out in `outlook`.

use serde::{Deserialize, Serialize};

use super::YEAR;
use crate::calc::OutOfRange;
use crate::calc::life::{AgeUnit, Life};
use crate::calc::numeric::positive;
use crate::calc::rebuild_age::{Costs, mean_cycle};
use crate::calc::renewal::MOST_INTERVALS;

/// A kind of service: how long gauges live in it, and the interval that is tried.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Service {
    /// The life, in any unit.
    pub life: Life,
    /// Months from one rebuild to the next planned one.
    pub every: f64,
    /// What planned rebuilds and failures cost.
    pub costs: Costs,
}

/// When a gauge can be taken out of service for a planned rebuild.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Access {
    /// At any time: it can be isolated.
    AnyTime,
    /// Only in a shutdown window.
    OnlyInWindows,
}

/// One gauge of the fleet.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Member {
    /// Which of the fleet's services it is in, counted from 0.
    pub service: usize,
    /// Months since its last rebuild, or since it was first put into service.
    pub age: f64,
    /// Kits that one rebuild takes.
    pub kits: u32,
    /// When it can be rebuilt.
    pub access: Access,
}

/// How many rebuilds the bench can do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bench {
    /// As many as fall due.
    AsMany,
    /// So many a month outside shutdown windows. Failures go first and are always done; planned
    /// rebuilds beyond that wait, longest due first.
    PerMonth(u32),
}

/// A fleet and the plan that is tried on it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fleet {
    /// The kinds of service.
    pub services: Vec<Service>,
    /// The gauges.
    pub members: Vec<Member>,
    /// Shutdown windows ahead, as months from now.
    pub windows: Vec<f64>,
    /// The bench.
    pub bench: Bench,
}

/// How chance is played where no formula exists. The same fleet, runs and seed give the same result.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Chance {
    /// How many times the years are played through.
    pub runs: u32,
    /// Where the random numbers begin.
    pub seed: u64,
}

/// The most events a simulation may play through: some twenty seconds' work.
const MOST_EVENTS: f64 = 5e8;

/// A service with its life in months.
#[derive(Clone, Copy)]
pub(super) struct Monthly {
    pub life: Life,
    pub every: f64,
    pub costs: Costs,
}

/// Refuses an impossible fleet by the first input that is out of range.
pub(super) fn checked(
    fleet: &Fleet,
    years: u32,
    chance: Chance,
) -> Result<Vec<Monthly>, OutOfRange> {
    let within = |input, value: u32, least: u32, most: u32| {
        if (least..=most).contains(&value) {
            Ok(())
        } else {
            Err(OutOfRange::new(
                input,
                value,
                format!("from {least} to {most}"),
            ))
        }
    };
    within("years of the outlook", years, 1, 50)?;
    within("runs of the simulation", chance.runs, 30, 100_000)?;
    let gauges = u32::try_from(fleet.members.len()).unwrap_or(u32::MAX);
    within("number of gauges", gauges, 1, 100_000)?;
    let kinds = u32::try_from(fleet.services.len()).unwrap_or(u32::MAX);
    within("number of kinds of service", kinds, 1, 200)?;
    let horizon = YEAR * f64::from(years);
    let mut services = Vec::with_capacity(fleet.services.len());
    for service in &fleet.services {
        let every = positive("time between rebuilds in months", service.every, 1200.0)?;
        if horizon > MOST_INTERVALS * every {
            return Err(OutOfRange::new(
                "time between rebuilds in months",
                every,
                format!("at least {}", horizon / MOST_INTERVALS),
            ));
        }
        let life = service.life.in_unit(AgeUnit::Months);
        services.push(Monthly {
            life,
            every,
            costs: service.costs.checked()?,
        });
    }
    for member in &fleet.members {
        if member.service >= services.len() {
            return Err(OutOfRange::new(
                "service of a gauge",
                member.service,
                format!("less than {}", services.len()),
            ));
        }
        if !(0.0..=1200.0).contains(&member.age) {
            return Err(OutOfRange::new(
                "months since the last rebuild",
                member.age,
                "from 0 to 1200",
            ));
        }
        within("kits a rebuild", member.kits, 0, 100)?;
    }
    for pair in fleet.windows.windows(2) {
        if pair[1] < pair[0] {
            return Err(OutOfRange::new(
                "month of a shutdown window",
                pair[1],
                "not before the one given before it",
            ));
        }
    }
    for &window in &fleet.windows {
        if !(0.0..=1200.0).contains(&window) {
            return Err(OutOfRange::new(
                "month of a shutdown window",
                window,
                "from 0 to 1200",
            ));
        }
    }
    Ok(services)
}

/// Refuses more runs than can be played through in reasonable time.
pub(super) fn playable(
    fleet: &Fleet,
    services: &[Monthly],
    years: u32,
    chance: Chance,
) -> Result<(), OutOfRange> {
    let horizon = YEAR * f64::from(years);
    let each = |member: &Member| services[member.service].events(horizon);
    let events: f64 = fleet.members.iter().map(each).sum();
    if events * f64::from(chance.runs) <= MOST_EVENTS {
        return Ok(());
    }
    Err(OutOfRange::new(
        "runs of the simulation",
        chance.runs,
        format!("at most {} for this fleet", (MOST_EVENTS / events).floor()),
    ))
}

impl Monthly {
    /// About how many events one gauge has before the horizon.
    ///
    /// It begins with one and has one more a mean cycle.
    fn events(self, horizon: f64) -> f64 {
        let cycle =
            self.life.scale() * mean_cycle(self.life.shape(), self.every / self.life.scale());
        1.0 + horizon / cycle
    }
}
