//! Several gauges on one pump: one hold record for all, and for each what was seen and a test of its
//! own. All see the same pressure, so only gauges that ask for the same may stand together.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::record::{Typed, parsed};
use crate::acts;
use crate::acts::pressure_tests::{Done, may_be_tested};
use crate::calc::quantity::{PressureUnit, StampedPressure, TemperatureUnit, Unit};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::{App, address, show};
use crate::record::gauge::Gauge;
use crate::record::instrument::InstrumentKind;
use crate::record::pressure_test::{Asked, Basis, CONFIRMED, LeakSeen, Medium, Relied, asked};
use crate::record::{InstrumentNumber, Refusal};
use crate::store;
use crate::store::certificates::MadeWith;

/// Gauges on one pump at the most.
const MOST: usize = 20;
/// Rows offered for readings.
const ROWS: usize = 6;

/// Which gauges, as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Chosen {
    tags: String,
}

/// Everything that was typed, by name; a name may come more than once.
type Fields = Vec<(String, String)>;
type Options = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "pressure_tests/pump.html")]
struct Page {
    chrome: Chrome,
    chosen: Chosen,
    gauges: Vec<(Gauge, Asked)>,
    /// What keeps them from standing together.
    against: Vec<String>,
    instruments: Vec<InstrumentNumber>,
    /// What is in question of what was made with them.
    questioned: Vec<MadeWith>,
    fields: Fields,
    errors: Errors,
}

fn tags(text: &str) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    for tag in text.split(|c: char| c.is_whitespace() || c == ',' || c == ';') {
        if !tag.is_empty() && !list.iter().any(|known| known == tag) {
            list.push(tag.to_owned());
        }
    }
    list.truncate(MOST);
    list
}

impl Page {
    async fn new(
        db: &mut SqliteConnection,
        chrome: Chrome,
        chosen: Chosen,
        fields: Fields,
        errors: Errors,
    ) -> Result<Self, PageError> {
        let mut gauges = Vec::new();
        let mut against = Vec::new();
        for tag in tags(&chosen.tags) {
            let Some(gauge) = store::gauges::by_tag(&mut *db, &tag).await? else {
                against.push(format!("There is no gauge {tag}"));
                continue;
            };
            let open = store::rebuilds::open_of(&mut *db, gauge.id).await?;
            if let Err(refusal) = may_be_tested(&gauge, open.as_ref()) {
                against.push(refusal.to_string());
                continue;
            }
            let plan = store::test_plans::plan(&mut *db, &chrome.plant, &gauge).await?;
            match asked(&plan, &gauge.particulars, &Basis::default()) {
                Ok(asked) => gauges.push((gauge, asked)),
                Err(fault) => against.push(format!("{tag}: {}", fault.message)),
            }
        }
        if let Some((first, one)) = gauges.first() {
            against.extend(
                gauges
                    .iter()
                    .filter(|(_, a)| !same(a.required, one.required))
                    .map(|(gauge, a)| {
                        format!(
                            "{} asks for {} and {} for {}: on one pump both would see the same",
                            gauge.particulars.tag, a.required, first.particulars.tag, one.required
                        )
                    }),
            );
        }
        let (mut instruments, mut ids) = (Vec::new(), Vec::new());
        if let Some((_, one)) = gauges.first() {
            for i in store::instruments::of_kind(&mut *db, InstrumentKind::PressureGauge).await? {
                if Relied::on(&i, chrome.today, one.required).is_ok() {
                    instruments.push(i.number);
                    ids.push(i.id);
                }
            }
        }
        let questioned = store::certificates::questioned_with(db, &ids).await?;
        Ok(Self {
            chrome,
            chosen,
            gauges,
            against,
            instruments,
            questioned,
            fields,
            errors,
        })
    }

    /// What was typed under a name, the n-th of it.
    fn typed_at(&self, name: &str, place: usize) -> String {
        let mut found = self.fields.iter().filter(|(field, _)| field == name);
        found
            .nth(place)
            .map_or_else(String::new, |(_, value)| value.clone())
    }

    fn typed(&self, name: &str) -> String {
        if self.fields.is_empty() {
            // An empty form offers the person's units, or those the gauges ask in.
            let reads = self.chrome.reads();
            let asked = self.required().map_or(PressureUnit::Psi, |p| p.unit);
            match name {
                "pressure_unit" => return reads.unit(asked).ucum().to_owned(),
                "temperature_unit" => {
                    return reads.unit(TemperatureUnit::Celsius).ucum().to_owned();
                }
                _ => {}
            }
        }
        self.typed_at(name, 0)
    }

