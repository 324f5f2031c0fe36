//! The walls between through-bore and recess of one gauge: their readings place by place, how they
//! wear, and when they have to be measured again. The rates themselves are computed in `calc::wall`.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use time::Date;

use super::face::{FaceOf, FaceSeen, Reading};
use super::sentence::Sentence;
use crate::calc::OutOfRange;
use crate::calc::calendar::said;
use crate::calc::quantity::{StampedLength, Unit, significant};
use crate::calc::wall::{
    Carried, KeptLife, Outlook, RemainingLife, Taken, WallReading, WearRate, life_after_skim,
    life_of_grown,
};

/// The longest interval the computation takes: what wears so slowly is no reason to open a gauge.
const LONGEST_MONTHS: u32 = 240;

/// Where a wall is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct Place {
    /// The section, from the top.
    pub section: u8,
    /// The chamber face it lies behind.
    pub face: FaceOf,
}

/// The readings of one wall since its part was new.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wall {
    /// Where.
    pub place: Place,
    /// In order of days.
    pub readings: Vec<WallReading>,
    /// How uncertain each of them is by its instrument (standard uncertainty), where that was kept with it;
    /// else it is off by its last digit alone, as at the bench.
    pub standards: Vec<Option<StampedLength>>,
}

impl Wall {
    /// Each reading with what its instrument can be off.
    fn known(&self) -> Vec<(WallReading, Option<StampedLength>)> {
        let read = self.readings.iter().copied();
        read.zip(self.standards.iter().copied()).collect()
    }
}

/// One wall with what its readings say.
#[derive(Debug, Clone)]
pub struct Wear {
    /// Where, and what was read.
    pub wall: Wall,
    /// Rate, remaining life and next measurement.
    pub life: RemainingLife,
    /// Where it was last read thicker than before, by more than the readings can be off: the reading than
    /// which it counts as no thicker.
    pub kept: Option<WallReading>,
    /// Where the rate comes from of a wall that was skimmed and read on no other day since.
    pub carried: Option<Carried>,
}

impl Wear {
    /// Whether it is at or under the least wall, as read or as reckoned.
    pub fn is_spent(&self) -> bool {
        self.life.outlook == Outlook::Spent
    }

    /// The day by which the wall asks to be measured again; none while no wear is known. One that is spent
    /// is due since the day it was last read.
    pub fn due(&self) -> Option<Date> {
        match self.life.outlook {
            Outlook::Spent => self.wall.readings.last().map(|last| last.on),
            Outlook::Lasts { .. } => Some(self.life.next_measurement),
            Outlook::NoLossFound | Outlook::RateUnknown => None,
        }
    }
}

impl Wear {
    /// How it wears, in words.
    pub fn told(&self) -> Sentence {
        let rate = || {
            let Some(rate) = self.life.governing else {
                return Sentence::default();
            };
            let lost = significant(rate.per_year, 2);
            match lost.parse() {
                Ok(lost) => Sentence::default().figure(StampedLength::new(lost, rate.unit)),
                Err(_) => Sentence::of(format!("{lost} {}", rate.unit.symbol())),
            }
            .words(" per year; ")
        };
        let told = match self.life.outlook {
            Outlook::Spent if self.kept.is_some() => {
                rate().words("reckoned to be at or under the least wall")
            }
            Outlook::Spent => rate().words("at or under the least wall"),
            Outlook::Lasts { years } => {
                rate().words(format!("reaches the least wall in {years:.1} years"))
            }
            Outlook::NoLossFound => Sentence::of("no loss found"),
            Outlook::RateUnknown if self.kept.is_some() => Sentence::of("no rate known"),
            Outlook::RateUnknown => Sentence::of("one reading, no rate known yet"),
        };
        let told = match self.carried {
            None => told,
            Some(Carried::BeforeSkim) => {
                told.words("; not read since its skim, so at the rate before it")
            }
            Some(Carried::OfGauge) => {
                told.words("; no rate of its own since its skim, so at the fastest of this gauge")
            }
        };
        match &self.kept {
            None => told,
            Some(kept) => told
                .words("; read thicker than before, which is not taken for metal: it counts as no thicker than ")
                .figure(kept.thickness)
                .words(format!(" on {}", said(kept.on))),
        }
    }
}

