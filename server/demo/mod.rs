//! The invented plant, made through the same deeds people do, so that it is legal by construction.
//! The same day and number of gauges give the same plant; nothing here is advice.

mod bench;
mod deferred;
mod dice;
mod fleet;
mod instruments;
mod past;
pub mod plant;
mod proofs;
mod storeroom;
mod timeline;

use std::path::Path;

use time::Duration;

use crate::acts::{Deed, Error, Result, Who};
use crate::record::Refusal;
use crate::record::moment::Clock;
use crate::store::{self, Store};
use fleet::Member;
use timeline::Density;

/// Above this many gauges the history is thin: such a fleet is made to measure speed with.
const WHOLE_HISTORY: u32 = 2_000;
/// Gauges a transaction takes in while a large fleet is made.
const AT_A_TIME: usize = 5_000;
/// How long before its making the plant's last deed was done, so that none lies in the future.
const LEFT_ALONE: Duration = Duration::minutes(30);

/// How large the invented plant is.
#[derive(Debug, Clone, Copy)]
pub struct Size {
    /// Gauges.
    pub gauges: u32,
    /// Kits.
    pub kits: u32,
    /// Lines of the ledger beside those of its history.
    pub stock_lines: u32,
}

/// Makes the invented plant in this folder, unless a register is there already.
///
/// # Errors
/// Refuses a folder that holds a real plant's register; or the store's failure.
pub async fn make(folder: &Path, clock: &Clock, size: Size) -> Result<bool> {
    let wanted = folder.join("register.db");
    if wanted.is_file() {
        // One of an earlier version is brought up to date when it is served.
        let mut db = store::open_as_it_is(folder).await?;
        return if store::plant::is_demo(&mut db).await? == Some(true) {
            Ok(false)
        } else {
            Err(Refusal::not_now(format!(
                "{} holds a plant's register that is not the demo; choose another folder with --data",
                folder.display()
            ))
            .into())
        };
    }
    // Made aside and moved when whole: a demo that was cut off is never taken for a plant.
    let aside = folder.join("making");
    let cannot = |what: &'static str, path: &Path| {
        let path = path.display().to_string();
        move |cause| Error::Store(store::Error::Folder { what, path, cause })
    };
    if aside.exists() {
        std::fs::remove_dir_all(&aside).map_err(cannot("cannot clear", &aside))?;
    }
    std::fs::create_dir_all(&aside).map_err(cannot("cannot make the folder", &aside))?;
    let store = Store::open(&aside).await?;
    fill(&store, clock, size).await?;
    store.close().await;
    // The key first: a register without its key would make another.
    let key = aside.join(crate::acts::keys::FILE);
    if key.is_file() {
        std::fs::rename(key, folder.join(crate::acts::keys::FILE))
            .map_err(cannot("cannot move into", folder))?;
    }
    std::fs::rename(aside.join("register.db"), &wanted)
        .map_err(cannot("cannot move into", folder))?;
    std::fs::remove_dir_all(&aside).map_err(cannot("cannot clear", &aside))?;
    Ok(true)
}

async fn fill(store: &Store, clock: &Clock, size: Size) -> Result<()> {
    let gauges = size.gauges;
    let density = if gauges > WHOLE_HISTORY {
        Density::Thin
    } else {
        Density::Whole
    };
    // One moment and its day for all of it: shortly after midnight they are yesterday's.
    let now = clock.now().plus(-LEFT_ALONE);
    let begins = now.plus(-Duration::days(timeline::YEARS_OF_HISTORY));
    let standing = Clock::standing(begins);

    let mut deed = Deed::begin(store, &standing, Who::program(), None).await?;
    let (people, ground) = past::ground(&mut deed, size.kits).await?;
    deed.commit("").await?;

    let today = now.at().date();
    let members = (0..gauges)
        .map(|number| fleet::member(number, gauges, today, &ground))
        .collect::<std::result::Result<Vec<Member>, String>>()
        .map_err(Refusal::NotNow)?;
    let mut rows = Vec::with_capacity(members.len());
    for some in members.chunks(AT_A_TIME) {
        let mut deed = Deed::begin(store, &standing, people.engineer.clone(), None).await?;
        for member in some {
            rows.push(crate::acts::gauges::register(&mut deed, &member.particulars).await?);
        }
        deed.commit("").await?;
    }
    let past = past::Past {
        people,
        ground,
        members,
        rows,
        density,
    };
    past.carry_out(store, &standing, now).await?;
    storeroom::long_ledger(store, &standing, &past, size.stock_lines).await?;
    crate::acts::refresh_many::bring_up_to_date(store, clock.now().at().date()).await
}
