//! What is recorded at the bench, step by step, as facts that are never changed: a correction
//! supersedes. How the entries are asked for on the page is not decided here.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::ids::{EntryId, InstrumentNumber, PersonId};
use super::moment::Moment;
use super::rebuild::RebuildState;
use super::words::words;
use crate::calc::quantity::{LengthUnit, StampedLength, StampedTorque};

words! {
    /// The steps of a rebuild, in their order.
    Topic, "a step" {
        MadeSafe: "made-safe", "Made safe";
        Stripped: "stripped", "Stripped";
        Bolting: "bolting", "Bolting checked";
        Face: "face", "Faces inspected";
        Assembled: "assembled", "Assembled";
        Tightened: "tightened", "Tightened";
        Returned: "returned", "Returned";
        Remark: "remark", "Remark";
    }
}

words! {
    /// What the glass looked like.
    GlassFound, "what the glass looked like" {
        Sound: "sound", "sound";
        Cracked: "cracked", "cracked";
        Chipped: "chipped", "chipped or scratched";
        Etched: "etched", "etched or thinned";
        Clouded: "clouded", "clouded";
    }
}

words! {
    /// What the gaskets looked like.
    GasketFound, "what the gaskets looked like" {
        Sound: "sound", "sound";
        Hardened: "hardened", "hardened";
        Extruded: "extruded", "squeezed out";
        Torn: "torn", "torn or blown";
    }
}

words! {
    /// Where it leaked.
    LeakPath, "where it leaked" {
        None: "none", "no leak";
        SealGasket: "seal-gasket", "past the seal gasket";
        ThroughGlass: "through-glass", "through the glass";
        Bolting: "bolting", "loose bolting";
        Valve: "valve", "gauge valve";
    }
}

words! {
    /// How the bolting was brought in order.
    BoltingDone, "how the bolting was brought in order" {
        Renewed: "renewed", "bolts and nuts renewed";
        RunByHand: "run-by-hand", "every nut run by hand over the whole thread";
        Hangs: "hangs", "a nut hangs";
    }
}

words! {
    /// Which seating face.
    FaceOf, "which face" {
        Chamber: "chamber", "chamber recess";
        Cover: "cover", "cover recess";
    }
}

words! {
    /// The state of a face as seen.
    FaceSeen, "what the face looks like" {
        Clean: "clean", "clean, no pits or gouges";
        Pitted: "pitted", "pitted or gouged";
        Skimmed: "skimmed", "skimmed on the mill and clean";
    }
}

words! {
    /// What the threads were lubricated with.
    Lubricant, "the lubricant" {
        Molybdenum: "molybdenum", "molybdenum paste";
        Nickel: "nickel", "nickel paste";
        Copper: "copper", "copper paste";
        Oil: "oil", "oil";
        Dry: "dry", "none";
    }
}

/// Conditions that are confirmed before anything is loosened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Safe {
    /// Permit reference.
    pub permit: String,
    /// Lock or tag reference.
    pub lock: String,
}

/// Heights along both rails of a face, all in one unit.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Heights {
    /// Unit of the heights.
    pub unit: LengthUnit,
    /// Distance between stations along the rail, in mm.
    pub pitch_mm: Decimal,
    /// Distance between the rails, in mm.
    pub rails_apart_mm: Decimal,
    /// Heights along the left rail.
    pub left: Vec<Decimal>,
    /// Heights along the right rail.
    pub right: Vec<Decimal>,
}

/// One thing recorded at the bench.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum Facts {
    /// Isolated, locked and tagged, drained, vented, proved at zero pressure and cold.
    MadeSafe(Safe),
    /// What was found when the section was stripped; old glass and gaskets were thrown away.
    Stripped {
        /// The glass.
        glass: GlassFound,
        /// The seal gasket.
        seal: GasketFound,
        /// The cushion gasket.
        cushion: GasketFound,
        /// Where it leaked.
        leak: LeakPath,
        /// Anything else seen.
        note: String,
    },
    /// The bolting.
    Bolting {
        /// How it was brought in order.
        done: BoltingDone,
        /// Anything else seen.
        note: String,
    },
    /// A seating face.
    Face {
        /// Chamber or cover.
        face: FaceOf,
        /// As seen.
        seen: FaceSeen,
        /// Heights along the rails, where they were taken.
        heights: Option<Heights>,
        /// Wall between through-bore and recess, where it was measured.
        wall: Option<StampedLength>,
        /// What it was measured with.
        instrument: Option<InstrumentNumber>,
        /// Anything else seen.
        note: String,
    },
    /// New kit fitted, threads lubricated, nameplate back under its bolt.
    Assembled {
        /// What the threads were lubricated with.
        lubricant: Lubricant,
        /// Anything else.
        note: String,
    },
    /// Tightened in passes.
    Tightened {
        /// The final torque.
        target: StampedTorque,
        /// Every pass, ending on the target.
        passes: Vec<Decimal>,
        /// The wrench.
        wrench: InstrumentNumber,
        /// Anything else, such as a nut that hung.
        note: String,
    },
    /// Valves open, warmed up slowly, looked at again.
    Returned {
        /// Anything else.
        note: String,
    },
    /// A remark at any time.
    Remark {
        /// What was remarked.
        text: String,
    },
}

