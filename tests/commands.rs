//! The program as the shell sees it: what it prints, which code it ends with, what it refuses.

use std::io::{BufRead, BufReader};
use std::net::TcpListener;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

fn gaugewright(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_gaugewright"));
    command
        .args(arguments)
        .env_remove("GAUGEWRIGHT_DATA")
        .env("GAUGEWRIGHT_LOG", "warn");
    command
}

fn run(arguments: &[&str]) -> (Option<i32>, String) {
    let Output {
        status,
        stdout,
        stderr,
    } = gaugewright(arguments).output().expect("it runs");
    let words = String::from_utf8_lossy(&stdout).into_owned() + &String::from_utf8_lossy(&stderr);
    (status.code(), words)
}

fn text(path: &Path) -> &str {
    path.to_str().expect("a path")
}

/// A server that is stopped when the test ends.
struct Served {
    child: Child,
    lines: Vec<String>,
    address: String,
}

impl Served {
    fn start(folder: &Path) -> Self {
        let mut child = gaugewright(&["serve", "--data", text(folder), "--listen", "127.0.0.1:0"])
            .stdout(Stdio::piped())
            .spawn()
            .expect("it starts");
        let mut out = BufReader::new(child.stdout.take().expect("its output"));
        let mut lines = Vec::new();
        let address = loop {
            let mut line = String::new();
            assert!(
                out.read_line(&mut line).expect("a line") > 0,
                "it ended: {lines:?}"
            );
            lines.push(line.trim().to_owned());
            if let Some(address) = line.trim().strip_prefix("Gaugewright serves http://") {
                break address.to_owned();
            }
        };
        Self {
            child,
            lines,
            address,
        }
    }
}

impl Served {
    /// Asks the server to end and waits until it has.
    fn stop(mut self) -> std::process::ExitStatus {
        let id = self.child.id().to_string();
        Command::new("kill")
            .args(["-TERM", &id])
            .status()
            .expect("kill");
        self.child.wait().expect("it ends")
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn an_empty_plant_prints_a_one_time_address_for_its_first_administrator() {
    let folder = tempfile::tempdir().expect("a folder");
    let served = Served::start(folder.path());
    assert!(
        served.lines.iter().any(|l| l.contains("/people/first/")),
        "{:?}",
        served.lines
    );
}

#[test]
fn a_second_start_is_up_in_under_a_second() {
    let folder = tempfile::tempdir().expect("a folder");
    drop(Served::start(folder.path()));
    let begun = Instant::now();
    let _served = Served::start(folder.path());
    assert!(
        begun.elapsed() < Duration::from_secs(1),
        "{:?}",
        begun.elapsed()
    );
}

#[test]
fn a_port_that_is_taken_is_named_with_what_to_do() {
    let folder = tempfile::tempdir().expect("a folder");
    let other = TcpListener::bind("127.0.0.1:0").expect("a port");
    let address = other.local_addr().expect("its address").to_string();
    let (code, words) = run(&["serve", "--data", text(folder.path()), "--listen", &address]);
    assert_eq!(code, Some(69), "{words}");
    assert!(
        words.contains("another program already listens on") && words.contains("--listen"),
        "{words}"
    );
}

#[test]
fn a_second_server_on_the_same_folder_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let _first = Served::start(folder.path());
    let (code, words) = run(&[
        "serve",
        "--data",
        text(folder.path()),
        "--listen",
        "127.0.0.1:0",
    ]);
    assert_eq!(code, Some(69), "{words}");
    assert!(
        words.contains("another gaugewright is already using"),
        "{words}"
    );
}

#[test]
fn a_folder_that_cannot_be_made_is_named() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("a-file");
    std::fs::write(&file, "in the way").expect("a file");
    let (code, words) = run(&[
        "serve",
        "--data",
        text(&file.join("data")),
        "--listen",
        "127.0.0.1:0",
    ]);
    assert_eq!(code, Some(73), "{words}");
    assert!(
        words.contains("cannot make the folder") && words.contains("a-file"),
        "{words}"
    );
}

