//! Numbers as spreadsheets of all countries write them. Where a comma or a point can be read two
//! ways, a person says which is meant; it is never guessed.

use std::str::FromStr;

use rust_decimal::Decimal;

use crate::record::words::words;

words! {
    /// What stands before the decimals.
    Mark, "what stands before the decimals" {
        Point: "point", "a point";
        Comma: "comma", "a comma";
    }
}

/// Most digits of a number, as in the register's forms.
const MOST_DIGITS: usize = 12;

/// How the numbers of a list are read.
#[derive(Debug, Clone, Copy, Default)]
pub struct Numbers {
    /// What a person said stands before the decimals, where it can be read two ways.
    pub mark: Option<Mark>,
    /// Whether a point may part thousands. Workbooks keep their numbers with a decimal point, so
    /// there it never does.
    pub points_part: bool,
}

/// Why text is not a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotANumber {
    /// It is something else.
    NoNumber,
    /// It can be read two ways and nobody has said which.
    TwoWays,
    /// Its decimals stand behind the other mark than was said of the list.
    OtherMark(Mark),
}

/// What a number's marks say by themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Marks {
    /// Digits only, or marks that mean the same either way.
    Plain,
    /// A point stands before the decimals for certain.
    PointDecimals,
    /// A comma stands before the decimals for certain.
    CommaDecimals,
    /// "1,500": one thousand five hundred, or one and a half.
    CommaEither,
    /// "1.500": one and a half, or one thousand five hundred.
    PointEither,
}

/// Text without the spaces people put between thousands.
fn closed_up(text: &str) -> String {
    text.trim()
        .chars()
        .filter(|c| !matches!(c, ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '_'))
        .map(|c| if c == '\u{2212}' { '-' } else { c })
        .collect()
}

/// Splits the sign off; what is left must begin with a digit or a mark.
fn unsigned(text: &str) -> (&str, &str) {
    match text.strip_prefix(['-', '+']) {
        Some(rest) if text.starts_with('-') => ("-", rest),
        Some(rest) => ("", rest),
        None => ("", text),
    }
}

/// Whether digits are parted into thousands by this mark as they should be.
fn thousands(digits: &str, mark: char) -> bool {
    let mut groups = digits.split(mark);
    let first = groups.next().unwrap_or_default();
    (1..=3).contains(&first.len()) && groups.all(|group| group.len() == 3)
}

/// What the marks of a number say; nothing if it is none.
#[must_use]
pub fn marks(text: &str) -> Option<Marks> {
    let text = closed_up(text);
    let (_, digits) = unsigned(&text);
    let digit_count = digits.chars().filter(char::is_ascii_digit).count();
    let only = digits
        .chars()
        .all(|c| c.is_ascii_digit() || matches!(c, ',' | '.'));
    if digit_count == 0 || digit_count > MOST_DIGITS || !only {
        return None;
    }
    let (commas, points) = (digits.matches(',').count(), digits.matches('.').count());
    let either = |mark: char| {
        let (head, tail) = digits.split_once(mark).unwrap_or_default();
        tail.len() == 3 && (1..=3).contains(&head.len()) && !head.starts_with('0')
    };
    match (commas, points) {
        (0, 0) => Some(Marks::Plain),
        (1, 0) if either(',') => Some(Marks::CommaEither),
        (1, 0) => Some(Marks::CommaDecimals),
        (0, 1) if either('.') => Some(Marks::PointEither),
        (0, 1) => Some(Marks::PointDecimals),
        (_, 0) => thousands(digits, ',').then_some(Marks::PointDecimals),
        (0, _) => thousands(digits, '.').then_some(Marks::CommaDecimals),
        _ => {
            let (comma, point) = (digits.rfind(',')?, digits.rfind('.')?);
            if comma < point {
                (points == 1 && thousands(&digits[..point], ',')).then_some(Marks::PointDecimals)
            } else {
                (commas == 1 && thousands(&digits[..comma], '.')).then_some(Marks::CommaDecimals)
            }
        }
    }
}

/// Reads a number.
///
/// # Errors
/// Text that is no number, or one that can be read two ways where nobody has said which.
pub fn read(text: &str, how: Numbers) -> Result<Decimal, NotANumber> {
    let found = marks(text).ok_or(NotANumber::NoNumber)?;
    let closed = closed_up(text);
    let (sign, digits) = unsigned(&closed);
    let comma_before_decimals = match (found, how.mark) {
        (Marks::CommaDecimals, Some(Mark::Point)) => {
            return Err(NotANumber::OtherMark(Mark::Point));
        }
        (Marks::PointDecimals, Some(Mark::Comma)) if how.points_part => {
            return Err(NotANumber::OtherMark(Mark::Comma));
        }
        (Marks::CommaDecimals, _) => true,
        (Marks::CommaEither, Some(mark)) => mark == Mark::Comma,
        (Marks::CommaEither, None) => return Err(NotANumber::TwoWays),
        (Marks::PointEither, Some(Mark::Comma)) => how.points_part,
        (Marks::Plain | Marks::PointDecimals | Marks::PointEither, _) => false,
    };
    let normal = if comma_before_decimals {
        digits.replace('.', "").replace(',', ".")
    } else {
        digits.replace(',', "")
    };
    Decimal::from_str(&format!("{sign}{normal}")).map_err(|_| NotANumber::NoNumber)
}

/// What a whole list says about its decimals.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Evidence {
    /// The first number with a comma that can be read two ways.
    pub comma_either: Option<String>,
    /// The first number with a point that can be read two ways.
    pub point_either: Option<String>,
    /// A number whose decimals follow a point for certain.
    pub point: Option<String>,
    /// A number whose decimals follow a comma for certain.
    pub comma: Option<String>,
}

impl Evidence {
    /// Takes one number of the list into account.
    pub fn note(&mut self, text: &str) {
        let place = match marks(text) {
            Some(Marks::CommaEither) => &mut self.comma_either,
            Some(Marks::PointEither) => &mut self.point_either,
            Some(Marks::PointDecimals) => &mut self.point,
            Some(Marks::CommaDecimals) => &mut self.comma,
            Some(Marks::Plain) | None => return,
        };
        if place.is_none() {
            *place = Some(text.trim().to_owned());
        }
    }

    /// A number that can be read two ways, if somebody has to say which: every "1,500", and
    /// "1.500" in a text file that elsewhere has decimals behind a comma.
    #[must_use]
    pub fn question(&self, points_part: bool) -> Option<&str> {
        let point = self
            .point_either
            .as_deref()
            .filter(|_| points_part && self.comma.is_some());
        self.comma_either.as_deref().or(point)
    }

    /// What the numbers that can be read only one way say, where they agree, with an example.
    #[must_use]
    pub fn leaning(&self) -> Option<(Mark, &str)> {
        match (&self.point, &self.comma) {
            (Some(example), None) => Some((Mark::Point, example)),
            (None, Some(example)) => Some((Mark::Comma, example)),
            _ => None,
        }
    }
}
