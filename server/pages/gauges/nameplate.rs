//! A gauge as it is typed into a form: every field as text, read into what the register keeps.
//! The page around it is `edit.rs`.

use serde::{Deserialize, Serialize};

use crate::calc::quantity::{PressureUnit, TemperatureUnit, TorqueUnit, Unit};
use crate::calc::rating;
use crate::pages::form::{Errors, Reader};
use crate::pages::merge::Field;
use crate::pages::show;
use crate::record::gauge::{Gauge, Kind, Particulars, usual_kits};
use crate::record::person::Reads;
use crate::record::{AreaId, KitId, ServiceClassId};

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Serialize, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) tag: String,
    pub(super) area: String,
    pub(super) class: String,
    pub(super) vessel: String,
    pub(super) service: String,
    pub(super) kind: String,
    pub(super) sections: String,
    pub(super) bolts_per_rail: String,
    pub(super) bolt_thread: String,
    pub(super) bolt_form: String,
    pub(super) glass_length_mm: String,
    pub(super) isolation: String,
    pub(super) installed_on: String,
    pub(super) papers_rebuilt_on: String,
    pub(super) papers_looked_on: String,
    pub(super) maker: String,
    pub(super) order_number: String,
    pub(super) stamped_kit_number: String,
    pub(super) body_material: String,
    pub(super) gasket_material: String,
    pub(super) glass_type: String,
    pub(super) rating: String,
    pub(super) rating_unit: String,
    pub(super) rating_unreadable: String,
    pub(super) rating_temperature: String,
    pub(super) rating_temperature_unit: String,
    pub(super) torque: String,
    pub(super) torque_unit: String,
    pub(super) torque_unreadable: String,
    pub(super) point_temperature: Vec<String>,
    pub(super) point_pressure: Vec<String>,
    pub(super) point_temperature_unit: String,
    pub(super) point_pressure_unit: String,
    pub(super) kit: String,
    pub(super) kits_per_rebuild: String,
    pub(super) note: String,
    /// What was assumed and somebody found so.
    pub(super) confirmed: Vec<String>,
    /// The gauge's row; none for a new one.
    pub(super) row: i64,
    pub(super) version: i64,
    /// The form as it was opened, so that a second saver loses nothing.
    #[serde(skip_serializing)]
    pub(super) opened: String,
}

/// The fields two people may both have changed, with the parts that belong together.
pub(super) const FIELDS: &[Field] = &[
    Field {
        name: "tag",
        parts: &["tag"],
    },
    Field {
        name: "area",
        parts: &["area"],
    },
    Field {
        name: "class",
        parts: &["class"],
    },
    Field {
        name: "vessel",
        parts: &["vessel"],
    },
    Field {
        name: "service",
        parts: &["service"],
    },
    Field {
        name: "kind",
        parts: &["kind"],
    },
    Field {
        name: "sections",
        parts: &["sections"],
    },
    Field {
        name: "bolts_per_rail",
        parts: &["bolts_per_rail"],
    },
    Field {
        name: "bolt_thread",
        parts: &["bolt_thread"],
    },
    Field {
        name: "bolt_form",
        parts: &["bolt_form"],
    },
    Field {
        name: "glass_length_mm",
        parts: &["glass_length_mm"],
    },
    Field {
        name: "isolation",
        parts: &["isolation"],
    },
    Field {
        name: "installed_on",
        parts: &["installed_on"],
    },
    Field {
        name: "papers_rebuilt_on",
        parts: &["papers_rebuilt_on"],
    },
    Field {
        name: "papers_looked_on",
        parts: &["papers_looked_on"],
    },
    Field {
        name: "maker",
        parts: &["maker"],
    },
    Field {
        name: "order_number",
        parts: &["order_number"],
    },
    Field {
        name: "stamped_kit_number",
        parts: &["stamped_kit_number"],
    },
    Field {
        name: "body_material",
        parts: &["body_material"],
    },
    Field {
        name: "gasket_material",
        parts: &["gasket_material"],
    },
    Field {
        name: "glass_type",
        parts: &["glass_type"],
    },
    Field {
        name: "kit",
        parts: &["kit"],
    },
    Field {
        name: "kits_per_rebuild",
        parts: &["kits_per_rebuild"],
    },
    Field {
        name: "note",
        parts: &["note"],
    },
    Field {
        name: "rating",
        parts: &["rating", "rating_unit", "rating_unreadable"],
    },
    Field {
        name: "rating_temperature",
        parts: &["rating_temperature", "rating_temperature_unit"],
    },
    Field {
        name: "torque",
        parts: &["torque", "torque_unit", "torque_unreadable"],
    },
    Field {
        name: "point_temperature",
        parts: &[
            "point_temperature",
            "point_temperature_unit",
            "point_pressure",
            "point_pressure_unit",
        ],
    },
];

/// The empty form: nothing that has to be read off the gauge is guessed. Units are the person's, or those
/// most nameplates carry, and count only beside a value.
pub(super) fn blank(reads: Reads) -> Typed {
    Typed {
        rating_unit: reads.unit(PressureUnit::Psi).ucum().to_owned(),
        rating_temperature_unit: reads.unit(TemperatureUnit::Fahrenheit).ucum().to_owned(),
        torque_unit: reads.unit(TorqueUnit::FootPound).ucum().to_owned(),
        point_temperature_unit: reads.unit(TemperatureUnit::Fahrenheit).ucum().to_owned(),
        point_pressure_unit: reads.unit(PressureUnit::Psi).ucum().to_owned(),
        ..Typed::default()
    }
}

