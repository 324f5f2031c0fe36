//! Dates as spreadsheets of all countries write them. Where day and month can be read two ways, or
//! a year has two digits, a person says what is meant; it is never guessed.

use time::{Date, Duration, Month};

use crate::calc::calendar;
use crate::record::words::words;

words! {
    /// What a date of three figures begins with.
    Order, "what a date begins with" {
        DayFirst: "day-first", "the day";
        MonthFirst: "month-first", "the month";
    }
}

/// How the dates of a list are read.
#[derive(Debug, Clone, Copy)]
pub struct Dates {
    /// What a person said a date begins with.
    pub order: Option<Order>,
    /// Whether a year of two digits is the latest one that is not in the future.
    pub short_years: bool,
    /// Today, by the plant's clocks.
    pub today: Date,
}

/// Why text is not a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotADate {
    /// It is something else, or a day that does not exist.
    NoDate,
    /// Day and month can be read two ways and nobody has said which.
    TwoWays,
    /// A year of two digits, and nobody has said which century.
    ShortYear,
    /// A year, or a month of a year, without a day.
    NoDay,
    /// A year outside those the register computes with.
    OutOfRange,
}

/// The parts of a date before anything is decided about them.
enum Parts {
    Settled(i32, u8, u8),
    /// Two figures that are day and month in some order, and the year.
    Figures(u8, u8, Year),
    /// Day, month by name, year.
    Named(u8, u8, Year),
    NoDay,
}

#[derive(Clone, Copy)]
enum Year {
    Whole(i32),
    Short(u8),
}

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

fn month_named(word: &str) -> Option<u8> {
    let word = word.to_lowercase();
    let found = MONTHS.iter().position(|month| {
        word == *month
            || (word.len() == 3 && month.starts_with(&word))
            || (word == "sept" && *month == "september")
    })?;
    u8::try_from(found + 1).ok()
}

/// The text before the time of day, where a spreadsheet added one.
fn without_time(text: &str) -> &str {
    let text = text.trim();
    let clock = |rest: &str| {
        rest.contains(':')
            && rest.chars().all(|c| {
                c.is_ascii_digit()
                    || matches!(
                        c,
                        ':' | '.' | ' ' | 'Z' | '+' | 'a' | 'p' | 'm' | 'A' | 'P' | 'M'
                    )
            })
    };
    match text.split_once(['T', ' ']) {
        Some((day, rest)) if clock(rest) => day,
        _ => text
            .rmatch_indices(' ')
            .find(|(at, _)| clock(&text[at + 1..]) && !text[..*at].contains(':'))
            .map_or(text, |(at, _)| text[..at].trim_end()),
    }
}

fn year(figure: &str) -> Option<Year> {
    match figure.len() {
        4 => figure.parse().ok().map(Year::Whole),
        2 => figure.parse().ok().map(Year::Short),
        _ => None,
    }
}

fn parts(text: &str) -> Option<Parts> {
    let text = without_time(text);
    let pieces: Vec<&str> = text
        .split(['-', '/', '.', ',', ' '])
        .filter(|piece| !piece.is_empty())
        .collect();
    let digits = |piece: &str| piece.chars().all(|c| c.is_ascii_digit());
    let small = |piece: &str| {
        let figure = piece
            .strip_suffix("st")
            .or_else(|| piece.strip_suffix("nd"))
            .or_else(|| piece.strip_suffix("rd"))
            .or_else(|| piece.strip_suffix("th"))
            .unwrap_or(piece);
        (figure.len() <= 2 && digits(figure)).then(|| figure.parse::<u8>().ok())?
    };
    match pieces.as_slice() {
        [one] if digits(one) && one.len() == 8 => Some(Parts::Settled(
            one[..4].parse().ok()?,
            one[4..6].parse().ok()?,
            one[6..].parse().ok()?,
        )),
        [one] if digits(one) && one.len() == 4 => Some(Parts::NoDay),
        [a, b] => {
            let month = |piece: &str| month_named(piece).or_else(|| small(piece));
            let known = |m: &str, y: &str| month(m).is_some() && digits(y) && y.len() == 4;
            (known(a, b) || known(b, a)).then_some(Parts::NoDay)
        }
        [y, m, d] if digits(y) && y.len() == 4 => {
            let month = month_named(m).or_else(|| small(m))?;
            Some(Parts::Settled(y.parse().ok()?, month, small(d)?))
        }
        [a, b, y] => {
            let year = digits(y).then(|| year(y))??;
            match (month_named(a), month_named(b)) {
                (None, Some(month)) => Some(Parts::Named(small(a)?, month, year)),
                (Some(month), None) => Some(Parts::Named(small(b)?, month, year)),
                (Some(_), Some(_)) => None,
                (None, None) => {
                    // 24-03-04 may begin with the year as well: three readings are one too many.
                    if matches!(year, Year::Short(_)) && text.contains('-') {
                        return None;
                    }
                    Some(Parts::Figures(small(a)?, small(b)?, year))
                }
            }
        }
        _ => None,
    }
}

