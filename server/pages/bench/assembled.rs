//! Assembled: the new kit fitted, threads lubricated, nameplate back under its bolt.
//! It is refused until new kits have been issued: glass and gaskets are never used again.

use serde::Deserialize;
use sqlx::SqliteConnection;

use super::job::Job;
use super::sheet::Form;
use super::step::{Options, Step, needed_tick, section, section_typed, ticked, words};
use crate::acts::bench::Recorded;
use crate::pages::chrome::Chrome;
use crate::pages::form::{Errors, Reader};
use crate::pages::show;
use crate::record::bench::{Entry, Facts, Fitted, Lubricant};
use crate::record::course::Next;
use crate::record::refusal::unticked;
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) section: String,
    pub(super) lubricant: String,
    pub(super) glass: String,
    pub(super) gaskets: String,
    pub(super) nameplate: String,
    pub(super) nuts: String,
    pub(super) note: String,
}

impl Typed {
    fn tick(&self, one: Fitted) -> &str {
        match one {
            Fitted::Gaskets | Fitted::GasketsBothSides => &self.gaskets,
            Fitted::Prisms | Fitted::Smooth => &self.glass,
            Fitted::Nameplate => &self.nameplate,
            Fitted::Nuts => &self.nuts,
        }
    }

    /// The ticks this gauge asks for: field, words, whether it is set.
    pub fn ticks(&self, job: &Job) -> Vec<(&'static str, String, bool)> {
        Fitted::asked(job.course.kind)
            .into_iter()
            .map(|one| {
                let set = !self.tick(one).is_empty();
                (one.field(), show::sentence(one), set)
            })
            .collect()
    }

    /// What threads may be lubricated with.
    pub fn lubricants(&self) -> Options {
        words(Lubricant::ALL, Lubricant::word, Lubricant::shown)
    }
}

impl Step for Typed {
    fn of(entry: &Entry) -> Option<Self> {
        let Facts::Assembled {
            lubricant, note, ..
        } = &entry.facts
        else {
            return None;
        };
        Some(Self {
            section: section_typed(entry.section),
            lubricant: lubricant.word().to_owned(),
            glass: ticked(),
            gaskets: ticked(),
            nameplate: ticked(),
            nuts: ticked(),
            note: note.clone(),
        })
    }

    fn read(&self, job: &Job, _: &Chrome) -> Result<Recorded, Errors> {
        let mut read = Reader::new();
        let place = section(&mut read, job, &self.section, true);
        let confirmed = Fitted::asked(job.course.kind);
        for one in confirmed {
            let words = unticked(one, "");
            needed_tick(&mut read, one.field(), self.tick(one), &words);
        }
        let lubricant = read.parse::<Lubricant>("lubricant", &self.lubricant);
        let note = read.text("note", &self.note, 2000);
        if lubricant == Some(Lubricant::Dry) && note.is_empty() {
            read.refuse(
                "note",
                "Dry threads take up torque that the gaskets then miss; say why none was used",
            );
        }
        let recorded = (|| {
            Some(Recorded {
                section: place?,
                facts: Facts::Assembled {
                    confirmed: confirmed.to_vec(),
                    lubricant: lubricant?,
                    note,
                },
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
        if let (true, Next::Assemble(next)) = (self.section.is_empty(), job.course.next()) {
            self.section = section_typed(next);
        }
        Ok(Form::Assembled(self))
    }
}
