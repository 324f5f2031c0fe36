//! What the bench says on a certificate: tightening, parts renewed, faces, and the instruments they
//! relied on. Which of several entries on one thing counts is decided in `course.rs`.

use rust_decimal::Decimal;
use time::Date;

use super::compose::{Taken, torque_also};
use super::{Amount, Choice, FaceResult, PartRenewed, Tightening};
use crate::calc::quantity::Side;
use crate::calc::seat::Judged;
use crate::record::InstrumentNumber;
use crate::record::bench::{BoltingDone, Facts, Topic};
use crate::record::course::Course;
use crate::record::face::{FaceOf, FaceSeen, NO_INSTRUMENT, Reading};
use crate::record::gauge::Gauge;
use crate::record::moment::Zone;

/// Puts together the sections that have the same thing to say: "sections 1 and 3".
fn grouped<T: PartialEq>(found: Vec<(u8, T)>, all: u8) -> Vec<(Option<String>, T)> {
    let mut groups: Vec<(Vec<u8>, T)> = Vec::new();
    for (section, what) in found {
        match groups.iter_mut().find(|(_, other)| *other == what) {
            Some((sections, _)) => sections.push(section),
            None => groups.push((vec![section], what)),
        }
    }
    groups
        .into_iter()
        .map(|(sections, what)| {
            let whole = sections.len() == usize::from(all);
            ((!whole).then(|| named(&sections)), what)
        })
        .collect()
}

fn named(sections: &[u8]) -> String {
    match sections {
        [one] => format!("section {one}"),
        [most @ .., last] => {
            let most: Vec<String> = most.iter().map(u8::to_string).collect();
            format!("sections {} and {last}", most.join(", "))
        }
        [] => String::new(),
    }
}

/// How the cover bolting was tightened, and what a reader has to know of it.
pub(super) fn tightening(course: &Course, gauge: &Gauge) -> (Vec<Tightening>, Vec<String>) {
    let p = &gauge.particulars;
    let mut remarks = Vec::new();
    let found = (1..=course.sections)
        .filter_map(|section| {
            let Facts::Tightened(how) = &course.standing(Topic::Tightened, section)?.facts else {
                return None;
            };
            let lubricant = match course.standing(Topic::Assembled, section).map(|e| &e.facts) {
                Some(Facts::Assembled { lubricant, .. }) => Some(lubricant.to_string()),
                _ => None,
            };
            let target = how.target;
            let stamped = p.torque == Some(target);
            if let Some(torque) = p.torque.filter(|_| !stamped) {
                let words = format!("Tightened to {target}; the nameplate states {torque}.");
                if !remarks.contains(&words) {
                    remarks.push(words);
                }
            }
            Some((
                section,
                Tightening {
                    place: None,
                    target: Amount::stamped(target, torque_also(target.unit), Side::Down),
                    passes: how.passes.iter().map(Decimal::to_string).collect(),
                    order: None,
                    lubricant,
                    wrench: Some(how.wrench.to_string()),
                    source: if stamped {
                        Some("nameplate".to_owned())
                    } else {
                        how.target_from.clone()
                    },
                },
            ))
        })
        .collect();
    let list = grouped(found, course.sections)
        .into_iter()
        .map(|(place, how)| Tightening { place, ..how })
        .collect();
    (list, remarks)
}

/// The limits by which the faces that count were judged, as they stood when each was read; one line
/// where they were the same for all.
pub(super) fn limits(course: &Course) -> Vec<Choice> {
    let mut list: Vec<Choice> = Vec::new();
    for section in 1..=course.sections {
        for face in FaceOf::of(course.kind) {
            let Some((_, reading)) = course.standing_face(section, *face) else {
                continue;
            };
            let limits = &reading.limits;
            for (what, chosen) in [
                ("seating face flat within", limits.flatness.to_string()),
                ("least wall", limits.wall.to_string()),
                ("skims of a face", format!("at most {}", limits.skims)),
            ] {
                let choice = Choice {
                    what: what.to_owned(),
                    chosen,
                    ground: "the plant\u{2019}s settings when the face was read".to_owned(),
                };
                if !list.contains(&choice) {
                    list.push(choice);
                }
            }
        }
    }
    list
}

/// What was put in new: the kits by lot, the bolting and the seats where they were renewed.
pub(super) fn parts(course: Option<&Course>, taken: &[Taken]) -> Vec<PartRenewed> {
    let mut list: Vec<PartRenewed> = taken
        .iter()
        .map(|kit| PartRenewed {
            what: format!("{} (glass and gaskets of one section side)", kit.name),
            place: None,
            quantity: Some(kit.quantity),
            kit: Some(kit.kit.to_string()),
            lot: Some(kit.lot.to_string()),
        })
        .collect();
    let Some(course) = course else {
        return list;
    };
    let bolting = (1..=course.sections)
        .filter(|section| {
            let entry = course.standing(Topic::Bolting, *section);
            entry.is_some_and(|e| {
                matches!(
                    e.facts,
                    Facts::Bolting {
                        done: BoltingDone::Renewed,
                        ..
                    }
                )
            })
        })
        .map(|section| (section, "Cover bolting, bolts and nuts".to_owned()));
    let seats = faces_of(course)
        .filter(|(_, _, reading)| reading.seen == FaceSeen::Renewed)
        .map(|(section, face, _)| {
            let part = if face.on_chamber() {
                "Chamber"
            } else {
                "Cover"
            };
            (section, format!("{part} ({})", face.named(course.kind)))
        });
    let renewed = bolting.chain(seats).collect();
    list.extend(
        grouped(renewed, course.sections)
            .into_iter()
            .map(|(place, what)| PartRenewed {
                what,
                place: place.or_else(|| Some("all sections".to_owned())),
                quantity: None,
                kit: None,
                lot: None,
            }),
    );
    list
}

