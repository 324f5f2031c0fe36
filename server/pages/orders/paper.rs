//! An order as PDF and as XLSX, in the plant's own layout.
//! The page of the order leads here.

use axum::extract::{Path, Query, State};
use serde::Deserialize;

use super::found;
use crate::pages::answer::{Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, paper};
use crate::papers::order::{Line, OrderRecord, pdf as set, table};
use crate::record::order::Order;
use crate::store;

/// The paper asked for.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    paper: String,
}

async fn whole(app: &App, number: &str) -> Result<(Order, Vec<Line>, String), PageError> {
    let order = found(app, number).await?;
    let mut db = app.store().read().await?;
    let lines = store::orders::lines(&mut db, order.id).await?;
    let ids: Vec<_> = lines.iter().map(|line| line.kit_id).collect();
    let kits = store::kits::some(&mut db, &ids).await?;
    let lines = lines
        .into_iter()
        .map(|line| Line {
            contents: kits
                .iter()
                .find(|kit| kit.id == line.kit_id)
                .map_or_else(String::new, |kit| kit.contents.clone()),
            line,
        })
        .collect();
    let currency = store::needs::rules(&mut db).await?.currency;
    Ok((order, lines, currency))
}

/// The order as PDF.
pub async fn pdf(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    Query(asked): Query<Asked>,
) -> Answer {
    let (order, lines, currency) = whole(&app, &number).await?;
    let size = paper::size(&asked.paper)?;
    let record = OrderRecord::of(&chrome.plant, &order, &lines, &currency);
    let name = format!("{}.pdf", order.number);
    paper::pdf(&name, move || set(&record, &order, size)).await
}

/// The order as a spreadsheet.
pub async fn xlsx(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    let (order, lines, currency) = whole(&app, &number).await?;
    let name = order.number.to_string();
    paper::table(
        &name,
        "xlsx",
        table(&chrome.plant, &order, &lines, &currency),
    )
    .await
}
