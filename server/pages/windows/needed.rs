//! What the gauges chosen into a window ask for, against what is there: kits on its first day,
//! torque wrenches, pressure gauges and what measures faces in calibration through its last.

use sqlx::SqliteConnection;
use time::Date;

use crate::calc::lots::Wanted;
use crate::calc::quantity::{StampedPressure, StampedTorque};
use crate::calc::tighten;
use crate::record::instrument::{Cycles, Instrument, InstrumentKind};
use crate::record::kit::{self, Lot, Share};
use crate::record::plant::Plant;
use crate::record::pressure_test::{Basis, Relied, asked};
use crate::store;
use crate::store::window_plan::{Candidate, KitWanted};
use crate::store::windows::Window;

/// One kit, needed against there.
pub struct KitLine {
    /// What is asked of it.
    pub wanted: KitWanted,
    /// The kits promised to the chosen gauges, none of them promised to anybody before.
    pub share: Share,
    /// Kits that may be used on the first day of the window.
    pub usable: i64,
    /// Kits missing.
    pub short: i64,
}

/// A torque or a pressure, how many gauges ask for it, and what serves it.
pub struct Served {
    /// What is asked for.
    pub what: String,
    /// How many chosen gauges.
    pub gauges: i64,
    /// The instruments that may be used through the last day, by number.
    pub by: Vec<String>,
}

/// A torque wrench that is to be calibrated again before the chosen gauges are done with it.
pub struct RunsOut {
    /// Its number.
    pub number: String,
    /// Chosen gauges it fits.
    pub gauges: i64,
    /// Loadings they take: every nut in every pass of every section.
    pub takes: i64,
    /// Loadings left before it is calibrated again.
    pub left: i64,
    /// Other wrenches that may take some of them.
    pub others: Vec<String>,
}

/// Everything the chosen gauges ask for.
#[derive(Default)]
pub struct Need {
    /// Kits.
    pub kits: Vec<KitLine>,
    /// Chosen gauges that name no kit.
    pub without_kit: usize,
    /// Torques.
    pub torques: Vec<Served>,
    /// Wrenches whose loadings do not last.
    pub run_out: Vec<RunsOut>,
    /// Chosen gauges whose torque nobody read from the nameplate yet.
    pub torque_unread: i64,
    /// Chosen gauges whose nameplate does not tell the torque.
    pub torque_unreadable: i64,
    /// Test pressures.
    pub pressures: Vec<Served>,
    /// Chosen gauges without a rating.
    pub without_rating: i64,
    /// What every face is measured for.
    pub measures: Vec<Served>,
}

impl Need {
    /// Whether a kit is short.
    pub fn short(&self) -> bool {
        self.kits.iter().any(|line| line.short > 0)
    }
}

/// Gathers it.
///
/// # Errors
/// The store's failure.
pub async fn needed(
    db: &mut SqliteConnection,
    (plant, today): (&Plant, Date),
    window: &Window,
    chosen: &[Candidate],
) -> store::Result<Need> {
    if chosen.is_empty() {
        return Ok(Need::default());
    }
    let wrenches = wrenches(db, window.ends_on).await?;
    let torques = torques(&wrenches, window.ends_on, chosen);
    let without = |unreadable: bool| {
        let all = chosen.iter().filter(|one| one.torque.is_none());
        let all = all.filter(|one| one.torque_unreadable == unreadable);
        i64::try_from(all.count()).unwrap_or(i64::MAX)
    };
    let (pressures, without_rating) = pressures(db, plant, window).await?;
    Ok(Need {
        kits: kits(db, window, today).await?,
        without_kit: chosen.iter().filter(|one| one.kit.is_none()).count(),
        torques,
        run_out: run_out(&wrenches, (window.ends_on, plant.tightening_step), chosen),
        torque_unread: without(false),
        torque_unreadable: without(true),
        pressures,
        without_rating,
        measures: measures(db, window.ends_on, chosen.len()).await?,
    })
}

async fn kits(
    db: &mut SqliteConnection,
    window: &Window,
    today: Date,
) -> store::Result<Vec<KitLine>> {
    let days = (window.starts_on, window.ends_on);
    let wanted = store::window_plan::kits_wanted(db, window.id, days).await?;
    let ids: Vec<_> = wanted.iter().map(|one| one.kit_id).collect();
    let shelf = store::stock::shelf_of(db, &ids).await?;
    let first = (window.id, window.starts_on);
    let earlier = store::window_plan::taken_before(db, first, &ids, today).await?;
    Ok(wanted
        .into_iter()
        .map(|wanted| {
            let lots: Vec<Lot> = shelf
                .iter()
                .filter(|lot| lot.kit_id == wanted.kit_id)
                .cloned()
                .collect();
            let usable = lots
                .iter()
                .filter(|lot| lot.usable_on(window.starts_on))
                .map(|lot| lot.on_hand)
                .sum::<i64>();
            let short = (wanted.wanted + wanted.others - usable - wanted.coming).max(0);
            let mut wants: Vec<Wanted> = earlier
                .iter()
                .filter(|one| one.kit_id == wanted.kit_id)
                .map(|one| want(one.on, one.kits))
                .collect();
            wants.push(want(window.starts_on.max(today), wanted.wanted));
            // A day beyond the calendar promises nothing.
            let shares = kit::shared(&lots, &wants).unwrap_or_default();
            KitLine {
                share: shares.into_iter().next_back().unwrap_or_default(),
                wanted,
                usable,
                short,
            }
        })
        .collect())
}

fn want(on: Date, kits: i64) -> Wanted {
    Wanted {
        on,
        quantity: u32::try_from(kits).unwrap_or(0),
    }
}

