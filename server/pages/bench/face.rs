//! A seating face: as seen, heights along both rails typed or pasted, straightedge, wall. The flatness
//! can be worked out before anything is recorded; whether a face will do is judged in `record::face`.

use rust_decimal::Decimal;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::face_map::{FaceMap, WallChart};
use super::job::Job;
use super::sheet::Form;
use super::step::{Options, Step, section, section_typed, words};
use crate::acts::bench::Recorded;
use crate::calc::conformance::Decision;
use crate::calc::quantity::{self, LengthUnit, Side, StampedLength, Unit};
use crate::calc::seat::Judged;
use crate::calc::wall;
use crate::calc::working::Working;
use crate::pages::chrome::Chrome;
use crate::pages::form::{Errors, Reader};
use crate::pages::show;
use crate::record::bench::{Entry, Facts};
use crate::record::course::Next;
use crate::record::face::{
    FaceOf, FaceResult, FaceSeen, Heights, Limits, READ_AGAIN, Reading, Thicker, Verdict,
};
use crate::record::instrument::{Instrument, InstrumentKind};
use crate::record::wear::{walls, worn};
use crate::record::{EntryId, InstrumentNumber};
use crate::store;

/// The most heights on one rail.
const MOST_HEIGHTS: usize = 200;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) section: String,
    pub(super) face: String,
    pub(super) seen_as: String,
    pub(super) left: String,
    pub(super) right: String,
    pub(super) heights_unit: String,
    pub(super) pitch: String,
    pub(super) apart: String,
    pub(super) feeler: String,
    pub(super) feeler_unit: String,
    pub(super) instrument: String,
    pub(super) wall: String,
    pub(super) wall_unit: String,
    pub(super) wall_instrument: String,
    pub(super) again: String,
    pub(super) again_reason: String,
    pub(super) skim: String,
    pub(super) skim_unit: String,
    pub(super) note: String,
    /// Sent by the button that only works the flatness out.
    pub only: String,
    /// The entry it corrects.
    #[serde(skip)]
    corrects: Option<EntryId>,
}

/// The form with what it is chosen from and what the readings say.
#[derive(Debug, Clone)]
pub struct View {
    /// What is typed.
    pub typed: Typed,
    /// The faces of this gauge.
    pub faces: Options,
    /// Instruments for heights and gaps.
    pub instruments: Options,
    /// Instruments for a wall.
    pub wall_instruments: Options,
    /// The kinds of instrument the plant has in use.
    pub has: Vec<InstrumentKind>,
    /// What the readings say, where they can be read.
    pub verdict: Option<Verdict>,
    /// What a skim that makes it flat would leave, where that can be said.
    pub skim: Option<Working>,
    /// The plant's limits.
    pub limits: Limits,
    /// How often this face has been skimmed; none while no face is chosen.
    pub skims: Option<u32>,
    /// Whether no cut brings this face back, so that its part is renewed.
    pub renew_only: bool,
    /// Whether this face has been cut as often as the plant allows.
    pub cut_enough: bool,
    /// What stands against the face by what was recorded last.
    pub against: Option<String>,
    /// Whether a wall lies behind this face.
    pub on_chamber: bool,
    /// The heights as typed, drawn.
    pub map: Option<FaceMap>,
    /// The wall by the years, drawn.
    pub wear: Option<WallChart>,
    /// The flatness held against its limit with what the instrument can tell.
    pub told: Option<Decision>,
}

impl View {
    /// The faces of this gauge.
    pub fn faces(&self) -> Options {
        self.faces.clone()
    }

    /// Instruments for heights and gaps.
    pub fn instruments(&self) -> Options {
        self.instruments.clone()
    }

    /// Instruments for a wall.
    pub fn wall_instruments(&self) -> Options {
        self.wall_instruments.clone()
    }

    fn lacks(&self, kinds: &[InstrumentKind]) -> bool {
        kinds.iter().all(|kind| !self.has.contains(kind))
    }

    fn lacking(&self, kinds: &[InstrumentKind]) -> Option<String> {
        self.lacks(kinds).then(|| InstrumentKind::any_of(kinds))
    }

    /// What the plant has nothing of to read a gap under the straightedge with.
    pub fn lacks_gap(&self) -> Option<String> {
        self.lacking(InstrumentKind::GAP)
    }

