//! A gauge: where it hangs, how it is built, and its nameplate as stamped.
//! What was done to it and when it is due are other records.

use time::Date;

use super::ids::{AreaId, GaugeId, KitId, KitNumber, ServiceClassId, TagNumber};
use super::words::words;
use crate::calc::quantity::{StampedPressure, StampedTemperature, StampedTorque};
use crate::calc::rating;

words! {
    /// Whether a gauge is in use.
    Standing, "whether the gauge is in service" {
        InService: "in-service", "in service";
        Resting: "resting", "resting";
        Retired: "retired", "retired";
    }
}

words! {
    /// How the glass shows the level.
    Kind, "reflex or transparent" {
        Reflex: "reflex", "reflex";
        Transparent: "transparent", "transparent";
    }
}

words! {
    /// How the covers are held.
    BoltForm, "the form of the bolting" {
        Bolts: "bolts", "bolts";
        Studs: "studs", "studs";
        UBolts: "u-bolts", "U-bolts";
    }
}

words! {
    /// When the gauge can be isolated and worked on.
    Isolation, "when the gauge can be isolated" {
        InService: "in-service", "can be isolated in service";
        ShutdownOnly: "shutdown-only", "only in a shutdown window";
    }
}

words! {
    /// What may be assumed of a gauge for a whole list that says nothing about it; first what decides whether
    /// people open it while the plant runs.
    Assumed, "what was assumed" {
        Isolation: "isolation", "isolation";
        Area: "area", "area";
        ServiceClass: "service-class", "service class";
        Kind: "kind", "type";
        Sections: "sections", "sections";
        BoltForm: "bolt-form", "bolting";
    }
}

/// What stands where a value of the nameplate is not in the register and nobody looked for it.
const NEVER_READ: &str = "not in the register; read it from the nameplate";

/// Everything a person may edit about a gauge, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Particulars {
    /// The tag number it hangs under.
    pub tag: TagNumber,
    /// Where it hangs.
    pub area_id: AreaId,
    /// What fluid and conditions it sees.
    pub service_class_id: ServiceClassId,
    /// The vessel it serves.
    pub vessel: String,
    /// What it shows, in a few words.
    pub service: String,
    /// Reflex or transparent.
    pub kind: Kind,
    /// How many sections stand above each other.
    pub sections: u8,
    /// Bolts on each rail of a section.
    pub bolts_per_rail: Option<u8>,
    /// The thread, as people write it ("1/2-13", "M12").
    pub bolt_thread: String,
    /// Bolts, studs or U-bolts.
    pub bolt_form: BoltForm,
    /// Length of the glass in mm.
    pub glass_length_mm: Option<u16>,
    /// When it can be isolated.
    pub isolation: Isolation,
    /// First put to service.
    pub installed_on: Option<Date>,
    /// Last rebuilt, as the plant's papers say: before the register began, no evidence of work here.
    pub papers_rebuilt_on: Option<Date>,
    /// Last looked over, as the plant's papers say.
    pub papers_looked_on: Option<Date>,
    /// The maker, as stamped.
    pub maker: String,
    /// The maker's order number, as stamped.
    pub order_number: String,
    /// The spare kit number, as stamped.
    pub stamped_kit_number: String,
    /// Body material, as stamped.
    pub body_material: String,
    /// Gasket material, as stamped.
    pub gasket_material: String,
    /// Glass type, as stamped.
    pub glass_type: String,
    /// Rated pressure, as stamped.
    pub rating: Option<StampedPressure>,
    /// Whether somebody looked and the nameplate does not tell it.
    pub rating_unreadable: bool,
    /// The temperature of that rating, as stamped.
    pub rating_temperature: Option<StampedTemperature>,
    /// Cover bolt torque, as stamped.
    pub torque: Option<StampedTorque>,
    /// Whether somebody looked and the nameplate does not tell it.
    pub torque_unreadable: bool,
    /// Pressure-temperature points, by temperature.
    pub rating_points: Vec<rating::Point>,
    /// The kit that fits one section side.
    pub kit_id: Option<KitId>,
    /// Kits for a whole rebuild.
    pub kits_per_rebuild: u16,
    /// Anything a rebuilder should know.
    pub note: String,
    /// What was assumed for the whole list it came with and nobody confirmed since.
    pub assumed: Vec<Assumed>,
}

