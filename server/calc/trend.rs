//! Whether a repairable gauge, or several, fail faster or slower with time, and the power law of it.
//! The life of one glass and gasket set is another question, answered in `weibull`.
//!
//! The β of a power law describes how failures of one place follow each other; the β of a Weibull
//! life describes one life. They share a letter and nothing else.

mod power_law;
mod verdict;

pub use power_law::{PowerLaw, power_law};
pub use verdict::{Trend, Verdict, trend};

use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::life::{AgeUnit, LONGEST_AGE};
use super::numeric::positive;

/// The fewest failures a trend is read from.
pub const FEWEST_FOR_TREND: usize = 4;

/// How long a gauge was watched.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Watched {
    /// Up to this time, whether or not it failed then: the register read today.
    Until(f64),
    /// Up to its last failure and no further.
    ToLastFailure,
}

/// The failures of one repairable gauge, as times since it was first put into service.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct History {
    unit: AgeUnit,
    failures: Vec<f64>,
    watched: Watched,
}

impl History {
    /// Takes the times of all failures since first service (not the times between them).
    ///
    /// # Valid range
    /// Times above 0 and at most 10⁹, none before the one given before it, none after the end of
    /// watching; equal times (two failures on a day) are kept. At least one failure where the last
    /// failure ends the watching.
    ///
    /// # Errors
    /// [`OutOfRange`] that names the first impossible time. Falling times usually mean that times
    /// between failures were given.
    ///
    /// # Source
    /// MIL-HDBK-189 counts cumulative time likewise (from memory).
    pub fn new(unit: AgeUnit, failures: Vec<f64>, watched: Watched) -> Result<Self, OutOfRange> {
        let mut before = 0.0;
        for &at in &failures {
            positive("time of failure", at, LONGEST_AGE)?;
            if at < before {
                return Err(OutOfRange::new(
                    "time of failure",
                    at,
                    format!(
                        "not before the one given before it, {before}: times count from first service, not from failure to failure"
                    ),
                ));
            }
            before = at;
        }
        match watched {
            Watched::Until(end) => {
                let end = positive("end of watching", end, LONGEST_AGE)?;
                if before > end {
                    let allowed = format!("at most {end}, the end of watching");
                    return Err(OutOfRange::new("time of failure", before, allowed));
                }
            }
            Watched::ToLastFailure if failures.is_empty() => {
                return Err(OutOfRange::new("number of failures", 0, "at least 1"));
            }
            Watched::ToLastFailure => {}
        }
        Ok(Self {
            unit,
            failures,
            watched,
        })
    }

    fn end(&self) -> f64 {
        match self.watched {
            Watched::Until(end) => end,
            Watched::ToLastFailure => self.failures.last().copied().unwrap_or(0.0),
        }
    }

    /// The failures whose times are free to vary: all, or all but the one that ended the watching.
    fn free(&self) -> &[f64] {
        match self.watched {
            Watched::Until(_) => &self.failures,
            Watched::ToLastFailure => &self.failures[..self.failures.len().saturating_sub(1)],
        }
    }

    fn sum_ln(&self) -> f64 {
        self.free().iter().map(|at| (self.end() / at).ln()).sum()
    }
}

/// Refuses a number of failures that is too small for a trend.
fn enough(failures: usize) -> Result<(), OutOfRange> {
    if failures >= FEWEST_FOR_TREND {
        return Ok(());
    }
    Err(OutOfRange::new(
        "number of failures a trend is read from",
        failures,
        format!("at least {FEWEST_FOR_TREND}"),
    ))
}
