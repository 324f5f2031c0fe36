//! What a rebuild asks for next, stage by stage, and the words for what it waits for.
//! Which entries count for that is decided in `course.rs`.

use time::Date;

use super::{Counted, Course, Stage, hangs};
use crate::record::bench::{Entry, Topic};
use crate::record::face::FaceOf;
use crate::record::pressure_test::TestResult;
use crate::record::rebuild::RebuildState;
use crate::record::turn::Left;

/// What a rebuild asks for next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Next {
    /// It has not come to the bench yet.
    Start,
    /// To be made safe.
    MakeSafe,
    /// This section is to be stripped.
    Strip(u8),
    /// The bolting is to be checked, of this section or of all.
    CheckBolting(Option<u8>),
    /// This face is to be inspected.
    Inspect(u8, FaceOf),
    /// Kits are to be issued: so many are short.
    IssueKits(u32),
    /// New kits are to be fitted, in this section or in all.
    Assemble(Option<u8>),
    /// This section is to be tightened.
    Tighten(u8),
    /// To be sent to its test.
    SendToTest,
    /// To be proved under pressure.
    Prove,
    /// It failed its test.
    TakeBack,
    /// It passed and may go back.
    Return,
    /// Nothing any more.
    Nothing,
}

/// The stages worked through at the bench, in order.
pub(super) const BENCH: &[Stage] = &[
    Stage::MadeSafe,
    Stage::Stripped,
    Stage::Inspected,
    Stage::Assembled,
    Stage::Tightened,
];

impl Course {
    /// What the first open point of a stage asks for; none when the stage is complete.
    fn open_point(&self, stage: Stage) -> Option<Next> {
        match stage {
            Stage::MadeSafe => self
                .counted()
                .iter()
                .all(|c| c.entry.facts.topic() != Topic::MadeSafe)
                .then_some(Next::MakeSafe),
            Stage::Stripped => self
                .all()
                .find(|s| self.latest(Topic::Stripped, *s).is_none())
                .map(Next::Strip),
            Stage::Inspected => self.bolting_open().or_else(|| {
                self.all().find_map(|section| {
                    FaceOf::of(self.kind).iter().copied().find_map(|face| {
                        let open = self.face(section, face).is_none()
                            || self.against_face(section, face).is_some();
                        open.then_some(Next::Inspect(section, face))
                    })
                })
            }),
            Stage::Assembled => self.asked_of(
                |section| self.assembled(section).is_none(),
                |section| match self.kits_short(section) {
                    0 => Next::Assemble(section),
                    short => Next::IssueKits(short),
                },
            ),
            Stage::Tightened => self
                .in_order()
                .into_iter()
                .find(|s| !self.tight(*s))
                .map(Next::Tighten),
            Stage::Proved => (!self.proved()).then_some(Next::Prove),
            Stage::Returned => (self.state != RebuildState::Returned).then_some(Next::Return),
        }
    }

    /// What the sections that are open ask for: all of them together, or the first of some.
    fn asked_of(
        &self,
        open: impl Fn(u8) -> bool,
        ask: impl Fn(Option<u8>) -> Next,
    ) -> Option<Next> {
        let sections: Vec<u8> = self.all().filter(|section| open(*section)).collect();
        let all = sections.len() == usize::from(self.sections);
        sections.first().map(|first| ask((!all).then_some(*first)))
    }

