//! The hold record as a drawing: pressure against time with the required pressure, and the
//! temperature where it was read. The figures themselves stand in a table beside it.

use crate::calc::quantity::{PressureUnit, StampedPressure, TemperatureUnit, Unit, significant};
use crate::pages::show::place;
use crate::record::pressure_test::{Reading, TestFacts};

const LEFT: f64 = 84.0;
const RIGHT: f64 = 356.0;
const TOP: f64 = 28.0;
const BOTTOM: f64 = 180.0;

/// A drawn hold.
#[derive(Debug)]
pub struct HoldChart {
    /// Points of the pressure line.
    pub pressure: String,
    /// Points of the temperature line; empty where fewer than two were read.
    pub temperature: String,
    /// Where single pressures stand.
    pub dots: Vec<(String, String)>,
    /// Height of the line of the required pressure.
    pub required: String,
    /// Marks at the left: height and words.
    pub pressures: Vec<(String, String)>,
    /// Marks at the right.
    pub temperatures: Vec<(String, String)>,
    /// Marks below: place and words.
    pub minutes: Vec<(String, String)>,
    /// What the drawing shows, in words.
    pub says: String,
}

/// Maps values between two ends onto the height of the drawing, the higher the further up.
struct Scale {
    low: f64,
    high: f64,
}

impl Scale {
    fn over(values: impl Iterator<Item = f64> + Clone) -> Self {
        let low = values.clone().fold(f64::INFINITY, f64::min);
        let high = values.fold(f64::NEG_INFINITY, f64::max);
        // Room for a line that does not move, and a little above and below.
        let room = ((high - low) * 0.15).max(high.abs() * 0.01).max(0.5);
        Self {
            low: low - room,
            high: high + room,
        }
    }

    fn y(&self, value: f64) -> f64 {
        BOTTOM - (value - self.low) / (self.high - self.low) * (BOTTOM - TOP)
    }
}

impl HoldChart {
    /// Draws the hold of a test; nothing where fewer than two readings were taken.
    pub fn of(facts: &TestFacts) -> Option<Self> {
        Self::drawn(&facts.readings, facts.required)
    }

    /// Draws readings in their order against the required pressure; nothing of fewer than two.
    pub fn drawn(readings: &[Reading], required: StampedPressure) -> Option<Self> {
        let (first, last) = (readings.first()?, readings.last()?);
        let span = last
            .seconds()
            .checked_sub(first.seconds())
            .filter(|s| *s > 0)?;
        let x = |reading: &Reading| {
            LEFT + f64::from(reading.seconds().saturating_sub(first.seconds())) / f64::from(span)
                * (RIGHT - LEFT)
        };
        let unit = first.pressure.unit;
        let values: Vec<f64> = readings.iter().map(|r| r.pressure.in_unit(unit)).collect();
        let level = required.in_unit(unit);
        let scale = Scale::over(values.iter().copied().chain([level]));
        let line = |points: &[(f64, f64)]| {
            points
                .iter()
                .map(|(x, y)| format!("{},{}", place(*x), place(*y)))
                .collect::<Vec<_>>()
                .join(" ")
        };
        let points: Vec<(f64, f64)> = readings
            .iter()
            .zip(&values)
            .map(|(reading, value)| (x(reading), scale.y(*value)))
            .collect();
        let degrees = readings.iter().find_map(|r| r.temperature);
        let (temperature, temperatures) = degrees.map_or_else(Default::default, |first| {
            let read = readings.iter();
            let warm: Vec<(f64, f64)> = read
                .filter_map(|r| Some((x(r), r.temperature?.in_unit(first.unit))))
                .collect();
            warmth(&warm, first.unit, &line)
        });
        Some(Self {
            pressure: line(&points),
            temperature,
            dots: points.iter().map(|(x, y)| (place(*x), place(*y))).collect(),
            required: place(scale.y(level)),
            pressures: marks(&scale, level, unit),
            temperatures,
            minutes: spaced(readings.iter().map(|r| (x(r), r.after())).collect()),
            says: format!(
                "Pressure over {} minutes: from {} at the start to {} at the end; required {required}.",
                span / 60,
                first.pressure,
                last.pressure
            ),
        })
    }
}

/// Marks of minutes with room between them; the first and the last always stand.
fn spaced(all: Vec<(f64, String)>) -> Vec<(String, String)> {
    let last = all.last().map_or(RIGHT, |(x, _)| *x);
    let mut kept: Vec<(f64, String)> = Vec::new();
    for (x, minute) in all {
        let clear = kept.last().is_none_or(|(before, _)| x - before >= 32.0);
        if x >= last || (clear && last - x >= 48.0) {
            kept.push((x, minute));
        }
    }
    kept.into_iter()
        .map(|(x, minute)| (place(x), minute))
        .collect()
}

fn marks(scale: &Scale, required: f64, unit: PressureUnit) -> Vec<(String, String)> {
    let ends = [scale.low, scale.high];
    let mut list: Vec<(String, String)> = ends
        .iter()
        .filter(|end| (scale.y(**end) - scale.y(required)).abs() > 16.0)
        .map(|end| (place(scale.y(*end)), significant(*end, 4)))
        .collect();
    list.push((
        place(scale.y(required)),
        format!("{} {unit}", significant(required, 6)),
    ));
    list
}

fn warmth(
    warm: &[(f64, f64)],
    degrees: TemperatureUnit,
    line: &impl Fn(&[(f64, f64)]) -> String,
) -> (String, Vec<(String, String)>) {
    if warm.len() < 2 {
        return (String::new(), Vec::new());
    }
    let scale = Scale::over(warm.iter().map(|(_, value)| *value));
    let points: Vec<(f64, f64)> = warm.iter().map(|(x, t)| (*x, scale.y(*t))).collect();
    let last = warm.last().map(|(_, value)| *value).unwrap_or_default();
    let mark = (
        place(scale.y(last)),
        format!("{} {}", significant(last, 4), degrees.symbol()),
    );
    (line(&points), vec![mark])
}
