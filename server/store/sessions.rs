//! Who is signed in, failed attempts, and the keys of forms already posted.
//! Only hashes of session tokens are kept.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::person::{Person, Reads, Role};
use crate::record::{Moment, PersonId};

/// Somebody signed in, as every request asks for them.
#[derive(Debug, Clone)]
pub struct SignedIn {
    /// Who.
    pub person: Person,
    /// When they signed in.
    pub started_at: Moment,
    /// When the session was last used.
    pub seen_at: Moment,
    /// When it ends.
    pub expires_at: Moment,
}

/// The session with this token hash, if it still runs and the account is open.
pub async fn find(
    db: &mut SqliteConnection,
    token_hash: &[u8],
    now: Moment,
) -> Result<Option<SignedIn>> {
    let row = sqlx::query!(
        r#"SELECT p.id, p.sign_in, p.name, p.role, p.reads, p.version, s.started_at, s.seen_at, s.expires_at
           FROM session s JOIN person p ON p.id = s.person_id
           WHERE s.token_hash = ?1 AND s.expires_at > ?2 AND p.closed_at IS NULL"#,
        token_hash,
        now
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| SignedIn {
        person: Person {
            id: row.id,
            sign_in: row.sign_in,
            name: row.name,
            role: row.role,
            closed: false,
            password_set: true,
            reads: row.reads.unwrap_or(Reads::AsStamped),
            version: row.version,
        },
        started_at: row.started_at,
        seen_at: row.seen_at,
        expires_at: row.expires_at,
    }))
}

/// Begins a session.
pub async fn begin(
    db: &mut SqliteConnection,
    token_hash: &[u8],
    person: PersonId,
    span: (Moment, Moment),
) -> Result<()> {
    let (now, until) = span;
    sqlx::query!(
        "INSERT INTO session (token_hash, person_id, started_at, seen_at, expires_at) VALUES (?1, ?2, ?3, ?3, ?4)",
        token_hash,
        person,
        now,
        until
    )
    .execute(&mut *db)
    .await?;
    sqlx::query!("DELETE FROM session WHERE expires_at <= ?1", now)
        .execute(db)
        .await?;
    Ok(())
}

/// Notes that a session is in use and moves its end.
pub async fn seen(
    db: &mut SqliteConnection,
    token_hash: &[u8],
    now: Moment,
    until: Moment,
) -> Result<()> {
    sqlx::query!(
        "UPDATE session SET seen_at = ?2, expires_at = ?3 WHERE token_hash = ?1",
        token_hash,
        now,
        until
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Ends one session.
pub async fn end(db: &mut SqliteConnection, token_hash: &[u8]) -> Result<()> {
    sqlx::query!("DELETE FROM session WHERE token_hash = ?1", token_hash)
        .execute(db)
        .await?;
    Ok(())
}

/// Ends every session of somebody.
pub async fn end_all(db: &mut SqliteConnection, person: PersonId) -> Result<()> {
    sqlx::query!("DELETE FROM session WHERE person_id = ?1", person)
        .execute(db)
        .await?;
    Ok(())
}

/// Ends every session of somebody but one.
pub async fn end_others(db: &mut SqliteConnection, person: PersonId, kept: &[u8]) -> Result<()> {
    sqlx::query!(
        "DELETE FROM session WHERE person_id = ?1 AND token_hash <> ?2",
        person,
        kept
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Where a password was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// To come in.
    AtTheDoor,
    /// To come in, of a browser this person has signed in with before.
    KnownBrowser,
    /// Of somebody signed in, to sign a record or to change the password.
    SignedIn,
}

impl Asked {
    /// Each of them.
    pub const ALL: [Self; 3] = [Self::AtTheDoor, Self::KnownBrowser, Self::SignedIn];

    /// As it is kept.
    pub const fn word(self) -> &'static str {
        match self {
            Self::AtTheDoor => "at-the-door",
            Self::KnownBrowser => "known-browser",
            Self::SignedIn => "signed-in",
        }
    }
}

/// Failed attempts under a sign-in name since a moment, and the latest of them.
pub async fn failed_since(
    db: &mut SqliteConnection,
    (sign_in, asked): (&str, Asked),
    since: Moment,
) -> Result<(i64, Option<Moment>)> {
    let asked = asked.word();
    let row = sqlx::query!(
        r#"SELECT count(*) AS "count!: i64", max(at) AS "latest?: Moment" FROM sign_in_attempt WHERE sign_in = ?1 AND asked = ?3 AND at > ?2"#,
        sign_in,
        since,
        asked
    )
    .fetch_one(db)
    .await?;
    Ok((row.count, row.latest))
}

/// Notes a failed attempt and forgets old ones.
pub async fn failed(
    db: &mut SqliteConnection,
    (sign_in, asked): (&str, Asked),
    now: Moment,
    forget_before: Moment,
) -> Result<()> {
    let asked = asked.word();
    sqlx::query!(
        "INSERT INTO sign_in_attempt (sign_in, asked, at) VALUES (?1, ?3, ?2)",
        sign_in,
        now,
        asked
    )
    .execute(&mut *db)
    .await?;
    sqlx::query!("DELETE FROM sign_in_attempt WHERE at < ?1", forget_before)
        .execute(db)
        .await?;
    Ok(())
}

/// Forgets the failed attempts of somebody who signed in.
pub async fn forgive(db: &mut SqliteConnection, (sign_in, asked): (&str, Asked)) -> Result<()> {
    let asked = asked.word();
    sqlx::query!(
        "DELETE FROM sign_in_attempt WHERE sign_in = ?1 AND asked = ?2",
        sign_in,
        asked
    )
    .execute(db)
    .await?;
    Ok(())
}

/// The answer a form key got before, if it was posted before by the same person.
pub async fn answer_to(
    db: &mut SqliteConnection,
    key: &str,
    person: PersonId,
) -> Result<Option<String>> {
    Ok(sqlx::query_scalar!(
        "SELECT answer FROM form_key WHERE key = ?1 AND person_id = ?2",
        key,
        person
    )
    .fetch_optional(db)
    .await?)
}

/// Keeps the answer to a form key, and forgets keys too old to be pressed again.
pub async fn answered(
    db: &mut SqliteConnection,
    key: &str,
    person: PersonId,
    answer: &str,
    span: (Moment, Moment),
) -> Result<()> {
    let (now, forget_before) = span;
    sqlx::query!(
        "INSERT INTO form_key (key, person_id, at, answer) VALUES (?1, ?2, ?3, ?4)",
        key,
        person,
        now,
        answer
    )
    .execute(&mut *db)
    .await?;
    sqlx::query!("DELETE FROM form_key WHERE at < ?1", forget_before)
        .execute(db)
        .await?;
    Ok(())
}

/// How many people hold a role, for messages.
pub async fn people_in(db: &mut SqliteConnection, role: Role) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM person WHERE role = ?1 AND closed_at IS NULL",
        role
    )
    .fetch_one(db)
    .await?)
}
