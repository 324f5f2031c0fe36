//! The plant's public keys, all there ever were, for whoever checks a signature with a program of
//! their own. Making a new one is the administrator's, on another page.

use askama::Template;
use axum::extract::State;

use crate::pages::answer::{self, Answer};
use crate::pages::{App, address, show};
use crate::record::moment::Zone;
use crate::store;
use crate::store::keys::KeyLine;

#[derive(Template)]
#[template(path = "check/keys.html")]
struct Page {
    plant: String,
    zone: Zone,
    keys: Vec<KeyLine>,
}

/// The page.
pub async fn show(State(app): State<App>) -> Answer {
    let mut db = app.store().read().await?;
    let plant = store::plant::find(&mut db).await?;
    let keys = store::keys::all(&mut db).await?;
    answer::page(&Page {
        plant: plant.as_ref().map_or_else(String::new, |p| p.name.clone()),
        zone: plant.map_or_else(Zone::utc, |p| p.zone),
        keys,
    })
}
