//! Uncertainty budgets against the Guide's own example and tables of Student's distribution.
//! What is decided with the result is checked in `conformance`.

use gaugewright::calc::uncertainty::{Influence, Known, combine, coverage_factor};
use proptest::prelude::*;

fn of(known: Known) -> Influence {
    Influence {
        name: "influence".to_owned(),
        known,
    }
}

fn standard(value: f64, freedom: Option<f64>) -> Influence {
    of(Known::Standard { value, freedom })
}

#[test]
fn the_end_gauge_of_the_guide_is_reproduced() {
    // published: JCGM 100:2008, example H.1 (second hand): components 25, 9.7, 2.9 and 16.6 nm with
    // 18, 25.6, 50 and 2 degrees of freedom; combined 32 nm, cut down to 16, factor 2.92 for 99 %.
    let budget = [
        standard(25.0, Some(18.0)),
        standard(9.7, Some(25.6)),
        standard(2.9, Some(50.0)),
        standard(16.6, Some(2.0)),
    ];
    let found = combine(&budget).unwrap();
    assert!((found.standard - 32.0).abs() < 0.5, "{}", found.standard);
    let freedom = found.freedom.unwrap();
    assert!((freedom.floor() - 16.0).abs() < 1e-9, "{freedom}");
    let k = coverage_factor(0.99, Some(freedom)).unwrap();
    assert!((k - 2.92).abs() < 0.005, "{k}");
    assert!((k * 32.0 - 93.0).abs() < 0.5);
    assert_eq!(found.working.answer(), Some("31.67"));
}

#[test]
fn budgets_agree_with_hand_reckoning() {
    // library: Python 3.11 arithmetic (math.sqrt), checked by hand.
    let gauge = [
        of(Known::Within { half_width: 0.6 }),
        of(Known::Steps { step: 0.5 }),
        of(Known::Certificate {
            expanded: 0.2,
            factor: 2.0,
        }),
    ];
    let found = combine(&gauge).unwrap();
    assert!(
        (found.standard - 0.388_373).abs() < 5e-7,
        "{}",
        found.standard
    );
    assert_eq!(found.freedom, None);
    let caliper = [
        of(Known::Within { half_width: 0.001 }),
        standard(0.000_4, None),
        of(Known::Certificate {
            expanded: 0.000_2,
            factor: 2.0,
        }),
    ];
    assert!((combine(&caliper).unwrap().standard - 0.000_709_460).abs() < 5e-10);
    let mixed = [
        standard(0.35, Some(4.0)),
        standard(0.12, Some(9.0)),
        standard(0.2, None),
    ];
    let found = combine(&mixed).unwrap();
    assert!((found.standard - 0.420_594_8).abs() < 5e-8);
    assert!((found.freedom.unwrap() - 8.2906).abs() < 5e-5);
    let readings = [of(Known::Readings {
        values: vec![9.2, 9.4, 9.3, 9.5, 9.1, 9.3, 9.4, 9.2, 9.3, 9.3],
    })];
    let found = combine(&readings).unwrap();
    assert!((found.standard - 0.036_514_8).abs() < 5e-8);
    assert!((found.freedom.unwrap() - 9.0).abs() < 1e-9);
}

#[test]
fn coverage_factors_are_those_of_the_tables() {
    // library: scipy 1.17.1 stats.t.ppf and stats.norm.ppf; two decimals of them are those of table
    // G.2 of JCGM 100:2008 (from memory).
    for (level, freedom, k) in [
        (0.95, Some(1.0), 12.706_2),
        (0.95, Some(2.0), 4.302_65),
        (0.95, Some(5.0), 2.570_58),
        (0.95, Some(10.0), 2.228_14),
        (0.95, Some(20.0), 2.085_96),
        (0.95, None, 1.959_96),
        (0.6827, None, 1.000_022),
        (0.9545, None, 2.000_002),
        (0.9973, None, 2.999_977),
        (0.9545, Some(1.0), 13.967_8),
        (0.9545, Some(2.0), 4.526_6),
        (0.9545, Some(3.0), 3.306_8),
        (0.9545, Some(5.0), 2.648_7),
        (0.9545, Some(10.0), 2.283_7),
        (0.9545, Some(20.0), 2.133_0),
        (0.9545, Some(50.0), 2.051_3),
        (0.99, Some(16.0), 2.920_8),
    ] {
        let found = coverage_factor(level, freedom).unwrap();
        assert!((found - k).abs() < 6e-5, "{level} {freedom:?}: {found}");
    }
}

#[test]
fn what_cannot_be_a_budget_is_refused() {
    assert!(combine(&[]).is_err());
    assert!(combine(&[standard(0.0, None)]).is_err());
    for known in [
        Known::Readings { values: vec![1.0] },
        Known::Readings {
            values: vec![1.0, f64::NAN],
        },
        Known::Within { half_width: -0.1 },
        Known::Steps {
            step: f64::INFINITY,
        },
        Known::Certificate {
            expanded: 1.0,
            factor: 0.0,
        },
        Known::Standard {
            value: 1.0,
            freedom: Some(0.0),
        },
        Known::Standard {
            value: f64::NAN,
            freedom: None,
        },
    ] {
        assert!(combine(&[of(known.clone())]).is_err(), "{known:?}");
    }
    for (level, freedom) in [
        (0.0, None),
        (1.0, None),
        (f64::NAN, None),
        (0.95, Some(0.5)),
        (0.95, Some(f64::NAN)),
    ] {
        assert!(
            coverage_factor(level, freedom).is_err(),
            "{level} {freedom:?}"
        );
    }
}

proptest! {
    #[test]
    fn another_influence_never_makes_a_measurement_surer(a in 0.001_f64..10.0, b in 0.0_f64..10.0, nu in 1.0_f64..50.0) {
        let alone = combine(&[standard(a, Some(nu))]).unwrap();
        let both = combine(&[standard(a, Some(nu)), of(Known::Within { half_width: b })]).unwrap();
        prop_assert!(both.standard >= alone.standard);
        prop_assert!(both.freedom.unwrap() >= alone.freedom.unwrap() - 1e-9);
        prop_assert!((alone.freedom.unwrap() - nu).abs() < 1e-9 * nu);
    }

    #[test]
    fn fewer_degrees_of_freedom_widen(level in 0.5_f64..0.999, nu in 1.0_f64..200.0) {
        let few = coverage_factor(level, Some(nu)).unwrap();
        let more = coverage_factor(level, Some(nu + 1.0)).unwrap();
        prop_assert!(few > more && more > coverage_factor(level, None).unwrap());
    }
}
