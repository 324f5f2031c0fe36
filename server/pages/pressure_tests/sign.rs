//! Signing a certificate: what it will state, as words and as a draft of the paper, what the
//! signature means, and the password again. Correcting one that was issued is in `correct.rs`.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::IntoResponse;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::certificate::{own_paper, pdf_headers, typeset};
use super::show::confirm;
use crate::acts;
use crate::acts::pressure_tests::{Issuing, drafted, may_be_certified};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address, show};
use crate::papers::certificate::{CertificateRecord, Mark, Paper, pdf};
use crate::record::Moment;
use crate::record::certificate::MEANING_ISSUED;
use crate::record::person::Reads;
use crate::record::pressure_test::PressureTest;
use crate::store;

/// Offered as the reason; anything else may be written.
const USUAL: &str = "Return to service after a rebuild";
const USUAL_WITHOUT: &str = "Pressure test apart from a rebuild";

/// What is typed to sign.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    reason: String,
    password: String,
}

#[derive(Template)]
#[template(path = "pressure_tests/sign.html")]
struct Page {
    chrome: Chrome,
    test: PressureTest,
    record: CertificateRecord,
    /// Why it cannot be signed as things stand.
    against: Option<String>,
    now: Moment,
    typed: Typed,
    errors: Errors,
}

/// The address of the check page, where people have one of the register.
pub(super) fn check_at(app: &App) -> Option<String> {
    app.public_address()
        .map(|place| format!("{}{}", place.trim_end_matches('/'), address::CHECK))
}

async fn draft(
    db: &mut SqliteConnection,
    app: &App,
    chrome: &Chrome,
    number: &str,
    reason: &str,
) -> Result<(PressureTest, CertificateRecord), PageError> {
    let test = store::pressure_tests::by_number(&mut *db, number)
        .await?
        .ok_or(PageError::NotFound("pressure test"))?;
    let at = check_at(app);
    let issuing = Issuing {
        check_at: at.as_deref(),
        reason,
    };
    let by = (chrome.person().name.clone(), app.clock().now());
    let record = drafted(db, chrome.plant.clone(), test.clone(), issuing, by).await?;
    Ok((test, record))
}

impl Page {
    async fn new(
        app: &App,
        chrome: Chrome,
        number: &str,
        typed: Option<Typed>,
        errors: Errors,
    ) -> Result<Self, PageError> {
        let mut db = app.store().read().await?;
        let (test, record) = draft(&mut db, app, &chrome, number, "").await?;
        let against = match may_be_certified(&mut db, &test).await {
            Ok(()) => None,
            Err(acts::Error::Refused(refusal)) => Some(refusal.to_string()),
            Err(other) => return Err(other.into()),
        };
        let usual = if test.rebuild_id.is_some() {
            USUAL
        } else {
            USUAL_WITHOUT
        };
        Ok(Self {
            now: app.clock().now(),
            typed: typed.unwrap_or_else(|| Typed {
                reason: usual.to_owned(),
                password: String::new(),
            }),
            chrome,
            test,
            record,
            against,
            errors,
        })
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    answer::page(&Page::new(&app, chrome, &number, None, Errors::none()).await?)
}

/// The paper as it would be, marked as a draft and without number or seal.
pub async fn paper(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    let mut record = {
        let mut db = app.store().read().await?;
        draft(&mut db, &app, &chrome, &number, USUAL).await?.1
    };
    "draft".clone_into(&mut record.number);
    let paper = own_paper(&app).await?;
    let bytes = typeset(move || pdf(&record, Mark::Draft, paper)).await?;
    Ok((pdf_headers(&format!("draft-{number}")), bytes).into_response())
}

/// Issues the certificate.
pub async fn certify(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    match certify_one(&app, &chrome, &number, &posted).await {
        Ok(to) => Ok(see_other(&to)),
        Err(refused) => {
            let errors = refused.errors()?;
            let typed = Typed {
                password: String::new(),
                ..posted.form
            };
            answer::refused(&Page::new(&app, chrome, &number, Some(typed), errors).await?)
        }
    }
}

async fn certify_one(
    app: &App,
    chrome: &Chrome,
    number: &str,
    posted: &Posted<Typed>,
) -> Result<String, Unsigned> {
    confirm(app, chrome, &posted.form.password).await?;
    let at = check_at(app);
    let issuing = Issuing {
        check_at: at.as_deref(),
        reason: &posted.form.reason,
    };
    let mut deed = chrome.deed(&posted.key).await?;
    let issued = acts::pressure_tests::certify(&mut deed, number, issuing).await?;
    let to = address::certificate(&issued.record.number);
    // A certificate that no paper can show would stand in the register for ever.
    printable(issued).await?;
    deed.commit(&to).await?;
    Ok(to)
}

/// Makes sure that the paper of a certificate can be set, before it is kept.
pub(super) async fn printable(issued: acts::pressure_tests::Issued) -> Result<(), Unsigned> {
    let set = typeset(move || {
        pdf(
            &issued.record,
            Mark::Sealed(&issued.kept, &issued.seal),
            Paper::A4,
        )
    });
    match set.await {
        Ok(_) => Ok(()),
        Err(PageError::Refused(refusal)) => Err(Unsigned::Act(refusal.into())),
        Err(other) => Err(Unsigned::Page(other)),
    }
}

/// Why a signing was not done: by the register, or because a page could not be made.
pub(super) enum Unsigned {
    Act(acts::Error),
    Page(PageError),
}

impl Unsigned {
    /// The messages for the form, where it is the form's affair.
    pub(super) fn errors(self) -> Result<Errors, PageError> {
        match self {
            Self::Act(error) => form::refused(error),
            Self::Page(error) => Err(error),
        }
    }
}

impl From<acts::Error> for Unsigned {
    fn from(error: acts::Error) -> Self {
        Self::Act(error)
    }
}