impl Facts {
    /// The step an entry belongs to.
    pub const fn topic(&self) -> Topic {
        match self {
            Self::MadeSafe(_) => Topic::MadeSafe,
            Self::Stripped { .. } => Topic::Stripped,
            Self::Bolting { .. } => Topic::Bolting,
            Self::Face { .. } => Topic::Face,
            Self::Assembled { .. } => Topic::Assembled,
            Self::Tightened { .. } => Topic::Tightened,
            Self::Returned { .. } => Topic::Returned,
            Self::Remark { .. } => Topic::Remark,
        }
    }
}

/// An entry as it stands in the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The row.
    pub id: EntryId,
    /// The section it speaks of, counted from the bottom; none for the whole gauge.
    pub section: Option<u8>,
    /// What was recorded.
    pub facts: Facts,
    /// When.
    pub at: Moment,
    /// By whom.
    pub person_id: PersonId,
    /// Their name.
    pub person: String,
    /// The entry this one corrects.
    pub supersedes: Option<EntryId>,
    /// Whether a later entry corrects this one.
    pub superseded: bool,
}

/// The entries that count: those no later entry corrects.
pub fn standing(entries: &[Entry]) -> impl Iterator<Item = &Entry> {
    entries.iter().filter(|entry| !entry.superseded)
}

/// Whether an entry of this step may be made now.
///
/// # Errors
/// Names the step that has to come first.
pub fn may_record(
    topic: Topic,
    state: RebuildState,
    sections: u8,
    entries: &[Entry],
) -> Result<(), String> {
    if state.finished() {
        return Err(format!("This rebuild is {state}; nothing is added to it"));
    }
    if topic == Topic::Remark {
        return Ok(());
    }
    if matches!(state, RebuildState::Planned | RebuildState::Ready) {
        return Err("The gauge is not at the bench yet; start the rebuild first".to_owned());
    }
    if topic == Topic::Returned {
        return if state == RebuildState::OnTest {
            Ok(())
        } else {
            Err("The gauge is returned after it has passed its pressure test".to_owned())
        };
    }
    if state == RebuildState::OnTest {
        return Err(
            "The gauge is on test; take it back to the bench to change what was done".to_owned(),
        );
    }
    for earlier in before(topic) {
        if !complete(*earlier, sections, entries) {
            return Err(format!("\u{201c}{}\u{201d} comes first", earlier.shown()));
        }
    }
    Ok(())
}

/// The steps that have to be complete before this one.
const fn before(topic: Topic) -> &'static [Topic] {
    match topic {
        Topic::MadeSafe | Topic::Remark => &[],
        Topic::Stripped => &[Topic::MadeSafe],
        Topic::Bolting | Topic::Face => &[Topic::MadeSafe, Topic::Stripped],
        Topic::Assembled => &[
            Topic::MadeSafe,
            Topic::Stripped,
            Topic::Bolting,
            Topic::Face,
        ],
        Topic::Tightened => &[
            Topic::MadeSafe,
            Topic::Stripped,
            Topic::Bolting,
            Topic::Face,
            Topic::Assembled,
        ],
        Topic::Returned => &[
            Topic::MadeSafe,
            Topic::Stripped,
            Topic::Bolting,
            Topic::Face,
            Topic::Assembled,
            Topic::Tightened,
        ],
    }
}

/// Whether a step is done: for every section where it is recorded by section, and with nothing
/// standing that forbids going on (a hanging nut, a pitted face).
pub fn complete(topic: Topic, sections: u8, entries: &[Entry]) -> bool {
    let of_topic: Vec<&Entry> = standing(entries)
        .filter(|e| e.facts.topic() == topic)
        .collect();
    let forbidden = of_topic.iter().any(|e| {
        matches!(
            &e.facts,
            Facts::Bolting {
                done: BoltingDone::Hangs,
                ..
            } | Facts::Face {
                seen: FaceSeen::Pitted,
                ..
            }
        )
    });
    if forbidden {
        return false;
    }
    let whole = of_topic.iter().any(|e| e.section.is_none());
    match topic {
        Topic::Face => (1..=sections).all(|section| {
            [FaceOf::Chamber, FaceOf::Cover].iter().all(|wanted| {
                of_topic.iter().any(|e| {
                    (e.section.is_none() || e.section == Some(section))
                        && matches!(&e.facts, Facts::Face { face, .. } if face == wanted)
                })
            })
        }),
        Topic::Stripped | Topic::Tightened => {
            whole
                || (1..=sections).all(|section| of_topic.iter().any(|e| e.section == Some(section)))
        }
        _ => !of_topic.is_empty(),
    }
}
