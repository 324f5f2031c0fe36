//! Whether a repairable gauge, or several, fail faster or slower with time, and the power law of it.
//! The life of one glass and gasket set is another question, answered in `weibull`.
//!
//! The β of a power law describes how failures of one place follow each other; the β of a Weibull
//! life describes one life. They share a letter and nothing else.

use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::life::{AgeUnit, Confidence, LONGEST_AGE};
use super::numeric::{chi_squared_quantile, chi_squared_tails, positive, real, two_sided_tail};
use super::quantity::significant;
use super::working::{Source, Step, Working};

/// The fewest failures a trend is read from.
pub const FEWEST_FOR_TREND: usize = 4;

/// How long a gauge was watched.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Watched {
    /// Up to this time, whether or not it failed then: the register read today.
    Until(f64),
    /// Up to its last failure and no further.
    ToLastFailure,
}

/// The failures of one repairable gauge, as times since it was first put into service.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct History {
    unit: AgeUnit,
    failures: Vec<f64>,
    watched: Watched,
}

impl History {
    /// Takes the times of all failures since first service (not the times between them).
    ///
    /// # Valid range
    /// Times above 0 and at most 10⁹, none before the one given before it, none after the end of
    /// watching; equal times (two failures on a day) are kept. At least one failure where the last
    /// failure ends the watching.
    ///
    /// # Errors
    /// [`OutOfRange`] that names the first impossible time. Falling times usually mean that times
    /// between failures were given.
    ///
    /// # Source
    /// MIL-HDBK-189 counts cumulative time likewise (from memory).
    pub fn new(unit: AgeUnit, failures: Vec<f64>, watched: Watched) -> Result<Self, OutOfRange> {
        let mut before = 0.0;
        for &at in &failures {
            positive("time of failure", at, LONGEST_AGE)?;
            if at < before {
                return Err(OutOfRange::new(
                    "time of failure",
                    at,
                    format!("not before the one given before it, {before}: times count from first service, not from failure to failure"),
                ));
            }
            before = at;
        }
        match watched {
            Watched::Until(end) => {
                let end = positive("end of watching", end, LONGEST_AGE)?;
                if before > end {
                    let allowed = format!("at most {end}, the end of watching");
                    return Err(OutOfRange::new("time of failure", before, allowed));
                }
            }
            Watched::ToLastFailure if failures.is_empty() => {
                return Err(OutOfRange::new("number of failures", 0, "at least 1"));
            }
            Watched::ToLastFailure => {}
        }
        Ok(Self { unit, failures, watched })
    }

    fn end(&self) -> f64 {
        match self.watched {
            Watched::Until(end) => end,
            Watched::ToLastFailure => self.failures.last().copied().unwrap_or(0.0),
        }
    }

    /// The failures whose times are free to vary: all, or all but the one that ended the watching.
    fn free(&self) -> &[f64] {
        match self.watched {
            Watched::Until(_) => &self.failures,
            Watched::ToLastFailure => &self.failures[..self.failures.len().saturating_sub(1)],
        }
    }

    fn sum_ln(&self) -> f64 {
        self.free().iter().map(|at| (self.end() / at).ln()).sum()
    }
}

/// What the two tests say together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// Both tests: failures come faster with time.
    Worsening,
    /// Both tests: failures come slower with time.
    Improving,
    /// Only one test sees a trend; watch on.
    Unclear,
    /// Neither test sees a trend.
    NoneSeen,
}

/// Two tests of a constant failure rate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trend {
    /// Failures that count in the tests.
    pub failures: usize,
    /// Laplace's statistic: above 0 worsening, below 0 improving.
    pub laplace: f64,
    /// The chance of one at least as far from 0, either side, at a constant rate.
    pub laplace_chance: f64,
    /// The chi-squared statistic of the military handbook: small worsening, large improving.
    pub chi_squared: f64,
    /// Its degrees of freedom.
    pub degrees_of_freedom: usize,
    /// The chance of one at least as small at a constant rate.
    pub chance_below: f64,
    /// The chance of one at least as large at a constant rate.
    pub chance_above: f64,
    /// What the two say together at the confidence asked for.
    pub verdict: Verdict,
    /// The shown calculation.
    pub working: Working,
}

