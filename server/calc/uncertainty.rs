//! Putting a measurement's uncertainty together from what is known of the instrument and the readings.
//! What an uncertainty means for a limit is decided in `conformance`.

use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

use super::OutOfRange;
use super::quantity::significant;
use super::working::{Source, Step, Working};

/// Degrees of freedom from which the normal law with four corrections takes over.
const PLENTY: f64 = 500.0;

/// How one influence on a measurement is known. All values of one budget are in one unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Known {
    /// Repeated readings; what counts is the mean's own scatter.
    Readings {
        /// The readings.
        values: Vec<f64>,
    },
    /// Anything within these limits is as likely (a class of accuracy, a permissible error).
    Within {
        /// Half the width between the limits.
        half_width: f64,
    },
    /// The display or scale tells no finer than this step.
    Steps {
        /// Smallest step read.
        step: f64,
    },
    /// A certificate states an expanded uncertainty.
    Certificate {
        /// Expanded uncertainty.
        expanded: f64,
        /// Coverage factor it was stated with.
        factor: f64,
    },
    /// A standard uncertainty from elsewhere.
    Standard {
        /// One standard deviation.
        value: f64,
        /// Degrees of freedom behind it, if not known well.
        freedom: Option<f64>,
    },
}

/// One named influence.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Influence {
    /// What it is ("reading the dial").
    pub name: String,
    /// How it is known.
    pub known: Known,
}

/// A standard uncertainty with what stands behind it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Combined {
    /// Combined standard uncertainty, in the unit of the influences.
    pub standard: f64,
    /// Effective degrees of freedom; none if without bound.
    pub freedom: Option<f64>,
    /// How it was put together.
    pub working: Working,
}

/// Combines independent influences into one standard uncertainty.
///
/// # Formula
/// u = √Σuᵢ²; ν = u⁴ / Σ(uᵢ⁴/νᵢ). Readings: uᵢ = s/√n, νᵢ = n − 1; within limits ±a: a/√3; steps of
/// d: d/(2·√3); certificate: U/k.
///
/// # Symbols
/// uᵢ: standard uncertainty of one influence; νᵢ: its degrees of freedom; s: standard deviation of
/// n readings. All in one unit, each already multiplied by its effect on the result.
///
/// # Valid range
/// 1 to 100 influences, independent of each other; at least two readings where readings are given;
/// no negative value; coverage factors above 0; not all influences zero.
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// JCGM 100:2008 (GUM) clauses 4.2, 4.3 and 5.1.2, and G.4.1 (Welch-Satterthwaite).
pub fn combine(influences: &[Influence]) -> Result<Combined, OutOfRange> {
    if influences.is_empty() || influences.len() > 100 {
        return Err(OutOfRange::new("influences", influences.len(), "1 to 100"));
    }
    let mut working = Working::new("Standard uncertainty");
    let (mut squares, mut shared) = (0.0, 0.0);
    for influence in influences {
        let (u, freedom, formula) = standard(&influence.known)?;
        squares += u * u;
        shared += freedom.map_or(0.0, |nu| u.powi(4) / nu);
        working = working.step(
            Step::new(
                "uᵢ",
                influence.name.clone(),
                formula,
                Source::published("JCGM 100:2008, clause 4"),
            )
            .gives(significant(u, 4)),
        );
    }
    if !(squares > 0.0 && squares.is_finite()) {
        return Err(OutOfRange::new(
            "combined uncertainty",
            squares.sqrt(),
            "greater than 0",
        ));
    }
    let freedom = (shared > 0.0).then(|| squares * squares / shared);
    let last = Step::new(
        "u",
        "combined standard uncertainty",
        "√Σuᵢ²",
        Source::published("JCGM 100:2008, clause 5.1.2"),
    )
    .with(
        "ν",
        "effective degrees of freedom",
        freedom.map_or_else(|| "without bound".to_owned(), |nu| significant(nu, 4)),
        Source::Arithmetic,
    )
    .gives(significant(squares.sqrt(), 4));
    Ok(Combined {
        standard: squares.sqrt(),
        freedom,
        working: working.step(last),
    })
}

