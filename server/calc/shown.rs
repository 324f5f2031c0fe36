//! How many digits of a measured result are shown: no more than its readings and its uncertainty carry.
//! What is kept and what is judged keeps all of them; how an uncertainty comes about is in `uncertainty`.

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::quantity::{Stamped, Unit};
use super::working::{Source, Step, Working};

/// The finest place a result can be shown to.
const FINEST: u32 = 12;

/// A result as it is shown.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(bound(serialize = "U: Serialize", deserialize = "U: Deserialize<'de>"))]
pub struct Shown<U> {
    /// The result, rounded up.
    pub value: Stamped<U>,
    /// Its expanded uncertainty to the same place, where one is known.
    pub uncertainty: Option<Stamped<U>>,
    /// How it was rounded.
    pub working: Working,
}

/// A result of which less is better, to the digits its readings and its uncertainty carry.
///
/// # Formula
/// d = min(dᵣ, 1 − ⌊log₁₀ U⌋), not below 0: U keeps at most two significant digits, and never a place finer
/// than the readings. Result and U are rounded up at the place d. Where that would carry a result that
/// keeps its limit over it, a finer place is taken until it does not.
///
/// # Symbols
/// d: decimals shown; dᵣ: decimals of the finest reading; U: expanded uncertainty, in the unit of the
/// result; without one d = dᵣ.
///
/// # Valid range
/// 0 ≤ dᵣ ≤ 12; U > 0; result and limit not negative.
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// ISO/IEC Guide 98-3:2008 (JCGM 100:2008), 7.2.6: at most two significant digits of an uncertainty, the
/// result to the place of the uncertainty's last digit, an uncertainty rather rounded up. That the result
/// is rounded up too is our choice, to the safe side.
pub fn at_most<U: Unit>(
    result: Stamped<U>,
    (decimals, expanded): (u32, Option<Stamped<U>>),
    limit: Stamped<U>,
) -> Result<Shown<U>, OutOfRange> {
    if decimals > FINEST {
        return Err(OutOfRange::new("decimals", decimals, "0 to 12"));
    }
    for (input, value) in [("result", result), ("limit", limit)] {
        if value.value < Decimal::ZERO {
            return Err(OutOfRange::new(input, value, "not negative"));
        }
    }
    let expanded = expanded.map(|u| in_unit(u, result.unit)).transpose()?;
    let carried = expanded.map_or(decimals, |u| decimals.min(two_digits(u)));
    let kept = result.in_unit(limit.unit) <= limit.number();
    let mut places = carried;
    let mut value = up(result.value, places);
    while kept
        && places < FINEST
        && Stamped::new(value, result.unit).in_unit(limit.unit) > limit.number() * (1.0 + 1e-12)
    {
        places += 1;
        value = up(result.value, places);
    }
    let shown = Shown {
        value: Stamped::new(value, result.unit),
        uncertainty: expanded.map(|u| Stamped::new(up(u, places), result.unit)),
        working: Working::new("Digits shown"),
    };
    let mut step = Step::new(
        "d",
        "decimals shown",
        "min(dᵣ, 1 − ⌊log₁₀ U⌋)",
        Source::published("ISO/IEC Guide 98-3:2008, 7.2.6"),
    )
    .with(
        "dᵣ",
        "decimals of the finest reading",
        decimals,
        Source::Entered,
    );
    if let Some(u) = expanded {
        let stated = Stamped::new(u.normalize(), result.unit);
        step = step.with("U", "expanded uncertainty", stated, Source::Entered);
    }
    let mut working = shown.working.clone().step(step.gives(carried)).step(
        Step::new(
            "shown",
            "result as shown",
            "up to d decimals",
            Source::Arithmetic,
        )
        .with("y", "result", result, Source::Arithmetic)
        .rounded(format!("up, to {places} decimals"))
        .gives(shown.value),
    );
    if places > carried {
        working = working.remark("Rounded up at that place it would read beyond its limit, which it keeps; a finer place is shown.");
    }
    Ok(Shown { working, ..shown })
}

/// Decimals at which a value keeps two significant digits; none before the point.
fn two_digits(value: Decimal) -> u32 {
    let magnitude = value.to_f64().unwrap_or(f64::NAN).log10().floor();
    (1.0 - magnitude).to_u32().unwrap_or(0)
}

fn up(value: Decimal, places: u32) -> Decimal {
    let mut rounded = value.round_dp_with_strategy(places, RoundingStrategy::AwayFromZero);
    rounded.rescale(places);
    rounded
}

fn in_unit<U: Unit>(value: Stamped<U>, unit: U) -> Result<Decimal, OutOfRange> {
    let refused = || OutOfRange::new("expanded uncertainty", value, "greater than 0");
    let number = if value.unit == unit {
        value.value
    } else {
        // Six digits are far more than an uncertainty has.
        Decimal::try_from(value.in_unit(unit))
            .ok()
            .and_then(|number| number.round_sf(6))
            .ok_or_else(refused)?
    };
    if number > Decimal::ZERO {
        Ok(number)
    } else {
        Err(refused())
    }
}
