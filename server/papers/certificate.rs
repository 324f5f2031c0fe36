//! The pressure test certificate as a paper: the page set from its record and its seal.
//! Nothing here decides or computes; the record comes in whole and `typeset` makes the PDF.

use serde::Serialize;
use serde_json::json;
use time::OffsetDateTime;

use super::typeset::{Beside, Sheet, printable, typeset_with};
pub use super::typeset::{Paper, PaperError};
use super::{attached, qr};
pub use crate::record::certificate::{
    Amount, CAUTIONS, CertificateRecord, Choice, FaceResult, GaugeTested, GaugeType,
    HeadCorrection, InstrumentUsed, PartRenewed, Party, Reading, Requirement, SCOPE, Signature,
    Superseded, TestDone, TestResult, Tightening,
};
use crate::record::seal::Seal;

/// What stands on a paper beside the record.
#[derive(Debug, Clone, Copy)]
pub enum Mark<'a> {
    /// It was signed; the text is the record as it was kept and signed.
    Sealed(&'a str, &'a Seal),
    /// It was issued before certificates were signed.
    Unsigned,
    /// It was not issued: a draft to be read before signing.
    Draft,
}

/// What is printed over a copy of a certificate that is not to be relied on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Stamp {
    /// `withdrawn`, `superseded` or `questioned`.
    pub word: &'static str,
    /// Since when.
    #[serde(with = "time::serde::rfc3339")]
    pub on: OffsetDateTime,
    /// Who said so.
    pub by: String,
    /// Why.
    pub reason: String,
    /// The certificate that replaced it, if one did.
    pub successor: Option<String>,
}

/// Sets a copy of a certificate that says on every page that it is not to be relied on. Record and
/// seal are attached as they were issued; the same stamp gives the same bytes.
///
/// # Errors
/// As [`pdf`].
pub fn stamped(
    record: &CertificateRecord,
    mark: Mark<'_>,
    stamp: &Stamp,
    paper: Paper,
) -> Result<Vec<u8>, PaperError> {
    set(record, mark, Some(stamp), paper)
}

/// Sets the certificate and returns the PDF; the same record, seal and paper give the same bytes.
///
/// This is some milliseconds of pure computation: a request hands it to a blocking thread.
///
/// # Errors
/// A [`PaperError`] when a character is in none of the embedded fonts, when the day of issue lies
/// outside the years 0 to 9999, or when the page cannot be set.
pub fn pdf(
    record: &CertificateRecord,
    mark: Mark<'_>,
    paper: Paper,
) -> Result<Vec<u8>, PaperError> {
    set(record, mark, None, paper)
}

fn set(
    record: &CertificateRecord,
    mark: Mark<'_>,
    stamp: Option<&Stamp>,
    paper: Paper,
) -> Result<Vec<u8>, PaperError> {
    let mut files = Vec::new();
    let seal = match mark {
        Mark::Sealed(kept, seal) => {
            files.push((attached::RECORD, kept.as_bytes().to_vec()));
            files.push(("seal.json", serde_json::to_vec(seal)?));
            let says = check_text(record, seal);
            json!({
                "code": seal.code, "sha256": seal.sha256, "signature": seal.signature,
                "key": seal.key.fingerprint, "qr": qr::svg(&says), "says": says,
            })
        }
        Mark::Unsigned | Mark::Draft => {
            files.push((attached::RECORD, serde_json::to_vec_pretty(record)?));
            serde_json::Value::Null
        }
    };
    // What somebody wrote on the day it was withdrawn has to come out on paper whatever its characters.
    let stamp = stamp.map(|stamp| Stamp {
        by: printable(&stamp.by),
        reason: printable(&stamp.reason),
        ..stamp.clone()
    });
    let told = [
        ("seal".to_owned(), seal),
        ("stamp".to_owned(), serde_json::to_value(&stamp)?),
        ("draft".to_owned(), matches!(mark, Mark::Draft).into()),
    ];
    let sheet = Sheet {
        template: include_str!("../../templates/papers/certificate.typ"),
        identity: &format!(
            "{} {} revision {}{}",
            record.title,
            record.number,
            record.revision,
            stamp
                .as_ref()
                .map_or_else(String::new, |stamp| format!(", {}", stamp.word))
        ),
        record,
        paper,
        dated: stamp.as_ref().map_or(record.issued_by.at, |stamp| stamp.on),
    };
    let beside = Beside {
        told: told.into_iter().collect(),
        files,
    };
    typeset_with(&sheet, &beside)
}

/// What the QR code says: the address that checks this certificate; where people have no address of
/// the register, the code alone, to be typed into its check page.
pub fn check_text(record: &CertificateRecord, seal: &Seal) -> String {
    match &record.check_at {
        Some(place) => format!("{place}?code={}", seal.code),
        None => format!("{} {}", record.number, seal.code),
    }
}
