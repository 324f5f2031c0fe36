//! The working of a due date: each candidate, the deferrals, what governs, the pull into a window.
//! Nothing is decided here; `due` did that before.

use super::{Candidate, DEFERRAL, Deferral, Due, Facts, Isolation, Rule, Weighed, WindowPull};
use crate::calc::calendar::said;
use crate::calc::working::{Source, Step, Working};

pub(super) fn shown(
    facts: &Facts,
    weighed: &Weighed,
    considered: &[Candidate],
    deferred: &[Candidate],
    due: &Due,
) -> Working {
    let mut working = Working::new("Due date");
    for &candidate in deferred.iter().chain(considered) {
        if candidate.rule != Rule::Deferral {
            working = working.step(candidate_step(facts, candidate));
        }
    }
    for (at, deferral) in [
        (DEFERRAL, facts.deferral),
        (DEFERRAL + 1, facts.look_over_deferral),
    ] {
        let Some(deferral) = deferral else { continue };
        working = match weighed.standing[at] {
            Some(candidate) => {
                let moved: Vec<&str> = deferred
                    .iter()
                    .filter(|one| deferral.moves.covers(one.rule))
                    .map(|one| one.rule.words())
                    .collect();
                working.step(deferral_step(deferral, candidate, &moved.join(" and ")))
            }
            None => working.remark(format!(
                "The deferral until {} moves nothing: no date it may move lies before it.",
                said(deferral.until.min(deferral.hard_limit))
            )),
        };
    }
    let Some(governing) = due.governing else {
        return working.remark("No rule applies to this gauge, so it has no due date.");
    };
    let mut least = Step::new(
        "d",
        format!("governing date, by {}", governing.rule.words()),
        "d = earliest candidate",
        Source::CommonPractice,
    );
    for candidate in considered {
        let name = candidate.rule.words();
        least = least.with(name, "candidate", candidate.date, Source::Arithmetic);
    }
    working = working.step(least.gives(governing.date));
    let working = pulled(working, facts, due);
    working.remark("The due day itself is still in time.")
}

fn deferral_step(deferral: Deferral, candidate: Candidate, moved: &str) -> Step {
    Step::new(
        "D",
        format!("deferral, standing in for {moved}"),
        "D = min(until, hard limit)",
        Source::Plant,
    )
    .with("until", "signed date", deferral.until, Source::Entered)
    .with(
        "hard limit",
        "date no deferral passes",
        deferral.hard_limit,
        Source::Plant,
    )
    .gives(candidate.date)
}

fn candidate_step(facts: &Facts, candidate: Candidate) -> Step {
    let name = candidate.rule.words();
    let interval = match candidate.rule {
        Rule::RebuildInterval => facts
            .anchor
            .zip(facts.rebuild_months)
            .map(|it| (it, "last return to service or first installation")),
        Rule::LookOver => facts
            .look_over_anchor
            .zip(facts.look_over_months)
            .map(|it| (it, "last look-over")),
        _ => None,
    };
    match interval {
        Some(((anchor, months), meaning)) => Step::new(
            name,
            "candidate",
            "anchor + interval in calendar months, last day of the month where the day is missing",
            Source::Arithmetic,
        )
        .with("anchor", meaning, anchor, Source::Entered)
        .with("interval", name, format!("{months} months"), Source::Plant),
        None => Step::new(name, "candidate", "date on record", Source::Entered),
    }
    .gives(candidate.date)
}

fn pulled(working: Working, facts: &Facts, due: &Due) -> Working {
    let Some(latest) = due.latest_date else {
        return working;
    };
    match due.window {
        WindowPull::PulledTo(window) => working.step(
            Step::new(
                "latest",
                "latest date for a gauge that cannot be isolated in service",
                "last day of the last window that ends on or before the date",
                Source::CommonPractice,
            )
            .with(
                "window",
                "shutdown window, both days included",
                format!("{} to {}", said(window.starts), said(window.ends)),
                Source::Plant,
            )
            .gives(latest),
        ),
        WindowPull::NoWindow => working
            .remark("The gauge cannot be isolated in service and no shutdown window ends in time."),
        WindowPull::NotNeeded if facts.isolation == Isolation::ShutdownOnly => working.remark(
            "The gauge cannot be isolated in service, but what governs does not wait for a window.",
        ),
        WindowPull::NotNeeded => working,
    }
}
