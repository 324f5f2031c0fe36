//! What people do: one deed is one function and one transaction. It loads, lets `record` and `calc`
//! decide, writes, leaves an audit line and refreshes the due dates it moved. No HTTP is known here.

pub mod bench;
pub mod bench_photos;
pub mod bring_in;
pub mod calendar;
pub mod certificates;
pub mod deed;
pub mod deferrals;
pub mod documents;
pub mod enter;
mod faces;
pub mod gas_tests;
pub mod gasket_ages;
pub mod gauges;
pub mod hand_overs;
pub mod holds;
pub mod in_service;
pub mod instruments;
pub mod keys;
pub mod kits;
pub mod life;
pub mod lots;
pub mod needs;
pub mod orders;
pub mod people;
pub mod planned_tests;
pub mod plant;
pub mod pressure_tests;
pub mod re_torques;
pub mod rebuild_days;
pub mod rebuilds;
pub mod recalled;
pub mod recalls;
pub mod refresh_due;
pub mod refresh_many;
pub mod stock;
pub mod test_plans;
pub mod verify;
pub mod window_plan;
pub mod windows;

pub use deed::{Deed, Who};

use crate::record::Refusal;
use crate::store;

/// Why a deed was not done, or was done before.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// The register refused, in words for the person who asked.
    #[error(transparent)]
    Refused(Refusal),
    /// The store failed; the cause is for the log.
    #[error(transparent)]
    Store(store::Error),
    /// The same form was posted before; this is where it led.
    #[error("posted before")]
    DoneBefore(String),
    /// The program has as much to do as it takes on at a time.
    #[error("too much to do at the moment")]
    Busy,
}

/// What a deed answers.
pub type Result<T> = std::result::Result<T, Error>;

impl From<Refusal> for Error {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(refusal)
    }
}

impl From<store::Error> for Error {
    fn from(error: store::Error) -> Self {
        match error {
            store::Error::Refused(refusal) => Self::Refused(refusal),
            other => Self::Store(other),
        }
    }
}

/// What somebody says the mistake was, when they take back what was recorded by mistake.
fn mistake(why: &str) -> Result<&str> {
    let why = why.trim();
    if (3..=2000).contains(&why.chars().count()) {
        return Ok(why);
    }
    let words = "Say what the mistake was, in 3 to 2000 characters; it stays on record";
    Err(Refusal::field("why", words).into())
}
