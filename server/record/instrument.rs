//! Instruments and their calibrations: what a torque, a thickness or a pressure was measured with.
//! Whether one may be used on a day is decided here.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use time::Date;

use super::ids::{CalibrationId, InstrumentId, InstrumentNumber};
use super::words::words;

words! {
    /// What an instrument is.
    InstrumentKind, "what the instrument is" {
        TorqueWrench: "torque-wrench", "torque wrench";
        Caliper: "caliper", "caliper";
        DepthMicrometer: "depth-micrometer", "depth micrometer";
        DialIndicator: "dial-indicator", "dial indicator";
        FeelerSet: "feeler-set", "feeler set";
        PressureGauge: "pressure-gauge", "pressure gauge";
        Thermometer: "thermometer", "thermometer";
    }
}

words! {
    /// What a calibration found.
    Found, "what the calibration found" {
        WithinTolerance: "within-tolerance", "within tolerance";
        OutOfTolerance: "out-of-tolerance", "out of tolerance";
    }
}

/// An instrument with its latest calibration.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Instrument {
    /// The row.
    pub id: InstrumentId,
    /// Its number.
    pub number: InstrumentNumber,
    /// What it is.
    pub kind: InstrumentKind,
    /// Maker's description, serial number.
    pub description: String,
    /// Bottom of the range.
    pub range_low: Decimal,
    /// Top of the range.
    pub range_high: Decimal,
    /// Unit of the range (UCUM).
    pub unit: String,
    /// Smallest step that can be read.
    pub resolution: Option<Decimal>,
    /// Whether it is out of use for good.
    pub retired: bool,
    /// The latest calibration, if there was one.
    pub calibration: Option<Calibration>,
    /// Counts the changes.
    pub version: i64,
}

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
}

impl Instrument {
    /// Whether the instrument may be relied on that day.
    ///
    /// # Errors
    /// Says why not.
    pub fn usable_on(&self, day: Date) -> Result<(), String> {
        let number = &self.number;
        if self.retired {
            return Err(format!("{number} is out of use"));
        }
        match &self.calibration {
            None => Err(format!("{number} has no calibration on record")),
            Some(c) if c.found == Found::OutOfTolerance => Err(format!(
                "{number} was found out of tolerance on {}",
                c.calibrated_on
            )),
            Some(c) if c.calibrated_on > day => Err(format!(
                "{number} was calibrated on {}, after this day",
                c.calibrated_on
            )),
            Some(c) if c.due_on < day => Err(format!(
                "The calibration of {number} ran out on {}",
                c.due_on
            )),
            Some(_) => Ok(()),
        }
    }

    /// The top of the range as a float.
    pub fn high(&self) -> f64 {
        self.range_high.to_f64().unwrap_or(f64::NAN)
    }
}
