//! What every page of the bench sheet needs: the gauge, its open rebuild and how far it has come.
//! Nothing is shown or changed here.

use sqlx::SqliteConnection;

use crate::acts;
use crate::acts::rebuilds::Seen;
use crate::pages::App;
use crate::pages::answer::PageError;
use crate::pages::chrome::Chrome;
use crate::record::Refusal;
use crate::record::course::Course;
use crate::record::gauge::Gauge;
use crate::record::rebuild::Rebuild;
use crate::store;
use crate::store::hand_overs::HandOver;
use crate::store::photos::Photo;

/// A gauge with its open rebuild.
#[derive(Debug, Clone)]
pub struct Job {
    /// The gauge.
    pub gauge: Gauge,
    /// Its open rebuild.
    pub rebuild: Rebuild,
    /// How far that has come.
    pub course: Course,
    /// Days within which the practice asks for the bolting to be tightened again after the return.
    pub re_torque_days: Option<u16>,
    /// What was photographed.
    pub photos: Vec<Photo>,
    /// Who handed it to whom.
    pub hand_overs: Vec<HandOver>,
}

impl Job {
    /// The rebuild as this page saw it.
    pub fn seen(&self, version: i64) -> Seen {
        Seen {
            id: self.rebuild.id,
            version,
        }
    }
}

/// The gauge of a tag number and its open rebuild, if it has one.
///
/// # Errors
/// There is no such gauge, or the store's failure.
pub async fn find(db: &mut SqliteConnection, tag: &str) -> Result<(Gauge, Option<Job>), PageError> {
    let gauge = store::gauges::by_tag(db, tag)
        .await?
        .ok_or(PageError::NotFound("gauge"))?;
    let Some(rebuild) = store::rebuilds::open_of(db, gauge.id).await? else {
        return Ok((gauge, None));
    };
    let course = store::bench::course(db, rebuild.id)
        .await?
        .ok_or(PageError::NotFound("rebuild"))?;
    let class = store::plant::service_class(db, gauge.particulars.service_class_id).await?;
    let job = Job {
        re_torque_days: class.and_then(|class| class.re_torque_days),
        photos: store::photos::of_rebuild(db, rebuild.id).await?,
        hand_overs: store::hand_overs::of_rebuild(db, rebuild.id).await?,
        gauge: gauge.clone(),
        rebuild,
        course,
    };
    Ok((gauge, Some(job)))
}

/// The open rebuild a form was posted for.
///
/// # Errors
/// Where the same form led before; or that no rebuild of the gauge is open any more.
pub async fn posted(app: &App, chrome: &Chrome, tag: &str, key: &str) -> Result<Job, PageError> {
    let found = {
        let mut db = app.store().read().await?;
        find(&mut db, tag).await?
    };
    match found {
        (_, Some(job)) => Ok(job),
        (gauge, None) => {
            // The same press may have ended it: then the deed knows where it led.
            match chrome.deed(key).await {
                Err(error @ acts::Error::DoneBefore(_)) => Err(error.into()),
                _ => Err(PageError::Refused(Refusal::not_now(format!(
                    "No rebuild of {} is open; a finished one is not changed",
                    gauge.particulars.tag
                )))),
            }
        }
    }
}
