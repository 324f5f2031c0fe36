//! What a pressure test of a gauge is asked to reach, before it is made: rating, code, hold and the
//! working of the required pressure. Judging what was read afterwards is in `pressure_test.rs`.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};

use crate::calc::pressure_test::{Code, Request, required};
use crate::calc::quantity::{StampedPressure, StampedTemperature};
use crate::calc::rating;
use crate::calc::working::{Source, Step, Working};
use crate::record::gauge::Particulars;
use crate::record::refusal::FieldError;
use crate::record::test_plan::{Rules, TestPlan};

/// What a person chose for the required pressure, beside what nameplate and plant say.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Basis {
    /// Takes the rating at this temperature from the gauge's pressure-temperature points; without
    /// it the rating is the stamped one.
    pub temperature: Option<StampedTemperature>,
    /// Allowable stress at test temperature over that at design temperature.
    pub stress_ratio: Option<Decimal>,
    /// The highest test pressure stated for the assembly.
    pub limit: Option<StampedPressure>,
}

/// What a test has to reach and for how long.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The code of reference.
    pub code: Code,
    /// What was chosen.
    pub basis: Basis,
    /// The rating it was taken from.
    pub rating: StampedPressure,
    /// The required pressure.
    pub required: StampedPressure,
    /// The shortest hold, minutes.
    pub hold_minutes: u32,
    /// The pressure that is not to be exceeded: the lower of what plan and tester state.
    pub limit: Option<StampedPressure>,
    /// How it was found.
    pub working: Working,
}

/// What a test of this gauge has to reach by its plan, and how long it has to be held: the
/// longer of what the code and what the plant asks.
///
/// # Errors
/// Names the field to mend: no rating on the nameplate, a temperature outside the points, a limit
/// below the required pressure.
pub fn asked(plan: &TestPlan, gauge: &Particulars, basis: &Basis) -> Result<Asked, FieldError> {
    asked_by(&plan.rules(), gauge, basis)
}

/// The same by rules alone.
pub(super) fn asked_by(
    rules: &Rules,
    gauge: &Particulars,
    basis: &Basis,
) -> Result<Asked, FieldError> {
    let rated = rating_with_steps(gauge, basis)?;
    of_rating(rules, rated, gauge.rating_temperature, basis)
}

/// The same of a rating that was found, with how it was found.
pub(super) fn of_rating(
    rules: &Rules,
    (rating, steps): (StampedPressure, Vec<Step>),
    stamped_at: Option<StampedTemperature>,
    basis: &Basis,
) -> Result<Asked, FieldError> {
    let code = rules.code;
    let ratio = basis.stress_ratio.or(rules.stress_ratio);
    let limit = [basis.limit, rules.limit]
        .into_iter()
        .flatten()
        .min_by(|a, b| a.si().total_cmp(&b.si()));
    let mut working = Working::new("Required test pressure");
    working.steps.extend(steps);
    let found = required(&Request {
        rating,
        code,
        stress_ratio: ratio.and_then(|ratio| ratio.to_f64()),
        factor: rules.factor,
        component_limit: limit,
    })
    .map_err(|e| {
        let field = match e.input {
            "stress ratio" => "ratio",
            "component limit" => "limit",
            _ => "",
        };
        FieldError::new(field, e.to_string())
    })?;
    let hold_minutes = found.hold_minutes.max(rules.hold_minutes);
    working.steps.extend(found.working.steps);
    working.remarks = found.working.remarks;
    working = working.remark(match basis.temperature {
        Some(_) => "The rating was taken from the gauge's pressure-temperature points. Where the code multiplies by the ratio of allowable stresses above the test temperature, that ratio has to be given.".to_owned(),
        None => rating_stamped_at(stamped_at),
    });
    // The hold goes before the pressure, so that the last step is the answer asked for.
    let hold = Step::new("t", "shortest hold", "max(code, plant)", Source::Arithmetic)
        .with(
            "code",
            "hold the code asks for",
            minutes(found.hold_minutes),
            code.hold_source(),
        )
        .with(
            "plant",
            "hold the plant asks for",
            minutes(rules.hold_minutes),
            Source::Plant,
        )
        .gives(minutes(hold_minutes));
    let before_last = working.steps.len().saturating_sub(1);
    working.steps.insert(before_last, hold);
    Ok(Asked {
        code,
        basis: basis.clone(),
        rating,
        required: found.pressure,
        hold_minutes,
        limit,
        working,
    })
}

/// The rating a test is taken from: the stamped one, or that of the points at a temperature.
///
/// # Errors
/// Names the field to mend: no rating on the nameplate, or a temperature outside the points.
pub fn rated(gauge: &Particulars, basis: &Basis) -> Result<StampedPressure, FieldError> {
    rating_with_steps(gauge, basis).map(|(rating, _)| rating)
}

fn rating_with_steps(
    gauge: &Particulars,
    basis: &Basis,
) -> Result<(StampedPressure, Vec<Step>), FieldError> {
    let Some(temperature) = basis.temperature else {
        let rating = gauge.rating.ok_or_else(|| {
            FieldError::new(
                "",
                "The register holds no stamped rating of this gauge, so no test pressure can be computed",
            )
        })?;
        return Ok((rating, Vec::new()));
    };
    if gauge.rating_points.is_empty() {
        return Err(FieldError::new(
            "at",
            "The register holds no pressure-temperature points of this gauge; leave this empty to use the stamped rating",
        ));
    }
    let rated = rating::at(&gauge.rating_points, temperature)
        .map_err(|e| FieldError::new("at", e.to_string()))?;
    Ok((rated.pressure, rated.working.steps))
}

/// What the working of a required pressure says of the temperature its rating is stamped at.
pub fn rating_stamped_at(temperature: Option<StampedTemperature>) -> String {
    temperature.map_or_else(
        || "The nameplate states no temperature for the rating.".to_owned(),
        |temperature| format!("{STAMPED_AT} {temperature}."),
    )
}

/// How that begins where the nameplate states one.
const STAMPED_AT: &str = "The rating is stamped at";

/// What a working said of it when it was written.
pub fn stamped_at_then(working: &Working) -> Option<&str> {
    let none = rating_stamped_at(None);
    let said = |remark: &&String| remark.starts_with(STAMPED_AT) || **remark == none;
    working.remarks.iter().find(said).map(String::as_str)
}

fn minutes(count: u32) -> String {
    format!("{count} min")
}
