//! The bench sheet on paper: the same plan and numbers as on the screen, as a PDF with fields for a pen.
//! What the paper looks like is in `papers::bench_sheet`.

use std::fmt::Write as _;

use axum::extract::{Path, Query, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::IntoResponse;
use serde::Deserialize;

use super::bolt_plan::{BoltPlan, Order};
use super::job::{self, Job};
use crate::calc::quantity::{Side, StampedTorque, TorqueUnit};
use crate::calc::tighten::{self, Plan};
use crate::pages::answer::{Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::papers::bench_sheet::{BenchSheet, NutPlace, Paper, PaperError, pdf};
use crate::record::Refusal;
use crate::record::bench::BackInService;
use crate::record::face::FaceOf;
use crate::record::gauge::{Assumed, Gauge, Kind};
use crate::record::kit::Lot;
use crate::record::pressure_test::{Basis, asked};
use crate::record::test_plan::TestPlan;
use crate::store;

/// The paper asked for.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    paper: String,
}

/// The paper.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    Query(wanted): Query<Asked>,
) -> Answer {
    let paper = match wanted.paper.as_str() {
        "" | "a4" => Paper::A4,
        "letter" => Paper::Letter,
        _ => return Err(PageError::NotFound("paper of that size")),
    };
    let (job, lots, test) = {
        let mut db = app.store().read().await?;
        let (_, Some(job)) = job::find(&mut db, &tag).await? else {
            return Ok(see_other(&address::bench(&tag)));
        };
        let lots = match job.gauge.particulars.kit_id {
            Some(kit) => store::kits::lots_on_hand(&mut db, kit).await?,
            None => Vec::new(),
        };
        let test = store::test_plans::plan(&mut db, &chrome.plant, &job.gauge).await?;
        (job, lots, test)
    };
    let sheet = stated(&job, &chrome, &lots, &test);
    let name = format!("attachment; filename=\"bench-sheet-{}.pdf\"", sheet.tag);
    let bytes = tokio::task::spawn_blocking(move || pdf(&sheet, paper))
        .await
        .map_err(|error| PageError::Paper(error.to_string()))?
        .map_err(|error| match error {
            PaperError::Unprintable { .. } => PageError::Refused(Refusal::not_now(format!(
                "The bench sheet cannot be printed: {error}"
            ))),
            other => PageError::Paper(other.to_string()),
        })?;
    let headers = [
        (CONTENT_TYPE, "application/pdf".to_owned()),
        (CONTENT_DISPOSITION, name),
    ];
    Ok((headers, bytes).into_response())
}

/// A lot by what its label says and where it lies. How many kits are left of it is not printed: that has
/// changed by the time the sheet is read.
fn lot_to_take(lot: &Lot) -> String {
    let last_day = lot.expires_on.map_or_else(
        || "no last day".to_owned(),
        |day| format!("until {}", show::plain_date(&day)),
    );
    match lot.lies().as_str() {
        "" => format!("{} ({last_day})", lot.number),
        place => format!("{} ({last_day}, {place})", lot.number),
    }
}

