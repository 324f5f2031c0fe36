//! A form that was sent when its session had ended: held by the sign-in page, and shown to be sent
//! again once the same person is signed in. Passwords and files are not held.

use askama::Template;
use axum::extract::Request;
use axum::http::header::CONTENT_TYPE;
use serde::Deserialize;

use super::sign_in::local;
use crate::acts::people::Token;
use crate::pages::App;
use crate::pages::address;
use crate::pages::chrome::Signed;
use crate::record::person::Person;

/// The longest form held, bytes; the longest of ours, a bench sheet's, has some thousands.
const LONGEST: usize = 64 * 1024;

/// A form on its way through the sign-in page.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Held {
    /// Where it was sent to.
    pub to: String,
    /// Its fields as they were sent, without passwords.
    pub fields: String,
    /// Whether it could not be held, so that the page says so.
    pub lost: bool,
}

/// The page that sends it again.
#[derive(Template)]
#[template(path = "people/send_again.html")]
pub struct Page {
    to: String,
    key: String,
    fields: Vec<(String, String)>,
}

/// Holds what a request sent.
pub async fn hold(request: Request) -> Held {
    let lost = Held {
        lost: true,
        ..Held::default()
    };
    let plain = request
        .headers()
        .get(CONTENT_TYPE)
        .and_then(|kind| kind.to_str().ok())
        .is_some_and(|kind| kind.starts_with("application/x-www-form-urlencoded"));
    let to = request.uri().path().to_owned();
    if !plain || local(&to) == address::BOARD {
        return lost;
    }
    let Ok(body) = axum::body::to_bytes(request.into_body(), LONGEST).await else {
        return lost;
    };
    let Ok(mut fields) = serde_html_form::from_bytes::<Vec<(String, String)>>(&body) else {
        return lost;
    };
    fields.retain(|(name, _)| !secret(name));
    match serde_html_form::to_string(&fields) {
        Ok(fields) => Held {
            to,
            fields,
            lost: false,
        },
        Err(_) => lost,
    }
}

/// Fields that hold a password.
fn secret(name: &str) -> bool {
    matches!(name, "password" | "again" | "old")
}

impl Held {
    /// The page that sends it again, if this person began it.
    pub fn form(&self, app: &App, person: &Person, token: &Token) -> Option<Page> {
        if self.fields.is_empty() || self.fields.len() > 3 * LONGEST {
            return None;
        }
        let all: Vec<(String, String)> = serde_html_form::from_str(&self.fields).ok()?;
        let (keys, fields): (Vec<_>, Vec<_>) = all.into_iter().partition(|(name, _)| name == "key");
        let key = keys.into_iter().next()?.1;
        let form_secret = app.store().form_secret().clone();
        let signed = Signed::new(person.clone(), token.clone(), form_secret);
        let to = local(&self.to);
        (signed.owns(&key) && to != address::BOARD).then(|| Page {
            to: to.to_owned(),
            key,
            fields: fields
                .into_iter()
                .filter(|(name, _)| !secret(name))
                .collect(),
        })
    }
}
