//! Trapped water against states solved with a library for water, and plain elasticity.
//! How a hold is judged is checked in `hold`.

use gaugewright::calc::quantity::{AbsolutePressure, ThermodynamicTemperature};
use gaugewright::calc::trapped::{
    Enclosure, Metal, Shape, State, lost_volume, pressure_after, slope,
};
use proptest::prelude::*;
use uom::si::thermodynamic_temperature::kelvin;

const CARBON: Metal = Metal::CARBON_STEEL;
const AUSTENITIC: Metal = Metal::AUSTENITIC;

fn state(celsius: f64, megapascal: f64) -> State {
    State {
        temperature: ThermodynamicTemperature::new::<kelvin>(celsius + 273.15),
        pressure: AbsolutePressure::from_pa(megapascal * 1e6),
    }
}

fn rigid(metal: Metal) -> Enclosure {
    Enclosure::new(metal, Shape::Rigid).unwrap()
}

fn bore(metal: Metal, ratio: f64) -> Enclosure {
    Enclosure::new(metal, Shape::ThickBore { ratio }).unwrap()
}

fn tube(ratio: f64) -> Enclosure {
    Enclosure::new(CARBON, Shape::Tube { ratio }).unwrap()
}

fn slope_mpa(enclosure: Enclosure, celsius: f64, megapascal: f64) -> f64 {
    slope(enclosure, state(celsius, megapascal)).unwrap() / 1e6
}

fn after(enclosure: Enclosure, celsius: f64, megapascal: f64, end: f64) -> f64 {
    pressure_after(
        enclosure,
        state(celsius, megapascal),
        state(end, 1.0).temperature,
    )
    .unwrap()
    .pa()
        / 1e6
}

#[test]
fn the_give_of_a_wall_follows_from_elasticity() {
    // published: Lamé's solution for a thick cylinder and the boiler formula, as in any textbook of
    // elasticity (S. Timoshenko, Strength of Materials, from memory); worked out in 1/MPa.
    for (ratio, give) in [
        (1.2, 5.618_182e-5),
        (1.5, 2.82e-5),
        (2.0, 1.933_333e-5),
        (3.0, 1.5375e-5),
        (5.0, 1.379_167e-5),
        (3.2, 1.505_628e-5),
    ] {
        assert!(
            (bore(CARBON, ratio).compliance() * 1e6 - give).abs() < 6e-12,
            "{ratio}"
        );
    }
    assert!((bore(AUSTENITIC, 3.0).compliance() * 1e6 - 1.593_264e-5).abs() < 6e-12);
    for (ratio, give) in [(10.0, 4.75e-5), (20.0, 9.5e-5), (50.0, 2.375e-4)] {
        assert!(
            (tube(ratio).compliance() * 1e6 - give).abs() < 1e-12,
            "{ratio}"
        );
    }
    let held = Enclosure::new(CARBON, Shape::HeldTube { ratio: 20.0 }).unwrap();
    assert!((held.compliance() * 1e6 - 9.1e-5).abs() < 1e-12);
    assert!(rigid(CARBON).compliance() == 0.0);
}

#[test]
fn pressure_a_kelvin_agrees_with_a_library() {
    // library: iapws 1.5.5, IAPWS95; printed to five decimals of MPa/K.
    for (celsius, megapascal, carbon, austenitic) in [
        (5.0, 1.0, -0.033_29, -0.062_64),
        (5.0, 5.0, -0.008_94, -0.038_62),
        (5.0, 10.0, 0.021_42, -0.008_66),
        (10.0, 1.0, 0.115_32, 0.085_12),
        (10.0, 5.0, 0.136_72, 0.106_21),
        (20.0, 1.0, 0.377_92, 0.346_47),
        (20.0, 5.0, 0.394_71, 0.362_93),
        (30.0, 10.0, 0.632_58, 0.599_60),
        (40.0, 10.0, 0.819_23, 0.785_84),
    ] {
        assert!(
            (slope_mpa(rigid(CARBON), celsius, megapascal) - carbon).abs() < 6e-6,
            "{celsius}"
        );
        assert!(
            (slope_mpa(rigid(AUSTENITIC), celsius, megapascal) - austenitic).abs() < 6e-6,
            "{celsius}"
        );
    }
    assert!((slope_mpa(bore(CARBON, 2.0), 20.0, 1.0) - 0.362_607).abs() < 6e-7);
    assert!((slope_mpa(bore(CARBON, 2.0), 25.0, 5.0) - 0.488_26).abs() < 6e-6);
    assert!((slope_mpa(bore(AUSTENITIC, 3.0), 30.0, 10.0) - 0.578_483).abs() < 6e-7);
    assert!((slope_mpa(tube(20.0), 20.0, 5.0) - 0.326_31).abs() < 6e-6);
    let held = Enclosure::new(CARBON, Shape::HeldTube { ratio: 20.0 }).unwrap();
    assert!((slope_mpa(held, 20.0, 5.0) - 0.337_304).abs() < 6e-7);
    // Another figure for austenitic steel (17.3 millionths) moves the slope by 1.5 %.
    let other = Metal {
        expansion: 17.3e-6,
        ..AUSTENITIC
    };
    assert!((slope_mpa(rigid(other), 20.0, 1.0) - 0.341_23).abs() < 6e-6);
}

