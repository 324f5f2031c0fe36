//! The rated pressure at a temperature, read from a table of pressure-temperature points.
//! Which table applies to which material and class is for the nameplate and the standard to say.

use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::quantity::{PressureUnit, StampedPressure, StampedTemperature, TemperatureUnit};
use super::working::{Source, Step, Working};

/// One point of a rating table: this pressure is allowed up to this temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Point {
    /// The temperature of the point.
    pub temperature: StampedTemperature,
    /// The rated gauge pressure at it.
    pub pressure: StampedPressure,
}

/// A rated pressure read from a table.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Rated {
    /// The rated pressure, in the table's own unit.
    pub pressure: StampedPressure,
    /// How it was found.
    pub working: Working,
}

/// Decimals an interpolated rating keeps; what lies beyond is cut off, towards the safe side.
const DECIMALS: u32 = 6;
/// Most points of one table.
const MOST_POINTS: usize = 100;

/// A temperature in degrees Fahrenheit as an exact decimal.
///
/// Fahrenheit is the one scale of the three into which the other two convert without a division,
/// so a table can be compared and interpolated without any rounding of temperatures.
fn fahrenheit(temperature: StampedTemperature) -> Option<Decimal> {
    let celsius = match temperature.unit {
        TemperatureUnit::Fahrenheit => return Some(temperature.value),
        TemperatureUnit::Celsius => temperature.value,
        TemperatureUnit::Kelvin => temperature.value.checked_sub(Decimal::new(27_315, 2))?,
    };
    celsius
        .checked_mul(Decimal::new(18, 1))?
        .checked_add(Decimal::from(32))
}

fn sane_temperature(
    input: &'static str,
    temperature: StampedTemperature,
) -> Result<Decimal, OutOfRange> {
    let refuse = || OutOfRange::new(input, temperature, "between absolute zero and 2000 °C");
    let t = fahrenheit(temperature).ok_or_else(refuse)?;
    if t < Decimal::new(-45_967, 2) || t > Decimal::from(3632) {
        return Err(refuse());
    }
    Ok(t)
}

/// The points as exact temperatures and numbers of one pressure unit, rising in temperature.
fn sorted(points: &[Point]) -> Result<(PressureUnit, Vec<(Decimal, Point)>), OutOfRange> {
    let Some(first) = points.first() else {
        return Err(OutOfRange::new(
            "rating table",
            "empty",
            "at least one point",
        ));
    };
    if points.len() > MOST_POINTS {
        return Err(OutOfRange::new(
            "rating table",
            points.len(),
            format!("at most {MOST_POINTS} points"),
        ));
    }
    let unit = first.pressure.unit;
    let mut rows = Vec::with_capacity(points.len());
    for point in points {
        if point.pressure.unit != unit {
            return Err(OutOfRange::new(
                "rated pressure",
                point.pressure,
                format!(
                    "in {unit} like the table's first point; tables in other units are not conversions of each other"
                ),
            ));
        }
        if point.pressure.value <= Decimal::ZERO || point.pressure.value > Decimal::from(10_000_000)
        {
            return Err(OutOfRange::new(
                "rated pressure",
                point.pressure,
                "greater than 0",
            ));
        }
        rows.push((
            sane_temperature("temperature of a rating point", point.temperature)?,
            *point,
        ));
    }
    rows.sort_by_key(|(t, _)| *t);
    if let Some(pair) = rows.windows(2).find(|pair| pair[0].0 == pair[1].0) {
        return Err(OutOfRange::new(
            "temperature of a rating point",
            pair[1].1.temperature,
            "given once in the table",
        ));
    }
    Ok((unit, rows))
}

/// The rated pressure at a temperature.
///
/// # Formula
/// Between the neighbouring points (t₁, p₁) and (t₂, p₂), t₁ ≤ t ≤ t₂:
/// p = p₁ + (p₂ − p₁)·(t − t₁)/(t₂ − t₁); p in the table's own unit, t on any one scale.
/// At a point the tabulated value is returned as stamped. The arithmetic is decimal; what lies
/// beyond the sixth decimal is cut off.
///
/// # Valid range
/// From the lowest to the highest temperature of the table, never beyond. A row that holds for a
/// range ("−29 to 38 °C") is given as two points. Points may come in any order.
///
/// # Errors
/// An empty table, points in different pressure units, a pressure not above zero, one temperature
/// given twice, or a temperature outside the table.
///
/// # Source
/// ASME B16.5, 2.1: linear interpolation between temperatures is permitted, between classes it is
/// not. That nothing is read beyond the table's ends is the same rule.
pub fn at(points: &[Point], temperature: StampedTemperature) -> Result<Rated, OutOfRange> {
    let (unit, rows) = sorted(points)?;
    let t = sane_temperature("temperature", temperature)?;
    let outside = || {
        let ends = match (rows.first(), rows.last()) {
            (Some((_, low)), Some((_, high))) => {
                format!("between {} and {}", low.temperature, high.temperature)
            }
            _ => "within the table".to_owned(),
        };
        OutOfRange::new(
            "temperature",
            temperature,
            format!("{ends}, the ends of the rating table"),
        )
    };
    let above = rows
        .iter()
        .position(|(point, _)| *point >= t)
        .ok_or_else(outside)?;
    let (t2, high) = rows[above];
    if t2 == t {
        let working = Working::new("Rated pressure at temperature").step(
            Step::new(
                "p",
                "rated pressure",
                "p(t), a point of the table",
                Source::Nameplate,
            )
            .with("t", "temperature", temperature, Source::Entered)
            .gives(high.pressure),
        );
        return Ok(Rated {
            pressure: high.pressure,
            working,
        });
    }
    let (t1, low) = *above
        .checked_sub(1)
        .and_then(|below| rows.get(below))
        .ok_or_else(outside)?;
    let (p1, p2) = (low.pressure.value, high.pressure.value);
    let rise = (p2 - p1)
        .checked_mul(t - t1)
        .and_then(|product| product.checked_div(t2 - t1))
        .ok_or_else(outside)?;
    let pressure = StampedPressure::new(
        (p1 + rise)
            .round_dp_with_strategy(DECIMALS, RoundingStrategy::ToNegativeInfinity)
            .normalize(),
        unit,
    );
    let working = Working::new("Rated pressure at temperature").step(
        Step::new(
            "p",
            "rated pressure",
            "p = p₁ + (p₂ − p₁)·(t − t₁)/(t₂ − t₁)",
            Source::published("ASME B16.5, 2.1"),
        )
        .with("t", "temperature", temperature, Source::Entered)
        .with(
            "t₁",
            "next lower temperature of the table",
            low.temperature,
            Source::Nameplate,
        )
        .with("p₁", "rating there", low.pressure, Source::Nameplate)
        .with(
            "t₂",
            "next higher temperature of the table",
            high.temperature,
            Source::Nameplate,
        )
        .with("p₂", "rating there", high.pressure, Source::Nameplate)
        .rounded("cut off after the sixth decimal")
        .gives(pressure),
    );
    Ok(Rated { pressure, working })
}
