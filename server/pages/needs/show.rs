//! One kit: what to order, how many, by which day and why so, with the stock by month and what would
//! change with another service level, lead time or interval. All of it is computed in `calc::needs`.

use askama::Template;
use axum::extract::{Path, Query, State};
use rust_decimal::Decimal;
use serde::Deserialize;

use super::{Following, money};
use crate::acts::needs::{Asked as Answered, WhatIf, ask, ground};
use crate::calc::reorder::Timing;
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Reader};
use crate::pages::stock_chart::StockChart;
use crate::pages::{App, address, show};
use crate::record::kit::Kit;
use crate::record::need::Then;
use crate::store;
use crate::store::alternatives::Alternative;
use crate::store::needs::Reserving;
use crate::store::orders::{Awaited, Drafted};
use crate::store::stock::Wanting;

/// Gauges listed.
const LISTED: i64 = 20;

/// What is asked "what if" about, as it stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    level: String,
    lead: String,
    review: String,
    interval: String,
}

impl Asked {
    fn any(&self) -> bool {
        [&self.level, &self.lead, &self.review, &self.interval]
            .iter()
            .any(|text| !text.trim().is_empty())
    }

    fn read(&self) -> Result<WhatIf, Errors> {
        let mut read = Reader::new();
        let level = if self.level.trim().is_empty() {
            None
        } else {
            read.decimal("level", &self.level)
                .filter(|level| (Decimal::from(50)..=Decimal::new(999_999, 4)).contains(level))
                .or_else(|| {
                    read.refuse("level", "Write a percentage from 50 to 99.9999");
                    None
                })
        };
        let what_if = WhatIf {
            level,
            lead_days: read.whole("lead", &self.lead, 0..=1000),
            review_days: read.whole("review", &self.review, 0..=366),
            interval: read.whole("interval", &self.interval, 1..=240),
        };
        read.finish(Some(what_if))
    }
}

#[derive(Template)]
#[template(path = "needs/show.html")]
struct Page {
    chrome: Chrome,
    kit: Kit,
    asked: Asked,
    errors: Errors,
    now: Answered,
    /// The answer to what if; none where nothing else is asked.
    other: Option<Answered>,
    chart: StockChart,
    /// The order after the one shown.
    following: Option<Following>,
    awaited: Vec<Awaited>,
    drafted: Vec<Drafted>,
    wanting: Vec<Wanting>,
    /// Whether more gauges want it than are listed.
    more_wanting: bool,
    reserving: Vec<Reserving>,
    alternatives: Vec<Alternative>,
}

impl Page {
    /// The answer shown: the other one where somebody asked.
    fn answered(&self) -> &Answered {
        self.other.as_ref().unwrap_or(&self.now)
    }

    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn value(&self, answered: &Answered) -> String {
        answered.terms.cost.map_or_else(
            || "no price".to_owned(),
            |cost| {
                let value = cost * Decimal::from(answered.answer.suggestion.quantity);
                money(&value, &answered.rules.currency)
            },
        )
    }

    /// Kits that expire unused if failures take what they take on average, as the table has it.
    fn expiring(&self) -> u32 {
        self.chart.bars.iter().map(|bar| bar.expired).sum()
    }

    fn past(&self) -> bool {
        let by = self.answered().answer.order_by.as_ref();
        by.is_some_and(|by| matches!(by.timing, Timing::Past(_)))
    }

    #[expect(
        clippy::unused_self,
        clippy::trivially_copy_pass_by_ref,
        reason = "templates call methods of their page and pass references"
    )]
    fn percent(&self, fraction: &f64) -> String {
        // Never rounded up to a certainty.
        let hundredths = (fraction * 10_000.0).floor() / 100.0;
        format!("{hundredths:.2}\u{a0}%")
    }

    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn level(&self, answered: &Answered) -> String {
        let percent = answered.question.terms.level.fraction() * 100.0;
        let text = format!("{percent:.4}");
        format!(
            "{}\u{a0}%",
            text.trim_end_matches('0').trim_end_matches('.')
        )
    }

    fn late(&self, line: &Awaited) -> bool {
        line.promised_on.is_some_and(|day| day < self.chrome.today)
    }
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    let mut db = app.store().read().await?;
    let kit = store::kits::by_number(&mut db, &number)
        .await?
        .ok_or(PageError::NotFound("kit"))?;
    let ground = ground(&mut db, chrome.today).await?;
    let now = ask(&mut db, &ground, &kit, WhatIf::default()).await?;
    let (mut other, mut errors) = (None, Errors::none());
    if asked.any() {
        match asked.read() {
            Ok(what_if) => match ask(&mut db, &ground, &kit, what_if).await {
                Ok(answered) => other = Some(answered),
                Err(error) => errors = form::refused(error)?,
            },
            Err(wrong) => errors = wrong,
        }
    }
    let shown = other.as_ref().unwrap_or(&now);
    let limit = shown
        .answer
        .unaided
        .rows
        .last()
        .map_or(chrome.today, |row| row.month)
        .max(shown.answer.until);
    let refused = errors.any();
    let mut wanting = store::stock::wanting(&mut db, kit.id, limit, None, LISTED + 1).await?;
    let listed = usize::try_from(LISTED).unwrap_or(20);
    let more_wanting = wanting.len() > listed;
    wanting.truncate(listed);
    let page = Page {
        chart: StockChart::of(shown, chrome.today),
        following: Following::of(&mut db, kit.id, shown.answer.following.map(Then::from)).await?,
        awaited: store::orders::awaited_of(&mut db, kit.id).await?,
        drafted: store::orders::drafted(&mut db, &[kit.id], LISTED).await?,
        wanting,
        more_wanting,
        reserving: store::needs::reserving(&mut db, kit.id, LISTED).await?,
        alternatives: store::alternatives::of_kit(&mut db, kit.id).await?,
        chrome,
        kit,
        asked,
        errors,
        now,
        other,
    };
    if refused {
        answer::refused(&page)
    } else {
        answer::page(&page)
    }
}
