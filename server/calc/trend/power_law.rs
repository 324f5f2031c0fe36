//! The power law that repeated failures of one gauge follow when they come faster or slower with time.
//! Whether they do is tested in `verdict`.

use serde::Serialize;

use super::{History, Watched, enough};
use crate::calc::OutOfRange;
use crate::calc::life::Confidence;
use crate::calc::numeric::{chi_squared_quantile, real};
use crate::calc::quantity::significant;
use crate::calc::working::{Source, Step, Working};

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
/// T end of watching, `T_i` failures, in the unit of the history; n all failures; m = n where time
/// ended the watching and n − 1 where the last failure did; c confidence.
///
/// # Valid range
/// m at least [`super::FEWEST_FOR_TREND`], failures not all at the end.
///
/// # Errors
/// [`OutOfRange`] otherwise.
///
/// # Source
/// MIL-HDBK-189, appendix on the AMSAA model (from memory); the formulas reproduce published
/// examples named in the tests.
pub fn power_law(history: &History, confidence: Confidence) -> Result<PowerLaw, OutOfRange> {
    let free = history.free();
    enough(free.len())?;
    let (n, m) = (real(history.failures.len()), real(free.len()));
    let (end, sum_ln) = (history.end(), history.sum_ln());
    if sum_ln <= 0.0 {
        return Err(OutOfRange::new(
            "time of every failure",
            end,
            format!("less than {end} for at least one"),
        ));
    }
    let growth = n / sum_ln;
    let lost = if history.watched == Watched::ToLastFailure {
        2.0
    } else {
        1.0
    };
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
        .with(
            "T",
            "end of watching",
            format!("{} {unit}", significant(end, 6)),
            Source::Entered,
        )
        .with(
            "Σ ln(T/T_i)",
            "over the failures",
            significant(sum_ln, 6),
            Source::Arithmetic,
        )
        .gives(format!(
            "{} ({} to {} at {})",
            significant(growth, 4),
            significant(growth_bounds.0, 4),
            significant(growth_bounds.1, 4),
            confidence.percent()
        ));
    let now = Step::new(
        "MTBF now",
        "mean time between failures at the end of watching",
        "T / (n β)",
        source(),
    )
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
