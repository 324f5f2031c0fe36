//! A hold on the bench sheet: begun, read and finished by the server's clock. Finishing it records the
//! pressure test with its verdict, as `pressure_tests` does.

use serde_json::json;
use time::Duration;

use super::pressure_tests::{self, Done};
use super::rebuilds::{loaded, subject};
use super::{Deed, Result};
use crate::calc::quantity::{StampedPressure, StampedTemperature};
use crate::record::course::{Course, Next};
use crate::record::gauge::Gauge;
use crate::record::hold::Hold;
use crate::record::pressure_test::{
    Basis, BeganWith, Circumstances, LeakSeen, MOST_READINGS, Medium, Reading, Relied, asked,
};
use crate::record::rebuild::{Rebuild, RebuildState};
use crate::record::{InstrumentNumber, Moment, RebuildId, Refusal, TestNumber};
use crate::store;

/// Pressure and temperature as they stand now, or stood when they were entered without a connection.
#[derive(Debug, Clone, Copy)]
pub struct Read {
    /// The pressure.
    pub pressure: StampedPressure,
    /// The temperature, where it was read.
    pub temperature: Option<StampedTemperature>,
    /// How long it waited in the browser before it could be sent.
    pub waited: Duration,
}

/// What a hold begins with.
#[derive(Debug, Clone)]
pub struct Beginning {
    /// The pressure gauge.
    pub instrument: InstrumentNumber,
    /// What the gauge is filled with.
    pub medium: Medium,
    /// The first reading.
    pub read: Read,
    /// Whether somebody said that maker or drawing states a pressure well above the required one.
    pub stated: bool,
}

/// When the gauge last went on test.
pub fn on_test_since(course: &Course) -> Option<Moment> {
    let went = course.moves.iter().rev();
    let mut went = went.filter(|m| m.to == RebuildState::OnTest);
    went.next().map(|m| m.at)
}

async fn on_test(deed: &mut Deed, id: RebuildId) -> Result<(Rebuild, Gauge, Moment)> {
    let (rebuild, gauge, course) = loaded(deed, id).await?;
    match (course.next(), on_test_since(&course)) {
        (Next::Prove, Some(since)) => Ok((rebuild, gauge, since)),
        _ => Err(Refusal::not_now("The gauge does not wait for its pressure test").into()),
    }
}

async fn running(deed: &mut Deed, id: RebuildId) -> Result<(Rebuild, Gauge, Hold)> {
    let (rebuild, gauge, since) = on_test(deed, id).await?;
    match store::holds::under_way(deed.db(), id, since).await? {
        Some(hold) => Ok((rebuild, gauge, hold)),
        None => Err(Refusal::not_now("No hold is under way; begin one first").into()),
    }
}

/// Begins a hold now, with its first reading. What plant, class and gauge chose for it by now counts for it to
/// its end. An earlier one that came to nothing stays in the audit chain with what it began with, and is named
/// on the page of the test that follows and among the deviations of its certificate.
///
/// # Errors
/// Refuses a gauge that does not wait for its test, a pressure gauge that does not suit, a pressure
/// below the required one, and a beginning without temperature.
pub async fn begin(deed: &mut Deed, id: RebuildId, new: &Beginning) -> Result<()> {
    let (rebuild, gauge, _) = on_test(deed, id).await?;
    let Some(plant) = store::plant::find(deed.db()).await? else {
        return Err(Refusal::not_now("The plant has no name and no procedures yet").into());
    };
    if new.medium.is_gas() {
        let words =
            "A gas test rests on a second approval and is recorded among the pressure tests";
        return Err(Refusal::field("medium", words).into());
    }
    let plan = store::test_plans::plan(deed.db(), &plant, &gauge).await?;
    let asked = asked(&plan, &gauge.particulars, &Basis::default())
        .map_err(|fault| Refusal::Fields(vec![fault]))?;
    let with = BeganWith::now(&plan, &gauge.particulars, asked.rating);
    let today = deed.today();
    let number = new.instrument.as_str();
    let Some(instrument) = store::instruments::on_day(deed.db(), number, today).await? else {
        return Err(Refusal::field("instrument", "Choose one of the pressure gauges").into());
    };
    let relied = Relied::on(&instrument, today, asked.required)
        .map_err(|why| Refusal::field("instrument", why))?;
    let pressure = new.read.pressure;
    let first = Reading {
        minute: 0,
        second: 0,
        pressure,
        temperature: new.read.temperature,
    };
    let faults = first.faults(&relied);
    if !faults.is_empty() {
        return Err(Refusal::Fields(faults).into());
    }
    if let Some(percent) = first.well_above(asked.required)
        && !new.stated
    {
        let words = format!(
            "{pressure} is {percent} % of the required {}. Never above what the maker or the drawing states: check the unit and let it down; tick this only where so much is stated",
            asked.required
        );
        return Err(Refusal::field("stated", words).into());
    }
    if pressure.si() < asked.required.si() * (1.0 - 1e-9) {
        let words = format!(
            "{pressure} is below the required {}; raise it before the hold begins",
            asked.required
        );
        return Err(Refusal::field("pressure", words).into());
    }
    if new.read.temperature.is_none() {
        let words = "Write the temperature: without it a change of pressure says nothing";
        return Err(Refusal::field("temperature", words).into());
    }
    let (person, now) = (deed.person()?, deed.now());
    let what = (instrument.id, new.medium, &with);
    let hold = store::holds::add(deed.db(), id, what, person, now).await?;
    let read = (pressure, new.read.temperature);
    let row = store::holds::add_reading(deed.db(), hold, read, person, now).await?;
    deed.record(
        "began to hold",
        &subject(&gauge, &rebuild),
        Some(gauge.id),
        json!({
            "pressure": pressure.to_string(), "instrument": new.instrument,
            "well above, as stated": new.stated && first.well_above(asked.required).is_some(),
            "required": asked.required.to_string(), "shortest hold": asked.hold_minutes,
            "rating": with.rating.to_string(), "chosen": with.choices,
        }),
        &[("hold", hold.0), ("hold_reading", row)],
    )
    .await
}

