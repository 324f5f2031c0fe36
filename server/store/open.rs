//! Opening the database: one writer, several readers, every setting read back, and a lock on the
//! folder so that two servers never share it. Backups and offline reading are opened here too.

use std::collections::HashMap;
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use sqlx::migrate::Migrator;
use sqlx::pool::PoolConnection;
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteJournalMode, SqlitePool, SqlitePoolOptions, SqliteSynchronous,
};
use sqlx::{ConnectOptions, Connection, Sqlite, SqliteConnection, Transaction};

use super::{Error, Result, audit};

static MIGRATIONS: Migrator = sqlx::migrate!();

/// "GWRT" in ASCII: marks the file as this product's.
const APPLICATION_ID: i64 = 0x4757_5254;
/// Large enough for the busiest minute, small enough not to matter on disk.
const JOURNAL_LIMIT: i64 = 64 * 1024 * 1024;
/// How many connections may read at a time; each stays open once it was needed.
pub const READERS: u32 = 6;
/// What may be left undone waits this long for the writer: longer than it takes to hand it on.
const A_MOMENT: Duration = Duration::from_millis(100);

/// What the keys of forms are made with; never shown.
#[derive(Clone)]
pub struct FormSecret(Arc<[u8]>);

impl FormSecret {
    /// Its bytes.
    pub fn bytes(&self) -> &[u8] {
        &self.0
    }
}

impl std::fmt::Debug for FormSecret {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("FormSecret")
    }
}

/// The database of one plant, opened for serving.
#[derive(Debug, Clone)]
pub struct Store {
    writer: SqlitePool,
    readers: SqlitePool,
    folder: PathBuf,
    canonical: Arc<HashMap<&'static str, String>>,
    form_secret: FormSecret,
    _lock: Arc<File>,
}

