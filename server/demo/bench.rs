//! What the technicians of the invented plant record at the bench and at the test pump.
//! Readings are drawn from dice; nothing here is advice.

use std::collections::HashMap;

use rust_decimal::Decimal;
use time::{Date, Duration};

use super::dice::Dice;
use super::fleet::Member;
use super::plant::SHARE_WRENCHES;
use super::timeline::Step;
use crate::acts::{self, Deed, Result, rebuilds::Seen};
use crate::calc::quantity::{LengthUnit, Stamped, TemperatureUnit, TorqueUnit};
use crate::calc::tighten;
use crate::record::bench::{
    BackInService, BoltingDone, Facts, Fitted, Lubricant, Safe, Tightening,
};
use crate::record::face::{FaceOf, FaceSeen, Heights, Limits, Reading as FaceReading};
use crate::record::found::{
    BoltingFound, GasketFound, GlassFound, LeakPath, ShieldFound, Side, Stripping,
};
use crate::record::gauge::{Kind, Particulars};
use crate::record::instrument::InstrumentKind;
use crate::record::kit::Lot;
use crate::record::pressure_test::{Basis, Circumstances, LeakSeen, Medium, Reading, asked};
use crate::record::re_torque::{NutsMoved, ReTorque};
use crate::record::rebuild::Cause;
use crate::record::{GaugeId, KitId, RebuildId, Refusal, TestNumber};
use crate::store;

/// The wall behind each chamber face, in thousandths of an inch, as it wears from rebuild to rebuild.
#[derive(Debug, Default)]
pub struct Walls {
    left: HashMap<(u32, u8, FaceOf), i64>,
    skims: u8,
}

/// The gauge whose chamber has been skimmed twice and stands near its limit.
const WORN: u32 = 7;

/// The rebuild as it stands now.
///
/// # Errors
/// The store's failure.
pub async fn seen(deed: &mut Deed, id: RebuildId) -> Result<Seen> {
    let rebuild = store::rebuilds::by_id(deed.db(), id)
        .await?
        .ok_or(Refusal::Missing("rebuild"))?;
    Ok(Seen {
        id,
        version: rebuild.version,
    })
}

/// Lots of a kit that may be used on a day, first expired first.
///
/// # Errors
/// The store's failure.
pub async fn usable(deed: &mut Deed, kit: KitId, day: Date) -> Result<Vec<Lot>> {
    let mut lots = store::kits::lots_on_hand(deed.db(), kit).await?;
    lots.retain(|lot| lot.usable_on(day));
    Ok(lots)
}

/// A lot that will soon be too old, as every storeroom has one.
///
/// # Errors
/// The store's failure.
pub async fn near_expiry(deed: &mut Deed, kit: KitId, today: Date) -> Result<()> {
    let received_on = today - Duration::days(2);
    let receipt = acts::stock::Receipt {
        kit,
        lot: super::storeroom::lot_number(2, received_on, 'A')?,
        quantity: 3,
        received_on,
        expires_on: Some(today + Duration::days(24)),
        place: "rack 2 shelf 5".to_owned(),
    };
    acts::stock::receive(deed, &receipt).await.map(|_| ())
}

/// Whether a step was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Did {
    /// It was.
    Done,
    /// Every wrench for its torque is on another gauge: it waits until one comes free.
    Waits,
}