/// Keeps a reading of the hold that is under way.
///
/// # Errors
/// Refuses when none is, and more readings than a test keeps; the last is left for its end.
pub async fn read(deed: &mut Deed, id: RebuildId, read: Read) -> Result<()> {
    let (_, _, hold) = running(deed, id).await?;
    if hold.readings.len() + 1 >= MOST_READINGS {
        let words = "This hold has as many readings as a test keeps; end it with the last one";
        return Err(Refusal::field("pressure", words).into());
    }
    keep(deed, id, read).await
}

async fn keep(deed: &mut Deed, id: RebuildId, read: Read) -> Result<()> {
    let (rebuild, gauge, hold) = running(deed, id).await?;
    let today = deed.today();
    let number = hold.instrument.as_str();
    if let Some(instrument) = store::instruments::on_day(deed.db(), number, today).await?
        && let Some(relied) = Relied::of(&instrument)
    {
        let reading = Reading {
            minute: 0,
            second: 0,
            pressure: read.pressure,
            temperature: read.temperature,
        };
        let faults = reading.faults(&relied);
        if !faults.is_empty() {
            return Err(Refusal::Fields(faults).into());
        }
    }
    let person = deed.person()?;
    // Waiting for a connection holds no pressure: it counts as read when it was entered, which can only make
    // the hold shorter, and in the order in which readings arrive.
    let entered = deed.now().plus(-read.waited.max(Duration::ZERO));
    let last = hold.readings.last().map_or(hold.began, |last| last.at);
    let at = entered.max(last);
    let values = (read.pressure, read.temperature);
    let row = store::holds::add_reading(deed.db(), hold.id, values, person, at).await?;
    let mut told = json!({ "pressure": read.pressure.to_string() });
    if read.waited >= Duration::MINUTE {
        told["waited"] = json!(format!("{} min", read.waited.whole_minutes()));
    }
    deed.record(
        "read during the hold",
        &subject(&gauge, &rebuild),
        Some(gauge.id),
        told,
        &[("hold_reading", row)],
    )
    .await
}

/// How a hold ended.
#[derive(Debug, Clone)]
pub struct Ending {
    /// The last reading; may be missing where it leaked.
    pub read: Option<Read>,
    /// What was seen.
    pub leak: LeakSeen,
    /// Where it leaked; anything else.
    pub note: String,
}

/// Ends the hold that is under way and records the pressure test with its verdict: by what was chosen when
/// it began, and by the rating and the limit of now.
///
/// # Errors
/// Refuses a hold that was too short by the server's clock, unless it leaked; and one whose rating was taken
/// from the register, or whose stated limit now lies below what is required.
pub async fn finish(deed: &mut Deed, id: RebuildId, ending: &Ending) -> Result<TestNumber> {
    if let Some(last) = ending.read {
        keep(deed, id, last).await?;
    }
    let (_, gauge, hold) = running(deed, id).await?;
    let done = Done {
        gauge: gauge.id,
        basis: Basis::default(),
        shown: None,
        instrument: hold.instrument.clone(),
        began: hold.began,
        medium: hold.medium,
        readings: hold.as_read(),
        leak: ending.leak,
        circumstances: Circumstances::default(),
        heights: None,
        pump_with: None,
        worked: None,
        note: ending.note.clone(),
    };
    pressure_tests::record_held(deed, &done, hold.began_with.as_ref()).await
}
