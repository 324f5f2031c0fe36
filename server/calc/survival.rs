//! Life without a law: the Kaplan-Meier curve with Greenwood's bounds, and the mean time between failures.
//! Laws of life are in `weibull`; whether failures come faster with time is asked in `trend`.

mod mean_time;

pub use mean_time::{Ended, Exposure, MeanTime, mean_time_between_failures};

use serde::{Deserialize, Serialize};

use super::life::{Confidence, LifeData, LifeError, Seen};
use super::numeric::{normal_quantile, real};
use super::quantity::significant;
use super::working::{Source, Step, Working};

/// The scale on which Greenwood's bounds are symmetric.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
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
/// Curve: Bewick, Cheek and Ball, Critical Care 8 (2004) 389, Table 2, after E. L. Kaplan and P.
/// Meier (1958). Standard error: M. Greenwood (1926) (from memory).
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
        entered += begun[entered..]
            .iter()
            .take_while(|since| **since < at)
            .count();
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
    let median = levels
        .iter()
        .find(|level| level.survival <= 0.5 + 1e-12)
        .map(|level| level.at);
    let working = shown(data, &levels, confidence, on);
    Ok(SurvivalCurve {
        levels,
        known_until,
        median,
        confidence,
        on,
        working,
    })
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
        Source::published("Bewick, Cheek and Ball, Critical Care 8 (2004) 389"),
    )
    .with(
        "lives",
        "gauge lives",
        data.observations().len(),
        Source::Entered,
    )
    .with("d", "failures in all", data.failures(), Source::Entered)
    .gives(last.map_or("1: no failure yet".to_owned(), |level| {
        format!(
            "{} at {} {unit}",
            significant(level.survival, 4),
            significant(level.at, 5)
        )
    }));
    let limits = last.and_then(|level| level.bounds);
    let reach = Step::new(
        "bounds",
        "of that share",
        formula,
        Source::FromMemory("Greenwood 1926".to_owned()),
    )
    .with(
        "confidence",
        "of both bounds together",
        confidence.percent(),
        Source::Plant,
    )
    .gives(limits.map_or("not defined".to_owned(), |(low, high)| {
        format!("{} to {}", significant(low, 4), significant(high, 4))
    }));
    Working::new("Share of gauges still good by age")
        .step(curve)
        .step(reach)
        .remark("The curve says nothing beyond the longest age seen.")
}
