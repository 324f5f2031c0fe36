//! When a gauge falls due: the dates its rules give, the one that governs, and the pull back into
//! a shutdown window. "Today" is not known here, so nothing says "overdue"; dates only.

mod shown;

use serde::{Deserialize, Serialize};
use time::Date;

use super::OutOfRange;
use super::calendar::{add_months, iso_date, require, said};
use super::working::Working;
use shown::shown;

/// The rule a due date comes from.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    Hash,
    PartialOrd,
    Ord,
    Serialize,
    Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Rule {
    /// The rebuild interval of the service class, from the last return to service or, on a gauge
    /// never rebuilt, from its first installation.
    RebuildInterval,
    /// The short visual inspection in service, from the last one. It needs no shutdown.
    LookOver,
    /// A worn wall is measured again at half its remaining life at the latest.
    WallHalfLife,
    /// The gaskets reach the age they may have.
    GasketAge,
    /// A leak, a cracked glass or another failure found in service: it is due the day it is found.
    Failure,
    /// The bolting is tightened again, cold and without pressure, after the first heat cycle.
    Retorque,
    /// A kit lot or an instrument behind the last rebuild was called back.
    Recall,
    /// The certificate of the last pressure test was withdrawn: the gauge is tested again.
    Withdrawn,
    /// A signed, reasoned later date stands in for rebuild interval, look-over or gasket age.
    Deferral,
}

impl Rule {
    /// Every rule in the order ties are settled in: at the same date the graver reason is named.
    pub const ALL: [Self; 9] = [
        Self::Failure,
        Self::Recall,
        Self::Withdrawn,
        Self::WallHalfLife,
        Self::Retorque,
        Self::RebuildInterval,
        Self::GasketAge,
        Self::LookOver,
        Self::Deferral,
    ];

    /// The rule in the trade's words, as lists and papers print it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::RebuildInterval => "rebuild interval",
            Self::LookOver => "look-over interval",
            Self::WallHalfLife => "half-life of a worn wall",
            Self::GasketAge => "gasket age",
            Self::Failure => "failure in service",
            Self::Retorque => "re-torque after the first heat cycle",
            Self::Recall => "recall",
            Self::Withdrawn => "certificate withdrawn",
            Self::Deferral => "deferral",
        }
    }

    /// Whether the work of this rule opens the gauge and so takes kits.
    #[must_use]
    pub const fn takes_kits(self) -> bool {
        !matches!(self, Self::LookOver | Self::Retorque | Self::Withdrawn)
    }

    /// Whether a signed deferral may move a date of this rule.
    #[must_use]
    pub const fn may_be_deferred(self) -> bool {
        matches!(
            self,
            Self::RebuildInterval | Self::LookOver | Self::GasketAge
        )
    }
}

/// Which dates a signed deferral moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Moves {
    /// Every date that may be deferred, as deferrals were signed before they named one.
    #[default]
    All,
    /// The rebuild: its interval and the age of its gaskets.
    Rebuild,
    /// The look-over.
    LookOver,
}

impl Moves {
    /// Whether it moves dates of this rule.
    #[must_use]
    pub const fn covers(self, rule: Rule) -> bool {
        rule.may_be_deferred()
            && match self {
                Self::All => true,
                Self::Rebuild => !matches!(rule, Rule::LookOver),
                Self::LookOver => matches!(rule, Rule::LookOver),
            }
    }

    /// In the trade's words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::All => "rebuild and look-over",
            Self::Rebuild => "the rebuild",
            Self::LookOver => "the look-over",
        }
    }
}

/// A signed later date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Deferral {
    /// Which dates it moves.
    #[serde(default)]
    pub moves: Moves,
    /// The date the deferral asks for.
    #[serde(with = "iso_date")]
    pub until: Date,
    /// The date no deferral passes.
    #[serde(with = "iso_date")]
    pub hard_limit: Date,
}

/// Whether a gauge can be worked on while its vessel runs.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, schemars::JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Isolation {
    /// Its valves isolate it in service: any day will do.
    #[default]
    InService,
    /// It can be worked on in a shutdown window only.
    ShutdownOnly,
}

