//! Recording a pressure test: what it has to reach with its working before the test, the cautions,
//! the pressure gauges that suit, and the readings. What was chosen for the required pressure stands
//! in the address, so that it can be looked at and sent before anything is recorded.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;
use sqlx::SqliteConnection;

use crate::acts;
use crate::acts::pressure_tests::{Done, may_be_tested};
use crate::calc::pressure_test::best_gauge;
use crate::calc::pressure_test::head::Elevations;
use crate::calc::quantity::{
    LengthUnit, PressureUnit, StampedPressure, StampedTemperature, TemperatureUnit, Unit, decimal,
};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::InstrumentNumber;
use crate::record::certificate::Choice;
use crate::record::gauge::Gauge;
use crate::record::instrument::InstrumentKind;
use crate::record::person::Reads;
use crate::record::pressure_test::{
    self, Asked, Basis, CONFIRMED, CONFIRMED_OF_GAS, Circumstances, LeakSeen, Medium, Reading,
    Relied,
};
use crate::record::rebuild::{Rebuild, RebuildState};
use crate::record::refusal::unticked;
use crate::store;
use crate::store::certificates::MadeWith;

/// Rows offered for readings.
const ROWS: usize = 6;

/// What was chosen for the required pressure, as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Chosen {
    at: String,
    at_unit: String,
    ratio: String,
    limit: String,
    limit_unit: String,
}

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) required: String,
    required_unit: String,
    instrument: String,
    began_on: String,
    began_at: String,
    medium: String,
    confirmed: String,
    minute: Vec<String>,
    pressure: Vec<String>,
    temperature: Vec<String>,
    pressure_unit: String,
    temperature_unit: String,
    leak: String,
    place: String,
    read_at: String,
    procedure: String,
    metal: String,
    metal_unit: String,
    chloride: String,
    above_lowest: String,
    below_highest: String,
    height_unit: String,
    note: String,
}

/// A pressure gauge as it is offered.
struct Offer {
    number: InstrumentNumber,
    range: String,
    /// What its scale reads in.
    unit: PressureUnit,
    words: String,
    best: bool,
}

type Options = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "pressure_tests/record.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    rebuild: Option<Rebuild>,
    chosen: Chosen,
    chosen_errors: Errors,
    asked: Option<Asked>,
    /// What plant, class and gauge chose.
    choices: Vec<Choice>,
    against: Option<String>,
    offers: Vec<Offer>,
    /// Pressure gauges that do not suit, and why not.
    others: Vec<String>,
    /// What is in question of what was made with those that suit.
    questioned: Vec<MadeWith>,
    typed: Typed,
    errors: Errors,
}

impl Page {
    fn pressures() -> Options {
        units::<PressureUnit>()
    }

    fn temperatures() -> Options {
        units::<TemperatureUnit>()
    }

    fn lengths() -> Options {
        units::<LengthUnit>()
    }

    fn media() -> Options {
        Medium::ALL
            .iter()
            .map(|m| (m.word().to_owned(), m.shown().to_owned()))
            .collect()
    }

    /// The rows of readings, filled and empty ones: minute, pressure, temperature.
    fn rows(&self) -> Vec<(String, String, String)> {
        let t = &self.typed;
        let at = |list: &[String], i: usize| list.get(i).cloned().unwrap_or_default();
        let filled = t
            .minute
            .len()
            .max(t.pressure.len())
            .max(t.temperature.len());
        (0..ROWS.max(filled))
            .map(|i| (at(&t.minute, i), at(&t.pressure, i), at(&t.temperature, i)))
            .collect()
    }

    /// Whether anything of the folded part was typed, so that it is shown open.
    fn more_typed(&self) -> bool {
        let t = &self.typed;
        [
            &t.place,
            &t.read_at,
            &t.procedure,
            &t.metal,
            &t.chloride,
            &t.above_lowest,
            &t.below_highest,
        ]
        .iter()
        .any(|v| !v.is_empty())
    }