/// The torque wrenches that may go on, each with the loadings it has left.
async fn wrenches(
    db: &mut SqliteConnection,
    day: Date,
) -> store::Result<Vec<(Instrument, Cycles)>> {
    let all = store::instruments::of_kind(&mut *db, InstrumentKind::TorqueWrench).await?;
    let ids: Vec<_> = all.iter().map(|one| one.id).collect();
    let made = store::instruments::loadings(db, &ids).await?;
    Ok(all
        .into_iter()
        .filter(|one| one.usable_on(day).is_ok())
        .filter_map(|one| {
            let cycles = one.cycles(made.get(&one.id).copied().unwrap_or(0))?;
            Some((one, cycles))
        })
        .collect())
}

/// Loadings a gauge takes from its wrench; none where no passes follow from its torque.
fn loadings(one: &Candidate, step: StampedTorque) -> Option<i64> {
    let plan = tighten::plan(one.torque?, step).ok()?;
    let passes = i64::try_from(plan.passes.len()).ok()?;
    Some(passes * one.nuts * one.sections)
}

/// The wrenches that would not last for all the gauges they fit.
fn run_out(
    wrenches: &[(Instrument, Cycles)],
    (day, step): (Date, StampedTorque),
    chosen: &[Candidate],
) -> Vec<RunsOut> {
    let fits = |wrench: &Instrument, one: &Candidate| {
        let torque = one.torque.filter(|_| loadings(one, step).is_some());
        torque.is_some_and(|torque| wrench.may_tighten(torque, day).is_ok())
    };
    let mut list = Vec::new();
    for (wrench, cycles) in wrenches {
        let served: Vec<&Candidate> = chosen.iter().filter(|one| fits(wrench, one)).collect();
        let takes: i64 = served.iter().filter_map(|one| loadings(one, step)).sum();
        if takes <= cycles.left() {
            continue;
        }
        let others = wrenches
            .iter()
            .filter(|(other, left)| other.id != wrench.id && !left.spent())
            .filter(|(other, _)| served.iter().any(|one| fits(other, one)))
            .map(|(other, _)| other.number.to_string())
            .collect();
        list.push(RunsOut {
            number: wrench.number.to_string(),
            gauges: i64::try_from(served.len()).unwrap_or(i64::MAX),
            takes,
            left: cycles.left(),
            others,
        });
    }
    list
}

fn torques(wrenches: &[(Instrument, Cycles)], day: Date, chosen: &[Candidate]) -> Vec<Served> {
    let may_go_on: Vec<&Instrument> = wrenches
        .iter()
        .filter(|(_, cycles)| !cycles.spent())
        .map(|(wrench, _)| wrench)
        .collect();
    let mut asked: Vec<(StampedTorque, i64)> = Vec::new();
    for torque in chosen.iter().filter_map(|one| one.torque) {
        match asked.iter_mut().find(|(other, _)| *other == torque) {
            Some((_, gauges)) => *gauges += 1,
            None => asked.push((torque, 1)),
        }
    }
    asked
        .into_iter()
        .map(|(torque, gauges)| Served {
            what: torque.to_string(),
            gauges,
            by: numbers(may_go_on.iter().copied(), |one| {
                one.may_tighten(torque, day).is_ok()
            }),
        })
        .collect()
}

async fn pressures(
    db: &mut SqliteConnection,
    plant: &Plant,
    window: &Window,
) -> store::Result<(Vec<Served>, i64)> {
    let gauges = store::instruments::of_kind(&mut *db, InstrumentKind::PressureGauge).await?;
    let mut found: Vec<(StampedPressure, i64)> = Vec::new();
    let mut without = 0;
    for (id, count) in store::window_plan::by_rating(&mut *db, window.id).await? {
        let Some(gauge) = store::gauges::by_id(&mut *db, id).await? else {
            continue;
        };
        let plan = store::test_plans::plan(&mut *db, plant, &gauge).await?;
        match asked(&plan, &gauge.particulars, &Basis::default()) {
            Ok(asked) => match found.iter_mut().find(|(other, _)| *other == asked.required) {
                Some((_, gauges)) => *gauges += count,
                None => found.push((asked.required, count)),
            },
            Err(_) => without += count,
        }
    }
    let served = found
        .into_iter()
        .map(|(required, count)| Served {
            what: required.to_string(),
            gauges: count,
            by: numbers(&gauges, |one| {
                Relied::on(one, window.ends_on, required).is_ok()
            }),
        })
        .collect();
    Ok((served, without))
}

/// Every face is measured for flatness, and the wall behind it where it was skimmed or wears.
async fn measures(
    db: &mut SqliteConnection,
    day: Date,
    gauges: usize,
) -> store::Result<Vec<Served>> {
    let flat = [InstrumentKind::HEIGHTS, InstrumentKind::GAP].concat();
    let mut list = Vec::new();
    for (what, kinds) in [
        ("flatness of the faces", flat.as_slice()),
        ("wall between bore and recess", InstrumentKind::WALL),
    ] {
        let known = store::instruments::of_kinds(&mut *db, kinds).await?;
        list.push(Served {
            what: what.to_owned(),
            gauges: i64::try_from(gauges).unwrap_or(i64::MAX),
            by: numbers(&known, |one| one.usable_on(day).is_ok()),
        });
    }
    Ok(list)
}

fn numbers<'a>(
    all: impl IntoIterator<Item = &'a Instrument>,
    fits: impl Fn(&Instrument) -> bool,
) -> Vec<String> {
    all.into_iter()
        .filter(|one| fits(one))
        .map(|one| one.number.to_string())
        .collect()
}