    /// The rows of readings: minute, pressure, temperature.
    fn rows(&self) -> Vec<(String, String, String)> {
        (0..ROWS)
            .map(|i| {
                let mut minute = self.typed_at("minute", i);
                if self.fields.is_empty() && i < 2 {
                    let hold = self.gauges.iter().map(|(_, a)| a.hold_minutes).max();
                    minute = if i == 0 {
                        "0".to_owned()
                    } else {
                        hold.map_or_else(String::new, |m| m.to_string())
                    };
                }
                (
                    minute,
                    self.typed_at("pressure", i),
                    self.typed_at("temperature", i),
                )
            })
            .collect()
    }

    fn required(&self) -> Option<StampedPressure> {
        self.gauges.first().map(|(_, asked)| asked.required)
    }

    fn hold(&self) -> u32 {
        self.gauges
            .iter()
            .map(|(_, a)| a.hold_minutes)
            .max()
            .unwrap_or(0)
    }

    fn media() -> Options {
        Medium::ALL
            .iter()
            .filter(|medium| !medium.is_gas())
            .map(|m| (m.word().to_owned(), m.shown().to_owned()))
            .collect()
    }

    fn pressures() -> Options {
        PressureUnit::ALL
            .iter()
            .map(|u| (u.ucum().to_owned(), u.symbol().to_owned()))
            .collect()
    }

    fn temperatures() -> Options {
        TemperatureUnit::ALL
            .iter()
            .map(|u| (u.ucum().to_owned(), u.symbol().to_owned()))
            .collect()
    }
}

fn same(one: StampedPressure, other: StampedPressure) -> bool {
    (one.si() - other.si()).abs() <= one.si() * 1e-6
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(chosen): Query<Chosen>) -> Answer {
    let mut db = app.store().read().await?;
    let page = Page::new(&mut db, chrome, chosen, Vec::new(), Errors::none()).await?;
    answer::page(&page)
}

/// Records a test of each gauge.
pub async fn record(
    State(app): State<App>,
    chrome: Chrome,
    Query(chosen): Query<Chosen>,
    posted: Posted<Fields>,
) -> Answer {
    let errors = match read(&app, &chrome, &chosen, &posted.form).await? {
        Ok(list) => {
            let done = async {
                let mut deed = chrome.deed(&posted.key).await?;
                let first = acts::pressure_tests::record_together(&mut deed, list).await?;
                let to = address::pressure_test(&first);
                deed.commit(&to).await?;
                acts::Result::Ok(to)
            };
            match done.await {
                Ok(to) => return Ok(see_other(&to)),
                Err(error) => form::refused(error)?,
            }
        }
        Err(errors) => errors,
    };
    let mut db = app.store().read().await?;
    let page = Page::new(&mut db, chrome, chosen, posted.form, errors).await?;
    answer::refused(&page)
}

/// The test of each gauge as it was typed: what all share, and what was seen on this one.
async fn read(
    app: &App,
    chrome: &Chrome,
    chosen: &Chosen,
    fields: &Fields,
) -> Result<Result<Vec<Done>, Errors>, PageError> {
    let mut db = app.store().read().await?;
    let mut list = Vec::new();
    for tag in tags(&chosen.tags) {
        let gauge = store::gauges::by_tag(&mut db, &tag)
            .await?
            .ok_or(PageError::NotFound("gauge"))?;
        let own = |name: &str| {
            let wanted = format!("{name}:{tag}");
            let found = fields.iter().find(|(field, _)| *field == wanted);
            found.map_or_else(String::new, |(_, value)| value.clone())
        };
        let mut pairs: Fields = fields
            .iter()
            .filter(|(name, _)| !name.contains(':') && name != "key")
            .cloned()
            .collect();
        pairs.push(("leak".to_owned(), own("leak")));
        pairs.push(("note".to_owned(), own("note")));
        let text = serde_html_form::to_string(&pairs)
            .map_err(|error| PageError::BadForm(error.to_string()))?;
        let typed: Typed = serde_html_form::from_str(&text)
            .map_err(|error| PageError::BadForm(error.to_string()))?;
        match parsed(&typed, chrome, &gauge, Basis::default()) {
            Ok(done) => list.push(done),
            Err(errors) => return Ok(Err(errors)),
        }
    }
    if list.len() < 2 {
        let words = "Name at least two gauges; one alone has a page of its own";
        return Ok(Err(Refusal::field("tags", words).into()));
    }
    Ok(Ok(list))
}
