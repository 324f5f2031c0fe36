//! Recalls: opened when an instrument is found out of tolerance or a lot bad, and decided thing by
//! thing by an engineer. Certificates are marked in the same transaction.

use serde_json::json;

use super::{Deed, Result, instruments, stock};
use crate::record::certificate_mark::{MarkKind, Standing};
use crate::record::instrument::{Calibration, Found, Instrument};
use crate::record::person::Role;
use crate::record::recall::{About, Decision, Recall, Relying};
use crate::record::{
    CalibrationId, CertificateId, GaugeId, InstrumentId, LotId, RecallId, Refusal,
};
use crate::store;
use crate::store::certificates::NewMark;
use crate::store::recalls::{NewDecision, NewRecall, Of, Part};

/// Opens the recall of an instrument by a calibration that found it out of tolerance: all that relied
/// on it from when it was last found good until it is found good again is in doubt, and certificates
/// that rest on it are questioned. It is opened also where nothing on record relied on it yet: what is
/// entered later belongs to it. A second finding of the same day is answered by the recall of the first.
///
/// # Errors
/// Refuses a calibration that found it good.
pub async fn of_instrument(deed: &mut Deed, by: CalibrationId) -> Result<RecallId> {
    let Some((id, bad)) = store::calibrations::by_id(deed.db(), by).await? else {
        return Err(Refusal::Missing("calibration").into());
    };
    let Some(instrument) = store::instruments::by_id(deed.db(), id).await? else {
        return Err(Refusal::Missing("instrument").into());
    };
    if bad.found != Found::OutOfTolerance {
        return Err(Refusal::not_now(format!(
            "Calibration {} found {} within tolerance",
            bad.reference, instrument.number
        ))
        .into());
    }
    let before = store::recalls::of(deed.db(), Of::Instrument(id)).await?;
    if let Some(open) = before.iter().find(|r| r.until == bad.calibrated_on) {
        return Ok(open.id);
    }
    let key = (bad.calibrated_on, bad.id);
    let since = store::calibrations::last_sound_before(deed.db(), id, key).await?;
    let until = bad.calibrated_on;
    let reason = format!("found out of tolerance, calibration {}", bad.reference);
    let new = NewRecall {
        of: Of::Instrument(id),
        since,
        until,
        reason: &reason,
    };
    open(deed, &new, &named(&instrument)).await
}

/// Widens the recalls that began on the day of a calibration which was taken back: the instrument was not
/// known to be good then, so what relied on it since the calibration before is in doubt as well. A recall
/// is never changed, so each is followed by another that begins earlier.
///
/// # Errors
/// The store's failure.
pub async fn widened(deed: &mut Deed, id: InstrumentId, gone: &Calibration) -> Result<()> {
    let key = (gone.calibrated_on, gone.id);
    let since = store::calibrations::last_sound_before(deed.db(), id, key).await?;
    let begins = Some(gone.calibrated_on);
    if since == begins {
        return Ok(());
    }
    let Some(instrument) = store::instruments::by_id(deed.db(), id).await? else {
        return Err(Refusal::Missing("instrument").into());
    };
    let all = store::recalls::of(deed.db(), Of::Instrument(id)).await?;
    for narrow in &all {
        let wider = |one: &Recall| one.until == narrow.until && one.since == since;
        if narrow.since != begins || all.iter().any(wider) {
            continue;
        }
        let reason = format!(
            "calibration {} was taken back, so recall {} began too late: {}",
            gone.reference, narrow.id.0, narrow.reason
        );
        let new = NewRecall {
            of: Of::Instrument(id),
            since,
            until: narrow.until,
            reason: &reason,
        };
        open(deed, &new, &named(&instrument)).await?;
    }
    Ok(())
}

/// Questions the certificates of something that relied on an instrument and was recorded only after
/// its recall was opened, for a day in doubt; the recall lists it from then on. Answers the rows it
/// wrote.
///
/// # Errors
/// The store's failure.
pub async fn reached(
    deed: &mut Deed,
    instrument_use: i64,
    about: About,
) -> Result<Vec<(&'static str, i64)>> {
    let mut rows = Vec::new();
    for recall in store::recalls::reached_by(deed.db(), instrument_use).await? {
        let Some((recall, of)) = store::recalls::by_id(deed.db(), recall).await? else {
            continue;
        };
        let why = format!("Recall {}: {}", recall.id.0, recall.reason);
        for one in store::recalls::relying(deed.db(), recall.id, of, Part::Of(&[about])).await? {
            rows.extend(mark(deed, &one, MarkKind::Questioned, &why, recall.id).await?);
        }
    }
    Ok(rows)
}

/// Opens the recall of a lot: it is held back in the storeroom, and every rebuild it went into is in
/// doubt.
///
/// # Errors
/// Refuses everybody but engineers, a missing reason, and a lot that is held back already.
pub async fn of_lot(deed: &mut Deed, id: LotId, reason: &str) -> Result<RecallId> {
    engineer(deed)?;
    let Some(lot) = store::kits::lot(deed.db(), id).await? else {
        return Err(Refusal::Missing("lot").into());
    };
    if let Some(recall) = lot.held_back {
        return Err(Refusal::not_now(format!(
            "Lot {} is held back by recall {} already",
            lot.number, recall.0
        ))
        .into());
    }
    let new = NewRecall {
        of: Of::Lot(id),
        since: None,
        until: deed.today(),
        reason: said(reason, "Say what is wrong with the lot and who says so")?,
    };
    open(deed, &new, &stock::subject(&lot)).await
}