    /// What the plant has nothing of to read heights with.
    pub fn lacks_heights(&self) -> Option<String> {
        self.lacking(InstrumentKind::HEIGHTS)
    }

    /// Whether the plant has nothing to measure a wall with.
    pub fn lacks_wall(&self) -> bool {
        self.lacks(InstrumentKind::WALL)
    }

    /// What a face may look like.
    pub fn looks(&self) -> Options {
        words(FaceSeen::ALL, FaceSeen::word, FaceSeen::shown)
    }

    /// Whether what is typed says that the face is not good as it is, so that a cut may be planned.
    pub fn not_good(&self) -> bool {
        let pitted = self.typed.seen_as == FaceSeen::Pitted.word();
        let against = self.verdict.as_ref().map(|v| !v.against.is_empty());
        pitted || against.unwrap_or(false)
    }

    /// Whether a cut may be planned: of a face that is not good, and that a cut may bring back.
    pub fn may_plan_a_cut(&self) -> bool {
        let asked = self.against.is_some() || self.not_good();
        !self.typed.skim.is_empty() || (asked && !self.renew_only && !self.cut_enough)
    }

    /// Whether it is asked if a wall that is thicker than before was read again.
    pub fn asks_again(&self, errors: &Errors) -> bool {
        let t = &self.typed;
        let said = [&t.again, &t.again_reason];
        said.iter().any(|text| !text.is_empty())
            || ["again", "again_reason"]
                .iter()
                .any(|field| !errors.on(field).is_empty())
    }

    /// What is ticked of such a wall.
    pub fn again(&self) -> String {
        show::sentence(READ_AGAIN)
    }

    /// Whether heights are typed, or something is wrong with them.
    pub fn by_heights(&self, errors: &Errors) -> bool {
        let t = &self.typed;
        let typed = [&t.left, &t.right, &t.pitch, &t.apart];
        let wrong = ["left", "right", "heights_unit", "pitch", "apart"];
        typed.iter().any(|text| !text.is_empty())
            || wrong.iter().any(|field| !errors.on(field).is_empty())
    }

    /// The readings that could be judged, the flatness with the digits it is shown to.
    pub fn judged(&self) -> Vec<(Judged, Side)> {
        let Some(verdict) = &self.verdict else {
            return Vec::new();
        };
        let mut flat = verdict.flatness.clone();
        if let (Some(flat), Some(shown)) = (&mut flat, &verdict.shown) {
            flat.value = shown.value;
            // Before the decision, which stays the answer.
            let decision = flat.working.steps.len().saturating_sub(1);
            let steps = shown.working.steps.iter().cloned();
            flat.working.steps.splice(decision..decision, steps);
        }
        // Neither gap may pass its limit, and the wall has to reach its own.
        [
            (flat, Side::Down),
            (verdict.feeler.clone(), Side::Down),
            (verdict.wall.clone(), Side::Up),
        ]
        .into_iter()
        .filter_map(|(judged, side)| Some((judged?, side)))
        .collect()
    }

    /// Units of length, the plant's first.
    pub fn units(&self) -> Options {
        LengthUnit::ALL
            .iter()
            .map(|unit| (unit.ucum().to_owned(), unit.symbol().to_owned()))
            .collect()
    }
}

/// The plant's limits as they are today.
fn limits(chrome: &Chrome) -> Limits {
    Limits {
        flatness: chrome.plant.flatness_limit,
        wall: chrome.plant.wall_limit,
        skims: chrome.plant.skim_limit,
    }
}

