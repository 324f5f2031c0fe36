//! The audit chain: each line is hashed together with the hash of the line before it, and carries
//! seals (hashes) of the rows its deed wrote. Reading and writing the lines is the store's affair.

use sha2::{Digest, Sha256};

use super::ids::{GaugeId, PersonId};
use super::moment::Moment;

/// The hash the first line is chained to.
pub const BEGINNING: [u8; 32] = [0; 32];

/// A line of the audit chain without its hash.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// Its number, from 1 without gaps.
    pub id: i64,
    /// When.
    pub at: Moment,
    /// Who, if somebody was signed in.
    pub person_id: Option<PersonId>,
    /// The name of who did it, as it was then.
    pub who: String,
    /// What was done, in a few words.
    pub deed: String,
    /// What it was done to.
    pub subject: String,
    /// The gauge concerned, if one is.
    pub gauge_id: Option<GaugeId>,
    /// Before and after as JSON, and the seals of the rows written.
    pub facts: String,
}

impl Line {
    /// SHA-256 over the hash of the line before and the fields of this one, each with its length
    /// in front so that no two lines can read the same.
    pub fn hash(&self, previous: &[u8]) -> [u8; 32] {
        let mut hasher = Sha256::new();
        hasher.update(previous);
        let person = self
            .person_id
            .map_or_else(String::new, |id| id.0.to_string());
        let gauge = self
            .gauge_id
            .map_or_else(String::new, |id| id.0.to_string());
        let fields = [
            self.id.to_string(),
            self.at.text(),
            person,
            self.who.clone(),
            self.deed.clone(),
            self.subject.clone(),
            gauge,
            self.facts.clone(),
        ];
        for field in fields {
            hasher.update((field.len() as u64).to_be_bytes());
            hasher.update(field.as_bytes());
        }
        hasher.finalize().into()
    }
}

/// A row written by a deed, sealed by the hash of its canonical text.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Seal {
    /// The table.
    pub table: String,
    /// The row.
    pub id: i64,
    /// SHA-256 of the row's canonical text, in hexadecimal.
    pub sha256: String,
}

/// Stands in a seal for the hash of a row that a deed took away (pressure-temperature points).
pub const GONE: &str = "gone";

/// Reads a seal as audit lines carry it: table, row and hash.
pub fn read_seal(text: &str) -> Option<(&str, i64, &str)> {
    let mut parts = text.splitn(3, '/');
    let table = parts.next()?;
    let id = parts.next()?.parse().ok()?;
    Some((table, id, parts.next()?))
}

/// Lower-case hexadecimal.
pub fn hex(bytes: &[u8]) -> String {
    bytes
        .iter()
        .fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
            const DIGITS: &[u8; 16] = b"0123456789abcdef";
            text.push(char::from(DIGITS[usize::from(byte >> 4)]));
            text.push(char::from(DIGITS[usize::from(byte & 15)]));
            text
        })
}

/// The bytes of a hexadecimal text; nothing where it is none.
pub fn unhex(text: &str) -> Option<Vec<u8>> {
    if !text.is_ascii() || !text.len().is_multiple_of(2) {
        return None;
    }
    (0..text.len())
        .step_by(2)
        .map(|i| u8::from_str_radix(text.get(i..i + 2)?, 16).ok())
        .collect()
}

/// SHA-256 of some bytes, in hexadecimal.
pub fn sha256_hex(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}
