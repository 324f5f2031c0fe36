//! Passes and bolt order against worked lists and the rules they have to keep.
//! What a torque does to the bolt is checked in `bolting`.

use gaugewright::calc::quantity::{StampedTorque, TorqueUnit, decimal};
use gaugewright::calc::tighten::{
    Bolt, Rail, Shares, by_percent, loosening, order, passes, plan, sections_in_order, step_in,
    u_bolts_in_order,
};
use proptest::prelude::*;
use rust_decimal::Decimal;

fn torque(value: &str) -> StampedTorque {
    StampedTorque::new(decimal("torque", value).unwrap(), TorqueUnit::FootPound)
}

/// Target, step, passes. Exact decimals: compared as decimals, without any tolerance.
///
/// common practice, no source: the rule itself, with a rest of at most half a step merged and never
/// fewer than two passes above one step. The first line is the usual example of the trade.
#[rustfmt::skip]
const LISTS: &[(&str, &str, &str)] = &[
    ("32", "5", "5 10 15 20 25 32"),
    ("30", "5", "5 10 15 20 25 30"),
    ("34", "5", "5 10 15 20 25 30 34"),
    ("32.5", "5", "5 10 15 20 25 32.5"),
    ("32.6", "5", "5 10 15 20 25 30 32.6"),
    ("28", "5", "5 10 15 20 25 28"),
    ("5", "5", "5"),
    ("4", "5", "4"),
    ("7", "5", "5 7"),
    ("5.1", "5", "5 5.1"),
    ("9", "5", "5 9"),
    ("12", "5", "5 12"),
    ("12.5", "5", "5 12.5"),
    ("60", "15", "15 30 45 60"),
    ("75", "20", "20 40 60 75"),
    ("45", "10", "10 20 30 45"),
    ("43", "7", "7 14 21 28 35 43"),
    ("43.4", "7", "7 14 21 28 35 43.4"),
    ("100", "30", "30 60 100"),
    ("27", "4", "4 8 12 16 20 24 27"),
    ("3.2", "0.5", "0.5 1 1.5 2 2.5 3.2"),
    ("40.5", "13.5", "13.5 27 40.5"),
    // Lists that floating point gets wrong: 0.3 // 0.1 is 2 and 33.9 // 6.78 is 4 there.
    ("0.3", "0.1", "0.1 0.2 0.3"),
    ("33.9", "6.78", "6.78 13.56 20.34 27.12 33.9"),
    // The limit of the range: 100 passes.
    ("200", "2", ""),
];

#[test]
fn passes_rise_in_steps_to_the_target() {
    for (target, step, list) in LISTS.iter().filter(|line| !line.2.is_empty()) {
        let plan = passes(torque(target), torque(step)).unwrap();
        let wanted: Vec<Decimal> = list
            .split(' ')
            .map(|pass| decimal("pass", pass).unwrap())
            .collect();
        assert_eq!(plan.passes, wanted, "{target} by {step}");
        assert_eq!(plan.unit, TorqueUnit::FootPound);
        assert_eq!(
            plan.working.answer().unwrap(),
            format!("{} ft·lbf", list.replace(' ', ", ")),
            "{target} by {step}"
        );
    }
}

/// common practice, no source; by hand: 32 - 25 = 7, 12 - 5 = 7, 3.2 - 2.5 = 0.7; a rest above half a step
/// has a pass of its own, and the last one rises by no more than the step.
#[test]
fn a_last_pass_that_rises_by_more_than_the_step_says_so() {
    for (target, step, rise) in [("32", "5", "7"), ("12", "5", "7"), ("3.2", "0.5", "0.7")] {
        let plan = passes(torque(target), torque(step)).unwrap();
        assert_eq!(
            plan.larger_last(),
            Some((torque(rise), torque(step))),
            "{target} by {step}"
        );
        let told = plan.larger_last_told();
        let words = format!("The last pass rises by {rise} ft·lbf and not by {step} ft·lbf");
        assert!(told.starts_with(&words), "{told}");
        assert!(plan.working.remarks.contains(&told), "{target} by {step}");
    }
    for (target, step) in [("34", "5"), ("30", "5"), ("7", "5"), ("4", "5")] {
        let plan = passes(torque(target), torque(step)).unwrap();
        assert_eq!(plan.larger_last(), None, "{target} by {step}");
        assert_eq!(plan.larger_last_told(), "");
        let said = plan.working.remarks.join(" ");
        assert!(!said.contains("last pass rises"), "{said}");
    }
}

