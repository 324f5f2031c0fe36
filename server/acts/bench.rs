//! Deeds at the bench: entries recorded and corrected, kits issued to a rebuild. The order of work
//! is `record::course`'s to decide; moving a rebuild from state to state is in `rebuilds.rs`.

use serde_json::json;
use time::{Date, Duration};

use super::rebuilds::{loaded, subject};
use super::{Deed, Error, Result, faces, recalls, stock};
use crate::record::bench::{Entry, Facts, Topic};
use crate::record::course::Course;
use crate::record::gauge::{Change, Gauge};
use crate::record::instrument::Instrument;
use crate::record::kit::Lot;
use crate::record::rebuild::{Rebuild, RebuildState};
use crate::record::recall::About;
use crate::record::{
    EntryId, InstrumentId, InstrumentNumber, KitId, LotId, Moment, PersonId, RebuildId, Refusal,
};
use crate::store;
use crate::store::bench::NewEntry;

/// How long a wrench last used on a gauge that is not tight yet counts as in use there.
pub const WRENCH_KEPT: Duration = Duration::minutes(30);

/// What somebody recorded on a page.
#[derive(Debug, Clone)]
pub struct Recorded {
    /// The section; none for the whole gauge.
    pub section: Option<u8>,
    /// What was recorded.
    pub facts: Facts,
}

/// Who did work that is entered afterwards from the sheet on paper, and when.
#[derive(Debug, Clone, Copy)]
pub struct Worked {
    /// Who.
    pub by: PersonId,
    /// When.
    pub at: Moment,
}

/// Records an entry of work done earlier. Instruments had to be good on the day of the work; a
/// wrench may long be in other hands.
///
/// # Errors
/// As [`record`].
pub async fn record_afterwards(
    deed: &mut Deed,
    rebuild: RebuildId,
    new: &Recorded,
    worked: Worked,
) -> Result<EntryId> {
    let (rebuild, gauge, course) = loaded(deed, rebuild).await?;
    course.may_record(new.section, &new.facts).map_err(field)?;
    let mut facts = new.facts.clone();
    if let Facts::Tightened(tightening) = &mut facts {
        course
            .settle_round(new.section, tightening)
            .map_err(field)?;
    }
    let used_on = deed.zone().date(worked.at);
    let then = (worked.at, used_on);
    let what = (new.section, &facts, None);
    let (facts, instruments) = relied_on(deed, (&gauge, &course), what, then).await?;
    let entry = NewEntry {
        section: new.section,
        facts: &facts,
        corrects: None,
        done: Some((worked.by, worked.at)),
    };
    write(
        deed,
        (&rebuild, &gauge),
        (Words::of("entered from paper"), &entry),
        (&instruments, used_on),
    )
    .await
}

/// Records an entry at the bench. `seen` is the number of the last entry the page showed.
///
/// # Errors
/// Refuses what the order of work forbids, an instrument that may not be relied on, and an entry
/// somebody else made meanwhile about the same thing.
pub async fn record(
    deed: &mut Deed,
    rebuild: RebuildId,
    new: &Recorded,
    seen: i64,
) -> Result<EntryId> {
    let (rebuild, gauge, course) = loaded(deed, rebuild).await?;
    if let Some(other) = course.overtaken(new.section, &new.facts, seen) {
        return Err(Refusal::not_now(format!(
            "{} recorded \u{201c}{}\u{201d}{} since you opened this page; look at it below, and record again only what was done again",
            other.person,
            course.title(other),
            course.of_section(other.section)
        ))
        .into());
    }
    course.may_record(new.section, &new.facts).map_err(field)?;
    let mut facts = new.facts.clone();
    let mut used_at = deed.now();
    if let Facts::Tightened(tightening) = &mut facts {
        course
            .settle_round(new.section, tightening)
            .map_err(field)?;
        let section = new.section.unwrap_or(1);
        let assembled = course.standing(Topic::Assembled, section);
        // A corrected assembly is as old as what it corrects.
        let since = assembled.map_or(used_at, |one| course.origin(one).done_at());
        tightening.settle(since, used_at).map_err(field)?;
        // What waited for a connection is judged by when it was done, not by when it came.
        used_at = tightening.ended_at().unwrap_or(used_at);
        free(deed, rebuild.id, (&tightening.wrench, used_at)).await?;
        not_worn(deed, &tightening.wrench).await?;
    }
    let used_on = deed.zone().date(used_at);
    let what = (new.section, &facts, None);
    let then = (used_at, used_on);
    let (facts, instruments) = relied_on(deed, (&gauge, &course), what, then).await?;
    let entry = NewEntry {
        section: new.section,
        facts: &facts,
        corrects: None,
        done: None,
    };
    write(
        deed,
        (&rebuild, &gauge),
        (Words::of("recorded"), &entry),
        (&instruments, used_on),
    )
    .await
}

