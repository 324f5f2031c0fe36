//! A deferral from asking to signing: one person asks with reason, risk and mitigations, another
//! decides. What a signed one does to a due date is `calc::due`.

use time::Date;

use crate::calc::due::Moves;

use super::ids::{GaugeId, PersonId, RequestId};
use super::moment::Moment;
use super::words::words;

words! {
    /// What became of a deferral that was asked for.
    Decided, "what became of it" {
        Signed: "signed", "signed";
        Refused: "refused", "refused";
        TakenBack: "taken-back", "taken back";
    }
}

/// A deferral as it was asked for and decided.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Request {
    /// The row.
    pub id: RequestId,
    /// The gauge.
    pub gauge_id: GaugeId,
    /// What it moves; none where it was asked for before they named that, then both.
    pub moves: Option<Moves>,
    /// The later date.
    pub until_on: Date,
    /// The date no deferral of this interval passes.
    pub hard_limit_on: Date,
    /// Why.
    pub reason: String,
    /// What could go wrong meanwhile.
    pub risk: String,
    /// What is done against it.
    pub mitigations: String,
    /// Who asked.
    pub asked_by: PersonId,
    /// Their name.
    pub asker: String,
    /// When.
    pub asked_at: Moment,
    /// What became of it.
    pub decision: Option<Decided>,
    /// Who decided.
    pub decider: Option<String>,
    /// When.
    pub decided_at: Option<Moment>,
    /// What they wrote.
    pub decision_note: String,
}
