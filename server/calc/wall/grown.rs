//! A wall read thicker than it was: whether what the two readings can be off explains it, and how such a wall
//! is reckoned to wear. Rates and lives themselves are found in `life`.

use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;
use time::Date;

use super::super::OutOfRange;
use super::super::calendar::said;
use super::super::quantity::{Side, StampedLength, Unit, significant, significant_to};
use super::super::working::{Source, Step, Working};
use super::life::{
    DAYS_A_YEAR, Outlook, RemainingLife, WallReading, WearRate, next, outlook, remaining_life,
    thinnest_by_day,
};
use super::{factor, float, metres, rounded_down};

/// Coverage factor of the expanded uncertainty.
const COVERAGE: f64 = 2.0;

/// Decimals a wall is told with at most, those of [`rounded_down`].
const TOLD: u32 = 9;

/// Differences closer to the uncertainty than this part of it count as equal to it.
const SAME: f64 = 1e-9;

const NO_GROWTH: &str = "A reading is thicker than one before it by more than the two can be off. Metal does not grow: it is not taken for more wall or less wear.";

/// A wall as it was read, with what the instrument can be off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Measured {
    /// What was read.
    pub thickness: StampedLength,
    /// Standard uncertainty by the instrument; none where it was not kept: then the last digit alone counts.
    pub standard: Option<StampedLength>,
}

/// A wall held against an earlier reading of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Growth {
    /// Whether it is thicker by more than the two readings can be off.
    pub unexplained: bool,
    /// What the two readings together can be off (expanded uncertainty, k = 2), in the unit of the later
    /// reading, rounded up to two digits.
    pub expanded: StampedLength,
    /// How it was found.
    pub working: Working,
}

/// Whether a wall was read thicker than before by more than the two readings can be off.
///
/// # Formula
/// t₂ − t₁ > U, U = 2·√(u₁² + u₂²), u = max(uᵢ, d/√12).
///
/// # Symbols
/// t₁, t₂: earlier and later wall; uᵢ: standard uncertainty by the instrument, where it was kept with the
/// reading, else none; d: one in the last digit as written. Lengths in any units; the difference is exact.
///
/// # Valid range
/// Walls above 0 up to 1 m; standard uncertainties from 0 to 1 m. A growth of just U is explained.
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// JCGM 100:2008 (GUM) clauses 5.1.2 and 6.2.1 (expanded uncertainty of a difference), F.2.2.1 (digits as
/// read).
pub fn growth(earlier: Measured, later: Measured) -> Result<Growth, OutOfRange> {
    let grew = float(
        metres("wall thickness", later.thickness)?
            - metres("earlier wall thickness", earlier.thickness)?,
    );
    let (before, after) = (standard_of(earlier)?, standard_of(later)?);
    let unit = later.thickness.unit;
    let off = COVERAGE * before.hypot(after);
    let unexplained = grew > off * (1.0 + SAME);
    let text = significant_to(unit.from_si(off), 2, Side::Up);
    let expanded = text
        .parse::<Decimal>()
        .map_err(|_| OutOfRange::new("expanded uncertainty", text, "a decimal number"))?;
    let expanded = StampedLength::new(expanded, unit);
    let guide = |clause: &str| Source::published(format!("JCGM 100:2008, clause {clause}"));
    let one = |symbol: &str, meaning: &str, wall: Measured, found: f64| {
        let own = wall
            .standard
            .map_or_else(|| "not kept".to_owned(), |u| u.to_string());
        Step::new(symbol, meaning, "max(uᵢ, d/√12)", guide("F.2.2.1"))
            .with("t", "wall as read", wall.thickness, Source::Entered)
            .with(
                "uᵢ",
                "standard uncertainty by the instrument",
                own,
                Source::Entered,
            )
            .with(
                "d",
                "one in the last digit",
                last_digit(wall.thickness),
                Source::Entered,
            )
            .gives(format!("{} {unit}", significant(unit.from_si(found), 3)))
    };
    let working = Working::new("A wall thicker than before")
        .step(one(
            "u₁",
            "standard uncertainty of the earlier wall",
            earlier,
            before,
        ))
        .step(one("u₂", "standard uncertainty of this wall", later, after))
        .step(
            Step::new(
                "U",
                "what the two readings can be off (k = 2)",
                "2·√(u₁² + u₂²)",
                guide("6.2.1"),
            )
            .rounded("up to two digits")
            .gives(expanded),
        )
        .step(
            Step::new("verdict", "decision", "t₂ − t₁ > U", Source::CommonPractice)
                .with("t₁", "earlier wall", earlier.thickness, Source::Entered)
                .with("t₂", "this wall", later.thickness, Source::Entered)
                .gives(if unexplained {
                    "thicker by more than they can be off"
                } else {
                    "not thicker by more than they can be off"
                }),
        );
    Ok(Growth {
        unexplained,
        expanded,
        working,
    })
}

