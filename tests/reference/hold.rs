//! Judging a hold against worked cases with water by a library, and gas by the gas law.
//! The physics below it is checked in `trapped` and `water`.

use gaugewright::calc::conformance::Guard;
use gaugewright::calc::hold::{
    Contents, Doubt, Failure, Hold, Leak, Moment, Required, Telling, Verdict, gas_loss, judge,
};
use gaugewright::calc::quantity::{
    GaugePressure, PressureUnit, Stamped, StampedPressure, TemperatureUnit, decimal,
};
use gaugewright::calc::trapped::{Enclosure, Metal, Shape, State};
use proptest::prelude::*;
use rust_decimal::Decimal;

fn mpa(text: &str) -> StampedPressure {
    Stamped::new(decimal("pressure", text).unwrap(), PressureUnit::MegaPascal)
}

fn at(pressure: StampedPressure, celsius: &str) -> Moment {
    let warm = Stamped::new(
        decimal("temperature", celsius).unwrap(),
        TemperatureUnit::Celsius,
    );
    Moment {
        pressure,
        temperature: Some(warm),
    }
}

/// The tables count from vacuum; the gauge reads an atmosphere less.
fn absolute(text: &str) -> StampedPressure {
    let above = decimal("pressure", text).unwrap() - decimal("atmosphere", "0.101325").unwrap();
    Stamped::new(above, PressureUnit::MegaPascal)
}

fn held(start: Moment, end: Moment) -> Hold {
    Hold {
        start,
        end,
        minutes: 10,
        leak: Leak::NoneSeen,
    }
}

/// A test that only asks for ten minutes and no unexplained drop above half a bar.
fn required() -> Required {
    Required {
        pressure: mpa("0"),
        minutes: 10,
        allowed_drop: mpa("0.05"),
    }
}

/// Instruments good enough for it: u of 0.05 bar, 0.02 K, computed change sure to 2 %.
fn telling() -> Telling {
    Telling {
        pressure: mpa("0.005"),
        temperature_k: 0.02,
        model: 0.02,
        guard: Guard::EXPANDED,
    }
}

fn vented() -> Enclosure {
    Enclosure::new(Metal::CARBON_STEEL, Shape::ThickBore { ratio: 2.0 }).unwrap()
}

fn verdict(hold: Hold) -> Verdict {
    judge(&hold, &required(), &telling(), Contents::Water(vented()))
        .unwrap()
        .verdict
}

fn doubts(hold: Hold, required: &Required, telling: &Telling) -> Vec<Doubt> {
    match judge(&hold, required, telling, Contents::Water(vented()))
        .unwrap()
        .verdict
    {
        Verdict::NotDecidable { why } => why,
        other => panic!("{other:?}"),
    }
}

#[test]
fn drops_are_compared_with_what_temperature_explains() {
    // library: iapws 1.5.5, IAPWS95: °C and MPa above vacuum at start and end, residual in MPa found
    // with the slope at the middle; the exact balance differs by less than 0.001 over half a kelvin.
    let fail = Verdict::Fail {
        why: Failure::UnexplainedDrop,
    };
    for (t1, p1, t2, p2, residual, off, expected) in [
        ("21.0", "4.50", "20.6", "4.34", -0.0022, 2e-4, Verdict::Pass),
        ("18.0", "6.00", "18.5", "6.05", -0.1212, 2e-4, fail.clone()),
        ("25", "3.00", "24", "2.10", -0.4311, 2e-3, fail),
    ] {
        let hold = held(at(absolute(p1), t1), at(absolute(p2), t2));
        let found = judge(&hold, &required(), &telling(), Contents::Water(vented())).unwrap();
        let y = found.unexplained_pa.unwrap() / 1e6;
        assert!((y - residual).abs() < off, "{p1}: {y}");
        assert_eq!(found.verdict, expected, "{p1}");
    }
}

#[test]
fn a_rising_gauge_can_still_leak() {
    // library: iapws 1.5.5: half a kelvin warmer should have given 6.171 MPa, 6.05 was read.
    let hold = held(at(absolute("6.00"), "18.0"), at(absolute("6.05"), "18.5"));
    let found = judge(&hold, &required(), &telling(), Contents::Water(vented())).unwrap();
    assert!((found.expected_pa.unwrap() / 1e6 + 0.101_325 - 6.171_19).abs() < 2e-4);
    assert_eq!(
        found.verdict,
        Verdict::Fail {
            why: Failure::UnexplainedDrop
        }
    );
    assert!(found.probability.unwrap() < 0.01);
    assert_eq!(
        found.working.answer(),
        Some("failed: the pressure fell by more than temperature explains")
    );
}