/// Tests whether failures of one or several repairable gauges come faster or slower with time.
///
/// # Formula
/// ```text
/// U  = Σ_k (Σ T_i − m_k T_k/2) / √(Σ_k m_k T_k²/12)
/// χ² = 2 Σ_k Σ ln(T_k/T_i)   with 2 Σ m_k degrees of freedom
/// ```
/// T_i times of the m failures of gauge k, watched until T_k; where the last failure ended the
/// watching it is not counted. U is close to standard normal; both tests are two-sided.
///
/// # Valid range
/// At least [`FEWEST_FOR_TREND`] failures counted, over all gauges together.
///
/// # Errors
/// [`OutOfRange`] with fewer.
///
/// # Source
/// NIST/SEMATECH e-Handbook 8.2.3.4 (from memory) for both tests; MIL-HDBK-189. Laplace's test is
/// strongest against exponential trends, the other against power laws: they may disagree.
pub fn trend(histories: &[History], confidence: Confidence) -> Result<Trend, OutOfRange> {
    let failures: usize = histories.iter().map(|h| h.free().len()).sum();
    if failures < FEWEST_FOR_TREND {
        return Err(OutOfRange::new(
            "number of failures a trend is read from",
            failures,
            format!("at least {FEWEST_FOR_TREND}"),
        ));
    }
    let (mut excess, mut variance, mut sum_ln) = (0.0, 0.0, 0.0);
    for history in histories {
        let (m, end) = (real(history.free().len()), history.end());
        excess += history.free().iter().sum::<f64>() - m * end / 2.0;
        variance += m * end * end / 12.0;
        sum_ln += history.sum_ln();
    }
    let laplace = excess / variance.sqrt();
    let laplace_chance = two_sided_tail(laplace);
    let chi_squared = 2.0 * sum_ln;
    let degrees_of_freedom = 2 * failures;
    let (chance_below, chance_above) = chi_squared_tails(chi_squared, real(degrees_of_freedom));
    let tail = 1.0 - confidence.upper_tail_point();
    let by_laplace = if laplace_chance > 2.0 * tail { 0.0 } else { laplace.signum() };
    let by_handbook = if chance_below <= tail {
        1.0
    } else if chance_above <= tail {
        -1.0
    } else {
        0.0
    };
    let sum: f64 = by_laplace + by_handbook;
    let verdict = if sum > 1.5 {
        Verdict::Worsening
    } else if sum < -1.5 {
        Verdict::Improving
    } else if by_laplace == 0.0 && by_handbook == 0.0 {
        Verdict::NoneSeen
    } else {
        Verdict::Unclear
    };
    let first = Step::new(
        "U",
        "Laplace's statistic",
        "(Σ T_i − m T/2) / (T √(m/12))",
        Source::FromMemory("NIST/SEMATECH e-Handbook 8.2.3.4".to_owned()),
    )
    .with("gauges", "histories taken together", histories.len(), Source::Entered)
    .with("m", "failures counted", failures, Source::Entered)
    .gives(format!(
        "{}; chance of as much at a constant rate {}",
        significant(laplace, 4),
        significant(laplace_chance, 3)
    ));
    let second = Step::new(
        "χ²",
        "chi-squared statistic",
        "2 Σ ln(T/T_i)",
        Source::FromMemory("MIL-HDBK-189; NIST/SEMATECH e-Handbook 8.2.3.4".to_owned()),
    )
    .with("degrees of freedom", "2m", degrees_of_freedom, Source::Arithmetic)
    .gives(format!(
        "{}; chance of as small {}, of as large {}",
        significant(chi_squared, 5),
        significant(chance_below, 3),
        significant(chance_above, 3)
    ));
    let said = match verdict {
        Verdict::Worsening => "failures come faster with time",
        Verdict::Improving => "failures come slower with time",
        Verdict::Unclear => "only one of the two tests sees a trend",
        Verdict::NoneSeen => "no trend is seen",
    };
    let third = Step::new("verdict", "both tests together", "each at (1 − confidence)/2 a side", Source::Arithmetic)
        .with("confidence", "two-sided", confidence.percent(), Source::Plant)
        .gives(said);
    Ok(Trend {
        failures,
        laplace,
        laplace_chance,
        chi_squared,
        degrees_of_freedom,
        chance_below,
        chance_above,
        verdict,
        working: Working::new("Trend of repeated failures").step(first).step(second).step(third),
    })
}

