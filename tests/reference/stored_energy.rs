//! Energy stored in a gas test against worked cases of the method.
//! Test pressures themselves are checked in `pressure_test`.

use gaugewright::calc::quantity::{PressureUnit, StampedPressure, decimal};
use gaugewright::calc::stored_energy::{Edition, Gas, StoredEnergy, gas_test};
use proptest::prelude::*;
use rust_decimal::Decimal;
use uom::si::f64::Volume;
use uom::si::volume::cubic_meter;

use PressureUnit::{Bar, MegaPascal, Psi};

fn test(value: &str, unit: PressureUnit, volume: f64, gas: Gas, edition: Edition) -> StoredEnergy {
    let pressure = StampedPressure::new(decimal("pressure", value).unwrap(), unit);
    gas_test(pressure, Volume::new::<cubic_meter>(volume), gas, edition).unwrap()
}

fn close(found: f64, wanted: f64, relative: f64, what: &str) {
    let deviation = ((found - wanted) / wanted).abs();
    assert!(
        deviation <= relative,
        "{what}: {found} is not {wanted} (off by {deviation:e})"
    );
}

const TWO_SEVENTHS: Gas = Gas::Other { k: 1.4 };

/// Gauge pressure, volume in m³, energy in J with 0.286 and with 2/7, TNT in kg, 20·TNT^(1/3) and
/// 20·(2·TNT)^(1/3) in m.
///
/// published: the formulas of ASME PCC-2-2008, Article 5.1, appendices II and III, and of PCC-2-2022,
/// Article 501; library: Python 3.11 floats for the arithmetic, printed to eight digits or to the
/// fourth decimal.
#[test]
fn energy_tnt_and_distance_follow_the_method() {
    #[rustfmt::skip]
    let cases = [
        ("10", Bar, 0.010, 13_625.09, 13_615.60, 0.003_193, 2.9451, 3.7106),
        ("7", Bar, 1.0, 894_934.20, 894_278.72, 0.209_738, 11.8829, 14.9715),
        ("50", Bar, 0.002, 17_197.47, 17_188.16, 0.004_030, 3.1828, 4.0101),
        ("20", Bar, 5.0, 15_238_019.66, 15_228_455.56, 3.571_199, 30.5704, 38.5163),
        ("0.7", MegaPascal, 0.010, 8_949.342, 8_942.787, 0.002_097_4, 2.5601, 3.2255),
    ];
    for (pressure, unit, volume, joules, sevenths, tnt, plain, doubled) in cases {
        let old = test(pressure, unit, volume, Gas::AirOrNitrogen, Edition::Of2008);
        let new = test(pressure, unit, volume, Gas::AirOrNitrogen, Edition::Of2022);
        close(old.joules, joules, 1e-6, "energy");
        close(
            test(pressure, unit, volume, TWO_SEVENTHS, Edition::Of2022).joules,
            sevenths,
            1e-6,
            "energy with 2/7",
        );
        close(new.tnt_kg, tnt, 2e-4, "TNT");
        close(old.blast_m, plain, 2e-5, "distance of 2008");
        close(new.blast_m, doubled, 2e-5, "distance of 2022");
    }
    #[rustfmt::skip]
    let cases = [
        ("1.0", 1.0, 1_362_508.747),
        ("2.0", 10.0, 30_476_039.32),
        ("3.3", 5.0, 26_963_120.57),
        ("5.0", 50.0, 429_936_797.8),
    ];
    for (pressure, volume, joules) in cases {
        close(
            test(
                pressure,
                MegaPascal,
                volume,
                Gas::AirOrNitrogen,
                Edition::Of2022,
            )
            .joules,
            joules,
            1e-8,
            "energy",
        );
    }
}

/// published: a worked example on a page on pneumatic testing: 24 in standard pipe of 600 m at
/// 10 barg gives 224 057 795 J, 52.51 kg of TNT and, with the doubled mass, 94.36 m. Its volume is
/// rounded (164.3442 m³ from the inside diameter): 0.1 %.
#[test]
fn a_published_example_is_met() {
    let found = test("10", Bar, 164.3442, Gas::AirOrNitrogen, Edition::Between);
    close(found.joules, 224_057_795.0, 1e-3, "energy");
    close(found.tnt_kg, 52.51, 1e-3, "TNT");
    close(found.distance_m, 94.36, 1e-3, "distance");
}

/// published: the same formula in US units, 360·P·V·[1 − (14.7/P)^0.286] ft·lbf, for 150 psig in
/// 1 ft³: 29 583.93 ft·lbf. Its atmosphere is 14.7 psi (101 353 Pa), ours 101 000 Pa, and 360 is
/// 2.5 · 144: the two stay within 0.3 %.
#[test]
fn the_us_form_agrees_but_for_its_atmosphere() {
    let found = test(
        "150",
        Psi,
        0.028_316_846_592,
        Gas::AirOrNitrogen,
        Edition::Of2022,
    );
    close(
        found.joules / 1.355_817_948_331_400_4,
        29_583.93,
        3e-3,
        "energy in ft·lbf",
    );
}

