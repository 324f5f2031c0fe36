//! The life drawn from few failures: the shape is assumed, only the characteristic life is found.
//! Which of the two fits a set of lives allows is decided here as well.

use serde::Serialize;

use super::likelihood::Likelihood;
use super::{Fit, fit};
use crate::calc::OutOfRange;
use crate::calc::life::{Confidence, FLATTEST, Life, LifeData, LifeError, STEEPEST};
use crate::calc::numeric::{chi_squared_quantile, real};
use crate::calc::quantity::significant;
use crate::calc::working::{Source, Step, Working};

/// A Weibull shape that is taken as known, from like gauges or from experience.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct AssumedShape(f64);

impl AssumedShape {
    /// The shape assumed where nobody says another: failures that come with wear, common practice,
    /// no source.
    pub const USUAL: Self = Self(2.0);

    /// An assumed shape β.
    ///
    /// # Valid range
    /// 0.1 to 100.
    ///
    /// # Errors
    /// [`OutOfRange`] outside it.
    ///
    /// # Source
    /// The range is our own, that of [`Life`].
    pub fn new(shape: f64) -> Result<Self, OutOfRange> {
        if (FLATTEST..=STEEPEST).contains(&shape) {
            Ok(Self(shape))
        } else {
            Err(OutOfRange::new(
                "assumed Weibull shape β",
                shape,
                "from 0.1 to 100",
            ))
        }
    }
}

/// What an assumed shape lets the data say about the characteristic life.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OneParameter {
    /// The life of highest likelihood; `None` without any failure.
    pub life: Option<Life>,
    /// The life whose characteristic life is the one-sided lower bound.
    pub at_least: Life,
    /// How many of the lives ended in a failure.
    pub failures: usize,
    /// How many lives there are.
    pub lives: usize,
    /// The confidence of the lower bound.
    pub confidence: Confidence,
    /// The shown calculation.
    pub working: Working,
}

/// Finds the characteristic life under an assumed shape, and its one-sided lower bound.
///
/// # Formula
/// ```text
/// η̂ = (Σ t^β / r)^(1/β)
/// η_L = (2 Σ t^β / χ²(confidence; 2r + 2))^(1/β)
/// ```
/// t every age watched (a life watched from a later age s counts t^β − s^β), r number of
/// failures, β assumed, no unit; η in the unit of the data. With r = 0 there is no η̂ and
/// χ²(c; 2) = −2 ln(1 − c). Failures found between two looks enter η̂ by their likelihood; in `η_L`
/// they count as watched only while they were seen good, which keeps the bound on the safe side.
///
/// # Valid range
/// Any number of failures, also none; some watched time.
///
/// # Errors
/// [`LifeError::OutOfRange`] without watched time, or for a result beyond 10⁹;
/// [`LifeError::ShapeNotFixed`] when every life was found failed at its first look.
///
/// # Source
/// IEC 61649:2008, one-parameter analysis with known shape (from memory); the bound is the exact
/// one for the exponential law (NIST/SEMATECH e-Handbook 8.4.5.1) in t^β.
pub fn fit_scale(
    data: &LifeData,
    shape: AssumedShape,
    confidence: Confidence,
) -> Result<OneParameter, LifeError> {
    let AssumedShape(beta) = shape;
    let (failures, lives) = (data.failures(), data.observations().len());
    let likelihood = Likelihood::new(data);
    let exposure = likelihood.exposure(beta);
    if exposure <= 0.0 {
        let nothing = OutOfRange::new("age watched without failure", 0, "greater than 0");
        return Err(nothing.into());
    }
    let life_at = |ln_place: f64| {
        Life::new(
            beta,
            (likelihood.origin() + ln_place / beta).exp(),
            data.unit(),
        )
    };
    let quantile = chi_squared_quantile(confidence.level(), 2.0 * real(failures) + 2.0);
    let at_least = life_at((2.0 * exposure / quantile).ln())?;
    let life = if failures == 0 {
        None
    } else {
        let (place, height) = likelihood.best_place(beta, (exposure / real(failures)).ln());
        if !height.is_finite() || place.abs() > 600.0 {
            return Err(LifeError::ShapeNotFixed);
        }
        Some(life_at(place)?)
    };
    let unit = data.unit().symbol();
    let sum = exposure * (likelihood.origin() * beta).exp();
    let estimate = Step::new(
        "η",
        "characteristic life of highest likelihood under the assumed shape",
        "(Σ t^β / r)^(1/β)",
        Source::FromMemory("IEC 61649:2008, known shape".to_owned()),
    )
    .with("β", "assumed shape", significant(beta, 5), Source::Entered)
    .with("r", "failures", failures, Source::Entered)
    .with(
        "Σ t^β",
        "watched ages to the power β",
        significant(sum, 6),
        Source::Arithmetic,
    )
    .gives(life.map_or("none: no failure yet".to_owned(), |life| {
        format!("{} {unit}", significant(life.scale(), 5))
    }));
    let bound = Step::new(
        "η_L",
        "lower bound of the characteristic life",
        "(2 Σ t^β / χ²(confidence; 2r + 2))^(1/β)",
        Source::published("NIST/SEMATECH e-Handbook 8.4.5.1, in t^β"),
    )
    .with(
        "confidence",
        "one-sided",
        confidence.percent(),
        Source::Plant,
    )
    .with(
        "χ²",
        "chi-squared quantile",
        significant(quantile, 6),
        Source::Arithmetic,
    )
    .gives(format!("{} {unit}", significant(at_least.scale(), 5)));
    Ok(OneParameter {
        life,
        at_least,
        failures,
        lives,
        confidence,
        working: Working::new("Characteristic life under an assumed shape")
            .step(estimate)
            .step(bound)
            .remark("The shape is assumed, not found; another shape gives another life."),
    })
}

/// What a set of lives allows: a curve, or only a bound.
#[derive(Debug, Clone, PartialEq)]
pub enum Assessment {
    /// Enough failures, well spread: a fitted curve.
    Curve(Fit),
    /// No curve can be drawn; a bound under an assumed shape is what remains.
    BoundOnly {
        /// Why there is no curve.
        because: LifeError,
        /// The bound.
        bound: OneParameter,
    },
}

/// Fits a curve where the lives allow one, and otherwise gives the bound under an assumed shape.
///
/// # Formula
/// [`fit`], and where it refuses [`fit_scale`].
///
/// # Valid range
/// As the two.
///
/// # Errors
/// [`LifeError`] when not even the bound can be given.
///
/// # Source
/// Fewer than three failures give no curve: common practice, no source.
pub fn assess(
    data: &LifeData,
    shape: AssumedShape,
    confidence: Confidence,
) -> Result<Assessment, LifeError> {
    match fit(data) {
        Ok(curve) => Ok(Assessment::Curve(curve)),
        Err(because) => Ok(Assessment::BoundOnly {
            because,
            bound: fit_scale(data, shape, confidence)?,
        }),
    }
}
