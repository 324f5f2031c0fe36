//! The only place that talks to SQLite: opening it, and functions named for the question they
//! answer, on a connection. Rules of the trade are not decided here.

pub mod audit;
pub mod columns;
pub mod due;
pub mod gauges;
pub mod instruments;
pub mod kits;
mod open;
pub mod people;
pub mod plant;
pub mod rebuilds;
pub mod sessions;
pub mod stock;
pub mod windows;

pub use open::{Store, copy_to, open_for_reading};

use crate::record::Refusal;

/// What can go wrong between the register and its database.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// A rule of the schema refused the change; said in plain words.
    #[error("refused: {0}")]
    Refused(#[from] Refusal),
    /// The database itself failed.
    #[error("database: {0}")]
    Database(sqlx::Error),
    /// The folder or a file in it could not be used.
    #[error("{what} {path}: {cause}")]
    Folder {
        /// What was tried.
        what: &'static str,
        /// Where.
        path: String,
        /// What the system said.
        cause: std::io::Error,
    },
    /// Another process serves from the same folder.
    #[error("another gaugewright is already using {0}; stop it first")]
    InUse(String),
    /// The database was written by a newer version of the product.
    #[error(
        "the database in {path} is from a newer version of gaugewright (its schema is {found}, this one knows {known}); install that version or a later one"
    )]
    Newer {
        /// Where.
        path: String,
        /// The schema found.
        found: i64,
        /// The newest schema known here.
        known: i64,
    },
    /// The file is some other program's database.
    #[error("{0} is not a gaugewright database")]
    Foreign(String),
    /// The linked SQLite has a known way to damage the database.
    #[error("SQLite {0} has a fault that can damage the database; 3.51.3 or later is needed")]
    OldSqlite(String),
    /// A setting of the connection did not take.
    #[error("the database did not accept {setting}: it is {found}")]
    Setting {
        /// Which setting.
        setting: &'static str,
        /// What it is instead.
        found: String,
    },
    /// A migration could not be applied.
    #[error("migration: {0}")]
    Migration(#[from] sqlx::migrate::MigrateError),
    /// A stored fact could not be read back.
    #[error("a stored record cannot be read: {0}")]
    Unreadable(String),
}

/// What a question to the store answers.
pub type Result<T> = std::result::Result<T, Error>;

impl From<sqlx::Error> for Error {
    fn from(error: sqlx::Error) -> Self {
        match refused_by_schema(&error) {
            Some(refusal) => Self::Refused(refusal),
            None => Self::Database(error),
        }
    }
}

impl From<serde_json::Error> for Error {
    fn from(error: serde_json::Error) -> Self {
        Self::Unreadable(error.to_string())
    }
}

/// Translates a refusal of the schema into plain words. Constraints are the last net: whoever
/// writes should have asked before, so most of these are races between two people.
fn refused_by_schema(error: &sqlx::Error) -> Option<Refusal> {
    let sqlx::Error::Database(database) = error else {
        return None;
    };
    let message = database.message();
    if let Some((key, words)) = message.split_once(": ")
        && matches!(
            key,
            "rebuild-finished"
                | "rebuild-kept"
                | "entry-unchanged"
                | "stock-balance"
                | "stock-unchanged"
                | "kit-kept"
                | "lot-kept"
                | "instrument-kept"
                | "calibration-kept"
                | "failure-unchanged"
                | "look-over-unchanged"
                | "deferral-unchanged"
                | "test-unchanged"
                | "certificate-unchanged"
                | "use-unchanged"
                | "audit-unchanged"
                | "gauge-kept"
        )
    {
        let mut words = words.to_owned();
        if let Some(first) = words.get(..1) {
            words = first.to_uppercase() + &words[1..];
        }
        return Some(Refusal::NotNow(words));
    }
    let unique = [
        (
            "gauge.tag",
            "tag",
            "Another gauge hangs under this tag number already",
        ),
        (
            "kit.number",
            "number",
            "Another kit has this number already",
        ),
        (
            "lot.kit_id, lot.number",
            "lot",
            "This kit has a lot of this number already",
        ),
        (
            "instrument.number",
            "number",
            "Another instrument has this number already",
        ),
        (
            "person.sign_in",
            "sign_in",
            "Somebody signs in under this name already",
        ),
        ("area.name", "name", "There is an area of this name already"),
        (
            "service_class.name",
            "name",
            "There is a service class of this name already",
        ),
        (
            "rebuild.gauge_id",
            "tag",
            "A rebuild of this gauge is open already",
        ),
        (
            "certificate.test_id",
            "test",
            "A certificate was issued from this test already",
        ),
        (
            "bench_entry.supersedes",
            "supersedes",
            "This entry was corrected already; correct the later one",
        ),
    ];
    if database.is_unique_violation() {
        for (columns, field, words) in unique {
            if message.contains(columns) {
                return Some(Refusal::field(field, words));
            }
        }
    }
    if database.is_check_violation() && message.contains("line_balance") {
        return Some(Refusal::not_now("The lot does not hold that many any more"));
    }
    None
}
