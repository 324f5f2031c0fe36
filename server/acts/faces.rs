//! Deeds on a seating face as it is read: its instruments, and its wall held against the last reading of
//! the same part. Whether a face may be used is judged in `record::face`.

use time::Date;

use super::bench::{instrument, refused};
use super::{Deed, Result};
use crate::calc::calendar::said;
use crate::calc::quantity::StampedLength;
use crate::calc::wall::{Measured, growth};
use crate::record::bench::{Entry, Facts};
use crate::record::course::Course;
use crate::record::face::{Before, FaceSeen, Reading, Thicker, still_thin};
use crate::record::instrument::{Instrument, InstrumentKind};
use crate::record::person::Role;
use crate::record::refusal::FieldError;
use crate::record::{GaugeId, InstrumentId, Moment, Refusal};
use crate::store;
use crate::store::bench::WallRead;

/// The reading with what its instruments tell of themselves, and those instruments, each good for what it was
/// used for when it was used.
///
/// # Errors
/// Refuses a reading without its instrument, one that may not be relied on, and a flatness it cannot tell.
pub(super) async fn instruments(
    deed: &mut Deed,
    reading: &Reading,
    then: (Moment, Date),
) -> Result<(Reading, Vec<InstrumentId>)> {
    let mut list = Vec::new();
    let mut reading = reading.clone();
    reading.off = None;
    reading.wall_off = None;
    if let Some(number) = &reading.instrument {
        let kinds: Vec<InstrumentKind> = match (&reading.heights, &reading.feeler) {
            (Some(_), None) => InstrumentKind::HEIGHTS.to_vec(),
            (None, Some(_)) => InstrumentKind::GAP.to_vec(),
            _ => [InstrumentKind::HEIGHTS, InstrumentKind::GAP].concat(),
        };
        let found = instrument(deed, "instrument", number, then).await?;
        if let Err(why) = found.may_measure(&kinds, then.1) {
            let why = with_what_lacks(deed, &found, &kinds, why).await?;
            return Err(refused("instrument", why));
        }
        list.push(found.id);
        if reading.heights.is_some() {
            reading.off = found.off_by(reading.limits.flatness);
        }
        if reading.verdict().undecided() && reading.note.is_empty() {
            let words = format!(
                "By what {number} can tell this face may be flat or not; read it with a finer instrument, or say why it is accepted"
            );
            return Err(refused("note", words));
        }
    } else if reading.heights.is_some() {
        // A feeler only passes or does not; heights are read off a scale that may be wrong.
        return Err(refused(
            "instrument",
            "Say what the face was measured with".to_owned(),
        ));
    }
    match (&reading.wall, &reading.wall_instrument) {
        (Some(wall), Some(number)) => {
            let found = instrument(deed, "wall_instrument", number, then).await?;
            if let Err(why) = found.may_measure(InstrumentKind::WALL, then.1) {
                let why = with_what_lacks(deed, &found, InstrumentKind::WALL, why).await?;
                return Err(refused("wall_instrument", why));
            }
            reading.wall_off = found.off_by(*wall);
            if !list.contains(&found.id) {
                list.push(found.id);
            }
        }
        (Some(_), None) => {
            return Err(refused(
                "wall_instrument",
                "Say what the wall was measured with".to_owned(),
            ));
        }
        (None, _) => {}
    }
    Ok((reading, list))
}

/// Why an instrument may not be used; and that the plant has none of the kind asked for, where it is so.
async fn with_what_lacks(
    deed: &mut Deed,
    found: &Instrument,
    kinds: &[InstrumentKind],
    why: String,
) -> Result<String> {
    let other = !kinds.contains(&found.kind);
    if !other
        || !store::instruments::of_kinds(deed.db(), kinds)
            .await?
            .is_empty()
    {
        return Ok(why);
    }
    let what = InstrumentKind::any_of(kinds);
    Ok(format!(
        "{why}. The register has no {what} in use; an engineer takes one in under Instruments"
    ))
}

