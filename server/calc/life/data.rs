//! Gauge lives as the register knows them, checked: when each failed, or how long it was good.
//! What is drawn from them is worked out in `weibull`, `ranks` and `survival`.

use serde::{Deserialize, Serialize};

use super::{AgeUnit, LONGEST_AGE};
use crate::calc::OutOfRange;
use crate::calc::numeric::positive;

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
    /// common practice, no source.
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
        return Err(OutOfRange::new(
            "age at which the records begin",
            since,
            "from 0 to 1e9",
        ));
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
