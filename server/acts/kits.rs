//! Deeds done to a kit of the storeroom's list: added and corrected.
//! What moves its stock is in `stock.rs`.

use serde_json::json;

use super::{Deed, Result};
use crate::record::kit::{self, Kit};
use crate::record::{KitId, KitNumber, Refusal};
use crate::store;

/// Adds a kit to the storeroom's list; its row and version are given by the register.
///
/// # Errors
/// Refuses a number that is taken.
pub async fn add(deed: &mut Deed, kit: &Kit) -> Result<KitId> {
    free(deed, &kit.number, None).await?;
    let id = store::kits::add(deed.db(), kit).await?;
    deed.record(
        "added",
        &subject(&kit.number),
        None,
        json!({ "name": kit.name }),
        &[("kit", id.0)],
    )
    .await?;
    Ok(id)
}

/// Corrects what is known of a kit, from the version that was read.
///
/// # Errors
/// Refuses when somebody changed it meanwhile, or when the number is taken.
pub async fn correct(deed: &mut Deed, kit: &Kit) -> Result<()> {
    let Some(before) = store::kits::by_id(deed.db(), kit.id).await? else {
        return Err(Refusal::Missing("kit").into());
    };
    if before.version != kit.version {
        let by = store::audit::last_hand(deed.db(), &subject(&before.number)).await?;
        return Err(Refusal::Changed {
            what: format!("Kit {}", before.number),
            by,
        }
        .into());
    }
    let changes = kit::changes(&before, kit);
    if changes.is_empty() {
        return Ok(());
    }
    free(deed, &kit.number, Some(kit.id)).await?;
    store::kits::change(deed.db(), kit).await?;
    deed.record(
        "corrected",
        &subject(&kit.number),
        None,
        json!({ "changes": changes }),
        &[("kit", kit.id.0)],
    )
    .await?;
    Ok(())
}

async fn free(deed: &mut Deed, number: &KitNumber, but: Option<KitId>) -> Result<()> {
    let taken = store::kits::id_of(deed.db(), number.as_str()).await?;
    if taken.is_some() && taken != but {
        return Err(Refusal::field("number", format!("Another kit is {number} already")).into());
    }
    Ok(())
}

/// How a kit is named in the audit chain.
pub fn subject(number: &KitNumber) -> String {
    format!("kit {number}")
}