/// Records one step at the bench.
///
/// # Errors
/// The store's failure, or a step the register refused.
pub async fn record(
    deed: &mut Deed,
    rebuild: RebuildId,
    member: &Member,
    step: &Step,
    walls: &mut Walls,
) -> Result<Did> {
    let minute = deed.now().at().unix_timestamp() / 60;
    let mut dice = Dice::new(u64::try_from(minute).unwrap_or(0) * 4096 + u64::from(member.number));
    let course = store::bench::course(deed.db(), rebuild)
        .await?
        .ok_or(Refusal::Missing("rebuild"))?;
    let entries: Vec<(Option<u8>, Facts)> = match step {
        Step::MadeSafe => vec![(
            None,
            Facts::MadeSafe(Safe {
                permit: format!("P-{}", dice.between(10_000, 99_999)),
                lock: format!("L-{}", dice.between(100, 999)),
                confirmed: course.made_safe_by(),
            }),
        )],
        Step::Strip(section) => {
            let cause = store::rebuilds::by_id(deed.db(), rebuild)
                .await?
                .map_or(Cause::Interval, |rebuild| rebuild.cause);
            let first = *section == 1;
            let facts = stripped(member.particulars.kind, (cause, first), &mut dice);
            vec![(Some(*section), facts)]
        }
        Step::Bolting => vec![(
            None,
            Facts::Bolting {
                done: if dice.chance(40) {
                    BoltingDone::Renewed
                } else {
                    BoltingDone::RunByHand
                },
                note: String::new(),
            },
        )],
        Step::Faces(section) => FaceOf::of(member.particulars.kind)
            .iter()
            .map(|face| {
                Ok((
                    Some(*section),
                    Facts::Face(Box::new(reading(
                        member, *section, *face, &mut dice, walls,
                    )?)),
                ))
            })
            .collect::<Result<_>>()?,
        Step::Assemble => vec![(
            None,
            Facts::Assembled {
                confirmed: Fitted::asked(member.particulars.kind).to_vec(),
                lubricant: Lubricant::Molybdenum,
                note: String::new(),
            },
        )],
        Step::Tighten(section) => match tightened(deed, rebuild, member).await? {
            Some(facts) => vec![(Some(*section), Facts::Tightened(Box::new(facts)))],
            None => return Ok(Did::Waits),
        },
        _ => Vec::new(),
    };
    for (section, facts) in entries {
        let last = i64::MAX;
        acts::bench::record(
            deed,
            rebuild,
            &acts::bench::Recorded { section, facts },
            last,
        )
        .await?;
    }
    Ok(Did::Done)
}

/// What stripping a section finds: the first one shows the failure that called for the rebuild, and
/// once in a while a rebuild by interval finds a leak nobody saw.
fn stripped(kind: Kind, (cause, first): (Cause, bool), dice: &mut Dice) -> Facts {
    let glass = |dice: &mut Dice| {
        *dice
            .pick(&[
                GlassFound::Sound,
                GlassFound::Sound,
                GlassFound::Sound,
                GlassFound::Clouded,
                GlassFound::Etched,
                GlassFound::Chipped,
            ])
            .unwrap_or(&GlassFound::Sound)
    };
    let gasket = |dice: &mut Dice| {
        *dice
            .pick(&[
                GasketFound::Sound,
                GasketFound::Hardened,
                GasketFound::Hardened,
                GasketFound::Extruded,
            ])
            .unwrap_or(&GasketFound::Sound)
    };
    let transparent = kind == Kind::Transparent;
    let found = glass(dice);
    let glass_in_front = match cause {
        Cause::CrackedGlass if first => GlassFound::Cracked,
        Cause::CloudedGlass if first => GlassFound::Clouded,
        _ => found,
    };
    let back_glass = transparent.then(|| glass(dice));
    let front = Side {
        seal: gasket(dice),
        cushion: gasket(dice),
        shield: transparent.then_some(ShieldFound::Sound),
    };
    let leak = if (cause == Cause::Leak && first) || dice.chance(1) {
        LeakPath::SealGasket
    } else {
        LeakPath::None
    };
    Facts::Stripped(Box::new(Stripping {
        glass: glass_in_front,
        back_glass,
        back: transparent.then(|| front.clone()),
        front,
        bolting: Some(if leak == LeakPath::None {
            BoltingFound::Sound
        } else {
            BoltingFound::Uneven
        }),
        leak,
        thrown_away: true,
        cause: None,
        note: String::new(),
    }))
}

fn thousandth(value: i64) -> Decimal {
    Decimal::new(value, 3)
}

