//! What a person decided about a list: which column holds what, units where none is written, how
//! dates and decimals are read, and what holds for gauges the list says nothing about.

use serde::{Deserialize, Serialize};

use super::date::{self, Order};
use super::field::{Field, ListUnit};
use super::number::{self, Mark, Numbers};
use super::table::{Found, Table};
use super::words::says_nothing;
use super::{folded, headings, quantity};
use crate::record::FieldError;
use crate::record::gauge::{BoltForm, Isolation, Kind};

/// What one column holds.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Column {
    /// The field; none for a column that is left out.
    pub field: Option<Field>,
    /// The unit of values that carry none of their own.
    pub unit: Option<ListUnit>,
}

/// What holds where the list says nothing.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Usual {
    /// The area, by name.
    pub area: String,
    /// The service class, by name.
    pub class: String,
    /// Reflex or transparent.
    pub kind: Option<Kind>,
    /// Sections.
    pub sections: Option<u8>,
    /// When a gauge can be isolated.
    pub isolation: Option<Isolation>,
    /// How the covers are held.
    pub bolt_form: Option<BoltForm>,
}

/// Everything decided about a list.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Matching {
    /// One entry a column of the table.
    pub columns: Vec<Column>,
    /// What a date begins with, where it can be read two ways.
    pub order: Option<Order>,
    /// Whether a year of two digits is the latest one that is not in the future.
    pub short_years: bool,
    /// What stands before the decimals, where it can be read two ways.
    pub mark: Option<Mark>,
    /// Whether the list is a text file, in which points may part thousands.
    pub text_file: bool,
    /// What holds where the list says nothing.
    pub usual: Usual,
}

impl Matching {
    /// Guesses from the headings; what can be read two ways stays open unless other cells of the
    /// list say it, and then it is still shown and asked.
    #[must_use]
    pub fn guess(table: &Table, found: &Found) -> Self {
        let columns = headings::guess(&table.headings)
            .into_iter()
            .map(|guess| Column {
                field: guess.field,
                unit: guess.unit,
            })
            .collect();
        let mut matching = Self {
            columns,
            text_file: found.sheet.is_none(),
            usual: Usual {
                bolt_form: Some(BoltForm::Bolts),
                ..Usual::default()
            },
            ..Self::default()
        };
        let asked = Questions::of(table, &matching);
        matching.order = asked.dates.leaning().map(|(order, _)| order);
        matching.mark = asked.numbers.leaning().map(|(mark, _)| mark);
        matching
    }

    /// The column a field stands in.
    #[must_use]
    pub fn column_of(&self, field: Field) -> Option<usize> {
        self.columns.iter().position(|c| c.field == Some(field))
    }

    /// How the list's numbers are read.
    #[must_use]
    pub const fn numbers(&self) -> Numbers {
        Numbers {
            mark: self.mark,
            points_part: self.text_file,
        }
    }

    /// What is still missing before the list can be read, each beside its field of the form.
    #[must_use]
    pub fn missing(&self, table: &Table, asked: &Questions) -> Vec<FieldError> {
        let mut missing = Vec::new();
        let mut say = |field: String, words: String| missing.push(FieldError::new(field, words));
        if self.column_of(Field::Tag).is_none() {
            say(
                "column_0".to_owned(),
                "Say which column holds the tag number".to_owned(),
            );
        }
        for (at, column) in self.columns.iter().enumerate() {
            let Some(field) = column.field else { continue };
            let heading = table.heading(at);
            let earlier = self.columns[..at].iter().position(|c| {
                c.field == Some(field)
                    || (c.field.is_some() && c.field == headings::opposite(field))
            });
            if let Some(earlier) = earlier {
                let other = table.heading(earlier);
                say(
                    format!("column_{at}"),
                    format!(
                        "\u{201c}{heading}\u{201d} and \u{201c}{other}\u{201d} say the same; leave one of them out"
                    ),
                );
            }
            if asked.units.contains(&at) && column.unit.is_none() {
                say(
                    format!("unit_{at}"),
                    format!(
                        "Choose the unit of \u{201c}{heading}\u{201d}: some of its cells name none"
                    ),
                );
            }
        }
        for field in [
            Field::RatingUnit,
            Field::RatingTemperatureUnit,
            Field::TorqueUnit,
        ] {
            let of = Field::ALL.iter().find(|f| f.unit_field() == Some(field));
            if let (Some(at), Some(of)) = (self.column_of(field), of)
                && self.column_of(*of).is_none()
            {
                say(
                    format!("column_{at}"),
                    format!(
                        "\u{201c}{}\u{201d} holds units, but no column holds the {}",
                        table.heading(at),
                        of.shown().to_lowercase()
                    ),
                );
            }
        }
        if let (Some(example), None) = (&asked.dates.either, self.order) {
            say(
                "order".to_owned(),
                format!("Say whether {example} begins with the day or the month"),
            );
        }
        if let (Some(example), None) = (asked.numbers.question(self.text_file), self.mark) {
            say(
                "mark".to_owned(),
                format!(
                    "Say whether decimals follow a point or a comma: {example} can be read two ways"
                ),
            );
        }
        missing.extend(self.usual_missing());
        missing
    }