#[test]
fn a_hundred_passes_are_the_most() {
    assert_eq!(
        passes(torque("200"), torque("2")).unwrap().passes.len(),
        100
    );
    assert_eq!(
        passes(torque("201"), torque("2")).unwrap().passes.len(),
        100
    );
    assert!(passes(torque("202"), torque("2")).is_err());
    assert!(passes(torque("100000"), torque("0.00001")).is_err());
}

#[test]
fn a_torque_that_is_no_torque_is_refused() {
    #[rustfmt::skip]
    let cases = [
        ("0", "5"),
        ("-32", "5"),
        ("32", "0"),
        ("32", "-5"),
        ("100001", "5000"),
    ];
    for (target, step) in cases {
        assert!(
            passes(torque(target), torque(step)).is_err(),
            "{target} by {step}"
        );
    }
    assert_eq!(
        passes(torque("100000"), torque("50000"))
            .unwrap()
            .passes
            .len(),
        2
    );
}

#[test]
fn a_step_in_another_unit_is_refused() {
    let step = StampedTorque::new(Decimal::from(5), TorqueUnit::NewtonMetre);
    let refused = passes(torque("32"), step).unwrap_err();
    assert_eq!(refused.input, "torque step");
    assert!(refused.allowed.contains("ft·lbf"), "{refused}");
}

/// Target, first and second share in per cent, passes.
///
/// from memory: ASME PCC-1, 20 to 30 %, 50 to 70 %, 100 %; 30, 60 and 100 % also on a page on
/// gasketed joints, which gives no source. The products are exact decimals.
#[test]
fn passes_by_percentage() {
    #[rustfmt::skip]
    let cases = [
        ("32", 30, 60, ["9.6", "19.2", "32"]),
        ("40", 25, 60, ["10", "24", "40"]),
        ("80", 20, 50, ["16", "40", "80"]),
        ("60", 30, 70, ["18", "42", "60"]),
    ];
    for (target, first, second, list) in cases {
        let shares = Shares {
            first: Decimal::from(first),
            second: Decimal::from(second),
        };
        let plan = by_percent(torque(target), shares).unwrap();
        assert_eq!(plan.passes, list.map(|pass| decimal("pass", pass).unwrap()));
    }
    let usual = by_percent(torque("32"), Shares::default()).unwrap();
    assert_eq!(
        usual.passes[..2],
        [Decimal::new(96, 1), Decimal::new(192, 1)]
    );
    for (first, second) in [(19, 60), (31, 60), (30, 49), (30, 71)] {
        let shares = Shares {
            first: Decimal::from(first),
            second: Decimal::from(second),
        };
        assert!(
            by_percent(torque("32"), shares).is_err(),
            "{first} {second}"
        );
    }
    assert!(by_percent(torque("0"), Shares::default()).is_err());
}

