//! How many failures to expect of one gauge over a horizon, under a programme of rebuilds, and how soon the next.
//! The fleet as a whole is in `outlook`; the cheapest age is in `rebuild_age`.

mod cycles;
mod next_failure;

pub(crate) use cycles::{Cycles, MOST_INTERVALS, whole};
pub use next_failure::{NextFailure, next_failure};

use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::life::{LONGEST_AGE, Life};
use super::numeric::positive;
use super::quantity::significant;
use super::working::{Source, Step, Working};

/// Steps a characteristic life is cut into for a single answer.
const FINE: f64 = 256.0;

/// When a gauge is rebuilt; every rebuild makes it as new.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", tag = "programme")]
pub enum Programme {
    /// Only after a failure.
    AtFailureOnly,
    /// After every failure and at fixed calendar intervals, whatever the age then.
    Calendar {
        /// The interval.
        every: f64,
    },
    /// After every failure and when this age is reached.
    Age {
        /// The age.
        every: f64,
    },
    /// At fixed calendar intervals; failures in between are only patched and leave the age as it is.
    PatchBetween {
        /// The interval.
        every: f64,
    },
}

/// What to expect of one gauge, new at the start.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Expected {
    /// Expected failures within the horizon.
    pub failures: f64,
    /// Expected planned rebuilds before its end; one planned for the end itself is not counted.
    pub planned_rebuilds: f64,
    /// An upper estimate of the numerical error of the failures.
    pub accuracy: f64,
    /// The shown calculation.
    pub working: Working,
}

/// Expected failures and planned rebuilds of one gauge over a horizon.
///
/// # Formula
/// ```text
/// at failure only:  M(t) = F(t) + ∫₀ᵗ M(t − x) dF(x)
/// calendar:         q M(T) + M(t − qT),              q = ⌊t/T⌋
/// age:              N(t) = F(min(t, T)) + ∫ N(t − x) dF(x) over x ≤ min(t, T) + [t ≥ T] R(T) N(t − T)
/// patch between:    q (T/η)^β + ((t − qT)/η)^β
/// ```
/// t horizon, T time between rebuilds and η characteristic life in the unit of the life; F share
/// failed and R share good by an age; β shape. Solved on a grid (see the part `cycles`), with the
/// accuracy returned.
///
/// # Valid range
/// Horizon above 0 and at most 10⁹; at most 200 intervals in it; an interval (or the horizon, when
/// rebuilding only after failures) of at most 128 η/max(β, 1); by age, a horizon of at most
/// 2048 η/max(β, 1).
///
/// # Errors
/// [`OutOfRange`] outside it.
///
/// # Source
/// Renewal and age replacement: Barlow and Proschan, Mathematical Theory of Reliability (1965)
/// (from memory); values of M: H. C. Tijms, A First Course in Stochastic Models (2003), table 8.1.1.
pub fn expected_failures(
    life: Life,
    programme: Programme,
    horizon: f64,
) -> Result<Expected, OutOfRange> {
    let horizon = positive("horizon", horizon, LONGEST_AGE)?;
    let (failures, planned_rebuilds, accuracy, formula) = match programme {
        Programme::AtFailureOnly => {
            let (failures, accuracy) = renewals(life, horizon)?;
            (failures, 0.0, accuracy, "M(t) = F(t) + ∫ M(t − x) dF(x)")
        }
        Programme::Calendar { every } => {
            let (blocks, rest) = blocks(every, horizon)?;
            let (mut failures, mut accuracy) = (0.0, 0.0);
            for (times, length) in [(blocks, every), (1.0, rest)] {
                if times > 0.0 && length > 0.0 {
                    let (each, error) = renewals(life, length)?;
                    failures += times * each;
                    accuracy += times * error;
                }
            }
            (
                failures,
                planned(blocks, rest),
                accuracy,
                "q M(T) + M(t − qT)",
            )
        }
        Programme::Age { every } => {
            let every = positive("time between rebuilds", every, LONGEST_AGE)?;
            if every >= horizon {
                let (failures, accuracy) = renewals(life, horizon)?;
                (failures, 0.0, accuracy, "M(t): the age is not reached")
            } else {
                let cycles = Cycles::new(life, every, horizon, FINE)?;
                let (failures, planned) = cycles.of_new(horizon);
                (
                    failures,
                    planned,
                    cycles.accuracy(horizon),
                    "N(t) = F(T) + ∫ N(t − x) dF(x) + R(T) N(t − T)",
                )
            }
        }
        Programme::PatchBetween { every } => {
            let (blocks, rest) = blocks(every, horizon)?;
            let failures = blocks * life.cumulative_hazard(every) + life.cumulative_hazard(rest);
            (
                failures,
                planned(blocks, rest),
                0.0,
                "q (T/η)^β + ((t − qT)/η)^β",
            )
        }
    };
    let mut found = Expected {
        failures,
        planned_rebuilds,
        accuracy,
        working: Working::new("Failures to expect"),
    };
    found.working = shown(life, programme, horizon, formula, &found);
    Ok(found)
}

