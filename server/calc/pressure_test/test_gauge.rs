//! Whether a pressure gauge suits a test: full scale against test pressure, and how finely it reads.
//! Whether its calibration is valid on the day is asked of the instrument's record.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::{SAME, StampedPressure};
use crate::calc::OutOfRange;
use crate::calc::quantity::significant;
use crate::calc::working::{Source, Step, Working};

/// The coarsest division of a test gauge usually accepted, as a share of the test pressure.
pub const USUAL_READING_SHARE: f64 = 0.02;

/// How the full scale of a test gauge suits a test pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum GaugeFit {
    /// Full scale about twice the test pressure.
    Best,
    /// Full scale from 1.5 to 4 times the test pressure.
    Fits,
    /// Full scale under 1.5 times the test pressure.
    TooSmall,
    /// Full scale over 4 times the test pressure.
    TooLarge,
    /// Full scale or test pressure is not above zero.
    Undefined,
}

/// Whether a pressure gauge suits a test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GaugeVerdict {
    /// The verdict.
    pub fit: GaugeFit,
    /// Full scale over test pressure, where both are above zero.
    pub ratio: Option<f64>,
    /// How the verdict was found.
    pub working: Working,
}

impl GaugeVerdict {
    /// Whether the gauge may be used for the test.
    #[must_use]
    pub fn fits(&self) -> bool {
        matches!(self.fit, GaugeFit::Best | GaugeFit::Fits)
    }
}

/// Whether the full scale of a dial gauge suits a test pressure.
///
/// # Formula
/// `q = full scale / P_T`; suits for 1.5 ≤ q ≤ 4, best about 2, which is taken as 1.6 ≤ q ≤ 2.5.
///
/// # Valid range
/// Both pressures above zero, in any units; the ends of the range count as inside.
///
/// # Errors
/// None: a pressure not above zero gives [`GaugeFit::Undefined`].
///
/// # Source
/// ASME VIII-1, UG-102; the width of "about" is our own, half a step of the preferred scales
/// (… 1, 1.6, 2.5 …) either way.
#[must_use]
pub fn gauge_fits(full_scale: StampedPressure, test_pressure: StampedPressure) -> GaugeVerdict {
    let defined = full_scale.value > Decimal::ZERO && test_pressure.value > Decimal::ZERO;
    let ratio = Some(full_scale.in_unit(test_pressure.unit) / test_pressure.number())
        .filter(|q| defined && q.is_finite());
    let fit = match ratio {
        None => GaugeFit::Undefined,
        Some(q) if q < 1.5 * (1.0 - SAME) => GaugeFit::TooSmall,
        Some(q) if q > 4.0 * (1.0 + SAME) => GaugeFit::TooLarge,
        Some(q) if (1.6 * (1.0 - SAME)..=2.5 * (1.0 + SAME)).contains(&q) => GaugeFit::Best,
        Some(_) => GaugeFit::Fits,
    };
    let verdict = match fit {
        GaugeFit::Best => "about twice the test pressure: best",
        GaugeFit::Fits => "within 1.5 to 4 times the test pressure",
        GaugeFit::TooSmall => "under 1.5 times the test pressure",
        GaugeFit::TooLarge => "over 4 times the test pressure",
        GaugeFit::Undefined => "not defined",
    };
    let working = Working::new("Range of the test gauge").step(
        Step::new(
            "q",
            "full scale over test pressure",
            "q = FS / P_T, from 1.5 to 4",
            Source::published("ASME BPVC Section VIII Division 1, UG-102"),
        )
        .with("FS", "full scale", full_scale, Source::Entered)
        .with("P_T", "test pressure", test_pressure, Source::Entered)
        .gives(ratio.map_or_else(
            || verdict.to_owned(),
            |q| format!("{}: {verdict}", significant(q, 4)),
        )),
    );
    GaugeVerdict {
        fit,
        ratio,
        working,
    }
}

/// The gauge that suits a test best, as its place in the list.
///
/// # Formula
/// Among the full scales that suit ([`gauge_fits`]) the one nearest to twice the test pressure by
/// ratio: least `|ln(FS / (2·P_T))|`; of equal ones the first.
///
/// # Valid range
/// As [`gauge_fits`]; an empty list, or one in which nothing suits, gives none.
///
/// # Errors
/// None.
///
/// # Source
/// ASME VIII-1, UG-102, "about double"; that nearness is taken by ratio is our own: 1000 and 800 for
/// a test at 450 are equally near by difference.
#[must_use]
pub fn best_gauge(
    full_scales: &[StampedPressure],
    test_pressure: StampedPressure,
) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    for (place, &full_scale) in full_scales.iter().enumerate() {
        let verdict = gauge_fits(full_scale, test_pressure);
        if let (true, Some(ratio)) = (verdict.fits(), verdict.ratio) {
            let distance = (ratio / 2.0).ln().abs();
            // Two distances that differ by rounding alone are equal, and the first of equals stays.
            if best.is_none_or(|(_, least)| distance < least - SAME) {
                best = Some((place, distance));
            }
        }
    }
    best.map(|(place, _)| place)
}

/// Whether a gauge reads finely enough for a test.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadingVerdict {
    /// Whether the division is fine enough.
    pub fine_enough: bool,
    /// One division over the test pressure.
    pub share: f64,
    /// How the verdict was found.
    pub working: Working,
}

/// Whether one division of a gauge is small enough beside the test pressure.
///
/// # Formula
/// `q = division / P_T`, fine enough for `q ≤ limit`.
///
/// # Valid range
/// Division and test pressure above zero, in any units; 0 < limit ≤ 0.1, usually
/// [`USUAL_READING_SHARE`].
///
/// # Errors
/// An input outside the range.
///
/// # Source
/// Common practice, no source: a drop smaller than a division cannot be seen.
pub fn reading_fits(
    division: StampedPressure,
    test_pressure: StampedPressure,
    limit: f64,
) -> Result<ReadingVerdict, OutOfRange> {
    for (input, pressure) in [
        ("division of the gauge", division),
        ("test pressure", test_pressure),
    ] {
        if pressure.value <= Decimal::ZERO {
            return Err(OutOfRange::new(input, pressure, "greater than 0"));
        }
    }
    if !(limit > 0.0 && limit <= 0.1) {
        return Err(OutOfRange::new(
            "share of one division",
            limit,
            "greater than 0 and at most 0.1",
        ));
    }
    let share = division.in_unit(test_pressure.unit) / test_pressure.number();
    let fine_enough = share <= limit * (1.0 + SAME);
    let working = Working::new("Division of the test gauge").step(
        Step::new(
            "q",
            "one division over the test pressure",
            "q = division / P_T ≤ limit",
            Source::CommonPractice,
        )
        .with(
            "division",
            "smallest division or digit",
            division,
            Source::Entered,
        )
        .with("P_T", "test pressure", test_pressure, Source::Entered)
        .with(
            "limit",
            "largest share",
            format!("{} %", significant(limit * 100.0, 3)),
            Source::Plant,
        )
        .gives(format!(
            "{} %: {}",
            significant(share * 100.0, 3),
            if fine_enough {
                "fine enough"
            } else {
                "too coarse"
            }
        )),
    );
    Ok(ReadingVerdict {
        fine_enough,
        share,
        working,
    })
}
