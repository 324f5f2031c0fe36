//! Reads one sheet of an .xlsx workbook as lines of text: numbers as they are written, dates as
//! ISO text, merged cells in every line they span. Which sheet is the list is guessed by headings.

use std::collections::BTreeMap;
use std::io::Cursor;

use calamine::{Data, DataRef, ExcelDateTime, Reader, SheetType, SheetVisible, Xlsx, XlsxError};

use super::reading::{Intake, Raw, Unreadable, Wish};
use super::table::{Found, Line};
use super::{MOST_COLUMNS, MOST_IN_CELL, MOST_LINES, MOST_TEXT, headings, mend, unpacked};

type Book<'a> = Xlsx<Cursor<&'a [u8]>>;
type Cells = BTreeMap<u32, Vec<(u32, String)>>;

/// Lines of each sheet looked at to find the list.
const LOOK_AT: usize = 30;
/// Lines past which nothing is read: the list, its headings and what stands above them.
const MOST: usize = MOST_LINES + LOOK_AT;
/// Cells filled from merged ones at most; a sheet of honest size needs far fewer.
const MOST_MERGED: usize = 500_000;

fn unreadable(error: &XlsxError) -> Unreadable {
    match error {
        XlsxError::Password => {
            Unreadable::new("This workbook has a password. Save it without one and choose it again")
        }
        _ => Unreadable::new(
            "This workbook cannot be read. Open it in the spreadsheet, save it again as .xlsx or as CSV, and choose that file",
        ),
    }
}

/// Reads the sheet that holds the list.
pub fn read(bytes: &[u8], wish: &Wish) -> Result<Raw, Unreadable> {
    unpacked::check(bytes)?;
    let mut book: Book = Xlsx::new(Cursor::new(bytes)).map_err(|e| unreadable(&e))?;
    let sheets: Vec<String> = book
        .sheets_metadata()
        .iter()
        .filter(|s| s.typ == SheetType::WorkSheet && s.visible == SheetVisible::Visible)
        .map(|s| s.name.clone())
        .collect();
    let sheet = match &wish.sheet {
        Some(wanted) if sheets.contains(wanted) => wanted.clone(),
        _ => the_list(&mut book, &sheets)?,
    };
    let mut cells = cells(&mut book, &sheet, MOST)?;
    let merged = book
        .merge_cells_by_sheet_name(&sheet)
        .map_err(|e| unreadable(&e))?;
    let mut left = MOST_MERGED;
    for area in merged {
        spread(&mut cells, area.start, area.end.0, &mut left)?;
    }
    Ok(Raw {
        lines: lines(cells)?,
        found: Found {
            sheet: Some(sheet),
            sheets,
            ..Found::default()
        },
    })
}

/// The first sheet whose first lines hold headings, else the first with anything in it.
fn the_list(book: &mut Book, sheets: &[String]) -> Result<String, Unreadable> {
    let mut first_filled = None;
    for sheet in sheets {
        let start = lines(cells(book, sheet, LOOK_AT)?)?;
        let first: Vec<&[String]> = start.iter().map(|line| line.cells.as_slice()).collect();
        let named = headings::heading_line(&first).map_or(0, |at| headings::recognised(first[at]));
        if named >= 2 {
            return Ok(sheet.clone());
        }
        if !start.is_empty() && first_filled.is_none() {
            first_filled = Some(sheet.clone());
        }
    }
    first_filled.ok_or_else(|| {
        Unreadable::new("No sheet of the workbook holds anything; nothing was brought in")
    })
}

