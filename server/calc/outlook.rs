//! What a fleet of gauges will ask for over the years at candidate rebuild intervals: failures, rebuilds, kits, money.
//! One gauge alone is in `renewal`; kits by month and order dates are planned elsewhere from due dates.

mod fleet;
mod simulate;

pub use fleet::{Access, Bench, Chance, Fleet, Member, Service};

use serde::Serialize;

use super::OutOfRange;
use super::life::AgeUnit;
use super::numeric::real;
use super::quantity::significant;
use super::renewal::Cycles;
use super::working::{Source, Step, Working};
use fleet::{Monthly, checked, playable};

/// Months in a year of the outlook.
pub(crate) const YEAR: f64 = 12.0;
/// Steps a characteristic life is cut into: far finer than the dates of the register, coarse
/// enough for thousands of gauges.
const FINENESS: f64 = 64.0;

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
/// 1 to 50 years; 1 to 100 000 gauges in up to 200 kinds of service; intervals above 0, at most 1200
/// months, 128 η/max(β, 1) and the horizon's 200th at least; ages from 0 to 1200 months; at most 100
/// kits a rebuild; 30 to 100 000 runs, of no more than about 5·10⁸ events together.
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
        || fleet
            .members
            .iter()
            .any(|m| m.access == Access::OnlyInWindows);
    let gauge_months = YEAR * real(fleet.members.len());
    let (years_sums, total, method) = if simulated {
        playable(fleet, &services, years, chance)?;
        let played = simulate::play(fleet, &services, years, chance);
        (played.years, played.total, Method::Simulation(chance))
    } else {
        let sums = by_renewal(fleet, &services, years)?;
        let total = sums.iter().fold([0.0; 5], added);
        let exact = |sums: &Sums| sums.map(|value| (value, None));
        (
            sums.iter().map(exact).collect(),
            exact(&total),
            Method::Renewal,
        )
    };
    let demand = |sums: &[(f64, Option<f64>); 5], gauge_months: f64| {
        let [failures, planned_rebuilds, kits, cost, overdue] =
            sums.map(|(value, standard_error)| Estimate {
                value,
                standard_error,
            });
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
    let years: Vec<Demand> = years_sums
        .iter()
        .map(|sums| demand(sums, gauge_months))
        .collect();
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
            Step::new(
                "T",
                "interval tried in one kind of service",
                "as entered",
                Source::Entered,
            )
            .with("gauges", "in this service", gauges, Source::Entered)
            .with(
                "β",
                "shape",
                significant(life.shape(), 4),
                Source::Arithmetic,
            )
            .with(
                "η",
                "characteristic life",
                format!("{} months", significant(life.scale(), 4)),
                Source::Arithmetic,
            )
            .with(
                "C_p",
                "cost of a planned rebuild",
                significant(service.costs.planned, 6),
                Source::Entered,
            )
            .with(
                "C_f",
                "cost of a failure",
                significant(service.costs.failure, 6),
                Source::Entered,
            )
            .gives(format!("{} months", significant(service.every, 5))),
        );
    }
    let how = match method {
        Method::Renewal => "renewal equation of age replacement, gauge by gauge".to_owned(),
        Method::Simulation(Chance { runs, seed }) => format!("mean of {runs} runs, seed {seed}"),
    };
    let said = |estimate: Estimate| match estimate.standard_error {
        Some(error) => format!(
            "{} ± {}",
            significant(estimate.value, 5),
            significant(error, 2)
        ),
        None => significant(estimate.value, 5),
    };
    let source = || match method {
        Method::Renewal => Source::FromMemory("Barlow and Proschan 1965".to_owned()),
        Method::Simulation(_) => Source::Arithmetic,
    };
    let line = |symbol: &str, meaning: &str, value: String| {
        Step::new(
            symbol,
            format!("{meaning} in {years} years"),
            how.clone(),
            source(),
        )
        .gives(value)
    };
    working = working
        .step(line("N", "failures", said(total.failures)))
        .step(line("P", "planned rebuilds", said(total.planned_rebuilds)))
        .step(line("overdue", "share of gauge time overdue", said(total.overdue_share)))
        .step(line("kits", "kits", said(total.kits)))
        .step(line("cost", "cost", said(total.cost)))
        .remark("Expected values: single years scatter around them, and the lives themselves are uncertain.");
    match method {
        Method::Renewal => working.remark(
            "Without a bench limit every rebuild is done on its due date, so nothing is overdue.",
        ),
        Method::Simulation(_) => working.remark("± is one standard error of the simulation."),
    }
}
