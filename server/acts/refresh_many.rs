//! The due dates of many gauges, as of whole service classes, areas and lists: refreshed in batches
//! after an interval or a window changed, and weighed before an interval is saved. One gauge at a time is `refresh_due`.

use std::collections::BTreeSet;

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::refresh_due::{beyond, decided, rebuild_day};
use crate::calc::due::{self, Facts};
use crate::record::gauge::Standing;
use crate::record::{AreaId, GaugeId, ServiceClassId};
use crate::store::{self, due::Known};

/// Gauges taken at once.
const BATCH: usize = 2000;

/// Refreshes every gauge in service of a service class, after its intervals changed. The cost grows
/// with the class; it is paid when the interval is saved and by nobody else.
///
/// # Errors
/// As for one gauge.
pub async fn of_class(db: &mut SqliteConnection, class: ServiceClassId) -> Result<()> {
    let mut after = GaugeId(0);
    loop {
        let batch = store::due::facts_of_class(db, class, after, limit()).await?;
        let Some(last) = refreshed(db, &batch).await? else {
            return Ok(());
        };
        after = last;
    }
}

/// Refreshes every gauge of an area that waits for a shutdown, after its windows changed.
///
/// # Errors
/// As for one gauge.
pub async fn of_area(db: &mut SqliteConnection, area: AreaId) -> Result<()> {
    let mut after = GaugeId(0);
    loop {
        let batch = store::due::facts_bound_to(db, area, after, limit()).await?;
        let Some(last) = refreshed(db, &batch).await? else {
            return Ok(());
        };
        after = last;
    }
}

fn limit() -> i64 {
    i64::try_from(BATCH).unwrap_or(i64::MAX)
}

/// Refreshes some gauges, as after a plant's list came in.
///
/// # Errors
/// As for one gauge.
pub async fn of_gauges(db: &mut SqliteConnection, gauges: &[GaugeId]) -> Result<()> {
    for some in gauges.chunks(BATCH) {
        let batch = store::due::facts_of(db, some).await?;
        write(db, &batch).await?;
    }
    Ok(())
}

/// Writes what a batch gives; answers the last gauge if there may be more.
async fn refreshed(db: &mut SqliteConnection, batch: &[Known]) -> Result<Option<GaugeId>> {
    write(db, batch).await?;
    Ok(batch
        .last()
        .filter(|_| batch.len() == BATCH)
        .map(|known| known.gauge_id))
}

/// Writes both projections of a batch, in a few statements however many gauges it holds.
async fn write(db: &mut SqliteConnection, batch: &[Known]) -> Result<()> {
    let mut rows = Vec::with_capacity(batch.len());
    for known in batch.iter().filter(|k| k.standing == Standing::InService) {
        rows.extend(decided(known)?);
    }
    let days = rebuild_days(batch)?;
    let needs = store::stock::needs_on(db, &days).await?;
    let all: BTreeSet<GaugeId> = batch.iter().map(|known| known.gauge_id).collect();
    let due: BTreeSet<GaugeId> = rows.iter().map(|row| row.gauge_id).collect();
    let wanting: BTreeSet<GaugeId> = needs.iter().map(|need| need.gauge_id).collect();
    let without =
        |some: &BTreeSet<GaugeId>| -> Vec<GaugeId> { all.difference(some).copied().collect() };
    store::due::put_all(db, &rows).await?;
    store::due::remove_all(db, &without(&due)).await?;
    store::stock::put_needs(db, &needs).await?;
    store::stock::remove_needs(db, &without(&wanting)).await?;
    Ok(())
}

/// The latest day of each gauge's next rebuild.
pub(super) fn rebuild_days(batch: &[Known]) -> Result<Vec<(GaugeId, Option<Date>)>> {
    batch
        .iter()
        .map(|known| Ok((known.gauge_id, rebuild_day(known)?)))
        .collect()
}

/// The rules the projections are made with; counted up when they change.
const RULES: i64 = 7;

/// Makes the projections of every gauge anew where an earlier version of the program made them by
/// other rules, or did not make them at all. Nothing of the record changes.
///
/// # Errors
/// The store's failure.
pub async fn bring_up_to_date(store: &store::Store, today: Date) -> Result<()> {
    let mut tx = store.write().await?;
    if store::needs::projected_by(&mut tx).await? != RULES {
        let mut after = GaugeId(0);
        loop {
            let some = store::gauges::rows_after(&mut tx, after, limit()).await?;
            of_gauges(&mut tx, &some).await?;
            match some.last() {
                Some(last) if some.len() == BATCH => after = *last,
                _ => break,
            }
        }
        store::needs::projected(&mut tx, RULES).await?;
    }
    super::needs::refresh(&mut tx, today).await?;
    tx.commit().await.map_err(store::Error::from)?;
    Ok(())
}

/// What changing a service class's intervals, or the age of a kit's gaskets, does to due dates.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Effect {
    /// Gauges in service it concerns.
    pub gauges: i64,
    /// Those whose latest date comes sooner.
    pub sooner: i64,
    /// Those whose latest date comes later.
    pub later: i64,
    /// Those that had no due date and get one.
    pub gain: i64,
    /// Those that lose their due date.
    pub lose: i64,
    /// Those in time today that would be past due today.
    pub newly_past: i64,
}

impl Effect {
    /// Counts one gauge in.
    pub(super) fn weigh(&mut self, was: Option<Date>, will: Option<Date>, today: Date) {
        self.gauges += 1;
        match (was, will) {
            (Some(was), Some(will)) if will < was => self.sooner += 1,
            (Some(was), Some(will)) if will > was => self.later += 1,
            (None, Some(_)) => self.gain += 1,
            (Some(_), None) => self.lose += 1,
            _ => {}
        }
        if will.is_some_and(|d| d < today) && was.is_none_or(|d| d >= today) {
            self.newly_past += 1;
        }
    }

    /// How many due dates move at all.
    pub const fn moves(self) -> i64 {
        self.sooner + self.later + self.gain + self.lose
    }
}

/// The latest date a gauge's facts give.
pub(super) fn latest(facts: &Facts) -> Result<Option<Date>> {
    Ok(due::governing_only(facts).map_err(beyond)?.latest_date)
}

/// Computes, without writing anything, what other intervals would do to a service class.
///
/// # Errors
/// The store's failure, or a date outside the calendar's range.
pub async fn effect_of_intervals(
    db: &mut SqliteConnection,
    class: ServiceClassId,
    (rebuild_months, look_over_months): (Option<u32>, Option<u32>),
    today: Date,
) -> Result<Effect> {
    let mut effect = Effect::default();
    let mut after = GaugeId(0);
    loop {
        let batch = store::due::facts_of_class(db, class, after, limit()).await?;
        for known in &batch {
            let changed = Facts {
                rebuild_months,
                look_over_months,
                ..known.facts.clone()
            };
            effect.weigh(latest(&known.facts)?, latest(&changed)?, today);
        }
        match batch.last() {
            Some(last) if batch.len() == BATCH => after = last.gauge_id,
            _ => return Ok(effect),
        }
    }
}
