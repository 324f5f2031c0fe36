//! Month arithmetic against published examples, a general-purpose library and its own laws.
//! Which date governs a gauge is checked in `due_dates`.

use std::error::Error;

use gaugewright::calc::calendar::{
    add_months, days_after, days_before, first_of_month, in_range, last_of_month, months_before,
    require,
};
use proptest::prelude::*;
use time::macros::date;
use time::{Date, Duration};

type Checked = Result<(), Box<dyn Error>>;

/// Any date of the years 1900 to 2200.
fn any_date() -> impl Strategy<Value = Date> {
    (0_i64..=109_937).prop_map(|days| date!(1900 - 01 - 01).saturating_add(Duration::days(days)))
}

#[test]
fn months_are_added_with_the_end_of_the_month_clamped() -> Checked {
    let cases: &[(Date, u32, Date)] = &[
        // published: java.time.LocalDate.plusMonths, reference documentation (2007-03-31 + 1)
        (date!(2007 - 03 - 31), 1, date!(2007 - 04 - 30)),
        // published: https://www.w3schools.com/java/tryjava.asp?filename=demo_ref_date_localdate_plusmonths
        (date!(2026 - 01 - 15), 3, date!(2026 - 04 - 15)),
        (date!(2026 - 01 - 31), 1, date!(2026 - 02 - 28)),
        // published: https://www.geeksforgeeks.org/localdate-plusmonths-method-in-java-with-examples/
        (date!(2018 - 08 - 31), 1, date!(2018 - 09 - 30)),
        // published: https://pub.dev/documentation/time_machine/latest/time_machine/LocalDate/addMonths.html
        (date!(2011 - 01 - 30), 1, date!(2011 - 02 - 28)),
        // published: https://www.python.org/pipermail/tutor/2007-February/052475.html
        (date!(2005 - 01 - 31), 1, date!(2005 - 02 - 28)),
        // library: python-dateutil 4.0.0, relativedelta(months=n)
        (date!(2018 - 11 - 13), 5, date!(2019 - 04 - 13)),
        (date!(2024 - 01 - 31), 1, date!(2024 - 02 - 29)),
        (date!(2024 - 01 - 31), 2, date!(2024 - 03 - 31)),
        (date!(2024 - 02 - 29), 12, date!(2025 - 02 - 28)),
        (date!(2024 - 02 - 29), 48, date!(2028 - 02 - 29)),
        (date!(2000 - 02 - 29), 1200, date!(2100 - 02 - 28)),
        (date!(2025 - 10 - 31), 18, date!(2027 - 04 - 30)),
        (date!(2025 - 02 - 28), 1, date!(2025 - 03 - 28)),
        // at the limits of the range
        (date!(1900 - 01 - 31), 1, date!(1900 - 02 - 28)),
        (date!(2200 - 11 - 30), 1, date!(2200 - 12 - 30)),
        (date!(1900 - 01 - 01), 3611, date!(2200 - 12 - 01)),
        (date!(2200 - 12 - 31), 0, date!(2200 - 12 - 31)),
    ];
    for &(from, months, expected) in cases {
        assert_eq!(add_months(from, months)?, expected, "{from} + {months}");
    }
    Ok(())
}

#[test]
fn a_series_of_months_is_counted_from_its_anchor_and_does_not_drift() -> Checked {
    // library: python-dateutil 4.0.0
    let anchored = [
        date!(2024 - 01 - 31),
        date!(2024 - 02 - 29),
        date!(2024 - 03 - 31),
        date!(2024 - 04 - 30),
        date!(2024 - 05 - 31),
    ];
    for (months, expected) in (0..).zip(anchored) {
        assert_eq!(add_months(date!(2024 - 01 - 31), months)?, expected);
    }
    let repeated = add_months(add_months(date!(2024 - 01 - 31), 1)?, 1)?;
    assert_eq!(repeated, date!(2024 - 03 - 29), "why it is not repeated");
    Ok(())
}

#[test]
fn months_are_taken_back_with_the_end_of_the_month_clamped() -> Checked {
    let cases: &[(Date, u32, Date)] = &[
        // published: https://pub.dev/documentation/time_machine/latest/time_machine/LocalDate/addMonths.html
        (date!(2011 - 03 - 30), 1, date!(2011 - 02 - 28)),
        // library: python-dateutil 4.0.0
        (date!(2025 - 05 - 30), 3, date!(2025 - 02 - 28)),
        (date!(2024 - 03 - 31), 1, date!(2024 - 02 - 29)),
        (date!(2024 - 04 - 30), 1, date!(2024 - 03 - 30)),
        (date!(2024 - 01 - 31), 1, date!(2023 - 12 - 31)),
        (date!(2200 - 12 - 01), 3611, date!(1900 - 01 - 01)),
    ];
    for &(from, months, expected) in cases {
        assert_eq!(months_before(from, months)?, expected, "{from} - {months}");
    }
    Ok(())
}

