//! A seating face as found and measured at the bench, and whether it may be used again.
//! How flatness is computed is the affair of `calc`; when a face has to be measured, of `course.rs`.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use time::Date;

use super::gauge::Kind;
use super::ids::InstrumentNumber;
use super::sentence::Sentence;
use super::words::{times, words};
use crate::calc::calendar::{iso_date, said};
use crate::calc::conformance::{self, Decision, Guard, Limit, decide};
use crate::calc::quantity::{LengthUnit, StampedLength};
use crate::calc::seat::{self, Judged};
use crate::calc::shown::{self, Shown};
use crate::calc::wall::{Growth, Measured, Skim, SkimVerdict, growth, plan_skim};

words! {
    /// Which seating face; the back ones are those of a transparent gauge.
    FaceOf, "which face" {
        Chamber: "chamber", "chamber recess";
        Cover: "cover", "cover recess";
        ChamberBack: "chamber-back", "chamber recess at the back";
        CoverBack: "cover-back", "cover recess at the back";
    }
}

impl FaceOf {
    /// The faces one section of a gauge has.
    pub const fn of(kind: Kind) -> &'static [Self] {
        match kind {
            Kind::Reflex => &[Self::Chamber, Self::Cover],
            Kind::Transparent => Self::ALL,
        }
    }

    /// What it is called on a gauge of a kind: where there is a back, the front is named too.
    pub const fn named(self, kind: Kind) -> &'static str {
        match (kind, self) {
            (Kind::Transparent, Self::Chamber) => "chamber recess in front",
            (Kind::Transparent, Self::Cover) => "cover recess in front",
            _ => self.shown(),
        }
    }

    /// Whether the wall between through-bore and recess lies behind this face.
    pub const fn on_chamber(self) -> bool {
        matches!(self, Self::Chamber | Self::ChamberBack)
    }
}

words! {
    /// The state of a face as seen.
    FaceSeen, "what the face looks like" {
        Clean: "clean", "clean, no pits or gouges";
        Pitted: "pitted", "pitted or gouged";
        Skimmed: "skimmed", "skimmed on the mill and clean";
        Renewed: "renewed", "new part, clean";
    }
}

/// Heights along both rails of a face, all in one unit, from the same end.
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

/// The plant's limits on the day a face was read; a later change does not rewrite the record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Limits {
    /// Most a face may be out of flat.
    pub flatness: StampedLength,
    /// Least wall between through-bore and recess.
    pub wall: StampedLength,
    /// How often a face may be skimmed.
    pub skims: u8,
}

/// What is ticked where a wall was read thicker than before, by more than both readings can be off.
pub const READ_AGAIN: &str = "it was read again, at the right place, in the right unit and with the right instrument, and is so";

/// What stands where something was measured and nobody named what with.
pub const NO_INSTRUMENT: &str = "no instrument of the register named";

/// What was said of a wall that was read thicker than before, by more than both readings can be off.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Thicker {
    /// Whether it was ticked that it was read again and is so.
    pub read_again: bool,
    /// Why it is thicker.
    pub reason: String,
    /// What it was held against; found when it is recorded.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub before: Option<Before>,
}

/// The last reading of the same wall.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Before {
    /// What was read.
    pub thickness: StampedLength,
    /// When.
    #[serde(with = "iso_date")]
    pub on: Date,
    /// How uncertain it was by its instrument (standard uncertainty), where that is known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub standard: Option<StampedLength>,
    /// What both readings together can be off (expanded uncertainty, k = 2).
    pub expanded: StampedLength,
    /// The limit it was under, where it was and this reading keeps its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub under: Option<StampedLength>,
    /// Whether this reading corrects it, so that it was never another reading.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub corrected: bool,
}

impl Before {
    /// When it was read, in words.
    pub fn dated(&self) -> String {
        let on = said(self.on);
        if self.corrected {
            format!("as entered before for {on}")
        } else {
            format!("on {on}")
        }
    }
}

