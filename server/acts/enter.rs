//! Entering a sheet that was filled in by pen: everything on it in one deed, by the same rules as on
//! the screen, with who did the work and when beside who entered it. Nothing of it is half-written.

use super::bench::{Issue, Recorded, Worked, issue_kits_on, record_afterwards};
use super::pressure_tests::{self, Done};
use super::rebuilds::{self, Returning, Seen, Taking, loaded};
use super::{Deed, Error, Result};
use crate::record::rebuild::RebuildState;
use crate::record::{RebuildId, Refusal};
use crate::store;

/// What one part of the sheet says.
#[derive(Debug, Clone)]
pub enum Written {
    /// A step of the bench.
    Entry(Box<Recorded>),
    /// Kits that were taken.
    Kits(Issue),
    /// The pressure test.
    Test(Box<Done>),
    /// The return.
    Return(Returning),
}

/// One part of the sheet with who did it and when.
#[derive(Debug, Clone)]
pub struct Line {
    /// Who and when.
    pub worked: Worked,
    /// What it says.
    pub written: Written,
}

/// Where entering stopped: at this line, or before any.
#[derive(Debug)]
pub struct Stopped {
    /// The line.
    pub at: Option<usize>,
    /// Why.
    pub error: Error,
}

impl From<Error> for Stopped {
    fn from(error: Error) -> Self {
        Self { at: None, error }
    }
}

/// Enters the lines of a sheet in their order. `last_seen` is the last entry the page showed; `told` is what
/// is said of a gauge that came to the bench outside of its windows.
///
/// # Errors
/// Refuses what any step would refuse, and names the line; a moment to come or before the line before
/// it; and a sheet on which somebody recorded since the page was opened.
pub async fn enter(
    deed: &mut Deed,
    rebuild: RebuildId,
    last_seen: i64,
    (told, lines): (&Taking, &[Line]),
) -> std::result::Result<(), Stopped> {
    let Some(first) = lines.first() else {
        return Err(Error::from(Refusal::not_now("Nothing was written yet")).into());
    };
    let (open, _, course) = loaded(deed, rebuild).await?;
    if course.last_entry() > last_seen {
        let words = "Somebody recorded on this sheet since you opened this page; look which parts are still asked for";
        return Err(Error::from(Refusal::not_now(words)).into());
    }
    if matches!(open.state, RebuildState::Planned | RebuildState::Ready) {
        let seen = latest(deed, rebuild).await?;
        rebuilds::start_at(deed, seen, first.worked.at, told).await?;
    }
    let mut before = first.worked.at;
    for (at, line) in lines.iter().enumerate() {
        let stopped = |error| Stopped {
            at: Some(at),
            error,
        };
        known(deed, line, before).await.map_err(stopped)?;
        before = line.worked.at;
        write(deed, rebuild, line).await.map_err(stopped)?;
    }
    Ok(())
}

/// Refuses a moment that cannot be, and somebody the register does not know.
async fn known(deed: &mut Deed, line: &Line, before: crate::record::Moment) -> Result<()> {
    if line.worked.at > deed.now() {
        return Err(Refusal::field("when", "This is still to come").into());
    }
    if line.worked.at < before {
        let words = "This lies before the part of the sheet that comes first";
        return Err(Refusal::field("when", words).into());
    }
    match store::people::by_id(deed.db(), line.worked.by).await? {
        Some(_) => Ok(()),
        None => Err(Refusal::field("who", "Choose who did it").into()),
    }
}

async fn write(deed: &mut Deed, rebuild: RebuildId, line: &Line) -> Result<()> {
    match &line.written {
        Written::Entry(new) => record_afterwards(deed, rebuild, new, line.worked)
            .await
            .map(|_| ()),
        Written::Kits(issue) => {
            let day = deed.zone().date(line.worked.at);
            issue_kits_on(deed, rebuild, issue, day).await
        }
        Written::Test(done) => {
            let (open, _, _) = loaded(deed, rebuild).await?;
            if open.state == RebuildState::AtTheBench {
                let seen = latest(deed, rebuild).await?;
                rebuilds::send_to_test(deed, seen).await?;
            }
            let done = Done {
                worked: Some(line.worked),
                ..(**done).clone()
            };
            pressure_tests::record(deed, &done).await.map(|_| ())
        }
        Written::Return(back) => {
            let seen = latest(deed, rebuild).await?;
            let back = Returning {
                done: Some(line.worked),
                ..back.clone()
            };
            rebuilds::return_to_service(deed, seen, &back).await
        }
    }
}

/// The rebuild as it stands within this deed.
async fn latest(deed: &mut Deed, id: RebuildId) -> Result<Seen> {
    let (rebuild, _, _) = loaded(deed, id).await?;
    Ok(Seen {
        id,
        version: rebuild.version,
    })
}
