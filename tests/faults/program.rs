//! The built program on a port of its own, killed and started again.
//! What is asked of it meanwhile is not known here.

use std::io::{BufRead, BufReader};
use std::net::TcpListener;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

/// The program, served from a folder.
pub struct Program {
    folder: PathBuf,
    address: String,
    child: Mutex<Option<Child>>,
    up: AtomicBool,
}

impl Program {
    /// Starts it on a free port, which it keeps.
    pub fn start(folder: &Path) -> Self {
        let port = TcpListener::bind("127.0.0.1:0")
            .and_then(|free| free.local_addr())
            .expect("a free port");
        let program = Self {
            folder: folder.to_owned(),
            address: port.to_string(),
            child: Mutex::new(None),
            up: AtomicBool::new(false),
        };
        program.run();
        program
    }

    /// The address it listens on.
    pub fn address(&self) -> &str {
        &self.address
    }

    /// Whether it is meant to be up.
    pub fn up(&self) -> bool {
        self.up.load(Ordering::Relaxed)
    }

    fn run(&self) {
        let mut child = Command::new(env!("CARGO_BIN_EXE_gaugewright"))
            .args([
                "serve",
                "--listen",
                &self.address,
                "--log",
                "error",
                "--data",
            ])
            .arg(&self.folder)
            .stdout(Stdio::piped())
            .spawn()
            .expect("it starts");
        let mut out = BufReader::new(child.stdout.take().expect("its output"));
        let mut line = String::new();
        while !line.contains("serves http://") {
            line.clear();
            let read = out.read_line(&mut line).expect("a line");
            assert!(read > 0, "it ended while starting");
        }
        *self.child.lock().expect("the child") = Some(child);
        self.up.store(true, Ordering::Relaxed);
    }

    /// Ends it as `kill -9` does, at whatever it is doing, and starts it again.
    pub fn kill_and_start_again(&self) {
        self.end();
        self.run();
    }

    /// Ends it for good.
    pub fn stop(&self) {
        self.up.store(false, Ordering::Relaxed);
        self.end();
    }

    fn end(&self) {
        if let Some(mut child) = self.child.lock().expect("the child").take() {
            child.kill().expect("killed");
            child.wait().expect("it ended");
        }
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        if let Ok(mut child) = self.child.lock()
            && let Some(mut child) = child.take()
        {
            let _ = child.kill();
            let _ = child.wait();
        }
    }
}
