//! A test with gas, asked for and answered: energy and distance worked out before anybody decides,
//! and a second person's approval. Recording it afterwards is in `record.rs`.

use askama::Template;
use axum::extract::{Path, Query, State};
use rust_decimal::Decimal;
use serde::Deserialize;

use crate::acts;
use crate::calc::quantity::{PressureUnit, StampedPressure, Unit};
use crate::calc::stored_energy::Edition;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::GasRequestId;
use crate::record::gas_test::{GasFacts, GasRequest};
use crate::record::person::Role;
use crate::record::pressure_test::{Basis, asked};
use crate::store;
use crate::store::columns::{from_word, word};

/// Requests shown.
const SHOWN: i64 = 10;

/// What is asked, as it stands in the address before it is sent.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pressure: String,
    pressure_unit: String,
    litres: String,
    edition: String,
    reason: String,
}

/// The answer.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Answered {
    request: String,
    approved: String,
    until: String,
    words: String,
}

type Options = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "pressure_tests/gas.html")]
struct Page {
    chrome: Chrome,
    tag: String,
    typed: Typed,
    /// What was typed as an answer, where it was refused.
    answered: Answered,
    facts: Option<GasFacts>,
    /// What a test of this gauge has to reach, where it can be computed.
    required: Option<StampedPressure>,
    requests: Vec<GasRequest>,
    errors: Errors,
}

impl Page {
    fn pressures() -> Options {
        PressureUnit::ALL
            .iter()
            .map(|u| (u.ucum().to_owned(), u.symbol().to_owned()))
            .collect()
    }

    fn editions() -> Options {
        Edition::ALL
            .iter()
            .map(|edition| {
                // A choice is cut on a phone where it is long: what tells them apart stands first.
                let shown = match edition {
                    Edition::Of2022 => "2022: 501-II and 501-III",
                    Edition::Between => "between 2008 and 2022: 501, II and III",
                    Edition::Of2008 => "2008: 5.1, II and III",
                };
                (word(edition), shown.to_owned())
            })
            .collect()
    }

    /// What the gauge is asked to reach, where a test at this pressure stays below it.
    fn short_of(&self, pressure: &StampedPressure) -> Option<StampedPressure> {
        self.required
            .filter(|required| pressure.si() < required.si() * (1.0 - 1e-9))
    }

    fn may_answer(&self, request: &GasRequest) -> bool {
        request.answer.is_none()
            && request.person_id != self.chrome.person().id
            && self.chrome.may(&[Role::Inspector, Role::Engineer])
    }
}

fn facts(typed: &Typed) -> Result<GasFacts, Errors> {
    let mut read = Reader::new();
    let pressure: Option<StampedPressure> =
        read.stamped("pressure", &typed.pressure, &typed.pressure_unit);
    let litres = read
        .decimal("litres", &typed.litres)
        .filter(|v| *v > Decimal::ZERO);
    let edition = read.take(
        "edition",
        from_word::<Edition>(&typed.edition).ok_or("Choose the edition your procedure follows"),
    );
    let whole = (|| Some((pressure?, litres?, edition?)))();
    let (pressure, litres, edition) = read.finish(whole)?;
    GasFacts::new(pressure, litres, edition).map_err(|e| {
        let mut errors = Errors::none();
        let field = if e.input == "volume" {
            "litres"
        } else {
            "pressure"
        };
        errors.add(field, e.to_string());
        errors
    })
}

async fn page(
    app: &App,
    chrome: Chrome,
    tag: String,
    mut typed: Typed,
    errors: Errors,
) -> Result<Page, PageError> {
    let mut db = app.store().read().await?;
    let gauge = store::gauges::by_tag(&mut db, &tag)
        .await?
        .ok_or(PageError::NotFound("gauge"))?;
    let plan = store::test_plans::plan(&mut db, &chrome.plant, &gauge).await?;
    let asked = asked(&plan, &gauge.particulars, &Basis::default());
    let required = asked.ok().map(|asked| asked.required);
    if let Some(required) = required
        && typed.pressure.is_empty()
    {
        typed.pressure = required.value.to_string();
        required.unit.ucum().clone_into(&mut typed.pressure_unit);
    }
    let requests = store::gas_tests::of_gauge(&mut db, gauge.id, SHOWN).await?;
    Ok(Page {
        facts: facts(&typed).ok(),
        chrome,
        tag,
        typed,
        answered: Answered::default(),
        required,
        requests,
        errors,
    })
}

/// The page; with pressure and volume in the address, what such a test stores.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    Query(typed): Query<Typed>,
) -> Answer {
    let errors = if typed.litres.is_empty() {
        Errors::none()
    } else {
        facts(&typed).err().unwrap_or_default()
    };
    answer::page(&page(&app, chrome, tag, typed, errors).await?)
}

/// Asks for it.
pub async fn ask(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let to = address::gas_test(&tag);
    let errors = match facts(&posted.form) {
        Ok(facts) => {
            let done = async {
                let mut deed = chrome.deed(&posted.key).await?;
                acts::gas_tests::ask(&mut deed, &tag, &facts, &posted.form.reason).await?;
                deed.commit(&to).await
            };
            match done.await {
                Ok(()) => return Ok(see_other(&to)),
                Err(error) => form::refused(error)?,
            }
        }
        Err(errors) => errors,
    };
    answer::refused(&page(&app, chrome, tag, posted.form, errors).await?)
}

/// Answers a request.
pub async fn answer(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Answered>,
) -> Answer {
    let to = address::gas_test(&tag);
    let mut read = Reader::new();
    let until = read.date("until", &posted.form.until);
    let id: Option<i64> = read.take(
        "request",
        posted
            .form
            .request
            .parse()
            .map_err(|_| "Load the page again"),
    );
    let errors = match read.finish(id) {
        Ok(id) => {
            let done = async {
                let mut deed = chrome.deed(&posted.key).await?;
                let approved = posted.form.approved == "yes";
                let words = posted.form.words.as_str();
                acts::gas_tests::answer(
                    &mut deed,
                    &tag,
                    GasRequestId(id),
                    (approved, until, words),
                )
                .await?;
                deed.commit(&to).await
            };
            match done.await {
                Ok(()) => return Ok(see_other(&to)),
                Err(error) => form::refused(error)?,
            }
        }
        Err(errors) => errors,
    };
    let mut page = page(&app, chrome, tag, Typed::default(), errors).await?;
    page.answered = posted.form;
    answer::refused(&page)
}
