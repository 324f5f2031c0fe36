//! The plant itself: its name, its time zone and the choices its procedures make.
//! Areas and service classes are here too, since the plant names them.

use time::Date;

use super::ids::{AreaId, ServiceClassId};
use super::moment::Zone;
use super::words::words;
use crate::calc::calendar::said;
use crate::calc::pressure_test::Code;
use crate::calc::quantity::{StampedLength, StampedTorque};

/// The plant and what its procedures chose.
#[derive(Debug, Clone)]
pub struct Plant {
    /// The plant's name.
    pub name: String,
    /// Who owns it, for papers.
    pub owner: String,
    /// Where it stands, for papers.
    pub address: String,
    /// Its time zone.
    pub zone: Zone,
    /// Code of reference for pressure tests.
    pub test_code: Code,
    /// Shortest hold of a pressure test, minutes.
    pub hold_minutes: u32,
    /// Step of the tightening plan.
    pub tightening_step: StampedTorque,
    /// Flatness limit of a seating face.
    pub flatness_limit: StampedLength,
    /// Least wall between through-bore and recess.
    pub wall_limit: StampedLength,
    /// How often a chamber may be skimmed.
    pub skim_limit: u8,
    /// Begins the numbers of tests and certificates.
    pub number_prefix: String,
    /// The procedure or person that says so; empty where nobody wrote it.
    pub ground: String,
    /// The day what its procedures chose was last changed, where that is known.
    pub settled_on: Option<Date>,
    /// Whether this is the invented plant.
    pub demo: bool,
    /// Counts the changes.
    pub version: i64,
}

impl Plant {
    /// The ground of what its procedures chose, as it stands beside each on new records.
    pub fn ground_said(&self) -> String {
        if !self.ground.is_empty() {
            return self.ground.clone();
        }
        match self.settled_on {
            Some(day) => format!(
                "the plant\u{2019}s settings of {}; no ground written",
                said(day)
            ),
            None => "the plant\u{2019}s settings; no ground written".to_owned(),
        }
    }

    /// Whether its procedures chose the same, on the same ground.
    pub fn chose_as(&self, other: &Self) -> bool {
        self.test_code == other.test_code
            && self.hold_minutes == other.hold_minutes
            && self.tightening_step == other.tightening_step
            && self.flatness_limit == other.flatness_limit
            && self.wall_limit == other.wall_limit
            && self.skim_limit == other.skim_limit
            && self.ground == other.ground
    }
}

/// A part of the plant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Area {
    /// The row.
    pub id: AreaId,
    /// Its name.
    pub name: String,
}

/// What fluid and conditions a gauge sees; sets its intervals.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ServiceClass {
    /// The row.
    pub id: ServiceClassId,
    /// Its name.
    pub name: String,
    /// What belongs to it.
    pub description: String,
    /// Rebuild interval, months.
    pub rebuild_months: Option<u32>,
    /// Look-over interval, months.
    pub look_over_months: Option<u32>,
    /// Months past its date a rebuild or look-over may be deferred at the most; none: one interval.
    pub defer_months: Option<u32>,
    /// Days after a return within which the bolting is tightened again, where the practice asks so.
    pub re_torque_days: Option<u16>,
    /// Whether the contents are flushed out before a gauge is opened.
    pub flush: bool,
    /// Counts the changes.
    pub version: i64,
}

words! {
    /// The size of the paper certificates are printed on.
    Paper, "the paper" {
        A4: "a4", "A4";
        Letter: "letter", "Letter";
    }
}