#[test]
fn a_visible_leak_fails_whatever_the_gauge_reads() {
    // common practice, no source: any visible leak fails.
    let good = held(at(mpa("6"), "20"), at(mpa("6"), "20"));
    assert_eq!(verdict(good), Verdict::Pass);
    let fail = Verdict::Fail {
        why: Failure::VisibleLeak,
    };
    assert_eq!(
        verdict(Hold {
            leak: Leak::Seen,
            ..good
        }),
        fail
    );
    // Even where the readings are missing or impossible.
    let blind = Moment {
        pressure: mpa("0"),
        temperature: None,
    };
    assert_eq!(
        verdict(Hold {
            leak: Leak::Seen,
            end: blind,
            ..good
        }),
        fail
    );
    assert_eq!(
        verdict(Hold {
            leak: Leak::Seen,
            end: at(mpa("6"), "-40"),
            ..good
        }),
        fail
    );
}

#[test]
fn a_hold_is_not_decidable_where_the_readings_cannot_tell() {
    let good = held(at(mpa("6"), "20"), at(mpa("6"), "20"));
    let with = |hold| doubts(hold, &required(), &telling());
    assert_eq!(with(Hold { minutes: 9, ..good }), [Doubt::HeldTooShort]);
    let blind = Moment {
        pressure: mpa("6"),
        temperature: None,
    };
    assert_eq!(with(Hold { end: blind, ..good }), [Doubt::NoTemperature]);
    assert_eq!(
        with(Hold {
            start: blind,
            ..good
        }),
        [Doubt::NoTemperature]
    );
    // Under the required pressure, at either end.
    let asks = Required {
        pressure: mpa("6"),
        ..required()
    };
    assert_eq!(
        doubts(
            held(at(mpa("5.99"), "20"), at(mpa("6"), "20")),
            &asks,
            &telling()
        ),
        [Doubt::PressureTooLow]
    );
    assert_eq!(
        doubts(
            held(at(mpa("6"), "20"), at(mpa("5.99"), "20")),
            &asks,
            &telling()
        ),
        [Doubt::PressureTooLow]
    );
    // 0.05 MPa are allowed; the unexplained drop is as much.
    assert_eq!(
        with(held(at(mpa("6"), "20"), at(mpa("5.95"), "20"))),
        [Doubt::DropUnclear]
    );
    // Something feeds the test.
    assert_eq!(
        with(held(at(mpa("6"), "20"), at(mpa("6.2"), "20"))),
        [Doubt::UnexplainedRise]
    );
    // Four kelvin of cooling would have drawn a void.
    assert_eq!(
        with(held(at(mpa("1"), "20"), at(mpa("0.2"), "15"))),
        [Doubt::TemperatureTooFar]
    );
    // At 0.385 MPa/K half a kelvin of doubt is 0.19 MPa; nothing finer can be told.
    let coarse = Telling {
        temperature_k: 0.5,
        ..telling()
    };
    assert_eq!(
        doubts(good, &required(), &coarse),
        [Doubt::InstrumentsTooCoarse]
    );
    // All reasons are given, the most basic first.
    let short = Hold {
        minutes: 1,
        end: Moment {
            pressure: mpa("5"),
            temperature: None,
        },
        ..good
    };
    assert_eq!(
        doubts(short, &asks, &telling()),
        [
            Doubt::PressureTooLow,
            Doubt::HeldTooShort,
            Doubt::NoTemperature
        ]
    );
    assert!(Doubt::NoTemperature.words().contains("temperature"));
    assert!(
        Verdict::NotDecidable {
            why: vec![Doubt::HeldTooShort]
        }
        .words()
        .starts_with("not decidable: it was held")
    );
}

