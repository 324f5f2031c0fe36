//! Which recalls speak against one test or one rebuild: those nobody has decided yet, and those by
//! which it is done again. All that relied on what was recalled is asked for in `recalls.rs`.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::recall::{Decision, Recalled};
use crate::record::{InstrumentNumber, KitNumber, LotNumber, Moment, RebuildId, RecallId, TestId};

/// A recall over something, with the latest decision about it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Over {
    /// The recall.
    pub recall: RecallId,
    /// What was recalled.
    pub of: Recalled,
    /// What was decided about this thing last, and when.
    pub decided: Option<(Decision, Moment)>,
}

/// The recalls over a test: of the instruments it relied on, in the days in doubt.
pub async fn over_test(db: &mut SqliteConnection, test: TestId) -> Result<Vec<Over>> {
    let rows = sqlx::query!(
        r#"SELECT DISTINCT r.id AS "id!: RecallId", i.number AS "number!: InstrumentNumber",
             (SELECT d.decision FROM recall_decision d WHERE d.recall_id = r.id AND d.test_id = u.test_id ORDER BY d.id DESC LIMIT 1) AS "decision?: Decision",
             (SELECT d.at FROM recall_decision d WHERE d.recall_id = r.id AND d.test_id = u.test_id ORDER BY d.id DESC LIMIT 1) AS "at?: Moment"
           FROM use_in_doubt u JOIN recall r ON r.id = u.recall_id JOIN instrument i ON i.id = r.instrument_id
           WHERE u.test_id = ?1 ORDER BY r.id"#,
        test
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Over {
            recall: row.id,
            of: Recalled::Instrument(row.number),
            decided: row.decision.zip(row.at),
        })
        .collect())
}

/// The recalls over the bench work of a rebuild: of instruments it relied on, in the days in doubt,
/// and of the lots whose kits went into it.
pub async fn over_rebuild(db: &mut SqliteConnection, rebuild: RebuildId) -> Result<Vec<Over>> {
    let rows = sqlx::query!(
        r#"SELECT r.id AS "id!: RecallId", i.number AS "number?: InstrumentNumber", k.number AS "kit?: KitNumber", l.number AS "lot?: LotNumber",
             (SELECT d.decision FROM recall_decision d WHERE d.recall_id = r.id AND d.rebuild_id = ?1 ORDER BY d.id DESC LIMIT 1) AS "decision?: Decision",
             (SELECT d.at FROM recall_decision d WHERE d.recall_id = r.id AND d.rebuild_id = ?1 ORDER BY d.id DESC LIMIT 1) AS "at?: Moment"
           FROM recall r LEFT JOIN instrument i ON i.id = r.instrument_id LEFT JOIN lot l ON l.id = r.lot_id LEFT JOIN kit k ON k.id = l.kit_id
           WHERE r.id IN (
             SELECT u.recall_id FROM use_in_doubt u WHERE u.rebuild_id = ?1 AND u.test_id IS NULL
             UNION
             SELECT o.id FROM stock_line s JOIN recall o ON o.lot_id = s.lot_id
             WHERE s.rebuild_id = ?1 AND s.kind IN ('issue', 'return') GROUP BY o.id HAVING sum(s.quantity) < 0)
           ORDER BY r.id"#,
        rebuild
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .filter_map(|row| {
            let of = match (row.number, row.kit, row.lot) {
                (Some(number), ..) => Recalled::Instrument(number),
                (None, Some(kit), Some(lot)) => Recalled::Lot(kit, lot),
                _ => return None,
            };
            Some(Over {
                recall: row.id,
                of,
                decided: row.decision.zip(row.at),
            })
        })
        .collect())
}
