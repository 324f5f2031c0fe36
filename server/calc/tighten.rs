//! How a cover is tightened: the passes up to the nameplate torque and the order of the bolts.
//! Bolt load and stress behind a torque are in `bolting`; who turned what, and when, is a record.

use std::fmt;

use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::quantity::{StampedTorque, TorqueUnit, significant};
use super::working::{Source, Step, Working};

/// More passes than this mean a step typed in the wrong unit, not a plan anybody works through.
const MOST_PASSES: u32 = 100;
/// Longest cover a plan is made for, in bolts on one rail.
const MOST_BOLTS_PER_RAIL: u8 = 12;
/// Longest stack of sections a plan is made for.
const MOST_SECTIONS: u8 = 24;

/// The passes of one cover: every bolt is brought to the first value, then every bolt to the next.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Plan {
    /// The unit of every pass, which is the unit the target was given in.
    pub unit: TorqueUnit,
    /// The torque of each pass, strictly rising; the last one is the target.
    pub passes: Vec<Decimal>,
    /// How the passes were found.
    pub working: Working,
}

impl Plan {
    /// By how much the last pass rises and by how much the first one does, where a plan in equal steps merged
    /// a rest into its last pass, which rises by more than the step then.
    pub fn larger_last(&self) -> Option<(StampedTorque, StampedTorque)> {
        let (last, lower) = self.passes.split_last()?;
        let (first, before) = (lower.first()?, lower.last()?);
        let rise = (*last - *before).normalize();
        (rise > *first).then(|| {
            (
                StampedTorque::new(rise, self.unit),
                StampedTorque::new(*first, self.unit),
            )
        })
    }

    /// The same in a sentence; empty where no pass rises by more than the step.
    pub fn larger_last_told(&self) -> String {
        self.larger_last()
            .map_or_else(String::new, |(rise, step)| larger_last(rise, step))
    }
}

/// What is said of a last pass that rises by more than the step.
fn larger_last(rise: StampedTorque, step: StampedTorque) -> String {
    format!(
        "The last pass rises by {rise} and not by {step}: a rest of at most half a step goes with it, so that it is never longer than one and a half steps."
    )
}

/// One of the two rows of bolts along a cover, seen with the cover towards the reader.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rail {
    /// The row on the left.
    Left,
    /// The row on the right.
    Right,
}

/// One nut of a cover whose bolts stand in two rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Bolt {
    /// The row it stands in.
    pub rail: Rail,
    /// Its number along the row, from 1 at the top.
    pub position: u8,
}

impl fmt::Display for Bolt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rail = match self.rail {
            Rail::Left => 'L',
            Rail::Right => 'R',
        };
        write!(f, "{rail}{}", self.position)
    }
}

fn torque_checked(input: &'static str, torque: StampedTorque) -> Result<Decimal, OutOfRange> {
    let most = Decimal::from(100_000);
    if torque.value <= Decimal::ZERO || torque.value > most {
        return Err(OutOfRange::new(
            input,
            torque,
            format!("greater than 0 and at most 100000 {}", torque.unit),
        ));
    }
    Ok(torque.value)
}

