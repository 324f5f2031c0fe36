//! Made safe: isolated, locked and tagged, drained, vented, proved without pressure, cold.
//! Nothing is loosened before all of it is confirmed.

use serde::Deserialize;
use sqlx::SqliteConnection;

use super::job::Job;
use super::sheet::Form;
use super::step::{Step, needed_tick, ticked};
use crate::acts::bench::Recorded;
use crate::pages::chrome::Chrome;
use crate::pages::form::{Errors, Reader};
use crate::record::bench::{Entry, Facts, Safe};
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) permit: String,
    pub(super) lock: String,
    pub(super) isolated: String,
    pub(super) locked: String,
    pub(super) drained: String,
    pub(super) vented: String,
    pub(super) zero: String,
    pub(super) cold: String,
}

impl Typed {
    /// The ticks: field, words, whether it is set.
    pub fn ticks(&self) -> [(&'static str, &'static str, bool); 6] {
        let set = |typed: &str| !typed.is_empty();
        [
            (
                "isolated",
                "Both gauge valves are shut and the gauge is isolated",
                set(&self.isolated),
            ),
            ("locked", "Locked out and tagged", set(&self.locked)),
            ("drained", "Drained", set(&self.drained)),
            ("vented", "Vented", set(&self.vented)),
            ("zero", "Proved without pressure", set(&self.zero)),
            ("cold", "Cold enough to touch", set(&self.cold)),
        ]
    }
}

impl Step for Typed {
    fn of(entry: &Entry) -> Option<Self> {
        let Facts::MadeSafe(safe) = &entry.facts else {
            return None;
        };
        Some(Self {
            permit: safe.permit.clone(),
            lock: safe.lock.clone(),
            isolated: ticked(),
            locked: ticked(),
            drained: ticked(),
            vented: ticked(),
            zero: ticked(),
            cold: ticked(),
        })
    }

    fn read(&self, _: &Job, _: &Chrome) -> Result<Recorded, Errors> {
        let mut read = Reader::new();
        for (field, what, set) in self.ticks() {
            let typed = if set { "yes" } else { "" };
            needed_tick(
                &mut read,
                field,
                typed,
                &format!("{what}: tick this when it is so; nothing is loosened before"),
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
        let facts = permit
            .zip(lock)
            .map(|(permit, lock)| Facts::MadeSafe(Safe { permit, lock }));
        read.finish(facts.map(|facts| Recorded {
            section: None,
            facts,
        }))
    }

    async fn form(self, _: &mut SqliteConnection, _: &Job, _: &Chrome) -> store::Result<Form> {
        Ok(Form::MadeSafe(self))
    }
}
