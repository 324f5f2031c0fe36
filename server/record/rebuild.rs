//! A rebuild, its states (planned, ready, at the bench, on test, returned, abandoned) and its moves.
//! What is recorded at the bench stands in `bench.rs`; how far a rebuild has come in `course.rs`.

use time::Date;

use super::ids::{GaugeId, MoveId, PersonId, RebuildId};
use super::moment::Moment;
use super::words::words;

words! {
    /// Where a rebuild stands.
    RebuildState, "the state of the rebuild" {
        Planned: "planned", "planned";
        Ready: "ready", "ready";
        AtTheBench: "at-the-bench", "at the bench";
        OnTest: "on-test", "on test";
        Returned: "returned", "returned";
        Abandoned: "abandoned", "abandoned";
    }
}

words! {
    /// Why a gauge is rebuilt.
    Cause, "the cause of the rebuild" {
        Interval: "interval", "rebuild interval";
        Leak: "leak", "leak";
        CrackedGlass: "cracked-glass", "cracked glass";
        CloudedGlass: "clouded-glass", "etched or clouded glass";
        WornFace: "worn-face", "worn seating face";
        Recall: "recall", "recalled lot or instrument";
        Shutdown: "shutdown", "chance of a shutdown";
        Other: "other", "other cause";
    }
}

words! {
    /// What went wrong in service.
    FailureKind, "what went wrong" {
        Leak: "leak", "leak";
        CrackedGlass: "cracked-glass", "cracked glass";
        CloudedGlass: "clouded-glass", "etched or clouded glass";
        StuckValve: "stuck-valve", "gauge valve stuck";
        Other: "other", "something else";
    }
}

words! {
    /// What a look-over found.
    LookOverFound, "what the look-over found" {
        Sound: "sound", "sound";
        Watch: "watch", "to be watched";
        Failure: "failure", "a failure";
    }
}

words! {
    /// What has to be done again on a gauge that comes back to the bench from its test.
    Rework, "what has to be done again" {
        Nothing: "nothing", "nothing: it was not touched and not under pressure";
        Tighten: "tighten", "tightened again; the cover stays closed";
        Open: "open", "opened; new glass and gaskets";
    }
}

/// What is ticked where a gauge that cannot be isolated in service is taken to the bench outside of every
/// shutdown window.
pub const STANDS: &str =
    "its vessel is out of service and the gauge is isolated from it; both stay so until it is back";

/// What is ticked where the register only assumes that a gauge can be isolated in service.
pub const LOOKED: &str =
    "somebody looked at this gauge before it was taken: it can be isolated in service";

/// One step of a rebuild from state to state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Move {
    /// The row.
    pub id: MoveId,
    /// Where it stood.
    pub from: RebuildState,
    /// Where it went.
    pub to: RebuildState,
    /// When.
    pub at: Moment,
    /// Who moved it.
    pub person_id: PersonId,
    /// Their name.
    pub person: String,
    /// Why, where a reason is asked for.
    pub reason: String,
    /// What has to be done again, on the way back to the bench.
    pub rework: Option<Rework>,
    /// The section that concerns; none for all of them.
    pub section: Option<u8>,
    /// The last bench entry made before it, 0 for none: what counts afterwards has a higher number.
    pub after_entry: i64,
    /// The last pressure test made before it, 0 for none.
    pub after_test: i64,
}

impl Move {
    /// What was done, in words.
    pub const fn told(&self) -> &'static str {
        match (self.from, self.to) {
            (RebuildState::OnTest, RebuildState::AtTheBench) => "Back to the bench",
            (_, RebuildState::AtTheBench) => "To the bench",
            (_, RebuildState::OnTest) => "Sent to its test",
            (_, RebuildState::Ready) => "Ready: kits and instruments in hand",
            (_, RebuildState::Planned) => "Not ready after all",
            (_, RebuildState::Returned) => "Returned to service",
            (_, RebuildState::Abandoned) => "Abandoned",
        }
    }
}

/// One strip, inspection, assembly, test and return.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rebuild {
    /// The row.
    pub id: RebuildId,
    /// The gauge rebuilt.
    pub gauge_id: GaugeId,
    /// Counts the rebuilds of this gauge from 1.
    pub ordinal: i64,
    /// Where it stands.
    pub state: RebuildState,
    /// Why it is done.
    pub cause: Cause,
    /// The day it is planned for.
    pub planned_for: Date,
    /// When it was planned.
    pub planned_at: Moment,
    /// Who planned it.
    pub planned_by: PersonId,
    /// What the planner wrote.
    pub note: String,
    /// When it came to the bench.
    pub started_at: Option<Moment>,
    /// The day it ended.
    pub ended_on: Option<Date>,
    /// When the end was recorded.
    pub ended_at: Option<Moment>,
    /// Who recorded the end.
    pub ended_by: Option<PersonId>,
    /// Why it was abandoned.
    pub abandoned_reason: Option<String>,
    /// By when the bolting is tightened again, as the practice asked when the gauge was returned.
    pub re_torque_due_on: Option<Date>,
    /// Counts the changes.
    pub version: i64,
}

impl RebuildState {
    /// Whether the gauge was taken to the bench and is not back yet.
    pub const fn under_way(self) -> bool {
        matches!(self, Self::AtTheBench | Self::OnTest)
    }

    /// Whether nothing may be added any more.
    pub const fn finished(self) -> bool {
        matches!(self, Self::Returned | Self::Abandoned)
    }

    /// Whether a rebuild may go from this state to the next one.
    pub const fn may_become(self, next: Self) -> bool {
        matches!(
            (self, next),
            (Self::Planned, Self::Ready)
                | (Self::Planned | Self::Ready | Self::OnTest, Self::AtTheBench)
                | (Self::Ready, Self::Planned)
                | (Self::AtTheBench, Self::OnTest)
                | (Self::OnTest, Self::Returned)
                | (
                    Self::Planned | Self::Ready | Self::AtTheBench | Self::OnTest,
                    Self::Abandoned
                )
        )
    }
}
