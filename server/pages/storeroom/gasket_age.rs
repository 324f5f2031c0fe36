//! How old the gaskets of a kit may become in service. Before another age is saved, the page says how
//! many gauges get another date; saving refreshes them all.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use crate::acts;
use crate::acts::gasket_ages;
use crate::acts::refresh_many::Effect;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::kit::{GasketAge, Kit};
use crate::store;

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    months: String,
    ground: String,
    version: i64,
    /// The age whose effect was shown, so that what is saved was weighed.
    weighed: String,
}

#[derive(Template)]
#[template(path = "storeroom/gasket_age.html")]
struct Page {
    chrome: Chrome,
    kit: Kit,
    before: GasketAge,
    typed: Typed,
    errors: Errors,
    effect: Option<Effect>,
}

impl Typed {
    fn read(&self) -> Result<GasketAge, Errors> {
        let mut read = Reader::new();
        let months = read.whole("months", &self.months, 1..=600);
        let ground = read.needed(
            "ground",
            &self.ground,
            500,
            "Say in 3 to 500 characters what it stands on",
        );
        read.finish(ground.map(|ground| GasketAge {
            months,
            ground,
            version: self.version,
        }))
    }
}

async fn page(app: &App, chrome: Chrome, number: &str) -> Result<Page, PageError> {
    let mut db = app.store().read().await?;
    let kit = store::kits::by_number(&mut db, number)
        .await?
        .ok_or(PageError::NotFound("kit"))?;
    let before = store::gasket_ages::of_kit(&mut db, kit.id)
        .await?
        .unwrap_or_default();
    Ok(Page {
        typed: Typed {
            months: before
                .months
                .map_or_else(String::new, |months| months.to_string()),
            ground: before.ground.clone(),
            version: before.version,
            weighed: String::new(),
        },
        chrome,
        kit,
        before,
        errors: Errors::none(),
        effect: None,
    })
}

/// The form with what is stated now.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    answer::page(&page(&app, chrome, &number).await?)
}

/// States it: another age is weighed first and saved once its effect was seen.
pub async fn state(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let page = page(&app, chrome, &number).await?;
    let typed = posted.form;
    let errors = match typed.read() {
        Ok(age) => {
            let weighed = format!("{:?}", age.months);
            let another = age.months != page.before.months && age.version == page.before.version;
            if another && weighed != typed.weighed {
                let today = page.chrome.today;
                match gasket_ages::effect(app.store(), &page.kit, &age, today).await {
                    Ok(effect) => {
                        return answer::page(&Page {
                            typed: Typed { weighed, ..typed },
                            effect: Some(effect),
                            ..page
                        });
                    }
                    Err(error) => form::refused(error)?,
                }
            } else {
                match state_one(&page, &posted.key, &age).await {
                    Ok(to) => return Ok(see_other(&to)),
                    Err(error) => form::refused(error)?,
                }
            }
        }
        Err(errors) => errors,
    };
    let version = page.before.version;
    answer::refused(&Page {
        typed: Typed { version, ..typed },
        errors,
        ..page
    })
}

async fn state_one(page: &Page, key: &str, age: &GasketAge) -> acts::Result<String> {
    let mut deed = page.chrome.deed(key).await?;
    gasket_ages::state(&mut deed, &page.kit, age).await?;
    let to = address::kit(&page.kit.number);
    deed.commit(&to).await?;
    Ok(to)
}
