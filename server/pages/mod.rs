//! HTTP and HTML: one folder a part of the product, one file a page. Pages parse what was typed,
//! ask `store` what to show and let `acts` do what people want done; they hold no rule of the trade.

pub mod address;
pub mod answer;
pub mod assets;
pub mod bench;
pub mod board;
pub mod calendar;
pub mod check;
pub mod chrome;
pub mod due;
pub mod exports;
pub mod form;
pub mod gauges;
pub mod glass;
pub mod health;
pub mod help;
pub mod hold_chart;
pub mod instruments;
pub mod known_browser;
pub mod labels;
pub mod layout;
pub mod life;
pub mod merge;
pub mod mistake;
pub mod needs;
pub mod orders;
pub mod paper;
pub mod people;
pub mod picture;
pub mod plant;
pub mod pressure_tests;
pub mod recalls;
pub mod routes;
pub mod search;
pub mod security;
pub mod service;
pub mod shelf;
pub mod show;
pub mod stock_chart;
pub mod storeroom;
pub mod story;
pub mod units;
pub mod upload;
pub mod windows;
pub mod workings;

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use tokio::sync::{OwnedSemaphorePermit, Semaphore};

use crate::record::moment::Clock;
use crate::store::Store;

/// What every handler may use.
#[derive(Debug, Clone)]
pub struct App(Arc<Inner>);

#[derive(Debug)]
struct Inner {
    store: Store,
    clock: Clock,
    public_address: Option<String>,
    proxies: Vec<check::Network>,
    workings: Arc<Semaphore>,
    gate: check::Gate,
    exports: exports::Exports,
    set_up: AtomicBool,
}

impl App {
    /// Puts the parts of the running program together.
    pub fn new(store: Store, clock: Clock, public_address: Option<String>) -> Self {
        Self::behind(store, clock, public_address, Vec::new())
    }

    /// The same behind servers whose word is taken on where a request comes from.
    pub fn behind(
        store: Store,
        clock: Clock,
        public_address: Option<String>,
        proxies: Vec<check::Network>,
    ) -> Self {
        Self(Arc::new(Inner {
            store,
            clock,
            public_address,
            proxies,
            workings: Arc::new(Semaphore::new(1)),
            gate: check::Gate::new(),
            exports: exports::Exports::default(),
            set_up: AtomicBool::new(false),
        }))
    }

    /// The register.
    pub fn store(&self) -> &Store {
        &self.0.store
    }

    /// The clock.
    pub fn clock(&self) -> &Clock {
        &self.0.clock
    }

    /// How often and how many at a time may check certificates.
    pub fn gate(&self) -> &check::Gate {
        &self.0.gate
    }

    /// Whose word is taken on where a request comes from, beside this machine's own.
    pub fn proxies(&self) -> &[check::Network] {
        &self.0.proxies
    }

    /// Waits for the turn to run a working that somebody tries: one at a time, so that the rest stays
    /// quick.
    pub async fn workings(&self) -> Option<OwnedSemaphorePermit> {
        Arc::clone(&self.0.workings).acquire_owned().await.ok()
    }

    /// Whether the plant was found set up since the program started.
    pub fn is_set_up(&self) -> bool {
        self.0.set_up.load(Ordering::Relaxed)
    }

    /// Notes that the plant is set up: the guide of its first hour asks no more.
    pub fn was_set_up(&self) {
        self.0.set_up.store(true, Ordering::Relaxed);
    }

    /// The exports under way.
    pub fn exports(&self) -> &exports::Exports {
        &self.0.exports
    }

    /// The address people reach the register under, where it was set.
    pub fn public_address(&self) -> Option<&str> {
        self.0.public_address.as_deref()
    }

    /// Whether browsers reach the register over TLS.
    pub fn behind_tls(&self) -> bool {
        self.public_address()
            .is_some_and(|address| address.starts_with("https://"))
    }
}
