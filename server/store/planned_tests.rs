//! Tests planned beside the rebuilds' own: those open, by day, one of a gauge, and writing them.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::record::{GaugeId, Moment, PersonId, PlannedTestId, TagNumber, TestId};

/// A planned test that is open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Planned {
    /// The row.
    pub id: PlannedTestId,
    /// The gauge.
    pub tag: TagNumber,
    /// The vessel it hangs on.
    pub vessel: String,
    /// The day.
    pub planned_for: Date,
    /// Whether an inspector is to witness it.
    pub witnessed: bool,
    /// Why, and what to mind.
    pub note: String,
    /// Who planned it.
    pub person: String,
}

/// The open planned tests, the next one first.
pub async fn open(db: &mut SqliteConnection, most: i64) -> Result<Vec<Planned>> {
    Ok(sqlx::query_as!(
        Planned,
        r#"SELECT l.id AS "id!: PlannedTestId", g.tag, g.vessel, l.planned_for, l.witnessed, l.note,
             p.name AS "person!: String"
           FROM planned_test l JOIN gauge g ON g.id = l.gauge_id JOIN known_as p ON p.person_id = l.person_id AND p.since <= l.at AND p.until > l.at
           WHERE l.test_id IS NULL AND l.dropped IS NULL ORDER BY l.planned_for, l.id LIMIT ?1"#,
        most
    )
    .fetch_all(db)
    .await?)
}

/// How many planned tests are to be witnessed, counted up to so many.
pub async fn count_to_witness(db: &mut SqliteConnection, most: i64) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM (SELECT 1 FROM planned_test INDEXED BY planned_test_next
           WHERE test_id IS NULL AND dropped IS NULL AND witnessed = 1 LIMIT ?1)"#,
        most
    )
    .fetch_one(db)
    .await?)
}

/// The open planned test of a gauge.
pub async fn of_gauge(db: &mut SqliteConnection, gauge: GaugeId) -> Result<Option<PlannedTestId>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT id AS "id!: PlannedTestId" FROM planned_test WHERE gauge_id = ?1 AND test_id IS NULL AND dropped IS NULL"#,
        gauge
    )
    .fetch_optional(db)
    .await?)
}

/// Plans a test of a gauge; the schema refuses a second one that is open.
pub async fn add(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    (day, witnessed, note): (Date, bool, &str),
    (person, now): (PersonId, Moment),
) -> Result<PlannedTestId> {
    let id = sqlx::query!(
        "INSERT INTO planned_test (gauge_id, planned_for, witnessed, note, person_id, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        gauge,
        day,
        witnessed,
        note,
        person,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(PlannedTestId(id))
}

/// Ends a planned test in the test that was made.
pub async fn done(db: &mut SqliteConnection, id: PlannedTestId, test: TestId) -> Result<()> {
    sqlx::query!(
        "UPDATE planned_test SET test_id = ?2 WHERE id = ?1",
        id,
        test
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Ends a planned test without one.
pub async fn drop_it(db: &mut SqliteConnection, id: PlannedTestId, why: &str) -> Result<()> {
    sqlx::query!(
        "UPDATE planned_test SET dropped = ?2 WHERE id = ?1",
        id,
        why
    )
    .execute(db)
    .await?;
    Ok(())
}
