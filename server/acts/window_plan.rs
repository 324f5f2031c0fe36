//! Deeds of planning a shutdown window: choosing gauges into it, writing down the hours there are,
//! and planning the rebuilds of those chosen; and what moving the window would do.

use serde_json::json;
use sqlx::SqliteConnection;
use time::Date;

use super::rebuild_days;
use super::rebuilds::{self, Plan};
use super::refresh_due::{beyond, decided};
use super::{Deed, Result};
use crate::calc::calendar::said;
use crate::calc::due::{Facts, Window as Days, WindowPull, governing_only};
use crate::record::rebuild::{Cause, FailureKind};
use crate::record::{GaugeId, Refusal, TagNumber, WindowId};
use crate::store;
use crate::store::due::Known;
use crate::store::window_plan::{Candidate, Hours};
use crate::store::windows::Window;

/// The most gauges one window takes.
pub const MOST: i64 = 500;

/// The gauges chosen into a window, by tag number. One that rests stands on no list of due dates; what asks
/// for its work is decided from its facts by the same rules, since it is done in the window all the same.
///
/// # Errors
/// The store's failure, or a date outside the calendar's range.
pub async fn chosen(db: &mut SqliteConnection, window: WindowId) -> Result<Vec<Candidate>> {
    let mut chosen = store::window_plan::chosen(db, window, MOST).await?;
    let resting: Vec<GaugeId> = chosen
        .iter()
        .filter(|one| one.resting())
        .map(|one| one.gauge_id)
        .collect();
    if resting.is_empty() {
        return Ok(chosen);
    }
    for known in store::due::facts_of(db, &resting).await? {
        let one = chosen.iter_mut().find(|one| one.gauge_id == known.gauge_id);
        if let (Some(one), Some(row)) = (one, decided(&known)?) {
            one.falls_due(&row);
        }
    }
    Ok(chosen)
}

/// Chooses gauges into a window.
///
/// # Errors
/// Refuses a window that is over, gauges of another area, and more than [`MOST`].
pub async fn choose(deed: &mut Deed, window: &Window, gauges: &[GaugeId]) -> Result<usize> {
    if window.ends_on < deed.today() {
        return Err(Refusal::not_now("This window is over").into());
    }
    if gauges.is_empty() {
        return Err(Refusal::field("gauge", "Tick the gauges to be done in the window").into());
    }
    let before = store::window_plan::chosen(deed.db(), window.id, MOST).await?;
    let known = store::due::facts_of(deed.db(), gauges).await?;
    if known.iter().any(|one| one.area_id != window.area_id) {
        return Err(
            Refusal::not_now(format!("Only gauges of {} are done in it", window.area)).into(),
        );
    }
    if i64::try_from(before.len() + known.len()).unwrap_or(i64::MAX) > MOST {
        return Err(Refusal::not_now(format!("A window takes {MOST} gauges at most")).into());
    }
    let (person, now) = (deed.person()?, deed.now());
    let mut rows = Vec::new();
    for one in &known {
        let row =
            store::window_plan::choose(deed.db(), window.id, one.gauge_id, person, now).await?;
        rows.extend(row.map(|row| ("window_choice", row)));
    }
    if rows.is_empty() {
        return Ok(0);
    }
    let facts = json!({ "gauges": known.iter().map(|one| one.gauge_id).collect::<Vec<_>>() });
    deed.record("chose gauges into", &subject(window.id), None, facts, &rows)
        .await?;
    Ok(rows.len())
}

/// Leaves a gauge out of a window again.
///
/// # Errors
/// Refuses one whose rebuild is planned already: that is abandoned on its bench sheet, with a reason.
pub async fn leave_out(deed: &mut Deed, window: &Window, gauge: GaugeId) -> Result<()> {
    if let Some(open) = store::rebuilds::open_of(deed.db(), gauge).await?
        && (window.starts_on..=window.ends_on).contains(&open.planned_for)
    {
        return Err(Refusal::not_now(format!(
            "Its rebuild {} is {} for {}; abandon it on its bench sheet first",
            open.ordinal,
            open.state,
            said(open.planned_for)
        ))
        .into());
    }
    let Some(row) = store::window_plan::leave_out(deed.db(), window.id, gauge).await? else {
        return Ok(());
    };
    deed.record(
        "left a gauge out of",
        &subject(window.id),
        Some(gauge),
        json!({}),
        &[("window_choice", row)],
    )
    .await
}

