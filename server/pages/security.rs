//! What stands around every page: who may come in, headers, cross-site posts, cookies.
//! The table of who may do what is `routes.rs`; here it is only enforced.

use std::time::Instant;

use axum::extract::{Request, State};
use axum::http::{HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use axum_extra::extract::CookieJar;
use axum_extra::extract::cookie::{Cookie, SameSite};
use time::Duration;

use super::answer::{PageError, see_other};
use super::chrome::Signed;
use super::routes::Access;
use super::{App, address, people};
use crate::acts;
use crate::acts::people::Token;
use crate::store;

/// Only our own files, no inline script or style, no framing, forms only to ourselves.
const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' blob:; font-src 'self'; connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'; manifest-src 'self'";

/// A session's use is noted at most this often, so that reading a page does not write each time.
const NOTE_EVERY: Duration = Duration::minutes(5);

/// The cookie's name. Behind TLS the prefix makes browsers insist on Secure and no other domain.
fn cookie_name(app: &App) -> &'static str {
    if app.behind_tls() {
        "__Host-gaugewright"
    } else {
        "gaugewright"
    }
}

/// The cookie that carries a session which lasts so long.
pub fn session_cookie(app: &App, token: &Token, lasts: Duration) -> Cookie<'static> {
    Cookie::build((cookie_name(app), token.text().to_owned()))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .secure(app.behind_tls())
        .max_age(lasts)
        .build()
}

/// The cookie that ends a session in the browser.
pub fn no_cookie(app: &App) -> Cookie<'static> {
    Cookie::build((cookie_name(app), ""))
        .path("/")
        .http_only(true)
        .same_site(SameSite::Lax)
        .secure(app.behind_tls())
        .max_age(Duration::ZERO)
        .build()
}

/// The token in the request's cookie, if it has one.
pub fn token_of(app: &App, jar: &CookieJar) -> Option<Token> {
    jar.get(cookie_name(app))
        .map(Cookie::value)
        .filter(|value| value.len() == 64)
        .map(Token::from_text)
}

/// Lets a request through to a route, or not: signed out goes to the sign-in page, the wrong role
/// gets a page that says so. What anybody may see is not asked about.
pub async fn admit(
    State((app, access)): State<(App, Access)>,
    jar: CookieJar,
    mut request: Request,
    next: Next,
) -> Response {
    if access == Access::Open {
        return next.run(request).await;
    }
    match who(&app, &jar).await {
        Ok(Some((signed, moved))) => {
            if !access.lets(Some(signed.person.role)) {
                return PageError::Forbidden.into_response();
            }
            let renewed = moved.map(|lasts| session_cookie(&app, &signed.token, lasts));
            request.extensions_mut().insert(signed.clone());
            let answer = next.run(request).await;
            let mut response = pressed_before(&app, &signed, answer).await;
            if let Some(cookie) = renewed
                && !response.headers().contains_key(header::SET_COOKIE)
                && let Ok(value) = cookie.to_string().parse()
            {
                response.headers_mut().append(header::SET_COOKIE, value);
            }
            response
        }
        Ok(None) if request.method() == Method::GET => {
            let wanted = request.uri().path_and_query().map_or("/", |p| p.as_str());
            see_other(&address::with_query(
                address::SIGN_IN,
                &[("next", wanted.to_owned())],
            ))
        }
        Ok(None) => people::sign_in::signed_out(&app, request).await,
        Err(error) => error.into_response(),
    }
}

/// What a form's second press is answered: a refusal, also of what is no longer found, gives way to where
/// the first press led.
async fn pressed_before(app: &App, signed: &Signed, answer: Response) -> Response {
    let refused = matches!(
        answer.status(),
        StatusCode::UNPROCESSABLE_ENTITY | StatusCode::CONFLICT | StatusCode::NOT_FOUND
    );
    if !refused {
        return answer;
    }
    match signed.led_to(app).await {
        Ok(Some(to)) => see_other(&to),
        Ok(None) => answer,
        Err(error) => PageError::from(error).into_response(),
    }
}

/// Who is signed in, and how long their session lasts from now on where that was just moved.
async fn who(app: &App, jar: &CookieJar) -> Result<Option<(Signed, Option<Duration>)>, PageError> {
    let Some(token) = token_of(app, jar) else {
        return Ok(None);
    };
    let now = app.clock().now();
    let found = {
        let mut db = app.store().read().await?;
        store::sessions::find(&mut db, &token.hash(), now).await?
    };
    let Some(session) = found else {
        return Ok(None);
    };
    let mut moved = None;
    if now.at() - session.seen_at.at() > NOTE_EVERY {
        // Noted as well as it can be: nobody is refused a page because somebody else writes.
        match acts::people::keep_session(app.store(), &token, (session.started_at, now)).await {
            Ok(until) => moved = until.map(|until| until.at() - now.at()),
            Err(cause) => tracing::warn!(%cause, "the use of a session was not noted"),
        }
    }
    let secret = app.store().form_secret().clone();
    Ok(Some((Signed::new(session.person, token, secret), moved)))
}

/// Adds the headers every answer carries. Pages are nobody else's to keep.
pub async fn headers(State(app): State<App>, request: Request, next: Next) -> Response {
    let asset = request.uri().path().starts_with("/static/");
    let begun = Instant::now();
    let mut response = next.run(request).await;
    let took = begun.elapsed();
    let headers = response.headers_mut();
    let mut set = |name, value: &'static str| {
        headers.insert(name, HeaderValue::from_static(value));
    };
    set(header::CONTENT_SECURITY_POLICY, POLICY);
    set(header::X_CONTENT_TYPE_OPTIONS, "nosniff");
    set(header::REFERRER_POLICY, "same-origin");
    set(header::X_FRAME_OPTIONS, "DENY");
    set(
        header::HeaderName::from_static("cross-origin-opener-policy"),
        "same-origin",
    );
    set(
        header::HeaderName::from_static("cross-origin-resource-policy"),
        "same-origin",
    );
    set(
        header::HeaderName::from_static("permissions-policy"),
        "camera=(self), geolocation=(), microphone=(), payment=()",
    );
    if !asset && !headers.contains_key(header::CACHE_CONTROL) {
        headers.insert(header::CACHE_CONTROL, HeaderValue::from_static("no-store"));
    }
    // What the page cost here, apart from the network: browsers show it in their tools.
    if let Ok(timing) =
        HeaderValue::try_from(format!("page;dur={:.2}", took.as_secs_f64() * 1000.0))
    {
        headers.insert(header::HeaderName::from_static("server-timing"), timing);
    }
    if app.behind_tls() {
        headers.insert(
            header::STRICT_TRANSPORT_SECURITY,
            HeaderValue::from_static("max-age=31536000"),
        );
    }
    response
}
