//! Labels for gauges, lots and instruments: a code that opens the thing's page (ISO/IEC 18004) with
//! readable words beside it, on common label sheets or one by one for label printers.

use qrcode::EcLevel;
use serde::Serialize;
use time::{OffsetDateTime, Time};

use super::qr;
use super::typeset::{Paper, PaperError, Sheet, typeset};

/// A sheet of labels, in millimetres. Sizes in trade: common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Format {
    /// The word in the address.
    pub word: &'static str,
    /// What a person reads.
    pub words: &'static str,
    wide: f64,
    high: f64,
    columns: usize,
    rows: usize,
    label_wide: f64,
    label_high: f64,
    left: f64,
    top: f64,
    between: f64,
}

impl Format {
    /// Labels on one sheet.
    pub const fn on_a_sheet(&self) -> usize {
        self.columns * self.rows
    }

    /// The format of that word.
    pub fn of(word: &str) -> Option<&'static Self> {
        FORMATS.iter().find(|format| format.word == word)
    }
}

const fn sheet(
    (word, words): (&'static str, &'static str),
    (wide, high): (f64, f64),
    (columns, rows): (usize, usize),
    (label_wide, label_high): (f64, f64),
    (left, top, between): (f64, f64, f64),
) -> Format {
    Format {
        word,
        words,
        wide,
        high,
        columns,
        rows,
        label_wide,
        label_high,
        left,
        top,
        between,
    }
}

const A4: (f64, f64) = (210.0, 297.0);
const LETTER: (f64, f64) = (215.9, 279.4);

const fn single(names: (&'static str, &'static str), size: (f64, f64)) -> Format {
    sheet(names, size, (1, 1), size, (0.0, 0.0, 0.0))
}

/// The sheets and printers offered.
pub const FORMATS: &[Format] = &[
    sheet(
        ("a4-24", "A4, 24 labels of 70 × 37 mm"),
        A4,
        (3, 8),
        (70.0, 37.0),
        (0.0, 0.5, 0.0),
    ),
    sheet(
        ("a4-21", "A4, 21 labels of 63.5 × 38.1 mm"),
        A4,
        (3, 7),
        (63.5, 38.1),
        (7.25, 15.15, 2.5),
    ),
    sheet(
        ("a4-65", "A4, 65 labels of 38.1 × 21.2 mm"),
        A4,
        (5, 13),
        (38.1, 21.2),
        (4.75, 10.7, 2.5),
    ),
    sheet(
        ("letter-30", "Letter, 30 labels of 2⅝ × 1 in"),
        LETTER,
        (3, 10),
        (66.675, 25.4),
        (4.7625, 12.7, 3.175),
    ),
    sheet(
        ("letter-10", "Letter, 10 labels of 4 × 2 in"),
        LETTER,
        (2, 5),
        (101.6, 50.8),
        (3.968_75, 12.7, 4.7625),
    ),
    single(("single-57x32", "one by one, 57 × 32 mm"), (57.0, 32.0)),
    single(("single-62x29", "one by one, 62 × 29 mm"), (62.0, 29.0)),
    single(("single-100x50", "one by one, 100 × 50 mm"), (100.0, 50.0)),
];

/// The most labels printed at once.
pub const MOST: usize = 650;

/// One label.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Label {
    /// The number people know the thing by, large.
    pub number: String,
    /// Words beneath it.
    pub lines: Vec<String>,
    /// The address the code opens.
    pub address: String,
}

#[derive(Serialize)]
struct Record<'a> {
    format: &'a Format,
    skip: usize,
    labels: Vec<Drawn<'a>>,
}

#[derive(Serialize)]
struct Drawn<'a> {
    number: &'a str,
    lines: &'a [String],
    code: String,
}

/// Sets labels and returns the PDF, beginning at a label of the first sheet that is still there.
///
/// # Errors
/// A [`PaperError`] when a character is in none of the embedded fonts, an address is too long for a
/// code, or the page cannot be set.
pub fn pdf(
    labels: &[Label],
    format: &'static Format,
    first: usize,
    printed: OffsetDateTime,
) -> Result<Vec<u8>, PaperError> {
    let drawn = labels
        .iter()
        .map(|label| {
            Ok(Drawn {
                number: &label.number,
                lines: &label.lines,
                code: code(&label.address)?,
            })
        })
        .collect::<Result<Vec<_>, PaperError>>()?;
    let record = Record {
        format,
        skip: first.saturating_sub(1) % format.on_a_sheet().max(1),
        labels: drawn,
    };
    typeset(&Sheet {
        template: include_str!("../../templates/papers/labels.typ"),
        identity: &format!("labels {} {}", format.word, labels.len()),
        record: &record,
        paper: Paper::A4,
        dated: printed.date().with_time(Time::MIDNIGHT).assume_utc(),
    })
}

/// A code as a drawing: dark modules on a quiet zone of four modules, correction level M.
///
/// # Errors
/// The text is too long for a code.
fn code(text: &str) -> Result<String, PaperError> {
    let (side, path) = qr::modules(text, EcLevel::M)
        .map_err(|error| PaperError::Typesetting(format!("the code of {text}: {error}")))?;
    Ok(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {side} {side}\"><rect width=\"{side}\" height=\"{side}\" fill=\"#fff\"/><path d=\"{path}\" fill=\"#000\"/></svg>"
    ))
}
