//! Giving a rebuild that is planned and not begun another day: one by itself, and those of a shutdown window
//! when it is moved. Due dates, kits and reservations follow in the same transaction.

use serde_json::json;
use sqlx::SqliteConnection;
use time::Date;

use super::rebuilds::{self, Seen};
use super::window_plan::MOST;
use super::{Deed, Result};
use crate::calc::calendar::said;
use crate::record::rebuild::RebuildState;
use crate::record::{GaugeId, Refusal, TagNumber};
use crate::store;
use crate::store::window_plan::Candidate;
use crate::store::windows::Window;

/// Another day and why.
#[derive(Debug, Clone)]
pub struct AnotherDay {
    /// The day.
    pub to: Date,
    /// Why.
    pub reason: String,
    /// Whether the vessel stands on that day although no shutdown window says so.
    pub stands_anyway: bool,
}

/// Gives a rebuild another day. One that was ready is made ready again: kits and instruments were looked at
/// for the day it had.
///
/// # Errors
/// Refuses one that is begun, a day that is past, the day it has, a day without a reason, and a day outside
/// every shutdown window for a gauge that cannot be isolated in service; and when somebody changed it meanwhile.
pub async fn give(deed: &mut Deed, gauge: GaugeId, seen: Seen, another: &AnotherDay) -> Result<()> {
    let (rebuild, gauge, _) = match rebuilds::opened(deed, seen).await? {
        found if found.1.id == gauge => found,
        _ => return Err(Refusal::Missing("rebuild of this gauge").into()),
    };
    if rebuild.state.under_way() {
        return Err(Refusal::not_now(format!(
            "This rebuild is {}; only one that is not begun is given another day",
            rebuild.state
        ))
        .into());
    }
    if another.to < deed.today() {
        return Err(Refusal::field("planned_for", "This day is past").into());
    }
    if another.to == rebuild.planned_for {
        let words = format!("It is planned for {} already", said(another.to));
        return Err(Refusal::field("planned_for", words).into());
    }
    let reason = another.reason.trim();
    if reason.is_empty() || reason.chars().count() > 400 {
        let words = "Say why it is given another day, in at most 400 characters";
        return Err(Refusal::field("reason", words).into());
    }
    let outside = store::windows::is_outside(deed.db(), &gauge, another.to).await?;
    if outside && !another.stands_anyway {
        return Err(Refusal::field("planned_for", rebuilds::NO_WINDOW).into());
    }
    let (person, now) = (deed.person()?, deed.now());
    let given = (another.to, reason);
    let Some(row) = store::rebuild_days::give(deed.db(), &rebuild, given, person, now).await?
    else {
        return Err(rebuilds::changed(deed, &gauge, &rebuild).await);
    };
    let facts = json!({
        "from": rebuild.planned_for.to_string(), "to": another.to.to_string(), "reason": reason,
        "outside every window": outside,
    });
    deed.record(
        "gave another day",
        &rebuilds::subject(&gauge, &rebuild),
        Some(gauge.id),
        facts,
        &[("rebuild_day", row), ("rebuild", rebuild.id.0)],
    )
    .await?;
    if rebuild.state == RebuildState::Ready {
        let seen = Seen {
            id: rebuild.id,
            version: rebuild.version + 1,
        };
        rebuilds::unready(deed, seen).await?;
    }
    deed.touch(gauge.id);
    Ok(())
}

/// What moving a window's days does to the rebuilds planned into it.
#[derive(Debug, Clone, Default)]
pub struct Follow {
    /// Those not begun that may go with it, and the day each then has.
    pub go: Vec<(Candidate, Date)>,
    /// Those under way, which keep their day.
    pub stay: Vec<TagNumber>,
}

/// The gauges whose rebuilds depend on a window's days: those chosen into it, and others that wait for a
/// shutdown and are planned within its days.
///
/// # Errors
/// The store's failure.
pub async fn bound_to(
    db: &mut SqliteConnection,
    window: &Window,
    mut chosen: Vec<Candidate>,
) -> Result<Vec<Candidate>> {
    chosen.extend(store::window_plan::planned_within(db, window, MOST).await?);
    Ok(chosen)
}

/// Which of these rebuilds would go with a window to other days: those planned within the days it
/// has, each as many days behind its first day as before, none behind its last day, none before today.
pub fn following(
    bound: Vec<Candidate>,
    window: &Window,
    (starts, ends): (Date, Date),
    today: Date,
) -> Follow {
    let mut follow = Follow::default();
    for one in bound {
        let Some((state, day)) = one.rebuild else {
            continue;
        };
        let within = (window.starts_on..=window.ends_on).contains(&day);
        if !within || one.out_of_place(window.area_id).is_some() {
            continue;
        }
        let behind = day - window.starts_on;
        let to = starts.saturating_add(behind).min(ends).max(today);
        if state.under_way() {
            if !(starts..=ends).contains(&day) {
                follow.stay.push(one.tag);
            }
        } else if to != day && to <= ends {
            follow.go.push((one, to));
        }
    }
    follow
}

/// Gives the rebuilds planned into a window the days they have after it was moved.
///
/// # Errors
/// As for one rebuild.
pub async fn follow_window(
    deed: &mut Deed,
    before: &Window,
    (starts, ends): (Date, Date),
) -> Result<()> {
    let chosen = store::window_plan::chosen(deed.db(), before.id, MOST).await?;
    let bound = bound_to(deed.db(), before, chosen).await?;
    let follow = following(bound, before, (starts, ends), deed.today());
    let reason = format!(
        "The window {} was moved to {} to {}",
        before.name,
        said(starts),
        said(ends)
    );
    give_all(deed, follow.go, &reason).await
}

/// Gives rebuilds of a window's chosen gauges that were seen, each with its day outside of the window, a day
/// within: its first day, or today where it began.
///
/// # Errors
/// Refuses a window that is over, and one of those seen that has another day or is under way meanwhile; else
/// as for one rebuild.
pub async fn move_into(deed: &mut Deed, window: &Window, seen: &[(GaugeId, Date)]) -> Result<()> {
    if window.ends_on < deed.today() {
        return Err(Refusal::not_now("This window is over").into());
    }
    let to = window.starts_on.max(deed.today());
    let chosen = store::window_plan::chosen(deed.db(), window.id, MOST).await?;
    let outside: Vec<_> = chosen
        .into_iter()
        .filter(|one| one.may_move_into(window))
        .filter(|one| {
            let has = one.rebuild.map(|(_, day)| (one.gauge_id, day));
            has.is_some_and(|has| seen.contains(&has))
        })
        .map(|one| (one, to))
        .collect();
    if outside.is_empty() || outside.len() < seen.len() {
        let words = "A rebuild of those shown was begun, left out or given another day meanwhile; look at them again";
        return Err(Refusal::not_now(words).into());
    }
    let reason = format!("Moved into the window {}", window.name);
    give_all(deed, outside, &reason).await
}

async fn give_all(deed: &mut Deed, days: Vec<(Candidate, Date)>, reason: &str) -> Result<()> {
    for (one, to) in days {
        let Some(open) = store::rebuilds::open_of(deed.db(), one.gauge_id).await? else {
            continue;
        };
        let another = AnotherDay {
            to,
            reason: reason.to_owned(),
            stands_anyway: false,
        };
        let seen = Seen {
            id: open.id,
            version: open.version,
        };
        give(deed, one.gauge_id, seen, &another).await?;
    }
    Ok(())
}
