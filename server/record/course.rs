//! How far a rebuild has come: which of its entries count, and what stands against its faces. What
//! comes next is in `next.rs`, what may be recorded in `allowed.rs`, what an entry holds in `bench.rs`.

mod allowed;
mod changes;
mod next;
mod open;

use std::sync::Arc;

use time::Date;

use super::bench::{BoltingDone, Condition, Entry, Facts, Tightening, Topic};
use super::face::{FaceOf, FaceSeen, Reading, still_thin};
use super::gauge::{Isolation, Kind};
use super::ids::{EntryId, KitNumber, RebuildId, TestId, TestNumber};
use super::moment::Moment;
use super::pressure_test::TestResult;
use super::rebuild::{Move, RebuildState, Rework};
use super::refusal::FieldError;
use super::turn::{Left, Queue};
use super::words::{capital, times, words};
use crate::calc::quantity::{StampedLength, StampedTorque};
use crate::calc::tighten::sections_in_order;

pub use next::Next;
pub use open::Part;

words! {
    /// The seven stages people see a rebuild pass through.
    Stage, "a stage" {
        MadeSafe: "made-safe", "Made safe";
        Stripped: "stripped", "Stripped";
        Inspected: "inspected", "Inspected";
        Assembled: "assembled", "Assembled";
        Tightened: "tightened", "Tightened";
        Proved: "proved", "Proved";
        Returned: "returned", "Returned";
    }
}

/// The latest pressure test of a rebuild.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LastTest {
    /// The row, for its place in time.
    pub id: i64,
    /// Its number.
    pub number: TestNumber,
    /// The day.
    pub tested_on: Date,
    /// What came of it.
    pub result: TestResult,
    /// Whether somebody said that they saw it.
    pub witnessed: bool,
    /// When it was recorded.
    pub at: Moment,
    /// Who recorded it.
    pub person: String,
}

/// A skim or a new part in an earlier rebuild of the same gauge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct EarlierCut {
    /// The section; none for every one.
    pub section: Option<u8>,
    /// Which face.
    pub face: FaceOf,
    /// Skimmed or renewed.
    pub seen: FaceSeen,
}

/// Everything that decides how far a rebuild has come.
#[derive(Debug, Clone)]
pub struct Course {
    /// Where it stands.
    pub state: RebuildState,
    /// Reflex or transparent.
    pub kind: Kind,
    /// Sections of the gauge.
    pub sections: u8,
    /// Whether its service class asks for the contents to be flushed out before it is opened.
    pub flush: bool,
    /// Whether it can be isolated while its vessel is in service.
    pub isolation: Isolation,
    /// The kit named for the gauge.
    pub kit: Option<KitNumber>,
    /// Kits for a whole rebuild.
    pub kits_needed: u32,
    /// Kits taken from the storeroom for it, net of returns.
    pub kits_taken: u32,
    /// Its turn at the shelf: the day it is planned for, and its row.
    pub turn: (Date, RebuildId),
    /// The shelf of its kit with who comes before it, until it is on test.
    pub queue: Option<Arc<Queue>>,
    /// Skims and new parts of earlier rebuilds, in order.
    pub earlier_cuts: Vec<EarlierCut>,
    /// Everything recorded, in order.
    pub entries: Vec<Entry>,
    /// Every step from state to state, in order.
    pub moves: Vec<Move>,
    /// The latest pressure test.
    pub test: Option<LastTest>,
}

/// An entry that counts, with the number of the entry it goes back to: corrections keep the place
/// in time of what they correct.
#[derive(Debug, Clone, Copy)]
struct Counted<'a> {
    root: i64,
    entry: &'a Entry,
}

