//! Made safe: isolated, locked and tagged, drained, flushed where the service asks for it, vented,
//! proved free of pressure, cold; each confirmed by its name. Nothing is loosened before.

use serde::Deserialize;
use sqlx::SqliteConnection;

use super::job::Job;
use super::sheet::Form;
use super::step::{Step, needed_tick, ticked};
use crate::acts::bench::Recorded;
use crate::pages::chrome::Chrome;
use crate::pages::form::{Errors, Reader};
use crate::pages::show;
use crate::record::bench::{Condition, Entry, Facts, Safe};
use crate::record::refusal::unticked;
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) permit: String,
    pub(super) lock: String,
    pub(super) isolated: String,
    pub(super) vessel: String,
    pub(super) locked: String,
    pub(super) drained: String,
    pub(super) flushed: String,
    pub(super) vented: String,
    pub(super) zero: String,
    pub(super) cold: String,
}

impl Typed {
    fn tick(&self, condition: Condition) -> &str {
        match condition {
            Condition::Isolated => &self.isolated,
            Condition::VesselOut => &self.vessel,
            Condition::LockedOut => &self.locked,
            Condition::Drained => &self.drained,
            Condition::Flushed => &self.flushed,
            Condition::Vented => &self.vented,
            Condition::ZeroPressure => &self.zero,
            Condition::Cold => &self.cold,
        }
    }

    /// The ticks this gauge asks for: field, words, whether it is set.
    pub fn ticks(&self, job: &Job) -> Vec<(&'static str, String, bool)> {
        let asked = job.course.made_safe_by().into_iter();
        asked
            .map(|one| {
                let set = !self.tick(one).is_empty();
                (one.field(), show::sentence(one), set)
            })
            .collect()
    }
}

impl Step for Typed {
    fn of(entry: &Entry) -> Option<Self> {
        let Facts::MadeSafe(safe) = &entry.facts else {
            return None;
        };
        // Older entries confirmed all there was then in one; of the vessel they say nothing.
        let all = safe.confirmed.is_empty();
        let tick = |one: Condition| {
            let confirmed = safe.confirmed.contains(&one);
            let set = confirmed || (all && one != Condition::VesselOut);
            if set { ticked() } else { String::new() }
        };
        Some(Self {
            permit: safe.permit.clone(),
            lock: safe.lock.clone(),
            isolated: tick(Condition::Isolated),
            vessel: tick(Condition::VesselOut),
            locked: tick(Condition::LockedOut),
            drained: tick(Condition::Drained),
            flushed: tick(Condition::Flushed),
            vented: tick(Condition::Vented),
            zero: tick(Condition::ZeroPressure),
            cold: tick(Condition::Cold),
        })
    }

    fn read(&self, job: &Job, _: &Chrome) -> Result<Recorded, Errors> {
        let mut read = Reader::new();
        let confirmed = job.course.made_safe_by();
        for one in &confirmed {
            needed_tick(
                &mut read,
                one.field(),
                self.tick(*one),
                &unticked(one, "nothing is loosened before that"),
            );
        }
        let permit = read.needed(
            "permit",
            &self.permit,
            60,
            "Write the permit\u{2019}s number, or \u{201c}none\u{201d} where the plant asks for none",
        );
        let lock = read.needed(
            "lock",
            &self.lock,
            60,
            "Write the number of the lock or tag",
        );
        let facts = permit.zip(lock).map(|(permit, lock)| {
            Facts::MadeSafe(Safe {
                permit,
                lock,
                confirmed,
            })
        });
        read.finish(facts.map(|facts| Recorded {
            section: None,
            facts,
        }))
    }

    async fn form(self, _: &mut SqliteConnection, _: &Job, _: &Chrome) -> store::Result<Form> {
        Ok(Form::MadeSafe(self))
    }
}
