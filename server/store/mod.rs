//! The only place that talks to SQLite: opening it, and functions named for the question they
//! answer, on a connection. Rules of the trade are not decided here.

pub mod alternatives;
pub mod audit;
pub mod bench;
pub mod bring_in;
pub mod calendar;
pub mod calibrations;
pub mod certificates;
pub mod columns;
pub mod deferrals;
pub mod documents;
pub mod due;
pub mod due_days;
pub mod gas_tests;
pub mod gasket_ages;
pub mod gauge_list;
pub mod gauges;
pub mod hand_overs;
pub mod history;
pub mod holds;
pub mod in_service;
pub mod instruments;
pub mod issued;
pub mod keys;
pub mod kits;
pub mod labels;
pub mod life;
pub mod needs;
mod open;
pub mod orders;
pub mod outlook;
pub mod people;
pub mod photos;
pub mod planned_tests;
pub mod plant;
pub mod pressure_tests;
pub mod re_torques;
pub mod rebuild_days;
pub mod rebuilds;
pub mod recalled;
pub mod recalls;
mod refusals;
pub mod search;
pub mod sessions;
pub mod set_up;
pub mod shelf;
pub mod stock;
pub mod test_plans;
pub mod wear;
pub mod window_plan;
pub mod windows;
pub mod witnesses;

pub use open::{FormSecret, READERS, Store, copy_to, open_as_it_is, open_for_reading};

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
    #[error("{what} {path}: {}", plain(cause))]
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
    /// The database was last kept by an older version of the product; it can be copied, but not read.
    #[error(
        "the database in {path} is from an older version of gaugewright (its schema is {found}, this one knows {known}); `gaugewright serve` brings it up to date when it starts"
    )]
    Older {
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

impl Error {
    /// Whether the database is sound and others kept it busy for longer than somebody may wait.
    pub const fn busy(&self) -> bool {
        matches!(self, Self::Database(sqlx::Error::PoolTimedOut))
    }
}

/// Why the system refused, in words for whoever typed a path.
fn plain(cause: &std::io::Error) -> String {
    match cause.kind() {
        std::io::ErrorKind::NotFound => "there is nothing under this name".to_owned(),
        std::io::ErrorKind::AlreadyExists => {
            "there is something under this name already".to_owned()
        }
        std::io::ErrorKind::PermissionDenied => "the system does not permit it".to_owned(),
        _ => cause.to_string(),
    }
}

/// What a question to the store answers.
pub type Result<T> = std::result::Result<T, Error>;

impl From<sqlx::Error> for Error {
    fn from(error: sqlx::Error) -> Self {
        match refusals::by_schema(&error) {
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
