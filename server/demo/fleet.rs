//! The invented fleet: every gauge's nameplate and place, drawn from the dice of its number.
//! What happened to it is `past.rs`.

use rust_decimal::Decimal;
use time::{Date, Duration};

use super::dice::Dice;
use super::plant::{AREAS, AreaPlan, KITS};
use crate::calc::quantity::{PressureUnit, Stamped, TemperatureUnit, TorqueUnit};
use crate::calc::rating::Point;
use crate::record::gauge::{BoltForm, Isolation, Kind, Particulars, usual_kits};
use crate::record::{AreaId, KitId, ServiceClassId, TagNumber};

/// Rows of what the fleet refers to, in the order of the plans.
#[derive(Debug, Clone)]
pub struct Ground {
    /// The areas.
    pub areas: Vec<AreaId>,
    /// The service classes.
    pub classes: Vec<ServiceClassId>,
    /// The kits.
    pub kits: Vec<KitId>,
}

/// A gauge of the invented fleet.
#[derive(Debug, Clone)]
pub struct Member {
    /// Its number in the fleet, from 0.
    pub number: u32,
    /// Its area, by place in the plan.
    pub area: usize,
    /// Its service class, by place in the plan.
    pub class: usize,
    /// Its kit, by place in the plan.
    pub kit: usize,
    /// What is known of it.
    pub particulars: Particulars,
}

/// The area of the gauge with this number, and its place in that area.
fn place(number: u32, of: u32) -> (usize, u32) {
    let whole: u32 = AREAS.iter().map(|area| area.share).sum();
    let mut first = 0;
    let mut reached = 0;
    for (at, area) in AREAS.iter().enumerate() {
        reached += area.share;
        let end =
            u32::try_from(u64::from(of) * u64::from(reached) / u64::from(whole)).unwrap_or(of);
        if number < end {
            return (at, number - first);
        }
        first = end;
    }
    (AREAS.len() - 1, number - first)
}

/// A tag number: areas of up to 45 gauges keep the plant's four digits, larger ones take six.
fn tag(area: &AreaPlan, at: u32, of: u32) -> String {
    let pair = ["A", "B", ""];
    if of <= 200 {
        let number = area.first + at / 2;
        format!("LG-{number}{}", pair[usize::from(at % 2 == 1)])
    } else {
        format!("LG-{}{:06}", area.first / 100, at + 1)
    }
}

/// Draws a gauge.
///
/// # Errors
/// Says which number could not be a tag number; the plan's numbers all can.
pub fn member(number: u32, of: u32, today: Date, ground: &Ground) -> Result<Member, String> {
    let mut dice = Dice::new(u64::from(number));
    let (at, within) = place(number, of);
    let area = &AREAS[at];
    let vessel = &area.vessels[usize::try_from(within / 2).unwrap_or(0) % area.vessels.len()];
    let transparent = matches!(vessel.2, 0 | 4) && dice.chance(35);
    let kind = if transparent {
        Kind::Transparent
    } else {
        Kind::Reflex
    };
    let fitting: Vec<usize> = (0..KITS.len()).filter(|&k| KITS[k].kind == kind).collect();
    let kit = served(*dice.pick(&fitting).unwrap_or(&0), vessel.2);
    let sections = u8::try_from(dice.between(1, if transparent { 3 } else { 4 })).unwrap_or(1);
    let metric = at == 4 || dice.chance(15);
    let (rating, temperature, torque) = stamped(vessel.2, metric, &mut dice);
    // A few tags were painted over: the torque cannot be read any more.
    let torque_unreadable = dice.chance(5);
    let torque = (!torque_unreadable).then_some(torque);
    let installed_on = today - Duration::days(dice.between(6 * 366, 14 * 365));
    let bolts = 2 + KITS[kit].length / 60;
    let particulars = Particulars {
        tag: tag(area, within, of).parse::<TagNumber>()?,
        area_id: ground.areas[at],
        service_class_id: ground.classes[vessel.2],
        vessel: format!("{}-{}", area.code, vessel.0),
        service: vessel.1.to_owned(),
        kind,
        sections,
        bolts_per_rail: u8::try_from(bolts).ok(),
        bolt_thread: if metric { "M12" } else { "1/2-13" }.to_owned(),
        bolt_form: if dice.chance(20) {
            BoltForm::UBolts
        } else {
            BoltForm::Bolts
        },
        glass_length_mm: Some(KITS[kit].length),
        isolation: if vessel.3 {
            Isolation::InService
        } else {
            Isolation::ShutdownOnly
        },
        installed_on: Some(installed_on),
        papers_rebuilt_on: None,
        papers_looked_on: None,
        maker: if dice.chance(60) {
            "Fennel Gauge"
        } else {
            "Northquay Instruments"
        }
        .to_owned(),
        order_number: format!("{}-{:05}", installed_on.year(), dice.between(100, 99_999)),
        stamped_kit_number: KITS[kit].number.replace("SW-K", "K"),
        body_material: if matches!(vessel.2, 4 | 5) {
            "stainless steel"
        } else {
            "carbon steel"
        }
        .to_owned(),
        gasket_material: if hot(vessel.2) {
            "graphite"
        } else if KITS[kit].shelf_life.is_some() {
            "elastomer"
        } else {
            "fluoropolymer"
        }
        .to_owned(),
        glass_type: "tempered borosilicate".to_owned(),
        rating: Some(rating),
        rating_temperature: Some(temperature),
        rating_unreadable: false,
        torque,
        torque_unreadable,
        rating_points: points(rating, temperature),
        kit_id: Some(own_kit(ground, kit, number)),
        kits_per_rebuild: usual_kits(kind, sections),
        note: String::new(),
        assumed: Vec::new(),
    };
    Ok(Member {
        number,
        area: at,
        class: vessel.2,
        kit,
        particulars,
    })
}