impl Step for Typed {
    fn of(entry: &Entry) -> Option<Self> {
        let Facts::Face(reading) = &entry.facts else {
            return None;
        };
        let unit_of = |length: Option<StampedLength>| {
            length.map_or_else(String::new, |l| l.unit.ucum().to_owned())
        };
        let value_of = |length: Option<StampedLength>| {
            length.map_or_else(String::new, |l| l.value.to_string())
        };
        let number_of = |number: &Option<InstrumentNumber>| {
            number
                .as_ref()
                .map_or_else(String::new, ToString::to_string)
        };
        let mut typed = Self {
            section: section_typed(entry.section),
            face: reading.face.word().to_owned(),
            seen_as: reading.seen.word().to_owned(),
            feeler: value_of(reading.feeler),
            feeler_unit: unit_of(reading.feeler),
            instrument: number_of(&reading.instrument),
            wall: value_of(reading.wall),
            wall_unit: unit_of(reading.wall),
            wall_instrument: number_of(&reading.wall_instrument),
            // What was ticked was ticked of that wall; while it stays, the tick stays with it.
            again_reason: (reading.thicker.as_ref())
                .map_or_else(String::new, |one| one.reason.clone()),
            skim: value_of(reading.skim),
            skim_unit: unit_of(reading.skim),
            note: reading.note.clone(),
            ..Self::default()
        };
        if let Some(heights) = &reading.heights {
            let lines = |list: &[Decimal]| {
                list.iter()
                    .map(Decimal::to_string)
                    .collect::<Vec<_>>()
                    .join("\n")
            };
            typed.left = lines(&heights.left);
            typed.right = lines(&heights.right);
            heights.unit.ucum().clone_into(&mut typed.heights_unit);
            typed.pitch = heights.pitch_mm.to_string();
            typed.apart = heights.rails_apart_mm.to_string();
        }
        Some(typed)
    }

    fn correcting(self, entry: EntryId) -> Self {
        Self {
            corrects: Some(entry),
            ..self
        }
    }

    fn read(&self, job: &Job, chrome: &Chrome) -> Result<Recorded, Errors> {
        let mut read = Reader::new();
        let place = section(&mut read, job, &self.section, false);
        let face = read.parse::<FaceOf>("face", &self.face);
        let seen = read.parse::<FaceSeen>("seen_as", &self.seen_as);
        let taken = !(self.left.trim().is_empty() && self.right.trim().is_empty());
        let heights = taken.then(|| heights(&mut read, self));
        let feeler = read.stamped("feeler", &self.feeler, &self.feeler_unit);
        let wall = read.stamped("wall", &self.wall, &self.wall_unit);
        let skim = read.stamped("skim", &self.skim, &self.skim_unit);
        let instrument = number(&mut read, "instrument", &self.instrument);
        let wall_instrument = number(&mut read, "wall_instrument", &self.wall_instrument);
        let again_reason = read.text("again_reason", &self.again_reason, 400);
        let again = !self.again.is_empty();
        let thicker = (again || !again_reason.is_empty()).then_some(Thicker {
            read_again: again,
            reason: again_reason,
            before: None,
        });
        let note = read.text("note", &self.note, 2000);
        let skims_done =
            (face.zip(place.flatten()).filter(|_| skim.is_some())).map(|(face, section)| {
                u8::try_from(job.course.skims(section, face)).unwrap_or(u8::MAX)
            });
        let recorded = (|| {
            let reading = Reading {
                face: face?,
                seen: seen?,
                heights: match heights {
                    None => None,
                    Some(heights) => Some(heights?),
                },
                feeler,
                instrument,
                wall,
                wall_instrument,
                wall_off: None,
                thicker,
                off: None,
                skim,
                skims_done,
                limits: limits(chrome),
                note,
            };
            Some(Recorded {
                section: place?,
                facts: Facts::Face(Box::new(reading)),
            })
        })();
        if let Some(Recorded { section, facts }) = &recorded
            && let Err(why) = job.course.fits(*section, facts)
        {
            read.refuse(&why.field, why.message);
        }
        read.finish(recorded)
    }

    async fn form(
        mut self,
        db: &mut SqliteConnection,
        job: &Job,
        chrome: &Chrome,
    ) -> store::Result<Form> {
        if let (true, Next::Inspect(section, face)) = (self.section.is_empty(), job.course.next()) {
            self.section = section.to_string();
            if self.face.is_empty() {
                face.word().clone_into(&mut self.face);
            }
        }
        for unit in [
            &mut self.heights_unit,
            &mut self.feeler_unit,
            &mut self.wall_unit,
            &mut self.skim_unit,
        ] {
            if unit.is_empty() {
                let own = chrome.reads().unit(chrome.plant.flatness_limit.unit);
                own.ucum().clone_into(unit);
            }
        }
        let all = [
            InstrumentKind::HEIGHTS,
            InstrumentKind::GAP,
            InstrumentKind::WALL,
        ]
        .concat();
        let instruments = store::instruments::of_kinds(db, &all).await?;
        let flat = [InstrumentKind::HEIGHTS, InstrumentKind::GAP].concat();
        let mut view = view(self, job, chrome, &instruments, &flat);
        view.wear = wear(db, &view, (job, chrome), &instruments).await?;
        Ok(Form::Face(Box::new(view)))
    }

