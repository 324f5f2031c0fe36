//! Life without a law: the Kaplan-Meier curve with Greenwood's bounds, and the mean time between failures.
//! Laws of life are in `weibull`; whether failures come faster with time is asked in `trend`.

use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::life::{AgeUnit, Confidence, LONGEST_AGE, LifeData, LifeError, Seen};
use super::numeric::{chi_squared_quantile, normal_quantile, positive, real};
use super::quantity::significant;
use super::working::{Source, Step, Working};

/// The scale on which Greenwood's bounds are symmetric.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BoundsOn {
    /// The share itself, cut off at 0 and 1.
    Plain,
    /// Its logarithm, cut off at 1.
    Log,
    /// The logarithm of minus its logarithm: always between 0 and 1, best for few lives.
    LogLog,
}

/// One step down of the curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Level {
    /// The age of the failures.
    pub at: f64,
    /// Lives at risk just before.
    pub at_risk: usize,
    /// How many failed at this age.
    pub failures: usize,
    /// Estimated share still good just after.
    pub survival: f64,
    /// Its standard error; `None` where the share is 0.
    pub standard_error: Option<f64>,
    /// Lower and upper bound of the share; `None` where the share is 0.
    pub bounds: Option<(f64, f64)>,
}

/// A survival curve: 1 from age 0, then one level a failure age.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SurvivalCurve {
    /// The levels, by age.
    pub levels: Vec<Level>,
    /// The longest age seen; beyond it the curve is not defined.
    pub known_until: f64,
    /// The first age at which half or fewer are still good; `None` where that was never seen.
    pub median: Option<f64>,
    /// The confidence of each pair of bounds.
    pub confidence: Confidence,
    /// The scale the bounds are symmetric on.
    pub on: BoundsOn,
    /// The shown calculation.
    pub working: Working,
}

/// The share of gauges still good at each age, without assuming a law.
///
/// # Formula
/// ```text
/// S(t) = Π (1 − d_i/n_i)  over t_i ≤ t
/// G = Σ d_i / (n_i (n_i − d_i)),  se = S √G
/// plain:   S ± z S √G
/// log:     S exp(±z √G)
/// log-log: S^exp(±z √G / ln S)
/// ```
/// d failures and n lives at risk at age t; z standard normal quantile of (1 + confidence)/2; all
/// without unit but t. A life good until t is still at risk at t; one whose records begin at s is
/// at risk only after s.
///
/// # Valid range
/// Every failure with its exact age. Without any failure the curve stays at 1 and has no level.
///
/// # Errors
/// [`LifeError::FoundBetweenLooks`].
///
/// # Source
/// E. L. Kaplan and P. Meier, J. Am. Stat. Assoc. 53 (1958) 457; M. Greenwood, Reports on Public
/// Health 33 (1926); published tables are named in the tests.
pub fn kaplan_meier(
    data: &LifeData,
    confidence: Confidence,
    on: BoundsOn,
) -> Result<SurvivalCurve, LifeError> {
    let mut begun = Vec::with_capacity(data.observations().len());
    let mut ends = Vec::with_capacity(data.observations().len());
    for observation in data.observations() {
        let (end, failed) = match observation.seen {
            Seen::Failed { at } => (at, true),
            Seen::Good { until } => (until, false),
            Seen::FoundFailed { .. } => return Err(LifeError::FoundBetweenLooks),
        };
        if end > observation.since {
            begun.push(observation.since);
            ends.push((end, failed));
        }
    }
    begun.sort_by(f64::total_cmp);
    ends.sort_by(|a, b| a.0.total_cmp(&b.0));
    let z = normal_quantile(confidence.upper_tail_point());
    let (mut survival, mut sum) = (1.0, 0.0);
    let (mut entered, mut left) = (0, 0);
    let mut levels = Vec::new();
    while left < ends.len() {
        let at = ends[left].0;
        let same = ends[left..].iter().take_while(|end| end.0 <= at);
        let (mut leaving, mut failures) = (0, 0);
        for end in same {
            leaving += 1;
            failures += usize::from(end.1);
        }
        entered += begun[entered..].iter().take_while(|since| **since < at).count();
        let at_risk = entered - left;
        left += leaving;
        if failures == 0 {
            continue;
        }
        let (d, n) = (real(failures), real(at_risk));
        survival *= (n - d) / n;
        sum += d / (n * (n - d));
        let defined = survival > 0.0;
        levels.push(Level {
            at,
            at_risk,
            failures,
            survival,
            standard_error: defined.then(|| survival * f64::sqrt(sum)),
            bounds: defined.then(|| bounds(survival, z * f64::sqrt(sum), on)),
        });
    }
    let known_until = ends.last().map_or(0.0, |end| end.0);
    let median = levels.iter().find(|level| level.survival <= 0.5 + 1e-12).map(|level| level.at);
    let working = shown(data, &levels, confidence, on);
    Ok(SurvivalCurve { levels, known_until, median, confidence, on, working })
}

