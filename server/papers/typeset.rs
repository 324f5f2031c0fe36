//! Typesetting: a template and a record become a PDF/A-3a with PDF/UA-1 tags, the same bytes each time.
//! Fonts are embedded and no clock, network or file is read; what a paper says is its own file's.
//!
//! A template finds `record.json` (what it states), `sheet.json` (the paper size and what is told beside
//! the record), files it may attach, and the shared files of `templates/papers`. Colours are device independent and every font is
//! embedded as a subset, as PDF/A asks; headings, tables and figures carry tags, as PDF/UA asks.

use std::collections::BTreeSet;
use std::sync::LazyLock;

use serde::Serialize;
use serde_json::{Value, json};
use time::OffsetDateTime;
use typst::diag::{FileError, FileResult, SourceDiagnostic};
use typst::foundations::{Bytes, Datetime, Duration, Smart};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Feature, Library, LibraryExt, World};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards, Timestamp};

pub use crate::record::plant::Paper;

/// The faces every paper is set in, and the fallback for Greek, Cyrillic and the signs of formulas.
const FACES: [&[u8]; 8] = [
    include_bytes!("../../static/fonts/papers/atkinson-next-regular.ttf"),
    include_bytes!("../../static/fonts/papers/atkinson-next-bold.ttf"),
    include_bytes!("../../static/fonts/papers/atkinson-mono-regular.ttf"),
    include_bytes!("../../static/fonts/papers/atkinson-mono-bold.ttf"),
    include_bytes!("../../static/fonts/papers/noto-sans-regular.ttf"),
    include_bytes!("../../static/fonts/papers/noto-sans-bold.ttf"),
    include_bytes!("../../static/fonts/papers/noto-sans-math.ttf"),
    include_bytes!("../../static/fonts/papers/noto-sans-symbols.ttf"),
];

/// The files a template may import.
const SHARED: [(&str, &str); 3] = [
    (
        "paper.typ",
        include_str!("../../templates/papers/paper.typ"),
    ),
    (
        "chart.typ",
        include_str!("../../templates/papers/chart.typ"),
    ),
    (
        "working.typ",
        include_str!("../../templates/papers/working.typ"),
    ),
];

/// Compilations a cached intermediate result outlives without being used again. What all papers share is
/// used by each and stays; what belongs to one paper alone is megabytes and goes after a few.
const CACHE_AGE: usize = 4;

/// The name the templates know a paper by.
const fn name_of(paper: Paper) -> &'static str {
    match paper {
        Paper::A4 => "a4",
        Paper::Letter => "us-letter",
    }
}

/// Why a paper could not be made.
#[derive(Debug, thiserror::Error)]
pub enum PaperError {
    /// A text holds characters no embedded font can show; printing a box instead would be worse.
    #[error("the paper cannot show these characters: {characters}; write the text with others")]
    Unprintable {
        /// Each of them, with its code point.
        characters: String,
    },
    /// The record cannot be written as data.
    #[error("the record cannot be written down")]
    Record(#[from] serde_json::Error),
    /// The day the paper bears cannot be written into a PDF.
    #[error("the date {0} cannot stand on a paper")]
    Date(OffsetDateTime),
    /// Template, fonts or profile are at fault, never the reader.
    #[error("the paper could not be set: {0}")]
    Typesetting(String),
}

/// A text with a question mark for each character no embedded font can show.
pub fn printable(text: &str) -> String {
    let Ok(desk) = DESK.as_ref() else {
        return text.to_owned();
    };
    text.chars()
        .map(|c| if desk.can_show(c) { c } else { '?' })
        .collect()
}

/// One paper to be set.
#[derive(Debug)]
pub struct Sheet<'a, R> {
    /// The source of its template.
    pub template: &'static str,
    /// Identifies the document through its revisions of layout; becomes the PDF's document id.
    pub identity: &'a str,
    /// What the template prints, as `record.json`.
    pub record: &'a R,
    /// The paper size.
    pub paper: Paper,
    /// The date of the document; there is no other clock.
    pub dated: OffsetDateTime,
}

/// Sets a paper and returns the PDF.
///
/// # Errors
/// [`PaperError`]: a character without a glyph, an impossible date, or a fault of the template. A
/// warning of the typesetter (page numbers that do not settle) is an error too, since the paper is
/// evidence.
pub fn typeset<R: Serialize>(sheet: &Sheet<'_, R>) -> Result<Vec<u8>, PaperError> {
    typeset_with(sheet, &Beside::default())
}

