//! How values are written on screens: dates, moments, counts. Rounding of computed values is not
//! done here; the computation that made them did it.

use std::borrow::Borrow;

use time::Date;
use time::format_description::BorrowedFormatItem;
use time::macros::format_description;

use crate::calc::calendar::said;
use crate::calc::quantity::{Unit, significant};
use crate::calc::wall::WearRate;
use crate::record::Moment;
use crate::record::history::{Happened, Line};
use crate::record::moment::Zone;
use crate::record::words::capital;

const DAY_TIME: &[BorrowedFormatItem<'static>] =
    format_description!("[day padding:none] [month repr:short] [year], [hour]:[minute]");
const TIME: &[BorrowedFormatItem<'static>] = format_description!("[hour]:[minute]");

/// A space no line is broken at.
pub const KEPT: &str = "\u{a0}";

/// A date nobody reads two ways: "2 Dec 2026". On a page it is never broken over two lines.
pub fn date(date: &Date) -> String {
    said(*date).replace(' ', KEPT)
}

/// The same for files, papers and the fields of forms, whose readers look for plain spaces.
pub fn plain_date(date: &Date) -> String {
    said(*date)
}

/// A date that may be missing.
pub fn maybe_date(date: &Option<Date>) -> String {
    date.as_ref()
        .map_or_else(|| "\u{2013}".to_owned(), self::date)
}

/// When passes were finished, one after the other; the day stands where it is not that of the one before.
pub fn pressed(
    passes: impl AsRef<[(String, Option<Moment>)]>,
    zone: &Zone,
) -> Vec<(String, String)> {
    let mut day = None;
    let all = passes.as_ref().iter();
    all.map(|(torque, at)| {
        let told = at.map_or_else(
            || "not noted".to_owned(),
            |at| {
                let on = zone.date(at);
                if day.replace(on) == Some(on) {
                    zone.local(at).format(&TIME).unwrap_or_default()
                } else {
                    moment(&at, zone)
                }
            },
        );
        (torque.clone(), told)
    })
    .collect()
}

/// A moment by the plant's clocks; on a page its date is never broken over two lines.
pub fn moment(moment: &Moment, zone: &Zone) -> String {
    let said = plain_moment(moment, zone);
    match said.split_once(", ") {
        Some((day, time)) => format!("{}, {time}", day.replace(' ', KEPT)),
        None => said,
    }
}

/// The same for files, papers and the fields of forms, whose readers look for plain spaces.
pub fn plain_moment(moment: &Moment, zone: &Zone) -> String {
    zone.local(*moment).format(&DAY_TIME).unwrap_or_default()
}

/// How far a date is from today, in words.
pub fn distance(date: &Date, today: &Date) -> String {
    let days = (*date - *today).whole_days();
    match days {
        0 => "today".to_owned(),
        1 => "tomorrow".to_owned(),
        -1 => "1 day over".to_owned(),
        2..=60 => format!("in {days} days"),
        -60..=-2 => format!("{} days over", -days),
        61.. => format!("in {} months", whole_months(days)),
        _ => format!("{} months over", whole_months(-days)),
    }
}

/// So many days as months, to the nearest: 4,800 of them have 146,097 days in the Gregorian calendar.
pub fn whole_months(days: impl Borrow<i64>) -> i64 {
    (*days.borrow() * 4_800 + 146_097 / 2) / 146_097
}

/// A rate of wear: "0.0012 in per year".
pub fn rate(rate: &WearRate) -> String {
    format!("{} {}", significant(rate.per_year, 2), rate.unit.symbol())
}

/// A count with its noun: "1 gauge", "3 gauges".
pub fn count(number: impl Borrow<i64>, one: &str, many: &str) -> String {
    let number = *number.borrow();
    if number == 1 {
        format!("1 {one}")
    } else {
        format!("{} {many}", grouped(number))
    }
}

/// A count that stopped counting at some number: "1 000 or more gauges".
pub fn counted(number: impl Borrow<i64>, stop: i64, one: &str, many: &str) -> String {
    let number = *number.borrow();
    if number >= stop {
        format!("{} or more {many}", grouped(stop))
    } else {
        count(number, one, many)
    }
}

/// A place in a drawing: one decimal is finer than a screen shows.
pub fn place(value: f64) -> String {
    format!("{value:.1}")
}

/// A whole number with a thin space between thousands.
pub fn grouped(number: impl Borrow<i64>) -> String {
    let number = *number.borrow();
    let digits = number.unsigned_abs().to_string();
    let mut out = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i) % 3 == 0 {
            out.push('\u{202f}');
        }
        out.push(digit);
    }
    if number < 0 {
        format!("\u{2212}{out}")
    } else {
        out
    }
}

/// A whole number with its sign: "+5", "\u{2212}2", "0".
pub fn signed(number: impl Borrow<i64>) -> String {
    let number = *number.borrow();
    if number > 0 {
        format!("+{}", grouped(number))
    } else {
        grouped(number)
    }
}

/// Words at the beginning of a sentence.
pub fn sentence(words: impl ToString) -> String {
    capital(words)
}

/// Text, or a dash where there is none.
pub fn or_dash(text: &str) -> &str {
    if text.trim().is_empty() {
        "\u{2013}"
    } else {
        text
    }
}

/// A value that may be missing.
pub fn maybe<T: ToString>(value: &Option<T>) -> String {
    value
        .as_ref()
        .map_or_else(|| "\u{2013}".to_owned(), T::to_string)
}

/// The day a line of a history speaks of, by the plant's clocks where only a moment is known.
pub fn day_of(line: &Line, zone: &Zone) -> String {
    date(&line.on.unwrap_or_else(|| zone.date(line.key.at)))
}

/// When a line of a history was recorded; nothing where only its day is known.
pub fn recorded(line: &Line, zone: &Zone) -> String {
    match line.happened {
        Happened::Instrument {
            ordinal: Some(_), ..
        } => String::new(),
        _ => moment(&line.key.at, zone),
    }
}

/// A deed done to a gauge's own record, as its history says it.
pub fn register_deed(deed: &str) -> &str {
    match deed {
        "took into the register" => "Taken into the register",
        "corrected" => "Corrected",
        "put to rest" => "Put to rest",
        "brought back into service" => "Brought back into service",
        "retired" => "Retired",
        other => other,
    }
}

/// How many a list holds, with its noun.
pub fn many<T>(list: &[T], one: &str, many: &str) -> String {
    count(i64::try_from(list.len()).unwrap_or(i64::MAX), one, many)
}

/// A small number of any kind with its noun.
pub fn some<N: Copy + Into<i64>>(number: &N, one: &str, many: &str) -> String {
    let number: i64 = (*number).into();
    count(number, one, many)
}

#[cfg(test)]
mod tests {
    use time::macros::{date, datetime};

    use super::*;

    #[test]
    fn a_date_on_a_page_is_kept_on_one_line_and_in_a_file_has_plain_spaces() {
        let day = date!(2026 - 12 - 02);
        assert_eq!(super::date(&day), "2\u{a0}Dec\u{a0}2026");
        assert_eq!(plain_date(&day), "2 Dec 2026");
        // Copied from a page into a field it is the same day.
        assert_eq!(crate::pages::form::read_date(&super::date(&day)), Some(day));
        let at = Moment::new(datetime!(2026-12-02 09:05 UTC));
        let zone = Zone::utc();
        assert_eq!(moment(&at, &zone), "2\u{a0}Dec\u{a0}2026, 09:05");
        assert_eq!(plain_moment(&at, &zone), "2 Dec 2026, 09:05");
    }
}