    fn only_looks(&self) -> bool {
        !self.only.is_empty()
    }
}

fn view(
    typed: Typed,
    job: &Job,
    chrome: &Chrome,
    instruments: &[Instrument],
    flat: &[InstrumentKind],
) -> View {
    let reading = match typed.read(job, chrome) {
        Ok(Recorded {
            facts: Facts::Face(mut reading),
            ..
        }) => {
            let used = instruments
                .iter()
                .find(|i| Some(&i.number) == reading.instrument.as_ref());
            reading.off = used.and_then(|i| i.off_by(reading.limits.flatness));
            Some(*reading)
        }
        _ => None,
    };
    let face = typed.face.parse::<FaceOf>().ok();
    let chosen = typed.section.parse::<u8>().ok();
    let section = chosen.unwrap_or(1);
    let verdict = reading.as_ref().map(Reading::verdict);
    let skims = face.map_or(0, |face| job.course.skims(section, face));
    let known = chosen.is_some() || job.course.sections == 1;
    // What is typed now, or what was recorded last.
    let result = verdict.as_ref().map(Verdict::result).or_else(|| {
        let (_, standing) = job.course.standing_face(section, face?)?;
        Some(standing.verdict().result())
    });
    View {
        faces: FaceOf::of(job.course.kind)
            .iter()
            .map(|face| {
                (
                    face.word().to_owned(),
                    face.named(job.course.kind).to_owned(),
                )
            })
            .collect(),
        instruments: offered(instruments, flat, chrome),
        wall_instruments: offered(instruments, InstrumentKind::WALL, chrome),
        has: instruments.iter().map(|one| one.kind).collect(),
        skim: verdict
            .as_ref()
            .zip(reading.as_ref())
            .and_then(|(verdict, reading)| {
                skim(verdict, reading, (skims, chrome.plant.skim_limit))
            }),
        map: reading
            .as_ref()
            .and_then(|r| FaceMap::of(r.heights.as_ref()?, r.limits.flatness)),
        told: verdict.as_ref().and_then(|verdict| verdict.certain.clone()),
        wear: None,
        verdict,
        limits: limits(chrome),
        skims: face.filter(|_| known).map(|_| skims),
        renew_only: result == Some(FaceResult::Scrap),
        cut_enough: known && skims >= u32::from(chrome.plant.skim_limit),
        against: face.and_then(|face| job.course.against_face(section, face)),
        on_chamber: face.is_none_or(FaceOf::on_chamber),
        typed,
    }
}

/// The wall behind the face by the years, with what is typed now as the last reading; a correction in the place
/// of what it corrects.
async fn wear(
    db: &mut SqliteConnection,
    view: &View,
    (job, chrome): (&Job, &Chrome),
    instruments: &[Instrument],
) -> store::Result<Option<WallChart>> {
    let (Ok(section), Ok(face)) = (
        view.typed.section.parse(),
        view.typed.face.parse::<FaceOf>(),
    ) else {
        return Ok(None);
    };
    let zone = chrome.zone();
    let mut read = store::bench::wall_readings(db, job.gauge.id, section, face).await?;
    let mut typed = None;
    if let Ok(Recorded {
        facts: Facts::Face(mut reading),
        ..
    }) = view.typed.read(job, chrome)
    {
        let used = instruments
            .iter()
            .find(|i| Some(&i.number) == reading.wall_instrument.as_ref());
        reading.wall_off = used.and_then(|i| i.off_by(reading.wall?));
        read.retain(|one| Some(one.entry) != view.typed.corrects);
        let corrected = view.typed.corrects.and_then(|id| job.course.entry(id));
        let place = corrected.map(|entry| job.course.when(entry));
        let at = place.map_or(read.len(), |place| {
            read.partition_point(|one| one.place() < place)
        });
        let day = place.map_or(chrome.today, |(at, _)| zone.date(at));
        typed = Some((at, (section, day, *reading)));
    }
    let mut list: Vec<_> = read
        .into_iter()
        .map(|one| (section, zone.date(one.at), one.reading))
        .collect();
    if let Some((at, reading)) = typed {
        list.insert(at, reading);
    }
    // By the same rule as the gauge’s own page and its due date.
    let beside = job.rates_beside(section, face);
    let worn = worn(walls(list), view.limits.wall, &beside).unwrap_or_default();
    Ok(worn
        .into_iter()
        .next()
        .and_then(|wear| WallChart::of(wear, view.limits.wall)))
}

