//! Numbers as people type and read them, against the rounding of NIST SP 811 (2008), B.7.1.

use gaugewright::calc::quantity::{Side, decimal, significant, significant_to};

#[test]
fn numbers_are_rounded_to_significant_digits_as_sp_811_does() {
    // NIST SP 811 (2008), B.7.1: 6.974 951 5 rounded to 3 digits is 6.97, to 5 digits 6.9750.
    // A zero at the end of the decimals is dropped here.
    assert_eq!(significant(6.974_951_5, 3), "6.97");
    assert_eq!(significant(6.974_951_5, 5), "6.975");
}

#[test]
fn digits_before_the_point_are_never_rounded_away() {
    // common practice, no source: a reading of 1001 psi is not shown as 1000.
    assert_eq!(significant(1000.76, 4), "1001");
    assert_eq!(significant(14_503.77, 4), "14504");
    assert_eq!(significant(0.0, 4), "0");
}

/// published: NIST SP 811 (2008), B.8: 1000 psi are 68.947 57 bar, 1500 psi 103.421 36 bar, 32 ft·lbf
/// 43.386 18 N·m. The number of four digits on either side of each is read off.
#[test]
fn a_least_is_rounded_up_and_a_most_down() {
    for (value, up, nearest, down) in [
        (68.947_57, "68.95", "68.95", "68.94"),
        (103.421_36, "103.5", "103.4", "103.4"),
        (43.386_18, "43.39", "43.39", "43.38"),
        (-68.947_57, "-68.94", "-68.95", "-68.95"),
        // The power of ten turns over at the top of its digits.
        (9.999_6, "10", "10", "9.999"),
        (14_503.77, "14504", "14504", "14503"),
    ] {
        assert_eq!(significant_to(value, 4, Side::Up), up);
        assert_eq!(significant_to(value, 4, Side::Nearest), nearest);
        assert_eq!(significant_to(value, 4, Side::Down), down);
    }
}

#[test]
fn a_number_that_is_exact_is_left_alone_on_either_side() {
    // NIST SP 811 (2008), B.8: 1 in is 25.4 mm exactly; a float carries 25.399 999 999 999 999 for it.
    for value in [25.4, 25.4 - 4e-15, 25.4 + 4e-15] {
        for side in [Side::Up, Side::Nearest, Side::Down] {
            assert_eq!(significant_to(value, 4, side), "25.4");
        }
    }
    for side in [Side::Up, Side::Down] {
        assert_eq!(significant_to(0.0, 4, side), "0");
        assert_eq!(significant_to(f64::INFINITY, 4, side), "inf");
    }
}

#[test]
fn a_comma_parts_thousands_or_decimals_as_it_stands() {
    // ISO 80000-1:2022, 7.3.2, from memory: the decimal sign is either a comma or a point.
    for (typed, read) in [
        ("12,5", "12.5"),
        ("12.5", "12.5"),
        ("1,500", "1500"),
        ("1 500", "1500"),
        ("1,234,567", "1234567"),
        ("1,234.5", "1234.5"),
        ("-40", "-40"),
        ("+7", "7"),
    ] {
        assert_eq!(
            decimal("value", typed).expect("a number").to_string(),
            read,
            "{typed}"
        );
    }
    for typed in ["", "ten", "1e3", "1-2", "12.5.6", "1234567890123"] {
        assert!(decimal("value", typed).is_err(), "{typed}");
    }
}
