//! What a fleet of gauges will ask for over the years at candidate rebuild intervals: failures, rebuilds, kits, money.
//! One gauge alone is in `renewal`; kits by month and order dates are planned elsewhere from due dates.

mod simulate;

use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::life::{AgeUnit, Life};
use super::numeric::{positive, real};
use super::quantity::significant;
use super::rebuild_age::Costs;
use super::renewal::{Cycles, MOST_INTERVALS};
use super::working::{Source, Step, Working};

/// Months in a year of the outlook.
pub(crate) const YEAR: f64 = 12.0;
/// Steps a characteristic life is cut into: far finer than the dates of the register, coarse
/// enough for thousands of gauges.
const FINENESS: f64 = 64.0;

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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
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

/// An expected value, with its standard error where it was simulated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Estimate {
    /// The expected value.
    pub value: f64,
    /// Its standard error; `None` where it follows from a formula.
    pub standard_error: Option<f64>,
}

/// What one year, or all years together, will ask for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Demand {
    /// Failures in service.
    pub failures: Estimate,
    /// Planned rebuilds.
    pub planned_rebuilds: Estimate,
    /// Kits for both.
    pub kits: Estimate,
    /// Money for both.
    pub cost: Estimate,
    /// Share of gauge time spent overdue, 0 to 1.
    pub overdue_share: Estimate,
}

/// How the outlook was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Method {
    /// By the renewal equation; no chance is played.
    Renewal,
    /// By playing the years through.
    Simulation(Chance),
}

/// The outlook of a fleet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Outlook {
    /// Year by year, the first beginning now.
    pub years: Vec<Demand>,
    /// All years together.
    pub total: Demand,
    /// How it was found.
    pub method: Method,
    /// The shown calculation.
    pub working: Working,
}

/// Sums of one year: failures, planned rebuilds, kits, cost, overdue gauge months.
pub(crate) type Sums = [f64; 5];

/// A service with its life in months.
#[derive(Clone, Copy)]
pub(crate) struct Monthly {
    pub life: Life,
    pub every: f64,
    pub costs: Costs,
}

/// What a fleet will ask for over the coming years at the intervals tried.
///
/// # Formula
/// Every gauge is rebuilt at failure and when its interval has passed since the last rebuild.
/// Where nothing else binds, each gauge's expected failures N and planned rebuilds P follow the
/// renewal equation of age replacement from its age a now:
/// ```text
/// N(t) = Fₐ(L) + N₀(t − L) + ∫ Fₐ(t − s) dN₀(s),  L = T − a,  Fₐ(x) = 1 − R(a + x)/R(a)
/// kits = (N + P) kits a rebuild,   cost = C_f N + C_p P
/// ```
/// N₀ the same for a new gauge; T interval, t and ages in months; R share good at an age; `C_f` and
/// `C_p` cost of a failure and of a planned rebuild. With a bench limit, or with gauges that can
/// only be rebuilt in a shutdown window (the last one on or before the due date, else the next),
/// the years are played through instead, and every value has its standard error. A gauge is overdue
/// from its due date until it is rebuilt.
///
/// # Valid range
/// 1 to 50 years; 1 to 100 000 gauges; intervals above 0, of at most 128 η/max(β, 1) and at least
/// a 200th of the horizon; ages from 0 to 1200 months; at most 100 kits a rebuild; 30 to 100 000 runs.
///
/// # Errors
/// [`OutOfRange`] that names the first input outside it.
///
/// # Source
/// Age replacement: Barlow and Proschan, Mathematical Theory of Reliability (1965) (from memory).
/// The rules of bench and windows are the plant's own. Random numbers: PCG XSL RR 128/64, M. E.
/// O'Neill (2014), as in the library `rand_pcg`.
pub fn outlook(fleet: &Fleet, years: u32, chance: Chance) -> Result<Outlook, OutOfRange> {
    let services = checked(fleet, years, chance)?;
    let simulated = matches!(fleet.bench, Bench::PerMonth(_))
        || fleet.members.iter().any(|m| m.access == Access::OnlyInWindows);
    let gauge_months = YEAR * real(fleet.members.len());
    let (years_sums, total, method) = if simulated {
        let played = simulate::play(fleet, &services, years, chance);
        (played.years, played.total, Method::Simulation(chance))
    } else {
        let sums = by_renewal(fleet, &services, years)?;
        let total = sums.iter().fold([0.0; 5], added);
        let exact = |sums: &Sums| sums.map(|value| (value, None));
        (sums.iter().map(exact).collect(), exact(&total), Method::Renewal)
    };
    let demand = |sums: &[(f64, Option<f64>); 5], gauge_months: f64| {
        let [failures, planned_rebuilds, kits, cost, overdue] =
            sums.map(|(value, standard_error)| Estimate { value, standard_error });
        Demand {
            failures,
            planned_rebuilds,
            kits,
            cost,
            overdue_share: Estimate {
                value: overdue.value / gauge_months,
                standard_error: overdue.standard_error.map(|error| error / gauge_months),
            },
        }
    };
    let years: Vec<Demand> = years_sums.iter().map(|sums| demand(sums, gauge_months)).collect();
    let total = demand(&total, gauge_months * real(years.len()));
    Ok(Outlook {
        working: shown(fleet, years.len(), total, method),
        years,
        total,
        method,
    })
}

