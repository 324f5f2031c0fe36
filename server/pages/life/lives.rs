//! The lives of a set of gauges and what they tell: the plot of failures, the curve without a law, the
//! cheapest rebuild age at the plant's own costs, and every life with how it was counted.

use askama::Template;
use axum::extract::{Query, State};

use super::curve::Survival;
use super::plot::Plot;
use super::{About, Asked, Studied, cannot, say, studied};
use crate::acts;
use crate::acts::life::MOST_GAUGES;
use crate::calc::rebuild_age::{Advice, RebuildAge, best_rebuild_age};
use crate::calc::working::Working;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::gauge::Kind;
use crate::record::life::{Life, RULES};
use crate::record::life_study::{Curve, Drawn, Figure, Study};
use crate::record::person::Role;
use crate::store;
use crate::store::life::StatedCost;

/// Lives on a page.
const PAGE: usize = 50;
/// Rows of a table of figures; the rest is in the file.
const SHOWN: usize = 60;

#[derive(Template)]
#[template(path = "life/lives.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    about: About,
    studied: Studied,
    plot: Option<Plot>,
    survival: Option<Survival>,
    rows: Vec<Life>,
    /// The page of the list of lives, and how many there are.
    at: (usize, usize),
    cost: Option<StatedCost>,
    advised: Option<RebuildAge>,
    currency: String,
}

/// The lives as they are listed: failures first, by age.
pub(super) fn sorted(lives: &[Life]) -> Vec<Life> {
    let mut sorted = lives.to_vec();
    sorted.sort_by(|a, b| {
        b.how
            .failed()
            .cmp(&a.how.failed())
            .then_with(|| a.age().total_cmp(&b.age()))
            .then_with(|| a.tag.cmp(&b.tag))
    });
    sorted
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let (about, filter) = About::of(&mut db, &asked).await?;
    let cost = match &about.class {
        Some(class) => store::life::costs(&mut db, class.id, 1).await?.pop(),
        None => None,
    };
    let currency = store::needs::rules(&mut db).await?.currency;
    let studied = studied(&mut db, &chrome, &asked, &filter).await?;
    let advised = match (&cost, studied.study.curve()) {
        (Some(cost), Some(curve)) => Some(advised(curve, cost)?),
        _ => None,
    };
    let pages = studied.lives.lives.lives.len().div_ceil(PAGE).max(1);
    let at = asked.page.parse().unwrap_or(1).clamp(1, pages);
    let rows = sorted(&studied.lives.lives.lives)
        .into_iter()
        .skip((at - 1) * PAGE)
        .take(PAGE)
        .collect();
    answer::page(&Page {
        plot: studied
            .study
            .curve()
            .map(|curve| Plot::of(curve, &studied.study.points)),
        survival: studied
            .study
            .survival
            .as_ref()
            .map(|found| Survival::of(found, studied.study.curve().map(|curve| curve.fit.life))),
        chrome,
        asked,
        about,
        studied,
        rows,
        at: (at, pages),
        cost,
        advised,
        currency,
    })
}

fn advised(curve: &Curve, cost: &StatedCost) -> Result<RebuildAge, PageError> {
    let lower = curve
        .figures
        .iter()
        .find(|figure| figure.symbol == "β")
        .and_then(|figure| figure.bounded.lower);
    // A shape whose range has no lower end shows no wear.
    best_rebuild_age(
        curve.fit.life,
        acts::life::costs(cost),
        Some(lower.unwrap_or(0.0)),
    )
    .map_err(|error| cannot(&error.into()))
}

impl Page {
    fn study(&self) -> &Study {
        &self.studied.study
    }

    fn says(&self) -> String {
        let words = &self.about.words;
        match &self.study().drawn {
            Drawn::Curve(curve) => {
                let b10 = curve
                    .figures
                    .iter()
                    .find(|figure| figure.symbol == "B10")
                    .map_or_else(String::new, |figure| say::months(figure.bounded.value));
                format!("{words}: one in ten has failed by {b10}")
            }
            Drawn::Bound { .. } => format!("{words}: too few failures for a curve"),
            Drawn::Nothing => format!("{words}: no life was watched yet"),
        }
    }

    fn counted(&self) -> String {
        let lives = show::many(&self.studied.lives.lives.lives, "life", "lives");
        format!(
            "{} of {lives} ended in a failure; {} gauge years were watched.",
            self.study().failures,
            say::figure(self.study().watched / 365.25, 3)
        )
    }

    /// What the costs and the life advise, in one sentence.
    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn advice(&self, advised: &RebuildAge) -> String {
        match advised.advice {
            Advice::Rebuild(best) => format!(
                "Cheapest at an age of about {}; {} costs at most 5 % more. It saves {} against waiting for the failure.",
                say::months(best.age),
                best.to.map_or_else(
                    || format!("any age from {}", say::months(best.from)),
                    |to| format!("{} to {}", say::months(best.from), say::months(to))
                ),
                say::percent(best.saving)
            ),
            Advice::SavesTooLittle(best) => format!(
                "No ground for rebuilding by age: the cheapest age, {}, saves only {} against waiting for the failure.",
                say::months(best.age),
                say::percent(best.saving)
            ),
            Advice::NeverByAge => "None exists: failures do not come faster with age (β is not above 1), so a rebuild prevents none.".to_owned(),
            Advice::NeverAtTheseCosts => "None exists at these costs: a failure costs too little more than a planned rebuild.".to_owned(),
        }
    }

    /// Money in the storeroom's currency, where it has one.
    fn amount(&self, value: impl ToString) -> String {
        format!("{} {}", value.to_string(), self.currency)
            .trim_end()
            .to_owned()
    }

    /// Money a gauge and year, where only failures are rebuilt.
    fn money(&self, advised: &RebuildAge) -> String {
        let a_year = advised.cost_rate_at_failure_only * 365.25;
        self.amount(say::figure(a_year, 4))
    }

    /// The bounds of every figure as one working.
    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn bounds(&self, curve: &Curve) -> Working {
        let mut all = Working::new("Bounds of the fitted life");
        for figure in &curve.figures {
            all.steps.extend(figure.bounded.working.steps.clone());
            all.remarks.clone_from(&figure.bounded.working.remarks);
        }
        all
    }

    /// A value and its bounds, each in its own unit and, for an age, in months.
    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn three(&self, figure: &Figure) -> Vec<(String, String)> {
        let found = &figure.bounded;
        [Some(found.value), found.lower, found.upper]
            .into_iter()
            .map(|value| match value {
                None => ("none".to_owned(), String::new()),
                Some(age) if figure.age => (say::days(age), say::months(age)),
                Some(value) => (say::aligned(value, 3), String::new()),
            })
            .collect()
    }

    fn page(&self, at: usize) -> String {
        self.asked.with("lives", "page", &at.to_string())
    }
}