/// The reading of a wall that a reading of its face holds.
pub fn wall_reading(reading: &Reading, on: Date) -> Option<WallReading> {
    Some(WallReading {
        on,
        thickness: reading.wall?,
        taken: if reading.seen == FaceSeen::Skimmed {
            Taken::AfterSkim
        } else {
            Taken::AfterService
        },
    })
}

/// The walls of a gauge from its readings in the order they were recorded. A renewed part begins
/// afresh: what was read of the old one says nothing about it.
pub fn walls(readings: impl IntoIterator<Item = (u8, Date, Reading)>) -> Vec<Wall> {
    let mut places: BTreeMap<Place, Vec<(WallReading, Option<StampedLength>)>> = BTreeMap::new();
    for (section, on, reading) in readings {
        let place = Place {
            section,
            face: reading.face,
        };
        let list = places.entry(place).or_default();
        if reading.seen == FaceSeen::Renewed {
            list.clear();
        }
        list.extend(wall_reading(&reading, on).map(|read| (read, reading.wall_off)));
        list.sort_by_key(|(read, _)| read.on);
    }
    places
        .into_iter()
        .filter(|(_, list)| !list.is_empty())
        .map(|(place, list)| {
            let (readings, standards) = list.into_iter().unzip();
            Wall {
                place,
                readings,
                standards,
            }
        })
        .collect()
}

/// What the readings of each wall say against the least wall the plant allows. One that was skimmed and read on
/// no other day since wears on as before it, or as the fastest of its gauge; `elsewhere` are the rates of walls of
/// the gauge that are not among these.
///
/// # Errors
/// Refuses a thickness or a day outside of what can be computed with.
pub fn worn(
    walls: Vec<Wall>,
    limit: StampedLength,
    elsewhere: &[WearRate],
) -> Result<Vec<Wear>, OutOfRange> {
    let mut list = Vec::with_capacity(walls.len());
    for wall in walls {
        let KeptLife { life, kept, .. } = life_of_grown(&wall.known(), limit, LONGEST_MONTHS)?;
        list.push(Wear {
            wall,
            life,
            kept,
            carried: None,
        });
    }
    let seen = list.iter().filter_map(|one| one.life.governing);
    let rates: Vec<WearRate> = seen.chain(elsewhere.iter().copied()).collect();
    for one in &mut list {
        let found = life_after_skim(&one.wall.known(), &rates, limit, LONGEST_MONTHS)?;
        if let Some(found) = found {
            one.life = found.life;
            one.carried = Some(found.carried);
        }
    }
    Ok(list)
}

/// The wall that has to be measured first, and by which day.
pub fn first_due(worn: &[Wear]) -> Option<(Date, &Wear)> {
    worn.iter()
        .filter_map(|one| Some((one.due()?, one)))
        .min_by_key(|(due, _)| *due)
}

#[cfg(test)]
#[expect(clippy::expect_used, reason = "a test that cannot go on should stop")]
mod tests {
    use time::macros::date;

    use super::*;
    use crate::calc::quantity::LengthUnit;

    /// The symbol of the inch must not read as the word: "0.0034 in a year" says another thing.
    #[test]
    fn a_rate_of_wear_is_told_per_year() {
        let inch =
            |text: &str| StampedLength::new(text.parse().expect("a number"), LengthUnit::Inch);
        let read = |on: Date, thickness: &str| WallReading {
            on,
            thickness: inch(thickness),
            taken: Taken::AfterService,
        };
        let wall = Wall {
            place: Place {
                section: 1,
                face: FaceOf::Chamber,
            },
            readings: vec![
                read(date!(2024 - 01 - 01), "0.1168"),
                read(date!(2026 - 01 - 01), "0.1100"),
            ],
            standards: vec![None, None],
        };
        let worn = worn(vec![wall], inch("0.100"), &[]).expect("in range");
        let told = worn[0].told().to_string();
        assert!(
            told.contains(" in per year; reaches the least wall in "),
            "{told}"
        );
    }
}