/// What would stay of the wall if just so much were skimmed that the face came flat.
fn skim(verdict: &Verdict, reading: &Reading, (done, most): (u32, u8)) -> Option<Working> {
    let flatness = verdict.flatness.as_ref().filter(|judged| !judged.kept)?;
    let done = u8::try_from(done).ok()?;
    let limit = reading.limits.wall;
    wall::plan_skim(reading.wall?, flatness.value, limit, done, most)
        .ok()
        .map(|planned| planned.working)
}

/// Instruments to choose from, those that may not be relied on today marked with the reason.
fn offered(instruments: &[Instrument], kinds: &[InstrumentKind], chrome: &Chrome) -> Options {
    let none = (String::new(), "choose".to_owned());
    let list = instruments
        .iter()
        .filter(|i| kinds.contains(&i.kind))
        .map(|i| {
            let shown = match i.usable_on(chrome.today) {
                Ok(()) => format!("{}, {}", i.number, i.kind),
                Err(why) => format!("{}, {} (not today: {why})", i.number, i.kind),
            };
            (i.number.to_string(), shown)
        });
    std::iter::once(none).chain(list).collect()
}

fn number(read: &mut Reader, field: &str, typed: &str) -> Option<InstrumentNumber> {
    if typed.trim().is_empty() {
        return None;
    }
    read.parse(field, typed)
}

/// The heights; none where something is wrong with them.
fn heights(read: &mut Reader, typed: &Typed) -> Option<Heights> {
    let left = rail(read, "left", &typed.left);
    let right = rail(read, "right", &typed.right);
    let unit = LengthUnit::from_ucum(&typed.heights_unit)
        .map_or_else(|| read.parse("heights_unit", &typed.heights_unit), Some);
    let pitch_mm = positive(read, "pitch", &typed.pitch);
    let rails_apart_mm = positive(read, "apart", &typed.apart);
    let (left, right) = (left?, right?);
    if left.len() != right.len() || left.len() < 2 {
        read.refuse(
            "right",
            format!(
                "{} heights on the left rail and {} on the right: read both rails at the same stations, at least two",
                left.len(),
                right.len()
            ),
        );
        return None;
    }
    Some(Heights {
        unit: unit?,
        pitch_mm: pitch_mm?,
        rails_apart_mm: rails_apart_mm?,
        left,
        right,
    })
}

fn positive(read: &mut Reader, field: &'static str, typed: &str) -> Option<Decimal> {
    let value = read.decimal(field, typed)?;
    let most = Decimal::from(10_000);
    if value > Decimal::ZERO && value <= most {
        return Some(value);
    }
    read.refuse(field, "Write millimetres, above zero and at most 10000");
    None
}

/// Heights as they are typed or pasted: apart by spaces, tabs, lines or semicolons.
fn rail(read: &mut Reader, field: &'static str, typed: &str) -> Option<Vec<Decimal>> {
    let mut list = Vec::new();
    for word in typed.split(|c: char| c.is_whitespace() || matches!(c, ';' | '|')) {
        let word = word.trim_end_matches(',').replace('\u{2212}', "-");
        if word.is_empty() {
            continue;
        }
        // A comma inside a height is a decimal comma, or the list was not taken apart.
        let clear = word.matches(',').count() + word.matches('.').count() <= 1;
        let height = quantity::decimal(field, &word.replace(',', "."));
        match height {
            Ok(height) if clear => list.push(height),
            _ => {
                read.refuse(
                    field,
                    format!("\u{201c}{word}\u{201d} is no height; write numbers apart by spaces or lines"),
                );
                return None;
            }
        }
    }
    if list.len() > MOST_HEIGHTS {
        read.refuse(field, format!("At most {MOST_HEIGHTS} heights on a rail"));
        return None;
    }
    Some(list)
}
