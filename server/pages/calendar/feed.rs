//! The plant's days for a calendar program, under a private address that its owner can end. No
//! session comes with it: the secret in the address is the key.

use std::fmt::Write as _;

use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::IntoResponse;
use time::{Date, Duration};

use crate::acts::people::Token;
use crate::pages::answer::{Answer, PageError};
use crate::pages::labels::sheet::origin;
use crate::pages::show::counted;
use crate::pages::{App, address};
use crate::papers::ics::{Event, written};
use crate::record::moment::Zone;
use crate::record::rebuild::RebuildState;
use crate::store;
use crate::store::calendar::{DueDay, Feed, PlannedDay};
use crate::store::due::{COUNTED, Filter};

/// Days before today that are kept in the calendar: what fell due within the last year stays on its day.
const BEHIND: Duration = Duration::days(366);
/// Days after today.
const AHEAD: Duration = Duration::days(400);
/// Entries of each kind at most.
const MOST: i64 = 2000;
/// Gauges named in an event; the store names as many of a day.
const NAMED: i64 = 6;

/// The calendar.
pub async fn show(State(app): State<App>, headers: HeaderMap, Path(token): Path<String>) -> Answer {
    let none = || PageError::NotFound("calendar");
    let secret = token.strip_suffix(".ics").ok_or_else(none)?;
    let mut db = app.store().read().await?;
    let feed = store::calendar::feed(&mut db, &Token::from_text(secret).hash())
        .await?
        .ok_or_else(none)?;
    let plant = store::plant::find(&mut db).await?;
    let now = app.clock().now();
    let zone = plant.as_ref().map_or_else(Zone::utc, |p| p.zone.clone());
    let plant = plant.map_or_else(String::new, |plant| plant.name);
    let name = match &feed.area {
        Some(area) => format!("{plant}, {area}"),
        None => plant,
    };
    let origin = origin(&app, &headers);
    let own = Own {
        origin: &origin,
        host: origin.rsplit('/').next().unwrap_or("gaugewright"),
        zone: &zone,
        today: zone.date(now),
    };
    let events = events(&mut db, &feed, &own).await?;
    let headers = [
        (CONTENT_TYPE, "text/calendar; charset=utf-8"),
        (CACHE_CONTROL, "private, max-age=900"),
    ];
    Ok((headers, written(&name, &events, now.at())).into_response())
}

/// What every event of one calendar has in common.
struct Own<'a> {
    origin: &'a str,
    host: &'a str,
    zone: &'a Zone,
    today: Date,
}

impl Own<'_> {
    /// Stays the same however often the calendar is read.
    fn uid(&self, what: &str) -> String {
        format!("{what}@{}", self.host)
    }

    fn url(&self, to: &str) -> String {
        format!("{}{to}", self.origin)
    }
}

async fn events(
    db: &mut sqlx::SqliteConnection,
    feed: &Feed,
    own: &Own<'_>,
) -> store::Result<Vec<Event>> {
    let today = own.today;
    let span = (today.saturating_sub(BEHIND), today.saturating_add(AHEAD));
    let mut list = Vec::new();
    for window in store::windows::from(db, span.0).await? {
        if feed.area_id.is_some_and(|area| area != window.area_id) {
            continue;
        }
        list.push(Event {
            uid: own.uid(&format!("window-{}", window.id.0)),
            first: window.starts_on,
            last: window.ends_on,
            summary: format!("{} stands: {}", window.area, window.name),
            description: String::new(),
            url: Some(own.url(&address::window_plan(&window.area, window.starts_on))),
        });
    }
    list.extend(past_due(db, feed, own).await?);
    // Asked for apart, so that a long past takes no room of what is ahead.
    let yesterday = today.previous_day().unwrap_or(today);
    for span in [(span.0, yesterday), (today, span.1)] {
        let days = store::calendar::due_days(db, span, feed.area_id, MOST).await?;
        list.extend(days.iter().map(|one| due(one, own)));
    }
    let planned = store::calendar::planned(db, span, feed.area_id, MOST).await?;
    list.extend(planned.iter().map(|one| rebuild(one, own)));
    if feed.area_id.is_none() {
        for one in store::calendar::arrivals(db, span, MOST).await? {
            let late = if one.on < today { ", late" } else { "" };
            list.push(Event {
                uid: own.uid(&format!(
                    "order-{}-{}",
                    one.order,
                    address::encoded(&one.kit)
                )),
                first: one.on,
                last: one.on,
                summary: format!("{} × {} promised{late}", one.awaited, one.kit),
                description: format!("Order {}", one.order),
                url: Some(own.url(&address::order(&one.order))),
            });
        }
    }
    Ok(list)
}

