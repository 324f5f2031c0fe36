//! Intervals and the fleet: cheapest rebuild age, failures to expect, the outlook over years.
//! The methods are in `calc::rebuild_age`, `renewal` and `outlook`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::life::code;
use super::registry::{Computation, Found, No, Part, computation};
use super::typed::Measure;
use crate::calc::life::{AgeUnit, Life};
use crate::calc::outlook::{
    Access, Bench, Chance, Demand, Estimate, Fleet, Member, Method, Service, outlook as look_ahead,
};
use crate::calc::quantity::significant;
use crate::calc::rebuild_age::{Advice, Costs, Wear, best_rebuild_age, cost_rate};
use crate::calc::renewal::{self, Programme};
use crate::calc::working::{Source, Step};

pub(super) fn list() -> Vec<Computation> {
    vec![
        computation(
            (
                "rebuild-age",
                "The age at which rebuilding is cheapest in the long run",
            ),
            (Part::Fleet, &[]),
            r#"{"shape": 2.5, "scale": 1000, "unit": "days", "planned_cost": 1, "failure_cost": 5, "at": 730}"#,
            rebuild_age,
        ),
        computation(
            (
                "expected-failures",
                "Failures and planned rebuilds to expect of one gauge under a programme",
            ),
            (Part::Fleet, &[]),
            r#"{"shape": 2, "scale": 60, "unit": "months", "programme": "age", "every": 36, "horizon": 120}"#,
            expected_failures,
        ),
        computation(
            (
                "next-failure",
                "The chance that a gauge of this age fails within a time ahead",
            ),
            (Part::Fleet, &[]),
            r#"{"shape": 2, "scale": 60, "unit": "months", "age": 30, "horizon": 12}"#,
            next_failure,
        ),
        computation(
            (
                "fleet-outlook",
                "Failures, rebuilds, kits and cost of a fleet over years, at the intervals tried",
            ),
            (Part::Fleet, &[]),
            r#"{"services": [{"shape": 2, "scale": 60, "every": 36, "planned_cost": 300, "failure_cost": 2400}], "gauges": [{"service": 1, "age": 10, "kits": 2, "times": 40}, {"service": 1, "age": 30, "kits": 1, "times": 20, "access": "only-in-windows"}], "windows": [4, 16, 28, 40, 52], "bench_per_month": 4, "years": 5, "runs": 300, "seed": 1}"#,
            outlook,
        ),
    ]
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct AgeOf {
    /// Weibull shape β.
    shape: f64,
    /// Characteristic life η.
    scale: f64,
    /// Unit of the ages.
    unit: AgeUnit,
    /// Cost of a planned rebuild.
    planned_cost: f64,
    /// Cost of a failure.
    failure_cost: f64,
    /// Lower bound of the shape.
    ///
    /// Where it was fitted; says whether the data show wear.
    shape_at_least: Option<f64>,
    /// Rebuild age.
    ///
    /// Another age to compare the cost with.
    at: Option<f64>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct AgeFound {
    /// Advice.
    advice: &'static str,
    /// Age of least cost.
    age: Option<Measure>,
    /// Cost per unit of age there.
    cost_rate: Option<f64>,
    /// Share saved against waiting for failures.
    saving: Option<f64>,
    /// Nearly as cheap from.
    from: Option<Measure>,
    /// Nearly as cheap to.
    to: Option<Measure>,
    /// Cost per unit of age when waiting for failures.
    cost_rate_at_failure_only: f64,
    /// Cost per unit of age at the age to compare.
    cost_rate_at: Option<f64>,
    /// Wear.
    wear: Wear,
}

fn rebuild_age(of: AgeOf) -> Found<AgeFound> {
    let life = Life::new(of.shape, of.scale, of.unit)?;
    let costs = Costs {
        planned: of.planned_cost,
        failure: of.failure_cost,
    };
    let found = best_rebuild_age(life, costs, of.shape_at_least)?;
    let mut working = found.working;
    let compared = match of.at {
        None => None,
        Some(at) => {
            let rate = cost_rate(life, costs, at)?;
            working = working.step(
                Step::new(
                    "C(T)",
                    "cost per unit of age at the age to compare",
                    "[C_p R(T) + C_f F(T)] / ∫₀ᵀ R dt",
                    Source::FromMemory("Barlow and Proschan 1965, age replacement".to_owned()),
                )
                .with(
                    "T",
                    "age",
                    format!("{at} {}", of.unit.symbol()),
                    Source::Entered,
                )
                .gives(significant(rate, 6)),
            );
            Some(rate)
        }
    };
    let (advice, best) = match found.advice {
        Advice::Rebuild(best) => ("rebuild at about this age", Some(best)),
        Advice::SavesTooLittle(best) => ("a cheapest age saves too little to matter", Some(best)),
        Advice::NeverByAge => ("never by age: failures do not come faster with age", None),
        Advice::NeverAtTheseCosts => ("never by age at these costs", None),
    };
    let measure = |age: f64| Measure::new(age, code(of.unit));
    let answer = AgeFound {
        advice,
        age: best.map(|best| measure(best.age)),
        cost_rate: best.map(|best| best.cost_rate),
        saving: best.map(|best| best.saving),
        from: best.map(|best| measure(best.from)),
        to: best.and_then(|best| best.to).map(measure),
        cost_rate_at_failure_only: found.cost_rate_at_failure_only,
        cost_rate_at: compared,
        wear: found.wear,
    };
    Ok((answer, working))
}

/// When a gauge is rebuilt; every rebuild makes it as new.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum When {
    /// Only after a failure.
    AtFailureOnly,
    /// After every failure and at fixed calendar intervals.
    Calendar,
    /// After every failure and when this age is reached.
    Age,
    /// At fixed calendar intervals; failures in between are only patched.
    PatchBetween,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ExpectedOf {
    /// Weibull shape β.
    shape: f64,
    /// Characteristic life η.
    scale: f64,
    /// Unit of the ages.
    unit: AgeUnit,
    /// Programme.
    programme: When,
    /// Time between rebuilds.
    ///
    /// Left out where rebuilding only after failures.
    every: Option<f64>,
    /// Horizon.
    horizon: f64,
}

#[derive(Debug, Serialize, JsonSchema)]
struct ExpectedFound {
    /// Failures.
    failures: f64,
    /// Planned rebuilds.
    planned_rebuilds: f64,
    /// Numerical error at most.
    accuracy: f64,
}

fn expected_failures(of: ExpectedOf) -> Found<ExpectedFound> {
    let life = Life::new(of.shape, of.scale, of.unit)?;
    let every = || {
        of.every
            .ok_or_else(|| No::At("every", "it is missing: this programme needs it".to_owned()))
    };
    let programme = match of.programme {
        When::AtFailureOnly => Programme::AtFailureOnly,
        When::Calendar => Programme::Calendar { every: every()? },
        When::Age => Programme::Age { every: every()? },
        When::PatchBetween => Programme::PatchBetween { every: every()? },
    };
    let found = renewal::expected_failures(life, programme, of.horizon)?;
    let answer = ExpectedFound {
        failures: found.failures,
        planned_rebuilds: found.planned_rebuilds,
        accuracy: found.accuracy,
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct NextOf {
    /// Weibull shape β.
    shape: f64,
    /// Characteristic life η.
    scale: f64,
    /// Unit of the ages.
    unit: AgeUnit,
    /// Age.
    age: f64,
    /// Time ahead.
    horizon: f64,
}

#[derive(Debug, Serialize, JsonSchema)]
struct NextFound {
    /// Chance of a failure.
    chance: f64,
    /// Failures if each is only patched.
    patched_failures: f64,
}

fn next_failure(of: NextOf) -> Found<NextFound> {
    let life = Life::new(of.shape, of.scale, of.unit)?;
    let found = renewal::next_failure(life, of.age, of.horizon)?;
    let answer = NextFound {
        chance: found.chance,
        patched_failures: found.patched_failures,
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ServiceOf {
    /// Weibull shape β.
    shape: f64,
    /// Characteristic life η, months.
    #[schemars(extend("x-named" = ["characteristic life η"]))]
    scale: f64,
    /// Months between rebuilds.
    #[schemars(extend("x-named" = ["time between rebuilds in months", "time between rebuilds"]))]
    every: f64,
    /// Cost of a planned rebuild.
    planned_cost: f64,
    /// Cost of a failure.
    failure_cost: f64,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct GaugesOf {
    /// Service, counted from 1.
    #[schemars(extend("x-named" = ["service of a gauge"]))]
    service: usize,
    /// Months since the last rebuild.
    age: f64,
    /// Kits a rebuild.
    kits: u32,
    /// Times.
    ///
    /// So many gauges alike; 1 where left out.
    times: Option<u32>,
    /// Access.
    ///
    /// At any time where left out.
    access: Option<Access>,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct OutlookOf {
    /// Kinds of service.
    #[schemars(extend("x-named" = ["number of kinds of service"]))]
    services: Vec<ServiceOf>,
    /// Gauges.
    #[schemars(extend("x-named" = ["number of gauges"]))]
    gauges: Vec<GaugesOf>,
    /// Shutdown windows, months from now.
    #[serde(default)]
    #[schemars(extend("x-named" = ["month of a shutdown window"]))]
    windows: Vec<f64>,
    /// Rebuilds the bench can do a month.
    ///
    /// As many as fall due where left out.
    bench_per_month: Option<u32>,
    /// Years.
    #[schemars(extend("x-named" = ["years of the outlook"]))]
    years: u32,
    /// Runs.
    ///
    /// Where chance has to be played; 1000 where left out.
    #[schemars(extend("x-named" = ["runs of the simulation"]))]
    runs: Option<u32>,
    /// Seed.
    ///
    /// The same seed gives the same figures; 1 where left out.
    seed: Option<u64>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct YearFound {
    /// Year.
    year: String,
    /// Failures.
    failures: f64,
    /// Standard error.
    failures_error: Option<f64>,
    /// Planned rebuilds.
    planned_rebuilds: f64,
    /// Kits.
    kits: f64,
    /// Standard error of the kits.
    kits_error: Option<f64>,
    /// Cost.
    cost: f64,
    /// Share of gauge time overdue.
    overdue_share: f64,
}

#[derive(Debug, Serialize, JsonSchema)]
struct OutlookFound {
    /// Found by.
    method: &'static str,
    /// Year by year.
    years: Vec<YearFound>,
}

/// The most gauges one line may stand for.
const MOST_TIMES: u32 = 100_000;

fn outlook(of: OutlookOf) -> Found<OutlookFound> {
    let services = of
        .services
        .iter()
        .map(|service| {
            Ok(Service {
                life: Life::new(service.shape, service.scale, AgeUnit::Months)?,
                every: service.every,
                costs: Costs {
                    planned: service.planned_cost,
                    failure: service.failure_cost,
                },
            })
        })
        .collect::<Result<Vec<_>, No>>()?;
    let mut members = Vec::new();
    for line in &of.gauges {
        let Some(service) = line.service.checked_sub(1) else {
            return Err(No::At("gauges", "services are counted from 1".to_owned()));
        };
        let times = line.times.unwrap_or(1);
        if times == 0 || times > MOST_TIMES {
            return Err(No::At(
                "gauges",
                format!("{times} gauges alike; it must be from 1 to {MOST_TIMES}"),
            ));
        }
        let member = Member {
            service,
            age: line.age,
            kits: line.kits,
            access: line.access.unwrap_or(Access::AnyTime),
        };
        members.extend((0..times).map(|_| member));
    }
    let found = look_ahead(
        &Fleet {
            services,
            members,
            windows: of.windows,
            bench: of.bench_per_month.map_or(Bench::AsMany, Bench::PerMonth),
        },
        of.years,
        Chance {
            runs: of.runs.unwrap_or(1000),
            seed: of.seed.unwrap_or(1),
        },
    )?;
    let row = |year: String, demand: &Demand| {
        let error = |estimate: Estimate| estimate.standard_error;
        YearFound {
            year,
            failures: demand.failures.value,
            failures_error: error(demand.failures),
            planned_rebuilds: demand.planned_rebuilds.value,
            kits: demand.kits.value,
            kits_error: error(demand.kits),
            cost: demand.cost.value,
            overdue_share: demand.overdue_share.value,
        }
    };
    let mut years: Vec<YearFound> = found
        .years
        .iter()
        .zip(1..)
        .map(|(demand, year): (_, u32)| row(year.to_string(), demand))
        .collect();
    years.push(row("all".to_owned(), &found.total));
    let answer = OutlookFound {
        method: match found.method {
            Method::Renewal => "renewal equation",
            Method::Simulation(_) => "simulation",
        },
        years,
    };
    Ok((answer, found.working))
}
