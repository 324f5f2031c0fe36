//! What each command does, and the exit code it ends with: 0 done, 1 a check found something,
//! 2 wrong arguments, 69 cannot serve (port, lock), 73 cannot write, 65 a database not ours.

use std::io::ErrorKind;
use std::net::SocketAddr;
use std::path::Path;
use std::process::ExitCode;

use tokio::net::TcpListener;
use tracing_subscriber::EnvFilter;

use crate::acts;
use crate::demo;
use crate::pages::{App, routes};
use crate::papers::{self, check::Asked, check::Verdict};
use crate::record::moment::{Clock, Zone};
use crate::settings::{Command, Demo, KeyAction, Serve};
use crate::store::{self, Store};

/// Why a command ended without doing its work.
#[derive(Debug, thiserror::Error)]
enum Failure {
    #[error(transparent)]
    Store(#[from] store::Error),
    #[error(transparent)]
    Act(#[from] acts::Error),
    #[error("cannot listen on {address}: {cause}")]
    Listen {
        address: String,
        cause: std::io::Error,
    },
    #[error("the server stopped: {0}")]
    Served(std::io::Error),
}

impl Failure {
    fn code(&self) -> u8 {
        match self {
            Self::Listen { .. } | Self::Served(_) => 69,
            // The same file that cannot be written ends the same, whichever floor says so.
            Self::Store(error) | Self::Act(acts::Error::Store(error)) => match error {
                store::Error::InUse(_) => 69,
                store::Error::Folder { .. } => 73,
                store::Error::Newer { .. }
                | store::Error::Older { .. }
                | store::Error::Foreign(_) => 65,
                _ => 70,
            },
            Self::Act(_) => 70,
        }
    }

    fn words(&self) -> String {
        match self {
            Self::Listen { address, cause } if cause.kind() == ErrorKind::AddrInUse => format!(
                "another program already listens on {address}; stop it or choose another address with --listen"
            ),
            other => other.to_string(),
        }
    }
}

/// Runs a command to its end.
pub async fn run(command: Command) -> ExitCode {
    let done = match command {
        Command::Serve(settings) => serve(&settings, Clock::Machine)
            .await
            .map(|()| ExitCode::SUCCESS),
        Command::Demo(settings) => demo(&settings).await.map(|()| ExitCode::SUCCESS),
        Command::Backup { folder, file } => backup(&folder.data, &file).await,
        Command::Key { action } => key(action).await,
        Command::Health { listen } => match crate::health::ask(listen) {
            Ok(()) => Ok(ExitCode::SUCCESS),
            Err(error) => {
                eprintln!("gaugewright: the server on {listen} does not answer well: {error}");
                Ok(ExitCode::from(1))
            }
        },
        Command::Compute(asked) => Ok(crate::compute::run(&asked)),
        Command::Verify {
            folder,
            certificate: Some(file),
            code: _,
        } => check(&folder.data, Some(&file), None).await,
        Command::Verify {
            folder,
            certificate: None,
            code: Some(code),
        } => check(&folder.data, None, Some(code)).await,
        Command::Verify { folder, .. } => verify(&folder.data).await,
    };
    done.unwrap_or_else(|failure| {
        eprintln!("gaugewright: {}", failure.words());
        ExitCode::from(failure.code())
    })
}

async fn demo(settings: &Demo) -> Result<(), Failure> {
    start_log(&settings.serve);
    let folder = &settings.serve.folder.data;
    std::fs::create_dir_all(folder).map_err(|cause| store::Error::Folder {
        what: "cannot make the folder",
        path: folder.display().to_string(),
        cause,
    })?;
    if !folder.join("register.db").is_file() {
        println!(
            "Making the invented plant with {} gauges …",
            settings.gauges
        );
    }
    let size = demo::Size {
        gauges: settings.gauges,
        kits: settings.kits,
        stock_lines: settings.stock_lines,
    };
    demo::make(folder, &Clock::Machine, size).await?;
    if settings.only_make {
        return Ok(());
    }
    println!(
        "Sign in as one of these; the password of all is: {}",
        demo::plant::PASSWORD
    );
    for (sign_in, name, role) in demo::plant::PEOPLE {
        println!("  {sign_in:<14} {name}, {role}");
    }
    serve(&settings.serve, Clock::Machine).await
}

async fn verify(folder: &Path) -> Result<ExitCode, Failure> {
    let mut db = store::open_for_reading(folder).await?;
    let report = acts::verify::verify(&mut db).await?;
    for finding in &report.findings {
        println!("WRONG  {finding}");
    }
    if report.more > 0 {
        println!("WRONG  and {} more", report.more);
    }
    println!(
        "{} audit lines, {} sealed records, {} certificates ({} signed), {} due dates and {} checked: {}",
        report.lines,
        report.records,
        report.certificates,
        report.signatures,
        report.due_dates,
        report.kits_of(),
        if report.sound() {
            "all sound"
        } else {
            "NOT sound"
        }
    );
    for words in report.left_out() {
        println!("LEFT OUT  {words}");
    }
    println!("Head of the chain: {}", report.head);
    Ok(if report.sound() {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

async fn backup(folder: &Path, file: &Path) -> Result<ExitCode, Failure> {
    store::copy_to(folder, file).await?;
    println!("copied the register to {}", file.display());
    if let Some(key) = acts::keys::copy_beside(folder, file)? {
        println!(
            "copied the signing key to {}; keep it where only those who may sign can read it",
            key.display()
        );
    }
    Ok(ExitCode::SUCCESS)
}

async fn key(action: KeyAction) -> Result<ExitCode, Failure> {
    match action {
        KeyAction::Rotate { folder, reason } => {
            let store = Store::open(&folder.data).await?;
            let mut deed =
                acts::Deed::begin(&store, &Clock::Machine, acts::Who::program(), None).await?;
            let key = acts::keys::change(&mut deed, &reason).await?;
            deed.commit("").await?;
            acts::keys::changed(&store)?;
            store.close().await;
            println!(
                "certificates are signed with key {} from now on",
                key.fingerprint
            );
        }
        KeyAction::List { folder } => {
            let mut db = store::open_for_reading(&folder.data).await?;
            let keys = store::keys::all(&mut db).await?;
            if keys.is_empty() {
                println!("no key yet; one is made when the register is first served");
            }
            for (place, line) in keys.iter().enumerate() {
                println!(
                    "{}  {}  {} certificates  {}{}",
                    line.key.fingerprint,
                    line.made_at.text(),
                    line.certificates,
                    line.reason,
                    if place == 0 { "  (in use)" } else { "" }
                );
                if let Some(pem) = line.key.pem() {
                    print!("{pem}");
                }
            }
        }
    }
    Ok(ExitCode::SUCCESS)
}

/// Checks one certificate against the register, without a server.
async fn check(
    folder: &Path,
    file: Option<&Path>,
    code: Option<String>,
) -> Result<ExitCode, Failure> {
    let mut db = store::open_for_reading(folder).await?;
    let asked = match (file, code) {
        (Some(file), _) => {
            let bytes = std::fs::read(file).map_err(|cause| store::Error::Folder {
                what: "cannot read",
                path: file.display().to_string(),
                cause,
            })?;
            Asked::File(bytes)
        }
        (None, code) => Asked::Code(code.unwrap_or_default()),
    };
    let found = papers::check::check(&mut db, asked).await?;
    println!("{}", found.verdict.word());
    for words in &found.words {
        println!("  {words}");
    }
    Ok(if found.verdict == Verdict::Genuine {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

fn start_log(settings: &Serve) {
    let filter = EnvFilter::try_new(&settings.log).unwrap_or_else(|_| EnvFilter::new("info"));
    let log = tracing_subscriber::fmt()
        .with_env_filter(filter)
        // Colours are for a terminal; in a file they are noise.
        .with_ansi(std::io::IsTerminal::is_terminal(&std::io::stderr()))
        .with_writer(std::io::stderr);
    // A second start in one process (tests) keeps the first log.
    let _ = if settings.log_form == "json" {
        log.json().try_init()
    } else {
        log.compact().try_init()
    };
}

async fn serve(settings: &Serve, clock: Clock) -> Result<(), Failure> {
    start_log(settings);
    let listener = TcpListener::bind(settings.listen)
        .await
        .map_err(|cause| Failure::Listen {
            address: settings.listen.to_string(),
            cause,
        })?;
    let store = Store::open(&settings.folder.data).await?;
    let key = acts::keys::ready(&store, &clock).await?;
    tracing::info!(
        key = key.fingerprint,
        "certificates are signed with this key"
    );
    let stop = stop_asked().map_err(Failure::Served)?;
    let here = listener.local_addr().map_err(Failure::Served)?;
    let address = settings
        .public_address
        .clone()
        .unwrap_or_else(|| format!("http://{here}"));
    acts::refresh_many::bring_up_to_date(&store, today(&store, &clock).await?).await?;
    if let Some(token) = acts::people::first_address(&store, &clock).await? {
        println!("This plant has no administrator yet. Open this address once, within three days:");
        println!("  {address}/people/first/{}", token.text());
    }
    println!("Gaugewright serves {address}");
    let tidying = tokio::spawn(forget_old_lists(store.clone(), clock.clone()));
    let reckoning = tokio::spawn(reckon_each_day(store.clone(), clock.clone()));
    let app = App::behind(
        store.clone(),
        clock,
        settings.public_address.clone(),
        settings.trusted_proxy.clone(),
    );
    let service = routes::service(&app).into_make_service_with_connect_info::<SocketAddr>();
    axum::serve(listener, service)
        .with_graceful_shutdown(stop)
        .await
        .map_err(Failure::Served)?;
    tidying.abort();
    reckoning.abort();
    store.close().await;
    tracing::info!("stopped");
    Ok(())
}

/// The plant's date.
async fn today(store: &Store, clock: &Clock) -> Result<time::Date, store::Error> {
    let plant = store::plant::find(&mut *store.read().await?).await?;
    Ok(plant
        .map_or_else(Zone::utc, |plant| plant.zone)
        .date(clock.now()))
}

/// Reckons what to order anew when a day begins, some kits at a time, so that nobody waits for it.
async fn reckon_each_day(store: Store, clock: Clock) {
    loop {
        let more = match today(&store, &clock).await {
            Ok(today) => acts::needs::new_day(&store, today).await,
            Err(error) => Err(error.into()),
        };
        let wait = match more {
            Ok(true) => std::time::Duration::from_millis(200),
            Ok(false) => std::time::Duration::from_mins(5),
            Err(error) => {
                tracing::error!(cause = %error, "what to order could not be reckoned anew");
                std::time::Duration::from_mins(5)
            }
        };
        tokio::time::sleep(wait).await;
    }
}

/// Forgets plants' lists nobody took in, once they are a week old.
async fn forget_old_lists(store: Store, clock: Clock) {
    loop {
        if let Err(error) = acts::bring_in::forget(&store, &clock).await {
            tracing::error!(cause = %error, "old lists could not be forgotten");
        }
        tokio::time::sleep(std::time::Duration::from_hours(1)).await;
    }
}

/// Listens for the terminal's interrupt and the system's request to end, from now on: whoever reads
/// that the server runs may ask it to stop at once.
#[cfg(unix)]
fn stop_asked() -> std::io::Result<impl Future<Output = ()>> {
    use tokio::signal::unix::{SignalKind, signal};
    let mut interrupt = signal(SignalKind::interrupt())?;
    let mut terminate = signal(SignalKind::terminate())?;
    Ok(async move {
        tokio::select! {
            _ = interrupt.recv() => {}
            _ = terminate.recv() => {}
        }
    })
}

/// Listens for the terminal's interrupt.
#[cfg(not(unix))]
fn stop_asked() -> std::io::Result<impl Future<Output = ()>> {
    Ok(async {
        let _ = tokio::signal::ctrl_c().await;
    })
}
