//! Taking a gauge in and correcting one: the nameplate as stamped, value and unit.
//! A second saver sees what the first one changed and loses nothing of what they typed.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;
use sqlx::SqliteConnection;

use crate::acts;
use crate::calc::quantity::{PressureUnit, TemperatureUnit, TorqueUnit, Unit};
use crate::calc::rating;
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::gauge::{BoltForm, Gauge, Isolation, Kind, Particulars, usual_kits};
use crate::record::{AreaId, KitId, ServiceClassId};
use crate::store;

/// Rows offered for pressure-temperature points.
const POINTS: usize = 8;

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    tag: String,
    area: String,
    class: String,
    vessel: String,
    service: String,
    kind: String,
    sections: String,
    bolts_per_rail: String,
    bolt_thread: String,
    bolt_form: String,
    glass_length_mm: String,
    isolation: String,
    installed_on: String,
    maker: String,
    order_number: String,
    stamped_kit_number: String,
    body_material: String,
    gasket_material: String,
    glass_type: String,
    rating: String,
    rating_unit: String,
    rating_temperature: String,
    rating_temperature_unit: String,
    torque: String,
    torque_unit: String,
    point_temperature: Vec<String>,
    point_pressure: Vec<String>,
    point_temperature_unit: String,
    point_pressure_unit: String,
    kit: String,
    kits_per_rebuild: String,
    note: String,
    version: i64,
}

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
        let choose = |list: Options| -> Options {
            std::iter::once((String::new(), "choose".to_owned()))
                .chain(list)
                .collect()
        };
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

    fn kinds(&self) -> Options {
        words(Kind::ALL, Kind::word, Kind::shown)
    }

    fn bolt_forms(&self) -> Options {
        words(BoltForm::ALL, BoltForm::word, BoltForm::shown)
    }

    fn isolations(&self) -> Options {
        words(Isolation::ALL, Isolation::word, Isolation::shown)
    }

    fn pressures(&self) -> Options {
        units::<PressureUnit>()
    }

    fn temperatures(&self) -> Options {
        units::<TemperatureUnit>()
    }

    fn torques(&self) -> Options {
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
}

fn blank() -> Typed {
    Typed {
        kind: Kind::Reflex.word().to_owned(),
        sections: "1".to_owned(),
        bolt_form: BoltForm::Bolts.word().to_owned(),
        isolation: Isolation::InService.word().to_owned(),
        rating_unit: PressureUnit::Psi.ucum().to_owned(),
        rating_temperature_unit: TemperatureUnit::Fahrenheit.ucum().to_owned(),
        torque_unit: TorqueUnit::FootPound.ucum().to_owned(),
        point_temperature_unit: TemperatureUnit::Fahrenheit.ucum().to_owned(),
        point_pressure_unit: PressureUnit::Psi.ucum().to_owned(),
        ..Typed::default()
    }
}

fn text<T: ToString>(value: Option<T>) -> String {
    value.map_or_else(String::new, |v| v.to_string())
}

fn typed_of(gauge: &Gauge) -> Typed {
    let p = &gauge.particulars;
    let unit = |code: Option<&'static str>, usual: &'static str| code.unwrap_or(usual).to_owned();
    let first = p.rating_points.first();
    Typed {
        tag: p.tag.to_string(),
        area: p.area_id.0.to_string(),
        class: p.service_class_id.0.to_string(),
        vessel: p.vessel.clone(),
        service: p.service.clone(),
        kind: p.kind.word().to_owned(),
        sections: p.sections.to_string(),
        bolts_per_rail: text(p.bolts_per_rail),
        bolt_thread: p.bolt_thread.clone(),
        bolt_form: p.bolt_form.word().to_owned(),
        glass_length_mm: text(p.glass_length_mm),
        isolation: p.isolation.word().to_owned(),
        installed_on: text(p.installed_on),
        maker: p.maker.clone(),
        order_number: p.order_number.clone(),
        stamped_kit_number: p.stamped_kit_number.clone(),
        body_material: p.body_material.clone(),
        gasket_material: p.gasket_material.clone(),
        glass_type: p.glass_type.clone(),
        rating: text(p.rating.map(|r| r.value)),
        rating_unit: unit(p.rating.map(|r| r.unit.ucum()), "[psi]"),
        rating_temperature: text(p.rating_temperature.map(|t| t.value)),
        rating_temperature_unit: unit(p.rating_temperature.map(|t| t.unit.ucum()), "[degF]"),
        torque: text(p.torque.map(|t| t.value)),
        torque_unit: unit(p.torque.map(|t| t.unit.ucum()), "[ft_i].[lbf_av]"),
        point_temperature: p
            .rating_points
            .iter()
            .map(|x| x.temperature.value.to_string())
            .collect(),
        point_pressure: p
            .rating_points
            .iter()
            .map(|x| x.pressure.value.to_string())
            .collect(),
        point_temperature_unit: unit(first.map(|x| x.temperature.unit.ucum()), "[degF]"),
        point_pressure_unit: unit(first.map(|x| x.pressure.unit.ucum()), "[psi]"),
        kit: text(p.kit_id.map(|id| id.0)),
        kits_per_rebuild: p.kits_per_rebuild.to_string(),
        note: p.note.clone(),
        version: gauge.version,
    }
}

