//! Reads a text file with columns: which letters it is written in, what stands between the
//! columns, and its lines. What the columns mean is not known here.

use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};

use super::reading::{Intake, Raw, Unreadable, Wish};
use super::table::{Delimiter, Found};
use super::{MOST_IN_CELL, headings, mend};

/// Lines read to find out what stands between the columns.
const TRIAL: usize = 40;
/// A cell that runs over so many lines has lost its closing quotation mark.
const MOST_LINES_OF_CELL: usize = 60;
/// Added below the last line: it comes back as a line of its own only if every quotation mark
/// above it was closed.
const END: &str = "\u{1}end of the list\u{1}";

/// Reads the file.
pub fn read(bytes: &[u8], wish: &Wish) -> Result<Raw, Unreadable> {
    let (text, encoding) = decoded(bytes, wish)?;
    let nulls = text.chars().take(4000).filter(|c| *c == '\0').count();
    let odd = text
        .chars()
        .take(4000)
        .filter(|c| c.is_control() && !matches!(c, '\t' | '\r' | '\n' | '\u{c}'))
        .count();
    if nulls > 0 || odd > 20 {
        return Err(Unreadable::new(
            "This file is not a text file with columns. Open it in the spreadsheet and save it as .xlsx or as CSV",
        ));
    }
    let (text, said, skipped) = said_delimiter(&text);
    let delimiter = wish.delimiter.or(said).unwrap_or_else(|| guessed(text));
    let lines = lines(text, delimiter, skipped)?;
    Ok(Raw {
        lines,
        found: Found {
            encoding: Some(encoding.name().to_owned()),
            delimiter: Some(delimiter),
            ..Found::default()
        },
    })
}

/// The file as text. Bytes that are no letters become U+FFFD; the cell they stand in is refused
/// later, with its line, so that the rest of the list is not lost.
fn decoded(bytes: &[u8], wish: &Wish) -> Result<(String, &'static Encoding), Unreadable> {
    let encoding = match &wish.encoding {
        Some(label) => Encoding::for_label(label.as_bytes()).ok_or_else(|| {
            Unreadable::new(format!("\u{201c}{label}\u{201d} is not a known encoding"))
        })?,
        None => encoding_of(bytes),
    };
    let (text, used, _) = encoding.decode(bytes);
    Ok((text.into_owned(), used))
}

fn encoding_of(bytes: &[u8]) -> &'static Encoding {
    if let Some((marked, _)) = Encoding::for_bom(bytes) {
        return marked;
    }
    if let Some(wide) = without_mark(bytes) {
        return wide;
    }
    match std::str::from_utf8(bytes) {
        Ok(_) => UTF_8,
        // Mostly sound UTF-8 with a few damaged places is damaged UTF-8, not another encoding.
        Err(_) if mostly_utf8(bytes) => UTF_8,
        Err(_) => {
            let mut detector =
                chardetng::EncodingDetector::new(chardetng::Iso2022JpDetection::Deny);
            detector.feed(bytes, true);
            detector.guess(None, chardetng::Utf8Detection::Deny)
        }
    }
}

/// UTF-16 without its mark: in a list most letters are ASCII, so every second byte is zero.
fn without_mark(bytes: &[u8]) -> Option<&'static Encoding> {
    let start = &bytes[..bytes.len().min(4000) & !1];
    if start.len() < 4 {
        return None;
    }
    let zero = |from: usize| {
        start
            .iter()
            .skip(from)
            .step_by(2)
            .filter(|b| **b == 0)
            .count()
    };
    let (even, odd, pairs) = (zero(0), zero(1), start.len() / 2);
    if odd * 10 > pairs * 7 && even * 10 < pairs {
        Some(UTF_16LE)
    } else if even * 10 > pairs * 7 && odd * 10 < pairs {
        Some(UTF_16BE)
    } else {
        None
    }
}

fn mostly_utf8(bytes: &[u8]) -> bool {
    let (mut sound, mut damaged) = (0_usize, 0_usize);
    for chunk in bytes.utf8_chunks() {
        sound += chunk.valid().chars().filter(|c| !c.is_ascii()).count();
        damaged += usize::from(!chunk.invalid().is_empty());
    }
    sound > damaged * 3
}

