//! What happened in a rebuild, in its order: what was recorded, steps from state to state, kits and
//! pressure tests. The bench shows it backwards, the record of a rebuild forwards.

use std::iter::Peekable;
use std::slice::Iter;

use crate::record::bench::{Entry, Topic};
use crate::record::course::Course;
use crate::record::rebuild::{Move, RebuildState};
use crate::store::bench::KitLine;
use crate::store::rebuilds::TestLine;

/// One thing that happened.
#[derive(Debug, Clone, Copy)]
pub enum Happened<'a> {
    /// An entry of a step.
    Recorded(&'a Entry),
    /// A step from state to state.
    Moved(&'a Move),
    /// Kits issued to the rebuild, or given back.
    Kits(&'a KitLine),
    /// A pressure test.
    Tested(&'a TestLine),
}

/// What stands beside the entries, each in order, as far as it is not told yet.
struct Beside<'a> {
    moves: Peekable<Iter<'a, Move>>,
    kits: Peekable<Iter<'a, KitLine>>,
    tests: Peekable<Iter<'a, TestLine>>,
}

/// Everything that happened, the first first.
pub fn story<'a>(
    course: &'a Course,
    kits: &'a [KitLine],
    tests: &'a [TestLine],
) -> Vec<Happened<'a>> {
    let mut beside = Beside {
        moves: course.moves.iter().peekable(),
        kits: kits.iter().peekable(),
        tests: tests.iter().peekable(),
    };
    let mut story = Vec::new();
    for entry in &course.entries {
        beside.moves_before(&mut story, |one| one.after_entry < entry.id.0);
        while let Some(line) = beside.kits.next_if(|line| kits_before(line, entry)) {
            story.push(Happened::Kits(line));
        }
        while let Some(test) = beside.tests.next_if(|test| test_before(test, entry)) {
            story.push(Happened::Tested(test));
        }
        story.push(Happened::Recorded(entry));
    }
    beside.moves_before(&mut story, |_| true);
    story.extend(beside.tests.map(Happened::Tested));
    story.extend(beside.kits.map(Happened::Kits));
    story
}

impl<'a> Beside<'a> {
    /// The moves that came before something, each behind the kits and tests that came before it.
    fn moves_before(&mut self, story: &mut Vec<Happened<'a>>, before: impl Fn(&Move) -> bool) {
        while let Some(one) = self.moves.next_if(|&one| before(one)) {
            // A sheet entered from paper is of one moment: its kits came before the test it was sent to.
            let at_once = one.to >= RebuildState::OnTest;
            while let Some(line) = self
                .kits
                .next_if(|line| line.at < one.at || (at_once && line.at == one.at))
            {
                story.push(Happened::Kits(line));
            }
            while let Some(test) = self.tests.next_if(|test| test.id <= one.after_test) {
                story.push(Happened::Tested(test));
            }
            story.push(Happened::Moved(one));
        }
    }
}

/// Whether kits moved before an entry was made. A sheet entered from paper is of one moment: its kits came
/// before they were assembled.
fn kits_before(line: &KitLine, entry: &Entry) -> bool {
    line.at < entry.at || (line.at == entry.at && entry.facts.topic() >= Topic::Assembled)
}

/// Whether a test was made before an entry; in one moment it came before the return alone.
fn test_before(test: &TestLine, entry: &Entry) -> bool {
    test.at < entry.at || (test.at == entry.at && entry.facts.topic() == Topic::Returned)
}
