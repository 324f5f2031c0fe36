//! Numbers as people type and read them, against the rounding of NIST SP 811 (2008), B.7.1.

use gaugewright::calc::quantity::{decimal, significant};

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
