//! Who was named to witness a test and who did not see it, in the order it was said.
//! Who did witness it stands with the test itself, in `pressure_tests.rs`.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::pressure_test::{Declined, Named};
use crate::record::{Moment, PersonId, TestId};

/// Names a witness; the schema refuses one who did not see the test.
pub async fn ask(
    db: &mut SqliteConnection,
    test: TestId,
    (named, by): (PersonId, PersonId),
    now: Moment,
) -> Result<i64> {
    Ok(sqlx::query!(
        "INSERT INTO witness_asked (test_id, person_id, asked_by, at) VALUES (?1, ?2, ?3, ?4)",
        test,
        named,
        by,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid())
}

/// Notes that somebody did not see a test.
pub async fn decline(
    db: &mut SqliteConnection,
    test: TestId,
    (person, reason): (PersonId, &str),
    now: Moment,
) -> Result<i64> {
    Ok(sqlx::query!(
        "INSERT INTO witness_declined (test_id, person_id, reason, at) VALUES (?1, ?2, ?3, ?4)",
        test,
        person,
        reason,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid())
}

/// Whether somebody said that they did not see a test.
pub async fn declined(db: &mut SqliteConnection, test: TestId, person: PersonId) -> Result<bool> {
    Ok(sqlx::query_scalar!(
        r#"SELECT EXISTS (SELECT 1 FROM witness_declined WHERE test_id = ?1 AND person_id = ?2) AS "is!: bool""#,
        test,
        person
    )
    .fetch_one(db)
    .await?)
}

/// Everybody who was named for a test, in order.
pub async fn asked_for(db: &mut SqliteConnection, test: TestId) -> Result<Vec<Named>> {
    Ok(sqlx::query_as!(
        Named,
        r#"SELECT a.person_id AS "person_id!: PersonId", p.name AS "name!: String", a.at AS "at!: Moment",
             b.name AS "by!: String"
           FROM witness_asked a JOIN known_as p ON p.person_id = a.person_id AND p.since <= a.at AND p.until > a.at
             JOIN known_as b ON b.person_id = a.asked_by AND b.since <= a.at AND b.until > a.at
           WHERE a.test_id = ?1 ORDER BY a.id"#,
        test
    )
    .fetch_all(db)
    .await?)
}

/// Everybody who did not see a test, in order, under the name they had then.
pub async fn declined_by(db: &mut SqliteConnection, test: TestId) -> Result<Vec<Declined>> {
    Ok(sqlx::query_as!(
        Declined,
        r#"SELECT d.person_id AS "person_id!: PersonId", d.reason AS "reason!: String", d.at AS "at!: Moment",
             p.name AS "name!: String"
           FROM witness_declined d JOIN known_as p ON p.person_id = d.person_id AND p.since <= d.at AND p.until > d.at
           WHERE d.test_id = ?1 ORDER BY d.id"#,
        test
    )
    .fetch_all(db)
    .await?)
}