#[test]
fn dates_outside_1900_to_2200_are_refused_and_named() {
    // By definition: the range is our own, both its ends belong to it.
    assert!(!in_range(date!(1899 - 12 - 31)));
    assert!(in_range(date!(1900 - 01 - 01)));
    assert!(in_range(date!(2200 - 12 - 31)));
    assert!(!in_range(date!(2201 - 01 - 01)));
    assert!(add_months(date!(1899 - 12 - 31), 1).is_err());
    assert!(add_months(date!(2200 - 12 - 01), 1).is_err());
    assert!(add_months(date!(2000 - 01 - 01), u32::MAX).is_err());
    assert!(months_before(date!(1900 - 01 - 31), 1).is_err());
    assert!(months_before(date!(2000 - 01 - 01), u32::MAX).is_err());
    assert!(months_before(date!(2201 - 01 - 01), 1).is_err());
    let refusal = require("date of the failure", date!(1066 - 10 - 14)).err();
    assert_eq!(
        refusal.map(|why| why.to_string()).as_deref(),
        Some("date of the failure is 14 Oct 1066; it must be in the years 1900 to 2200")
    );
}

#[test]
fn the_first_and_the_last_day_of_a_month_follow_the_leap_year_rule() {
    // library: Python 3.11.7 calendar.monthrange
    let cases: &[(Date, Date)] = &[
        (date!(2000 - 02 - 10), date!(2000 - 02 - 29)),
        (date!(2024 - 02 - 29), date!(2024 - 02 - 29)),
        (date!(1900 - 02 - 01), date!(1900 - 02 - 28)),
        (date!(2026 - 02 - 01), date!(2026 - 02 - 28)),
        (date!(2100 - 02 - 28), date!(2100 - 02 - 28)),
        (date!(2026 - 04 - 30), date!(2026 - 04 - 30)),
        (date!(2026 - 12 - 01), date!(2026 - 12 - 31)),
    ];
    for &(day, last) in cases {
        assert_eq!(last_of_month(day), last);
        assert_eq!(first_of_month(last), first_of_month(day));
        assert_eq!(first_of_month(day).day(), 1);
    }
}

#[test]
fn the_month_before_has_its_first_and_its_last_day() -> Checked {
    // published: https://gist.github.com/dtanner/d294f817c539a47e7f3bc51fbb893d82 (java.time,
    // 2016-04-12, one month back, its first and its last day)
    let before = months_before(date!(2016 - 04 - 12), 1)?;
    assert_eq!(first_of_month(before), date!(2016 - 03 - 01));
    assert_eq!(last_of_month(before), date!(2016 - 03 - 31));
    Ok(())
}

#[test]
fn days_ahead_and_back_cross_leap_days_and_stop_at_the_range() -> Checked {
    // library: Python 3.11.7 datetime
    assert_eq!(
        days_before(date!(2024 - 03 - 01), 365)?,
        date!(2023 - 03 - 02)
    );
    assert_eq!(
        days_after(date!(2023 - 03 - 01), 365)?,
        date!(2024 - 02 - 29)
    );
    assert_eq!(
        days_before(date!(2026 - 03 - 15), 120)?,
        date!(2025 - 11 - 15)
    );
    assert_eq!(
        days_after(date!(2025 - 11 - 15), 120)?,
        date!(2026 - 03 - 15)
    );
    assert_eq!(
        days_before(date!(1900 - 01 - 01), 0)?,
        date!(1900 - 01 - 01)
    );
    assert!(days_before(date!(1900 - 01 - 01), 1).is_err());
    assert!(days_after(date!(2200 - 12 - 31), 1).is_err());
    assert!(days_after(date!(2000 - 01 - 01), u32::MAX).is_err());
    Ok(())
}

proptest! {
    #[test]
    fn adding_months_keeps_the_day_or_takes_the_last_of_the_month(from in any_date(), months in 0_u32..1200) {
        if let Ok(to) = add_months(from, months) {
            prop_assert!(to.day() == from.day() || (to.day() < from.day() && to == last_of_month(to)));
            let span = (to.year() - from.year()) * 12
                + i32::from(u8::from(to.month())) - i32::from(u8::from(from.month()));
            prop_assert_eq!(i64::from(span), i64::from(months));
        }
    }

    #[test]
    fn a_later_anchor_never_falls_due_earlier(one in any_date(), days in 0_i64..400, months in 0_u32..600) {
        let later = one.saturating_add(Duration::days(days));
        if let (Ok(first), Ok(second)) = (add_months(one, months), add_months(later, months)) {
            prop_assert!(first <= second);
        }
    }

    #[test]
    fn going_back_the_same_months_never_ends_after_the_start(from in any_date(), months in 0_u32..600) {
        if let Ok(to) = add_months(from, months) {
            let back = months_before(to, months);
            prop_assert!(back.is_ok_and(|back| back <= from && from - back <= Duration::days(3)));
        }
    }

    #[test]
    fn days_ahead_are_undone_by_days_back(from in any_date(), days in 0_u32..40_000) {
        if let Ok(to) = days_after(from, days) {
            prop_assert_eq!(days_before(to, days), Ok(from));
        }
    }
}
