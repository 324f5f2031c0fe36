//! Whether a seating face may be used again: its flatness and the wall behind it against their limits.
//! How flat it is comes from `flatness`; how often it was skimmed is a matter of its records.

use rust_decimal::prelude::ToPrimitive;
use rust_decimal::{Decimal, RoundingStrategy};
use serde::{Deserialize, Serialize};

use super::OutOfRange;
use super::conformance::{Verdict, compare};
use super::flatness::{FlatnessError, Station, minimum_zone};
use super::quantity::{LengthUnit, Stamped, StampedLength};
use super::working::{Source, Step, Working};

/// A reading held against its limit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Judged {
    /// Whether the limit is kept; a value on the limit keeps it.
    pub kept: bool,
    /// The value, in the unit it was read in; a computed one is rounded up to four digits.
    pub value: StampedLength,
    /// The limit.
    pub limit: StampedLength,
    /// How it was found.
    pub working: Working,
}

/// Places along the two rails of a face, equally spaced, with the heights read there.
///
/// # Formula
/// xᵢ = i·p from the same end on both rails; y = 0 on the left rail, w on the right; p: distance
/// between stations, w: distance between the rails, both in mm; heights in any one unit.
///
/// # Valid range
/// As [`minimum_zone`], which refuses what it cannot use.
///
/// # Source
/// Geometry.
pub fn stations(
    pitch_mm: Decimal,
    rails_apart_mm: Decimal,
    left: &[Decimal],
    right: &[Decimal],
) -> Vec<Station> {
    let rail = |heights: &[Decimal], y: Decimal| -> Vec<Station> {
        heights
            .iter()
            .zip(0_u32..)
            .map(|(height, i)| Station {
                x: float(pitch_mm * Decimal::from(i)),
                y: float(y),
                height: float(*height),
            })
            .collect()
    };
    let mut all = rail(left, Decimal::ZERO);
    all.extend(rail(right, rails_apart_mm));
    all
}

/// Holds the minimum-zone flatness of a face against its limit.
///
/// # Formula
/// MZ ≤ T, with MZ from [`minimum_zone`] in the unit of the heights and T the limit.
///
/// # Valid range
/// As [`minimum_zone`]; T > 0.
///
/// # Errors
/// As [`minimum_zone`].
///
/// # Source
/// ISO 12781-1:2011 for MZ; T is the plant's limit (0.002 in: common practice, no source).
pub fn flat(
    stations: &[Station],
    unit: LengthUnit,
    limit: StampedLength,
) -> Result<Judged, FlatnessError> {
    let found = minimum_zone(stations)?;
    // Nine places are far below what any height is read to, and far above binary noise.
    let found_value = found.stamped(unit)?;
    let exact = StampedLength::new(found_value.value.round_dp(9).normalize(), unit);
    let kept = at_most(exact, limit)?;
    let value = rounded_up(exact);
    let mut working = found.working;
    working.steps.push(
        Step::new("verdict", "decision", "MZ ≤ T", Source::Arithmetic)
            .with("MZ", "flatness", exact, Source::Arithmetic)
            .with("T", "flatness limit", limit, Source::Plant)
            .rounded(format!("shown as {value}, rounded up"))
            .gives(if kept { "within the limit" } else { "not flat" }),
    );
    Ok(Judged {
        kept,
        value,
        limit,
        working: working.remark(PLAIN),
    })
}

/// Holds the thinnest feeler that does not pass under a straightedge against the flatness limit.
///
/// # Formula
/// s ≤ T: a gap the feeler s does not enter is smaller than s.
///
/// # Valid range
/// 0 < s, T ≤ 1 m.
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// Common practice, no source.
pub fn under_straightedge(
    feeler: StampedLength,
    limit: StampedLength,
) -> Result<Judged, OutOfRange> {
    metres("feeler", feeler)?;
    let kept = at_most(feeler, limit)?;
    let working = Working::new("Flatness under the straightedge")
        .step(
            Step::new("verdict", "decision", "s ≤ T", Source::CommonPractice)
                .with("s", "thinnest feeler that does not pass", feeler, Source::Entered)
                .with("T", "flatness limit", limit, Source::Plant)
                .gives(if kept { "within the limit" } else { "not flat" }),
        )
        .remark("The gap is smaller than the feeler it refuses. Lay the straightedge along both rails and across them.");
    Ok(Judged {
        kept,
        value: feeler,
        limit,
        working,
    })
}

/// Holds the wall between through-bore and recess against the least wall.
///
/// # Formula
/// t ≥ t₀.
///
/// # Valid range
/// 0 < t, t₀ ≤ 1 m.
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// Common practice, no source: 0.100 in at least; t₀ is the plant's limit.
pub fn wall(measured: StampedLength, least: StampedLength) -> Result<Judged, OutOfRange> {
    let (t, t0) = (metres("wall", measured)?, metres("least wall", least)?);
    let kept = compare(t, t0, f64::INFINITY, 0.0) == Verdict::Accept;
    let working = Working::new("Wall against the least wall")
        .step(
            Step::new("verdict", "decision", "t ≥ t₀", Source::CommonPractice)
                .with(
                    "t",
                    "wall between bore and recess",
                    measured,
                    Source::Entered,
                )
                .with("t₀", "least wall", least, Source::Plant)
                .gives(if kept { "thick enough" } else { "too thin" }),
        )
        .remark(PLAIN);
    Ok(Judged {
        kept,
        value: measured,
        limit: least,
        working,
    })
}

const PLAIN: &str = "The reading is taken as it is: the uncertainty of the measurement has no part in this decision.";

fn at_most(value: StampedLength, limit: StampedLength) -> Result<bool, OutOfRange> {
    let most = metres("flatness limit", limit)?;
    Ok(compare(value.si(), f64::NEG_INFINITY, most, 0.0) == Verdict::Accept)
}

fn metres(input: &'static str, length: Stamped<LengthUnit>) -> Result<f64, OutOfRange> {
    let si = length.si();
    if si > 0.0 && si <= 1.0 {
        Ok(si)
    } else {
        Err(OutOfRange::new(
            input,
            length,
            "greater than 0 and at most 1 m",
        ))
    }
}

fn rounded_up(length: StampedLength) -> StampedLength {
    let value = length
        .value
        .round_sf_with_strategy(4, RoundingStrategy::AwayFromZero)
        .unwrap_or(length.value);
    StampedLength::new(value.normalize(), length.unit)
}

fn float(value: Decimal) -> f64 {
    value.to_f64().unwrap_or(f64::NAN)
}
