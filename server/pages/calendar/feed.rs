//! The plant's days for a calendar program, under a private address that its owner can end. No
//! session comes with it: the secret in the address is the key.

use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::IntoResponse;
use time::{Date, Duration};

use crate::acts::people::Token;
use crate::pages::answer::{Answer, PageError};
use crate::pages::labels::sheet::origin;
use crate::pages::{App, address};
use crate::papers::ics::{Event, written};
use crate::record::moment::Zone;
use crate::store;
use crate::store::calendar::Feed;

/// Days before today that are kept in the calendar.
const BEHIND: Duration = Duration::days(92);
/// Days after today.
const AHEAD: Duration = Duration::days(400);
/// Entries of each kind at most.
const MOST: i64 = 2000;

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
    let today = plant
        .as_ref()
        .map_or_else(Zone::utc, |p| p.zone.clone())
        .date(now);
    let plant = plant.map_or_else(String::new, |plant| plant.name);
    let name = match &feed.area {
        Some(area) => format!("{plant}, {area}"),
        None => plant,
    };
    let origin = origin(&app, &headers);
    let events = events(&mut db, &feed, &origin, today).await?;
    let headers = [
        (CONTENT_TYPE, "text/calendar; charset=utf-8"),
        (CACHE_CONTROL, "private, max-age=900"),
    ];
    Ok((headers, written(&name, &events, now.at())).into_response())
}

async fn events(
    db: &mut sqlx::SqliteConnection,
    feed: &Feed,
    origin: &str,
    today: Date,
) -> store::Result<Vec<Event>> {
    let host = origin
        .rsplit('/')
        .next()
        .unwrap_or("gaugewright")
        .to_owned();
    let uid = |what: String| format!("{what}@{host}");
    let url = |to: String| Some(format!("{origin}{to}"));
    let span = (today.saturating_sub(BEHIND), today.saturating_add(AHEAD));
    let mut list = Vec::new();
    for window in store::windows::from(db, span.0).await? {
        if feed.area_id.is_some_and(|area| area != window.area_id) {
            continue;
        }
        list.push(Event {
            uid: uid(format!("window-{}", window.id.0)),
            first: window.starts_on,
            last: window.ends_on,
            summary: format!("{} stands: {}", window.area, window.name),
            description: String::new(),
            url: url(address::window_plan(&window.area, window.starts_on)),
        });
    }
    for one in store::calendar::due_days(db, span, feed.area_id, MOST).await? {
        let noun = if one.gauges == 1 { "gauge" } else { "gauges" };
        list.push(Event {
            uid: uid(format!("due-{}-{}", one.on, address::encoded(&one.area))),
            first: one.on,
            last: one.on,
            summary: format!("{} {noun} due, {}", one.gauges, one.area),
            description: if one.gauges > 6 {
                format!("{} and {} more", one.tags, one.gauges - 6)
            } else {
                one.tags.clone()
            },
            url: url(address::with_query(
                address::DUE,
                &[("until", one.on.to_string())],
            )),
        });
    }
    for one in store::calendar::planned(db, span, feed.area_id, MOST).await? {
        list.push(Event {
            uid: uid(format!("rebuild-{}-{}", one.on, address::encoded(&one.tag))),
            first: one.on,
            last: one.on,
            summary: format!("Rebuild of {} planned, {}", one.tag, one.area),
            description: String::new(),
            url: url(address::bench(&one.tag)),
        });
    }
    if feed.area_id.is_none() {
        for one in store::calendar::arrivals(db, span, MOST).await? {
            list.push(Event {
                uid: uid(format!(
                    "order-{}-{}",
                    one.order,
                    address::encoded(&one.kit)
                )),
                first: one.on,
                last: one.on,
                summary: format!("{} × {} promised", one.awaited, one.kit),
                description: format!("Order {}", one.order),
                url: url(address::order(&one.order)),
            });
        }
    }
    Ok(list)
}
