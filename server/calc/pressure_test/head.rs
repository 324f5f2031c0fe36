//! The head of liquid between the test gauge and the ends of what is tested.
//! Where the density of the liquid comes from is for the caller: `water` knows that of water.

use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use serde::{Deserialize, Serialize};
use uom::si::f64::MassDensity;
use uom::si::mass_density::kilogram_per_cubic_meter;

use super::{round_up, rounding_step};
use crate::calc::OutOfRange;
use crate::calc::quantity::{
    GaugePressure, PressureUnit, StampedLength, StampedPressure, significant,
};
use crate::calc::working::{Source, Step, Working};

/// Standard acceleration of free fall in m/s², exact by definition (ISO 80000-3).
const FREE_FALL: f64 = 9.806_65;
/// Largest difference in height, in metres.
const MOST_METRES: f64 = 200.0;

/// Where the test gauge sits against what is tested; a negative height turns the word round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Elevations {
    /// Height of the gauge above the lowest point under test.
    pub above_lowest: StampedLength,
    /// Height of the highest point under test above the gauge.
    pub below_highest: StampedLength,
}

/// The pressures at the ends of what is tested while the gauge shows its reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Ends {
    /// The unit of the reading, which is the unit of both numbers.
    pub unit: PressureUnit,
    /// Pressure at the lowest point: compare it with what the parts may see.
    pub lowest: f64,
    /// Pressure at the highest point: compare it with what the test requires.
    pub highest: f64,
    /// How both were found.
    pub working: Working,
}

/// What the gauge has to show.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// The least reading of the gauge, rounded up to the same step as a required test pressure.
    pub reading: StampedPressure,
    /// The pressure at the lowest point at that reading, in the same unit.
    pub lowest: f64,
    /// How both were found.
    pub working: Working,
}

fn density_checked(density: MassDensity) -> Result<f64, OutOfRange> {
    let rho = density.get::<kilogram_per_cubic_meter>();
    if rho > 0.0 && rho <= 25_000.0 {
        Ok(rho)
    } else {
        Err(OutOfRange::new(
            "density of the test liquid",
            format!("{rho} kg/m³"),
            "greater than 0 and at most 25000 kg/m³",
        ))
    }
}

fn height_checked(input: &'static str, height: StampedLength) -> Result<f64, OutOfRange> {
    let metres = height.si();
    if metres.abs() <= MOST_METRES {
        Ok(metres)
    } else {
        Err(OutOfRange::new(
            input,
            height,
            format!("from -{MOST_METRES} to {MOST_METRES} m"),
        ))
    }
}

/// The pressure of a column of liquid.
///
/// # Formula
/// `Δp = ρ·g·h`; ρ density in kg/m³, g = 9.80665 m/s², h height in m, Δp in Pa. The liquid is taken
/// as incompressible, which for 200 m of water is 0.05 % low.
///
/// # Valid range
/// 0 < ρ ≤ 25 000 kg/m³, −200 m ≤ h ≤ 200 m; below zero the head is negative.
///
/// # Errors
/// A density or height outside the range.
///
/// # Source
/// Hydrostatics; g after ISO 80000-3. That a test gauge is corrected for head: ASME PCC-2, 501-6.1(e).
pub fn of_column(density: MassDensity, height: StampedLength) -> Result<GaugePressure, OutOfRange> {
    let rho = density_checked(density)?;
    Ok(GaugePressure::from_pa(
        rho * FREE_FALL * height_checked("height of the column", height)?,
    ))
}

fn heads(density: MassDensity, elevations: Elevations) -> Result<(f64, f64), OutOfRange> {
    let rho = density_checked(density)?;
    let down = height_checked(
        "height of the gauge above the lowest point",
        elevations.above_lowest,
    )?;
    let up = height_checked(
        "height of the highest point above the gauge",
        elevations.below_highest,
    )?;
    if down + up < 0.0 {
        return Err(OutOfRange::new(
            "height of the highest point above the gauge",
            elevations.below_highest,
            "such that the highest point is not below the lowest",
        ));
    }
    Ok((rho * FREE_FALL * down, rho * FREE_FALL * up))
}

fn head_step(density: MassDensity, elevations: Elevations) -> Step {
    Step::new(
        "p_low, p_high",
        "pressure at the lowest and the highest point",
        "p_low = p + ρ·g·h_low; p_high = p − ρ·g·h_high",
        Source::published("hydrostatics; g after ISO 80000-3"),
    )
    .with(
        "ρ",
        "density of the liquid",
        format!(
            "{} kg/m³",
            significant(density.get::<kilogram_per_cubic_meter>(), 6)
        ),
        Source::Arithmetic,
    )
    .with(
        "g",
        "free fall",
        "9.80665 m/s²",
        Source::published("ISO 80000-3"),
    )
    .with(
        "h_low",
        "height of the gauge above the lowest point",
        elevations.above_lowest,
        Source::Entered,
    )
    .with(
        "h_high",
        "height of the highest point above the gauge",
        elevations.below_highest,
        Source::Entered,
    )
}