/// Bolts on a rail and the order, written out by hand.
///
/// common practice, no source: from the centre outwards with the rails taking strict turns.
#[rustfmt::skip]
const ORDERS: [(u8, &str); 12] = [
    (1, "L1 R1"),
    (2, "L1 R2 L2 R1"),
    (3, "L2 R2 L1 R3 L3 R1"),
    (4, "L2 R3 L3 R2 L1 R4 L4 R1"),
    (5, "L3 R3 L2 R4 L4 R2 L1 R5 L5 R1"),
    (6, "L3 R4 L4 R3 L2 R5 L5 R2 L1 R6 L6 R1"),
    (7, "L4 R4 L3 R5 L5 R3 L2 R6 L6 R2 L1 R7 L7 R1"),
    (8, "L4 R5 L5 R4 L3 R6 L6 R3 L2 R7 L7 R2 L1 R8 L8 R1"),
    (9, "L5 R5 L4 R6 L6 R4 L3 R7 L7 R3 L2 R8 L8 R2 L1 R9 L9 R1"),
    (10, "L5 R6 L6 R5 L4 R7 L7 R4 L3 R8 L8 R3 L2 R9 L9 R2 L1 R10 L10 R1"),
    (11, "L6 R6 L5 R7 L7 R5 L4 R8 L8 R4 L3 R9 L9 R3 L2 R10 L10 R2 L1 R11 L11 R1"),
    (12, "L6 R7 L7 R6 L5 R8 L8 R5 L4 R9 L9 R4 L3 R10 L10 R3 L2 R11 L11 R2 L1 R12 L12 R1"),
];

fn written(bolts: &[Bolt]) -> String {
    bolts
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join(" ")
}

#[test]
fn bolts_are_tightened_from_the_centre_outwards() {
    for (bolts, list) in ORDERS {
        assert_eq!(written(&order(bolts).unwrap()), list);
    }
}

#[test]
fn bolts_are_loosened_in_the_exact_reverse() {
    for (bolts, list) in ORDERS {
        let reversed = list.split(' ').rev().collect::<Vec<_>>().join(" ");
        assert_eq!(written(&loosening(bolts).unwrap()), reversed);
    }
}

#[test]
fn no_bolts_and_too_many_are_refused() {
    for bolts in [0, 13, 255] {
        assert!(order(bolts).is_err());
        assert!(loosening(bolts).is_err());
        assert!(u_bolts_in_order(bolts).is_err());
    }
    for sections in [0, 25, 255] {
        assert!(sections_in_order(sections).is_err());
    }
}

/// common practice, no source: the middle section first, each with its own bolts.
#[test]
fn the_middle_section_comes_first() {
    #[rustfmt::skip]
    let cases = [
        (1, vec![1]),
        (2, vec![1, 2]),
        (3, vec![2, 1, 3]),
        (4, vec![2, 3, 1, 4]),
        (5, vec![3, 2, 4, 1, 5]),
        (7, vec![4, 3, 5, 2, 6, 1, 7]),
    ];
    for (sections, list) in cases {
        assert_eq!(sections_in_order(sections).unwrap(), list);
    }
    assert_eq!(sections_in_order(24).unwrap().len(), 24);
}

/// common practice, no source: both legs of a U-bolt are one station.
#[test]
fn u_bolts_go_by_station() {
    assert_eq!(u_bolts_in_order(5).unwrap(), [3, 2, 4, 1, 5]);
    assert_eq!(u_bolts_in_order(4).unwrap(), [2, 3, 1, 4]);
    assert_eq!(u_bolts_in_order(1).unwrap(), [1]);
}