    fn bolting_open(&self) -> Option<Next> {
        let open = |section| {
            self.latest(Topic::Bolting, section)
                .is_none_or(|counted: Counted<'_>| hangs(counted.entry))
        };
        self.asked_of(open, Next::CheckBolting)
    }

    /// What comes next.
    pub fn next(&self) -> Next {
        match self.state {
            RebuildState::Planned | RebuildState::Ready => Next::Start,
            RebuildState::AtTheBench => BENCH
                .iter()
                .find_map(|stage| self.open_point(*stage))
                .unwrap_or(Next::SendToTest),
            RebuildState::OnTest => match self.test_since().map(|test| test.result) {
                None => Next::Prove,
                Some(TestResult::Passed) => Next::Return,
                Some(TestResult::Failed) => Next::TakeBack,
            },
            RebuildState::Returned | RebuildState::Abandoned => Next::Nothing,
        }
    }

    /// The stage the next thing to do belongs to; none before the bench and after the end.
    pub fn stage(&self) -> Option<Stage> {
        Some(match self.next() {
            Next::Start | Next::Nothing => return None,
            Next::MakeSafe => Stage::MadeSafe,
            Next::Strip(_) => Stage::Stripped,
            Next::CheckBolting(_) | Next::Inspect(..) => Stage::Inspected,
            Next::IssueKits(_) | Next::Assemble(_) => Stage::Assembled,
            Next::Tighten(_) => Stage::Tightened,
            Next::SendToTest | Next::Prove | Next::TakeBack => Stage::Proved,
            Next::Return => Stage::Returned,
        })
    }

    /// Why a stage is not complete; none when it is.
    pub fn missing(&self, stage: Stage) -> Option<String> {
        let comes_first = |what: String| format!("\u{201c}{stage}\u{201d} comes first{what}");
        let of = |section: u8| self.of_section(Some(section));
        self.open_point(stage).map(|open| match open {
            Next::Strip(s) if self.sections > 1 => {
                comes_first(format!(": section {s} is not recorded"))
            }
            Next::CheckBolting(section) => match self.hanging(section) {
                Some(s) => format!("A nut{} hangs. Renew bolt and nut until it runs freely by hand over the whole thread; with a hanging nut the torque reading lies", of(s)),
                None => comes_first(": the bolting is not checked".to_owned()),
            },
            Next::Inspect(s, face) => self.against_face(s, face).map_or_else(
                || comes_first(format!(": the {}{} is not recorded", face.named(self.kind), of(s))),
                |against| format!("{against}. It is not assembled before it is skimmed or renewed and measured again"),
            ),
            Next::IssueKits(short) => format!(
                "{} for the assembly: issue new glass and gaskets first, old ones are never used again",
                if short == 1 { "1 kit is missing".to_owned() } else { format!("{short} kits are missing") }
            ),
            Next::Tighten(s) if self.sections > 1 => {
                comes_first(format!(": section {s} is not tight"))
            }
            _ => comes_first(String::new()),
        })
    }

    fn hanging(&self, section: Option<u8>) -> Option<u8> {
        self.all().find(|s| {
            section.is_none_or(|one| one == *s)
                && self
                    .latest(Topic::Bolting, *s)
                    .is_some_and(|c| hangs(c.entry))
        })
    }

    /// The entry that found a nut hanging and has not been put in order since, if there is one.
    pub fn hanging_nut(&self) -> Option<&Entry> {
        self.standing(Topic::Bolting, self.hanging(None)?)
    }

    /// The first thing missing before the gauge may be sent to its test.
    pub fn missing_before_test(&self) -> Option<String> {
        BENCH.iter().find_map(|stage| self.missing(*stage))
    }

    /// What the shelf holds for it, where that is too little for what comes next: its kits before it comes to
    /// the bench, or those to be issued there today.
    pub fn short_at_the_shelf(&self, today: Date) -> Option<Left> {
        let queue = self.queue.as_ref()?;
        match self.next() {
            Next::Start if self.state == RebuildState::Planned => {
                let left = self.shelf(today);
                (self.kits_in_hand(left) < self.kits_needed).then_some(left)
            }
            Next::IssueKits(short) => {
                let left = queue.left(self.turn, today, today);
                (left.kits() < short).then_some(left)
            }
            _ => None,
        }
    }

    /// What the rebuild waits for, in a few words.
    pub fn waits_for(&self, today: Date) -> String {
        self.waits_with(self.shelf(today))
    }

    /// The same with what the shelf holds for it, where that was asked for already.
    pub fn waits_with(&self, left: Left) -> String {
        let of = |section: u8| self.of_section(Some(section));
        match self.next() {
            Next::Start if self.state == RebuildState::Ready => {
                "to be taken to the bench".to_owned()
            }
            Next::Start => match (&self.kit, self.kits_in_hand(left)) {
                (None, _) => "a kit: none is named for this gauge".to_owned(),
                (Some(kit), have) if have < self.kits_needed => {
                    let others = left.told();
                    format!("kits: {have} of {} {kit} in hand{others}", self.kits_needed)
                }
                _ => {
                    let kits = match self.kits_taken {
                        0 => "are in the storeroom",
                        taken if taken < self.kits_needed => "are issued or in the storeroom",
                        _ => "are issued",
                    };
                    format!(
                        "torque wrench, feeler set or dial indicator, caliper and pressure gauge to be laid out (kits {kits})"
                    )
                }
            },
            Next::MakeSafe => "to be made safe".to_owned(),
            Next::Strip(s) => format!("stripping{}", of(s)),
            Next::CheckBolting(section) => match self.hanging(section) {
                Some(s) => format!("bolting{}: a nut hangs", of(s)),
                None => "the bolting to be checked".to_owned(),
            },
            Next::Inspect(s, face) => self.against_face(s, face).unwrap_or_else(|| {
                format!("the {}{} to be inspected", face.named(self.kind), of(s))
            }),
            Next::IssueKits(1) => "1 kit to be issued".to_owned(),
            Next::IssueKits(short) => format!("{short} kits to be issued"),
            Next::Assemble(section) => format!("assembly{}", self.of_section(section)),
            Next::Tighten(s) => format!("tightening{}", of(s)),
            Next::SendToTest => "to be sent to its test".to_owned(),
            Next::Prove => "its pressure test".to_owned(),
            Next::TakeBack => "failed its test; back to the bench".to_owned(),
            Next::Return => "passed its test; to be returned".to_owned(),
            Next::Nothing => "nothing".to_owned(),
        }
    }
}
