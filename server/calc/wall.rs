//! The wall between through-bore and gasket recess: whether it bears a planned skim, and (in `life`)
//! how long it lasts; `grown` is for a wall read thicker than before, `skimmed` for one without a rate since
//! its skim. Whether a reading is good enough to decide on is said in `conformance`.

mod grown;
mod life;
mod skimmed;

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::quantity::{LengthUnit, StampedLength};
use super::working::{Source, Step, Working};

pub use grown::{Growth, KeptLife, Measured, growth, life_of_grown};
pub use life::{
    DAYS_A_YEAR, Outlook, RemainingLife, Taken, WallReading, WearRate, outlook, remaining_life,
    wear_rate,
};
pub use skimmed::{Carried, SkimmedLife, life_after_skim};

/// Whether a planned skim may be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Skim {
    /// Enough wall stays, and the face has not been skimmed too often.
    Allowed,
    /// What would stay is less than the limit.
    TooThin,
    /// The wall would do, but the face has been skimmed as often as it may be.
    TooOften,
}

/// The answer to a planned skim.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SkimVerdict {
    /// Whether it may be made.
    pub skim: Skim,
    /// The wall that would stay, in the unit of the measured thickness, rounded down.
    pub left: StampedLength,
    /// Skims of the same depth still possible afterwards, by wall and by count; 0 if refused.
    pub skims_left: u32,
    /// How it was found.
    pub working: Working,
}

/// Judges a planned skim: what would stay of the wall, and how often the face was skimmed already.
///
/// # Formula
/// left = t − c; allowed if left ≥ t₀ and n < `most`.
///
/// # Symbols
/// t: measured wall; c: depth of the planned cut; t₀: least wall; n: skims done before; `most`:
/// skims the plant allows. Lengths in any units, compared as exact decimals.
///
/// # Valid range
/// 0 < t ≤ 1 m, 0 < c < t, 0 < t₀ ≤ 1 m; n counts from 0.
///
/// # Errors
/// [`OutOfRange`] for a thickness, cut or limit outside that.
///
/// # Source
/// Common practice, no source: a gouged face is skimmed once or twice while at least 0.100 in stays.
pub fn plan_skim(
    thickness: StampedLength,
    cut: StampedLength,
    limit: StampedLength,
    skims_done: u8,
    most: u8,
) -> Result<SkimVerdict, OutOfRange> {
    let wall = metres("wall thickness", thickness)?;
    let depth = metres("planned cut", cut)?;
    let least = metres("least wall", limit)?;
    if depth >= wall {
        return Err(OutOfRange::new(
            "planned cut",
            cut,
            format!("less than the wall of {thickness}"),
        ));
    }
    let skim = if wall - depth < least {
        Skim::TooThin
    } else if skims_done >= most {
        Skim::TooOften
    } else {
        Skim::Allowed
    };
    let left = StampedLength::new(
        rounded_down((wall - depth) / factor(thickness.unit)),
        thickness.unit,
    );
    let skims_left = if skim == Skim::Allowed {
        let by_count = u32::from(most - skims_done) - 1;
        by_count.min(whole((wall - depth - least) / depth))
    } else {
        0
    };
    let said = match skim {
        Skim::Allowed => "may be skimmed",
        Skim::TooThin => "too thin: not to be skimmed",
        Skim::TooOften => "skimmed too often: not to be skimmed",
    };
    let working = Working::new("Planned skim")
        .step(
            Step::new("left", "wall that would stay", "t − c", Source::Arithmetic)
                .with(
                    "t",
                    "wall between bore and recess",
                    thickness,
                    Source::Entered,
                )
                .with("c", "depth of the cut", cut, Source::Entered)
                .rounded("down")
                .gives(left),
        )
        .step(
            Step::new(
                "verdict",
                "decision",
                "left ≥ t₀ and n < nₘ",
                Source::CommonPractice,
            )
            .with("t₀", "least wall", limit, Source::Plant)
            .with("n", "skims done", skims_done, Source::Entered)
            .with("nₘ", "skims allowed", most, Source::Plant)
            .gives(said),
        )
        .remark("Measure again after the cut: the tool may take more than was planned.");
    Ok(SkimVerdict {
        skim,
        left,
        skims_left,
        working,
    })
}

/// How many skims of one depth the wall alone would bear, whatever the count limit.
///
/// # Formula
/// ⌊(t − t₀) / c⌋, never below 0, in exact decimals.
///
/// # Valid range
/// 0 < t ≤ 1 m, 0 < c ≤ 1 m, 0 < t₀ ≤ 1 m.
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// Arithmetic.
pub fn skims_possible(
    thickness: StampedLength,
    cut: StampedLength,
    limit: StampedLength,
) -> Result<u32, OutOfRange> {
    let spare = metres("wall thickness", thickness)? - metres("least wall", limit)?;
    Ok(whole(spare / metres("planned cut", cut)?))
}

/// A length in metres as an exact decimal, within the range a wall can have.
fn metres(input: &'static str, length: StampedLength) -> Result<Decimal, OutOfRange> {
    length
        .value
        .checked_mul(factor(length.unit))
        .filter(|&m| m > Decimal::ZERO && m <= Decimal::ONE)
        .ok_or_else(|| OutOfRange::new(input, length, "greater than 0 and at most 1 m"))
}

/// Metres in one unit, exact by definition.
const fn factor(unit: LengthUnit) -> Decimal {
    match unit {
        LengthUnit::Inch => Decimal::from_parts(254, 0, 0, false, 4),
        LengthUnit::Millimetre => Decimal::from_parts(1, 0, 0, false, 3),
        LengthUnit::Thousandth => Decimal::from_parts(254, 0, 0, false, 7),
        LengthUnit::Micrometre => Decimal::from_parts(1, 0, 0, false, 6),
        LengthUnit::Metre => Decimal::ONE,
    }
}

fn rounded_down(value: Decimal) -> Decimal {
    value
        .round_dp_with_strategy(9, RoundingStrategy::ToZero)
        .normalize()
}

fn whole(value: Decimal) -> u32 {
    value.floor().to_u32().unwrap_or(0)
}

fn float(value: Decimal) -> f64 {
    value.to_f64().unwrap_or(f64::NAN)
}