/// What a template finds beside its record.
#[derive(Debug, Default)]
pub struct Beside {
    /// Further fields of `sheet.json`.
    pub told: serde_json::Map<String, Value>,
    /// Files it may attach, by name.
    pub files: Vec<(&'static str, Vec<u8>)>,
}

/// Sets a paper that attaches files or is told more than its record.
///
/// # Errors
/// As [`typeset`].
pub fn typeset_with<R: Serialize>(
    sheet: &Sheet<'_, R>,
    beside: &Beside,
) -> Result<Vec<u8>, PaperError> {
    let desk = DESK
        .as_ref()
        .map_err(|fault| PaperError::Typesetting(fault.clone()))?;
    desk.check_characters(&serde_json::to_value(sheet.record)?)?;
    let timestamp = timestamp(sheet.dated).ok_or(PaperError::Date(sheet.dated))?;
    let mut told = json!({ "paper": name_of(sheet.paper) });
    if let Some(told) = told.as_object_mut() {
        told.extend(beside.told.clone());
    }
    let mut files = vec![
        (desk.record, Bytes::new(serde_json::to_vec(sheet.record)?)),
        (desk.sheet, Bytes::new(serde_json::to_vec(&told)?)),
    ];
    for (name, bytes) in &beside.files {
        let id = file(name).map_err(PaperError::Typesetting)?;
        files.push((id, Bytes::new(bytes.clone())));
    }
    let job = Job {
        desk,
        main: Source::new(desk.main, sheet.template.to_owned()),
        files,
        dated: sheet.dated,
    };

    let compiled = typst::compile::<PagedDocument>(&job);
    typst::comemo::evict(CACHE_AGE);
    if !compiled.warnings.is_empty() {
        return Err(fault(&job, &compiled.warnings));
    }
    let document = compiled.output.map_err(|errors| fault(&job, &errors))?;
    let options = PdfOptions {
        ident: Smart::Custom(sheet.identity.to_owned()),
        creator: Smart::Custom(Some("Gaugewright".to_owned())),
        timestamp: Some(timestamp),
        standards: desk.standards.clone(),
        ..PdfOptions::default()
    };
    let mut pdf = typst_pdf::pdf(&document, &options).map_err(|errors| fault(&job, &errors))?;
    unsaid(&mut pdf);
    Ok(pdf)
}

/// Leaves out two entries that state what holds without them and that a widely used reader, poppler up
/// to the release of Debian 12, takes for mistakes: `/Suspects false` (the default, ISO 32000-1 table
/// 321), and the colour of a table's rules as three numbers (table 344; the colour of the text then).
/// Spaces take their place, so that every offset in the file stays true.
fn unsaid(pdf: &mut [u8]) {
    const SUSPECTS: &[u8] = b"/Suspects false";
    const COLOR: &[u8] = b"/BorderColor[";
    let mut at = 0;
    while let Some(found) = pdf
        .get(at..)
        .and_then(|rest| rest.iter().position(|byte| *byte == b'/'))
    {
        at += found;
        let rest = pdf.get(at..).unwrap_or_default();
        let length = if rest.starts_with(SUSPECTS) {
            SUSPECTS.len()
        } else if rest.starts_with(COLOR) {
            three_numbers(rest.get(COLOR.len()..).unwrap_or_default())
                .map_or(0, |numbers| COLOR.len() + numbers)
        } else {
            0
        };
        if let Some(entry) = pdf.get_mut(at..at + length) {
            entry.fill(b' ');
        }
        at += length.max(1);
    }
}

/// How long "0.7 0.69 0.64]" is, where the text begins so.
fn three_numbers(text: &[u8]) -> Option<usize> {
    let end = text.iter().take(60).position(|byte| *byte == b']')?;
    let inside = std::str::from_utf8(text.get(..end)?).ok()?;
    let numbers: Vec<_> = inside.split(' ').map(str::parse::<f32>).collect();
    (numbers.len() == 3 && numbers.iter().all(Result::is_ok)).then_some(end + 1)
}

/// What all papers share, made once.
struct Desk {
    library: LazyHash<Library>,
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
    standards: PdfStandards,
    shared: Vec<Source>,
    main: FileId,
    record: FileId,
    sheet: FileId,
}

static DESK: LazyLock<Result<Desk, String>> = LazyLock::new(Desk::open);

impl Desk {
    fn open() -> Result<Self, String> {
        let fonts = FACES
            .iter()
            .map(|face| Font::new(Bytes::new(*face), 0).ok_or("an embedded font cannot be read"))
            .collect::<Result<Vec<_>, _>>()?;
        let shared = SHARED
            .iter()
            .map(|&(path, text)| Ok(Source::new(file(path)?, text.to_owned())))
            .collect::<Result<_, String>>()?;
        // The extra accessibility functions mark the first cell of a row as its header.
        let library = Library::builder()
            .with_features([Feature::A11yExtras].into_iter().collect())
            .build();
        Ok(Self {
            library: LazyHash::new(library),
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
            standards: PdfStandards::new(&[PdfStandard::A_3a, PdfStandard::Ua_1])
                .map_err(|refused| refused.message().to_string())?,
            shared,
            main: file("main.typ")?,
            record: file("record.json")?,
            sheet: file("sheet.json")?,
        })
    }

