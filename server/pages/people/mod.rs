//! People: signing in and out and the own password for everybody; accounts for the administrator;
//! one-time addresses for whoever holds one. Roles are enforced from the table of routes.

pub mod account;
pub mod add;
pub mod figures;
pub mod first;
pub mod list;
pub mod once;
pub mod password;
pub mod send_again;
pub mod set_password;
pub mod sign_in;

use axum::http::HeaderMap;
use axum::http::header::{HOST, SET_COOKIE};
use axum::response::{IntoResponse, Response};
use axum_extra::extract::CookieJar;

use super::answer::see_other;
use super::{App, known_browser, security};
use crate::acts;
use crate::record::person::Role;
use crate::store::sessions::Asked;

/// The roles, for choosing one.
fn roles() -> Vec<(String, String)> {
    Role::ALL
        .iter()
        .map(|role| (role.word().to_owned(), role.shown().to_owned()))
        .collect()
}

/// A path as a whole address that can be handed to somebody: under the public address if one is
/// set, otherwise under the name this browser reached us by.
fn whole_address(app: &App, headers: &HeaderMap, path: &str) -> String {
    if let Some(base) = app.public_address() {
        return format!("{base}{path}");
    }
    let host = headers
        .get(HOST)
        .and_then(|h| h.to_str().ok())
        .unwrap_or("localhost");
    format!("http://{host}{path}")
}

/// Signs somebody in who has just chosen a password, and sends them on. Their browser is known from now.
async fn signed_in_to(
    app: &App,
    jar: &CookieJar,
    sign_in: &str,
    password: String,
    to: &str,
) -> acts::Result<Response> {
    let name = (sign_in, Asked::AtTheDoor);
    let (token, person) = acts::people::sign_in(app.store(), app.clock(), name, password).await?;
    let session = security::session_cookie(app, &token, acts::people::SESSION);
    let known = known_browser::cookie(app, jar, &person.sign_in);
    let mut response = see_other(to).into_response();
    for cookie in [session, known] {
        if let Ok(cookie) = cookie.to_string().parse() {
            response.headers_mut().append(SET_COOKIE, cookie);
        }
    }
    Ok(response)
}