    /// Whether the required pressure rests on anything but nameplate and plant.
    fn chosen_any(&self) -> bool {
        let c = &self.chosen;
        [&c.at, &c.ratio, &c.limit].iter().any(|v| !v.is_empty())
    }

    async fn new(
        db: &mut SqliteConnection,
        chrome: Chrome,
        gauge: Gauge,
        chosen: Chosen,
        typed: Option<(Typed, Errors)>,
    ) -> store::Result<Self> {
        let open = store::rebuilds::open_of(db, gauge.id).await?;
        let against = may_be_tested(&gauge, open.as_ref())
            .err()
            .map(|refusal| refusal.to_string());
        let chosen = with_units(chosen, &gauge, chrome.reads());
        let plan = store::test_plans::plan(db, &chrome.plant, &gauge).await?;
        let found = basis(&chosen).and_then(|basis| {
            pressure_test::asked(&plan, &gauge.particulars, &basis).map_err(|fault| {
                let mut errors = Errors::none();
                errors.add(fault.field, fault.message);
                errors
            })
        });
        let (asked, chosen_errors) = match found {
            Ok(asked) => (Some(asked), Errors::none()),
            Err(errors) => (None, errors),
        };
        let (offers, others, questioned) = match &asked {
            Some(asked) => offers(db, &chrome, asked.required).await?,
            None => (Vec::new(), Vec::new(), Vec::new()),
        };
        let (typed, errors) = typed.unwrap_or_else(|| {
            let blank = asked
                .as_ref()
                .map(|asked| blank(asked, &gauge, &chrome, &offers));
            (blank.unwrap_or_default(), Errors::none())
        });
        Ok(Self {
            chrome,
            gauge,
            rebuild: open.filter(|r| r.state == RebuildState::OnTest),
            chosen,
            chosen_errors,
            asked,
            against,
            choices: plan.choices(),
            offers,
            others,
            questioned,
            typed,
            errors,
        })
    }
}

fn units<U: Unit>() -> Options {
    U::ALL
        .iter()
        .map(|unit| (unit.ucum().to_owned(), unit.symbol().to_owned()))
        .collect()
}

/// The units of the person, or those the gauge's own nameplate is in, where the address names none.
fn with_units(mut chosen: Chosen, gauge: &Gauge, reads: Reads) -> Chosen {
    let p = &gauge.particulars;
    if chosen.at_unit.is_empty() {
        let point = p.rating_points.first().map(|point| point.temperature.unit);
        let stamped = p.rating_temperature.map(|t| t.unit);
        let usual = point.or(stamped).unwrap_or(TemperatureUnit::Celsius);
        let unit = reads.unit(usual);
        unit.ucum().clone_into(&mut chosen.at_unit);
    }
    if chosen.limit_unit.is_empty() {
        let usual = p.rating.map_or(PressureUnit::Psi, |rating| rating.unit);
        let unit = reads.unit(usual);
        unit.ucum().clone_into(&mut chosen.limit_unit);
    }
    chosen
}

fn basis(chosen: &Chosen) -> Result<Basis, Errors> {
    let mut read = Reader::new();
    let temperature = read.any_stamped::<TemperatureUnit>("at", &chosen.at, &chosen.at_unit);
    let stress_ratio = if chosen.ratio.trim().is_empty() {
        None
    } else {
        read.decimal("ratio", &chosen.ratio)
    };
    let limit = read.stamped::<PressureUnit>("limit", &chosen.limit, &chosen.limit_unit);
    read.finish(Some(Basis {
        temperature,
        stress_ratio,
        limit,
    }))
}