/// The passes from a low start up to the nameplate torque, in equal steps.
///
/// # Formula
/// With target T and step d, n = ⌊T/d⌋ and rest r = T − n·d:
/// passes d, 2d, …, n·d, T; where 0 < r ≤ d/2 and n ≥ 2 the pass n·d is left out, so that the rest
/// is merged into the last pass. T ≤ d gives the one pass T. T and d are torques in one unit; the
/// arithmetic is decimal and exact.
///
/// So no step is longer than 1.5 d, and a target above one step always has at least two passes.
///
/// # Valid range
/// 0 < T ≤ 100 000 and 0 < d ≤ 100 000 of one unit, at most 100 passes.
///
/// # Errors
/// A torque outside the range, a step in another unit than the target, or more than 100 passes.
///
/// # Source
/// Common practice, no source.
pub fn passes(target: StampedTorque, step: StampedTorque) -> Result<Plan, OutOfRange> {
    let t = torque_checked("target torque", target)?;
    let d = torque_checked("torque step", step)?;
    if step.unit != target.unit {
        return Err(OutOfRange::new(
            "torque step",
            step,
            format!("in the unit of the target torque, {}", target.unit),
        ));
    }
    let too_fine = || {
        OutOfRange::new(
            "torque step",
            step,
            format!("large enough for at most {MOST_PASSES} passes up to {target}"),
        )
    };
    // The remainder is exact, the quotient of two decimals need not be.
    let rest = t.checked_rem(d).ok_or_else(too_fine)?;
    let whole = t
        .checked_sub(rest)
        .and_then(|even| even.checked_div(d))
        .ok_or_else(too_fine)?
        .normalize();
    let whole = u32::try_from(whole).map_err(|_| too_fine())?;
    if whole > MOST_PASSES {
        return Err(too_fine());
    }
    let merged = whole >= 2 && rest > Decimal::ZERO && rest + rest <= d;
    let last_even = if rest.is_zero() || merged {
        whole.saturating_sub(1)
    } else {
        whole
    };
    let mut passes: Vec<Decimal> = (1..=last_even)
        .map(|i| (d * Decimal::from(i)).normalize())
        .collect();
    passes.push(t);
    let mut working = Working::new("Tightening passes")
        .step(
            Step::new(
                "n",
                "whole steps in the target",
                "n = ⌊T / d⌋",
                Source::CommonPractice,
            )
            .with("T", "target torque", target, Source::Nameplate)
            .with("d", "step", step, Source::Plant)
            .gives(whole),
        )
        .step(
            Step::new(
                "r",
                "rest above the whole steps",
                "r = T − n·d",
                Source::Arithmetic,
            )
            .gives(format!("{} {}", rest.normalize(), target.unit)),
        )
        .step(
            Step::new(
                "passes",
                "torque of each pass",
                "d, 2d, …, n·d, T; a rest of at most d/2 is merged into the last pass",
                Source::CommonPractice,
            )
            .rounded("not rounded")
            .gives(listed(&passes, target.unit)),
        );
    if merged {
        let rise = StampedTorque::new((d + rest).normalize(), target.unit);
        working = working.remark(larger_last(rise, step));
    }
    Ok(Plan {
        unit: target.unit,
        passes,
        working: with_order_remarks(working),
    })
}

/// A step in another unit: the nearest whole number below its exact value, so that no pass jumps
/// further than the step that was chosen.
///
/// # Formula
/// d′ = ⌊d·u/u′⌋, with u and u′ one of either unit in N·m, exact decimals; where that is below 1, one
/// decimal place is kept, below 0.1 two. A step already in the wanted unit comes back unchanged.
///
/// # Valid range
/// 0 < d ≤ 100 000 of its unit, and not so small that two decimal places lose it.
///
/// # Errors
/// A step outside the range.
///
/// # Source
/// Arithmetic on the units' definitions (NIST SP 811); rounding down is our choice, to the gentle side.
pub fn step_in(step: StampedTorque, unit: TorqueUnit) -> Result<StampedTorque, OutOfRange> {
    torque_checked("torque step", step)?;
    if step.unit == unit {
        return Ok(step);
    }
    let refuse = || OutOfRange::new("torque step", step, format!("at least 0.01 {unit}"));
    let exact = step
        .newton_metres()
        .and_then(|si| si.checked_div(unit.newton_metres()))
        .ok_or_else(refuse)?;
    let places = if exact >= Decimal::ONE {
        0
    } else if exact >= Decimal::new(1, 1) {
        1
    } else {
        2
    };
    // Twenty digits are more than either unit has: a quotient that is whole stays whole.
    let down = exact
        .round_dp(20)
        .round_dp_with_strategy(places, RoundingStrategy::ToZero)
        .normalize();
    if down.is_zero() {
        return Err(refuse());
    }
    Ok(StampedTorque::new(down, unit))
}