/// Corrects an entry; the old one stays readable.
///
/// # Errors
/// Refuses without a reason, an entry that was corrected already, another step than the entry's, a
/// finished rebuild, one that loses a wall under its limit or that brings it over the limit without a second
/// person, and on test a correction that leaves a step of the bench open.
pub async fn correct(
    deed: &mut Deed,
    rebuild: RebuildId,
    entry: EntryId,
    new: &Recorded,
    reason: &str,
) -> Result<EntryId> {
    let (rebuild, gauge, course) = loaded(deed, rebuild).await?;
    if rebuild.state.finished() {
        return Err(Refusal::not_now(format!(
            "This rebuild is {}; its record is not changed",
            rebuild.state
        ))
        .into());
    }
    let Some(old) = course.entry(entry) else {
        return Err(Refusal::Missing("entry").into());
    };
    if let Some(later) = course.entries.iter().find(|e| e.supersedes == Some(entry)) {
        return Err(Refusal::not_now(format!(
            "{} corrected this entry already; correct the later one",
            later.person
        ))
        .into());
    }
    if old.facts.topic() != new.facts.topic() {
        return Err(Refusal::not_now("A correction stays with its step").into());
    }
    let reason = reason.trim();
    if reason.is_empty() {
        return Err(Refusal::field("reason", "Say what was wrong in a few words").into());
    }
    let facts = with_what_was_found(old, new);
    if old.facts == facts && old.section == new.section {
        return Err(Refusal::not_now("This says what the entry says already").into());
    }
    course.fits(new.section, &facts).map_err(field)?;
    faces::keeps_a_thin_wall(&course, old, (new.section, &facts))?;
    faces::lifted_by_another(deed, &course, old, &facts)?;
    // The instrument had to be good on the day it was used, not on the day of the correction.
    let used_at = course.origin(old).done_at();
    let used_on = deed.zone().date(used_at);
    let what = (new.section, &facts, Some(old));
    let then = (used_at, used_on);
    let (facts, instruments) = relied_on(deed, (&gauge, &course), what, then).await?;
    let corrected = NewEntry {
        section: new.section,
        facts: &facts,
        corrects: Some((entry, reason)),
        done: None,
    };
    let words = Words {
        deed: "corrected",
        changes: course.changes(old, new.section, &facts),
    };
    let id = write(
        deed,
        (&rebuild, &gauge),
        (words, &corrected),
        (&instruments, used_on),
    )
    .await?;
    if rebuild.state == RebuildState::OnTest {
        still_complete(deed, &rebuild).await?;
    }
    Ok(id)
}

/// What is put right about a tightening keeps the passes that were made and when they were finished, while
/// they went to the same torque; about a face, what the register itself found of it and what was confirmed of
/// a wall that stays as it was.
fn with_what_was_found(old: &Entry, new: &Recorded) -> Facts {
    let mut facts = new.facts.clone();
    if let (Facts::Face(was), Facts::Face(is)) = (&old.facts, &mut facts) {
        faces::keep_what_was_found(was, is, old.section == new.section);
    }
    if let (Facts::Tightened(was), Facts::Tightened(is)) = (&old.facts, &mut facts) {
        is.again = was.again;
        is.finished = Vec::new();
        if was.target == is.target {
            is.passes.clone_from(&was.passes);
            is.finished.clone_from(&was.finished);
        } else if was.again {
            is.go_round_once();
        }
    }
    facts
}

