//! The key certificates are signed with: which one, since when, and changing it for a new one, which
//! is the administrator's and asks for the password again.

use askama::Template;
use axum::extract::State;
use serde::Deserialize;

use crate::acts;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address, show};
use crate::record::Refusal;
use crate::record::person::Role;
use crate::store;
use crate::store::keys::KeyLine;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    reason: String,
    password: String,
}

#[derive(Template)]
#[template(path = "plant/keys.html")]
struct Page {
    chrome: Chrome,
    keys: Vec<KeyLine>,
    typed: Typed,
    errors: Errors,
}

impl Page {
    async fn new(
        app: &App,
        chrome: Chrome,
        typed: Typed,
        errors: Errors,
    ) -> Result<Self, PageError> {
        let mut db = app.store().read().await?;
        let keys = store::keys::all(&mut db).await?;
        Ok(Self {
            chrome,
            keys,
            typed,
            errors,
        })
    }

    fn administers(&self) -> bool {
        self.chrome.may(&[Role::Administrator])
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    answer::page(&Page::new(&app, chrome, Typed::default(), Errors::none()).await?)
}

/// Changes the key.
pub async fn change(State(app): State<App>, chrome: Chrome, posted: Posted<Typed>) -> Answer {
    match change_one(&app, &chrome, &posted).await {
        Ok(()) => Ok(see_other(address::SIGNING_KEY)),
        Err(error) => {
            let errors = form::refused(error)?;
            let typed = Typed {
                password: String::new(),
                ..posted.form
            };
            answer::refused(&Page::new(&app, chrome, typed, errors).await?)
        }
    }
}

async fn change_one(app: &App, chrome: &Chrome, posted: &Posted<Typed>) -> acts::Result<()> {
    if posted.form.password.is_empty() {
        let words = "Give your password: it stands for your signature";
        return Err(Refusal::field("password", words).into());
    }
    let password = posted.form.password.clone();
    acts::people::confirm(app.store(), app.clock(), chrome.person(), password).await?;
    let mut deed = chrome.deed(&posted.key).await?;
    acts::keys::change(&mut deed, &posted.form.reason).await?;
    deed.commit(address::SIGNING_KEY).await?;
    acts::keys::changed(app.store())
}
