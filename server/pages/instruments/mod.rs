//! Instruments: torque wrenches, calipers, depth micrometers, indicators, feeler sets, pressure
//! gauges and thermometers, their calibrations and what relied on them. Everybody signed in may
//! look; engineers and administrators keep them.

pub mod calibrate;
pub mod edit;
pub mod list;
pub mod mistake;
pub mod papers;
pub mod retire;
pub mod show;

use time::Date;

use super::App;
use super::answer::PageError;
use super::show as shown;
use crate::record::instrument::{Cycles, Instrument, WhyNot};
use crate::store;

/// Why an instrument that made so many loadings since its calibration may not be relied on today, in the
/// words of the lists; nothing where it may.
fn why_not(instrument: &Instrument, made: u32, today: Date) -> Option<String> {
    let why = instrument.reliable_on(today).err();
    if why.is_none() && instrument.cycles(made).is_some_and(Cycles::spent) {
        return Some("has made all its loadings since its calibration".to_owned());
    }
    why.map(|why| match why {
        WhyNot::Retired => "out of use".to_owned(),
        WhyNot::NeverCalibrated => "no calibration on record".to_owned(),
        WhyNot::OutOfTolerance(on) => format!("found out of tolerance on {}", shown::date(&on)),
        WhyNot::CalibratedLater(on) => format!("calibrated on {}", shown::date(&on)),
        WhyNot::RanOut(on) => format!("calibration ran out on {}", shown::date(&on)),
    })
}

async fn found(app: &App, number: &str) -> Result<Instrument, PageError> {
    let mut db = app.store().read().await?;
    store::instruments::by_number(&mut db, number)
        .await?
        .ok_or(PageError::NotFound("instrument"))
}
