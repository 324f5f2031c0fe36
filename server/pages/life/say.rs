//! How the figures of the life pages are written: ages in days and months, shares, counts.
//! Templates hand over values or references as they come; nothing is computed here.

use crate::acts::life::MONTH;
use crate::calc::quantity;
use crate::calc::trend::{Trend, Verdict};
use crate::pages::show;
use crate::record::Moment;
use crate::record::moment::Zone;

/// A number with decimals, or a reference to one.
pub trait Real: Copy {
    /// The number.
    fn real(self) -> f64;
}

impl Real for f64 {
    fn real(self) -> f64 {
        self
    }
}

impl<T: Real> Real for &T {
    fn real(self) -> f64 {
        (*self).real()
    }
}

/// A whole number, or a reference to one.
pub trait Whole: Copy {
    /// The number.
    fn whole(self) -> i64;
}

macro_rules! whole {
    ($($name:ty),+) => {$(
        impl Whole for $name {
            fn whole(self) -> i64 {
                i64::try_from(self).unwrap_or(i64::MAX)
            }
        }
    )+};
}
whole!(u32, i64, usize);

impl<T: Whole> Whole for &T {
    fn whole(self) -> i64 {
        (*self).whole()
    }
}

/// A number with so many digits that count.
pub fn figure(value: impl Real, digits: i32) -> String {
    quantity::significant(value.real(), digits)
}

/// The same with the zeros at its end, so that a column lines up: "1.10" above "0.867".
pub fn aligned(value: impl Real, digits: usize) -> String {
    let plain = figure(value, i32::try_from(digits).unwrap_or(i32::MAX));
    let counting = plain.trim_start_matches(['-', '0', '.']);
    let have = counting.chars().filter(char::is_ascii_digit).count();
    if have == 0 || have >= digits {
        return plain;
    }
    let point = if plain.contains('.') { "" } else { "." };
    format!("{plain}{point}{}", "0".repeat(digits - have))
}

/// An age in days. A handful of failures tells it to three digits at best; the workings and the files
/// hold them all.
pub fn days(age: impl Real) -> String {
    format!("{} days", figure(age, 3))
}

/// The same age in months of 30.4375 days.
pub fn months(age: impl Real) -> String {
    format!("{} months", figure(age.real() / MONTH, 3))
}

/// A share in percent.
pub fn percent(share: impl Real) -> String {
    format!("{} %", figure(100.0 * share.real(), 3))
}

/// The same in a column that lines up.
pub fn aligned_percent(share: impl Real) -> String {
    format!("{} %", aligned(100.0 * share.real(), 3))
}

/// A count with its noun.
pub fn count(number: impl Whole, one: &str, many: &str) -> String {
    show::count(number.whole(), one, many)
}

/// A whole number with a thin space between thousands.
pub fn grouped(number: impl Whole) -> String {
    show::grouped(number.whole())
}

/// The plant's date of a moment.
pub fn day(at: &Moment, zone: &Zone) -> String {
    show::date(&zone.date(*at))
}

/// What a trend says.
pub const fn verdict(trend: &Trend) -> &'static str {
    match trend.verdict {
        Verdict::Worsening => "failures come faster",
        Verdict::Improving => "failures come slower",
        Verdict::Unclear => "unclear: only one test sees a trend",
        Verdict::NoneSeen => "no trend seen",
    }
}
