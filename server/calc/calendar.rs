//! Month arithmetic on civil dates of the plant, inside the years the product computes with.
//! Time zones, instants and the present day are not known here; a date is a calendar day.

use time::macros::format_description;
use time::{Date, Month};

use super::OutOfRange;

/// The first year dates may lie in.
pub const FIRST_YEAR: i32 = 1900;
/// The last year dates may lie in.
pub const LAST_YEAR: i32 = 2200;
/// The last day of that year: what lies beyond the calendar is due no later.
pub const LAST_DAY: Date = time::macros::date!(2200 - 12 - 31);

/// Dates as ISO 8601 calendar dates ("2026-03-31") in serialised results.
///
/// The module `time` can generate refuses an absent date inside a tagged or flattened type, so
/// facts and decisions kept in such a type could not be read back.
pub(crate) mod iso_date {
    use serde::{Deserialize, Deserializer, Serializer};
    use time::Date;
    use time::macros::format_description;

    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "the derived code passes a reference"
    )]
    pub fn serialize<S: Serializer>(date: &Date, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(date)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Date, D::Error> {
        let text = String::deserialize(from)?;
        Date::parse(&text, format_description!("[year]-[month]-[day]"))
            .map_err(serde::de::Error::custom)
    }

    pub mod option {
        use serde::{Deserialize, Deserializer, Serialize, Serializer};
        use time::Date;

        #[derive(Serialize, Deserialize)]
        struct Day(#[serde(with = "super")] Date);

        #[expect(
            clippy::ref_option,
            clippy::trivially_copy_pass_by_ref,
            reason = "the derived code passes a reference"
        )]
        pub fn serialize<S: Serializer>(date: &Option<Date>, to: S) -> Result<S::Ok, S::Error> {
            date.map(Day).serialize(to)
        }

        pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Date>, D::Error> {
            Ok(Option::<Day>::deserialize(from)?.map(|day| day.0))
        }
    }
}

/// A date as people read it in sentences and workings: "2 Dec 2026", which nobody reads two ways. Files
/// for machines keep ISO 8601.
pub(crate) fn said(date: Date) -> String {
    let month = date.month().to_string();
    format!(
        "{} {} {}",
        date.day(),
        month.get(..3).unwrap_or(&month),
        date.year()
    )
}

/// A value as people read it: a date in their form, anything else as it is.
pub(crate) fn worded(value: &impl ToString) -> String {
    let text = value.to_string();
    let iso = format_description!("[year]-[month]-[day]");
    Date::parse(&text, iso).map_or(text, said)
}

/// Tells whether a date lies in the years the product computes with.
///
/// # Formula
/// 1900 ≤ year(`date`) ≤ 2200, both ends included.
///
/// # Valid range
/// Any date.
///
/// # Errors
/// None.
///
/// # Source
/// A limit of this product: earlier and later years are typing mistakes in a plant's register.
#[must_use]
pub fn in_range(date: Date) -> bool {
    (FIRST_YEAR..=LAST_YEAR).contains(&date.year())
}

/// Lets a date pass that lies in the years the product computes with, and names the input if not.
///
/// # Formula
/// As [`in_range`].
///
/// # Valid range
/// 1900-01-01 to 2200-12-31.
///
/// # Errors
/// [`OutOfRange`] naming `input` for any other date.
///
/// # Source
/// As [`in_range`].
pub fn require(input: &'static str, date: Date) -> Result<Date, OutOfRange> {
    if in_range(date) {
        Ok(date)
    } else {
        Err(OutOfRange::new(input, date, "in the years 1900 to 2200"))
    }
}

/// The date a whole number of calendar months after another.
///
/// The day of the month is kept; where the month has no such day, its last day is taken. The
/// result is always found in one step from `from`: adding one month twice to 31 January is not
/// the same as adding two, and a series must be computed from its anchor, never from a result.
///
/// # Formula
/// m = 12·year + (month − 1) + `months`; year' = ⌊m / 12⌋, month' = m mod 12 + 1,
/// day' = min(day, days in month').
///
/// # Valid range
/// `from` and the result in 1900-01-01 to 2200-12-31; zero `months` gives `from` itself.
///
/// # Errors
/// [`OutOfRange`] where `from` or the result lies outside those years.
///
/// # Source
/// The rule of `java.time.LocalDate.plusMonths` and of python-dateutil's `relativedelta`, which
/// agree; leap years after the Gregorian rule (ISO 8601).
pub fn add_months(from: Date, months: u32) -> Result<Date, OutOfRange> {
    require("starting date", from)?;
    shifted(from, i64::from(months)).ok_or_else(|| {
        OutOfRange::new(
            "date after adding months",
            format!("{} plus {months} months", said(from)),
            "in the years 1900 to 2200",
        )
    })
}

