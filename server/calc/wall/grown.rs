//! A wall read thicker than it was: whether what both readings can be off explains it, and how such a wall
//! is reckoned to wear. Rates and lives themselves are found in `life`.

use rust_decimal::Decimal;
use rust_decimal::prelude::FromPrimitive;

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

/// Differences closer to the uncertainty than this part of it count as equal to it.
const SAME: f64 = 1e-9;

const NO_GROWTH: &str = "A reading is thicker than one before it by more than both can be off. Metal does not grow: it is not taken for more wall or less wear.";

/// A wall as it was read, with what the instrument can be off.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Measured {
    /// What was read.
    pub thickness: StampedLength,
    /// Standard uncertainty by the instrument; none where nothing is known of it.
    pub standard: Option<StampedLength>,
}

/// A wall held against an earlier reading of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Growth {
    /// Whether it is thicker by more than both readings can be off.
    pub unexplained: bool,
    /// What both readings together can be off (expanded uncertainty, k = 2), in the unit of the later
    /// reading, rounded up to two digits.
    pub expanded: StampedLength,
    /// How it was found.
    pub working: Working,
}

/// Whether a wall was read thicker than before by more than both readings can be off.
///
/// # Formula
/// t₂ − t₁ > U, U = 2·√(u₁² + u₂²), u = max(uᵢ, d/√12).
///
/// # Symbols
/// t₁, t₂: earlier and later wall; uᵢ: standard uncertainty by the instrument, where it is known; d: one in
/// the last digit as written. Lengths in any units; the difference is exact.
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
            .map_or_else(|| "not known".to_owned(), |u| u.to_string());
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
                "what both can be off (k = 2)",
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
                    "thicker than both can be off"
                } else {
                    "not thicker than both can be off"
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
}

/// Wear rates, remaining life and next measurement of a wall from its readings, each with the standard
/// uncertainty of its instrument; growth is never taken for metal.
///
/// # Formula
/// Kept is every reading that is not thicker, by more than [`growth`] explains, than the thinnest one kept
/// before it. Where all are kept, the life is that of [`remaining_life`]. Else
/// r = max(rₐ, rₖ), t = min(tₐ, tₖ − rₖ·y), RL = (t − t₀)/r;
/// next measurement = last day + min(interval, RL/2), days rounded down.
///
/// # Symbols
/// rₐ, tₐ: governing rate and last wall of all readings; rₖ, tₖ: of those kept; y: years from the last kept
/// reading to the last of all; t₀: least wall. So the wall counts as no thicker than the kept readings let
/// expect on the day of the last one, and as wearing at the faster of both rates. Where neither knows a
/// loss, no rate is known: a reading that grew does not show that none is lost.
///
/// # Valid range
/// As [`remaining_life`] and [`growth`].
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// Common practice, no source: metal does not grow, so the safe side of both reckonings counts. Rates, life
/// and half of it: API 510 as in [`remaining_life`].
pub fn life_of_grown(
    readings: &[(WallReading, Option<StampedLength>)],
    limit: StampedLength,
    interval_months: u32,
) -> Result<KeptLife, OutOfRange> {
    let all: Vec<WallReading> = readings.iter().map(|(reading, _)| *reading).collect();
    let with = remaining_life(&all, limit, interval_months)?;
    let kept = kept(readings)?;
    let ends = thinnest_by_day(&all)
        .pop()
        .zip(thinnest_by_day(&kept).pop());
    let Some((last, before)) = ends.filter(|_| kept.len() < all.len()) else {
        return Ok(KeptLife {
            life: with,
            kept: None,
        });
    };
    let without = remaining_life(&kept, limit, interval_months)?;
    let governing = [with.governing, without.governing]
        .into_iter()
        .flatten()
        .max_by(|a, b| metres_a_year(*a).total_cmp(&metres_a_year(*b)));
    let days = last.on.to_julian_day() - before.on.to_julian_day();
    let years = f64::from(days) / DAYS_A_YEAR;
    let reckoned = carried_on(before.thickness, without.governing, years).map(|carried| {
        if last.thickness.si() < carried.si() {
            last.thickness
        } else {
            carried
        }
    });
    let grown = last != before;
    let none = WearRate {
        per_year: 0.0,
        unit: before.thickness.unit,
    };
    let outlook = match reckoned {
        None => Outlook::Spent,
        Some(wall) => match outlook(wall, limit, governing.unwrap_or(none))? {
            Outlook::NoLossFound if grown => Outlook::RateUnknown,
            other => other,
        },
    };
    let next_measurement = next(last.on, outlook, interval_months)?;
    let reckoned = Reckoned {
        rates: [with.governing, without.governing, governing],
        walls: [last, before],
        years,
        wall: reckoned,
    };
    let working = reckoned
        .working()
        .step(lasts(limit, outlook))
        .step(
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
            .gives(next_measurement),
        )
        .remark(NO_GROWTH);
    let life = RemainingLife {
        long_term: with.long_term,
        short_term: with.short_term,
        governing,
        outlook,
        next_measurement,
        working,
    };
    Ok(KeptLife {
        life,
        kept: grown.then_some(before),
    })
}

