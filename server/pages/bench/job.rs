//! What every page of the bench sheet needs: the gauge, its open rebuild and how far it has come.
//! Nothing is shown or changed here.

use sqlx::SqliteConnection;

use crate::acts::rebuilds::Seen;
use crate::calc::wall::WearRate;
use crate::pages::answer::PageError;
use crate::pages::{App, show};
use crate::record::Refusal;
use crate::record::course::Course;
use crate::record::face::FaceOf;
use crate::record::gauge::Gauge;
use crate::record::rebuild::Rebuild;
use crate::record::wear::{Place, Wear};
use crate::store;
use crate::store::bench::KitLine;
use crate::store::hand_overs::HandOver;
use crate::store::photos::Photo;
use crate::store::rebuilds::TestLine;

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
    /// What was issued to it and given back, in order.
    pub kits: Vec<KitLine>,
    /// Its pressure tests, in order.
    pub tests: Vec<TestLine>,
    /// What was photographed.
    pub photos: Vec<Photo>,
    /// Who handed it to whom.
    pub hand_overs: Vec<HandOver>,
    /// How its measured walls wear.
    pub worn: Vec<Wear>,
}

impl Job {
    /// The test made since it last went on test, if there is one.
    pub fn test_since(&self) -> Option<&TestLine> {
        let since = self.course.test_since()?;
        self.tests.iter().find(|one| one.number == since.number)
    }

    /// The rates at which the other walls of the gauge were seen to wear.
    pub fn rates_beside(&self, section: u8, face: FaceOf) -> Vec<WearRate> {
        let place = Place { section, face };
        let own = self.worn.iter().filter(|one| one.carried.is_none());
        let others = own.filter(|one| one.wall.place != place);
        others.filter_map(|one| one.life.governing).collect()
    }

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
        kits: store::bench::kit_lines(db, rebuild.id).await?,
        tests: store::rebuilds::tests(db, rebuild.id).await?,
        photos: store::photos::of_rebuild(db, rebuild.id).await?,
        hand_overs: store::hand_overs::of_rebuild(db, rebuild.id).await?,
        worn: store::wear::of_gauges(db, &[gauge.id])
            .await?
            .remove(&gauge.id)
            .unwrap_or_default(),
        gauge: gauge.clone(),
        rebuild,
        course,
    };
    Ok((gauge, Some(job)))
}

/// The open rebuild a form was posted for. `of` is the number of the one it was opened for: a form that
/// waited somewhere may come when that is finished and the next one open. A form of an older page is silent.
///
/// # Errors
/// That no rebuild of the gauge is open any more, or not that one.
pub async fn posted(app: &App, tag: &str, of: &str) -> Result<Job, PageError> {
    let ordinal: Option<i64> = of.parse().ok();
    if ordinal.is_none() && !of.is_empty() {
        let words = "the rebuild a form is of is no number";
        return Err(PageError::BadForm(words.to_owned()));
    }
    let mut db = app.store().read().await?;
    let (gauge, open) = find(&mut db, tag).await?;
    let tag = &gauge.particulars.tag;
    let words = match (open, ordinal) {
        (Some(job), of) if of.is_none_or(|of| of == job.rebuild.ordinal) => {
            return Ok(job);
        }
        (open, Some(of)) => {
            let meant = store::rebuilds::by_ordinal(&mut db, gauge.id, of)
                .await?
                .ok_or(PageError::NotFound("rebuild"))?;
            let on = meant
                .ended_on
                .map_or_else(String::new, |day| format!(" on {}", show::date(&day)));
            let now = open.map_or_else(String::new, |job| {
                let next = job.rebuild;
                format!(
                    "; rebuild {} is {} and was left as it is",
                    next.ordinal, next.state
                )
            });
            format!(
                "This was entered for rebuild {of} of {tag}, which was {}{on}, and nothing is added to a finished one{now}",
                meant.state
            )
        }
        (_, None) => format!("No rebuild of {tag} is open; a finished one is not changed"),
    };
    Err(PageError::Refused(Refusal::not_now(words)))
}