/// One in the last digit of a length as it was written.
fn last_digit(length: StampedLength) -> StampedLength {
    StampedLength::new(Decimal::new(1, length.value.scale()), length.unit)
}

/// The standard uncertainty of a wall as read, in metres.
fn standard_of(wall: Measured) -> Result<f64, OutOfRange> {
    let digits = last_digit(wall.thickness).si() / 12.0_f64.sqrt();
    let Some(own) = wall.standard else {
        return Ok(digits);
    };
    if !(0.0..=1.0).contains(&own.si()) {
        return Err(OutOfRange::new("standard uncertainty", own, "0 to 1 m"));
    }
    Ok(digits.max(own.si()))
}

/// Wear so far, life to come and the next measurement of a wall that may have been read thicker than before.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptLife {
    /// Rate, remaining life and next measurement.
    pub life: RemainingLife,
    /// Where the wall was last read thicker than before: the reading that is kept, than which the wall
    /// counts as no thicker.
    pub kept: Option<WallReading>,
    /// What the wall counts as on the day of its last reading, rounded down; none where nothing is left.
    pub counts_as: Option<StampedLength>,
}

/// A reading with the standard uncertainty of its instrument, where that was kept.
type Known = (WallReading, Option<StampedLength>);

/// Wear rates, remaining life and next measurement of a wall from its readings, each with the standard
/// uncertainty of its instrument; growth is never taken for metal.
///
/// # Formula
/// Kept is every reading that is not thicker, by more than [`growth`] explains, than the thinnest one kept
/// before it. Where all are kept, the life is that of [`remaining_life`]. Else
/// r = max(rₐ, rₖ, rₚ, rₛ), t = min(tₐ, tₖ − r·y), RL = (t − t₀)/r;
/// next measurement = last day + min(interval, RL/2), days rounded down.
///
/// # Symbols
/// rₐ, rₖ, rₚ: governing rates of all readings, of those kept, and of all up to the last day one is kept of;
/// rₛ: the largest rate of those after that day, found among them as r is; tₐ, tₖ: walls of the last day of
/// all and of that day; y: years from that day to the last; t₀: least wall. So the wall counts as no thicker
/// than the last kept reading less what was lost since at the fastest rate, and no loss that was seen between
/// readings is forgotten for one that grew. Where none shows a loss, no rate is known: a reading that grew
/// does not show that none is lost.
///
/// A reading that grew never puts the end of life off past what was reckoned on the last day one was kept of.
/// It may put off the next measurement, by half of the time elapsed since: half of what is left to that end
/// counts from the last day, when the wall was measured, whether that is believed or not. Without a rate the
/// interval counts from the last day.
///
/// # Valid range
/// As [`remaining_life`] and [`growth`].
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// Common practice, no source: metal does not grow, so the fastest rate the readings show counts, from the
/// last one kept on. Rates, life and half of it: API 510 as in [`remaining_life`].
pub fn life_of_grown(
    readings: &[(WallReading, Option<StampedLength>)],
    limit: StampedLength,
    interval_months: u32,
) -> Result<KeptLife, OutOfRange> {
    let all = plain(readings);
    let with = remaining_life(&all, limit, interval_months)?;
    let kept = kept(readings)?;
    let (until, since) = readings.split_at(up_to(readings, &kept));
    let until = plain(until);
    let last = thinnest_by_day(&all).pop();
    let ends = last.zip(thinnest_by_day(&until).pop());
    let Some((last, before)) = ends.filter(|_| kept.len() < all.len()) else {
        return Ok(KeptLife {
            life: with,
            kept: None,
            counts_as: last.map(|last| last.thickness),
        });
    };
    let governing = |list: &[WallReading]| {
        remaining_life(list, limit, interval_months).map(|life| life.governing)
    };
    let rates = [
        with.governing,
        governing(&kept)?,
        governing(&until)?,
        fastest(since, governing)?,
    ];
    let largest = larger(rates);
    let days = last.on.to_julian_day() - before.on.to_julian_day();
    let years = f64::from(days) / DAYS_A_YEAR;
    let wall = carried_on(before.thickness, largest, years).map(|carried| {
        if last.thickness.si() < carried.si() {
            last.thickness
        } else {
            carried
        }
    });
    let grown = last.on > before.on;
    let none = WearRate {
        per_year: 0.0,
        unit: before.thickness.unit,
    };
    let outlook = match wall {
        None => Outlook::Spent,
        Some(wall) => match outlook(wall, limit, largest.unwrap_or(none))? {
            Outlook::NoLossFound if grown => Outlook::RateUnknown,
            other => other,
        },
    };
    let next_measurement = next(last.on, outlook, interval_months)?;
    let counts_as = wall.map(down);
    let reckoned = Reckoned {
        rates,
        largest,
        walls: [last, before],
        years,
        counts_as,
    };
    let working = reckoned
        .working()
        .step(lasts(limit, outlook))
        .step(measure_again(interval_months, next_measurement))
        .remark(NO_GROWTH);
    let life = RemainingLife {
        long_term: with.long_term,
        short_term: with.short_term,
        governing: largest,
        outlook,
        next_measurement,
        working,
    };
    Ok(KeptLife {
        life,
        kept: grown.then_some(before),
        counts_as,
    })
}

