//! Two drawings of a seating face: how far each station lies from the middle plane of the minimum
//! zone, and the wall behind it by the years against its limit. The figures stand in tables beside.

use time::{Date, Duration};

use crate::calc::flatness::minimum_zone;
use crate::calc::quantity::{LengthUnit, StampedLength, Unit, significant};
use crate::calc::seat::stations;
use crate::calc::wall::{Carried, Outlook, RemainingLife, Taken, WallReading};
use crate::pages::show;
use crate::pages::show::place;
use crate::record::face::Heights;
use crate::record::sentence::Sentence;
use crate::record::wear::Wear;

const LEFT: f64 = 84.0;
const RIGHT: f64 = 600.0;
/// Half the height a rail's deviations are drawn in.
const HALF: f64 = 40.0;

/// One station: where it is drawn and what was read.
#[derive(Debug, Clone)]
pub struct Dot {
    /// Across the drawing.
    pub x: String,
    /// Down the drawing.
    pub y: String,
    /// Whether it carries the zone: one of the highest or lowest points.
    pub carries: bool,
}

/// One rail as it is drawn.
#[derive(Debug, Clone)]
pub struct RailDrawn {
    /// Its name.
    pub name: &'static str,
    /// Height of its middle plane.
    pub middle: String,
    /// Top of the zone.
    pub top: String,
    /// Height of the zone.
    pub zone: String,
    /// The line through its stations.
    pub line: String,
    /// Its stations.
    pub dots: Vec<Dot>,
}

/// One line of the table: station, and height and deviation on both rails.
#[derive(Debug, Clone)]
pub struct Row {
    /// Counted from the upper end.
    pub station: usize,
    /// Along the rail.
    pub along: String,
    /// Height and deviation on the left rail.
    pub left: (String, String),
    /// Height and deviation on the right rail.
    pub right: (String, String),
}

/// The drawn flatness of a face.
#[derive(Debug, Clone)]
pub struct FaceMap {
    /// The two rails.
    pub rails: Vec<RailDrawn>,
    /// The table.
    pub rows: Vec<Row>,
    /// Unit of heights and deviations.
    pub unit: &'static str,
    /// What the drawing shows.
    pub says: Sentence,
}

impl FaceMap {
    /// Draws the heights; none where no flatness can be stated.
    pub fn of(heights: &Heights, limit: StampedLength) -> Option<Self> {
        let all = stations(
            heights.pitch_mm,
            heights.rails_apart_mm,
            &heights.left,
            &heights.right,
        );
        let flat = minimum_zone(&all).ok()?;
        let count = heights.left.len();
        let stated = if limit.unit == heights.unit {
            limit
        } else {
            // In the unit of the heights, as the drawing is.
            significant(limit.in_unit(heights.unit), 3)
                .parse()
                .map_or(limit, |number| StampedLength::new(number, heights.unit))
        };
        let limit = limit.in_unit(heights.unit);
        let scale = HALF / (flat.minimum_zone.max(limit) / 2.0 * 1.1).max(f64::MIN_POSITIVE);
        let length = all.iter().map(|s| s.x).fold(0.0, f64::max);
        let deviation = |i: usize| {
            all.get(i)
                .map_or(0.0, |s| s.height - flat.plane.height_at(s))
        };
        let rail = |name: &'static str, first: usize, middle: f64| {
            let dots: Vec<Dot> = (first..first + count)
                .filter_map(|i| {
                    let x = LEFT + all.get(i)?.x / length.max(1.0) * (RIGHT - LEFT);
                    Some(Dot {
                        x: place(x),
                        y: place(middle - deviation(i) * scale),
                        carries: flat.carrying.contains(&i),
                    })
                })
                .collect();
            let through: Vec<String> = dots.iter().map(|d| format!("{},{}", d.x, d.y)).collect();
            RailDrawn {
                name,
                middle: place(middle),
                top: place(middle - limit / 2.0 * scale),
                zone: place(limit * scale),
                line: through.join(" "),
                dots,
            }
        };
        let told = |i: usize, height: String| (height, significant(deviation(i), 3));
        let rows = heights
            .left
            .iter()
            .zip(&heights.right)
            .zip(0_usize..)
            .map(|((left, right), i)| Row {
                station: i + 1,
                along: all.get(i).map_or_else(String::new, |s| significant(s.x, 4)),
                left: told(i, left.to_string()),
                right: told(i + count, right.to_string()),
            })
            .collect();
        Some(Self {
            rails: vec![rail("left", 0, 52.0), rail("right", count, 152.0)],
            rows,
            unit: heights.unit.symbol(),
            says: Sentence::of(format!(
                "Deviation of {count} stations on each rail from the middle plane; the shaded band is the limit of "
            ))
            .at_most(stated),
        })
    }
}