fn stated(job: &Job, chrome: &Chrome, lots: &[Lot], test: &TestPlan) -> BenchSheet {
    let p = &job.gauge.particulars;
    let plan = p
        .torque
        .and_then(|torque| tighten::plan(torque, chrome.plant.tightening_step).ok());
    let required = asked(test, p, &Basis::default());
    let plant = &chrome.plant;
    let usable = lots.iter().filter(|lot| lot.usable_on(chrome.today));
    BenchSheet {
        plant: plant.name.clone(),
        tag: p.tag.to_string(),
        hangs: [p.vessel.as_str(), p.service.as_str()]
            .into_iter()
            .filter(|words| !words.is_empty())
            .collect::<Vec<_>>()
            .join(", "),
        area: job.gauge.area.clone(),
        rebuild: format!(
            "rebuild {}, {}, planned for {}",
            job.rebuild.ordinal,
            job.rebuild.cause,
            show::plain_date(&job.rebuild.planned_for)
        ),
        layout: layout(job),
        sections: job.course.sections,
        remarks: [&assumed(job), &again(job), &job.rebuild.note, &p.note]
            .into_iter()
            .filter(|note| !note.is_empty())
            .cloned()
            .collect(),
        kits: match &job.course.kit {
            Some(kit) => format!("Kits: {} of {kit}", job.course.kits_needed),
            None => "Kits: none is named for this gauge".to_owned(),
        },
        lots: usable.map(lot_to_take).collect(),
        safe: job
            .course
            .made_safe_by()
            .into_iter()
            .map(show::sentence)
            .collect(),
        back: BackInService::ALL.iter().map(show::sentence).collect(),
        sides: match job.course.kind {
            Kind::Reflex => vec![String::new()],
            Kind::Transparent => vec!["front".to_owned(), "back".to_owned()],
        },
        re_torque_days: job.re_torque_days,
        faces: FaceOf::of(job.course.kind)
            .iter()
            .map(|face| face.named(job.course.kind).to_owned())
            .collect(),
        limits: format!(
            "flat within {}, at least {} of wall, at most {} skims.",
            plant.flatness_limit, plant.wall_limit, plant.skim_limit
        ),
        torque: p.torque.map_or_else(
            || {
                format!(
                    "{}; write the torque to reach and where it stands",
                    p.without_torque()
                )
            },
            |torque| format!("{torque} ({}), nameplate", other_unit(torque)),
        ),
        passes: plan.as_ref().map_or_else(Vec::new, |plan| {
            let one = |value: &rust_decimal::Decimal| format!("{value} {}", plan.unit);
            plan.passes.iter().map(one).collect()
        }),
        larger_last: plan
            .as_ref()
            .map_or_else(String::new, Plan::larger_last_told),
        order: job
            .course
            .in_order()
            .iter()
            .map(ToString::to_string)
            .collect::<Vec<_>>()
            .join(", "),
        rail: usize::from(p.bolts_per_rail.unwrap_or(1)),
        nuts: nut_places(&job.gauge),
        required: match &required {
            Ok(asked) => format!(
                "Required: {}, held for at least {} min, by {}.",
                asked.required,
                asked.hold_minutes,
                asked.code.name()
            ),
            Err(fault) => format!("{}.", fault.message),
        },
        workings: plan
            .into_iter()
            .map(|plan| plan.working)
            .chain(required.ok().map(|asked| asked.working))
            .collect(),
        printed: chrome.zone().local(chrome.now()),
    }
}

/// Where each nut of a section is and when its turn comes.
pub fn nut_places(gauge: &Gauge) -> Vec<NutPlace> {
    let picture = BoltPlan::of(gauge, Order::Tightening);
    picture.map_or_else(Vec::new, |picture| {
        let nuts = picture.nuts.iter();
        nuts.map(|nut| NutPlace {
            number: nut.label.clone(),
            place: nut.place,
            right: nut.right,
        })
        .collect()
    })
}

/// That nobody made sure of how the gauge is isolated, before its first step; nothing where somebody did.
fn assumed(job: &Job) -> String {
    let p = &job.gauge.particulars;
    if p.assumes(Assumed::Isolation) {
        format!(
            "isolation ({}) is only assumed for the whole list this gauge came with; make sure of it before anything is opened",
            p.isolation
        )
    } else {
        String::new()
    }
}

/// Which sections are only tightened again, once round; nothing where none is.
fn again(job: &Job) -> String {
    let Some(torque) = job.gauge.particulars.torque else {
        return String::new();
    };
    let all = 1..=job.course.sections;
    let stand = all.filter(|section| job.course.once_round(Some(*section), torque));
    let stand: Vec<String> = stand.map(|section| section.to_string()).collect();
    let what = match stand.as_slice() {
        [] => return String::new(),
        _ if job.course.sections == 1 => "it".to_owned(),
        [one] => format!("section {one}"),
        some => format!("each of the sections {}", some.join(", ")),
    };
    format!(
        "back from its test with the cover closed: {what} goes once round at {torque} in the numbered order, then again until no nut moves; the passes before it stay empty"
    )
}

fn layout(job: &Job) -> String {
    let p = &job.gauge.particulars;
    let mut words = format!("{}, {} sections", p.kind, job.course.sections);
    if job.course.sections == 1 {
        words = format!("{}, 1 section", p.kind);
    }
    if let Some(length) = p.glass_length_mm {
        let _ = write!(words, ", glass {length} mm");
    }
    if !p.bolt_thread.is_empty() {
        let _ = write!(words, ", {} {}", p.bolt_form, p.bolt_thread);
    }
    words
}

fn other_unit(torque: StampedTorque) -> String {
    let unit = match torque.unit {
        TorqueUnit::NewtonMetre => TorqueUnit::FootPound,
        _ => TorqueUnit::NewtonMetre,
    };
    // A wrench is set by it, so never past what is stamped.
    torque.shown_to(unit, Side::Down)
}