/// Holds a wall against the last reading of the same part, in earlier rebuilds too, against one under its limit
/// that still counts, and, where it is a correction, against what was under its limit before it. One that is
/// thicker by more than both readings can be off, or keeps a limit that the other one did not, is asked about,
/// and recorded with what was said of it.
///
/// # Errors
/// Refuses such a wall where it was not said that it was read again and is so, and why.
pub(super) async fn hold_against_the_last(
    deed: &mut Deed,
    (gauge, course, section): (GaugeId, &Course, Option<u8>),
    reading: &mut Reading,
    (corrects, then): (Option<&Entry>, (Moment, Date)),
) -> Result<()> {
    let told = reading.thicker.take();
    let (Some(section), Some(wall)) = (section, reading.wall) else {
        return Ok(());
    };
    let mut all: Vec<(Date, Reading, bool)> = Vec::new();
    if reading.seen != FaceSeen::Renewed {
        let found = store::bench::wall_readings(deed.db(), gauge, section, reading.face).await?;
        // A correction keeps the place in time of what it corrects.
        let id = corrects.map_or(i64::MAX, |entry| course.origin(entry).id.0);
        let before = found.into_iter().filter(|one| one.place() < (then.0, id));
        let before = since_its_part_was_new(before.collect()).into_iter();
        let zone = deed.zone();
        all.extend(before.map(|one| (zone.date(one.at), one.reading, false)));
    }
    if let Some(old) = corrects {
        let under = thin_versions(course, old).filter(|(_, was)| !is_another_part(was, reading));
        all.extend(under.map(|(_, was)| (then.1, was.clone(), true)));
    }
    let mut least: Option<(Before, bool)> = None;
    for earlier in &all {
        let Some(found) = asked_about(earlier, reading)? else {
            continue;
        };
        let si = |one: &(Before, bool)| one.0.thickness.si();
        if least.as_ref().is_none_or(|least| si(&found) < si(least)) {
            least = Some(found);
        }
    }
    let Some((before, unexplained)) = least else {
        return Ok(());
    };
    let (read_again, reason) = told.map_or_else(Default::default, |told| {
        (told.read_again, told.reason.trim().to_owned())
    });
    let mut faults = Vec::new();
    if !read_again || reason.is_empty() {
        let why = why_asked(&before, unexplained, reading.limits.wall);
        let words = format!(
            "{wall}, read on {}, {why}: was it the right place, the right unit, the right instrument?",
            said(then.1)
        );
        faults.push(FieldError::new("wall", words));
    }
    if !read_again {
        let words = "Read it again, and tick this only when it is so";
        faults.push(FieldError::new("again", words));
    }
    if reason.is_empty() {
        let words = "Say why it is thicker, such as what was wrong with the earlier reading";
        faults.push(FieldError::new("again_reason", words));
    }
    if !faults.is_empty() {
        return Err(Refusal::Fields(faults).into());
    }
    reading.thicker = Some(Thicker {
        read_again,
        reason,
        before: Some(before),
    });
    Ok(())
}

/// Why a wall is asked about, in words that go on after the wall itself.
fn why_asked(before: &Before, unexplained: bool, limit: StampedLength) -> String {
    let (earlier, off) = (before.thickness, before.expanded);
    let dated = if before.corrected {
        before.dated()
    } else {
        format!("read {}", before.dated())
    };
    match before.under.filter(|_| !unexplained) {
        None => format!(
            "is thicker than {earlier}, {dated}, by more than both readings can be off ({off}, k = 2). Metal does not grow"
        ),
        Some(under) => format!(
            "keeps the limit of {limit}, and {earlier}, {dated}, did not keep that of {under}. Both readings can be off by {off} (k = 2), and metal does not come back"
        ),
    }
}

/// What a wall is asked about for, held against another reading of it, and whether it is thicker by more than
/// both can be off; none where it is not asked about. The other reading comes with its day and whether it is what
/// this one corrects.
fn asked_about(
    (on, last, corrected): &(Date, Reading, bool),
    reading: &Reading,
) -> Result<Option<(Before, bool)>> {
    let (Some(thickness), Some(now)) = (last.wall, reading.measured()) else {
        return Ok(None);
    };
    // An older entry kept nothing of it: then its last digit alone counts, as in how the wall wears.
    let standard = last.wall_off;
    let before = Measured {
        thickness,
        standard,
    };
    let found = growth(before, now).map_err(|error| refused("wall", error.to_string()))?;
    let lifted = last.is_thin() && !reading.is_thin();
    if !found.unexplained && !lifted {
        return Ok(None);
    }
    let before = Before {
        thickness,
        on: *on,
        standard,
        expanded: found.expanded,
        under: lifted.then_some(last.limits.wall),
        corrected: *corrected,
    };
    Ok(Some((before, found.unexplained)))
}

