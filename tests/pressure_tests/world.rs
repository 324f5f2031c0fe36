//! What these tests share: a gauge with its nameplate, pressure gauges, a rebuild on test, and the
//! form of a test that passes.

use axum::http::StatusCode;
use gaugewright::acts::bench::Recorded;
use gaugewright::acts::instruments::Calibrated;
use gaugewright::acts::rebuilds::{Plan, Seen, TakeBack, Taking};
use gaugewright::acts::stock::{self, Receipt};
use gaugewright::acts::{self, Deed, bench, rebuilds};
use gaugewright::calc::pressure_test::Code;
use gaugewright::calc::quantity::{LengthUnit, Stamped, StampedLength, TorqueUnit};
use gaugewright::record::bench::{
    BoltingDone, Condition, Facts, Fitted, Lubricant, Safe, Tightening,
};
use gaugewright::record::face::{FaceOf, FaceSeen, Heights, Limits, Reading};
use gaugewright::record::found::{
    BoltingFound, GasketFound, GlassFound, LeakPath, Side, Stripping,
};
use gaugewright::record::gauge::{Isolation, Kind};
use gaugewright::record::instrument::{Found, Instrument, InstrumentKind};
use gaugewright::record::kit::Kit;
use gaugewright::record::person::Role;
use gaugewright::record::rebuild::{Cause, Rework};
use gaugewright::record::{InstrumentId, KitId, LotId, RebuildId};
use gaugewright::store;
use rust_decimal::Decimal;
use time::Date;
use time::macros::date;

use crate::gauges::edit::NAMEPLATE;
use crate::plant::{Answer, PASSWORD, Plant, Visitor};

/// The gauge of most tests: rated 1000 psi, so it is proved at 1500 psi.
pub const GAUGE: &str = "LG-1107A";
/// Where its tests are recorded.
pub const FORM: &str = "/pressure-tests/new/LG-1107A";

/// A test of that gauge that passes: held from 08:50 for five minutes.
pub const PASSED: &[(&str, &str)] = &[
    ("required", "1500"),
    ("required_unit", "[psi]"),
    ("instrument", "PG-22"),
    ("began_on", "2026-03-02"),
    ("began_at", "08:50"),
    ("medium", "water"),
    ("confirmed", "yes"),
    ("minute", "0"),
    ("pressure", "1510"),
    ("temperature", "18.0"),
    ("minute", "5"),
    ("pressure", "1505"),
    ("temperature", "17.8"),
    ("pressure_unit", "[psi]"),
    ("temperature_unit", "Cel"),
    ("leak", "none"),
];

/// Fields with others in the place of those of the same name; an empty value takes one away.
pub fn with<'a>(
    fields: &[(&'a str, &'a str)],
    changes: &[(&'a str, &'a str)],
) -> Vec<(&'a str, &'a str)> {
    let mut all: Vec<_> = fields
        .iter()
        .filter(|(name, _)| !changes.iter().any(|(other, _)| other == name))
        .copied()
        .collect();
    all.extend(changes.iter().filter(|(_, value)| !value.is_empty()));
    all
}

pub fn number(text: &str) -> Decimal {
    text.parse().expect("a number")
}

async fn done(deed: Deed) {
    deed.commit("").await.expect("committed");
}

/// An instrument with a calibration from and to these days.
pub async fn instrument(
    plant: &Plant,
    (name, kind): (&str, InstrumentKind),
    (high, unit, step): (&str, &str, &str),
    calibrated: (Date, Date, Found),
) -> InstrumentId {
    let mut deed = plant.deed_of(Role::Engineer).await;
    let new = Instrument {
        id: InstrumentId(0),
        number: name.parse().expect("a number"),
        kind,
        description: format!("Northquay {name}"),
        range_low: Decimal::ZERO,
        range_high: number(high),
        unit: unit.to_owned(),
        resolution: Some(number(step)),
        cycle_limit: None,
        retired: false,
        calibration: None,
        version: 1,
    };
    let id = acts::instruments::add(&mut deed, &new)
        .await
        .expect("taken in");
    done(deed).await;
    calibrate(plant, id, calibrated).await;
    id
}

/// A further calibration of an instrument.
pub async fn calibrate(plant: &Plant, id: InstrumentId, (on, due, found): (Date, Date, Found)) {
    let mut deed = plant.deed_of(Role::Engineer).await;
    let calibrated = Calibrated {
        stated: false,
        calibrated_on: on,
        due_on: due,
        reference: format!("CAL-{on}"),
        found,
        uncertainty: None,
        note: String::new(),
    };
    acts::instruments::calibrate(&mut deed, id, &calibrated)
        .await
        .expect("calibrated");
    done(deed).await;
}

