//! What is known of how long gauges last: ages, what was seen of each gauge, and the Weibull life.
//! Nothing is fitted or forecast here; `weibull`, `ranks`, `survival` and `renewal` do that.
//!
//! An age counts from the last rebuild (or the first installation) in one [`AgeUnit`]. A gauge
//! rebuilt before it failed is *good until* that age: its life is censored, not ended.

use serde::{Deserialize, Serialize};
use statrs::function::gamma::gamma;

use super::OutOfRange;
use super::numeric::positive;

/// The longest age and the longest characteristic life that is computed with, in any unit.
pub(crate) const LONGEST_AGE: f64 = 1e9;
/// The steepest Weibull shape that is computed with: beyond it all lives are practically equal.
pub(crate) const STEEPEST: f64 = 100.0;
/// The flattest Weibull shape that is computed with.
pub(crate) const FLATTEST: f64 = 0.1;

/// The unit of an age. A year has 365.25 days and a month is a twelfth of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum AgeUnit {
    /// Hours.
    Hours,
    /// Days of 24 h.
    Days,
    /// Twelfths of a year: 730.5 h.
    Months,
    /// Years of 365.25 days: 8766 h.
    Years,
}

impl AgeUnit {
    /// How many hours one such unit has.
    ///
    /// # Source
    /// Day 24 h, Julian year 365.25 d: the definitions in NIST SP 811 (2008), Table 6 and
    /// Appendix B; a month as a twelfth of that year is the plant's convention.
    #[must_use]
    pub const fn hours(self) -> f64 {
        match self {
            Self::Hours => 1.0,
            Self::Days => 24.0,
            Self::Months => 730.5,
            Self::Years => 8766.0,
        }
    }

    /// The symbol printed after an age.
    #[must_use]
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Hours => "h",
            Self::Days => "days",
            Self::Months => "months",
            Self::Years => "years",
        }
    }
}

/// What was seen of one gauge life.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "seen")]
pub enum Seen {
    /// It failed at this age.
    Failed {
        /// Age at failure.
        at: f64,
    },
    /// It was still good at this age, when last seen or when rebuilt for another reason.
    Good {
        /// The last age at which it was known to be good.
        until: f64,
    },
    /// It was found failed; when it failed is only known to lie between two looks.
    FoundFailed {
        /// The last age at which it was seen good; 0 when this was the first look.
        after: f64,
        /// The age at which it was found failed.
        by: f64,
    },
}

/// One gauge life as the register knows it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Observation {
    /// What was seen.
    pub seen: Seen,
    /// The age at which the records of this life begin: 0, or more for a gauge that was already
    /// in service when the register began. Had it failed before, it would not be in the data.
    pub since: f64,
}

/// Gauge lives of one kind, checked: at least one, every age possible.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LifeData {
    unit: AgeUnit,
    observations: Vec<Observation>,
}

impl LifeData {
    /// Takes observations in one unit of age, after checking every one.
    ///
    /// # Valid range
    /// Ages at failure above 0 and at most 10⁹; `good until` may be 0 (rebuilt today); found
    /// failed `by` later than last good `after`; records begin (`since`) at 0 or later, before
    /// the failure and not after the last look.
    ///
    /// # Errors
    /// [`OutOfRange`] that names the first impossible age, or an empty list.
    ///
    /// # Source
    /// Definitions of right, left and interval censoring and of late entry (left truncation):
    /// common practice of life statistics, as in IEC 61649.
    pub fn new(unit: AgeUnit, observations: Vec<Observation>) -> Result<Self, OutOfRange> {
        if observations.is_empty() {
            return Err(OutOfRange::new("number of gauge lives", 0, "at least 1"));
        }
        for seen in &observations {
            check(*seen)?;
        }
        Ok(Self { unit, observations })
    }

    /// The unit all ages are in.
    #[must_use]
    pub const fn unit(&self) -> AgeUnit {
        self.unit
    }

    /// The observations in the order given.
    #[must_use]
    pub fn observations(&self) -> &[Observation] {
        &self.observations
    }

    /// How many of the lives ended in a failure, whenever it was found.
    #[must_use]
    pub fn failures(&self) -> usize {
        self.observations
            .iter()
            .filter(|o| !matches!(o.seen, Seen::Good { .. }))
            .count()
    }
}