#[test]
fn air_that_may_be_trapped_makes_an_excuse_doubtful() {
    // 0.4 K of cooling excuses 0.16 MPa in vented water, but hardly any of it with 1 % of air.
    let hold = held(at(absolute("4.50"), "21.0"), at(absolute("4.34"), "20.6"));
    let airy = vented().with_air(0.01).unwrap();
    let found = judge(&hold, &required(), &telling(), Contents::Water(airy)).unwrap();
    assert_eq!(
        found.verdict,
        Verdict::NotDecidable {
            why: vec![Doubt::AirMatters]
        }
    );
    // Without any change of temperature the air does not matter.
    let still = held(at(mpa("4.4"), "21.0"), at(mpa("4.4"), "21.0"));
    assert_eq!(
        judge(&still, &required(), &telling(), Contents::Water(airy))
            .unwrap()
            .verdict,
        Verdict::Pass
    );
}

#[test]
fn gas_is_judged_by_the_gas_law() {
    // Worked by hand: 600 kPa above 101.325 kPa at 22 °C should read 597.624 kPa at 21 °C.
    let kpa =
        |text: &str| Stamped::new(decimal("pressure", text).unwrap(), PressureUnit::KiloPascal);
    let asks = Required {
        pressure: kpa("0"),
        minutes: 10,
        allowed_drop: kpa("1"),
    };
    let tells = Telling {
        pressure: kpa("0.05"),
        temperature_k: 0.05,
        model: 0.0,
        guard: Guard::EXPANDED,
    };
    let hold = held(at(kpa("600"), "22"), at(kpa("596"), "21"));
    let found = judge(&hold, &asks, &tells, Contents::Gas).unwrap();
    assert!(
        (found.expected_pa.unwrap() - 597_623.837).abs() < 0.01,
        "{:?}",
        found.expected_pa
    );
    assert_eq!(
        found.verdict,
        Verdict::Fail {
            why: Failure::UnexplainedDrop
        }
    );
    let tight = held(at(kpa("600"), "22"), at(kpa("597.6"), "21"));
    assert_eq!(
        judge(&tight, &asks, &tells, Contents::Gas).unwrap().verdict,
        Verdict::Pass
    );
    // Worked by hand: 7 bar at 25 °C become 6.731 bar at 15 °C, and two more.
    let bar = |text: &str| Stamped::new(decimal("pressure", text).unwrap(), PressureUnit::Bar);
    for (p1, t1, t2, p2) in [
        ("7", "25", "15", 6.731_234),
        ("10", "20", "10", 9.624_313),
        ("4", "17", "30", 4.224_616),
    ] {
        let hold = held(at(bar(p1), t1), at(bar(p1), t2));
        let found = judge(&hold, &required(), &telling(), Contents::Gas).unwrap();
        assert!((found.expected_pa.unwrap() / 1e5 - p2).abs() < 6e-7, "{p1}");
    }
    assert!(
        judge(
            &held(at(kpa("600"), "-80"), at(kpa("600"), "20")),
            &asks,
            &tells,
            Contents::Gas
        )
        .is_err()
    );
}

#[test]
fn the_loss_of_a_gas_test_follows_from_the_gas_law() {
    // Worked by hand with the gas law; Pa above the standard atmosphere, litres, minutes.
    let state = |kpa: f64, celsius: &str| State {
        temperature: Stamped::new(decimal("t", celsius).unwrap(), TemperatureUnit::Celsius)
            .temperature(),
        pressure: GaugePressure::from_pa(kpa * 1e3).absolute(),
    };
    for (p1, t1, p2, t2, litres, minutes, drop, rate) in [
        (600.0, "22", 596.0, "21", 3.0, 10, 1_629.36, 8.146_78e-3),
        (600.0, "20", 599.0, "22", 3.0, 10, 5_745.55, 0.028_727_75),
        (1_000.0, "25", 985.0, "25", 1.5, 15, 15_000.0, 0.025),
    ] {
        let found = gas_loss(state(p1, t1), state(p2, t2), litres / 1e3, minutes * 60).unwrap();
        assert!(
            (found.drop_pa / drop - 1.0).abs() < 1e-5,
            "{}",
            found.drop_pa
        );
        assert!((found.rate / rate - 1.0).abs() < 1e-5, "{}", found.rate);
    }
    let (good, other) = (state(600.0, "20"), state(599.0, "20"));
    assert!(gas_loss(good, other, 0.0, 60).is_err());
    assert!(gas_loss(good, other, 0.003, 0).is_err());
    assert!(gas_loss(good, state(599.0, "-100"), 0.003, 60).is_err());
    assert!(gas_loss(state(-200.0, "20"), other, 0.003, 60).is_err());
}

