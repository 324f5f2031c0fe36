//! What is recorded at the bench, step by step, as facts that are never changed: a correction
//! supersedes. Which step may follow which is decided in `course.rs`; a face's reading is in `face.rs`.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use super::face::Reading;
use super::found::Stripping;
use super::gauge::{Isolation, Kind};
use super::ids::{EntryId, InstrumentNumber, PersonId};
use super::moment::Moment;
use super::refusal::FieldError;
use super::sentence::Sentence;
use super::words::{capital, words};
use crate::calc::quantity::{StampedTorque, TorqueUnit, Unit};
use crate::calc::working::Working;

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
    /// What is confirmed before anything is loosened, each by its own name.
    Condition, "a condition" {
        Isolated: "isolated", "both gauge valves are shut and the gauge is isolated";
        VesselOut: "vessel-out", "its vessel is out of service and free of pressure, and stays so until the work is done";
        LockedOut: "locked-out", "locked out and tagged";
        Drained: "drained", "drained";
        Flushed: "flushed", "hazardous contents flushed out";
        Vented: "vented", "vented";
        ZeroPressure: "zero-pressure", "proved free of pressure";
        Cold: "cold", "cold enough to touch";
    }
}

impl Condition {
    /// The field it is ticked in.
    pub const fn field(self) -> &'static str {
        match self {
            Self::Isolated => "isolated",
            Self::VesselOut => "vessel",
            Self::LockedOut => "locked",
            Self::Drained => "drained",
            Self::Flushed => "flushed",
            Self::Vented => "vented",
            Self::ZeroPressure => "zero",
            Self::Cold => "cold",
        }
    }

    /// What it is about, in a word or two.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Isolated => "Isolation",
            Self::VesselOut => "Vessel",
            Self::LockedOut => "Lock-out",
            Self::Drained => "Draining",
            Self::Flushed => "Flushing",
            Self::Vented => "Venting",
            Self::ZeroPressure => "Pressure",
            Self::Cold => "Temperature",
        }
    }

    /// Those a gauge asks for: its contents are flushed out where its service class says so, and of a gauge
    /// that cannot be isolated in service it is asked how its vessel stands, since no valve keeps it apart.
    pub fn asked(flush: bool, isolation: Isolation) -> Vec<Self> {
        let all = Self::ALL.iter().copied();
        all.filter(|one| match one {
            Self::Flushed => flush,
            Self::Isolated => isolation == Isolation::InService,
            Self::VesselOut => isolation == Isolation::ShutdownOnly,
            _ => true,
        })
        .collect()
    }
}

words! {
    /// What is confirmed before a gauge counts as returned, each by its own name.
    BackInService, "a condition of the return" {
        Cleared: "cleared", "test medium drained, test plugs out, locks and tags taken off under the permit";
        Opened: "opened", "gauge valves opened slowly";
        Warmed: "warmed", "brought to its working temperature slowly";
        Watched: "watched", "looked at again under working conditions: tight, level shows";
    }
}

impl BackInService {
    /// The field it is ticked in.
    pub const fn field(self) -> &'static str {
        match self {
            Self::Cleared => "drained",
            Self::Opened => "opened",
            Self::Warmed => "warmed",
            Self::Watched => "watched",
        }
    }

    /// What it is about, in a word or two.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Cleared => "Cleared",
            Self::Opened => "Valves",
            Self::Warmed => "Warm-up",
            Self::Watched => "Second look",
        }
    }
}

words! {
    /// What is confirmed of an assembly, each by its own name.
    Fitted, "a condition of the assembly" {
        Gaskets: "gaskets", "cushion gasket in the cover, seal gasket on the chamber side, both new";
        GasketsBothSides: "gaskets-both-sides", "in front and at the back: cushion gasket in the cover, seal gasket on the chamber side, all new";
        Prisms: "prisms", "glass new, without scratch or chip, central in its recess, its prisms towards the chamber";
        Smooth: "smooth", "both glasses new, smooth on both sides, without scratch or chip, central in their recesses; where the kit has shields, one on the wetted side of each";
        Nameplate: "nameplate", "nameplate back under its bolt with its washers";
        Nuts: "nuts", "nuts finger-tight, flat face down";
    }
}

impl Fitted {
    /// The field it is ticked in.
    pub const fn field(self) -> &'static str {
        match self {
            Self::Gaskets | Self::GasketsBothSides => "gaskets",
            Self::Prisms | Self::Smooth => "glass",
            Self::Nameplate => "nameplate",
            Self::Nuts => "nuts",
        }
    }

    /// What it is about, in a word or two.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Gaskets | Self::GasketsBothSides => "Gaskets",
            Self::Prisms | Self::Smooth => "Glass",
            Self::Nameplate => "Nameplate",
            Self::Nuts => "Nuts",
        }
    }

    /// Those a gauge of this kind asks for.
    pub const fn asked(kind: Kind) -> [Self; 4] {
        let (gaskets, glass) = match kind {
            Kind::Reflex => (Self::Gaskets, Self::Prisms),
            Kind::Transparent => (Self::GasketsBothSides, Self::Smooth),
        };
        [gaskets, glass, Self::Nameplate, Self::Nuts]
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
    /// The conditions confirmed one by one; older entries confirmed all of them in one.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub confirmed: Vec<Condition>,
}

