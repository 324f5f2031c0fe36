//! Keeping the papers that came with a lot or with a calibration.
//! Serving them is a page's affair.

use serde_json::json;
use sha2::{Digest, Sha256};

use super::{Deed, Result, instruments, stock};
use crate::record::{CalibrationId, DocumentId, LotId, Refusal};
use crate::store;
use crate::store::documents::{NewDocument, Of};

/// The media type of a file by its first bytes; none for what is no paper.
pub fn media_type(bytes: &[u8]) -> Option<&'static str> {
    let begins = |mark: &[u8]| bytes.starts_with(mark);
    if begins(b"%PDF-") {
        Some("application/pdf")
    } else if begins(&[0xff, 0xd8, 0xff]) {
        Some("image/jpeg")
    } else if begins(b"\x89PNG\r\n\x1a\n") {
        Some("image/png")
    } else {
        None
    }
}

/// Adds a paper to a lot.
///
/// # Errors
/// Refuses a file that is neither PDF nor a picture, a missing title, and one kept already.
pub async fn add(deed: &mut Deed, lot: LotId, title: &str, bytes: &[u8]) -> Result<DocumentId> {
    let lot = store::kits::lot(deed.db(), lot)
        .await?
        .ok_or(Refusal::Missing("lot"))?;
    let about = (
        stock::subject(&lot),
        "This file is kept with the lot already",
    );
    keep(deed, Of::Lot(lot.id), &about, title, bytes).await
}

/// Adds a paper to a calibration of an instrument, such as its certificate.
///
/// # Errors
/// As [`add`].
pub async fn add_to_calibration(
    deed: &mut Deed,
    calibration: CalibrationId,
    title: &str,
    bytes: &[u8],
) -> Result<DocumentId> {
    let (instrument, _) = store::calibrations::by_id(deed.db(), calibration)
        .await?
        .ok_or(Refusal::Missing("calibration"))?;
    let instrument = store::instruments::by_id(deed.db(), instrument)
        .await?
        .ok_or(Refusal::Missing("instrument"))?;
    let about = (
        instruments::subject(&instrument.number),
        "This file is kept with the calibration already",
    );
    keep(deed, Of::Calibration(calibration), &about, title, bytes).await
}

async fn keep(
    deed: &mut Deed,
    of: Of,
    (subject, known): &(String, &str),
    title: &str,
    bytes: &[u8],
) -> Result<DocumentId> {
    let title = title.trim();
    if title.is_empty() || title.chars().count() > 120 {
        return Err(Refusal::field("title", "Say what it is in 1 to 120 characters").into());
    }
    let Some(media_type) = media_type(bytes) else {
        return Err(Refusal::field("paper", "Choose a PDF, JPEG or PNG file").into());
    };
    let sha256: [u8; 32] = Sha256::digest(bytes).into();
    if store::documents::bytes(deed.db(), of, &sha256)
        .await?
        .is_some()
    {
        return Err(Refusal::field("paper", *known).into());
    }
    let new = NewDocument {
        of,
        title,
        media_type,
        sha256: &sha256,
        bytes,
    };
    let (person, now) = (deed.person()?, deed.now());
    let id = store::documents::add(deed.db(), &new, person, now).await?;
    let table = match of {
        Of::Lot(_) => "lot_document",
        Of::Calibration(_) => "calibration_document",
    };
    let facts = json!({ "title": title, "sha256": crate::record::audit::hex(&sha256) });
    deed.record("added a paper to", subject, None, facts, &[(table, id.0)])
        .await?;
    Ok(id)
}
