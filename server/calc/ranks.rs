//! Median ranks, adjusted ranks of censored lives, and the Weibull line drawn through them.
//! It stands beside the likelihood fit of `weibull` as a check of the eye; bounds belong there.

use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::life::{Life, LifeData, LifeError, STEEPEST, Seen};
use super::numeric::{beta_median, real};
use super::quantity::significant;
use super::weibull::FEWEST_FAILURES;
use super::working::{Source, Step, Working};

/// How the share failed is estimated from a rank.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RankEstimate {
    /// The median of the rank's beta law.
    Exact,
    /// Bernard's approximation (i − 0.3)/(n + 0.4).
    Bernard,
}

/// Which deviations the line makes smallest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LeastSquaresIn {
    /// Deviations in the logarithm of age: the usual choice, for the age is what scatters.
    Age,
    /// Deviations in the plotted share failed.
    Share,
}

/// A failure with its place among all lives.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RankedFailure {
    /// Age at failure.
    pub at: f64,
    /// Rank among all lives, raised for the censored ones before it.
    pub rank: f64,
    /// Estimated share failed by this age.
    pub share: f64,
}

/// A Weibull line through ranked failures.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RankFit {
    /// The life the line stands for.
    pub life: Life,
    /// Squared correlation of the points.
    pub r_squared: f64,
    /// The points, by age.
    pub points: Vec<RankedFailure>,
    /// The shown calculation.
    pub working: Working,
}

/// The median share failed at rank i of n.
///
/// # Formula
/// ```text
/// exact:   median of Beta(i, n − i + 1)
/// Bernard: (i − 0.3) / (n + 0.4)
/// ```
/// i rank, whole or adjusted; n number of lives; both without unit.
///
/// # Valid range
/// 1 ≤ i ≤ n ≤ 10⁶.
///
/// # Errors
/// [`OutOfRange`] outside it.
///
/// # Source
/// IEC 61649:2008, median rank regression (from memory); Bernard and Bos-Levenbach, Statistica
/// Neerlandica 7 (1953) (from memory).
pub fn median_rank(rank: f64, lives: u32, estimate: RankEstimate) -> Result<f64, OutOfRange> {
    if !(1..=1_000_000).contains(&lives) {
        return Err(OutOfRange::new(
            "number of gauge lives",
            lives,
            "from 1 to 1000000",
        ));
    }
    let n = f64::from(lives);
    if !(1.0..=n).contains(&rank) {
        return Err(OutOfRange::new("rank", rank, format!("from 1 to {lives}")));
    }
    Ok(match estimate {
        RankEstimate::Exact => beta_median(rank, n - rank + 1.0),
        RankEstimate::Bernard => (rank - 0.3) / (n + 0.4),
    })
}

/// Ranks the failures among all lives, allowing for those rebuilt or still good in between.
///
/// # Formula
/// ```text
/// i_j = i_(j−1) + (n + 1 − i_(j−1)) / (1 + k_j)
/// ```
/// i adjusted rank; n lives; k lives from this failure on, itself included. At equal ages failures
/// come first. Shares follow from [`median_rank`].
///
/// # Valid range
/// At least one failure, every failure with its exact age, every life seen from age 0.
///
/// # Errors
/// [`LifeError::TooFewFailures`], [`LifeError::FoundBetweenLooks`], [`LifeError::SeenLate`].
///
/// # Source
/// IEC 61649:2008, adjusted ranks for suspended data (from memory); L. G. Johnson, The
/// Statistical Treatment of Fatigue Experiments (1964) (from memory).
pub fn adjusted_ranks(
    data: &LifeData,
    estimate: RankEstimate,
) -> Result<Vec<RankedFailure>, LifeError> {
    let lives = data.observations().len();
    let mut ends = Vec::with_capacity(lives);
    for observation in data.observations() {
        if observation.since > 0.0 {
            return Err(LifeError::SeenLate);
        }
        ends.push(match observation.seen {
            Seen::Failed { at } => (at, false),
            Seen::Good { until } => (until, true),
            Seen::FoundFailed { .. } => return Err(LifeError::FoundBetweenLooks),
        });
    }
    if data.failures() == 0 {
        return Err(LifeError::TooFewFailures {
            failures: 0,
            units: lives,
            needed: 1,
        });
    }
    ends.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let count = u32::try_from(lives)
        .map_err(|_| OutOfRange::new("number of gauge lives", lives, "from 1 to 1000000"))?;
    let mut rank = 0.0;
    let mut ranked = Vec::with_capacity(data.failures());
    for (before, &(at, good)) in ends.iter().enumerate() {
        if good {
            continue;
        }
        rank += (real(lives) + 1.0 - rank) / (1.0 + real(lives - before));
        // Without censoring the ranks are whole; sums of thirds must not pass n by a rounding.
        rank = rank.min(real(lives));
        ranked.push(RankedFailure {
            at,
            rank,
            share: median_rank(rank, count, estimate)?,
        });
    }
    Ok(ranked)
}

