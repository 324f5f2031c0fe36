//! What is printed over a copy of a certificate that does not stand any more, from what was said of it
//! since it was issued. How the copy looks is in `certificate.rs`; the paper as issued has no such mark.

use sqlx::SqliteConnection;

use super::certificate::{CertificateRecord, Stamp};
use crate::record::certificate_mark::MarkKind;
use crate::record::pressure_test::Certificate;
use crate::store::{self, Error};

/// Every mark a copy of this certificate may bear, the one it bears today first: that it was withdrawn,
/// and that it was superseded. None where it stands or is only questioned.
///
/// # Errors
/// The store's failure.
pub async fn stamps(db: &mut SqliteConnection, kept: &Certificate) -> Result<Vec<Stamp>, Error> {
    let issued: CertificateRecord = serde_json::from_str(&kept.record)?;
    let offset = issued.issued_by.at.offset();
    let mut list = Vec::new();
    let replaced = match &kept.superseded_by {
        Some(later) => store::issued::by_number(db, later.as_str()).await?,
        None => None,
    };
    let marks = store::certificates::marks(db, kept.id).await?;
    if let Some(mark) = marks.iter().find(|mark| mark.kind == MarkKind::Withdrawn) {
        list.push(Stamp {
            word: "withdrawn",
            on: mark.at.at().to_offset(offset),
            by: mark.person.clone(),
            reason: mark.reason.clone(),
            successor: replaced.as_ref().map(|later| later.number.to_string()),
        });
    }
    if let Some(later) = replaced {
        let record: CertificateRecord = serde_json::from_str(&later.record)?;
        list.push(Stamp {
            word: "superseded",
            on: record.issued_by.at,
            by: record.issued_by.name,
            reason: record.supersedes.map(|s| s.reason).unwrap_or_default(),
            successor: Some(later.number.to_string()),
        });
    }
    Ok(list)
}
