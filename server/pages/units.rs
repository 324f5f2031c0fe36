//! Figures as each person reads them: what was stamped, typed or computed stands first, and the same in
//! the person's unit follows in brackets. Papers are for everybody and stay as stamped.

use std::borrow::Borrow;

use crate::calc::quantity::{
    LengthUnit, PressureUnit, Side, Stamped, TemperatureUnit, TorqueUnit, Unit, VolumeUnit,
};
use crate::pages::show::KEPT;
use crate::record::person::Reads;

mod figure;

/// A figure whose unit stays on the line of its last number.
fn joined(figure: &str) -> String {
    figure.rsplit_once([' ', '\u{a0}', '\u{202f}']).map_or_else(
        || figure.to_owned(),
        |(numbers, unit)| format!("{numbers}{KEPT}{unit}"),
    )
}

/// A kind of quantity with its unit in each system.
pub trait Read: Unit {
    /// What people read who read US customary units.
    const US: Self;
    /// What people read who read SI units, and units accepted for use with the SI.
    const SI: Self;
    /// The side a converted value is rounded to where nothing else is said.
    const SIDE: Side = Side::Nearest;
    /// The system a unit belongs to; none for a unit of neither.
    fn system(self) -> Option<Reads>;
    /// The unit somebody reads a value of this size in, which is given in the SI unit of the kind.
    fn read_by(reads: Reads, _si: f64) -> Option<Self> {
        match reads {
            Reads::AsStamped => None,
            Reads::UsCustomary => Some(Self::US),
            Reads::Si => Some(Self::SI),
        }
    }
    /// A difference of two values in another unit.
    fn difference(self, value: f64, other: Self) -> f64 {
        other.from_si(self.to_si(value))
    }
}

impl Read for PressureUnit {
    const US: Self = Self::Psi;
    const SI: Self = Self::Bar;
    fn system(self) -> Option<Reads> {
        match self {
            Self::Psi => Some(Reads::UsCustomary),
            Self::Bar | Self::KiloPascal | Self::MegaPascal => Some(Reads::Si),
            Self::KgfPerCm2 => None,
        }
    }
}

impl Read for TorqueUnit {
    const US: Self = Self::FootPound;
    const SI: Self = Self::NewtonMetre;
    /// A torque is set on a wrench by what stands here, and the nameplate's is never passed.
    const SIDE: Side = Side::Down;
    fn system(self) -> Option<Reads> {
        match self {
            Self::FootPound | Self::InchPound => Some(Reads::UsCustomary),
            Self::NewtonMetre => Some(Reads::Si),
            Self::KgfMetre => None,
        }
    }
}

/// Lengths below this are read in micrometres by those who read SI: flatness, gaps, wear.
const SMALL_M: f64 = 0.000_2;

impl Read for LengthUnit {
    const US: Self = Self::Inch;
    const SI: Self = Self::Millimetre;
    fn system(self) -> Option<Reads> {
        Some(match self {
            Self::Inch | Self::Thousandth => Reads::UsCustomary,
            Self::Millimetre | Self::Micrometre | Self::Metre => Reads::Si,
        })
    }
    fn read_by(reads: Reads, si: f64) -> Option<Self> {
        match reads {
            Reads::AsStamped => None,
            Reads::UsCustomary => Some(Self::US),
            Reads::Si if si.abs() < SMALL_M => Some(Self::Micrometre),
            Reads::Si => Some(Self::SI),
        }
    }
}

impl Read for TemperatureUnit {
    const US: Self = Self::Fahrenheit;
    const SI: Self = Self::Celsius;
    fn system(self) -> Option<Reads> {
        Some(match self {
            Self::Fahrenheit => Reads::UsCustomary,
            Self::Celsius | Self::Kelvin => Reads::Si,
        })
    }
    fn difference(self, value: f64, other: Self) -> f64 {
        let nought = other.from_si(self.to_si(0.0));
        other.from_si(self.to_si(value)) - nought
    }
}

impl Read for VolumeUnit {
    const US: Self = Self::Gallon;
    const SI: Self = Self::Litre;
    fn system(self) -> Option<Reads> {
        Some(match self {
            Self::Litre | Self::CubicMetre | Self::Millilitre => Reads::Si,
            Self::CubicFoot | Self::CubicInch | Self::Gallon => Reads::UsCustomary,
        })
    }
}