#[test]
fn a_database_of_a_newer_version_is_left_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    Served::start(folder.path()).stop();
    let file = folder.path().join("register.db");
    let mut bytes = std::fs::read(&file).expect("the file");
    // user_version stands at byte 60 of the header (SQLite file format, 1.3).
    bytes[60..64].copy_from_slice(&9_999_u32.to_be_bytes());
    std::fs::write(&file, &bytes).expect("written");
    let (code, words) = run(&[
        "serve",
        "--data",
        text(folder.path()),
        "--listen",
        "127.0.0.1:0",
    ]);
    assert_eq!(code, Some(65), "{words}");
    assert!(
        words.contains("from a newer version of gaugewright"),
        "{words}"
    );
    assert!(
        std::fs::read(&file).expect("the file") == bytes,
        "it was touched"
    );
}

#[test]
fn a_register_of_an_older_version_is_copied_and_read_only_after_it_was_served() {
    let folder = tempfile::tempdir().expect("a folder");
    Served::start(folder.path()).stop();
    let file = folder.path().join("register.db");
    let mut bytes = std::fs::read(&file).expect("the file");
    bytes[60..64].copy_from_slice(&76_u32.to_be_bytes());
    std::fs::write(&file, &bytes).expect("written");
    let (code, words) = run(&["verify", "--data", text(folder.path())]);
    assert_eq!(code, Some(65), "{words}");
    assert!(
        words.contains("from an older version of gaugewright")
            && words.contains("`gaugewright serve`"),
        "{words}"
    );
    // It is saved before it is changed: a copy is to be had at once.
    let copies = tempfile::tempdir().expect("a folder");
    let copy = copies.path().join("register.db");
    let (code, words) = run(&["backup", "--data", text(folder.path()), text(&copy)]);
    assert_eq!(code, Some(0), "{words}");
    Served::start(folder.path()).stop();
    let (code, words) = run(&["verify", "--data", text(folder.path())]);
    assert_eq!(code, Some(0), "{words}");
}

#[test]
fn a_demo_plant_of_an_older_version_is_taken_for_what_it_is() {
    let folder = tempfile::tempdir().expect("a folder");
    let make = [
        "demo",
        "--only-make",
        "--gauges",
        "10",
        "--data",
        text(folder.path()),
    ];
    let (code, words) = run(&make);
    assert_eq!(code, Some(0), "{words}");
    let file = folder.path().join("register.db");
    let mut bytes = std::fs::read(&file).expect("the file");
    bytes[60..64].copy_from_slice(&76_u32.to_be_bytes());
    std::fs::write(&file, &bytes).expect("written");
    let (code, words) = run(&make);
    assert_eq!(code, Some(0), "{words}");
}

#[test]
fn a_file_of_another_program_is_left_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(
        folder.path().join("register.db"),
        "not a database, but long enough to be read as one?".repeat(40),
    )
    .expect("a file");
    let (code, words) = run(&[
        "serve",
        "--data",
        text(folder.path()),
        "--listen",
        "127.0.0.1:0",
    ]);
    assert!(code == Some(65) || code == Some(70), "{words}");
    assert!(
        words.contains("not a database") || words.contains("not a gaugewright database"),
        "{words}"
    );
}

#[test]
fn backup_and_verify_work_beside_a_running_server() {
    let folder = tempfile::tempdir().expect("a folder");
    let served = Served::start(folder.path());
    assert!(served.address.starts_with("127.0.0.1:"));
    let copies = tempfile::tempdir().expect("a folder");
    let copy = copies.path().join("register.db");
    let (code, words) = run(&["backup", "--data", text(folder.path()), text(&copy)]);
    assert_eq!(code, Some(0), "{words}");
    for data in [folder.path(), copies.path()] {
        let (code, words) = run(&["verify", "--data", text(data)]);
        assert_eq!(code, Some(0), "{words}");
        assert!(words.contains("all sound"), "{words}");
    }
    let key = copies.path().join("register.db.signing-key.pem");
    assert!(key.is_file(), "the signing key belongs to the backup");
    let (code, words) = run(&["backup", "--data", text(folder.path()), text(&copy)]);
    assert_eq!(code, Some(73), "{words}");
    assert!(words.contains("will not overwrite"), "{words}");
}

#[test]
fn verify_says_when_there_is_no_register() {
    let folder = tempfile::tempdir().expect("a folder");
    let (code, words) = run(&["verify", "--data", text(folder.path())]);
    assert_eq!(code, Some(73), "{words}");
    assert!(words.contains("there is no register in"), "{words}");
}