fn check(observation: Observation) -> Result<(), OutOfRange> {
    let Observation { seen, since } = observation;
    if !(0.0..=LONGEST_AGE).contains(&since) {
        return Err(OutOfRange::new("age at which the records begin", since, "from 0 to 1e9"));
    }
    match seen {
        Seen::Failed { at } => {
            positive("age at failure", at, LONGEST_AGE)?;
            if at <= since {
                return Err(OutOfRange::new(
                    "age at failure",
                    at,
                    format!("greater than {since}, where its records begin"),
                ));
            }
        }
        Seen::Good { until } => {
            if !(since..=LONGEST_AGE).contains(&until) {
                return Err(OutOfRange::new(
                    "age when last seen good",
                    until,
                    format!("from {since}, where its records begin, to 1e9"),
                ));
            }
        }
        Seen::FoundFailed { after, by } => {
            positive("age when found failed", by, LONGEST_AGE)?;
            if !(since..by).contains(&after) {
                return Err(OutOfRange::new(
                    "age when last seen good before it was found failed",
                    after,
                    format!("from {since}, where its records begin, to less than {by}"),
                ));
            }
        }
    }
    Ok(())
}

/// Why a life could not be drawn from the data.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LifeError {
    /// An input is outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Too few of the lives ended in a failure.
    #[error("only {failures} of {units} gauge lives ended in a failure; at least {needed} are needed")]
    TooFewFailures {
        /// How many failed.
        failures: usize,
        /// How many lives there are.
        units: usize,
        /// How many failures the method needs.
        needed: usize,
    },
    /// The ages fit a steeper and steeper curve without end: as far as they tell, all fail at one age.
    #[error("the ages agree with all gauges failing at one age, so no shape can be given")]
    AllAtOneAge,
    /// The ages fit a flatter and flatter curve without end, or do not tell shape from scale.
    #[error("the ages do not tell how failures spread over time, so no shape can be given")]
    ShapeNotFixed,
    /// The method needs exact ages, but a failure was found between two looks.
    #[error("a failure was found between two looks; this method needs the age at failure itself")]
    FoundBetweenLooks,
    /// The method needs lives seen from age 0.
    #[error("a gauge came under observation at a later age; this method needs lives seen from the start")]
    SeenLate,
}

/// How sure an interval is meant to be: the share of such intervals that hold the true value.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
pub struct Confidence(f64);

impl Confidence {
    /// A confidence level such as 0.95.
    ///
    /// # Valid range
    /// 0.5 to 0.9999.
    ///
    /// # Errors
    /// [`OutOfRange`] outside it.
    ///
    /// # Source
    /// The range is our own choice: a level below one half says nothing.
    pub fn new(level: f64) -> Result<Self, OutOfRange> {
        if (0.5..=0.9999).contains(&level) {
            Ok(Self(level))
        } else {
            Err(OutOfRange::new("confidence", level, "from 0.5 to 0.9999"))
        }
    }

    /// The level.
    #[must_use]
    pub const fn level(self) -> f64 {
        self.0
    }

    /// The probability below the upper end of a two-sided interval.
    pub(crate) fn upper_tail_point(self) -> f64 {
        f64::midpoint(1.0, self.0)
    }

    /// The level in percent, for reading.
    pub(crate) fn percent(self) -> String {
        format!("{} %", super::quantity::significant(100.0 * self.0, 6))
    }
}

/// A life that follows a two-parameter Weibull law.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Life {
    shape: f64,
    scale: f64,
    unit: AgeUnit,
}

impl Life {
    /// A Weibull life from shape β and characteristic life η.
    ///
    /// # Valid range
    /// β from 0.1 to 100, η above 0 and at most 10⁹ in its unit.
    ///
    /// # Errors
    /// [`OutOfRange`] outside it.
    ///
    /// # Source
    /// IEC 61649:2008 uses the same two parameters; the range is our own.
    pub fn new(shape: f64, scale: f64, unit: AgeUnit) -> Result<Self, OutOfRange> {
        if !(FLATTEST..=STEEPEST).contains(&shape) {
            return Err(OutOfRange::new("Weibull shape β", shape, "from 0.1 to 100"));
        }
        let scale = positive("characteristic life η", scale, LONGEST_AGE)?;
        Ok(Self { shape, scale, unit })
    }

