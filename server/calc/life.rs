//! What is known of how long gauges last: ages, what was seen of each gauge, and the Weibull life.
//! Nothing is fitted or forecast here; `weibull`, `ranks`, `survival` and `renewal` do that.
//!
//! An age counts from the last rebuild (or the first installation) in one [`AgeUnit`]. A gauge
//! rebuilt before it failed is *good until* that age: its life is censored, not ended.

mod data;
mod law;

pub use data::{LifeData, Observation, Seen};
pub use law::Life;

use serde::{Deserialize, Serialize};

use super::OutOfRange;

/// The longest age and the longest characteristic life that is computed with, in any unit.
pub(crate) const LONGEST_AGE: f64 = 1e9;
/// The steepest Weibull shape that is computed with: beyond it all lives are practically equal.
pub(crate) const STEEPEST: f64 = 100.0;
/// The flattest Weibull shape that is computed with.
pub(crate) const FLATTEST: f64 = 0.1;

/// The unit of an age. A year has 365.25 days and a month is a twelfth of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
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
    /// Day 24 h: NIST SP 811 (2008), Table 6. The mean Julian year of 365.25 d and the month as its
    /// twelfth: The Unified Code for Units of Measure, `a_j` and `mo_j`, which are also what its plain
    /// year and month mean.
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

/// Why a life could not be drawn from the data.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LifeError {
    /// An input is outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    /// Too few of the lives ended in a failure.
    #[error(
        "only {failures} of {units} gauge lives ended in a failure; at least {needed} are needed"
    )]
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
    #[error(
        "a gauge came under observation at a later age; this method needs lives seen from the start"
    )]
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
