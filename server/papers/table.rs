//! Tables to take away: the same rows as a spreadsheet (XLSX) or as comma-separated text (CSV).
//! Which rows is the page's affair; nothing here asks the database.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use rust_xlsxwriter::{Format, FormatBorder, Workbook, XlsxError};
use time::Date;

use crate::record::plant_list::mend::guarded;

/// What stands in a cell.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// Words.
    Text(String),
    /// A whole number.
    Whole(i64),
    /// A number with decimals, such as an amount of money.
    Decimal(Decimal),
    /// A computed number, rounded for reading where it was made.
    Number(f64),
    /// A civil date.
    Day(Date),
}

impl Cell {
    /// Words, or nothing where there are none.
    pub fn text(words: impl ToString) -> Self {
        let words = words.to_string();
        if words.is_empty() {
            Self::Empty
        } else {
            Self::Text(words)
        }
    }

    /// A date, or nothing.
    pub fn day(day: Option<Date>) -> Self {
        day.map_or(Self::Empty, Self::Day)
    }
}

/// A table with what it is and how it was filtered.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// What it is; names the sheet.
    pub title: String,
    /// Lines above the table: the day, the filter.
    pub notes: Vec<String>,
    /// The headings with the width of their columns in characters.
    pub headings: Vec<(&'static str, u16)>,
    /// The rows.
    pub rows: Vec<Vec<Cell>>,
}

/// Why a table could not be written.
#[derive(Debug, thiserror::Error)]
pub enum TableError {
    /// The spreadsheet library refused.
    #[error("the spreadsheet could not be written: {0}")]
    Xlsx(#[from] XlsxError),
    /// The text could not be written.
    #[error("the table could not be written: {0}")]
    Csv(String),
}

/// The table as a spreadsheet: dates as dates, numbers as numbers, the head kept in sight.
///
/// # Errors
/// [`TableError`] when the library refuses, as for more rows than a sheet holds.
pub fn xlsx(table: &Table) -> Result<Vec<u8>, TableError> {
    let mut book = Workbook::new();
    let head = Format::new()
        .set_bold()
        .set_border_bottom(FormatBorder::Thin);
    let title = Format::new().set_bold().set_font_size(14);
    let day = Format::new().set_num_format("yyyy-mm-dd");
    let money = Format::new().set_num_format("#,##0.00");
    let sheet = book.add_worksheet();
    sheet.set_name(sheet_name(&table.title))?;
    sheet.write_with_format(0, 0, table.title.as_str(), &title)?;
    let mut row = 1;
    for note in &table.notes {
        sheet.write(row, 0, note.as_str())?;
        row += 1;
    }
    row += 1;
    for (column, (words, wide)) in (0_u16..).zip(&table.headings) {
        sheet.set_column_width(column, f64::from(*wide))?;
        sheet.write_with_format(row, column, *words, &head)?;
    }
    sheet.set_freeze_panes(row + 1, 0)?;
    let first = row;
    for cells in &table.rows {
        row += 1;
        for (column, cell) in (0_u16..).zip(cells) {
            match cell {
                Cell::Empty => {}
                Cell::Text(words) => {
                    sheet.write_string(row, column, words.as_str())?;
                }
                Cell::Whole(number) => {
                    sheet.write_number(row, column, number.to_f64().unwrap_or(0.0))?;
                }
                Cell::Decimal(number) => {
                    let value = number.to_f64().unwrap_or(0.0);
                    sheet.write_number_with_format(row, column, value, &money)?;
                }
                Cell::Number(number) => {
                    sheet.write_number(row, column, *number)?;
                }
                Cell::Day(date) => {
                    sheet.write_number_with_format(row, column, serial(*date), &day)?;
                }
            }
        }
    }
    let last = u16::try_from(table.headings.len().saturating_sub(1)).unwrap_or(0);
    if !table.rows.is_empty() {
        sheet.autofilter(first, 0, row, last)?;
    }
    sheet.set_print_gridlines(false).set_landscape();
    sheet.set_repeat_rows(first, first)?;
    Ok(book.save_to_buffer()?)
}

/// The serial number of a day as spreadsheets count (ECMA-376 part 1, 18.17.4.1: 1 January 1900 is
/// 1 and 29 February 1900 is counted though it was none).
fn serial(day: Date) -> f64 {
    // Julian day 2 415 019 is 30 December 1899, day 0 of the count from March 1900 on.
    f64::from(day.to_julian_day() - 2_415_019)
}

/// A sheet's name: at most 31 characters, without the signs that refer to cells.
fn sheet_name(title: &str) -> String {
    let name: String = title
        .chars()
        .filter(|c| !matches!(c, '[' | ']' | ':' | '*' | '?' | '/' | '\\' | '\''))
        .take(31)
        .collect();
    if name.trim().is_empty() {
        "Table".to_owned()
    } else {
        name
    }
}

/// The table as comma-separated text (RFC 4180), with a mark that says it is UTF-8.
///
/// # Errors
/// [`TableError`] when the text cannot be written.
pub fn csv(table: &Table) -> Result<Vec<u8>, TableError> {
    let failed = |error: csv::Error| TableError::Csv(error.to_string());
    let mut bytes = vec![0xef, 0xbb, 0xbf];
    {
        let mut writer = csv::WriterBuilder::new()
            .terminator(csv::Terminator::CRLF)
            .from_writer(&mut bytes);
        let head = table.headings.iter().map(|(words, _)| *words);
        writer.write_record(head).map_err(failed)?;
        for cells in &table.rows {
            writer
                .write_record(cells.iter().map(plain))
                .map_err(failed)?;
        }
        writer
            .flush()
            .map_err(|error| TableError::Csv(error.to_string()))?;
    }
    Ok(bytes)
}

/// A cell as text. What a spreadsheet would take for a formula gets a mark before it, so that opening
/// the file computes nothing.
fn plain(cell: &Cell) -> String {
    match cell {
        Cell::Empty => String::new(),
        Cell::Text(words) => guarded(words).into_owned(),
        Cell::Whole(number) => number.to_string(),
        Cell::Decimal(number) => number.to_string(),
        Cell::Number(number) => number.to_string(),
        Cell::Day(date) => date.to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_cell_of_a_file_to_take_away_starts_a_formula() {
        for first in [
            "=", "+", "-", "@", "\t", "\r", "\n", "\u{ff1d}", "\u{ff0b}", "\u{ff0d}", "\u{ff20}",
        ] {
            let words = format!("{first}SUM(A1)");
            assert_eq!(plain(&Cell::Text(words.clone())), format!("'{words}"));
        }
        assert_eq!(plain(&Cell::text("LG-1107A")), "LG-1107A");
    }
}