async fn offers(
    db: &mut SqliteConnection,
    chrome: &Chrome,
    required: StampedPressure,
) -> store::Result<(Vec<Offer>, Vec<String>, Vec<MadeWith>)> {
    let (mut suit, mut others, mut ids) = (Vec::new(), Vec::new(), Vec::new());
    for instrument in store::instruments::of_kind(db, InstrumentKind::PressureGauge).await? {
        match Relied::on(&instrument, chrome.today, required) {
            Ok(relied) => {
                suit.push(relied);
                ids.push(instrument.id);
            }
            Err(why) => others.push(why),
        }
    }
    let scales: Vec<StampedPressure> = suit.iter().map(Relied::full_scale).collect();
    let best = best_gauge(&scales, required);
    let offers = suit
        .into_iter()
        .enumerate()
        .map(|(place, relied)| {
            let coarse = if relied.coarse_for(required) {
                "; reads in coarse steps for this test"
            } else {
                ""
            };
            Offer {
                range: relied.range(),
                unit: relied.unit,
                words: format!("calibrated to {}{coarse}", show::date(&relied.due_on)),
                number: relied.number,
                best: best == Some(place),
            }
        })
        .collect();
    let questioned = store::certificates::questioned_with(db, &ids).await?;
    Ok((offers, others, questioned))
}

fn blank(asked: &Asked, gauge: &Gauge, chrome: &Chrome, offers: &[Offer]) -> Typed {
    let stamped = gauge.particulars.rating_temperature;
    let reads = chrome.reads();
    let degrees = reads
        .unit(stamped.map_or(TemperatureUnit::Celsius, |t| t.unit))
        .ucum();
    let best = offers.iter().find(|offer| offer.best);
    // Readings are copied from the dial of the gauge that stands chosen, whoever reads in which unit.
    let scale = best.map_or_else(|| reads.unit(asked.required.unit), |offer| offer.unit);
    Typed {
        instrument: best.map_or_else(String::new, |offer| offer.number.to_string()),
        began_on: show::plain_date(&chrome.today),
        medium: Medium::Water.word().to_owned(),
        minute: vec!["0".to_owned(), asked.hold_minutes.to_string()],
        pressure_unit: scale.ucum().to_owned(),
        temperature_unit: degrees.to_owned(),
        metal_unit: degrees.to_owned(),
        // No nameplate and no drawing gives heights in thousandths: metres for those who read SI.
        height_unit: match reads {
            Reads::UsCustomary => LengthUnit::Inch,
            Reads::AsStamped | Reads::Si => LengthUnit::Metre,
        }
        .ucum()
        .to_owned(),
        ..Typed::default()
    }
}

pub(super) fn parsed(
    t: &Typed,
    chrome: &Chrome,
    gauge: &Gauge,
    basis: Basis,
) -> Result<Done, Errors> {
    let mut read = Reader::new();
    let shown = read.stamped::<PressureUnit>("", &t.required, &t.required_unit);
    let instrument = read.take(
        "instrument",
        t.instrument
            .parse()
            .map_err(|_| "Choose the pressure gauge that was read"),
    );
    let day = read.needed_date("began_on", &t.began_on);
    let time = read.needed_time("began_at", &t.began_at);
    let began = day
        .zip(time)
        .and_then(|(day, time)| chrome.zone().moment(day, time));
    let medium: Option<Medium> = read.parse("medium", &t.medium);
    if t.confirmed.is_empty() {
        let words = unticked(
            medium.map_or(CONFIRMED, Medium::confirmed),
            "a test with air inside or people in line with the glass is not begun",
        );
        read.refuse("confirmed", words);
    }
    let readings = readings(&mut read, t);
    let leak: Option<LeakSeen> = read.take(
        "leak",
        t.leak
            .parse()
            .map_err(|_: String| "Say whether a leak was seen"),
    );
    let circumstances = Circumstances {
        place: read.text("place", &t.place, 80),
        read_at: read.text("read_at", &t.read_at, 120),
        procedure: read.text("procedure", &t.procedure, 80),
        metal: read.any_stamped::<TemperatureUnit>("metal", &t.metal, &t.metal_unit),
        chloride: if t.chloride.trim().is_empty() {
            None
        } else {
            read.take(
                "chloride",
                decimal("chloride", &t.chloride)
                    .ok()
                    .filter(|c| !c.is_sign_negative())
                    .ok_or("Write the milligrams in a litre, such as 38"),
            )
        },
    };
    let height = |read: &mut Reader, field, text: &str| {
        read.any_stamped::<LengthUnit>(field, text, &t.height_unit)
    };
    let above = height(&mut read, "above_lowest", &t.above_lowest);
    let below = height(&mut read, "below_highest", &t.below_highest);
    if above.is_some() != below.is_some() {
        read.refuse(
            "above_lowest",
            "Write both heights, or neither; 0 where the gauge is level with that point",
        );
    }
    let heights = above
        .zip(below)
        .map(|(above_lowest, below_highest)| Elevations {
            above_lowest,
            below_highest,
        });
    let note = read.text("note", &t.note, 2000);
    let whole = (|| {
        Some(Done {
            gauge: gauge.id,
            basis,
            shown,
            instrument: instrument?,
            began: began?,
            medium: medium?,
            readings: readings?,
            leak: leak?,
            circumstances,
            heights,
            pump_with: None,
            worked: None,
            note,
        })
    })();
    read.finish(whole)
}

