//! What may be recorded at the bench now: the order of work, what fits the gauge, and whether a
//! colleague was quicker. What comes next is in `next.rs`.

use super::next::BENCH;
use super::{Course, Next, Stage};
use crate::record::bench::{BackInService, Entry, Facts, Fitted, Topic};
use crate::record::face::FaceOf;
use crate::record::rebuild::RebuildState;
use crate::record::refusal::{FieldError, unticked};

impl Course {
    /// Whether an entry of this kind may be made now.
    ///
    /// # Errors
    /// Names what has to come first, or the field that does not fit the gauge.
    pub fn may_record(&self, section: Option<u8>, facts: &Facts) -> Result<(), FieldError> {
        let no = |message: String| Err(FieldError::new("", message));
        let topic = facts.topic();
        if self.state.finished() {
            return no(format!(
                "This rebuild is {}; nothing is added to it",
                self.state
            ));
        }
        self.fits(section, facts)?;
        if topic == Topic::Remark {
            return Ok(());
        }
        if matches!(self.state, RebuildState::Planned | RebuildState::Ready) {
            return no("The gauge is not at the bench yet; start the rebuild first".to_owned());
        }
        if topic == Topic::Returned {
            return match self.next() {
                Next::Return => Ok(()),
                Next::TakeBack => {
                    no("The gauge failed its pressure test; take it back to the bench".to_owned())
                }
                _ => no("The gauge is returned after it has passed its pressure test".to_owned()),
            };
        }
        if self.state == RebuildState::OnTest {
            return no(
                "The gauge is on test; take it back to the bench to change what was done"
                    .to_owned(),
            );
        }
        for stage in before(topic) {
            if let Some(why) = self.missing(*stage) {
                return no(why);
            }
        }
        if topic == Topic::Assembled && self.kits_short(section) > 0 {
            return no(self.missing(Stage::Assembled).unwrap_or_else(|| {
                "Issue new glass and gaskets first, old ones are never used again".to_owned()
            }));
        }
        Ok(())
    }

    /// Whether an entry fits the gauge it speaks of, whatever was recorded before.
    ///
    /// # Errors
    /// Names the field that does not.
    pub fn fits(&self, section: Option<u8>, facts: &Facts) -> Result<(), FieldError> {
        let no = |field: &str, message: &str| Err(FieldError::new(field, message));
        if section.is_some_and(|s| s == 0 || s > self.sections) {
            return no("section", "The gauge has no such section");
        }
        match facts {
            Facts::MadeSafe(safe) => match self
                .made_safe_by()
                .into_iter()
                .find(|one| !safe.confirmed.contains(one))
            {
                Some(open) => no(
                    open.field(),
                    &unticked(open, "nothing is loosened before that"),
                ),
                None => Ok(()),
            },
            Facts::Stripped(found) => match found.fits(self.kind) {
                Err((field, message)) => no(field, message),
                Ok(()) => Ok(()),
            },
            Facts::Returned { confirmed, .. } => {
                let mut all = BackInService::ALL.iter();
                match all.find(|one| !confirmed.contains(one)) {
                    Some(open) => no(open.field(), &unticked(open, "")),
                    None => Ok(()),
                }
            }
            Facts::Assembled { confirmed, .. } => {
                let mut all = Fitted::asked(self.kind).into_iter();
                match all.find(|one| !confirmed.contains(one)) {
                    Some(open) => no(open.field(), &unticked(open, "")),
                    None => Ok(()),
                }
            }
            Facts::Face(reading) => {
                if section.is_none() {
                    return no("section", "Choose the section this face belongs to");
                }
                if !FaceOf::of(self.kind).contains(&reading.face) {
                    return no("face", "A reflex gauge has no such face");
                }
                if let Some((field, message)) = reading.lacks() {
                    return no(field, message);
                }
                match reading.may_be_cut() {
                    Err((field, message)) => no(field, &message),
                    Ok(()) => Ok(()),
                }
            }
            Facts::Tightened(_) if section.is_none() => {
                no("section", "Choose the section that was tightened")
            }
            Facts::Tightened(t) if t.passes.last() != Some(&t.target.value) => {
                no("torque", "The last pass has to end on the target")
            }
            _ => Ok(()),
        }
    }

    /// Somebody else's entry about the same thing, made after the page that is posted was opened.
    pub fn overtaken(&self, section: Option<u8>, facts: &Facts, seen: i64) -> Option<&Entry> {
        self.entries.iter().rev().find(|entry| {
            let same_place = match (entry.section, section) {
                (Some(a), Some(b)) => a == b,
                _ => true,
            };
            let same_face = match (&entry.facts, facts) {
                (Facts::Face(a), Facts::Face(b)) => a.face == b.face,
                _ => true,
            };
            entry.id.0 > seen
                && facts.topic() != Topic::Remark
                && entry.facts.topic() == facts.topic()
                && same_place
                && same_face
        })
    }
}

/// The stages that have to be complete before a step.
fn before(topic: Topic) -> &'static [Stage] {
    let stages = match topic {
        Topic::MadeSafe | Topic::Remark => 0,
        Topic::Stripped => 1,
        Topic::Bolting | Topic::Face => 2,
        Topic::Assembled => 3,
        Topic::Tightened => 4,
        Topic::Returned => BENCH.len(),
    };
    &BENCH[..stages]
}
