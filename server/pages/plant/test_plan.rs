//! How pressure tests are planned and judged: for the plant, a service class or a gauge, each choice
//! with the ground that is printed beside it. Nothing is chosen by itself; what is usual is proposed.

use askama::Template;
use axum::extract::{Query, State};
use rust_decimal::Decimal;
use serde::Deserialize;
use sqlx::SqliteConnection;

use crate::acts;
use crate::calc::pressure_test::Code;
use crate::calc::quantity::{PressureUnit, Unit};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::certificate::Choice;
use crate::record::person::Reads;
use crate::record::plant::Paper;
use crate::record::test_plan::{GuardBand, Rule, TestPlan};
use crate::store;
use crate::store::columns::{from_word, word};
use crate::store::test_plans::Of;

/// Whose plan, as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    class: String,
    gauge: String,
}

/// What is typed, all of it text.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    code: String,
    factor: String,
    hold_minutes: String,
    ratio: String,
    limit: String,
    limit_unit: String,
    drop: String,
    drop_unit: String,
    guard: String,
    thermometer: String,
    paper: String,
    ground: String,
    version: i64,
}

type Options = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "plant/test_plan.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    /// Whose plan, in words.
    named: String,
    /// What counts today, with the ground of each.
    choices: Vec<Choice>,
    typed: Typed,
    errors: Errors,
}

impl Page {
    fn whole_plant(&self) -> bool {
        self.asked.class.is_empty() && self.asked.gauge.is_empty()
    }

    fn codes(&self) -> Options {
        let none = if self.whole_plant() {
            "as in the plant\u{2019}s settings"
        } else {
            "as chosen further up"
        };
        let mut list = vec![(String::new(), none.to_owned())];
        list.extend(
            Code::ALL
                .iter()
                .map(|code| (word(code), code.name().to_owned())),
        );
        list
    }

    fn guards() -> Options {
        let mut list = vec![(String::new(), "not chosen".to_owned())];
        list.extend(
            GuardBand::ALL
                .iter()
                .map(|g| (g.word().to_owned(), g.shown().to_owned())),
        );
        list
    }

    fn papers() -> Options {
        Paper::ALL
            .iter()
            .map(|p| (p.word().to_owned(), p.shown().to_owned()))
            .collect()
    }

    fn pressures() -> Options {
        PressureUnit::ALL
            .iter()
            .map(|u| (u.ucum().to_owned(), u.symbol().to_owned()))
            .collect()
    }
}

impl Typed {
    fn of(rule: &Rule, reads: Reads) -> Self {
        let number = |value: Option<Decimal>| value.map_or_else(String::new, |v| v.to_string());
        let unit = reads.unit(PressureUnit::Psi).ucum().to_owned();
        Self {
            code: rule.code.as_ref().map_or_else(String::new, word),
            factor: number(rule.factor),
            hold_minutes: rule
                .hold_minutes
                .map_or_else(String::new, |m| m.to_string()),
            ratio: number(rule.stress_ratio),
            limit: number(rule.limit.map(|p| p.value)),
            limit_unit: rule
                .limit
                .map_or(unit.clone(), |p| p.unit.ucum().to_owned()),
            drop: number(rule.allowed_drop.map(|p| p.value)),
            drop_unit: rule.allowed_drop.map_or(unit, |p| p.unit.ucum().to_owned()),
            guard: rule.guard.map_or_else(String::new, |g| g.word().to_owned()),
            thermometer: number(rule.thermometer),
            paper: rule.paper.unwrap_or(Paper::A4).word().to_owned(),
            ground: rule.ground.clone(),
            version: rule.version,
        }
    }

