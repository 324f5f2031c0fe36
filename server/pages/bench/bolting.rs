//! The bolting: renewed, or every nut run by hand over the whole thread; a hanging nut stops.
//! It is also recorded from the tightening when a nut hangs there.

use serde::Deserialize;
use sqlx::SqliteConnection;

use super::job::Job;
use super::sheet::Form;
use super::step::{Options, Step, section, section_typed, words};
use crate::acts::bench::Recorded;
use crate::pages::chrome::Chrome;
use crate::pages::form::{Errors, Reader};
use crate::record::bench::{BoltingDone, Entry, Facts};
use crate::record::course::Next;
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) section: String,
    pub(super) done: String,
    pub(super) note: String,
}

impl Typed {
    /// How bolting may be brought in order.
    pub fn ways(&self) -> Options {
        words(BoltingDone::ALL, BoltingDone::word, BoltingDone::shown)
    }
}

impl Step for Typed {
    fn of(entry: &Entry) -> Option<Self> {
        let Facts::Bolting { done, note } = &entry.facts else {
            return None;
        };
        Some(Self {
            section: section_typed(entry.section),
            done: done.word().to_owned(),
            note: note.clone(),
        })
    }

    fn read(&self, job: &Job, _: &Chrome) -> Result<Recorded, Errors> {
        let mut read = Reader::new();
        let place = section(&mut read, job, &self.section, true);
        let done = read.parse("done", &self.done);
        let note = read.text("note", &self.note, 2000);
        let recorded = (|| {
            Some(Recorded {
                section: place?,
                facts: Facts::Bolting { done: done?, note },
            })
        })();
        read.finish(recorded)
    }

    async fn form(
        mut self,
        _: &mut SqliteConnection,
        job: &Job,
        _: &Chrome,
    ) -> store::Result<Form> {
        if let (true, Next::CheckBolting(next)) = (self.section.is_empty(), job.course.next()) {
            self.section = section_typed(next);
        }
        Ok(Form::Bolting(self))
    }
}
