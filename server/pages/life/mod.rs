//! How long gauges last: the question as it stands in the address, and what all its pages ask with it.
//! A file a page; drawings are in `plot.rs` and `curve.rs`.

pub mod costs;
mod curve;
pub mod gauges;
pub mod intervals;
pub mod list;
pub mod lives;
mod plot;
mod say;
pub mod tables;

use serde::Deserialize;
use sqlx::SqliteConnection;

use super::answer::PageError;
use super::chrome::Chrome;
use super::{address, show};
use crate::acts;
use crate::calc::life::{Confidence, LifeError};
use crate::calc::weibull::AssumedShape;
use crate::record::gauge::Kind;
use crate::record::life::Early;
use crate::record::life_study::Study;
use crate::record::plant::{Area, ServiceClass};
use crate::record::{AreaId, Refusal, ServiceClassId};
use crate::store;
use crate::store::life::Filter;

/// The confidence of bounds until somebody asks for another.
const USUAL_CONFIDENCE: u32 = 90;
/// The shape assumed where failures are too few for one: common practice, no source.
const USUAL_SHAPE: &str = "2";

/// The question as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    class: String,
    area: String,
    kit: String,
    kind: String,
    q: String,
    early: String,
    confidence: String,
    shape: String,
    page: String,
}

impl Asked {
    fn values(&self) -> Vec<(&'static str, String)> {
        vec![
            ("class", self.class.clone()),
            ("area", self.area.clone()),
            ("kit", self.kit.clone()),
            ("kind", self.kind.clone()),
            ("q", self.q.clone()),
            ("early", self.early.clone()),
            ("confidence", self.confidence.clone()),
            ("shape", self.shape.clone()),
        ]
    }

    /// The address of a page with the same question.
    fn to(&self, part: &str) -> String {
        address::life_part(part, &self.values())
    }

    /// The same question with one value changed.
    fn with(&self, part: &str, name: &str, value: &str) -> String {
        let mut values = self.values();
        values.retain(|(known, _)| *known != name);
        let mut values: Vec<(&str, String)> = values;
        values.push((name, value.to_owned()));
        address::life_part(part, &values)
    }

    /// The question but for the assumed shape, for the form that asks for another.
    fn but_shape(&self) -> Vec<(&'static str, String)> {
        let mut values = self.values();
        values.retain(|(name, _)| *name != "shape");
        values
    }

    fn class(&self) -> Option<ServiceClassId> {
        self.class.parse().ok().map(ServiceClassId)
    }

    fn early(&self) -> Early {
        if self.early == "count" {
            Early::Count
        } else {
            Early::LeaveOut
        }
    }

    /// The confidence in percent.
    fn percent(&self) -> u32 {
        self.confidence
            .parse()
            .ok()
            .filter(|percent| (50..=99).contains(percent))
            .unwrap_or(USUAL_CONFIDENCE)
    }

    fn confidence(&self) -> Result<Confidence, PageError> {
        Confidence::new(f64::from(self.percent()) / 100.0)
            .map_err(|error| PageError::Refused(acts::life::refusal(error)))
    }

    /// The shape as it is used, and whether what was typed is none.
    fn shape(&self) -> (AssumedShape, bool) {
        let typed = self.shape.trim().replace(',', ".");
        if typed.is_empty() {
            return (AssumedShape::USUAL, false);
        }
        let read = typed
            .parse()
            .ok()
            .and_then(|shape| AssumedShape::new(shape).ok());
        (read.unwrap_or(AssumedShape::USUAL), read.is_none())
    }

    fn shape_shown(&self) -> &str {
        if self.shape.trim().is_empty() {
            USUAL_SHAPE
        } else {
            self.shape.trim()
        }
    }
}

/// What a question was asked about, for headings and forms.
#[derive(Debug, Clone)]
pub struct About {
    areas: Vec<Area>,
    classes: Vec<ServiceClass>,
    class: Option<ServiceClass>,
    words: String,
}

impl About {
    async fn of(db: &mut SqliteConnection, asked: &Asked) -> Result<(Self, Filter), PageError> {
        let areas = store::plant::areas(db).await?;
        let classes = store::plant::service_classes(db).await?;
        let kit = match asked.kit.trim() {
            "" => None,
            number => Some(
                store::kits::id_of(db, number)
                    .await?
                    .ok_or(PageError::NotFound("kit"))?,
            ),
        };
        let filter = Filter {
            class: asked.class(),
            area: asked.area.parse().ok().map(AreaId),
            kit,
            kind: asked.kind.parse::<Kind>().ok(),
            words: Some(asked.q.trim().to_owned())
                .filter(|words| words.chars().any(char::is_alphanumeric)),
        };
        let class = classes
            .iter()
            .find(|one| Some(one.id) == filter.class)
            .cloned();
        let mut words: Vec<String> = Vec::new();
        words.extend(class.as_ref().map(|class| show::sentence(&class.name)));
        let area = areas.iter().find(|one| Some(one.id) == filter.area);
        words.extend(area.map(|area| area.name.clone()));
        words.extend(kit.map(|_| format!("kit {}", asked.kit.trim())));
        words.extend(filter.kind.map(|kind| kind.to_string()));
        words.extend(
            filter
                .words
                .as_ref()
                .map(|words| format!("\u{201c}{words}\u{201d}")),
        );
        let words = if words.is_empty() {
            "All gauges".to_owned()
        } else {
            words.join(", ")
        };
        let about = Self {
            areas,
            classes,
            class,
            words,
        };
        Ok((about, filter))
    }
}

/// The lives of a question with what they tell, worked out off the threads that answer requests.
struct Studied {
    lives: acts::life::Asked,
    study: Study,
}

async fn studied(
    db: &mut SqliteConnection,
    chrome: &Chrome,
    asked: &Asked,
    filter: &Filter,
) -> Result<Studied, PageError> {
    let lives = acts::life::ask(db, filter, chrome.zone(), (chrome.today, asked.early())).await?;
    let (confidence, shape) = (asked.confidence()?, asked.shape().0);
    let worked = tokio::task::spawn_blocking(move || {
        Study::of(&lives.lives, confidence, shape).map(|study| Studied { lives, study })
    });
    worked
        .await
        .map_err(|error| PageError::Paper(error.to_string()))?
        .map_err(|error| cannot(&error))
}

fn cannot(error: &LifeError) -> PageError {
    PageError::Refused(Refusal::not_now(error.to_string()))
}
