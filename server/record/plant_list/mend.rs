//! Lists written for people to fill in or mend: the refused lines with the reason behind each, and
//! the empty list with the headings the register likes. Cells can never start a formula.

use std::borrow::Cow;

use super::field::Field;
use super::plan::{Outcome, Plan};
use super::table::{Delimiter, Table};

/// The heading over the reasons. Coming back, the column is left out by itself.
pub const WHY: &str = "Why it was not taken in";
/// Makes a spreadsheet read the file as UTF-8.
const MARK: &[u8] = b"\xEF\xBB\xBF";

/// Whether a spreadsheet would run this cell as a formula. A plain number may begin with a sign.
fn starts_formula(cell: &str) -> bool {
    let Some(first) = cell.chars().next() else {
        return false;
    };
    match first {
        '=' | '@' | '\t' | '\r' | '\n' | '\u{ff1d}' | '\u{ff20}' | '\u{ff0b}' | '\u{ff0d}' => true,
        '+' | '-' => !cell[1..]
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | ' ')),
        _ => false,
    }
}

/// A cell as it is written into a file that a spreadsheet opens: what would start a formula gets
/// an apostrophe in front, which spreadsheets take for "this is text" (after OWASP's advice on CSV
/// injection).
#[must_use]
pub fn guarded(cell: &str) -> Cow<'_, str> {
    if starts_formula(cell) {
        Cow::Owned(format!("'{cell}"))
    } else {
        Cow::Borrowed(cell)
    }
}

/// A cell as it was before it was guarded, so that a mended file comes back as it was.
#[must_use]
pub fn unguarded(cell: &str) -> &str {
    match cell.strip_prefix('\'') {
        Some(rest) if starts_formula(rest) => rest,
        _ => cell,
    }
}

fn writer(delimiter: Delimiter) -> csv::Writer<Vec<u8>> {
    csv::WriterBuilder::new()
        .delimiter(delimiter.byte())
        .terminator(csv::Terminator::CRLF)
        .flexible(true)
        .from_writer(MARK.to_vec())
}

/// The refused lines under the list's own headings, with the reasons in a last column.
#[must_use]
pub fn refused_lines(table: &Table, plan: &Plan, delimiter: Delimiter) -> Vec<u8> {
    let old_reasons = table.headings.iter().position(|h| h.trim() == WHY);
    // Blank columns stay, so that the columns of a mended file stand where they stood.
    let columns: Vec<usize> = (0..table.width())
        .filter(|at| Some(*at) != old_reasons)
        .collect();
    let mut to = writer(delimiter);
    let mut put = |cells: &mut dyn Iterator<Item = Cow<'_, str>>, last: &str| {
        for cell in cells {
            // Writing into memory does not fail.
            let _ = to.write_field(cell.as_bytes());
        }
        let _ = to.write_field(guarded(last).as_bytes());
        let _ = to.write_record(None::<&[u8]>);
    };
    put(
        &mut columns.iter().map(|at| guarded(table.headings[*at].trim())),
        WHY,
    );
    for (line, outcome) in table.lines.iter().zip(&plan.outcomes) {
        if let Outcome::Refused(faults) = outcome {
            let why: Vec<String> = faults
                .iter()
                .map(|fault| format!("{}: {}", fault.field, fault.message))
                .collect();
            put(
                &mut columns.iter().map(|at| guarded(line.cell(*at))),
                &why.join(". "),
            );
        }
    }
    to.into_inner().unwrap_or_default()
}

/// The list to fill in: one line of headings, each with the unit its values are taken in.
#[must_use]
pub fn empty_list() -> Vec<u8> {
    let mut to = writer(Delimiter::Comma);
    let _ = to.write_record(Field::ALL.iter().filter_map(|field| field.heading()));
    to.into_inner().unwrap_or_default()
}