fn shown(
    life: Life,
    programme: Programme,
    horizon: f64,
    formula: &str,
    found: &Expected,
) -> Working {
    let unit = life.unit().symbol();
    let source = Source::FromMemory("Barlow and Proschan 1965".to_owned());
    let step = Step::new("N", "failures expected of one gauge", formula, source)
        .with(
            "β",
            "shape",
            significant(life.shape(), 5),
            Source::Arithmetic,
        )
        .with(
            "η",
            "characteristic life",
            format!("{} {unit}", significant(life.scale(), 5)),
            Source::Arithmetic,
        )
        .with(
            "t",
            "horizon",
            format!("{} {unit}", significant(horizon, 6)),
            Source::Entered,
        );
    let step = match programme {
        Programme::AtFailureOnly => step,
        Programme::Calendar { every }
        | Programme::Age { every }
        | Programme::PatchBetween { every } => {
            let every = format!("{} {unit}", significant(every, 6));
            step.with("T", "time between rebuilds", every, Source::Entered)
        }
    };
    let rebuilds = Step::new(
        "planned",
        "rebuilds planned before the horizon",
        "count of whole intervals",
        Source::Arithmetic,
    )
    .gives(significant(found.planned_rebuilds, 5));
    Working::new("Failures to expect")
        .step(rebuilds)
        .step(step.gives(significant(found.failures, 5)))
        .remark("The gauge is taken as new at the start; a rebuild makes it as new.")
}

/// Renewal function M(t) with its numerical error.
fn renewals(life: Life, horizon: f64) -> Result<(f64, f64), OutOfRange> {
    let cycles = Cycles::new(life, horizon, horizon, FINE)?;
    Ok((cycles.of_new(horizon).0, cycles.accuracy(horizon)))
}

/// Whole intervals in the horizon and the rest, a rest within rounding of none taken as none.
fn blocks(every: f64, horizon: f64) -> Result<(f64, f64), OutOfRange> {
    let every = positive("time between rebuilds", every, LONGEST_AGE)?;
    let ratio = horizon / every;
    if ratio > MOST_INTERVALS {
        return Err(OutOfRange::new(
            "horizon",
            horizon,
            format!("at most {MOST_INTERVALS} times the time between rebuilds"),
        ));
    }
    let blocks = (ratio + 1e-12 * ratio).floor();
    let rest = horizon - blocks * every;
    Ok((blocks, if rest > 1e-9 * every { rest } else { 0.0 }))
}

/// Rebuilds at T, 2T, … before the horizon: the one at its very end is not counted.
fn planned(blocks: f64, rest: f64) -> f64 {
    if rest > 0.0 {
        blocks
    } else {
        (blocks - 1.0).max(0.0)
    }
}
