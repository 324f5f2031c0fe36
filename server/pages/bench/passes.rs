//! What a plan of passes rests on at the bench: whether a section goes round once, what the torque does to a
//! bolt, and which passes a wrench is not good for. The form itself is in `tightened.rs`.

use time::Date;

use super::job::Job;
use super::tightened::{Offer, Typed};
use crate::calc::bolting::{
    LoadBand, Lubrication, NutFactor, WrenchFit, load, threads::Thread, wrench_over_passes,
};
use crate::calc::quantity::StampedTorque;
use crate::calc::tighten::Plan;
use crate::calc::working::{Source, Step, Working};
use crate::record::bench::{Facts, Lubricant, Topic};
use crate::record::instrument::{Instrument, WhyNot};

/// Whether the section goes round once at this torque, because its nuts stand at it.
pub(super) fn goes_round_once(job: &Job, typed: &Typed, target: StampedTorque) -> bool {
    let section = match job.course.sections {
        1 => Some(1),
        _ => typed.section.trim().parse().ok(),
    };
    job.course.once_round(section, target)
}

/// The plan of such a section: the last pass, as after the first heat cycle. Common practice, no source.
pub(super) fn one_round(target: StampedTorque, stamped: bool) -> Plan {
    let from = if stamped {
        Source::Nameplate
    } else {
        Source::Entered
    };
    let step = Step::new(
        "passes",
        "torque of each pass",
        "T, once round",
        Source::CommonPractice,
    )
    .with("T", "target torque, at which the nuts stand", target, from)
    .gives(target);
    let working = Working::new("Tightening again")
        .step(step)
        .remark("The section was tight before its test, its cover stayed closed and its bolting was not touched since: a pass below the torque would move no nut.")
        .remark("Go over every nut in the given order, then round again until no nut moves.")
        .remark("A sequence or torque on the drawing or in the maker's instructions comes before this plan.");
    Plan {
        unit: target.unit,
        passes: vec![target.value],
        working,
    }
}

/// What becomes of the passes of a section that were made with a wrench that may not be used any more. Common
/// practice, no source: a pass with a good wrench moves no nut that was pulled too far.
pub(super) fn made_with(wrench: Option<&Instrument>, today: Date) -> &'static str {
    match wrench.map(|wrench| wrench.reliable_on(today)) {
        Some(Err(WhyNot::OutOfTolerance(_))) => {
            "The passes that were made with it do not count: it may have pulled the nuts too little or too far, and a good wrench does not show which. Loosen every nut of this section in the reverse order, a little at a time, and begin with the first pass with another wrench. Where it may have pulled too far, the engineer decides by the maker\u{2019}s instructions whether glass and gaskets stay in."
        }
        _ => {
            "Nothing of this section is recorded yet, and its record names one wrench for all its passes: begin with the first pass with another wrench."
        }
    }
}

/// What the torque does to a bolt, with the lubricant that was recorded for the section.
pub(super) fn bolt_load(target: StampedTorque, job: &Job, typed: &Typed) -> Option<LoadBand> {
    let thread: Thread = job.gauge.particulars.bolt_thread.parse().ok()?;
    let section = typed.section.parse().unwrap_or(1);
    let lubrication = match &job.course.standing(Topic::Assembled, section)?.facts {
        Facts::Assembled { lubricant, .. } => match lubricant {
            Lubricant::Molybdenum | Lubricant::Nickel | Lubricant::Copper => Lubrication::Paste,
            Lubricant::Oil => Lubrication::Oil,
            Lubricant::Dry => Lubrication::Dry,
        },
        _ => Lubrication::Unknown,
    };
    load(target, thread, NutFactor::of(lubrication), None).ok()
}

/// The passes that lie outside what a wrench is good for.
pub(super) fn outside(plan: Option<&Plan>, wrench: Option<&Offer>) -> Vec<StampedTorque> {
    plan.zip(wrench.and_then(|o| o.wrench.torque_range()))
        .and_then(|(plan, (low, high))| wrench_over_passes(plan, low, high).ok())
        .unwrap_or_default()
        .into_iter()
        .filter(|(_, fit)| *fit != WrenchFit::Fits)
        .map(|(pass, _)| pass)
        .collect()
}
