//! Taking a gauge in and correcting one: the nameplate as stamped, value and unit.
//! A second saver sees what the first one changed and loses nothing of what they typed.

use askama::Template;
use axum::extract::{Path, State};
use sqlx::SqliteConnection;

use super::nameplate::{FIELDS, Typed, blank, parsed, typed_of};
use crate::acts;
use crate::calc::quantity::{PressureUnit, Stamped, TemperatureUnit, TorqueUnit, Unit, decimal};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted};
use crate::pages::units::Read;
use crate::pages::{App, address, merge, show};
use crate::record::gauge::{Assumed, BoltForm, Gauge, Isolation, Kind, Particulars};
use crate::record::person::Reads;
use crate::record::{GaugeId, Refusal};
use crate::store;

/// Rows offered for pressure-temperature points.
const POINTS: usize = 8;

type Options = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "gauges/edit.html")]
struct Page {
    chrome: Chrome,
    typed: Typed,
    errors: Errors,
    /// The gauge being corrected; none when one is taken in.
    gauge: Option<Gauge>,
    areas: Options,
    classes: Options,
    kits: Options,
}

fn words<T: Copy>(all: &[T], word: fn(T) -> &'static str, shown: fn(T) -> &'static str) -> Options {
    all.iter()
        .map(|&one| (word(one).to_owned(), shown(one).to_owned()))
        .collect()
}

/// A list that begins with nothing chosen.
fn choose(list: Options) -> Options {
    std::iter::once((String::new(), "choose".to_owned()))
        .chain(list)
        .collect()
}

fn units<U: Unit>() -> Options {
    U::ALL
        .iter()
        .map(|unit| (unit.ucum().to_owned(), unit.symbol().to_owned()))
        .collect()
}

impl Page {
    async fn new(
        db: &mut SqliteConnection,
        chrome: Chrome,
        typed: Typed,
        errors: Errors,
        gauge: Option<Gauge>,
    ) -> store::Result<Self> {
        let areas = store::plant::areas(db).await?;
        let classes = store::plant::service_classes(db).await?;
        let kits = store::kits::numbers(db).await?;
        Ok(Self {
            chrome,
            typed,
            errors,
            gauge,
            areas: choose(
                areas
                    .into_iter()
                    .map(|a| (a.id.0.to_string(), a.name))
                    .collect(),
            ),
            classes: choose(
                classes
                    .into_iter()
                    .map(|c| (c.id.0.to_string(), c.name))
                    .collect(),
            ),
            kits: std::iter::once((String::new(), "none yet".to_owned()))
                .chain(
                    kits.into_iter()
                        .map(|(id, number)| (id.0.to_string(), number.to_string())),
                )
                .collect(),
        })
    }

    fn kinds() -> Options {
        choose(words(Kind::ALL, Kind::word, Kind::shown))
    }

    fn bolt_forms() -> Options {
        choose(words(BoltForm::ALL, BoltForm::word, BoltForm::shown))
    }

    fn isolations() -> Options {
        choose(words(Isolation::ALL, Isolation::word, Isolation::shown))
    }

    fn pressures() -> Options {
        units::<PressureUnit>()
    }

    fn temperatures() -> Options {
        units::<TemperatureUnit>()
    }

    fn torques() -> Options {
        units::<TorqueUnit>()
    }

    /// The rows of pressure-temperature points, filled and empty ones.
    fn points(&self) -> Vec<(String, String)> {
        let at = |list: &[String], i: usize| list.get(i).cloned().unwrap_or_default();
        let filled = self
            .typed
            .point_temperature
            .len()
            .max(self.typed.point_pressure.len());
        (0..POINTS.max(filled))
            .map(|i| {
                (
                    at(&self.typed.point_temperature, i),
                    at(&self.typed.point_pressure, i),
                )
            })
            .collect()
    }

    /// A field's value as people read it: names for choices, symbols for units.
    fn shown(&self, field: &str, values: &[String]) -> String {
        let named = |options: &Options, word: &str| {
            options
                .iter()
                .find(|(known, _)| known == word)
                .map_or_else(|| word.to_owned(), |(_, shown)| shown.clone())
        };
        let first = values.first().map_or("", String::as_str);
        let second = values.get(1).map_or("", String::as_str);
        match field {
            "area" => named(&self.areas, first),
            "class" => named(&self.classes, first),
            "kit" => named(&self.kits, first),
            "kind" => named(&Self::kinds(), first),
            "bolt_form" => named(&Self::bolt_forms(), first),
            "isolation" => named(&Self::isolations(), first),
            "rating" | "torque"
                if first.is_empty() && values.get(2).is_some_and(|tick| !tick.is_empty()) =>
            {
                "not readable".to_owned()
            }
            "rating" | "rating_temperature" | "torque" if first.is_empty() => String::new(),
            "rating" => format!("{first} {}", named(&Self::pressures(), second)),
            "rating_temperature" => format!("{first} {}", named(&Self::temperatures(), second)),
            "torque" => format!("{first} {}", named(&Self::torques(), second)),
            "point_temperature" => points_shown(values, &Self::temperatures(), &Self::pressures()),
            _ => first.to_owned(),
        }
    }

    /// What stands before the rating: the value in the other unit, once there is one.
    fn rating_hint(&self) -> String {
        self.hint::<PressureUnit>(&self.typed.rating, &self.typed.rating_unit, "")
    }

    fn temperature_hint(&self) -> String {
        let (value, unit) = (
            &self.typed.rating_temperature,
            &self.typed.rating_temperature_unit,
        );
        self.hint::<TemperatureUnit>(value, unit, "")
    }

    fn torque_hint(&self) -> String {
        self.hint::<TorqueUnit>(&self.typed.torque, &self.typed.torque_unit, "")
    }

