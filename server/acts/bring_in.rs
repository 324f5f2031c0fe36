//! Bringing in a plant's list: keeping the file, matching its columns, and taking every good line
//! into the register in one transaction, or nothing. How a line is read is in `record::plant_list`.

mod look;
mod take;

use std::sync::Arc;

use serde_json::json;
use sqlx::SqliteConnection;
use time::Duration;

use look::preview_of;
pub use look::{Previewed, ask, closed, found, mark, matching, offered, preview, table};
use take::take;

use super::{Deed, Error, Result};
use crate::record::audit::sha256_hex;
use crate::record::moment::Clock;
use crate::record::plant_list::reading::{self, Unreadable, Wish};
use crate::record::plant_list::table::Found;
use crate::record::plant_list::{Matching, Table, headings, mend};
use crate::record::{BringInId, Moment, Refusal};
use crate::store::bring_in::Upload;
use crate::store::{self, Store};

/// A list that was neither taken in nor left is forgotten after this time.
pub const KEPT: Duration = Duration::days(7);
/// Gauges written, sealed and noted together.
const CHUNK: usize = 500;

/// A file read as a list, ready to be kept.
#[derive(Debug)]
pub struct Opened {
    file_name: String,
    bytes: Vec<u8>,
    table: Table,
    found: Found,
}

/// Reads a file off the async threads, since a large workbook takes a while.
///
/// # Errors
/// Says in plain words why it is no list.
pub async fn open(file_name: String, bytes: Vec<u8>, wish: Wish) -> Result<Opened> {
    apart(move || {
        let (table, found) = reading::read(&bytes, &wish)?;
        Ok(Opened {
            file_name,
            bytes,
            table,
            found,
        })
    })
    .await?
    .map_err(|Unreadable(why)| Refusal::field("file", why).into())
}

/// Runs work that keeps a processor busy beside the async threads.
async fn apart<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Result<T> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|e| Error::Store(store::Error::Unreadable(format!("a list: {e}"))))
}

/// What lists with the same columns are recognised by, so that a mended file needs no new matching.
fn heading_key(table: &Table) -> String {
    let mut names: Vec<String> = table
        .headings
        .iter()
        .map(|heading| headings::plain(heading))
        .collect();
    let why = headings::plain(mend::WHY);
    while names
        .last()
        .is_some_and(|name| name.is_empty() || *name == why)
    {
        names.pop();
    }
    sha256_hex(names.join("\n").as_bytes())
}

/// Keeps a list on its way in.
///
/// # Errors
/// The store's failure.
pub async fn receive(deed: &mut Deed, opened: &Opened) -> Result<BringInId> {
    let person = deed.person()?;
    let now = deed.now();
    forget_old(deed.db(), now).await?;
    let sha256 = sha256_hex(&opened.bytes);
    let found = text(&opened.found)?;
    let key = heading_key(&opened.table);
    let kept = opened.table.kept();
    let id = store::bring_in::add(
        deed.db(),
        &store::bring_in::New {
            person,
            at: now,
            file_name: &opened.file_name,
            bytes: &opened.bytes,
            sha256: &sha256,
        },
        &store::bring_in::Read {
            found: &found,
            heading_key: &key,
            lines: count(opened.table.lines.len()),
            kept: &kept,
        },
    )
    .await?;
    let facts = json!({ "lines": opened.table.lines.len(), "sha256": sha256 });
    deed.record(
        "chose a list",
        &subject(&opened.file_name),
        None,
        facts,
        &[],
    )
    .await?;
    Ok(id)
}

/// Keeps the same file read differently.
///
/// # Errors
/// Refuses a list that is closed.
pub async fn read_again(deed: &mut Deed, id: BringInId, opened: &Opened) -> Result<()> {
    let upload = open_one(deed, id).await?;
    let found = text(&opened.found)?;
    let key = heading_key(&opened.table);
    let kept = opened.table.kept();
    store::bring_in::read_again(
        deed.db(),
        id,
        &store::bring_in::Read {
            found: &found,
            heading_key: &key,
            lines: count(opened.table.lines.len()),
            kept: &kept,
        },
    )
    .await?;
    deed.record(
        "read a list differently",
        &subject(&upload.file_name),
        None,
        json!({ "read": opened.found }),
        &[],
    )
    .await
}

