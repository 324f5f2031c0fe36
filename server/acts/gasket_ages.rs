//! The deed that states how old the gaskets of a kit may become in service, and what it would move
//! before it is saved. The gauges it concerns are refreshed in the same transaction.

use std::collections::BTreeMap;

use serde_json::json;
use sqlx::SqliteConnection;
use time::Date;

use super::refresh_many::{self, Effect, latest};
use super::{Deed, Error, Result, kits};
use crate::record::gauge::Standing;
use crate::record::kit::{GasketAge, Kit};
use crate::record::{GaugeId, KitId, Refusal};
use crate::store::{self, Store};

/// Gauges read at once.
const BATCH: usize = 2000;

/// States it, from the version that was read.
///
/// # Errors
/// Refuses months out of range, a missing ground, and a change made meanwhile by somebody else.
pub async fn state(deed: &mut Deed, kit: &Kit, age: &GasketAge) -> Result<()> {
    let subject = kits::subject(&kit.number);
    let before = store::gasket_ages::of_kit(deed.db(), kit.id).await?;
    if !put(deed.db(), kit.id, age).await? {
        let by = store::audit::last_hand(deed.db(), &subject).await?;
        return Err(Refusal::Changed {
            what: format!("Kit {}", kit.number),
            by,
        }
        .into());
    }
    let facts = json!({
        "months in service": [before.and_then(|age| age.months), age.months], "ground": age.ground,
    });
    deed.record(
        "stated the gasket age of",
        &subject,
        None,
        facts,
        &[("gasket_age", kit.id.0)],
    )
    .await?;
    let concerned = store::gasket_ages::concerned(deed.db(), kit.id).await?;
    refresh_many::of_gauges(deed.db(), &concerned).await
}

async fn put(db: &mut SqliteConnection, kit: KitId, age: &GasketAge) -> Result<bool> {
    let length = age.ground.trim().chars().count();
    if !(3..=500).contains(&length) {
        return Err(
            Refusal::field("ground", "Say in 3 to 500 characters what it stands on").into(),
        );
    }
    Ok(store::gasket_ages::put(db, kit, age).await?)
}

/// What stating it would move: done, looked at, and undone, so that what is shown is what saving
/// does. Nothing is kept.
///
/// # Errors
/// As for stating it; a change made meanwhile is left to the saving.
pub async fn effect(store: &Store, kit: &Kit, age: &GasketAge, today: Date) -> Result<Effect> {
    let mut tx = store.write().await?;
    let concerned = store::gasket_ages::concerned(&mut tx, kit.id).await?;
    let was = latest_days(&mut tx, &concerned).await?;
    if !put(&mut tx, kit.id, age).await? {
        return Err(Error::from(Refusal::Changed {
            what: format!("Kit {}", kit.number),
            by: String::new(),
        }));
    }
    let will = latest_days(&mut tx, &concerned).await?;
    tx.rollback().await.map_err(store::Error::from)?;
    let mut effect = Effect::default();
    for (gauge, day) in will {
        effect.weigh(was.get(&gauge).copied().flatten(), day, today);
    }
    Ok(effect)
}

async fn latest_days(
    db: &mut SqliteConnection,
    gauges: &[GaugeId],
) -> Result<BTreeMap<GaugeId, Option<Date>>> {
    let mut days = BTreeMap::new();
    for some in gauges.chunks(BATCH) {
        for known in store::due::facts_of(db, some).await? {
            if known.standing == Standing::InService {
                days.insert(known.gauge_id, latest(&known.facts)?);
            }
        }
    }
    Ok(days)
}
