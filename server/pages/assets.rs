//! Style, script and fonts, compiled in and served under addresses that change with their content.
//! Pages are not served from here.

use std::collections::HashMap;
use std::sync::LazyLock;

use axum::extract::Path;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};

use super::answer::PageError;
use crate::record::audit::sha256_hex;

macro_rules! asset {
    ($name:literal) => {
        (
            $name,
            include_bytes!(concat!(env!("CARGO_MANIFEST_DIR"), "/static/", $name)).as_slice(),
        )
    };
}

/// Every file a page may ask for.
const FILES: &[(&str, &[u8])] = &[
    asset!("style.css"),
    asset!("touch.js"),
    asset!("files.js"),
    asset!("waiting.js"),
    asset!("bench.js"),
    asset!("passes.js"),
    asset!("icon.svg"),
    asset!("fonts/next-regular.woff2"),
    asset!("fonts/next-regular-ext.woff2"),
    asset!("fonts/next-bold.woff2"),
    asset!("fonts/next-bold-ext.woff2"),
    asset!("fonts/next-italic.woff2"),
    asset!("fonts/next-italic-ext.woff2"),
    asset!("fonts/mono-regular.woff2"),
    asset!("fonts/mono-regular-ext.woff2"),
    asset!("fonts/mono-bold.woff2"),
    asset!("fonts/mono-bold-ext.woff2"),
];

struct Asset {
    bytes: &'static [u8],
    mark: String,
}

static ASSETS: LazyLock<HashMap<&'static str, Asset>> = LazyLock::new(|| {
    FILES
        .iter()
        .map(|(name, bytes)| {
            let mark = sha256_hex(bytes)[..12].to_owned();
            (*name, Asset { bytes, mark })
        })
        .collect()
});

/// The address of a file, marked with its content so that browsers may keep it for good.
pub fn address(name: &str) -> String {
    let mark = ASSETS.get(name).map_or("", |asset| asset.mark.as_str());
    format!("/static/{name}?{mark}")
}

/// Answers with a file.
///
/// # Errors
/// There is no such file.
pub async fn serve(Path(name): Path<String>) -> Result<Response, PageError> {
    let asset = ASSETS
        .get(name.as_str())
        .ok_or(PageError::NotFound("file"))?;
    let kind = match name.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("woff2") => "font/woff2",
        _ => "application/octet-stream",
    };
    Ok((
        [
            (CONTENT_TYPE, kind),
            (CACHE_CONTROL, "public, max-age=31536000, immutable"),
        ],
        asset.bytes,
    )
        .into_response())
}