/// The passes up to a target by the plant's step, which is first brought into the target's unit.
///
/// # Formula
/// [`step_in`], then [`passes`].
///
/// # Valid range
/// As [`step_in`] and [`passes`].
///
/// # Errors
/// As [`step_in`] and [`passes`].
///
/// # Source
/// As [`passes`].
pub fn plan(target: StampedTorque, step: StampedTorque) -> Result<Plan, OutOfRange> {
    let own = step_in(step, target.unit)?;
    let mut plan = passes(target, own)?;
    if own.unit != step.unit {
        let exact = significant(step.in_unit(target.unit), 4);
        plan.working.steps.insert(
            0,
            Step::new(
                "d",
                "the plant\u{2019}s step in the unit of the target",
                "d = ⌊d₀⌋ in the other unit",
                Source::published("NIST SP 811, conversion factors"),
            )
            .with("d₀", "the plant\u{2019}s step", step, Source::Plant)
            .with(
                "d₀",
                "the same, converted",
                format!("{exact} {}", target.unit),
                Source::Arithmetic,
            )
            .rounded("rounded down to a whole step, the gentle side")
            .gives(own),
        );
    }
    Ok(plan)
}

/// The shares of the target the first two passes go to, where a plan is made by percentages.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shares {
    /// Per cent of the target in the first pass, 20 to 30.
    pub first: Decimal,
    /// Per cent of the target in the second pass, 50 to 70.
    pub second: Decimal,
}

impl Default for Shares {
    /// 30 % and 60 %, so that no jump is larger than 40 % of the target.
    fn default() -> Self {
        Self {
            first: Decimal::from(30),
            second: Decimal::from(60),
        }
    }
}

/// The passes by percentages of the target, in place of equal steps.
///
/// # Formula
/// T·first/100, T·second/100, T; T target torque. Exact decimals, not rounded. Then rounds at T until
/// no nut moves.
///
/// # Valid range
/// 0 < T ≤ 100 000 of its unit; first 20 to 30 %, second 50 to 70 %.
///
/// # Errors
/// A torque or a share outside the range.
///
/// # Source
/// ASME PCC-1, torque increments of the cross-pattern method (20 to 30 %, 50 to 70 %, 100 %), from
/// memory; it speaks of round flanges, and its pattern gives way to [`order`] on a two-row cover.
pub fn by_percent(target: StampedTorque, shares: Shares) -> Result<Plan, OutOfRange> {
    let t = torque_checked("target torque", target)?;
    let within = |input, share: Decimal, low: i64, high: i64| {
        if share < Decimal::from(low) || share > Decimal::from(high) {
            Err(OutOfRange::new(
                input,
                format!("{share} %"),
                format!("from {low} to {high} %"),
            ))
        } else {
            Ok(())
        }
    };
    within("share of the first pass", shares.first, 20, 30)?;
    within("share of the second pass", shares.second, 50, 70)?;
    let part = |share: Decimal| {
        t.checked_mul(share)
            .map(|product| (product / Decimal::ONE_HUNDRED).normalize())
            .ok_or_else(|| OutOfRange::new("target torque", target, "a number with fewer digits"))
    };
    let passes = vec![part(shares.first)?, part(shares.second)?, t];
    let source = || Source::FromMemory("ASME PCC-1, cross-pattern method".to_owned());
    let working = Working::new("Tightening passes by percentage").step(
        Step::new(
            "passes",
            "torque of each pass",
            "T·first/100, T·second/100, T",
            source(),
        )
        .with("T", "target torque", target, Source::Nameplate)
        .with(
            "first",
            "first pass, 20 to 30 %",
            format!("{} %", shares.first),
            Source::Plant,
        )
        .with(
            "second",
            "second pass, 50 to 70 %",
            format!("{} %", shares.second),
            Source::Plant,
        )
        .rounded("not rounded")
        .gives(listed(&passes, target.unit)),
    );
    Ok(Plan {
        unit: target.unit,
        passes,
        working: with_order_remarks(working),
    })
}

fn listed(passes: &[Decimal], unit: TorqueUnit) -> String {
    let numbers: Vec<String> = passes.iter().map(Decimal::to_string).collect();
    format!("{} {unit}", numbers.join(", "))
}

fn with_order_remarks(working: Working) -> Working {
    working
        .remark("Each pass goes over every bolt of the section in the given order before the next pass begins.")
        .remark("After the last pass, go round again at the target torque until no nut moves.")
        .remark("A sequence or torque on the drawing or in the maker's instructions comes before this plan.")
}

fn count_checked(input: &'static str, count: u8, most: u8) -> Result<(), OutOfRange> {
    if count == 0 || count > most {
        return Err(OutOfRange::new(input, count, format!("from 1 to {most}")));
    }
    Ok(())
}