/// Every face that was read, by section.
fn faces_of(course: &Course) -> impl Iterator<Item = (u8, FaceOf, &Reading)> {
    (1..=course.sections).flat_map(move |section| {
        FaceOf::ALL.iter().filter_map(move |face| {
            let (_, reading) = course.standing_face(section, *face)?;
            Some((section, *face, reading))
        })
    })
}

/// What was seen and measured on the faces, by the limits of their day.
pub(super) fn faces(course: &Course) -> Vec<FaceResult> {
    let mut list = Vec::new();
    for (section, face, reading) in faces_of(course) {
        let place = format!("Section {section}, {}", face.named(course.kind));
        let verdict = reading.verdict();
        list.push(FaceResult {
            place: place.clone(),
            measured: "surface".to_owned(),
            value: None,
            shown: None,
            uncertainty: None,
            limit: "no pits or gouges".to_owned(),
            statement: statement(reading.seen).to_owned(),
        });
        let measured = [
            ("flatness", "at most", &verdict.flatness),
            ("flatness, straightedge", "at most", &verdict.feeler),
            ("wall", "at least", &verdict.wall),
        ];
        list.extend(measured.into_iter().filter_map(|(what, side, judged)| {
            judged
                .as_ref()
                .map(|judged| result(&place, what, side, judged))
        }));
        if let Some(shown) = &verdict.shown
            && let Some(flat) = list
                .iter_mut()
                .rfind(|one| one.place == place && one.measured == "flatness")
        {
            flat.shown = Some(Amount::from(shown.value));
            flat.uncertainty = shown.uncertainty.map(|u| format!("{u} (k = 2)"));
        }
    }
    list
}

/// Walls that were asked about because they brought metal back, each in a sentence with what was said of it;
/// those too that were read once more since.
pub(super) fn thicker(course: &Course) -> Vec<String> {
    let places = (1..=course.sections)
        .flat_map(|section| FaceOf::ALL.iter().map(move |face| (section, *face)));
    places
        .flat_map(|(section, face)| {
            let told = course.grown(section, face).into_iter();
            let told = told.filter_map(Reading::grew_told);
            told.map(move |told| format!("Section {section}, {}: {told}", face.named(course.kind)))
        })
        .collect()
}

/// Faces and walls that were measured with no instrument of the register named, in a sentence; nothing where
/// each has one.
pub(super) fn unnamed(course: &Course) -> Option<String> {
    let all: Vec<String> = faces_of(course)
        .flat_map(|(section, face, reading)| {
            let face = face.named(course.kind);
            let wall = reading.wall.is_some() && reading.wall_instrument.is_none();
            let flat = reading
                .read_by_none()
                .then(|| format!("section {section}, {face}"));
            let wall = wall.then(|| format!("section {section}, wall behind the {face}"));
            [flat, wall].into_iter().flatten()
        })
        .collect();
    (!all.is_empty()).then(|| format!("Measured with {NO_INSTRUMENT}: {}.", all.join("; ")))
}

/// Sections that came back from their test only to be tightened again, in sentences: the tightening stated
/// is the last round, and the passes before it count as well.
pub(super) fn again(course: &Course) -> Vec<String> {
    let told = |section: u8| {
        let entries = course.tightenings(section);
        let (Facts::Tightened(first), Facts::Tightened(last)) =
            (&entries.first()?.facts, &entries.last()?.facts)
        else {
            return None;
        };
        last.again.then(|| {
            format!(
                "Section {section} was tightened in passes of {} with {}, came back from its test with its cover closed and was tightened again, once round.",
                first.passes_shown(),
                first.wrench
            )
        })
    };
    (1..=course.sections).filter_map(told).collect()
}

fn result(place: &str, measured: &str, side: &str, judged: &Judged) -> FaceResult {
    FaceResult {
        place: place.to_owned(),
        measured: measured.to_owned(),
        value: Some(Amount::from(judged.value)),
        shown: None,
        uncertainty: None,
        limit: format!("{side} {}", judged.limit),
        statement: match (judged.kept, side) {
            (true, _) => "within",
            (false, "at least") => "under the limit",
            (false, _) => "over the limit",
        }
        .to_owned(),
    }
}

const fn statement(seen: FaceSeen) -> &'static str {
    match seen {
        FaceSeen::Clean => "clean",
        FaceSeen::Pitted => "pitted or gouged",
        FaceSeen::Skimmed => "skimmed, clean",
        FaceSeen::Renewed => "new part, clean",
    }
}

/// What the bench work that counts relied on, the day it was used and for what; each once.
pub fn relied_on(course: &Course, zone: &Zone) -> Vec<(InstrumentNumber, Date, &'static str)> {
    let mut list: Vec<(InstrumentNumber, Date, &'static str)> = Vec::new();
    for section in 1..=course.sections {
        let faces = FaceOf::ALL
            .iter()
            .filter_map(|face| Some(course.standing_face(section, *face)?.0));
        for entry in faces.chain(course.tightenings(section)) {
            let day = zone.date(course.origin(entry).done_at());
            let used: Vec<(&InstrumentNumber, &'static str)> = match &entry.facts {
                Facts::Tightened(how) => vec![(&how.wrench, "cover bolting")],
                Facts::Face(reading) => [
                    (reading.instrument.as_ref(), "faces"),
                    (reading.wall_instrument.as_ref(), "wall"),
                ]
                .into_iter()
                .filter_map(|(number, used_for)| Some((number?, used_for)))
                .collect(),
                _ => Vec::new(),
            };
            for (number, used_for) in used {
                if !list.iter().any(|(known, _, _)| known == number) {
                    list.push((number.clone(), day, used_for));
                }
            }
        }
    }
    list
}
