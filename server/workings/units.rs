//! Converting a value from one unit into another of its kind.
//! The factors are those of `calc::quantity`; none stands here.

use schemars::JsonSchema;
use serde::Deserialize;

use super::registry::{Computation, Found, No, Part, computation};
use super::typed::{AnyUnit, Measure};
use crate::calc::quantity::{Unit, significant};
use crate::calc::working::{Source, Step, Working};

pub(super) fn list() -> Vec<Computation> {
    vec![computation(
        (
            "units",
            "A pressure, torque, length, temperature or volume in another unit of its kind",
        ),
        (Part::Units, &[]),
        r#"{"value": 1000, "from": "[psi]", "to": "bar"}"#,
        convert,
    )]
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct Conversion {
    /// Value.
    value: f64,
    /// Unit it is given in.
    from: AnyUnit,
    /// Unit it is wanted in.
    to: AnyUnit,
}

fn convert(given: Conversion) -> Found<Measure> {
    match (given.from, given.to) {
        (AnyUnit::Pressure(from), AnyUnit::Pressure(to)) => between(given.value, from, to, "Pa"),
        (AnyUnit::Torque(from), AnyUnit::Torque(to)) => between(given.value, from, to, "N·m"),
        (AnyUnit::Length(from), AnyUnit::Length(to)) => between(given.value, from, to, "m"),
        (AnyUnit::Volume(from), AnyUnit::Volume(to)) => between(given.value, from, to, "m³"),
        (AnyUnit::Temperature(from), AnyUnit::Temperature(to)) => {
            between(given.value, from, to, "K")
        }
        _ => Err(No::At(
            "to",
            "it must be a unit of the same kind".to_owned(),
        )),
    }
}

fn between<U: Unit>(value: f64, from: U, to: U, base: &str) -> Found<Measure> {
    if U::KIND == "temperature" && from.to_si(value) < 0.0 {
        return Err(No::At(
            "value",
            "it must be at or above absolute zero".to_owned(),
        ));
    }
    let si = from.to_si(value);
    let found = if from == to { value } else { to.from_si(si) };
    let working = Working::new(format!("{} in another unit", capital(U::KIND)))
        .step(
            Step::new(
                "x₀",
                format!("in the base unit, {base}"),
                "x · factor (temperatures: (x + offset) · factor)",
                Source::published("NIST SP 811 (2008), Appendix B"),
            )
            .with("x", "value", format!("{value} {from}"), Source::Entered)
            .gives(format!("{} {base}", significant(si, 12))),
        )
        .step(
            Step::new(
                "y",
                format!("in {to}"),
                "x₀ / factor (temperatures: x₀ / factor − offset)",
                Source::published("NIST SP 811 (2008), Appendix B"),
            )
            .gives(format!("{} {to}", significant(found, 12))),
        );
    Ok((Measure::of(found, to), working))
}

fn capital(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().collect::<String>() + letters.as_str()
    })
}