    /// Refuses a record with characters that would print as empty boxes.
    fn check_characters(&self, record: &Value) -> Result<(), PaperError> {
        let mut missing = BTreeSet::new();
        self.collect_missing(record, &mut missing);
        if missing.is_empty() {
            return Ok(());
        }
        let characters = missing
            .iter()
            .map(|&c| {
                let code = u32::from(c);
                if is_unseen(c) {
                    format!("U+{code:04X}")
                } else {
                    format!("\u{201c}{c}\u{201d} (U+{code:04X})")
                }
            })
            .collect::<Vec<_>>()
            .join(", ");
        Err(PaperError::Unprintable { characters })
    }

    fn collect_missing(&self, value: &Value, missing: &mut BTreeSet<char>) {
        match value {
            Value::String(text) => missing.extend(text.chars().filter(|&c| !self.can_show(c))),
            Value::Array(items) => {
                for item in items {
                    self.collect_missing(item, missing);
                }
            }
            Value::Object(fields) => {
                for field in fields.values() {
                    self.collect_missing(field, missing);
                }
            }
            Value::Null | Value::Bool(_) | Value::Number(_) => {}
        }
    }

    fn can_show(&self, c: char) -> bool {
        // The templates print these as spaces.
        if matches!(c, '\n' | '\r' | '\t' | '\u{2028}' | '\u{2029}' | '\u{3000}') {
            return true;
        }
        let code = u32::from(c);
        self.fonts
            .iter()
            .any(|font| font.info().coverage.contains(code))
    }
}

/// Characters that would make a message unreadable, or read backwards, if it held them.
fn is_unseen(c: char) -> bool {
    c.is_control()
        || c.is_whitespace()
        || matches!(c, '\u{200b}'..='\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2060}'..='\u{206f}' | '\u{feff}')
}

/// One compilation: the desk with the files of one paper.
struct Job<'a> {
    desk: &'a Desk,
    main: Source,
    files: Vec<(FileId, Bytes)>,
    dated: OffsetDateTime,
}

impl World for Job<'_> {
    fn library(&self) -> &LazyHash<Library> {
        &self.desk.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.desk.book
    }

    fn main(&self) -> FileId {
        self.desk.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        std::iter::once(&self.main)
            .chain(&self.desk.shared)
            .find(|source| source.id() == id)
            .cloned()
            .ok_or_else(|| absent(id))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.files
            .iter()
            .find(|(known, _)| *known == id)
            .map(|(_, bytes)| bytes.clone())
            .ok_or_else(|| absent(id))
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.desk.fonts.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        let date = self.dated.date();
        Datetime::from_ymd(date.year(), u8::from(date.month()), date.day())
    }
}

fn file(path: &str) -> Result<FileId, String> {
    let path = VirtualPath::new(path).map_err(|fault| format!("{path}: {fault:?}"))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

fn absent(id: FileId) -> FileError {
    FileError::NotFound(id.get().vpath().get_without_slash().into())
}

fn timestamp(at: OffsetDateTime) -> Option<Timestamp> {
    let (hour, minute, second) = at.to_hms();
    let year = u16::try_from(at.year())
        .ok()
        .filter(|&year| year <= 9_999)?;
    let moment = Datetime::from_ymd_hms(
        i32::from(year),
        u8::from(at.month()),
        at.day(),
        hour,
        minute,
        second,
    )?;
    if at.offset().is_utc() {
        Some(Timestamp::new_utc(moment))
    } else {
        Timestamp::new_local(moment, at.offset().whole_seconds() / 60)
    }
}

/// Joins what the typesetter says into one line for the log.
fn fault(job: &Job<'_>, diagnostics: &[SourceDiagnostic]) -> PaperError {
    let lines = diagnostics.iter().map(|diagnostic| {
        let place = diagnostic.span.id().map_or_else(String::new, |id| {
            let line = typst::WorldExt::range(job, diagnostic.span)
                .and_then(|range| job.source(id).ok()?.lines().byte_to_line(range.start))
                .map_or_else(String::new, |line| format!(" line {}", line + 1));
            format!("{}{line}: ", id.get().vpath().get_without_slash())
        });
        let hints = diagnostic
            .hints
            .iter()
            .fold(String::new(), |told, hint| told + " (" + &hint.v + ")");
        format!("{place}{}{hints}", diagnostic.message)
    });
    PaperError::Typesetting(lines.collect::<Vec<_>>().join("; "))
}
