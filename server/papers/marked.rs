//! What is printed over a copy of a certificate that is not to be relied on, from what was said of it
//! since it was issued. How the copy looks is in `certificate.rs`; the paper as issued has no such mark.

use sqlx::SqliteConnection;

use super::certificate::{CertificateRecord, Stamp};
use crate::record::certificate_mark::{Mark, MarkKind, Today, open_doubts};
use crate::record::pressure_test::Certificate;
use crate::store::{self, Error};

/// The marks of copies of one certificate.
#[derive(Debug, Clone)]
pub struct Stamps {
    /// What a copy bears today; nothing where the certificate stands.
    pub today: Option<Stamp>,
    /// Everything a copy bears today or bore earlier, today's first.
    pub ever: Vec<Stamp>,
}

/// What the copies of this certificate bear: that it was withdrawn, superseded or questioned, the worst of
/// it that is true today. A doubt that was settled since is borne by old copies only.
///
/// # Errors
/// The store's failure.
pub async fn stamps(db: &mut SqliteConnection, kept: &Certificate) -> Result<Stamps, Error> {
    let issued: CertificateRecord = serde_json::from_str(&kept.record)?;
    let offset = issued.issued_by.at.offset();
    let mut ever = Vec::new();
    let replaced = match &kept.superseded_by {
        Some(later) => store::issued::by_number(db, later.as_str()).await?,
        None => None,
    };
    let marks = store::certificates::marks(db, kept.id).await?;
    if let Some(mark) = marks.iter().find(|mark| mark.kind == MarkKind::Withdrawn) {
        ever.push(Stamp {
            word: Today::Withdrawn.word(),
            on: mark.at.at().to_offset(offset),
            by: mark.person.clone(),
            reason: mark.reason.clone(),
            successor: replaced.as_ref().map(|later| later.number.to_string()),
        });
    }
    if let Some(later) = replaced {
        let record: CertificateRecord = serde_json::from_str(&later.record)?;
        ever.push(Stamp {
            word: Today::Superseded.word(),
            on: record.issued_by.at,
            by: record.issued_by.name,
            reason: record.supersedes.map(|s| s.reason).unwrap_or_default(),
            successor: Some(later.number.to_string()),
        });
    }
    let doubted = doubt(&marks, offset);
    let today = ever.first().or(doubted.as_ref()).cloned();
    // Doubts as they stood after each mark, the latest first: a copy was marked with what was open then.
    for said in (1..=marks.len()).rev() {
        let Some(then) = marks.get(..said).and_then(|marks| doubt(marks, offset)) else {
            continue;
        };
        if !ever.contains(&then) {
            ever.push(then);
        }
    }
    Ok(Stamps { today, ever })
}

/// The doubts that are open after these marks, since the first of them.
fn doubt(marks: &[Mark], offset: time::UtcOffset) -> Option<Stamp> {
    let open = open_doubts(marks);
    let first = open.first()?;
    let by = open.iter().fold(Vec::new(), |mut names: Vec<&str>, mark| {
        if !names.contains(&mark.person.as_str()) {
            names.push(&mark.person);
        }
        names
    });
    let reasons: Vec<&str> = open.iter().map(|mark| mark.reason.as_str()).collect();
    Some(Stamp {
        word: Today::Questioned.word(),
        on: first.at.at().to_offset(offset),
        by: by.join(", "),
        reason: reasons.join("; "),
        successor: None,
    })
}