async fn still_complete(deed: &mut Deed, rebuild: &Rebuild) -> Result<()> {
    let course: Option<Course> = store::bench::course(deed.db(), rebuild.id).await?;
    match course.and_then(|course| course.missing_before_test()) {
        Some(missing) => Err(Refusal::not_now(format!(
            "With this correction the gauge should not be on test: {missing}. Take it back to the bench first"
        ))
        .into()),
        None => Ok(()),
    }
}

/// Kits taken for a rebuild.
#[derive(Debug, Clone)]
pub struct Issue {
    /// The lot they come from.
    pub lot: LotId,
    /// The place in which they lay; none names the lot's own.
    pub place: Option<String>,
    /// How many.
    pub quantity: u32,
    /// Why this kit or this lot, where another one was to be taken.
    pub reason: String,
}

/// The lot of a kit to be taken first on a day: of those that may be used, the one that expires first.
///
/// # Errors
/// The store's failure.
async fn first_to_expire(deed: &mut Deed, kit: KitId, day: Date) -> Result<Option<Lot>> {
    let lots = store::kits::lots_on_hand(deed.db(), kit).await?;
    Ok(lots.into_iter().find(|lot| lot.usable_on(day)))
}

/// Issues kits to a rebuild; the storeroom goes down in the same transaction.
///
/// # Errors
/// Refuses an expired lot, more than it holds, and, without a reason, another kit, another lot than
/// the first to expire and more than go into the gauge; and a rebuild that is on test or finished.
pub async fn issue_kits(deed: &mut Deed, rebuild: RebuildId, issue: &Issue) -> Result<()> {
    let today = deed.today();
    issue_kits_on(deed, rebuild, issue, today).await
}

/// Issues kits that were taken for a rebuild on an earlier day, as the sheet on paper says.
///
/// # Errors
/// As [`issue_kits`].
pub async fn issue_kits_on(
    deed: &mut Deed,
    rebuild: RebuildId,
    issue: &Issue,
    day: Date,
) -> Result<()> {
    let (rebuild, gauge, course) = loaded(deed, rebuild).await?;
    match rebuild.state {
        RebuildState::Planned | RebuildState::Ready | RebuildState::AtTheBench => {}
        state => {
            return Err(Refusal::not_now(format!(
                "This rebuild is {state}; no kits are issued to it"
            ))
            .into());
        }
    }
    let Some(lot) = store::kits::lot(deed.db(), issue.lot).await? else {
        return Err(Refusal::Missing("lot").into());
    };
    let reason = issue.reason.trim();
    let named = gauge.particulars.kit_id == Some(lot.kit_id);
    if !named && reason.is_empty() {
        return Err(Refusal::field(
            "reason",
            "This kit is not the one named for the gauge; say why it fits",
        )
        .into());
    }
    let first = first_to_expire(deed, lot.kit_id, day).await?;
    // A lot that may not be used at all is refused for its own reason.
    let passed_over = first.filter(|first| first.id != lot.id && lot.usable_on(day));
    if let Some(first) = &passed_over
        && reason.is_empty()
    {
        let words = format!(
            "Lot {} is to be taken first; say why this one is taken",
            first.number
        );
        return Err(Refusal::field("reason", words).into());
    }
    let over = course.kits_over(issue.quantity);
    if over > 0 && reason.is_empty() {
        let words = match course.kits_wanted() {
            0 => "Every kit this gauge needs is issued; say why more are, or issue none".to_owned(),
            all if all == course.kits_needed => format!(
                "That is {over} more than the {all} that go into the whole gauge; say why, or issue fewer"
            ),
            some => {
                format!("That is {over} more than the {some} still needed; say why, or issue fewer")
            }
        };
        return Err(Refusal::field("reason", words).into());
    }
    let spot = stock::Spot {
        lot: lot.id,
        place: issue.place.as_deref(),
    };
    stock::issue_on(deed, rebuild.id, (spot, issue.quantity), day).await?;
    let mut rows = Vec::new();
    let mut whys = Vec::new();
    if !named {
        whys.push("which is not the kit named for the gauge".to_owned());
    }
    if let Some(first) = &passed_over {
        whys.push(format!("though lot {} was to be taken first", first.number));
    }
    if over > 0 {
        whys.push("more than go into the gauge".to_owned());
    }
    if !whys.is_empty() {
        let why = whys.join(", ");
        let facts = Facts::Remark {
            text: format!(
                "{} of lot {} issued, {why}: {reason}",
                issue.quantity, lot.number
            ),
        };
        let new = NewEntry {
            section: None,
            facts: &facts,
            corrects: None,
            done: None,
        };
        let (person, now) = (deed.person()?, deed.now());
        let entry = store::bench::add_entry(deed.db(), rebuild.id, &new, person, now).await?;
        rows.push(("bench_entry", entry.0));
    }
    let facts = json!({ "lot": lot.number, "quantity": issue.quantity, "reason": reason });
    deed.record(
        "took kits for",
        &subject(&gauge, &rebuild),
        Some(gauge.id),
        facts,
        &rows,
    )
    .await
}

