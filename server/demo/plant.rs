//! What the invented plant is: Saltmarsh Works, its people, areas, service classes, kits and
//! instruments. All names and figures are made up and no advice.

use rust_decimal::Decimal;

use crate::record::Refusal;
use crate::record::calibration::OF_READING;
use crate::record::gauge::Kind;
use crate::record::instrument::{InstrumentKind, Uncertainty};
use crate::record::person::Role;

/// The password of every demo role; printed where the demo is started.
pub const PASSWORD: &str = "saltmarsh glass demo";

/// People, by the name they sign in with.
pub const PEOPLE: &[(&str, &str, Role)] = &[
    ("administrator", "Odile Thornquist", Role::Administrator),
    ("engineer", "Marnix Calloweth", Role::Engineer),
    ("inspector", "Ysolde Ferrantine", Role::Inspector),
    ("storekeeper", "Hobart Lindquill", Role::Storekeeper),
    ("technician", "Tansy Merrowick", Role::Technician),
    ("technician2", "Bramwell Oakshade", Role::Technician),
];

/// An area with what its gauges look like.
pub struct AreaPlan {
    /// Its name.
    pub name: &'static str,
    /// Begins its vessel tags.
    pub code: &'static str,
    /// Begins its tag numbers.
    pub first: u32,
    /// Its share of the fleet, in 143.
    pub share: u32,
    /// Vessels: number, what the gauge shows, service class, whether it can be isolated in service.
    pub vessels: &'static [(&'static str, &'static str, usize, bool)],
}

/// Service classes: name, what belongs to it, rebuild months, look-over months.
pub const CLASSES: &[(&str, &str, u32, Option<u32>)] = &[
    (
        "saturated steam",
        "boiler drums and steam separators",
        18,
        Some(6),
    ),
    (
        "hot condensate",
        "condensate and blowdown above 100 °C",
        24,
        None,
    ),
    ("hot hydrocarbon", "column bottoms and reboilers", 30, None),
    ("solvent", "light solvents at ambient temperature", 36, None),
    ("brine and caustic", "liquids that etch glass", 24, Some(12)),
    ("cold liquefied gas", "below 0 °C", 48, None),
    ("process water", "cold and cooling water", 60, None),
];

/// Classes whose practice asks for the bolting to be tightened again after the first heat cycle, by
/// their place in the list, and within how many days.
pub const RE_TORQUED: &[(usize, u16)] = &[(0, 14), (2, 21)];

/// Classes whose contents are flushed out before a gauge is opened, by their place in the list.
pub const FLUSHED: &[usize] = &[3, 4];

/// The areas.
pub const AREAS: &[AreaPlan] = &[
    AreaPlan {
        name: "Boiler House",
        code: "BH",
        first: 1101,
        share: 34,
        vessels: &[
            ("D-101", "steam drum", 0, false),
            ("D-102", "steam drum", 0, false),
            ("D-104", "blowdown drum", 1, true),
            ("D-107", "steam separator", 0, true),
            ("T-110", "condensate receiver", 1, true),
            ("T-112", "feed water tank", 6, true),
        ],
    },
    AreaPlan {
        name: "Tank Row",
        code: "TR",
        first: 2001,
        share: 41,
        vessels: &[
            ("T-201", "solvent day tank", 3, true),
            ("T-204", "solvent storage", 3, true),
            ("T-209", "wash water tank", 6, true),
            ("T-212", "recovered solvent", 3, true),
            ("D-220", "knock-out drum", 2, true),
            ("T-231", "cooling water head tank", 6, true),
        ],
    },
    AreaPlan {
        name: "Column Hall",
        code: "CH",
        first: 3101,
        share: 38,
        vessels: &[
            ("C-301", "column bottoms", 2, false),
            ("C-302", "column bottoms", 2, false),
            ("D-305", "reflux drum", 3, true),
            ("E-308", "reboiler", 2, false),
            ("D-311", "feed surge drum", 3, true),
        ],
    },
    AreaPlan {
        name: "Brine Plant",
        code: "BP",
        first: 4101,
        share: 19,
        vessels: &[
            ("T-401", "brine saturator", 4, true),
            ("T-404", "caustic storage", 4, true),
            ("D-407", "brine header", 4, false),
            ("T-410", "rinse water", 6, true),
        ],
    },
    AreaPlan {
        name: "Cold End",
        code: "CE",
        first: 5101,
        share: 11,
        vessels: &[
            ("D-501", "liquefied gas receiver", 5, false),
            ("D-503", "flash drum", 5, true),
            ("T-506", "refrigerant tank", 5, true),
        ],
    },
];

/// A kit: number, glass length, kind, shelf life in months, lead time in days, pack, minimum.
pub struct KitPlan {
    /// Its number.
    pub number: &'static str,
    /// Length of the glass, mm.
    pub length: u16,
    /// Reflex or transparent.
    pub kind: Kind,
    /// Shelf life of elastomer gaskets, months; none for kits of graphite, fluoropolymer and mica. The kit
    /// before such a one in the list has none, and serves where elastomer cannot.
    pub shelf_life: Option<u32>,
    /// Days from order to receipt.
    pub lead: u32,
    /// Comes in multiples of this.
    pub pack: u32,
    /// Least order.
    pub minimum: u32,
}

