//! Signing in and out. The message does not tell whether the name or the password was wrong.
//! Setting a password is another page.

use askama::Template;
use axum::extract::{Form, Query, Request, State};
use axum::http::StatusCode;
use axum::http::header::SET_COOKIE;
use axum::response::{IntoResponse, Response};
use axum_extra::extract::CookieJar;
use serde::Deserialize;

use super::send_again::{self, Held};
use crate::acts;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::form::{self, Errors};
use crate::pages::{App, address, known_browser, security};
use crate::store;

#[derive(Template)]
#[template(path = "people/sign_in.html")]
struct Page {
    plant: String,
    demo: bool,
    form: SignIn,
    errors: Errors,
}

/// What is typed.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct SignIn {
    name: String,
    password: String,
    next: String,
    /// A form that came when the session had ended, to be sent again after signing in.
    #[serde(flatten)]
    held: Held,
}

impl Page {
    async fn new(app: &App, form: SignIn, errors: Errors) -> Result<Self, store::Error> {
        let mut db = app.store().read().await?;
        let plant = store::plant::find(&mut db).await?;
        Ok(Self {
            plant: plant.as_ref().map_or_else(String::new, |p| p.name.clone()),
            demo: plant.is_some_and(|p| p.demo),
            form,
            errors,
        })
    }
}

/// The page.
pub async fn show(State(app): State<App>, Query(form): Query<SignIn>) -> Answer {
    answer::page(&Page::new(&app, form, Errors::none()).await?)
}

/// Signs in and goes on to the page that was asked for.
pub async fn sign_in(State(app): State<App>, jar: CookieJar, Form(form): Form<SignIn>) -> Answer {
    let name = (
        form.name.as_str(),
        known_browser::asked_of(&app, &jar, &form.name),
    );
    match acts::people::sign_in(app.store(), app.clock(), name, form.password.clone()).await {
        Ok((token, person)) => {
            // The old session of this browser ends, so that a token planted before is worth nothing.
            if let Some(old) = security::token_of(&app, &jar) {
                acts::people::sign_out(app.store(), &old).await?;
            }
            let cookie = security::session_cookie(&app, &token, acts::people::SESSION).to_string();
            let response = match form.held.form(&app, &person, &token) {
                Some(page) => answer::page(&page)?,
                None => see_other(local(&form.next)),
            };
            let known = known_browser::cookie(&app, &jar, &person.sign_in).to_string();
            Ok(with_cookie(with_cookie(response, &cookie), &known))
        }
        Err(error) => {
            let errors = form::refused(error)?;
            let kept = SignIn {
                password: String::new(),
                ..form
            };
            answer::refused(&Page::new(&app, kept, errors).await?)
        }
    }
}

/// Signs out.
pub async fn sign_out(State(app): State<App>, jar: CookieJar) -> Answer {
    if let Some(token) = security::token_of(&app, &jar) {
        acts::people::sign_out(app.store(), &token).await?;
    }
    Ok(with_cookie(
        see_other(address::SIGN_IN),
        &security::no_cookie(&app).to_string(),
    ))
}

/// A form that came when its session had ended: the sign-in page holds on to what was typed.
pub async fn signed_out(app: &App, request: Request) -> Response {
    let next = address::BOARD.to_owned();
    let held = send_again::hold(request).await;
    let form = SignIn {
        next,
        held,
        ..SignIn::default()
    };
    let page = async {
        let page = Page::new(app, form, Errors::none()).await?;
        answer::page(&page)
    };
    match page.await {
        Ok(page) => (StatusCode::UNAUTHORIZED, page).into_response(),
        Err(error) => error.into_response(),
    }
}

/// Only addresses of our own: nobody is sent elsewhere after signing in. Browsers drop a tab or a
/// line's end inside of an address, so nothing but visible ASCII is let through.
pub(super) fn local(next: &str) -> &str {
    if next.starts_with('/')
        && !next.starts_with("//")
        && !next.contains('\\')
        && next.bytes().all(|byte| byte.is_ascii_graphic())
    {
        next
    } else {
        address::BOARD
    }
}

fn with_cookie(mut response: Response, cookie: &str) -> Response {
    if let Ok(value) = cookie.parse() {
        response.headers_mut().append(SET_COOKIE, value);
    }
    response.into_response()
}
