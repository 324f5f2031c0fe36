//! What people record about a gauge in service: a failure they saw, a look-over, a photograph of
//! the nameplate. A failure makes the gauge due the day it was seen; deferrals are in `deferrals.rs`.

use serde_json::json;
use time::Date;

use super::{Deed, Result, gauges, mistake};
use crate::calc::calendar::said;
use crate::record::gauge::{Gauge, Standing};
use crate::record::person::Role;
use crate::record::rebuild::{FailureKind, LookOverFound};
use crate::record::words::capital;
use crate::record::{FailureId, GaugeId, LookOverId, PersonId, PhotoId, Refusal};
use crate::store;
use crate::store::in_service::{NewFailure, NewLookOver, OpenFailure};
use crate::store::photos::{NewPhoto, Of};

/// A failure as it was seen.
#[derive(Debug, Clone)]
pub struct Failure {
    /// What went wrong.
    pub kind: FailureKind,
    /// The day it was seen.
    pub seen_on: Date,
    /// What else was seen.
    pub note: String,
}

/// Reports a failure; the gauge is due from the day it was seen until a rebuild answers it.
///
/// # Errors
/// Refuses a retired gauge, a day to come, and something else without a word of what.
pub async fn report_failure(deed: &mut Deed, id: GaugeId, failure: &Failure) -> Result<FailureId> {
    let gauge = hanging(deed, id).await?;
    passed(deed, "seen_on", failure.seen_on)?;
    not_before_it_hung(deed, &gauge, ("seen_on", failure.seen_on)).await?;
    told(failure)?;
    if let Some(one) = reported(deed, id, failure).await? {
        return Err(Refusal::not_now(format!(
            "{}, seen that day, is on record already; {} reported it",
            capital(one.kind),
            one.person
        ))
        .into());
    }
    add_failure(deed, &gauge, failure).await
}

/// Something else than the usual failures is said in words.
fn told(failure: &Failure) -> Result<()> {
    if failure.kind == FailureKind::Other && failure.note.trim().is_empty() {
        return Err(Refusal::field("note", "Say in a few words what is wrong").into());
    }
    Ok(())
}

/// Puts a failure on record that is not on it yet.
async fn add_failure(deed: &mut Deed, gauge: &Gauge, failure: &Failure) -> Result<FailureId> {
    let (id, note) = (gauge.id, failure.note.trim());
    let (person, now) = (deed.person()?, deed.now());
    let row = NewFailure {
        gauge: id,
        kind: failure.kind,
        seen_on: failure.seen_on,
        note,
    };
    let failure_id = store::in_service::add_failure(deed.db(), &row, person, now).await?;
    deed.record(
        "reported a failure of",
        &gauges::subject(&gauge.particulars),
        Some(id),
        json!({ "failure": failure.kind, "seen on": failure.seen_on.to_string(), "note": note }),
        &[("failure", failure_id.0)],
    )
    .await?;
    deed.touch(id);
    Ok(failure_id)
}

/// The open report of the same failure of the same day.
async fn reported(deed: &mut Deed, id: GaugeId, failure: &Failure) -> Result<Option<OpenFailure>> {
    let open = store::in_service::open_failures(deed.db(), id).await?;
    Ok(open
        .into_iter()
        .find(|one| one.kind == failure.kind && one.seen_on == failure.seen_on))
}

/// Takes a failure back that was reported by mistake. The report stays readable, with who took it
/// back and why; the gauge is due by what else there is.
///
/// # Errors
/// Refuses everybody but the reporter, inspectors and engineers, a missing reason, and a failure that
/// a rebuild answered or somebody took back meanwhile.
pub async fn take_back_failure(
    deed: &mut Deed,
    id: GaugeId,
    failure: FailureId,
    why: &str,
) -> Result<()> {
    let gauge = hanging(deed, id).await?;
    let why = mistake(why)?;
    let open = store::in_service::open_failures(deed.db(), id).await?;
    let Some(one) = open.into_iter().find(|one| one.id == failure) else {
        return Err(Refusal::not_now("This failure was answered or taken back meanwhile").into());
    };
    let person = deed.person()?;
    own_or_judged(deed, one.person_id, || {
        format!("{} reported it", one.person)
    })?;
    let now = deed.now();
    if !store::in_service::take_back_failure(deed.db(), failure, why, person, now).await? {
        return Err(Refusal::not_now("This failure was answered or taken back meanwhile").into());
    }
    deed.record(
        "took back a failure of",
        &gauges::subject(&gauge.particulars),
        Some(id),
        json!({ "failure": one.kind, "seen on": one.seen_on.to_string(), "why": why }),
        &[("failure", failure.0)],
    )
    .await?;
    deed.touch(id);
    Ok(())
}

/// A mistake is taken back by who made it, or by those who judge what was found.
fn own_or_judged(deed: &Deed, made_by: PersonId, who_did: impl Fn() -> String) -> Result<()> {
    let judges = matches!(deed.who().role, Some(Role::Inspector | Role::Engineer));
    if judges || deed.person()? == made_by {
        return Ok(());
    }
    let words = format!(
        "{}; they, an inspector or an engineer take it back",
        who_did()
    );
    Err(Refusal::not_now(words).into())
}

/// A look-over as it was done.
#[derive(Debug, Clone)]
pub struct LookOver {
    /// The day.
    pub on: Date,
    /// What it found.
    pub found: LookOverFound,
    /// What went wrong, where it found a failure.
    pub failure: Option<FailureKind>,
    /// What was written.
    pub note: String,
}

