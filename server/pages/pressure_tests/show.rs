//! One pressure test: the verdict and its reason, what is still to be signed, the hold record, the
//! working. Witnessing and issuing the certificate are signatures and ask for the password again.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;
use sqlx::SqliteConnection;

use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::hold_chart::HoldChart;
use crate::pages::{App, address, show};
use crate::papers::certificate::{CertificateRecord, Paper};
use crate::record::Refusal;
use crate::record::gauge::Gauge;
use crate::record::person::Role;
use crate::record::pressure_test::{PressureTest, TestResult};
use crate::record::rebuild::Rebuild;
use crate::store;

use super::certificate::typeset;

/// What is typed to sign.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Signing {
    password: String,
}

#[derive(Template)]
#[template(path = "pressure_tests/show.html")]
struct Page {
    chrome: Chrome,
    test: PressureTest,
    gauge: Gauge,
    rebuild: Option<Rebuild>,
    chart: Option<HoldChart>,
    errors: Errors,
}

impl Page {
    async fn new(
        db: &mut SqliteConnection,
        chrome: Chrome,
        number: &str,
        errors: Errors,
    ) -> Result<Self, PageError> {
        let test = found(db, number).await?;
        let gauge = store::gauges::by_id(db, test.gauge_id)
            .await?
            .ok_or(PageError::NotFound("gauge"))?;
        let rebuild = match test.rebuild_id {
            Some(id) => store::rebuilds::by_id(db, id).await?,
            None => None,
        };
        let chart = HoldChart::of(&test.facts);
        Ok(Self {
            chrome,
            test,
            gauge,
            rebuild,
            chart,
            errors,
        })
    }

    fn why(&self) -> String {
        self.test.facts.verdict().1
    }

    fn passed(&self) -> bool {
        self.test.result == TestResult::Passed
    }

    fn address_of(&self, rebuild: &Rebuild) -> String {
        address::rebuild(&self.gauge.particulars.tag, rebuild.ordinal)
    }

    fn inspects(&self) -> bool {
        self.chrome.may(&[Role::Inspector])
    }

    /// Whether the person looking made this test.
    fn own(&self) -> bool {
        self.chrome.person().id == self.test.person_id
    }

    fn may_witness(&self) -> bool {
        self.inspects() && !self.own() && self.test.witness.is_none()
    }

    fn may_certify(&self) -> bool {
        self.inspects()
            && self.passed()
            && self.test.witness.is_some()
            && self.test.certificate.is_none()
    }
}

async fn found(db: &mut SqliteConnection, number: &str) -> Result<PressureTest, PageError> {
    store::pressure_tests::by_number(db, number)
        .await?
        .ok_or(PageError::NotFound("pressure test"))
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    answer::page(&Page::new(&mut db, chrome, &number, Errors::none()).await?)
}

/// Signs as the witness of the test.
pub async fn witness(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Signing>,
) -> Answer {
    let done = witness_one(&app, &chrome, &number, &posted).await;
    answered(&app, chrome, &number, done.map_err(PageRefusal::from)).await
}

async fn witness_one(
    app: &App,
    chrome: &Chrome,
    number: &str,
    posted: &Posted<Signing>,
) -> acts::Result<String> {
    confirm(app, chrome, posted).await?;
    let mut deed = chrome.deed(&posted.key).await?;
    acts::pressure_tests::witness(&mut deed, number).await?;
    let to = address::pressure_test(number);
    deed.commit(&to).await?;
    Ok(to)
}

/// Issues the certificate.
pub async fn certify(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Signing>,
) -> Answer {
    let done = certify_one(&app, &chrome, &number, &posted).await;
    answered(&app, chrome, &number, done).await
}

async fn certify_one(
    app: &App,
    chrome: &Chrome,
    number: &str,
    posted: &Posted<Signing>,
) -> Result<String, PageRefusal> {
    confirm(app, chrome, posted).await?;
    let mut deed = chrome.deed(&posted.key).await?;
    let record = acts::pressure_tests::certify(&mut deed, number, |certificate| {
        app.public_address()
            .map(|place| format!("{place}{}", address::certificate(certificate)))
    })
    .await?;
    let to = address::certificate(&record.number);
    // A certificate that no paper can show would stand in the register for ever.
    printable(record).await?;
    deed.commit(&to).await?;
    Ok(to)
}

async fn printable(record: CertificateRecord) -> Result<(), PageRefusal> {
    match typeset(record, Paper::A4).await {
        Ok(_) => Ok(()),
        Err(PageError::Refused(refusal)) => Err(PageRefusal::Act(refusal.into())),
        Err(other) => Err(PageRefusal::Page(other)),
    }
}

async fn confirm(app: &App, chrome: &Chrome, posted: &Posted<Signing>) -> acts::Result<()> {
    let password = posted.form.password.clone();
    if password.is_empty() {
        let words = "Give your password: it stands for your signature";
        return Err(Refusal::field("password", words).into());
    }
    acts::people::confirm(app.store(), app.clock(), chrome.person(), password).await
}

/// Why a signing was not done: by the register, or because a page could not be made.
enum PageRefusal {
    Act(acts::Error),
    Page(PageError),
}

impl From<acts::Error> for PageRefusal {
    fn from(error: acts::Error) -> Self {
        Self::Act(error)
    }
}

async fn answered(
    app: &App,
    chrome: Chrome,
    number: &str,
    done: Result<String, PageRefusal>,
) -> Answer {
    let errors = match done {
        Ok(to) => return Ok(see_other(&to)),
        Err(PageRefusal::Page(error)) => return Err(error),
        Err(PageRefusal::Act(error)) => form::refused(error)?,
    };
    let mut db = app.store().read().await?;
    answer::refused(&Page::new(&mut db, chrome, number, errors).await?)
}
