//! Photographs taken at the bench: added while a rebuild is open, evidence from then on.
//! Making an upload ready is not known here.

use serde_json::json;

use super::in_service::Photograph;
use super::rebuilds::{loaded, subject};
use super::{Deed, Result};
use crate::record::{PhotoId, RebuildId, Refusal};
use crate::store;
use crate::store::photos::{NewPhoto, Of};

/// The most photographs of one rebuild.
pub const MOST: usize = 40;

/// What a photograph shows.
#[derive(Debug, Clone)]
pub struct Shown {
    /// The section; none for the whole gauge.
    pub section: Option<u8>,
    /// What it shows, in a few words.
    pub caption: String,
}

/// Adds a photograph to an open rebuild.
///
/// # Errors
/// Refuses a finished rebuild, a section the gauge does not have, too long a caption, and more
/// photographs than anybody looks at.
pub async fn add(
    deed: &mut Deed,
    rebuild: RebuildId,
    shown: &Shown,
    photo: &Photograph,
) -> Result<PhotoId> {
    let (rebuild, gauge, course) = loaded(deed, rebuild).await?;
    if rebuild.state.finished() {
        let words = format!("This rebuild is {}; nothing is added to it", rebuild.state);
        return Err(Refusal::not_now(words).into());
    }
    if shown.section.is_some_and(|s| s == 0 || s > course.sections) {
        return Err(Refusal::field("section", "The gauge has no such section").into());
    }
    let caption = shown.caption.trim();
    if caption.chars().count() > 200 {
        return Err(Refusal::field("caption", "At most 200 characters").into());
    }
    if store::photos::of_rebuild(deed.db(), rebuild.id)
        .await?
        .len()
        >= MOST
    {
        let words = format!("A rebuild keeps at most {MOST} photographs");
        return Err(Refusal::field("photo", words).into());
    }
    let (person, now) = (deed.person()?, deed.now());
    let new = NewPhoto {
        of: Of::Rebuild(rebuild.id),
        shows: (shown.section, caption),
        width: photo.width,
        height: photo.height,
        sha256: &photo.sha256,
        jpeg: &photo.jpeg,
        small_jpeg: &photo.small_jpeg,
    };
    let id = store::photos::add(deed.db(), &new, person, now).await?;
    deed.record(
        "photographed at the bench",
        &subject(&gauge, &rebuild),
        Some(gauge.id),
        json!({ "section": shown.section, "caption": caption }),
        &[("bench_photo", id.0)],
    )
    .await?;
    Ok(id)
}