/// Records a look-over; one that finds a failure reports it in the same breath.
///
/// # Errors
/// Refuses a retired gauge, a day to come, and a failure without its kind.
pub async fn look_over(deed: &mut Deed, id: GaugeId, look_over: &LookOver) -> Result<()> {
    let gauge = hanging(deed, id).await?;
    let note = look_over.note.trim();
    passed(deed, "on", look_over.on)?;
    not_before_it_hung(deed, &gauge, ("on", look_over.on)).await?;
    if look_over.found == LookOverFound::Watch && note.is_empty() {
        return Err(Refusal::field("note", "Say in a few words what is to be watched").into());
    }
    let failure = match (look_over.found, look_over.failure) {
        (LookOverFound::Failure, None) => {
            return Err(Refusal::field("failure", "Choose what went wrong").into());
        }
        (LookOverFound::Failure, kind) => kind,
        _ => None,
    };
    let (person, now) = (deed.person()?, deed.now());
    let row = NewLookOver {
        gauge: id,
        on: look_over.on,
        found: look_over.found,
        note,
    };
    let look_over_id = store::in_service::add_look_over(deed.db(), &row, person, now).await?;
    deed.record(
        "looked over",
        &gauges::subject(&gauge.particulars),
        Some(id),
        json!({ "found": look_over.found, "on": look_over.on.to_string(), "note": note }),
        &[("look_over", look_over_id)],
    )
    .await?;
    deed.touch(id);
    if let Some(kind) = failure {
        let failure = Failure {
            kind,
            seen_on: look_over.on,
            note: note.to_owned(),
        };
        if reported(deed, id, &failure).await?.is_none() {
            told(&failure)?;
            add_failure(deed, &gauge, &failure).await?;
        }
    }
    Ok(())
}

/// Takes a look-over back that was recorded by mistake. It stays readable, with who took it back and
/// why; its interval counts from the one before. A failure it reported is taken back by itself.
///
/// # Errors
/// Refuses everybody but who recorded it, inspectors and engineers, a missing reason, and a look-over
/// that somebody took back meanwhile.
pub async fn take_back_look_over(
    deed: &mut Deed,
    id: GaugeId,
    look_over: LookOverId,
    why: &str,
) -> Result<()> {
    let gauge = hanging(deed, id).await?;
    let why = mistake(why)?;
    let gone = || Refusal::not_now("This look-over was taken back meanwhile");
    let Some(one) = store::in_service::look_over(deed.db(), id, look_over).await? else {
        return Err(gone().into());
    };
    own_or_judged(deed, one.person_id, || {
        format!("{} recorded it", one.person)
    })?;
    let (person, now) = (deed.person()?, deed.now());
    if !store::in_service::take_back_look_over(deed.db(), look_over, why, person, now).await? {
        return Err(gone().into());
    }
    deed.record(
        "took back a look-over of",
        &gauges::subject(&gauge.particulars),
        Some(id),
        json!({ "found": one.found, "on": one.on.to_string(), "why": why }),
        &[("look_over", look_over.0)],
    )
    .await?;
    deed.touch(id);
    Ok(())
}

/// A photograph that was checked and made ready.
#[derive(Debug, Clone)]
pub struct Photograph {
    /// Width in pixels.
    pub width: u32,
    /// Height in pixels.
    pub height: u32,
    /// The large picture, JPEG.
    pub jpeg: Vec<u8>,
    /// The small picture, JPEG.
    pub small_jpeg: Vec<u8>,
    /// SHA-256 of the large picture.
    pub sha256: [u8; 32],
}

/// Adds a photograph of the nameplate; earlier ones stay readable.
///
/// # Errors
/// Refuses a gauge that is not in the register.
pub async fn photograph(deed: &mut Deed, id: GaugeId, photo: &Photograph) -> Result<PhotoId> {
    let Some(gauge) = store::gauges::by_id(deed.db(), id).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    let (person, now) = (deed.person()?, deed.now());
    let row = NewPhoto {
        of: Of::Nameplate(id),
        shows: (None, ""),
        width: photo.width,
        height: photo.height,
        sha256: &photo.sha256,
        jpeg: &photo.jpeg,
        small_jpeg: &photo.small_jpeg,
    };
    let photo_id = store::photos::add(deed.db(), &row, person, now).await?;
    deed.record(
        "photographed the nameplate of",
        &gauges::subject(&gauge.particulars),
        Some(id),
        json!({ "width": photo.width, "height": photo.height }),
        &[("nameplate_photo", photo_id.0)],
    )
    .await?;
    Ok(photo_id)
}

/// The gauge, if it still hangs in the plant.
pub(super) async fn hanging(deed: &mut Deed, id: GaugeId) -> Result<Gauge> {
    let Some(gauge) = store::gauges::by_id(deed.db(), id).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    if gauge.standing == Standing::Retired {
        return Err(
            Refusal::not_now("This gauge is retired; nothing more is recorded of it").into(),
        );
    }
    Ok(gauge)
}

/// Refuses a day before the gauge hung where it hangs: before its last return to service, or before
/// its first installation.
async fn not_before_it_hung(
    deed: &mut Deed,
    gauge: &Gauge,
    (field, day): (&str, Date),
) -> Result<()> {
    let Some((_, _, facts)) = store::due::facts(deed.db(), gauge.id).await? else {
        return Ok(());
    };
    match facts.anchor {
        Some(since) if day < since => Err(Refusal::field(
            field,
            format!(
                "This day lies before {}, when the gauge was last returned to service or first installed; check the year",
                said(since)
            ),
        )
        .into()),
        _ => Ok(()),
    }
}

/// Refuses a day that is still to come.
fn passed(deed: &Deed, field: &str, day: Date) -> Result<()> {
    if day > deed.today() {
        return Err(Refusal::field(field, "This day is still to come").into());
    }
    Ok(())
}
