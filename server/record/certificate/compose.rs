//! Fills the certificate's record from the facts of a test and of the rebuild it proves.
//! Nothing is asked of the database here, and nothing is decided that was not recorded.

use rust_decimal::Decimal;
use time::OffsetDateTime;

use super::bench;
use super::{
    Amount, CAUTIONS, CertificateRecord, Choice, GaugeTested, GaugeType, HeadCorrection,
    InstrumentUsed, MEANING_ISSUED, MEANING_WITNESSED, Party, Reading, Requirement, SCOPE,
    Signature, TestDone, TestResult,
};
use crate::calc::calendar::said;
use crate::calc::pressure_test::Code;
use crate::calc::quantity::{
    PressureUnit, Side, StampedPressure, StampedTemperature, TemperatureUnit, TorqueUnit, Unit,
};
use crate::record::course::Course;
use crate::record::gauge::{Gauge, Kind};
use crate::record::hold::Hold;
use crate::record::instrument::{Instrument, InstrumentKind, Uncertainty};
use crate::record::moment::Zone;
use crate::record::person::Role;
use crate::record::plant::Plant;
use crate::record::pressure_test::{self, PressureTest};
use crate::record::rebuild::Rebuild;
use crate::record::{KitNumber, LotNumber, Moment};

/// What a passed test is taken to show, and what is left out of the judgement.
const DECISION_RULE: &str = "passed when no leak is visible over the whole hold and no reading lies \
    below the required pressure; readings are taken as they stand, without a band for their \
    uncertainty";

/// The same where the change of pressure was judged too.
const JUDGED_RULE: &str = "passed when no leak is visible over the whole hold, no reading lies below \
    the required pressure, and the drop left after the change of temperature is within the allowed one";

/// Kits of one lot that went into the rebuild.
#[derive(Debug, Clone)]
pub struct Taken {
    /// What the kit is.
    pub name: String,
    /// The kit's number.
    pub kit: KitNumber,
    /// The lot.
    pub lot: LotNumber,
    /// How many.
    pub quantity: u32,
}

/// An instrument the bench work relied on, with the calibration that counted on that day.
#[derive(Debug, Clone)]
pub struct Used {
    /// The instrument.
    pub instrument: Instrument,
    /// What it was used for.
    pub used_for: &'static str,
}

/// Everything a certificate is made from.
#[derive(Debug)]
pub struct Grounds {
    /// The plant.
    pub plant: Plant,
    /// The gauge as the register knows it on the day of issue.
    pub gauge: Gauge,
    /// The test.
    pub test: PressureTest,
    /// Every test that belongs together with it: of the same rebuild, or repeated after a failure.
    pub earlier: Vec<PressureTest>,
    /// The holds that came to nothing before it.
    pub in_vain: Vec<Hold>,
    /// The rebuild it proves, if it belongs to one.
    pub rebuild: Option<Rebuild>,
    /// What was recorded at the bench in that rebuild.
    pub course: Option<Course>,
    /// What that rebuild took from the storeroom.
    pub taken: Vec<Taken>,
    /// What the bench work relied on.
    pub used: Vec<Used>,
    /// Why it is issued, as the issuer said it.
    pub reason: String,
    /// Who issues, and in which role.
    pub issuer: (String, Role),
    /// When.
    pub issued_at: Moment,
    /// The page on which anybody can check it.
    pub check_at: Option<String>,
}

