//! A rack: an area's gauges as glasses by time left, or as bars where they are too many to stand
//! side by side. How a single glass is drawn is told in `pages/glass.rs`.

use sqlx::SqliteConnection;
use time::Date;

use crate::pages::glass::{Glass, NEAR_DAYS};
use crate::record::gauge::Standing;
use crate::record::plant::Area;
use crate::record::{AreaId, TagNumber};
use crate::store::due::{Filter, Line};
use crate::store::due_days::Span;
use crate::store::{self, Result};

/// Glasses a rack shows one by one.
pub const GLASSES: usize = 60;
/// Spans of thirty days drawn one by one; what falls due later stands together.
const SPANS: usize = 24;
/// Height of the tallest bar.
const TALL: i64 = 52;

/// One bar: how many gauges fall due in a span of days.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bar {
    /// The span, in words.
    pub words: String,
    /// The word for its look, as of a glass.
    pub look: &'static str,
    /// How many gauges.
    pub gauges: i64,
    /// Height in the drawing.
    pub height: i64,
    /// Where it begins, from the left.
    pub x: usize,
}

impl Bar {
    /// Where its top is.
    pub fn top(&self) -> i64 {
        TALL + 4 - self.height
    }
}

/// What stands in a rack.
pub enum Content {
    /// Every gauge as its glass.
    Glasses(Vec<(TagNumber, Glass)>),
    /// Too many for that: bars.
    Bars(Vec<Bar>),
}

/// An area's rack.
pub struct Rack {
    /// The area.
    pub area: Area,
    /// Gauges in service with a date.
    pub dated: i64,
    /// Gauges that rest.
    pub resting: i64,
    /// Of the dated, how many are past due.
    pub past: i64,
    /// Of the dated, how many fall due within thirty days.
    pub near: i64,
    /// What is drawn.
    pub content: Content,
}

impl Rack {
    /// What the bars show, for those who cannot see them.
    pub fn bars_say(&self) -> String {
        format!(
            "{}: {} past due, {} within {NEAR_DAYS} days, {} later, by spans of {NEAR_DAYS} days",
            self.area.name,
            self.past,
            self.near,
            self.dated - self.past - self.near
        )
    }
}

/// The racks of the plant, in the order of its areas.
pub async fn all(db: &mut SqliteConnection, areas: Vec<Area>, today: Date) -> Result<Vec<Rack>> {
    let last = i64::try_from(SPANS).unwrap_or(24);
    let spans = store::due_days::spans(db, today, NEAR_DAYS, last).await?;
    let most = i64::try_from(GLASSES).unwrap_or(i64::MAX);
    let resting = store::gauges::resting(db, most).await?;
    let counted = store::gauges::count_resting(db).await?;
    let mut racks = Vec::with_capacity(areas.len());
    for area in areas {
        let counts = counts(&spans, area.id);
        let dated: i64 = counts.iter().sum();
        let [past, near, ..] = counts;
        let rest: Vec<&TagNumber> = resting
            .iter()
            .filter(|(id, _)| *id == area.id)
            .map(|(_, tag)| tag)
            .collect();
        let rests = counted
            .iter()
            .find(|(id, _)| *id == area.id)
            .map_or(0, |(_, gauges)| *gauges);
        let few = dated + rests <= most;
        let content = if few {
            let filter = Filter {
                area: Some(area.id),
                ..Filter::default()
            };
            let lines = store::due::list(db, &filter, most).await?;
            Content::Glasses(glasses(&lines, &rest, today))
        } else {
            Content::Bars(bars(counts))
        };
        racks.push(Rack {
            resting: rests,
            area,
            dated,
            past,
            near,
            content,
        });
    }
    Ok(racks)
}

/// By time left, and what rests at the end.
fn glasses(lines: &[Line], rest: &[&TagNumber], today: Date) -> Vec<(TagNumber, Glass)> {
    let mut dated: Vec<(TagNumber, Glass)> = lines
        .iter()
        .map(|line| {
            let due = Some(line.latest_on);
            let glass = Glass::of(Standing::InService, due, line.since_on, today);
            (line.tag.clone(), glass)
        })
        .collect();
    // What is past or near stands by its date; further on, the rack falls like a level, by the share
    // of the interval that is left. The sort is stable, so equal shares stay by date.
    dated.sort_by_key(|(_, glass)| match glass.look {
        "past" => (0, 0),
        "near" => (1, 0),
        _ => (2, glass.column),
    });
    let resting = rest.iter().map(|tag| {
        (
            (*tag).clone(),
            Glass::of(Standing::Resting, None, None, today),
        )
    });
    dated.into_iter().chain(resting).collect()
}

/// What falls due in each span of an area: past, within thirty days, and so on.
fn counts(spans: &[Span], area: AreaId) -> [i64; SPANS + 2] {
    let mut counts = [0; SPANS + 2];
    for span in spans.iter().filter(|span| span.area_id == area) {
        let at = usize::try_from(span.at + 1).unwrap_or(0);
        if let Some(count) = counts.get_mut(at) {
            *count += span.gauges;
        }
    }
    counts
}

fn bars(counts: [i64; SPANS + 2]) -> Vec<Bar> {
    let tallest = counts.iter().copied().max().unwrap_or(0).max(1);
    counts
        .iter()
        .enumerate()
        .map(|(at, &gauges)| {
            let from = (at.saturating_sub(1)) * usize::try_from(NEAR_DAYS).unwrap_or(30);
            Bar {
                words: match at {
                    0 => "past due".to_owned(),
                    1 => format!("within {NEAR_DAYS} days"),
                    n if n == SPANS + 1 => format!("later than {from} days"),
                    _ => format!("{} to {} days", from + 1, from + 30),
                },
                look: match at {
                    0 => "past",
                    1 => "near",
                    _ => "left",
                },
                gauges,
                // Something is never drawn as nothing.
                height: (gauges * TALL / tallest).max(i64::from(gauges > 0) * 2),
                x: at * 16 + if at > 0 { 8 } else { 0 },
            }
        })
        .collect()
}
