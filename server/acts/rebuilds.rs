//! Deeds done to a rebuild as a whole: planned, made ready, started, tested, taken back, returned,
//! abandoned. What is recorded at the bench is in `bench.rs`.

use serde_json::json;
use time::{Date, Duration};

use super::bench::Worked;
use super::{Deed, Result, gauges};
use crate::calc::calendar::said;
use crate::record::bench::{BackInService, Facts};
use crate::record::course::{Course, Next};
use crate::record::gauge::{Gauge, Standing};
use crate::record::instrument::{Instrument, InstrumentKind};
use crate::record::rebuild::{Cause, LOOKED, Rebuild, RebuildState, Rework, STANDS};
use crate::record::refusal::unticked;
use crate::record::{FieldError, GaugeId, Moment, RebuildId, Refusal, TestId};
use crate::store;
use crate::store::bench::NewEntry;
use crate::store::rebuilds::{End, NewMove, NewRebuild};

/// Why a gauge that waits for a shutdown is not planned for a day.
pub(super) const NO_WINDOW: &str =
    "This gauge cannot be isolated in service and no shutdown window of its area covers the day";

/// What a planner decides.
#[derive(Debug, Clone)]
pub struct Plan {
    /// Why the gauge is rebuilt.
    pub cause: Cause,
    /// The day.
    pub planned_for: Date,
    /// What the bench should know.
    pub note: String,
    /// Whether the vessel stands on that day although no shutdown window says so.
    pub stands_anyway: bool,
}

/// Plans a rebuild; returns its number within the gauge.
///
/// # Errors
/// Refuses a second open rebuild, a retired gauge, a day that is past, and a day outside every
/// shutdown window for a gauge that cannot be isolated in service.
pub async fn plan(deed: &mut Deed, gauge: GaugeId, plan: &Plan) -> Result<i64> {
    let Some(gauge) = store::gauges::by_id(deed.db(), gauge).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    if gauge.standing == Standing::Retired {
        return Err(Refusal::not_now("A retired gauge is not rebuilt; bring it back first").into());
    }
    if let Some(open) = store::rebuilds::open_of(deed.db(), gauge.id).await? {
        return Err(Refusal::not_now(format!(
            "Rebuild {} of {} is {}; a gauge has one open rebuild at a time",
            open.ordinal, gauge.particulars.tag, open.state
        ))
        .into());
    }
    if plan.planned_for < deed.today() {
        return Err(Refusal::field("planned_for", "This day is past").into());
    }
    if store::windows::is_outside(deed.db(), &gauge, plan.planned_for).await? {
        if !plan.stands_anyway {
            return Err(Refusal::field("planned_for", NO_WINDOW).into());
        }
        if plan.note.trim().is_empty() {
            return Err(Refusal::field(
                "note",
                "Say why the vessel stands on that day though no window says so",
            )
            .into());
        }
    }
    let new = NewRebuild {
        gauge: gauge.id,
        cause: plan.cause,
        planned_for: plan.planned_for,
        note: plan.note.trim(),
    };
    let (person, now) = (deed.person()?, deed.now());
    let id = store::rebuilds::add(deed.db(), &new, person, now).await?;
    let rebuild = found(deed, id).await?;
    let facts = json!({
        "cause": plan.cause, "planned for": plan.planned_for.to_string(), "note": plan.note.trim(),
        "outside every window": plan.stands_anyway,
    });
    deed.record(
        "planned",
        &subject(&gauge, &rebuild),
        Some(gauge.id),
        facts,
        &[("rebuild", id.0)],
    )
    .await?;
    // A planned rebuild wants its kits from the shelf.
    deed.touch(gauge.id);
    Ok(rebuild.ordinal)
}

/// The rebuild somebody looked at, and the version they looked at.
#[derive(Debug, Clone, Copy)]
pub struct Seen {
    /// The rebuild.
    pub id: RebuildId,
    /// Its version on the page.
    pub version: i64,
}

