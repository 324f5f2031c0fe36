//! Stripped: what glass and gaskets looked like and where it leaked, section by section.
//! Old glass and gaskets are thrown away, always.

use serde::Deserialize;
use sqlx::SqliteConnection;

use super::bolt_plan::{BoltPlan, Order};
use super::job::Job;
use super::sheet::Form;
use super::step::{Options, Step, needed_tick, section, section_typed, ticked, words};
use crate::acts::bench::Recorded;
use crate::pages::chrome::Chrome;
use crate::pages::form::{Errors, Reader};
use crate::record::bench::{Entry, Facts, GasketFound, GlassFound, LeakPath};
use crate::record::course::Next;
use crate::record::gauge::Kind;
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) section: String,
    pub(super) glass: String,
    pub(super) back_glass: String,
    pub(super) seal: String,
    pub(super) cushion: String,
    pub(super) leak: String,
    pub(super) thrown: String,
    pub(super) note: String,
}

/// The form with its picture.
#[derive(Debug, Clone)]
pub struct View {
    /// What is typed.
    pub typed: Typed,
    /// Whether there is a glass at the back.
    pub back: bool,
    /// The nuts in the order they are loosened.
    pub picture: Option<BoltPlan>,
}

impl View {
    /// What glass may look like.
    pub fn glasses(&self) -> Options {
        words(GlassFound::ALL, GlassFound::word, GlassFound::shown)
    }

    /// What gaskets may look like.
    pub fn gaskets(&self) -> Options {
        words(GasketFound::ALL, GasketFound::word, GasketFound::shown)
    }

    /// Where it may leak.
    pub fn leaks(&self) -> Options {
        words(LeakPath::ALL, LeakPath::word, LeakPath::shown)
    }
}

impl Step for Typed {
    fn of(entry: &Entry) -> Option<Self> {
        let Facts::Stripped {
            glass,
            back_glass,
            seal,
            cushion,
            leak,
            note,
        } = &entry.facts
        else {
            return None;
        };
        Some(Self {
            section: section_typed(entry.section),
            glass: glass.word().to_owned(),
            back_glass: back_glass.map_or("", GlassFound::word).to_owned(),
            seal: seal.word().to_owned(),
            cushion: cushion.word().to_owned(),
            leak: leak.word().to_owned(),
            thrown: ticked(),
            note: note.clone(),
        })
    }

    fn read(&self, job: &Job, _: &Chrome) -> Result<Recorded, Errors> {
        let mut read = Reader::new();
        let place = section(&mut read, job, &self.section, true);
        let glass = read.parse("glass", &self.glass);
        let back_glass = match job.course.kind {
            Kind::Reflex => Some(None),
            Kind::Transparent => read.parse("back_glass", &self.back_glass).map(Some),
        };
        let seal = read.parse("seal", &self.seal);
        let cushion = read.parse("cushion", &self.cushion);
        let leak = read.parse("leak", &self.leak);
        needed_tick(
            &mut read,
            "thrown",
            &self.thrown,
            "Old glass and gaskets are thrown away, even when they look sound",
        );
        let note = read.text("note", &self.note, 2000);
        let recorded = (|| {
            Some(Recorded {
                section: place?,
                facts: Facts::Stripped {
                    glass: glass?,
                    back_glass: back_glass?,
                    seal: seal?,
                    cushion: cushion?,
                    leak: leak?,
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
        if let (true, Next::Strip(next)) = (self.section.is_empty(), job.course.next()) {
            self.section = next.to_string();
        }
        Ok(Form::Stripped(View {
            typed: self,
            back: job.course.kind == Kind::Transparent,
            picture: BoltPlan::of(&job.gauge, Order::Loosening),
        }))
    }
}
