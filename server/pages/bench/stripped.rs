//! Stripped: what glass, gaskets, shields and bolting looked like side by side, where it leaked and
//! what the cause of the work was. Old glass and gaskets are thrown away, always.

use serde::Deserialize;
use sqlx::SqliteConnection;

use super::bolt_plan::{BoltPlan, Order};
use super::job::Job;
use super::sheet::Form;
use super::step::{Options, Step, needed_tick, section, section_typed, ticked, words};
use crate::acts::bench::Recorded;
use crate::pages::chrome::Chrome;
use crate::pages::form::{Errors, Reader};
use crate::record::bench::{Entry, Facts};
use crate::record::course::Next;
use crate::record::found::{
    BoltingFound, GasketFound, GlassFound, LeakPath, ShieldFound, Side, Stripping, THROWN_AWAY,
};
use crate::record::gauge::Kind;
use crate::record::rebuild::Cause;
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) section: String,
    pub(super) bolting: String,
    pub(super) glass: String,
    pub(super) seal: String,
    pub(super) cushion: String,
    pub(super) shield: String,
    pub(super) back_glass: String,
    pub(super) back_seal: String,
    pub(super) back_cushion: String,
    pub(super) back_shield: String,
    pub(super) leak: String,
    pub(super) cause: String,
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

    /// What a shield may look like.
    pub fn shields(&self) -> Options {
        words(ShieldFound::ALL, ShieldFound::word, ShieldFound::shown)
    }

    /// Where it may leak.
    pub fn leaks(&self) -> Options {
        words(LeakPath::ALL, LeakPath::word, LeakPath::shown)
    }

    /// What bolting may look like.
    pub fn boltings(&self) -> Options {
        words(BoltingFound::ALL, BoltingFound::word, BoltingFound::shown)
    }

    /// What the cause of the work may be.
    pub fn causes(&self) -> Options {
        words(Cause::ALL, Cause::word, Cause::shown)
    }
}

impl Typed {
    fn side(read: &mut Reader, names: [&str; 3], typed: [&str; 3], shielded: bool) -> Option<Side> {
        let seal = read.parse(names[0], typed[0]);
        let cushion = read.parse(names[1], typed[1]);
        let shield = if shielded {
            read.parse(names[2], typed[2]).map(Some)
        } else {
            Some(None)
        };
        Some(Side {
            seal: seal?,
            cushion: cushion?,
            shield: shield?,
        })
    }
}

impl Step for Typed {
    fn of(entry: &Entry) -> Option<Self> {
        let Facts::Stripped(found) = &entry.facts else {
            return None;
        };
        let shield = |side: &Side| side.shield.map_or("", ShieldFound::word).to_owned();
        let mut typed = Self {
            section: section_typed(entry.section),
            bolting: found.bolting.map_or("", BoltingFound::word).to_owned(),
            glass: found.glass.word().to_owned(),
            seal: found.front.seal.word().to_owned(),
            cushion: found.front.cushion.word().to_owned(),
            shield: shield(&found.front),
            back_glass: found.back_glass.map_or("", GlassFound::word).to_owned(),
            leak: found.leak.word().to_owned(),
            cause: found.cause.map_or("", Cause::word).to_owned(),
            thrown: ticked(),
            note: found.note.clone(),
            ..Self::default()
        };
        if let Some(back) = &found.back {
            back.seal.word().clone_into(&mut typed.back_seal);
            back.cushion.word().clone_into(&mut typed.back_cushion);
            typed.back_shield = shield(back);
        }
        Some(typed)
    }

    fn read(&self, job: &Job, _: &Chrome) -> Result<Recorded, Errors> {
        let mut read = Reader::new();
        let transparent = job.course.kind == Kind::Transparent;
        let place = section(&mut read, job, &self.section, true);
        let bolting = read.parse("bolting", &self.bolting);
        let glass = read.parse("glass", &self.glass);
        let front = Self::side(
            &mut read,
            ["seal", "cushion", "shield"],
            [&self.seal, &self.cushion, &self.shield],
            transparent,
        );
        let (back_glass, back) = if transparent {
            let glass = read.parse("back_glass", &self.back_glass);
            let side = Self::side(
                &mut read,
                ["back_seal", "back_cushion", "back_shield"],
                [&self.back_seal, &self.back_cushion, &self.back_shield],
                true,
            );
            (glass.map(Some), side.map(Some))
        } else {
            (Some(None), Some(None))
        };
        let leak = read.parse("leak", &self.leak);
        let cause = read.parse("cause", &self.cause);
        needed_tick(&mut read, "thrown", &self.thrown, THROWN_AWAY);
        let note = read.text("note", &self.note, 2000);
        if cause == Some(Cause::Other) && note.is_empty() {
            read.refuse("note", "Say in a few words what the cause of the work was");
        }
        let recorded = (|| {
            Some(Recorded {
                section: place?,
                facts: Facts::Stripped(Box::new(Stripping {
                    glass: glass?,
                    back_glass: back_glass?,
                    front: front?,
                    back: back?,
                    leak: leak?,
                    bolting: Some(bolting?),
                    thrown_away: !self.thrown.is_empty(),
                    cause: Some(cause?),
                    note,
                })),
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
        if self.cause.is_empty() {
            // What was expected stands until the open gauge shows something else.
            job.rebuild.cause.word().clone_into(&mut self.cause);
        }
        Ok(Form::Stripped(Box::new(View {
            typed: self,
            back: job.course.kind == Kind::Transparent,
            picture: BoltPlan::of(&job.gauge, Order::Loosening),
        })))
    }
}
