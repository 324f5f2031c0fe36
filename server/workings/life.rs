//! How long gauges last: Weibull lives, survival without a law, mean time between failures.
//! The methods are in `calc::weibull`, `ranks` and `survival`; a gauge that fails again is in `repair`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::pressure::steps;
use super::registry::{Computation, Found, No, Part, computation};
use super::typed::Measure;
use crate::calc::life::{AgeUnit, Confidence, Life, LifeData, Observation, Seen};
use crate::calc::quantity::significant;
use crate::calc::ranks::{LeastSquaresIn, RankEstimate, median_rank as rank_of, rank_regression};
use crate::calc::survival::{BoundsOn, Ended, Exposure, kaplan_meier, mean_time_between_failures};
use crate::calc::weibull::{AssumedShape, Bounded, Of, fit, fit_scale, likelihood_bounds};
use crate::calc::working::{Source, Step};

pub(super) fn list() -> Vec<Computation> {
    vec![
        computation(
            (
                "weibull",
                "A Weibull life from failures and gauges still good, with bounds",
            ),
            (Part::Life, &[]),
            r#"{"unit": "hours", "lives": [{"age": 54}, {"age": 187}, {"age": 216}, {"age": 240}, {"age": 244}, {"age": 335}, {"age": 361}, {"age": 373}, {"age": 375}, {"age": 386}, {"age": 500, "ended": "good", "times": 10}], "confidence": 0.9}"#,
            weibull,
        ),
        computation(
            (
                "weibull-line",
                "A Weibull line through median ranks, beside the likelihood fit",
            ),
            (Part::Life, &[]),
            r#"{"unit": "hours", "lives": [{"age": 54}, {"age": 187}, {"age": 216}, {"age": 240}, {"age": 500, "ended": "good", "times": 3}], "ranks": "exact", "least_squares_in": "age"}"#,
            line,
        ),
        computation(
            (
                "assumed-shape",
                "The characteristic life for an assumed shape, where failures are few",
            ),
            (Part::Life, &[]),
            r#"{"unit": "months", "lives": [{"age": 31}, {"age": 40, "ended": "good", "times": 12}], "shape": 2, "confidence": 0.9}"#,
            assumed,
        ),
        computation(
            (
                "survival",
                "The share of gauges still good at each age, without assuming a law",
            ),
            (Part::Life, &[]),
            r#"{"unit": "months", "lives": [{"age": 12}, {"age": 20}, {"age": 20, "ended": "good"}, {"age": 33}, {"age": 48, "ended": "good", "times": 4}], "confidence": 0.9, "bounds_on": "log-log"}"#,
            survival,
        ),
        computation(
            ("mean-time", "The mean time between failures with bounds"),
            (Part::Life, &[]),
            r#"{"time": 1600, "unit": "hours", "failures": 2, "ended": "by-time", "confidence": 0.9}"#,
            mean_time,
        ),
        computation(
            ("median-rank", "The share failed that a rank stands for"),
            (Part::Life, &[]),
            r#"{"rank": 1, "lives": 10, "estimate": "exact"}"#,
            median_rank,
        ),
    ]
}

/// How a life ended, as far as it was seen.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum End {
    /// Failed at this age.
    #[default]
    Failed,
    /// Still good at this age, or rebuilt before it failed.
    Good,
    /// Found failed at this age, last seen good at the earlier one.
    Found,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct OneLife {
    /// Age.
    #[schemars(extend("x-named" = ["age at failure", "age when last seen good", "age when it was found failed", "age when found failed"]))]
    age: f64,
    /// Ended.
    ///
    /// Failed where left out.
    #[serde(default)]
    ended: End,
    /// Times.
    ///
    /// So many gauges alike; 1 where left out.
    times: Option<u32>,
    /// Last seen good.
    ///
    /// For one found failed.
    #[schemars(extend("x-named" = ["age when last seen good before it was found failed"]))]
    after: Option<f64>,
    /// Records begin at.
    ///
    /// Age 0 where left out.
    #[schemars(extend("x-named" = ["age at which the records begin"]))]
    since: Option<f64>,
}

/// The most lives one line may stand for.
const MOST_TIMES: u32 = 100_000;

fn lives(unit: AgeUnit, lives: &[OneLife]) -> Result<LifeData, No> {
    let mut observations = Vec::new();
    for life in lives {
        let seen = match (life.ended, life.after) {
            (End::Failed, None) => Seen::Failed { at: life.age },
            (End::Good, None) => Seen::Good { until: life.age },
            (End::Found, Some(after)) => Seen::FoundFailed {
                after,
                by: life.age,
            },
            (End::Found, None) => {
                return Err(No::At(
                    "lives",
                    "a gauge found failed needs the age it was last seen good".to_owned(),
                ));
            }
            (_, Some(_)) => {
                return Err(No::At(
                    "lives",
                    "an age last seen good belongs to a gauge found failed only".to_owned(),
                ));
            }
        };
        let times = life.times.unwrap_or(1);
        if times == 0 || times > MOST_TIMES {
            return Err(No::At(
                "lives",
                format!("{times} gauges alike; it must be from 1 to {MOST_TIMES}"),
            ));
        }
        let one = Observation {
            seen,
            since: life.since.unwrap_or(0.0),
        };
        observations.extend((0..times).map(|_| one));
    }
    Ok(LifeData::new(unit, observations)?)
}