/// Of the readings of a wall in their order those that a later one is held against: the last since its part
/// was new, and the one under its limit that still counts.
fn since_its_part_was_new(all: Vec<WallRead>) -> Vec<WallRead> {
    let readings = all.iter().map(|one| &one.reading).enumerate();
    let thin = still_thin(readings).map(|(at, _)| at);
    let new = |one: &WallRead| one.reading.seen == FaceSeen::Renewed;
    let since = all.iter().rposition(new).unwrap_or(0);
    let last = all.iter().rposition(|one| one.reading.wall.is_some());
    let last = last.filter(|last| *last >= since);
    let held = |at: usize| Some(at) == last || Some(at) == thin;
    let all = all.into_iter().enumerate();
    all.filter(|(at, _)| held(*at))
        .map(|(_, one)| one)
        .collect()
}

/// What an entry and those it corrects say of a wall under its limit.
fn thin_versions<'a>(
    course: &'a Course,
    old: &'a Entry,
) -> impl Iterator<Item = (&'a Entry, &'a Reading)> {
    course.versions(old).filter_map(|entry| match &entry.facts {
        Facts::Face(reading) if reading.is_thin() => Some((entry, &**reading)),
        _ => None,
    })
}

/// Whether what is said now is said of a new part, and what was said before of the one it replaced.
fn is_another_part(was: &Reading, is: &Reading) -> bool {
    is.seen == FaceSeen::Renewed && was.seen != FaceSeen::Renewed
}

/// Holds a correction to what was under its limit: the wall stays where it was read, and is not left out.
///
/// # Errors
/// Refuses another section, another face, and no wall of a part that is not new.
pub(super) fn keeps_a_thin_wall(
    course: &Course,
    old: &Entry,
    (section, facts): (Option<u8>, &Facts),
) -> Result<()> {
    let Facts::Face(is) = facts else {
        return Ok(());
    };
    for (entry, was) in thin_versions(course, old) {
        let Some(wall) = was.wall else {
            continue;
        };
        let thin = format!("{wall} of wall was under the limit of {}", was.limits.wall);
        let stays = |what: &str| {
            format!(
                "Here {thin}, and a correction leaves that in its place. Correct the wall here, and record another {what} by itself"
            )
        };
        if entry.section != section {
            return Err(refused("section", stays("section")));
        }
        if was.face != is.face {
            return Err(refused("face", stays("face")));
        }
        if is.wall.is_none() && !is_another_part(was, is) {
            let words = format!(
                "{thin}, and leaving it out does not bring the metal back: say what the wall is, or that the part is new"
            );
            return Err(refused("wall", words));
        }
    }
    Ok(())
}

/// Holds a correction that brings a wall from under its limit over it to a second person: what whoever read it
/// called scrap is not made good by them alone, whatever they say of it.
///
/// # Errors
/// Refuses anybody but an engineer who did not record the wall under its limit.
pub(super) fn lifted_by_another(
    deed: &Deed,
    course: &Course,
    old: &Entry,
    facts: &Facts,
) -> Result<()> {
    let (Facts::Face(was), Facts::Face(is)) = (&old.facts, facts) else {
        return Ok(());
    };
    let Some((first, _)) = thin_versions(course, old).last() else {
        return Ok(());
    };
    if !was.is_thin() || is.is_thin() {
        return Ok(());
    }
    let engineer = deed.who().role == Some(Role::Engineer);
    if engineer && deed.person()? != first.person_id {
        return Ok(());
    }
    let words = format!(
        "{} recorded this wall under the limit, so its part is scrap. An engineer other than {} decides whether that was wrong, and corrects it here. Until then renew the part, or read the wall again and record that as a reading of its own",
        first.person, first.person
    );
    Err(refused("wall", words))
}

/// What a correction leaves as it was keeps what the register found of it; and while the wall itself stays as it
/// was, in the same section, what was confirmed of it.
pub(super) fn keep_what_was_found(was: &Reading, is: &mut Reading, same_section: bool) {
    is.off = was.off;
    is.wall_off = was.wall_off;
    let unchanged = same_section
        && was.wall == is.wall
        && was.wall.map(|wall| wall.value.scale()) == is.wall.map(|wall| wall.value.scale())
        && was.wall_instrument == is.wall_instrument
        && was.face == is.face
        && !is_another_part(was, is);
    if let Some(confirmed) = was.thicker.as_ref().filter(|_| unchanged) {
        let typed = is.thicker.take().map(|typed| typed.reason);
        let reason = typed.filter(|reason| !reason.trim().is_empty());
        is.thicker = Some(Thicker {
            reason: reason.unwrap_or_else(|| confirmed.reason.clone()),
            ..confirmed.clone()
        });
    }
}
