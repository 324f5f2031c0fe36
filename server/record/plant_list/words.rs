//! Words in the cells of a list: yes and no, reflex and transparent, bolts and studs, and what
//! people write where they know nothing. Numbers, dates and units are elsewhere.

use super::headings;
use crate::record::gauge::{BoltForm, Isolation, Kind};

/// Whether a cell says only that nothing is known.
#[must_use]
pub fn says_nothing(cell: &str) -> bool {
    let cell = cell.trim();
    cell.is_empty()
        || cell
            .chars()
            .all(|c| matches!(c, '-' | '\u{2013}' | '\u{2014}' | '?' | '.' | '/' | '*'))
        || matches!(
            headings::plain(cell).as_str(),
            "n a"
                | "na"
                | "none"
                | "nil"
                | "unknown"
                | "unk"
                | "tbc"
                | "tbd"
                | "tba"
                | "not known"
                | "not available"
        )
        || unreadable(cell)
}

/// Whether a cell says that somebody looked and could not read it.
#[must_use]
pub fn unreadable(cell: &str) -> bool {
    matches!(
        headings::plain(cell).as_str(),
        "illegible" | "unreadable" | "not legible" | "not readable"
    )
}

/// Whether a cell holds an error the spreadsheet itself shows ("#N/A", "#REF!").
#[must_use]
pub fn is_sheet_error(cell: &str) -> bool {
    matches!(
        cell.trim(),
        "#N/A"
            | "#REF!"
            | "#VALUE!"
            | "#DIV/0!"
            | "#NAME?"
            | "#NUM!"
            | "#NULL!"
            | "#GETTING_DATA"
            | "#DATA!"
            | "#SPILL!"
            | "#CALC!"
    )
}

/// The entry of a list of words that a cell names, one slip of the pen forgiven in long words.
fn named<T: Copy>(cell: &str, list: &[(&str, T)]) -> Option<T> {
    let word = headings::plain(cell);
    list.iter()
        .find(|(name, _)| word == *name)
        .or_else(|| {
            list.iter().find(|(name, _)| {
                name.len() >= 6 && strsim::osa_distance(&word, name) <= name.len() / 6
            })
        })
        .map(|(_, value)| *value)
}

/// Reflex or transparent.
#[must_use]
pub fn kind(cell: &str) -> Option<Kind> {
    use Kind::{Reflex, Transparent};
    named(
        cell,
        &[
            ("reflex", Reflex),
            ("r", Reflex),
            ("refl", Reflex),
            ("rfx", Reflex),
            ("reflex gauge", Reflex),
            ("reflex type", Reflex),
            ("prismatic", Reflex),
            ("transparent", Transparent),
            ("t", Transparent),
            ("transp", Transparent),
            ("trans", Transparent),
            ("transparent gauge", Transparent),
            ("transparent type", Transparent),
            ("see through", Transparent),
            ("through vision", Transparent),
        ],
    )
}

/// Yes or no.
#[must_use]
pub fn yes(cell: &str) -> Option<bool> {
    named(
        cell,
        &[
            ("yes", true),
            ("y", true),
            ("true", true),
            ("1", true),
            ("x", true),
            ("no", false),
            ("n", false),
            ("false", false),
            ("0", false),
        ],
    )
}

/// When a gauge can be isolated, from a column that asks whether it can be in service, or (turned)
/// whether it needs a shutdown.
#[must_use]
pub fn isolation(cell: &str, turned: bool) -> Option<Isolation> {
    use Isolation::{InService, ShutdownOnly};
    if let Some(yes) = yes(cell) {
        return Some(if yes == turned {
            ShutdownOnly
        } else {
            InService
        });
    }
    named(
        cell,
        &[
            ("in service", InService),
            ("can be isolated in service", InService),
            ("online", InService),
            ("on line", InService),
            ("on the run", InService),
            ("any time", InService),
            ("isolable", InService),
            ("shutdown only", ShutdownOnly),
            ("only in a shutdown window", ShutdownOnly),
            ("only in a shutdown", ShutdownOnly),
            ("shutdown", ShutdownOnly),
            ("outage", ShutdownOnly),
            ("outage only", ShutdownOnly),
            ("offline", ShutdownOnly),
            ("not isolable", ShutdownOnly),
        ],
    )
}

/// Bolts, studs or U-bolts.
#[must_use]
pub fn bolt_form(cell: &str) -> Option<BoltForm> {
    named(
        cell,
        &[
            ("bolts", BoltForm::Bolts),
            ("bolt", BoltForm::Bolts),
            ("hex bolts", BoltForm::Bolts),
            ("cap screws", BoltForm::Bolts),
            ("studs", BoltForm::Studs),
            ("stud", BoltForm::Studs),
            ("stud bolts", BoltForm::Studs),
            ("studbolts", BoltForm::Studs),
            ("u bolts", BoltForm::UBolts),
            ("u bolt", BoltForm::UBolts),
            ("ubolts", BoltForm::UBolts),
            ("ubolt", BoltForm::UBolts),
        ],
    )
}
