//! Two tests of whether failures come faster or slower with time, and what they say together.
//! The curve such failures follow is fitted in `power_law`.

use serde::{Deserialize, Serialize};

use super::{History, enough};
use crate::calc::OutOfRange;
use crate::calc::life::Confidence;
use crate::calc::numeric::{chi_squared_tails, real, two_sided_tail};
use crate::calc::quantity::significant;
use crate::calc::working::{Source, Step, Working};

/// What the two tests say together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
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
/// `T_i` times of the m failures of gauge k, watched until `T_k`; where the last failure ended the
/// watching it is not counted. U is close to standard normal; both tests are two-sided.
///
/// # Valid range
/// At least [`super::FEWEST_FOR_TREND`] failures counted, over all gauges together.
///
/// # Errors
/// [`OutOfRange`] with fewer.
///
/// # Source
/// NIST/SEMATECH e-Handbook 8.2.3.4 (from memory) for both tests; MIL-HDBK-189. Laplace's test is
/// strongest against exponential trends, the other against power laws: they may disagree.
pub fn trend(histories: &[History], confidence: Confidence) -> Result<Trend, OutOfRange> {
    let failures: usize = histories.iter().map(|h| h.free().len()).sum();
    enough(failures)?;
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
    let mut found = Trend {
        failures,
        laplace,
        laplace_chance,
        chi_squared,
        degrees_of_freedom,
        chance_below,
        chance_above,
        verdict: Verdict::NoneSeen,
        working: Working::new("Trend of repeated failures"),
    };
    found.verdict = verdict(&found, 1.0 - confidence.upper_tail_point());
    found.working = shown(&found, histories.len(), confidence);
    Ok(found)
}

/// Both tests two-sided, with this chance on each side.
fn verdict(found: &Trend, tail: f64) -> Verdict {
    let by_laplace = (found.laplace_chance <= 2.0 * tail).then_some(found.laplace > 0.0);
    let by_handbook = if found.chance_below <= tail {
        Some(true)
    } else {
        (found.chance_above <= tail).then_some(false)
    };
    match (by_laplace, by_handbook) {
        (None, None) => Verdict::NoneSeen,
        (Some(true), Some(true)) => Verdict::Worsening,
        (Some(false), Some(false)) => Verdict::Improving,
        _ => Verdict::Unclear,
    }
}

fn shown(found: &Trend, gauges: usize, confidence: Confidence) -> Working {
    let laplace = Step::new(
        "U",
        "Laplace's statistic",
        "(Σ T_i − m T/2) / (T √(m/12))",
        Source::FromMemory("NIST/SEMATECH e-Handbook 8.2.3.4".to_owned()),
    )
    .with(
        "gauges",
        "histories taken together",
        gauges,
        Source::Entered,
    )
    .with("m", "failures counted", found.failures, Source::Entered)
    .gives(format!(
        "{}; chance of as much at a constant rate {}",
        significant(found.laplace, 4),
        significant(found.laplace_chance, 3)
    ));
    let handbook = Step::new(
        "χ²",
        "chi-squared statistic",
        "2 Σ ln(T/T_i)",
        Source::FromMemory("MIL-HDBK-189; NIST/SEMATECH e-Handbook 8.2.3.4".to_owned()),
    )
    .with(
        "degrees of freedom",
        "2m",
        found.degrees_of_freedom,
        Source::Arithmetic,
    )
    .gives(format!(
        "{}; chance of as small {}, of as large {}",
        significant(found.chi_squared, 5),
        significant(found.chance_below, 3),
        significant(found.chance_above, 3)
    ));
    let said = match found.verdict {
        Verdict::Worsening => "failures come faster with time",
        Verdict::Improving => "failures come slower with time",
        Verdict::Unclear => "only one of the two tests sees a trend",
        Verdict::NoneSeen => "no trend is seen",
    };
    let together = Step::new(
        "verdict",
        "both tests together",
        "each at (1 − confidence)/2 a side",
        Source::Arithmetic,
    )
    .with(
        "confidence",
        "two-sided",
        confidence.percent(),
        Source::Plant,
    )
    .gives(said);
    Working::new("Trend of repeated failures")
        .step(laplace)
        .step(handbook)
        .step(together)
}