#[test]
fn readings_that_cannot_be_are_refused() {
    let good = held(at(mpa("6"), "20"), at(mpa("6"), "20"));
    let water = Contents::Water(vented());
    let refuses = |hold: Hold, required: Required, telling: Telling| {
        judge(&hold, &required, &telling, water).is_err()
    };
    assert!(refuses(
        held(at(mpa("-0.1"), "20"), good.end),
        required(),
        telling()
    ));
    assert!(refuses(
        held(good.start, at(mpa("101"), "20")),
        required(),
        telling()
    ));
    assert!(refuses(
        held(at(mpa("6"), "-1"), good.end),
        required(),
        telling()
    ));
    assert!(refuses(
        held(good.start, at(mpa("6"), "301")),
        required(),
        telling()
    ));
    assert!(refuses(
        good,
        Required {
            allowed_drop: mpa("-1"),
            ..required()
        },
        telling()
    ));
    assert!(refuses(
        good,
        required(),
        Telling {
            pressure: mpa("0"),
            ..telling()
        }
    ));
    assert!(refuses(
        good,
        required(),
        Telling {
            temperature_k: -1.0,
            ..telling()
        }
    ));
    assert!(refuses(
        good,
        required(),
        Telling {
            temperature_k: f64::NAN,
            ..telling()
        }
    ));
    assert!(refuses(
        good,
        required(),
        Telling {
            model: 1.1,
            ..telling()
        }
    ));
}

fn mixed() -> impl Strategy<Value = (Hold, Telling)> {
    (
        2_000_i64..20_000,
        -600_i64..600,
        80_i64..350,
        -15_i64..15,
        1_i64..50,
        0.0_f64..0.5,
    )
        .prop_map(|(p, change, t, warmer, u, ut)| {
            let kilo = |n: i64| Stamped::new(Decimal::new(n, 0), PressureUnit::KiloPascal);
            let warm = |n: i64| Some(Stamped::new(Decimal::new(n, 1), TemperatureUnit::Celsius));
            let hold = held(
                Moment {
                    pressure: kilo(p),
                    temperature: warm(t),
                },
                Moment {
                    pressure: kilo(p + change),
                    temperature: warm(t + warmer),
                },
            );
            (
                hold,
                Telling {
                    pressure: kilo(u),
                    temperature_k: ut,
                    ..telling()
                },
            )
        })
}

proptest! {
    #[test]
    fn a_lower_end_pressure_never_turns_a_failure_into_anything_better((hold, telling) in mixed(), less in 1_i64..500) {
        let before = judge(&hold, &required(), &telling, Contents::Water(vented())).unwrap();
        let mut lower = hold;
        lower.end.pressure.value -= Decimal::new(less, 0);
        let after = judge(&lower, &required(), &telling, Contents::Water(vented())).unwrap();
        if matches!(before.verdict, Verdict::Fail { .. }) {
            prop_assert_eq!(after.verdict, before.verdict);
        }
    }

    #[test]
    fn worse_instruments_never_decide_what_better_ones_could_not((hold, telling) in mixed(), more in 1.0_f64..5.0) {
        let better = judge(&hold, &required(), &telling, Contents::Water(vented())).unwrap();
        let worse = Telling { temperature_k: (telling.temperature_k * more).min(20.0), model: 0.02 * more, ..telling };
        let worse = judge(&hold, &required(), &worse, Contents::Water(vented())).unwrap();
        if matches!(better.verdict, Verdict::NotDecidable { .. }) {
            let still = matches!(worse.verdict, Verdict::NotDecidable { .. });
            prop_assert!(still);
        }
    }

    #[test]
    fn a_pass_is_likely_to_be_one((hold, telling) in mixed()) {
        let found = judge(&hold, &required(), &telling, Contents::Water(vented())).unwrap();
        match found.verdict {
            Verdict::Pass => prop_assert!(found.probability.unwrap() > 0.97),
            Verdict::Fail { .. } => prop_assert!(found.probability.unwrap() < 0.03),
            Verdict::NotDecidable { why } => prop_assert!(!why.is_empty()),
        }
    }
}