/// The record of the certificate.
pub fn compose(grounds: &Grounds) -> CertificateRecord {
    let Grounds { plant, test, .. } = grounds;
    let zone = &plant.zone;
    let course = grounds.course.as_ref();
    let (tightening, mut deviations) =
        course.map_or_else(Default::default, |c| bench::tightening(c, &grounds.gauge));
    deviations.extend(course.map_or_else(Vec::new, bench::again));
    deviations.extend(course.map_or_else(Vec::new, bench::thicker));
    deviations.extend(course.and_then(bench::unnamed));
    deviations.extend(
        grounds
            .earlier
            .iter()
            .filter(|t| t.id < test.id)
            .map(attempt),
    );
    let in_vain = grounds.in_vain.iter();
    deviations.extend(in_vain.map(|hold| hold.in_vain(zone).to_string()));
    deviations.extend(test.facts.remarks());
    deviations.extend(temperature_since(grounds));
    if !test.facts.note.trim().is_empty() {
        deviations.push(format!("The tester noted: {}", test.facts.note.trim()));
    }
    CertificateRecord {
        // Given when it is issued.
        number: String::new(),
        revision: 0,
        supersedes: None,
        title: "Pressure test certificate".to_owned(),
        issuer: Party {
            name: plant.name.clone(),
            address: lines(&plant.address),
        },
        owner: Party {
            name: present(&plant.owner).unwrap_or_else(|| plant.name.clone()),
            address: Vec::new(),
        },
        gauge: item(grounds),
        requirement: requirement(test),
        test: done(test, zone),
        result: TestResult::NoVisibleLeak,
        decision_rule: decision_rule(test),
        deviations,
        choices: choices(test, course),
        instruments: instruments(grounds),
        tightening,
        parts_renewed: bench::parts(course, &grounds.taken),
        faces: course.map_or_else(Vec::new, bench::faces),
        tested_by: Signature {
            name: test.person.clone(),
            role: test
                .facts
                .tester_role
                .map_or_else(|| "tester".to_owned(), |r| r.to_string()),
            firm: None,
            at: at(
                zone,
                test.on_paper.as_ref().map_or(test.at, |paper| paper.at),
            ),
            how: Some(recorded(test, zone)),
            meaning: None,
            reason: None,
        },
        witnessed_by: test.witness.as_ref().map(|(name, when)| Signature {
            meaning: Some(MEANING_WITNESSED.to_owned()),
            ..signature(name, Role::Inspector, at(zone, *when))
        }),
        issued_by: Signature {
            meaning: Some(MEANING_ISSUED.to_owned()),
            reason: present(&grounds.reason),
            ..signature(
                &grounds.issuer.0,
                grounds.issuer.1,
                at(zone, grounds.issued_at),
            )
        },
        scope: SCOPE.to_owned(),
        cautions: CAUTIONS.map(str::to_owned).to_vec(),
        check_at: grounds.check_at.clone(),
    }
}

/// How the tester's word came into the register.
fn recorded(test: &PressureTest, zone: &Zone) -> String {
    match &test.on_paper {
        None => format!("recorded in the register as {}", test.number),
        Some(paper) => format!(
            "written on the sheet on paper; entered in the register as {} by {} on {}",
            test.number,
            paper.entered_by,
            said(zone.date(test.at))
        ),
    }
}

/// What was chosen for the test, and by which limits the faces were judged.
fn choices(test: &PressureTest, course: Option<&Course>) -> Vec<Choice> {
    let mut list = test.facts.choices.clone();
    list.extend(course.map_or_else(Vec::new, bench::limits));
    list
}

/// An earlier test that belongs together with this one, in a sentence.
fn attempt(earlier: &PressureTest) -> String {
    let (result, why) = earlier.facts.verdict();
    format!(
        "An earlier test, {}, on {} {result}: {why}.",
        earlier.number,
        said(earlier.tested_on)
    )
}

/// What the test's working says of the temperature the rating is stamped at, where that was put right since.
fn temperature_since(grounds: &Grounds) -> Option<String> {
    let facts = &grounds.test.facts;
    if facts.basis.temperature.is_some() {
        return None;
    }
    let then = pressure_test::stamped_at_then(&facts.working)?;
    let now = grounds.gauge.particulars.rating_temperature;
    (then != pressure_test::rating_stamped_at(now)).then(|| {
        format!("The temperature of the rating was corrected after this test, whose working says: {then}")
    })
}

fn signature(name: &str, role: Role, at: OffsetDateTime) -> Signature {
    Signature {
        name: name.to_owned(),
        role: role.to_string(),
        firm: None,
        at,
        how: Some("signed in the register, password given".to_owned()),
        meaning: None,
        reason: None,
    }
}

/// An instant by the plant's clocks, to the second as papers print it.
fn at(zone: &Zone, moment: Moment) -> OffsetDateTime {
    let local = zone.local(moment);
    local.replace_nanosecond(0).unwrap_or(local)
}

fn present(text: &str) -> Option<String> {
    let text = text.trim();
    (!text.is_empty()).then(|| text.to_owned())
}

fn lines(address: &str) -> Vec<String> {
    address.split(['\n', ',']).filter_map(present).collect()
}

/// A pressure with the same in the other usual unit, rounded to a side.
pub(super) fn pressure(value: StampedPressure, side: Side) -> Amount {
    let other = match value.unit {
        PressureUnit::Psi | PressureUnit::KgfPerCm2 => PressureUnit::Bar,
        PressureUnit::Bar | PressureUnit::KiloPascal | PressureUnit::MegaPascal => {
            PressureUnit::Psi
        }
    };
    Amount::stamped(value, other, side)
}

