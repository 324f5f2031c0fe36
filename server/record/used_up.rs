//! A wall that the register reckons used up, though nothing recorded stops the rebuild: what is said of it at
//! the bench while the gauge is open. How walls wear is in `wear.rs`.

use super::sentence::Sentence;
use super::wear::Wear;
use crate::calc::calendar::said;
use crate::calc::quantity::StampedLength;
use crate::calc::seat;
use crate::calc::wall::Outlook;

/// What is said of such a wall; none where it is not used up. `of` names its section, where there are several.
pub fn caution(wear: &Wear, least: StampedLength, of: &str) -> Option<Sentence> {
    let read = wear.wall.readings.last()?;
    if !matches!(wear.life.outlook, Outlook::Spent) {
        return None;
    }
    let kept = seat::wall(read.thickness, least).is_ok_and(|judged| judged.kept);
    let under = if kept {
        "but by all its readings it is reckoned to be at or under"
    } else {
        "under"
    };
    let told = Sentence::of(format!(
        "The wall behind the {}{of} was last read as ",
        wear.wall.place.face
    ))
    .figure(read.thickness)
    .words(format!(" on {}, {under} the least wall of ", said(read.on)))
    .at_least(least);
    let told = match &wear.kept {
        None => told,
        Some(kept) => told
            .words("; it counts as no thicker than ")
            .figure(kept.thickness)
            .words(format!(" on {}", said(kept.on))),
    };
    Some(told.words(
        ". As recorded, the gauge falls due again at once: renew the part, or an engineer decides.",
    ))
}
