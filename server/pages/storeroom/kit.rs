//! One kit: what lies on the shelf lot by lot, which goes out first, which gauges want it and
//! whether that is covered. What moves a lot is on the lot's own page.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;
use time::Date;

use super::beyond;
use crate::calc::lots::{Cover, Picking, Usability, Wanted};
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::needs::Following;
use crate::pages::shelf::Shelf;
use crate::pages::{App, address, form, show};
use crate::record::kit::{self, GasketAge, Kit, Lot};
use crate::record::need::Outlook;
use crate::record::{GaugeId, LotId, LotNumber};
use crate::store;
use crate::store::alternatives::Alternative;
use crate::store::stock::Wanting;

/// Gauges and used-up lots on a page.
const PAGE: usize = 20;

/// Where the two lists of the page go on.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    after: String,
    before: String,
}

#[derive(Template)]
#[template(path = "storeroom/kit.html")]
struct Page {
    chrome: Chrome,
    kit: Kit,
    lots: Vec<Lot>,
    cover: Cover,
    shelf: Shelf,
    /// What is to be ordered, by the same reckoning as the page of needs.
    outlook: Option<Outlook>,
    /// The order after that one.
    following: Option<Following>,
    /// Which lots the next rebuild takes, first expired first out.
    proposal: Option<(Wanting, Picking<LotNumber>)>,
    wanting: Vec<Wanting>,
    more_wanting: Option<String>,
    used_up: Vec<Lot>,
    more_used_up: Option<String>,
    /// The page as it begins, where one of its lists goes on.
    beginning: Option<String>,
    reserved: i64,
    alternatives: Vec<Alternative>,
    gaskets: Option<GasketAge>,
}

impl Page {
    /// The lot to take next.
    fn next(&self) -> Option<&Lot> {
        self.lots
            .iter()
            .find(|lot| lot.usable_on(self.chrome.today))
    }

    fn usability(&self, lot: &Lot) -> Usability {
        lot.usability(self.chrome.today)
    }

    fn expiring(&self) -> i64 {
        i64::from(self.cover.expiring)
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
    let lots = store::kits::lots_on_hand(&mut db, kit.id).await?;
    let until = chrome.today.saturating_add(kit::AHEAD);
    let wants = store::stock::wants_of(&mut db, kit.id, chrome.today, until).await?;
    let cover = kit::cover(&lots, &wants, chrome.today).map_err(beyond)?;
    let outlook = store::outlook::outlook_of(&mut db, kit.id).await?;
    let then = outlook.as_ref().and_then(|one| one.then);
    let following = Following::of(&mut db, kit.id, then).await?;
    let most = i64::try_from(PAGE + 1).unwrap_or(21);
    let here = address::kit(&kit.number);

    let mut wanting =
        store::stock::wanting(&mut db, kit.id, until, after(&asked.after), most).await?;
    let proposal = proposed(&lots, wanting.first(), chrome.today)?;
    let more = wanting.len() > PAGE;
    wanting.truncate(PAGE);
    let more_wanting = wanting.last().filter(|_| more).map(|last| {
        let after = format!("{}_{}", last.on_date, last.gauge_id.0);
        address::with_query(&here, &[("after", after)])
    });

    let before = asked.before.parse().ok().map(LotId);
    let mut used_up = store::stock::used_up(&mut db, kit.id, before, most).await?;
    let more = used_up.len() > PAGE;
    used_up.truncate(PAGE);
    let more_used_up = used_up
        .last()
        .filter(|_| more)
        .map(|last| address::with_query(&here, &[("before", last.id.0.to_string())]));
    let reserved = store::needs::reserved(&mut db, kit.id).await?;
    let alternatives = store::alternatives::of_kit(&mut db, kit.id).await?;
    let gaskets = store::gasket_ages::of_kit(&mut db, kit.id).await?;
    let on = !asked.after.is_empty() || !asked.before.is_empty();
    answer::page(&Page {
        beginning: on.then_some(here),
        shelf: Shelf::of(&cover),
        chrome,
        kit,
        lots,
        cover,
        outlook,
        following,
        proposal,
        wanting,
        more_wanting,
        used_up,
        more_used_up,
        reserved,
        alternatives,
        gaskets,
    })
}

fn after(text: &str) -> Option<(Date, GaugeId)> {
    let (date, id) = text.split_once('_')?;
    Some((form::read_date(date)?, GaugeId(id.parse().ok()?)))
}

/// The lots for the gauge that stands first, on the day of its rebuild; none where the shelf is bare.
fn proposed(
    lots: &[Lot],
    first: Option<&Wanting>,
    today: Date,
) -> Result<Option<(Wanting, Picking<LotNumber>)>, PageError> {
    let Some(first) = first else {
        return Ok(None);
    };
    let wanted = Wanted {
        on: first.on_date.max(today),
        quantity: u32::try_from(first.kits).unwrap_or(u32::MAX),
    };
    let picking = kit::first_out(lots, wanted).map_err(beyond)?;
    Ok((!picking.picks.is_empty()).then(|| (first.clone(), picking)))
}