/// One face as found, or as it is after a skim.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reading {
    /// Which face.
    pub face: FaceOf,
    /// As seen.
    pub seen: FaceSeen,
    /// Heights along the rails, where they were taken.
    pub heights: Option<Heights>,
    /// Thinnest feeler that does not pass under the straightedge, where that was tried.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub feeler: Option<StampedLength>,
    /// What the heights or the gap were read with.
    pub instrument: Option<InstrumentNumber>,
    /// Wall between through-bore and recess, where it was measured.
    pub wall: Option<StampedLength>,
    /// What the wall was measured with.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wall_instrument: Option<InstrumentNumber>,
    /// How uncertain the wall as read is by the instrument itself (standard uncertainty); older entries say
    /// nothing of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wall_off: Option<StampedLength>,
    /// What was said of a wall that was read thicker than before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub thicker: Option<Thicker>,
    /// How uncertain a height-to-height difference is by the instrument itself (standard uncertainty).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub off: Option<StampedLength>,
    /// Depth of the cut that is planned, where the face is not good and is to be skimmed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub skim: Option<StampedLength>,
    /// How often the face had been skimmed when the cut was planned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub skims_done: Option<u8>,
    /// The plant's limits on that day.
    pub limits: Limits,
    /// Anything else seen.
    pub note: String,
}

words! {
    /// What is done with a face after it was read.
    FaceResult, "what is done with the face" {
        Accept: "accept", "accepted";
        Skim: "skim", "not accepted: skimmed, then measured again";
        SkimOrRenew: "skim-or-renew", "not accepted: skimmed or renewed, then measured again";
        Scrap: "scrap", "scrap: the part is renewed";
    }
}

/// What a reading says about its face.
#[derive(Debug, Clone)]
pub struct Verdict {
    /// Flatness by the heights.
    pub flatness: Option<Judged>,
    /// The same to the digits the heights and the instrument carry.
    pub shown: Option<Shown<LengthUnit>>,
    /// Flatness by straightedge and feeler.
    pub feeler: Option<Judged>,
    /// The wall.
    pub wall: Option<Judged>,
    /// The flatness by the heights against its limit with what the instrument can tell.
    pub certain: Option<Decision>,
    /// What would stay after the cut that is planned.
    pub skim: Option<SkimVerdict>,
    /// Everything that forbids using the face, in words; none when it may be used.
    pub against: Vec<String>,
}

impl Verdict {
    /// Whether the flatness keeps its limit by the reading, and by what the instrument can tell
    /// might not.
    pub fn undecided(&self) -> bool {
        let kept = self.flatness.as_ref().is_some_and(|judged| judged.kept);
        let certain = self.certain.as_ref().map(|one| one.verdict);
        kept && certain == Some(conformance::Verdict::Undecided)
    }

    /// What is done with the face.
    pub fn result(&self) -> FaceResult {
        if self.against.is_empty() {
            return FaceResult::Accept;
        }
        if self.wall.as_ref().is_some_and(|judged| !judged.kept) {
            return FaceResult::Scrap;
        }
        match self.skim.as_ref().map(|planned| planned.skim) {
            Some(Skim::Allowed) => FaceResult::Skim,
            Some(Skim::TooThin | Skim::TooOften) => FaceResult::Scrap,
            None => FaceResult::SkimOrRenew,
        }
    }
}

