//! How fast a wall wears, how long it lasts and when to measure it again.
//! Skims are judged in the file above; due dates of the whole gauge are made in `due`.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};
use time::Date;

use super::super::OutOfRange;
use super::super::calendar::{add_months, days_after, iso_date, require, said};
use super::super::quantity::{LengthUnit, StampedLength, significant};
use super::super::working::{Source, Step, Working};
use super::{factor, float, metres};

/// Days in a year when a rate is told per year; dates are found from days and do not depend on it.
pub const DAYS_A_YEAR: f64 = 365.25;

/// Added before cutting down to whole days, so that binary rounding does not take a day away.
const ROUNDING_DAYS: f64 = 1e-6;

/// Loss of wall a year, in one unit of length.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WearRate {
    /// Loss in a year; negative if the later reading was thicker.
    pub per_year: f64,
    /// Unit of length of the loss.
    pub unit: LengthUnit,
}

/// The rate at which a wall was lost between two readings at the same place.
///
/// # Formula
/// r = (t₁ − t₂) / years, in the unit of the later reading.
///
/// # Valid range
/// Thicknesses above 0 up to 1 m; years above 0 up to 300. A thicker later reading gives a
/// negative rate, which is measurement scatter and not growth.
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// API 510, 10th edition, clause 7.1.1, corrosion rate (as quoted on a worked form); API 570 the same.
pub fn wear_rate(
    earlier: StampedLength,
    later: StampedLength,
    years: f64,
) -> Result<WearRate, OutOfRange> {
    if !(years > 0.0 && years <= 300.0) {
        return Err(OutOfRange::new(
            "time between readings",
            format!("{years} years"),
            "above 0, up to 300 years",
        ));
    }
    let lost = (metres("earlier wall thickness", earlier)? - metres("wall thickness", later)?)
        / factor(later.unit);
    Ok(WearRate {
        per_year: float(lost) / years,
        unit: later.unit,
    })
}

/// How long a wall may still last.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Outlook {
    /// At or under the least wall: it is used up.
    Spent,
    /// It reaches the least wall after this time if it goes on wearing at the rate.
    Lasts {
        /// Years from the last reading.
        years: f64,
    },
    /// No loss was found; that promises nothing, the interval alone governs.
    NoLossFound,
    /// Only one day's reading: no rate is known, the interval alone governs.
    RateUnknown,
}

/// The time until a wall reaches its limit at a given rate.
///
/// # Formula
/// RL = (t − t₀) / r.
///
/// # Valid range
/// Thickness and limit above 0 up to 1 m. At or under the limit the life is spent whatever the
/// rate; a rate of zero or less gives no finite life and is told as such, never as infinity.
///
/// # Errors
/// [`OutOfRange`] for a thickness or limit outside that, or a rate that is no finite number.
///
/// # Source
/// API 510, 10th edition, clause 7.2.1, remaining life (as quoted on a worked form); API 570 the same.
pub fn outlook(
    thickness: StampedLength,
    limit: StampedLength,
    rate: WearRate,
) -> Result<Outlook, OutOfRange> {
    if !rate.per_year.is_finite() {
        return Err(OutOfRange::new(
            "wear rate",
            rate.per_year,
            "a finite number",
        ));
    }
    let spare = metres("wall thickness", thickness)? - metres("least wall", limit)?;
    Ok(if spare <= Decimal::ZERO {
        Outlook::Spent
    } else if rate.per_year <= 0.0 {
        Outlook::NoLossFound
    } else {
        let years = float(spare / factor(rate.unit)) / rate.per_year;
        Outlook::Lasts { years }
    })
}

/// What a thickness reading was taken after.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Taken {
    /// After service (or new): it belongs to the wear so far.
    AfterService,
    /// Right after a skim: wear starts afresh from here, since a cut is a step and not wear.
    AfterSkim,
}

/// One reading of the wall.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct WallReading {
    /// The day it was taken.
    #[serde(with = "iso_date")]
    pub on: Date,
    /// What was read.
    pub thickness: StampedLength,
    /// What it was taken after.
    pub taken: Taken,
}

