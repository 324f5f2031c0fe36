//! Bringing in the plant's list, last page: what became of it, the refused lines as a file to mend,
//! and what to do next.

use askama::Template;
use axum::extract::{Path, State};

use super::bring_in::{asked_for, csv_file};
use crate::acts::bring_in;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::gauge::Assumed;
use crate::record::plant_list::mend;
use crate::store;
use crate::store::bring_in::Upload;
use crate::store::due::COUNTED;

#[derive(Template)]
#[template(path = "gauges/bring_in_done.html")]
struct Page {
    chrome: Chrome,
    upload: Upload,
    /// Service classes nobody has set intervals for.
    without_intervals: Vec<String>,
    /// Of how many gauges of the register it is only assumed how they are isolated.
    isolation_assumed: i64,
}

impl Page {
    fn kept_until(&self) -> String {
        show::moment(&self.upload.at.plus(bring_in::KEPT), self.chrome.zone())
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(id): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let upload = asked_for(&mut db, &id).await?;
    if bring_in::closed(&upload, app.clock().now()).is_none() {
        return Err(PageError::SeeOther(address::bring_in(upload.id, "preview")));
    }
    let without_intervals = store::plant::service_classes(&mut db)
        .await?
        .into_iter()
        .filter(|class| class.rebuild_months.is_none() && class.look_over_months.is_none())
        .map(|class| class.name)
        .collect();
    answer::page(&Page {
        chrome,
        upload,
        without_intervals,
        isolation_assumed: store::bring_in::count_isolation_assumed(&mut db).await?,
    })
}

/// The refused lines as a file to mend: before the list is taken in as they are now, afterwards as
/// they were refused.
pub async fn refused(State(app): State<App>, chrome: Chrome, Path(id): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let upload = asked_for(&mut db, &id).await?;
    let bytes = if bring_in::closed(&upload, app.clock().now()).is_none() {
        let previewed = bring_in::preview(&mut db, &upload, chrome.today).await?;
        mend::refused_lines(&previewed.table, &previewed.plan, previewed.delimiter)
    } else {
        store::bring_in::refused(&mut db, upload.id)
            .await?
            .ok_or(PageError::NotFound("file of refused lines"))?
    };
    let stem = upload
        .file_name
        .rsplit_once('.')
        .map_or(upload.file_name.as_str(), |(stem, _)| stem);
    Ok(csv_file(&format!("{stem} to mend.csv"), bytes))
}
