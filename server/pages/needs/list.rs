//! The kits to order, by the day the order has to be placed, and a draft made from those ticked.
//! Lines come from the projection; one kit with its working is another page.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::{Query, State};
use rust_decimal::Decimal;
use serde::Deserialize;
use time::Date;

use super::{Following, MOST, ToOrder, money};
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, form, show};
use crate::record::need::{Outlook, Rules};
use crate::record::{KitId, KitNumber};
use crate::store;
use crate::store::orders::{Awaited, Drafted};

/// Lines on a page.
const PAGE: usize = 12;
/// Lines of drafts looked at.
const DRAFTED: i64 = 60;
/// Awaited lines shown.
const AWAITED: i64 = 12;

/// Where the page begins.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    after: String,
}

#[derive(Template)]
#[template(path = "needs/list.html")]
struct Page {
    chrome: Chrome,
    rules: Rules,
    lines: Vec<Outlook>,
    /// What of their kits stands in drafts.
    drafted: Vec<Drafted>,
    /// The orders that follow those of the lines, by kit.
    following: BTreeMap<KitId, Following>,
    next: Option<String>,
    /// Where the list begins, on a page that goes on with it.
    beginning: Option<String>,
    to_order: ToOrder,
    /// Whether the storeroom has no kit at all.
    no_kit: bool,
    late: i64,
    awaited: Vec<Awaited>,
    refused: Vec<(KitId, KitNumber, String)>,
}

impl Page {
    /// What the orders of this page cost together, where their prices are known.
    fn value(&self) -> (Decimal, usize) {
        let known = self.lines.iter().filter_map(Outlook::value).sum();
        let without = self.lines.iter().filter(|line| line.cost.is_none()).count();
        (known, without)
    }

    fn money(&self, value: &Decimal) -> String {
        money(value, &self.rules.currency)
    }

    fn drafts(&self, line: &Outlook) -> Vec<&Drafted> {
        let all = self.drafted.iter();
        all.filter(|one| one.kit_id == line.kit_id).collect()
    }

    fn then(&self, line: &Outlook) -> Option<&Following> {
        self.following.get(&line.kit_id)
    }

    fn late_line(&self, line: &Awaited) -> bool {
        line.promised_on.is_some_and(|day| day < self.chrome.today)
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let most = i64::try_from(PAGE + 1).unwrap_or(13);
    let mut lines = store::outlook::to_order(&mut db, after(&asked.after), most).await?;
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let next = lines.last().filter(|_| more).and_then(|last| {
        let day = last.order_by?;
        let after = format!("{day}_{}", last.kit_id.0);
        Some(address::with_query(address::NEEDS, &[("after", after)]))
    });
    let on = !asked.after.is_empty();
    let following = Following::of_each(&mut db, &lines).await?;
    let kits: Vec<KitId> = lines.iter().map(|line| line.kit_id).collect();
    let drafted = store::orders::drafted(&mut db, &kits, DRAFTED).await?;
    answer::page(&Page {
        beginning: on.then(|| address::NEEDS.to_owned()),
        rules: store::needs::rules(&mut db).await?,
        no_kit: store::kits::none(&mut db).await?,
        late: store::orders::count_late(&mut db, chrome.today, MOST).await?,
        awaited: store::orders::awaited(&mut db, AWAITED).await?,
        refused: store::outlook::refused(&mut db, AWAITED).await?,
        to_order: ToOrder::count(&mut db, chrome.today).await?,
        chrome,
        lines,
        drafted,
        following,
        next,
    })
}

fn after(text: &str) -> Option<(Date, KitId)> {
    let (date, id) = text.split_once('_')?;
    Some((form::read_date(date)?, KitId(id.parse().ok()?)))
}
