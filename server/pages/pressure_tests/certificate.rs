//! A certificate: its facts, seal and standing as a page; its paper, set anew from the record that
//! was kept; and the record and seal as files for other programs. Issuing is in `sign.rs`.

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE, HeaderName};
use axum::response::IntoResponse;
use serde::Deserialize;

use crate::acts;
use crate::acts::pressure_tests::{HandedOut, hand_out, may_be_corrected};
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::papers::certificate::{CertificateRecord, Paper, PaperError};
use crate::papers::{check, marked};
use crate::record::Refusal;
use crate::record::audit::sha256_hex;
use crate::record::certificate_mark::{Mark, Standing, standing};
use crate::record::person::Role;
use crate::record::pressure_test::{Certificate, PressureTest};
use crate::store;

/// What the address of a paper ends in.
const PAPER: &str = ".pdf";
/// What the address of the record ends in; it is looked for after that of the seal.
const RECORD: &str = ".json";
/// What the address of the seal ends in.
const SEAL: &str = ".seal.json";

/// The paper asked for.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    paper: String,
    /// `issued` for the paper as it was issued, though it is not to be relied on.
    r#as: String,
}

#[derive(Template)]
#[template(path = "pressure_tests/certificate.html")]
struct Page {
    chrome: Chrome,
    kept: Certificate,
    record: CertificateRecord,
    /// The plant's own size of paper.
    own_paper: Paper,
    test: PressureTest,
    issuer: String,
    /// Whether the record still gives its hash, and the signature is true.
    holds: bool,
    /// Whether this person may correct it.
    correctable: bool,
    /// What was said of it since.
    marks: Vec<Mark>,
    /// As what its copies are marked, where it is not to be relied on.
    marked: Option<&'static str>,
    /// Every certificate of the test.
    chain: Vec<Certificate>,
}

impl Page {
    /// How it stands after all its marks.
    fn standing(&self) -> Standing {
        standing(&self.marks)
    }

    fn paper(&self, paper: Paper, how: &str) -> String {
        let asked = [("paper", paper.word().to_owned()), ("as", how.to_owned())];
        address::with_query(&address::certificate_pdf(&self.kept.number), &asked)
    }

    /// The plant's own paper first: marked where it is not to be relied on, or as issued.
    fn papers(&self, how: &str) -> Vec<(Paper, String)> {
        let own = self.own_paper;
        let other = Paper::ALL.iter().copied().filter(|paper| *paper != own);
        std::iter::once(own)
            .chain(other)
            .map(|paper| (paper, self.paper(paper, how)))
            .collect()
    }

    fn replaced_because(&self) -> Option<String> {
        let later = self.kept.superseded_by.as_ref()?;
        let later = self.chain.iter().find(|c| c.number == *later)?;
        let record: CertificateRecord = serde_json::from_str(&later.record).ok()?;
        Some(record.supersedes?.reason)
    }
}

