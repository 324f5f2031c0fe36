//! A test with gas as it is asked for and answered: pressure, volume, the energy that stores and the
//! distance it asks for. How energy and distance are computed is in `calc::stored_energy`.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde::{Deserialize, Serialize};
use time::{Date, Duration};
use uom::si::f64::Volume;
use uom::si::volume::liter;

use super::ids::{GasRequestId, PersonId};
use super::moment::Moment;
use crate::calc::OutOfRange;
use crate::calc::quantity::StampedPressure;
use crate::calc::stored_energy::{Edition, Gas, StoredEnergy, gas_test};

/// What is asked for, with what follows from it as computed on the day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GasFacts {
    /// The highest pressure of the test.
    pub pressure: StampedPressure,
    /// Everything under pressure, litres.
    pub litres: Decimal,
    /// The edition the distance is taken from.
    pub edition: Edition,
    /// Stored energy and distance.
    pub energy: StoredEnergy,
}

impl GasFacts {
    /// The stored energy in kilojoules, rounded for the eye.
    pub fn kilojoules(&self) -> String {
        format!("{:.1}", self.energy.joules / 1000.0)
    }

    /// Computes what a test with air or nitrogen stores.
    ///
    /// # Errors
    /// A pressure or volume outside the range of the method.
    pub fn new(
        pressure: StampedPressure,
        litres: Decimal,
        edition: Edition,
    ) -> Result<Self, OutOfRange> {
        let volume = Volume::new::<liter>(litres.to_f64().unwrap_or(0.0));
        Ok(Self {
            energy: gas_test(pressure, volume, Gas::AirOrNitrogen, edition)?,
            pressure,
            litres,
            edition,
        })
    }
}

/// The second person's answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct GasAnswer {
    /// Whether they approved.
    pub approved: bool,
    /// The last day the approval covers.
    pub until: Option<Date>,
    /// What they said: conditions, or why not.
    pub words: String,
    /// Who.
    pub person: String,
    /// When.
    pub at: Moment,
}

/// A request as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct GasRequest {
    /// The row.
    pub id: GasRequestId,
    /// What is asked for.
    pub facts: GasFacts,
    /// Why liquid cannot be used.
    pub reason: String,
    /// Who asked.
    pub person_id: PersonId,
    /// Their name.
    pub person: String,
    /// When.
    pub at: Moment,
    /// The answer, once there is one.
    pub answer: Option<GasAnswer>,
}

impl GasRequest {
    /// Whether a test that began then, on that day of the plant, may go up to that pressure on this
    /// request: after it was approved, to the minute as times are typed, and not after its last day.
    pub fn covers(&self, pressure: StampedPressure, (began, day): (Moment, Date)) -> bool {
        self.answer.as_ref().is_some_and(|answer| {
            answer.approved
                && began.plus(Duration::minutes(1)) > answer.at
                && answer.until.is_some_and(|until| day <= until)
        }) && pressure.si() <= self.facts.pressure.si() * (1.0 + 1e-9)
    }
}
