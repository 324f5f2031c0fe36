//! Withdrawing a certificate: why, and the signature. It stays readable and says so for ever, on its
//! page and to whoever checks it; the gauge has to be tested again.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use super::show::confirm;
use crate::acts;
use crate::acts::certificates::Marking;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address, show};
use crate::record::certificate_mark::MarkKind;
use crate::record::pressure_test::Certificate;
use crate::record::{CertificateNumber, Moment, Refusal};
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    reason: String,
    password: String,
}

#[derive(Template)]
#[template(path = "pressure_tests/withdraw.html")]
struct Page {
    chrome: Chrome,
    kept: Certificate,
    typed: Typed,
    now: Moment,
    errors: Errors,
}

async fn page(
    app: &App,
    chrome: Chrome,
    number: &str,
    typed: Typed,
    errors: Errors,
) -> Result<Page, PageError> {
    let mut db = app.store().read().await?;
    let kept = store::issued::by_number(&mut db, number)
        .await?
        .ok_or(PageError::NotFound("certificate"))?;
    Ok(Page {
        now: app.clock().now(),
        chrome,
        kept,
        typed,
        errors,
    })
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    answer::page(&page(&app, chrome, &number, Typed::default(), Errors::none()).await?)
}

/// Withdraws it.
pub async fn withdraw(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    match withdraw_one(&app, &chrome, &number, &posted).await {
        Ok(to) => Ok(see_other(&to)),
        Err(error) => {
            let errors = form::refused(error)?;
            let typed = Typed {
                password: String::new(),
                ..posted.form
            };
            answer::refused(&page(&app, chrome, &number, typed, errors).await?)
        }
    }
}

async fn withdraw_one(
    app: &App,
    chrome: &Chrome,
    number: &str,
    posted: &Posted<Typed>,
) -> acts::Result<String> {
    let number: CertificateNumber = number
        .parse()
        .map_err(|_| Refusal::Missing("certificate"))?;
    confirm(app, chrome, &posted.form.password).await?;
    let mut deed = chrome.deed(&posted.key).await?;
    let marking = Marking {
        kind: MarkKind::Withdrawn,
        reason: &posted.form.reason,
        recall: None,
    };
    acts::certificates::mark(&mut deed, &number, marking).await?;
    let to = address::certificate(&number);
    deed.commit(&to).await?;
    Ok(to)
}
