//! One line of a list: a gauge ready for the register, or every reason why not, each with the
//! column it belongs to. Tag numbers given twice are found in `plan`, which sees all lines.

use std::collections::{HashMap, HashSet};

use time::Date;

use super::date::{self, Dates, NotADate};
use super::field::{Field, ListUnit};
use super::matching::{Matching, split_at_temperature};
use super::plausible::{self, Torques};
use super::table::Line;
use super::words::{self, says_nothing};
use super::{folded, quantity, tidy};
use crate::calc::quantity::{
    LengthUnit, PressureUnit, Stamped, TemperatureUnit, TorqueUnit, significant,
};
use crate::calc::rating::Point;
use crate::record::gauge::{Isolation, Kind, Particulars, usual_kits};
use crate::record::{AreaId, KitId, ServiceClassId, TagNumber};

/// What the register already knows, as far as a list needs it; names folded.
#[derive(Debug, Clone)]
pub struct Known {
    /// Areas by name, with the name as it is written.
    pub areas: HashMap<String, (AreaId, String)>,
    /// Service classes by name, with the name as it is written.
    pub classes: HashMap<String, (ServiceClassId, String)>,
    /// Kits by number, with what they are for.
    pub kits: HashMap<String, (KitId, Kind)>,
    /// Tag numbers of the list that hang in the register.
    pub tags: HashSet<String>,
    /// Today, by the plant's clocks.
    pub today: Date,
}

/// A name the register knows, or one it would learn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Named<Id> {
    /// Its row.
    Known(Id),
    /// The name as the list writes it.
    New(String),
}

/// What is wrong with a line, and in which column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The field.
    pub field: Field,
    /// In plain words.
    pub message: String,
}

/// A gauge of a list, complete but for rows of areas and classes that are still to be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// The area.
    pub area: Named<AreaId>,
    /// The service class.
    pub class: Named<ServiceClassId>,
    particulars: Particulars,
}

impl Draft {
    /// The tag number.
    #[must_use]
    pub fn tag(&self) -> &TagNumber {
        &self.particulars.tag
    }

    /// The gauge, once its area and class have rows.
    #[must_use]
    pub fn settled(self, area: AreaId, class: ServiceClassId) -> Particulars {
        Particulars {
            area_id: area,
            service_class_id: class,
            ..self.particulars
        }
    }

    /// What was read for a field, as people write it; empty where there is nothing.
    #[must_use]
    pub fn shown(&self, field: Field) -> String {
        fn maybe(value: Option<impl ToString>) -> String {
            value.map_or_else(String::new, |v| v.to_string())
        }
        let p = &self.particulars;
        match field {
            Field::Kind => p.kind.to_string(),
            Field::Sections => p.sections.to_string(),
            Field::BoltForm => p.bolt_form.to_string(),
            Field::CanIsolate | Field::NeedsShutdown => p.isolation.to_string(),
            Field::GlassLength => p
                .glass_length_mm
                .map_or_else(String::new, |mm| format!("{mm} mm")),
            Field::BoltsPerRail => maybe(p.bolts_per_rail),
            Field::InstalledOn => p.installed_on.map_or_else(String::new, |d| {
                format!("{} {} {}", d.day(), short_month(d), d.year())
            }),
            Field::Rating | Field::RatingUnit => maybe(p.rating),
            Field::RatingTemperature | Field::RatingTemperatureUnit => maybe(p.rating_temperature),
            Field::Torque | Field::TorqueUnit => maybe(p.torque),
            Field::RatingPoints => p
                .rating_points
                .iter()
                .map(|point| format!("{} at {}", point.pressure, point.temperature))
                .collect::<Vec<_>>()
                .join("; "),
            Field::KitsPerRebuild => p.kits_per_rebuild.to_string(),
            _ => String::new(),
        }
    }
}

fn short_month(date: Date) -> String {
    date.month().to_string().chars().take(3).collect()
}

/// Reads lines by what was decided about their columns.
#[derive(Debug)]
pub struct Checker<'a> {
    matching: &'a Matching,
    known: &'a Known,
    /// The column of each field, in the order of the fields: asked for every cell of a long list.
    places: [Option<usize>; Field::ALL.len()],
    torques: Torques,
}

/// The faults of one line while it is read.
struct Reading<'a> {
    line: &'a Line,
    faults: Vec<Fault>,
}

impl Reading<'_> {
    fn refuse<T>(&mut self, field: Field, message: impl Into<String>) -> Option<T> {
        self.faults.push(Fault {
            field,
            message: message.into(),
        });
        None
    }

    fn take<T>(&mut self, field: Field, result: Result<T, String>) -> Option<T> {
        match result {
            Ok(value) => Some(value),
            Err(message) => self.refuse(field, message),
        }
    }
}

