//! A calibration of an instrument as its certificate states it, with the uncertainty it gives.
//! Whether the instrument may be used on a day is decided in `instrument.rs`.

use std::borrow::Borrow;

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};
use time::Date;

use super::ids::CalibrationId;
use super::instrument::{Found, InstrumentKind};
use super::refusal::FieldError;
use crate::calc::quantity::{LengthUnit, PressureUnit, TemperatureUnit, TorqueUnit, Unit};

/// One calibration.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Calibration {
    /// The row.
    pub id: CalibrationId,
    /// When it was done.
    pub calibrated_on: Date,
    /// Last day it covers.
    pub due_on: Date,
    /// The calibration certificate's reference.
    pub reference: String,
    /// What was found.
    pub found: Found,
    /// The uncertainty its certificate states, if it states one.
    pub uncertainty: Option<Uncertainty>,
}

/// The unit of an uncertainty that is a share of the reading (UCUM).
pub const OF_READING: &str = "%";
/// The largest coverage factor taken; beyond it somebody typed into the wrong field.
const MOST_COVERAGE: u32 = 10;

/// An expanded uncertainty U as a calibration certificate states it: U = k · u (JCGM 100:2008, 6.2.1),
/// in the instrument's kind of unit or as a percentage of the reading.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Uncertainty {
    /// U, the expanded uncertainty.
    pub value: Decimal,
    /// Its unit (UCUM), or [`OF_READING`].
    pub unit: String,
    /// k, the coverage factor.
    pub coverage: Decimal,
}

impl Uncertainty {
    /// The units it may be stated in for an instrument of this kind: UCUM code and what is shown.
    pub fn units(kind: InstrumentKind) -> Vec<(&'static str, &'static str)> {
        let mut list = kind.units();
        list.push((OF_READING, "% of the reading"));
        list
    }

    /// What is wrong with it for an instrument of this kind. Nothing where all is right.
    pub fn faults(&self, kind: InstrumentKind) -> Vec<FieldError> {
        let mut faults = Vec::new();
        if self.value <= Decimal::ZERO {
            let words = "An uncertainty lies above zero; leave it empty where none is stated";
            faults.push(FieldError::new("uncertainty", words));
        }
        if Self::units(kind).iter().all(|(code, _)| *code != self.unit) {
            let words = format!("The uncertainty of a {kind} is not stated in this unit");
            faults.push(FieldError::new("uncertainty_unit", words));
        }
        if self.coverage < Decimal::ONE || self.coverage > Decimal::from(MOST_COVERAGE) {
            let words = "The coverage factor k is the certificate\u{2019}s, most often 2";
            faults.push(FieldError::new("coverage", words));
        }
        faults
    }

    /// The standard uncertainty u = U / k in the SI unit of what the instrument measures, at a reading
    /// in the same unit; none where its unit is not of the instrument's kind. Temperatures are in kelvin.
    pub fn standard_si(&self, kind: InstrumentKind, reading_si: f64) -> Option<f64> {
        let value = self.value.to_f64()?;
        let expanded = if self.unit == OF_READING {
            value / 100.0 * reading_si.abs()
        } else {
            value * one_in_si(kind, &self.unit)?
        };
        Some(expanded / self.coverage.to_f64()?)
    }

    /// As papers and pages show it: "0.0002 in (k = 2)".
    pub fn shown(&self, kind: impl Borrow<InstrumentKind>) -> String {
        format!(
            "{} {} (k = {})",
            self.value,
            self.symbol(kind),
            self.coverage.normalize()
        )
    }

    /// The symbol of its unit.
    pub fn symbol(&self, kind: impl Borrow<InstrumentKind>) -> &str {
        Self::units(*kind.borrow())
            .into_iter()
            .find(|(code, _)| *code == self.unit)
            .map_or(self.unit.as_str(), |(_, symbol)| symbol)
    }
}

/// How large a difference of one unit is in SI; differences of temperature know no zero.
fn one_in_si(kind: InstrumentKind, ucum: &str) -> Option<f64> {
    fn step<U: Unit>(ucum: &str) -> Option<f64> {
        let unit = U::from_ucum(ucum)?;
        Some(unit.to_si(1.0) - unit.to_si(0.0))
    }
    match kind {
        InstrumentKind::TorqueWrench => step::<TorqueUnit>(ucum),
        InstrumentKind::Caliper
        | InstrumentKind::DepthMicrometer
        | InstrumentKind::DialIndicator
        | InstrumentKind::FeelerSet => step::<LengthUnit>(ucum),
        InstrumentKind::PressureGauge => step::<PressureUnit>(ucum),
        InstrumentKind::Thermometer => step::<TemperatureUnit>(ucum),
    }
}

#[cfg(test)]
#[expect(clippy::expect_used, reason = "a test that cannot go on should stop")]
mod tests {
    use super::*;

    fn stated(value: &str, unit: &str, coverage: &str) -> Uncertainty {
        Uncertainty {
            value: value.parse().expect("a number"),
            unit: unit.to_owned(),
            coverage: coverage.parse().expect("a number"),
        }
    }

    /// JCGM 100:2008, H.1.3.1: a length standard's certificate gives U = 0.075 µm with k = 3, hence
    /// u = 25 nm.
    #[test]
    fn the_standard_uncertainty_is_the_expanded_one_over_the_coverage_factor() {
        let u = stated("0.075", "um", "3").standard_si(InstrumentKind::DepthMicrometer, 0.05);
        assert!((u.expect("a length") - 25e-9).abs() < 1e-18, "{u:?}");
    }

    #[test]
    fn a_share_of_the_reading_grows_with_the_reading() {
        let wrench = stated("1", "%", "2");
        let u = wrench.standard_si(InstrumentKind::TorqueWrench, 40.0);
        assert!((u.expect("a torque") - 0.2).abs() < 1e-12, "{u:?}");
        assert_eq!(
            wrench.shown(InstrumentKind::TorqueWrench),
            "1 % of the reading (k = 2)"
        );
    }

    /// A difference of 1.8 °F is one of 1 K (NIST SP 811, B.8).
    #[test]
    fn a_difference_of_temperature_has_no_zero() {
        let u = stated("1.8", "[degF]", "2").standard_si(InstrumentKind::Thermometer, 300.0);
        assert!((u.expect("a temperature") - 0.5).abs() < 1e-9, "{u:?}");
    }

    #[test]
    fn what_cannot_be_is_refused_beside_its_field() {
        let faults = |u: Uncertainty| -> Vec<String> {
            u.faults(InstrumentKind::Caliper)
                .into_iter()
                .map(|fault| fault.field)
                .collect()
        };
        assert!(faults(stated("0.02", "mm", "2")).is_empty());
        assert_eq!(faults(stated("0", "mm", "2")), ["uncertainty"]);
        assert_eq!(faults(stated("0.02", "bar", "2")), ["uncertainty_unit"]);
        assert_eq!(faults(stated("0.02", "mm", "0.5")), ["coverage"]);
        assert_eq!(faults(stated("0.02", "mm", "95")), ["coverage"]);
    }
}
