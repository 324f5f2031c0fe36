//! Opens the file a person chose: finds out what it is, reads it as text or as a workbook, finds
//! the line of headings. Anything that is no list is refused in words that say what to do.

use serde::{Deserialize, Serialize};

use super::table::{Delimiter, Found, Line, Table};
use super::{MOST_BYTES, MOST_COLUMNS, MOST_LINES, MOST_TEXT, headings, tidy};
use super::{text_file, workbook};

/// Lines looked at for headings.
const LOOK_AT: usize = 30;

/// How a person wants the file read, where the guess was wrong.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Wish {
    /// This sheet of the workbook.
    pub sheet: Option<String>,
    /// These letters.
    pub encoding: Option<String>,
    /// This between the columns.
    pub delimiter: Option<Delimiter>,
    /// The headings in this line.
    pub heading_line: Option<u32>,
}

/// Why a file cannot be read as a list.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct Unreadable(pub String);

impl Unreadable {
    /// Says why.
    pub fn new(why: impl Into<String>) -> Self {
        Self(why.into())
    }
}

/// Every line of a file as it stands there, before anything is decided about headings.
#[derive(Debug, Default)]
pub struct Raw {
    /// The lines that are not blank.
    pub lines: Vec<Line>,
    /// How they were read.
    pub found: Found,
}

/// Collects lines and refuses what is too large while it is read, not after.
#[derive(Debug, Default)]
pub struct Intake {
    lines: Vec<Line>,
    text: usize,
}

impl Intake {
    /// Takes one line in; blank ones are passed over.
    ///
    /// # Errors
    /// Too many lines, columns or letters.
    pub fn take(&mut self, number: u32, mut cells: Vec<String>) -> Result<(), Unreadable> {
        while cells.last().is_some_and(|cell| cell.trim().is_empty()) {
            cells.pop();
        }
        if cells.is_empty() {
            return Ok(());
        }
        if cells.len() > MOST_COLUMNS {
            return Err(Unreadable::new(format!(
                "Line {number} has {} columns; a list may have {MOST_COLUMNS}. Take out the columns the register does not need",
                cells.len()
            )));
        }
        if self.lines.len() >= MOST_LINES + LOOK_AT {
            return Err(Unreadable::new(format!(
                "The list has more than {MOST_LINES} lines; split it into several files"
            )));
        }
        self.text += cells.iter().map(String::len).sum::<usize>();
        if self.text > MOST_TEXT {
            return Err(Unreadable::new(
                "The list holds more than 48 MB of text; take out what the register does not need, or split it",
            ));
        }
        self.lines.push(Line { number, cells });
        Ok(())
    }

    /// Every line taken in.
    #[must_use]
    pub fn into_lines(self) -> Vec<Line> {
        self.lines
    }
}

/// Reads a file.
///
/// # Errors
/// Says in plain words why it is no list, and what to do.
pub fn read(bytes: &[u8], wish: &Wish) -> Result<(Table, Found), Unreadable> {
    if bytes.len() > MOST_BYTES {
        return Err(Unreadable::new(
            "The file has more than 20 MB; split the list or take out what the register does not need",
        ));
    }
    let raw = match kind_of(bytes)? {
        Shape::Workbook => workbook::read(bytes, wish)?,
        Shape::Text => text_file::read(bytes, wish)?,
    };
    settle(raw, wish)
}

enum Shape {
    Text,
    Workbook,
}

