//! The part Workings: every computation, tried with one's own numbers, shown and printed.
//! What is computed stands in `crate::workings`; nothing here writes to the register.

pub mod list;
pub mod show;
mod shown;
mod typed;
