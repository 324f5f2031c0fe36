//! Bringing in a plant's list: keeping the file, matching its columns, and taking every good line
//! into the register in one transaction, or nothing. How a line is read is in `record::plant_list`.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use serde_json::json;
use sqlx::SqliteConnection;
use time::{Date, Duration};

use super::deed::GaugeEntry;
use super::{Deed, Error, Result, gauges, plant};
use crate::record::audit::sha256_hex;
use crate::record::gauge::Particulars;
use crate::record::moment::Clock;
use crate::record::plant::ServiceClass;
use crate::record::plant_list::field::Field;
use crate::record::plant_list::matching::{Column, Questions};
use crate::record::plant_list::plan::Outcome;
use crate::record::plant_list::reading::{self, Unreadable, Wish};
use crate::record::plant_list::row::{Checker, Draft, Known, Named};
use crate::record::plant_list::table::{Delimiter, Found, Line};
use crate::record::plant_list::{Matching, Plan, Table, folded, headings, mend, tidy};
use crate::record::{AreaId, BringInId, Moment, Refusal, ServiceClassId};
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

/// The matching offered for a list: that of the latest list with the same headings, or a guess.
///
/// # Errors
/// The store's failure.
pub async fn offered(
    db: &mut SqliteConnection,
    upload: &Upload,
    table: &Table,
) -> Result<Matching> {
    let guess = Matching::guess(table, &found(upload));
    let kept = match &upload.matching {
        Some(own) => Some(own.clone()),
        None => store::bring_in::matching_like(db, upload.id).await?,
    };
    let earlier: Option<Matching> = kept.and_then(|text| serde_json::from_str(&text).ok());
    Ok(match earlier {
        Some(mut earlier) => {
            earlier.columns.resize(table.width(), Column::default());
            earlier.text_file = guess.text_file;
            earlier.order = earlier.order.or(guess.order);
            earlier.mark = earlier.mark.or(guess.mark);
            earlier
        }
        None => guess,
    })
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

/// Recognises a list as it was previewed: its file, how it was read and matched.
pub fn mark(upload: &Upload) -> String {
    let whole = format!(
        "{} {} {} {}",
        upload.id.0,
        upload.sha256.as_deref().unwrap_or_default(),
        upload.found.as_deref().unwrap_or_default(),
        upload.matching.as_deref().unwrap_or_default()
    );
    sha256_hex(whole.as_bytes())[..16].to_owned()
}

/// Takes every good line into the register, in this deed's one transaction; the others stay as a
/// file to mend.
///
/// # Errors
/// Refuses a list that is closed, or one that is not what was seen.
pub async fn accept(deed: &mut Deed, id: BringInId, seen: &Seen) -> Result<usize> {
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
    let previewed = preview(deed.db(), &upload, today).await?;
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

/// Why nothing can be done with a list any more; nothing while it waits.
pub fn closed(upload: &Upload, now: Moment) -> Option<String> {
    let by = upload.closed_by.as_deref().unwrap_or("somebody");
    if upload.accepted_at.is_some() {
        Some(format!("{by} has taken this list in already"))
    } else if upload.left_at.is_some() {
        Some(format!("{by} has left this list without taking anything"))
    } else if !upload.has_file || upload.at.plus(KEPT) <= now {
        Some("This list was kept for a week and is forgotten now; choose the file again".to_owned())
    } else {
        None
    }
}

/// What has to be asked about a list matched like this; looks at every cell that matters.
///
/// # Errors
/// Only if the work was cut off.
pub async fn ask(table: &Arc<Table>, matching: &Matching) -> Result<Questions> {
    let (table, matching) = (Arc::clone(table), matching.clone());
    apart(move || Questions::of(&table, &matching)).await
}

/// A list with what would happen to it.
#[derive(Debug)]
pub struct Previewed {
    /// The table.
    pub table: Arc<Table>,
    /// How its columns are matched.
    pub matching: Matching,
    /// What the register knew of its names.
    pub known: Known,
    /// What would happen.
    pub plan: Plan,
    /// What stands between the columns of the file to mend.
    pub delimiter: Delimiter,
}

/// The table of a list that waits.
///
/// # Errors
/// Refuses one that is forgotten.
pub async fn table(db: &mut SqliteConnection, upload: &Upload) -> Result<Table> {
    let kept = store::bring_in::table(db, upload.id)
        .await?
        .ok_or_else(|| Refusal::not_now("This list is not kept any more"))?;
    apart(move || Table::from_kept(&kept))
        .await?
        .map_err(|e| Error::Store(store::Error::Unreadable(e.to_string())))
}

/// How a list was read.
pub fn found(upload: &Upload) -> Found {
    upload
        .found
        .as_deref()
        .and_then(|found| serde_json::from_str(found).ok())
        .unwrap_or_default()
}

/// How its columns were matched; nothing before a person did, or where an older version did.
pub fn matching(upload: &Upload) -> Option<Matching> {
    serde_json::from_str(upload.matching.as_deref()?).ok()
}

/// Works out what would happen to every line of a matched list now.
///
/// # Errors
/// Refuses a list that is not matched or not kept.
pub async fn preview(db: &mut SqliteConnection, upload: &Upload, today: Date) -> Result<Previewed> {
    let matching = matching(upload)
        .ok_or_else(|| Refusal::not_now("Say first what the columns of this list hold"))?;
    let table = Arc::new(table(db, upload).await?);
    let known = known(db, &table, &matching, today).await?;
    let worked = Arc::clone(&table);
    let (matching, known, plan) = apart(move || {
        let plan = Plan::of(&worked, &matching, &known);
        (matching, known, plan)
    })
    .await?;
    Ok(Previewed {
        table,
        matching,
        known,
        plan,
        delimiter: found(upload).delimiter.unwrap_or(Delimiter::Comma),
    })
}

/// What the register knows of the names in a list.
async fn known(
    db: &mut SqliteConnection,
    table: &Table,
    matching: &Matching,
    today: Date,
) -> Result<Known> {
    let areas = store::plant::areas(db).await?;
    let classes = store::plant::service_classes(db).await?;
    let column = matching.column_of(Field::Tag);
    let tags: HashSet<String> = table
        .lines
        .iter()
        .filter_map(|line| Some(tidy(line.cell(column?))))
        .filter(|tag| !tag.is_empty())
        .collect();
    let tags: Vec<&str> = tags.iter().map(String::as_str).collect();
    let mut hanging = HashSet::new();
    for some in tags.chunks(20 * CHUNK) {
        let found = store::gauges::tags_among(db, some).await?;
        hanging.extend(found.iter().map(|tag| folded(tag.as_str())));
    }
    let kits = if matching.column_of(Field::Kit).is_some() {
        store::kits::numbers_and_kinds(db).await?
    } else {
        Vec::new()
    };
    Ok(Known {
        areas: areas
            .into_iter()
            .map(|area| (folded(&area.name), (area.id, area.name)))
            .collect(),
        classes: classes
            .into_iter()
            .map(|class| (folded(&class.name), (class.id, class.name)))
            .collect(),
        kits: kits
            .into_iter()
            .map(|(id, number, kind)| (folded(number.as_str()), (id, kind)))
            .collect(),
        tags: hanging,
        today,
    })
}

/// Writes the gauges, their seals and their audit lines, and makes their areas and classes first
/// needed. Lines are read again some at a time, so that a long list is never held as gauges at once.
async fn take(deed: &mut Deed, file_name: &str, previewed: &Previewed) -> Result<()> {
    let mut checker = Checker::new(&previewed.matching, &previewed.known);
    let mut made = Made::default();
    let good: Vec<&Line> = previewed
        .table
        .lines
        .iter()
        .zip(&previewed.plan.outcomes)
        .filter(|(_, outcome)| **outcome == Outcome::Good)
        .map(|(line, _)| line)
        .collect();
    for lines in good.chunks(CHUNK) {
        let mut some: Vec<Particulars> = Vec::with_capacity(lines.len());
        for line in lines {
            let draft = checker.read(line).map_err(|_| {
                Refusal::not_now(format!("Line {} can no longer be taken in", line.number))
            })?;
            let (area, class) = made.settle(deed, &draft).await?;
            some.push(draft.settled(area, class));
        }
        let ids = store::gauges::add_many(deed.db(), &some).await?;
        let entries = ids
            .iter()
            .zip(lines.iter().zip(&some))
            .map(|(id, (line, gauge))| GaugeEntry {
                gauge: *id,
                subject: gauges::subject(gauge),
                facts: json!({ "reason": format!("line {} of {file_name}", line.number) }),
                has_points: !gauge.rating_points.is_empty(),
            })
            .collect();
        deed.record_many("took into the register", entries).await?;
        for id in ids {
            deed.touch(id);
        }
    }
    Ok(())
}

/// Areas and service classes a list made, by their folded names.
#[derive(Default)]
struct Made {
    areas: HashMap<String, AreaId>,
    classes: HashMap<String, ServiceClassId>,
}

impl Made {
    /// The rows of a gauge's area and class, made where they are new.
    async fn settle(&mut self, deed: &mut Deed, draft: &Draft) -> Result<(AreaId, ServiceClassId)> {
        let area = match &draft.area {
            Named::Known(id) => *id,
            Named::New(name) => match self.areas.get(&folded(name)) {
                Some(id) => *id,
                None => {
                    let id = plant::add_area(deed, name).await?;
                    self.areas.insert(folded(name), id);
                    id
                }
            },
        };
        let class = match &draft.class {
            Named::Known(id) => *id,
            Named::New(name) => match self.classes.get(&folded(name)) {
                Some(id) => *id,
                None => {
                    let id = plant::add_service_class(deed, &without_intervals(name)).await?;
                    self.classes.insert(folded(name), id);
                    id
                }
            },
        };
        Ok((area, class))
    }
}

/// A class as a list names it: its intervals are for a person to set.
fn without_intervals(name: &str) -> ServiceClass {
    ServiceClass {
        id: ServiceClassId(0),
        name: name.to_owned(),
        description: String::new(),
        rebuild_months: None,
        look_over_months: None,
        version: 0,
    }
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