/// published: ASME PCC-2-2008, 5.1, III (30 m to 135.5 MJ, 60 m to 271 MJ); PCC-2-2022, 501-III
/// (30 m to 8.13 MJ).
#[test]
fn the_distance_is_at_least_the_fixed_one() {
    let at = |edition, volume| test("10", Bar, volume, Gas::AirOrNitrogen, edition);
    for edition in Edition::ALL {
        let small = at(edition, 0.010);
        close(small.distance_m, 30.0, 1e-12, "a gauge");
        assert!(!small.beyond_one_test);
    }
    // 15.24 MJ: the formula is longer in each edition (30.57 and 38.52 m), rounded up to 0.1 m.
    #[rustfmt::skip]
    let cases = [
        (Edition::Of2008, 30.6),
        (Edition::Between, 38.6),
        (Edition::Of2022, 38.6),
    ];
    for (edition, metres) in cases {
        close(
            test("20", Bar, 5.0, Gas::AirOrNitrogen, edition).distance_m,
            metres,
            1e-12,
            "20 bar in 5 m³",
        );
    }
    close(
        at(Edition::Of2008, 110.0).blast_m,
        at(Edition::Between, 110.0).blast_m / 2_f64.cbrt(),
        1e-12,
        "twice the mass",
    );
    let large = test("5.0", MegaPascal, 50.0, Gas::AirOrNitrogen, Edition::Of2022);
    assert!(large.beyond_one_test);
    close(large.blast_m, 117.2564, 1e-6, "430 MJ");
    assert!(
        large
            .working
            .remarks
            .iter()
            .any(|remark| remark.contains("271 MJ"))
    );
}

#[test]
fn pressure_volume_and_gas_out_of_range_are_refused() {
    let try_with = |value: &str, volume: f64, gas| {
        gas_test(
            StampedPressure::new(decimal("pressure", value).unwrap(), Bar),
            Volume::new::<cubic_meter>(volume),
            gas,
            Edition::Of2022,
        )
    };
    let air = Gas::AirOrNitrogen;
    #[rustfmt::skip]
    let cases = [
        ("0", 1.0),
        ("-1", 1.0),
        ("1000.1", 1.0),
        ("10", 0.0),
        ("10", -1.0),
        ("10", f64::NAN),
        ("10", f64::INFINITY),
        ("10", 1001.0),
    ];
    for (value, volume) in cases {
        assert!(try_with(value, volume, air).is_err(), "{value} {volume}");
    }
    for k in [1.0, 0.9, 1.7, f64::NAN] {
        assert!(try_with("10", 1.0, Gas::Other { k }).is_err(), "{k}");
    }
    assert!(try_with("1000", 1000.0, air).is_ok());
    assert!(try_with("0.0001", 1.0, Gas::Other { k: 5.0 / 3.0 }).is_ok());
}

/// By hand: for a small overpressure p, E = p·V/k to first order; the next term is smaller by about
/// `p/P_a` = 1e-5.
#[test]
fn a_small_overpressure_does_not_cancel_away() {
    let found = test("0.00001", Bar, 1.0, TWO_SEVENTHS, Edition::Of2022);
    close(found.joules, 1.0 / 1.4, 1e-5, "1 Pa in 1 m³");
}

proptest! {
    #[test]
    fn energy_is_proportional_to_volume_and_grows_with_pressure(bar in 1_i64..5_000, volume in 0.001_f64..400.0, edition in prop::sample::select(Edition::ALL.to_vec())) {
        let at = |tenths, v: f64| gas_test(StampedPressure::new(Decimal::new(tenths, 1), Bar), Volume::new::<cubic_meter>(v), Gas::AirOrNitrogen, edition).unwrap();
        let (one, two, more) = (at(bar, volume), at(bar, volume * 2.0), at(bar + 1, volume));
        prop_assert!((two.joules / one.joules - 2.0).abs() < 1e-12);
        prop_assert!(more.joules > one.joules);
        prop_assert!(two.distance_m >= one.distance_m);
        prop_assert!(one.distance_m >= 30.0 || one.joules > 135.5e6 || (edition == Edition::Of2022 && one.joules > 8.13e6));
        prop_assert!(one.distance_m + 1e-9 >= one.blast_m || one.joules <= 8.13e6);
        prop_assert_eq!(one.beyond_one_test, one.joules > 271.0e6);
    }

    #[test]
    fn the_three_places_of_the_exponent_hardly_matter(bar in 1_i64..=1_000, volume in 0.001_f64..1.0) {
        let at = |gas| gas_test(StampedPressure::new(Decimal::from(bar), Bar), Volume::new::<cubic_meter>(volume), gas, Edition::Of2022).unwrap().joules;
        prop_assert!((at(Gas::AirOrNitrogen) / at(TWO_SEVENTHS) - 1.0).abs() < 1.1e-3);
    }
}
