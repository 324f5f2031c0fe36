//! Deeds on a seating face as it is read: its instruments, and its wall held against the last reading of
//! the same part. Whether a face may be used is judged in `record::face`.

use time::Date;

use super::bench::{instrument, refused};
use super::{Deed, Result};
use crate::calc::calendar::said;
use crate::calc::wall::{Measured, growth};
use crate::record::bench::{Entry, Facts};
use crate::record::course::Course;
use crate::record::face::{Before, FaceSeen, Reading, Thicker};
use crate::record::instrument::{Instrument, InstrumentKind};
use crate::record::refusal::FieldError;
use crate::record::{EntryId, GaugeId, InstrumentId, Moment, Refusal};
use crate::store;

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

/// Holds a wall against the last reading of the same part, in earlier rebuilds too. One that is thicker by
/// more than both readings can be off is asked about, and recorded with what was said of it.
///
/// # Errors
/// Refuses such a wall where it was not said that it was read again and is so, and why.
pub(super) async fn hold_against_the_last(
    deed: &mut Deed,
    (gauge, course, section): (GaugeId, &Course, Option<u8>),
    reading: &mut Reading,
    (corrects, on): (Option<&Entry>, Date),
) -> Result<()> {
    let told = reading.thicker.take();
    let (Some(section), Some(now)) = (section, reading.measured()) else {
        return Ok(());
    };
    if reading.seen == FaceSeen::Renewed {
        return Ok(());
    }
    let place = (gauge, course, section);
    let Some((at, last)) = last_reading(deed, place, reading, corrects).await? else {
        return Ok(());
    };
    let Some(thickness) = last.wall else {
        return Ok(());
    };
    let day = deed.zone().date(at);
    // An older entry kept nothing of it: then its last digit alone counts, as in how the wall wears.
    let standard = last.wall_off;
    let before = Measured {
        thickness,
        standard,
    };
    let found = growth(before, now).map_err(|error| refused("wall", error.to_string()))?;
    if !found.unexplained {
        return Ok(());
    }
    let (read_again, reason) = told.map_or_else(Default::default, |told| {
        (told.read_again, told.reason.trim().to_owned())
    });
    let mut faults = Vec::new();
    if !read_again || reason.is_empty() {
        let words = format!(
            "{}, read on {}, is thicker than {}, read on {}, by more than both readings can be off ({}, k = 2). Metal does not grow: was it the right place, the right unit, the right instrument?",
            now.thickness,
            said(on),
            thickness,
            said(day),
            found.expanded
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
        before: Some(Before {
            thickness,
            on: day,
            standard,
            expanded: found.expanded,
        }),
    });
    Ok(())
}

/// The last reading of the wall behind a face since its part was new, and when it was read.
async fn last_reading(
    deed: &mut Deed,
    (gauge, course, section): (GaugeId, &Course, u8),
    reading: &Reading,
    corrects: Option<&Entry>,
) -> Result<Option<(Moment, Reading)>> {
    let all = store::bench::wall_readings(deed.db(), gauge, section, reading.face).await?;
    // A correction keeps the place in time of what it corrects.
    let place = |id: EntryId| {
        course
            .entry(id)
            .map_or(id.0, |entry| course.origin(entry).id.0)
    };
    let own = corrects.map_or(i64::MAX, |entry| course.origin(entry).id.0);
    let mut before: Vec<_> = all
        .into_iter()
        .map(|(id, at, facts)| (place(id), at, facts))
        .filter(|(place, ..)| *place < own)
        .collect();
    before.sort_by_key(|(place, ..)| *place);
    Ok(before.into_iter().fold(None, |last, (_, at, facts)| {
        let Facts::Face(one) = facts else {
            return last;
        };
        match (one.wall, one.seen) {
            (Some(_), _) => Some((at, *one)),
            (None, FaceSeen::Renewed) => None,
            (None, _) => last,
        }
    }))
}

/// What a correction leaves as it was about a wall keeps what the register found of it.
pub(super) fn keep_what_was_found(was: &Reading, is: &mut Reading) {
    is.wall_off = was.wall_off;
    if let (Some(was), Some(is)) = (&was.thicker, &mut is.thicker) {
        is.before.clone_from(&was.before);
    }
}
