//! The mean time between failures of gauges that fail at a constant rate, with chi-squared bounds.
//! Whether the rate is constant is asked in `trend`.

use serde::{Deserialize, Serialize};

use crate::calc::OutOfRange;
use crate::calc::life::{AgeUnit, Confidence, LONGEST_AGE};
use crate::calc::numeric::{chi_squared_quantile, positive};
use crate::calc::quantity::significant;
use crate::calc::working::{Source, Step, Working};

/// What ended the time that is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Ended {
    /// The calendar: the register read today.
    ByTime,
    /// The last failure itself.
    ByFailure,
}

/// Time watched over all gauges together, and the failures in it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Exposure {
    /// Total time watched, all gauges added.
    pub time: f64,
    /// Its unit.
    pub unit: AgeUnit,
    /// How many failures fell into it.
    pub failures: u32,
    /// What ended it.
    pub ended: Ended,
}

/// The mean time between failures under a constant rate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MeanTime {
    /// The estimate; `None` without a failure.
    pub estimate: Option<f64>,
    /// Two-sided bounds; `None` without a failure, where only [`Self::at_least`] can be said.
    pub bounds: Option<(f64, f64)>,
    /// The one-sided lower bound.
    pub at_least: f64,
    /// The shown calculation.
    pub working: Working,
}

/// The mean time between failures and its chi-squared bounds, when failures come at a constant rate.
///
/// # Formula
/// ```text
/// MTBF = T/r
/// lower = 2T / χ²((1 + c)/2; 2r + 2),  one-sided 2T / χ²(c; 2r + 2)
/// upper = 2T / χ²((1 − c)/2; 2r)
/// ```
/// T total time watched and results in its unit; r failures; c confidence. Where the last failure
/// ended the count, 2r + 2 becomes 2r. Without a failure the one-sided bound is T/(−ln(1 − c)).
///
/// # Valid range
/// T above 0 and at most 10⁹; r from 0 to 100 000, at least 1 where a failure ended the count.
///
/// # Errors
/// [`OutOfRange`] outside it.
///
/// # Source
/// NIST/SEMATECH e-Handbook 8.4.5.1 (example: 800 h, 2 failures, 90 %: 127 to 2251 h).
pub fn mean_time_between_failures(
    exposure: Exposure,
    confidence: Confidence,
) -> Result<MeanTime, OutOfRange> {
    let Exposure {
        unit,
        failures,
        ended,
        ..
    } = exposure;
    let time = positive("time watched", exposure.time, LONGEST_AGE)?;
    let fewest = u32::from(ended == Ended::ByFailure);
    if !(fewest..=100_000).contains(&failures) {
        return Err(OutOfRange::new(
            "failures",
            failures,
            format!("from {fewest} to 100000"),
        ));
    }
    let twice = 2.0 * f64::from(failures);
    let below = if ended == Ended::ByTime {
        twice + 2.0
    } else {
        twice
    };
    let c = confidence.level();
    let some = failures > 0;
    let estimate = some.then(|| time / f64::from(failures));
    let bounds = some.then(|| {
        let upper_point = confidence.upper_tail_point();
        (
            2.0 * time / chi_squared_quantile(upper_point, below),
            2.0 * time / chi_squared_quantile(1.0 - upper_point, twice),
        )
    });
    let at_least = 2.0 * time / chi_squared_quantile(c, below);
    let symbol = unit.symbol();
    let source = || Source::published("NIST/SEMATECH e-Handbook 8.4.5.1");
    let mean = Step::new("MTBF", "mean time between failures", "T/r", source())
        .with(
            "T",
            "time watched, all gauges",
            format!("{} {symbol}", significant(time, 6)),
            Source::Entered,
        )
        .with("r", "failures", failures, Source::Entered)
        .gives(estimate.map_or("none: no failure yet".to_owned(), |mean| {
            format!("{} {symbol}", significant(mean, 5))
        }));
    let two_sided = Step::new("bounds", "two-sided", "2T/χ²", source())
        .with("c", "confidence", confidence.percent(), Source::Plant)
        .gives(
            bounds.map_or("none: no failure yet".to_owned(), |(low, high)| {
                format!(
                    "{} to {} {symbol}",
                    significant(low, 5),
                    significant(high, 5)
                )
            }),
        );
    let one_sided = Step::new("at least", "one-sided lower bound", "2T/χ²", source())
        .with("c", "confidence", confidence.percent(), Source::Plant)
        .with(
            "degrees of freedom",
            "2r + 2 by time, 2r by failure",
            below,
            Source::Arithmetic,
        )
        .gives(format!("{} {symbol}", significant(at_least, 5)));
    Ok(MeanTime {
        estimate,
        bounds,
        at_least,
        working: Working::new("Mean time between failures")
            .step(mean)
            .step(two_sided)
            .step(one_sided)
            .remark("Holds only where failures come neither faster nor slower with age and time; ask the trend first."),
    })
}