    fn usual_missing(&self) -> Vec<FieldError> {
        let has = |field| self.column_of(field).is_some();
        let usual = &self.usual;
        let needed = [
            (
                "area",
                !has(Field::Area) && folded(&usual.area).is_empty(),
                "No column holds the area; write the area of these gauges",
            ),
            (
                "class",
                !has(Field::ServiceClass) && folded(&usual.class).is_empty(),
                "No column holds the service class; write the one of these gauges",
            ),
            (
                "kind",
                !has(Field::Kind) && usual.kind.is_none(),
                "No column says reflex or transparent; choose which these gauges are",
            ),
            (
                "sections",
                !has(Field::Sections) && usual.sections.is_none(),
                "No column holds the sections; write how many these gauges have",
            ),
            (
                "isolation",
                !has(Field::CanIsolate) && !has(Field::NeedsShutdown) && usual.isolation.is_none(),
                "No column says whether the gauges can be isolated in service; choose",
            ),
        ];
        let mut missing: Vec<FieldError> = needed
            .into_iter()
            .filter(|(_, missing, _)| *missing)
            .map(|(field, _, words)| FieldError::new(field, words))
            .collect();
        for (field, name) in [("area", &usual.area), ("class", &usual.class)] {
            if name.trim().chars().count() > 60 {
                missing.push(FieldError::new(field, "A name has 1 to 60 characters"));
            }
        }
        missing
    }
}

/// What has to be asked about a list, found by looking at every cell that matters.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Questions {
    /// Columns with values some of which carry no unit, and no column beside them says it.
    pub units: Vec<usize>,
    /// What the column of dates says about its form.
    pub dates: date::Evidence,
    /// What the numbers say about their decimals.
    pub numbers: number::Evidence,
}

impl Questions {
    /// Looks at the cells of the matched columns.
    #[must_use]
    pub fn of(table: &Table, matching: &Matching) -> Self {
        let mut asked = Self::default();
        for (at, column) in matching.columns.iter().enumerate() {
            let Some(field) = column.field else { continue };
            if field.is_day() {
                for line in &table.lines {
                    asked.dates.note(line.cell(at));
                }
            }
            if field.quantity().is_some() {
                asked.look_at_values(table, matching, (at, field));
            }
        }
        asked
    }

    fn look_at_values(&mut self, table: &Table, matching: &Matching, column: (usize, Field)) {
        let (at, field) = column;
        let beside = field.unit_field().and_then(|f| matching.column_of(f));
        let mut lacking = false;
        for line in &table.lines {
            let cell = line.cell(at);
            if cell.is_empty() || says_nothing(cell) {
                continue;
            }
            // A rating may name its temperature behind an "at".
            for part in split_at_temperature(cell) {
                self.numbers.note(quantity::split(part).0);
            }
            let beside = beside.map_or("", |b| line.cell(b));
            let value = split_at_temperature(cell).next().unwrap_or(cell);
            lacking = lacking || (quantity::lacks_unit(value) && beside.is_empty());
        }
        if lacking {
            self.units.push(at);
        }
    }
}

/// The parts of a cell such as "1000 psi @ 100 °F" or "69 bar at 38 °C".
pub fn split_at_temperature(cell: &str) -> impl Iterator<Item = &str> {
    let at = cell
        .find('@')
        .map(|at| (at, 1))
        .or_else(|| cell.to_lowercase().find(" at ").map(|at| (at, 4)))
        .filter(|(at, wide)| cell.is_char_boundary(*at) && cell.is_char_boundary(at + wide));
    let (value, rest) = match at {
        Some((at, wide)) => (&cell[..at], Some(&cell[at + wide..])),
        None => (cell, None),
    };
    std::iter::once(value.trim()).chain(rest.map(str::trim))
}
