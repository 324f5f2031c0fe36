//! The list as a plain table: headings and numbered lines of text, whatever file it came in. It is
//! kept as CSV while a person decides; what the columns mean is not known here.

use serde::{Deserialize, Serialize};

/// One line of the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its number in the file, as a spreadsheet counts.
    pub number: u32,
    /// Its cells; missing ones at the end are empty.
    pub cells: Vec<String>,
}

impl Line {
    /// The text of a column, without spaces around it.
    #[must_use]
    pub fn cell(&self, column: usize) -> &str {
        self.cells.get(column).map_or("", |cell| cell.trim())
    }
}

/// How a file was read, for showing and for reading it differently.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Found {
    /// The sheet of a workbook; none for a text file.
    pub sheet: Option<String>,
    /// Every sheet that can be seen in the workbook.
    #[serde(default)]
    pub sheets: Vec<String>,
    /// The letters of a text file ("UTF-8", "windows-1252").
    pub encoding: Option<String>,
    /// What stands between the columns of a text file.
    pub delimiter: Option<Delimiter>,
    /// The line the headings stand in.
    pub heading_line: u32,
    /// Blank lines between and below the others.
    pub blank: usize,
}

/// What stands between the columns of a text file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Delimiter {
    /// A comma.
    Comma,
    /// A semicolon.
    Semicolon,
    /// A tab.
    Tab,
}

impl Delimiter {
    /// Every one, the most usual first.
    pub const ALL: [Self; 3] = [Self::Comma, Self::Semicolon, Self::Tab];

    /// The character.
    #[must_use]
    pub const fn byte(self) -> u8 {
        match self {
            Self::Comma => b',',
            Self::Semicolon => b';',
            Self::Tab => b'\t',
        }
    }

    /// The word in forms.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Comma => "comma",
            Self::Semicolon => "semicolon",
            Self::Tab => "tab",
        }
    }

    /// The delimiter of that word.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|one| one.word() == word)
    }
}

/// A list as a table.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Table {
    /// The headings, one a column.
    pub headings: Vec<String>,
    /// The lines below them that are not blank.
    pub lines: Vec<Line>,
}

impl Table {
    /// How many columns there are.
    #[must_use]
    pub fn width(&self) -> usize {
        self.headings.len()
    }

    /// The heading of a column, or its letter where it has none.
    #[must_use]
    pub fn heading(&self, column: usize) -> String {
        match self
            .headings
            .get(column)
            .map(|heading| super::tidy(heading))
        {
            Some(heading) if !heading.is_empty() => heading,
            _ => format!("Column {}", letters(column)),
        }
    }

    /// Whether a column has neither heading nor anything in it.
    #[must_use]
    pub fn is_blank(&self, column: usize) -> bool {
        self.headings
            .get(column)
            .is_none_or(|heading| heading.trim().is_empty())
            && self.lines.iter().all(|line| line.cell(column).is_empty())
    }

    /// The first few different values of a column, for recognising it.
    #[must_use]
    pub fn samples(&self, column: usize, most: usize) -> Vec<&str> {
        let mut found: Vec<&str> = Vec::new();
        for line in &self.lines {
            let cell = line.cell(column);
            if !cell.is_empty() && !found.contains(&cell) {
                found.push(cell);
                if found.len() == most {
                    break;
                }
            }
        }
        found
    }

    /// The table as it is kept while a person decides.
    #[must_use]
    pub fn kept(&self) -> Vec<u8> {
        let mut to = csv::WriterBuilder::new()
            .flexible(true)
            .from_writer(Vec::new());
        // Writing into memory does not fail; a line that did would be missed by the reader's count.
        let _ = to.write_field("0");
        let _ = to.write_record(&self.headings);
        for line in &self.lines {
            let _ = to.write_field(line.number.to_string());
            let _ = to.write_record(&line.cells);
        }
        to.into_inner().unwrap_or_default()
    }

    /// Reads a kept table back.
    ///
    /// # Errors
    /// Names the line that cannot be read.
    pub fn from_kept(bytes: &[u8]) -> Result<Self, csv::Error> {
        let mut from = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .from_reader(bytes);
        let mut table = Self::default();
        let mut record = csv::StringRecord::new();
        let mut first = true;
        while from.read_record(&mut record)? {
            let mut cells = record.iter();
            let number = cells.next().and_then(|n| n.parse().ok()).unwrap_or(0);
            let cells: Vec<String> = cells.map(ToOwned::to_owned).collect();
            if first {
                table.headings = cells;
                first = false;
            } else {
                table.lines.push(Line { number, cells });
            }
        }
        Ok(table)
    }
}

/// The letters a spreadsheet gives a column: A, B, … Z, AA, ….
#[must_use]
pub fn letters(column: usize) -> String {
    let mut left = column + 1;
    let mut name = Vec::new();
    while left > 0 {
        let digit = u8::try_from((left - 1) % 26).unwrap_or(0);
        name.push(char::from(b'A' + digit));
        left = (left - 1) / 26;
    }
    name.iter().rev().collect()
}
