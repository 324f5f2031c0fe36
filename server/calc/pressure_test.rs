//! What a pressure test asks for: the least test pressure by the chosen rule and the hold time.
//! Test gauge and head of liquid are beside; judging a hold and the energy of a gas are elsewhere.

use rust_decimal::prelude::FromPrimitive;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::quantity::{PressureUnit, StampedPressure, significant};
use super::working::{Source, Step, Working};

pub mod head;
mod stress;
mod test_gauge;

pub use stress::{ComponentLimit, StressRatio, stress_ratio, weakest};
pub use test_gauge::{
    GaugeFit, GaugeVerdict, ReadingVerdict, USUAL_READING_SHARE, best_gauge, gauge_fits,
    reading_fits,
};

/// Highest rating the rules here are used for, in pascal (1000 bar).
const HIGHEST_RATING_PA: f64 = 100.0e6;
/// Largest ratio of allowable stresses that is taken as meant.
const LARGEST_RATIO: f64 = 20.0;
/// Two pressures closer than this (relative) are the same pressure in different units.
const SAME: f64 = 1.0e-9;

/// The rule a test pressure is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Code {
    /// 1.5 times the rating, or the plant's own factor.
    CommonPractice,
    /// ASME B31.3, hydrostatic leak test, 345.4.2.
    AsmeB313,
    /// ASME BPVC Section VIII Division 1, UG-99(b).
    AsmeViiiUg99,
    /// Directive 2014/68/EU, Annex I, 7.4.
    Ped,
}

impl Code {
    /// Every rule, the most usual first.
    pub const ALL: [Self; 4] = [
        Self::CommonPractice,
        Self::AsmeB313,
        Self::AsmeViiiUg99,
        Self::Ped,
    ];

    /// The factor on the rating where both allowable stresses are equal.
    #[must_use]
    pub fn factor(self) -> Decimal {
        match self {
            Self::CommonPractice | Self::AsmeB313 => Decimal::new(15, 1),
            Self::AsmeViiiUg99 => Decimal::new(13, 1),
            Self::Ped => Decimal::new(143, 2),
        }
    }

    /// The shortest hold in minutes: the code's own, or common practice where the code names none.
    #[must_use]
    pub fn hold_minutes(self) -> u32 {
        match self {
            Self::CommonPractice | Self::AsmeViiiUg99 => 5,
            Self::AsmeB313 => 10,
            Self::Ped => 30,
        }
    }

    /// The name on screens and papers.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::CommonPractice => "common practice",
            Self::AsmeB313 => "ASME B31.3",
            Self::AsmeViiiUg99 => "ASME VIII-1 UG-99",
            Self::Ped => "PED Annex I 7.4",
        }
    }

    fn formula(self) -> &'static str {
        match self {
            Self::Ped => "P_T = P · max(1.25 · S_T/S, 1.43)",
            _ => "P_T = f · P · S_T/S",
        }
    }

    fn source(self) -> Source {
        match self {
            Self::CommonPractice => Source::CommonPractice,
            Self::AsmeB313 => Source::published("ASME B31.3, 345.4.2"),
            Self::AsmeViiiUg99 => Source::published("ASME BPVC Section VIII Division 1, UG-99(b)"),
            Self::Ped => Source::published("Directive 2014/68/EU, Annex I, 7.4"),
        }
    }

    /// Where the shortest hold comes from.
    #[must_use]
    pub fn hold_source(self) -> Source {
        match self {
            Self::CommonPractice | Self::AsmeViiiUg99 => Source::CommonPractice,
            Self::AsmeB313 => Source::published("ASME B31.3, 345.2.2"),
            Self::Ped => Source::published("EN 13480-5, 9.3.2.2.2"),
        }
    }
}

/// What a required test pressure is computed from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Request {
    /// The gauge's rated pressure.
    pub rating: StampedPressure,
    /// The rule to follow.
    pub code: Code,
    /// Allowable stress at test temperature over that at design temperature, `S_T/S`.
    pub stress_ratio: Option<f64>,
    /// The plant's own factor in place of 1.5; with [`Code::CommonPractice`] only.
    pub factor: Option<Decimal>,
    /// The lowest pressure any part of the assembly may see in a test, where one is stated.
    pub component_limit: Option<StampedPressure>,
}