/// A first line "sep=;" says what stands between the columns; spreadsheets write and read it.
fn said_delimiter(text: &str) -> (&str, Option<Delimiter>, u32) {
    let first = text.lines().next().unwrap_or_default();
    let said = match first.trim().trim_matches('"') {
        "sep=," => Delimiter::Comma,
        "sep=;" => Delimiter::Semicolon,
        "sep=\\t" => Delimiter::Tab,
        _ if first.starts_with("sep=\t") => Delimiter::Tab,
        _ => return (text, None, 0),
    };
    let rest = text[first.len()..].trim_start_matches('\r');
    (rest.strip_prefix('\n').unwrap_or(rest), Some(said), 1)
}

/// What most likely stands between the columns: what makes most headings known and most lines
/// equally long.
fn guessed(text: &str) -> Delimiter {
    let mut best = (0, 0, Delimiter::Comma);
    for delimiter in Delimiter::ALL {
        let mut reader = builder(delimiter).from_reader(text.as_bytes());
        let mut record = csv::StringRecord::new();
        let mut trial: Vec<Vec<String>> = Vec::new();
        while trial.len() < TRIAL && reader.read_record(&mut record).unwrap_or(false) {
            trial.push(record.iter().map(ToOwned::to_owned).collect());
        }
        let first: Vec<&[String]> = trial.iter().map(Vec::as_slice).collect();
        let named = headings::heading_line(&first).map_or(0, |at| headings::recognised(first[at]));
        let mut widths: Vec<usize> = trial.iter().map(Vec::len).filter(|w| *w > 1).collect();
        widths.sort_unstable();
        let usual = widths.get(widths.len() / 2).copied().unwrap_or(0);
        let even = widths.iter().filter(|w| **w == usual).count() * usual.saturating_sub(1);
        if (named, even) > (best.0, best.1) {
            best = (named, even, delimiter);
        }
    }
    best.2
}

fn builder(delimiter: Delimiter) -> csv::ReaderBuilder {
    let mut builder = csv::ReaderBuilder::new();
    builder
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter.byte());
    builder
}

fn lines(
    text: &str,
    delimiter: Delimiter,
    skipped: u32,
) -> Result<Vec<super::table::Line>, Unreadable> {
    // One kind of line end, so that counting lines is counting one character.
    let one_end = text.replace("\r\n", "\n").replace('\r', "\n");
    let whole = format!("{}\n{END}\n", one_end.trim_end());
    let mut reader = builder(delimiter).from_reader(whole.as_bytes());
    let mut record = csv::StringRecord::new();
    let mut intake = Intake::default();
    let mut closed = false;
    // Lines inside cells make the file longer than the spreadsheet that shows it.
    let mut inside = 0_u64;
    let mut number = 0_u32;
    loop {
        let more = reader.read_record(&mut record).map_err(|_| {
            Unreadable::new(format!("Line {} of the file cannot be read", number + 1))
        })?;
        if !more {
            break;
        }
        if record.len() == 1 && record.get(0) == Some(END) {
            closed = true;
            break;
        }
        let broken: usize = record.iter().map(|cell| cell.matches('\n').count()).sum();
        inside += u64::try_from(broken).unwrap_or(0);
        // The reader stands below the line it just read, blank ones before it already counted; one
        // that ran to the end of the file has nothing below it.
        let ran_on = record.iter().any(|cell| cell.contains(END));
        let line = reader
            .position()
            .line()
            .saturating_sub(inside + u64::from(!ran_on));
        number = u32::try_from(line)
            .unwrap_or(u32::MAX)
            .saturating_add(skipped);
        let mut cells = Vec::with_capacity(record.len());
        for cell in &record {
            if broken > MOST_LINES_OF_CELL || cell.chars().count() > MOST_IN_CELL {
                return Err(unclosed(number));
            }
            cells.push(mend::unguarded(cell).to_owned());
        }
        if ran_on {
            return Err(unclosed(number));
        }
        intake.take(number, cells)?;
    }
    if closed {
        Ok(intake.into_lines())
    } else {
        Err(unclosed(number))
    }
}

fn unclosed(line: u32) -> Unreadable {
    Unreadable::new(format!(
        "A quotation mark opened in line {line} is never closed, so the lines below it run together. Mend that line and choose the file again"
    ))
}