fn reading(
    member: &Member,
    section: u8,
    face: FaceOf,
    dice: &mut Dice,
    walls: &mut Walls,
) -> Result<FaceReading> {
    let length = i64::from(member.particulars.glass_length_mm.unwrap_or(250));
    let stations = length / 50 + 2;
    let mut rail = || -> Vec<Decimal> {
        (0..stations)
            .map(|_| Decimal::new(dice.between(0, 11), 4))
            .collect()
    };
    let (left, right) = (rail(), rail());
    let wall = face.on_chamber().then(|| {
        let begins = if member.number == WORN {
            104
        } else {
            dice.between(118, 165)
        };
        let kept = walls
            .left
            .entry((member.number, section, face))
            .or_insert(begins);
        let now = *kept;
        *kept -= if member.number == WORN {
            dice.between(0, 1)
        } else {
            dice.between(0, 3)
        };
        *kept = (*kept).max(102);
        Stamped::new(thousandth(now), LengthUnit::Inch)
    });
    let skim = member.number == WORN && section == 1 && face == FaceOf::Chamber && walls.skims < 2;
    walls.skims += u8::from(skim);
    let seen = if skim {
        FaceSeen::Skimmed
    } else {
        FaceSeen::Clean
    };
    let number = |text: &str| text.parse().map_err(Refusal::NotNow);
    Ok(FaceReading {
        face,
        seen,
        heights: Some(Heights {
            unit: LengthUnit::Inch,
            pitch_mm: Decimal::from(50),
            rails_apart_mm: Decimal::from(34),
            left,
            right,
        }),
        feeler: None,
        instrument: Some(number("DI-03")?),
        wall_instrument: wall.is_some().then(|| number("DM-01")).transpose()?,
        wall,
        wall_off: None,
        thicker: None,
        off: None,
        skim: None,
        skims_done: None,
        limits: Limits {
            flatness: Stamped::new(thousandth(2), LengthUnit::Inch),
            wall: Stamped::new(thousandth(100), LengthUnit::Inch),
            skims: 2,
        },
        note: String::new(),
    })
}

/// How a section is tightened now; nothing while every wrench for its torque is on another gauge.
async fn tightened(
    deed: &mut Deed,
    rebuild: RebuildId,
    member: &Member,
) -> Result<Option<Tightening>> {
    let p = &member.particulars;
    let (target, target_from) = match p.torque {
        Some(torque) => (torque, None),
        None => (
            Stamped::new(Decimal::from(25), TorqueUnit::FootPound),
            Some(
                "tag painted over; taken from the maker's letter in the gauge's drawer".to_owned(),
            ),
        ),
    };
    let step = match target.unit {
        TorqueUnit::FootPound => Decimal::from(5),
        _ => Decimal::from(7),
    };
    let plan = tighten::passes(target, Stamped::new(step, target.unit))
        .map_err(|e| Refusal::NotNow(e.to_string()))?;
    let day = deed.today();
    let mut wrenches = store::instruments::of_kind(deed.db(), InstrumentKind::TorqueWrench).await?;
    wrenches.retain(|wrench| wrench.may_tighten(target, day).is_ok());
    if wrenches.is_empty() {
        return Err(Refusal::not_now(format!("no wrench for {target} on {day}")).into());
    }
    // Each part of a large fleet reaches for wrenches of its own first.
    let own = usize::try_from(member.number / SHARE_WRENCHES).unwrap_or(0) % wrenches.len();
    wrenches.rotate_left(own);
    let now = deed.now();
    let around = (now.plus(-acts::bench::WRENCH_KEPT), now);
    let busy = store::bench::wrenches_elsewhere(deed.db(), rebuild, around).await?;
    let free = wrenches
        .into_iter()
        .find(|wrench| busy.iter().all(|(number, _)| *number != wrench.number));
    Ok(free.map(|wrench| Tightening {
        target,
        target_from,
        passes: plan.passes,
        again: false,
        finished: Vec::new(),
        wrench: wrench.number,
        note: String::new(),
    }))
}

