//! What the parts of a filled sheet are called on the page that enters it: the names of their fields, their
//! stage, their heading. The fields themselves are in `enter_parts.rs`.

use super::job::Job;
use crate::record::course::Part;

/// What the names of a part's fields begin with.
pub fn prefix(part: Part) -> String {
    let place = |s: Option<u8>| s.map_or_else(|| "all".to_owned(), |s| s.to_string());
    match part {
        Part::MadeSafe => "safe-".to_owned(),
        Part::Strip(s) => format!("strip{s}-"),
        Part::Bolting(s) => format!("bolting{}-", place(s)),
        Part::Face(s, face) => format!("face{s}-{}-", face.word()),
        Part::Kits(_) => "kits-".to_owned(),
        Part::Assemble(s) => format!("assembled{}-", place(s)),
        Part::Tighten(s) => format!("tight{s}-"),
        Part::Prove => "test-".to_owned(),
        Part::Return => "return-".to_owned(),
    }
}

/// The stage of the sheet a part belongs to.
pub const fn stage(part: Part) -> &'static str {
    match part {
        Part::MadeSafe => "1 Made safe",
        Part::Strip(_) => "2 Stripped",
        Part::Bolting(_) | Part::Face(..) => "3 Inspected",
        Part::Kits(_) | Part::Assemble(_) => "4 Assembled",
        Part::Tighten(_) => "5 Tightened",
        Part::Prove => "6 Proved",
        Part::Return => "7 Returned",
    }
}

/// The heading of a part, with what had to be reached where a person compares it with the paper.
pub fn title(part: Part, job: &Job) -> String {
    let course = &job.course;
    let of = |s: Option<u8>| match s {
        Some(s) if course.sections > 1 => format!("Section {s}"),
        _ if course.sections > 1 => "Every section".to_owned(),
        _ => "The gauge".to_owned(),
    };
    match part {
        Part::MadeSafe => "Before anything was loosened".to_owned(),
        Part::Strip(s) => of(Some(s)),
        Part::Tighten(s) => match job.gauge.particulars.torque {
            Some(torque) if course.once_round(Some(s), torque) => {
                format!("{}, once round at {torque}", of(Some(s)))
            }
            Some(torque) => format!("{}, to {torque}", of(Some(s))),
            None => of(Some(s)),
        },
        Part::Bolting(s) => format!("{}: bolting", of(s)),
        Part::Face(s, face) => format!("{}: {}", of(Some(s)), face.named(course.kind)),
        Part::Kits(1) => "Kits: 1 was needed".to_owned(),
        Part::Kits(n) => format!("Kits: {n} were needed"),
        Part::Assemble(s) => of(s),
        Part::Prove => "Pressure test".to_owned(),
        Part::Return => "Back in service".to_owned(),
    }
}
