//! How often one address may check, and how many files are read at a time. It is kept in memory and
//! forgets; guessing codes is hopeless anyway, this keeps the machine free for its own people.

use std::collections::HashMap;
use std::net::{IpAddr, SocketAddr};
use std::str::FromStr;
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
/// Files on their way in at a time.
const SENDERS: usize = 64;

/// The gate.
#[derive(Debug)]
pub struct Gate {
    counts: Mutex<HashMap<String, (Moment, u32)>>,
    files: Semaphore,
    senders: Semaphore,
}

impl Gate {
    /// Nobody came yet.
    pub fn new() -> Self {
        Self {
            counts: Mutex::default(),
            files: Semaphore::new(AT_A_TIME),
            senders: Semaphore::new(SENDERS),
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

    /// Lets a file be sent, unless very many are on their way.
    pub fn sender(&self) -> Option<SemaphorePermit<'_>> {
        self.senders.try_acquire().ok()
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

/// Addresses whose `X-Forwarded-For` is believed: one, or all that begin with the same bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Network {
    address: IpAddr,
    bits: u32,
}

impl Network {
    /// Whether an address is one of them.
    pub fn holds(self, other: IpAddr) -> bool {
        let wide = |address: IpAddr| match address.to_canonical() {
            IpAddr::V4(four) => (32, u128::from(four.to_bits())),
            IpAddr::V6(six) => (128, six.to_bits()),
        };
        let ((length, own), (others, other)) = (wide(self.address), wide(other));
        let rest = length - self.bits.min(length);
        length == others && (rest == 128 || own >> rest == other >> rest)
    }
}

impl FromStr for Network {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || {
            format!("{text} is no address such as 10.0.0.1 and no network such as 172.16.0.0/12")
        };
        let (address, bits) = match text.trim().split_once('/') {
            Some((address, bits)) => (address, Some(bits.parse::<u32>().map_err(|_| wrong())?)),
            None => (text.trim(), None),
        };
        let address: IpAddr = address.parse().map_err(|_| wrong())?;
        let most = if address.is_ipv4() { 32 } else { 128 };
        let bits = bits.unwrap_or(most);
        if bits > most {
            return Err(wrong());
        }
        Ok(Self { address, bits })
    }
}

/// Where a request comes from. Behind a server that speaks TLS, on our own machine or among the
/// trusted, it is the last address that server wrote down.
pub fn from(trusted: &[Network], extensions: &Extensions, headers: &HeaderMap) -> String {
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
    let believed = |peer: IpAddr| {
        peer.to_canonical().is_loopback() || trusted.iter().any(|network| network.holds(peer))
    };
    match peer {
        Some(peer) if !believed(peer) => peer.to_string(),
        Some(peer) => told().unwrap_or_else(|| peer.to_string()),
        None => told().unwrap_or_else(|| "here".to_owned()),
    }
}

#[cfg(test)]
#[expect(clippy::expect_used, reason = "a test that cannot go on should stop")]
mod tests {
    use axum::extract::ConnectInfo;
    use axum::http::{Extensions, HeaderMap, HeaderValue};

    use super::*;

    fn seen(peer: &str, trusted: &[&str]) -> String {
        let trusted: Vec<Network> = trusted.iter().filter_map(|one| one.parse().ok()).collect();
        let mut extensions = Extensions::new();
        let peer: SocketAddr = peer.parse().expect("an address");
        extensions.insert(ConnectInfo(peer));
        let mut headers = HeaderMap::new();
        headers.insert(
            "x-forwarded-for",
            HeaderValue::from_static("198.51.100.9, 203.0.113.7"),
        );
        from(&trusted, &extensions, &headers)
    }

    #[test]
    fn an_address_is_believed_from_this_machine_and_from_the_trusted_only() {
        assert_eq!(seen("127.0.0.1:9", &[]), "203.0.113.7");
        assert_eq!(seen("172.18.0.1:9", &[]), "172.18.0.1");
        assert_eq!(seen("172.18.0.1:9", &["172.16.0.0/12"]), "203.0.113.7");
        assert_eq!(seen("172.32.0.1:9", &["172.16.0.0/12"]), "172.32.0.1");
        assert_eq!(seen("[::ffff:10.0.0.2]:9", &["10.0.0.2"]), "203.0.113.7");
        assert_eq!(seen("[2001:db8::1]:9", &["::/0"]), "203.0.113.7");
    }

    #[test]
    fn a_trusted_proxy_is_an_address_or_a_network() {
        for wrong in ["", "proxy", "10.0.0.0/33", "10.0.0.0/", "::/129"] {
            assert!(wrong.parse::<Network>().is_err(), "{wrong}");
        }
    }
}
