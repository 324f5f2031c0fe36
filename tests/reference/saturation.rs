//! Boiling of water against the check tables of the release and a library.
//! Density of water is checked in `water`.

use gaugewright::calc::quantity::{
    AbsolutePressure, GaugePressure, PressureUnit, ThermodynamicTemperature, Unit,
};
use gaugewright::calc::saturation::{
    Advice, CRITICAL_K, CRITICAL_PA, GlassLimits, LOWEST_K, LOWEST_PA, Shield, pressure,
    steam_glass, temperature,
};
use proptest::prelude::*;
use uom::si::thermodynamic_temperature::{degree_fahrenheit, kelvin};

fn boils_at(pa: f64) -> f64 {
    temperature(AbsolutePressure::from_pa(pa))
        .unwrap()
        .get::<kelvin>()
}

fn pressure_at(k: f64) -> f64 {
    pressure(ThermodynamicTemperature::new::<kelvin>(k))
        .unwrap()
        .pa()
}

#[test]
fn the_check_tables_of_the_release_are_met() {
    // published: IAPWS R7-97(2012), tables 35 and 36; printed to nine digits.
    for (k, megapascal) in [
        (300.0, 0.353_658_941e-2),
        (500.0, 0.263_889_776e1),
        (600.0, 0.123_443_146e2),
    ] {
        let found = pressure_at(k) / 1e6;
        assert!((found / megapascal - 1.0).abs() < 2e-9, "{k}: {found}");
    }
    for (megapascal, k) in [
        (0.1, 0.372_755_919e3),
        (1.0, 0.453_035_632e3),
        (10.0, 0.584_149_488e3),
    ] {
        let found = boils_at(megapascal * 1e6);
        assert!((found / k - 1.0).abs() < 2e-9, "{megapascal}: {found}");
    }
}

#[test]
fn boiling_under_gauge_pressures_agrees_with_a_library() {
    // library: iapws 1.5.5, _TSat_P, under the standard atmosphere; printed to a thousandth.
    for (psi, celsius) in [
        (0.0, 99.974),
        (15.0, 120.955),
        (150.0, 185.485),
        (250.0, 207.802),
        (300.0, 216.542),
        (600.0, 253.811),
        (900.0, 278.858),
        (1_500.0, 314.205),
    ] {
        let gauge = GaugePressure::from_pa(PressureUnit::Psi.to_si(psi));
        let found = temperature(gauge.absolute()).unwrap();
        assert!(
            (found.get::<kelvin>() - 273.15 - celsius).abs() < 6e-4,
            "{psi}"
        );
    }
    for (psi, fahrenheit) in [
        (50.0, 297.6515),
        (100.0, 337.8822),
        (500.0, 470.0431),
        (1_000.0, 546.4259),
        (2_000.0, 636.8924),
    ] {
        let gauge = GaugePressure::from_pa(PressureUnit::Psi.to_si(psi));
        let found = temperature(gauge.absolute())
            .unwrap()
            .get::<degree_fahrenheit>();
        assert!((found - fahrenheit).abs() < 6e-5, "{psi}: {found}");
    }
    for (bar, celsius) in [
        (2.0, 120.2115),
        (10.0, 179.8856),
        (40.0, 250.3575),
        (120.0, 324.6783),
        (180.0, 356.9918),
        (220.0, 373.7066),
    ] {
        assert!(
            (boils_at(bar * 1e5) - 273.15 - celsius).abs() < 6e-5,
            "{bar}"
        );
    }
    for (celsius, megapascal) in [
        (100.0, 0.101_418),
        (180.0, 1.002_635),
        (243.0, 3.526_767_5),
        (350.0, 16.529_164),
    ] {
        assert!(
            (pressure_at(celsius + 273.15) / 1e6 - megapascal).abs() < 6e-7,
            "{celsius}"
        );
    }
}

