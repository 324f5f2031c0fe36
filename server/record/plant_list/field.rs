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
        RebuiltOn: "rebuilt-on", "Last rebuilt";
        LookedOn: "looked-on", "Last looked over";
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
    /// Whether the column holds days.
    #[must_use]
    pub const fn is_day(self) -> bool {
        matches!(self, Self::InstalledOn | Self::RebuiltOn | Self::LookedOn)
    }

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
            Self::RebuiltOn => "Last rebuilt (YYYY-MM-DD)",
            Self::LookedOn => "Last looked over (YYYY-MM-DD)",
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
            Self::RebuiltOn => {
                "As the plant\u{2019}s papers say; intervals count from it. No record of a rebuild here"
            }
            Self::LookedOn => {
                "As the plant\u{2019}s papers say; the look-over interval counts from it"
            }
            Self::Kind => "Reflex or transparent",
            Self::Sections | Self::BoltsPerRail => "1 to 12",
            Self::GlassLength => "Length of one glass",
            Self::BoltThread => "Such as 1/2-13 or M12; the torque is checked against it",
            Self::BoltForm => "Bolts, studs or U-bolts; bolts where it is empty",
            Self::Rating => "As stamped; each cell may carry its own unit",
            Self::Torque => {
                "As stamped; \u{201c}unreadable\u{201d} where the tag cannot be read, empty where nobody looked"
            }
            Self::KitsPerRebuild => "Empty: one a section, two for transparent",
            Self::Kit => "A number the storeroom knows",
            _ => "",
        }
    }
}
