//! The two-parameter Weibull life fitted by maximum likelihood, with bounds from its curvature.
//! Likelihood-ratio bounds, the one-parameter fit and the choice between them are in the parts below.

mod bounds;
mod likelihood;
mod one_parameter;

pub use bounds::{Bounded, BoundsFrom, Of, curvature_bounds, likelihood_bounds};
pub use one_parameter::{Assessment, AssumedShape, OneParameter, assess, fit_scale};

use serde::Serialize;

use super::life::{Life, LifeData, LifeError, Seen};
use super::quantity::significant;
use super::working::{Source, Step, Working};
use likelihood::{Likelihood, Peak, Slopes};

/// The fewest failures a curve is drawn from.
pub const FEWEST_FAILURES: usize = 3;

/// A fitted Weibull life.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Fit {
    /// The life with the fitted shape and characteristic life.
    pub life: Life,
    /// How many of the lives ended in a failure.
    pub failures: usize,
    /// How many lives there are.
    pub lives: usize,
    /// The log-likelihood at the maximum.
    pub log_likelihood: f64,
    /// How uncertain the parameters are, and together.
    pub spread: Spread,
    /// The shown calculation.
    pub working: Working,
}

/// Variances and covariance of μ = ln η and λ = ln σ = −ln β, from the curvature at the maximum.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    /// Variance of ln η.
    pub ln_scale: f64,
    /// Variance of ln σ, which is that of ln β.
    pub ln_sigma: f64,
    /// Covariance of ln η and ln σ.
    pub both: f64,
}

/// Fits shape β and characteristic life η to gauge lives by maximum likelihood.
///
/// # Formula
/// The log-likelihood, maximised over β and η:
/// ```text
/// ℓ = Σ failed  [ln β − β ln η + (β − 1) ln t − (t/η)^β]
///   − Σ good    (t/η)^β
///   + Σ found   ln(exp(−(a/η)^β) − exp(−(b/η)^β))
///   + Σ all     (s/η)^β
/// ```
/// t age at failure or last seen good; a last seen good (0 if never) and b found failed; s age at
/// which the records begin, all in the unit of the data; β without unit, η in that unit. Bounds
/// rest on the inverse of the matrix of second derivatives at the maximum ([`Spread`]).
///
/// # Valid range
/// At least [`FEWEST_FAILURES`] failures, and ages that fix a shape between 0.1 and 100.
///
/// # Errors
/// [`LifeError::TooFewFailures`]; [`LifeError::AllAtOneAge`] when the best curve is endlessly
/// steep; [`LifeError::ShapeNotFixed`] when the ages do not tell how failures spread;
/// [`LifeError::OutOfRange`] when the characteristic life lies beyond 10⁹.
///
/// # Source
/// IEC 61649:2008 clause on maximum likelihood (from memory); NIST/SEMATECH e-Handbook 8.4.1.3
/// (worked example: η = 606.5280, β = 1.7208).
pub fn fit(data: &LifeData) -> Result<Fit, LifeError> {
    let (failures, lives) = (data.failures(), data.observations().len());
    if failures < FEWEST_FAILURES {
        return Err(LifeError::TooFewFailures {
            failures,
            units: lives,
            needed: FEWEST_FAILURES,
        });
    }
    let likelihood = Likelihood::new(data);
    let peak = likelihood.peak()?;
    let scale = (likelihood.origin() + peak.place / peak.shape).exp();
    let life = Life::new(peak.shape, scale, data.unit())?;
    let log_likelihood = peak.slopes.value;
    Ok(Fit {
        life,
        failures,
        lives,
        log_likelihood,
        spread: spread(peak),
        working: shown(data, life, log_likelihood),
    })
}

/// Inverts the curvature in (β, ν) and carries it over to (ln η, ln σ).
fn spread(peak: Peak) -> Spread {
    let Peak {
        shape,
        place,
        slopes,
    } = peak;
    let Slopes {
        shape_shape: a,
        shape_place: b,
        place_place: c,
        ..
    } = slopes;
    let det = a * c - b * b;
    let (v_shape, v_both, v_place) = (-c / det, b / det, -a / det);
    // μ − o = ν/β and λ = −ln β.
    let (mu_shape, mu_place) = (-place / (shape * shape), 1.0 / shape);
    let sigma_shape = -1.0 / shape;
    Spread {
        ln_scale: mu_shape * mu_shape * v_shape
            + 2.0 * mu_shape * mu_place * v_both
            + mu_place * mu_place * v_place,
        ln_sigma: sigma_shape * sigma_shape * v_shape,
        both: sigma_shape * (mu_shape * v_shape + mu_place * v_both),
    }
}

fn shown(data: &LifeData, life: Life, log_likelihood: f64) -> Working {
    let unit = data.unit().symbol();
    let count = |wanted: fn(&Seen) -> bool| {
        let matching = data.observations().iter().filter(|o| wanted(&o.seen));
        matching.count()
    };
    let step = Step::new(
        "β, η",
        "shape and characteristic life of highest likelihood",
        "maximum of ℓ(β, η)",
        Source::published("NIST/SEMATECH e-Handbook 8.4.1.3"),
    )
    .with(
        "n₁",
        "failures with their exact age",
        count(|s| matches!(s, Seen::Failed { .. })),
        Source::Entered,
    )
    .with(
        "n₂",
        "lives still good when last seen, or rebuilt before failing",
        count(|s| matches!(s, Seen::Good { .. })),
        Source::Entered,
    )
    .with(
        "n₃",
        "failures found between two looks",
        count(|s| matches!(s, Seen::FoundFailed { .. })),
        Source::Entered,
    )
    .gives(format!(
        "β = {}, η = {} {unit}",
        significant(life.shape(), 5),
        significant(life.scale(), 5)
    ));
    let height = Step::new(
        "ℓ",
        "log-likelihood at the maximum",
        "ℓ(β, η)",
        Source::Arithmetic,
    )
    .gives(significant(log_likelihood, 7));
    let mean = Step::new(
        "mean",
        "mean life",
        "η Γ(1 + 1/β)",
        Source::FromMemory("NIST/SEMATECH e-Handbook 8.1.6.2".to_owned()),
    )
    .gives(format!("{} {unit}", significant(life.mean(), 5)));
    let mut working = Working::new("Weibull life of highest likelihood")
        .step(step)
        .step(height)
        .step(mean)
        .remark("A gauge rebuilt before it failed counts as good until that age, not as failed.");
    if life.shape() < 1.0 {
        working = working.remark(
            "A shape below 1 means early failures: look at fitting and tightening before shortening the interval.",
        );
    }
    working
}