/// A drawn wall: its readings by the day against the limit.
#[derive(Debug, Clone)]
pub struct WallChart {
    /// The readings.
    pub dots: Vec<Dot>,
    /// The line through those that count.
    pub line: String,
    /// From the last reading to where it meets the limit; empty where no wear is known.
    pub ahead: String,
    /// Height of the limit.
    pub limit: String,
    /// Marks at the left: height and words.
    pub marks: Vec<(String, String)>,
    /// Marks below: place and words.
    pub days: Vec<(String, String)>,
    /// The readings as a table: day and what was read.
    pub rows: Vec<(Date, String)>,
    /// Rate, remaining life, next measurement.
    pub life: RemainingLife,
    /// The day by which it asks to be measured again; none while no wear is known.
    pub due: Option<Date>,
    /// Whether it is at or under the limit, as read or as reckoned: then there is no day to wait for.
    pub spent: bool,
    /// Where it was last read thicker than before: the reading than which it counts as no thicker.
    pub kept: Option<WallReading>,
    /// Where the rate comes from of a wall that was skimmed and read on no other day since.
    pub carried: Option<Carried>,
    /// The day it reaches the limit, if it goes on so.
    pub runs_out: Option<Date>,
    /// What the drawing shows.
    pub says: Sentence,
}

const WALL_TOP: f64 = 20.0;
const WALL_BOTTOM: f64 = 170.0;
/// Height of the words of a mark.
const MARK: f64 = 18.0;

impl WallChart {
    /// What the rate is the rate of, in words that the rate follows.
    pub const fn wears(&self) -> &'static str {
        match self.carried {
            None => "It wears",
            Some(Carried::BeforeSkim) => "It was not read since its skim, and before it wore",
            Some(Carried::OfGauge) => {
                "It has shown no rate of its own since its skim; the fastest of this gauge wears"
            }
        }
    }

    /// Draws the readings of one wall, in order of days; none where there are none.
    pub fn of(wear: Wear, limit: StampedLength) -> Option<Self> {
        let (due, spent) = (wear.due(), wear.is_spent());
        let Wear {
            wall,
            life,
            kept,
            carried,
        } = wear;
        let readings = wall.readings;
        let (first, last) = (readings.first()?, readings.last()?);
        let unit: LengthUnit = limit.unit;
        let runs_out = match life.outlook {
            Outlook::Lasts { years } if years < 150.0 => {
                let seconds = years * 365.25 * 86_400.0;
                last.on.checked_add(Duration::seconds_f64(seconds))
            }
            _ => None,
        };
        let end = runs_out
            .unwrap_or(last.on)
            .max(first.on.saturating_add(Duration::days(365)));
        let span = f64::from((end.to_julian_day() - first.on.to_julian_day()).max(1));
        let x = |day: Date| {
            let days = f64::from(day.to_julian_day() - first.on.to_julian_day());
            LEFT + days / span * (RIGHT - LEFT)
        };
        let values: Vec<f64> = readings.iter().map(|r| r.thickness.in_unit(unit)).collect();
        let most = values.iter().copied().fold(limit.number(), f64::max);
        let lowest = values.iter().copied().fold(limit.number(), f64::min);
        let room = ((most - lowest) * 0.2).max(limit.number() * 0.05);
        let (low, high) = (lowest - room, most + room);
        let y = |value: f64| WALL_BOTTOM - (value - low) / (high - low) * (WALL_BOTTOM - WALL_TOP);
        // Words that would stand on those of the limit are left out.
        let apart = |end: &f64| (y(*end) - y(limit.number())).abs() >= MARK;
        let ends = [most, lowest].into_iter().filter(apart);
        let dots: Vec<Dot> = readings
            .iter()
            .zip(&values)
            .map(|(reading, value)| Dot {
                x: place(x(reading.on)),
                y: place(y(*value)),
                carries: reading.taken == Taken::AfterSkim,
            })
            .collect();
        let through: Vec<String> = dots.iter().map(|d| format!("{},{}", d.x, d.y)).collect();
        let ahead = runs_out.and_then(|day| {
            let from = dots.last()?;
            Some(format!(
                "M{} {}L{} {}",
                from.x,
                from.y,
                place(x(day)),
                place(y(limit.number()))
            ))
        });
        let says = match runs_out {
            Some(day) => Sentence::of("Wall by the years against the limit of ")
                .at_least(limit)
                .words(format!(", which it reaches on {}", show::date(&day))),
            None => Sentence::of("Wall by the years against the limit of ").at_least(limit),
        };
        Some(Self {
            line: through.join(" "),
            ahead: ahead.unwrap_or_default(),
            limit: place(y(limit.number())),
            marks: std::iter::once((place(y(limit.number())), limit.to_string()))
                .chain(ends.map(|end| (place(y(end)), significant(end, 3))))
                .collect(),
            days: vec![
                (place(LEFT), first.on.year().to_string()),
                (place(RIGHT), end.year().to_string()),
            ],
            rows: readings
                .iter()
                .map(|r| (r.on, r.thickness.to_string()))
                .collect(),
            dots,
            life,
            due,
            spent,
            kept,
            carried,
            runs_out,
            says,
        })
    }
}
