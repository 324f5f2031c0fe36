//! How long gauges last: lives cut from the register, the years ahead at intervals tried, and stating
//! what a rebuild and a failure cost. The rule is in `record::life`, the statistics in `calc`.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde_json::json;
use sqlx::SqliteConnection;
use time::Date;

use super::refresh_due::beyond;
use super::{Deed, Result};
use crate::calc::OutOfRange;
use crate::calc::life::Life;
use crate::calc::outlook::{Access, Bench, Chance, Fleet, Member, Outlook, Service, outlook};
use crate::calc::rebuild_age::Costs;
use crate::record::gauge::Isolation;
use crate::record::life::{ClassCost, Early, Lives, OneFailure, OneGauge, OneRebuild};
use crate::record::moment::Zone;
use crate::record::plant::ServiceClass;
use crate::record::{AreaId, CostId, Refusal};
use crate::store;
use crate::store::life::{Filter, StatedCost};

/// Gauges looked at in one question: what bounds the cost of a page, however large the fleet.
pub const MOST_GAUGES: usize = 20_000;
/// Years of an outlook.
pub const YEARS: u32 = 10;
/// Events all runs of one interval may have: some tenths of a second.
const EVENTS: f64 = 4e6;
/// Months of 30.4375 days.
pub const MONTH: f64 = 30.4375;

/// The gauges of a question with their lives.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The gauges.
    pub gauges: Vec<OneGauge>,
    /// Their lives.
    pub lives: Lives,
    /// Whether the filter fits more gauges than were looked at.
    pub cut: bool,
}

/// Cuts the lives of the gauges within a filter from the register's history.
///
/// # Errors
/// The store's failure.
pub async fn ask(
    db: &mut SqliteConnection,
    filter: &Filter,
    zone: &Zone,
    (today, early): (Date, Early),
) -> Result<Asked> {
    let most = i64::try_from(MOST_GAUGES + 1).unwrap_or(i64::MAX);
    let mut gauges = store::life::gauges(db, filter, zone, most).await?;
    let cut = gauges.len() > MOST_GAUGES;
    gauges.truncate(MOST_GAUGES);
    let ids: Vec<_> = gauges.iter().map(|gauge| gauge.id).collect();
    let rebuilds = store::life::rebuilds(db, &ids, zone).await?;
    let failures = store::life::failures(db, &ids).await?;
    let (mut rebuilds, mut failures) = (&rebuilds[..], &failures[..]);
    let mut lives = Lives::default();
    for gauge in &gauges {
        let own: &[OneRebuild] = taken(&mut rebuilds, |one| (one.gauge, gauge.id));
        let failed: &[OneFailure] = taken(&mut failures, |one| (one.gauge, gauge.id));
        lives.add(gauge, own, failed, (today, early));
    }
    Ok(Asked { gauges, lives, cut })
}

/// Takes what belongs to one gauge off the front of rows that stand in the order of the gauges.
fn taken<'a, T, K: PartialEq>(rows: &mut &'a [T], belongs: impl Fn(&T) -> (K, K)) -> &'a [T] {
    let count = rows
        .iter()
        .take_while(|row| {
            let (own, gauge) = belongs(row);
            own == gauge
        })
        .count();
    let (own, rest) = rows.split_at(count);
    *rows = rest;
    own
}

/// States what a planned rebuild and a failure cost a service class; earlier statements stay.
///
/// # Errors
/// Refuses costs that are not above zero, a missing ground, and a statement made meanwhile.
pub async fn state_costs(
    deed: &mut Deed,
    class: &ServiceClass,
    cost: &ClassCost,
    seen: Option<CostId>,
) -> Result<()> {
    let most = Decimal::from(1_000_000_000);
    for (field, value) in [("planned", cost.planned), ("failure", cost.failure)] {
        if value <= Decimal::ZERO || value > most {
            let words = "Write an amount above 0, at most 1 000 000 000";
            return Err(Refusal::field(field, words).into());
        }
    }
    if cost
        .bench_hours
        .is_some_and(|hours| hours <= Decimal::ZERO || hours > Decimal::from(1000))
    {
        return Err(Refusal::field("bench_hours", "Write hours above 0, at most 1000").into());
    }
    if !(3..=500).contains(&cost.ground.trim().chars().count()) {
        return Err(Refusal::field(
            "ground",
            "Say in 3 to 500 characters where the costs come from",
        )
        .into());
    }
    let last = store::life::costs(deed.db(), class.id, 1).await?;
    let last = last.into_iter().next();
    if last.as_ref().map(|last| last.id) != seen {
        return Err(Refusal::Changed {
            what: format!("What {} costs", class.name),
            by: last.map_or_else(String::new, |last| last.person),
        }
        .into());
    }
    let (person, now) = (deed.person()?, deed.now());
    let id = store::life::add_cost(deed.db(), class.id, cost, person, now).await?;
    let facts = json!({
        "planned rebuild": cost.planned.to_string(), "failure": cost.failure.to_string(),
        "bench hours": cost.bench_hours.map(|hours| hours.to_string()), "ground": cost.ground,
    });
    deed.record(
        "stated",
        &format!("costs of {}", class.name),
        None,
        facts,
        &[("class_cost", id.0)],
    )
    .await
}