impl Reading {
    /// Judges the face by the limits of its day.
    pub fn verdict(&self) -> Verdict {
        let mut against = Vec::new();
        if self.seen == FaceSeen::Pitted {
            against.push("is pitted or gouged".to_owned());
        }
        let flatness = self.heights.as_ref().and_then(|h| {
            let stations = seat::stations(h.pitch_mm, h.rails_apart_mm, &h.left, &h.right);
            match seat::flat(&stations, h.unit, self.limits.flatness) {
                Ok(judged) => Some(judged),
                Err(error) => {
                    against.push(format!("has heights that cannot be used ({error})"));
                    None
                }
            }
        });
        let shown = flatness.as_ref().and_then(|judged| self.shown(judged));
        if let Some(judged) = flatness.as_ref().filter(|judged| !judged.kept) {
            against.push(format!(
                "is {} out of flat, more than the limit of {}",
                in_unit_of_limit(judged, shown.as_ref()),
                judged.limit
            ));
        }
        let feeler = self
            .feeler
            .and_then(|s| seat::under_straightedge(s, self.limits.flatness).ok());
        if let Some(judged) = feeler.as_ref().filter(|judged| !judged.kept) {
            against.push(format!(
                "may be up to {} out of flat under the straightedge, more than the limit of {}",
                judged.value, judged.limit
            ));
        }
        let wall = self.wall_judged();
        if let Some(judged) = wall.as_ref().filter(|judged| !judged.kept) {
            against.push(format!(
                "has {} of wall left, less than the limit of {}: no skim brings it back, renew the part",
                judged.value, judged.limit
            ));
        }
        let certain = flatness.as_ref().zip(self.off).and_then(|(judged, off)| {
            decide(
                judged.value,
                off,
                Limit::at_most(judged.limit),
                Guard::EXPANDED,
            )
            .ok()
        });
        Verdict {
            flatness,
            shown,
            feeler,
            wall,
            certain,
            skim: self.planned(),
            against,
        }
    }

    /// The wall by the limit of its day, without the face that is judged beside it.
    pub fn wall_judged(&self) -> Option<Judged> {
        let wall = self.wall?;
        seat::wall(wall, self.limits.wall).ok()
    }

    /// Whether the wall is under the limit of its day.
    pub fn is_thin(&self) -> bool {
        self.wall_judged().is_some_and(|judged| !judged.kept)
    }

    /// The wall as it was read, with what its instrument can be off.
    pub fn measured(&self) -> Option<Measured> {
        Some(Measured {
            thickness: self.wall?,
            standard: self.wall_off,
        })
    }

    /// What the wall was read thicker than, and the reason that was written, where it was.
    pub fn grew(&self) -> Option<(&Before, &str)> {
        let thicker = self.thicker.as_ref()?;
        Some((thicker.before.as_ref()?, thicker.reason.as_str()))
    }

    /// How it was found that the wall was read thicker than before.
    pub fn growth(&self) -> Option<Growth> {
        let (before, _) = self.grew()?;
        let earlier = Measured {
            thickness: before.thickness,
            standard: before.standard,
        };
        growth(earlier, self.measured()?).ok()
    }

    /// How the wall was asked about and what was said of it, in a sentence that begins with the wall; none
    /// where it was not.
    pub fn grew_told(&self) -> Option<String> {
        let (before, reason) = self.grew()?;
        let (wall, earlier, dated) = (self.wall?, before.thickness, before.dated());
        // What kept a limit that the one before did not may lie within what both can be off.
        let explained =
            before.under.is_some() && self.growth().is_some_and(|found| !found.unexplained);
        let off = before.expanded;
        let compared = if explained {
            format!("after {earlier} {dated}; both readings can be off by {off} (k = 2)")
        } else {
            format!(
                "thicker than {earlier} {dated} by more than both readings can be off ({off}, k = 2)"
            )
        };
        let under = before.under.map_or_else(String::new, |limit| {
            format!("; the earlier one was under the limit of {limit}")
        });
        Some(format!(
            "a wall of {wall}, {compared}{under}. Confirmed: {READ_AGAIN}. Why: {reason}"
        ))
    }