/// A pressure gauge in psi, calibrated through 2026.
pub async fn pressure_gauge(plant: &Plant, name: &str, high: &str) -> InstrumentId {
    let year = (
        date!(2026 - 01 - 10),
        date!(2026 - 12 - 31),
        Found::WithinTolerance,
    );
    let kind = InstrumentKind::PressureGauge;
    instrument(plant, (name, kind), (high, "[psi]", "10"), year).await
}

/// A plant with the gauge LG-1107A and the pressure gauge PG-22 (0 to 3000 psi).
pub async fn plant() -> Plant {
    plant_with(&[]).await
}

/// The same with some of the gauge's fields changed.
pub async fn plant_with(changes: &[(&str, &str)]) -> Plant {
    let plant = Plant::new().await;
    take_in(&plant, changes).await;
    pressure_gauge(&plant, "PG-22", "3000").await;
    plant
}

/// Takes the gauge in with some fields changed.
pub async fn take_in(plant: &Plant, changes: &[(&str, &str)]) {
    let fields = with(NAMEPLATE, changes);
    plant
        .engineer()
        .await
        .fill("/gauges/new", "/gauges/new", &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

/// The plant takes its tests from another code and holds them for so long.
pub async fn follows(plant: &Plant, code: Code, hold_minutes: u32) {
    let mut deed = plant.deed_of(Role::Engineer).await;
    let mut settings = store::plant::find(deed.db())
        .await
        .expect("read")
        .expect("a plant");
    settings.test_code = code;
    settings.hold_minutes = hold_minutes;
    acts::plant::settle(&mut deed, &settings)
        .await
        .expect("settled");
    done(deed).await;
}

/// Records a test and returns its number.
pub async fn tested(visitor: &mut Visitor, fields: &[(&str, &str)]) -> String {
    let answer = visitor.fill(FORM, FORM, fields).await;
    answer.is(StatusCode::SEE_OTHER);
    answer
        .goes_to()
        .strip_prefix("/pressure-tests/")
        .expect("a test's address")
        .to_owned()
}

/// Signs on the page of a test: "witness" or "certificate".
pub async fn signs(visitor: &mut Visitor, number: &str, what: &str) -> Answer {
    let action = format!("/pressure-tests/{number}/{what}");
    // Any form of the session gives the key; what is signed may have no form any more.
    let page = "/people/password";
    let fields = [("reason", "Return to service"), ("password", PASSWORD)];
    let least = usize::from(what != "certificate");
    visitor.fill(page, &action, &fields[least..]).await
}

/// A test, witnessed and certified; returns the number of the certificate.
pub async fn certified(plant: &Plant) -> String {
    let number = tested(&mut plant.technician().await, PASSED).await;
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    let issued = signs(&mut inspector, &number, "certificate").await;
    issued.is(StatusCode::SEE_OTHER);
    issued
        .goes_to()
        .strip_prefix("/pressure-tests/certificates/")
        .expect("a certificate's address")
        .to_owned()
}

/// The register as it stands is sound: chain, seals, certificates.
pub async fn sound(plant: &Plant) {
    let mut db = store::open_for_reading(&plant.folder)
        .await
        .expect("the register");
    let report = acts::verify::verify(&mut db).await.expect("a report");
    assert!(report.sound(), "{:?}", report.findings);
}

/// Plans a rebuild of the gauge and takes it to the bench.
pub async fn at_the_bench(plant: &Plant) -> RebuildId {
    let mut deed = plant.deed_of(Role::Engineer).await;
    let gauge = store::gauges::id_of(deed.db(), GAUGE)
        .await
        .expect("read")
        .expect("the gauge");
    let plan = Plan {
        cause: Cause::Interval,
        planned_for: date!(2026 - 03 - 02),
        note: String::new(),
        stands_anyway: false,
    };
    rebuilds::plan(&mut deed, gauge, &plan)
        .await
        .expect("planned");
    let id = store::rebuilds::open_of(deed.db(), gauge)
        .await
        .expect("read")
        .expect("a rebuild")
        .id;
    let seen = seen(&mut deed, id).await;
    rebuilds::start(&mut deed, seen, &Taking::default())
        .await
        .expect("started");
    done(deed).await;
    id
}

async fn seen(deed: &mut Deed, id: RebuildId) -> Seen {
    let rebuild = store::rebuilds::by_id(deed.db(), id)
        .await
        .expect("read")
        .expect("a rebuild");
    Seen {
        id,
        version: rebuild.version,
    }
}

/// Takes a gauge back to the bench from its test, to be tightened again.
pub async fn taken_back(plant: &Plant, id: RebuildId) {
    let mut deed = plant.deed_of(Role::Technician).await;
    let back = TakeBack {
        reason: "a nut was marked wrongly".to_owned(),
        rework: Rework::Tighten,
        section: Some(2),
    };
    let seen = seen(&mut deed, id).await;
    rebuilds::take_back(&mut deed, seen, &back)
        .await
        .expect("taken back");
    done(deed).await;
}

/// Records something at the bench.
pub async fn entered(plant: &Plant, id: RebuildId, section: Option<u8>, facts: Facts) {
    let mut deed = plant.deed_of(Role::Technician).await;
    let course = store::bench::course(deed.db(), id)
        .await
        .expect("read")
        .expect("a course");
    let new = Recorded { section, facts };
    bench::record(&mut deed, id, &new, course.last_entry())
        .await
        .expect("recorded");
    done(deed).await;
}

/// Tightened to a torque in ft·lbf by fives, with the wrench TW-07; `from` says where the torque
/// comes from when the nameplate states none.
pub fn tightened(target: &str, from: Option<&str>) -> Facts {
    Facts::Tightened(Box::new(Tightening {
        target: Stamped::new(number(target), TorqueUnit::FootPound),
        target_from: from.map(str::to_owned),
        passes: ["5", "10", "15", "20", "25", target].map(number).to_vec(),
        again: false,
        finished: Vec::new(),
        wrench: "TW-07".parse().expect("a number"),
        note: String::new(),
    }))
}

/// A whole rebuild up to its test: stripped, inspected, assembled from lot L-4471, tightened.
pub async fn rebuilt(plant: &Plant) -> RebuildId {
    rebuilt_to(plant, ["32"; 4], None).await
}

/// A whole rebuild up to its test with each section tightened to its own torque.
pub async fn rebuilt_to(plant: &Plant, torques: [&str; 4], from: Option<&str>) -> RebuildId {
    // Sent to its test a quarter of an hour ago, so that a hold from 08:50 comes after it.
    let now = plant.clock.now();
    plant.clock.set(now.plus(-time::Duration::minutes(15)));
    let year = (
        date!(2025 - 11 - 03),
        date!(2026 - 11 - 03),
        Found::WithinTolerance,
    );
    let wrench = ("TW-07", InstrumentKind::TorqueWrench);
    instrument(plant, wrench, ("80", "[ft_i].[lbf_av]", "1"), year).await;
    let indicator = ("DI-3", InstrumentKind::DialIndicator);
    instrument(plant, indicator, ("0.04", "[in_i]", "0.0001"), year).await;
    let feelers = ("FS-1", InstrumentKind::FeelerSet);
    instrument(plant, feelers, ("1", "[in_i]", "0.0005"), year).await;
    let caliper = ("CA-9", InstrumentKind::Caliper);
    instrument(plant, caliper, ("6", "[in_i]", "0.001"), year).await;
    let id = at_the_bench(plant).await;
    kits_issued(plant, id).await;
    let note = String::new;
    let safe = Safe {
        permit: "P-118".to_owned(),
        lock: "L-40".to_owned(),
        confirmed: Condition::asked(false, Isolation::InService),
    };
    entered(plant, id, None, Facts::MadeSafe(safe)).await;
    let stripped = Facts::Stripped(Box::new(Stripping {
        glass: GlassFound::Clouded,
        back_glass: None,
        front: Side {
            seal: GasketFound::Hardened,
            cushion: GasketFound::Sound,
            shield: None,
        },
        back: None,
        leak: LeakPath::None,
        bolting: Some(BoltingFound::Sound),
        thrown_away: true,
        cause: None,
        note: note(),
    }));
    entered(plant, id, None, stripped).await;
    let bolting = Facts::Bolting {
        done: BoltingDone::Renewed,
        note: note(),
    };
    entered(plant, id, None, bolting).await;
    for section in 1..=4 {
        for face in [FaceOf::Chamber, FaceOf::Cover] {
            entered(plant, id, Some(section), inspected(section, face)).await;
        }
    }
    let assembled = Facts::Assembled {
        confirmed: Fitted::asked(Kind::Reflex).to_vec(),
        lubricant: Lubricant::Molybdenum,
        note: note(),
    };
    entered(plant, id, None, assembled).await;
    for (section, torque) in (1..).zip(torques) {
        entered(plant, id, Some(section), tightened(torque, from)).await;
    }
    let mut deed = plant.deed_of(Role::Technician).await;
    let seen = seen(&mut deed, id).await;
    rebuilds::send_to_test(&mut deed, seen)
        .await
        .expect("sent to its test");
    done(deed).await;
    plant.clock.set(now);
    id
}

/// Section 2 of a gauge on test opened once more a quarter of an hour ago, with what was read of it, and
/// sent back to its test.
pub async fn opened_again(plant: &Plant, id: RebuildId, read: Facts) {
    let now = plant.clock.now();
    plant.clock.set(now.plus(-time::Duration::minutes(15)));
    taken_back(plant, id).await;
    entered(plant, id, Some(2), read).await;
    let mut deed = plant.deed_of(Role::Storekeeper).await;
    let lot: i64 = sqlx::query_scalar("SELECT id FROM lot WHERE number = 'L-4471'")
        .fetch_one(deed.db())
        .await
        .expect("the lot");
    stock::issue(&mut deed, id, LotId(lot), 1)
        .await
        .expect("issued");
    done(deed).await;
    let assembled = Facts::Assembled {
        confirmed: Fitted::asked(Kind::Reflex).to_vec(),
        lubricant: Lubricant::Molybdenum,
        note: String::new(),
    };
    entered(plant, id, Some(2), assembled).await;
    entered(plant, id, Some(2), tightened("32", None)).await;
    let mut deed = plant.deed_of(Role::Technician).await;
    let seen = seen(&mut deed, id).await;
    rebuilds::send_to_test(&mut deed, seen)
        .await
        .expect("sent to its test");
    done(deed).await;
    plant.clock.set(now);
}

/// Section 2 of a gauge on test only tightened again a quarter of an hour ago, and sent back to its test.
pub async fn tightened_again(plant: &Plant, id: RebuildId) {
    let now = plant.clock.now();
    plant.clock.set(now.plus(-time::Duration::minutes(15)));
    taken_back(plant, id).await;
    entered(plant, id, Some(2), tightened("32", None)).await;
    let mut deed = plant.deed_of(Role::Technician).await;
    let seen = seen(&mut deed, id).await;
    rebuilds::send_to_test(&mut deed, seen)
        .await
        .expect("sent to its test");
    done(deed).await;
    plant.clock.set(now);
}

/// A face under straightedge and feeler; the chamber of section 2 was measured with the dial
/// indicator: a wedge of 0.001 in across the rails with one station 0.0012 in high on it, and a
/// wall of 0.131 in. The cover of section 3 is a new part.
pub fn inspected(section: u8, face: FaceOf) -> Facts {
    let measured = section == 2 && face == FaceOf::Chamber;
    let heights = |list: [&str; 4]| list.map(number).to_vec();
    let inch = |value| StampedLength::new(number(value), LengthUnit::Inch);
    Facts::Face(Box::new(Reading {
        off: None,
        wall_off: None,
        thicker: None,
        skim: None,
        skims_done: None,
        face,
        seen: if section == 3 && face == FaceOf::Cover {
            FaceSeen::Renewed
        } else {
            FaceSeen::Clean
        },
        heights: measured.then(|| Heights {
            unit: LengthUnit::Inch,
            pitch_mm: number("60"),
            rails_apart_mm: number("40"),
            left: heights(["0", "0", "0", "0"]),
            right: heights(["0.001", "0.0022", "0.001", "0.001"]),
        }),
        feeler: (!measured).then(|| inch("0.0015")),
        instrument: Some(
            if measured { "DI-3" } else { "FS-1" }
                .parse()
                .expect("a number"),
        ),
        wall: measured.then(|| inch("0.131")),
        wall_instrument: measured.then(|| "CA-9".parse().expect("a number")),
        limits: Limits {
            flatness: inch("0.002"),
            wall: inch("0.100"),
            skims: 2,
        },
        note: String::new(),
    }))
}

async fn kits_issued(plant: &Plant, rebuild: RebuildId) {
    let mut deed = plant.deed_of(Role::Storekeeper).await;
    let kit = Kit {
        id: KitId(0),
        number: "SW-K-250B".parse().expect("a number"),
        name: "Kit reflex 250 mm, borosilicate".to_owned(),
        kind: Kind::Reflex,
        glass_length_mm: Some(250),
        contents: String::new(),
        shelf_life_months: None,
        lead_days: 30,
        pack: 1,
        minimum: 1,
        version: 1,
    };
    let kit = store::kits::add(deed.db(), &kit).await.expect("a kit");
    deed.record(
        "added",
        "kit",
        None,
        serde_json::json!({}),
        &[("kit", kit.0)],
    )
    .await
    .expect("recorded");
    let receipt = Receipt {
        kit,
        lot: "L-4471".parse().expect("a number"),
        quantity: 10,
        received_on: date!(2026 - 02 - 01),
        expires_on: None,
        place: "A1".to_owned(),
    };
    let lot = stock::receive(&mut deed, &receipt).await.expect("received");
    stock::issue(&mut deed, rebuild, lot, 4)
        .await
        .expect("issued");
    done(deed).await;
}