/// Says that kits and instruments are in hand.
///
/// # Errors
/// Refuses while kits are short or no torque wrench in calibration fits the gauge.
pub async fn make_ready(deed: &mut Deed, seen: Seen) -> Result<()> {
    let (rebuild, gauge, course) = opened(deed, seen).await?;
    let Some(kit) = &gauge.kit else {
        return Err(Refusal::not_now(
            "No kit is named for this gauge; name it in the register first",
        )
        .into());
    };
    let today = deed.today();
    let shelf = course.shelf(today);
    let have = course.kits_in_hand(shelf);
    if have < course.kits_needed {
        return Err(Refusal::not_now(format!(
            "Ready means that kits and instruments are in hand: {have} of {} {kit} can be used on {}{}",
            course.kits_needed,
            said(rebuild.planned_for.max(today)),
            shelf.told()
        ))
        .into());
    }
    if let Some(target) = gauge.particulars.torque {
        let day = rebuild.planned_for;
        let wrenches = store::instruments::of_kind(deed.db(), InstrumentKind::TorqueWrench).await?;
        let ids: Vec<_> = wrenches.iter().map(|w| w.id).collect();
        let made = store::instruments::loadings(deed.db(), &ids).await?;
        let goes_on = |w: &Instrument| w.may_go_on(made.get(&w.id).copied().unwrap_or(0)).is_ok();
        if !wrenches
            .iter()
            .any(|w| w.may_tighten(target, day).is_ok() && goes_on(w))
        {
            return Err(Refusal::not_now(format!(
                "Ready means that kits and instruments are in hand: no torque wrench in calibration on {} fits {target}",
                said(day)
            ))
            .into());
        }
    }
    go(deed, &rebuild, &gauge, &step(RebuildState::Ready)).await
}

/// Takes back that a rebuild is ready.
///
/// # Errors
/// Refuses from any other state.
pub async fn unready(deed: &mut Deed, seen: Seen) -> Result<()> {
    let (rebuild, gauge, _) = opened(deed, seen).await?;
    go(deed, &rebuild, &gauge, &step(RebuildState::Planned)).await
}

/// What is said of a gauge that is taken to the bench: of one that cannot be isolated in service outside of
/// every shutdown window of its area, and of one of which the register only assumes that it can.
#[derive(Debug, Clone, Default)]
pub struct Taking {
    /// Whether it was ticked that its vessel is out of service and the gauge isolated.
    pub stands: bool,
    /// Why it is taken then.
    pub reason: String,
    /// Whether it was ticked that somebody looked at the gauge, and that it can be isolated in service.
    pub looked: bool,
}

/// Takes a gauge to the bench.
///
/// # Errors
/// Refuses from any state but planned or ready; and a gauge that cannot be isolated in service outside of
/// every shutdown window of its area, unless it was said that its vessel stands, and why; and one that is only
/// assumed to be isolated in service, unless it was said that somebody looked.
pub async fn start(deed: &mut Deed, seen: Seen, told: &Taking) -> Result<()> {
    let now = deed.now();
    start_at(deed, seen, now, told).await
}

/// Takes a gauge to the bench that came there earlier, as the sheet on paper says.
///
/// # Errors
/// As [`start`]; and a moment to come.
pub async fn start_at(deed: &mut Deed, seen: Seen, began: Moment, told: &Taking) -> Result<()> {
    let (rebuild, gauge, course) = opened(deed, seen).await?;
    if course.next() != Next::Start {
        return Err(Refusal::not_now(format!("This rebuild is {} already", rebuild.state)).into());
    }
    if began > deed.now() {
        return Err(Refusal::not_now("The work is still to begin by this day and time").into());
    }
    let day = deed.zone().date(began);
    let reason = as_it_is_taken(deed, &gauge, day, told).await?;
    let to = NewMove {
        reason: &reason,
        ..step(RebuildState::AtTheBench)
    };
    go_at(deed, &rebuild, &gauge, &to, began).await
}