    /// What was assumed of the gauge: its word, what the register holds, whether it is ticked, whether people
    /// open the gauge on that word.
    fn assumed(&self) -> Vec<(&'static str, String, bool, bool)> {
        let Some(gauge) = &self.gauge else {
            return Vec::new();
        };
        let each = gauge.particulars.assumed.iter();
        each.map(|one| {
            let words = format!("{}: {}", show::sentence(one), gauge.told(*one));
            let set = self.typed.confirmed.iter().any(|word| word == one.word());
            (one.word(), words, set, *one == Assumed::Isolation)
        })
        .collect()
    }

    fn hint<U: Read>(&self, value: &str, unit: &str, without: &str) -> String {
        match read::<U>(value, unit) {
            None => without.to_owned(),
            Some(value) => (self.chrome.reads().other(&value))
                .map_or_else(String::new, |other| format!("That is {other}")),
        }
    }
}

fn read<U: Unit>(value: &str, unit: &str) -> Option<Stamped<U>> {
    Some(Stamped::new(
        decimal("value", value).ok()?,
        U::from_ucum(unit)?,
    ))
}

/// Pressure-temperature points on one line: "100, 200 °F: 1000, 900 psi".
fn points_shown(values: &[String], temperatures: &Options, pressures: &Options) -> String {
    let at = |i: usize| values.get(i).map_or("", String::as_str);
    let symbol = |options: &Options, word: &str| {
        options
            .iter()
            .find(|(known, _)| known == word)
            .map_or_else(|| word.to_owned(), |(_, shown)| shown.clone())
    };
    if at(0).is_empty() {
        return String::new();
    }
    format!(
        "{} {}: {} {}",
        at(0),
        symbol(temperatures, at(1)),
        at(2),
        symbol(pressures, at(3))
    )
}

/// The empty form.
pub async fn new(State(app): State<App>, chrome: Chrome) -> Answer {
    let mut db = app.store().read().await?;
    let typed = blank(chrome.reads());
    answer::page(&Page::new(&mut db, chrome, typed, Errors::none(), None).await?)
}

/// Takes the gauge into the register.
pub async fn register(State(app): State<App>, chrome: Chrome, posted: Posted<Typed>) -> Answer {
    let done = match parsed(&posted.form) {
        Ok(particulars) => register_one(&chrome, &posted.key, &particulars)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let mut db = app.store().read().await?;
            answer::refused(&Page::new(&mut db, chrome, posted.form, errors?, None).await?)
        }
    }
}

async fn register_one(
    chrome: &Chrome,
    key: &str,
    particulars: &Particulars,
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::gauges::register(&mut deed, particulars).await?;
    let to = address::gauge(&particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}

/// The form with what is known.
pub async fn edit(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let gauge = store::gauges::by_tag(&mut db, &tag)
        .await?
        .ok_or(PageError::NotFound("gauge"))?;
    let typed = fresh(&gauge, chrome.reads());
    answer::page(&Page::new(&mut db, chrome, typed, Errors::none(), Some(gauge)).await?)
}

/// The form as it is opened, which it carries along.
fn fresh(gauge: &Gauge, reads: Reads) -> Typed {
    let typed = typed_of(gauge, reads);
    Typed {
        opened: merge::opened(&typed),
        ..typed
    }
}

/// Corrects the gauge the form was opened for, even if its tag number was changed meanwhile.
pub async fn correct(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = {
        let mut db = app.store().read().await?;
        let found = match posted.form.row {
            0 => store::gauges::by_tag(&mut db, &tag).await?,
            row => store::gauges::by_id(&mut db, GaugeId(row)).await?,
        };
        found.ok_or(PageError::NotFound("gauge"))?
    };
    let errors = match parsed(&posted.form) {
        Ok(particulars) => match correct_one(&chrome, &posted, &gauge, &particulars).await {
            Ok(to) => return Ok(see_other(&to)),
            Err(acts::Error::Refused(Refusal::Changed { by, .. })) => {
                return second_saver(&app, chrome, posted.form, &gauge, &by).await;
            }
            Err(error) => form::refused(error)?,
        },
        Err(errors) => errors,
    };
    let mut db = app.store().read().await?;
    answer::refused(&Page::new(&mut db, chrome, posted.form, errors, Some(gauge)).await?)
}

/// Shows the form again to somebody who was overtaken: both values beside each field that differs.
async fn second_saver(app: &App, chrome: Chrome, typed: Typed, gauge: &Gauge, by: &str) -> Answer {
    let mut db = app.store().read().await?;
    let now = store::gauges::by_id(&mut db, gauge.id)
        .await?
        .ok_or(PageError::NotFound("gauge"))?;
    let fresh = fresh(&now, chrome.reads());
    let opened = typed.opened.clone();
    let mut page = Page::new(&mut db, chrome, typed, Errors::none(), Some(now)).await?;
    let (merged, errors) = merge::merge(
        &opened,
        (page.typed.clone(), &fresh),
        FIELDS,
        by,
        |field, values| page.shown(field, values),
    );
    page.typed = Typed {
        row: fresh.row,
        version: fresh.version,
        opened: fresh.opened,
        ..merged
    };
    page.errors = errors;
    answer::refused(&page)
}

async fn correct_one(
    chrome: &Chrome,
    posted: &Posted<Typed>,
    gauge: &Gauge,
    particulars: &Particulars,
) -> acts::Result<String> {
    let confirmed: Vec<Assumed> = (posted.form.confirmed.iter())
        .filter_map(|word| word.parse().ok())
        .collect();
    let mut deed = chrome.deed(&posted.key).await?;
    let version = posted.form.version;
    acts::gauges::correct(&mut deed, gauge.id, version, (particulars, &confirmed)).await?;
    let to = address::gauge(&particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}
