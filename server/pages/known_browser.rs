//! The cookie by which a browser shows that somebody has signed in with it before, so that their
//! attempts there are counted apart from a stranger's. It lets nobody in; that is the session's affair.

use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::{Cookie, SameSite};
use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;
use time::Duration;

use super::App;
use super::chrome::constant_time_equal;
use crate::record::audit::hex;
use crate::record::person;
use crate::store::sessions::Asked;

/// People one browser is known for: a tablet at the bench goes through many hands.
const PEOPLE: usize = 12;
/// Digits of one mark.
const MARK: usize = 32;
/// How long a browser is known after it was last used to sign in.
const KNOWN_FOR: Duration = Duration::days(120);

fn cookie_name(app: &App) -> &'static str {
    if app.behind_tls() {
        "__Host-gaugewright-known"
    } else {
        "gaugewright-known"
    }
}

/// The mark of a sign-in name, which nobody can make without the register's secret.
fn mark(app: &App, sign_in: &str) -> String {
    let Ok(mut mac) = Hmac::<Sha256>::new_from_slice(app.store().form_secret().bytes()) else {
        return String::new();
    };
    mac.update(b"known browser");
    mac.update(sign_in.to_lowercase().as_bytes());
    hex(&mac.finalize().into_bytes())[..MARK].to_owned()
}

fn marks(app: &App, jar: &CookieJar) -> Vec<String> {
    let Some(cookie) = jar.get(cookie_name(app)) else {
        return Vec::new();
    };
    let one = |text: &&str| text.len() == MARK;
    let several = cookie.value().split('.').filter(one).take(PEOPLE);
    several.map(str::to_owned).collect()
}

/// Where a password typed into this browser under this name is asked for.
pub fn asked_of(app: &App, jar: &CookieJar, typed: &str) -> Asked {
    let Ok(sign_in) = person::sign_in_name(typed) else {
        return Asked::AtTheDoor;
    };
    let own = mark(app, &sign_in);
    let known = marks(app, jar)
        .iter()
        .any(|mark| constant_time_equal(mark.as_bytes(), own.as_bytes()));
    if known {
        Asked::KnownBrowser
    } else {
        Asked::AtTheDoor
    }
}

/// The cookie after somebody signed in: theirs first, those longest away fall out.
pub fn cookie(app: &App, jar: &CookieJar, sign_in: &str) -> Cookie<'static> {
    let own = mark(app, sign_in);
    let mut all = marks(app, jar);
    all.retain(|mark| *mark != own);
    all.insert(0, own);
    all.truncate(PEOPLE);
    Cookie::build((cookie_name(app), all.join(".")))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .secure(app.behind_tls())
        .max_age(KNOWN_FOR)
        .build()
}