    /// Shape β: below 1 early failures, 1 by chance, above 1 wear.
    #[must_use]
    pub const fn shape(self) -> f64 {
        self.shape
    }

    /// Characteristic life η: the age by which 63.2 % have failed.
    #[must_use]
    pub const fn scale(self) -> f64 {
        self.scale
    }

    /// The unit of η and of every age put to this life.
    #[must_use]
    pub const fn unit(self) -> AgeUnit {
        self.unit
    }

    /// The same life with its ages in another unit.
    #[must_use]
    pub fn in_unit(self, unit: AgeUnit) -> Self {
        let scale = if unit == self.unit {
            self.scale
        } else {
            self.scale * self.unit.hours() / unit.hours()
        };
        Self { scale, unit, ..self }
    }

    /// Cumulative hazard H(t) = (t/η)^β: the expected failures by age `at` if each is only patched.
    ///
    /// # Valid range
    /// Any age; below 0 counts as 0.
    ///
    /// # Source
    /// IEC 61649:2008; NIST/SEMATECH e-Handbook 8.1.6.2.
    #[must_use]
    pub fn cumulative_hazard(self, at: f64) -> f64 {
        (at.max(0.0) / self.scale).powf(self.shape)
    }

    /// Survival R(t) = exp(−(t/η)^β): the share still good at age `at`.
    ///
    /// # Valid range
    /// Any age; below 0 counts as 0.
    ///
    /// # Source
    /// IEC 61649:2008; NIST/SEMATECH e-Handbook 8.1.6.2.
    #[must_use]
    pub fn survival(self, at: f64) -> f64 {
        (-self.cumulative_hazard(at)).exp()
    }

    /// Share failed F(t) = 1 − exp(−(t/η)^β) by age `at`, without loss of digits for small shares.
    ///
    /// # Valid range
    /// Any age; below 0 counts as 0.
    ///
    /// # Source
    /// IEC 61649:2008; NIST/SEMATECH e-Handbook 8.1.6.2.
    #[must_use]
    pub fn failed_by(self, at: f64) -> f64 {
        -(-self.cumulative_hazard(at)).exp_m1()
    }

    /// Hazard h(t) = (β/η)(t/η)^(β−1), per unit of age; infinite at age 0 for β below 1.
    ///
    /// # Valid range
    /// Any age; below 0 counts as 0.
    ///
    /// # Source
    /// IEC 61649:2008; NIST/SEMATECH e-Handbook 8.1.6.2.
    #[must_use]
    pub fn hazard(self, at: f64) -> f64 {
        self.shape / self.scale * (at.max(0.0) / self.scale).powf(self.shape - 1.0)
    }

    /// Mean life η Γ(1 + 1/β).
    ///
    /// # Source
    /// NIST/SEMATECH e-Handbook 8.1.6.2.
    #[must_use]
    pub fn mean(self) -> f64 {
        self.scale * gamma(1.0 + 1.0 / self.shape)
    }

    /// Standard deviation of the life, η √(Γ(1 + 2/β) − Γ²(1 + 1/β)).
    ///
    /// # Source
    /// NIST/SEMATECH e-Handbook 8.1.6.2 (the page of 8.4.1.3 prints it without the minus sign).
    #[must_use]
    pub fn standard_deviation(self) -> f64 {
        let first = gamma(1.0 + 1.0 / self.shape);
        self.scale * (gamma(1.0 + 2.0 / self.shape) - first * first).max(0.0).sqrt()
    }

    /// The age by which a share `failed` has failed: B10 for 0.1. B = η (−ln(1 − p))^(1/β).
    ///
    /// # Valid range
    /// Share above 0 and below 1.
    ///
    /// # Errors
    /// [`OutOfRange`] outside it.
    ///
    /// # Source
    /// IEC 61649:2008.
    pub fn age_at_share(self, failed: f64) -> Result<f64, OutOfRange> {
        if failed > 0.0 && failed < 1.0 {
            Ok(self.scale * (-(-failed).ln_1p()).powf(1.0 / self.shape))
        } else {
            Err(OutOfRange::new(
                "share of gauges failed",
                failed,
                "greater than 0 and less than 1",
            ))
        }
    }
}