/// What a life with a growth in it is reckoned from.
struct Reckoned {
    /// Governing rates of all readings, of those kept, of all up to the last kept one and of those after it.
    rates: [Option<WearRate>; 4],
    /// The largest of them.
    largest: Option<WearRate>,
    /// The last reading of all, and the last kept one.
    walls: [WallReading; 2],
    /// From the one to the other.
    years: f64,
    /// What the wall counts as; none where nothing is left.
    counts_as: Option<StampedLength>,
}

impl Reckoned {
    fn working(&self) -> Working {
        let [all, kept, until, since] = self.rates.map(told);
        let [last, before] = self.walls.map(dated);
        let years = format!("{} years", significant(self.years, 4));
        let wall = self
            .counts_as
            .map_or_else(|| "none left".to_owned(), |wall| wall.to_string());
        Working::new("Remaining life of a wall read thicker than before")
            .step(
                Step::new(
                    "r",
                    "the largest wear rate",
                    "max(rₐ, rₖ, rₚ, rₛ)",
                    Source::CommonPractice,
                )
                .with("rₐ", "of all readings", all, Source::Arithmetic)
                .with("rₖ", "of those kept", kept, Source::Arithmetic)
                .with(
                    "rₚ",
                    "of all up to the last that is kept",
                    until,
                    Source::Arithmetic,
                )
                .with("rₛ", "of those since", since, Source::Arithmetic)
                .gives(told(self.largest)),
            )
            .step(
                Step::new(
                    "t",
                    "wall reckoned with",
                    "min(tₐ, tₖ − r·y)",
                    Source::CommonPractice,
                )
                .with("tₐ", "last wall", last, Source::Entered)
                .with("tₖ", "last wall that is kept", before, Source::Entered)
                .with(
                    "y",
                    "from the kept one to the last",
                    years,
                    Source::Arithmetic,
                )
                .rounded("down")
                .gives(wall),
            )
    }
}

/// The readings without what is known of their instruments.
pub(super) fn plain(readings: &[Known]) -> Vec<WallReading> {
    readings.iter().map(|(reading, _)| *reading).collect()
}

