//! A seating face held against its limits: stations along two rails, flatness, straightedge, wall.
//! The flatness itself is checked in `flatness`.

use gaugewright::calc::quantity::{LengthUnit, StampedLength, decimal};
use gaugewright::calc::seat::{flat, stations, under_straightedge, wall};
use rust_decimal::Decimal;

fn length(value: &str, unit: LengthUnit) -> StampedLength {
    StampedLength::new(decimal("length", value).unwrap(), unit)
}

fn heights(list: &str) -> Vec<Decimal> {
    list.split(' ')
        .map(|text| decimal("height", text).unwrap())
        .collect()
}

#[test]
fn stations_stand_a_pitch_apart_on_each_rail_from_the_same_end() {
    // Plain geometry: two rails 40 apart, three stations 50 apart on each.
    let all = stations(
        Decimal::from(50),
        Decimal::from(40),
        &heights("1 2 3"),
        &heights("4 5 6"),
    );
    let places: Vec<(f64, f64, f64)> = all.iter().map(|s| (s.x, s.y, s.height)).collect();
    assert_eq!(
        places,
        [
            (0.0, 0.0, 1.0),
            (50.0, 0.0, 2.0),
            (100.0, 0.0, 3.0),
            (0.0, 40.0, 4.0),
            (50.0, 40.0, 5.0),
            (100.0, 40.0, 6.0),
        ]
    );
}

/// library: scipy 1.17.1 linprog gives a zone of 0.002 in for four corners of which one stands
/// 0.004 in high (case F1 of the flatness tests); plain geometry gives the same: half the twist.
#[test]
fn a_twist_of_four_thousandths_lies_on_a_limit_of_two_and_keeps_it() {
    let inch = LengthUnit::Inch;
    let corners = |high: &str| {
        stations(
            decimal("pitch", "101.6").unwrap(),
            decimal("apart", "25.4").unwrap(),
            &heights("0 0"),
            &heights(&format!("0 {high}")),
        )
    };
    // 0.002 in is 0.0508 mm exactly: 25.4 mm to the inch (NIST SP 811).
    for limit in [
        length("0.002", inch),
        length("0.0508", LengthUnit::Millimetre),
    ] {
        let on = flat(&corners("0.004"), inch, limit).unwrap();
        assert!(on.kept);
        assert_eq!(on.value.to_string(), "0.002 in");
        assert_eq!(on.working.answer(), Some("within the limit"));
        let over = flat(&corners("0.00401"), inch, limit).unwrap();
        assert!(!over.kept);
        assert_eq!(over.working.answer(), Some("not flat"));
    }
}

#[test]
fn a_face_that_only_leans_is_flat_to_nothing() {
    let leaning = stations(
        Decimal::from(50),
        Decimal::from(40),
        &heights("0.1 0.2 0.3 0.4 0.5"),
        &heights("0.4 0.5 0.6 0.7 0.8"),
    );
    let judged = flat(
        &leaning,
        LengthUnit::Millimetre,
        length("0.0508", LengthUnit::Millimetre),
    )
    .unwrap();
    assert_eq!(judged.value.value, Decimal::ZERO);
}

#[test]
fn a_shown_flatness_is_rounded_up_so_that_it_never_reads_within_a_limit_it_breaks() {
    // Plain geometry: of a twist of 0.00400004 half is 0.00200002.
    let bump = stations(
        Decimal::from(50),
        Decimal::from(40),
        &heights("0 0"),
        &heights("0 0.00400004"),
    );
    let judged = flat(&bump, LengthUnit::Inch, length("0.002", LengthUnit::Inch)).unwrap();
    assert!(!judged.kept);
    assert_eq!(judged.value.to_string(), "0.002001 in");
}

/// common practice, no source: flat within 0.002 in, at least 0.100 in of wall.
#[test]
fn a_reading_on_its_limit_keeps_it_in_either_unit() {
    let (inch, mm) = (LengthUnit::Inch, LengthUnit::Millimetre);
    let flat_within = length("0.002", inch);
    for (feeler, kept) in [
        (length("0.002", inch), true),
        (length("0.0508", mm), true),
        (length("0.0015", inch), true),
        (length("0.05", mm), true),
        (length("0.003", inch), false),
        (length("0.0509", mm), false),
    ] {
        assert_eq!(
            under_straightedge(feeler, flat_within).unwrap().kept,
            kept,
            "{feeler}"
        );
    }
    let least = length("0.100", inch);
    for (measured, kept) in [
        (length("0.1", inch), true),
        (length("2.54", mm), true),
        (length("2540", LengthUnit::Micrometre), true),
        (length("100", LengthUnit::Thousandth), true),
        (length("2.53", mm), false),
        (length("0.0999", inch), false),
    ] {
        assert_eq!(wall(measured, least).unwrap().kept, kept, "{measured}");
    }
}

#[test]
fn lengths_that_cannot_be_are_refused() {
    let mm = LengthUnit::Millimetre;
    let least = length("2.54", mm);
    assert!(wall(length("0", mm), least).is_err());
    assert!(wall(length("1001", mm), least).is_err());
    assert!(wall(least, length("0", mm)).is_err());
    assert!(under_straightedge(length("0", mm), length("0.05", mm)).is_err());
    let three = stations(
        Decimal::from(50),
        Decimal::from(40),
        &heights("0 1"),
        &heights("0"),
    );
    assert!(flat(&three, mm, length("0.05", mm)).is_err());
}

/// Thousands never begin with a nought, so "0,002" is two thousandths and not two.
#[test]
fn a_comma_after_a_nought_is_a_decimal_comma() {
    for (typed, meant) in [
        ("0,002", "0.002"),
        ("-0,125", "-0.125"),
        ("1,500", "1500"),
        ("12,5", "12.5"),
    ] {
        assert_eq!(
            decimal("height", typed).unwrap(),
            meant.parse::<Decimal>().unwrap(),
            "{typed}"
        );
    }
}