/// Places along a row from the middle outwards: the middle pair (or middle one twice), then pairs.
fn outwards(count: u8) -> impl Iterator<Item = (u8, u8)> {
    let (low, high) = (count.div_ceil(2), count / 2 + 1);
    (0..low).map(move |j| (low - j, high + j))
}

/// Places along a row from the middle outwards, one after the other.
fn singly_outwards(count: u8) -> Vec<u8> {
    let mut places = Vec::with_capacity(usize::from(count));
    for (low, high) in outwards(count) {
        places.push(low);
        if low != high {
            places.push(high);
        }
    }
    places
}

/// The order in which the bolts of one section are tightened in every pass.
///
/// # Formula
/// n bolts on each of two rails, numbered from one end. Odd n, c = (n+1)/2: L c, R c, then for
/// j = 1, 2, …: L(c−j), R(c+j), L(c+j), R(c−j). Even n, for j = 0, 1, …: L(n/2−j), R(n/2+1+j),
/// L(n/2+1+j), R(n/2−j). So the rails alternate strictly and the load grows from the centre
/// outwards. For U-bolts see [`u_bolts_in_order`].
///
/// # Valid range
/// 1 to 12 bolts a rail.
///
/// # Errors
/// A number of bolts outside the range.
///
/// # Source
/// Common practice, no source. Other orders within a group of four are in use as well; the one
/// chosen here is the one in which no two bolts of the same rail follow each other.
pub fn order(bolts_per_rail: u8) -> Result<Vec<Bolt>, OutOfRange> {
    count_checked(
        "number of bolts on a rail",
        bolts_per_rail,
        MOST_BOLTS_PER_RAIL,
    )?;
    let left = |position| Bolt {
        rail: Rail::Left,
        position,
    };
    let right = |position| Bolt {
        rail: Rail::Right,
        position,
    };
    let mut order = Vec::with_capacity(usize::from(bolts_per_rail) * 2);
    for (low, high) in outwards(bolts_per_rail) {
        order.extend([left(low), right(high)]);
        if low != high {
            order.extend([left(high), right(low)]);
        }
    }
    Ok(order)
}

/// The order in which the bolts of one section are loosened: the reverse of tightening, so from the
/// ends inwards.
///
/// # Formula
/// The order of [`order`], read backwards.
///
/// # Valid range
/// 1 to 12 bolts a rail.
///
/// # Errors
/// A number of bolts outside the range.
///
/// # Source
/// Common practice, no source.
pub fn loosening(bolts_per_rail: u8) -> Result<Vec<Bolt>, OutOfRange> {
    let mut reversed = order(bolts_per_rail)?;
    reversed.reverse();
    Ok(reversed)
}

/// The order of the U-bolts of one section, where U-bolts hold the cover; both legs of a U-bolt are
/// one station, drawn up evenly, before the wrench goes on.
///
/// # Formula
/// n U-bolts numbered from one end. Odd n, c = (n+1)/2: c, c−1, c+1, c−2, …; even n: n/2, n/2+1,
/// n/2−1, n/2+2, …. Loosening is the exact reverse.
///
/// # Valid range
/// 1 to 12 U-bolts.
///
/// # Errors
/// A number of U-bolts outside the range.
///
/// # Source
/// Common practice, no source.
pub fn u_bolts_in_order(u_bolts: u8) -> Result<Vec<u8>, OutOfRange> {
    count_checked("number of U-bolts", u_bolts, MOST_BOLTS_PER_RAIL)?;
    Ok(singly_outwards(u_bolts))
}

/// The order in which the sections of a gauge are done: the middle one first, then outwards on both
/// sides; each section is finished with its own bolts before the next.
///
/// # Formula
/// Sections numbered from the top. Odd n, c = (n+1)/2: c, c−1, c+1, c−2, …; even n: n/2, n/2+1,
/// n/2−1, n/2+2, ….
///
/// # Valid range
/// 1 to 24 sections.
///
/// # Errors
/// A number of sections outside the range.
///
/// # Source
/// Common practice, no source.
pub fn sections_in_order(sections: u8) -> Result<Vec<u8>, OutOfRange> {
    count_checked("number of sections", sections, MOST_SECTIONS)?;
    Ok(singly_outwards(sections))
}
