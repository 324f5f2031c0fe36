//! The storeroom's rules for every kit without terms of its own: service level, days between two
//! looks, currency. One kit's own terms are another page.

use askama::Template;
use axum::extract::State;
use serde::Deserialize;

use crate::acts;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address};
use crate::record::need::{Rules, USUAL_LEVEL, USUAL_REVIEW};
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    service_level: String,
    review_days: String,
    currency: String,
    version: i64,
}

#[derive(Template)]
#[template(path = "needs/rules.html")]
struct Page {
    chrome: Chrome,
    typed: Typed,
    errors: Errors,
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    let rules = store::needs::rules(&mut *app.store().read().await?).await?;
    answer::page(&Page {
        chrome,
        typed: Typed {
            service_level: rules.service_level.normalize().to_string(),
            review_days: rules.review_days.to_string(),
            currency: rules.currency,
            version: rules.version,
        },
        errors: Errors::none(),
    })
}

fn parsed(t: &Typed) -> Result<Rules, Errors> {
    let mut read = Reader::new();
    let service_level = read.decimal("service_level", &t.service_level);
    let review_days = read.needed_whole("review_days", &t.review_days, 0..=366);
    let currency = read.text("currency", &t.currency, 8);
    let rules = service_level.zip(review_days);
    read.finish(rules.map(|(service_level, review_days)| Rules {
        service_level,
        review_days,
        currency,
        chosen: true,
        version: t.version,
    }))
}

/// Chooses them.
pub async fn choose(chrome: Chrome, posted: Posted<Typed>) -> Answer {
    let done = match parsed(&posted.form) {
        Ok(rules) => choose_them(&chrome, &posted.key, &rules)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(()) => Ok(see_other(address::NEEDS)),
        Err(errors) => answer::refused(&Page {
            chrome,
            typed: posted.form,
            errors: errors?,
        }),
    }
}

async fn choose_them(chrome: &Chrome, key: &str, rules: &Rules) -> acts::Result<()> {
    let mut deed = chrome.deed(key).await?;
    acts::needs::choose_rules(&mut deed, rules).await?;
    deed.commit(address::NEEDS).await
}