/// What the record keeps of a gauge that came to the bench on a day outside of every shutdown window though
/// it cannot be isolated in service, or that was only assumed to be isolated in service; nothing for any other.
async fn as_it_is_taken(
    deed: &mut Deed,
    gauge: &Gauge,
    day: Date,
    told: &Taking,
) -> Result<String> {
    if gauge.only_assumed_to_be_isolated() {
        return if told.looked {
            Ok(format!("How it is isolated was only assumed; {LOOKED}"))
        } else {
            let words = unticked(LOOKED, "the register only assumes it");
            Err(Refusal::field("looked", words).into())
        };
    }
    if !store::windows::is_outside(deed.db(), gauge, day).await? {
        return Ok(String::new());
    }
    let reason = told.reason.trim();
    let mut faults = Vec::new();
    if !told.stands {
        let words = format!(
            "This gauge cannot be isolated in service, and {} lies in no shutdown window of {}: it is taken to the bench only where this is so",
            said(day),
            gauge.area
        );
        faults.push(FieldError::new("stands", words));
    }
    if reason.is_empty() {
        let words = "Say why it is taken to the bench outside of a shutdown window";
        faults.push(FieldError::new("stands_reason", words));
    }
    if !faults.is_empty() {
        return Err(Refusal::Fields(faults).into());
    }
    Ok(format!(
        "Outside of every shutdown window; {STANDS}. Why: {reason}"
    ))
}

/// Sends a gauge to its pressure test.
///
/// # Errors
/// Refuses while a step of the bench is missing.
pub async fn send_to_test(deed: &mut Deed, seen: Seen) -> Result<()> {
    let (rebuild, gauge, course) = opened(deed, seen).await?;
    if rebuild.state == RebuildState::AtTheBench
        && let Some(missing) = course.missing_before_test()
    {
        return Err(Refusal::not_now(missing).into());
    }
    // The certificate names what was renewed: only what went in may be with the rebuild by then.
    if let spare @ 1.. = course.kits_unopened() {
        let words = format!(
            "{spare} more issued than went in: give back what is left over before the test, a broken one too"
        );
        return Err(Refusal::not_now(words).into());
    }
    go(deed, &rebuild, &gauge, &step(RebuildState::OnTest)).await
}

/// Why a gauge comes back from its test, and what is done again.
#[derive(Debug, Clone)]
pub struct TakeBack {
    /// Why.
    pub reason: String,
    /// What has to be done again.
    pub rework: Rework,
    /// On which section; none for all of them.
    pub section: Option<u8>,
}

/// Takes a gauge back to the bench from its test.
///
/// # Errors
/// Refuses without a reason, and that nothing is done again after a test or a hold that was begun.
pub async fn take_back(deed: &mut Deed, seen: Seen, back: &TakeBack) -> Result<()> {
    let (rebuild, gauge, course) = opened(deed, seen).await?;
    if rebuild.state != RebuildState::OnTest {
        return Err(
            Refusal::not_now(format!("This rebuild is {}, not on test", rebuild.state)).into(),
        );
    }
    let reason = back.reason.trim();
    if reason.is_empty() {
        return Err(
            Refusal::field("reason", "Say why in a few words, such as where it leaked").into(),
        );
    }
    let held = match super::holds::on_test_since(&course) {
        Some(since) => store::holds::under_way(deed.db(), rebuild.id, since).await?,
        None => None,
    };
    if back.rework == Rework::Nothing && (course.test_since().is_some() || held.is_some()) {
        return Err(Refusal::field(
            "rework",
            "The gauge was under pressure; say what is done again",
        )
        .into());
    }
    if back.section.is_some_and(|s| s == 0 || s > course.sections) {
        return Err(Refusal::field("section", "The gauge has no such section").into());
    }
    let to = NewMove {
        to: RebuildState::AtTheBench,
        reason,
        rework: Some(back.rework),
        section: back.section,
    };
    go(deed, &rebuild, &gauge, &to).await
}

/// What is confirmed when a gauge goes back.
#[derive(Debug, Clone, Default)]
pub struct Returning {
    /// Each condition by its name.
    pub confirmed: Vec<BackInService>,
    /// Anything else.
    pub note: String,
    /// Who did it and when, where it is entered afterwards.
    pub done: Option<Worked>,
}

/// By when the practice of the gauge's class asks for the bolting to be tightened again.
async fn re_torque_by(deed: &mut Deed, gauge: &Gauge, on: Date) -> Result<Option<Date>> {
    let class = store::plant::service_class(deed.db(), gauge.particulars.service_class_id).await?;
    let days = class.and_then(|class| class.re_torque_days);
    Ok(days.and_then(|days| on.checked_add(Duration::days(i64::from(days)))))
}