/// The page, or a file when the number ends in ".pdf", ".json" or ".seal.json".
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    let ending = [SEAL, RECORD, PAPER]
        .into_iter()
        .find(|ending| number.ends_with(ending));
    let plain = ending.map_or(number.as_str(), |ending| number.trim_end_matches(ending));
    let mut db = app.store().read().await?;
    let kept = store::issued::by_number(&mut db, plain)
        .await?
        .ok_or(PageError::NotFound("certificate"))?;
    let named = |mime: &str| {
        let name = format!("attachment; filename=\"{number}\"");
        [(CONTENT_TYPE, mime.to_owned()), (CONTENT_DISPOSITION, name)]
    };
    match ending {
        Some(RECORD) => return Ok((named("application/json"), kept.record).into_response()),
        Some(SEAL) => {
            let seal = kept
                .seal
                .ok_or(PageError::NotFound("seal of this certificate"))?;
            let text = serde_json::to_string_pretty(&seal).map_err(store::Error::from)?;
            return Ok((named("application/json"), text).into_response());
        }
        Some(_) => {
            drop(db);
            return paper(&app, &chrome, kept, &asked).await;
        }
        None => {}
    }
    let test = store::pressure_tests::by_id(&mut db, kept.test_id)
        .await?
        .ok_or(PageError::NotFound("pressure test"))?;
    let record: CertificateRecord =
        serde_json::from_str(&kept.record).map_err(store::Error::from)?;
    let own_paper = store::test_plans::paper(&mut db).await?;
    let chain = store::issued::of_test(&mut db, kept.test_id).await?;
    let marks = store::certificates::marks(&mut db, kept.id).await?;
    let marked = marked::stamps(&mut db, &kept).await?;
    let marked = marked.today.map(|stamp| stamp.word);
    let holds = sha256_hex(kept.record.as_bytes()) == kept.sha256
        && kept
            .seal
            .as_ref()
            .is_none_or(|seal| seal.holds(&kept.record));
    let correctable = chrome.may(&[Role::Inspector])
        && match may_be_corrected(&mut db, &kept).await {
            Ok(()) => true,
            Err(acts::Error::Refused(_)) => false,
            Err(other) => return Err(other.into()),
        };
    answer::page(&Page {
        chrome,
        issuer: record.issued_by.name.clone(),
        kept,
        record,
        own_paper,
        test,
        holds,
        correctable,
        marks,
        marked,
        chain,
    })
}

async fn paper(app: &App, chrome: &Chrome, kept: Certificate, asked: &Asked) -> Answer {
    let paper = match asked.paper.as_str() {
        "" => own_paper(app).await?,
        word => word
            .parse()
            .map_err(|_| PageError::NotFound("paper of that size"))?,
    };
    let record: CertificateRecord =
        serde_json::from_str(&kept.record).map_err(store::Error::from)?;
    let stamp = match asked.r#as.as_str() {
        "issued" => None,
        "" => {
            let mut db = app.store().read().await?;
            marked::stamps(&mut db, &kept).await?.today
        }
        _ => return Err(PageError::NotFound("paper of that kind")),
    };
    let (copy, mark) = (kept.clone(), stamp.as_ref().map(|stamp| stamp.word));
    let set = move || match &stamp {
        Some(stamp) => check::copy_of(&copy, &record, stamp, paper),
        None => check::paper_of(&copy, &record, paper),
    };
    let bytes = typeset(set).await?;
    let noted = HandedOut {
        marked: mark,
        ..HandedOut::new(&kept, paper.word(), sha256_hex(&bytes))
    };
    let who = acts::Who::from(chrome.person());
    hand_out(app.store(), app.clock(), who, &[noted]).await?;
    let name = match mark {
        Some(word) => format!("{}-{word}", kept.number),
        None => kept.number.to_string(),
    };
    Ok((pdf_headers(&name), bytes).into_response())
}

/// The plant's own size of paper.
pub(super) async fn own_paper(app: &App) -> store::Result<Paper> {
    let mut db = app.store().read().await?;
    store::test_plans::paper(&mut db).await
}

/// The headers of a paper.
pub(super) fn pdf_headers(name: &str) -> [(HeaderName, String); 2] {
    [
        (CONTENT_TYPE, "application/pdf".to_owned()),
        (
            CONTENT_DISPOSITION,
            format!("attachment; filename=\"{name}{PAPER}\""),
        ),
    ]
}

/// Sets a paper off the threads that answer requests.
///
/// # Errors
/// A refusal that names characters no font can show; otherwise that the paper could not be made.
pub(super) async fn typeset(
    set: impl FnOnce() -> Result<Vec<u8>, PaperError> + Send + 'static,
) -> Result<Vec<u8>, PageError> {
    tokio::task::spawn_blocking(set)
        .await
        .map_err(|error| PageError::Paper(error.to_string()))?
        .map_err(|error| match error {
            PaperError::Unprintable { .. } => PageError::Refused(Refusal::not_now(format!(
                "The certificate cannot be printed: {error}"
            ))),
            other => PageError::Paper(other.to_string()),
        })
}
