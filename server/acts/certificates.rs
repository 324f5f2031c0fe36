//! Marking a certificate after it was issued: questioned, stands, withdrawn. Issuing one is in
//! `pressure_tests`, deciding a recall in `recalls.rs`.

use serde_json::json;

use super::{Deed, Result};
use crate::record::certificate_mark::{MarkKind, Standing};
use crate::record::person::Role;
use crate::record::{CertificateNumber, MarkId, RecallId, Refusal};
use crate::store::{self, certificates::NewMark};

/// What is to be said of a certificate.
#[derive(Debug, Clone, Copy)]
pub struct Marking<'a> {
    /// What the mark says.
    pub kind: MarkKind,
    /// Why.
    pub reason: &'a str,
    /// The recall that raised it, if one did.
    pub recall: Option<RecallId>,
}

/// Puts a mark on a certificate.
///
/// # Errors
/// Refuses everybody but inspectors and engineers, a missing reason, and any mark on a certificate
/// that is withdrawn.
pub async fn mark(
    deed: &mut Deed,
    number: &CertificateNumber,
    marking: Marking<'_>,
) -> Result<MarkId> {
    if !matches!(deed.who().role, Some(Role::Inspector | Role::Engineer)) {
        let words = "A certificate is marked by an inspector or an engineer";
        return Err(Refusal::not_now(words).into());
    }
    let reason = marking.reason.trim();
    if !(3..=2000).contains(&reason.chars().count()) {
        let words = "Say why in a few words; it stays on the certificate\u{2019}s page";
        return Err(Refusal::field("reason", words).into());
    }
    let (certificate, gauge) = store::certificates::row_of(deed.db(), number)
        .await?
        .ok_or(Refusal::Missing("certificate"))?;
    let before = store::certificates::current(deed.db(), certificate).await?;
    if before == Standing::Withdrawn {
        return Err(Refusal::not_now(format!(
            "Certificate {number} is withdrawn, which is final; the gauge is tested again"
        ))
        .into());
    }
    let new = NewMark {
        certificate,
        kind: marking.kind,
        reason,
        recall: marking.recall,
        on: deed.today(),
    };
    let (person, now) = (deed.person()?, deed.now());
    let id = store::certificates::add_mark(deed.db(), &new, person, now).await?;
    deed.record(
        "marked",
        &subject(number),
        Some(gauge),
        json!({ "mark": marking.kind, "reason": reason, "recall": marking.recall, "before": before.shown() }),
        &[("certificate_mark", id.0)],
    )
    .await?;
    // A gauge without a certificate that stands is tested again, from this day on.
    deed.touch(gauge);
    Ok(id)
}

/// How a certificate is named in the audit chain.
pub fn subject(number: &CertificateNumber) -> String {
    format!("certificate {number}")
}