impl Reads {
    /// The unit offered first in an empty field: the person's, and the usual one where nothing was chosen
    /// or where it is of their system already, since the page then shows that one alone.
    pub fn unit<U: Read>(self, usual: U) -> U {
        if usual.system() == Some(self) {
            return usual;
        }
        U::read_by(self, f64::INFINITY).unwrap_or(usual)
    }

    /// The unit a value is converted into for this person; none where it stands alone.
    fn into_unit<U: Read>(self, unit: U, si: f64) -> Option<U> {
        U::read_by(self, si).filter(|_| unit.system() != Some(self))
    }

    /// The value in the person's unit, where its own is another one.
    fn converted<U: Read>(self, value: Stamped<U>, side: Side) -> Option<String> {
        let unit = self.into_unit(value.unit, value.si())?;
        Some(joined(&value.shown_to(unit, side)))
    }

    fn bracketed<U: Read>(self, value: Stamped<U>, side: Side) -> String {
        let stamped = joined(&value.to_string());
        match self.converted(value, side) {
            Some(own) => format!("{stamped} ({own})"),
            None => stamped,
        }
    }

    /// The value as it was given, with the person's unit in brackets: "1440 psi (99.28 bar)".
    pub fn of<U: Read>(self, value: &Stamped<U>) -> String {
        self.bracketed(*value, U::SIDE)
    }

    /// The same for what has to be reached: never rounded below it.
    pub fn at_least<U: Read>(self, value: &Stamped<U>) -> String {
        self.bracketed(*value, Side::Up)
    }

    /// The same for what must not be passed: never rounded above it.
    pub fn at_most<U: Read>(self, value: &Stamped<U>) -> String {
        self.bracketed(*value, Side::Down)
    }

    /// The same for a limit whose side the caller knows.
    pub fn to_side<U: Read>(self, value: &Stamped<U>, side: impl Borrow<Side>) -> String {
        self.bracketed(*value, *side.borrow())
    }

    /// Only the bracket, for a value that is drawn by itself: " (99.28 bar)", or nothing.
    pub fn bracket<U: Read>(self, value: &Stamped<U>) -> String {
        self.converted(*value, U::SIDE)
            .map_or_else(String::new, |own| format!(" ({own})"))
    }

    /// The bracket of what has to be reached.
    pub fn bracket_at_least<U: Read>(self, value: &Stamped<U>) -> String {
        self.converted(*value, Side::Up)
            .map_or_else(String::new, |own| format!(" ({own})"))
    }

    /// The bracket of what must not be passed.
    pub fn bracket_at_most<U: Read>(self, value: &Stamped<U>) -> String {
        self.converted(*value, Side::Down)
            .map_or_else(String::new, |own| format!(" ({own})"))
    }