proptest! {
    #[test]
    fn no_pass_jumps_more_than_one_and_a_half_steps(t in 1_i64..100_000, d in 1_000_i64..100_000, scale in 0_u32..4) {
        let (target, step) = (Decimal::new(t, scale), Decimal::new(d, scale));
        let unit = TorqueUnit::NewtonMetre;
        let plan = passes(StampedTorque::new(target, unit), StampedTorque::new(step, unit)).unwrap();
        let all = &plan.passes;
        prop_assert_eq!(*all.last().unwrap(), target);
        if target > step {
            prop_assert!(all.len() >= 2);
        }
        let mut before = Decimal::ZERO;
        for &pass in all {
            prop_assert!(pass > before);
            prop_assert!((pass - before) * Decimal::TWO <= step * Decimal::from(3));
            before = pass;
        }
        for (i, &pass) in all[..all.len() - 1].iter().enumerate() {
            prop_assert_eq!(pass, step * Decimal::from(i + 1));
        }
        // The last jump is never a mere touch: more than half a step, unless there are only two.
        if all.len() > 2 {
            let jump = target - all[all.len() - 2];
            prop_assert!(jump * Decimal::TWO > step);
        }
    }

    #[test]
    fn passes_increase_and_end_on_the_target(t in 1_i64..100_000, d in 1_000_i64..100_000, first in 20_i64..=30, second in 50_i64..=70) {
        let unit = TorqueUnit::FootPound;
        let target = StampedTorque::new(Decimal::new(t, 2), unit);
        let shares = Shares { first: Decimal::from(first), second: Decimal::from(second) };
        let step = StampedTorque::new(Decimal::new(d, 2), TorqueUnit::NewtonMetre);
        let mut plans = vec![
            passes(target, StampedTorque::new(Decimal::new(d, 2), unit)).unwrap(),
            by_percent(target, shares).unwrap(),
        ];
        plans.extend(plan(target, step));
        for plan in plans {
            prop_assert_eq!(plan.passes.last(), Some(&target.value));
            prop_assert!(plan.passes[0] > Decimal::ZERO);
            prop_assert!(plan.passes.windows(2).all(|pair| pair[0] < pair[1]), "{:?}", plan.passes);
        }
    }

    #[test]
    fn moving_the_decimal_point_changes_nothing(t in 1_i64..100_000, d in 1_000_i64..100_000) {
        let plan = |scale| {
            let unit = TorqueUnit::InchPound;
            passes(StampedTorque::new(Decimal::new(t, scale), unit), StampedTorque::new(Decimal::new(d, scale), unit))
        };
        let (one, thousandth) = (plan(0).unwrap(), plan(3).unwrap());
        let shrunk: Vec<Decimal> = one.passes.iter().map(|pass| pass / Decimal::ONE_THOUSAND).collect();
        prop_assert_eq!(thousandth.passes, shrunk);
    }

    #[test]
    fn every_bolt_has_its_turn_once_and_rails_alternate(n in 1_u8..=12) {
        let turns = order(n).unwrap();
        prop_assert_eq!(turns.len(), usize::from(n) * 2);
        let mut seen = turns.clone();
        seen.sort_unstable();
        seen.dedup();
        prop_assert_eq!(seen.len(), turns.len());
        let outward = |bolt: &Bolt| (i16::from(bolt.position) * 2 - i16::from(n) - 1).abs();
        for (i, bolt) in turns.iter().enumerate() {
            let rail = if i % 2 == 0 { Rail::Left } else { Rail::Right };
            prop_assert_eq!(bolt.rail, rail);
            prop_assert!((1..=n).contains(&bolt.position));
        }
        prop_assert!(turns.windows(2).all(|pair| outward(&pair[0]) <= outward(&pair[1])));
        // Two bolts that follow each other within a distance from the centre lie on a diagonal.
        for pair in turns.chunks(2) {
            prop_assert_eq!(pair[0].position + pair[1].position, n + 1);
        }
        let mut back = loosening(n).unwrap();
        back.reverse();
        prop_assert_eq!(back, turns);
    }

    #[test]
    fn every_section_has_its_turn_once(n in 1_u8..=24) {
        let turns = sections_in_order(n).unwrap();
        let mut sorted = turns.clone();
        sorted.sort_unstable();
        prop_assert_eq!(sorted, (1..=n).collect::<Vec<_>>());
        let outward = |section: &u8| (i16::from(*section) * 2 - i16::from(n) - 1).abs();
        prop_assert!(turns.windows(2).all(|pair| outward(&pair[0]) <= outward(&pair[1])));
    }
}

