//! A gauge that fails again and again: whether failures come faster, and the power law of it.
//! The methods are in `calc::trend`; the life of one glass is in `life`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::life::code;
use super::registry::{Computation, Found, No, Part, computation};
use super::typed::Measure;
use crate::calc::life::{AgeUnit, Confidence};
use crate::calc::trend::{self, History, Watched};

pub(super) fn list() -> Vec<Computation> {
    vec![
        computation(
            (
                "trend",
                "Whether a gauge, or several alike, fail faster or slower with time",
            ),
            (Part::Life, &[]),
            r#"{"unit": "months", "gauges": [{"failures": [9, 20, 34, 41, 47, 50], "watched_until": 54}], "confidence": 0.9}"#,
            trend_of,
        ),
        computation(
            (
                "growth",
                "The power law of a gauge\u{2019}s failures: growth, present mean time, fit",
            ),
            (Part::Life, &[]),
            r#"{"unit": "hours", "failures": [2.6, 16.5, 16.6, 98.3, 131.4, 264.1, 324.8, 346.6, 393.5, 507.9], "watched_until": 600, "confidence": 0.9}"#,
            growth,
        ),
    ]
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct OneGauge {
    /// Times of failure.
    ///
    /// Since first service, not from failure to failure.
    #[schemars(extend("x-named" = ["time of failure", "time of every failure", "number of failures"]))]
    failures: Vec<f64>,
    /// End of watching.
    ///
    /// Left out where it was watched to its last failure only.
    watched_until: Option<f64>,
}

fn history(unit: AgeUnit, failures: Vec<f64>, until: Option<f64>) -> Result<History, No> {
    let watched = until.map_or(Watched::ToLastFailure, Watched::Until);
    Ok(History::new(unit, failures, watched)?)
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct TrendOf {
    /// Unit of the times.
    unit: AgeUnit,
    /// Gauges.
    #[schemars(extend("x-named" = ["number of failures a trend is read from", "number of gauges"]))]
    gauges: Vec<OneGauge>,
    /// Confidence.
    confidence: f64,
}

#[derive(Debug, Serialize, JsonSchema)]
struct TrendFound {
    /// Verdict.
    verdict: trend::Verdict,
    /// Laplace's U.
    laplace: f64,
    /// Chance of one so far from 0 without a trend.
    laplace_chance: f64,
    /// Chi-squared of the power law.
    chi_squared: f64,
    /// Its degrees of freedom.
    degrees_of_freedom: usize,
    /// Failures.
    failures: usize,
}

fn trend_of(of: TrendOf) -> Found<TrendFound> {
    let histories = of
        .gauges
        .into_iter()
        .map(|gauge| history(of.unit, gauge.failures, gauge.watched_until))
        .collect::<Result<Vec<_>, No>>()?;
    let found = trend::trend(&histories, Confidence::new(of.confidence)?)?;
    let answer = TrendFound {
        verdict: found.verdict,
        laplace: found.laplace,
        laplace_chance: found.laplace_chance,
        chi_squared: found.chi_squared,
        degrees_of_freedom: found.degrees_of_freedom,
        failures: found.failures,
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct GrowthOf {
    /// Unit of the times.
    unit: AgeUnit,
    /// Times of failure.
    ///
    /// Since first service, not from failure to failure.
    #[schemars(extend("x-named" = ["time of failure", "time of every failure", "number of failures", "number of failures a trend is read from"]))]
    failures: Vec<f64>,
    /// End of watching.
    ///
    /// Left out where it was watched to its last failure only.
    watched_until: Option<f64>,
    /// Confidence.
    confidence: f64,
}

#[derive(Debug, Serialize, JsonSchema)]
struct GrowthFound {
    /// Growth β.
    growth: f64,
    /// Growth, unbiased.
    growth_unbiased: f64,
    /// Lower bound of the growth.
    growth_lower: f64,
    /// Upper bound of the growth.
    growth_upper: f64,
    /// Mean time between failures now.
    mean_time_now: Measure,
    /// Mean time so far.
    mean_time_so_far: Measure,
    /// Misfit (Cramér-von Mises).
    misfit: f64,
}

fn growth(of: GrowthOf) -> Found<GrowthFound> {
    let history = history(of.unit, of.failures, of.watched_until)?;
    let found = trend::power_law(&history, Confidence::new(of.confidence)?)?;
    let answer = GrowthFound {
        growth: found.growth,
        growth_unbiased: found.growth_unbiased,
        growth_lower: found.growth_bounds.0,
        growth_upper: found.growth_bounds.1,
        mean_time_now: Measure::new(found.mean_time_now, code(of.unit)),
        mean_time_so_far: Measure::new(found.mean_time_so_far, code(of.unit)),
        misfit: found.misfit,
    };
    Ok((answer, found.working))
}