fn folder_error(what: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> Error {
    move |cause| Error::Folder {
        what,
        path: path.display().to_string(),
        cause,
    }
}

/// The newest schema this program knows.
fn known_schema() -> i64 {
    MIGRATIONS
        .iter()
        .map(|migration| migration.version)
        .max()
        .unwrap_or(0)
}

/// Makes a folder that nobody else may look into; one that is there stays as it is.
fn make_folder(folder: &Path) -> std::io::Result<()> {
    let mut builder = std::fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    builder.create(folder)
}

/// Makes a file that nobody else may read, where it is not there yet.
fn own(file: &Path) -> std::io::Result<()> {
    let mut options = File::options();
    options.create(true).append(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options.open(file).map(drop)
}

fn database_file(folder: &Path) -> PathBuf {
    folder.join("register.db")
}

fn options(file: &Path) -> SqliteConnectOptions {
    SqliteConnectOptions::new()
        .filename(file)
        .busy_timeout(Duration::from_secs(10))
        .foreign_keys(true)
        .synchronous(SqliteSynchronous::Full)
        .pragma("trusted_schema", "OFF")
        .pragma("cell_size_check", "ON")
        .pragma("mmap_size", "0")
        .pragma("recursive_triggers", "ON")
        .statement_cache_capacity(400)
}

impl Store {
    /// Opens the plant's database in this folder, making both if they are not there.
    ///
    /// # Errors
    /// Names the folder that cannot be written, the process that holds it, or a database this
    /// program must not touch.
    pub async fn open(folder: &Path) -> Result<Self> {
        make_folder(folder).map_err(folder_error("cannot make the folder", folder))?;
        let lock_file = folder.join("in-use.lock");
        let lock = File::options()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&lock_file)
            .map_err(folder_error("cannot write", &lock_file))?;
        match lock.try_lock() {
            Ok(()) => {}
            Err(TryLockError::WouldBlock) => {
                return Err(Error::InUse(folder.display().to_string()));
            }
            Err(TryLockError::Error(cause)) => {
                return Err(folder_error("cannot lock", &lock_file)(cause));
            }
        }

        let file = database_file(folder);
        // What SQLite keeps beside the database gets the rights of the database.
        own(&file).map_err(folder_error("cannot write", &file))?;
        let writing = options(&file)
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal)
            .pragma("journal_size_limit", JOURNAL_LIMIT.to_string());
        let mut first = writing.clone().connect().await?;
        check_version(&mut first).await?;
        check_owner(&mut first, &file).await?;
        MIGRATIONS.run_direct(None, &mut first, false).await?;
        set_number(&mut first, "application_id", APPLICATION_ID).await?;
        set_number(&mut first, "user_version", known_schema()).await?;
        for (setting, wanted) in [
            ("journal_mode", "wal"),
            ("synchronous", "2"),
            ("foreign_keys", "1"),
            ("trusted_schema", "0"),
            ("cell_size_check", "1"),
            ("mmap_size", "0"),
            ("recursive_triggers", "1"),
            ("application_id", "1196905044"),
        ] {
            let found = pragma(&mut first, setting).await?;
            if found != wanted {
                return Err(Error::Setting { setting, found });
            }
        }
        let mut canonical = HashMap::new();
        for table in audit::SEALED {
            canonical.insert(*table, audit::canonical_sql(&mut first, table).await?);
        }
        let secret = sqlx::query_scalar!("SELECT secret FROM form_secret WHERE id = 1")
            .fetch_one(&mut first)
            .await?;
        first.close().await?;

        let writer = SqlitePoolOptions::new()
            .max_connections(1)
            .min_connections(1)
            .idle_timeout(None)
            .max_lifetime(None)
            .acquire_timeout(Duration::from_secs(20))
            .connect_with(writing)
            .await?;
        let readers = SqlitePoolOptions::new()
            .max_connections(READERS)
            .min_connections(1)
            .idle_timeout(None)
            .max_lifetime(None)
            .acquire_timeout(Duration::from_secs(20))
            .connect_with(
                options(&file)
                    .pragma("query_only", "ON")
                    .pragma("wal_autocheckpoint", "0"),
            )
            .await?;
        Ok(Self {
            writer,
            readers,
            folder: folder.to_owned(),
            canonical: Arc::new(canonical),
            form_secret: FormSecret(secret.into()),
            _lock: Arc::new(lock),
        })
    }

    /// A connection to ask questions on; it cannot write.
    ///
    /// # Errors
    /// Fails when none becomes free in time.
    pub async fn read(&self) -> Result<PoolConnection<Sqlite>> {
        Ok(self.readers.acquire().await?)
    }

    /// Begins the one writing transaction there can be at a time.
    ///
    /// # Errors
    /// Fails when the writer does not become free in time.
    pub async fn write(&self) -> Result<Transaction<'static, Sqlite>> {
        Ok(self.writer.begin_with("BEGIN IMMEDIATE").await?)
    }

    /// The writing connection for one statement that lasts by itself, unless somebody else is writing
    /// just now and goes on for more than a moment.
    ///
    /// # Errors
    /// Fails when the connection itself does.
    pub async fn write_soon(&self) -> Result<Option<PoolConnection<Sqlite>>> {
        match tokio::time::timeout(A_MOMENT, self.writer.acquire()).await {
            Ok(connection) => Ok(Some(connection?)),
            Err(_) => Ok(None),
        }
    }

    /// The statement that gives the canonical text of a table's rows; see `audit::canonical_sql`.
    pub fn canonical(&self, table: &str) -> &str {
        self.canonical.get(table).map_or("", String::as_str)
    }

    /// What the keys of forms are made with.
    pub const fn form_secret(&self) -> &FormSecret {
        &self.form_secret
    }

    /// The plant's folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Lets the journal flow back into the database and closes every connection.
    pub async fn close(&self) {
        self.readers.close().await;
        self.writer.close().await;
    }
}

/// Opens a plant's database to look only, beside a running server.
///
/// # Errors
/// Says when there is no database, or one this program must not read, or one it cannot read before it
/// was brought up to date.
pub async fn open_for_reading(folder: &Path) -> Result<SqliteConnection> {
    let mut connection = open_as_it_is(folder).await?;
    let (found, known) = (schema(&mut connection).await?, known_schema());
    if found < known {
        return Err(Error::Older {
            path: database_file(folder).display().to_string(),
            found,
            known,
        });
    }
    Ok(connection)
}

