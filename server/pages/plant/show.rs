//! The plant at a glance: what its procedures chose, its areas, its service classes.
//! Each is changed on a page of its own.

use askama::Template;
use axum::extract::State;

use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::certificate::Choice;
use crate::record::plant::{Area, ServiceClass};
use crate::record::test_plan::TestPlan;
use crate::store;
use crate::store::test_plans::Of;

#[derive(Template)]
#[template(path = "plant/show.html")]
struct Page {
    chrome: Chrome,
    areas: Vec<Area>,
    classes: Vec<ServiceClass>,
    /// What was chosen for pressure tests, with the ground of each choice; nothing where nobody chose.
    chosen: Option<Vec<Choice>>,
}

impl Page {
    fn gauges_of_area(area: &Area) -> String {
        address::with_query(address::GAUGES, &[("area", area.id.0.to_string())])
    }

    fn gauges_of_class(class: &ServiceClass) -> String {
        address::with_query(address::GAUGES, &[("class", class.id.0.to_string())])
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    let mut db = app.store().read().await?;
    let areas = store::plant::areas(&mut db).await?;
    let classes = store::plant::service_classes(&mut db).await?;
    let rule = store::test_plans::rule(&mut db, Of::default()).await?;
    let chosen = rule.map(|(_, rule)| TestPlan::of(&chrome.plant, &rule, None, None).choices());
    answer::page(&Page {
        chrome,
        areas,
        classes,
        chosen,
    })
}