/// What is confirmed when a gauge goes back.
pub fn returning() -> acts::rebuilds::Returning {
    acts::rebuilds::Returning {
        confirmed: BackInService::ALL.to_vec(),
        ..acts::rebuilds::Returning::default()
    }
}

/// Tightens a returned gauge again, unless it is open at the bench once more.
///
/// # Errors
/// The store's failure, or a step the register refused.
pub async fn re_torque(deed: &mut Deed, gauge: GaugeId, member: &Member) -> Result<Did> {
    let Some(last) = store::re_torques::latest_return(deed.db(), gauge).await? else {
        return Ok(Did::Done);
    };
    if store::rebuilds::open_of(deed.db(), gauge).await?.is_some() {
        return Ok(Did::Done);
    }
    let Some(tightened) = tightened(deed, last.rebuild_id, member).await? else {
        return Ok(Did::Waits);
    };
    let facts = ReTorque {
        torque: tightened.target,
        torque_from: tightened.target_from,
        wrench: tightened.wrench,
        confirmed: ReTorque::before(member.particulars.isolation).to_vec(),
        moved: NutsMoved::Few,
        note: String::new(),
    };
    let today = deed.today();
    acts::re_torques::record(deed, gauge, today, &facts).await?;
    Ok(Did::Done)
}

/// Makes a pressure test at the bench with whatever pressure gauge suits and is in calibration.
///
/// # Errors
/// The store's failure, or a test the register refused.
pub async fn test(
    deed: &mut Deed,
    gauge: GaugeId,
    p: &Particulars,
    weeps: bool,
) -> Result<TestNumber> {
    let plant = store::plant::find(deed.db())
        .await?
        .ok_or(Refusal::Missing("plant"))?;
    let found = store::gauges::by_id(deed.db(), gauge)
        .await?
        .ok_or(Refusal::Missing("gauge"))?;
    let plan = store::test_plans::plan(deed.db(), &plant, &found).await?;
    let asked = asked(&plan, p, &Basis::default()).map_err(|fault| Refusal::Fields(vec![fault]))?;
    let day = deed.today();
    let gauges = store::instruments::of_kind(deed.db(), InstrumentKind::PressureGauge).await?;
    let mut suited = None;
    for candidate in gauges {
        let then = store::instruments::on_day(deed.db(), candidate.number.as_str(), day).await?;
        if let Some(then) = then
            && crate::record::pressure_test::Relied::on(&then, day, asked.required).is_ok()
        {
            suited = Some(then.number);
            break;
        }
    }
    let instrument = suited.ok_or_else(|| {
        Refusal::not_now(format!("no pressure gauge for {} on {day}", asked.required))
    })?;
    let over = Decimal::from(if asked.required.value > Decimal::from(300) {
        10
    } else {
        1
    });
    let read = |minute: u32| Reading {
        minute,
        second: 0,
        pressure: Stamped::new((asked.required.value + over).ceil(), asked.required.unit),
        temperature: Some(Stamped::new(Decimal::from(18), TemperatureUnit::Celsius)),
    };
    let hold = asked.hold_minutes;
    let done = acts::pressure_tests::Done {
        gauge,
        basis: Basis::default(),
        shown: None,
        instrument,
        began: deed.now().plus(-Duration::minutes(i64::from(hold) + 1)),
        medium: Medium::Water,
        readings: vec![read(0), read(hold / 2), read(hold)],
        leak: if weeps {
            LeakSeen::Weep
        } else {
            LeakSeen::None
        },
        circumstances: Circumstances {
            place: "bench".to_owned(),
            read_at: "at the pump, level with the gauge".to_owned(),
            ..Circumstances::default()
        },
        heights: None,
        pump_with: None,
        worked: None,
        note: if weeps {
            "weeps at the seal gasket of section 1".to_owned()
        } else {
            String::new()
        },
    };
    acts::pressure_tests::record(deed, &done).await
}