/// What the test has to reach and for how long.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Required {
    /// The least test pressure, in the unit of the rating.
    pub pressure: StampedPressure,
    /// The same before it was rounded up, in the same unit.
    pub unrounded: Decimal,
    /// The shortest hold in minutes.
    pub hold_minutes: u32,
    /// How both were found.
    pub working: Working,
}

/// The step a required pressure is rounded up to, fit for the scale of a test gauge.
fn rounding_step(unit: PressureUnit) -> Decimal {
    match unit {
        PressureUnit::Psi => Decimal::ONE,
        PressureUnit::Bar | PressureUnit::KgfPerCm2 => Decimal::new(1, 1),
        PressureUnit::KiloPascal => Decimal::TEN,
        PressureUnit::MegaPascal => Decimal::new(1, 2),
    }
}

/// The smallest multiple of the step that is not below the value.
fn round_up(value: Decimal, step: Decimal) -> Option<Decimal> {
    let steps = value.checked_div(step)?;
    // A ratio of stresses carries 15 digits; an excess of that size is not a reason to raise.
    let nearest = steps.round();
    let whole = if nearest > Decimal::ZERO && (steps - nearest).abs() <= Decimal::new(1, 9) {
        nearest
    } else {
        steps.round_dp_with_strategy(0, RoundingStrategy::ToPositiveInfinity)
    };
    Some(whole.checked_mul(step)?.normalize())
}

/// Whether one pressure lies above another, whatever their units.
fn exceeds(one: StampedPressure, other: StampedPressure) -> bool {
    if one.unit == other.unit {
        one.value > other.value
    } else {
        one.si() > other.si() * (1.0 + SAME)
    }
}

fn pressure_checked(input: &'static str, pressure: StampedPressure) -> Result<(), OutOfRange> {
    if pressure.value > Decimal::ZERO && pressure.si() <= HIGHEST_RATING_PA {
        Ok(())
    } else {
        Err(OutOfRange::new(
            input,
            pressure,
            format!(
                "greater than 0 and at most {}",
                StampedPressure::new(Decimal::ONE_THOUSAND, PressureUnit::Bar)
                    .shown_in(pressure.unit)
            ),
        ))
    }
}

/// The stress ratio as an exact decimal, never below one.
fn ratio_checked(stress_ratio: Option<f64>) -> Result<Decimal, OutOfRange> {
    let Some(ratio) = stress_ratio else {
        return Ok(Decimal::ONE);
    };
    let refuse = || {
        OutOfRange::new(
            "stress ratio",
            ratio,
            format!("greater than 0 and at most {LARGEST_RATIO}"),
        )
    };
    if !(ratio > 0.0 && ratio <= LARGEST_RATIO) {
        return Err(refuse());
    }
    Ok(Decimal::from_f64(ratio)
        .ok_or_else(refuse)?
        .max(Decimal::ONE))
}

fn factor_checked(request: &Request) -> Result<Decimal, OutOfRange> {
    let Some(factor) = request.factor else {
        return Ok(request.code.factor());
    };
    if request.code != Code::CommonPractice {
        return Err(OutOfRange::new(
            "test factor",
            factor,
            format!("left out: {} fixes its own factor", request.code.name()),
        ));
    }
    if factor < Decimal::ONE || factor > Decimal::from(3) {
        return Err(OutOfRange::new("test factor", factor, "from 1 to 3"));
    }
    Ok(factor)
}

