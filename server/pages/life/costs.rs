//! Stating what a planned rebuild and a failure cost a service class; earlier statements stay readable.
//! What the costs advise stands on the page of the lives.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::CostId;
use crate::record::life::ClassCost;
use crate::record::plant::ServiceClass;
use crate::store;
use crate::store::life::StatedCost;

/// Statements listed.
const SHOWN: i64 = 20;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    planned: String,
    failure: String,
    bench_hours: String,
    ground: String,
    /// The row of the statement the form was opened with; 0 for none.
    seen: i64,
}

#[derive(Template)]
#[template(path = "life/costs.html")]
struct Page {
    chrome: Chrome,
    class: ServiceClass,
    stated: Vec<StatedCost>,
    currency: String,
    typed: Typed,
    errors: Errors,
}

impl Page {
    /// What has a price, with the currency where the plant names one.
    fn priced(&self, what: &str) -> String {
        if self.currency.is_empty() {
            what.to_owned()
        } else {
            format!("{what}, {}", self.currency)
        }
    }
}

async fn page(app: &App, chrome: Chrome, name: &str) -> Result<Page, PageError> {
    let mut db = app.store().read().await?;
    let class = store::plant::service_class_named(&mut db, name)
        .await?
        .ok_or(PageError::NotFound("service class"))?;
    let stated = store::life::costs(&mut db, class.id, SHOWN).await?;
    let typed = stated.first().map_or_else(Typed::default, |last| Typed {
        planned: last.cost.planned.to_string(),
        failure: last.cost.failure.to_string(),
        bench_hours: last
            .cost
            .bench_hours
            .map_or_else(String::new, |hours| hours.to_string()),
        ground: last.cost.ground.clone(),
        seen: last.id.0,
    });
    Ok(Page {
        currency: store::needs::rules(&mut db).await?.currency,
        chrome,
        class,
        stated,
        typed,
        errors: Errors::none(),
    })
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(name): Path<String>) -> Answer {
    answer::page(&page(&app, chrome, &name).await?)
}

/// States them.
pub async fn state(
    State(app): State<App>,
    chrome: Chrome,
    Path(name): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let page = page(&app, chrome, &name).await?;
    let to = address::life_part("lives", &[("class", page.class.id.0.to_string())]);
    let errors = match read(&posted.form) {
        Ok(cost) => match state_one(&page, &posted, &cost, &to).await {
            Ok(()) => return Ok(see_other(&to)),
            Err(error) => form::refused(error)?,
        },
        Err(errors) => errors,
    };
    let seen = page.typed.seen;
    answer::refused(&Page {
        typed: Typed {
            seen,
            ..posted.form
        },
        errors,
        ..page
    })
}

fn read(typed: &Typed) -> Result<ClassCost, Errors> {
    let mut read = Reader::new();
    let planned = read.decimal("planned", &typed.planned);
    let failure = read.decimal("failure", &typed.failure);
    let bench_hours = if typed.bench_hours.trim().is_empty() {
        None
    } else {
        read.decimal("bench_hours", &typed.bench_hours)
    };
    read.finish(planned.zip(failure).map(|(planned, failure)| ClassCost {
        planned,
        failure,
        bench_hours,
        ground: typed.ground.trim().to_owned(),
    }))
}

async fn state_one(
    page: &Page,
    posted: &Posted<Typed>,
    cost: &ClassCost,
    to: &str,
) -> acts::Result<()> {
    let mut deed = page.chrome.deed(&posted.key).await?;
    let seen = Some(posted.form.seen).filter(|row| *row > 0).map(CostId);
    acts::life::state_costs(&mut deed, &page.class, cost, seen).await?;
    deed.commit(to).await
}