/// How a section was tightened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Tightening {
    /// The final torque.
    pub target: StampedTorque,
    /// Where the target comes from when the nameplate does not tell it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub target_from: Option<String>,
    /// Every pass, ending on the target.
    pub passes: Vec<Decimal>,
    /// Whether it was only tightened again after its test: once round at the torque its nuts stood at.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub again: bool,
    /// When passes were finished, as pressed at the bench; older entries and those from paper say nothing
    /// of it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub finished: Vec<Finished>,
    /// The wrench.
    pub wrench: InstrumentNumber,
    /// Anything else.
    pub note: String,
}

/// A pass and when its last nut was at its torque.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Finished {
    /// The torque of the pass, in the unit of the target.
    pub torque: Decimal,
    /// When.
    pub at: Moment,
}

impl Tightening {
    /// Leaves the last pass: nuts that stand at the torque are moved by none below it.
    pub fn go_round_once(&mut self) {
        self.passes = vec![self.target.value];
        self.again = true;
    }

    /// Holds what the browser noted of the passes against the plan and the clock: passes of the plan in
    /// its order, and no time before the section was assembled, before the pass before it or after now.
    /// Now stands for a time that cannot be: it was finished by then.
    ///
    /// # Errors
    /// What was noted does not belong to this plan.
    pub fn settle(&mut self, assembled: Moment, now: Moment) -> Result<(), FieldError> {
        let mut ahead = self.passes.iter();
        let mut earliest = assembled;
        for one in &mut self.finished {
            if !ahead.any(|pass| *pass == one.torque) {
                let words = format!(
                    "The passes noted on this page are not those of the plan, which are {}; go through them again from the first",
                    listed(&self.passes, self.target.unit)
                );
                return Err(FieldError::new("finished", words));
            }
            if one.at < earliest || one.at > now {
                one.at = now;
            }
            earliest = one.at;
        }
        Ok(())
    }

    /// When the last pass that was noted was finished.
    pub fn ended_at(&self) -> Option<Moment> {
        self.finished.last().map(|one| one.at)
    }

    /// Each pass with when it was finished; nothing where no pass was noted.
    pub fn each(&self) -> Vec<(String, Option<Moment>)> {
        if self.finished.is_empty() {
            return Vec::new();
        }
        let unit = self.target.unit;
        let all = self.passes.iter();
        all.map(|pass| {
            let noted = self.finished.iter().find(|one| one.torque == *pass);
            (listed(&[*pass], unit), noted.map(|one| one.at))
        })
        .collect()
    }

    /// The passes as they are read out: "5, 10, 15 ft·lbf".
    pub fn passes_shown(&self) -> String {
        listed(&self.passes, self.target.unit)
    }
}

/// Torques with their unit behind the last one.
pub fn listed(passes: &[Decimal], unit: TorqueUnit) -> String {
    let numbers: Vec<String> = passes.iter().map(Decimal::to_string).collect();
    format!("{} {}", numbers.join(", "), unit.symbol())
}

