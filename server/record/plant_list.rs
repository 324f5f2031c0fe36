//! A plant's list of gauges as it comes out of a spreadsheet: from bytes to a table, from headings
//! to fields, from a line to a gauge or to plain words about what is wrong with it. Pure: what is
//! already in the register is handed in, and nothing is written here.
//!
//! The way of a list: [`reading`] opens the file, [`headings`] guesses what each column holds,
//! [`matching`] keeps what a person decided about it, [`row`] reads one line, [`plan`] reads them
//! all and finds tag numbers given twice, [`mend`] writes the refused lines back as a file.

pub mod date;
pub mod draft;
pub mod field;
mod field_names;
pub mod headings;
pub mod matching;
pub mod mend;
pub mod number;
pub mod plan;
pub mod plausible;
pub mod quantity;
pub mod reading;
pub mod row;
pub mod table;
mod text_file;
mod unpacked;
pub mod words;
mod workbook;

pub use draft::{Draft, Fault, Known, Named};
pub use field::{Field, ListUnit, Quantity};
pub use matching::Matching;
pub use plan::Plan;
pub use table::Table;

/// Most bytes of a file.
pub const MOST_BYTES: usize = 20 * 1024 * 1024;
/// Most lines below the headings.
pub const MOST_LINES: usize = 60_000;
/// Most columns.
pub const MOST_COLUMNS: usize = 200;
/// Most characters of one cell: what a cell of a spreadsheet can hold at most (from memory).
pub const MOST_IN_CELL: usize = 32_767;
/// Most bytes of text in the whole table, however small the file was packed.
pub const MOST_TEXT: usize = 48 * 1024 * 1024;

/// Text for comparing names: lower case, inner spaces folded to one.
#[must_use]
pub fn folded(text: &str) -> String {
    tidy(text).to_lowercase()
}

/// Text without spaces around it and with single spaces inside; marks that cannot be seen are
/// spaces too, since spreadsheets are full of them.
#[must_use]
pub fn tidy(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_whitespace()
            || c.is_control()
            || matches!(c, '\u{200b}' | '\u{feff}' | '\u{2060}' | '\u{ad}')
        {
            if !out.is_empty() && !out.ends_with(' ') {
                out.push(' ');
            }
        } else {
            out.push(c);
        }
    }
    if out.ends_with(' ') {
        out.pop();
    }
    out
}
