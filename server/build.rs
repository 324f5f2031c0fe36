//! Applies the migrations to a scratch database in the build output folder and points the SQL
//! check of `sqlx` at it, so that a fresh tree builds with no running database and no committed
//! query data. Nothing else happens at build time.

use std::error::Error;
use std::path::{Path, PathBuf};
use std::str::FromStr;

use sqlx::ConnectOptions;
use sqlx::migrate::Migrator;
use sqlx::sqlite::SqliteConnectOptions;

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=migrations");
    println!("cargo:rerun-if-changed=sqlx.toml");
    println!("cargo:rerun-if-changed=server/build.rs");

    let out = PathBuf::from(std::env::var("OUT_DIR")?);
    // Begun anew each time, so that a half-made file is never taken for a whole one.
    let database = out.join("scratch.db");
    for ending in ["", "-wal", "-shm", "-journal"] {
        let file = out.join(format!("scratch.db{ending}"));
        if file.exists() {
            std::fs::remove_file(file)?;
        }
    }

    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?
        .block_on(migrate(&database))?;

    // SQLX_OFFLINE or DATABASE_URL of somebody's shell must not win over the scratch database.
    println!(
        "cargo:rustc-env=GAUGEWRIGHT_SCRATCH=sqlite://{}",
        database.display()
    );
    println!("cargo:rustc-env=SQLX_OFFLINE=false");
    Ok(())
}

async fn migrate(database: &Path) -> Result<(), Box<dyn Error>> {
    let address = format!("sqlite://{}", database.display());
    let mut connection = SqliteConnectOptions::from_str(&address)?
        .create_if_missing(true)
        .connect()
        .await?;
    Migrator::new(Path::new("migrations"))
        .await?
        .run_direct(None, &mut connection, false)
        .await?;
    Ok(())
}
