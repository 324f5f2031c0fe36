//! Due: what falls due when, with the reason beside each date.
//! Planning the work into windows is another part.

pub mod list;

use super::address;
use super::chrome::Chrome;
use crate::calc::due::Rule;
use crate::record::TagNumber;
use crate::record::person::Role;

/// What a rule asks to be done when its date comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// A look at it in service.
    LookOver,
    /// Tightening the bolting again, cold and without pressure.
    ReTorque,
    /// Testing it once more.
    Test,
    /// A rebuild, which has to be planned.
    Rebuild,
}

impl Work {
    /// What a rule asks for.
    pub fn of(rule: Rule) -> Self {
        match rule {
            Rule::LookOver => Self::LookOver,
            Rule::Retorque => Self::ReTorque,
            Rule::Withdrawn => Self::Test,
            Rule::RebuildInterval
            | Rule::WallHalfLife
            | Rule::GasketAge
            | Rule::Failure
            | Rule::Recall
            | Rule::Deferral => Self::Rebuild,
        }
    }

    /// Whether the person records or plans it.
    pub fn may(self, chrome: &Chrome) -> bool {
        match self {
            Self::LookOver => chrome.walks(),
            Self::ReTorque => chrome.may(&[Role::Technician, Role::Engineer]),
            Self::Test => chrome.may(&[Role::Technician, Role::Inspector, Role::Engineer]),
            Self::Rebuild => chrome.plans(),
        }
    }

    /// Whether an open rebuild of the gauge does it.
    pub fn done_by_a_rebuild(self) -> bool {
        matches!(self, Self::Test | Self::Rebuild)
    }

    /// What it is called where it is offered.
    pub fn words(self) -> &'static str {
        match self {
            Self::LookOver => "look over",
            Self::ReTorque => "tighten again",
            Self::Test => "test again",
            Self::Rebuild => "plan a rebuild",
        }
    }

    /// Where it is done.
    pub fn address(self, tag: &TagNumber) -> String {
        match self {
            Self::LookOver => address::gauge_part(tag, "look-over"),
            Self::ReTorque => address::gauge_part(tag, "re-torque"),
            Self::Test => address::record_pressure_test(tag),
            Self::Rebuild => address::gauge_part(tag, "rebuild"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// common practice, no source: a look-over, a re-torque and a test once more open no gauge.
    #[test]
    fn only_rules_about_the_inside_of_a_gauge_ask_for_a_rebuild() {
        let asked = Rule::ALL.map(Work::of);
        let lesser: Vec<Work> = asked
            .into_iter()
            .filter(|work| *work != Work::Rebuild)
            .collect();
        assert_eq!(lesser, [Work::Test, Work::ReTorque, Work::LookOver]);
        for rule in Rule::ALL {
            let takes_kits = Work::of(rule) == Work::Rebuild;
            assert_eq!(takes_kits, rule.takes_kits(), "{rule:?}");
        }
    }
}
