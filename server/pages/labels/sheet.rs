//! The sheet of labels as PDF. The code on each opens the thing's page under the address people reach
//! the register by.

use axum::extract::{Query, State};
use axum::http::HeaderMap;
use axum::http::header::HOST;
use sqlx::SqliteConnection;

use super::choose::Asked;
use crate::pages::answer::{Answer, PageError};
use crate::pages::{App, address, paper, show};
use crate::papers::labels::{Format, Label, MOST, pdf};
use crate::record::{AreaId, Refusal};
use crate::store;

/// The address people reach the register under: the one that was set, or the one they used.
pub fn origin(app: &App, headers: &HeaderMap) -> String {
    if let Some(address) = app.public_address() {
        return address.trim_end_matches('/').to_owned();
    }
    let host = headers
        .get(HOST)
        .and_then(|value| value.to_str().ok())
        .unwrap_or("localhost");
    format!("http://{host}")
}

/// The sheet.
pub async fn show(
    State(app): State<App>,
    headers: HeaderMap,
    Query(asked): Query<Asked>,
) -> Answer {
    let format = match asked.sheet.as_str() {
        "" => Format::of("a4-24"),
        word => Format::of(word),
    }
    .ok_or(PageError::NotFound("sheet of labels of that size"))?;
    let origin = origin(&app, &headers);
    let only: Vec<&str> = asked
        .which
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .collect();
    let mut db = app.store().read().await?;
    let labels = match asked.of.as_str() {
        "" | "gauges" => {
            let area = asked.area.parse().ok().map(AreaId);
            gauges(&mut db, &origin, area, &only).await?
        }
        "lots" => lots(&mut db, &origin, &only).await?,
        "instruments" => instruments(&mut db, &origin, &only).await?,
        _ => return Err(PageError::NotFound("labels of that kind")),
    };
    drop(db);
    if labels.is_empty() {
        return Err(refused(
            "Nothing in the register fits this choice, so there is no label to print",
        ));
    }
    if labels.len() > MOST {
        return Err(refused(&format!(
            "More than {MOST} labels at once; choose an area or write the numbers"
        )));
    }
    let first = asked.from.trim().parse().unwrap_or(1);
    let printed = app.clock().now().at();
    paper::pdf("labels.pdf", move || pdf(&labels, format, first, printed)).await
}

fn refused(words: &str) -> PageError {
    PageError::Refused(Refusal::not_now(words))
}

fn most() -> i64 {
    i64::try_from(MOST + 1).unwrap_or(i64::MAX)
}

async fn gauges(
    db: &mut SqliteConnection,
    origin: &str,
    area: Option<AreaId>,
    only: &[&str],
) -> store::Result<Vec<Label>> {
    let found = store::labels::of_gauges(db, area, only, most()).await?;
    Ok(found
        .into_iter()
        .map(|(tag, vessel, service, area)| Label {
            address: format!("{origin}{}", address::gauge(&tag)),
            number: tag.to_string(),
            lines: worded([format!("{vessel} {service}"), area]),
        })
        .collect())
}

async fn lots(db: &mut SqliteConnection, origin: &str, only: &[&str]) -> store::Result<Vec<Label>> {
    let mut found = store::stock::shelf(db).await?;
    if !only.is_empty() {
        let named = |text: &str| only.iter().any(|one| one.eq_ignore_ascii_case(text));
        found.retain(|lot| named(lot.number.as_str()) || named(lot.kit.as_str()));
    }
    Ok(found
        .into_iter()
        .map(|lot| Label {
            address: format!("{origin}{}", address::lot(&lot.kit, &lot.number)),
            number: lot.number.to_string(),
            // How many there are and where they lie changes while the label stays; its code leads to both.
            lines: worded([
                lot.kit.to_string(),
                lot.expires_on.map_or_else(String::new, |day| {
                    format!("use until {}", show::plain_date(&day))
                }),
            ]),
        })
        .collect())
}

async fn instruments(
    db: &mut SqliteConnection,
    origin: &str,
    only: &[&str],
) -> store::Result<Vec<Label>> {
    let kinds = crate::record::instrument::InstrumentKind::ALL;
    let mut found = store::instruments::of_kinds(db, kinds).await?;
    if !only.is_empty() {
        let named = |text: &str| only.iter().any(|one| one.eq_ignore_ascii_case(text));
        found.retain(|one| named(one.number.as_str()));
    }
    Ok(found
        .into_iter()
        .map(|one| Label {
            address: format!("{origin}{}", address::instrument(&one.number)),
            number: one.number.to_string(),
            lines: worded([one.kind.to_string(), one.description]),
        })
        .collect())
}

fn worded<const N: usize>(lines: [String; N]) -> Vec<String> {
    lines
        .into_iter()
        .map(|line| line.trim().to_owned())
        .filter(|line| !line.is_empty())
        .collect()
}