/// Draws the Weibull line through the ranked failures by least squares.
///
/// # Formula
/// With x = ln t, y = ln(−ln(1 − F)) and sums of squares about the means:
/// ```text
/// least squares in age:   β = S_yy / S_xy
/// least squares in share: β = S_xy / S_xx
/// η = exp(x̄ − ȳ/β),  r² = S_xy² / (S_xx S_yy)
/// ```
/// t age at failure and η in the unit of the data; F share failed, β and r² without unit.
///
/// # Valid range
/// At least three failures at two or more ages; otherwise as [`adjusted_ranks`].
///
/// # Errors
/// As [`adjusted_ranks`], and [`LifeError::AllAtOneAge`].
///
/// # Source
/// IEC 61649:2008, median rank regression (from memory). Bounds from regression formulas would
/// not hold, because the points are not independent; so none are given.
pub fn rank_regression(
    data: &LifeData,
    estimate: RankEstimate,
    least: LeastSquaresIn,
) -> Result<RankFit, LifeError> {
    let points = adjusted_ranks(data, estimate)?;
    if points.len() < FEWEST_FAILURES {
        return Err(LifeError::TooFewFailures {
            failures: points.len(),
            units: data.observations().len(),
            needed: FEWEST_FAILURES,
        });
    }
    let plotted = points
        .iter()
        .map(|p| (p.at.ln(), (-(-p.share).ln_1p()).ln()));
    let n = real(points.len());
    let (x_sum, y_sum) = plotted
        .clone()
        .fold((0.0, 0.0), |sum, (x, y)| (sum.0 + x, sum.1 + y));
    let (x_mean, y_mean) = (x_sum / n, y_sum / n);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (x, y) in plotted {
        xx += (x - x_mean) * (x - x_mean);
        xy += (x - x_mean) * (y - y_mean);
        yy += (y - y_mean) * (y - y_mean);
    }
    if xx <= 1e-20 {
        return Err(LifeError::AllAtOneAge);
    }
    let shape = match least {
        LeastSquaresIn::Age => yy / xy,
        LeastSquaresIn::Share => xy / xx,
    };
    if shape > STEEPEST {
        return Err(LifeError::AllAtOneAge);
    }
    let life = Life::new(shape, (x_mean - y_mean / shape).exp(), data.unit())?;
    let r_squared = xy * xy / (xx * yy);
    let unit = data.unit().symbol();
    let ranks = match estimate {
        RankEstimate::Exact => "median of Beta(i, n − i + 1)",
        RankEstimate::Bernard => "(i − 0.3)/(n + 0.4)",
    };
    let slope = match least {
        LeastSquaresIn::Age => "β = S_yy/S_xy, η = exp(x̄ − ȳ/β)",
        LeastSquaresIn::Share => "β = S_xy/S_xx, η = exp(x̄ − ȳ/β)",
    };
    let source = || Source::FromMemory("IEC 61649:2008, median rank regression".to_owned());
    let shares = Step::new("F", "share failed at each failure", ranks, source())
        .with(
            "n",
            "gauge lives",
            data.observations().len(),
            Source::Entered,
        )
        .with("r", "failures", points.len(), Source::Entered)
        .gives(format!(
            "{} to {}",
            significant(points[0].share, 4),
            significant(points[points.len() - 1].share, 4)
        ));
    let through = Step::new(
        "β, η",
        "line of least squares through the failures",
        slope,
        source(),
    )
    .with(
        "r²",
        "squared correlation of the points",
        significant(r_squared, 4),
        Source::Arithmetic,
    )
    .gives(format!(
        "β = {}, η = {} {unit}",
        significant(shape, 5),
        significant(life.scale(), 5)
    ));
    Ok(RankFit {
        life,
        r_squared,
        points,
        working: Working::new("Weibull line through median ranks")
            .step(shares)
            .step(through)
            .remark("A check beside the likelihood fit, which is the one to act on; no bounds follow from this line."),
    })
}
