//! The public halves of the plant's signing keys: the one in use, and all there ever were.
//! The secret half is not here; acts keep it as a file in the plant's folder.

use sqlx::SqliteConnection;

use super::Result;
use crate::record::seal::PublicKey;
use crate::record::{KeyId, Moment, PersonId};

/// A key as the register lists it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyLine {
    /// The row.
    pub id: KeyId,
    /// The key.
    pub key: PublicKey,
    /// When it came into use.
    pub made_at: Moment,
    /// Who made it; nobody for what the program does by itself.
    pub person: Option<String>,
    /// Why.
    pub reason: String,
    /// Certificates signed with it.
    pub certificates: i64,
}

/// The key in use: the last one made.
pub async fn current(db: &mut SqliteConnection) -> Result<Option<(KeyId, PublicKey)>> {
    let row = sqlx::query!(
        "SELECT id, fingerprint, public_key FROM signing_key ORDER BY id DESC LIMIT 1"
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| {
        let key = PublicKey {
            fingerprint: row.fingerprint,
            public_key: row.public_key,
        };
        (row.id, key)
    }))
}

/// Every key, the one in use first.
pub async fn all(db: &mut SqliteConnection) -> Result<Vec<KeyLine>> {
    let rows = sqlx::query!(
        r#"SELECT k.id AS "id!: KeyId", k.fingerprint, k.public_key, k.made_at, k.reason,
             p.name AS "person?: String",
             (SELECT count(*) FROM certificate c WHERE c.key_id = k.id) AS "certificates!: i64"
           FROM signing_key k LEFT JOIN known_as p ON p.person_id = k.person_id AND p.since <= k.made_at AND p.until > k.made_at ORDER BY k.id DESC"#
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| KeyLine {
            id: row.id,
            key: PublicKey {
                fingerprint: row.fingerprint,
                public_key: row.public_key,
            },
            made_at: row.made_at,
            person: row.person,
            reason: row.reason,
            certificates: row.certificates,
        })
        .collect())
}

/// Whether a key is known, in use or not.
pub async fn knows(db: &mut SqliteConnection, fingerprint: &str) -> Result<bool> {
    let found = sqlx::query_scalar!(
        r#"SELECT 1 AS "found!: i64" FROM signing_key WHERE fingerprint = ?1"#,
        fingerprint
    )
    .fetch_optional(db)
    .await?;
    Ok(found.is_some())
}

/// Keeps the public half of a new key, which is from now on the one in use.
pub async fn add(
    db: &mut SqliteConnection,
    key: &PublicKey,
    reason: &str,
    (person, now): (Option<PersonId>, Moment),
) -> Result<KeyId> {
    let id = sqlx::query!(
        "INSERT INTO signing_key (fingerprint, public_key, made_at, person_id, reason) VALUES (?1, ?2, ?3, ?4, ?5)",
        key.fingerprint,
        key.public_key,
        now,
        person,
        reason
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(KeyId(id))
}