/// NIST SP 811 (2008) appendix B: 1 ft·lbf = 1.355 818 N·m, 1 in·lbf = 0.112 984 8 N·m,
/// 1 kgf·m = 9.806 65 N·m; the exact values follow from the definitions of inch, pound and gₙ.
#[rustfmt::skip]
const STEPS: &[(&str, TorqueUnit, TorqueUnit, &str)] = &[
    // 6.779 N·m, 0.691 kgf·m, and exactly 60 in·lbf.
    ("5", TorqueUnit::FootPound, TorqueUnit::NewtonMetre, "6"),
    ("5", TorqueUnit::FootPound, TorqueUnit::KgfMetre, "0.6"),
    ("5", TorqueUnit::FootPound, TorqueUnit::InchPound, "60"),
    // 5 ft·lbf exactly.
    ("60", TorqueUnit::InchPound, TorqueUnit::FootPound, "5"),
    // 7.376 ft·lbf and 1.0197 kgf·m.
    ("10", TorqueUnit::NewtonMetre, TorqueUnit::FootPound, "7"),
    ("10", TorqueUnit::NewtonMetre, TorqueUnit::KgfMetre, "1"),
    // 0.0115 kgf·m.
    ("1", TorqueUnit::InchPound, TorqueUnit::KgfMetre, "0.01"),
    // Already there: nothing is rounded.
    ("7.5", TorqueUnit::NewtonMetre, TorqueUnit::NewtonMetre, "7.5"),
];

#[test]
fn a_step_in_another_unit_is_the_whole_step_below() {
    for (value, from, to, wanted) in STEPS {
        let step = StampedTorque::new(decimal("step", value).unwrap(), *from);
        let own = step_in(step, *to).unwrap();
        assert_eq!(own.to_string(), format!("{wanted} {to}"), "{step}");
    }
    let tiny = StampedTorque::new(decimal("step", "0.5").unwrap(), TorqueUnit::InchPound);
    assert!(step_in(tiny, TorqueUnit::KgfMetre).is_err());
    let none = StampedTorque::new(Decimal::ZERO, TorqueUnit::FootPound);
    assert!(step_in(none, TorqueUnit::NewtonMetre).is_err());
}

#[test]
fn a_plan_in_another_unit_than_the_step_says_how_the_step_was_converted() {
    let target = StampedTorque::new(Decimal::from(43), TorqueUnit::NewtonMetre);
    let converted = plan(target, torque("5")).unwrap();
    assert_eq!(
        converted.working.answer(),
        Some("6, 12, 18, 24, 30, 36, 43 N·m")
    );
    assert_eq!(converted.working.steps[0].result, "6 N·m");
    let same = plan(torque("32"), torque("5")).unwrap();
    assert_eq!(same, passes(torque("32"), torque("5")).unwrap());
    // NIST SP 811 (2008), Appendix B.8, by hand: 60 in·lbf are exactly 5 ft·lbf; 0.5 kgf·m is 4.903 N·m,
    // so 4; 1 N·m is 0.7376 ft·lbf, so 0.7.
    for (target, step, listed) in [
        (
            torque("32"),
            ("60", TorqueUnit::InchPound),
            "5, 10, 15, 20, 25, 32 ft·lbf",
        ),
        (
            StampedTorque::new(Decimal::from(14), TorqueUnit::NewtonMetre),
            ("0.5", TorqueUnit::KgfMetre),
            "4, 8, 14 N·m",
        ),
        (
            torque("2.1"),
            ("1", TorqueUnit::NewtonMetre),
            "0.7, 1.4, 2.1 ft·lbf",
        ),
    ] {
        let step = StampedTorque::new(decimal("step", step.0).unwrap(), step.1);
        assert_eq!(plan(target, step).unwrap().working.answer(), Some(listed));
    }
    // A step too small to be told in the other unit, and one that asks for more than 100 passes.
    let tiny = StampedTorque::new(decimal("step", "0.01").unwrap(), TorqueUnit::InchPound);
    assert!(plan(StampedTorque::new(Decimal::TEN, TorqueUnit::KgfMetre), tiny).is_err());
    assert!(
        plan(
            torque("1000"),
            StampedTorque::new(Decimal::ONE, TorqueUnit::InchPound)
        )
        .is_err()
    );
}