/// Gives kits that did not go in back to their lot; a broken one too, which the storekeeper scraps.
///
/// # Errors
/// Refuses a finished rebuild and more than it has of the lot that did not go in.
pub async fn give_back(
    deed: &mut Deed,
    rebuild: RebuildId,
    (lot, quantity): (LotId, u32),
) -> Result<()> {
    let (rebuild, gauge, course) = loaded(deed, rebuild).await?;
    if quantity > course.kits_unopened() {
        let words = format!(
            "{} of the kits issued did not go in; what went in does not come back",
            course.kits_unopened()
        );
        return Err(Refusal::field("back", words).into());
    }
    stock::take_back(deed, lot, Some(rebuild.id), quantity, "").await?;
    deed.record(
        "gave kits back from",
        &subject(&gauge, &rebuild),
        Some(gauge.id),
        json!({ "quantity": quantity }),
        &[],
    )
    .await
}

/// How an entry is told in the audit chain.
struct Words {
    /// What was done.
    deed: &'static str,
    /// What it changes of the entry it corrects.
    changes: Vec<Change>,
}

impl Words {
    /// Those of an entry that corrects nothing.
    const fn of(deed: &'static str) -> Self {
        Self {
            deed,
            changes: Vec::new(),
        }
    }
}

async fn write(
    deed: &mut Deed,
    (rebuild, gauge): (&Rebuild, &Gauge),
    (words, entry): (Words, &NewEntry<'_>),
    (instruments, used_on): (&[InstrumentId], Date),
) -> Result<EntryId> {
    let (person, now) = (deed.person()?, deed.now());
    let id = store::bench::add_entry(deed.db(), rebuild.id, entry, person, now).await?;
    let mut rows = vec![("bench_entry", id.0)];
    if let Facts::Stripped(found) = entry.facts
        && let Some(cause) = found.cause.filter(|cause| *cause != rebuild.cause)
    {
        // The rebuild is listed and counted by what the open gauge showed, not by what was expected.
        store::rebuilds::settle_cause(deed.db(), rebuild.id, cause).await?;
        rows.push(("rebuild", rebuild.id.0));
    }
    for instrument in instruments {
        let row =
            store::instruments::note_use(deed.db(), *instrument, Some(rebuild.id), None, used_on)
                .await?;
        rows.push(("instrument_use", row));
        rows.extend(recalls::reached(deed, row, About::Rebuild(rebuild.id)).await?);
    }
    let told: serde_json::Map<String, serde_json::Value> = entry
        .facts
        .told()
        .into_iter()
        .map(|(label, value)| (label.to_owned(), value.to_string().into()))
        .collect();
    let mut facts = json!({
        "entry": id.0, "step": entry.facts.title(), "section": entry.section, "said": told,
        "corrects": entry.corrects.map(|(id, _)| id.0), "reason": entry.corrects.map(|(_, why)| why),
        "done by": entry.done.map(|(by, _)| by.0), "done at": entry.done.map(|(_, at)| at.text()),
        "cause before": rebuild.cause,
    });
    if !words.changes.is_empty() {
        facts["changes"] = json!(words.changes);
    }
    deed.record(
        words.deed,
        &subject(gauge, rebuild),
        Some(gauge.id),
        facts,
        &rows,
    )
    .await?;
    Ok(id)
}

/// The entry with what its instruments tell of themselves, and those instruments, each good for what
/// it was used for when it was used. A wall is held against its last reading; a correction keeps the place
/// in time of what it corrects.
async fn relied_on(
    deed: &mut Deed,
    (gauge, course): (&Gauge, &Course),
    (section, facts, corrects): (Option<u8>, &Facts, Option<&Entry>),
    then: (Moment, Date),
) -> Result<(Facts, Vec<InstrumentId>)> {
    match facts {
        Facts::Tightened(tightening) => {
            if let Some(stamped) = gauge.particulars.torque
                && stamped != tightening.target
            {
                return Err(
                    Refusal::field("torque", format!("The nameplate asks for {stamped}")).into(),
                );
            }
            match (gauge.particulars.torque, &tightening.target_from) {
                (None, None) => {
                    return Err(refused(
                        "torque_from",
                        "The register holds no torque; say where this one comes from".to_owned(),
                    ));
                }
                (Some(_), Some(_)) => {
                    return Err(refused(
                        "torque_from",
                        "The nameplate tells the torque".to_owned(),
                    ));
                }
                _ => {}
            }
            let wrench = instrument(deed, "wrench", &tightening.wrench, then).await?;
            wrench
                .may_tighten(tightening.target, then.1)
                .map_err(|why| refused("wrench", why))?;
            Ok((facts.clone(), vec![wrench.id]))
        }
        Facts::Face(reading) => {
            let (mut reading, instruments) = faces::instruments(deed, reading, then).await?;
            let place = (gauge.id, course, section);
            faces::hold_against_the_last(deed, place, &mut reading, (corrects, then)).await?;
            Ok((Facts::Face(Box::new(reading)), instruments))
        }
        _ => Ok((facts.clone(), Vec::new())),
    }
}

/// A wrench is in one pair of hands: it is refused while another gauge is being tightened with it.
async fn free(
    deed: &mut Deed,
    rebuild: RebuildId,
    (wrench, used_at): (&InstrumentNumber, Moment),
) -> Result<()> {
    let around = (used_at.plus(-WRENCH_KEPT), used_at);
    let busy = store::bench::wrenches_elsewhere(deed.db(), rebuild, around).await?;
    match busy.iter().find(|(number, _)| number == wrench) {
        Some((_, tag)) => Err(refused("wrench", format!("{wrench} is in use on {tag}"))),
        None => Ok(()),
    }
}

/// A wrench that has made all its loadings since it was calibrated is not relied on.
async fn not_worn(deed: &mut Deed, wrench: &InstrumentNumber) -> Result<()> {
    let Some(wrench) = store::instruments::by_number(deed.db(), wrench.as_str()).await? else {
        return Ok(());
    };
    let made = store::instruments::loadings(deed.db(), &[wrench.id]).await?;
    wrench
        .may_go_on(made.get(&wrench.id).copied().unwrap_or(0))
        .map_err(|why| refused("wrench", why))
}

/// An instrument as it stood when it was used.
pub(super) async fn instrument(
    deed: &mut Deed,
    name: &str,
    number: &InstrumentNumber,
    then: (Moment, Date),
) -> Result<Instrument> {
    store::instruments::as_of(deed.db(), number.as_str(), then)
        .await?
        .ok_or_else(|| refused(name, format!("No instrument has the number {number}")))
}

pub(super) fn refused(name: &str, why: String) -> Error {
    Refusal::field(name, why).into()
}

fn field(error: crate::record::FieldError) -> Error {
    if error.field.is_empty() {
        Refusal::NotNow(error.message).into()
    } else {
        Refusal::Fields(vec![error]).into()
    }
}