/// Writes down the hours of a window: all there are, and what a gauge and a section take.
///
/// # Errors
/// Refuses hours below zero or beyond reason, and a change made to the window meanwhile.
pub async fn write_hours(deed: &mut Deed, window: &Window, hours: &Hours) -> Result<()> {
    for (field, value, most) in [
        ("available", hours.available, 100_000),
        ("hours_gauge", hours.gauge, 1_000),
        ("hours_section", hours.section, 1_000),
    ] {
        let range = rust_decimal::Decimal::ZERO..=rust_decimal::Decimal::from(most);
        if value.is_some_and(|value| !range.contains(&value)) {
            let words = format!("Write hours from 0 to {most}");
            return Err(Refusal::field(field, words).into());
        }
    }
    let read = (window.id, window.version);
    if !store::window_plan::put_hours(deed.db(), read, hours).await? {
        let by = store::audit::last_hand(deed.db(), &subject(window.id)).await?;
        return Err(Refusal::Changed {
            what: format!("The window \u{201c}{}\u{201d}", window.name),
            by,
        }
        .into());
    }
    let text = |value: Option<rust_decimal::Decimal>| value.map(|v| v.to_string());
    let facts = json!({
        "hours there are": text(hours.available), "hours a gauge": text(hours.gauge),
        "hours a section": text(hours.section),
    });
    deed.record(
        "wrote the hours of",
        &subject(window.id),
        None,
        facts,
        &[("shutdown_window", window.id.0)],
    )
    .await
}

/// Plans a rebuild for every chosen gauge that has none open, on the first day of the window or
/// today; answers how many. One that was retired or hung elsewhere after it was chosen is passed over:
/// the plan names it, and it keeps nobody else out.
///
/// # Errors
/// Refuses a window that is over.
pub async fn plan_rebuilds(deed: &mut Deed, window: &Window) -> Result<usize> {
    if window.ends_on < deed.today() {
        return Err(Refusal::not_now("This window is over").into());
    }
    let planned_for = window.starts_on.max(deed.today());
    let mut planned = 0;
    for one in store::window_plan::chosen(deed.db(), window.id, MOST).await? {
        if one.rebuild.is_some() || one.out_of_place(window.area_id).is_some() {
            continue;
        }
        let failures = store::in_service::open_failures(deed.db(), one.gauge_id).await?;
        let plan = Plan {
            cause: failures
                .first()
                .map_or(Cause::Interval, |open| match open.kind {
                    FailureKind::Leak => Cause::Leak,
                    FailureKind::CrackedGlass => Cause::CrackedGlass,
                    FailureKind::CloudedGlass => Cause::CloudedGlass,
                    FailureKind::StuckValve | FailureKind::Other => Cause::Other,
                }),
            planned_for,
            note: format!("planned into {}", window.name),
            stands_anyway: false,
        };
        rebuilds::plan(deed, one.gauge_id, &plan).await?;
        planned += 1;
    }
    Ok(planned)
}

/// What moving a window would do to the gauges of its area that wait for a shutdown.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct MoveEffect {
    /// Gauges that would be done in it and were not before.
    pub come_in: i64,
    /// Gauges that would fall out of it into another window.
    pub to_another: i64,
    /// Gauges that would fall out of it and find no other in time.
    pub find_none: i64,
    /// Gauges that find none now and would be done in it.
    pub saved: i64,
    /// Tag numbers of the first gauges that would fall out.
    pub first_out: Vec<GaugeId>,
    /// Chosen gauges whose rebuild, not begun, would go with it to other days.
    pub go_with_it: usize,
    /// Chosen gauges whose rebuild is under way and keeps its day, which would lie outside of the new days.
    pub under_way: Vec<TagNumber>,
    /// Chosen gauges whose rebuild is planned outside of both the days it has and the new ones.
    pub planned_outside: i64,
    /// Chosen gauges that would fall due before the window begins, and when.
    pub due_before: Vec<(TagNumber, Date)>,
}