/// Wear so far, life to come and the next measurement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RemainingLife {
    /// Rate from the first reading (or the one after the last skim) to the last.
    pub long_term: Option<WearRate>,
    /// Rate between the last two days of reading.
    pub short_term: Option<WearRate>,
    /// The larger of the two where it is above zero.
    pub governing: Option<WearRate>,
    /// How long the wall lasts from the last reading.
    pub outlook: Outlook,
    /// When to measure again at the latest.
    #[serde(with = "iso_date")]
    pub next_measurement: Date,
    /// How it was found.
    pub working: Working,
}

/// Wear rates, remaining life and next measurement of a wall from its readings.
///
/// # Formula
/// rₗ = (t₁ − t₃)/years, rₛ = (t₂ − t₃)/years, r = max(rₗ, rₛ);
/// RL = (t₃ − t₀)/r; next measurement = last day + min(interval, RL/2), days rounded down.
///
/// # Symbols
/// t: wall, any units; r: rate; RL: remaining life. Readings before the last one
/// [`Taken::AfterSkim`] are left out; of several readings of one day the thinnest counts. Rates are
/// told in the unit of the last of these per year of 365.25 days; the dates are found from days.
///
/// # Valid range
/// At least one reading, in order of date, in the years 1900 to 2200; interval 1 to 240 months.
/// With readings of one day only no rate is known. Rates of zero or less never make the life
/// longer. The relaxation of API 510 for lives under four years is not used: half the life governs.
///
/// # Errors
/// [`OutOfRange`] for no reading, wrong order, or values outside the range.
///
/// # Source
/// API 510, 10th edition, clauses 6.5.1.1 (half the life or the interval, whichever is less), 7.1.1
/// and 7.2.1, as quoted on a worked form. That the larger rate governs: study notes on API 510.
pub fn remaining_life(
    readings: &[WallReading],
    limit: StampedLength,
    interval_months: u32,
) -> Result<RemainingLife, OutOfRange> {
    if !(1..=240).contains(&interval_months) {
        return Err(OutOfRange::new(
            "measuring interval",
            format!("{interval_months} months"),
            "1 to 240 months",
        ));
    }
    for reading in readings {
        require("day of the wall reading", reading.on)?;
        metres("wall thickness", reading.thickness)?;
    }
    if let Some(pair) = readings.windows(2).find(|pair| pair[1].on < pair[0].on) {
        return Err(OutOfRange::new(
            "day of the wall reading",
            pair[1].on,
            format!("not before the reading of {}", said(pair[0].on)),
        ));
    }
    let from = readings
        .iter()
        .rposition(|r| r.taken == Taken::AfterSkim)
        .unwrap_or(0);
    let run = thinnest_by_day(&readings[from..]);
    let (Some(first), Some(last)) = (run.first(), run.last()) else {
        return Err(OutOfRange::new("wall readings", "none", "at least one"));
    };
    let before = run.iter().rev().find(|r| r.on < last.on);
    let long_term = before.map(|_| rate_between(first, last)).transpose()?;
    let short_term = before.map(|b| rate_between(b, last)).transpose()?;
    let governing = [long_term, short_term]
        .into_iter()
        .flatten()
        .filter(|rate| rate.per_year > 0.0)
        .max_by(|a, b| a.per_year.total_cmp(&b.per_year));
    let none = WearRate {
        per_year: 0.0,
        unit: last.thickness.unit,
    };
    let outlook = match outlook(last.thickness, limit, governing.unwrap_or(none))? {
        Outlook::NoLossFound if before.is_none() => Outlook::RateUnknown,
        other => other,
    };
    let next_measurement = next(last.on, outlook, interval_months)?;
    let working = working(
        &run,
        limit,
        interval_months,
        [long_term, short_term, governing],
        outlook,
        next_measurement,
    );
    Ok(RemainingLife {
        long_term,
        short_term,
        governing,
        outlook,
        next_measurement,
        working,
    })
}

