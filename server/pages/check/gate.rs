//! How often one address may check, and how many files are read at a time. It is kept in memory and
//! forgets; guessing codes is hopeless anyway, this keeps the machine free for its own people.

use std::collections::HashMap;
use std::net::{IpAddr, SocketAddr};
use std::sync::{Mutex, PoisonError};

use axum::extract::ConnectInfo;
use axum::http::Extensions;
use axum::http::HeaderMap;
use time::Duration;
use tokio::sync::{Semaphore, SemaphorePermit};

use crate::record::Moment;

/// Checks one address may make in a minute.
const A_MINUTE: u32 = 30;
/// Addresses remembered; beyond that the oldest minute is forgotten whole.
const REMEMBERED: usize = 10_000;
/// Files read at a time.
const AT_A_TIME: usize = 2;

/// The gate.
#[derive(Debug)]
pub struct Gate {
    counts: Mutex<HashMap<String, (Moment, u32)>>,
    files: Semaphore,
}

impl Gate {
    /// Nobody came yet.
    pub fn new() -> Self {
        Self {
            counts: Mutex::default(),
            files: Semaphore::new(AT_A_TIME),
        }
    }

    /// Whether somebody from this address may check now; counts it.
    pub fn admits(&self, from: &str, now: Moment) -> bool {
        let mut counts = self.counts.lock().unwrap_or_else(PoisonError::into_inner);
        if counts.len() >= REMEMBERED {
            counts.retain(|_, (since, _)| now.at() - since.at() < Duration::minutes(1));
            if counts.len() >= REMEMBERED {
                counts.clear();
            }
        }
        let entry = counts.entry(from.to_owned()).or_insert((now, 0));
        if now.at() - entry.0.at() >= Duration::minutes(1) {
            *entry = (now, 0);
        }
        entry.1 = entry.1.saturating_add(1);
        entry.1 <= A_MINUTE
    }

    /// Waits until a file may be read.
    pub async fn file(&self) -> Option<SemaphorePermit<'_>> {
        self.files.acquire().await.ok()
    }
}

impl Default for Gate {
    fn default() -> Self {
        Self::new()
    }
}

/// Where a request comes from. Behind a server of our own machine that speaks TLS, it is the last
/// address that server wrote down.
pub fn from(extensions: &Extensions, headers: &HeaderMap) -> String {
    let peer = extensions
        .get::<ConnectInfo<SocketAddr>>()
        .map(|ConnectInfo(address)| address.ip());
    let told = || {
        let written = headers.get_all("x-forwarded-for").iter().next_back()?;
        let address: IpAddr = written
            .to_str()
            .ok()?
            .rsplit(',')
            .next()?
            .trim()
            .parse()
            .ok()?;
        Some(address.to_string())
    };
    match peer {
        Some(peer) if !peer.is_loopback() => peer.to_string(),
        Some(peer) => told().unwrap_or_else(|| peer.to_string()),
        None => told().unwrap_or_else(|| "here".to_owned()),
    }
}