const fn kit(
    number: &'static str,
    length: u16,
    kind: Kind,
    shelf_life: Option<u32>,
    lead: u32,
) -> KitPlan {
    KitPlan {
        number,
        length,
        kind,
        shelf_life,
        lead,
        pack: 2,
        minimum: 4,
    }
}

/// The kits.
pub const KITS: &[KitPlan] = &[
    kit("SW-K-140R", 140, Kind::Reflex, None, 42),
    kit("SW-K-190R", 190, Kind::Reflex, None, 42),
    kit("SW-K-220R", 220, Kind::Reflex, Some(60), 56),
    kit("SW-K-250R", 250, Kind::Reflex, None, 42),
    kit("SW-K-280R", 280, Kind::Reflex, None, 70),
    kit("SW-K-320R", 320, Kind::Reflex, Some(60), 70),
    kit("SW-K-190T", 190, Kind::Transparent, None, 84),
    kit("SW-K-250T", 250, Kind::Transparent, None, 84),
    kit("SW-K-320T", 320, Kind::Transparent, None, 98),
];

/// An instrument: number, kind, description, range, unit, resolution, days since its last calibration.
pub type InstrumentPlan = (
    &'static str,
    InstrumentKind,
    &'static str,
    (&'static str, &'static str),
    &'static str,
    &'static str,
    i64,
);

/// The instruments. The last calibration of PG-03 has run out.
pub const INSTRUMENTS: &[InstrumentPlan] = &[
    (
        "TW-04",
        InstrumentKind::TorqueWrench,
        "click wrench, 1/2 in square",
        ("5", "60"),
        "[ft_i].[lbf_av]",
        "1",
        160,
    ),
    (
        "TW-07",
        InstrumentKind::TorqueWrench,
        "click wrench, 1/2 in square",
        ("10", "80"),
        "[ft_i].[lbf_av]",
        "1",
        90,
    ),
    (
        "TW-11",
        InstrumentKind::TorqueWrench,
        "dial wrench, 3/8 in square",
        ("8", "60"),
        "N.m",
        "0.5",
        210,
    ),
    (
        "CA-02",
        InstrumentKind::Caliper,
        "digital caliper, 150 mm",
        ("0", "6"),
        "[in_i]",
        "0.0005",
        120,
    ),
    (
        "DM-01",
        InstrumentKind::DepthMicrometer,
        "depth micrometer",
        ("0", "1"),
        "[in_i]",
        "0.001",
        75,
    ),
    (
        "DI-03",
        InstrumentKind::DialIndicator,
        "dial indicator on a sliding base",
        ("0", "0.4"),
        "[in_i]",
        "0.0001",
        140,
    ),
    (
        "PG-01",
        InstrumentKind::PressureGauge,
        "test gauge, 160 mm dial",
        ("0", "1000"),
        "[psi]",
        "5",
        100,
    ),
    (
        "PG-02",
        InstrumentKind::PressureGauge,
        "test gauge, 160 mm dial",
        ("0", "3000"),
        "[psi]",
        "10",
        60,
    ),
    (
        "PG-03",
        InstrumentKind::PressureGauge,
        "test gauge, 160 mm dial",
        ("0", "100"),
        "bar",
        "0.5",
        400,
    ),
    (
        "PG-04",
        InstrumentKind::PressureGauge,
        "test gauge, 160 mm dial",
        ("0", "600"),
        "[psi]",
        "2",
        200,
    ),
    (
        "PG-05",
        InstrumentKind::PressureGauge,
        "test gauge, 160 mm dial",
        ("0", "160"),
        "bar",
        "1",
        45,
    ),
    (
        "PG-06",
        InstrumentKind::PressureGauge,
        "test gauge, 100 mm dial",
        ("0", "40"),
        "bar",
        "0.1",
        130,
    ),
    (
        "FS-01",
        InstrumentKind::FeelerSet,
        "feeler set, 32 leaves",
        ("0.0015", "0.035"),
        "[in_i]",
        "0.0005",
        95,
    ),
];

/// Gauges that share one set of torque wrenches.
pub const SHARE_WRENCHES: u32 = 2_000;

/// What the invented calibration certificates state, with k = 2.
///
/// # Errors
/// A figure here that is no number.
pub fn stated(kind: InstrumentKind, unit: &str) -> Result<Option<Uncertainty>, Refusal> {
    let (value, unit) = match (kind, unit) {
        (InstrumentKind::TorqueWrench, _) => ("1.2", OF_READING),
        (InstrumentKind::Thermometer, _) => ("0.3", unit),
        (InstrumentKind::PressureGauge, _) => ("0.3", OF_READING),
        (InstrumentKind::DialIndicator, "[in_i]") => ("0.00008", unit),
        (InstrumentKind::FeelerSet, "[in_i]") => ("0.0001", unit),
        (_, "[in_i]") => ("0.0004", unit),
        _ => return Ok(None),
    };
    let value = value
        .parse()
        .map_err(|e: rust_decimal::Error| Refusal::NotNow(e.to_string()))?;
    Ok(Some(Uncertainty {
        value,
        unit: unit.to_owned(),
        coverage: Decimal::TWO,
    }))
}
