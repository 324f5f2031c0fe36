//! Private addresses under which a calendar program reads the plant's days: made and ended.
//! The secret is shown once and kept only as its hash.

use serde_json::json;

use super::people::Token;
use super::{Deed, Result};
use crate::record::{AreaId, FeedId, Refusal};
use crate::store;

/// Makes a private address; answers its secret.
///
/// # Errors
/// The store's failure, or no random numbers.
pub async fn make_feed(deed: &mut Deed, area: Option<AreaId>) -> Result<Token> {
    let token = Token::new()?;
    let (person, now) = (deed.person()?, deed.now());
    let feed = store::calendar::add_feed(deed.db(), person, &token.hash(), area, now).await?;
    deed.record(
        "made a calendar address",
        &format!("calendar address {}", feed.0),
        None,
        json!({ "area": area.map(|a| a.0) }),
        &[],
    )
    .await?;
    Ok(token)
}

/// Ends a private address; whoever has it reads nothing more.
///
/// # Errors
/// Refuses somebody else's.
pub async fn revoke_feed(deed: &mut Deed, feed: FeedId) -> Result<()> {
    let (person, now) = (deed.person()?, deed.now());
    if !store::calendar::revoke_feed(deed.db(), feed, person, now).await? {
        return Err(Refusal::Missing("calendar address").into());
    }
    deed.record(
        "ended a calendar address",
        &format!("calendar address {}", feed.0),
        None,
        json!({}),
        &[],
    )
    .await
}
