//! The gauges of a set that failed, the least explained by luck first, with whether their failures come
//! faster. How lives are counted stands on the page of the lives.

use askama::Template;
use axum::extract::{Query, State};

use super::{About, Asked, say};
use crate::acts;
use crate::acts::life::MOST_GAUGES;
use crate::calc::trend::FEWEST_FOR_TREND;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address};
use crate::record::gauge::Kind;
use crate::record::life_actors::{Actor, Actors};

/// Gauges on the page; the file holds them all.
const SHOWN: usize = 50;
/// A chance below this, shared among all gauges watched, is no luck.
const CLEAR: f64 = 0.05;

#[derive(Template)]
#[template(path = "life/gauges.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    about: About,
    found: Actors,
    cut: bool,
}

/// The gauges of a question.
pub(super) async fn ask(
    app: &App,
    chrome: &Chrome,
    asked: &Asked,
) -> Result<(About, Actors, bool), PageError> {
    let mut db = app.store().read().await?;
    let (about, filter) = About::of(&mut db, asked).await?;
    let lives = acts::life::ask(
        &mut db,
        &filter,
        chrome.zone(),
        (chrome.today, asked.early()),
    )
    .await?;
    let found = Actors::of(
        &lives.gauges,
        &lives.lives,
        asked.confidence()?,
        chrome.today,
    )
    .map_err(|error| PageError::Refused(acts::life::refusal(error)))?;
    Ok((about, found, lives.cut))
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let (about, found, cut) = ask(&app, &chrome, &asked).await?;
    answer::page(&Page {
        chrome,
        asked,
        about,
        found,
        cut,
    })
}

impl Page {
    /// Whether even among so many gauges luck does not explain it.
    fn clear(&self, actor: &Actor) -> bool {
        let gauges = u32::try_from(self.found.gauges).unwrap_or(u32::MAX);
        actor.excess.chance * f64::from(gauges) < CLEAR
    }

    /// Each class of the set with its failures, its years and the rate they make.
    fn rates(&self) -> Vec<(&str, u32, f64, f64)> {
        let classes = self.found.classes.iter();
        classes
            .map(|(name, failures, years)| {
                (
                    name.as_str(),
                    *failures,
                    *years,
                    f64::from(*failures) / years,
                )
            })
            .collect()
    }

    fn says(&self) -> String {
        let clear: Vec<&Actor> = self
            .found
            .actors
            .iter()
            .filter(|actor| self.clear(actor))
            .collect();
        match clear.as_slice() {
            [] if self.found.actors.is_empty() => format!("{}: no failure yet", self.about.words),
            [] => format!(
                "{}: no gauge fails more often than luck explains",
                self.about.words
            ),
            [one] => format!(
                "{} fails more often than luck explains: {} where {} were to be expected",
                one.tag,
                say::count(one.failures, "failure", "failures"),
                say::figure(one.expected, 2)
            ),
            many => format!(
                "{} gauges fail more often than luck explains, {} most of all",
                many.len(),
                many[0].tag
            ),
        }
    }
}