#[test]
fn the_signing_key_is_listed_and_changed_while_nobody_serves() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = text(folder.path());
    let served = Served::start(folder.path());
    let (code, words) = run(&["key", "list", "--data", data]);
    assert_eq!(code, Some(0), "{words}");
    assert_eq!(words.matches("BEGIN PUBLIC KEY").count(), 1, "{words}");
    let rotate = [
        "key",
        "rotate",
        "--data",
        data,
        "--reason",
        "the yearly change",
    ];
    let (code, words) = run(&rotate);
    assert_eq!(code, Some(69), "{words}");
    served.stop();
    let (code, words) = run(&rotate);
    assert_eq!(code, Some(0), "{words}");
    let (_, words) = run(&["key", "list", "--data", data]);
    assert_eq!(words.matches("BEGIN PUBLIC KEY").count(), 2, "{words}");
    assert!(words.contains("the yearly change"), "{words}");
    let (code, words) = run(&["verify", "--data", data]);
    assert_eq!(code, Some(0), "{words}");
}

#[test]
fn verify_tells_of_one_file_or_code_without_a_server() {
    let folder = tempfile::tempdir().expect("a folder");
    Served::start(folder.path()).stop();
    let file = folder.path().join("other.pdf");
    std::fs::write(&file, b"%PDF-1.7 and nothing else").expect("a file");
    let data = text(folder.path());
    let (code, words) = run(&["verify", "--data", data, "--certificate", text(&file)]);
    assert_eq!(code, Some(1), "{words}");
    assert!(words.starts_with("unknown"), "{words}");
    let (code, words) = run(&["verify", "--data", data, "--code", "7K3M-9QXT-2HVW"]);
    assert_eq!(code, Some(1), "{words}");
    assert!(words.starts_with("unknown"), "{words}");
}

#[test]
fn wrong_arguments_end_with_code_two() {
    let (code, words) = run(&["serve", "--listen", "somewhere"]);
    assert_eq!(code, Some(2), "{words}");
}

#[cfg(unix)]
#[test]
fn a_request_to_end_stops_the_server_in_good_order() {
    let folder = tempfile::tempdir().expect("a folder");
    let status = Served::start(folder.path()).stop();
    assert!(status.success(), "{status}");
    assert!(
        !folder.path().join("register.db-wal").exists(),
        "the journal flowed back"
    );
}

#[tokio::test]
async fn an_invented_plant_can_be_made_in_any_size() {
    use gaugewright::demo::{Size, make};
    use gaugewright::record::Moment;
    use gaugewright::record::moment::Clock;
    use time::macros::datetime;

    // The day on which plants of another size than the usual one could not be made.
    let clock = Clock::standing(Moment::new(datetime!(2026-11-30 01:25 UTC)));
    for gauges in [1, 12, 40] {
        let folder = tempfile::tempdir().expect("a folder");
        let size = Size {
            gauges,
            kits: 9,
            stock_lines: 0,
        };
        let made = make(folder.path(), &clock, size).await;
        assert!(made.is_ok_and(|made| made), "{gauges} gauges");
    }
}

#[test]
fn a_key_file_that_cannot_be_written_ends_with_code_73_like_any_other_file() {
    let folder = tempfile::tempdir().expect("a folder");
    drop(Served::start(folder.path()));
    let copy = folder.path().join("copy.db");
    let key = folder.path().join("copy.db.signing-key.pem");
    std::fs::write(&key, "taken").expect("a file in the way");
    let (code, words) = run(&["backup", "--data", text(folder.path()), text(&copy)]);
    assert_eq!(code, Some(73), "{words}");
}

#[test]
fn the_public_address_is_printed_with_one_slash_and_a_path_is_refused() {
    let folder = tempfile::tempdir().expect("a folder");
    let (code, words) = run(&[
        "serve",
        "--data",
        text(folder.path()),
        "--public-address",
        "https://gauges.example.org/register",
    ]);
    assert_eq!(code, Some(2), "{words}");
    assert!(
        words.contains("write scheme, name and perhaps a port only"),
        "{words}"
    );
    let (code, words) = run(&["serve", "--trusted-proxy", "10.0.0.0/40"]);
    assert_eq!(code, Some(2), "{words}");
}