/// What is past due, on today: a reader of a calendar does not look back, and what fell due longer ago than
/// the calendar goes is in no other event.
async fn past_due(
    db: &mut sqlx::SqliteConnection,
    feed: &Feed,
    own: &Own<'_>,
) -> store::Result<Option<Event>> {
    let past = store::calendar::count_past(db, own.today, feed.area_id).await?;
    if past == 0 {
        return Ok(None);
    }
    let yesterday = own.today.previous_day().unwrap_or(own.today);
    let filter = Filter {
        area: feed.area_id,
        until: Some(yesterday),
        ..Filter::default()
    };
    let lines = store::due::list(db, &filter, NAMED).await?;
    let tags: Vec<&str> = lines.iter().map(|line| line.tag.as_str()).collect();
    let mut summary = format!(
        "{} past due: {}",
        counted(past, COUNTED, "gauge", "gauges"),
        tags.join(", ")
    );
    if past >= COUNTED {
        summary.push_str(" and more");
    } else if past > NAMED {
        let _ = write!(summary, " and {} more", past - NAMED);
    }
    let of = feed.area.as_deref().map(address::encoded);
    Ok(Some(Event {
        uid: own.uid(&of.map_or_else(|| "past-due".to_owned(), |area| format!("past-due-{area}"))),
        first: own.today,
        last: own.today,
        summary,
        description: "The first to fall due stands first.".to_owned(),
        url: Some(own.url(&address::due_until(feed.area_id, yesterday))),
    }))
}

/// What falls or fell due on a day. It stays on its day once that is past.
fn due(one: &DueDay, own: &Own<'_>) -> Event {
    let noun = if one.gauges == 1 { "gauge" } else { "gauges" };
    let past = if one.on < own.today { "past " } else { "" };
    Event {
        uid: own.uid(&format!("due-{}-{}", one.on, address::encoded(&one.area))),
        first: one.on,
        last: one.on,
        summary: format!("{} {noun} {past}due, {}", one.gauges, one.area),
        description: if one.gauges > NAMED {
            format!("{} and {} more", one.tags, one.gauges - NAMED)
        } else {
            one.tags.clone()
        },
        url: Some(own.url(&address::due_until(Some(one.area_id), one.on))),
    }
}

/// A rebuild on the day it is planned for; once the gauge is at the bench, from the day it came there until
/// today.
fn rebuild(one: &PlannedDay, own: &Own<'_>) -> Event {
    let began = one.started_at.map_or(one.on, |at| own.zone.date(at));
    let (first, last) = if one.state.under_way() {
        (began.min(own.today), own.today)
    } else {
        (one.on, one.on)
    };
    let summary = match one.state {
        RebuildState::AtTheBench => format!("{} at the bench, {}", one.tag, one.area),
        RebuildState::OnTest => format!("{} on test, {}", one.tag, one.area),
        _ if one.on < own.today => {
            format!("Rebuild of {} planned and not begun, {}", one.tag, one.area)
        }
        _ => format!("Rebuild of {} planned, {}", one.tag, one.area),
    };
    Event {
        uid: own.uid(&format!(
            "rebuild-{}-{}",
            one.on,
            address::encoded(&one.tag)
        )),
        first,
        last,
        summary,
        description: String::new(),
        url: Some(own.url(&address::bench(&one.tag))),
    }
}
