//! What a column of a plant's list may hold, the headings people give it, and the units its values
//! may be in. How a heading is compared with these names is in `headings`.

use serde::{Deserialize, Serialize};

use crate::calc::quantity::{LengthUnit, PressureUnit, TemperatureUnit, TorqueUnit, Unit};
use crate::record::words::words;

words! {
    /// What a column of a plant's list may hold.
    Field, "what the column holds" {
        Tag: "tag", "Tag number";
        Area: "area", "Area";
        ServiceClass: "service-class", "Service class";
        Vessel: "vessel", "Vessel";
        Service: "service", "What it shows";
        CanIsolate: "can-isolate", "Can be isolated in service";
        NeedsShutdown: "needs-shutdown", "Only in a shutdown";
        InstalledOn: "installed-on", "First installed";
        Kind: "kind", "Type";
        Sections: "sections", "Sections";
        GlassLength: "glass-length", "Glass length";
        BoltsPerRail: "bolts-per-rail", "Bolts on each rail of a section";
        BoltThread: "bolt-thread", "Bolt thread";
        BoltForm: "bolt-form", "Bolting";
        Maker: "maker", "Maker";
        OrderNumber: "order-number", "Maker\u{2019}s order number";
        StampedKitNumber: "stamped-kit-number", "Spare kit number";
        Rating: "rating", "Rated pressure";
        RatingUnit: "rating-unit", "Unit of the rated pressure";
        RatingTemperature: "rating-temperature", "Temperature of the rating";
        RatingTemperatureUnit: "rating-temperature-unit", "Unit of that temperature";
        Torque: "torque", "Cover bolt torque";
        TorqueUnit: "torque-unit", "Unit of the torque";
        RatingPoints: "rating-points", "Pressure-temperature points";
        BodyMaterial: "body-material", "Body material";
        GasketMaterial: "gasket-material", "Gasket material";
        GlassType: "glass-type", "Glass type";
        Kit: "kit", "Kit in our storeroom";
        KitsPerRebuild: "kits-per-rebuild", "Kits for a rebuild";
        Note: "note", "What a rebuilder should know";
    }
}

/// The kinds of quantity a column may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Quantity {
    /// A pressure.
    Pressure,
    /// A temperature.
    Temperature,
    /// A torque.
    Torque,
    /// A length.
    Length,
}

/// A unit of any kind a column may be in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ListUnit {
    /// A unit of pressure.
    Pressure(PressureUnit),
    /// A unit of temperature.
    Temperature(TemperatureUnit),
    /// A unit of torque.
    Torque(TorqueUnit),
    /// A unit of length.
    Length(LengthUnit),
}

impl ListUnit {
    /// Reads a unit of the wanted kind, as people write it or as its UCUM code.
    #[must_use]
    pub fn read(quantity: Quantity, text: &str) -> Option<Self> {
        match quantity {
            Quantity::Pressure => text.parse().ok().map(Self::Pressure),
            Quantity::Temperature => text.parse().ok().map(Self::Temperature),
            Quantity::Torque => text.parse().ok().map(Self::Torque),
            Quantity::Length => text.parse().ok().map(Self::Length),
        }
    }

    /// The units offered for a column of this kind. A glass is measured in millimetres or inches.
    #[must_use]
    pub fn offered(quantity: Quantity) -> Vec<Self> {
        match quantity {
            Quantity::Pressure => PressureUnit::ALL
                .iter()
                .copied()
                .map(Self::Pressure)
                .collect(),
            Quantity::Temperature => TemperatureUnit::ALL
                .iter()
                .copied()
                .map(Self::Temperature)
                .collect(),
            Quantity::Torque => TorqueUnit::ALL.iter().copied().map(Self::Torque).collect(),
            Quantity::Length => vec![
                Self::Length(LengthUnit::Millimetre),
                Self::Length(LengthUnit::Inch),
            ],
        }
    }

    /// The kind it is a unit of.
    #[must_use]
    pub const fn quantity(self) -> Quantity {
        match self {
            Self::Pressure(_) => Quantity::Pressure,
            Self::Temperature(_) => Quantity::Temperature,
            Self::Torque(_) => Quantity::Torque,
            Self::Length(_) => Quantity::Length,
        }
    }

    /// The UCUM code.
    #[must_use]
    pub fn ucum(self) -> &'static str {
        match self {
            Self::Pressure(unit) => unit.ucum(),
            Self::Temperature(unit) => unit.ucum(),
            Self::Torque(unit) => unit.ucum(),
            Self::Length(unit) => unit.ucum(),
        }
    }

    /// The symbol people read.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Self::Pressure(unit) => unit.symbol(),
            Self::Temperature(unit) => unit.symbol(),
            Self::Torque(unit) => unit.symbol(),
            Self::Length(unit) => unit.symbol(),
        }
    }
}

impl Field {
    /// The kind of quantity the column's values are, if they have a unit.
    #[must_use]
    pub const fn quantity(self) -> Option<Quantity> {
        match self {
            Self::Rating => Some(Quantity::Pressure),
            Self::RatingTemperature => Some(Quantity::Temperature),
            Self::Torque => Some(Quantity::Torque),
            Self::GlassLength => Some(Quantity::Length),
            _ => None,
        }
    }

