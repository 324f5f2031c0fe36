//! What is said about a certificate after it was issued: questioned, stands, withdrawn, each with its
//! reason. The certificate's own record is in `certificate.rs` and is never touched by a mark.

use super::ids::{CertificateNumber, MarkId, RecallId};
use super::moment::Moment;
use super::words::words;

words! {
    /// What a mark says.
    MarkKind, "what the mark says" {
        Questioned: "questioned", "questioned";
        Stands: "stands", "stands";
        Withdrawn: "withdrawn", "withdrawn";
    }
}

words! {
    /// How a certificate stands today among all others, in the words of every list: the worst that can be
    /// said of it. Being superseded comes before a doubt, since a later certificate stands in its place.
    Today, "how the certificate stands" {
        Stands: "stands", "stands";
        Superseded: "superseded", "superseded";
        Questioned: "questioned", "questioned";
        Withdrawn: "withdrawn", "withdrawn";
    }
}

impl Today {
    /// Whether the certificate may be relied on.
    pub const fn holds(self) -> bool {
        matches!(self, Self::Stands)
    }
}

/// A certificate as a list names it: by its number, and how it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Certified {
    /// Its number.
    pub number: CertificateNumber,
    /// How it stands.
    pub standing: Today,
}

impl Certified {
    /// The two of a row, where there is a certificate.
    pub fn of(number: Option<CertificateNumber>, standing: Option<Today>) -> Option<Self> {
        number
            .zip(standing)
            .map(|(number, standing)| Self { number, standing })
    }
}

/// A mark on a certificate. Marks are only ever added.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    /// The row.
    pub id: MarkId,
    /// What it says.
    pub kind: MarkKind,
    /// Why.
    pub reason: String,
    /// The recall that raised it, if one did.
    pub recall: Option<RecallId>,
    /// Who made it.
    pub person: String,
    /// When.
    pub at: Moment,
}

/// How a certificate stands after all its marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// As issued: nobody marked it.
    AsIssued,
    /// It was questioned and every doubt was settled in its favour.
    Stands,
    /// At least one doubt is open: nobody relies on it until that is decided.
    Questioned,
    /// It does not hold any more, for good.
    Withdrawn,
}

impl Standing {
    /// Whether the certificate may be relied on.
    pub const fn holds(self) -> bool {
        matches!(self, Self::AsIssued | Self::Stands)
    }

    /// The word a person reads, that of every list.
    pub const fn shown(self) -> &'static str {
        match self {
            Self::AsIssued | Self::Stands => "stands",
            Self::Questioned => "questioned",
            Self::Withdrawn => "withdrawn",
        }
    }
}

impl std::fmt::Display for Standing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.shown())
    }
}

/// How a certificate stands by its marks, in the order they were made.
///
/// Doubts are told apart by the recall that raised them (all marks without one are one doubt): that
/// one recall was settled says nothing of another. Withdrawn once is withdrawn for good.
pub fn standing(marks: &[Mark]) -> Standing {
    if marks.iter().any(|m| m.kind == MarkKind::Withdrawn) {
        return Standing::Withdrawn;
    }
    match (open_doubts(marks).is_empty(), marks.is_empty()) {
        (false, _) => Standing::Questioned,
        (true, true) => Standing::AsIssued,
        (true, false) => Standing::Stands,
    }
}

/// The marks whose doubt nobody has settled, one of each doubt: the last that was said of it.
pub fn open_doubts(marks: &[Mark]) -> Vec<&Mark> {
    marks
        .iter()
        .enumerate()
        .filter(|(at, mark)| {
            let said_since = marks.iter().skip(at + 1).any(|m| m.recall == mark.recall);
            mark.kind == MarkKind::Questioned && !said_since
        })
        .map(|(_, mark)| mark)
        .collect()
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;

    use super::*;

    fn mark(kind: MarkKind, recall: Option<i64>) -> Mark {
        Mark {
            id: MarkId(1),
            kind,
            reason: "because".to_owned(),
            recall: recall.map(RecallId),
            person: "Test engineer".to_owned(),
            at: Moment::new(datetime!(2026-03-02 09:00 UTC)),
        }
    }

    #[test]
    fn a_certificate_nobody_marked_stands_as_issued() {
        assert_eq!(standing(&[]), Standing::AsIssued);
    }

    #[test]
    fn one_settled_doubt_leaves_another_open() {
        use MarkKind::{Questioned, Stands};
        let both = [mark(Questioned, Some(1)), mark(Questioned, Some(2))];
        assert_eq!(standing(&both), Standing::Questioned);
        let one = [both[0].clone(), both[1].clone(), mark(Stands, Some(1))];
        assert_eq!(standing(&one), Standing::Questioned);
        let all = [&one[..], &[mark(Stands, Some(2))]].concat();
        assert_eq!(standing(&all), Standing::Stands);
    }

    #[test]
    fn withdrawn_once_is_withdrawn_for_good() {
        use MarkKind::{Stands, Withdrawn};
        let marks = [mark(Withdrawn, Some(1)), mark(Stands, Some(2))];
        assert_eq!(standing(&marks), Standing::Withdrawn);
        assert!(!Standing::Withdrawn.holds());
    }
}
