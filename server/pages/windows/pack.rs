//! The pack of a shutdown window as PDF: list, kits to pick, a sheet for each gauge.
//! What is chosen into the window is the plan's page.

use axum::extract::{Path, Query, State};
use serde::Deserialize;
use sqlx::SqliteConnection;
use time::Date;

use super::needed::{KitLine, needed};
use super::show::found;
use crate::acts;
use crate::calc::tighten;
use crate::pages::answer::Answer;
use crate::pages::bench::paper::nut_places;
use crate::pages::chrome::Chrome;
use crate::pages::{App, paper, show};
use crate::papers::window_pack::{GaugeSheet, Pack, Pick, pdf as set};
use crate::record::gauge::Gauge;
use crate::record::plant::Plant;
use crate::record::pressure_test::{Basis, asked};
use crate::record::rebuild::RebuildState;
use crate::record::test_plan::TestPlan;
use crate::record::{GaugeId, KitNumber};
use crate::store;
use crate::store::orders::Awaited;
use crate::store::window_plan::Candidate;

/// Lines of orders named of one kit.
const LINES: usize = 3;

/// The paper asked for.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    paper: String,
}

/// The pack.
pub async fn pdf(
    State(app): State<App>,
    chrome: Chrome,
    Path((area, starts_on)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Answer {
    let window = found(&app, &area, &starts_on).await?;
    let size = paper::size(&asked.paper)?;
    let mut db = app.store().read().await?;
    let chosen = acts::window_plan::chosen(&mut db, window.id).await?;
    let need = needed(&mut db, (&chrome.plant, chrome.today), &window, &chosen).await?;
    let kits: Vec<KitNumber> = need.kits.iter().map(|one| one.wanted.kit.clone()).collect();
    let most = i64::try_from(LINES + 1).unwrap_or(i64::MAX);
    let awaited = store::orders::awaited_of_each(&mut db, &kits, most).await?;
    let days = (window.starts_on, chrome.today);
    let kits = need.kits.iter();
    let picks = kits.map(|line| pick(line, &awaited, days)).collect();
    let hours = store::window_plan::hours(&mut db, window.id).await?;
    let total = hours.needed(&chosen, &window, chrome.today);
    let text = |value: rust_decimal::Decimal| value.normalize().to_string();
    let mut gauges = Vec::with_capacity(chosen.len());
    for one in &chosen {
        let why = why(one, one.under_way(&window, chrome.today));
        gauges.extend(sheet(&mut db, &chrome.plant, one.gauge_id, why).await?);
    }
    let pack = Pack {
        plant: chrome.plant.name.clone(),
        name: window.name.clone(),
        area: window.area.clone(),
        starts: window.starts_on.to_string(),
        ends: window.ends_on.to_string(),
        demo: chrome.plant.demo,
        hours: total.map(|total| (text(total), hours.available.map(text))),
        gauges,
        picks,
    };
    let printed = app.clock().now().at();
    let name = format!("pack-{}-{}.pdf", window.area, window.starts_on);
    paper::pdf(&name, move || set(&pack, printed, size)).await
}

/// A kit to pick: from which lots, what no lot is left for, and what is on the way.
fn pick(line: &KitLine, awaited: &[Awaited], days: (Date, Date)) -> Pick {
    let own = awaited.iter().filter(|one| one.kit == line.wanted.kit);
    let mut coming: Vec<String> = own.map(|one| told(one, days)).collect();
    let more = coming.len() > LINES;
    coming.truncate(LINES);
    Pick {
        kit: line.wanted.kit.to_string(),
        needed: u32::try_from(line.wanted.wanted).unwrap_or(0),
        missing: line.share.missing,
        coming,
        more,
        short: line.short,
        lots: line
            .share
            .promised
            .iter()
            .map(|one| {
                let last = one.expires_on;
                let last =
                    last.map_or_else(|| "no last day".to_owned(), |day| show::plain_date(&day));
                (one.lot.to_string(), one.place.clone(), one.kits, last)
            })
            .collect(),
    }
}

/// How many come and for when, beside the first day of the window and today.
fn told(one: &Awaited, (starts, today): (Date, Date)) -> String {
    let kits = one.awaited;
    match one.promised_on {
        None => format!("{kits} without a promised day"),
        Some(day) => {
            let beside = if day > starts {
                ", after the window begins"
            } else if day < today {
                ", late"
            } else {
                ""
            };
            format!("{kits} promised for {}{beside}", show::plain_date(&day))
        }
    }
}

async fn sheet(
    db: &mut SqliteConnection,
    plant: &Plant,
    id: GaugeId,
    why: String,
) -> store::Result<Option<GaugeSheet>> {
    let Some(gauge) = store::gauges::by_id(db, id).await? else {
        return Ok(None);
    };
    let open = store::in_service::open_failures(&mut *db, id).await?;
    let plan = store::test_plans::plan(db, plant, &gauge).await?;
    Ok(Some(written((plant, &plan), why, &gauge, open.first())))
}

/// Why a gauge is done in the window, and what keeps it from being counted like the others.
fn why(one: &Candidate, under_way: Option<RebuildState>) -> String {
    let mut words = Vec::new();
    if let Some(cause) = one.rebuilt_for {
        let day = show::plain_date(&cause.date);
        words.push(format!("{}, {day}", cause.rule.words()));
    }
    if one.resting() {
        words.push("is resting".to_owned());
    }
    if words.is_empty() {
        words.push("chance of a shutdown".to_owned());
    }
    if let Some(state) = under_way {
        words.push(format!(
            "{state} now, before the window: its hours are not counted"
        ));
    }
    words.join("; ")
}

fn written(
    (plant, plan): (&Plant, &TestPlan),
    why: String,
    gauge: &Gauge,
    open: Option<&store::in_service::OpenFailure>,
) -> GaugeSheet {
    let p = &gauge.particulars;
    let passes = p.torque.and_then(|torque| {
        let step = tighten::step_in(plant.tightening_step, torque.unit).ok()?;
        tighten::passes(torque, step).ok()
    });
    let asked = asked(plan, p, &Basis::default()).ok();
    GaugeSheet {
        tag: p.tag.to_string(),
        place: format!("{} {}, {}", p.vessel, p.service, gauge.area),
        why,
        built: format!(
            "{}, {} sections{}, {} {}",
            p.kind,
            p.sections,
            p.glass_length_mm
                .map_or_else(String::new, |mm| format!(", glass {mm} mm")),
            p.bolt_form,
            p.bolt_thread
        ),
        sections: p.sections,
        order: tighten::sections_in_order(p.sections)
            .unwrap_or_else(|_| (1..=p.sections).collect()),
        nuts: nut_places(gauge),
        rail: usize::from(p.bolts_per_rail.unwrap_or(1)),
        kits: gauge.kit.as_ref().map_or_else(
            || format!("{}, no kit named", p.kits_per_rebuild),
            |kit| format!("{} × {kit}", p.kits_per_rebuild),
        ),
        torque: p.torque.map(|torque| torque.to_string()),
        without_torque: p.without_torque(),
        assumed: gauge.told_assumed(),
        larger_last: passes
            .as_ref()
            .map_or_else(String::new, tighten::Plan::larger_last_told),
        passes: passes.map_or_else(Vec::new, |plan| {
            let one = |value: &rust_decimal::Decimal| format!("{value} {}", plan.unit);
            plan.passes.iter().map(one).collect()
        }),
        test: asked
            .map(|asked| format!("{} held for {} minutes", asked.required, asked.hold_minutes)),
        rating: p.rating.map(|rating| rating.to_string()),
        without_rating: p.without_rating(),
        note: p.note.clone(),
        failure: open.map_or_else(String::new, |one| format!("{} {}", one.kind, one.note)),
    }
}
