//! The page on which anybody checks a certificate: a code, a PDF or the record as JSON goes in, and
//! what the register says of it comes out in plain words. Nobody has to be signed in.

use askama::Template;
use axum::extract::{DefaultBodyLimit, Multipart, Query, Request, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use serde::Deserialize;

use super::gate;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::{App, address, show, upload};
use crate::papers::certificate::CertificateRecord;
use crate::papers::check::{self, Asked, Finding, Verdict};
use crate::record::moment::Zone;
use crate::record::pressure_test::Certificate;
use crate::store;

/// The largest file looked at, bytes: a certificate has about a tenth of it.
const LARGEST: usize = 1024 * 1024;
/// What a form may hold beside the file, bytes.
const AROUND: usize = 64 * 1024;

/// What was typed, or came with a scanned square.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    code: String,
}

#[derive(Template)]
#[template(path = "check/ask.html")]
struct Page {
    plant: String,
    zone: Zone,
    demo: bool,
    code: String,
    file_name: String,
    found: Option<Finding>,
    wrong: &'static str,
}

impl Page {
    async fn new(app: &App, code: String) -> Result<Self, PageError> {
        let mut db = app.store().read().await?;
        let plant = store::plant::find(&mut db).await?;
        Ok(Self {
            plant: plant.as_ref().map_or_else(String::new, |p| p.name.clone()),
            demo: plant.as_ref().is_some_and(|p| p.demo),
            zone: plant.map_or_else(Zone::utc, |p| p.zone),
            code,
            file_name: String::new(),
            found: None,
            wrong: "",
        })
    }

    fn held(&self) -> Option<&(Certificate, CertificateRecord)> {
        self.found.as_ref()?.held.as_ref()
    }

    fn tested_on(&self) -> String {
        self.held()
            .map_or_else(String::new, |(_, r)| show::date(&r.test.started.date()))
    }

    fn stands(&self) -> bool {
        self.found
            .as_ref()
            .is_some_and(|found| matches!(found.verdict, Verdict::Genuine | Verdict::Unsigned))
    }

    /// Whether a code was typed that no certificate has.
    fn mistyped(&self) -> bool {
        let unknown = |found: &Finding| found.verdict == Verdict::Unknown;
        self.by_code() && self.found.as_ref().is_some_and(unknown)
    }

    /// Whether a code was asked about, and no file.
    fn by_code(&self) -> bool {
        !self.code.is_empty()
    }

    /// The answer as a headline.
    fn headline(&self) -> &'static str {
        match self.found.as_ref().map(|found| found.verdict) {
            None => "Check a certificate",
            Some(Verdict::Genuine) => "Genuine: issued as it is, and it stands",
            Some(Verdict::Unsigned) => "Agrees with the register, but was never signed with a key",
            Some(Verdict::Superseded) => "Superseded: a corrected certificate replaced it",
            Some(Verdict::Questioned) => "Questioned: do not rely on it before the plant decides",
            Some(Verdict::Withdrawn) => "Withdrawn: it does not stand any more",
            Some(Verdict::Altered) => "Altered: this is not what was issued",
            Some(Verdict::Unknown) if self.by_code() => "No certificate here has this code",
            Some(Verdict::Unknown) => "Unknown: not a certificate of this register",
        }
    }
}

fn too_many() -> axum::response::Response {
    let words = "Many people are checking certificates just now; wait a minute and try again.";
    (StatusCode::SERVICE_UNAVAILABLE, words).into_response()
}

fn too_often() -> axum::response::Response {
    let words =
        "Too many checks came from your address in this minute; wait a minute and try again.";
    (StatusCode::TOO_MANY_REQUESTS, words).into_response()
}

/// The page; with a code in the address, its answer too.
pub async fn show(State(app): State<App>, Query(typed): Query<Typed>, request: Request) -> Answer {
    let mut page = Page::new(&app, typed.code.trim().chars().take(300).collect()).await?;
    if !page.code.is_empty() {
        let from = gate::from(app.proxies(), request.extensions(), request.headers());
        if !app.gate().admits(&from, app.clock().now()) {
            return Ok(too_often());
        }
        let mut db = app.store().read().await?;
        page.found = Some(check::check(&mut db, Asked::Code(page.code.clone())).await?);
    }
    answer::page(&page)
}

/// Checks a file.
pub async fn upload(State(app): State<App>, mut request: Request) -> Answer {
    use axum::extract::FromRequest;
    let from = gate::from(app.proxies(), request.extensions(), request.headers());
    if !app.gate().admits(&from, app.clock().now()) {
        return Ok(too_often());
    }
    let Some(sending) = app.gate().sender() else {
        return Ok(too_many());
    };
    DefaultBodyLimit::max(LARGEST + AROUND).apply(&mut request);
    let form = Multipart::from_request(request, &app)
        .await
        .map_err(|error| PageError::BadForm(error.to_string()))?;
    let file = match upload::read_open(form, LARGEST).await {
        Err(PageError::TooLarge) => upload::Uploaded {
            too_large: true,
            ..upload::Uploaded::default()
        },
        read => read?,
    };
    drop(sending);
    let mut page = Page::new(&app, String::new()).await?;
    page.file_name = file.file_name;
    if file.too_large {
        page.wrong = "This file is larger than 1 MB, which no certificate is";
        return answer::refused(&page);
    }
    if file.bytes.is_empty() {
        page.wrong = "Choose the PDF, or the record from inside it";
        return answer::refused(&page);
    }
    // Only what has come whole takes a turn: whoever sends slowly keeps nobody else waiting.
    let _turn = app.gate().file().await;
    let mut db = app.store().read().await?;
    page.found = Some(check::check(&mut db, Asked::File(file.bytes)).await?);
    answer::page(&page)
}
