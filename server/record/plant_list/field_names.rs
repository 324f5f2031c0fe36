//! The headings people give the columns of a plant's list, lower case and without marks. How a
//! heading is compared with them is in `headings`.

use super::field::Field;

impl Field {
    /// Other headings a column of this field is found under.
    #[must_use]
    pub fn names(self) -> &'static [&'static str] {
        NAMES
            .iter()
            .find(|(field, _)| *field == self)
            .map_or(&[], |(_, names)| *names)
    }
}

/// A misspelling needs no entry: slips of the pen are forgiven where names are compared.
#[rustfmt::skip]
const NAMES: [(Field, &[&str]); Field::ALL.len()] = [
    (Field::Tag, &[
        "tag number", "tag", "tag no", "tag nr", "tag id", "gauge tag", "gauge", "gauge no",
        "gauge number", "gauge id", "level gauge", "level gauge tag", "lg tag", "lg no", "tagno",
        "item tag", "instrument tag", "plant tag", "gage tag", "gage", "gage no", "gage number",
        "lg number",
    ]),
    (Field::Area, &[
        "area", "plant area", "location", "process unit", "unit", "plant unit", "building",
        "where", "plant section", "area name", "unit area",
    ]),
    (Field::ServiceClass, &[
        "service class", "class", "class of service", "duty class", "fluid class",
        "service category", "duty",
    ]),
    (Field::Vessel, &[
        "vessel", "vessel tag", "vessel no", "vessel number", "equipment", "equipment no",
        "equipment number", "equipment tag", "drum", "tank", "mounted on", "on vessel",
        "column or tank",
    ]),
    (Field::Service, &[
        "what it shows", "service", "description", "service description", "fluid", "medium",
        "contents", "process fluid", "shows", "liquid",
    ]),
    (Field::CanIsolate, &[
        "can be isolated in service", "can be isolated", "isolable", "isolatable",
        "isolable in service", "isolatable in service", "can isolate", "isolation",
        "can be isolated online", "isolable online", "isolated in service",
    ]),
    (Field::NeedsShutdown, &[
        "only in a shutdown", "shutdown only", "needs shutdown", "needs a shutdown",
        "shutdown required", "requires shutdown", "shutdown needed", "outage only",
        "outage required", "shutdown",
    ]),
    (Field::InstalledOn, &[
        "first installed", "installed", "installed on", "install date", "installation date",
        "date installed", "in service since", "in service date", "commissioned",
        "commissioning date", "installation", "date of installation", "put in service",
        "date in service", "start date",
    ]),
    (Field::RebuiltOn, &[
        "last rebuilt", "last rebuilt on", "last rebuild", "last rebuild date", "rebuilt",
        "rebuilt on", "date of last rebuild", "date rebuilt", "last overhaul", "last overhauled",
        "overhauled", "overhauled on", "last refurbished", "last glass change", "regasketed",
    ]),
    (Field::LookedOn, &[
        "last looked over", "last looked over on", "last look over", "last inspection",
        "last inspected", "inspected on", "last inspection date", "date of last inspection",
        "last visual inspection", "last checked", "last check", "checked on",
    ]),
    (Field::Kind, &[
        "type", "gauge type", "reflex or transparent", "kind", "type of gauge", "gauge kind",
        "gage type", "style", "reflex transparent", "gauge style",
    ]),
    (Field::Sections, &[
        "sections", "section", "no of sections", "number of sections", "sections no",
        "nr of sections", "qty sections", "section count", "num sections", "sect", "no sections",
        "chambers", "section qty",
    ]),
    (Field::GlassLength, &[
        "glass length", "length of glass", "glass size", "length glass", "glass len",
    ]),
    (Field::BoltsPerRail, &[
        "bolts on each rail of a section", "bolts per rail", "bolts a rail", "bolts per side",
        "bolts each side", "bolts on each rail", "bolts per rail section",
    ]),
    (Field::BoltThread, &[
        "bolt thread", "thread", "bolt size", "stud size", "thread size", "bolt dia",
        "bolt diameter", "stud thread", "cover bolt", "cover bolt size", "bolting size",
    ]),
    (Field::BoltForm, &[
        "bolting", "bolt form", "bolt type", "bolting type", "studs or bolts", "form of bolting",
        "fasteners",
    ]),
    (Field::Maker, &[
        "maker", "make", "manufacturer", "mfr", "mfg", "vendor", "made by", "supplier", "brand",
        "gauge maker", "gauge manufacturer",
    ]),
    (Field::OrderNumber, &[
        "maker s order number", "maker order number", "order number", "order no",
        "makers order number", "serial number", "serial no", "serial", "works order",
        "works number", "maker order no", "s n", "order nr",
    ]),
    (Field::StampedKitNumber, &[
        "spare kit number", "spare kit", "spare kit no", "kit number", "kit no", "kit",
        "stamped kit number", "spares kit", "spare kit number as stamped", "repair kit",
    ]),
    (Field::Rating, &[
        "rated pressure", "rating", "pressure rating", "mawp", "max pressure", "maximum pressure",
        "design pressure", "rated press", "press rating", "pressure", "max working pressure",
        "maximum allowable working pressure", "mwp", "des press", "nameplate pressure",
    ]),
    (Field::RatingUnit, &[
        "unit of the rated pressure", "rating unit", "rating units", "pressure unit",
        "pressure units", "mawp unit", "mawp units", "press unit",
    ]),
    (Field::RatingTemperature, &[
        "temperature of the rating", "rating temperature", "rated temperature", "temperature",
        "temp", "at temperature", "at temp", "design temperature", "design temp", "rating temp",
        "rated temp", "max temperature", "max temp", "pressure at temperature",
    ]),
    (Field::RatingTemperatureUnit, &[
        "unit of that temperature", "temperature unit", "temperature units", "temp unit",
        "temp units",
    ]),
    (Field::Torque, &[
        "cover bolt torque", "torque", "bolt torque", "nameplate torque", "torque value",
        "tightening torque", "cover torque", "bolting torque", "stud torque", "torqe",
        "assembly torque", "cover bolts torque",
    ]),
    (Field::TorqueUnit, &[
        "unit of the torque", "torque unit", "torque units",
    ]),
    (Field::RatingPoints, &[
        "pressure temperature points", "pressure temperature", "p t points", "p t rating",
        "pressure temperature rating", "rating points", "pt rating", "pt points",
    ]),
    (Field::BodyMaterial, &[
        "body material", "body", "chamber material", "material", "body matl", "material of body",
        "chamber matl", "matl",
    ]),
    (Field::GasketMaterial, &[
        "gasket material", "gasket", "gaskets", "gasket matl", "gasket type", "material of gasket",
        "seal material",
    ]),
    (Field::GlassType, &[
        "glass type", "glass", "type of glass", "glass kind", "glass material",
    ]),
    (Field::Kit, &[
        "kit in our storeroom", "storeroom kit", "our kit", "our kit number", "store kit",
        "kit in store", "kit in storeroom", "stock kit",
    ]),
    (Field::KitsPerRebuild, &[
        "kits for a rebuild", "kits per rebuild", "kits", "kits needed", "kit qty",
        "number of kits", "no of kits", "kits per gauge", "kit quantity",
    ]),
    (Field::Note, &[
        "what a rebuilder should know", "note", "notes", "remark", "remarks", "comment",
        "comments", "rebuilder note",
    ]),
];