    /// The field that holds the units of this one where a list gives them a column of their own.
    #[must_use]
    pub const fn unit_field(self) -> Option<Self> {
        match self {
            Self::Rating => Some(Self::RatingUnit),
            Self::RatingTemperature => Some(Self::RatingTemperatureUnit),
            Self::Torque => Some(Self::TorqueUnit),
            _ => None,
        }
    }

    /// The heading of the list to fill in; none for fields a list has only for its own reasons.
    #[must_use]
    pub const fn heading(self) -> Option<&'static str> {
        Some(match self {
            Self::NeedsShutdown
            | Self::RatingUnit
            | Self::RatingTemperatureUnit
            | Self::TorqueUnit
            | Self::RatingPoints => return None,
            Self::InstalledOn => "First installed (YYYY-MM-DD)",
            Self::CanIsolate => "Can be isolated in service (yes or no)",
            Self::Kind => "Type (reflex or transparent)",
            Self::BoltForm => "Bolting (bolts / studs / U-bolts)",
            Self::GlassLength => "Glass length (mm)",
            Self::Rating => "Rated pressure (psi)",
            Self::RatingTemperature => "Temperature of the rating (\u{b0}F)",
            Self::Torque => "Cover bolt torque (ft\u{b7}lbf)",
            other => other.shown(),
        })
    }

    /// What the column is for, said beside the list to fill in.
    #[must_use]
    pub const fn explained(self) -> &'static str {
        match self {
            Self::Tag => "Needed. As on the plant\u{2019}s tag, such as LG-1107A",
            Self::Area => "Needed, here or once for the whole list",
            Self::ServiceClass => "Needed, here or once for the whole list; sets the intervals",
            Self::Vessel => "Such as BH-D-101",
            Self::Service => "Such as steam drum",
            Self::CanIsolate => "Yes, or no where only a shutdown window will do",
            Self::InstalledOn => "Intervals count from here until the first rebuild",
            Self::Kind => "Reflex or transparent",
            Self::Sections => "1 to 12",
            Self::GlassLength => "Length of one glass",
            Self::BoltsPerRail => "1 to 12",
            Self::BoltThread => "Such as 1/2-13 or M12; the torque is checked against it",
            Self::BoltForm => "Bolts, studs or U-bolts; bolts where it is empty",
            Self::Rating => "As stamped; each cell may carry its own unit",
            Self::Torque => "As stamped; empty where the tag is unreadable",
            Self::KitsPerRebuild => "Empty: one a section, two for transparent",
            Self::Kit => "A number the storeroom knows",
            _ => "",
        }
    }

    /// Other headings a column of this field is found under, lower case and without marks.
    #[must_use]
    pub const fn names(self) -> &'static [&'static str] {
        match self {
            Self::Tag => &[
                "tag number",
                "tag",
                "tag no",
                "tag nr",
                "tag id",
                "gauge tag",
                "gauge",
                "gauge no",
                "gauge number",
                "gauge id",
                "level gauge",
                "level gauge tag",
                "lg tag",
                "lg no",
                "tagno",
                "item tag",
                "instrument tag",
                "plant tag",
                "gage tag",
                "gage",
                "gage no",
                "gage number",
                "lg number",
            ],
            Self::Area => &[
                "area",
                "plant area",
                "location",
                "process unit",
                "unit",
                "plant unit",
                "building",
                "where",
                "plant section",
                "area name",
                "unit area",
            ],
            Self::ServiceClass => &[
                "service class",
                "class",
                "class of service",
                "duty class",
                "fluid class",
                "service category",
                "duty",
            ],
            Self::Vessel => &[
                "vessel",
                "vessel tag",
                "vessel no",
                "vessel number",
                "equipment",
                "equipment no",
                "equipment number",
                "equipment tag",
                "drum",
                "tank",
                "mounted on",
                "on vessel",
                "column or tank",
            ],
            Self::Service => &[
                "what it shows",
                "service",
                "description",
                "service description",
                "fluid",
                "medium",
                "contents",
                "process fluid",
                "shows",
                "liquid",
            ],
            Self::CanIsolate => &[
                "can be isolated in service",
                "can be isolated",
                "isolable",
                "isolatable",
                "isolable in service",
                "isolatable in service",
                "can isolate",
                "isolation",
                "can be isolated online",
                "isolable online",
                "isolated in service",
            ],
            Self::NeedsShutdown => &[
                "only in a shutdown",
                "shutdown only",
                "needs shutdown",
                "needs a shutdown",
                "shutdown required",
                "requires shutdown",
                "shutdown needed",
                "outage only",
                "outage required",
                "shutdown",
            ],
            Self::InstalledOn => &[
                "first installed",
                "installed",
                "installed on",
                "install date",
                "installation date",
                "date installed",
                "in service since",
                "in service date",
                "commissioned",
                "commissioning date",
                "installation",
                "date of installation",
                "put in service",
                "date in service",
                "start date",
            ],
            Self::Kind => &[
                "type",
                "gauge type",
                "reflex or transparent",
                "kind",
                "type of gauge",
                "gauge kind",
                "gage type",
                "style",
                "reflex transparent",
                "gauge style",
            ],
            Self::Sections => &[
                "sections",
                "section",
                "no of sections",
                "number of sections",
                "sections no",
                "nr of sections",
                "qty sections",
                "section count",
                "num sections",
                "sect",
                "no sections",
                "chambers",
                "section qty",
            ],
            Self::GlassLength => &[
                "glass length",
                "length of glass",
                "glass size",
                "length glass",
                "glass len",
            ],
            Self::BoltsPerRail => &[
                "bolts on each rail of a section",
                "bolts per rail",
                "bolts a rail",
                "bolts per side",
                "bolts each side",
                "bolts on each rail",
                "bolts per rail section",
            ],
            Self::BoltThread => &[
                "bolt thread",
                "thread",
                "bolt size",
                "stud size",
                "thread size",
                "bolt dia",
                "bolt diameter",
                "stud thread",
                "cover bolt",
                "cover bolt size",
                "bolting size",
            ],
            Self::BoltForm => &[
                "bolting",
                "bolt form",
                "bolt type",
                "bolting type",
                "studs or bolts",
                "form of bolting",
                "fasteners",
            ],
            Self::Maker => &[
                "maker",
                "make",
                "manufacturer",
                "mfr",
                "mfg",
                "vendor",
                "made by",
                "supplier",
                "brand",
                "gauge maker",
                "gauge manufacturer",
            ],
            Self::OrderNumber => &[
                "maker s order number",
                "maker order number",
                "order number",
                "order no",
                "makers order number",
                "serial number",
                "serial no",
                "serial",
                "works order",
                "works number",
                "maker order no",
                "s n",
                "order nr",
            ],
            Self::StampedKitNumber => &[
                "spare kit number",
                "spare kit",
                "spare kit no",
                "kit number",
                "kit no",
                "kit",
                "stamped kit number",
                "spares kit",
                "spare kit number as stamped",
                "repair kit",
            ],
            Self::Rating => &[
                "rated pressure",
                "rating",
                "pressure rating",
                "mawp",
                "max pressure",
                "maximum pressure",
                "design pressure",
                "rated press",
                "press rating",
                "pressure",
                "max working pressure",
                "maximum allowable working pressure",
                "mwp",
                "des press",
                "nameplate pressure",
            ],
            Self::RatingUnit => &[
                "unit of the rated pressure",
                "rating unit",
                "rating units",
                "pressure unit",
                "pressure units",
                "mawp unit",
                "mawp units",
                "press unit",
            ],
            Self::RatingTemperature => &[
                "temperature of the rating",
                "rating temperature",
                "rated temperature",
                "temperature",
                "temp",
                "at temperature",
                "at temp",
                "design temperature",
                "design temp",
                "rating temp",
                "rated temp",
                "max temperature",
                "max temp",
                "pressure at temperature",
            ],
            Self::RatingTemperatureUnit => &[
                "unit of that temperature",
                "temperature unit",
                "temperature units",
                "temp unit",
                "temp units",
            ],
            Self::Torque => &[
                "cover bolt torque",
                "torque",
                "bolt torque",
                "nameplate torque",
                "torque value",
                "tightening torque",
                "cover torque",
                "bolting torque",
                "stud torque",
                "torqe",
                "assembly torque",
                "cover bolts torque",
            ],
            Self::TorqueUnit => &["unit of the torque", "torque unit", "torque units"],
            Self::RatingPoints => &[
                "pressure temperature points",
                "pressure temperature",
                "p t points",
                "p t rating",
                "pressure temperature rating",
                "rating points",
                "pt rating",
                "pt points",
            ],
            Self::BodyMaterial => &[
                "body material",
                "body",
                "chamber material",
                "material",
                "body matl",
                "material of body",
                "chamber matl",
                "matl",
            ],
            Self::GasketMaterial => &[
                "gasket material",
                "gasket",
                "gaskets",
                "gasket matl",
                "gasket type",
                "material of gasket",
                "seal material",
            ],
            Self::GlassType => &[
                "glass type",
                "glass",
                "type of glass",
                "glass kind",
                "glass material",
            ],
            Self::Kit => &[
                "kit in our storeroom",
                "storeroom kit",
                "our kit",
                "our kit number",
                "store kit",
                "kit in store",
                "kit in storeroom",
                "stock kit",
            ],
            Self::KitsPerRebuild => &[
                "kits for a rebuild",
                "kits per rebuild",
                "kits",
                "kits needed",
                "kit qty",
                "number of kits",
                "no of kits",
                "kits per gauge",
                "kit quantity",
            ],
            Self::Note => &[
                "what a rebuilder should know",
                "note",
                "notes",
                "remark",
                "remarks",
                "comment",
                "comments",
                "rebuilder note",
            ],
        }
    }
}