/// The stated costs as computations take them.
pub fn costs(stated: &StatedCost) -> Costs {
    Costs {
        planned: stated.cost.planned.to_f64().unwrap_or(0.0),
        failure: stated.cost.failure.to_f64().unwrap_or(0.0),
    }
}

/// What the years ahead are played with.
#[derive(Debug, Clone, Copy)]
pub struct Terms {
    /// Rebuilds the bench can do a month outside shutdown windows; none for as many as fall due.
    pub bench: Option<u32>,
    /// Months from one shutdown window to the next; none where nobody says.
    pub windows: Option<u32>,
    /// Where the random numbers begin.
    pub seed: u64,
}

/// The fleet of a class as it stands today, ready to be played at several intervals.
#[derive(Debug, Clone)]
pub struct Ground {
    members: Vec<Member>,
    /// Gauges that can only be done in a shutdown window.
    pub bound: usize,
    /// Gauges whose present life has no known beginning; they are taken as new.
    pub without_age: usize,
    /// The first day of the next shutdown window of their areas.
    pub next_window: Option<Date>,
    today: Date,
}

/// Reads the gauges in service of a class.
///
/// # Errors
/// The store's failure.
pub async fn ground(
    db: &mut SqliteConnection,
    class: &ServiceClass,
    today: Date,
) -> Result<Ground> {
    let most = i64::try_from(MOST_GAUGES).unwrap_or(i64::MAX);
    let rows = store::life::members(db, class.id, most).await?;
    let mut areas: Vec<AreaId> = rows
        .iter()
        .filter(|row| row.isolation == Isolation::ShutdownOnly)
        .map(|row| row.area)
        .collect();
    let bound = areas.len();
    areas.sort_unstable();
    areas.dedup();
    let members = rows
        .iter()
        .map(|row| Member {
            service: 0,
            age: row
                .began_on
                .and_then(|began| (today - began).whole_days().to_f64())
                .map_or(0.0, |days| (days / MONTH).clamp(0.0, 1200.0)),
            kits: u32::try_from(row.kits).unwrap_or(0),
            access: match row.isolation {
                Isolation::InService => Access::AnyTime,
                Isolation::ShutdownOnly => Access::OnlyInWindows,
            },
        })
        .collect();
    Ok(Ground {
        members,
        bound,
        without_age: rows.iter().filter(|row| row.began_on.is_none()).count(),
        next_window: store::life::next_window(db, &areas, today).await?,
        today,
    })
}

impl Ground {
    /// How many gauges there are.
    pub const fn gauges(&self) -> usize {
        self.members.len()
    }

    /// What the years ahead ask for at one interval; the runs are as many as a moment's work allows.
    ///
    /// # Errors
    /// A number outside what can be computed with.
    pub fn at(
        &self,
        life: Life,
        costs: Costs,
        months: u32,
        terms: Terms,
    ) -> std::result::Result<(Outlook, u32), OutOfRange> {
        let every = f64::from(months);
        let horizon = 12.0 * f64::from(YEARS);
        let windows = terms.windows.map_or_else(Vec::new, |apart| {
            let first = self.next_window.map_or(f64::from(apart), |on| {
                (on - self.today).whole_days().to_f64().unwrap_or(0.0) / MONTH
            });
            let mut at = first.max(0.0);
            let mut all = Vec::new();
            // Two more than the horizon needs, so that its end sees a window ahead.
            while at < horizon + 2.0 * f64::from(apart) {
                all.push(at);
                at += f64::from(apart);
            }
            all
        });
        let mut members = self.members.clone();
        if terms.windows.is_none() {
            for member in &mut members {
                member.access = Access::AnyTime;
            }
        }
        // One event at the start and one a cycle, which the shorter of interval and mean life ends.
        let cycle = every.min(life.in_unit(crate::calc::life::AgeUnit::Months).mean());
        let events = members.len().to_f64().unwrap_or(1.0) * (1.0 + horizon / cycle);
        let runs = (EVENTS / events).clamp(30.0, 1000.0).to_u32().unwrap_or(30);
        let fleet = Fleet {
            services: vec![Service { life, every, costs }],
            members,
            windows,
            bench: terms.bench.map_or(Bench::AsMany, Bench::PerMonth),
        };
        let chance = Chance {
            runs,
            seed: terms.seed,
        };
        Ok((outlook(&fleet, YEARS, chance)?, runs))
    }
}

/// The refusal of a number outside what can be computed with, in words.
pub fn refusal(error: OutOfRange) -> Refusal {
    match beyond(error) {
        super::Error::Refused(refusal) => refusal,
        _ => Refusal::not_now("This cannot be computed"),
    }
}
