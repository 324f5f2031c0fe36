//! What other rebuild intervals of a service class would ask for over ten years, side by side, before
//! one is taken. The interval itself is saved on the class's own page.

use askama::Template;
use axum::extract::{Query, State};
use rust_decimal::prelude::ToPrimitive;
use serde::Deserialize;

use super::{About, Asked, say, studied};
use crate::acts;
use crate::acts::life::{Ground, MOST_GAUGES, Terms, YEARS};
use crate::calc::life::Life;
use crate::calc::outlook::{Estimate, Outlook};
use crate::calc::rebuild_age::{Advice, Costs, best_rebuild_age};
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::form::{Errors, Reader};
use crate::pages::{App, address, show};
use crate::record::person::Role;
use crate::record::plant::ServiceClass;
use crate::store;
use crate::store::life::StatedCost;

/// Intervals tried at once.
const MOST: usize = 5;

/// The question as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Wanted {
    class: String,
    early: String,
    tries: String,
    bench: String,
    windows: String,
    seed: String,
}

impl Wanted {
    fn asked(&self) -> Asked {
        Asked {
            class: self.class.clone(),
            early: self.early.clone(),
            ..Asked::default()
        }
    }

    fn values(&self) -> Vec<(&'static str, String)> {
        vec![
            ("class", self.class.clone()),
            ("early", self.early.clone()),
            ("tries", self.tries.clone()),
            ("bench", self.bench.clone()),
            ("windows", self.windows.clone()),
            ("seed", self.seed.clone()),
        ]
    }

    fn read(&self) -> Result<(Vec<u32>, Terms), Errors> {
        let mut read = Reader::new();
        let words = "Write one to five intervals of 1 to 240 months, such as 12, 18, 24";
        let tries: Result<Vec<u32>, _> = self
            .tries
            .split([',', ' ', ';'])
            .filter(|text| !text.is_empty())
            .map(|text| {
                text.parse()
                    .ok()
                    .filter(|m| (1..=240).contains(m))
                    .ok_or(words)
            })
            .collect();
        let tries = tries.map(|mut tries| {
            tries.sort_unstable();
            tries.dedup();
            tries
        });
        let tries = tries.and_then(|tries| {
            if (1..=MOST).contains(&tries.len()) {
                Ok(tries)
            } else {
                Err(words)
            }
        });
        let tries = read.take("tries", tries);
        let bench = read.whole("bench", &self.bench, 1..=10_000);
        let windows = read.whole("windows", &self.windows, 1..=240);
        let seed = read.whole("seed", &self.seed, 0..=u32::MAX);
        let terms = Terms {
            bench,
            windows,
            seed: u64::from(seed.unwrap_or(1)),
        };
        read.finish(tries.map(|tries| (tries, terms)))
    }
}

/// One interval that was tried.
pub(super) struct Tried {
    pub months: u32,
    pub outlook: Outlook,
    pub runs: u32,
}

/// The answer to a question.
pub(super) struct Compared {
    pub class: ServiceClass,
    pub tried: Vec<Tried>,
    pub cost: Option<StatedCost>,
    pub currency: String,
    terms: Option<Terms>,
    errors: Errors,
    ground: Ground,
    life: Option<Life>,
    best: Option<u32>,
}

/// A row of the comparison: what it counts, and for each interval the value with its standard error.
pub type Compare = (String, Vec<(f64, Option<f64>)>);

impl Compared {
    /// The rows of the comparison: what, and for each interval the value with its standard error.
    pub fn rows(&self) -> Vec<Compare> {
        let row = |words: &str, of: fn(&Outlook) -> Estimate| {
            let cells = self.tried.iter().map(|one| {
                let found = of(&one.outlook);
                (found.value, found.standard_error)
            });
            (words.to_owned(), cells.collect())
        };
        let mut rows = vec![
            row("Failures in service", |o| o.total.failures),
            row("Planned rebuilds", |o| o.total.planned_rebuilds),
            row("Kits", |o| o.total.kits),
        ];
        let Some(cost) = &self.cost else {
            rows.push(row("Share of gauge time overdue, %", overdue));
            return rows;
        };
        if let Some(hours) = cost.cost.bench_hours.and_then(|hours| hours.to_f64()) {
            let cells = self.tried.iter().map(|one| {
                let (failures, planned) = (
                    one.outlook.total.failures,
                    one.outlook.total.planned_rebuilds,
                );
                // The two errors are not independent; their sum is never too small.
                let error = failures
                    .standard_error
                    .zip(planned.standard_error)
                    .map(|(a, b)| hours * (a + b));
                (hours * (failures.value + planned.value), error)
            });
            rows.push(("Hours at the bench".to_owned(), cells.collect()));
        }
        let money = if self.currency.is_empty() {
            "Money".to_owned()
        } else {
            format!("Money, {}", self.currency)
        };
        rows.push(row(&money, |o| o.total.cost));
        rows.push(row("Share of gauge time overdue, %", overdue));
        rows
    }
}

fn overdue(outlook: &Outlook) -> Estimate {
    let share = outlook.total.overdue_share;
    Estimate {
        value: 100.0 * share.value,
        standard_error: share.standard_error.map(|error| 100.0 * error),
    }
}

#[derive(Template)]
#[template(path = "life/intervals.html")]
struct Page {
    chrome: Chrome,
    wanted: Wanted,
    compared: Compared,
}

