//! The due dates of whole service classes and areas: refreshed in batches after an interval or a
//! window changed, and weighed before an interval is saved. One gauge at a time is `refresh_due`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::refresh_due::{beyond, decided, needed};
use crate::calc::due::{self, Facts};
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

/// Writes what a batch gives; answers the last gauge if there may be more.
async fn refreshed(db: &mut SqliteConnection, batch: &[Known]) -> Result<Option<GaugeId>> {
    let mut rows = Vec::with_capacity(batch.len());
    for known in batch {
        match decided(known)? {
            Some(row) => rows.push(row),
            None => store::due::remove(db, known.gauge_id).await?,
        }
        match needed(db, known).await? {
            Some(need) => store::stock::put_need(db, &need).await?,
            None => store::stock::remove_need(db, known.gauge_id).await?,
        }
    }
    store::due::put_all(db, &rows).await?;
    Ok(batch
        .last()
        .filter(|_| batch.len() == BATCH)
        .map(|known| known.gauge_id))
}

/// What changing a service class's intervals does to the due dates of its gauges.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Effect {
    /// Gauges in service of the class.
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
    /// How many due dates move at all.
    pub const fn moves(self) -> i64 {
        self.sooner + self.later + self.gain + self.lose
    }
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
            let latest = |facts: &Facts| -> Result<Option<Date>> {
                Ok(due::governing_only(facts).map_err(beyond)?.latest_date)
            };
            let (was, will) = (latest(&known.facts)?, latest(&changed)?);
            effect.gauges += 1;
            match (was, will) {
                (Some(was), Some(will)) if will < was => effect.sooner += 1,
                (Some(was), Some(will)) if will > was => effect.later += 1,
                (None, Some(_)) => effect.gain += 1,
                (Some(_), None) => effect.lose += 1,
                _ => {}
            }
            if will.is_some_and(|d| d < today) && was.is_none_or(|d| d >= today) {
                effect.newly_past += 1;
            }
        }
        match batch.last() {
            Some(last) if batch.len() == BATCH => after = last.gauge_id,
            _ => return Ok(effect),
        }
    }
}
