//! One line of a list: a gauge ready for the register, or every reason why not, each with the
//! column it belongs to. Tag numbers given twice are found in `plan`, which sees all lines.

mod values;

use std::collections::HashMap;

use time::Date;

use super::date::{self, Dates, NotADate};
use super::draft::{Draft, Fault, Known, Named};
use super::field::Field;
use super::matching::Matching;
use super::plausible::Torques;
use super::table::Line;
use super::words::{self, says_nothing, unreadable};
use super::{folded, tidy};
use crate::calc::calendar::said;
use crate::record::gauge::{Assumed, Isolation, Kind, Particulars, usual_kits};
use crate::record::{AreaId, KitId, ServiceClassId, TagNumber};

/// Reads lines by what was decided about their columns.
#[derive(Debug)]
pub struct Checker<'a> {
    matching: &'a Matching,
    known: &'a Known,
    /// The column of each field, in the order of the fields: asked for every cell of a long list.
    places: [Option<usize>; Field::ALL.len()],
    torques: Torques,
}

/// The faults of one line while it is read, and what it does not say itself.
struct Reading<'a> {
    line: &'a Line,
    faults: Vec<Fault>,
    assumed: Vec<Assumed>,
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
            assumed: Vec::new(),
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
        let installed_on = self.day(read, Field::InstalledOn);
        let papers_rebuilt_on = self.day_since(read, Field::RebuiltOn, installed_on);
        let papers_looked_on = self.day_since(read, Field::LookedOn, installed_on);
        let bolt_thread = self.thread(read);
        let (rating, rating_temperature) = self.rating(read);
        let torque = self.torque(read, &bolt_thread);
        let rating_points = self.rating_points(read);
        let kit_id = self.kit(read, kind);
        let kits = self.whole(read, Field::KitsPerRebuild, 1..=48);
        let rating_unreadable = rating.is_none() && unreadable(self.cell(read.line, Field::Rating));
        let torque_unreadable = torque.is_none() && unreadable(self.cell(read.line, Field::Torque));
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
                papers_rebuilt_on,
                papers_looked_on,
                maker: texts.maker,
                order_number: texts.order_number,
                stamped_kit_number: texts.stamped_kit_number,
                body_material: texts.body_material,
                gasket_material: texts.gasket_material,
                glass_type: texts.glass_type,
                rating,
                rating_temperature,
                rating_unreadable,
                torque,
                torque_unreadable,
                rating_points,
                kit_id,
                kits_per_rebuild: kits.unwrap_or_else(|| usual_kits(kind, sections)),
                note: texts.note,
                assumed: in_order(std::mem::take(&mut read.assumed)),
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
            read.assumed.push(assumed(field));
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
            read.assumed.push(assumed(field));
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
            read.assumed.push(Assumed::Sections);
            return self.matching.usual.sections;
        }
        let number = self.whole(read, Field::Sections, 1..=12)?;
        u8::try_from(number).ok()
    }

    /// A day of earlier work, which cannot lie before the gauge was installed.
    fn day_since(
        &self,
        read: &mut Reading<'_>,
        field: Field,
        installed: Option<Date>,
    ) -> Option<Date> {
        let date = self.day(read, field)?;
        if installed.is_some_and(|installed| date < installed) {
            return read.refuse(
                field,
                format!("{} lies before the gauge was first installed", said(date)),
            );
        }
        Some(date)
    }

    fn day(&self, read: &mut Reading<'_>, field: Field) -> Option<Date> {
        let cell = self.cell(read.line, field);
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
        let date = read.take(field, found)?;
        if date > self.known.today {
            let why = if field == Field::InstalledOn {
                "a gauge is brought in once it hangs"
            } else {
                "only what was done is brought in"
            };
            return read.refuse(field, format!("{given} is in the future; {why}"));
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

/// First what weighs most, as the words stand in their list.
fn in_order(mut assumed: Vec<Assumed>) -> Vec<Assumed> {
    assumed.sort_unstable();
    assumed
}

/// What is assumed where a line says nothing in this field.
const fn assumed(field: Field) -> Assumed {
    match field {
        Field::Area => Assumed::Area,
        Field::ServiceClass => Assumed::ServiceClass,
        Field::Kind => Assumed::Kind,
        Field::BoltForm => Assumed::BoltForm,
        _ => Assumed::Isolation,
    }
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
