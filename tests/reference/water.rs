//! Liquid water against the check tables of IAPWS-95, independent formulas and a library.
//! What trapped water does is checked in `trapped`.

use gaugewright::calc::quantity::{AbsolutePressure, ThermodynamicTemperature};
use gaugewright::calc::saturation;
use gaugewright::calc::water::{COLDEST_K, HIGHEST_PA, HOTTEST_K, Water, at, pressure};
use proptest::prelude::*;
use uom::si::f64::MassDensity;
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::thermodynamic_temperature::kelvin;

fn k(kelvins: f64) -> ThermodynamicTemperature {
    ThermodynamicTemperature::new::<kelvin>(kelvins)
}

fn water(celsius: f64, pa: f64) -> Water {
    at(k(celsius + 273.15), AbsolutePressure::from_pa(pa)).unwrap()
}

fn density(water: Water) -> f64 {
    water.density.get::<kilogram_per_cubic_meter>()
}

#[test]
fn the_check_table_of_the_release_is_met() {
    // published: IAPWS R6-95(2018), table 7: temperature, density, pressure in MPa to nine digits.
    for (t, rho, megapascal) in [
        (300.0, 0.996_556_0e3, 0.992_418_352e-1),
        (300.0, 0.100_530_8e4, 0.200_022_515e2),
        (300.0, 0.118_820_2e4, 0.700_004_704e3),
        (500.0, 0.435_000_0, 0.999_679_423e-1),
        (500.0, 0.453_200_0e1, 0.999_938_125),
        (500.0, 0.838_025_0e3, 0.100_003_858e2),
        (500.0, 0.108_456_4e4, 0.700_000_405e3),
        (647.0, 0.358_000_0e3, 0.220_384_756e2),
        (900.0, 0.241_000_0, 0.100_062_559),
        (900.0, 0.526_150_0e2, 0.200_000_690e2),
        (900.0, 0.870_769_0e3, 0.700_000_006e3),
    ] {
        let found = pressure(k(t), MassDensity::new::<kilogram_per_cubic_meter>(rho))
            .unwrap()
            .pa()
            / 1e6;
        // Half of the ninth digit is at most 5 in 10⁹.
        assert!(
            (found / megapascal - 1.0).abs() < 6e-9,
            "{t} {rho}: {found}"
        );
    }
    // The same table the other way: liquid states within the range of `at`.
    for (t, megapascal, rho) in [
        (300.0, 0.992_418_352e-1, 996.556),
        (300.0, 0.200_022_515e2, 1_005.308),
        (500.0, 0.100_003_858e2, 838.025),
    ] {
        let found = density(at(k(t), AbsolutePressure::from_pa(megapascal * 1e6)).unwrap());
        assert!((found / rho - 1.0).abs() < 1e-9, "{t}: {found}");
    }
}

#[test]
fn density_agrees_with_the_industrial_formulation() {
    // published: IAPWS R7-97(2012), table 5, region 1: specific volume in m³/kg. An independent
    // formulation; the two are stated to agree to some hundred-thousandths.
    for (t, megapascal, volume) in [
        (300.0, 3.0, 0.100_215_168e-2),
        (300.0, 80.0, 0.971_180_894e-3),
        (500.0, 3.0, 0.120_241_800e-2),
    ] {
        let found = 1.0 / density(at(k(t), AbsolutePressure::from_pa(megapascal * 1e6)).unwrap());
        assert!((found / volume - 1.0).abs() < 5e-5, "{t}: {found}");
    }
}

/// Celsius on the scale of 1968 from that of 1990, to a thousandth of a kelvin up to 100 °C.
fn old_scale(celsius: f64) -> f64 {
    celsius * 1.000_24
}

/// A polynomial of degree five over 1 + b·t.
fn ratio(t: f64, a: [f64; 6], b: f64) -> f64 {
    a.iter().rev().fold(0.0, |sum, a| sum * t + a) / (1.0 + b * t)
}

fn kell_density(t: f64) -> f64 {
    ratio(
        t,
        [
            999.839_52,
            16.945_176,
            -7.987_040_1e-3,
            -46.170_461e-6,
            105.563_02e-9,
            -280.542_53e-12,
        ],
        16.879_850e-3,
    )
}

