//! From an error to an answer: status, page and log line. The only place that does so, without a
//! catch-all, so that a new kind of error has to be thought about here.

use askama::Template;
use axum::http::StatusCode;
use axum::http::header::{LOCATION, RETRY_AFTER};
use axum::response::{Html, IntoResponse, Response};

use super::address;
use super::show;
use crate::acts;
use crate::record::Refusal;
use crate::store;

/// Why a page could not be shown.
#[derive(Debug, thiserror::Error)]
pub enum PageError {
    /// Nothing of that kind under that address.
    #[error("no such {0}")]
    NotFound(&'static str),
    /// Signed in, but not for this.
    #[error("not for this role")]
    Forbidden,
    /// The register said no and the page has no form to say it in.
    #[error("{0}")]
    Refused(Refusal),
    /// What was posted is not what the page posts.
    #[error("bad form: {0}")]
    BadForm(String),
    /// The form was sent from a page of another site.
    #[error("posted from another site")]
    CrossSite,
    /// What was posted is too large.
    #[error("too large")]
    TooLarge,
    /// As much is being done as the program takes on at a time.
    #[error("too much to do at the moment")]
    Busy,
    /// The store failed.
    #[error(transparent)]
    Store(store::Error),
    /// A template failed.
    #[error("template: {0}")]
    Template(#[from] askama::Error),
    /// A paper could not be made.
    #[error("paper: {0}")]
    Paper(String),
    /// Not an error to a person: go there instead.
    #[error("see {0}")]
    SeeOther(String),
}

/// What a handler answers.
pub type Answer = Result<Response, PageError>;

impl From<store::Error> for PageError {
    fn from(error: store::Error) -> Self {
        match error {
            store::Error::Refused(refusal) => Self::Refused(refusal),
            busy if busy.busy() => {
                tracing::warn!(cause = %busy, "somebody waited in vain for a connection");
                Self::Busy
            }
            other => Self::Store(other),
        }
    }
}

impl From<acts::Error> for PageError {
    fn from(error: acts::Error) -> Self {
        match error {
            acts::Error::Refused(Refusal::Missing(what)) => Self::NotFound(what),
            acts::Error::Refused(refusal) => Self::Refused(refusal),
            acts::Error::Store(error) => Self::from(error),
            acts::Error::DoneBefore(answer) => Self::SeeOther(answer),
            acts::Error::Busy => Self::Busy,
        }
    }
}

#[derive(Template)]
#[template(path = "parts/trouble.html")]
struct Trouble {
    title: &'static str,
    words: String,
    next: &'static str,
    next_words: &'static str,
    reference: Option<String>,
}

/// Renders a page.
///
/// # Errors
/// The template failed.
pub fn page(template: &impl Template) -> Answer {
    Ok(Html(template.render()?).into_response())
}

/// Renders a page that was refused: what was typed, with messages beside the fields.
///
/// # Errors
/// The template failed.
pub fn refused(template: &impl Template) -> Answer {
    Ok((StatusCode::UNPROCESSABLE_ENTITY, Html(template.render()?)).into_response())
}

/// Sends the browser on after something was done.
pub fn see_other(to: &str) -> Response {
    (StatusCode::SEE_OTHER, [(LOCATION, to.to_owned())]).into_response()
}

/// A short number that joins what a person saw with the line in the log.
fn reference() -> String {
    let mut bytes = [0_u8; 4];
    let _ = getrandom::fill(&mut bytes);
    crate::record::audit::hex(&bytes)
}

/// A refusal on a page that has no field to say it beside.
fn said(refusal: &Refusal) -> String {
    let words = match refusal {
        Refusal::Fields(fields) => fields
            .iter()
            .map(|f| f.message.clone())
            .collect::<Vec<_>>()
            .join(". "),
        other => other.to_string(),
    };
    show::or_dash(&words).to_owned()
}

impl IntoResponse for PageError {
    fn into_response(self) -> Response {
        let trouble = |title, words: String, next, next_words| Trouble {
            title,
            words,
            next,
            next_words,
            reference: None,
        };
        let board = |title, words| trouble(title, words, address::BOARD, "Back to the board");
        let (status, page) = match self {
            Self::SeeOther(to) => return see_other(&to),
            Self::NotFound(what) => (
                StatusCode::NOT_FOUND,
                trouble(
                    "Not in the register",
                    format!(
                        "There is no {what} under this address. It may have another number now."
                    ),
                    address::GAUGES,
                    "Look in the register",
                ),
            ),
            Self::Forbidden => (
                StatusCode::FORBIDDEN,
                board(
                    "Not with your role",
                    "Your role does not allow this. The administrator can change roles.".to_owned(),
                ),
            ),
            Self::Refused(refusal) => (StatusCode::CONFLICT, board("Not done", said(&refusal))),
            Self::BadForm(why) => {
                tracing::warn!(%why, "a form could not be read");
                (
                    StatusCode::BAD_REQUEST,
                    board(
                        "The form could not be read",
                        "Nothing was changed. Go back, load the page again and send it once more."
                            .to_owned(),
                    ),
                )
            }
            Self::CrossSite => {
                tracing::warn!("a form of another site was refused");
                (
                    StatusCode::FORBIDDEN,
                    board(
                        "Sent from another site",
                        "This form was not sent from a page of this register, so nothing was done."
                            .to_owned(),
                    ),
                )
            }
            Self::TooLarge => (
                StatusCode::PAYLOAD_TOO_LARGE,
                board(
                    "Too large",
                    "Nothing was changed. Lists may have up to 20 MB and photographs up to 12 MB."
                        .to_owned(),
                ),
            ),
            Self::Busy => (
                StatusCode::SERVICE_UNAVAILABLE,
                board(
                    "Too much to do at the moment",
                    "Nothing was changed. Wait a little, go back and send it once more.".to_owned(),
                ),
            ),
            error @ (Self::Store(_) | Self::Template(_) | Self::Paper(_)) => {
                let reference = reference();
                tracing::error!(%reference, cause = %error, "a page failed");
                let mut page = board("Something failed on our side", "Nothing was half-written. Try again; if it stays, give the administrator the number below.".to_owned());
                page.reference = Some(reference);
                (StatusCode::INTERNAL_SERVER_ERROR, page)
            }
        };
        let body = page.render().unwrap_or_else(|_| page.words.clone());
        let mut response = (status, Html(body)).into_response();
        if matches!(
            status,
            StatusCode::INTERNAL_SERVER_ERROR | StatusCode::SERVICE_UNAVAILABLE
        ) {
            response
                .headers_mut()
                .insert(RETRY_AFTER, axum::http::HeaderValue::from_static("10"));
        }
        response
    }
}
