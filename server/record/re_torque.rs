//! Bolting tightened again, cold and without pressure, after the first heat cycle that follows a rebuild.
//! By when it is asked for is the practice of the service class; the due date is `calc::due`'s.

use serde::{Deserialize, Serialize};
use time::Date;

use super::bench::Condition;
use super::gauge::Isolation;
use super::ids::{InstrumentNumber, ReTorqueId, RebuildId};
use super::moment::Moment;
use super::words::words;
use crate::calc::quantity::StampedTorque;

words! {
    /// Whether nuts moved before the torque was reached again.
    NutsMoved, "whether a nut moved" {
        None: "none", "no nut moved";
        Few: "some", "some nuts moved";
        Most: "most", "most nuts moved";
    }
}

/// How the bolting was tightened again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReTorque {
    /// The torque.
    pub torque: StampedTorque,
    /// Where it comes from when the nameplate does not tell it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub torque_from: Option<String>,
    /// The wrench.
    pub wrench: InstrumentNumber,
    /// What was confirmed before a wrench was set to a nut.
    pub confirmed: Vec<Condition>,
    /// Whether nuts moved.
    pub moved: NutsMoved,
    /// Anything else.
    pub note: String,
}

impl ReTorque {
    /// What is confirmed before a wrench is set to a nut: never under pressure, never hot. Of a gauge that cannot be
    /// isolated in service it is asked how its vessel stands.
    pub const fn before(isolation: Isolation) -> [Condition; 4] {
        let apart = match isolation {
            Isolation::InService => Condition::Isolated,
            Isolation::ShutdownOnly => Condition::VesselOut,
        };
        [
            apart,
            Condition::LockedOut,
            Condition::ZeroPressure,
            Condition::Cold,
        ]
    }
}

/// A re-torque as it stands in the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Done {
    /// The row.
    pub id: ReTorqueId,
    /// The rebuild it follows.
    pub rebuild_id: RebuildId,
    /// The day.
    pub on: Date,
    /// What was done.
    pub facts: ReTorque,
    /// Who recorded it.
    pub person: String,
    /// When it was recorded.
    pub at: Moment,
}