/// One reading a day, the thinnest: a second reading never makes a wall thicker than it was found.
pub(super) fn thinnest_by_day(readings: &[WallReading]) -> Vec<WallReading> {
    let mut days: Vec<WallReading> = Vec::with_capacity(readings.len());
    for reading in readings {
        match days.last_mut() {
            Some(day) if day.on == reading.on => {
                if reading.thickness.si() < day.thickness.si() {
                    *day = *reading;
                }
            }
            _ => days.push(*reading),
        }
    }
    days
}

fn rate_between(earlier: &WallReading, later: &WallReading) -> Result<WearRate, OutOfRange> {
    wear_rate(
        earlier.thickness,
        later.thickness,
        years_between(earlier.on, later.on),
    )
}

fn years_between(from: Date, to: Date) -> f64 {
    f64::from(to.to_julian_day() - from.to_julian_day()) / DAYS_A_YEAR
}

pub(super) fn next(last: Date, outlook: Outlook, interval_months: u32) -> Result<Date, OutOfRange> {
    let by_interval = add_months(last, interval_months)?;
    let by_life = match outlook {
        Outlook::Spent => Some(last),
        Outlook::NoLossFound | Outlook::RateUnknown => None,
        Outlook::Lasts { years } => (years / 2.0 * DAYS_A_YEAR + ROUNDING_DAYS)
            .to_u32()
            .and_then(|days| days_after(last, days).ok()),
    };
    Ok(by_life.map_or(by_interval, |date| date.min(by_interval)))
}

fn working(
    run: &[WallReading],
    limit: StampedLength,
    interval_months: u32,
    [long_term, short_term, governing]: [Option<WearRate>; 3],
    outlook: Outlook,
    next_measurement: Date,
) -> Working {
    let api = || Source::published("API 510, 10th edition, clauses 6.5.1.1, 7.1.1 and 7.2.1");
    let tell = |rate: Option<WearRate>| {
        rate.map_or_else(
            || "not known".to_owned(),
            |r| format!("{} {} per year", significant(r.per_year, 4), r.unit),
        )
    };
    let span = |reading: Option<&WallReading>| {
        reading.map_or_else(String::new, |r| {
            format!("{} on {}", r.thickness, said(r.on))
        })
    };
    let last = run.last();
    let before = run.iter().rev().find(|r| last.is_some_and(|l| r.on < l.on));
    let mut working = Working::new("Remaining life of the wall")
        .step(
            Step::new("rₗ", "long-term wear rate", "(t₁ − t₃) / years", api())
                .with(
                    "t₁",
                    "first wall, or the one after the last skim",
                    span(run.first()),
                    Source::Entered,
                )
                .with("t₃", "last wall", span(last), Source::Entered)
                .gives(tell(long_term)),
        )
        .step(
            Step::new("rₛ", "short-term wear rate", "(t₂ − t₃) / years", api())
                .with("t₂", "wall before", span(before), Source::Entered)
                .with("t₃", "last wall", span(last), Source::Entered)
                .gives(tell(short_term)),
        )
        .step(
            Step::new("RL", "remaining life", "(t₃ − t₀) / r", api())
                .with(
                    "r",
                    "the larger rate above zero",
                    tell(governing),
                    Source::Arithmetic,
                )
                .with("t₀", "least wall", limit, Source::Plant)
                .gives(match outlook {
                    Outlook::Spent => "used up".to_owned(),
                    Outlook::Lasts { years } => format!("{} years", significant(years, 3)),
                    Outlook::NoLossFound => "no loss found".to_owned(),
                    Outlook::RateUnknown => "rate not known".to_owned(),
                }),
        )
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
        );
    if [long_term, short_term]
        .into_iter()
        .flatten()
        .any(|rate| rate.per_year < 0.0)
    {
        working = working.remark("A later reading was thicker than an earlier one. Metal does not grow: the difference is scatter of the measurement and was not used.");
    }
    working
}
