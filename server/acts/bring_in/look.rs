//! Looking at a list on its way in, without changing anything: whether it still waits, how it was
//! read and matched, and what would happen to each of its lines now.

use std::collections::HashSet;
use std::sync::Arc;

use sqlx::SqliteConnection;
use time::Date;

use super::{CHUNK, KEPT, apart};
use crate::acts::{Error, Result};
use crate::record::audit::sha256_hex;
use crate::record::plant_list::field::Field;
use crate::record::plant_list::matching::{Column, Questions};
use crate::record::plant_list::table::{Delimiter, Found};
use crate::record::plant_list::{Known, Matching, Plan, Table, folded, tidy};
use crate::record::{Moment, Refusal};
use crate::store;
use crate::store::bring_in::Upload;

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
    let table = Arc::new(table(db, upload).await?);
    preview_of(db, upload, table, today).await
}

/// The same of a table that was read already.
pub(super) async fn preview_of(
    db: &mut SqliteConnection,
    upload: &Upload,
    table: Arc<Table>,
    today: Date,
) -> Result<Previewed> {
    let matching = matching(upload)
        .ok_or_else(|| Refusal::not_now("Say first what the columns of this list hold"))?;
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