    /// The value in another unit than its own wherever there is one: the person's, and the other usual
    /// one for those who chose none. For a torque to be set, since people own both kinds of wrench, and
    /// for what was just typed, since a unit taken for another shows there.
    pub fn other<U: Read>(self, value: &Stamped<U>) -> Option<String> {
        let reads = match (self, value.unit.system()) {
            (Self::AsStamped, Some(Self::UsCustomary)) => Self::Si,
            (Self::AsStamped, _) => Self::UsCustomary,
            (chosen, _) => chosen,
        };
        reads.converted(*value, U::SIDE)
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::Decimal;

    use super::*;
    use crate::calc::quantity::{StampedLength, StampedPressure, StampedTemperature};

    fn psi(value: i64) -> StampedPressure {
        StampedPressure::new(Decimal::from(value), PressureUnit::Psi)
    }

    /// The same with plain spaces, as it is read.
    pub(super) fn plain(told: impl AsRef<str>) -> String {
        told.as_ref().replace(KEPT, " ")
    }

    #[test]
    fn a_number_is_never_parted_from_its_unit_by_the_end_of_a_line() {
        assert_eq!(Reads::AsStamped.of(&psi(1440)), "1440\u{a0}psi");
        assert_eq!(Reads::Si.of(&psi(1440)), "1440\u{a0}psi (99.28\u{a0}bar)");
        assert_eq!(
            Reads::Si.figure("0 to 3000 psi"),
            "0 to 3000\u{a0}psi (0 to 206.8\u{a0}bar)"
        );
        assert_eq!(Reads::Si.bracket(&psi(1440)), " (99.28\u{a0}bar)");
    }

    #[test]
    fn nothing_stands_beside_a_value_for_those_who_read_as_stamped_or_in_its_own_unit() {
        assert_eq!(plain(Reads::AsStamped.of(&psi(1440))), "1440 psi");
        assert_eq!(plain(Reads::UsCustomary.of(&psi(1440))), "1440 psi");
        let kpa = StampedPressure::new(Decimal::from(900), PressureUnit::KiloPascal);
        assert_eq!(plain(Reads::Si.of(&kpa)), "900 kPa");
    }

    /// published: NIST SP 811 (2008), B.8: psi to kPa 6.894757, so 1440 psi are 99.2845 bar.
    #[test]
    fn the_stamped_value_stands_first_and_the_person_s_unit_in_brackets() {
        assert_eq!(plain(Reads::Si.of(&psi(1440))), "1440 psi (99.28 bar)");
        // published: the same, kgf/cm² to kPa 98.0665: 10 are 980.665 kPa, 142.233 psi.
        let old = StampedPressure::new(Decimal::from(10), PressureUnit::KgfPerCm2);
        assert_eq!(plain(Reads::Si.of(&old)), "10 kgf/cm² (9.807 bar)");
        assert_eq!(plain(Reads::UsCustomary.of(&old)), "10 kgf/cm² (142.2 psi)");
    }

    /// published: NIST SP 811 (2008), B.8: 1500 psi are 103.42136 bar.
    #[test]
    fn what_has_to_be_reached_is_rounded_up_and_what_must_not_be_passed_down() {
        assert_eq!(
            plain(Reads::Si.at_least(&psi(1500))),
            "1500 psi (103.5 bar)"
        );
        assert_eq!(plain(Reads::Si.at_most(&psi(1500))), "1500 psi (103.4 bar)");
        // 1 000 psi are 68.94757 bar: the nearest lies above.
        assert_eq!(plain(Reads::Si.of(&psi(1000))), "1000 psi (68.95 bar)");
        assert_eq!(plain(Reads::Si.at_most(&psi(1000))), "1000 psi (68.94 bar)");
        // A value that is exact in the other unit stays: 1 in is 25.4 mm by definition.
        let inch = StampedLength::new(Decimal::ONE, LengthUnit::Inch);
        assert_eq!(plain(Reads::Si.at_most(&inch)), "1 in (25.4 mm)");
        assert_eq!(plain(Reads::Si.at_least(&inch)), "1 in (25.4 mm)");
    }

    /// published: NIST SP 811 (2008), B.8: ft·lbf to N·m 1.355818, so 32 are 43.386 N·m.
    #[test]
    fn a_torque_to_be_set_is_never_rounded_past_the_nameplate_s() {
        let torque = Stamped::new(Decimal::from(32), TorqueUnit::FootPound);
        assert_eq!(plain(Reads::Si.of(&torque)), "32 ft·lbf (43.38 N·m)");
        assert_eq!(
            Reads::AsStamped.other(&torque).map(plain).as_deref(),
            Some("43.38 N·m")
        );
        assert_eq!(Reads::UsCustomary.other(&torque), None);
    }

    /// published: NIST SP 811 (2008), B.8: in to mm 25.4, t/°C = (t/°F − 32)/1.8.
    #[test]
    fn flatness_is_read_in_micrometres_a_wall_in_millimetres_and_a_temperature_in_celsius() {
        let length =
            |thousandths| StampedLength::new(Decimal::new(thousandths, 3), LengthUnit::Inch);
        assert_eq!(plain(Reads::Si.of(&length(2))), "0.002 in (50.8 µm)");
        assert_eq!(plain(Reads::Si.of(&length(100))), "0.100 in (2.54 mm)");
        let warm = StampedTemperature::new(Decimal::from(100), TemperatureUnit::Fahrenheit);
        assert_eq!(plain(Reads::Si.of(&warm)), "100 °F (37.78 °C)");
    }

    #[test]
    fn the_person_s_unit_is_offered_first_and_the_usual_one_where_none_was_chosen() {
        assert_eq!(Reads::Si.unit(PressureUnit::Psi), PressureUnit::Bar);
        assert_eq!(Reads::Si.unit(LengthUnit::Inch), LengthUnit::Millimetre);
        assert_eq!(
            Reads::Si.unit(PressureUnit::MegaPascal),
            PressureUnit::MegaPascal
        );
        assert_eq!(
            Reads::Si.unit(LengthUnit::Micrometre),
            LengthUnit::Micrometre
        );
        assert_eq!(
            Reads::AsStamped.unit(PressureUnit::KiloPascal),
            PressureUnit::KiloPascal
        );
    }
}