/// Gauges named in an effect.
const NAMED: usize = 12;

/// Computes, without writing anything, what other days would do on a day `today`.
///
/// # Errors
/// The store's failure, or a date outside the calendar's range.
pub async fn effect_of_move(
    db: &mut SqliteConnection,
    window: &Window,
    (starts, ends): (Date, Date),
    today: Date,
) -> Result<MoveEffect> {
    let mut effect = MoveEffect::default();
    let mut after = GaugeId(0);
    loop {
        let batch = store::due::facts_bound_to(db, window.area_id, after, 2000).await?;
        for known in &batch {
            weigh(&mut effect, known, window, (starts, ends))?;
        }
        match batch.last() {
            Some(last) if batch.len() == 2000 => after = last.gauge_id,
            _ => break,
        }
    }
    let chosen = chosen(db, window.id).await?;
    let within = |(from, to): (Date, Date), day: Date| (from..=to).contains(&day);
    for one in &chosen {
        let days = (window.starts_on, window.ends_on);
        if one
            .rebuild
            .is_some_and(|(_, day)| !within(days, day) && !within((starts, ends), day))
        {
            effect.planned_outside += 1;
        }
        if let Some(due) = overtaken(one, window, starts) {
            effect.due_before.push((one.tag.clone(), due));
        }
    }
    let bound = rebuild_days::bound_to(db, window, chosen).await?;
    let follow = rebuild_days::following(bound, window, (starts, ends), today);
    effect.go_with_it = follow.go.len();
    effect.under_way = follow.stay;
    Ok(effect)
}

/// The day a chosen gauge falls due, where that is over before a window begins on another day. A look-over waits
/// for no window; nothing is late where the rebuild is under way, or planned by then for a day that does not move
/// with the window.
fn overtaken(one: &Candidate, window: &Window, starts: Date) -> Option<Date> {
    let due = one.work?.date;
    let days = window.starts_on..=window.ends_on;
    let in_time = one
        .rebuild
        .is_some_and(|(state, day)| state.under_way() || (!days.contains(&day) && day <= due));
    let overtaken = due < starts && !in_time;
    (overtaken && one.out_of_place(window.area_id).is_none()).then_some(due)
}

fn weigh(
    effect: &mut MoveEffect,
    known: &Known,
    window: &Window,
    (starts, ends): (Date, Date),
) -> Result<()> {
    let (old, new) = (
        Days {
            starts: window.starts_on,
            ends: window.ends_on,
        },
        Days { starts, ends },
    );
    let moved = Facts {
        windows: known
            .facts
            .windows
            .iter()
            .map(|one| if *one == old { new } else { *one })
            .collect(),
        ..known.facts.clone()
    };
    let was = governing_only(&known.facts).map_err(beyond)?.window;
    let will = governing_only(&moved).map_err(beyond)?.window;
    let (in_old, in_new) = (
        was == WindowPull::PulledTo(old),
        will == WindowPull::PulledTo(new),
    );
    match (in_old, in_new) {
        (true, false) if will == WindowPull::NoWindow => effect.find_none += 1,
        (true, false) => effect.to_another += 1,
        (false, true) if was == WindowPull::NoWindow => effect.saved += 1,
        (false, true) => effect.come_in += 1,
        _ => {}
    }
    if in_old && !in_new && effect.first_out.len() < NAMED {
        effect.first_out.push(known.gauge_id);
    }
    Ok(())
}

/// How a window is named in the audit chain.
fn subject(id: WindowId) -> String {
    format!("shutdown window {}", id.0)
}