#[test]
fn density_expansion_and_compressibility_agree_with_measured_water_at_one_atmosphere() {
    // published: G. S. Kell, J. Chem. Eng. Data 20 (1975) 97-105, equations for density and
    // compressibility at 1 atm, 0 to 100 °C on the scale of 1968 (coefficients as quoted at
    // lambdalisue.github.io/waterparams and, for density, in J. Res. NIST 97 (1992) 335).
    let kell_compressibility = |t: f64| {
        ratio(
            t,
            [
                50.884_96,
                0.616_381_3,
                1.459_187e-3,
                20.084_38e-6,
                -58.477_27e-9,
                410.411_0e-12,
            ],
            19.673_48e-3,
        ) * 1e-11
    };
    for celsius in [
        1.0, 4.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 60.0, 80.0, 95.0,
    ] {
        let found = water(celsius, 101_325.0);
        let t = old_scale(celsius);
        let expected = kell_density(t);
        // Kell states some millionths; the isotopes of the two waters differ by 3 more.
        assert!(
            (density(found) / expected - 1.0).abs() < 1.2e-5,
            "{celsius}: {} {expected}",
            density(found)
        );
        let compressibility = kell_compressibility(t);
        assert!(
            (found.compressibility / compressibility - 1.0).abs() < 1e-3,
            "{celsius}: {} {compressibility}",
            found.compressibility
        );
        let slope = (kell_density(t + 0.01) - kell_density(t - 0.01)) / 0.02 * 1.000_24;
        let expansion = -slope / expected;
        assert!(
            (found.expansion - expansion).abs() < 1.5e-6,
            "{celsius}: {} {expansion}",
            found.expansion
        );
    }
}

#[test]
fn density_at_one_atmosphere_agrees_with_the_metrologists_formula() {
    // published: M. Tanaka et al., Recommended table for the density of water between 0 °C and 40 °C
    // based on recent experimental reports, Metrologia 38 (2001) 301-309, table 1 (the coefficients as
    // many public programs have them), good to a millionth; for the isotopes of ocean water.
    for celsius in [0.5, 4.0, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0] {
        let tanaka = 999.974_950
            * (1.0
                - (celsius - 3.983_035_f64).powi(2) * (celsius + 301.797)
                    / (522_528.9 * (celsius + 69.348_81)));
        let found = density(water(celsius, 101_325.0));
        assert!(
            (found / tanaka - 1.0).abs() < 3e-6,
            "{celsius}: {found} {tanaka}"
        );
    }
}

#[test]
fn states_of_a_pressure_test_agree_with_a_library() {
    // library: iapws 1.5.5, IAPWS95: °C, MPa, density, expansion, compressibility a megapascal.
    for (celsius, megapascal, rho, expansion, compressibility) in [
        (5.0, 1.0, 1_000.408_0, 1.877_421e-5, 4.904_806e-4),
        (5.0, 5.0, 1_002.362_0, 3.076_236e-5, 4.851_711e-4),
        (5.0, 10.0, 1_004.780_1, 4.535_426e-5, 4.786_523e-4),
        (10.0, 5.0, 1_002.031_3, 9.962_163e-5, 4.719_309e-4),
        (15.0, 5.0, 1_001.377_9, 1.600_640e-4, 4.614_250e-4),
        (20.0, 1.0, 998.618_4, 2.081_304e-4, 4.578_511e-4),
        (20.0, 5.0, 1_000.439_6, 2.139_723e-4, 4.531_749e-4),
        (20.0, 10.0, 1_002.694_6, 2.211_533e-4, 4.474_409e-4),
        (25.0, 5.0, 999.246_2, 2.627_090e-4, 4.468_256e-4),
        (30.0, 10.0, 1_000.015_9, 3.112_462e-4, 4.365_371e-4),
        (40.0, 1.0, 992.610_4, 3.857_337e-4, 4.413_377e-4),
        (40.0, 10.0, 996.515_2, 3.883_538e-4, 4.312_014e-4),
    ] {
        let found = water(celsius, megapascal * 1e6);
        assert!(
            (density(found) - rho).abs() < 6e-5,
            "{celsius} {megapascal}"
        );
        // The last printed digit, and near 4 °C the smallness of the value itself.
        assert!(
            (found.expansion - expansion).abs() < 6e-11,
            "{celsius} {megapascal}: {}",
            found.expansion
        );
        assert!(
            (found.compressibility * 1e6 - compressibility).abs() < 6e-11,
            "{celsius} {megapascal}"
        );
    }
    // Densities at one atmosphere as read from the same library.
    for (celsius, rho) in [
        (4.0, 999.974_9),
        (10.0, 999.702_5),
        (20.0, 998.207_2),
        (30.0, 995.649_5),
        (40.0, 992.216_4),
    ] {
        assert!(
            (density(water(celsius, 101_325.0)) - rho).abs() < 6e-5,
            "{celsius}"
        );
    }
}