/// Returns a gauge to service: the record is closed, its failures are answered, its due date moves.
///
/// # Errors
/// Refuses before it has passed a pressure test of this rebuild since it last went on test, where that was made
/// from a lower rating than the gauge has now, and while something that rebuild or test rests on is recalled and
/// not decided to stand.
pub async fn return_to_service(deed: &mut Deed, seen: Seen, back: &Returning) -> Result<()> {
    let (rebuild, gauge, course) = opened(deed, seen).await?;
    let note = back.note.trim();
    let facts = Facts::Returned {
        confirmed: back.confirmed.clone(),
        note: note.to_owned(),
    };
    course.may_record(None, &facts).map_err(|why| {
        if why.field.is_empty() {
            Refusal::NotNow(why.message)
        } else {
            Refusal::Fields(vec![why])
        }
    })?;
    super::recalled::rebuild_stands(deed.db(), rebuild.id, &course).await?;
    if let Some(test) = course.test_since() {
        let test = TestId(test.id);
        super::recalled::test_stands(deed.db(), test).await?;
        super::pressure_tests::proves_the_rating(deed.db(), &gauge, test).await?;
    }
    let (person, now) = (deed.person()?, deed.now());
    let on = back
        .done
        .map_or_else(|| deed.today(), |done| deed.zone().date(done.at));
    if let Some(test) = course.test_since()
        && on < test.tested_on
    {
        let words = format!(
            "It passed its test on {} and is returned after that",
            said(test.tested_on)
        );
        return Err(Refusal::not_now(words).into());
    }
    let asked_by = re_torque_by(deed, &gauge, on).await?;
    let new = NewEntry {
        section: None,
        facts: &facts,
        corrects: None,
        done: back.done.map(|done| (done.by, done.at)),
    };
    let entry = store::bench::add_entry(deed.db(), rebuild.id, &new, person, now).await?;
    let moved = store::rebuilds::add_move(
        deed.db(),
        &rebuild,
        &step(RebuildState::Returned),
        person,
        now,
    )
    .await?;
    let end = End {
        state: RebuildState::Returned,
        on,
        reason: None,
        re_torque_due_on: asked_by,
    };
    if !store::rebuilds::end(deed.db(), &rebuild, &end, person, now).await? {
        return Err(changed(deed, &gauge, &rebuild).await);
    }
    let answered = store::rebuilds::answer_failures(deed.db(), gauge.id, rebuild.id).await?;
    let mut rows = vec![
        ("bench_entry", entry.0),
        ("rebuild_move", moved.0),
        ("rebuild", rebuild.id.0),
    ];
    rows.extend(answered.iter().map(|failure| ("failure", failure.0)));
    let facts = json!({
        "note": note, "failures answered": answered.len(), "confirmed": back.confirmed,
        "on": on.to_string(), "re-torque by": asked_by.map(|day| day.to_string()),
    });
    deed.record(
        "returned",
        &subject(&gauge, &rebuild),
        Some(gauge.id),
        facts,
        &rows,
    )
    .await?;
    deed.touch(gauge.id);
    Ok(())
}

/// Abandons a rebuild. A gauge that was opened is put to rest, for it cannot be in service.
///
/// # Errors
/// Refuses without a reason.
pub async fn abandon(deed: &mut Deed, seen: Seen, reason: &str) -> Result<()> {
    let (rebuild, gauge, course) = opened(deed, seen).await?;
    let reason = reason.trim();
    if reason.is_empty() {
        return Err(
            Refusal::field("reason", "Say why in a few words; it stays in the record").into(),
        );
    }
    let (person, now, today) = (deed.person()?, deed.now(), deed.today());
    let to = NewMove {
        reason,
        ..step(RebuildState::Abandoned)
    };
    let moved = store::rebuilds::add_move(deed.db(), &rebuild, &to, person, now).await?;
    let end = End {
        state: RebuildState::Abandoned,
        on: today,
        reason: Some(reason),
        re_torque_due_on: None,
    };
    if !store::rebuilds::end(deed.db(), &rebuild, &end, person, now).await? {
        return Err(changed(deed, &gauge, &rebuild).await);
    }
    deed.record(
        "abandoned",
        &subject(&gauge, &rebuild),
        Some(gauge.id),
        json!({ "reason": reason }),
        &[("rebuild_move", moved.0), ("rebuild", rebuild.id.0)],
    )
    .await?;
    deed.touch(gauge.id);
    if course.opened() && gauge.standing == Standing::InService {
        let why = format!("its rebuild was abandoned after it had been opened: {reason}");
        gauges::change_standing(deed, gauge.id, gauge.version, Standing::Resting, &why).await?;
    }
    Ok(())
}