/// Tries the intervals of a question, off the threads that answer requests.
pub(super) async fn ask(
    app: &App,
    chrome: &Chrome,
    wanted: &Wanted,
) -> Result<Compared, PageError> {
    if wanted.class.is_empty() {
        // Intervals belong to a class; the way in is where one is chosen.
        return Err(PageError::SeeOther(address::LIFE.to_owned()));
    }
    let mut db = app.store().read().await?;
    let asked = wanted.asked();
    let (about, filter) = About::of(&mut db, &asked).await?;
    let class = about.class.ok_or(PageError::NotFound("service class"))?;
    let cost = store::life::costs(&mut db, class.id, 1).await?.pop();
    let currency = store::needs::rules(&mut db).await?.currency;
    let ground = acts::life::ground(&mut db, &class, chrome.today).await?;
    let studied = studied(&mut db, chrome, &asked, &filter).await?;
    drop(db);
    let life = studied.study.curve().map(|curve| curve.fit.life);
    let best = cost.as_ref().zip(life).and_then(|(cost, life)| {
        match best_rebuild_age(life, acts::life::costs(cost), None)
            .ok()?
            .advice
        {
            Advice::Rebuild(best) => (best.age / acts::life::MONTH).round().to_u32(),
            _ => None,
        }
    });
    let mut compared = Compared {
        class,
        tried: Vec::new(),
        cost,
        currency,
        terms: None,
        errors: Errors::none(),
        ground,
        life,
        best: best.filter(|months| (1..=240).contains(months)),
    };
    if wanted.tries.trim().is_empty() || compared.ground.gauges() == 0 {
        return Ok(compared);
    }
    let (tries, terms) = match wanted.read() {
        Ok(read) => read,
        Err(errors) => {
            compared.errors = errors;
            return Ok(compared);
        }
    };
    compared.terms = Some(terms);
    if let Some(life) = compared.life {
        // Without stated costs only the money is left out.
        let costs = compared.cost.as_ref().map_or(
            Costs {
                planned: 1.0,
                failure: 1.0,
            },
            acts::life::costs,
        );
        let ground = compared.ground.clone();
        let played = tokio::task::spawn_blocking(move || {
            tries
                .into_iter()
                .map(|months| {
                    let (outlook, runs) = ground.at(life, costs, months, terms)?;
                    Ok(Tried {
                        months,
                        outlook,
                        runs,
                    })
                })
                .collect::<Result<Vec<_>, crate::calc::OutOfRange>>()
        });
        match played
            .await
            .map_err(|error| PageError::Paper(error.to_string()))?
        {
            Ok(all) => compared.tried = all,
            Err(error) => compared.errors.add("tries", error.to_string()),
        }
    }
    Ok(compared)
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(wanted): Query<Wanted>) -> Answer {
    let compared = ask(&app, &chrome, &wanted).await?;
    let refused = compared.errors.any();
    let page = Page {
        chrome,
        wanted,
        compared,
    };
    if refused {
        answer::refused(&page)
    } else {
        answer::page(&page)
    }
}

impl Page {
    /// The intervals to try: those typed, or the one there is with a shorter and a longer one.
    fn tries(&self) -> String {
        if !self.wanted.tries.is_empty() {
            return self.wanted.tries.clone();
        }
        let mut all: Vec<u32> = Vec::new();
        if let Some(now) = self.compared.class.rebuild_months {
            all.extend([(now * 2 / 3).max(1), now, (now * 4 / 3).min(240)]);
        }
        all.extend(self.compared.best);
        all.sort_unstable();
        all.dedup();
        let all: Vec<String> = all.iter().map(u32::to_string).collect();
        all.join(", ")
    }

    fn is_now(&self, tried: &Tried) -> bool {
        self.compared.class.rebuild_months == Some(tried.months)
    }

    fn simulated(&self) -> bool {
        self.compared
            .tried
            .iter()
            .any(|one| one.outlook.total.failures.standard_error.is_some())
    }

    /// How often the years were played.
    fn runs(&self) -> String {
        let runs: Vec<u32> = self.compared.tried.iter().map(|one| one.runs).collect();
        match runs.split_first() {
            Some((first, rest)) if rest.iter().all(|one| one == first) => format!("{first} times"),
            _ => {
                let runs: Vec<String> = runs.iter().map(u32::to_string).collect();
                format!("{} times", runs.join(", "))
            }
        }
    }

    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn cell(&self, (value, error): &(f64, Option<f64>)) -> String {
        let figure = |value: f64, digits| {
            if value > 0.0 && value < 0.005 {
                "under 0.005".to_owned()
            } else if value >= 10_000.0 {
                say::grouped(value.round().to_i64().unwrap_or(i64::MAX))
            } else {
                say::figure(value, digits)
            }
        };
        match error {
            Some(error) if *value >= 0.005 => {
                format!("{} \u{b1} {}", figure(*value, 4), say::figure(error, 2))
            }
            _ => figure(*value, 4),
        }
    }

    fn file(&self, form: &str) -> String {
        address::life_part(&format!("tables/intervals.{form}"), &self.wanted.values())
    }

    /// What the page opens with: how failures and rebuilds trade against each other.
    fn says(&self) -> String {
        let name = show::sentence(&self.compared.class.name);
        let tried = &self.compared.tried;
        match (tried.first(), tried.last()) {
            (Some(first), Some(last)) if tried.len() > 1 => format!(
                "{name}: {} failures in ten years at {} months, {} at {}",
                say::figure(first.outlook.total.failures.value, 3),
                first.months,
                say::figure(last.outlook.total.failures.value, 3),
                last.months
            ),
            _ => format!("{name}: ten years at other intervals"),
        }
    }
}
