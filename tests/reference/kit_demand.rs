//! The kits failures ask for: published tables, worked exam solutions, library values and laws.
//! What to keep in stock against that demand is checked in `ordering`.

use std::error::Error;

use gaugewright::calc::demand::{KitsPerEvent, compound_poisson, expected_events, poisson, pool};
use proptest::prelude::*;

type Checked = Result<(), Box<dyn Error>>;

/// Sums of a few dozen terms near 1: a hundred units in the last place.
const CLOSE: f64 = 2e-14;

#[track_caller]
fn near(given: f64, expected: f64, tolerance: f64) {
    assert!(
        (given - expected).abs() <= tolerance,
        "{given} against {expected}"
    );
}

#[test]
fn one_kit_a_failure_is_the_poisson_table() -> Checked {
    // published: cumulative Poisson table, https://www.scribd.com/document/96601458/Poisson-Table
    // (four places), columns 2, 3 and 5 from x = 0
    let table: [(f64, &[f64]); 3] = [
        (
            2.0,
            &[
                0.1353, 0.4060, 0.6767, 0.8571, 0.9473, 0.9834, 0.9955, 0.9989, 0.9998,
            ],
        ),
        (
            3.0,
            &[
                0.0498, 0.1991, 0.4232, 0.6472, 0.8153, 0.9161, 0.9665, 0.9881, 0.9962,
            ],
        ),
        (
            5.0,
            &[
                0.0067, 0.0404, 0.1247, 0.2650, 0.4405, 0.6160, 0.7622, 0.8666, 0.9319,
            ],
        ),
    ];
    for (mean, column) in table {
        let demand = poisson(mean)?;
        for (kits, &expected) in (0..).zip(column) {
            near(demand.at_most(kits), expected, 5e-5);
        }
    }
    // published: https://support.nag.com/numeric/nl/nagdoc_30.1/examples/baseresults/g01bkce.r.html
    // (five places): P(D <= k), P(D > k), P(D = k)
    for (mean, kits, below, above, exactly) in [
        (0.75, 3, 0.99271, 0.00729, 0.03321),
        (9.2, 12, 0.86074, 0.13926, 0.07755),
        (34.0, 25, 0.06736, 0.93264, 0.02140),
        (175.0, 175, 0.52009, 0.47991, 0.03014),
    ] {
        let demand = poisson(mean)?;
        near(demand.at_most(kits), below, 5e-6);
        near(demand.more_than(kits), above, 5e-6);
        near(demand.exactly(kits), exactly, 5e-6);
    }
    // published: SAS Language Reference: Dictionary (lrdict 64316), function POISSON, poisson(1, 2)
    near(poisson(1.0)?.at_most(2), 0.919_698_602_9, 5e-11);
    Ok(())
}

#[test]
fn several_kits_a_failure_follow_the_compound_poisson_recursion() -> Checked {
    // published: Society of Actuaries sample question, https://stochiki.com exercise E787326725:
    // 2 losses expected, 1 or 2 with 0.6 and 0.4; f(0), f(1), f(2) in units of e^-2 and E(S - 3)+
    let demand = compound_poisson(2.0, &KitsPerEvent::new(&[(1, 0.6), (2, 0.4)])?)?;
    let unit = (-2.0_f64).exp();
    near(demand.exactly(0), unit, CLOSE);
    near(demand.exactly(1), 1.2 * unit, CLOSE);
    near(demand.exactly(2), 1.52 * unit, CLOSE);
    near(demand.expected_excess(3), 0.7365, 5e-5);
    near(demand.mean(), 2.8, CLOSE);

    // published: exercise with printed answers,
    // https://www.coursehero.com/file/6246702/Homework-Assignment-14/: 20 events, 0.7, 0.2, 0.1
    let demand = compound_poisson(20.0, &KitsPerEvent::new(&[(1, 0.7), (2, 0.2), (3, 0.1)])?)?;
    let unit = (-20.0_f64).exp();
    for (kits, factor, half_digit) in [
        (0, 1.0, 1e-9),
        (1, 14.0, 1e-9),
        (2, 102.0, 1e-9),
        (3, 515.33, 0.005),
    ] {
        near(demand.exactly(kits) / unit, factor, half_digit);
    }

    // Society of Actuaries course 3, November 2001, question 30 (13 weeks of 50 events with 1 to 4
    // claims at 0.20, 0.25, 0.40, 0.15); its solution, mean 1625, variance 4680, from memory
    let claims = KitsPerEvent::new(&[(1, 0.2), (2, 0.25), (3, 0.4), (4, 0.15)])?;
    let demand = compound_poisson(650.0, &claims)?;
    near(claims.mean(), 2.5, CLOSE);
    near(demand.mean(), 1625.0, 1e-9);
    near(demand.variance(), 4680.0, 1e-9);
    Ok(())
}