/// The factor that widens a standard uncertainty to a two-sided level of confidence.
///
/// # Formula
/// k = tₚ(⌊ν⌋), the two-sided quantile of Student's distribution; that of the normal distribution
/// where ν has no bound. Degrees of freedom are cut down to a whole number, which is the safe side.
///
/// # Symbols
/// p: level of confidence; ν: effective degrees of freedom.
///
/// # Valid range
/// p above 0 and below 1; ν at least 1.
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// JCGM 100:2008 clauses G.3, G.4 and table G.2; from 500 degrees of freedom on Abramowitz and Stegun,
/// 26.7.5.
pub fn coverage_factor(level: f64, freedom: Option<f64>) -> Result<f64, OutOfRange> {
    if !(level > 0.0 && level < 1.0) {
        return Err(OutOfRange::new(
            "level of confidence",
            level,
            "above 0 and below 1",
        ));
    }
    let upper = level.midpoint(1.0);
    let Some(freedom) = freedom else {
        return Ok(Normal::standard().inverse_cdf(upper));
    };
    let refuse = || OutOfRange::new("degrees of freedom", freedom, "at least 1");
    if freedom.is_nan() || freedom < 1.0 {
        return Err(refuse());
    }
    let freedom = freedom.floor();
    if freedom >= PLENTY {
        // Student's law runs into the normal one; the first terms of the series (Abramowitz and
        // Stegun, 26.7.5) are exact to the last digits here, where the library subtracts two numbers
        // almost alike and falls below the normal factor.
        let z = Normal::standard().inverse_cdf(upper);
        let first = (z.powi(3) + z) / 4.0;
        let second = (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / 96.0;
        let third = (3.0 * z.powi(7) + 19.0 * z.powi(5) + 17.0 * z.powi(3) - 15.0 * z) / 384.0;
        let fourth = (79.0 * z.powi(9) + 776.0 * z.powi(7) + 1482.0 * z.powi(5)
            - 1920.0 * z.powi(3)
            - 945.0 * z)
            / 92_160.0;
        let over = 1.0 / freedom;
        return Ok(z + over * (first + over * (second + over * (third + over * fourth))));
    }
    let student = StudentsT::new(0.0, 1.0, freedom).map_err(|_| refuse())?;
    Ok(student.inverse_cdf(upper))
}

fn standard(known: &Known) -> Result<(f64, Option<f64>, &'static str), OutOfRange> {
    let not_negative = |name: &'static str, value: f64| {
        if value >= 0.0 && value.is_finite() {
            Ok(value)
        } else {
            Err(OutOfRange::new(name, value, "0 or more"))
        }
    };
    match known {
        Known::Readings { values } => {
            let scatter = scatter_of_mean(values)?;
            Ok((scatter.0, Some(scatter.1), "s/√n"))
        }
        Known::Within { half_width } => Ok((
            not_negative("half width", *half_width)? / 3.0_f64.sqrt(),
            None,
            "a/√3",
        )),
        Known::Steps { step } => Ok((
            not_negative("step", *step)? / 12.0_f64.sqrt(),
            None,
            "d/(2·√3)",
        )),
        Known::Certificate { expanded, factor } => {
            let expanded = not_negative("expanded uncertainty", *expanded)?;
            if !(*factor > 0.0 && factor.is_finite()) {
                return Err(OutOfRange::new("coverage factor", factor, "greater than 0"));
            }
            Ok((expanded / factor, None, "U/k"))
        }
        Known::Standard { value, freedom } => {
            if freedom.is_some_and(|nu| nu.is_nan() || nu <= 0.0) {
                return Err(OutOfRange::new(
                    "degrees of freedom",
                    freedom.unwrap_or(0.0),
                    "greater than 0",
                ));
            }
            Ok((
                not_negative("standard uncertainty", *value)?,
                *freedom,
                "as given",
            ))
        }
    }
}

/// Standard deviation of the mean of some readings, and its degrees of freedom.
fn scatter_of_mean(values: &[f64]) -> Result<(f64, f64), OutOfRange> {
    if values.len() < 2 || values.len() > 1_000 {
        return Err(OutOfRange::new(
            "number of readings",
            values.len(),
            "2 to 1000",
        ));
    }
    if let Some(bad) = values.iter().find(|value| !value.is_finite()) {
        return Err(OutOfRange::new("reading", bad, "a finite number"));
    }
    #[expect(clippy::cast_precision_loss, reason = "at most a thousand readings")]
    let n = values.len() as f64;
    let mean = values.iter().map(|value| value / n).sum::<f64>();
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    Ok(((squares / (n - 1.0) / n).sqrt(), n - 1.0))
}