fn step(to: RebuildState) -> NewMove<'static> {
    NewMove {
        to,
        reason: "",
        rework: None,
        section: None,
    }
}

/// Moves a rebuild to another state and writes down who did.
async fn go(deed: &mut Deed, rebuild: &Rebuild, gauge: &Gauge, to: &NewMove<'_>) -> Result<()> {
    let now = deed.now();
    go_at(deed, rebuild, gauge, to, now).await
}

async fn go_at(
    deed: &mut Deed,
    rebuild: &Rebuild,
    gauge: &Gauge,
    to: &NewMove<'_>,
    began: Moment,
) -> Result<()> {
    if !rebuild.state.may_become(to.to) {
        return Err(Refusal::not_now(format!(
            "A rebuild that is {} does not become {}",
            rebuild.state, to.to
        ))
        .into());
    }
    let (person, now) = (deed.person()?, deed.now());
    let moved = store::rebuilds::add_move(deed.db(), rebuild, to, person, now).await?;
    if !store::rebuilds::change_state(deed.db(), rebuild, to.to, began).await? {
        return Err(changed(deed, gauge, rebuild).await);
    }
    let words = match to.to {
        RebuildState::Planned => "took back that it is ready",
        RebuildState::Ready => "made ready",
        RebuildState::AtTheBench if rebuild.state == RebuildState::OnTest => {
            "took back to the bench"
        }
        RebuildState::AtTheBench => "took to the bench",
        RebuildState::OnTest => "sent to its test",
        RebuildState::Returned => "returned",
        RebuildState::Abandoned => "abandoned",
    };
    let facts = json!({
        "reason": to.reason, "done again": to.rework, "section": to.section,
        "began": (began != now).then(|| began.text()),
    });
    deed.record(
        words,
        &subject(gauge, rebuild),
        Some(gauge.id),
        facts,
        &[("rebuild_move", moved.0), ("rebuild", rebuild.id.0)],
    )
    .await
}

/// An open rebuild as it was seen, its gauge and how far it has come.
pub(super) async fn opened(deed: &mut Deed, seen: Seen) -> Result<(Rebuild, Gauge, Course)> {
    let (rebuild, gauge, course) = loaded(deed, seen.id).await?;
    if rebuild.state.finished() {
        return Err(Refusal::not_now(format!(
            "This rebuild is {}; a finished rebuild is not changed",
            rebuild.state
        ))
        .into());
    }
    if rebuild.version != seen.version {
        return Err(changed(deed, &gauge, &rebuild).await);
    }
    Ok((rebuild, gauge, course))
}

/// A rebuild, its gauge and how far it has come.
pub(super) async fn loaded(deed: &mut Deed, id: RebuildId) -> Result<(Rebuild, Gauge, Course)> {
    let rebuild = found(deed, id).await?;
    let gauge = store::gauges::by_id(deed.db(), rebuild.gauge_id)
        .await?
        .ok_or(Refusal::Missing("gauge"))?;
    let course = store::bench::course(deed.db(), id)
        .await?
        .ok_or(Refusal::Missing("rebuild"))?;
    Ok((rebuild, gauge, course))
}

async fn found(deed: &mut Deed, id: RebuildId) -> Result<Rebuild> {
    store::rebuilds::by_id(deed.db(), id)
        .await?
        .ok_or_else(|| Refusal::Missing("rebuild").into())
}

pub(super) async fn changed(deed: &mut Deed, gauge: &Gauge, rebuild: &Rebuild) -> super::Error {
    match store::audit::last_hand(deed.db(), &subject(gauge, rebuild)).await {
        Ok(by) => Refusal::Changed {
            what: format!("The rebuild of {}", gauge.particulars.tag),
            by,
        }
        .into(),
        Err(error) => error.into(),
    }
}

/// How a rebuild is named in the audit chain.
pub fn subject(gauge: &Gauge, rebuild: &Rebuild) -> String {
    format!("rebuild {} {}", gauge.particulars.tag, rebuild.ordinal)
}
