//! What stands under what a rebuild waits for on the list of those under way: which come before it and what
//! is on the way of its kit, or since when and how long its pressure test is held.

use std::collections::HashMap;

use sqlx::SqliteConnection;
use time::Date;

use crate::acts::holds::on_test_since;
use crate::pages::chrome::Chrome;
use crate::pages::show;
use crate::record::course::{Course, Next};
use crate::record::hold::Running;
use crate::record::moment::Zone;
use crate::record::rebuild::RebuildState;
use crate::record::turn::{Left, NAMED};
use crate::record::{KitNumber, Moment, OrderNumber, RebuildId, TagNumber};
use crate::store;
use crate::store::orders::Awaited;

/// Lines of orders named of one kit.
const LINES: usize = 3;

/// Kits on the way.
#[derive(Debug, Clone)]
pub struct Coming {
    /// How many, for when, and whether that is late.
    pub told: String,
    /// The order.
    pub order: OrderNumber,
}

/// What a rebuild whose kits are not all in hand waits for.
#[derive(Debug, Clone)]
pub struct Lack {
    /// How many are to be had at the bench; empty where the line above says it.
    pub told: String,
    /// The kit.
    pub kit: KitNumber,
    /// Gauges whose rebuilds come before it at the shelf, the first first.
    pub before: Vec<TagNumber>,
    /// Whether there are others after these.
    pub others: bool,
    /// What is on the way, whoever gets it.
    pub coming: Vec<Coming>,
    /// Whether more is.
    pub more: bool,
}

/// What stands under the lines of the list.
#[derive(Debug, Default)]
pub struct Under {
    lacks: HashMap<RebuildId, Lack>,
    holds: HashMap<RebuildId, String>,
}

impl Under {
    /// Reads it for all lines at once: three statements at most.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn of(
        db: &mut SqliteConnection,
        chrome: &Chrome,
        courses: &HashMap<RebuildId, Course>,
    ) -> store::Result<Self> {
        Ok(Self {
            lacks: lacks(db, courses, chrome.today).await?,
            holds: holds(db, courses, chrome).await?,
        })
    }

    /// What it lacks of its kits.
    pub fn lack(&self, rebuild: RebuildId) -> Option<&Lack> {
        self.lacks.get(&rebuild)
    }

    /// How long its test is held.
    pub fn hold(&self, rebuild: RebuildId) -> Option<&str> {
        self.holds.get(&rebuild).map(String::as_str)
    }
}

async fn lacks(
    db: &mut SqliteConnection,
    courses: &HashMap<RebuildId, Course>,
    today: Date,
) -> store::Result<HashMap<RebuildId, Lack>> {
    let short: Vec<(RebuildId, &Course, &KitNumber, Left)> = courses
        .iter()
        .filter_map(|(id, course)| {
            let left = course.short_at_the_shelf(today)?;
            Some((*id, course, course.kit.as_ref()?, left))
        })
        .collect();
    if short.is_empty() {
        return Ok(HashMap::new());
    }
    let before: HashMap<RebuildId, Vec<RebuildId>> = short
        .iter()
        .map(|(id, course, _, _)| (*id, come_before(course)))
        .collect();
    let ids: Vec<RebuildId> = before.values().flatten().copied().collect();
    let tags = store::rebuilds::tags(db, &ids).await?;
    let mut kits: Vec<KitNumber> = short.iter().map(|(_, _, kit, _)| (*kit).clone()).collect();
    kits.sort();
    kits.dedup();
    let most = i64::try_from(LINES + 1).unwrap_or(i64::MAX);
    let mut awaited: HashMap<KitNumber, Vec<Awaited>> = HashMap::new();
    for line in store::orders::awaited_of_each(db, &kits, most).await? {
        awaited.entry(line.kit.clone()).or_default().push(line);
    }
    Ok(short
        .into_iter()
        .map(|(id, course, kit, left)| {
            let rebuilds = before.get(&id).map(Vec::as_slice).unwrap_or_default();
            let lines = awaited.get(kit).map(Vec::as_slice).unwrap_or_default();
            let named = rebuilds.iter().take(NAMED);
            let lack = Lack {
                told: to_be_had(course, kit, left),
                kit: kit.clone(),
                before: named.filter_map(|one| tags.get(one).cloned()).collect(),
                others: rebuilds.len() > NAMED,
                coming: lines
                    .iter()
                    .take(LINES)
                    .map(|line| coming(line, course, today))
                    .collect(),
                more: lines.len() > LINES,
            };
            (id, lack)
        })
        .collect())
}

/// The rebuilds that come before it, one more than are named.
fn come_before(course: &Course) -> Vec<RebuildId> {
    let Some(queue) = &course.queue else {
        return Vec::new();
    };
    let turns = queue.before(course.turn).take(NAMED + 1);
    turns.map(|turn| turn.rebuild).collect()
}

/// At the bench: how many of those to be issued are to be had.
fn to_be_had(course: &Course, kit: &KitNumber, left: Left) -> String {
    match course.next() {
        Next::IssueKits(short) => format!(
            "{} of {short} {kit} in the storeroom{}",
            left.kits(),
            left.told()
        ),
        _ => String::new(),
    }
}

fn coming(line: &Awaited, course: &Course, today: Date) -> Coming {
    let kits = line.awaited;
    let told = match line.promised_on {
        None => format!("{kits} without a promised day"),
        Some(day) => {
            let (planned, _) = course.turn;
            let late = if day < today {
                ", late"
            } else if course.state == RebuildState::Planned && day > planned {
                ", after its day"
            } else {
                ""
            };
            format!("{kits} promised for {}{late}", show::date(&day))
        }
    };
    Coming {
        told,
        order: line.order.clone(),
    }
}

async fn holds(
    db: &mut SqliteConnection,
    courses: &HashMap<RebuildId, Course>,
    chrome: &Chrome,
) -> store::Result<HashMap<RebuildId, String>> {
    let proved: Vec<RebuildId> = courses
        .iter()
        .filter(|(_, course)| course.next() == Next::Prove)
        .map(|(id, _)| *id)
        .collect();
    if proved.is_empty() {
        return Ok(HashMap::new());
    }
    let now = chrome.now();
    let latest = store::holds::latest(db, &proved).await?;
    Ok(latest
        .into_iter()
        // One of an earlier turn on test came to nothing.
        .filter(|(id, hold)| {
            let since = courses.get(id).and_then(on_test_since);
            since.is_some_and(|since| hold.began >= since)
        })
        .map(|(id, hold)| (id, held(hold, now, chrome.zone())))
        .collect())
}

/// Since when it holds, and until when at least it has to.
fn held(hold: Running, now: Moment, zone: &Zone) -> String {
    let began = format!("The hold began {}", show::moment(&hold.began, zone));
    let (Some(minutes), Some(over), Some(until)) = (hold.minutes(), hold.over_at(), hold.until())
    else {
        return began;
    };
    if now >= over {
        return format!(
            "{began}, and has lasted the {minutes} min it has to: look at every joint and record the test"
        );
    }
    let end = if zone.date(until) == zone.date(hold.began) {
        let local = zone.local(until);
        format!("{:02}:{:02}", local.hour(), local.minute())
    } else {
        show::moment(&until, zone)
    };
    format!("{began}, and has to last until {end} at least")
}
