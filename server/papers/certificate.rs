//! The pressure test certificate as a paper: the page set from its record.
//! Nothing here decides or computes; the record comes in whole and `typeset` makes the PDF.

pub use super::typeset::{Paper, PaperError};
use super::typeset::{Sheet, typeset};
pub use crate::record::certificate::{
    Amount, CAUTIONS, CertificateRecord, FaceResult, GaugeTested, GaugeType, HeadCorrection,
    InstrumentUsed, PartRenewed, Party, Reading, Requirement, SCOPE, Signature, Superseded,
    TestDone, TestResult, Tightening,
};

/// Sets the certificate and returns the PDF; the same record and paper give the same bytes.
///
/// This is some milliseconds of pure computation: a request hands it to a blocking thread.
///
/// # Errors
/// A [`PaperError`] when a character is in none of the embedded fonts, when the day of issue lies
/// outside the years 0 to 9999, or when the page cannot be set.
pub fn pdf(record: &CertificateRecord, paper: Paper) -> Result<Vec<u8>, PaperError> {
    typeset(&Sheet {
        template: include_str!("../../templates/papers/certificate.typ"),
        identity: &format!(
            "{} {} revision {}",
            record.title, record.number, record.revision
        ),
        record,
        paper,
        dated: record.issued_by.at,
    })
}