/// Opens a plant's database to look only, whichever earlier version kept it last: its tables may lack
/// what this one knows of.
///
/// # Errors
/// Says when there is no database, or one this program must not read.
pub async fn open_as_it_is(folder: &Path) -> Result<SqliteConnection> {
    let file = database_file(folder);
    if !file.is_file() {
        return Err(folder_error("there is no register in", folder)(
            std::io::Error::from(std::io::ErrorKind::NotFound),
        ));
    }
    let mut connection = options(&file).pragma("query_only", "ON").connect().await?;
    check_version(&mut connection).await?;
    check_owner(&mut connection, &file).await?;
    Ok(connection)
}

/// Copies the database, while others use it, into one new file.
///
/// # Errors
/// Refuses to overwrite a file; names what cannot be written.
pub async fn copy_to(folder: &Path, file: &Path) -> Result<()> {
    if file.exists() {
        return Err(folder_error("will not overwrite", file)(
            std::io::Error::from(std::io::ErrorKind::AlreadyExists),
        ));
    }
    let parent = file
        .parent()
        .filter(|p| !p.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    if !parent.is_dir() {
        return Err(folder_error("there is no folder", parent)(
            std::io::Error::from(std::io::ErrorKind::NotFound),
        ));
    }
    let mut connection = open_as_it_is(folder).await?;
    sqlx::query("PRAGMA query_only = OFF")
        .execute(&mut connection)
        .await?;
    own(file).map_err(folder_error("cannot write", file))?;
    let target = file.display().to_string();
    sqlx::query("VACUUM INTO ?1")
        .bind(target)
        .execute(&mut connection)
        .await?;
    connection.close().await?;
    File::options()
        .write(true)
        .open(file)
        .and_then(|copy| copy.sync_all())
        .map_err(folder_error("cannot write", file))
}

async fn check_version(connection: &mut SqliteConnection) -> Result<()> {
    let version: String = sqlx::query_scalar("SELECT sqlite_version()")
        .fetch_one(connection)
        .await?;
    let mut parts = version
        .split('.')
        .map(|part| part.parse::<u32>().unwrap_or(0));
    let number = (
        parts.next().unwrap_or(0),
        parts.next().unwrap_or(0),
        parts.next().unwrap_or(0),
    );
    if number < (3, 51, 3) {
        return Err(Error::OldSqlite(version));
    }
    Ok(())
}

/// Refuses a database of another program or of a later version before anything is written.
async fn check_owner(connection: &mut SqliteConnection, file: &Path) -> Result<()> {
    let path = file.display().to_string();
    let tables: i64 = sqlx::query_scalar("SELECT count(*) FROM sqlite_schema")
        .fetch_one(&mut *connection)
        .await?;
    if tables == 0 {
        return Ok(());
    }
    let owner = pragma(connection, "application_id").await?;
    let schema = schema(connection).await?;
    if schema > known_schema() {
        return Err(Error::Newer {
            path,
            found: schema,
            known: known_schema(),
        });
    }
    if owner == APPLICATION_ID.to_string() {
        return Ok(());
    }
    // A first start that was cut off leaves the migrations behind and no mark yet.
    let ours: i64 =
        sqlx::query_scalar("SELECT count(*) FROM sqlite_schema WHERE name = '_sqlx_migrations'")
            .fetch_one(connection)
            .await?;
    if owner == "0" && ours == 1 {
        Ok(())
    } else {
        Err(Error::Foreign(path))
    }
}

/// The schema a database says it has.
async fn schema(connection: &mut SqliteConnection) -> Result<i64> {
    let said = pragma(connection, "user_version").await?;
    Ok(said.parse().unwrap_or(0))
}

async fn pragma(connection: &mut SqliteConnection, name: &'static str) -> Result<String> {
    use sqlx::{Row, ValueRef};
    let sql = sqlx::AssertSqlSafe(format!("PRAGMA {name}"));
    let row = sqlx::query(sql).fetch_one(connection).await?;
    let raw = row.try_get_raw(0)?;
    if raw.is_null() {
        return Ok(String::new());
    }
    row.try_get::<i64, _>(0)
        .map(|number| number.to_string())
        .or_else(|_| row.try_get::<String, _>(0))
        .map_err(Error::from)
}

async fn set_number(
    connection: &mut SqliteConnection,
    name: &'static str,
    value: i64,
) -> Result<()> {
    sqlx::query(sqlx::AssertSqlSafe(format!("PRAGMA {name} = {value}")))
        .execute(connection)
        .await?;
    Ok(())
}
