//! Stating the failure rate of one service class, with the ground it stands on.
//! What the record says stands beside it.

use askama::Template;
use axum::extract::{Path, State};
use serde::{Deserialize, Serialize};

use crate::acts;
use crate::acts::needs::ground;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::merge::{self, Field};
use crate::pages::{App, address};
use crate::record::Refusal;
use crate::record::need::{ClassRecord, Stated};

/// What is typed.
#[derive(Debug, Default, Clone, Serialize, Deserialize)]
#[serde(default)]
pub struct Typed {
    per_year: String,
    ground: String,
    version: i64,
    #[serde(skip_serializing)]
    opened: String,
}

const FIELDS: &[Field] = &[
    Field {
        name: "per_year",
        parts: &["per_year"],
    },
    Field {
        name: "ground",
        parts: &["ground"],
    },
];

#[derive(Template)]
#[template(path = "needs/rate.html")]
struct Page {
    chrome: Chrome,
    class: ClassRecord,
    now: (f64, String),
    typed: Typed,
    errors: Errors,
}

impl Typed {
    fn of(stated: Option<Stated>) -> Self {
        let typed = stated.map_or_else(Self::default, |stated| Self {
            per_year: stated.per_year.to_string(),
            ground: stated.ground,
            version: stated.version,
            opened: String::new(),
        });
        Self {
            opened: merge::opened(&typed),
            ..typed
        }
    }
}

async fn page(app: &App, chrome: Chrome, name: &str) -> Result<Page, PageError> {
    let mut db = app.store().read().await?;
    let ground = ground(&mut db, chrome.today).await?;
    let (class, rate, words) = ground
        .rates()
        .into_iter()
        .find(|(class, ..)| class.name.eq_ignore_ascii_case(name))
        .ok_or(PageError::NotFound("service class"))?;
    let stated = class.stated.clone();
    Ok(Page {
        chrome,
        class: class.clone(),
        now: (rate, words),
        typed: Typed::of(stated),
        errors: Errors::none(),
    })
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(name): Path<String>) -> Answer {
    answer::page(&page(&app, chrome, &name).await?)
}

/// States it.
pub async fn state(
    State(app): State<App>,
    chrome: Chrome,
    Path(name): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let page = page(&app, chrome, &name).await?;
    let typed = posted.form;
    let mut read = Reader::new();
    let per_year = read.decimal("per_year", &typed.per_year);
    let stated = read.finish(per_year.map(|per_year| Stated {
        class: page.class.class,
        per_year,
        ground: typed.ground.trim().to_owned(),
        version: typed.version,
    }));
    let errors = match stated {
        Ok(stated) => match state_one(&page, &posted.key, &stated).await {
            Ok(()) => return Ok(see_other(address::NEEDS_RATES)),
            Err(acts::Error::Refused(Refusal::Changed { by, .. })) => {
                return second_saver(page, typed, &by);
            }
            Err(error) => form::refused(error)?,
        },
        Err(errors) => errors,
    };
    answer::refused(&Page {
        typed,
        errors,
        ..page
    })
}

/// Both people's values, beside each field they both changed.
fn second_saver(page: Page, typed: Typed, by: &str) -> Answer {
    let opened = typed.opened.clone();
    let (merged, errors) = merge::merge(&opened, (typed, &page.typed), FIELDS, by, |_, values| {
        values.first().cloned().unwrap_or_default()
    });
    answer::refused(&Page {
        typed: Typed {
            version: page.typed.version,
            opened: page.typed.opened.clone(),
            ..merged
        },
        errors,
        ..page
    })
}

async fn state_one(page: &Page, key: &str, stated: &Stated) -> acts::Result<()> {
    let mut deed = page.chrome.deed(key).await?;
    acts::needs::state_rate(&mut deed, &page.class.name, stated).await?;
    deed.commit(address::NEEDS_RATES).await
}
