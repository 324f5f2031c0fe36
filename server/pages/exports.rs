//! How far exports under way have come, so that a page can say it. It is kept in memory by the
//! export's own ticket and forgotten when it ends; what is exported is the affair of its page.

use std::collections::HashMap;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use tokio::sync::{Semaphore, SemaphorePermit};

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

/// The exports under way or lately ended, by ticket, and whose turn it is to set papers.
#[derive(Debug)]
pub struct Exports {
    list: Mutex<HashMap<String, Arc<Progress>>>,
    turn: Semaphore,
}

impl Default for Exports {
    fn default() -> Self {
        Self {
            list: Mutex::default(),
            turn: Semaphore::new(1),
        }
    }
}

impl Exports {
    /// Begins one.
    pub fn begin(&self, ticket: &str) -> Arc<Progress> {
        let mut list = self.list.lock().unwrap_or_else(PoisonError::into_inner);
        if list.len() >= REMEMBERED {
            list.clear();
        }
        let progress = Arc::new(Progress::default());
        list.insert(ticket.to_owned(), Arc::clone(&progress));
        progress
    }

    /// Waits for the turn to set papers; it is given back when dropped.
    pub async fn turn(&self) -> Option<SemaphorePermit<'_>> {
        // It is never closed, so there is always a turn.
        self.turn.acquire().await.ok()
    }

    /// How far one has come.
    pub fn of(&self, ticket: &str) -> Option<Arc<Progress>> {
        let list = self.list.lock().unwrap_or_else(PoisonError::into_inner);
        list.get(ticket).cloned()
    }
}
