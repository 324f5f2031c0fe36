//! People, their passwords and their one-time addresses.
//! Who may do what is decided by their role, not here.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::person::{Person, Reads, Role};
use crate::record::{Moment, PersonId};

macro_rules! person {
    ($row:expr) => {
        Person {
            id: $row.id,
            sign_in: $row.sign_in,
            name: $row.name,
            role: $row.role,
            closed: $row.closed_at.is_some(),
            password_set: $row.password_hash.is_some(),
            reads: $row.reads.unwrap_or(Reads::AsStamped),
            version: $row.version,
        }
    };
}

/// How many people may come in but have not set a password yet.
pub async fn without_password(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM person WHERE password_hash IS NULL AND closed_at IS NULL"
    )
    .fetch_one(db)
    .await?)
}

/// Somebody by row.
pub async fn by_id(db: &mut SqliteConnection, id: PersonId) -> Result<Option<Person>> {
    let row = sqlx::query!(
        "SELECT id, sign_in, name, role, closed_at, password_hash, reads, version FROM person WHERE id = ?1",
        id
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| person!(row)))
}

/// Somebody by the name they sign in under, with the hash of their password.
pub async fn by_sign_in(
    db: &mut SqliteConnection,
    sign_in: &str,
) -> Result<Option<(Person, Option<String>)>> {
    let row = sqlx::query!(
        "SELECT id, sign_in, name, role, closed_at, password_hash, reads, version FROM person WHERE sign_in = ?1",
        sign_in
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| {
        let hash = row.password_hash.clone();
        (person!(row), hash)
    }))
}

/// Everybody, by name.
pub async fn all(db: &mut SqliteConnection) -> Result<Vec<Person>> {
    let rows = sqlx::query!(
        "SELECT id, sign_in, name, role, closed_at, password_hash, reads, version FROM person ORDER BY closed_at IS NOT NULL, name COLLATE NOCASE, id"
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| person!(row)).collect())
}

/// Open accounts of a role, by name.
pub async fn of_role(db: &mut SqliteConnection, role: Role) -> Result<Vec<Person>> {
    Ok(all(db)
        .await?
        .into_iter()
        .filter(|p| !p.closed && p.role == role)
        .collect())
}

/// Everybody who works at the bench and has not left.
pub async fn at_the_bench(db: &mut SqliteConnection) -> Result<Vec<Person>> {
    let works = |p: &Person| matches!(p.role, Role::Technician | Role::Engineer);
    let all = all(db).await?;
    Ok(all.into_iter().filter(|p| !p.closed && works(p)).collect())
}

/// Whether anybody can administer the plant.
pub async fn administrators(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM person WHERE role = 'administrator' AND closed_at IS NULL"
    )
    .fetch_one(db)
    .await?)
}

/// Adds somebody without a password.
pub async fn add(
    db: &mut SqliteConnection,
    sign_in: &str,
    name: &str,
    role: Role,
) -> Result<PersonId> {
    let id = sqlx::query!(
        "INSERT INTO person (sign_in, name, role) VALUES (?1, ?2, ?3)",
        sign_in,
        name,
        role
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(PersonId(id))
}

/// Changes name, role and whether the account is closed, if nobody did so meanwhile. The name before
/// stands for what was done until now.
pub async fn change(
    db: &mut SqliteConnection,
    person: &Person,
    closed_at: Option<Moment>,
    now: Moment,
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE person SET name = ?2, role = ?3, closed_at = ?4, version = version + 1 WHERE id = ?1 AND version = ?5",
        person.id,
        person.name,
        person.role,
        closed_at,
        person.version
    )
    .execute(&mut *db)
    .await?;
    if done.rows_affected() != 1 {
        return Ok(false);
    }
    // A clock that was set back does not make two names of one moment.
    let from = sqlx::query_scalar!(
        r#"SELECT max(?2, since) AS "from!: Moment" FROM known_as WHERE person_id = ?1 AND until = '9999-12-31T23:59:59.999Z'"#,
        person.id,
        now
    )
    .fetch_one(&mut *db)
    .await?;
    let renamed = sqlx::query!(
        "UPDATE known_as SET until = ?3 WHERE person_id = ?1 AND until = '9999-12-31T23:59:59.999Z' AND name <> ?2",
        person.id,
        person.name,
        from
    )
    .execute(&mut *db)
    .await?;
    if renamed.rows_affected() > 0 {
        sqlx::query!(
            "INSERT INTO known_as (person_id, since, until, name) VALUES (?1, ?3, '9999-12-31T23:59:59.999Z', ?2)
             ON CONFLICT (person_id, since) DO UPDATE SET name = excluded.name, until = excluded.until",
            person.id,
            person.name,
            from
        )
        .execute(db)
        .await?;
    }
    Ok(true)
}

