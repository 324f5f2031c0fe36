//! Recalls: an instrument found out of tolerance or a lot found bad, all that relied on it, and the
//! engineer's decision about each. Everybody signed in may look.

pub mod list;
pub mod open;
pub mod show;