/// Keeps how the columns were matched.
///
/// # Errors
/// Refuses a list that is closed.
pub async fn match_columns(deed: &mut Deed, id: BringInId, matching: &Matching) -> Result<()> {
    let upload = open_one(deed, id).await?;
    store::bring_in::put_matching(deed.db(), id, &text(matching)?).await?;
    deed.record(
        "matched the columns of a list",
        &subject(&upload.file_name),
        None,
        json!({}),
        &[],
    )
    .await
}

/// What a person saw when they decided: only exactly that is done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seen {
    /// The list and its matching, by [`mark`].
    pub mark: String,
    /// The lines that could be taken in.
    pub good: usize,
}

/// Takes every good line into the register, in this deed's one transaction; the others stay as a
/// file to mend.
///
/// # Errors
/// Refuses a list that is closed, or one that is not what was seen.
///
/// The table is read before the deed begins, since reading a long one takes a while and nobody else
/// writes meanwhile; the mark says that it is the one to be taken in.
pub async fn accept(
    deed: &mut Deed,
    id: BringInId,
    seen: &Seen,
    table: Arc<Table>,
) -> Result<usize> {
    let upload = open_one(deed, id).await?;
    let person = deed.person()?;
    let now = deed.now();
    let today = deed.today();
    if mark(&upload) != seen.mark {
        return Err(Refusal::not_now(
            "The list was matched differently since you opened this page; look at it again",
        )
        .into());
    }
    let previewed = preview_of(deed.db(), &upload, table, today).await?;
    let (table, plan) = (&previewed.table, &previewed.plan);
    if plan.good != seen.good {
        return Err(Refusal::not_now(format!(
            "The register changed since you opened this page: {} lines can be taken in now, not {}. Look at it again",
            plan.good, seen.good
        ))
        .into());
    }
    if let Some(why) = &plan.blocked {
        return Err(Refusal::not_now(why.clone()).into());
    }
    if plan.good == 0 {
        return Err(Refusal::not_now("No line of this list can be taken in").into());
    }
    let refused = (plan.refused > 0).then(|| mend::refused_lines(table, plan, previewed.delimiter));
    let facts = json!({
        "taken": plan.good, "refused": plan.refused, "passed over": plan.passed_over,
        "sha256": upload.sha256,
    });
    deed.record(
        "brought in a list",
        &subject(&upload.file_name),
        None,
        facts,
        &[],
    )
    .await?;
    take(deed, &upload.file_name, &previewed).await?;
    store::bring_in::take(
        deed.db(),
        id,
        (person, now),
        &store::bring_in::Taken {
            accepted: count(plan.good),
            refused_rows: count(plan.refused),
            passed_over: count(plan.passed_over),
            refused: refused.as_deref(),
        },
    )
    .await?;
    Ok(plan.good)
}

/// Leaves a list without taking anything.
///
/// # Errors
/// Refuses a list that is closed.
pub async fn leave(deed: &mut Deed, id: BringInId) -> Result<()> {
    let upload = open_one(deed, id).await?;
    let by = (deed.person()?, deed.now());
    store::bring_in::leave(deed.db(), id, by).await?;
    deed.record(
        "left a list without taking anything",
        &subject(&upload.file_name),
        None,
        json!({}),
        &[],
    )
    .await
}

/// Forgets what is older than a week, for the running server.
///
/// # Errors
/// The store's failure.
pub async fn forget(store: &Store, clock: &Clock) -> Result<()> {
    let mut tx = store.write().await?;
    forget_old(&mut tx, clock.now()).await?;
    tx.commit().await.map_err(store::Error::from)?;
    Ok(())
}

async fn forget_old(db: &mut SqliteConnection, now: Moment) -> Result<()> {
    let forgotten = store::bring_in::forget_before(db, now.plus(-KEPT)).await?;
    if forgotten > 0 {
        tracing::info!(forgotten, "forgot lists that were a week old");
    }
    Ok(())
}

/// A list that still waits to be taken in or left.
async fn open_one(deed: &mut Deed, id: BringInId) -> Result<Upload> {
    let upload = store::bring_in::find(deed.db(), id)
        .await?
        .ok_or(Refusal::Missing("list"))?;
    if let Some(words) = closed(&upload, deed.now()) {
        return Err(Refusal::not_now(words).into());
    }
    Ok(upload)
}

fn subject(file_name: &str) -> String {
    format!("list {file_name}")
}

fn text(value: &impl serde::Serialize) -> Result<String> {
    serde_json::to_string(value).map_err(|e| Error::Store(e.into()))
}

fn count(number: usize) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}
