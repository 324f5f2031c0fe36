//! A value with its unit out of one cell: the unit in the cell wins over the one beside it, that
//! one over the heading's. Whether the value makes sense for a gauge is in `plausible`.

use rust_decimal::Decimal;

use super::number::{self, NotANumber, Numbers};
use super::tidy;
use crate::calc::quantity::{Stamped, Unit};

/// The figures at the start of a cell and what stands behind them.
#[must_use]
pub fn split(cell: &str) -> (&str, &str) {
    let cell = cell.trim();
    let end = cell
        .char_indices()
        .find(|(at, c)| {
            !(c.is_ascii_digit()
                || matches!(
                    c,
                    '.' | ',' | ' ' | '\u{a0}' | '\u{202f}' | '\u{2009}' | '_'
                )
                || (*at == 0 && matches!(c, '-' | '+' | '\u{2212}')))
        })
        .map_or(cell.len(), |(at, _)| at);
    let (figures, rest) = cell.split_at(end);
    (figures.trim(), rest.trim())
}

/// Whether a cell has a value but no unit of its own.
#[must_use]
pub fn lacks_unit(cell: &str) -> bool {
    let (figures, unit) = split(cell);
    !figures.is_empty() && unit.is_empty()
}

/// Reads a cell as a value with its unit.
///
/// # Errors
/// Says in plain words what is wrong and what would be right.
pub fn read<U: Unit>(
    cell: &str,
    how: Numbers,
    beside: Option<&str>,
    usual: Option<U>,
) -> Result<Stamped<U>, String>
where
    U::Err: ToString,
{
    let (figures, behind) = split(cell);
    let value = value(cell, figures, how, U::KIND);
    if is_more_than_a_unit(behind) {
        return Err(value.err().unwrap_or_else(|| no_number(cell, U::KIND)));
    }
    let unit = match (behind, beside.map(str::trim).filter(|b| !b.is_empty())) {
        ("", Some(beside)) => U::from_ucum(beside)
            .map_or_else(|| beside.parse::<U>(), Ok)
            .map_err(|e| e.to_string()),
        ("", None) => usual.ok_or_else(|| {
            let example = U::ALL.first().map_or("", |unit| unit.symbol());
            format!(
                "\u{201c}{}\u{201d} has no unit; write it behind the number, such as {figures} {example}",
                tidy(cell)
            )
        }),
        (behind, _) => behind.parse::<U>().map_err(|e| e.to_string()),
    };
    match (value, unit) {
        (Ok(value), Ok(unit)) => Ok(Stamped::new(value, unit)),
        // Both are said at once, unless there are only words, which are no unit either.
        (Err(number), Err(unit)) if !figures.is_empty() => Err(format!("{number}. {unit}")),
        (Err(why), _) | (Ok(_), Err(why)) => Err(why),
    }
}

fn value(cell: &str, figures: &str, how: Numbers, kind: &str) -> Result<Decimal, String> {
    match number::read(figures, how) {
        Ok(value) => Ok(value),
        Err(NotANumber::OtherMark(mark)) => Err(format!(
            "{figures} has its decimals behind another mark than {mark}, which was said of this list; write it like the others"
        )),
        Err(NotANumber::TwoWays) => Err(two_ways(figures)),
        Err(NotANumber::NoNumber) => Err(no_number(cell, kind)),
    }
}

/// Whether what stands behind the figures is a second number ("30-32 ft-lb", "150/300").
fn is_more_than_a_unit(behind: &str) -> bool {
    behind.starts_with(['-', '/', '\u{2013}', '\u{b1}', '+'])
        || behind.chars().any(|c| c.is_ascii_digit() && c != '2')
}

fn no_number(cell: &str, kind: &str) -> String {
    format!(
        "\u{201c}{}\u{201d} is not a {kind}; write one number with its unit, or leave the cell empty",
        tidy(cell)
    )
}

/// The message about a number nobody has said how to read.
#[must_use]
pub fn two_ways(figures: &str) -> String {
    format!(
        "\u{201c}{figures}\u{201d} can be read two ways; say above the columns whether decimals follow a point or a comma"
    )
}
