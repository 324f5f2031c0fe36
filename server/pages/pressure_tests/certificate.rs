//! A certificate: its facts and hash as a page, and its paper set anew each time from the record
//! that was kept. Issuing one belongs to the page of its test.

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::IntoResponse;
use serde::Deserialize;

use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::papers::certificate::{CertificateRecord, Paper, PaperError, pdf};
use crate::record::Refusal;
use crate::record::certificate;
use crate::record::certificate_mark::{Mark, MarkKind, Standing, standing};
use crate::record::pressure_test::{Certificate, PressureTest};
use crate::store;

/// What the address of a paper ends in.
const PAPER: &str = ".pdf";

/// The paper asked for.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    paper: String,
}

#[derive(Template)]
#[template(path = "pressure_tests/certificate.html")]
struct Page {
    chrome: Chrome,
    kept: Certificate,
    record: CertificateRecord,
    test: PressureTest,
    marks: Vec<Mark>,
}

impl Page {
    /// How it stands after all its marks.
    fn standing(&self) -> Standing {
        standing(&self.marks)
    }

    /// Whether the record still gives the hash that was kept with it.
    fn hash_holds(&self) -> bool {
        certificate::hash(&self.kept.record) == self.kept.sha256
    }

    fn paper(&self, paper: &str) -> String {
        address::with_query(
            &address::certificate_pdf(&self.kept.number),
            &[("paper", paper.to_owned())],
        )
    }
}

/// The page, or the paper when the number ends in ".pdf".
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    let (plain, as_paper) = match number.strip_suffix(PAPER) {
        Some(plain) => (plain, true),
        None => (number.as_str(), false),
    };
    let (kept, test, marks) = {
        let mut db = app.store().read().await?;
        let kept = store::pressure_tests::certificate(&mut db, plain)
            .await?
            .ok_or(PageError::NotFound("certificate"))?;
        let test = store::pressure_tests::by_id(&mut db, kept.test_id)
            .await?
            .ok_or(PageError::NotFound("pressure test"))?;
        let marks = store::certificates::marks(&mut db, kept.id).await?;
        (kept, test, marks)
    };
    let record: CertificateRecord =
        serde_json::from_str(&kept.record).map_err(store::Error::from)?;
    if !as_paper {
        return answer::page(&Page {
            chrome,
            kept,
            record,
            test,
            marks,
        });
    }
    let paper = match asked.paper.as_str() {
        "" | "a4" => Paper::A4,
        "letter" => Paper::Letter,
        _ => return Err(PageError::NotFound("paper of that size")),
    };
    let name = format!("attachment; filename=\"{}{PAPER}\"", kept.number);
    let bytes = typeset(record, paper).await?;
    let headers = [
        (CONTENT_TYPE, "application/pdf".to_owned()),
        (CONTENT_DISPOSITION, name),
    ];
    Ok((headers, bytes).into_response())
}

/// Sets a certificate off the threads that answer requests.
///
/// # Errors
/// A refusal that names characters no font can show; otherwise that the paper could not be made.
pub(super) async fn typeset(record: CertificateRecord, paper: Paper) -> Result<Vec<u8>, PageError> {
    tokio::task::spawn_blocking(move || pdf(&record, paper))
        .await
        .map_err(|error| PageError::Paper(error.to_string()))?
        .map_err(|error| match error {
            PaperError::Unprintable { .. } => PageError::Refused(Refusal::not_now(format!(
                "The certificate cannot be printed: {error}"
            ))),
            other => PageError::Paper(other.to_string()),
        })
}