impl<'a> Checker<'a> {
    /// Begins to read a list.
    #[must_use]
    pub fn new(matching: &'a Matching, known: &'a Known) -> Self {
        let mut places = [None; Field::ALL.len()];
        for field in Field::ALL {
            places[*field as usize] = matching.column_of(*field);
        }
        Self {
            matching,
            known,
            places,
            torques: Torques::default(),
        }
    }

    /// The column a field stands in.
    #[must_use]
    pub fn column(&self, field: Field) -> Option<usize> {
        self.places[field as usize]
    }

    /// The cell of a field, as it stands in the line; empty where no column holds it.
    #[must_use]
    pub fn cell<'l>(&self, line: &'l Line, field: Field) -> &'l str {
        self.column(field).map_or("", |at| line.cell(at))
    }

    /// Reads one line.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub fn read(&mut self, line: &Line) -> Result<Draft, Vec<Fault>> {
        let mut read = Reading {
            line,
            faults: Vec::new(),
        };
        self.look_for_damage(&mut read);
        let draft = self.draft(&mut read);
        match draft {
            Some(draft) if read.faults.is_empty() => Ok(draft),
            _ => Err(read.faults),
        }
    }

    /// Cells the spreadsheet or the encoding broke before anybody reads them.
    fn look_for_damage(&self, read: &mut Reading<'_>) {
        for field in Field::ALL {
            let cell = self.cell(read.line, *field);
            if cell.is_empty() {
                continue;
            }
            if words::is_sheet_error(cell) {
                read.refuse::<()>(
                    *field,
                    format!(
                        "The spreadsheet itself shows an error here ({cell}); mend the formula"
                    ),
                );
            } else if cell.contains('\u{fffd}') {
                read.refuse::<()>(
                    *field,
                    "Some letters of this cell could not be read: the file is damaged here, or in another encoding",
                );
            }
        }
    }

    fn draft(&mut self, read: &mut Reading<'_>) -> Option<Draft> {
        let tag = self.tag(read);
        let usual = &self.matching.usual;
        let cells = (self.cell(read.line, Field::Area), usual.area.as_str());
        let area = Self::named(read, Field::Area, cells, &self.known.areas);
        let cells = (
            self.cell(read.line, Field::ServiceClass),
            usual.class.as_str(),
        );
        let class = Self::named(read, Field::ServiceClass, cells, &self.known.classes);
        let kind = self.chosen(read, Field::Kind, self.matching.usual.kind, words::kind);
        let sections = self.sections(read);
        let isolation = self.isolation(read);
        let bolt_form = self.chosen(
            read,
            Field::BoltForm,
            self.matching.usual.bolt_form,
            words::bolt_form,
        );
        let bolts_per_rail = self.whole(read, Field::BoltsPerRail, 1..=12);
        let glass_length_mm = self.glass_length(read);
        let installed_on = self.installed(read);
        let bolt_thread = self.thread(read);
        let (rating, rating_temperature) = self.rating(read);
        let torque = self.torque(read, &bolt_thread);
        let rating_points = self.rating_points(read);
        let kit_id = self.kit(read, kind);
        let kits = self.whole(read, Field::KitsPerRebuild, 1..=48);
        let mut text = |field, most| self.text(read, field, most);
        let texts = Texts {
            vessel: text(Field::Vessel, 80),
            service: text(Field::Service, 120),
            maker: text(Field::Maker, 80),
            order_number: text(Field::OrderNumber, 80),
            stamped_kit_number: text(Field::StampedKitNumber, 80),
            body_material: text(Field::BodyMaterial, 80),
            gasket_material: text(Field::GasketMaterial, 80),
            glass_type: text(Field::GlassType, 80),
            note: text(Field::Note, 2000),
        };
        let (kind, sections) = (kind?, sections?);
        let (area, class) = (area?, class?);
        // Rows that are still to be made have none; `settled` puts both in before anything is written.
        let area_id = if let Named::Known(id) = area {
            id
        } else {
            AreaId(0)
        };
        let class_id = if let Named::Known(id) = class {
            id
        } else {
            ServiceClassId(0)
        };
        Some(Draft {
            area,
            class,
            particulars: Particulars {
                tag: tag?,
                area_id,
                service_class_id: class_id,
                vessel: texts.vessel,
                service: texts.service,
                kind,
                sections,
                bolts_per_rail: bolts_per_rail.and_then(|n| u8::try_from(n).ok()),
                bolt_thread,
                bolt_form: bolt_form?,
                glass_length_mm,
                isolation: isolation?,
                installed_on,
                maker: texts.maker,
                order_number: texts.order_number,
                stamped_kit_number: texts.stamped_kit_number,
                body_material: texts.body_material,
                gasket_material: texts.gasket_material,
                glass_type: texts.glass_type,
                rating,
                rating_temperature,
                torque,
                rating_points,
                kit_id,
                kits_per_rebuild: kits.unwrap_or_else(|| usual_kits(kind, sections)),
                note: texts.note,
            },
        })
    }

    fn tag(&self, read: &mut Reading<'_>) -> Option<TagNumber> {
        let cell = tidy(self.cell(read.line, Field::Tag));
        let tag = cell.parse::<TagNumber>();
        let tag = read.take(Field::Tag, tag)?;
        if self.known.tags.contains(&folded(tag.as_str())) {
            return read.refuse(
                Field::Tag,
                format!("{tag} hangs in the register already; correct it there"),
            );
        }
        Some(tag)
    }

    fn named<Id: Copy>(
        read: &mut Reading<'_>,
        field: Field,
        (cell, usual): (&str, &str),
        known: &HashMap<String, (Id, String)>,
    ) -> Option<Named<Id>> {
        let cell = tidy(cell);
        let name = if says_nothing(&cell) {
            tidy(usual)
        } else {
            cell
        };
        let what = field.shown().to_lowercase();
        if name.is_empty() {
            return read.refuse(
                field,
                format!("No {what} here, and none is given for the whole list"),
            );
        }
        if name.chars().count() > 60 {
            return read.refuse(
                field,
                format!("The name of the {what} has more than 60 characters"),
            );
        }
        Some(match known.get(&folded(&name)) {
            Some((id, _)) => Named::Known(*id),
            None => Named::New(name),
        })
    }

    fn chosen<T: Copy + std::fmt::Display>(
        &self,
        read: &mut Reading<'_>,
        field: Field,
        usual: Option<T>,
        parse: fn(&str) -> Option<T>,
    ) -> Option<T> {
        let cell = self.cell(read.line, field);
        if says_nothing(cell) {
            if usual.is_none() {
                return read.refuse(
                    field,
                    format!(
                        "Nothing here about the {}, and nothing is chosen for the whole list",
                        of(field)
                    ),
                );
            }
            return usual;
        }
        let found = parse(cell);
        if found.is_none() {
            return read.refuse(
                field,
                format!(
                    "\u{201c}{}\u{201d} is not understood; write {}",
                    tidy(cell),
                    choices(field)
                ),
            );
        }
        found
    }

    fn isolation(&self, read: &mut Reading<'_>) -> Option<Isolation> {
        let turned = self.column(Field::NeedsShutdown).is_some();
        let field = if turned {
            Field::NeedsShutdown
        } else {
            Field::CanIsolate
        };
        let parse = if turned {
            |cell: &str| words::isolation(cell, true)
        } else {
            |cell: &str| words::isolation(cell, false)
        };
        self.chosen(read, field, self.matching.usual.isolation, parse)
    }

    /// A whole number in a range; nothing where the cell says nothing.
    fn whole(
        &self,
        read: &mut Reading<'_>,
        field: Field,
        range: std::ops::RangeInclusive<u16>,
    ) -> Option<u16> {
        let cell = self.cell(read.line, field);
        if says_nothing(cell) {
            return None;
        }
        let figures = cell.strip_suffix(".0").unwrap_or(cell);
        match figures.parse::<u16>() {
            Ok(number) if range.contains(&number) => Some(number),
            _ => read.refuse(
                field,
                format!(
                    "\u{201c}{}\u{201d} is not a whole number from {} to {}",
                    tidy(cell),
                    range.start(),
                    range.end()
                ),
            ),
        }
    }

    fn sections(&self, read: &mut Reading<'_>) -> Option<u8> {
        if says_nothing(self.cell(read.line, Field::Sections)) {
            if self.matching.usual.sections.is_none() {
                return read.refuse(
                    Field::Sections,
                    "Nothing here about the sections, and nothing is chosen for the whole list",
                );
            }
            return self.matching.usual.sections;
        }
        let number = self.whole(read, Field::Sections, 1..=12)?;
        u8::try_from(number).ok()
    }

    fn installed(&self, read: &mut Reading<'_>) -> Option<Date> {
        let cell = self.cell(read.line, Field::InstalledOn);
        if says_nothing(cell) {
            return None;
        }
        let how = Dates {
            order: self.matching.order,
            short_years: self.matching.short_years,
            today: self.known.today,
        };
        let given = tidy(cell);
        let found = date::read(cell, &how).map_err(|why| match why {
            NotADate::NoDate => format!(
                "\u{201c}{given}\u{201d} is not a date; write it as 2024-12-31 or 31 Dec 2024"
            ),
            NotADate::TwoWays => format!(
                "{given} can be read two ways; say above the columns whether dates begin with the day or the month"
            ),
            NotADate::ShortYear => format!(
                "The year of {given} has two digits; write all four, or let two digits be read above the columns"
            ),
            NotADate::NoDay => {
                format!("\u{201c}{given}\u{201d} has no day; write a date such as 2024-12-31")
            }
            NotADate::OutOfRange => format!("{given} lies outside the years 1900 to 2200"),
        });
        let date = read.take(Field::InstalledOn, found)?;
        if date > self.known.today {
            return read.refuse(
                Field::InstalledOn,
                format!("{given} is in the future; a gauge is brought in once it hangs"),
            );
        }
        Some(date)
    }

    fn thread(&self, read: &mut Reading<'_>) -> String {
        let cell = self.cell(read.line, Field::BoltThread);
        if date::is_iso(cell) {
            read.refuse::<()>(
                Field::BoltThread,
                format!("The spreadsheet made the date {cell} of a thread; write the thread as text, such as 1/2-13"),
            );
        }
        self.text(read, Field::BoltThread, 30)
    }

    fn glass_length(&self, read: &mut Reading<'_>) -> Option<u16> {
        let cell = self.cell(read.line, Field::GlassLength);
        if says_nothing(cell) {
            return None;
        }
        let usual = match self.unit_of(Field::GlassLength) {
            Some(ListUnit::Length(unit)) => Some(unit),
            _ => None,
        };
        let length = quantity::read::<LengthUnit>(cell, self.matching.numbers(), None, usual);
        let length = read.take(Field::GlassLength, length)?;
        // A glass is known to the register in whole millimetres.
        let mm = significant(length.in_unit(LengthUnit::Millimetre).round(), 6);
        match mm.parse::<u16>() {
            Ok(mm) if (50..=1000).contains(&mm) => Some(mm),
            _ => read.refuse(
                Field::GlassLength,
                format!("{length} is no length of a glass; it is from 50 to 1000 mm"),
            ),
        }
    }

    fn unit_of(&self, field: Field) -> Option<ListUnit> {
        self.column(field)
            .and_then(|at| self.matching.columns.get(at))
            .and_then(|column| column.unit)
    }

    fn beside<'l>(&self, line: &'l Line, field: Field) -> Option<&'l str> {
        let field = field.unit_field()?;
        Some(self.cell(line, field)).filter(|unit| !says_nothing(unit))
    }

    fn rating(
        &self,
        read: &mut Reading<'_>,
    ) -> (
        Option<Stamped<PressureUnit>>,
        Option<Stamped<TemperatureUnit>>,
    ) {
        let cell = self.cell(read.line, Field::Rating);
        let mut parts = split_at_temperature(cell);
        let value = parts.next().unwrap_or_default();
        let behind = parts.next();
        let usual = match self.unit_of(Field::Rating) {
            Some(ListUnit::Pressure(unit)) => Some(unit),
            _ => None,
        };
        let rating = if says_nothing(value) {
            None
        } else {
            let beside = self.beside(read.line, Field::Rating);
            let found = quantity::read(value, self.matching.numbers(), beside, usual)
                .and_then(|rating| plausible::pressure(rating).map(|()| rating));
            read.take(Field::Rating, found)
        };
        let own = self.cell(read.line, Field::RatingTemperature);
        let temperature = match (behind, says_nothing(own)) {
            (Some(behind), true) => self.temperature(read, Field::Rating, behind),
            (None, false) => self.temperature(read, Field::RatingTemperature, own),
            (Some(behind), false) => {
                let inner = self.temperature(read, Field::Rating, behind);
                let outer = self.temperature(read, Field::RatingTemperature, own);
                if inner == outer {
                    outer
                } else {
                    read.refuse(
                        Field::RatingTemperature,
                        format!("Two temperatures for one rating: {behind} in one cell, {own} in another"),
                    )
                }
            }
            (None, true) => None,
        };
        (rating, temperature)
    }

    fn temperature(
        &self,
        read: &mut Reading<'_>,
        field: Field,
        cell: &str,
    ) -> Option<Stamped<TemperatureUnit>> {
        let usual = match self.unit_of(Field::RatingTemperature) {
            Some(ListUnit::Temperature(unit)) => Some(unit),
            _ => None,
        };
        let beside = self.beside(read.line, Field::RatingTemperature);
        let found = quantity::read(cell, self.matching.numbers(), beside, usual)
            .and_then(|at| plausible::temperature(at).map(|()| at));
        read.take(field, found)
    }

    fn torque(&mut self, read: &mut Reading<'_>, thread: &str) -> Option<Stamped<TorqueUnit>> {
        let cell = self.cell(read.line, Field::Torque);
        if says_nothing(cell) {
            return None;
        }
        let usual = match self.unit_of(Field::Torque) {
            Some(ListUnit::Torque(unit)) => Some(unit),
            _ => None,
        };
        let beside = self.beside(read.line, Field::Torque);
        let found = quantity::read(cell, self.matching.numbers(), beside, usual)
            .and_then(|torque| self.torques.judge(torque, thread).map(|()| torque));
        read.take(Field::Torque, found)
    }

    /// "1000 psi @ 100 °F; 850 psi @ 400 °F".
    fn rating_points(&self, read: &mut Reading<'_>) -> Vec<Point> {
        let cell = self.cell(read.line, Field::RatingPoints);
        if says_nothing(cell) {
            return Vec::new();
        }
        let mut points: Vec<Point> = Vec::new();
        for part in cell
            .split([';', '|', '\n'])
            .filter(|p| !p.trim().is_empty())
        {
            let mut sides = split_at_temperature(part);
            let pressure = sides.next().unwrap_or_default();
            let Some(temperature) = sides.next() else {
                read.refuse::<()>(
                    Field::RatingPoints,
                    format!("\u{201c}{}\u{201d} is no point; write such as 1000 psi @ 100 \u{b0}F; 850 psi @ 400 \u{b0}F", tidy(part)),
                );
                return Vec::new();
            };
            let how = self.matching.numbers();
            let pressure = quantity::read::<PressureUnit>(pressure, how, None, None)
                .and_then(|p| plausible::pressure(p).map(|()| p));
            let temperature = quantity::read::<TemperatureUnit>(temperature, how, None, None)
                .and_then(|t| plausible::temperature(t).map(|()| t));
            let (Some(pressure), Some(temperature)) = (
                read.take(Field::RatingPoints, pressure),
                read.take(Field::RatingPoints, temperature),
            ) else {
                return Vec::new();
            };
            points.push(Point {
                temperature,
                pressure,
            });
        }
        points.sort_by(|a, b| a.temperature.si().total_cmp(&b.temperature.si()));
        let one_unit = points.windows(2).all(|pair| {
            pair[0].temperature.unit == pair[1].temperature.unit
                && pair[0].pressure.unit == pair[1].pressure.unit
        });
        let twice = points
            .windows(2)
            .any(|pair| pair[0].temperature == pair[1].temperature);
        if !one_unit || twice || points.len() > 24 {
            read.refuse::<()>(
                Field::RatingPoints,
                "The points of a rating are in one unit, each temperature once, at most 24 of them",
            );
        }
        points
    }

    fn kit(&self, read: &mut Reading<'_>, kind: Option<Kind>) -> Option<KitId> {
        let cell = tidy(self.cell(read.line, Field::Kit));
        if says_nothing(&cell) {
            return None;
        }
        match (self.known.kits.get(&folded(&cell)), kind) {
            (None, _) => read.refuse(
                Field::Kit,
                format!(
                    "The storeroom has no kit {cell}; add it there first, or leave the cell empty"
                ),
            ),
            (Some((_, fits)), Some(kind)) if *fits != kind => read.refuse(
                Field::Kit,
                format!("Kit {cell} is for {fits} gauges; this one is {kind}"),
            ),
            (Some((id, _)), _) => Some(*id),
        }
    }

    fn text(&self, read: &mut Reading<'_>, field: Field, most: usize) -> String {
        let cell = tidy(self.cell(read.line, field));
        if cell.chars().count() > most {
            read.refuse::<()>(field, format!("More than {most} characters; shorten it"));
        }
        cell
    }
}

struct Texts {
    vessel: String,
    service: String,
    maker: String,
    order_number: String,
    stamped_kit_number: String,
    body_material: String,
    gasket_material: String,
    glass_type: String,
    note: String,
}

const fn of(field: Field) -> &'static str {
    match field {
        Field::Kind => "type (reflex or transparent)",
        Field::BoltForm => "bolting",
        _ => "isolation",
    }
}

const fn choices(field: Field) -> &'static str {
    match field {
        Field::Kind => "reflex or transparent",
        Field::BoltForm => "bolts, studs or U-bolts",
        _ => "yes or no",
    }
}
