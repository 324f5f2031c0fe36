//! Many certificates as one ZIP, written as it is read: papers, records, seals, an index as XLSX, the
//! public keys and a manifest of hashes. Which certificates, and where they come from, is its caller's.

use std::io::{Seek, Write};

use rust_xlsxwriter::{Format, Workbook, XlsxError};
use zip::result::ZipError;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use crate::record::audit::sha256_hex;
use crate::record::seal::PublicKey;

/// Why a bundle could not be written.
#[derive(Debug, thiserror::Error)]
pub enum BundleError {
    /// Whoever wanted it went away, or the disk is full.
    #[error("the ZIP could not be written: {0}")]
    Zip(#[from] ZipError),
    /// The same, in the middle of a file.
    #[error("the ZIP could not be written: {0}")]
    Write(#[from] std::io::Error),
    /// The index could not be made.
    #[error("the index could not be made: {0}")]
    Index(#[from] XlsxError),
}

/// One certificate of a bundle, or one line of the register.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// What the index says, by the columns of [`COLUMNS`].
    pub line: Vec<String>,
    /// The certificate's number, which names its files.
    pub number: String,
    /// Its paper.
    pub pdf: Vec<u8>,
    /// Its record.
    pub record: String,
    /// Its seal as JSON, where it has one.
    pub seal: Option<String>,
}

/// The columns of the index.
pub const COLUMNS: [&str; 12] = [
    "Certificate", "Standing", "Gauge", "Vessel", "Area", "Test", "Day of the test", "Held at",
    "Issued", "Issued by", "Replaced by", "SHA-256 of the record",
];

/// A ZIP under way.
pub struct Bundle<W: Write + Seek> {
    zip: ZipWriter<W>,
    manifest: String,
    index: Vec<Vec<String>>,
}

impl<W: Write + Seek> Bundle<W> {
    /// Begins one.
    pub fn new(zip: ZipWriter<W>) -> Self {
        Self {
            zip,
            manifest: String::new(),
            index: Vec::new(),
        }
    }

    /// Adds a certificate with its files.
    ///
    /// # Errors
    /// The ZIP cannot be written.
    pub fn add(&mut self, entry: Entry) -> Result<(), BundleError> {
        let number = &entry.number;
        self.file(&format!("certificates/{number}.pdf"), &entry.pdf)?;
        self.file(&format!("records/{number}.json"), entry.record.as_bytes())?;
        if let Some(seal) = &entry.seal {
            self.file(&format!("records/{number}.seal.json"), seal.as_bytes())?;
        }
        self.index.push(entry.line);
        Ok(())
    }

    /// Adds a public key.
    ///
    /// # Errors
    /// The ZIP cannot be written.
    pub fn key(&mut self, key: &PublicKey) -> Result<(), BundleError> {
        match key.pem() {
            Some(pem) => self.file(&format!("keys/{}.pem", key.fingerprint), pem.as_bytes()),
            None => Ok(()),
        }
    }

    /// Writes index and manifest and ends the ZIP.
    ///
    /// # Errors
    /// The ZIP cannot be written.
    pub fn finish(mut self, about: &str) -> Result<W, BundleError> {
        let index = sheet("Certificates", &COLUMNS, &self.index)?;
        self.file("index.xlsx", &index)?;
        self.file("about.txt", about.as_bytes())?;
        // The manifest itself cannot be in the manifest.
        let manifest = std::mem::take(&mut self.manifest);
        self.file("SHA256SUMS", manifest.as_bytes())?;
        Ok(self.zip.finish()?)
    }

    fn file(&mut self, name: &str, bytes: &[u8]) -> Result<(), BundleError> {
        // Papers are compressed inside; the date is left out so that the same content is the same ZIP.
        let method = if name.ends_with(".pdf") || name.ends_with(".xlsx") {
            CompressionMethod::Stored
        } else {
            CompressionMethod::Deflated
        };
        let options = SimpleFileOptions::default()
            .compression_method(method)
            .last_modified_time(zip::DateTime::default());
        self.zip.start_file(name, options)?;
        self.zip.write_all(bytes)?;
        self.manifest.push_str(&sha256_hex(bytes));
        self.manifest.push_str("  ");
        self.manifest.push_str(name);
        self.manifest.push('\n');
        Ok(())
    }
}

/// A table as an XLSX file: a head that stays in sight, and every value as text.
///
/// # Errors
/// The table is larger than a sheet may be.
pub fn sheet(name: &str, columns: &[&str], rows: &[Vec<String>]) -> Result<Vec<u8>, XlsxError> {
    let mut book = Workbook::new();
    // Without it the file would carry the time it was made, and never be the same twice.
    let made = rust_xlsxwriter::ExcelDateTime::from_ymd(2000, 1, 1)?;
    book.set_properties(
        &rust_xlsxwriter::DocProperties::new()
            .set_title(name)
            .set_creation_datetime(&made),
    );
    let head = Format::new().set_bold();
    let page = book.add_worksheet();
    page.set_name(name)?;
    page.set_freeze_panes(1, 0)?;
    for (place, column) in (0_u16..).zip(columns) {
        page.write_string_with_format(0, place, *column, &head)?;
    }
    for (place, row) in (1_u32..).zip(rows) {
        for (column, value) in (0_u16..).zip(row) {
            page.write_string(place, column, value)?;
        }
    }
    page.autofit();
    book.save_to_buffer()
}