impl Particulars {
    /// The vessel it hangs on and what it serves there, as far as they are written down.
    pub fn hangs(&self) -> Option<String> {
        let words = format!("{} {}", self.vessel.trim(), self.service.trim());
        Some(words.trim().to_owned()).filter(|words| !words.is_empty())
    }

    /// Whether this was only assumed for the whole list it came with.
    pub fn assumes(&self, what: Assumed) -> bool {
        self.assumed.contains(&what)
    }

    /// What stands in place of a rating the register does not hold.
    pub const fn without_rating(&self) -> &'static str {
        if self.rating_unreadable {
            "not readable; ask the maker"
        } else {
            NEVER_READ
        }
    }

    /// What stands in place of a torque the register does not hold.
    pub const fn without_torque(&self) -> &'static str {
        if self.torque_unreadable {
            "not readable; ask the maker before tightening"
        } else {
            NEVER_READ
        }
    }

    /// Whether a corrected gauge says otherwise than before about what was assumed.
    fn differs(&self, other: &Self, what: Assumed) -> bool {
        match what {
            Assumed::Area => self.area_id != other.area_id,
            Assumed::ServiceClass => self.service_class_id != other.service_class_id,
            Assumed::Kind => self.kind != other.kind,
            Assumed::Sections => self.sections != other.sections,
            Assumed::Isolation => self.isolation != other.isolation,
            Assumed::BoltForm => self.bolt_form != other.bolt_form,
        }
    }

    /// What is still assumed once a gauge is corrected to these particulars: neither corrected nor
    /// confirmed as it stands.
    pub fn still_assumed(&self, before: &Self, confirmed: &[Assumed]) -> Vec<Assumed> {
        let kept = |one: &Assumed| !confirmed.contains(one) && !self.differs(before, *one);
        before.assumed.iter().copied().filter(kept).collect()
    }
}

/// A gauge of the register.
#[derive(Debug, Clone, PartialEq)]
pub struct Gauge {
    /// The row.
    pub id: GaugeId,
    /// What is known of it.
    pub particulars: Particulars,
    /// In service, resting or retired.
    pub standing: Standing,
    /// The area's name.
    pub area: String,
    /// The service class's name.
    pub service_class: String,
    /// The kit's number, where one is named.
    pub kit: Option<KitNumber>,
    /// Counts the changes.
    pub version: i64,
}

impl Gauge {
    /// What the register holds of something that may have been assumed, as people read it.
    pub fn told(&self, what: Assumed) -> String {
        let p = &self.particulars;
        match what {
            Assumed::Area => self.area.clone(),
            Assumed::ServiceClass => self.service_class.clone(),
            Assumed::Kind => p.kind.to_string(),
            Assumed::Sections => p.sections.to_string(),
            Assumed::Isolation => p.isolation.to_string(),
            Assumed::BoltForm => p.bolt_form.to_string(),
        }
    }

    /// Whether nobody looked yet if it can be isolated in service, as the register says of it.
    pub fn only_assumed_to_be_isolated(&self) -> bool {
        let p = &self.particulars;
        p.isolation == Isolation::InService && p.assumes(Assumed::Isolation)
    }

    /// Everything that was only assumed of it, with what the register holds instead of a reading.
    pub fn told_assumed(&self) -> String {
        let each = self.particulars.assumed.iter();
        let each: Vec<String> = each
            .map(|one| format!("{one} ({})", self.told(*one)))
            .collect();
        each.join(", ")
    }
}

/// Kits needed for a whole rebuild when nobody says otherwise: one a section for reflex, two for
/// transparent, which has a glass front and back.
pub fn usual_kits(kind: Kind, sections: u8) -> u16 {
    match kind {
        Kind::Reflex => u16::from(sections),
        Kind::Transparent => u16::from(sections) * 2,
    }
}

