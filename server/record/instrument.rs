//! Instruments and their calibrations: what a torque, a thickness or a pressure was measured with.
//! Whether one may be used on a day is decided here.

use rust_decimal::Decimal;
use rust_decimal::prelude::{FromPrimitive, ToPrimitive};
use time::Date;

pub use super::calibration::{Calibration, Uncertainty};
use super::gauge::Change;
use super::ids::{InstrumentId, InstrumentNumber};
use super::refusal::FieldError;
use super::words::words;
use crate::calc::bolting::{WrenchFit, wrench_fits};
use crate::calc::calendar::said;
use crate::calc::quantity::{
    LengthUnit, PressureUnit, StampedLength, StampedTorque, TemperatureUnit, TorqueUnit, Unit,
};
use crate::calc::working::Working;

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
    /// What heights along the rails are read with. A caliper measures between its own jaws and tells no
    /// height along a face (common practice, no source); faces read with one in the past stay as recorded.
    pub const HEIGHTS: &'static [Self] = &[Self::DialIndicator, Self::DepthMicrometer];
    /// What a gap under the straightedge is read with.
    pub const GAP: &'static [Self] = &[Self::FeelerSet];
    /// What a wall is measured with.
    pub const WALL: &'static [Self] = &[Self::Caliper, Self::DepthMicrometer];

    /// Any one of some kinds, in words: "caliper or depth micrometer".
    pub fn any_of(kinds: &[Self]) -> String {
        let all: Vec<&str> = kinds.iter().map(|kind| kind.shown()).collect();
        all.join(" or ")
    }

    /// The kind with what the maker calls it, "torque wrench; click wrench"; the maker's words alone where
    /// they name the kind.
    pub fn called(self, description: &str) -> String {
        let own = description.trim();
        if own.is_empty() {
            self.shown().to_owned()
        } else if own.to_lowercase().contains(self.shown()) {
            own.to_owned()
        } else {
            format!("{self}; {own}")
        }
    }

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
    /// The plant's own number of loadings between calibrations, of a torque wrench.
    pub cycle_limit: Option<u32>,
    /// The latest calibration, if there was one.
    pub calibration: Option<Calibration>,
    /// Counts the changes.
    pub version: i64,
}

/// Loadings after which a torque wrench is calibrated again where the plant states no number of its
/// own. ISO 6789:2003 gives 5000 cycles or twelve months, whichever comes first, to those without a
/// procedure of their own (known at second hand).
pub const USUAL_CYCLES: u32 = 5000;

/// How many loadings a torque wrench has made since its latest calibration, and how many it may make.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cycles {
    /// Made since the latest calibration: every nut of every pass it tightened.
    pub made: i64,
    /// After which it is calibrated again.
    pub allowed: i64,
}

impl Cycles {
    /// How many are left.
    pub fn left(self) -> i64 {
        (self.allowed - self.made).max(0)
    }

