//! The chance that a gauge of some age fails within the time ahead.
//! Failures over many rebuilds are counted in `renewal`.

use serde::Serialize;

use crate::calc::OutOfRange;
use crate::calc::life::{LONGEST_AGE, Life};
use crate::calc::numeric::positive;
use crate::calc::quantity::significant;
use crate::calc::working::{Source, Step, Working};

/// The next failure of a gauge that has reached some age.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextFailure {
    /// The chance that it fails within the time ahead.
    pub chance: f64,
    /// Expected failures in that time if each is only patched.
    pub patched_failures: f64,
    /// The shown calculation.
    pub working: Working,
}

/// The chance that a gauge now at some age fails within the time ahead.
///
/// # Formula
/// ```text
/// P = 1 − R(a + t)/R(a),   patched: ((a + t)/η)^β − (a/η)^β
/// ```
/// a age now, t time ahead and η characteristic life in the unit of the life; R share good; β shape.
///
/// # Valid range
/// Age from 0 and time ahead above 0, both at most 10⁹.
///
/// # Errors
/// [`OutOfRange`] outside it.
///
/// # Source
/// Definition of conditional survival; IEC 61649:2008 (from memory).
pub fn next_failure(life: Life, age: f64, horizon: f64) -> Result<NextFailure, OutOfRange> {
    if !(0.0..=LONGEST_AGE).contains(&age) {
        return Err(OutOfRange::new("age", age, "from 0 to 1e9"));
    }
    let horizon = positive("time ahead", horizon, LONGEST_AGE)?;
    let patched_failures = life.cumulative_hazard(age + horizon) - life.cumulative_hazard(age);
    let chance = -(-patched_failures).exp_m1();
    let unit = life.unit().symbol();
    let step = Step::new(
        "P",
        "chance of a failure in the time ahead",
        "1 − R(a + t)/R(a)",
        Source::Arithmetic,
    )
    .with(
        "a",
        "age now",
        format!("{} {unit}", significant(age, 5)),
        Source::Entered,
    )
    .with(
        "t",
        "time ahead",
        format!("{} {unit}", significant(horizon, 5)),
        Source::Entered,
    )
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
    .gives(format!("{} %", significant(100.0 * chance, 3)));
    Ok(NextFailure {
        chance,
        patched_failures,
        working: Working::new("Chance of the next failure").step(step),
    })
}
