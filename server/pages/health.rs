//! Whether the program can answer: a short text for whatever watches over it.
//! It says nothing about the plant, since anybody may ask.

use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};

use super::App;

/// Answers "ok" when the database can be read.
pub async fn check(State(app): State<App>) -> Response {
    let readable = match app.store().read().await {
        Ok(mut db) => crate::store::plant::find(&mut db).await.is_ok(),
        Err(_) => false,
    };
    if readable {
        (StatusCode::OK, "ok\n").into_response()
    } else {
        (
            StatusCode::SERVICE_UNAVAILABLE,
            "the database cannot be read\n",
        )
            .into_response()
    }
}