/// A torque with the same in the other usual unit.
pub(super) fn torque_also(unit: TorqueUnit) -> TorqueUnit {
    match unit {
        TorqueUnit::FootPound | TorqueUnit::InchPound | TorqueUnit::KgfMetre => {
            TorqueUnit::NewtonMetre
        }
        TorqueUnit::NewtonMetre => TorqueUnit::FootPound,
    }
}

fn temperature(value: StampedTemperature) -> Amount {
    let other = match value.unit {
        TemperatureUnit::Fahrenheit | TemperatureUnit::Kelvin => TemperatureUnit::Celsius,
        TemperatureUnit::Celsius => TemperatureUnit::Fahrenheit,
    };
    Amount::stamped(value, other, Side::Nearest)
}

fn item(grounds: &Grounds) -> GaugeTested {
    let p = &grounds.gauge.particulars;
    let facts = &grounds.test.facts;
    let vessel = [&p.vessel, &p.service]
        .into_iter()
        .filter_map(|t| present(t));
    let materials: Vec<String> = [
        ("body", &p.body_material),
        ("gaskets", &p.gasket_material),
        ("glass", &p.glass_type),
    ]
    .into_iter()
    .filter_map(|(of, text)| present(text).map(|text| format!("{of} {text}")))
    .collect();
    GaugeTested {
        tag: p.tag.to_string(),
        vessel: vessel.collect::<Vec<_>>().join(", "),
        area: grounds.gauge.area.clone(),
        maker: present(&p.maker),
        order_number: present(&p.order_number),
        kind: match p.kind {
            Kind::Reflex => GaugeType::Reflex,
            Kind::Transparent => GaugeType::Transparent,
        },
        sections: u32::from(p.sections),
        glass_length: p
            .glass_length_mm
            .map(|mm| Amount::new(mm.to_string(), "mm")),
        // A limit is rounded down and what has to be reached up, as on every page; a reading to the nearest.
        // Of the stamped rating the one the test was judged by is printed.
        rating: pressure(
            match facts.basis.temperature {
                None => facts.rating,
                Some(_) => p.rating.unwrap_or(facts.rating),
            },
            Side::Down,
        ),
        rating_temperature: p.rating_temperature.map(temperature),
        rating_source: Some(match facts.basis.temperature {
            None => "nameplate".to_owned(),
            Some(t) => format!(
                "nameplate; for the test {} at {t}, from its pressure-temperature points",
                facts.rating
            ),
        }),
        materials: present(&materials.join("; ")),
        condition: Some(match &grounds.rebuild {
            Some(rebuild) => format!(
                "stripped and rebuilt (rebuild {} of this gauge)",
                rebuild.ordinal
            ),
            None => "as found, tested without a rebuild".to_owned(),
        }),
    }
}

fn requirement(test: &PressureTest) -> Requirement {
    let facts = &test.facts;
    Requirement {
        code: match facts.code {
            Code::CommonPractice => {
                format!("{} times the rating, common practice", facts.code.factor())
            }
            other => other.name().to_owned(),
        },
        procedure: present(&facts.circumstances.procedure),
        pressure: pressure(facts.required, Side::Up),
        working: facts.working.clone(),
        hold_seconds: facts.hold_required * 60,
    }
}

fn done(test: &PressureTest, zone: &Zone) -> TestDone {
    let facts = &test.facts;
    let first = facts.readings.first();
    let last = facts.readings.last();
    let unit = first.map_or(facts.required.unit, |r| r.pressure.unit);
    let degrees = facts
        .readings
        .iter()
        .find_map(|r| r.temperature)
        .map_or(TemperatureUnit::Celsius, |t| t.unit);
    let began = at(zone, facts.began);
    TestDone {
        place: present(&facts.circumstances.place),
        method: format!(
            "{}; {}",
            if facts.medium.is_gas() {
                "with gas"
            } else {
                "hydrostatic"
            },
            facts.confirmed
        ),
        medium: facts.medium.to_string(),
        chloride: facts
            .circumstances
            .chloride
            .map(|c| Amount::new(c.to_string(), "mg/L")),
        applied: pressure(facts.lowest().unwrap_or(facts.required), Side::Nearest),
        measured_at: present(&facts.circumstances.read_at),
        head: facts.heights.as_ref().map(head),
        water_start: first.and_then(|r| r.temperature).map(temperature),
        water_end: last.and_then(|r| r.temperature).map(temperature),
        metal: facts.circumstances.metal.map(temperature),
        started: began,
        ended: at(zone, facts.ended()),
        held_seconds: facts.held_seconds(),
        pressure_unit: unit.symbol().to_owned(),
        temperature_unit: degrees.symbol().to_owned(),
        readings: facts
            .readings
            .iter()
            .map(|r| Reading {
                at: began + time::Duration::seconds(i64::from(r.seconds())),
                pressure: r.pressure.value,
                temperature: r.temperature.map(|t| t.value),
            })
            .collect(),
        pressure_change: match (change(first, last), &facts.judged) {
            (Some(moved), Some(judged)) => Some(format!("{moved}; judged: {}", judged.words)),
            (moved, _) => moved,
        },
        pressure_change_working: facts.judged.as_ref().map(|judged| judged.working.clone()),
    }
}