    /// The flatness to the digits that the heights as written and twice what the instrument is off by
    /// carry.
    fn shown(&self, judged: &Judged) -> Option<Shown<LengthUnit>> {
        let heights = self.heights.as_ref()?;
        let read = heights.left.iter().chain(&heights.right);
        let decimals = read.map(Decimal::scale).max()?;
        let twice = |off: StampedLength| StampedLength::new(off.value * Decimal::TWO, off.unit);
        let expanded = self.off.map(twice);
        shown::at_most(judged.value, (decimals, expanded), judged.limit).ok()
    }

    /// What would stay of the wall after the cut that is planned.
    fn planned(&self) -> Option<SkimVerdict> {
        let (cut, wall) = (self.skim?, self.wall?);
        let done = self.skims_done.unwrap_or(0);
        plan_skim(wall, cut, self.limits.wall, done, self.limits.skims).ok()
    }

    /// Why the cut that is planned is not made: the field, and the words.
    ///
    /// # Errors
    /// A face that is good or was cut already, no wall to judge it by, too little that would stay, and
    /// a face that was skimmed as often as the plant allows.
    pub fn may_be_cut(&self) -> Result<(), (&'static str, String)> {
        let Some(cut) = self.skim else {
            return Ok(());
        };
        let no = |words: String| Err(("skim", words));
        if matches!(self.seen, FaceSeen::Skimmed | FaceSeen::Renewed) {
            return no("This says how the face is after the work; a further cut is planned with a reading of its own".to_owned());
        }
        if self.verdict().against.is_empty() {
            return no("This face is good; nothing is cut off it".to_owned());
        }
        if !self.face.on_chamber() {
            return Ok(());
        }
        let Some(wall) = self.wall else {
            let words = "Before a skim the wall between bore and recess is measured";
            return Err(("wall", words.to_owned()));
        };
        let Some(planned) = self.planned() else {
            return no(format!(
                "A cut of {cut} out of a wall of {wall} cannot be reckoned"
            ));
        };
        match planned.skim {
            Skim::Allowed => Ok(()),
            Skim::TooThin => no(format!(
                "This would leave {} of wall, less than the limit of {}: renew the part",
                planned.left, self.limits.wall
            )),
            Skim::TooOften => no(format!(
                "This face has been skimmed {} and the plant allows {}: renew the part",
                times(u32::from(self.skims_done.unwrap_or(0))),
                self.limits.skims
            )),
        }
    }

    /// Whether heights or a gap were read and no instrument was named for them.
    pub fn read_by_none(&self) -> bool {
        self.instrument.is_none() && (self.heights.is_some() || self.feeler.is_some())
    }