fn text<T: ToString>(value: Option<T>) -> String {
    value.map_or_else(String::new, |v| v.to_string())
}

/// A tick as a form sends it.
fn tick(set: bool) -> String {
    if set { "yes" } else { "" }.to_owned()
}

/// Whether somebody looked and the nameplate does not tell a value.
fn unreadable(read: &mut Reader, field: &str, (value, tick): (&str, &str)) -> bool {
    let ticked = !tick.is_empty();
    if ticked && !value.trim().is_empty() {
        read.refuse(
            field,
            "Either write it as it is stamped, or tick that it cannot be read",
        );
    }
    ticked
}

/// The form of a gauge as the register holds it; what is not known yet offers the person's units.
pub(super) fn typed_of(gauge: &Gauge, reads: Reads) -> Typed {
    let p = &gauge.particulars;
    let usual = blank(reads);
    let unit = |code: Option<&'static str>, usual: String| code.map_or(usual, str::to_owned);
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
        installed_on: text(p.installed_on.map(|day| show::plain_date(&day))),
        papers_rebuilt_on: text(p.papers_rebuilt_on.map(|day| show::plain_date(&day))),
        papers_looked_on: text(p.papers_looked_on.map(|day| show::plain_date(&day))),
        maker: p.maker.clone(),
        order_number: p.order_number.clone(),
        stamped_kit_number: p.stamped_kit_number.clone(),
        body_material: p.body_material.clone(),
        gasket_material: p.gasket_material.clone(),
        glass_type: p.glass_type.clone(),
        rating: text(p.rating.map(|r| r.value)),
        rating_unit: unit(p.rating.map(|r| r.unit.ucum()), usual.rating_unit),
        rating_unreadable: tick(p.rating_unreadable),
        rating_temperature: text(p.rating_temperature.map(|t| t.value)),
        rating_temperature_unit: unit(
            p.rating_temperature.map(|t| t.unit.ucum()),
            usual.rating_temperature_unit,
        ),
        torque: text(p.torque.map(|t| t.value)),
        torque_unit: unit(p.torque.map(|t| t.unit.ucum()), usual.torque_unit),
        torque_unreadable: tick(p.torque_unreadable),
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
        point_temperature_unit: unit(
            first.map(|x| x.temperature.unit.ucum()),
            usual.point_temperature_unit,
        ),
        point_pressure_unit: unit(
            first.map(|x| x.pressure.unit.ucum()),
            usual.point_pressure_unit,
        ),
        kit: text(p.kit_id.map(|id| id.0)),
        kits_per_rebuild: p.kits_per_rebuild.to_string(),
        note: p.note.clone(),
        confirmed: Vec::new(),
        row: gauge.id.0,
        version: gauge.version,
        opened: String::new(),
    }
}

/// Reads what was typed.
///
/// # Errors
/// Every message, beside its field.
pub(super) fn parsed(t: &Typed) -> Result<Particulars, Errors> {
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
    let papers_rebuilt_on = read.date("papers_rebuilt_on", &t.papers_rebuilt_on);
    let papers_looked_on = read.date("papers_looked_on", &t.papers_looked_on);
    for (field, day) in [
        ("papers_rebuilt_on", papers_rebuilt_on),
        ("papers_looked_on", papers_looked_on),
    ] {
        if day.is_some() && day < installed_on {
            read.refuse(field, "This day lies before the gauge was first installed");
        }
    }
    let rating = read.stamped::<PressureUnit>("rating", &t.rating, &t.rating_unit);
    let rating_temperature = read.any_stamped::<TemperatureUnit>(
        "rating_temperature",
        &t.rating_temperature,
        &t.rating_temperature_unit,
    );
    let torque = read.stamped::<TorqueUnit>("torque", &t.torque, &t.torque_unit);
    let rating_unreadable = unreadable(&mut read, "rating", (&t.rating, &t.rating_unreadable));
    let torque_unreadable = unreadable(&mut read, "torque", (&t.torque, &t.torque_unreadable));
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
            papers_rebuilt_on,
            papers_looked_on,
            maker: read.text("maker", &t.maker, 80),
            order_number: read.text("order_number", &t.order_number, 80),
            stamped_kit_number: read.text("stamped_kit_number", &t.stamped_kit_number, 80),
            body_material: read.text("body_material", &t.body_material, 80),
            gasket_material: read.text("gasket_material", &t.gasket_material, 80),
            glass_type: read.text("glass_type", &t.glass_type, 80),
            rating,
            rating_temperature,
            rating_unreadable,
            torque,
            torque_unreadable,
            rating_points: rating_points?,
            kit_id: t.kit.parse().ok().map(KitId),
            kits_per_rebuild: kits
                .unwrap_or_else(|| usual_kits(kind.unwrap_or(Kind::Reflex), sections.unwrap_or(1))),
            note: read.text("note", &t.note, 2000),
            // What is still assumed is known where the gauge as it was is.
            assumed: Vec::new(),
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