/// A power law of repeated failures: λ t^β expected by time t.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PowerLaw {
    /// Growth β by maximum likelihood: above 1 worsening, below 1 improving.
    pub growth: f64,
    /// β with its bias removed.
    pub growth_unbiased: f64,
    /// λ, failures by one unit of time.
    pub level: f64,
    /// Mean time between failures at the end of watching.
    pub mean_time_now: f64,
    /// Mean time between failures over the whole time.
    pub mean_time_so_far: f64,
    /// Two-sided bounds of β.
    pub growth_bounds: (f64, f64),
    /// Cramér-von Mises statistic of how well the power law fits: small is good.
    pub misfit: f64,
    /// The shown calculation.
    pub working: Working,
}

/// Fits the power law of Crow and AMSAA to the failures of one repairable gauge.
///
/// # Formula
/// ```text
/// β = n / Σ ln(T/T_i),  λ = n / T^β,  MTBF now = T^(1−β) / (λ β)
/// unbiased: β (n − 1)/n by time, β (n − 2)/n by failure
/// bounds of β: χ²((1 ∓ c)/2; 2m) / (2 Σ ln(T/T_i))
/// C² = 1/(12m) + Σ [(T_i/T)^β_unbiased − (2i − 1)/(2m)]²
/// ```
/// T end of watching, T_i failures, in the unit of the history; n all failures; m = n where time
/// ended the watching and n − 1 where the last failure did; c confidence.
///
/// # Valid range
/// m at least [`FEWEST_FOR_TREND`], failures not all at the end.
///
/// # Errors
/// [`OutOfRange`] otherwise.
///
/// # Source
/// MIL-HDBK-189, appendix on the AMSAA model (from memory); the formulas reproduce published
/// examples named in the tests.
pub fn power_law(history: &History, confidence: Confidence) -> Result<PowerLaw, OutOfRange> {
    let free = history.free();
    if free.len() < FEWEST_FOR_TREND {
        return Err(OutOfRange::new(
            "number of failures a trend is read from",
            free.len(),
            format!("at least {FEWEST_FOR_TREND}"),
        ));
    }
    let (n, m) = (real(history.failures.len()), real(free.len()));
    let (end, sum_ln) = (history.end(), history.sum_ln());
    if sum_ln <= 0.0 {
        return Err(OutOfRange::new("time of every failure", end, format!("less than {end} for at least one")));
    }
    let growth = n / sum_ln;
    let lost = if history.watched == Watched::ToLastFailure { 2.0 } else { 1.0 };
    let growth_unbiased = growth * (n - lost) / n;
    let level = n / end.powf(growth);
    let mean_time_now = end / (n * growth);
    let upper = confidence.upper_tail_point();
    let bound = |p: f64| chi_squared_quantile(p, 2.0 * m) / (2.0 * sum_ln);
    let growth_bounds = (bound(1.0 - upper), bound(upper));
    let mut misfit = 1.0 / (12.0 * m);
    for (i, at) in free.iter().enumerate() {
        misfit += ((at / end).powf(growth_unbiased) - (2.0 * real(i) + 1.0) / (2.0 * m)).powi(2);
    }
    let unit = history.unit.symbol();
    let source = || Source::FromMemory("MIL-HDBK-189, AMSAA model".to_owned());
    let fitted = Step::new("β", "growth of the failures", "n / Σ ln(T/T_i)", source())
        .with("n", "failures", history.failures.len(), Source::Entered)
        .with("T", "end of watching", format!("{} {unit}", significant(end, 6)), Source::Entered)
        .with("Σ ln(T/T_i)", "over the failures", significant(sum_ln, 6), Source::Arithmetic)
        .gives(format!(
            "{} ({} to {} at {})",
            significant(growth, 4),
            significant(growth_bounds.0, 4),
            significant(growth_bounds.1, 4),
            confidence.percent()
        ));
    let now = Step::new("MTBF now", "mean time between failures at the end of watching", "T / (n β)", source())
        .gives(format!("{} {unit}", significant(mean_time_now, 4)));
    Ok(PowerLaw {
        growth,
        growth_unbiased,
        level,
        mean_time_now,
        mean_time_so_far: end / n,
        growth_bounds,
        misfit,
        working: Working::new("Power law of repeated failures")
            .step(fitted)
            .step(now)
            .remark("This β describes how failures follow each other; it is not the shape of a Weibull life."),
    })
}