async fn open(deed: &mut Deed, new: &NewRecall<'_>, what: &str) -> Result<RecallId> {
    let (person, now) = (deed.person()?, deed.now());
    let id = store::recalls::add(deed.db(), new, person, now).await?;
    let relying = store::recalls::relying(deed.db(), id, new.of, Part::All).await?;
    let why = format!("Recall {}: {}", id.0, new.reason);
    let mut rows = vec![("recall", id.0)];
    for one in &relying {
        rows.extend(mark(deed, one, MarkKind::Questioned, &why, id).await?);
    }
    let facts = json!({
        "of": what, "since": new.since.map(|d| d.to_string()), "until": new.until.to_string(),
        "reason": new.reason, "relied on it": relying.len(),
    });
    deed.record("recalled", &subject(id), None, facts, &rows)
        .await?;
    Ok(id)
}

/// Marks the certificates that rest on something; those withdrawn already stay as they are.
async fn mark(
    deed: &mut Deed,
    relying: &Relying,
    kind: MarkKind,
    reason: &str,
    recall: RecallId,
) -> Result<Vec<(&'static str, i64)>> {
    let mut rows = Vec::new();
    let (person, now) = (deed.person()?, deed.now());
    for (certificate, _) in &relying.certificates {
        if settled(deed, *certificate, kind, recall).await? {
            continue;
        }
        let new = NewMark {
            certificate: *certificate,
            kind,
            reason,
            recall: Some(recall),
            on: deed.today(),
        };
        let id = store::certificates::add_mark(deed.db(), &new, person, now).await?;
        rows.push(("certificate_mark", id.0));
    }
    Ok(rows)
}

/// Whether a mark would say nothing new: withdrawn is final, and one recall marks a thing once.
async fn settled(
    deed: &mut Deed,
    certificate: CertificateId,
    kind: MarkKind,
    recall: RecallId,
) -> Result<bool> {
    if store::certificates::current(deed.db(), certificate).await? == Standing::Withdrawn {
        return Ok(true);
    }
    let marks = store::certificates::marks(deed.db(), certificate).await?;
    let last = marks.iter().rev().find(|m| m.recall == Some(recall));
    Ok(last.is_some_and(|last| last.kind == kind))
}

/// What an engineer decided about some of what relied on what was recalled.
#[derive(Debug, Clone)]
pub struct Deciding {
    /// About these.
    pub about: Vec<About>,
    /// What.
    pub decision: Decision,
    /// Why.
    pub reason: String,
}

/// Decides about some of what relied on what was recalled. What is to be done again falls due, and its
/// certificates are withdrawn; where it stands they stand.
///
/// # Errors
/// Refuses everybody but engineers, nothing chosen, a missing reason, and what did not rely on it.
pub async fn decide(deed: &mut Deed, recall: RecallId, deciding: &Deciding) -> Result<()> {
    engineer(deed)?;
    let Some((_, of)) = store::recalls::by_id(deed.db(), recall).await? else {
        return Err(Refusal::Missing("recall").into());
    };
    if deciding.about.is_empty() {
        return Err(Refusal::field("about", "Choose what you decide about").into());
    }
    let reason = said(
        &deciding.reason,
        "Say why; it stands beside the rebuild, the test and the certificate",
    )?;
    let part = Part::Of(&deciding.about);
    let all = store::recalls::relying(deed.db(), recall, of, part).await?;
    let mut rows = Vec::new();
    for about in &deciding.about {
        let relying = all.iter().find(|one| one.about == *about);
        let gauge = match (about, relying, of) {
            (About::Left, _, Of::Lot(_)) => None,
            (_, Some(relying), _) => Some(relying.gauge_id),
            _ => return Err(Refusal::not_now("This did not rely on what was recalled").into()),
        };
        let new = NewDecision {
            recall,
            about: *about,
            gauge,
            decision: deciding.decision,
            reason,
            on: deed.today(),
        };
        let (person, now) = (deed.person()?, deed.now());
        let row = store::recalls::add_decision(deed.db(), &new, person, now).await?;
        rows.push(("recall_decision", row));
        if let Some(relying) = relying {
            let kind = deciding.decision.mark();
            let why = format!("Recall {}: {reason}", recall.0);
            rows.extend(mark(deed, relying, kind, &why, recall).await?);
        }
        touched(deed, gauge);
    }
    let facts =
        json!({ "decision": deciding.decision, "reason": reason, "things": deciding.about.len() });
    deed.record("decided", &subject(recall), None, facts, &rows)
        .await
}

fn touched(deed: &mut Deed, gauge: Option<GaugeId>) {
    if let Some(gauge) = gauge {
        deed.touch(gauge);
    }
}

/// How a recall is named in the audit chain.
pub fn subject(id: RecallId) -> String {
    format!("recall {}", id.0)
}

fn named(instrument: &Instrument) -> String {
    instruments::subject(&instrument.number)
}

fn engineer(deed: &Deed) -> Result<()> {
    if deed.who().role == Some(Role::Engineer) {
        return Ok(());
    }
    Err(Refusal::not_now("A recall is decided by the reliability engineer").into())
}

fn said<'a>(reason: &'a str, ask: &str) -> Result<&'a str> {
    let reason = reason.trim();
    if (3..=2000).contains(&reason.chars().count()) {
        Ok(reason)
    } else {
        Err(Refusal::field("reason", ask).into())
    }
}