/// The pressures at the lowest and the highest point while the gauge shows a reading.
///
/// # Formula
/// `p_low = p + ρ·g·h_low`, `p_high = p − ρ·g·h_high`; symbols as in [`of_column`].
///
/// # Valid range
/// As [`of_column`]; the highest point not below the lowest; a reading of zero or more, to 1000 bar.
///
/// # Errors
/// An input outside the range.
///
/// # Source
/// As [`of_column`]. ASME B31.3 asks for the test pressure at every point, UG-99 and the PED at the
/// top of the vessel: for both the highest point has to reach it.
pub fn at_ends(
    reading: StampedPressure,
    density: MassDensity,
    elevations: Elevations,
) -> Result<Ends, OutOfRange> {
    if reading.value < Decimal::ZERO || reading.si() > super::HIGHEST_RATING_PA {
        return Err(OutOfRange::new(
            "reading of the test gauge",
            reading,
            "from 0 to 1000 bar",
        ));
    }
    let (down, up) = heads(density, elevations)?;
    let pascal = reading.si();
    let lowest = GaugePressure::from_pa(pascal + down).get(reading.unit);
    let highest = GaugePressure::from_pa(pascal - up).get(reading.unit);
    let working = Working::new("Head of liquid").step(
        head_step(density, elevations)
            .with("p", "reading of the test gauge", reading, Source::Entered)
            .gives(format!(
                "{} and {} {}",
                significant(lowest, 6),
                significant(highest, 6),
                reading.unit
            )),
    );
    Ok(Ends {
        unit: reading.unit,
        lowest,
        highest,
        working,
    })
}

/// The reading at which the highest point sees the required test pressure.
///
/// # Formula
/// `p = P_T + ρ·g·h_high`, rounded up like a required test pressure; with that reading
/// `p_low = p + ρ·g·h_low`. Symbols as in [`of_column`].
///
/// # Valid range
/// As [`at_ends`]; the required pressure above zero.
///
/// # Errors
/// An input outside the range, a gauge so high that it would show nothing, or a component limit below
/// the pressure at the lowest point.
///
/// # Source
/// As [`at_ends`].
pub fn reading_for(
    required: StampedPressure,
    density: MassDensity,
    elevations: Elevations,
    component_limit: Option<StampedPressure>,
) -> Result<Reading, OutOfRange> {
    super::pressure_checked("test pressure", required)?;
    let (down, up) = heads(density, elevations)?;
    let unit = required.unit;
    let too_large = || OutOfRange::new("test pressure", required, "a number with fewer digits");
    let head = Decimal::from_f64(GaugePressure::from_pa(up).get(unit)).ok_or_else(too_large)?;
    let exact = required.value.checked_add(head).ok_or_else(too_large)?;
    let step = rounding_step(unit);
    let reading = StampedPressure::new(round_up(exact, step).ok_or_else(too_large)?, unit);
    if reading.value <= Decimal::ZERO {
        return Err(OutOfRange::new(
            "height of the highest point above the gauge",
            elevations.below_highest,
            "such that the gauge still shows a pressure",
        ));
    }
    let lowest = GaugePressure::from_pa(reading.si() + down).get(unit);
    if let Some(limit) = component_limit
        && lowest > limit.in_unit(unit) * (1.0 + super::SAME)
    {
        return Err(OutOfRange::new(
            "component limit",
            limit,
            format!(
                "not below {} {unit}, the pressure at the lowest point",
                significant(lowest, 6)
            ),
        ));
    }
    let working = Working::new("Reading of the test gauge")
        .step(
            Step::new(
                "p",
                "least reading",
                "p = P_T + ρ·g·h_high",
                Source::published("hydrostatics; g after ISO 80000-3"),
            )
            .with(
                "P_T",
                "required test pressure",
                required,
                Source::Arithmetic,
            )
            .rounded(format!("up to the next {} {unit}", step.normalize()))
            .gives(reading),
        )
        .step(
            head_step(density, elevations)
                .with(
                    "p",
                    "reading of the test gauge",
                    reading,
                    Source::Arithmetic,
                )
                .gives(format!(
                    "{} {unit} at the lowest point",
                    significant(lowest, 6)
                )),
        );
    Ok(Reading {
        reading,
        lowest,
        working,
    })
}