#[test]
fn hot_water_about_to_boil_agrees_with_the_steam_tables() {
    // library: iapws 1.5.5, IAPWS97 at saturation: °C, density of the liquid.
    for (celsius, rho) in [
        (100.0, 958.354_3),
        (150.0, 917.006_6),
        (200.0, 864.667_5),
        (250.0, 798.889_9),
        (300.0, 712.137_6),
    ] {
        let boiling = saturation::pressure(k(celsius + 273.15)).unwrap().pa();
        let found = density(water(celsius, boiling * 1.001_5));
        // 0.15 % more pressure, and two formulations.
        assert!((found / rho - 1.0).abs() < 2e-4, "{celsius}: {found}");
    }
}

#[test]
fn the_ends_of_the_range_answer_and_beyond_is_refused() {
    let try_at = |t: f64, pa: f64| at(k(t), AbsolutePressure::from_pa(pa));
    assert!(try_at(COLDEST_K, 101_325.0).is_ok() && try_at(COLDEST_K, HIGHEST_PA).is_ok());
    assert!(try_at(HOTTEST_K, HIGHEST_PA).is_ok() && try_at(HOTTEST_K, 9e6).is_ok());
    for (t, pa) in [
        (273.14, 101_325.0),
        (573.16, 20e6),
        (f64::NAN, 1e6),
        (293.15, f64::NAN),
        (293.15, 100.1e6),
        (293.15, 0.0),
        (293.15, -1.0),
        (373.15, 101_325.0),
        (573.15, 8.58e6),
        (293.15, f64::INFINITY),
    ] {
        assert!(try_at(t, pa).is_err(), "{t} {pa}");
    }
    let of = |t: f64, rho: f64| pressure(k(t), MassDensity::new::<kilogram_per_cubic_meter>(rho));
    for (t, rho) in [
        (273.0, 1_000.0),
        (1_273.1, 100.0),
        (300.0, 0.0),
        (300.0, -1.0),
        (300.0, 1_251.0),
        (f64::NAN, 1.0),
        (300.0, f64::NAN),
    ] {
        assert!(of(t, rho).is_err(), "{t} {rho}");
    }
    // The critical density, where two terms are finite only as a limit.
    assert!(of(647.096, 322.0).unwrap().pa().is_finite());
}

proptest! {
    #[test]
    fn pressure_and_density_belong_together(t in 273.15_f64..573.15, share in 0.0_f64..1.0) {
        let low = saturation::pressure(k(t)).unwrap().pa() * 1.002;
        let pa = low + share * (HIGHEST_PA - low);
        let found = at(k(t), AbsolutePressure::from_pa(pa)).unwrap();
        let back = pressure(k(t), found.density).unwrap().pa();
        // A part in 10¹³ of the density is some 300 Pa·10⁻⁶ of pressure.
        prop_assert!((back - pa).abs() < 0.01, "{} {}", back, pa);
        prop_assert!(found.compressibility > 0.0);
    }

    #[test]
    fn expansion_and_compressibility_are_the_slopes_of_density(t in 274.15_f64..560.0, share in 0.001_f64..0.99) {
        let low = saturation::pressure(k(t + 0.2)).unwrap().pa() * 1.01;
        let pa = low + share * (HIGHEST_PA - low);
        let rho = |t: f64, pa: f64| density(at(k(t), AbsolutePressure::from_pa(pa)).unwrap());
        let found = at(k(t), AbsolutePressure::from_pa(pa)).unwrap();
        let middle = rho(t, pa);
        let expansion = -(rho(t + 0.05, pa) - rho(t - 0.05, pa)) / 0.1 / middle;
        prop_assert!((found.expansion - expansion).abs() < 2e-8 + 1e-5 * found.expansion.abs());
        let step = 1e-3 * pa.min(HIGHEST_PA - pa);
        let compressibility = (rho(t, pa + step) - rho(t, pa - step)) / (2.0 * step) / middle;
        // Central differences of a value good to 1e-13 over a small step.
        prop_assert!((found.compressibility / compressibility - 1.0).abs() < 1e-3 + 1e-3 / step);
    }
}
