//! Units against the printed factors of NIST SP 811, and the laws every conversion keeps.
//! Random conversions against a library are in `differential_mechanics`.

use gaugewright::calc::quantity::{
    AbsolutePressure, GaugePressure, LengthUnit, PressureUnit, STANDARD_ATMOSPHERE_PA, Stamped,
    TemperatureUnit, TorqueUnit, Unit, VolumeUnit,
};
use proptest::prelude::*;
use rust_decimal::Decimal;
use uom::si::thermodynamic_temperature::kelvin;

/// One of a unit in the SI unit of its kind, with the seven digits the guide prints.
fn printed<U: Unit>(unit: U) -> String {
    format!("{:.6E}", Stamped::new(Decimal::ONE, unit).si())
}

/// published: NIST SP 811 (2008), Appendix B.8, factors for units listed alphabetically; those of volume
/// also at <http://www.themeter.net/conv19_e.htm>, which reproduces them.
#[test]
fn factors_are_those_of_appendix_b_of_sp_811() {
    use LengthUnit as L;
    use PressureUnit as P;
    use TorqueUnit as T;
    use VolumeUnit as V;
    for (found, wanted) in [
        (printed(P::Psi), "6.894757E3"),
        (printed(P::Bar), "1.000000E5"),
        (printed(P::KiloPascal), "1.000000E3"),
        (printed(P::MegaPascal), "1.000000E6"),
        (printed(P::KgfPerCm2), "9.806650E4"),
        (printed(T::FootPound), "1.355818E0"),
        (printed(T::InchPound), "1.129848E-1"),
        (printed(T::NewtonMetre), "1.000000E0"),
        (printed(T::KgfMetre), "9.806650E0"),
        (printed(L::Inch), "2.540000E-2"),
        (printed(L::Millimetre), "1.000000E-3"),
        (printed(L::Thousandth), "2.540000E-5"),
        (printed(L::Micrometre), "1.000000E-6"),
        (printed(L::Metre), "1.000000E0"),
        (printed(V::Litre), "1.000000E-3"),
        (printed(V::CubicMetre), "1.000000E0"),
        (printed(V::Millilitre), "1.000000E-6"),
        (printed(V::CubicFoot), "2.831685E-2"),
        (printed(V::CubicInch), "1.638706E-5"),
        (printed(V::Gallon), "3.785412E-3"),
    ] {
        assert_eq!(found, wanted);
    }
    assert!((STANDARD_ATMOSPHERE_PA - 101_325.0).abs() < f64::EPSILON);
}

/// By definition: 1 ft³ is 1728 in³, 1 US gal is 231 in³, 1 L is 1000 mL, 12 in·lbf are 1 ft·lbf.
#[test]
fn units_of_one_family_are_whole_multiples_of_each_other() {
    let volume = |number: i64, from, to| Stamped::new(Decimal::from(number), from).in_unit(to);
    for (number, from, to, wanted) in [
        (1, VolumeUnit::CubicFoot, VolumeUnit::CubicInch, 1728.0),
        (1, VolumeUnit::Gallon, VolumeUnit::CubicInch, 231.0),
        (1, VolumeUnit::Litre, VolumeUnit::Millilitre, 1000.0),
        (1, VolumeUnit::CubicMetre, VolumeUnit::Litre, 1000.0),
        (42, VolumeUnit::Gallon, VolumeUnit::Litre, 158.987_294_928),
    ] {
        let found = volume(number, from, to);
        assert!(
            (found / wanted - 1.0).abs() < 4.0 * f64::EPSILON,
            "{found} {wanted}"
        );
    }
    let torque = Stamped::new(Decimal::from(12), TorqueUnit::InchPound);
    assert!((torque.in_unit(TorqueUnit::FootPound) - 1.0).abs() < 4.0 * f64::EPSILON);
    assert_eq!(
        torque.newton_metres(),
        Stamped::new(Decimal::ONE, TorqueUnit::FootPound).newton_metres()
    );
}

/// published: NIST SP 811 (2008), Appendix B.8: t/°C = (t/°F − 32)/1.8, T/K = (t/°F + 459.67)/1.8,
/// T/K = t/°C + 273.15; the fixed points follow.
#[test]
fn temperatures_are_read_on_the_scale_they_were_taken_on() {
    use TemperatureUnit::{Celsius, Fahrenheit, Kelvin};
    for (value, from, to, wanted) in [
        ("32", Fahrenheit, Celsius, 0.0),
        ("212", Fahrenheit, Celsius, 100.0),
        ("-40", Fahrenheit, Celsius, -40.0),
        ("100", Celsius, Fahrenheit, 212.0),
        ("-459.67", Fahrenheit, Kelvin, 0.0),
        ("-273.15", Celsius, Kelvin, 0.0),
        ("0", Kelvin, Fahrenheit, -459.67),
    ] {
        let stamped = Stamped::new(value.parse().unwrap(), from);
        let found = stamped.in_unit(to);
        assert!((found - wanted).abs() < 1e-12, "{value} {from}: {found}");
        assert!(stamped.temperature().get::<kelvin>() >= -1e-12);
    }
}

