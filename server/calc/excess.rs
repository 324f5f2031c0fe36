//! Whether a gauge failed more often than its service explains: the chance of so many failures by luck.
//! How many failures were to be expected is found elsewhere; whether they come faster is in `trend`.

use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::numeric::{chi_squared_tails, positive};
use super::quantity::significant;
use super::working::{Source, Step, Working};

/// How one count of failures stands against what was expected.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Excess {
    /// Failures seen for each one expected.
    pub ratio: f64,
    /// The chance of at least as many by luck alone.
    pub chance: f64,
    /// The shown calculation.
    pub working: Working,
}

/// The chance that a gauge like all others fails at least so often.
///
/// # Formula
/// ```text
/// P(N ≥ n) = P(χ² ≤ 2m; 2n),  P(N ≥ 0) = 1
/// ```
/// n failures seen; m failures expected of a gauge like all others over the same time; N Poisson
/// with mean m; χ² with 2n degrees of freedom; no units.
///
/// # Valid range
/// n at most 100 000; m above 0 and at most 10⁶.
///
/// # Errors
/// [`OutOfRange`] outside it.
///
/// # Source
/// Poisson sums as chi-squared probabilities: NIST/SEMATECH e-Handbook 8.4.5.1 rests on the same
/// relation; tables of the Poisson law.
pub fn excess(seen: u32, expected: f64) -> Result<Excess, OutOfRange> {
    if seen > 100_000 {
        return Err(OutOfRange::new("failures", seen, "at most 100000"));
    }
    let expected = positive("failures expected", expected, 1e6)?;
    let chance = if seen == 0 {
        1.0
    } else {
        chi_squared_tails(2.0 * expected, 2.0 * f64::from(seen)).0
    };
    let ratio = f64::from(seen) / expected;
    let step = Step::new(
        "P(N ≥ n)",
        "chance of at least as many failures by luck alone",
        "P(χ² ≤ 2m; 2n)",
        Source::FromMemory("Poisson sums as chi-squared probabilities".to_owned()),
    )
    .with("n", "failures seen", seen, Source::Entered)
    .with(
        "m",
        "failures expected of a gauge like all others",
        significant(expected, 4),
        Source::Arithmetic,
    )
    .gives(significant(chance, 3));
    Ok(Excess {
        ratio,
        chance,
        working: Working::new("More failures than luck explains")
            .step(step)
            .remark("Of many gauges some fail often by luck: among a hundred, one is to be expected with a chance of 0.01."),
    })
}