    /// The reading as pairs of a label and what stands beside it, without the note.
    pub fn told(&self) -> Vec<(&'static str, Sentence)> {
        let verdict = self.verdict();
        let mut pairs = vec![("Seen", Sentence::of(self.seen))];
        let against = |kept: bool| if kept { "within" } else { "beyond" };
        if let Some(h) = &self.heights {
            pairs.push((
                "Heights",
                Sentence::of(format!(
                    "left {}; right {} {}; stations {} mm apart, rails {} mm apart",
                    spaced(&h.left),
                    spaced(&h.right),
                    h.unit,
                    h.pitch_mm,
                    h.rails_apart_mm
                )),
            ));
        }
        if let Some(judged) = &verdict.flatness {
            pairs.push((
                "Flatness",
                in_unit_of_limit(judged, verdict.shown.as_ref())
                    .words(format!(", {} the limit of ", against(judged.kept)))
                    .at_most(judged.limit),
            ));
        }
        if let Some(judged) = &verdict.feeler {
            pairs.push((
                "Straightedge",
                Sentence::default()
                    .figure(judged.value)
                    .words(format!(
                        " does not pass, {} the limit of ",
                        against(judged.kept)
                    ))
                    .at_most(judged.limit),
            ));
        }
        if let Some(certain) = &verdict.certain {
            let answer = certain.working.answer().unwrap_or_default();
            pairs.push((
                "With the instrument\u{2019}s uncertainty",
                Sentence::of(answer),
            ));
        }
        match &self.instrument {
            Some(number) => pairs.push(("Read with", Sentence::of(number))),
            None if self.read_by_none() => pairs.push(("Read with", Sentence::of(NO_INSTRUMENT))),
            None => {}
        }
        if let Some(judged) = &verdict.wall {
            let kept = if judged.kept { "at least" } else { "less than" };
            pairs.push((
                "Wall",
                in_unit_of_limit(judged, None)
                    .words(format!(", {kept} the limit of "))
                    .at_least(judged.limit),
            ));
        }
        match &self.wall_instrument {
            Some(number) => pairs.push(("Wall measured with", Sentence::of(number))),
            None if self.wall.is_some() => {
                pairs.push(("Wall measured with", Sentence::of(NO_INSTRUMENT)));
            }
            None => {}
        }
        if let Some((before, reason)) = self.grew() {
            let earlier = Sentence::default()
                .figure(before.thickness)
                .words(format!(" {}", before.dated()));
            let (label, earlier) = match before.under {
                None => ("Thicker than before", earlier),
                Some(limit) => (
                    "Under the limit before",
                    earlier.words(", less than the limit of ").at_least(limit),
                ),
            };
            let off = earlier.words("; the two readings can be off by ");
            pairs.push((label, off.figure(before.expanded)));
            pairs.push(("Confirmed", Sentence::of(READ_AGAIN)));
            pairs.push(("Why thicker", Sentence::of(reason)));
        }
        if let Some(cut) = self.skim {
            let left = verdict.skim.as_ref();
            let planned = Sentence::default().figure(cut);
            let planned = match left {
                Some(p) => planned.words(", which leaves ").figure(p.left),
                None => planned,
            };
            pairs.push(("Skim planned", planned));
        }
        pairs.push(("Result", Sentence::of(verdict.result())));
        pairs
    }

    /// What still has to be measured, by the field it is asked in and in words: every face is
    /// measured for flatness, and after a cut the wall behind it is measured again.
    pub fn lacks(&self) -> Option<(&'static str, &'static str)> {
        if self.seen != FaceSeen::Pitted && self.heights.is_none() && self.feeler.is_none() {
            return Some((
                "feeler",
                "Read the heights along both rails, or write the thinnest feeler that does not pass under the straightedge",
            ));
        }
        if self.seen == FaceSeen::Skimmed && self.face.on_chamber() && self.wall.is_none() {
            return Some((
                "wall",
                "After a skim the wall between bore and recess is measured again",
            ));
        }
        None
    }
}

/// The reading of a wall under its limit that still counts, of the readings of one face in their order: a new
/// part ends it, and a reading that was asked about and keeps the limit. Where an earlier reading is corrected
/// downwards afterwards and the later one was never asked about, the earlier one counts.
pub fn still_thin<'a, T>(
    readings: impl IntoIterator<Item = (T, &'a Reading)>,
) -> Option<(T, &'a Reading)> {
    readings.into_iter().fold(None, |thin, (at, reading)| {
        if reading.is_thin() {
            Some((at, reading))
        } else if reading.seen == FaceSeen::Renewed || reading.grew().is_some() {
            None
        } else {
            thin
        }
    })
}

fn spaced(heights: &[Decimal]) -> String {
    heights
        .iter()
        .map(Decimal::to_string)
        .collect::<Vec<_>>()
        .join(" ")
}

/// A judged value as it reads beside its limit.
fn in_unit_of_limit(judged: &Judged, shown: Option<&Shown<LengthUnit>>) -> Sentence {
    let value = shown.map_or(judged.value, |shown| shown.value);
    if value.unit == judged.limit.unit {
        Sentence::default().figure(value)
    } else {
        // It has its other unit already: that of the limit.
        Sentence::of(format!("{value} ({})", value.shown_in(judged.limit.unit)))
    }
}
