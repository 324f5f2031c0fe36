//! What was handed to the one who looks and not taken over yet: it stands on their board and on the list
//! of rebuilds under way. Taking it over is done on its sheet.

use sqlx::SqliteConnection;

use crate::pages::chrome::Chrome;
use crate::record::RebuildId;
use crate::record::person::Role;
use crate::store;
use crate::store::hand_overs::Handed;

/// Hand-overs named on a page.
const MOST: i64 = 10;

/// A rebuild that waits to be taken over.
#[derive(Debug, Clone)]
pub struct ToTake {
    /// Who handed it over, and with what words.
    pub handed: Handed,
    /// Where it stands.
    pub waits_for: String,
}

/// What waits to be taken over by the one who looks, the latest first.
///
/// # Errors
/// The store's failure.
pub async fn to_take(db: &mut SqliteConnection, chrome: &Chrome) -> store::Result<Vec<ToTake>> {
    if !chrome.may(&[Role::Technician, Role::Engineer]) {
        return Ok(Vec::new());
    }
    let all = store::hand_overs::waiting_for(db, chrome.signed.person.id, MOST).await?;
    if all.is_empty() {
        return Ok(Vec::new());
    }
    let ids: Vec<RebuildId> = all.iter().map(|one| one.rebuild_id).collect();
    let courses = store::bench::courses(db, &ids).await?;
    let stands = |one: &Handed| {
        let course = courses.get(&one.rebuild_id);
        course.map(|course| course.waits_for(chrome.today))
    };
    Ok(all
        .into_iter()
        .map(|handed| ToTake {
            waits_for: stands(&handed).unwrap_or_default(),
            handed,
        })
        .collect())
}