/// One thing recorded at the bench.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "kebab-case")]
pub enum Facts {
    /// Isolated, locked and tagged, drained, vented, proved at zero pressure and cold.
    MadeSafe(Safe),
    /// What was found when the section was stripped; old glass and gaskets were thrown away.
    Stripped(Box<Stripping>),
    /// The bolting.
    Bolting {
        /// How it was brought in order.
        done: BoltingDone,
        /// Anything else seen.
        note: String,
    },
    /// A seating face.
    Face(Box<Reading>),
    /// New kit fitted, threads lubricated, nameplate back under its bolt.
    Assembled {
        /// What was confirmed one by one; older entries confirmed all of it and keep no word of it.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        confirmed: Vec<Fitted>,
        /// What the threads were lubricated with.
        lubricant: Lubricant,
        /// Anything else.
        note: String,
    },
    /// Tightened in passes.
    Tightened(Box<Tightening>),
    /// Valves open, warmed up slowly, looked at again.
    Returned {
        /// What was confirmed one by one; older entries confirmed all of it in one.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        confirmed: Vec<BackInService>,
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
            Self::Stripped(_) => Topic::Stripped,
            Self::Bolting { .. } => Topic::Bolting,
            Self::Face(_) => Topic::Face,
            Self::Assembled { .. } => Topic::Assembled,
            Self::Tightened(_) => Topic::Tightened,
            Self::Returned { .. } => Topic::Returned,
            Self::Remark { .. } => Topic::Remark,
        }
    }

    /// What the entry is about, in a few words: "Stripped", "Chamber recess".
    pub fn title(&self) -> String {
        match self {
            Self::Face(reading) => capital(reading.face),
            Self::Tightened(how) if how.again => "Tightened again".to_owned(),
            other => other.topic().shown().to_owned(),
        }
    }

    /// The workings behind what an entry says.
    pub fn workings(&self) -> Vec<Working> {
        let Self::Face(reading) = self else {
            return Vec::new();
        };
        let verdict = reading.verdict();
        let judged = [verdict.flatness, verdict.feeler, verdict.wall];
        let judged = judged.into_iter().flatten().map(|one| one.working);
        let shown = verdict.shown.map(|one| one.working);
        let certain = verdict.certain.map(|one| one.working);
        let skim = verdict.skim.map(|one| one.working);
        let grew = reading.growth().map(|one| one.working);
        let told = judged.chain(shown).chain(certain);
        told.chain(grew).chain(skim).collect()
    }

    /// Each pass of a tightening with when it was finished, where that was noted.
    pub fn passes(&self) -> Vec<(String, Option<Moment>)> {
        match self {
            Self::Tightened(how) => how.each(),
            _ => Vec::new(),
        }
    }

    /// What was recorded, as pairs of a label and what stands beside it.
    pub fn told(&self) -> Vec<(&'static str, Sentence)> {
        let (mut pairs, note) = match self {
            Self::MadeSafe(safe) => {
                let mut pairs = vec![
                    ("Permit", Sentence::of(&safe.permit)),
                    ("Lock and tag", Sentence::of(&safe.lock)),
                ];
                let each = safe.confirmed.iter();
                pairs.extend(each.map(|one| (one.label(), Sentence::of(one))));
                if safe.confirmed.is_empty() {
                    pairs.push(("Confirmed", Sentence::of(CONFIRMED_SAFE)));
                }
                (pairs, "")
            }
            Self::Stripped(found) => (found.told(), found.note.as_str()),
            Self::Bolting { done, note } => (vec![("Bolting", Sentence::of(done))], note.as_str()),
            Self::Face(reading) => (reading.told(), reading.note.as_str()),
            Self::Assembled {
                confirmed,
                lubricant,
                note,
            } => {
                let each = confirmed.iter();
                let mut pairs: Vec<_> = each.map(|one| (one.label(), Sentence::of(one))).collect();
                pairs.push(("Lubricant", Sentence::of(lubricant)));
                (pairs, note.as_str())
            }
            Self::Tightened(t) => {
                let from = t.target_from.as_deref().map_or_else(
                    || " (nameplate)".to_owned(),
                    |from| format!(" (not from the register; {from})"),
                );
                let passes = t.passes.iter();
                let passes = passes.map(|pass| StampedTorque::new(*pass, t.target.unit));
                let passes = if t.again {
                    Sentence::of("once round at ")
                        .figure(t.target)
                        .words("; its cover had stayed closed")
                } else {
                    Sentence::default().passes(passes)
                };
                (
                    vec![
                        ("Torque", Sentence::default().figure(t.target).words(from)),
                        ("Passes", passes),
                        ("Wrench", Sentence::of(&t.wrench)),
                    ],
                    t.note.as_str(),
                )
            }
            Self::Returned { confirmed, note } => {
                let each = confirmed.iter();
                let pairs = each.map(|one| (one.label(), Sentence::of(one))).collect();
                (pairs, note.as_str())
            }
            Self::Remark { text } => (vec![("Remark", Sentence::of(text))], ""),
        };
        if !note.is_empty() {
            pairs.push(("Note", Sentence::of(note)));
        }
        pairs
    }
}

/// What older entries confirmed in one.
const CONFIRMED_SAFE: &str =
    "isolated, locked and tagged, drained, vented, proved free of pressure, cold";

/// An entry as it stands in the record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The row.
    pub id: EntryId,
    /// The section it speaks of, counted from the top; none for the whole gauge.
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
    /// Why it corrects that one.
    pub correction_reason: Option<String>,
    /// Whether a later entry corrects this one.
    pub superseded: bool,
    /// Who did the work and when, where it was entered afterwards from the sheet on paper.
    pub done: Option<(String, Moment)>,
}

impl Entry {
    /// Where it was done, behind its title, in a gauge of so many sections; nothing for what is always done
    /// to the whole gauge.
    pub fn place(&self, sections: u8) -> String {
        let topic = self.facts.topic();
        if sections == 1 || matches!(topic, Topic::MadeSafe | Topic::Returned | Topic::Remark) {
            return String::new();
        }
        self.section.map_or_else(
            || ", all sections".to_owned(),
            |section| format!(", section {section}"),
        )
    }

    /// When the work was done.
    pub fn done_at(&self) -> Moment {
        if let Some((_, at)) = self.done {
            return at;
        }
        match &self.facts {
            Facts::Tightened(how) => how.ended_at().unwrap_or(self.at),
            _ => self.at,
        }
    }
}
