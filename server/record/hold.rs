//! A hold under way: when it began by the server's clock, what was read, and how long it has lasted.
//! What a finished one comes to is in `pressure_test`.

use time::Duration;

use super::ids::{HoldId, InstrumentNumber};
use super::moment::{Moment, Zone};
use super::pressure_test::{BeganWith, Medium, Reading};
use super::sentence::Sentence;
use crate::calc::calendar::said;
use crate::calc::pressure_test::Code;
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
    /// What counts for it; none where it began before that was kept, and follows what is chosen.
    pub began_with: Option<BeganWith>,
    /// What was read, in order.
    pub readings: Vec<HoldReading>,
}

impl Hold {
    /// Whole minutes from its beginning to a moment.
    pub fn minute(&self, at: Moment) -> u32 {
        let passed = (at.at() - self.began.at()).whole_minutes();
        u32::try_from(passed.max(0)).unwrap_or(u32::MAX)
    }

    /// That it came to nothing, in a sentence: when it was begun, what was required of it and what was read.
    pub fn in_vain(&self, zone: &Zone) -> Sentence {
        let (day, began) = (said(zone.date(self.began)), zone.local(self.began));
        let opening = format!(
            "An earlier hold, begun on {day} at {:02}:{:02} with {}",
            began.hour(),
            began.minute(),
            self.instrument
        );
        let asked = self.began_with.as_ref().and_then(|with| with.asked().ok());
        let mut told = Sentence::of(opening);
        if let Some(asked) = asked {
            told = told.words(" for ").at_least(asked.required);
        }
        told = told.words(", came to nothing");
        let read = self.readings.iter().map(|read| read.pressure);
        if let Some(least) = read.min_by(|a, b| a.si().total_cmp(&b.si())) {
            told = told.words("; the lowest that was read is ").figure(least);
        }
        told.words(".")
    }

    /// When it has lasted so many minutes.
    pub fn over_at(&self, minutes: u32) -> Moment {
        self.began.plus(Duration::minutes(i64::from(minutes)))
    }

    /// Its readings as a test keeps them: every one, to the second. Of several in one second, such as
    /// one that was sent twice, the lowest pressure counts, so that none below the required one is lost.
    pub fn as_read(&self) -> Vec<Reading> {
        let mut kept: Vec<Reading> = Vec::new();
        for taken in &self.readings {
            let passed = (taken.at.at() - self.began.at()).whole_seconds().max(0);
            let passed = u32::try_from(passed).unwrap_or(u32::MAX);
            let reading = Reading {
                minute: passed / 60,
                second: passed % 60,
                pressure: taken.pressure,
                temperature: taken.temperature,
            };
            match kept.last_mut() {
                Some(last) if last.seconds() == reading.seconds() => {
                    if reading.pressure.si() < last.pressure.si() {
                        last.pressure = reading.pressure;
                    }
                    last.temperature = last.temperature.or(reading.temperature);
                }
                _ => kept.push(reading),
            }
        }
        kept
    }
}

/// A hold under way as a list names it: without what was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Running {
    /// When it began.
    pub began: Moment,
    /// Its code, and the shortest hold the plant asked for, as it began; none where that was not kept yet.
    pub asked: Option<(Code, u32)>,
}

impl Running {
    /// The minutes it has to last: the longer of what code and plant ask.
    pub fn minutes(&self) -> Option<u32> {
        let (code, plant) = self.asked?;
        Some(code.hold_minutes().max(plant))
    }

    /// When it has lasted as long as it has to.
    pub fn over_at(&self) -> Option<Moment> {
        let minutes = self.minutes()?;
        Some(self.began.plus(Duration::minutes(i64::from(minutes))))
    }

    /// The full minute by which it has lasted as long: a clock without seconds never says so too soon.
    pub fn until(&self) -> Option<Moment> {
        let over = self.over_at()?;
        let (seconds, rest) = (over.at().second(), over.at().nanosecond());
        let past = Duration::seconds(i64::from(seconds)) + Duration::nanoseconds(i64::from(rest));
        Some(if past.is_zero() {
            over
        } else {
            over.plus(Duration::MINUTE - past)
        })
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

    /// common practice, no source; by hand: 09:00:20 and 10 minutes are 09:10:20, so 09:11 on a clock without
    /// seconds. Ten minutes: ASME B31.3, 345.2.2, asks for them where the plant asks for five.
    #[test]
    fn a_hold_is_never_said_to_be_over_before_its_last_second() {
        let running = |seconds| Running {
            began: start().plus(Duration::seconds(seconds)),
            asked: Some((Code::AsmeB313, 5)),
        };
        let full = Moment::new(datetime!(2026-03-02 09:10 UTC));
        assert_eq!(running(0).minutes(), Some(10));
        assert_eq!(running(0).until(), Some(full));
        let next = Moment::new(datetime!(2026-03-02 09:11 UTC));
        assert_eq!(running(20).until(), Some(next));
        let plain = Running {
            asked: None,
            ..running(0)
        };
        assert_eq!(plain.until(), None);
    }

    #[test]
    fn every_reading_is_kept_to_the_second_and_the_lowest_of_one_second() {
        let hold = Hold {
            id: HoldId(1),
            began: start(),
            instrument: "PG-22".parse().unwrap_or_else(|_| unreachable!()),
            medium: Medium::Water,
            person: String::new(),
            began_with: None,
            readings: vec![
                read(0, 1510),
                read(40, 1480),
                read(150, 1508),
                read(150, 1507),
                read(170, 1509),
                read(300, 1505),
            ],
        };
        let kept: Vec<String> = hold
            .as_read()
            .iter()
            .map(|r| format!("{} {}", r.after(), r.pressure))
            .collect();
        assert_eq!(
            kept,
            [
                "0 1510 psi",
                "0:40 1480 psi",
                "2:30 1507 psi",
                "2:50 1509 psi",
                "5 1505 psi"
            ]
        );
        assert_eq!(hold.minute(start().plus(Duration::seconds(299))), 4);
    }
}