/// Whether a service class is too hot for gaskets of elastomer: steam, condensate, hot hydrocarbon.
const fn hot(class: usize) -> bool {
    class <= 2
}

/// The kit that serves: hot service takes the next shorter glass where the gaskets of the one drawn are of
/// elastomer, which ages on the shelf.
fn served(kit: usize, class: usize) -> usize {
    if hot(class) && KITS[kit].shelf_life.is_some() {
        kit - 1
    } else {
        kit
    }
}

/// The gauge's kit: the plan's, or one of those like it where there are more.
fn own_kit(ground: &Ground, kit: usize, number: u32) -> KitId {
    let likes = (ground.kits.len().saturating_sub(kit + 1) / KITS.len()) + 1;
    let again = usize::try_from(number).unwrap_or(0) % likes;
    ground.kits[kit + again * KITS.len()]
}

type Plate = (
    Stamped<PressureUnit>,
    Stamped<TemperatureUnit>,
    Stamped<TorqueUnit>,
);

/// Invented ratings: high for steam and hot hydrocarbon, low for tanks.
fn stamped(class: usize, metric: bool, dice: &mut Dice) -> Plate {
    let psi = match class {
        0 => 1000,
        1 | 2 => *dice.pick(&[740, 1000]).unwrap_or(&740),
        5 => 600,
        _ => *dice.pick(&[150, 285, 400]).unwrap_or(&285),
    };
    let torque_ft = *dice.pick(&[25, 28, 32]).unwrap_or(&32);
    if metric {
        (
            Stamped::new(Decimal::from(psi * 69 / 1000), PressureUnit::Bar),
            Stamped::new(
                Decimal::from(if class == 5 { -40 } else { 38 }),
                TemperatureUnit::Celsius,
            ),
            Stamped::new(Decimal::from(torque_ft * 27 / 20), TorqueUnit::NewtonMetre),
        )
    } else {
        (
            Stamped::new(Decimal::from(psi), PressureUnit::Psi),
            Stamped::new(Decimal::from(100), TemperatureUnit::Fahrenheit),
            Stamped::new(Decimal::from(torque_ft), TorqueUnit::FootPound),
        )
    }
}

/// Three points falling with temperature, from the stamped rating down; invented.
fn points(rating: Stamped<PressureUnit>, at: Stamped<TemperatureUnit>) -> Vec<Point> {
    let step = match at.unit {
        TemperatureUnit::Fahrenheit => 200,
        _ => 110,
    };
    [(0, 100), (1, 92), (2, 85)]
        .iter()
        .map(|(steps, percent)| Point {
            temperature: Stamped::new(at.value + Decimal::from(steps * step), at.unit),
            pressure: Stamped::new(
                (rating.value * Decimal::from(*percent) / Decimal::from(100))
                    .round_dp(1)
                    .normalize(),
                rating.unit,
            ),
        })
        .collect()
}
