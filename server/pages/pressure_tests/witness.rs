//! The witness of a test: who is named, who says that they saw it, and who that they did not. Both
//! answers are signatures and ask for the password again; the forms stand on the test's own page.

use axum::extract::{Path, State};
use serde::Deserialize;

use super::show::{Page, confirm};
use crate::acts;
use crate::acts::pressure_tests as tests;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Posted};
use crate::pages::{App, address};
use crate::record::{PersonId, Refusal};

/// What is typed: of the three forms each has its own part.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) witness: String,
    pub(super) reason: String,
    password: String,
}

/// What is said.
#[derive(Clone, Copy)]
enum Said {
    /// Who is to witness it.
    Named,
    /// That one saw it.
    Seen,
    /// That one did not see it.
    Unseen,
}

/// Signs as the witness of the test.
pub async fn witness(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    say(&app, chrome, &number, posted, Said::Seen).await
}

/// Says that one did not see it.
pub async fn decline(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    say(&app, chrome, &number, posted, Said::Unseen).await
}

/// Names the inspector who is to witness it.
pub async fn name(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    say(&app, chrome, &number, posted, Said::Named).await
}

async fn say(app: &App, chrome: Chrome, number: &str, posted: Posted<Typed>, said: Said) -> Answer {
    let errors = match say_one(app, &chrome, number, &posted, said).await {
        Ok(to) => return Ok(see_other(&to)),
        Err(error) => form::refused(error)?,
    };
    // Whoever did not see the test types again where they did, and not under the opposite statement.
    let errors = match said {
        Said::Unseen => errors.moved("password", "decline-password"),
        Said::Seen | Said::Named => errors,
    };
    let typed = Typed {
        password: String::new(),
        ..posted.form
    };
    let mut db = app.store().read().await?;
    answer::refused(&Page::new(&mut db, chrome, number, (typed, errors)).await?)
}

async fn say_one(
    app: &App,
    chrome: &Chrome,
    number: &str,
    posted: &Posted<Typed>,
    said: Said,
) -> acts::Result<String> {
    let typed = &posted.form;
    if !matches!(said, Said::Named) {
        confirm(app, chrome, &typed.password).await?;
    }
    let mut deed = chrome.deed(&posted.key).await?;
    match said {
        Said::Seen => tests::witness(&mut deed, number).await?,
        Said::Unseen => tests::decline(&mut deed, number, &typed.reason).await?,
        Said::Named => {
            let named = typed.witness.parse().map(PersonId);
            let named = named.map_err(|_| Refusal::field("witness", "Choose an inspector"))?;
            tests::ask(&mut deed, number, named).await?;
        }
    }
    let to = address::pressure_test(number);
    deed.commit(&to).await?;
    Ok(to)
}
