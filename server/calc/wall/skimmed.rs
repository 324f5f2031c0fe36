//! A wall that was skimmed and read on no other day since: how it is reckoned to wear until it shows a rate of its
//! own. Rates and lives themselves are found in `life`.

use super::super::OutOfRange;
use super::super::quantity::StampedLength;
use super::super::working::{Source, Step, Working};
use super::grown::{dated, lasts, life_of_grown, measure_again, metres_a_year, plain, told};
use super::life::{
    Outlook, RemainingLife, Taken, WallReading, WearRate, next, outlook, thinnest_by_day,
};

/// Where the rate comes from that a skimmed wall is reckoned with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carried {
    /// The wall itself wore at it before the skim.
    BeforeSkim,
    /// It is the fastest of the other walls of its gauge.
    OfGauge,
}

/// Life of a skimmed wall by a rate it has not shown since.
#[derive(Debug, Clone, PartialEq)]
pub struct SkimmedLife {
    /// Rate, remaining life and next measurement.
    pub life: RemainingLife,
    /// Where the rate comes from.
    pub carried: Carried,
}

/// Remaining life and next measurement of a wall that was skimmed and read on no other day since, by the rate it
/// wore at before, or else by the fastest of its gauge; none where the wall was not skimmed, shows a rate of its
/// own or is used up, and where no rate is known at all.
///
/// # Formula
/// r = rₛ, or max(rᵢ) where no rₛ is known; RL = (t − t₀)/r; next measurement = last day + min(interval, RL/2),
/// days rounded down.
///
/// # Symbols
/// rₛ: governing rate of the readings before the skim, as [`life_of_grown`] has it, or of those before an earlier
/// skim where they show none; rᵢ: governing rates of the other walls of the gauge; t: wall after the skim, the
/// thinnest of its day; t₀: least wall. A skim takes metal off and slows no wear, so a rate known before it
/// stands until another one is seen.
///
/// # Valid range
/// As [`life_of_grown`].
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// Common practice, no source: a wall without a rate of its own wears as it did, or as the fastest beside it.
/// Life and half of it: API 510 as in [`super::remaining_life`].
pub fn life_after_skim(
    readings: &[(WallReading, Option<StampedLength>)],
    elsewhere: &[WearRate],
    limit: StampedLength,
    interval_months: u32,
) -> Result<Option<SkimmedLife>, OutOfRange> {
    let own = life_of_grown(readings, limit, interval_months)?;
    let skim = readings
        .iter()
        .rposition(|(read, _)| read.taken == Taken::AfterSkim);
    let Some(at) = skim.filter(|_| own.life.outlook == Outlook::RateUnknown && own.kept.is_none())
    else {
        return Ok(None);
    };
    let (before, since) = readings.split_at(at);
    let Some(last) = thinnest_by_day(&plain(since)).pop() else {
        return Ok(None);
    };
    let (mut rest, mut known) = (before, None);
    while known.is_none() && !rest.is_empty() {
        known = life_of_grown(rest, limit, interval_months)?.life.governing;
        let earlier = rest
            .iter()
            .rposition(|(read, _)| read.taken == Taken::AfterSkim);
        rest = &rest[..earlier.unwrap_or(0)];
    }
    let fastest = elsewhere
        .iter()
        .copied()
        .filter(|rate| rate.per_year > 0.0)
        .max_by(|a, b| metres_a_year(*a).total_cmp(&metres_a_year(*b)));
    let Some(rate) = known.or(fastest) else {
        return Ok(None);
    };
    let outlook = outlook(last.thickness, limit, rate)?;
    let next_measurement = next(last.on, outlook, interval_months)?;
    let working = Working::new("Remaining life of a wall that was skimmed")
        .step(
            Step::new(
                "r",
                "wear rate reckoned with",
                "rₛ, or max(rᵢ) where no rₛ is known",
                Source::CommonPractice,
            )
            .with("rₛ", "of this wall before the skim", told(known), Source::Arithmetic)
            .with("rᵢ", "fastest of the other walls of the gauge", told(fastest), Source::Arithmetic)
            .gives(told(Some(rate))),
        )
        .step(lasts(limit, outlook).with("t", "wall after the skim", dated(last), Source::Entered))
        .step(measure_again(interval_months, next_measurement))
        .remark("A skim takes metal off and slows no wear: until this wall was read on another day it is reckoned to wear on so.");
    Ok(Some(SkimmedLife {
        life: RemainingLife {
            long_term: None,
            short_term: None,
            governing: Some(rate),
            outlook,
            next_measurement,
            working,
        },
        carried: if known.is_some() {
            Carried::BeforeSkim
        } else {
            Carried::OfGauge
        },
    }))
}