    /// Whether none is left.
    pub fn spent(self) -> bool {
        self.left() == 0
    }
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
            WhyNot::OutOfTolerance(on) => {
                format!("{number} was found out of tolerance on {}", said(on))
            }
            WhyNot::CalibratedLater(on) => {
                format!("{number} was calibrated on {}, after this day", said(on))
            }
            WhyNot::RanOut(on) => {
                format!("The calibration of {number} ran out on {}", said(on))
            }
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
        match self.cycle_limit {
            Some(_) if self.kind != InstrumentKind::TorqueWrench => faults.push(FieldError::new(
                "cycle_limit",
                "Only the loadings of a torque wrench are counted",
            )),
            Some(limit) if !(1..=1_000_000).contains(&limit) => faults.push(FieldError::new(
                "cycle_limit",
                "Write 1 to 1000000, or leave it empty",
            )),
            _ => {}
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

    /// The range of a torque wrench; none for anything else.
    pub fn torque_range(&self) -> Option<(StampedTorque, StampedTorque)> {
        if self.kind != InstrumentKind::TorqueWrench {
            return None;
        }
        let unit = TorqueUnit::from_ucum(&self.unit)?;
        Some((
            StampedTorque::new(self.range_low, unit),
            StampedTorque::new(self.range_high, unit),
        ))
    }

    /// How far a difference of two readings near this value may be off by the instrument itself, as a
    /// standard uncertainty: each reading lies within half a step (rectangular, two make a difference),
    /// and the calibration certificate states the rest (JCGM 100:2008, 4.3.7 and 5.1.2). None where
    /// neither is known or the unit is no length.
    pub fn off_by(&self, value: StampedLength) -> Option<StampedLength> {
        let own = LengthUnit::from_ucum(&self.unit)?;
        let steps = self.resolution.map(|step| {
            let step = StampedLength::new(step, own).in_unit(value.unit);
            step / 6.0_f64.sqrt()
        });
        let stated = self.calibration.as_ref().and_then(|c| {
            let si = c.uncertainty.as_ref()?.standard_si(self.kind, value.si())?;
            Some(value.unit.from_si(si))
        });
        let off = match (steps, stated) {
            (None, None) => return None,
            (steps, stated) => steps.unwrap_or(0.0).hypot(stated.unwrap_or(0.0)),
        };
        Some(StampedLength::new(
            Decimal::from_f64(off)?.round_sf(3)?,
            value.unit,
        ))
    }

    /// Where a torque wrench stands that made so many loadings since its calibration; none for
    /// anything else.
    pub fn cycles(&self, made: u32) -> Option<Cycles> {
        (self.kind == InstrumentKind::TorqueWrench).then(|| Cycles {
            made: i64::from(made),
            allowed: i64::from(self.cycle_limit.unwrap_or(USUAL_CYCLES)),
        })
    }

    /// Whether a wrench that made so many loadings since its calibration may go on.
    ///
    /// # Errors
    /// Says why not.
    pub fn may_go_on(&self, made: u32) -> Result<(), String> {
        match self.cycles(made) {
            Some(cycles) if cycles.spent() => Err(format!(
                "{} has tightened {} times since its calibration; after {} it is calibrated again",
                self.number, cycles.made, cycles.allowed
            )),
            _ => Ok(()),
        }
    }

    /// Whether this wrench may be used for a torque that day, with the working of its range.
    ///
    /// # Errors
    /// Says why not.
    pub fn may_tighten(&self, target: StampedTorque, day: Date) -> Result<Working, String> {
        let number = &self.number;
        let Some((low, high)) = self.torque_range() else {
            return Err(format!("{number} is no torque wrench"));
        };
        self.usable_on(day)?;
        let verdict = wrench_fits(target, low, high).map_err(|e| e.to_string())?;
        let (from, to) = (verdict.usable_from, verdict.usable_to);
        match verdict.fit {
            WrenchFit::Fits => Ok(verdict.working),
            WrenchFit::BelowRange => Err(format!(
                "{target} lies below what {number} is good for, {from} to {to}"
            )),
            WrenchFit::AboveRange => Err(format!(
                "{target} lies above what {number} is good for, {from} to {to}"
            )),
        }
    }

    /// Whether this instrument may be used for a measurement of one of these kinds that day.
    ///
    /// # Errors
    /// Says why not.
    pub fn may_measure(&self, kinds: &[InstrumentKind], day: Date) -> Result<(), String> {
        if !kinds.contains(&self.kind) {
            return Err(format!(
                "{} is a {}; this is read with a {}",
                self.number,
                self.kind,
                InstrumentKind::any_of(kinds)
            ));
        }
        self.usable_on(day)
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
            (
                "loadings between calibrations",
                i.cycle_limit.map_or_else(String::new, |n| n.to_string()),
            ),
        ]
    };
    Change::between(shown(before), shown(after))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_instrument_is_called_by_its_kind_once() {
        let called = |kind: InstrumentKind, description| kind.called(description);
        assert_eq!(
            called(InstrumentKind::TorqueWrench, "click wrench, serial 4711"),
            "torque wrench; click wrench, serial 4711"
        );
        assert_eq!(
            called(
                InstrumentKind::DialIndicator,
                "Dial indicator on a sliding base"
            ),
            "Dial indicator on a sliding base"
        );
        assert_eq!(
            called(InstrumentKind::DepthMicrometer, " "),
            "depth micrometer"
        );
    }
}