fn added(sum: Sums, more: &Sums) -> Sums {
    std::array::from_fn(|i| sum[i] + more[i])
}

fn checked(fleet: &Fleet, years: u32, chance: Chance) -> Result<Vec<Monthly>, OutOfRange> {
    let within = |input, value: u32, least: u32, most: u32| {
        if (least..=most).contains(&value) {
            Ok(())
        } else {
            Err(OutOfRange::new(input, value, format!("from {least} to {most}")))
        }
    };
    within("years of the outlook", years, 1, 50)?;
    within("runs of the simulation", chance.runs, 30, 100_000)?;
    let gauges = u32::try_from(fleet.members.len()).unwrap_or(u32::MAX);
    within("number of gauges", gauges, 1, 100_000)?;
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
        services.push(Monthly { life, every, costs: service.costs.checked()? });
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
            return Err(OutOfRange::new("months since the last rebuild", member.age, "from 0 to 1200"));
        }
        within("kits a rebuild", member.kits, 0, 100)?;
    }
    for pair in fleet.windows.windows(2) {
        if pair[1] < pair[0] {
            return Err(OutOfRange::new("month of a shutdown window", pair[1], "not before the one given before it"));
        }
    }
    for &window in &fleet.windows {
        if !(0.0..=1200.0).contains(&window) {
            return Err(OutOfRange::new("month of a shutdown window", window, "from 0 to 1200"));
        }
    }
    Ok(services)
}

/// Every gauge by the renewal equation, year by year.
fn by_renewal(fleet: &Fleet, services: &[Monthly], years: u32) -> Result<Vec<Sums>, OutOfRange> {
    let horizon = YEAR * f64::from(years);
    let tables = services
        .iter()
        .map(|s| Cycles::new(s.life, s.every, horizon, FINENESS))
        .collect::<Result<Vec<_>, _>>()?;
    let mut sums = vec![[0.0; 5]; usize::try_from(years).unwrap_or(0)];
    for member in &fleet.members {
        let (service, table) = (services[member.service], &tables[member.service]);
        // A gauge already past its interval is rebuilt at once and is new from then on.
        let overdue = member.age >= service.every;
        let mut before = (0.0, 0.0);
        for (year, sum) in sums.iter_mut().enumerate() {
            let at = YEAR * real(year + 1);
            let by_then = if overdue {
                let (failures, planned) = table.of_new(at);
                (failures, planned + 1.0)
            } else {
                table.of_aged(at, member.age)
            };
            let (failures, planned) = (by_then.0 - before.0, by_then.1 - before.1);
            before = by_then;
            sum[0] += failures;
            sum[1] += planned;
            sum[2] += (failures + planned) * f64::from(member.kits);
            sum[3] += failures * service.costs.failure + planned * service.costs.planned;
        }
    }
    Ok(sums)
}

fn shown(fleet: &Fleet, years: usize, total: Demand, method: Method) -> Working {
    let mut working = Working::new("Outlook of the fleet");
    for (index, service) in fleet.services.iter().enumerate() {
        let gauges = fleet.members.iter().filter(|m| m.service == index).count();
        let life = service.life.in_unit(AgeUnit::Months);
        working = working.step(
            Step::new("T", "interval tried in one kind of service", "as entered", Source::Entered)
                .with("gauges", "in this service", gauges, Source::Entered)
                .with("β", "shape", significant(life.shape(), 4), Source::Arithmetic)
                .with("η", "characteristic life", format!("{} months", significant(life.scale(), 4)), Source::Arithmetic)
                .with("C_p", "cost of a planned rebuild", significant(service.costs.planned, 6), Source::Entered)
                .with("C_f", "cost of a failure", significant(service.costs.failure, 6), Source::Entered)
                .gives(format!("{} months", significant(service.every, 5))),
        );
    }
    let how = match method {
        Method::Renewal => "renewal equation of age replacement, gauge by gauge".to_owned(),
        Method::Simulation(Chance { runs, seed }) => format!("mean of {runs} runs, seed {seed}"),
    };
    let said = |estimate: Estimate| match estimate.standard_error {
        Some(error) => format!("{} ± {}", significant(estimate.value, 5), significant(error, 2)),
        None => significant(estimate.value, 5),
    };
    let source = || match method {
        Method::Renewal => Source::FromMemory("Barlow and Proschan 1965".to_owned()),
        Method::Simulation(_) => Source::Arithmetic,
    };
    let line = |symbol: &str, meaning: &str, value: String| {
        Step::new(symbol, format!("{meaning} in {years} years"), how.clone(), source()).gives(value)
    };
    working = working
        .step(line("N", "failures", said(total.failures)))
        .step(line("P", "planned rebuilds", said(total.planned_rebuilds)))
        .step(line("overdue", "share of gauge time overdue", said(total.overdue_share)))
        .step(line("kits", "kits", said(total.kits)))
        .step(line("cost", "cost", said(total.cost)))
        .remark("Expected values: single years scatter around them, and the lives themselves are uncertain.");
    match method {
        Method::Renewal => working.remark("Without a bench limit every rebuild is done on its due date, so nothing is overdue."),
        Method::Simulation(_) => working.remark("± is one standard error of the simulation."),
    }
}
