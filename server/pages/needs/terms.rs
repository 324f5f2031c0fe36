//! What one kit costs, who supplies it, how safely it is stocked, and which kits may stand in for it.
//! What it is and how it comes is corrected on the kit's own page.

use askama::Template;
use axum::extract::{Path, State};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use sqlx::SqliteConnection;

use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::merge::{self, Field};
use crate::pages::{App, address, show};
use crate::record::Refusal;
use crate::record::kit::Kit;
use crate::record::need::{Rules, Terms};
use crate::store;
use crate::store::alternatives::Alternative;

/// What is typed.
#[derive(Debug, Default, Clone, Serialize, Deserialize)]
#[serde(default)]
pub struct Typed {
    cost: String,
    supplier: String,
    service_level: String,
    review_days: String,
    version: i64,
    #[serde(skip_serializing)]
    opened: String,
}

const FIELDS: &[Field] = &[
    Field {
        name: "cost",
        parts: &["cost"],
    },
    Field {
        name: "supplier",
        parts: &["supplier"],
    },
    Field {
        name: "service_level",
        parts: &["service_level"],
    },
    Field {
        name: "review_days",
        parts: &["review_days"],
    },
];

/// What is typed about another kit.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct StandIn {
    other: String,
    note: String,
    /// The row to take back; none to add one.
    row: i64,
}

#[derive(Template)]
#[template(path = "needs/terms.html")]
struct Page {
    chrome: Chrome,
    kit: Kit,
    rules: Rules,
    typed: Typed,
    other: StandIn,
    alternatives: Vec<Alternative>,
    errors: Errors,
}

impl Page {
    async fn of(
        db: &mut SqliteConnection,
        chrome: Chrome,
        kit: Kit,
        errors: Errors,
    ) -> store::Result<Self> {
        let terms = store::needs::terms(db, kit.id).await?;
        Ok(Self {
            rules: store::needs::rules(db).await?,
            alternatives: store::alternatives::of_kit(db, kit.id).await?,
            chrome,
            kit,
            typed: Typed::of(terms),
            other: StandIn::default(),
            errors,
        })
    }
}

/// A price as people write it: cents are two digits, and none of them where there are none.
fn price(cost: Decimal) -> String {
    let cost = cost.normalize();
    if cost.scale() == 1 {
        format!("{cost:.2}")
    } else {
        cost.to_string()
    }
}

impl Typed {
    fn of(terms: Terms) -> Self {
        let text =
            |value: Option<Decimal>| value.map_or_else(String::new, |v| v.normalize().to_string());
        let typed = Self {
            cost: terms.cost.map_or_else(String::new, price),
            supplier: terms.supplier,
            service_level: text(terms.service_level),
            review_days: terms
                .review_days
                .map_or_else(String::new, |d| d.to_string()),
            version: terms.version,
            opened: String::new(),
        };
        Self {
            opened: merge::opened(&typed),
            ..typed
        }
    }
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let kit = found(&mut db, &number).await?;
    answer::page(&Page::of(&mut db, chrome, kit, Errors::none()).await?)
}

fn parsed(t: &Typed) -> Result<Terms, Errors> {
    let mut read = Reader::new();
    let mut decimal = |field: &'static str, text: &str| {
        if text.trim().is_empty() {
            None
        } else {
            read.decimal(field, text)
        }
    };
    let cost = decimal("cost", &t.cost);
    let service_level = decimal("service_level", &t.service_level);
    let terms = Terms {
        cost,
        service_level,
        supplier: read.text("supplier", &t.supplier, 120),
        review_days: read.whole("review_days", &t.review_days, 0..=366),
        version: t.version,
    };
    read.finish(Some(terms))
}

/// Settles them.
pub async fn settle(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let kit = found(&mut *app.store().read().await?, &number).await?;
    let error = match parsed(&posted.form) {
        Ok(terms) => match settle_them(&chrome, &posted.key, &kit, &terms).await {
            Ok(to) => return Ok(see_other(&to)),
            Err(error) => error,
        },
        Err(errors) => acts::Error::Refused(errors.into_refusal()),
    };
    let mut db = app.store().read().await?;
    let typed = posted.form;
    if let acts::Error::Refused(Refusal::Changed { by, .. }) = &error {
        let page = Page::of(&mut db, chrome, kit, Errors::none()).await?;
        let (opened, fresh) = (typed.opened.clone(), &page.typed);
        let (merged, errors) = merge::merge(&opened, (typed, fresh), FIELDS, by, |_, values| {
            values.first().cloned().unwrap_or_default()
        });
        let typed = Typed {
            version: fresh.version,
            opened: fresh.opened.clone(),
            ..merged
        };
        return answer::refused(&Page {
            typed,
            errors,
            ..page
        });
    }
    let page = Page::of(&mut db, chrome, kit, form::refused(error)?).await?;
    answer::refused(&Page { typed, ..page })
}

async fn settle_them(chrome: &Chrome, key: &str, kit: &Kit, terms: &Terms) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::needs::settle_terms(&mut deed, kit, terms).await?;
    let to = address::need(&kit.number);
    deed.commit(&to).await?;
    Ok(to)
}

/// Names a kit that may stand in, or takes one back.
pub async fn stand_in(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<StandIn>,
) -> Answer {
    let kit = found(&mut *app.store().read().await?, &number).await?;
    match stand_in_one(&chrome, &posted, &kit).await {
        Ok(to) => Ok(see_other(&to)),
        Err(error) => {
            let errors = form::refused(error)?;
            let mut db = app.store().read().await?;
            let page = Page::of(&mut db, chrome, kit, errors).await?;
            let other = posted.form;
            answer::refused(&Page { other, ..page })
        }
    }
}

async fn stand_in_one(
    chrome: &Chrome,
    posted: &Posted<StandIn>,
    kit: &Kit,
) -> acts::Result<String> {
    let mut deed = chrome.deed(&posted.key).await?;
    let typed = &posted.form;
    if typed.row == 0 {
        acts::needs::add_alternative(&mut deed, kit, &typed.other, &typed.note).await?;
    } else {
        acts::needs::remove_alternative(&mut deed, kit, typed.row).await?;
    }
    let to = address::need_part(&kit.number, "terms");
    deed.commit(&to).await?;
    Ok(to)
}

async fn found(db: &mut SqliteConnection, number: &str) -> Result<Kit, PageError> {
    store::kits::by_number(db, number)
        .await?
        .ok_or(PageError::NotFound("kit"))
}