/// A shutdown window. Both days belong to it: `ends` is its last working day, inclusive.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Window {
    /// The first day of the window.
    #[serde(with = "iso_date")]
    pub starts: Date,
    /// The last day of the window, on which work may still be finished.
    #[serde(with = "iso_date")]
    pub ends: Date,
}

/// What is known of a gauge that bears on its due date.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Facts {
    /// The last return to service or, before any, the first installation.
    #[serde(with = "iso_date::option")]
    pub anchor: Option<Date>,
    /// The rebuild interval in calendar months.
    pub rebuild_months: Option<u32>,
    /// The last look-over or, before any, the day the interval began.
    #[serde(with = "iso_date::option")]
    pub look_over_anchor: Option<Date>,
    /// The look-over interval in calendar months.
    pub look_over_months: Option<u32>,
    /// When the worn wall is to be measured again.
    #[serde(with = "iso_date::option")]
    pub wall_due: Option<Date>,
    /// When the gaskets reach their age.
    #[serde(with = "iso_date::option")]
    pub gasket_due: Option<Date>,
    /// The day an open failure was found.
    #[serde(with = "iso_date::option")]
    pub failure_on: Option<Date>,
    /// When the re-torque is to be done.
    #[serde(with = "iso_date::option")]
    pub retorque_due: Option<Date>,
    /// The day by which an open recall is to be followed.
    #[serde(with = "iso_date::option")]
    pub recall_on: Option<Date>,
    /// The day the certificate of the last test was withdrawn, where no test was passed since.
    #[serde(with = "iso_date::option")]
    pub withdrawn_on: Option<Date>,
    /// The deferral of the rebuild in force.
    pub deferral: Option<Deferral>,
    /// The deferral of the look-over in force.
    pub look_over_deferral: Option<Deferral>,
    /// Whether the gauge can be isolated in service.
    pub isolation: Isolation,
    /// The shutdown windows of the gauge's area, in any order.
    pub windows: Vec<Window>,
}

/// A date and the rule it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Candidate {
    /// The rule.
    pub rule: Rule,
    /// The date; the day itself is still in time.
    #[serde(with = "iso_date")]
    pub date: Date,
}

/// What the shutdown windows do to the due date.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", content = "window", rename_all = "kebab-case")]
pub enum WindowPull {
    /// No window is needed: the gauge isolates in service, or only a look-over is due, or a
    /// failure governs and is due now.
    NotNeeded,
    /// The work has to be done in this window.
    PulledTo(Window),
    /// No window ends in time; the date stands and somebody has to find a shutdown.
    NoWindow,
}

/// The due date without its working: what a list is sorted by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Due {
    /// The earliest candidate; none where no rule applies.
    pub governing: Option<Candidate>,
    /// The latest day the gauge can be done in time, after the pull back into a window.
    #[serde(with = "iso_date::option")]
    pub latest_date: Option<Date>,
    /// What the shutdown windows did to it.
    pub window: WindowPull,
}

/// The due date with everything that was weighed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Decision {
    /// The earliest candidate; none where no rule applies.
    pub governing: Option<Candidate>,
    /// Every candidate by date; at the same date in the order of [`Rule::ALL`].
    pub considered: Vec<Candidate>,
    /// The dates the deferral stands in for, as they were before it; empty without one.
    pub deferred: Vec<Candidate>,
    /// The latest day the gauge can be done in time, after the pull back into a window.
    #[serde(with = "iso_date::option")]
    pub latest_date: Option<Date>,
    /// What the shutdown windows did to it.
    pub window: WindowPull,
    /// The shown calculation.
    pub working: Working,
}

/// Where the deferral of the rebuild stands among the candidates; that of the look-over comes after.
const DEFERRAL: usize = Rule::ALL.len() - 1;

/// The candidates of one gauge, in the order of [`Rule::ALL`], after the deferrals; the one of the
/// look-over has a place of its own.
struct Weighed {
    standing: [Option<Candidate>; DEFERRAL + 2],
    deferred: [Option<Candidate>; DEFERRAL + 1],
    /// Whether the deferral stands in for work that needs the gauge out of service.
    deferral_needs_window: bool,
}