/// The least pressure of a hydrostatic test and the shortest hold.
///
/// # Formula
/// `P_T = f·P·r` with `r = max(S_T/S, 1)`; f = 1.5 (common practice, or the plant's own), 1.5
/// (B31.3), 1.3 (UG-99). PED: `P_T = P·max(1.25·r, 1.43)`. P rated gauge pressure, `S_T` and S
/// allowable stresses at test and design temperature in one unit. Rounded up to whole psi, 0.1 bar,
/// 10 `kPa`, 0.01 `MPa` or 0.1 `kgf/cm²`; a value already on that step is not raised. Where a
/// component limit lies between the exact and the rounded value, a finer step is taken.
///
/// # Valid range
/// 0 < P ≤ 1000 bar; `0 < S_T/S ≤ 20`, a ratio below 1 counts as 1; 1 ≤ f ≤ 3.
///
/// # Errors
/// An input outside its range, a factor beside a code that fixes its own, or a component limit
/// below the test pressure.
///
/// # Source
/// ASME B31.3, 345.4.2 and 345.2.2; ASME VIII-1, UG-99(b); Directive 2014/68/EU, Annex I, 7.4
/// (the stress-ratio form of its "maximum loading in service" is the reading of EN 13445-5);
/// hold for the last after EN 13480-5, 9.3.2.2.2. Factor 1.5 and 5 minutes otherwise: common
/// practice, no source.
pub fn required(request: &Request) -> Result<Required, OutOfRange> {
    pressure_checked("rated pressure", request.rating)?;
    if let Some(limit) = request.component_limit {
        pressure_checked("component limit", limit)?;
    }
    let ratio = ratio_checked(request.stress_ratio)?;
    let factor = factor_checked(request)?;
    let overall = match request.code {
        Code::Ped => (Decimal::new(125, 2) * ratio).max(factor),
        _ => factor * ratio,
    };
    let too_large = || {
        OutOfRange::new(
            "rated pressure",
            request.rating,
            "a number with fewer digits",
        )
    };
    let exact = request
        .rating
        .value
        .checked_mul(overall)
        .ok_or_else(too_large)?;
    let unit = request.rating.unit;
    let mut step = rounding_step(unit);
    let mut rounded = round_up(exact, step).ok_or_else(too_large)?;
    if let Some(limit) = request.component_limit {
        // The limit may lie between the exact and the rounded value: round more finely then.
        for _ in 0..6 {
            if !exceeds(StampedPressure::new(rounded, unit), limit) {
                break;
            }
            step /= Decimal::TEN;
            rounded = round_up(exact, step).ok_or_else(too_large)?;
        }
        if exceeds(StampedPressure::new(rounded, unit), limit) {
            return Err(OutOfRange::new(
                "component limit",
                limit,
                format!(
                    "not below the test pressure of {}",
                    StampedPressure::new(
                        round_up(exact, rounding_step(unit)).ok_or_else(too_large)?,
                        unit
                    )
                ),
            ));
        }
    }
    let pressure = StampedPressure::new(rounded, unit);
    let hold_minutes = request.code.hold_minutes();
    let unrounded = exact.normalize();
    let mut main = Step::new(
        "P_T",
        "required test pressure",
        request.code.formula(),
        request.code.source(),
    )
    .with("P", "rated pressure", request.rating, Source::Nameplate);
    // The directive's formula holds its two factors itself.
    if request.code != Code::Ped {
        let source = if request.factor.is_some() {
            Source::Plant
        } else {
            request.code.source()
        };
        main = main.with("f", "test factor", factor.normalize(), source);
    }
    let mut main = main
        .with(
            "S_T/S",
            "stress ratio",
            ratio.normalize(),
            Source::Arithmetic,
        )
        .gives(pressure);
    if rounded != exact {
        main = main.rounded(format!(
            "from {unrounded} {unit} up to the next {} {unit}",
            step.normalize()
        ));
    }
    let working = Working::new("Required test pressure")
        .step(ratio_step(request, ratio))
        .step(main);
    Ok(Required {
        pressure,
        unrounded,
        hold_minutes,
        working: finished(working, request, hold_minutes),
    })
}

fn ratio_step(request: &Request, ratio: Decimal) -> Step {
    let given = request
        .stress_ratio
        .map_or_else(|| "none given".to_owned(), |given| significant(given, 6));
    Step::new(
        "S_T/S",
        "stress ratio, at least 1",
        "max(S_T/S, 1)",
        request.code.source(),
    )
    .with("S_T/S", "stress ratio as given", given, Source::Entered)
    .gives(ratio.normalize())
}

fn finished(working: Working, request: &Request, hold_minutes: u32) -> Working {
    let mut working = working
        .remark(format!(
            "Hold at least {hold_minutes} min ({}), and as long as the examination needs; any visible leak fails.",
            request.code.hold_source().words()
        ))
        .remark("The rule speaks of metal. Never go above the test pressure the maker or the drawing states for the assembly: glass has no yield.");
    if let Some(limit) = request.component_limit {
        working = working.remark(format!("Component limit {limit}: not exceeded."));
    }
    if request.code == Code::AsmeViiiUg99 {
        working = working.remark(
            "Close examination at not less than the test pressure divided by 1.3 (UG-99(g)).",
        );
    }
    working
}
