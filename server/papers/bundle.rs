//! Many certificates as one ZIP, written as it is read: papers, records, seals, an index as XLSX, the
//! public keys and a manifest of hashes. Which certificates, and where they come from, is its caller's.

use std::io::{Seek, Write};

use zip::result::ZipError;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::table::{Cell, Table, TableError, xlsx};
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
    Index(#[from] TableError),
}

/// One certificate of a bundle, or one line of the register.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// What the index says, by the columns of [`COLUMNS`].
    pub line: Vec<Cell>,
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
pub const COLUMNS: [(&str, u16); 12] = [
    ("Certificate", 18),
    ("Standing", 12),
    ("Gauge", 12),
    ("Vessel", 24),
    ("Area", 16),
    ("Test", 18),
    ("Day of the test", 14),
    ("Held at", 14),
    ("Issued", 20),
    ("Issued by", 22),
    ("Replaced by", 18),
    ("SHA-256 of the record", 66),
];

/// A ZIP under way.
pub struct Bundle<W: Write + Seek> {
    zip: ZipWriter<W>,
    manifest: String,
    index: Vec<Vec<Cell>>,
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
        let index = xlsx(&table(Vec::new(), std::mem::take(&mut self.index)))?;
        self.file("index.xlsx", &index)?;
        self.file("about.txt", about.as_bytes())?;
        // The manifest itself cannot be in the manifest.
        let manifest = std::mem::take(&mut self.manifest);
        self.file("SHA256SUMS", manifest.as_bytes())?;
        Ok(self.zip.finish()?)
    }

    fn file(&mut self, name: &str, bytes: &[u8]) -> Result<(), BundleError> {
        // Papers are compressed inside; the date is left out so that the same content is the same ZIP.
        let method = match name.rsplit_once('.') {
            Some((_, "pdf" | "xlsx")) => CompressionMethod::Stored,
            _ => CompressionMethod::Deflated,
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

/// The register of certificates as a table, with these lines above it.
pub fn table(notes: Vec<String>, rows: Vec<Vec<Cell>>) -> Table {
    Table {
        title: "Certificates".to_owned(),
        notes,
        headings: COLUMNS.to_vec(),
        rows,
    }
}