impl Course {
    fn counted(&self) -> Vec<Counted<'_>> {
        let mut list: Vec<Counted<'_>> = self
            .entries
            .iter()
            .filter(|entry| !entry.superseded)
            .map(|entry| Counted {
                root: self.root(entry),
                entry,
            })
            .collect();
        list.sort_by_key(|counted| counted.root);
        list
    }

    fn root(&self, entry: &Entry) -> i64 {
        self.origin(entry).id.0
    }

    /// The entry a correction goes back to; an entry that corrects nothing goes back to itself.
    pub fn origin<'a>(&'a self, entry: &'a Entry) -> &'a Entry {
        let mut origin = entry;
        while let Some(earlier) = origin.supersedes.and_then(|id| self.entry(id)) {
            origin = earlier;
        }
        origin
    }

    /// Where an entry lies in time: when its work was done, and the entry it goes back to. A correction keeps
    /// the place of what it corrects.
    pub fn when(&self, entry: &Entry) -> (Moment, i64) {
        let origin = self.origin(entry);
        (origin.done_at(), origin.id.0)
    }

    /// An entry and those it corrects, the latest first.
    pub fn versions<'a>(&'a self, entry: &'a Entry) -> impl Iterator<Item = &'a Entry> {
        std::iter::successors(Some(entry), move |later| {
            later.supersedes.and_then(|id| self.entry(id))
        })
    }

    /// The readings of a face that count, in the order in which they were made. What was entered from paper
    /// may come before what was recorded on the screen.
    fn readings(&self, section: u8, face: FaceOf) -> Vec<&Reading> {
        let all = self.entries.iter();
        let all = all.filter(|entry| !entry.superseded && speaks_of(entry, section));
        let mut list: Vec<_> = all
            .filter_map(|entry| match &entry.facts {
                Facts::Face(reading) if reading.face == face => {
                    Some((self.when(entry), &**reading))
                }
                _ => None,
            })
            .collect();
        list.sort_by_key(|(place, _)| *place);
        list.into_iter().map(|(_, reading)| reading).collect()
    }

    /// The latest entry of a step that speaks of a section.
    fn latest(&self, topic: Topic, section: u8) -> Option<Counted<'_>> {
        self.counted()
            .into_iter()
            .rev()
            .find(|c| c.entry.facts.topic() == topic && speaks_of(c.entry, section))
    }

    fn face(&self, section: u8, face: FaceOf) -> Option<Counted<'_>> {
        self.counted().into_iter().rev().find(|c| {
            speaks_of(c.entry, section)
                && matches!(&c.entry.facts, Facts::Face(reading) if reading.face == face)
        })
    }

    /// The entry that counts for a step of a section: the latest that speaks of it.
    pub fn standing(&self, topic: Topic, section: u8) -> Option<&Entry> {
        let found = self.latest(topic, section)?.entry.id;
        self.entry(found)
    }

    /// The reading that counts for a face, and its entry.
    pub fn standing_face(&self, section: u8, face: FaceOf) -> Option<(&Entry, &Reading)> {
        let found = self.face(section, face)?.entry.id;
        let entry = self.entry(found)?;
        match &entry.facts {
            Facts::Face(reading) => Some((entry, reading)),
            _ => None,
        }
    }

    /// What was recorded before this number does not count any more, because the gauge came back
    /// from its test to have that done again.
    fn done_again_after(&self, section: u8, opened: bool) -> i64 {
        self.moves
            .iter()
            .filter(|m| m.section.is_none_or(|s| s == section))
            .filter(|m| match m.rework {
                Some(Rework::Open) => true,
                Some(Rework::Tighten) => !opened,
                Some(Rework::Nothing) | None => false,
            })
            .map(|m| m.after_entry)
            .max()
            .unwrap_or(0)
    }

    /// When this section was last assembled, if that still counts: stripping or reading a face
    /// afterwards means that it was opened again.
    fn assembled(&self, section: u8) -> Option<i64> {
        let opened = [Topic::Stripped, Topic::Face]
            .into_iter()
            .filter_map(|topic| self.latest(topic, section))
            .map(|c| c.root)
            .max()
            .unwrap_or(0)
            .max(self.done_again_after(section, true));
        self.latest(Topic::Assembled, section)
            .map(|c| c.root)
            .filter(|root| *root > opened)
    }

    /// Whether this section is tight: assembled before, and no nut found hanging since.
    fn tight(&self, section: u8) -> bool {
        let Some(assembled) = self.assembled(section) else {
            return false;
        };
        let hung = self
            .counted()
            .into_iter()
            .filter(|c| speaks_of(c.entry, section) && hangs(c.entry))
            .map(|c| c.root)
            .max()
            .unwrap_or(0);
        let floor = assembled
            .max(hung)
            .max(self.done_again_after(section, false));
        self.latest(Topic::Tightened, section)
            .is_some_and(|c| c.root > floor)
    }

    /// Whether every section is tight.
    pub fn is_tight(&self) -> bool {
        self.all().all(|section| self.tight(section))
    }

    /// The sections that are not tight, in the order they are tightened.
    pub fn loose(&self) -> Vec<u8> {
        let all = self.in_order().into_iter();
        all.filter(|section| !self.tight(*section)).collect()
    }

    /// The torque the nuts of a section stand at, where it came back from its test only to be tightened
    /// again: it was tight, its cover stayed closed, and its bolting was not touched since.
    pub fn stands_at(&self, section: u8) -> Option<StampedTorque> {
        if self.tight(section) {
            return None;
        }
        let assembled = self.assembled(section)?;
        let bolting = self.latest(Topic::Bolting, section).map_or(0, |c| c.root);
        let last = self.latest(Topic::Tightened, section)?;
        match &last.entry.facts {
            Facts::Tightened(how) if last.root > assembled.max(bolting) => Some(how.target),
            _ => None,
        }
    }

    /// Whether a section goes round once at this torque, because its nuts stand at it.
    pub fn once_round(&self, section: Option<u8>, target: StampedTorque) -> bool {
        section.and_then(|section| self.stands_at(section)) == Some(target)
    }

    /// Brings the passes that are recorded in line with how the section stands: one round where its nuts
    /// stand at the torque, else every pass.
    ///
    /// # Errors
    /// One round was made of a section that takes every pass.
    pub fn settle_round(
        &self,
        section: Option<u8>,
        tightening: &mut Tightening,
    ) -> Result<(), FieldError> {
        if self.once_round(section, tightening.target) {
            tightening.go_round_once();
        } else if tightening.again {
            let words = "Since this page was opened its bolting was touched, its cover opened or its torque changed, so one round is not enough: go through every pass from the first";
            return Err(FieldError::new("finished", words));
        }
        Ok(())
    }

    /// The entries that brought a section to its torque, in order: the one with every pass, and each round
    /// that was made after it.
    pub fn tightenings(&self, section: u8) -> Vec<&Entry> {
        let mut found = Vec::new();
        for counted in self.counted().into_iter().rev() {
            let Facts::Tightened(how) = &counted.entry.facts else {
                continue;
            };
            if speaks_of(counted.entry, section) {
                found.push(counted.entry);
                if !how.again {
                    break;
                }
            }
        }
        found.reverse();
        found
    }

    /// What is confirmed before anything of it is loosened.
    pub fn made_safe_by(&self) -> Vec<Condition> {
        Condition::asked(self.flush, self.isolation)
    }

    /// The step that took it to the bench, where something was said of the gauge then that whoever works on it
    /// has to know.
    pub fn taken_with_a_word(&self) -> Option<&Move> {
        let taken =
            |one: &&Move| one.to == RebuildState::AtTheBench && one.from != RebuildState::OnTest;
        let taken = self.moves.iter().find(taken);
        taken.filter(|one| !one.reason.is_empty())
    }

    /// The step that brought it back from its test, while nothing moved it on since.
    pub fn sent_back(&self) -> Option<&Move> {
        let back =
            |one: &&Move| one.from == RebuildState::OnTest && one.to == RebuildState::AtTheBench;
        self.moves.last().filter(back)
    }

    /// How often a face has been skimmed since the part was new.
    pub fn skims(&self, section: u8, face: FaceOf) -> u32 {
        let earlier = self.earlier_cuts.iter();
        let earlier = earlier
            .filter(|cut| cut.section.is_none_or(|s| s == section) && cut.face == face)
            .map(|cut| cut.seen);
        let here = self.readings(section, face);
        let here = here.into_iter().map(|reading| reading.seen);
        earlier.chain(here).fold(0, |count, seen| match seen {
            FaceSeen::Renewed => 0,
            FaceSeen::Skimmed => count + 1,
            FaceSeen::Clean | FaceSeen::Pitted => count,
        })
    }

    /// The wall behind a face that was read under its limit and still counts as such: no later reading that
    /// leaves the wall out brings the metal back.
    fn thin_wall(&self, section: u8, face: FaceOf) -> Option<StampedLength> {
        let readings = self.readings(section, face).into_iter();
        still_thin(readings.map(|reading| ((), reading)))?.1.wall
    }

    /// The readings of a wall that were asked about because they brought metal back, since the part was new.
    pub fn grown(&self, section: u8, face: FaceOf) -> Vec<&Reading> {
        let mut list = Vec::new();
        for reading in self.readings(section, face) {
            if reading.seen == FaceSeen::Renewed {
                list.clear();
            }
            if reading.grew().is_some() {
                list.push(reading);
            }
        }
        list
    }

    /// Why a face may not be assembled on; none when it may, or when it was not read yet.
    pub fn against_face(&self, section: u8, face: FaceOf) -> Option<String> {
        let counted = self.face(section, face)?;
        let Facts::Face(reading) = &counted.entry.facts else {
            return None;
        };
        let verdict = reading.verdict();
        let mut against = verdict.against;
        if verdict.wall.as_ref().is_none_or(|wall| wall.kept)
            && let Some(wall) = self.thin_wall(section, face)
        {
            against.push(if verdict.wall.is_none() {
                format!("had {wall} of wall when it was last read, under the least: read the wall again or renew the part")
            } else {
                format!("was read with {wall} of wall too, under the least, and nothing says why it is thicker now: read the wall again or renew the part")
            });
        }
        let skims = self.skims(section, face);
        if skims > u32::from(reading.limits.skims) {
            against.push(format!(
                "has been skimmed {} and the plant allows {}: renew the part",
                times(skims),
                reading.limits.skims
            ));
        }
        (!against.is_empty()).then(|| {
            format!(
                "The {}{} {}",
                face.named(self.kind),
                self.of_section(Some(section)),
                against.join(", and ")
            )
        })
    }

    /// Every section, the first one asked for first: the middle one, then outwards.
    pub fn in_order(&self) -> Vec<u8> {
        sections_in_order(self.sections).unwrap_or_else(|_| (1..=self.sections).collect())
    }

    fn all(&self) -> std::ops::RangeInclusive<u8> {
        1..=self.sections
    }

    /// " of section 2", or nothing where there is only one.
    pub fn of_section(&self, section: Option<u8>) -> String {
        match section {
            Some(section) if self.sections > 1 => format!(" of section {section}"),
            _ => String::new(),
        }
    }

    /// What an entry is about, its face as it is called on this gauge.
    pub fn title(&self, entry: &Entry) -> String {
        match &entry.facts {
            Facts::Face(reading) => capital(reading.face.named(self.kind)),
            other => other.title(),
        }
    }

    /// Where something is done, behind what it is: ", section 2", ", all sections", or nothing where there is
    /// only one.
    pub fn place(&self, section: Option<u8>) -> String {
        match section {
            _ if self.sections == 1 => String::new(),
            Some(section) => format!(", section {section}"),
            None => ", all sections".to_owned(),
        }
    }

    /// Kits that go into one section, or into the whole gauge.
    fn kits_for(&self, section: Option<u8>) -> u32 {
        match section {
            None => self.kits_needed,
            Some(_) => self.kits_needed.div_ceil(u32::from(self.sections.max(1))),
        }
    }

    /// How many kits are short for assembling: glass and gaskets once clamped are never used again,
    /// so every assembly takes its own.
    pub fn kits_short(&self, section: Option<u8>) -> u32 {
        self.kits_short_by(self.kits_for(section))
    }

    /// How many kits are short where so many are to be fitted next.
    fn kits_short_by(&self, next: u32) -> u32 {
        (self.kits_used() + next).saturating_sub(self.kits_taken)
    }

    /// Kits that were assembled into the gauge, those of an earlier assembly of this rebuild included:
    /// none of them comes back to the storeroom.
    pub fn kits_used(&self) -> u32 {
        self.counted()
            .iter()
            .filter(|c| c.entry.facts.topic() == Topic::Assembled)
            .map(|c| self.kits_for(c.entry.section))
            .sum()
    }

    /// Kits still to be issued until every section that is open can be assembled; none where all are.
    pub fn kits_wanted(&self) -> u32 {
        let open = self.all().filter(|s| self.assembled(*s).is_none()).count();
        let needed = if open == usize::from(self.sections) {
            self.kits_needed
        } else {
            let of_each = self.kits_for(Some(1));
            let open = u32::try_from(open).unwrap_or(u32::MAX);
            of_each.saturating_mul(open).min(self.kits_needed)
        };
        needed.saturating_sub(self.kits_unopened())
    }

    /// Kits that would be left over if so many more were issued and every open section assembled once.
    pub fn kits_over(&self, more: u32) -> u32 {
        more.saturating_sub(self.kits_wanted())
    }

    /// Kits taken that are still unopened, as far as the bench recorded what was assembled.
    pub fn kits_unopened(&self) -> u32 {
        self.kits_taken.saturating_sub(self.kits_used())
    }

    /// What the shelf holds for it on its planned day, after the rebuilds that come before it.
    pub fn shelf(&self, today: Date) -> Left {
        let day = self.turn.0.max(today);
        let queue = self.queue.as_ref();
        queue.map_or_else(Left::default, |queue| queue.left(self.turn, day, today))
    }

    /// Kits in hand for the next assembly of the whole gauge: taken already, or in the storeroom and
    /// reserved for no rebuild that comes before it.
    pub fn kits_in_hand(&self, left: Left) -> u32 {
        self.kits_needed.min(self.kits_taken + left.kits())
    }

    /// Whether a test made since the gauge last went on test was passed, and nothing was done since.
    pub fn proved(&self) -> bool {
        matches!(self.state, RebuildState::OnTest | RebuildState::Returned)
            && self
                .test_since()
                .is_some_and(|test| test.result == TestResult::Passed)
    }

    /// The test made since the gauge last went on test, if there is one.
    pub fn test_since(&self) -> Option<&LastTest> {
        let went = self
            .moves
            .iter()
            .rev()
            .find(|m| m.to == RebuildState::OnTest)?;
        self.test.as_ref().filter(|test| test.id > went.after_test)
    }

    /// Whether the gauge came back to the bench after this test, so that the test says nothing of
    /// what was done since.
    pub fn taken_back_after(&self, test: TestId) -> bool {
        self.moves
            .iter()
            .any(|m| m.to == RebuildState::AtTheBench && m.after_test >= test.0)
    }

    /// Whether the gauge was opened and is not proved again.
    pub fn opened(&self) -> bool {
        !self.proved()
            && self
                .entries
                .iter()
                .any(|entry| !entry.superseded && entry.facts.topic() == Topic::Stripped)
    }

    /// The entry of that number, if it stands in this rebuild.
    pub fn entry(&self, id: EntryId) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.id == id)
    }

    /// The number of the last entry, 0 for none.
    pub fn last_entry(&self) -> i64 {
        self.entries
            .iter()
            .map(|entry| entry.id.0)
            .max()
            .unwrap_or(0)
    }
}

fn speaks_of(entry: &Entry, section: u8) -> bool {
    entry.section.is_none_or(|s| s == section)
}

fn hangs(entry: &Entry) -> bool {
    matches!(
        entry.facts,
        Facts::Bolting {
            done: BoltingDone::Hangs,
            ..
        }
    )
}
