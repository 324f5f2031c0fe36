//! A remark at any time of an open rebuild.
//! What belongs to a step is recorded with the step.

use serde::Deserialize;
use sqlx::SqliteConnection;

use super::job::Job;
use super::sheet::Form;
use super::step::Step;
use crate::acts::bench::Recorded;
use crate::pages::chrome::Chrome;
use crate::pages::form::{Errors, Reader};
use crate::record::bench::{Entry, Facts};
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) text: String,
}

impl Step for Typed {
    fn of(entry: &Entry) -> Option<Self> {
        match &entry.facts {
            Facts::Remark { text } => Some(Self { text: text.clone() }),
            _ => None,
        }
    }

    fn read(&self, _: &Job, _: &Chrome) -> Result<Recorded, Errors> {
        let mut read = Reader::new();
        let text = read.needed(
            "text",
            &self.text,
            2000,
            "Write the remark, at most 2000 characters",
        );
        read.finish(text.map(|text| Recorded {
            section: None,
            facts: Facts::Remark { text },
        }))
    }

    async fn form(self, _: &mut SqliteConnection, _: &Job, _: &Chrome) -> store::Result<Form> {
        Ok(Form::Remark(self))
    }
}