/// published: NIST SP 811 (2008), Appendix B.8, the standard atmosphere of 101 325 Pa.
#[test]
fn gauge_pressure_stands_on_the_atmosphere() {
    for (gauge, absolute) in [
        (0.0, 101_325.0),
        (1_000_000.0, 1_101_325.0),
        (-101_325.0, 0.0),
    ] {
        let found = GaugePressure::from_pa(gauge).absolute();
        assert!((found.pa() - absolute).abs() < 1e-9);
        assert!((AbsolutePressure::from_pa(absolute).gauge().pa() - gauge).abs() < 1e-9);
    }
}

/// What was stamped stays as it was stamped, and the largest number that can be written converts.
#[test]
fn a_value_in_its_own_unit_is_untouched_and_a_huge_one_stays_finite() {
    // Plain arithmetic: 0.1 has no exact binary form, yet nothing is done to it.
    let small = Stamped::new(Decimal::new(1, 1), PressureUnit::Psi);
    assert!((small.in_unit(PressureUnit::Psi) - 0.1).abs() < f64::EPSILON);
    assert_eq!(small.shown_in(PressureUnit::Psi), "0.1 psi");
    for unit in PressureUnit::ALL {
        for other in PressureUnit::ALL {
            assert!(
                Stamped::new(Decimal::MAX, *unit)
                    .in_unit(*other)
                    .is_finite()
            );
            assert!(
                Stamped::new(Decimal::MIN, *unit)
                    .in_unit(*other)
                    .is_finite()
            );
        }
    }
    // Too many digits to multiply exactly: said, not rounded.
    assert_eq!(
        Stamped::new(Decimal::MAX, TorqueUnit::FootPound).newton_metres(),
        None
    );
}

/// A value, and the same after a way through another unit and back; relative, but absolute in kelvin.
fn comes_back<U: Unit>(value: f64, scale: f64) -> Result<(), TestCaseError> {
    for from in U::ALL {
        for to in U::ALL {
            let there = to.from_si(from.to_si(value));
            let back = from.from_si(to.to_si(there));
            let room = 8.0 * f64::EPSILON * value.abs().max(scale);
            prop_assert!((back - value).abs() <= room, "{value} {from} {to}: {back}");
        }
    }
    Ok(())
}

/// More in one unit is more in every other.
fn keeps_order<U: Unit>(less: f64, more: f64) -> Result<(), TestCaseError> {
    for from in U::ALL {
        for to in U::ALL {
            let convert = |value: f64| to.from_si(from.to_si(value));
            prop_assert!(convert(less) <= convert(more), "{less} {more} {from} {to}");
        }
    }
    Ok(())
}

proptest! {
    #[test]
    fn a_value_comes_back_from_every_unit(value in -1e6_f64..1e6) {
        comes_back::<PressureUnit>(value, 0.0)?;
        comes_back::<TorqueUnit>(value, 0.0)?;
        comes_back::<LengthUnit>(value, 0.0)?;
        comes_back::<VolumeUnit>(value, 0.0)?;
        // Kelvin, Celsius and Fahrenheit differ by offsets of up to 460 degrees.
        comes_back::<TemperatureUnit>(value, 1e3)?;
    }

    #[test]
    fn a_larger_value_is_larger_in_every_unit(value in -1e6_f64..1e6, more in 1e-3_f64..1e6) {
        keeps_order::<PressureUnit>(value, value + more)?;
        keeps_order::<TorqueUnit>(value, value + more)?;
        keeps_order::<LengthUnit>(value, value + more)?;
        keeps_order::<VolumeUnit>(value, value + more)?;
        keeps_order::<TemperatureUnit>(value, value + more)?;
    }

    #[test]
    fn torques_are_exact_decimals_in_newton_metres(hundredths in 0_i64..10_000_000) {
        for unit in TorqueUnit::ALL {
            let torque = Stamped::new(Decimal::new(hundredths, 2), *unit);
            let exact: f64 = torque.newton_metres().unwrap().to_string().parse().unwrap();
            prop_assert!((exact - torque.si()).abs() <= 4.0 * f64::EPSILON * exact);
        }
    }
}