#[test]
fn a_tube_that_may_not_lengthen_widens_the_more() {
    // published: Hooke's law in three dimensions, as in any textbook of elasticity. A tube held at both
    // ends and warmed by a kelvin is pressed along its axis by E·α, which widens it by ν·α beside α:
    // its volume grows by 2(1 + ν)α. With ν = 0 that is the 2α of the pipeline practice (API RP 1110,
    // second hand: 0.350 204 MPa/K for the case below, library: iapws 1.5.5), with ν = ½ the 3α of
    // a tube that is free.
    let held = |poisson: f64| {
        let metal = Metal { poisson, ..CARBON };
        Enclosure::new(metal, Shape::HeldTube { ratio: 20.0 }).unwrap()
    };
    // The give changes with ν as well, so the growth is read from a state where water does not grow:
    // slope·(κ + c) = α_v − γ, and the difference of two metals leaves their γ alone.
    let liquid =
        gaugewright::calc::water::at(state(20.0, 5.0).temperature, state(20.0, 5.0).pressure)
            .unwrap();
    let growth = |enclosure: Enclosure| {
        let slope = slope(enclosure, state(20.0, 5.0)).unwrap();
        liquid.expansion - slope * (liquid.compressibility + enclosure.compliance())
    };
    for (poisson, times_alpha) in [(0.0, 2.0), (0.25, 2.5), (0.3, 2.6), (0.5, 3.0)] {
        let found = growth(held(poisson)) / CARBON.expansion;
        assert!((found - times_alpha).abs() < 1e-9, "{poisson}: {found}");
    }
    assert!((growth(tube(20.0)) / CARBON.expansion - 3.0).abs() < 1e-9);
    // What the practice would excuse of a drop of one kelvin, and what warmth really explains.
    assert!(slope_mpa(held(0.3), 20.0, 5.0) < 0.350_204 - 0.012);
}

#[test]
fn a_little_air_takes_most_of_the_slope() {
    // library: iapws 1.5.5, IAPWS95, with the terms for the air. The table adds the air on top of the
    // water, here it is a part of the whole: they differ by about the part of air.
    for (air, expected) in [
        (0.0, 0.362_61),
        (1e-4, 0.300_37),
        (1e-3, 0.119_44),
        (1e-2, 0.019_77),
    ] {
        let enclosure = bore(CARBON, 2.0).with_air(air).unwrap();
        let found = slope_mpa(enclosure, 20.0, 1.0);
        assert!((found / expected - 1.0).abs() < 3e-4 + air, "{air} {found}");
    }
    let enclosure = bore(CARBON, 2.0).with_air(0.01).unwrap();
    assert!((enclosure.air() - 0.01).abs() < 1e-15 && enclosure.vented().air() == 0.0);
    // Air of 1 %: the linear estimate at 5.1 MPa is 0.086875 without the air's own warmth.
    let own = 0.01 / 293.15;
    let found = slope_mpa(enclosure, 20.0, 5.1);
    assert!((found - 0.086_875).abs() < own / 1e-3, "{found}");
}

#[test]
fn the_slope_turns_where_water_and_metal_grow_alike() {
    // library: iapws 1.5.5, IAPWS95 with brentq: °C at which nothing happens, at 1, 5 and 10 MPa.
    for (metal, megapascal, celsius) in [
        (CARBON, 1.0, 6.0827),
        (CARBON, 5.0, 5.2949),
        (CARBON, 10.0, 4.2812),
        (AUSTENITIC, 1.0, 7.0672),
        (AUSTENITIC, 5.0, 6.2924),
        (AUSTENITIC, 10.0, 5.2949),
    ] {
        let enclosure = rigid(metal);
        assert!(
            slope_mpa(enclosure, celsius - 1e-4, megapascal) < 0.0,
            "{celsius}"
        );
        assert!(
            slope_mpa(enclosure, celsius + 1e-4, megapascal) > 0.0,
            "{celsius}"
        );
    }
}

#[test]
fn pressure_after_a_change_of_temperature_agrees_with_a_library() {
    // library: iapws 1.5.5, IAPWS95, mass balance solved with scipy 1.17.1 brentq; MPa above vacuum,
    // printed to five decimals.
    let still = rigid(Metal {
        expansion: 0.0,
        ..CARBON
    });
    for (enclosure, t1, p1, t2, p2) in [
        (still, 20.0, 1.0, 25.0, 3.596_15),
        (rigid(CARBON), 20.0, 1.0, 25.0, 3.205_01),
        (bore(CARBON, 2.0), 20.0, 5.0, 25.0, 7.189_96),
        (tube(20.0), 20.0, 10.0, 22.0, 10.726_03),
        (tube(20.0), 15.0, 10.0, 14.0, 9.767_15),
        (bore(CARBON, 2.0), 10.0, 5.0, 30.0, 12.674_02),
        (rigid(CARBON), 5.0, 5.0, 8.0, 5.108_19),
        (bore(CARBON, 2.0), 20.0, 1.0, 25.0, 3.113_99),
        (bore(CARBON, 2.0), 15.0, 0.5, 35.0, 10.098_12),
        (bore(CARBON, 2.0), 25.0, 10.0, 15.0, 6.117_79),
        (bore(CARBON, 2.0), 5.0, 1.0, 8.0, 1.035_88),
    ] {
        let found = after(enclosure, t1, p1, t2);
        assert!((found - p2).abs() < 6e-6, "{t1} {p1} {t2}: {found}");
    }
}

