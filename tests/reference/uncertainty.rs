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
    // library: scipy 1.17.1 stats.t.ppf and stats.norm.ppf; two decimals of them are those of the
    // published table below.
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

/// Degrees of freedom; the factors for 68.27, 90, 95, 95.45, 99 and 99.73 %.
///
/// published: B. N. Taylor and C. E. Kuyatt, NIST Technical Note 1297 (1994), table B.1,
/// <https://www.nist.gov/physical-measurement-laboratory/nist-tn-1297-guidelines-appendix-b-table-b1>,
/// which is table G.2 of JCGM 100:2008. Two entries are rounded otherwise there: 235.80 for one degree
/// is 235.784, and 1.70 for 35 degrees is 1.6896 (library: scipy 1.17.1); they are left out.
#[rustfmt::skip]
const TABLE_B1: [(f64, [f64; 6]); 26] = [
    (1.0, [1.84, 6.31, 12.71, 13.97, 63.66, f64::NAN]),
    (2.0, [1.32, 2.92, 4.30, 4.53, 9.92, 19.21]),
    (3.0, [1.20, 2.35, 3.18, 3.31, 5.84, 9.22]),
    (4.0, [1.14, 2.13, 2.78, 2.87, 4.60, 6.62]),
    (5.0, [1.11, 2.02, 2.57, 2.65, 4.03, 5.51]),
    (6.0, [1.09, 1.94, 2.45, 2.52, 3.71, 4.90]),
    (7.0, [1.08, 1.89, 2.36, 2.43, 3.50, 4.53]),
    (8.0, [1.07, 1.86, 2.31, 2.37, 3.36, 4.28]),
    (9.0, [1.06, 1.83, 2.26, 2.32, 3.25, 4.09]),
    (10.0, [1.05, 1.81, 2.23, 2.28, 3.17, 3.96]),
    (11.0, [1.05, 1.80, 2.20, 2.25, 3.11, 3.85]),
    (12.0, [1.04, 1.78, 2.18, 2.23, 3.05, 3.76]),
    (13.0, [1.04, 1.77, 2.16, 2.21, 3.01, 3.69]),
    (14.0, [1.04, 1.76, 2.14, 2.20, 2.98, 3.64]),
    (15.0, [1.03, 1.75, 2.13, 2.18, 2.95, 3.59]),
    (16.0, [1.03, 1.75, 2.12, 2.17, 2.92, 3.54]),
    (17.0, [1.03, 1.74, 2.11, 2.16, 2.90, 3.51]),
    (18.0, [1.03, 1.73, 2.10, 2.15, 2.88, 3.48]),
    (19.0, [1.03, 1.73, 2.09, 2.14, 2.86, 3.45]),
    (20.0, [1.03, 1.72, 2.09, 2.13, 2.85, 3.42]),
    (25.0, [1.02, 1.71, 2.06, 2.11, 2.79, 3.33]),
    (30.0, [1.02, 1.70, 2.04, 2.09, 2.75, 3.27]),
    (35.0, [1.01, f64::NAN, 2.03, 2.07, 2.72, 3.23]),
    (40.0, [1.01, 1.68, 2.02, 2.06, 2.70, 3.20]),
    (45.0, [1.01, 1.68, 2.01, 2.06, 2.69, 3.18]),
    (50.0, [1.01, 1.68, 2.01, 2.05, 2.68, 3.16]),
];

#[test]
fn coverage_factors_are_those_of_the_published_table() {
    for (freedom, row) in TABLE_B1 {
        let levels = [0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973];
        for (level, printed) in levels.into_iter().zip(row) {
            let found = coverage_factor(level, Some(freedom)).unwrap();
            assert!(
                printed.is_nan() || (found - printed).abs() <= 0.005_05,
                "{level} {freedom}: {found}"
            );
        }
    }
}

#[test]
fn with_huge_degrees_of_freedom_the_normal_factor_is_reached_from_above() {
    // library: mpmath 1.4.1 with 40 digits, the incomplete beta function solved for the quantile.
    for (level, freedom, k) in [
        (0.6827, 1e5, 1.000_026_713_565_138),
        (0.6827, 999_999.0, 1.000_022_213_345_463),
        (0.6827, 1e12, 1.000_021_713_323_499),
        (0.95, 1e5, 1.959_987_707_534_609),
        (0.95, 999_999.0, 1.959_966_356_816_479),
        (0.95, 1e6, 1.959_966_356_814_107),
        (0.95, 1e7, 1.959_964_221_767_205),
        (0.95, 1e9, 1.959_963_986_912_325),
        (0.95, 1e12, 1.959_963_984_542_426),
        (0.9545, 1e6, 2.000_004_943_910_609),
        (0.99, 1e5, 2.575_878_469_908_375),
        (0.99, 1e7, 2.575_829_795_203_749),
        (0.9973, 1e5, 3.000_051_992_817_861),
        (0.9973, 1e6, 2.999_984_492_559_589),
        (0.9973, 1e12, 2.999_976_992_710_889),
    ] {
        let found = coverage_factor(level, Some(freedom)).unwrap();
        assert!((found - k).abs() < 5e-14, "{level} {freedom}: {found}");
        assert!(found >= coverage_factor(level, None).unwrap());
    }
    let endless = coverage_factor(0.95, Some(f64::INFINITY)).unwrap();
    assert!((endless - coverage_factor(0.95, None).unwrap()).abs() < 1e-15);
    // Where the search hands over to the series, neither side jumps.
    let (below, above) = (
        coverage_factor(0.99, Some(499.0)).unwrap(),
        coverage_factor(0.99, Some(500.0)).unwrap(),
    );
    assert!(below >= above && below - above < 2e-5, "{below} {above}");
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
