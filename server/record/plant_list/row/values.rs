//! The values of a line that carry units: glass length, rating, temperature, torque, points. Each is
//! read with its unit and asked whether it can be meant.

use super::{Checker, Reading};
use crate::calc::quantity::{
    LengthUnit, PressureUnit, Stamped, TemperatureUnit, TorqueUnit, significant,
};
use crate::calc::rating::Point;
use crate::record::plant_list::field::{Field, ListUnit};
use crate::record::plant_list::matching::split_at_temperature;
use crate::record::plant_list::table::Line;
use crate::record::plant_list::words::says_nothing;
use crate::record::plant_list::{plausible, quantity, tidy};

/// Points a gauge's rating has at most.
const MOST_POINTS: usize = 24;

impl Checker<'_> {
    pub(super) fn glass_length(&self, read: &mut Reading<'_>) -> Option<u16> {
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

    pub(super) fn unit_of(&self, field: Field) -> Option<ListUnit> {
        self.column(field)
            .and_then(|at| self.matching.columns.get(at))
            .and_then(|column| column.unit)
    }

    pub(super) fn beside<'l>(&self, line: &'l Line, field: Field) -> Option<&'l str> {
        let field = field.unit_field()?;
        Some(self.cell(line, field)).filter(|unit| !says_nothing(unit))
    }

    pub(super) fn rating(
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

    pub(super) fn temperature(
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

    pub(super) fn torque(
        &mut self,
        read: &mut Reading<'_>,
        thread: &str,
    ) -> Option<Stamped<TorqueUnit>> {
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

    /// "1000 psi @ 100 °F; 850 psi @ 400 °F". What is wrong with several of them is said of each.
    pub(super) fn rating_points(&self, read: &mut Reading<'_>) -> Vec<Point> {
        let cell = self.cell(read.line, Field::RatingPoints);
        if says_nothing(cell) {
            return Vec::new();
        }
        // One more than may be tells that there are too many; a cell may hold thousands.
        let parts: Vec<&str> = cell
            .split([';', '|', '\n'])
            .filter(|p| !p.trim().is_empty())
            .take(MOST_POINTS + 1)
            .collect();
        let mut points: Vec<Point> = Vec::new();
        for part in &parts {
            let mut sides = split_at_temperature(part);
            let pressure = sides.next().unwrap_or_default();
            let Some(temperature) = sides.next() else {
                read.refuse::<()>(
                    Field::RatingPoints,
                    format!("\u{201c}{}\u{201d} is no point; write such as 1000 psi @ 100 \u{b0}F; 850 psi @ 400 \u{b0}F", tidy(part)),
                );
                continue;
            };
            let how = self.matching.numbers();
            let pressure = quantity::read::<PressureUnit>(pressure, how, None, None)
                .and_then(|p| plausible::pressure(p).map(|()| p));
            let temperature = quantity::read::<TemperatureUnit>(temperature, how, None, None)
                .and_then(|t| plausible::temperature(t).map(|()| t));
            if let (Some(pressure), Some(temperature)) = (
                read.take(Field::RatingPoints, pressure),
                read.take(Field::RatingPoints, temperature),
            ) {
                points.push(Point {
                    temperature,
                    pressure,
                });
            }
        }
        points.sort_by(|a, b| a.temperature.si().total_cmp(&b.temperature.si()));
        let one_unit = points.windows(2).all(|pair| {
            pair[0].temperature.unit == pair[1].temperature.unit
                && pair[0].pressure.unit == pair[1].pressure.unit
        });
        let twice = points
            .windows(2)
            .any(|pair| pair[0].temperature == pair[1].temperature);
        if !one_unit || twice || parts.len() > MOST_POINTS {
            read.refuse::<()>(
                Field::RatingPoints,
                "The points of a rating are in one unit, each temperature once, at most 24 of them",
            );
        }
        points
    }
}