/// Expected failures, the shares of kits, and P(D = 0) to P(D = 7).
type Case = (f64, &'static [(u32, f64)], [f64; 8]);

#[test]
fn the_recursion_agrees_with_convolution_by_definition() -> Checked {
    // library: scipy 1.17.1 and numpy 2.4.6, weights of scipy.stats.poisson on numpy.convolve
    let cases: [Case; 5] = [
        (
            1.6,
            &[(1, 0.5), (2, 0.3), (3, 0.2)],
            [
                0.201_896_52,
                0.161_517_21,
                0.161_517_21,
                0.159_363_65,
                0.109_400_99,
                0.079_113_29,
                0.053_550_78,
                0.031_973_48,
            ],
        ),
        (
            0.8,
            &[(1, 0.25), (2, 0.375), (3, 0.375)],
            [
                0.449_328_96,
                0.089_865_79,
                0.143_785_27,
                0.162_357_53,
                0.049_905_47,
                0.047_360_47,
                0.030_922_86,
                0.011_359_40,
            ],
        ),
        (
            3.0,
            &[(1, 0.5), (2, 0.3), (4, 0.2)],
            [
                0.049_787_07,
                0.074_680_60,
                0.100_818_81,
                0.095_217_77,
                0.110_947_37,
                0.103_409_30,
                0.099_464_06,
                0.080_550_78,
            ],
        ),
        (
            2.0,
            &[(2, 1.0)],
            [
                0.135_335_28,
                0.0,
                0.270_670_57,
                0.0,
                0.270_670_57,
                0.0,
                0.180_447_04,
                0.0,
            ],
        ),
        (
            5.0,
            &[(1, 0.6), (2, 0.4)],
            [
                0.006_737_95,
                0.020_213_84,
                0.043_796_66,
                0.070_748_44,
                0.096_857_99,
                0.114_713_55,
                0.121_928_77,
                0.117_805_78,
            ],
        ),
    ];
    for (events, shares, expected) in cases {
        let demand = compound_poisson(events, &KitsPerEvent::new(shares)?)?;
        for (kits, value) in (0..).zip(expected) {
            near(demand.exactly(kits), value, 5e-9);
        }
    }
    let demand = compound_poisson(1.6, &KitsPerEvent::new(&[(1, 0.5), (2, 0.3), (3, 0.2)])?)?;
    near(demand.at_most(6), 0.926_359_66, 5e-9);
    near(demand.at_most(7), 0.958_333_13, 5e-9);
    near(demand.more_than(20), 1.687_906e-6, 5e-13);
    Ok(())
}

#[test]
fn thousands_of_kits_do_not_vanish_by_underflow() -> Checked {
    // library: mpmath 1.4.1, the recursion with 50 digits; e^-2000 is beyond floating point
    let demand = compound_poisson(2000.0, &KitsPerEvent::new(&[(1, 0.5), (2, 0.3), (4, 0.2)])?)?;
    for (kits, exactly, below, above) in [
        (
            3500,
            3.672_418_627_027_61e-5,
            0.001_066_065_440_668_42,
            0.998_933_934_559,
        ),
        (
            3800,
            0.004_029_638_772_847_18,
            0.504_166_835_374_53,
            0.495_833_164_625,
        ),
        (
            4000,
            0.000_529_531_508_372_959,
            0.977_734_710_481_959,
            0.022_265_289_518,
        ),
        (
            4200,
            1.509_447_897_410_8e-6,
            0.999_963_571_346_99,
            3.642_865_300_98e-5,
        ),
    ] {
        near(demand.exactly(kits), exactly, exactly * 1e-11);
        near(demand.at_most(kits), below, 1e-11);
        near(demand.more_than(kits), above, above * 1e-11);
    }
    // library: scipy 1.17.1, scipy.stats.poisson.sf
    for (mean, kits, above) in [
        (0.5, 4, 0.000_172_115_629_955_840_72),
        (10.0, 25, 1.768_027_241_747_118_7e-5),
        (100.0, 150, 1.233_094_4e-6),
        (1000.0, 1158, 4.965_718_7e-7),
        (9000.0, 9474, 3.517_421_4e-7),
    ] {
        near(poisson(mean)?.more_than(kits), above, above * 1e-7);
    }
    Ok(())
}

#[test]
fn without_failures_no_kits_are_wanted() -> Checked {
    for demand in [
        poisson(0.0)?,
        compound_poisson(7.0, &KitsPerEvent::new(&[(0, 1.0)])?)?,
    ] {
        assert!((demand.exactly(0) - 1.0).abs() < f64::EPSILON);
        assert!((demand.at_most(0) - 1.0).abs() < f64::EPSILON);
        assert!(demand.more_than(0).abs() < f64::EPSILON);
        assert!(demand.expected_excess(0).abs() < f64::EPSILON);
        assert!((demand.expected_left(3) - 3.0).abs() < f64::EPSILON);
        assert_eq!(demand.largest(), 0);
    }
    Ok(())
}

#[test]
fn failures_that_take_no_kit_only_thin_the_demand() -> Checked {
    // published: f(0) = e^(-L(1 - p0)), H. C. Tijms, A First Course in Stochastic Models, 1.2
    let thinned = compound_poisson(4.0, &KitsPerEvent::new(&[(0, 0.25), (1, 0.75)])?)?;
    near(thinned.exactly(0), (-3.0_f64).exp(), CLOSE);
    let plain = poisson(3.0)?;
    for kits in 0..30 {
        near(thinned.exactly(kits), plain.exactly(kits), CLOSE);
    }
    Ok(())
}

#[test]
fn expected_failures_are_rate_times_gauges_times_years() -> Checked {
    // common practice, no source: 0.05 failures a gauge and year, 140 gauges, 90 days
    near(
        expected_events(0.05, 140, 90)?,
        1.724_845_995_893_224,
        1e-12,
    );
    near(expected_events(1.0, 1, 1461)?, 4.0, 1e-12);
    near(
        expected_events(0.25, 4, 3_652)?,
        9.998_631_074_606_434,
        1e-12,
    );
    near(
        expected_events(10_000.0, 1, 365)?,
        9_993.155_373_032_169,
        1e-9,
    );
    near(expected_events(0.2, 0, 365)?, 0.0, 0.0);
    near(expected_events(0.2, 10, 0)?, 0.0, 0.0);
    for rate in [-0.1, f64::NAN, f64::INFINITY, 1e9] {
        assert!(expected_events(rate, 140, 90).is_err());
    }
    Ok(())
}

#[test]
fn service_classes_that_share_a_kit_are_pooled() -> Checked {
    // by definition the demand of the pool is the convolution of the demands of its classes, which is
    // summed here; that it is compound Poisson again: H. C. Tijms, A First Course in Stochastic Models,
    // section 1.1, superposition (from memory)
    let one = (1.2, KitsPerEvent::new(&[(1, 0.5), (2, 0.5)])?);
    let other = (0.8, KitsPerEvent::new(&[(2, 0.25), (4, 0.75)])?);
    let (events, kits) = pool(&[one.clone(), other.clone()])?;
    near(events, 2.0, CLOSE);
    near(kits.mean(), 0.6 * 1.5 + 0.4 * 3.5, CLOSE);
    let pooled = compound_poisson(events, &kits)?;
    let (first, second) = (
        compound_poisson(one.0, &one.1)?,
        compound_poisson(other.0, &other.1)?,
    );
    for sum in 0..40 {
        let convolved: f64 = (0..=sum)
            .map(|k| first.exactly(k) * second.exactly(sum - k))
            .sum();
        near(pooled.exactly(sum), convolved, CLOSE);
    }
    let (none, _) = pool(&[])?;
    near(none, 0.0, 0.0);
    // By hand: shares 1/3 and 2/3 of one and of three kits; and the largest sum there may be.
    let (three, kits) = pool(&[
        (1.0, KitsPerEvent::one()),
        (2.0, KitsPerEvent::new(&[(3, 1.0)])?),
    ])?;
    near(three, 3.0, CLOSE);
    near(kits.mean(), 7.0 / 3.0, CLOSE);
    let half = (5_000.0, KitsPerEvent::one());
    near(pool(&[half.clone(), half])?.0, 10_000.0, 0.0);
    assert!(pool(&[(-1.0, KitsPerEvent::one())]).is_err());
    assert!(
        pool(&[
            (9_000.0, KitsPerEvent::one()),
            (9_000.0, KitsPerEvent::one())
        ])
        .is_err()
    );
    Ok(())
}

#[test]
fn shares_come_from_the_fleet_and_must_add_up() -> Checked {
    // By hand: 50, 30 and 20 of a hundred gauges.
    let kits = KitsPerEvent::from_fleet(&[(2, 30), (1, 50), (3, 20)])?;
    for ((count, share), (wanted, expected)) in
        kits.shares().iter().zip([(1, 0.5), (2, 0.3), (3, 0.2)])
    {
        assert_eq!(*count, wanted);
        near(*share, expected, CLOSE);
    }
    assert_eq!(
        KitsPerEvent::new(&[(1, 0.5), (1, 0.5), (9, 0.0)])?
            .shares()
            .len(),
        1
    );
    assert!(KitsPerEvent::from_fleet(&[]).is_err());
    assert!(KitsPerEvent::from_fleet(&[(1, 0)]).is_err());
    for shares in [
        vec![],
        vec![(1, 0.9)],
        vec![(1, 1.1)],
        vec![(1, -0.5), (2, 1.5)],
        vec![(1, f64::NAN)],
        vec![(1001, 1.0)],
    ] {
        assert!(KitsPerEvent::new(&shares).is_err(), "{shares:?}");
    }
    let read: Result<KitsPerEvent, _> = serde_json::from_str("[[1,0.4]]");
    assert!(read.is_err(), "shares are checked when read back");
    Ok(())
}

#[test]
fn demand_out_of_range_is_refused() {
    for events in [-1.0, f64::NAN, f64::INFINITY, 10_000.1] {
        assert!(poisson(events).is_err());
    }
    let many = KitsPerEvent::new(&[(1000, 1.0)]);
    assert!(many.is_ok_and(|kits| compound_poisson(1000.0, &kits).is_err()));
}

fn some_kits() -> impl Strategy<Value = Vec<(u32, u32)>> {
    proptest::collection::vec((0_u32..12, 1_u32..50), 1..6)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn probabilities_add_up_and_give_mean_and_variance(events in 0.0_f64..1500.0, fleet in some_kits()) {
        let Ok(kits) = KitsPerEvent::from_fleet(&fleet) else { return Ok(()) };
        let Ok(demand) = compound_poisson(events, &kits) else { return Ok(()) };
        let (mut sum, mut first, mut second) = (0.0, 0.0, 0.0);
        for n in 0..=demand.largest() {
            let p = demand.exactly(n);
            prop_assert!((0.0..=1.0).contains(&p));
            sum += p;
            first += f64::from(n) * p;
            second += (f64::from(n) - demand.mean()).powi(2) * p;
            prop_assert!((demand.at_most(n) + demand.more_than(n) - 1.0).abs() < 1e-12);
        }
        prop_assert!((sum - 1.0).abs() < 1e-12);
        prop_assert!((first - demand.mean()).abs() <= 1e-10 * (1.0 + demand.mean()));
        prop_assert!((second - demand.variance()).abs() <= 1e-8 * (1.0 + demand.variance()));
    }

    #[test]
    fn what_is_left_and_what_is_missing_balance(events in 0.0_f64..60.0, fleet in some_kits(), stock in 0_u32..200) {
        let Ok(kits) = KitsPerEvent::from_fleet(&fleet) else { return Ok(()) };
        let Ok(demand) = compound_poisson(events, &kits) else { return Ok(()) };
        // E(n - D)+ - E(D - n)+ = n - E D
        let balance = demand.expected_left(stock) - demand.expected_excess(stock);
        prop_assert!((balance - (f64::from(stock) - demand.mean())).abs() < 1e-9);
        prop_assert!(demand.expected_excess(stock + 1) <= demand.expected_excess(stock));
    }

    #[test]
    fn the_chance_of_no_kits_is_the_exponential(events in 0.0_f64..700.0, fleet in some_kits()) {
        let Ok(kits) = KitsPerEvent::from_fleet(&fleet) else { return Ok(()) };
        let Ok(demand) = compound_poisson(events, &kits) else { return Ok(()) };
        let none = kits.shares().iter().find(|(count, _)| *count == 0).map_or(0.0, |(_, share)| *share);
        let expected = (-events * (1.0 - none)).exp();
        prop_assert!((demand.exactly(0) - expected).abs() <= 1e-11 * expected);
    }
}