/// The day a spreadsheet means by a bare number: days since 30 December 1899, so that day 39448 is
/// 1 January 2008. Numbers too small or too large for a gauge's date are no dates.
fn serial(text: &str) -> Option<Date> {
    let text = text.trim();
    let (whole, rest) = text.split_once('.').unwrap_or((text, "0"));
    if whole.len() != 5
        || !whole
            .chars()
            .chain(rest.chars())
            .all(|c| c.is_ascii_digit())
    {
        return None;
    }
    let days: i64 = whole
        .parse()
        .ok()
        .filter(|n| (20_000..=80_000).contains(n))?;
    let zero = Date::from_calendar_date(1899, Month::December, 30).ok()?;
    zero.checked_add(Duration::days(days))
}

/// Reads a date.
///
/// # Errors
/// Text that is no date, or one that needs a word from a person first.
pub fn read(text: &str, how: &Dates) -> Result<Date, NotADate> {
    if let Some(date) = serial(text) {
        return Ok(date);
    }
    let (year, month, day) = match parts(text).ok_or(NotADate::NoDate)? {
        Parts::NoDay => return Err(NotADate::NoDay),
        Parts::Settled(year, month, day) => (Year::Whole(year), month, day),
        Parts::Named(day, month, year) => (year, month, day),
        Parts::Figures(a, b, year) => match sides(a, b) {
            Some(Side::Day) => (year, b, a),
            Some(Side::Month) => (year, a, b),
            Some(Side::Same) => (year, a, a),
            Some(Side::Either) => match how.order {
                Some(Order::DayFirst) => (year, b, a),
                Some(Order::MonthFirst) => (year, a, b),
                None => return Err(NotADate::TwoWays),
            },
            None => return Err(NotADate::NoDate),
        },
    };
    let date = match year {
        Year::Whole(year) => civil(year, month, day),
        Year::Short(_) if !how.short_years => return Err(NotADate::ShortYear),
        Year::Short(year) => {
            let late = civil(2000 + i32::from(year), month, day);
            match late {
                Some(date) if date <= how.today => Some(date),
                _ => civil(1900 + i32::from(year), month, day),
            }
        }
    }
    .ok_or(NotADate::NoDate)?;
    if calendar::in_range(date) {
        Ok(date)
    } else {
        Err(NotADate::OutOfRange)
    }
}

fn civil(year: i32, month: u8, day: u8) -> Option<Date> {
    Date::from_calendar_date(year, Month::try_from(month).ok()?, day).ok()
}

/// Whether text is a date in the ISO form, as a workbook's dates are read: "2024-03-04".
#[must_use]
pub fn is_iso(text: &str) -> bool {
    let text = text.trim();
    text.len() == 10
        && text.bytes().enumerate().all(|(at, b)| match at {
            4 | 7 => b == b'-',
            _ => b.is_ascii_digit(),
        })
}

/// What two figures say about which of them is the day.
enum Side {
    Day,
    Month,
    Same,
    Either,
}

fn sides(a: u8, b: u8) -> Option<Side> {
    let month = |n: u8| (1..=12).contains(&n);
    match (month(a), month(b)) {
        (true, true) if a == b => Some(Side::Same),
        (true, true) => Some(Side::Either),
        (false, true) => Some(Side::Day),
        (true, false) => Some(Side::Month),
        (false, false) => None,
    }
}

/// What a whole column says about its dates.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Evidence {
    /// The first date that can be read two ways.
    pub either: Option<String>,
    /// A date that can only begin with the day.
    pub day_first: Option<String>,
    /// A date that can only begin with the month.
    pub month_first: Option<String>,
    /// The first date with a year of two digits.
    pub short_year: Option<String>,
}

impl Evidence {
    /// Takes one cell into account.
    pub fn note(&mut self, text: &str) {
        let keep = |place: &mut Option<String>| {
            if place.is_none() {
                *place = Some(text.trim().to_owned());
            }
        };
        match parts(text) {
            Some(Parts::Figures(a, b, year)) => {
                if matches!(year, Year::Short(_)) {
                    keep(&mut self.short_year);
                }
                match sides(a, b) {
                    Some(Side::Either) => keep(&mut self.either),
                    Some(Side::Day) => keep(&mut self.day_first),
                    Some(Side::Month) => keep(&mut self.month_first),
                    Some(Side::Same) | None => {}
                }
            }
            Some(Parts::Named(_, _, Year::Short(_))) => keep(&mut self.short_year),
            _ => {}
        }
    }

    /// What the dates that can be read only one way say, where they agree, with an example.
    #[must_use]
    pub fn leaning(&self) -> Option<(Order, &str)> {
        match (&self.day_first, &self.month_first) {
            (Some(example), None) => Some((Order::DayFirst, example)),
            (None, Some(example)) => Some((Order::MonthFirst, example)),
            _ => None,
        }
    }
}
