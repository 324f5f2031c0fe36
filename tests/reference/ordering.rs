//! What to keep, what to order and by when: textbook examples, library values and laws.
//! The distribution of demand itself is checked in `kit_demand`.

use std::error::Error;

use gaugewright::calc::demand::{KitsPerEvent, compound_poisson, poisson};
use gaugewright::calc::long_run::{Economics, cheapest_quantity, long_run};
use gaugewright::calc::reorder::{
    Packing, Position, ServiceLevel, Timing, order_by, order_quantity, reorder_point,
    smallest_covering, suggest,
};
use proptest::prelude::*;
use time::macros::date;

type Checked = Result<(), Box<dyn Error>>;

#[track_caller]
fn near(given: f64, expected: f64, tolerance: f64) {
    assert!(
        (given - expected).abs() <= tolerance,
        "{given} against {expected}"
    );
}

#[test]
fn the_cover_is_the_smallest_stock_that_meets_the_service_level() -> Checked {
    // published: cumulative Poisson table, https://www.scribd.com/document/96601458/Poisson-Table:
    // at 3, P(D <= 5) = 0.9161 and P(D <= 6) = 0.9665
    assert_eq!(
        smallest_covering(&poisson(3.0)?, ServiceLevel::new(0.95)?),
        6
    );
    // published: W. J. Hopp and M. L. Spearman, Factory Physics, section 2.4.2 as worked at
    // http://nicky.vanforeest.com/inventorySystems/baseStock/baseStock.html: mean 10, cost ratio
    // 25 / 40: G(10) = 0.583040, G(11) = 0.696776; service level 0.9 needs 14
    assert_eq!(
        smallest_covering(&poisson(10.0)?, ServiceLevel::new(0.625)?),
        11
    );
    assert_eq!(
        smallest_covering(&poisson(10.0)?, ServiceLevel::new(0.9)?),
        14
    );
    // library: scipy 1.17.1, scipy.stats.poisson.ppf at 0.5, 0.9, 0.95, 0.99, 0.999
    for (mean, expected) in [
        (0.5, [0, 1, 2, 3, 4]),
        (2.0, [2, 4, 5, 6, 8]),
        (3.0, [3, 5, 6, 8, 10]),
        (3.6, [3, 6, 7, 9, 11]),
        (10.0, [10, 14, 15, 18, 21]),
        (100.0, [100, 113, 117, 124, 132]),
        (1000.0, [1000, 1041, 1052, 1074, 1099]),
        (9000.0, [9000, 9122, 9156, 9221, 9295]),
    ] {
        let demand = poisson(mean)?;
        for (level, kits) in [0.5, 0.9, 0.95, 0.99, 0.999].into_iter().zip(expected) {
            assert_eq!(
                smallest_covering(&demand, ServiceLevel::new(level)?),
                kits,
                "{mean} {level}"
            );
        }
    }
    Ok(())
}