/// The decision rule with what was chosen on the day.
fn decision_rule(test: &PressureTest) -> String {
    match &test.facts.judged {
        None => DECISION_RULE.to_owned(),
        Some(_) => format!(
            "{JUDGED_RULE}, with the allowed drop and the guard band chosen below (JCGM 106:2012)"
        ),
    }
}

fn head(heights: &pressure_test::Heights) -> HeadCorrection {
    let up = heights.elevations.below_highest;
    HeadCorrection {
        elevation: Amount::from(up),
        amount: pressure(heights.at_lowest, Side::Nearest),
        at_item: pressure(heights.at_highest, Side::Nearest),
        working: Some(heights.working.clone()),
    }
}

/// By how much pressure and temperature moved over the hold, where both ends are in one unit.
fn change(
    first: Option<&pressure_test::Reading>,
    last: Option<&pressure_test::Reading>,
) -> Option<String> {
    let (first, last) = (first?, last?);
    if first.pressure.unit != last.pressure.unit {
        return None;
    }
    let moved = signed(last.pressure.value - first.pressure.value);
    let words = format!("{moved} {}", last.pressure.unit);
    Some(match (first.temperature, last.temperature) {
        (Some(a), Some(b)) if a.unit == b.unit => {
            format!(
                "{words}, while the temperature moved by {} {}",
                signed(b.value - a.value),
                b.unit
            )
        }
        _ => words,
    })
}

fn signed(value: Decimal) -> String {
    let size = value.abs().normalize();
    match value.cmp(&Decimal::ZERO) {
        std::cmp::Ordering::Less => format!("\u{2212}{size}"),
        std::cmp::Ordering::Equal => "0".to_owned(),
        std::cmp::Ordering::Greater => format!("+{size}"),
    }
}

fn instruments(grounds: &Grounds) -> Vec<InstrumentUsed> {
    let relied = &grounds.test.facts.instrument;
    let class = |step: Option<Decimal>, unit: &str, u: Option<String>| {
        let step = step.map(|step| format!("read to {} {unit}", step.normalize()));
        let u = u.map(|u| format!("U = {u}"));
        let both: Vec<String> = step.into_iter().chain(u).collect();
        (!both.is_empty()).then(|| both.join("; "))
    };
    let stated = |u: Option<&Uncertainty>, kind| u.map(|u| u.shown(kind));
    let mut list = vec![InstrumentUsed {
        number: relied.number.to_string(),
        what: described("pressure gauge, applied pressure", &relied.description),
        range: Some(relied.range()),
        class: class(
            relied.resolution,
            relied.unit.symbol(),
            stated(relied.uncertainty.as_ref(), InstrumentKind::PressureGauge),
        ),
        calibration: Some(relied.reference.clone()),
        due: Some(relied.due_on),
    }];
    list.extend(grounds.used.iter().map(|used| {
        let i = &used.instrument;
        InstrumentUsed {
            number: i.number.to_string(),
            what: described(&format!("{}, {}", i.kind, used.used_for), &i.description),
            range: Some(i.range()),
            class: class(
                i.resolution,
                i.symbol(),
                stated(
                    i.calibration.as_ref().and_then(|c| c.uncertainty.as_ref()),
                    i.kind,
                ),
            ),
            calibration: i.calibration.as_ref().map(|c| c.reference.clone()),
            due: i.calibration.as_ref().map(|c| c.due_on),
        }
    }));
    list
}

fn described(what: &str, description: &str) -> String {
    present(description).map_or_else(|| what.to_owned(), |more| format!("{what}; {more}"))
}