fn bounds(survival: f64, reach: f64, on: BoundsOn) -> (f64, f64) {
    match on {
        BoundsOn::Plain => (
            (survival - survival * reach).max(0.0),
            (survival + survival * reach).min(1.0),
        ),
        BoundsOn::Log => (survival * (-reach).exp(), (survival * reach.exp()).min(1.0)),
        BoundsOn::LogLog => {
            let theta = -reach / survival.ln();
            (survival.powf(theta.exp()), survival.powf((-theta).exp()))
        }
    }
}

fn shown(data: &LifeData, levels: &[Level], confidence: Confidence, on: BoundsOn) -> Working {
    let unit = data.unit().symbol();
    let formula = match on {
        BoundsOn::Plain => "S ± z S √G",
        BoundsOn::Log => "S exp(±z √G)",
        BoundsOn::LogLog => "S^exp(±z √G / ln S)",
    };
    let last = levels.last();
    let curve = Step::new(
        "S",
        "share still good after the last failure",
        "Π (1 − d/n) over the failure ages",
        Source::published("Kaplan and Meier 1958"),
    )
    .with("lives", "gauge lives", data.observations().len(), Source::Entered)
    .with("d", "failures in all", data.failures(), Source::Entered)
    .gives(last.map_or("1: no failure yet".to_owned(), |level| {
        format!("{} at {} {unit}", significant(level.survival, 4), significant(level.at, 5))
    }));
    let limits = last.and_then(|level| level.bounds);
    let reach = Step::new("bounds", "of that share", formula, Source::published("Greenwood 1926"))
        .with("confidence", "of both bounds together", confidence.percent(), Source::Plant)
        .gives(limits.map_or("not defined".to_owned(), |(low, high)| {
            format!("{} to {}", significant(low, 4), significant(high, 4))
        }));
    Working::new("Share of gauges still good by age")
        .step(curve)
        .step(reach)
        .remark("The curve says nothing beyond the longest age seen.")
}

/// What ended the time that is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
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
    let Exposure { unit, failures, ended, .. } = exposure;
    let time = positive("time watched", exposure.time, LONGEST_AGE)?;
    let fewest = u32::from(ended == Ended::ByFailure);
    if !(fewest..=100_000).contains(&failures) {
        return Err(OutOfRange::new("failures", failures, format!("from {fewest} to 100000")));
    }
    let twice = 2.0 * f64::from(failures);
    let below = if ended == Ended::ByTime { twice + 2.0 } else { twice };
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
        .with("T", "time watched, all gauges", format!("{} {symbol}", significant(time, 6)), Source::Entered)
        .with("r", "failures", failures, Source::Entered)
        .gives(estimate.map_or("none: no failure yet".to_owned(), |mean| {
            format!("{} {symbol}", significant(mean, 5))
        }));
    let two_sided = Step::new("bounds", "two-sided", "2T/χ²", source())
        .with("c", "confidence", confidence.percent(), Source::Plant)
        .gives(bounds.map_or("none: no failure yet".to_owned(), |(low, high)| {
            format!("{} to {} {symbol}", significant(low, 5), significant(high, 5))
        }));
    let one_sided = Step::new("at least", "one-sided lower bound", "2T/χ²", source())
        .with("c", "confidence", confidence.percent(), Source::Plant)
        .with("degrees of freedom", "2r + 2 by time, 2r by failure", below, Source::Arithmetic)
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