/// The UCUM code of a unit of age.
pub(super) const fn code(unit: AgeUnit) -> &'static str {
    match unit {
        AgeUnit::Hours => "h",
        AgeUnit::Days => "d",
        AgeUnit::Months => "mo",
        AgeUnit::Years => "a",
    }
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WeibullOf {
    /// Unit of the ages.
    unit: AgeUnit,
    /// Gauge lives.
    #[schemars(extend("x-named" = ["number of gauge lives"]))]
    lives: Vec<OneLife>,
    /// Confidence.
    ///
    /// Of both bounds together, 0.5 to 0.9999.
    confidence: f64,
}

#[derive(Debug, Serialize, JsonSchema)]
struct Bounds {
    /// What.
    of: &'static str,
    /// Value.
    value: Measure,
    /// Lower bound.
    lower: Option<Measure>,
    /// Upper bound.
    upper: Option<Measure>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct WeibullFound {
    /// Shape β.
    shape: f64,
    /// Characteristic life η.
    scale: Measure,
    /// Mean life.
    mean: Measure,
    /// Log-likelihood.
    log_likelihood: f64,
    /// Failures.
    failures: usize,
    /// Gauge lives.
    lives: usize,
    /// Bounds by likelihood ratio.
    bounds: Vec<Bounds>,
}

fn weibull(of: WeibullOf) -> Found<WeibullFound> {
    let confidence = Confidence::new(of.confidence)?;
    let data = lives(of.unit, &of.lives)?;
    let found = fit(&data)?;
    let unit = code(of.unit);
    let mut working = found.working.clone();
    let mut bounds = Vec::new();
    for (name, wanted, unit) in [
        ("shape β", Of::Shape, "1"),
        ("characteristic life η", Of::Scale, unit),
        ("age at which 10 % have failed", Of::AgeAtShare(0.1), unit),
    ] {
        let bounded: Bounded = likelihood_bounds(&data, &found, wanted, confidence)?;
        let measure = |value: Option<f64>| value.map(|value| Measure::new(value, unit));
        working.steps.extend(bounded.working.steps);
        bounds.push(Bounds {
            of: name,
            value: Measure::new(bounded.value, unit),
            lower: measure(bounded.lower),
            upper: measure(bounded.upper),
        });
    }
    let answer = WeibullFound {
        shape: found.life.shape(),
        scale: Measure::new(found.life.scale(), unit),
        mean: Measure::new(found.life.mean(), unit),
        log_likelihood: found.log_likelihood,
        failures: found.failures,
        lives: found.lives,
        bounds,
    };
    Ok((answer, working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LineOf {
    /// Unit of the ages.
    unit: AgeUnit,
    /// Gauge lives.
    #[schemars(extend("x-named" = ["number of gauge lives"]))]
    lives: Vec<OneLife>,
    /// Ranks.
    ranks: RankEstimate,
    /// Least squares in.
    least_squares_in: LeastSquaresIn,
}

#[derive(Debug, Serialize, JsonSchema)]
struct Plotted {
    /// Age.
    age: f64,
    /// Adjusted rank.
    rank: f64,
    /// Share failed.
    share: f64,
}

#[derive(Debug, Serialize, JsonSchema)]
struct LineFound {
    /// Shape β.
    shape: f64,
    /// Characteristic life η.
    scale: Measure,
    /// Squared correlation.
    r_squared: f64,
    /// Points.
    points: Vec<Plotted>,
}

fn line(of: LineOf) -> Found<LineFound> {
    let data = lives(of.unit, &of.lives)?;
    let found = rank_regression(&data, of.ranks, of.least_squares_in)?;
    let answer = LineFound {
        shape: found.life.shape(),
        scale: Measure::new(found.life.scale(), code(of.unit)),
        r_squared: found.r_squared,
        points: found
            .points
            .iter()
            .map(|point| Plotted {
                age: point.at,
                rank: point.rank,
                share: point.share,
            })
            .collect(),
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct AssumedOf {
    /// Unit of the ages.
    unit: AgeUnit,
    /// Gauge lives.
    #[schemars(extend("x-named" = ["number of gauge lives", "age watched without failure"]))]
    lives: Vec<OneLife>,
    /// Assumed shape β.
    #[schemars(extend("x-named" = ["assumed Weibull shape β"]))]
    shape: f64,
    /// Confidence.
    confidence: f64,
}

#[derive(Debug, Serialize, JsonSchema)]
struct AssumedFound {
    /// Characteristic life η.
    scale: Option<Measure>,
    /// Characteristic life, at least.
    at_least: Measure,
    /// Failures.
    failures: usize,
    /// Gauge lives.
    lives: usize,
}

fn assumed(of: AssumedOf) -> Found<AssumedFound> {
    let data = lives(of.unit, &of.lives)?;
    let found = fit_scale(
        &data,
        AssumedShape::new(of.shape)?,
        Confidence::new(of.confidence)?,
    )?;
    let scale = |life: Life| Measure::new(life.scale(), code(of.unit));
    let answer = AssumedFound {
        scale: found.life.map(scale),
        at_least: scale(found.at_least),
        failures: found.failures,
        lives: found.lives,
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct SurvivalOf {
    /// Unit of the ages.
    unit: AgeUnit,
    /// Gauge lives.
    #[schemars(extend("x-named" = ["number of gauge lives"]))]
    lives: Vec<OneLife>,
    /// Confidence.
    confidence: f64,
    /// Bounds symmetric on.
    bounds_on: BoundsOn,
}

#[derive(Debug, Serialize, JsonSchema)]
struct LevelFound {
    /// Age.
    age: f64,
    /// At risk.
    at_risk: usize,
    /// Failures.
    failures: usize,
    /// Share still good.
    survival: f64,
    /// Standard error.
    standard_error: Option<f64>,
    /// Lower bound.
    lower: Option<f64>,
    /// Upper bound.
    upper: Option<f64>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct SurvivalFound {
    /// Median age.
    median: Option<Measure>,
    /// Known until.
    known_until: Measure,
    /// The curve.
    levels: Vec<LevelFound>,
}

fn survival(of: SurvivalOf) -> Found<SurvivalFound> {
    let data = lives(of.unit, &of.lives)?;
    let found = kaplan_meier(&data, Confidence::new(of.confidence)?, of.bounds_on)?;
    let unit = code(of.unit);
    let answer = SurvivalFound {
        median: found.median.map(|age| Measure::new(age, unit)),
        known_until: Measure::new(found.known_until, unit),
        levels: found
            .levels
            .iter()
            .map(|level| LevelFound {
                age: level.at,
                at_risk: level.at_risk,
                failures: level.failures,
                survival: level.survival,
                standard_error: level.standard_error,
                lower: level.bounds.map(|bounds| bounds.0),
                upper: level.bounds.map(|bounds| bounds.1),
            })
            .collect(),
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct MeanOf {
    /// Time watched.
    ///
    /// Of all gauges together.
    #[schemars(extend("x-named" = ["time in service", "total time in service", "time in service of all gauges"]))]
    time: f64,
    /// Unit of the time.
    unit: AgeUnit,
    /// Failures.
    failures: u32,
    /// Watching ended.
    ended: Ended,
    /// Confidence.
    confidence: f64,
}

#[derive(Debug, Serialize, JsonSchema)]
struct MeanFound {
    /// Mean time between failures.
    mean: Option<Measure>,
    /// Lower bound.
    lower: Option<Measure>,
    /// Upper bound.
    upper: Option<Measure>,
    /// At least.
    at_least: Measure,
}

fn mean_time(of: MeanOf) -> Found<MeanFound> {
    let exposure = Exposure {
        time: of.time,
        unit: of.unit,
        failures: of.failures,
        ended: of.ended,
    };
    let found = mean_time_between_failures(exposure, Confidence::new(of.confidence)?)?;
    let measure = |value: f64| Measure::new(value, code(of.unit));
    let answer = MeanFound {
        mean: found.estimate.map(measure),
        lower: found.bounds.map(|bounds| measure(bounds.0)),
        upper: found.bounds.map(|bounds| measure(bounds.1)),
        at_least: measure(found.at_least),
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct RankOf {
    /// Rank.
    rank: f64,
    /// Number of gauge lives.
    lives: u32,
    /// Estimate.
    estimate: RankEstimate,
}

fn median_rank(of: RankOf) -> Found<Measure> {
    let share = rank_of(of.rank, of.lives, of.estimate)?;
    let formula = match of.estimate {
        RankEstimate::Exact => "median of Beta(i, n − i + 1)",
        RankEstimate::Bernard => "(i − 0.3)/(n + 0.4)",
    };
    let step = Step::new(
        "F",
        "share failed",
        formula,
        Source::FromMemory("IEC 61649:2008, median ranks".to_owned()),
    )
    .with("i", "rank", of.rank, Source::Entered)
    .with("n", "gauge lives", of.lives, Source::Entered)
    .gives(significant(share, 6));
    Ok((Measure::new(share, "1"), steps("Median rank", vec![step])))
}