#[test]
fn lost_volumes_agree_with_a_library() {
    // library: iapws 1.5.5, IAPWS95; from the tables of worked cases, in millilitres.
    for (enclosure, celsius, megapascal, drop, litres, millilitres, off) in [
        (
            bore(CARBON, 2.0),
            18.25,
            6.025,
            0.121_189,
            0.8,
            0.045_95,
            6e-5,
        ),
        (
            bore(CARBON, 2.0),
            24.5,
            2.55,
            0.431_111,
            2.5,
            0.506_04,
            6e-4,
        ),
        (tube(20.0), 21.0, 10.25, 0.185_99, 10.0, 1.008_86, 5e-3),
    ] {
        let lost = lost_volume(
            enclosure,
            state(celsius, megapascal),
            drop * 1e6,
            litres / 1e3,
        )
        .unwrap()
            * 1e6;
        assert!((lost - millilitres).abs() < off, "{litres}: {lost}");
    }
}

#[test]
fn what_is_no_enclosure_is_refused() {
    for shape in [
        Shape::ThickBore { ratio: 1.0 },
        Shape::ThickBore { ratio: f64::NAN },
        Shape::ThickBore { ratio: 101.0 },
        Shape::Tube { ratio: 9.9 },
        Shape::Tube { ratio: 1_001.0 },
        Shape::HeldTube {
            ratio: f64::INFINITY,
        },
    ] {
        assert!(Enclosure::new(CARBON, shape).is_err(), "{shape:?}");
    }
    for metal in [
        Metal {
            expansion: -1e-6,
            ..CARBON
        },
        Metal {
            expansion: f64::NAN,
            ..CARBON
        },
        Metal {
            stiffness: 0.0,
            ..CARBON
        },
        Metal {
            poisson: 0.6,
            ..CARBON
        },
    ] {
        assert!(Enclosure::new(metal, Shape::Rigid).is_err(), "{metal:?}");
    }
    for air in [-0.01, 0.11, f64::NAN] {
        assert!(rigid(CARBON).with_air(air).is_err(), "{air}");
    }
    for volume in [0.0, -1.0, 1.1, f64::NAN] {
        assert!(
            lost_volume(rigid(CARBON), state(20.0, 1.0), 1.0, volume).is_err(),
            "{volume}"
        );
    }
    assert!(lost_volume(rigid(CARBON), state(20.0, 1.0), f64::NAN, 0.1).is_err());
}

#[test]
fn cooling_that_opens_a_vapour_space_has_no_pressure() {
    let end = |celsius| state(celsius, 1.0).temperature;
    // 0.38 MPa a kelvin: 1 MPa is gone after three kelvin.
    assert!(pressure_after(rigid(CARBON), state(20.0, 1.0), end(18.0)).is_ok());
    assert!(pressure_after(rigid(CARBON), state(20.0, 1.0), end(16.0)).is_err());
    assert!(pressure_after(rigid(CARBON), state(20.0, 90.0), end(60.0)).is_err());
    assert!(pressure_after(rigid(CARBON), state(20.0, 1.0), end(-1.0)).is_err());
    assert!(slope(rigid(CARBON), state(120.0, 0.1)).is_err());
}

proptest! {
    #[test]
    fn there_and_back_gives_the_first_pressure(
        t1 in 10.0_f64..40.0, p1 in 3.0_f64..30.0, warm in 0.1_f64..6.0, ratio in 1.3_f64..6.0, air in 0.0_f64..0.002,
    ) {
        let enclosure = bore(CARBON, ratio);
        let up = after(enclosure, t1, p1, t1 + warm);
        // Expansion of the wall is reckoned from the start, so the way back is not exactly the inverse.
        let back = after(enclosure, t1 + warm, up, t1);
        prop_assert!((back - p1).abs() < 2e-3 * (up - p1).abs() + 1e-6, "{} {}", back, p1);
        // Air softens.
        let airy = after(enclosure.with_air(air).unwrap(), t1, p1, t1 + warm);
        prop_assert!(airy <= up + 1e-9);
        prop_assert!(airy >= p1);
    }

    #[test]
    fn a_small_step_follows_the_slope(t in 8.0_f64..60.0, p in 2.0_f64..50.0, dt in -0.02_f64..0.02, air in 0.0_f64..0.01) {
        let enclosure = bore(AUSTENITIC, 2.0).with_air(air).unwrap();
        let found = after(enclosure, t, p, t + dt);
        let linear = p + slope_mpa(enclosure, t, p) * dt;
        prop_assert!((found - linear).abs() < 0.1 * dt * dt + 1e-7, "{} {}", found, linear);
    }
}