/// The rows in which a pressure was written; a minute alone stands there as an offer.
fn readings(read: &mut Reader, t: &Typed) -> Option<Vec<Reading>> {
    let at = |list: &[String], i: usize| list.get(i).map_or("", |text| text.trim()).to_owned();
    let rows = t
        .minute
        .len()
        .max(t.pressure.len())
        .max(t.temperature.len());
    let mut list = Vec::new();
    for i in 0..rows {
        let (minute, pressure, temperature) =
            (at(&t.minute, i), at(&t.pressure, i), at(&t.temperature, i));
        if pressure.is_empty() && temperature.is_empty() {
            continue;
        }
        let row = i + 1;
        let read_off = || -> Result<Reading, String> {
            let minute = minute.parse::<u32>().map_err(|_| {
                format!("Row {row}: write the minute since the hold began, such as 0 or 5")
            })?;
            let pressure = amount::<PressureUnit>(&pressure, &t.pressure_unit)
                .map(|(value, unit)| StampedPressure::new(value, unit))
                .filter(|p| !p.value.is_sign_negative())
                .ok_or_else(|| format!("Row {row}: write the pressure that was read"))?;
            let temperature = if temperature.is_empty() {
                None
            } else {
                Some(
                    amount::<TemperatureUnit>(&temperature, &t.temperature_unit)
                        .map(|(value, unit)| StampedTemperature::new(value, unit))
                        .ok_or_else(|| format!("Row {row}: write the temperature as a number"))?,
                )
            };
            Ok(Reading {
                minute,
                second: 0,
                pressure,
                temperature,
            })
        };
        list.push(read.take("readings", read_off())?);
    }
    Some(list)
}

fn amount<U: Unit>(value: &str, unit: &str) -> Option<(rust_decimal::Decimal, U)> {
    Some((decimal("reading", value).ok()?, U::from_ucum(unit)?))
}

async fn gauge(db: &mut SqliteConnection, tag: &str) -> Result<Gauge, PageError> {
    store::gauges::by_tag(db, tag)
        .await?
        .ok_or(PageError::NotFound("gauge"))
}

/// The empty form, with what the test has to reach.
pub async fn new(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    Query(chosen): Query<Chosen>,
) -> Answer {
    let mut db = app.store().read().await?;
    let gauge = gauge(&mut db, &tag).await?;
    answer::page(&Page::new(&mut db, chrome, gauge, chosen, None).await?)
}

/// Records the test.
pub async fn record(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    Query(chosen): Query<Chosen>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = {
        let mut db = app.store().read().await?;
        gauge(&mut db, &tag).await?
    };
    let done = basis(&chosen).and_then(|basis| parsed(&posted.form, &chrome, &gauge, basis));
    let done = match done {
        Ok(done) => record_one(&chrome, &posted.key, &done)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let typed = (posted.form, errors?);
            let mut db = app.store().read().await?;
            answer::refused(&Page::new(&mut db, chrome, gauge, chosen, Some(typed)).await?)
        }
    }
}

async fn record_one(chrome: &Chrome, key: &str, done: &Done) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    let number = acts::pressure_tests::record(&mut deed, done).await?;
    let to = address::pressure_test(&number);
    deed.commit(&to).await?;
    Ok(to)
}