fn parsed(t: &Typed) -> Result<Particulars, Errors> {
    let mut read = Reader::new();
    let tag = read.parse("tag", &t.tag);
    let area = read.take(
        "area",
        t.area
            .parse()
            .map(AreaId)
            .map_err(|_| "Choose the area it hangs in"),
    );
    let class = read.take(
        "class",
        t.class
            .parse()
            .map(ServiceClassId)
            .map_err(|_| "Choose the service class"),
    );
    let kind: Option<Kind> = read.parse("kind", &t.kind);
    let sections = read
        .needed_whole("sections", &t.sections, 1..=12)
        .and_then(|n| u8::try_from(n).ok());
    let bolts_per_rail = read
        .whole("bolts_per_rail", &t.bolts_per_rail, 1..=12)
        .and_then(|n| u8::try_from(n).ok());
    let glass_length_mm = read
        .whole("glass_length_mm", &t.glass_length_mm, 50..=1000)
        .and_then(|n| u16::try_from(n).ok());
    let isolation = read.parse("isolation", &t.isolation);
    let bolt_form = read.parse("bolt_form", &t.bolt_form);
    let installed_on = read.date("installed_on", &t.installed_on);
    let rating = read.stamped::<PressureUnit>("rating", &t.rating, &t.rating_unit);
    let rating_temperature = read.any_stamped::<TemperatureUnit>(
        "rating_temperature",
        &t.rating_temperature,
        &t.rating_temperature_unit,
    );
    let torque = read.stamped::<TorqueUnit>("torque", &t.torque, &t.torque_unit);
    let rating_points = points(&mut read, t);
    let kits = read
        .whole("kits_per_rebuild", &t.kits_per_rebuild, 1..=48)
        .and_then(|n| u16::try_from(n).ok());
    let whole = (|| {
        Some(Particulars {
            tag: tag?,
            area_id: area?,
            service_class_id: class?,
            vessel: read.text("vessel", &t.vessel, 80),
            service: read.text("service", &t.service, 120),
            kind: kind?,
            sections: sections?,
            bolts_per_rail,
            bolt_thread: read.text("bolt_thread", &t.bolt_thread, 30),
            bolt_form: bolt_form?,
            glass_length_mm,
            isolation: isolation?,
            installed_on,
            maker: read.text("maker", &t.maker, 80),
            order_number: read.text("order_number", &t.order_number, 80),
            stamped_kit_number: read.text("stamped_kit_number", &t.stamped_kit_number, 80),
            body_material: read.text("body_material", &t.body_material, 80),
            gasket_material: read.text("gasket_material", &t.gasket_material, 80),
            glass_type: read.text("glass_type", &t.glass_type, 80),
            rating,
            rating_temperature,
            torque,
            rating_points: rating_points?,
            kit_id: t.kit.parse().ok().map(KitId),
            kits_per_rebuild: kits
                .unwrap_or_else(|| usual_kits(kind.unwrap_or(Kind::Reflex), sections.unwrap_or(1))),
            note: read.text("note", &t.note, 2000),
        })
    })();
    read.finish(whole)
}

fn points(read: &mut Reader, t: &Typed) -> Option<Vec<rating::Point>> {
    let mut list = Vec::new();
    for (temperature, pressure) in t.point_temperature.iter().zip(&t.point_pressure) {
        if temperature.trim().is_empty() && pressure.trim().is_empty() {
            continue;
        }
        let temperature = read.any_stamped::<TemperatureUnit>(
            "point_temperature",
            temperature,
            &t.point_temperature_unit,
        );
        let pressure =
            read.stamped::<PressureUnit>("point_temperature", pressure, &t.point_pressure_unit);
        let (Some(temperature), Some(pressure)) = (temperature, pressure) else {
            read.refuse(
                "point_temperature",
                "Each row needs a temperature and a pressure",
            );
            return None;
        };
        list.push(rating::Point {
            temperature,
            pressure,
        });
    }
    list.sort_by_key(|point: &rating::Point| point.temperature.value);
    if list
        .windows(2)
        .any(|pair| pair[0].temperature.value == pair[1].temperature.value)
    {
        read.refuse("point_temperature", "Two points have the same temperature");
    }
    Some(list)
}

/// The empty form.
pub async fn new(State(app): State<App>, chrome: Chrome) -> Answer {
    let mut db = app.store().read().await?;
    answer::page(&Page::new(&mut db, chrome, blank(), Errors::none(), None).await?)
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
    let typed = typed_of(&gauge);
    answer::page(&Page::new(&mut db, chrome, typed, Errors::none(), Some(gauge)).await?)
}

/// Corrects the gauge.
pub async fn correct(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = {
        let mut db = app.store().read().await?;
        store::gauges::by_tag(&mut db, &tag)
            .await?
            .ok_or(PageError::NotFound("gauge"))?
    };
    let done = match parsed(&posted.form) {
        Ok(particulars) => correct_one(&chrome, &posted, &gauge, &particulars)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let mut db = app.store().read().await?;
            let now = store::gauges::by_id(&mut db, gauge.id).await?;
            answer::refused(&Page::new(&mut db, chrome, posted.form, errors?, now).await?)
        }
    }
}

async fn correct_one(
    chrome: &Chrome,
    posted: &Posted<Typed>,
    gauge: &Gauge,
    particulars: &Particulars,
) -> acts::Result<String> {
    let mut deed = chrome.deed(&posted.key).await?;
    acts::gauges::correct(&mut deed, gauge.id, posted.form.version, particulars).await?;
    let to = address::gauge(&particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}