/// Decides when a gauge falls due and says why.
///
/// Every rule that applies gives a candidate; the earliest governs. A gauge that cannot be
/// isolated in service is pulled back to its last shutdown window whose last day lies on or before
/// the earliest date that needs the gauge out of service, because the due day itself still counts
/// as in time. Windows that began on or before the last return to service do not count: the
/// interval had not begun. Look-overs need no shutdown and are never pulled; a failure is not
/// pulled either, it is due now. Where no window will do, the date stands and the lack is flagged.
///
/// A deferral replaces earlier dates of what it names, the rebuild (interval and gasket age) or the
/// look-over, never beyond its hard limit; it never moves a failure, a recall, a withdrawn
/// certificate, a re-torque or a worn wall.
///
/// # Formula
/// dᵢ = anchor + interval (calendar months, from the anchor in one step) or the date as given;
/// deferral date D = min(until, hard limit), standing in for each dᵢ < D of a rule that may be
/// deferred; governing date d = min dᵢ; latest date = the earlier of d and the last day of the last
/// window that ends on or before the earliest dᵢ that needs a shutdown.
///
/// # Valid range
/// All dates in 1900-01-01 to 2200-12-31; intervals of at least one month; windows that do not end
/// before they start.
///
/// # Errors
/// [`OutOfRange`] naming the date, the interval or the window that is not in range.
///
/// # Source
/// Earliest rule governs, pull back to the last window that ends in time: common practice, no
/// source. Month arithmetic as [`add_months`].
pub fn decide(facts: &Facts) -> Result<Decision, OutOfRange> {
    let weighed = weigh(facts)?;
    let due = settle(facts, &weighed)?;
    let mut considered: Vec<Candidate> = weighed.standing.iter().flatten().copied().collect();
    considered.sort_by_key(|candidate| candidate.date);
    let deferred: Vec<Candidate> = weighed.deferred.iter().flatten().copied().collect();
    let working = shown(facts, &weighed, &considered, &deferred, &due);
    Ok(Decision {
        governing: due.governing,
        considered,
        deferred,
        latest_date: due.latest_date,
        window: due.window,
        working,
    })
}

/// The same decision as [`decide`] without the list and the working, for whole fleets.
///
/// # Formula
/// As [`decide`].
///
/// # Valid range
/// As [`decide`].
///
/// # Errors
/// As [`decide`].
///
/// # Source
/// As [`decide`].
pub fn governing_only(facts: &Facts) -> Result<Due, OutOfRange> {
    settle(facts, &weigh(facts)?)
}

/// When a gauge is next taken apart and so wants its kits: the same decision among the rules that
/// end in a rebuild.
///
/// # Formula
/// As [`decide`], with look-over, re-torque and the test after a withdrawn certificate left out: none
/// of them opens the gauge.
///
/// # Valid range
/// As [`decide`].
///
/// # Errors
/// As [`decide`].
///
/// # Source
/// As [`decide`].
pub fn rebuild_only(facts: &Facts) -> Result<Due, OutOfRange> {
    governing_only(&Facts {
        look_over_anchor: None,
        look_over_months: None,
        look_over_deferral: None,
        retorque_due: None,
        withdrawn_on: None,
        ..facts.clone()
    })
}

fn weigh(facts: &Facts) -> Result<Weighed, OutOfRange> {
    let mut standing = [None; DEFERRAL + 2];
    for (place, rule) in standing.iter_mut().zip(Rule::ALL) {
        *place = date_of(rule, facts)?.map(|date| Candidate { rule, date });
    }
    let mut deferred = [None; DEFERRAL + 1];
    let mut deferral_needs_window = false;
    // The one of the look-over first: where both could move it, the one that names it does.
    for (at, deferral) in [
        (DEFERRAL + 1, facts.look_over_deferral),
        (DEFERRAL, facts.deferral),
    ] {
        let Some(deferral) = deferral else { continue };
        let until = effective(deferral)?;
        let mut moved_any = false;
        for (candidate, moved) in standing.iter_mut().zip(&mut deferred) {
            if candidate.is_some_and(|one| deferral.moves.covers(one.rule) && one.date < until) {
                *moved = candidate.take();
                moved_any = true;
                deferral_needs_window |=
                    at == DEFERRAL && moved.is_some_and(|one| one.rule != Rule::LookOver);
            }
        }
        if moved_any {
            standing[at] = Some(Candidate {
                rule: Rule::Deferral,
                date: until,
            });
        }
    }
    Ok(Weighed {
        standing,
        deferred,
        deferral_needs_window,
    })
}