/// What a life with a growth in it is reckoned from.
struct Reckoned {
    /// Governing rates of all readings, of those kept, and the larger one.
    rates: [Option<WearRate>; 3],
    /// The last reading of all, and the last kept one.
    walls: [WallReading; 2],
    /// From the one to the other.
    years: f64,
    /// What the wall counts as; none where nothing is left.
    wall: Option<StampedLength>,
}

impl Reckoned {
    fn working(&self) -> Working {
        let [all, kept, larger] = self.rates.map(told);
        let [last, before] = self.walls.map(dated);
        let years = format!("{} years", significant(self.years, 4));
        let wall = self
            .wall
            .map_or_else(|| "none left".to_owned(), |wall| wall.to_string());
        Working::new("Remaining life of a wall read thicker than before")
            .step(
                Step::new(
                    "r",
                    "the larger wear rate",
                    "max(rₐ, rₖ)",
                    Source::CommonPractice,
                )
                .with("rₐ", "of all readings", all, Source::Arithmetic)
                .with("rₖ", "of those kept", kept, Source::Arithmetic)
                .gives(larger),
            )
            .step(
                Step::new(
                    "t",
                    "wall reckoned with",
                    "min(tₐ, tₖ − rₖ·y)",
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

/// The readings that did not grow over the thinnest one kept before them.
fn kept(readings: &[(WallReading, Option<StampedLength>)]) -> Result<Vec<WallReading>, OutOfRange> {
    let mut kept = Vec::with_capacity(readings.len());
    let mut thinnest: Option<Measured> = None;
    for (reading, standard) in readings {
        let this = Measured {
            thickness: reading.thickness,
            standard: *standard,
        };
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

/// What a wall is after so many years at a rate, in its unit; none where nothing is left.
fn carried_on(wall: StampedLength, rate: Option<WearRate>, years: f64) -> Option<StampedLength> {
    let lost = rate.map_or(0.0, metres_a_year) * years;
    if lost <= 0.0 {
        return Some(wall);
    }
    // Twelve decimals first, so that binary rounding does not take one away.
    let left = Decimal::from_f64(wall.unit.from_si(wall.si() - lost))?.round_dp(12);
    let left = StampedLength::new(rounded_down(left), wall.unit);
    (left.value > Decimal::ZERO).then_some(left)
}

fn metres_a_year(rate: WearRate) -> f64 {
    rate.per_year * float(factor(rate.unit))
}

fn told(rate: Option<WearRate>) -> String {
    rate.map_or_else(
        || "no loss known".to_owned(),
        |rate| format!("{} {} per year", significant(rate.per_year, 4), rate.unit),
    )
}

fn dated(reading: WallReading) -> String {
    format!("{} on {}", reading.thickness, said(reading.on))
}

fn api() -> Source {
    Source::published("API 510, 10th edition, clauses 6.5.1.1, 7.1.1 and 7.2.1")
}

fn lasts(limit: StampedLength, outlook: Outlook) -> Step {
    Step::new("RL", "remaining life", "(t − t₀) / r", api())
        .with("t₀", "least wall", limit, Source::Plant)
        .gives(match outlook {
            Outlook::Spent => "used up".to_owned(),
            Outlook::Lasts { years } => format!("{} years", significant(years, 3)),
            Outlook::NoLossFound => "no loss found".to_owned(),
            Outlook::RateUnknown => "rate not known".to_owned(),
        })
}
