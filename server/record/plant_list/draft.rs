//! What comes of one line of a list: a gauge ready for the register, or what is wrong in which
//! column; and what the register is asked about first. How a line is read is in `row`.

use std::collections::{HashMap, HashSet};

use time::Date;

use super::field::Field;
use crate::record::gauge::{Assumed, Kind, Particulars};
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
    pub(super) particulars: Particulars,
}

impl Draft {
    /// The tag number.
    #[must_use]
    pub fn tag(&self) -> &TagNumber {
        &self.particulars.tag
    }

    /// What the list does not say of it and was assumed for the whole list.
    #[must_use]
    pub fn assumed(&self) -> &[Assumed] {
        &self.particulars.assumed
    }

    /// Whether nothing is said of its cover bolt torque, not even that it cannot be read.
    #[must_use]
    pub fn lacks_torque(&self) -> bool {
        self.particulars.torque.is_none() && !self.particulars.torque_unreadable
    }

    /// Whether nothing is said of its rated pressure, not even that it cannot be read.
    #[must_use]
    pub fn lacks_rating(&self) -> bool {
        self.particulars.rating.is_none() && !self.particulars.rating_unreadable
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
        fn day(date: Option<Date>) -> String {
            date.map_or_else(String::new, |d| {
                format!("{} {} {}", d.day(), short_month(d), d.year())
            })
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
            Field::InstalledOn => day(p.installed_on),
            Field::RebuiltOn => day(p.papers_rebuilt_on),
            Field::LookedOn => day(p.papers_looked_on),
            Field::Rating if p.rating_unreadable => "not readable".to_owned(),
            Field::Rating | Field::RatingUnit => maybe(p.rating),
            Field::RatingTemperature | Field::RatingTemperatureUnit => maybe(p.rating_temperature),
            Field::Torque if p.torque_unreadable => "not readable".to_owned(),
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