/// The filled cells of a sheet, of at most so many lines.
fn cells(book: &mut Book, sheet: &str, most: usize) -> Result<Cells, Unreadable> {
    let mut reader = match book.worksheet_cells_reader(sheet) {
        Ok(reader) => reader,
        // A chart on a sheet of its own holds no cells.
        Err(XlsxError::NotAWorksheet(_)) => return Ok(Cells::new()),
        Err(error) => return Err(unreadable(&error)),
    };
    let mut cells = Cells::new();
    let mut text = 0_usize;
    while let Some(cell) = reader.next_cell().map_err(|e| unreadable(&e))? {
        let (row, column) = cell.get_position();
        let value = written(cell.get_value());
        if value.trim().is_empty() {
            continue;
        }
        if usize::try_from(column).unwrap_or(usize::MAX) >= MOST_COLUMNS {
            return Err(Unreadable::new(format!(
                "Line {} has more than {MOST_COLUMNS} columns; take out the columns the register does not need",
                row + 1
            )));
        }
        text += value.len();
        if text > MOST_TEXT || value.chars().count() > MOST_IN_CELL {
            return Err(Unreadable::new(
                "The sheet holds more than 48 MB of text; take out what the register does not need, or split it",
            ));
        }
        if !cells.contains_key(&row) && cells.len() >= most {
            if most == MOST {
                return Err(Unreadable::new(format!(
                    "The list has more than {MOST_LINES} lines; split it into several files"
                )));
            }
            break;
        }
        cells
            .entry(row)
            .or_default()
            .push((column, mend::unguarded(&value).to_owned()));
    }
    Ok(cells)
}

/// A cell merged over several lines stands for each of them. Only its first column is filled:
/// what is merged sideways is a title or one value, not the same value several times.
fn spread(
    cells: &mut Cells,
    start: (u32, u32),
    last_row: u32,
    left: &mut usize,
) -> Result<(), Unreadable> {
    let (row, column) = start;
    let in_column = |line: &[(u32, String)]| line.iter().position(|(c, _)| *c == column);
    let Some(value) = cells
        .get(&row)
        .and_then(|line| in_column(line).map(|at| line[at].1.clone()))
    else {
        return Ok(());
    };
    if last_row <= row {
        return Ok(());
    }
    // Only lines with something of their own: a merged cell alone makes no line.
    for (_, line) in cells.range_mut(row + 1..=last_row) {
        *left = left.checked_sub(1).ok_or_else(|| {
            Unreadable::new(
                "Too many cells of this sheet are merged; undo the merging, or save it as CSV",
            )
        })?;
        if in_column(line).is_none() {
            line.push((column, value.clone()));
        }
    }
    Ok(())
}

fn lines(cells: Cells) -> Result<Vec<Line>, Unreadable> {
    let mut intake = Intake::default();
    for (row, line) in cells {
        let width = line
            .iter()
            .map(|(column, _)| usize::try_from(*column).unwrap_or(0) + 1)
            .max()
            .unwrap_or(0);
        let mut texts = vec![String::new(); width];
        for (column, value) in line {
            if let Some(place) = usize::try_from(column).ok().and_then(|c| texts.get_mut(c)) {
                *place = value;
            }
        }
        intake.take(row.saturating_add(1), texts)?;
    }
    Ok(intake.into_lines())
}

/// A cell as text. A date becomes ISO text, so that nobody has to guess day and month.
fn written(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Int(number) => number.to_string(),
        DataRef::Float(number) => figure(*number),
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(yes) => if *yes { "yes" } else { "no" }.to_owned(),
        DataRef::DateTime(at) => day(*at),
        DataRef::String(text) | DataRef::DateTimeIso(text) | DataRef::DurationIso(text) => {
            text.clone()
        }
        DataRef::Error(error) => Data::Error(error.clone()).to_string(),
        DataRef::Empty => String::new(),
    }
}

/// A number as a spreadsheet shows it: at most 15 significant digits, so that 0.1 + 0.2 is 0.3.
fn figure(number: f64) -> String {
    if !number.is_finite() {
        return String::new();
    }
    let rounded: f64 = format!("{number:.14e}").parse().unwrap_or(number);
    format!("{rounded}")
}

fn day(at: ExcelDateTime) -> String {
    // A format of hours and minutes on a count of hours is no date; nor is the day before the first.
    if at.is_duration() || at.as_f64() < 1.0 {
        return figure(at.as_f64());
    }
    let (year, month, day, ..) = at.to_ymd_hms_milli();
    format!("{year:04}-{month:02}-{day:02}")
}