/// What the first bytes say about a file (signatures as the formats' own documents give them).
fn kind_of(bytes: &[u8]) -> Result<Shape, Unreadable> {
    let save_as = "Open it in the spreadsheet and save it as .xlsx or as CSV";
    let begins = |mark: &[u8]| bytes.starts_with(mark);
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(Unreadable::new(
            "The file is empty; nothing was brought in. Choose the file that holds the list",
        ));
    }
    if begins(b"PK\x03\x04") || begins(b"PK\x05\x06") || begins(b"PK\x07\x08") {
        return Ok(Shape::Workbook);
    }
    if begins(b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1") {
        return Err(Unreadable::new(format!(
            "This is a workbook of the old kind, or one with a password. {save_as}, without a password"
        )));
    }
    let what = if begins(b"%PDF") {
        Some("a PDF")
    } else if begins(b"\x89PNG") || begins(b"\xFF\xD8\xFF") || begins(b"GIF8") {
        Some("a picture")
    } else if begins(b"{\\rtf") {
        Some("a text document")
    } else if begins(b"\x1F\x8B") || begins(b"7z\xBC\xAF") || begins(b"Rar!") {
        Some("a packed file")
    } else {
        None
    };
    if let Some(what) = what {
        return Err(Unreadable::new(format!(
            "This is {what}, not a list. {save_as}"
        )));
    }
    let start: String = String::from_utf8_lossy(&bytes[..bytes.len().min(200)])
        .trim_start_matches('\u{feff}')
        .trim_start()
        .to_lowercase();
    if start.starts_with("<!doctype") || start.starts_with("<html") || start.starts_with("<?xml") {
        return Err(Unreadable::new(format!(
            "This is a web page or an XML file, not a list. {save_as}"
        )));
    }
    Ok(Shape::Text)
}

/// Finds the headings and cuts the table below them.
fn settle(raw: Raw, wish: &Wish) -> Result<(Table, Found), Unreadable> {
    let Raw { lines, mut found } = raw;
    if lines.is_empty() {
        return Err(Unreadable::new(
            "There is nothing in the file; nothing was brought in. Choose the file that holds the list",
        ));
    }
    let at = if let Some(wanted) = wish.heading_line {
        lines.iter().position(|line| line.number == wanted).ok_or_else(|| {
            Unreadable::new(format!(
                "Line {wanted} is blank or not in the file; give the number of the line the headings stand in"
            ))
        })?
    } else {
        let first: Vec<&[String]> = lines
            .iter()
            .take(LOOK_AT)
            .map(|line| line.cells.as_slice())
            .collect();
        headings::heading_line(&first).unwrap_or(0)
    };
    let mut lines = lines.into_iter().skip(at);
    let Some(heading) = lines.next() else {
        return Err(Unreadable::new("There is nothing in the file"));
    };
    found.heading_line = heading.number;
    let mut names: Vec<String> = heading.cells.iter().map(|cell| tidy(cell)).collect();
    let mut lines: Vec<Line> = lines.collect();
    if lines
        .first()
        .is_some_and(|line| headings::is_unit_line(&line.cells))
    {
        let units = lines.remove(0);
        for (name, unit) in names.iter_mut().zip(&units.cells) {
            let unit = tidy(unit);
            if !unit.is_empty() && !name.is_empty() {
                *name = format!("{name} ({})", unit.trim_matches(['(', ')', '[', ']']));
            }
        }
    }
    let width = lines
        .iter()
        .map(|line| line.cells.len())
        .max()
        .unwrap_or(0)
        .max(names.len());
    names.resize(width, String::new());
    if width < 2 {
        return Err(Unreadable::new(
            "Only one column was found. A list needs at least a tag number and one more column, with commas, semicolons or tabs between them",
        ));
    }
    if lines.is_empty() {
        return Err(Unreadable::new(format!(
            "There is no line below the headings in line {}; the list is empty",
            heading.number
        )));
    }
    if lines.len() > MOST_LINES {
        return Err(Unreadable::new(format!(
            "The list has {} lines; {MOST_LINES} at a time can be brought in. Split it into several files",
            lines.len()
        )));
    }
    let last = lines.last().map_or(0, |line| line.number);
    let span = usize::try_from(last.saturating_sub(heading.number)).unwrap_or(0);
    found.blank = span.saturating_sub(lines.len());
    Ok((
        Table {
            headings: names,
            lines,
        },
        found,
    ))
}
