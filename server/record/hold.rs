//! A hold under way: when it began by the server's clock, what was read, and how long it has lasted.
//! What a finished one comes to is in `pressure_test`.

use time::Duration;

use super::ids::{HoldId, InstrumentNumber};
use super::moment::Moment;
use super::pressure_test::{Medium, Reading};
use crate::calc::quantity::{StampedPressure, StampedTemperature};

/// What was read at a moment of the hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HoldReading {
    /// When, by the server's clock.
    pub at: Moment,
    /// The pressure.
    pub pressure: StampedPressure,
    /// The temperature, where it was read.
    pub temperature: Option<StampedTemperature>,
    /// Who read it.
    pub person: String,
}

/// A hold under way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hold {
    /// The row.
    pub id: HoldId,
    /// When it began.
    pub began: Moment,
    /// The pressure gauge that is read.
    pub instrument: InstrumentNumber,
    /// What the gauge is filled with.
    pub medium: Medium,
    /// Who began it.
    pub person: String,
    /// What was read, in order.
    pub readings: Vec<HoldReading>,
}

impl Hold {
    /// Whole minutes from its beginning to a moment.
    pub fn minute(&self, at: Moment) -> u32 {
        let passed = (at.at() - self.began.at()).whole_minutes();
        u32::try_from(passed.max(0)).unwrap_or(u32::MAX)
    }

    /// When it has lasted so many minutes.
    pub fn over_at(&self, minutes: u32) -> Moment {
        self.began.plus(Duration::minutes(i64::from(minutes)))
    }

    /// Its readings by the minute, as a test keeps them: the first one at its beginning, of several in
    /// one minute the last.
    pub fn by_minute(&self) -> Vec<Reading> {
        let mut minutes: Vec<Reading> = Vec::new();
        for taken in &self.readings {
            let reading = Reading {
                minute: self.minute(taken.at),
                pressure: taken.pressure,
                temperature: taken.temperature,
            };
            match minutes.last_mut() {
                Some(last) if last.minute == reading.minute && last.minute > 0 => *last = reading,
                Some(last) if last.minute == reading.minute => {}
                _ => minutes.push(reading),
            }
        }
        minutes
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::Decimal;
    use time::macros::datetime;

    use super::*;
    use crate::calc::quantity::PressureUnit;

    fn read(seconds: i64, psi: i64) -> HoldReading {
        HoldReading {
            at: start().plus(Duration::seconds(seconds)),
            pressure: StampedPressure::new(Decimal::from(psi), PressureUnit::Psi),
            temperature: None,
            person: "Test technician".to_owned(),
        }
    }

    fn start() -> Moment {
        Moment::new(datetime!(2026-03-02 09:00 UTC))
    }

    #[test]
    fn minutes_are_whole_ones_and_the_reading_at_the_beginning_is_kept() {
        let hold = Hold {
            id: HoldId(1),
            began: start(),
            instrument: "PG-22".parse().unwrap_or_else(|_| unreachable!()),
            medium: Medium::Water,
            person: String::new(),
            readings: vec![
                read(0, 1510),
                read(59, 1509),
                read(150, 1508),
                read(170, 1507),
                read(300, 1505),
            ],
        };
        let by_minute: Vec<(u32, String)> = hold
            .by_minute()
            .iter()
            .map(|r| (r.minute, r.pressure.to_string()))
            .collect();
        let told = |minute: u32, words: &str| (minute, words.to_owned());
        assert_eq!(
            by_minute,
            [
                told(0, "1510 psi"),
                told(2, "1507 psi"),
                told(5, "1505 psi")
            ]
        );
        assert_eq!(hold.minute(start().plus(Duration::seconds(299))), 4);
    }
}