/// People whose names over time are not those of the audit lines, or do not end with the one they have
/// now, or that cover one moment twice. A deed takes the name when it begins and writes its line when it
/// ends, which a long one does minutes later, so either name is good for a while.
pub async fn names_astray(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "n!: i64" FROM (
             SELECT p.id FROM person p WHERE NOT EXISTS (
               SELECT 1 FROM known_as k WHERE k.person_id = p.id AND k.until = '9999-12-31T23:59:59.999Z' AND k.name = p.name)
             UNION
             SELECT k.person_id FROM known_as k JOIN known_as o ON o.person_id = k.person_id AND o.since > k.since AND o.since < k.until
             UNION
             SELECT a.person_id FROM audit a WHERE a.person_id IS NOT NULL AND NOT EXISTS (
               SELECT 1 FROM known_as k WHERE k.person_id = a.person_id AND k.since <= a.at AND k.name = a.who
                 AND k.until >= strftime('%Y-%m-%dT%H:%M:%fZ', a.at, '-15 minutes')))"#
    )
    .fetch_one(db)
    .await?)
}

/// Keeps in which units somebody reads figures; nothing is kept for those who read them as stamped.
pub async fn set_reads(db: &mut SqliteConnection, id: PersonId, reads: Reads) -> Result<()> {
    let kept = (reads != Reads::AsStamped).then_some(reads);
    sqlx::query!("UPDATE person SET reads = ?2 WHERE id = ?1", id, kept)
        .execute(db)
        .await?;
    Ok(())
}

/// Keeps the hash of a new password.
pub async fn set_password(db: &mut SqliteConnection, id: PersonId, hash: &str) -> Result<()> {
    sqlx::query!(
        "UPDATE person SET password_hash = ?2 WHERE id = ?1",
        id,
        hash
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Forgets somebody's password: nobody signs in under the name before a new one is set.
pub async fn clear_password(db: &mut SqliteConnection, id: PersonId) -> Result<()> {
    sqlx::query!("UPDATE person SET password_hash = NULL WHERE id = ?1", id)
        .execute(db)
        .await?;
    Ok(())
}

/// A one-time address as kept: its purpose, whose it is, until when, and whether it was used.
#[derive(Debug)]
pub struct OneTime {
    /// Why it was made.
    pub purpose: String,
    /// Whose password it sets; nobody's for the first administrator.
    pub person_id: Option<PersonId>,
    /// Until when it works.
    pub expires_at: Moment,
    /// When it was used.
    pub used_at: Option<Moment>,
}

/// The one-time address with this hash.
pub async fn one_time(db: &mut SqliteConnection, token_hash: &[u8]) -> Result<Option<OneTime>> {
    Ok(sqlx::query_as!(
        OneTime,
        "SELECT purpose, person_id, expires_at, used_at FROM one_time_address WHERE token_hash = ?1",
        token_hash
    )
    .fetch_optional(db)
    .await?)
}

/// Makes a one-time address; earlier unused ones for the same purpose and person stop working.
pub async fn add_one_time(
    db: &mut SqliteConnection,
    token_hash: &[u8],
    purpose: &str,
    person: Option<PersonId>,
    span: (Moment, Moment),
) -> Result<()> {
    let (now, until) = span;
    sqlx::query!(
        "DELETE FROM one_time_address WHERE used_at IS NULL AND purpose = ?1 AND person_id IS ?2",
        purpose,
        person
    )
    .execute(&mut *db)
    .await?;
    sqlx::query!(
        "INSERT INTO one_time_address (token_hash, purpose, person_id, made_at, expires_at) VALUES (?1, ?2, ?3, ?4, ?5)",
        token_hash,
        purpose,
        person,
        now,
        until
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Makes the unused one-time addresses of somebody stop working.
pub async fn drop_one_time(db: &mut SqliteConnection, person: PersonId) -> Result<()> {
    sqlx::query!(
        "DELETE FROM one_time_address WHERE used_at IS NULL AND person_id = ?1",
        person
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Uses a one-time address up; false if it was used before.
pub async fn use_one_time(
    db: &mut SqliteConnection,
    token_hash: &[u8],
    now: Moment,
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE one_time_address SET used_at = ?2 WHERE token_hash = ?1 AND used_at IS NULL AND expires_at > ?2",
        token_hash,
        now
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}