    fn rule(&self, whole_plant: bool) -> Result<Rule, Errors> {
        let mut read = Reader::new();
        let optional = |text: &str| !text.trim().is_empty();
        let number = |read: &mut Reader, field: &'static str, text: &str| {
            if optional(text) {
                read.decimal(field, text).filter(|v| {
                    let positive = *v > Decimal::ZERO;
                    if !positive {
                        read.refuse(field, "Write a number above zero");
                    }
                    positive
                })
            } else {
                None
            }
        };
        let rule = Rule {
            code: if optional(&self.code) {
                read.take(
                    "code",
                    from_word::<Code>(&self.code).ok_or("Choose the code of reference"),
                )
            } else {
                None
            },
            factor: number(&mut read, "factor", &self.factor),
            hold_minutes: read.whole("hold_minutes", &self.hold_minutes, 5..=1440),
            stress_ratio: number(&mut read, "ratio", &self.ratio),
            limit: read.stamped("limit", &self.limit, &self.limit_unit),
            allowed_drop: read.stamped("drop", &self.drop, &self.drop_unit),
            guard: if optional(&self.guard) {
                read.parse("guard", &self.guard)
            } else {
                None
            },
            thermometer: number(&mut read, "thermometer", &self.thermometer),
            paper: if whole_plant {
                read.parse("paper", &self.paper)
            } else {
                None
            },
            ground: read.text("ground", &self.ground, 400),
            version: self.version,
        };
        read.finish(Some(rule))
    }
}

/// Whose plan an address names.
async fn whose(db: &mut SqliteConnection, asked: &Asked) -> Result<(Of, String), PageError> {
    if !asked.gauge.is_empty() {
        let id = store::gauges::id_of(db, &asked.gauge)
            .await?
            .ok_or(PageError::NotFound("gauge"))?;
        let of = Of {
            class: None,
            gauge: Some(id),
        };
        return Ok((of, format!("gauge {}", asked.gauge)));
    }
    if !asked.class.is_empty() {
        let class = store::plant::service_class_named(db, &asked.class)
            .await?
            .ok_or(PageError::NotFound("service class"))?;
        let of = Of {
            class: Some(class.id),
            gauge: None,
        };
        return Ok((of, format!("service class {}", class.name)));
    }
    Ok((Of::default(), "the plant".to_owned()))
}

async fn page(
    app: &App,
    chrome: Chrome,
    asked: Asked,
    typed: Option<(Typed, Errors)>,
) -> Result<Page, PageError> {
    let mut db = app.store().read().await?;
    let (of, named) = whose(&mut db, &asked).await?;
    let own = store::test_plans::rule(&mut db, Of::default()).await?;
    let own = own.map(|(_, rule)| rule).unwrap_or_default();
    let here = store::test_plans::rule(&mut db, of)
        .await?
        .map(|(_, rule)| rule);
    let plan = match of {
        Of {
            gauge: Some(gauge), ..
        } => match store::gauges::by_id(&mut db, gauge).await? {
            Some(gauge) => store::test_plans::plan(&mut db, &chrome.plant, &gauge).await?,
            None => TestPlan::of(&chrome.plant, &own, None, None),
        },
        Of { class: Some(_), .. } => TestPlan::of(&chrome.plant, &own, here.as_ref(), None),
        _ => TestPlan::of(&chrome.plant, &own, None, None),
    };
    let (typed, errors) = typed.unwrap_or_else(|| {
        let here = here.unwrap_or_default();
        (Typed::of(&here, chrome.reads()), Errors::none())
    });
    Ok(Page {
        chrome,
        asked,
        named,
        choices: plan.choices(),
        typed,
        errors,
    })
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    answer::page(&page(&app, chrome, asked, None).await?)
}

/// Keeps what was chosen.
pub async fn choose(
    State(app): State<App>,
    chrome: Chrome,
    Query(asked): Query<Asked>,
    posted: Posted<Typed>,
) -> Answer {
    let (of, named) = {
        let mut db = app.store().read().await?;
        whose(&mut db, &asked).await?
    };
    let to = address::with_query(
        address::TEST_PLAN,
        &[
            ("class", asked.class.clone()),
            ("gauge", asked.gauge.clone()),
        ],
    );
    let errors = match posted.form.rule(of == Of::default()) {
        Ok(rule) => {
            let done = async {
                let mut deed = chrome.deed(&posted.key).await?;
                acts::test_plans::choose(&mut deed, of, &named, &rule).await?;
                deed.commit(&to).await
            };
            match done.await {
                Ok(()) => return Ok(see_other(&to)),
                Err(error) => form::refused(error)?,
            }
        }
        Err(errors) => errors,
    };
    answer::refused(&page(&app, chrome, asked, Some((posted.form, errors))).await?)
}
