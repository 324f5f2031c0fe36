//! What goes into a required test pressure: the ratio of allowable stresses and the weakest part.
//! Allowable stresses and limits themselves come from the standards and the maker's papers.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::{LARGEST_RATIO, exceeds, pressure_checked};
use crate::calc::OutOfRange;
use crate::calc::quantity::{StampedPressure, significant};
use crate::calc::working::{Source, Step, Working};

/// The stress ratio of a material from its two allowable stresses.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StressRatio {
    /// `S_T/S`, not below 1 and not above the cap.
    pub ratio: f64,
    /// How it was found.
    pub working: Working,
}

/// The stress ratio `S_T/S`.
///
/// # Formula
/// `r = max(S_T / S, 1)`, and `min(r, cap)` where a cap is given; `S_T` and S allowable stresses at
/// test and at design temperature, from one table of one edition; the lowest ratio of all materials
/// of the assembly governs.
///
/// # Valid range
/// 0 < stresses ≤ 2000 `MPa` in any units; 1 ≤ cap ≤ 20.
///
/// # Errors
/// An input outside the range.
///
/// # Source
/// ASME B31.3, 345.4.2(b); UG-99(b). The cap of 6.5 stood in B31.3 up to the 2004 edition and was
/// taken out later (second hand, not read in the code), so it is an argument and not built in.
pub fn stress_ratio(
    at_test: StampedPressure,
    at_design: StampedPressure,
    cap: Option<f64>,
) -> Result<StressRatio, OutOfRange> {
    for (input, stress) in [
        ("allowable stress at test temperature", at_test),
        ("allowable stress at design temperature", at_design),
    ] {
        if !(stress.value > Decimal::ZERO && stress.si() <= 2.0e9) {
            return Err(OutOfRange::new(
                input,
                stress,
                "greater than 0 and at most 2000 MPa",
            ));
        }
    }
    if let Some(cap) = cap
        && !(1.0..=LARGEST_RATIO).contains(&cap)
    {
        return Err(OutOfRange::new(
            "cap of the stress ratio",
            cap,
            format!("from 1 to {LARGEST_RATIO}"),
        ));
    }
    let plain = at_test.in_unit(at_design.unit) / at_design.number();
    let ratio = plain.max(1.0).min(cap.unwrap_or(f64::INFINITY));
    let working = Working::new("Stress ratio").step(
        Step::new(
            "r",
            "stress ratio, at least 1",
            if cap.is_some() {
                "min(max(S_T/S, 1), cap)"
            } else {
                "max(S_T/S, 1)"
            },
            Source::published("ASME B31.3, 345.4.2(b); ASME VIII-1, UG-99(b)"),
        )
        .with(
            "S_T",
            "allowable stress at test temperature",
            at_test,
            Source::Entered,
        )
        .with(
            "S",
            "allowable stress at design temperature",
            at_design,
            Source::Entered,
        )
        .with(
            "cap",
            "cap of the plant's edition",
            cap.map_or_else(|| "none".to_owned(), |cap| cap.to_string()),
            Source::Plant,
        )
        .gives(significant(ratio, 6)),
    );
    Ok(StressRatio { ratio, working })
}

/// A part of the assembly and the pressure it may see in a test.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ComponentLimit {
    /// What it is ("glass", "gauge valve", "shell of the gauge").
    pub component: String,
    /// Its stated limit.
    pub limit: StampedPressure,
}

/// The part that limits the test: the one with the lowest stated pressure, the first of equal ones.
///
/// # Formula
/// The least of all limits, compared in pascal.
///
/// # Valid range
/// Any number of parts, in any units.
///
/// # Errors
/// A limit that is not above zero.
///
/// # Source
/// An assembly is as strong as its weakest part: common practice, no source.
pub fn weakest(limits: &[ComponentLimit]) -> Result<Option<&ComponentLimit>, OutOfRange> {
    let mut weakest: Option<&ComponentLimit> = None;
    for part in limits {
        pressure_checked("component limit", part.limit)?;
        if weakest.is_none_or(|so_far| exceeds(so_far.limit, part.limit)) {
            weakest = Some(part);
        }
    }
    Ok(weakest)
}
