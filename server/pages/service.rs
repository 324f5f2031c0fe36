//! The table of addresses as a running service: behind the access check, inside the layers every
//! request passes. The addresses themselves are in `routes.rs`.

use std::any::Any;
use std::convert::Infallible;

use axum::Router;
use axum::extract::{DefaultBodyLimit, MatchedPath};
use axum::http::StatusCode;
use axum::middleware;
use axum::response::{IntoResponse, Response};
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::CsrfLayer;
use tower_http::request_id::{MakeRequestUuid, PropagateRequestIdLayer, SetRequestIdLayer};
use tower_http::timeout::TimeoutLayer;
use tower_http::trace::TraceLayer;

use super::routes::{Access, table};
use crate::pages::answer::PageError;
use crate::pages::{App, security};

/// The largest form anybody may send without signing in, bytes; the page that checks certificates
/// has a limit of its own.
const OPEN_FORM: usize = 256 * 1024;

/// The whole service: the table behind the access check, inside the layers every request passes.
pub fn service(app: &App) -> Router {
    let mut router = Router::new();
    for route in table() {
        let admit = middleware::from_fn_with_state((app.clone(), route.access), security::admit);
        let handler = match route.access {
            Access::Open => route.handler.layer(DefaultBodyLimit::max(OPEN_FORM)),
            Access::Roles(_) => route.handler,
        };
        let limit = TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, route.patience);
        router = router.route(
            route.path,
            handler.layer::<_, Infallible>(admit).layer(limit),
        );
    }
    let mut csrf =
        CsrfLayer::new().with_rejection_response(|_| PageError::CrossSite.into_response());
    if let Some(origin) = app.public_address() {
        csrf = match csrf.clone().add_trusted_origin(origin) {
            Ok(with) => with,
            Err(error) => {
                tracing::warn!(%error, origin, "the public address is no origin and was left out");
                csrf
            }
        };
    }
    router
        .fallback(|| async { PageError::NotFound("page") })
        .method_not_allowed_fallback(|| async { PageError::NotFound("page") })
        .with_state(app.clone())
        .layer(DefaultBodyLimit::max(21 * 1024 * 1024))
        .layer(csrf)
        .layer(CatchPanicLayer::custom(panicked))
        // Outside of whatever may answer by itself, so that no answer goes without them.
        .layer(middleware::from_fn_with_state(
            app.clone(),
            security::headers,
        ))
        .layer(CompressionLayer::new())
        .layer(PropagateRequestIdLayer::x_request_id())
        .layer(
            TraceLayer::new_for_http().make_span_with(|request: &axum::extract::Request| {
                let id = request
                    .headers()
                    .get("x-request-id")
                    .and_then(|v| v.to_str().ok())
                    .unwrap_or_default()
                    .to_owned();
                // The row of the table and not what stands in the address: some addresses are secrets.
                let route = request
                    .extensions()
                    .get::<MatchedPath>()
                    .map_or("none of ours", MatchedPath::as_str);
                tracing::info_span!("request", method = %request.method(), route, %id)
            }),
        )
        .layer(SetRequestIdLayer::x_request_id(MakeRequestUuid))
}

#[expect(
    clippy::needless_pass_by_value,
    reason = "the layer hands the panic over by value"
)]
fn panicked(cause: Box<dyn Any + Send + 'static>) -> Response {
    let words = cause
        .downcast_ref::<&str>()
        .map(|s| (*s).to_owned())
        .or_else(|| cause.downcast_ref::<String>().cloned())
        .unwrap_or_default();
    PageError::Paper(format!("panic: {words}")).into_response()
}
