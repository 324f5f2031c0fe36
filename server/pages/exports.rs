//! How far exports under way have come, so that a page can say it. It is kept in memory by the
//! export's own ticket and forgotten when it ends; what is exported is the affair of its page.

use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// Exports remembered at a time.
const REMEMBERED: usize = 50;

/// How far one export has come.
#[derive(Debug, Default)]
pub struct Progress {
    /// Certificates written.
    pub done: AtomicUsize,
    /// Certificates in all.
    pub all: AtomicUsize,
}

impl Progress {
    /// Written, and in all.
    pub fn now(&self) -> (usize, usize) {
        (
            self.done.load(Ordering::Relaxed),
            self.all.load(Ordering::Relaxed),
        )
    }
}

/// The exports under way or lately ended, by ticket.
#[derive(Debug, Default)]
pub struct Exports(Mutex<HashMap<String, Arc<Progress>>>);

impl Exports {
    /// Begins one.
    pub fn begin(&self, ticket: &str) -> Arc<Progress> {
        let mut list = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if list.len() >= REMEMBERED {
            list.clear();
        }
        let progress = Arc::new(Progress::default());
        list.insert(ticket.to_owned(), Arc::clone(&progress));
        progress
    }

    /// How far one has come.
    pub fn of(&self, ticket: &str) -> Option<Arc<Progress>> {
        let list = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        list.get(ticket).cloned()
    }
}
