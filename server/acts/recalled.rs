//! Whether recalls let a test be certified or a gauge go back into service. Opening and deciding
//! recalls is in `recalls.rs`.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::course::Course;
use crate::record::rebuild::RebuildState;
use crate::record::recall::{Decision, Recalled};
use crate::record::{RebuildId, RecallId, Refusal, TestId};
use crate::store;

/// Whether a test may be relied on.
///
/// # Errors
/// Refuses while a recall over its instruments is undecided, and where it is to be repeated.
pub async fn test_stands(db: &mut SqliteConnection, test: TestId) -> Result<()> {
    for over in store::recalled::over_test(db, test).await? {
        match over.decided {
            None => return Err(open(over.recall, &over.of, "this test")),
            Some((Decision::Repeat, _)) => {
                let what = "this test is repeated; record it anew";
                return Err(again(over.recall, &over.of, what));
            }
            Some((Decision::Stands, _)) => {}
        }
    }
    Ok(())
}

/// Whether the bench work of a rebuild may be relied on. What is to be done again is answered by
/// taking the gauge back to the bench after that was decided.
///
/// # Errors
/// Refuses while a recall over its instruments or lots is undecided or unanswered.
pub async fn rebuild_stands(
    db: &mut SqliteConnection,
    rebuild: RebuildId,
    course: &Course,
) -> Result<()> {
    for over in store::recalled::over_rebuild(db, rebuild).await? {
        match over.decided {
            None => return Err(open(over.recall, &over.of, "this rebuild")),
            Some((Decision::Repeat, when)) => {
                let back = course.moves.iter().any(|m| {
                    m.from == RebuildState::OnTest
                        && m.to == RebuildState::AtTheBench
                        && m.at >= when
                });
                if !back {
                    let what = "this rebuild is done again; take the gauge back to the bench";
                    return Err(again(over.recall, &over.of, what));
                }
            }
            Some((Decision::Stands, _)) => {}
        }
    }
    Ok(())
}

fn open(recall: RecallId, of: &Recalled, what: &str) -> super::Error {
    Refusal::not_now(format!(
        "{of} is recalled (recall {}), and nobody has decided yet what that means for {what}; the reliability engineer decides",
        recall.0
    ))
    .into()
}

fn again(recall: RecallId, of: &Recalled, what: &str) -> super::Error {
    Refusal::not_now(format!(
        "{of} is recalled (recall {}), and it was decided that {what}",
        recall.0
    ))
    .into()
}
