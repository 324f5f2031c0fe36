//! What the gauges chosen into a window ask for, against what is there: kits on its first day,
//! torque wrenches, pressure gauges and what measures faces in calibration through its last.

use std::collections::BTreeMap;

use sqlx::SqliteConnection;
use time::Date;

use super::wrenches::{RunsOut, Wrenches};
use crate::calc::lots::Wanted;
use crate::calc::quantity::StampedPressure;
use crate::record::instrument::{Instrument, InstrumentKind};
use crate::record::kit::{self, Lot, Share};
use crate::record::plant::Plant;
use crate::record::pressure_test::{Basis, Relied, asked};
use crate::record::{GaugeId, TagNumber};
use crate::store;
use crate::store::window_plan::{Candidate, KitWanted};
use crate::store::windows::Window;

/// Instruments, or gauges, named for one thing; a large plant has dozens.
pub const NAMED: usize = 6;

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
    /// The instruments that may be used through the last day, by number, the first few.
    pub by: Vec<String>,
    /// How many more there are.
    pub more: usize,
}

impl Served {
    /// What is asked for, with the first of those that may be used.
    pub fn by(what: String, gauges: i64, numbers: impl Iterator<Item = String>) -> Self {
        let mut by: Vec<String> = numbers.collect();
        let more = by.len().saturating_sub(NAMED);
        by.truncate(NAMED);
        Self {
            what,
            gauges,
            by,
            more,
        }
    }
}

/// Chosen gauges of which one thing is not known.
#[derive(Default)]
pub struct Lacking {
    /// The first few, by tag number.
    pub named: Vec<TagNumber>,
    /// How many more there are.
    pub more: usize,
}

impl Lacking {
    /// Those of the chosen gauges of which it holds.
    fn of(chosen: &[Candidate], lacks: impl Fn(&Candidate) -> bool) -> Self {
        let all = chosen.iter().filter(|one| lacks(one));
        let mut named: Vec<TagNumber> = all.map(|one| one.tag.clone()).collect();
        let more = named.len().saturating_sub(NAMED);
        named.truncate(NAMED);
        Self { named, more }
    }

    /// How many they are.
    pub fn count(&self) -> i64 {
        i64::try_from(self.named.len() + self.more).unwrap_or(i64::MAX)
    }
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
    /// Wrenches whose loadings do not last, the first few.
    pub run_out: Vec<RunsOut>,
    /// How many more there are of these.
    pub more_run_out: usize,
    /// Whether there are more wrenches than were looked at.
    pub more_wrenches: bool,
    /// Chosen gauges whose torque nobody read from the nameplate yet.
    pub torque_unread: Lacking,
    /// Chosen gauges whose nameplate does not tell the torque.
    pub torque_unreadable: Lacking,
    /// Test pressures.
    pub pressures: Vec<Served>,
    /// Chosen gauges without a rating.
    pub without_rating: Lacking,
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
    let wrenches = Wrenches::of(db, (window.ends_on, plant.tightening_step), chosen).await?;
    let (run_out, more_run_out) = wrenches.run_out();
    let without = |unreadable: bool| {
        Lacking::of(chosen, |one| {
            one.torque.is_none() && one.torque_unreadable == unreadable
        })
    };
    let (pressures, without_rating) = pressures(db, plant, window).await?;
    Ok(Need {
        kits: kits(db, window, today).await?,
        without_kit: chosen.iter().filter(|one| one.kit.is_none()).count(),
        torques: wrenches.torques(),
        run_out,
        more_run_out,
        more_wrenches: wrenches.more,
        torque_unread: without(false),
        torque_unreadable: without(true),
        pressures,
        without_rating: Lacking::of(chosen, |one| without_rating.contains(&one.gauge_id)),
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

async fn pressures(
    db: &mut SqliteConnection,
    plant: &Plant,
    window: &Window,
) -> store::Result<(Vec<Served>, Vec<GaugeId>)> {
    let gauges = store::instruments::of_kind(&mut *db, InstrumentKind::PressureGauge).await?;
    let mut found: Vec<(StampedPressure, i64)> = Vec::new();
    let mut without = Vec::new();
    let alike: BTreeMap<GaugeId, Vec<GaugeId>> = store::window_plan::by_rating(&mut *db, window.id)
        .await?
        .into_iter()
        .collect();
    let ids: Vec<GaugeId> = alike.keys().copied().collect();
    let stand = store::gauges::by_ids(&mut *db, &ids).await?;
    let tests = store::test_plans::plans(&mut *db, plant, &stand).await?;
    for (gauge, plan) in stand.iter().zip(tests) {
        let Some(all) = alike.get(&gauge.id) else {
            continue;
        };
        let count = i64::try_from(all.len()).unwrap_or(i64::MAX);
        match asked(&plan, &gauge.particulars, &Basis::default()) {
            Ok(asked) => match found.iter_mut().find(|(other, _)| *other == asked.required) {
                Some((_, gauges)) => *gauges += count,
                None => found.push((asked.required, count)),
            },
            Err(_) => without.extend(all.iter().copied()),
        }
    }
    let served = found
        .into_iter()
        .map(|(required, count)| {
            let fits = |one: &Instrument| Relied::on(one, window.ends_on, required).is_ok();
            Served::by(required.to_string(), count, numbers(&gauges, fits))
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
        let gauges = i64::try_from(gauges).unwrap_or(i64::MAX);
        let usable = |one: &Instrument| one.usable_on(day).is_ok();
        list.push(Served::by(what.to_owned(), gauges, numbers(&known, usable)));
    }
    Ok(list)
}

fn numbers(all: &[Instrument], fits: impl Fn(&Instrument) -> bool) -> impl Iterator<Item = String> {
    all.iter()
        .filter(move |one| fits(one))
        .map(|one| one.number.to_string())
}
