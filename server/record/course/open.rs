//! Which parts of the bench sheet are still to be recorded, for a sheet on paper that is entered in one
//! go. What comes next, one thing at a time, is in `next.rs`.

use super::{Course, hangs};
use crate::record::bench::Topic;
use crate::record::face::FaceOf;
use crate::record::pressure_test::TestResult;
use crate::record::rebuild::RebuildState;

/// A part of the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// Made safe.
    MadeSafe,
    /// A section stripped.
    Strip(u8),
    /// The bolting, of a section or of all.
    Bolting(Option<u8>),
    /// A face.
    Face(u8, FaceOf),
    /// Kits: so many are short.
    Kits(u32),
    /// Assembled, a section or all of them.
    Assemble(Option<u8>),
    /// A section tightened.
    Tighten(u8),
    /// Proved under pressure.
    Prove,
    /// Returned.
    Return,
}

impl Course {
    /// The parts that are still to be recorded, in the order of work.
    pub fn open_parts(&self) -> Vec<Part> {
        match self.state {
            RebuildState::Returned | RebuildState::Abandoned => Vec::new(),
            RebuildState::OnTest => match self.test_since().map(|test| test.result) {
                None => vec![Part::Prove, Part::Return],
                Some(TestResult::Passed) => vec![Part::Return],
                Some(TestResult::Failed) => Vec::new(),
            },
            RebuildState::Planned | RebuildState::Ready | RebuildState::AtTheBench => {
                self.open_at_the_bench()
            }
        }
    }

    fn open_at_the_bench(&self) -> Vec<Part> {
        let mut parts = Vec::new();
        let safe = |c: &super::Counted<'_>| c.entry.facts.topic() == Topic::MadeSafe;
        if !self.counted().iter().any(safe) {
            parts.push(Part::MadeSafe);
        }
        let unstripped = self
            .all()
            .filter(|s| self.latest(Topic::Stripped, *s).is_none());
        parts.extend(unstripped.map(Part::Strip));
        let bolting = |s: u8| {
            self.latest(Topic::Bolting, s)
                .is_none_or(|counted| hangs(counted.entry))
        };
        parts.extend(self.together(bolting).into_iter().map(Part::Bolting));
        for section in self.all() {
            for face in FaceOf::of(self.kind) {
                let open = self.face(section, *face).is_none()
                    || self.against_face(section, *face).is_some();
                if open {
                    parts.push(Part::Face(section, *face));
                }
            }
        }
        let assemblies = self.together(|s| self.assembled(s).is_none());
        let short = match assemblies.as_slice() {
            [] => 0,
            [None] => self.kits_short(None),
            // Each further section takes its own beside those of the first.
            some => {
                let one = self.kits_for(*some.first().unwrap_or(&None));
                let more = u32::try_from(some.len().saturating_sub(1)).unwrap_or(0);
                self.kits_short_by(one * (more + 1))
            }
        };
        if short > 0 {
            parts.push(Part::Kits(short));
        }
        parts.extend(assemblies.into_iter().map(Part::Assemble));
        parts.extend(self.loose().into_iter().map(Part::Tighten));
        parts.extend([Part::Prove, Part::Return]);
        parts
    }

    /// Where something is open: nowhere, everywhere at once, or in these sections.
    fn together(&self, open: impl Fn(u8) -> bool) -> Vec<Option<u8>> {
        let sections: Vec<u8> = self.all().filter(|s| open(*s)).collect();
        if sections.len() == usize::from(self.sections) {
            return vec![None];
        }
        sections.into_iter().map(Some).collect()
    }
}