fn effective(deferral: Deferral) -> Result<Date, OutOfRange> {
    let until = require("deferral", deferral.until)?;
    let limit = require("hard limit of the deferral", deferral.hard_limit)?;
    Ok(until.min(limit))
}

fn date_of(rule: Rule, facts: &Facts) -> Result<Option<Date>, OutOfRange> {
    let given = |name, date: Option<Date>| date.map(|date| require(name, date)).transpose();
    match rule {
        Rule::RebuildInterval => interval_date(
            ("last return to service", facts.anchor),
            ("rebuild interval", facts.rebuild_months),
        ),
        Rule::LookOver => interval_date(
            ("last look-over", facts.look_over_anchor),
            ("look-over interval", facts.look_over_months),
        ),
        Rule::WallHalfLife => given("date of the next wall measurement", facts.wall_due),
        Rule::GasketAge => given("date of the gasket age", facts.gasket_due),
        Rule::Failure => given("date of the failure", facts.failure_on),
        Rule::Retorque => given("date of the re-torque", facts.retorque_due),
        Rule::Recall => given("date of the recall", facts.recall_on),
        Rule::Withdrawn => given("day the certificate was withdrawn", facts.withdrawn_on),
        Rule::Deferral => Ok(None),
    }
}

fn interval_date(
    (anchor_name, anchor): (&'static str, Option<Date>),
    (interval_name, months): (&'static str, Option<u32>),
) -> Result<Option<Date>, OutOfRange> {
    let anchor = anchor.map(|date| require(anchor_name, date)).transpose()?;
    if months == Some(0) {
        return Err(OutOfRange::new(
            interval_name,
            "0 months",
            "at least 1 month",
        ));
    }
    anchor
        .zip(months)
        .map(|(from, months)| add_months(from, months))
        .transpose()
}

fn settle(facts: &Facts, weighed: &Weighed) -> Result<Due, OutOfRange> {
    let earliest = |wanted: &dyn Fn(usize, Candidate) -> bool| {
        // `min_by_key` keeps the first of equals, which is the graver rule.
        weighed
            .standing
            .iter()
            .enumerate()
            .filter_map(|(place, one)| one.filter(|&one| wanted(place, one)))
            .min_by_key(|one| one.date)
    };
    let governing = earliest(&|_, _| true);
    let mut due = Due {
        governing,
        latest_date: governing.map(|one| one.date),
        window: WindowPull::NotNeeded,
    };
    for window in &facts.windows {
        check(*window)?;
    }
    if facts.isolation == Isolation::InService {
        return Ok(due);
    }
    let needs_window = |place: usize, one: Candidate| match one.rule {
        Rule::LookOver => false,
        Rule::Deferral => place == DEFERRAL && weighed.deferral_needs_window,
        _ => true,
    };
    let Some(work) = earliest(&needs_window).filter(|one| one.rule != Rule::Failure) else {
        return Ok(due);
    };
    due.window = match last_window(facts, work.date) {
        Some(window) => {
            due.latest_date = due.latest_date.map(|date| date.min(window.ends));
            WindowPull::PulledTo(window)
        }
        None => WindowPull::NoWindow,
    };
    Ok(due)
}

fn check(window: Window) -> Result<(), OutOfRange> {
    require("first day of the shutdown window", window.starts)?;
    require("last day of the shutdown window", window.ends)?;
    if window.ends < window.starts {
        return Err(OutOfRange::new(
            "last day of the shutdown window",
            window.ends,
            format!("on or after its first day, {}", said(window.starts)),
        ));
    }
    Ok(())
}

/// The last window that ends on or before a date, among those that began after the anchor; of two
/// that end on the same day, the one that began first, since it leaves more days.
fn last_window(facts: &Facts, limit: Date) -> Option<Window> {
    facts
        .windows
        .iter()
        .copied()
        .filter(|window| window.ends <= limit)
        .filter(|window| facts.anchor.is_none_or(|anchor| window.starts > anchor))
        .min_by_key(|window| (std::cmp::Reverse(window.ends), window.starts))
}
