//! Instruments and their calibrations: what a torque, a thickness or a pressure was measured with.
//! Whether one may be used on a day is decided here.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use time::Date;

use super::gauge::Change;
use super::ids::{CalibrationId, InstrumentId, InstrumentNumber};
use super::refusal::FieldError;
use super::words::words;
use crate::calc::quantity::{LengthUnit, PressureUnit, TemperatureUnit, TorqueUnit, Unit};

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

impl InstrumentKind {
    /// What an instrument of this kind measures.
    pub const fn measures(self) -> &'static str {
        match self {
            Self::TorqueWrench => TorqueUnit::KIND,
            Self::Caliper | Self::DepthMicrometer | Self::DialIndicator | Self::FeelerSet => {
                LengthUnit::KIND
            }
            Self::PressureGauge => PressureUnit::KIND,
            Self::Thermometer => TemperatureUnit::KIND,
        }
    }

    /// The units an instrument of this kind may read in: UCUM code and symbol.
    pub fn units(self) -> Vec<(&'static str, &'static str)> {
        fn all<U: Unit>() -> Vec<(&'static str, &'static str)> {
            U::ALL.iter().map(|u| (u.ucum(), u.symbol())).collect()
        }
        match self {
            Self::TorqueWrench => all::<TorqueUnit>(),
            Self::Caliper | Self::DepthMicrometer | Self::DialIndicator | Self::FeelerSet => {
                all::<LengthUnit>()
            }
            Self::PressureGauge => all::<PressureUnit>(),
            Self::Thermometer => all::<TemperatureUnit>(),
        }
    }
}

/// Why an instrument may not be relied on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WhyNot {
    /// It is out of use for good.
    Retired,
    /// No calibration is on record.
    NeverCalibrated,
    /// Its latest calibration, on this day, found it out of tolerance.
    OutOfTolerance(Date),
    /// Its latest calibration is of a later day.
    CalibratedLater(Date),
    /// Its calibration ran out on this day.
    RanOut(Date),
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
    /// Gives the reason why not.
    pub fn reliable_on(&self, day: Date) -> Result<(), WhyNot> {
        if self.retired {
            return Err(WhyNot::Retired);
        }
        match &self.calibration {
            None => Err(WhyNot::NeverCalibrated),
            Some(c) if c.found == Found::OutOfTolerance => {
                Err(WhyNot::OutOfTolerance(c.calibrated_on))
            }
            Some(c) if c.calibrated_on > day => Err(WhyNot::CalibratedLater(c.calibrated_on)),
            Some(c) if c.due_on < day => Err(WhyNot::RanOut(c.due_on)),
            Some(_) => Ok(()),
        }
    }

    /// Whether the instrument may be relied on that day.
    ///
    /// # Errors
    /// Says why not.
    pub fn usable_on(&self, day: Date) -> Result<(), String> {
        let number = &self.number;
        self.reliable_on(day).map_err(|why| match why {
            WhyNot::Retired => format!("{number} is out of use"),
            WhyNot::NeverCalibrated => format!("{number} has no calibration on record"),
            WhyNot::OutOfTolerance(on) => format!("{number} was found out of tolerance on {on}"),
            WhyNot::CalibratedLater(on) => {
                format!("{number} was calibrated on {on}, after this day")
            }
            WhyNot::RanOut(on) => format!("The calibration of {number} ran out on {on}"),
        })
    }

    /// The last day its latest calibration covers; none where that found it out of tolerance.
    pub fn covered_until(&self) -> Option<Date> {
        self.calibration
            .as_ref()
            .filter(|c| c.found == Found::WithinTolerance)
            .map(|c| c.due_on)
    }

    /// What is wrong with the instrument as described: range, unit and resolution have to fit its
    /// kind. Nothing where all is right.
    pub fn faults(&self) -> Vec<FieldError> {
        let mut faults = Vec::new();
        if !self.kind.units().iter().any(|(code, _)| *code == self.unit) {
            let words = format!("A {} does not read in this unit", self.kind);
            faults.push(FieldError::new("unit", words));
        }
        if self.range_high <= self.range_low {
            faults.push(FieldError::new(
                "range_high",
                "The top of the range lies above its bottom",
            ));
        }
        if self.kind == InstrumentKind::TorqueWrench && self.range_low < Decimal::ZERO {
            faults.push(FieldError::new(
                "range_low",
                "A torque wrench reads from zero upwards",
            ));
        }
        if let Some(step) = self.resolution
            && (step <= Decimal::ZERO || step > self.range_high - self.range_low)
        {
            faults.push(FieldError::new(
                "resolution",
                "The smallest step is above zero and within the range",
            ));
        }
        faults
    }

    /// The symbol of its unit, as people write it.
    pub fn symbol(&self) -> &str {
        self.kind
            .units()
            .into_iter()
            .find(|(code, _)| *code == self.unit)
            .map_or(self.unit.as_str(), |(_, symbol)| symbol)
    }

    /// Its range with the unit: "10 to 80 ft·lbf".
    pub fn range(&self) -> String {
        let number = |value: Decimal| value.to_string().replace('-', "\u{2212}");
        format!(
            "{} to {} {}",
            number(self.range_low),
            number(self.range_high),
            self.symbol()
        )
    }

    /// The top of the range as a float.
    pub fn high(&self) -> f64 {
        self.range_high.to_f64().unwrap_or(f64::NAN)
    }
}

/// What differs between two states of an instrument, for its history.
pub fn changes(before: &Instrument, after: &Instrument) -> Vec<Change> {
    let shown = |i: &Instrument| {
        [
            ("number", i.number.to_string()),
            ("kind", i.kind.to_string()),
            ("description", i.description.clone()),
            ("range", i.range()),
            (
                "resolution",
                i.resolution.map_or_else(String::new, |r| r.to_string()),
            ),
        ]
    };
    Change::between(shown(before), shown(after))
}
