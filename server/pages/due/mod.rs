//! Due: what falls due when, with the reason beside each date.
//! Planning the work into windows is another part.

pub mod list;