/// The date a whole number of calendar months before another, as ordering ahead by a lead time in
/// months needs.
///
/// Going back is not the inverse of going forward: 31 March plus one month is 30 April, and that
/// less one month is 30 March.
///
/// # Formula
/// As [`add_months`] with −`months`.
///
/// # Valid range
/// `from` and the result in 1900-01-01 to 2200-12-31; zero `months` gives `from` itself.
///
/// # Errors
/// [`OutOfRange`] where `from` or the result lies outside those years.
///
/// # Source
/// As [`add_months`].
pub fn months_before(from: Date, months: u32) -> Result<Date, OutOfRange> {
    require("starting date", from)?;
    shifted(from, -i64::from(months)).ok_or_else(|| {
        OutOfRange::new(
            "date before",
            format!("{} less {months} months", said(from)),
            "in the years 1900 to 2200",
        )
    })
}

fn shifted(from: Date, months: i64) -> Option<Date> {
    let sum = i64::from(from.year()) * 12 + i64::from(u8::from(from.month()) - 1) + months;
    let year = i32::try_from(sum.div_euclid(12)).ok()?;
    let number = u8::try_from(sum.rem_euclid(12) + 1).ok()?;
    if !(FIRST_YEAR..=LAST_YEAR).contains(&year) {
        return None;
    }
    let month = Month::try_from(number).ok()?;
    let day = from.day().min(month.length(year));
    Date::from_calendar_date(year, month, day).ok()
}

/// The first day of the month a date lies in.
///
/// # Formula
/// The same year and month, day 1.
///
/// # Valid range
/// Any date.
///
/// # Errors
/// None.
///
/// # Source
/// The Gregorian calendar (ISO 8601).
#[must_use]
pub fn first_of_month(date: Date) -> Date {
    date.replace_day(1).unwrap_or(date)
}

/// The last day of the month a date lies in, which is what "expires 2026-03" means.
///
/// # Formula
/// The same year and month, day = days in the month.
///
/// # Valid range
/// Any date.
///
/// # Errors
/// None.
///
/// # Source
/// The Gregorian calendar (ISO 8601); that an expiry given as a month means its last day is
/// common practice, no source.
#[must_use]
pub fn last_of_month(date: Date) -> Date {
    date.replace_day(date.month().length(date.year()))
        .unwrap_or(date)
}

/// The day a number of days before another, as ordering ahead by a lead time needs.
///
/// # Formula
/// `from` − `days`.
///
/// # Valid range
/// `from` and the result in 1900-01-01 to 2200-12-31.
///
/// # Errors
/// [`OutOfRange`] where `from` or the result lies outside those years.
///
/// # Source
/// The Gregorian calendar (ISO 8601).
pub fn days_before(from: Date, days: u32) -> Result<Date, OutOfRange> {
    require("starting date", from)?;
    from.checked_sub(time::Duration::days(i64::from(days)))
        .filter(|&date| in_range(date))
        .ok_or_else(|| {
            OutOfRange::new(
                "date before",
                format!("{} less {days} days", said(from)),
                "in the years 1900 to 2200",
            )
        })
}

/// The day a number of days after another.
///
/// # Formula
/// `from` + `days`.
///
/// # Valid range
/// `from` and the result in 1900-01-01 to 2200-12-31.
///
/// # Errors
/// [`OutOfRange`] where `from` or the result lies outside those years.
///
/// # Source
/// The Gregorian calendar (ISO 8601).
pub fn days_after(from: Date, days: u32) -> Result<Date, OutOfRange> {
    require("starting date", from)?;
    from.checked_add(time::Duration::days(i64::from(days)))
        .filter(|&date| in_range(date))
        .ok_or_else(|| {
            OutOfRange::new(
                "date after",
                format!("{} plus {days} days", said(from)),
                "in the years 1900 to 2200",
            )
        })
}
