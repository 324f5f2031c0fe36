//! What leaving each gauge out of a shutdown window means, and which fall due before it begins.
//! Which gauges stand on the plan, and what they ask for, are decided elsewhere.

use time::{Date, Duration};

use crate::calc::calendar::LAST_DAY;
use crate::calc::due::{Candidate as Cause, Rule};
use crate::pages::show;
use crate::record::gauge::Isolation;
use crate::store::window_plan::Candidate;
use crate::store::windows::Window;

/// How far ahead others are looked for.
pub const AHEAD: Duration = Duration::days(366);

/// A gauge the window could take, with what leaving it out means.
pub struct Line {
    /// The gauge.
    pub one: Candidate,
    /// What asks for the work; a look-over only where nothing else asks for anything.
    pub why: Option<Cause>,
    /// The latest day for that.
    pub latest: Option<Date>,
    /// What leaving it out means.
    pub means: String,
    /// Whether leaving it out breaks its date.
    pub grave: bool,
}

impl Line {
    /// The day its work falls due, where that is over before the window begins and no rebuild is under way or
    /// planned by then; a look-over waits for no window, and a gauge that rests falls due only once it is back.
    pub fn due_before(&self, window: &Window) -> Option<Date> {
        let why = self.why.filter(|why| why.rule != Rule::LookOver)?;
        let rebuild = self.one.rebuild;
        let in_time = rebuild.is_some_and(|(state, day)| state.under_way() || day <= why.date);
        let early = why.date < window.starts_on && !self.one.resting() && !in_time;
        early.then_some(why.date)
    }

    /// Whether a signed deferral may move its date.
    pub fn may_be_deferred(&self) -> bool {
        self.why.is_some_and(|why| why.rule.may_be_deferred())
    }
}

/// Adds to each gauge what leaving it out means.
pub fn weighed(
    (window, later): (&Window, Option<&Window>),
    today: Date,
    candidates: Vec<Candidate>,
) -> Vec<Line> {
    // Work that needs the shutdown but opens no gauge, a re-torque or a test once more, stands for
    // itself until the rebuild comes near.
    let near = window.ends_on.saturating_add(AHEAD);
    candidates
        .into_iter()
        .map(|one| {
            let rebuild = one.rebuilt_for;
            let lesser = one
                .work
                .filter(|cause| !cause.rule.takes_kits())
                .filter(|_| rebuild.is_none_or(|rebuild| rebuild.date > near));
            let (means, grave) = match (lesser, rebuild) {
                (Some(_), Some(rebuild)) => {
                    let by = show::date(&rebuild.date);
                    (format!("asks for no rebuild, which is due {by}"), false)
                }
                (None, Some(rebuild)) => means(&one, rebuild, (window, later), today),
                _ => ("no rule asks for a rebuild".to_owned(), false),
            };
            let governs = one.rule.zip(one.date);
            Line {
                why: lesser
                    .or(rebuild)
                    .or(governs.map(|(rule, date)| Cause { rule, date })),
                latest: match (lesser, rebuild) {
                    (None, Some(_)) => one.rebuild_on,
                    _ => one.latest_on,
                },
                one,
                means,
                grave,
            }
        })
        .collect()
}

/// By the date that is shown of each.
pub fn soonest(mut lines: Vec<Line>) -> Vec<Line> {
    lines.sort_by_key(|line| line.why.map_or(LAST_DAY, |why| why.date));
    lines
}

/// What leaving the work on a gauge out of the window means, and whether that breaks its date.
fn means(
    one: &Candidate,
    work: Cause,
    (window, later): (&Window, Option<&Window>),
    today: Date,
) -> (String, bool) {
    if work.rule == Rule::Failure {
        return ("stays failed".to_owned(), true);
    }
    if one.isolation == Isolation::InService {
        let early = if work.date < window.starts_on {
            ", and falls due before the window begins"
        } else {
            ""
        };
        // Who brought a list in that says nothing of it chose this for all its gauges; nobody looked.
        let words = if one.isolation_assumed {
            "is assumed to be isolated in service; make sure first"
        } else {
            "can be done in service"
        };
        return (format!("{words}{early}"), one.isolation_assumed);
    }
    match later {
        Some(next) if next.ends_on <= work.date => {
            let words = format!(
                "may wait for {} to {}",
                show::date(&next.starts_on),
                show::date(&next.ends_on)
            );
            (words, false)
        }
        Some(next) => {
            let over = (next.ends_on - work.date).whole_days();
            let words = format!(
                "past due by {over} days in the next window, which ends {}",
                show::date(&next.ends_on)
            );
            (words, true)
        }
        None if work.date < today => (
            "past due already, and no later window is agreed".to_owned(),
            true,
        ),
        None if work.date < window.starts_on => (
            format!(
                "past due after {}, before the window begins, and no later one is agreed",
                show::date(&work.date)
            ),
            true,
        ),
        None => (
            format!(
                "past due after {}, and no later window is agreed",
                show::date(&work.date)
            ),
            true,
        ),
    }
}