/// Whether a gauge may go from one standing to another.
///
/// # Errors
/// Says why not.
pub fn may_become(from: Standing, to: Standing, rebuild_open: bool) -> Result<(), String> {
    match (from, to) {
        (Standing::Retired, _) if to != Standing::Resting => Err(
            "A retired gauge comes back as resting first, so that somebody looks at it".to_owned(),
        ),
        (a, b) if a == b => Err(format!("The gauge is {} already", a.shown())),
        (_, Standing::Retired | Standing::Resting) if rebuild_open => {
            Err("A rebuild of this gauge is open; finish or abandon it first".to_owned())
        }
        _ => Ok(()),
    }
}

/// One field that differs, as people read it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Change {
    /// What changed.
    pub what: String,
    /// What it was.
    pub before: String,
    /// What it is now.
    pub after: String,
}

impl Change {
    /// The fields that differ between two states, each a list of the same fields in the same order.
    pub fn between(
        before: impl IntoIterator<Item = (&'static str, String)>,
        after: impl IntoIterator<Item = (&'static str, String)>,
    ) -> Vec<Self> {
        before
            .into_iter()
            .zip(after)
            .filter(|((_, a), (_, b))| a != b)
            .map(|((what, before), (_, after))| Self {
                what: what.to_owned(),
                before,
                after,
            })
            .collect()
    }
}

/// What differs between two states of a gauge, field by field and in names, for its history.
pub fn changes(before: &Gauge, after: &Gauge) -> Vec<Change> {
    let shown = |gauge: &Gauge| -> Vec<(&'static str, String)> {
        let p = &gauge.particulars;
        vec![
            ("tag number", p.tag.to_string()),
            ("area", gauge.area.clone()),
            ("service class", gauge.service_class.clone()),
            ("vessel", p.vessel.clone()),
            ("service", p.service.clone()),
            ("kind", p.kind.to_string()),
            ("sections", p.sections.to_string()),
            ("bolts a rail", optional(p.bolts_per_rail)),
            ("bolt thread", p.bolt_thread.clone()),
            ("bolting", p.bolt_form.to_string()),
            ("glass length, mm", optional(p.glass_length_mm)),
            ("isolation", p.isolation.to_string()),
            ("installed", optional(p.installed_on)),
            (
                "last rebuilt, by the plant's papers",
                optional(p.papers_rebuilt_on),
            ),
            (
                "last looked over, by the plant's papers",
                optional(p.papers_looked_on),
            ),
            ("maker", p.maker.clone()),
            ("order number", p.order_number.clone()),
            ("spare kit number", p.stamped_kit_number.clone()),
            ("body material", p.body_material.clone()),
            ("gasket material", p.gasket_material.clone()),
            ("glass type", p.glass_type.clone()),
            ("rating", read_or_not(p.rating, p.rating_unreadable)),
            ("rating temperature", optional(p.rating_temperature)),
            (
                "cover bolt torque",
                read_or_not(p.torque, p.torque_unreadable),
            ),
            (
                "pressure-temperature points",
                p.rating_points
                    .iter()
                    .map(|point| format!("{} at {}", point.pressure, point.temperature))
                    .collect::<Vec<_>>()
                    .join("; "),
            ),
            ("kit", optional(gauge.kit.clone())),
            ("kits for a rebuild", p.kits_per_rebuild.to_string()),
            ("note", p.note.clone()),
        ]
    };
    let mut changes = Change::between(shown(before), shown(after));
    let (was, is) = (&before.particulars, &after.particulars);
    // What was corrected stands among the changes already.
    let confirmed = was
        .assumed
        .iter()
        .filter(|one| !is.assumes(**one) && !is.differs(was, **one));
    changes.extend(confirmed.map(|one| Change {
        what: one.to_string(),
        before: format!("{}, assumed", before.told(*one)),
        after: format!("{}, confirmed", after.told(*one)),
    }));
    changes
}

fn read_or_not(value: Option<impl ToString>, unreadable: bool) -> String {
    if unreadable {
        "not readable".to_owned()
    } else {
        optional(value)
    }
}

fn optional(value: Option<impl ToString>) -> String {
    value.map_or_else(String::new, |v| v.to_string())
}
