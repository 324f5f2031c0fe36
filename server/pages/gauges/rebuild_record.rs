//! The whole record of one rebuild, readable years later: what was done, by whom, when, with what,
//! from which lot, and every correction with the old value beside it. Nothing is changed here.

use std::borrow::Borrow;

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::IntoResponse;
use serde::Deserialize;

use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::story::{Happened, story};
use crate::pages::{App, address, show};
use crate::record::Moment;
use crate::record::audit::unhex;
use crate::record::bench::Entry;
use crate::record::course::Course;
use crate::record::gauge::Gauge;
use crate::record::instrument::Found;
use crate::record::re_torque::Done;
use crate::record::rebuild::{Rebuild, RebuildState};
use crate::store;
use crate::store::bench::{KitLine, Used};
use crate::store::hand_overs::HandOver;
use crate::store::photos::{Of, Photo};
use crate::store::rebuild_days::DayGiven;
use crate::store::rebuilds::{Failure, TestLine};

#[derive(Template)]
#[template(path = "gauges/rebuild_record.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    rebuild: Rebuild,
    planned_by: String,
    days: Vec<DayGiven>,
    course: Course,
    kits: Vec<KitLine>,
    instruments: Vec<Used>,
    tests: Vec<TestLine>,
    failures: Vec<Failure>,
    photos: Vec<Photo>,
    hand_overs: Vec<HandOver>,
    re_torques: Vec<Done>,
}

impl Page {
    /// The story in the order it happened.
    fn story(&self) -> Vec<Happened<'_>> {
        story(&self.course, &self.kits, &self.tests)
    }

    /// The entry that corrects this one.
    fn corrected_by(&self, entry: &Entry) -> Option<&Entry> {
        self.course
            .entries
            .iter()
            .find(|later| later.supersedes == Some(entry.id))
    }

    fn at(&self, moment: &Moment) -> String {
        show::moment(moment, self.chrome.zone())
    }

    /// The section of an entry, behind its title.
    fn place_of(&self, entry: &Entry) -> String {
        entry.place(self.course.sections)
    }

    fn place(&self, section: impl Borrow<Option<u8>>) -> String {
        self.course.place(*section.borrow())
    }
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((tag, ordinal)): Path<(String, String)>,
) -> Answer {
    let mut db = app.store().read().await?;
    let gauge = store::gauges::by_tag(&mut db, &tag)
        .await?
        .ok_or(PageError::NotFound("gauge"))?;
    let ordinal = ordinal
        .parse::<i64>()
        .map_err(|_| PageError::NotFound("rebuild"))?;
    let rebuild = store::rebuilds::by_ordinal(&mut db, gauge.id, ordinal)
        .await?
        .ok_or(PageError::NotFound("rebuild"))?;
    let course = store::bench::course(&mut db, rebuild.id)
        .await?
        .ok_or(PageError::NotFound("rebuild"))?;
    let planned_by = store::audit::person_name(&mut db, rebuild.planned_by, rebuild.planned_at)
        .await?
        .unwrap_or_default();
    let days = store::rebuild_days::of_rebuild(&mut db, rebuild.id).await?;
    let kits = store::bench::kit_lines(&mut db, rebuild.id).await?;
    let instruments = store::bench::instruments_used(&mut db, rebuild.id).await?;
    let tests = store::rebuilds::tests(&mut db, rebuild.id).await?;
    let failures = store::rebuilds::answered_failures(&mut db, gauge.id, rebuild.id).await?;
    let photos = store::photos::of_rebuild(&mut db, rebuild.id).await?;
    let hand_overs = store::hand_overs::of_rebuild(&mut db, rebuild.id).await?;
    let re_torques = store::re_torques::of_rebuild(&mut db, rebuild.id).await?;
    answer::page(&Page {
        chrome,
        gauge,
        rebuild,
        planned_by,
        days,
        course,
        kits,
        instruments,
        tests,
        failures,
        photos,
        hand_overs,
        re_torques,
    })
}

/// Which size of a photograph.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Size {
    small: String,
}

/// Serves a photograph taken at the bench. Its address carries the mark of its content, so browsers
/// may keep it.
pub async fn photo(
    State(app): State<App>,
    Path((tag, ordinal, mark)): Path<(String, String, String)>,
    Query(size): Query<Size>,
) -> Answer {
    let none = || PageError::NotFound("photograph");
    let mark = unhex(&mark)
        .filter(|mark| mark.len() == 32)
        .ok_or_else(none)?;
    let mut db = app.store().read().await?;
    let gauge = store::gauges::id_of(&mut db, &tag)
        .await?
        .ok_or(PageError::NotFound("gauge"))?;
    let ordinal = ordinal.parse::<i64>().map_err(|_| none())?;
    let rebuild = store::rebuilds::by_ordinal(&mut db, gauge, ordinal)
        .await?
        .ok_or(PageError::NotFound("rebuild"))?;
    let small = !size.small.is_empty();
    let jpeg = store::photos::bytes(&mut db, Of::Rebuild(rebuild.id), &mark, small)
        .await?
        .ok_or_else(none)?;
    let headers = [
        (CONTENT_TYPE, "image/jpeg"),
        (CACHE_CONTROL, "private, max-age=31536000, immutable"),
    ];
    Ok((headers, jpeg).into_response())
}