/// The readings that did not grow over the thinnest one kept before them.
fn kept(readings: &[Known]) -> Result<Vec<WallReading>, OutOfRange> {
    let mut kept = Vec::with_capacity(readings.len());
    let mut thinnest: Option<Measured> = None;
    for (reading, standard) in readings {
        let this = Measured {
            thickness: reading.thickness,
            standard: *standard,
        };
        standard_of(this)?;
        if let Some(before) = thinnest
            && this.thickness.si() > before.thickness.si()
            && growth(before, this)?.unexplained
        {
            continue;
        }
        kept.push(*reading);
        if thinnest.is_none_or(|before| this.thickness.si() < before.thickness.si()) {
            thinnest = Some(this);
        }
    }
    Ok(kept)
}

/// How many of the readings, in order of days, lie up to the last day one is kept of.
fn up_to(readings: &[Known], kept: &[WallReading]) -> usize {
    kept.last().map_or(readings.len(), |last| {
        readings.partition_point(|(reading, _)| reading.on <= last.on)
    })
}

/// The largest rate among readings: of all, of those kept, of all up to the last day one is kept of, and so on
/// with those after it.
fn fastest(
    readings: &[Known],
    governing: impl Fn(&[WallReading]) -> Result<Option<WearRate>, OutOfRange>,
) -> Result<Option<WearRate>, OutOfRange> {
    let (mut rest, mut found) = (readings, None);
    while !rest.is_empty() {
        let kept = kept(rest)?;
        let (until, since) = rest.split_at(up_to(rest, &kept));
        found = larger([
            found,
            governing(&plain(rest))?,
            governing(&kept)?,
            governing(&plain(until))?,
        ]);
        rest = since;
    }
    Ok(found)
}

/// The largest of some rates, where one is known.
fn larger(rates: [Option<WearRate>; 4]) -> Option<WearRate> {
    rates
        .into_iter()
        .flatten()
        .max_by(|a, b| metres_a_year(*a).total_cmp(&metres_a_year(*b)))
}

/// What a wall is after so many years at a rate, in its unit, not rounded yet; none where nothing is left.
fn carried_on(wall: StampedLength, rate: Option<WearRate>, years: f64) -> Option<StampedLength> {
    let lost = rate.map_or(0.0, metres_a_year) * years;
    if lost <= 0.0 {
        return Some(wall);
    }
    // Twelve decimals, so that binary rounding does not take one away.
    let left = Decimal::from_f64(wall.unit.from_si(wall.si() - lost))?.round_dp(12);
    let left = StampedLength::new(left, wall.unit);
    (down(left).value > Decimal::ZERO).then_some(left)
}

/// A length with no more digits than are told, rounded down; one as it was read stays as it is.
fn down(length: StampedLength) -> StampedLength {
    if length.value.scale() <= TOLD {
        return length;
    }
    StampedLength::new(rounded_down(length.value), length.unit)
}

pub(super) fn metres_a_year(rate: WearRate) -> f64 {
    rate.per_year * float(factor(rate.unit))
}

pub(super) fn told(rate: Option<WearRate>) -> String {
    rate.map_or_else(
        || "no loss known".to_owned(),
        |rate| format!("{} {} per year", significant(rate.per_year, 4), rate.unit),
    )
}

pub(super) fn dated(reading: WallReading) -> String {
    format!("{} on {}", reading.thickness, said(reading.on))
}

fn api() -> Source {
    Source::published("API 510, 10th edition, clauses 6.5.1.1, 7.1.1 and 7.2.1")
}

pub(super) fn lasts(limit: StampedLength, outlook: Outlook) -> Step {
    Step::new("RL", "remaining life", "(t − t₀) / r", api())
        .with("t₀", "least wall", limit, Source::Plant)
        .gives(match outlook {
            Outlook::Spent => "used up".to_owned(),
            Outlook::Lasts { years } => format!("{} years", significant(years, 3)),
            Outlook::NoLossFound => "no loss found".to_owned(),
            Outlook::RateUnknown => "rate not known".to_owned(),
        })
}

pub(super) fn measure_again(interval_months: u32, next_measurement: Date) -> Step {
    Step::new(
        "next",
        "next measurement at the latest",
        "last day + min(interval, RL/2)",
        api(),
    )
    .with(
        "interval",
        "measuring interval",
        format!("{interval_months} months"),
        Source::Plant,
    )
    .rounded("down to the day")
    .gives(next_measurement)
}