/// Expected failures, shares, then for 0.90, 0.95 and 0.99: kits, P(D <= kits), expected shortage.
type Covers = (f64, &'static [(u32, f64)], [(u32, f64, f64); 3]);

#[test]
fn compound_demand_asks_for_more_than_its_mean_suggests() -> Checked {
    // library: scipy 1.17.1 and numpy 2.4.6, weights of scipy.stats.poisson on numpy.convolve; the
    // last case mpmath 1.4.1 with 50 digits
    let cases: [Covers; 5] = [
        (
            1.6,
            &[(1, 0.5), (2, 0.3), (3, 0.2)],
            [
                (6, 0.926_359_66, 0.161_040_26),
                (7, 0.958_333_13, 0.087_399_92),
                (10, 0.994_042_49, 0.011_455_27),
            ],
        ),
        (
            0.8,
            &[(1, 0.25), (2, 0.375), (3, 0.375)],
            [
                (5, 0.942_603_50, 0.112_084_33),
                (6, 0.973_526_36, 0.054_687_83),
                (8, 0.992_817_01, 0.013_099_95),
            ],
        ),
        (
            3.0,
            &[(1, 0.5), (2, 0.3), (4, 0.2)],
            [
                (11, 0.918_834_95, 0.248_379_12),
                (13, 0.961_490_49, 0.111_039_66),
                (17, 0.992_882_99, 0.018_717_50),
            ],
        ),
        (
            2.0,
            &[(2, 1.0)],
            [
                (8, 0.947_346_98, 0.150_282_02),
                (10, 0.983_436_39, 0.044_975_98),
                (12, 0.995_466_19, 0.011_848_77),
            ],
        ),
        (
            5.0,
            &[(1, 0.6), (2, 0.4)],
            [
                (11, 0.904_033_13, 0.242_080_93),
                (13, 0.963_063_21, 0.085_507_87),
                (16, 0.993_131_44, 0.014_394_50),
            ],
        ),
    ];
    for (events, shares, expected) in cases {
        let failures = compound_poisson(events, &KitsPerEvent::new(shares)?)?;
        for (level, (kits, chance, shortage)) in [0.9, 0.95, 0.99].into_iter().zip(expected) {
            let found = reorder_point(0, &failures, ServiceLevel::new(level)?)?;
            assert_eq!((found.cover, found.point), (kits, kits));
            near(found.chance, chance, 5e-9);
            near(found.expected_shortage, shortage, 5e-9);
            near(found.fill_rate, 1.0 - shortage / failures.mean(), 1e-8);
        }
    }
    let large = compound_poisson(2000.0, &KitsPerEvent::new(&[(1, 0.5), (2, 0.3), (4, 0.2)])?)?;
    for (level, kits) in [(0.9, 3927), (0.95, 3964), (0.99, 4033), (0.999, 4110)] {
        assert_eq!(smallest_covering(&large, ServiceLevel::new(level)?), kits);
    }
    Ok(())
}

#[test]
fn a_level_met_exactly_is_met() -> Checked {
    // one level equal to a sum of probabilities, as computed in another order of adding
    let demand = compound_poisson(2.0, &KitsPerEvent::new(&[(2, 1.0)])?)?;
    let level = (0..=8).rev().map(|kits| demand.exactly(kits)).sum();
    assert_eq!(smallest_covering(&demand, ServiceLevel::new(level)?), 8);
    Ok(())
}

#[test]
fn planned_kits_are_certain_and_added_to_the_cover() -> Checked {
    // common practice, no source; the cover from the Poisson table as above
    let found = reorder_point(7, &poisson(3.0)?, ServiceLevel::new(0.95)?)?;
    assert_eq!((found.planned, found.cover, found.point), (7, 6, 13));
    assert_eq!(found.working.answer(), Some("13 kits"));
    // library: scipy 1.17.1: E(D - 6)+ at mean 3 is 0.0507026..., of 10 kits wanted
    near(found.expected_shortage, 0.050_702_614, 5e-9);
    near(found.fill_rate, 1.0 - 0.005_070_261_4, 5e-10);
    let quiet = reorder_point(0, &poisson(0.0)?, ServiceLevel::new(0.999)?)?;
    assert_eq!(quiet.point, 0);
    near(quiet.fill_rate, 1.0, 0.0);
    assert!(reorder_point(1_000_001, &poisson(0.0)?, ServiceLevel::new(0.9)?).is_err());
    Ok(())
}

#[test]
fn a_service_level_is_a_fraction_of_at_least_a_half() -> Checked {
    near(ServiceLevel::new(0.5)?.fraction(), 0.5, 0.0);
    near(ServiceLevel::new(0.999_999)?.fraction(), 0.999_999, 0.0);
    for wrong in [0.0, 0.499, 1.0, 95.0, -0.9, f64::NAN] {
        assert!(ServiceLevel::new(wrong).is_err());
    }
    assert!(serde_json::from_str::<ServiceLevel>("1.2").is_err());
    Ok(())
}

#[test]
fn an_order_is_raised_to_the_minimum_first_and_then_to_whole_packs() -> Checked {
    // common practice, no source: worked by hand
    for (needed, pack, minimum, expected) in [
        (0, 5, 8, 0),
        (1, 5, 8, 10),
        (8, 5, 8, 10),
        (10, 5, 8, 10),
        (11, 5, 8, 15),
        (3, 1, 1, 3),
        (3, 230, 230, 230),
        (231, 230, 230, 460),
        (1_000_000, 1, 1, 1_000_000),
    ] {
        assert_eq!(
            order_quantity(needed, Packing::new(pack, minimum)?)?,
            expected
        );
    }
    assert_eq!(order_quantity(7, Packing::single())?, 7);
    assert_eq!(
        (Packing::new(5, 8)?.pack(), Packing::new(5, 8)?.minimum()),
        (5, 8)
    );
    assert!(order_quantity(1_000_001, Packing::single()).is_err());
    assert!(Packing::new(0, 1).is_err());
    assert!(Packing::new(1, 0).is_err());
    assert!(Packing::new(100_001, 1).is_err());
    Ok(())
}

#[test]
fn stock_and_orders_on_the_way_count_together() -> Checked {
    // common practice, no source: worked by hand
    let packing = Packing::new(5, 10)?;
    for (on_hand, on_order, missing, quantity) in [
        (4, 5, 4, 10),
        (13, 0, 0, 0),
        (0, 13, 0, 0),
        (20, 20, 0, 0),
        (0, 0, 13, 15),
    ] {
        let order = suggest(13, Position { on_hand, on_order }, packing)?;
        assert_eq!((order.missing, order.quantity), (missing, quantity));
        assert_eq!(
            order.working.answer(),
            Some(format!("{quantity} kits").as_str())
        );
    }
    let far = Position {
        on_hand: u32::MAX,
        on_order: u32::MAX,
    };
    assert_eq!(suggest(13, far, packing)?.quantity, 0);
    assert!(
        suggest(
            2_000_000,
            Position {
                on_hand: 0,
                on_order: 0
            },
            packing
        )
        .is_err()
    );
    Ok(())
}

#[test]
fn the_order_by_date_is_a_lead_time_before_the_shortfall_and_says_when_it_is_past() -> Checked {
    // library: Python 3.11.7 datetime
    let today = date!(2026 - 03 - 01);
    for (shortfall, lead, date, timing) in [
        (
            date!(2026 - 09 - 01),
            84,
            date!(2026 - 06 - 09),
            Timing::InTime(100),
        ),
        (
            date!(2026 - 03 - 31),
            30,
            date!(2026 - 03 - 01),
            Timing::InTime(0),
        ),
        (
            date!(2026 - 03 - 31),
            31,
            date!(2026 - 02 - 28),
            Timing::Past(1),
        ),
        (
            date!(2026 - 03 - 01),
            0,
            date!(2026 - 03 - 01),
            Timing::InTime(0),
        ),
        (
            date!(2026 - 02 - 01),
            10,
            date!(2026 - 01 - 22),
            Timing::Past(38),
        ),
    ] {
        let found = order_by(shortfall, lead, today)?;
        assert_eq!((found.date, found.timing), (date, timing));
        assert_eq!(found.working.answer(), Some(super::said(date).as_str()));
        assert_eq!(
            found.working.remarks.len(),
            usize::from(matches!(timing, Timing::Past(_)))
        );
    }
    // The kits would come after the last day of the calendar; the order-by date is none the worse.
    let late = order_by(date!(2200 - 06 - 01), 365, date!(2200 - 11 - 30))?;
    assert_eq!(late.date, date!(2199 - 06 - 01));
    assert_eq!(late.timing, Timing::Past(547));
    assert!(late.working.remarks[0].contains("come 547 days after the shortfall"));
    assert!(order_by(date!(1900 - 01 - 05), 10, today).is_err());
    assert!(order_by(date!(2201 - 01 - 05), 10, today).is_err());
    assert!(order_by(today, 10, date!(1899 - 12 - 31)).is_err());
    Ok(())
}

#[test]
fn a_reorder_point_with_a_batch_gives_the_textbook_fill_rate() -> Checked {
    let one = KitsPerEvent::one();
    // published: Hopp and Spearman, Factory Physics, section 2.4.2, as worked at
    // http://nicky.vanforeest.com/inventorySystems/baseStock/baseStock.html: mean 10, r 14, single
    // orders: service level 0.916541527065
    near(
        long_run(10.0, &one, 14, 1)?.fill_rate,
        0.916_541_527_065,
        5e-13,
    );
    // library: scipy 1.17.1 and numpy 2.4.6, sums over the distribution by definition
    for (events, point, quantity, fill, owed, on_hand) in [
        (10.0, 12, 5, 0.899_356_083, 0.139_064_701, 5.139_064_701),
        (3.6, 6, 4, 0.970_060_407, 0.018_325_639, 4.918_325_639),
        (2.0, 3, 1, 0.857_123_460, 0.075_141_010, 2.075_141_010),
        (1.17, 2, 4, 0.961_597_027, 0.012_544_827, 3.342_544_827),
        (10.0, 14, 1, 0.916_541_527, 0.103_478_680, 5.103_478_680),
    ] {
        let found = long_run(events, &one, point, quantity)?;
        near(found.fill_rate, fill, 1e-9);
        near(found.backorders, owed, 1e-9);
        near(found.on_hand, on_hand, 1e-9);
    }
    Ok(())
}

#[test]
fn several_kits_an_event_lower_the_fill_rate_of_a_batch() -> Checked {
    // library: scipy 1.17.1 and numpy 2.4.6, sums by definition; a simulation of 400 000 lead times
    // (numpy, seed 7) gave fill rates 0.8710, 0.0261 and 0.9894
    let three: [(u32, f64); 3] = [(1, 0.5), (2, 0.3), (3, 0.2)];
    let four = [(1, 0.5), (2, 0.3), (4, 0.2)];
    let even = [(1, 0.25), (2, 0.375), (3, 0.375)];
    for (events, shares, point, quantity, fill, owed, on_hand) in [
        (
            1.6,
            three,
            4,
            5,
            0.871_389_563_886,
            0.121_117_570_615,
            4.401_117_570_615,
        ),
        (
            3.0,
            four,
            0,
            1,
            0.026_203_720_194,
            4.749_787_068_368,
            0.049_787_068_368,
        ),
        (
            0.8,
            even,
            6,
            10,
            0.989_647_314_553,
            0.005_202_165_467,
            9.805_202_165_467,
        ),
    ] {
        let found = long_run(events, &KitsPerEvent::new(&shares)?, point, quantity)?;
        near(found.fill_rate, fill, 1e-11);
        near(found.backorders, owed, 1e-11);
        near(found.on_hand, on_hand, 1e-11);
    }
    near(
        long_run(0.0, &KitsPerEvent::one(), 0, 1)?.fill_rate,
        1.0,
        0.0,
    );
    near(
        long_run(4.0, &KitsPerEvent::new(&[(0, 1.0)])?, 0, 1)?.fill_rate,
        1.0,
        0.0,
    );
    assert!(long_run(1.0, &KitsPerEvent::one(), 0, 0).is_err());
    assert!(long_run(1.0, &KitsPerEvent::one(), 999_999, 2).is_err());
    assert!(long_run(-1.0, &KitsPerEvent::one(), 0, 1).is_err());
    Ok(())
}

#[test]
fn the_cheapest_order_weighs_ordering_against_keeping() -> Checked {
    let costs = |per_year, order_cost, holding_cost| Economics {
        per_year,
        order_cost,
        holding_cost,
    };
    // published: Hopp and Spearman, Factory Physics, section 2.2: A 1000, K 500, h 35: Q* = 169
    let found = cheapest_quantity(costs(1000.0, 500.0, 35.0), Packing::single())?;
    assert_eq!(found.quantity, 169);
    near(found.exact, 169.0, 0.5);
    // published: https://wegglab.com/pa-12-1-algo-millennium-liquors-is-a-wholesaler (2340 a year,
    // 300 an order, 20 a year): 265, and in packs of 50: 250 at 5308 rather than 300 at 5340
    let found = cheapest_quantity(costs(2340.0, 300.0, 20.0), Packing::new(50, 1)?)?;
    near(found.exact, 265.0, 0.5);
    assert_eq!(found.quantity, 250);
    near(found.cost, 5308.0, 1e-9);
    // published: S. Nahmias, Production and Operations Analysis, example 4.1 (pencils, 60 a week at 2
    // cents, 12 an order, 25 % a year), inputs as quoted at https://www.coursehero.com/file/9056914;
    // the answer, 3870, from memory
    near(
        cheapest_quantity(costs(3120.0, 12.0, 0.005), Packing::single())?.exact,
        3870.0,
        0.5,
    );
    // library: numpy 2.4.6, the least of the costs of all allowed multiples
    for (per_year, order, keep, pack, minimum, quantity, cost) in [
        (24.0, 50.0, 18.0, 5, 10, 10, 210.0),
        (24.0, 50.0, 18.0, 5, 20, 20, 240.0),
        (1000.0, 500.0, 35.0, 25, 1, 175, 5_919.642_857_142_857),
        (120.0, 80.0, 12.0, 1, 1, 40, 480.0),
        (120.0, 80.0, 12.0, 12, 24, 36, 482.666_666_666_667),
        (120.0, 80.0, 12.0, 50, 1, 50, 492.0),
    ] {
        let found = cheapest_quantity(costs(per_year, order, keep), Packing::new(pack, minimum)?)?;
        assert_eq!(found.quantity, quantity);
        near(found.cost, cost, 1e-9);
        assert!(found.exact_cost <= found.cost + 1e-9);
        assert_eq!(
            found.working.answer(),
            Some(format!("{quantity} kits").as_str())
        );
    }
    for wrong in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(cheapest_quantity(costs(wrong, 1.0, 1.0), Packing::single()).is_err());
        assert!(cheapest_quantity(costs(1.0, wrong, 1.0), Packing::single()).is_err());
        assert!(cheapest_quantity(costs(1.0, 1.0, wrong), Packing::single()).is_err());
    }
    assert!(cheapest_quantity(costs(1e9, 1e9, 1e-9), Packing::single()).is_err());
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn one_kit_less_would_miss_the_service_level(events in 0.0_f64..40.0, level in 0.5_f64..0.9999) {
        let (Ok(demand), Ok(target)) = (poisson(events), ServiceLevel::new(level)) else {
            return Err(TestCaseError::fail("refused"));
        };
        let kits = smallest_covering(&demand, target);
        prop_assert!(demand.at_most(kits) >= level - 1e-11);
        prop_assert!(kits == 0 || demand.at_most(kits - 1) < level);
    }

    #[test]
    fn a_higher_service_level_never_asks_for_less(events in 0.0_f64..40.0, level in 0.5_f64..0.99) {
        let (Ok(demand), Ok(low), Ok(high)) =
            (poisson(events), ServiceLevel::new(level), ServiceLevel::new(level + 0.009)) else {
            return Err(TestCaseError::fail("refused"));
        };
        prop_assert!(smallest_covering(&demand, low) <= smallest_covering(&demand, high));
    }

    #[test]
    fn an_order_is_whole_packs_and_no_pack_too_many(needed in 0_u32..10_000, pack in 1_u32..300, minimum in 1_u32..300) {
        let Ok(packing) = Packing::new(pack, minimum) else {
            return Err(TestCaseError::fail("refused"));
        };
        let quantity = order_quantity(needed, packing).unwrap_or(u32::MAX);
        prop_assert_eq!(quantity % pack, 0);
        prop_assert!(quantity >= needed);
        prop_assert!(needed == 0 || quantity - pack < needed.max(minimum));
    }

    #[test]
    fn more_stock_never_fills_less(events in 0.1_f64..20.0, point in 0_u32..40, quantity in 1_u32..15) {
        let Ok(kits) = KitsPerEvent::new(&[(1, 0.6), (3, 0.4)]) else {
            return Err(TestCaseError::fail("refused"));
        };
        let (Ok(less), Ok(more)) = (long_run(events, &kits, point, quantity), long_run(events, &kits, point + 1, quantity)) else {
            return Err(TestCaseError::fail("refused"));
        };
        prop_assert!(more.fill_rate >= less.fill_rate - 1e-12);
        prop_assert!(more.backorders <= less.backorders + 1e-12);
        prop_assert!((0.0..=1.0).contains(&less.fill_rate));
    }
}