#[test]
fn the_ends_of_the_range_are_open_and_beyond_is_refused() {
    // published: IAPWS R7-97(2012), clause 8.2: 611.213 Pa at 273.15 K, 22.064 MPa at 647.096 K.
    assert!((pressure_at(LOWEST_K) - 611.213).abs() < 5e-4);
    assert!((pressure_at(CRITICAL_K) - 22.064e6).abs() < 500.0);
    assert!((boils_at(LOWEST_PA) - LOWEST_K).abs() < 1e-5);
    assert!((boils_at(CRITICAL_PA) - CRITICAL_K).abs() < 1e-4);
    for k in [273.14, 647.097, f64::NAN, f64::INFINITY, 0.0, -1.0] {
        assert!(
            pressure(ThermodynamicTemperature::new::<kelvin>(k)).is_err(),
            "{k}"
        );
    }
    for pa in [611.2, 22.0641e6, f64::NAN, f64::INFINITY, 0.0, -1.0] {
        assert!(temperature(AbsolutePressure::from_pa(pa)).is_err(), "{pa}");
    }
}

proptest! {
    #[test]
    fn there_and_back_is_the_same(k in 273.15_f64..647.0) {
        // The two equations are one quadratic solved both ways; near the critical point rounding grows.
        prop_assert!((boils_at(pressure_at(k)) - k).abs() < 1e-7);
    }

    #[test]
    fn more_pressure_boils_hotter(low in 612.0_f64..22e6, more in 1.0_f64..1e5) {
        prop_assume!(low + more < CRITICAL_PA);
        prop_assert!(boils_at(low + more) > boils_at(low));
    }
}

#[test]
fn steam_calls_for_a_shield_where_bare_glass_would_be_etched() {
    // library: iapws 1.5.5, _TSat_P (64 bar above vacuum 279.830 °C, 80 bar 295.009 °C, 243 °C at
    // 35.2677 bar). published: a glass maker's table of working conditions, saturated steam in direct
    // contact with gauge glass: at most 35 bar (500 psi) and 243 °C (470 °F); with mica 103 bar.
    // published: DIN 7080:2005 as described at http://contardi.it/industria_prodotti.php?ln=en&id=10:
    // 280 °C for good, 300 °C with mica.
    let bar = |absolute: f64| AbsolutePressure::from_pa(absolute * 1e5).gauge();
    let limits = GlassLimits::BOROSILICATE;
    for (absolute, shield, advice) in [
        (10.0, Shield::None, Advice::Suits),
        (35.26, Shield::None, Advice::Suits),
        (35.28, Shield::None, Advice::FitShield),
        (35.28, Shield::Fitted, Advice::Suits),
        (64.0, Shield::Fitted, Advice::Suits),
        (64.2, Shield::Fitted, Advice::AskMaker),
        (80.0, Shield::None, Advice::AskMaker),
        (86.0, Shield::Fitted, Advice::TooHot),
        (220.0, Shield::Fitted, Advice::TooHot),
    ] {
        let found = steam_glass(bar(absolute), limits, shield).unwrap();
        assert_eq!(found.advice, advice, "{absolute} {}", found.celsius);
    }
    let found = steam_glass(bar(64.0), limits, Shield::Fitted).unwrap();
    assert!((found.celsius - 279.8298).abs() < 6e-5);
    assert_eq!(found.working.answer(), Some("the glass suits this steam"));
    assert!(steam_glass(bar(230.0), limits, Shield::Fitted).is_err());
    assert!(steam_glass(bar(-0.5), limits, Shield::Fitted).is_err());
    for wrong in [
        GlassLimits {
            utmost: 270.0,
            ..limits
        },
        GlassLimits {
            bare_steam: f64::NAN,
            ..limits
        },
        GlassLimits {
            utmost: f64::INFINITY,
            ..limits
        },
    ] {
        assert!(
            steam_glass(bar(10.0), wrong, Shield::Fitted).is_err(),
            "{wrong:?}"
        );
    }
}
