//! Whether values of a list can be true of a level gauge at all: pressures, temperatures, torques
//! for their thread. These limits catch slips of the pen; what a gauge may bear is not decided here.

use std::collections::HashMap;

use rust_decimal::Decimal;

use crate::calc::bolting::materials::{self, Material};
use crate::calc::bolting::threads::Thread;
use crate::calc::bolting::{self, Lubrication, NutFactor};
use crate::calc::quantity::{
    Stamped, StampedPressure, StampedTemperature, StampedTorque, TorqueUnit, Unit, significant,
};

/// Above this no level gauge with flat glass is rated (common practice, no source), in pascal.
const MOST_PRESSURE: f64 = 100.0e6;
/// Below and above this no level gauge works (common practice, no source), in kelvin.
const TEMPERATURES: std::ops::RangeInclusive<f64> = 50.0..=1000.0;
/// The largest bolt usual on the cover of a level gauge (common practice, no source).
const LARGEST: &str = "1-8";

/// Judges torques against their threads, each thread computed once.
#[derive(Debug, Default)]
pub struct Torques {
    most: HashMap<String, Option<f64>>,
}

impl Torques {
    /// Whether a torque can be meant for a bolt of this thread.
    ///
    /// # Errors
    /// Zero, negative, or more than would stretch even a dry bolt of the usual strong material
    /// (ASTM A193 B7) past its yield strength.
    pub fn judge(&mut self, torque: StampedTorque, thread: &str) -> Result<(), String> {
        if torque.value <= Decimal::ZERO {
            return Err(format!(
                "{torque} cannot be: a torque is above zero. Write \u{201c}unreadable\u{201d} where the tag cannot be read"
            ));
        }
        let (named, most) = match self.most_of(thread) {
            Some(most) => (format!("a {} bolt", thread.trim()), most),
            None => match self.most_of(LARGEST) {
                Some(most) => (format!("even a {LARGEST} bolt"), most),
                None => return Ok(()),
            },
        };
        if torque.si() <= most {
            return Ok(());
        }
        let limit = significant(torque.unit.from_si(most), 3);
        Err(format!(
            "{torque} is more than {named} bears: about {limit} {} would stretch it past yield. Look at the number, its unit and the thread",
            torque.unit
        ))
    }

    /// The torque at which a dry bolt yields, in newton metres; nothing for an unknown thread.
    fn most_of(&mut self, thread: &str) -> Option<f64> {
        let name = thread.trim();
        if let Some(known) = self.most.get(name) {
            return *known;
        }
        let most = yielding_torque(name);
        // Text nobody limits must not fill the memory; a plant has a handful of threads.
        if self.most.len() < 1000 {
            self.most.insert(name.to_owned(), most);
        }
        most
    }
}

fn yielding_torque(thread: &str) -> Option<f64> {
    let thread: Thread = thread.parse().ok()?;
    let strength = materials::yield_strength(Material::B7, thread)
        .ok()?
        .strength;
    // Stress grows with torque in proportion, so one newton metre tells it all.
    let one = Stamped::new(Decimal::ONE, TorqueUnit::NewtonMetre);
    let band = bolting::load(one, thread, NutFactor::of(Lubrication::Dry), Some(strength)).ok()?;
    band.low.of_yield.map(|share| 1.0 / share)
}

/// Whether a rated pressure can be meant.
///
/// # Errors
/// Zero, negative, or beyond what level gauges are made for.
pub fn pressure(rating: StampedPressure) -> Result<(), String> {
    if rating.value <= Decimal::ZERO {
        return Err(format!(
            "{rating} cannot be: a rated pressure is above zero"
        ));
    }
    if rating.si() > MOST_PRESSURE {
        return Err(format!(
            "{rating} is above 1000 bar, more than any level gauge is rated for; look at the number and its unit"
        ));
    }
    Ok(())
}

/// Whether the temperature of a rating can be meant.
///
/// # Errors
/// Too cold or too hot for any level gauge.
pub fn temperature(at: StampedTemperature) -> Result<(), String> {
    if TEMPERATURES.contains(&at.si()) {
        Ok(())
    } else {
        Err(format!(
            "{at} is no temperature a level gauge works at; look at the number and its unit"
        ))
    }
}
