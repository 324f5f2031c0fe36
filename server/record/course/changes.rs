//! What a correction at the bench changes, label by label, for the history of its gauge. What may be corrected is
//! decided in `acts`.

use super::Course;
use crate::record::bench::{Entry, Facts};
use crate::record::gauge::Change;

impl Course {
    /// What differs between an entry and what corrects it, each named with what it is about: "Chamber recess of
    /// section 1, wall".
    pub fn changes(&self, old: &Entry, section: Option<u8>, facts: &Facts) -> Vec<Change> {
        let told = |facts: &Facts, section: Option<u8>| -> Vec<(&'static str, String)> {
            let pairs = facts.told().into_iter();
            let pairs = pairs.map(|(label, said)| (label, said.to_string()));
            let place = section.filter(|_| self.sections > 1);
            let place = place.map(|section| ("Section", section.to_string()));
            place.into_iter().chain(pairs).collect()
        };
        let (before, after) = (told(&old.facts, old.section), told(facts, section));
        let new = after.iter().map(|(label, _)| *label);
        let new = new.filter(|label| before.iter().all(|(other, _)| other != label));
        let labels = before.iter().map(|(label, _)| *label).chain(new);
        let value = |pairs: &[(&'static str, String)], label: &str| {
            let found = pairs.iter().find(|(other, _)| *other == label);
            found.map_or_else(String::new, |(_, said)| said.clone())
        };
        let about = format!("{}{}", self.title(old), self.of_section(old.section));
        labels
            .map(|label| Change {
                what: format!("{about}, {}", label.to_lowercase()),
                before: value(&before, label),
                after: value(&after, label),
            })
            .filter(|change| change.before != change.after)
            .collect()
    }
}
