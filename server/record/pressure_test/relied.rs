//! The pressure gauge a test relied on, as it stood on the day: range, calibration, and whether it
//! suits. Later calibrations of the same gauge change nothing here.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use time::Date;

use crate::calc::pressure_test::{GaugeVerdict, USUAL_READING_SHARE, gauge_fits, reading_fits};
use crate::calc::quantity::{PressureUnit, StampedPressure, Unit};
use crate::record::InstrumentNumber;
use crate::record::instrument::{Calibration, Instrument, Uncertainty};

time::serde::format_description!(civil, Date, "[year]-[month]-[day]");

/// The pressure gauge as it stood on the day of the test: what comes to light later changes nothing
/// of what the test relied on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Relied {
    /// Its number.
    pub number: InstrumentNumber,
    /// Maker's description, serial number.
    pub description: String,
    /// Bottom of the range.
    pub range_low: Decimal,
    /// Top of the range.
    pub range_high: Decimal,
    /// Unit of the range.
    pub unit: PressureUnit,
    /// Smallest step that can be read.
    pub resolution: Option<Decimal>,
    /// When it was calibrated.
    #[serde(with = "civil")]
    pub calibrated_on: Date,
    /// Last day that calibration covers.
    #[serde(with = "civil")]
    pub due_on: Date,
    /// The calibration certificate's reference.
    pub reference: String,
    /// The uncertainty that certificate states, if it states one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub uncertainty: Option<Uncertainty>,
}

impl Relied {
    /// Whether a pressure gauge may be relied on for a test on that day, and as what it then stands
    /// in the record. Its calibration must be the one that counted on that day.
    ///
    /// # Errors
    /// Says why not.
    pub fn on(
        instrument: &Instrument,
        day: Date,
        required: StampedPressure,
    ) -> Result<Self, String> {
        instrument.usable_on(day)?;
        let number = &instrument.number;
        let (Some(unit), Some(calibration)) = (
            PressureUnit::from_ucum(&instrument.unit),
            &instrument.calibration,
        ) else {
            return Err(format!("{number} is no pressure gauge"));
        };
        let relied = Self::as_is(instrument, unit, calibration);
        let verdict = relied.suits(required);
        if verdict.fits() {
            Ok(relied)
        } else {
            let high = relied.full_scale().si() > required.si() * 4.0;
            let how = if high { "too high" } else { "too low" };
            Err(format!(
                "{number} reads to {}, {how} for {required}: between 1.5 and 4 times that",
                relied.full_scale()
            ))
        }
    }

    /// A pressure gauge as it stands in a record; none for what is none or was never calibrated.
    pub fn of(instrument: &Instrument) -> Option<Self> {
        let unit = PressureUnit::from_ucum(&instrument.unit)?;
        let calibration = instrument.calibration.as_ref()?;
        Some(Self::as_is(instrument, unit, calibration))
    }

    fn as_is(instrument: &Instrument, unit: PressureUnit, calibration: &Calibration) -> Self {
        Self {
            number: instrument.number.clone(),
            description: instrument.description.clone(),
            range_low: instrument.range_low,
            range_high: instrument.range_high,
            unit,
            resolution: instrument.resolution,
            calibrated_on: calibration.calibrated_on,
            due_on: calibration.due_on,
            reference: calibration.reference.clone(),
            uncertainty: calibration.uncertainty.clone(),
        }
    }

    /// The top of its range.
    pub const fn full_scale(&self) -> StampedPressure {
        StampedPressure::new(self.range_high, self.unit)
    }

    /// Its range with the unit: "0 to 3000 psi".
    pub fn range(&self) -> String {
        format!("{} to {}", self.range_low, self.full_scale())
    }

    /// How its range suits a test.
    pub fn suits(&self, required: StampedPressure) -> GaugeVerdict {
        gauge_fits(self.full_scale(), required)
    }

    /// Whether it reads in steps too coarse for the test to be told finely.
    pub fn coarse_for(&self, required: StampedPressure) -> bool {
        self.resolution
            .map(|step| StampedPressure::new(step, self.unit))
            .and_then(|step| reading_fits(step, required, USUAL_READING_SHARE).ok())
            .is_some_and(|verdict| !verdict.fine_enough)
    }
}
