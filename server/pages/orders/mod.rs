//! Orders of kits: drafted from what is needed, placed, awaited, received in full or in part. Everybody
//! reads; storekeepers and engineers draft, place and receive.

pub mod list;
pub mod new;
pub mod paper;
pub mod receive;
pub mod show;

use crate::acts::orders::Wanted;
use crate::pages::App;
use crate::pages::answer::PageError;
use crate::record::order::Order;
use crate::store;

/// The order of that number.
async fn found(app: &App, number: &str) -> Result<Order, PageError> {
    let mut db = app.store().read().await?;
    store::orders::by_number(&mut db, number)
        .await?
        .ok_or(PageError::NotFound("order"))
}

/// Reads "SW-K-250=4" as a ticked line gives it.
fn ticked(text: &str) -> Option<Wanted> {
    let (kit, quantity) = text.rsplit_once('=')?;
    Some(Wanted {
        kit: kit.parse().ok()?,
        quantity: quantity.parse().ok().filter(|many| *many > 0)?,
    })
}
