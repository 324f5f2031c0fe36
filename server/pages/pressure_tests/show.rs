//! One pressure test: the verdict and its reason, what is still to be signed, the hold record, the
//! working. Witnessing is a signature and asks for the password again; the certificate is signed on
//! a page of its own.

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
use crate::record::gauge::Gauge;
use crate::record::person::Role;
use crate::record::pressure_test::{PressureTest, TestResult};
use crate::record::rebuild::Rebuild;
use crate::record::{Refusal, TagNumber, TestNumber};
use crate::store;

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
    /// Every test that belongs together with this one.
    attempts: Vec<PressureTest>,
    /// The tests on the same pump.
    pump: Vec<(TestNumber, TagNumber, TestResult)>,
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
        let attempts = store::pressure_tests::attempts(db, &test).await?;
        let pump = store::pressure_tests::on_one_pump(db, &test).await?;
        Ok(Self {
            chrome,
            test,
            gauge,
            rebuild,
            chart,
            attempts,
            pump,
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
        self.test.made_by(self.chrome.person().id)
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
    let errors = match witness_one(&app, &chrome, &number, &posted).await {
        Ok(to) => return Ok(see_other(&to)),
        Err(error) => form::refused(error)?,
    };
    let mut db = app.store().read().await?;
    answer::refused(&Page::new(&mut db, chrome, &number, errors).await?)
}

async fn witness_one(
    app: &App,
    chrome: &Chrome,
    number: &str,
    posted: &Posted<Signing>,
) -> acts::Result<String> {
    confirm(app, chrome, &posted.form.password).await?;
    let mut deed = chrome.deed(&posted.key).await?;
    acts::pressure_tests::witness(&mut deed, number).await?;
    let to = address::pressure_test(number);
    deed.commit(&to).await?;
    Ok(to)
}

pub(super) async fn confirm(app: &App, chrome: &Chrome, password: &str) -> acts::Result<()> {
    if password.is_empty() {
        let words = "Give your password: it stands for your signature";
        return Err(Refusal::field("password", words).into());
    }
    let password = password.to_owned();
    acts::people::confirm(app.store(), app.clock(), chrome.person(), password).await
}
