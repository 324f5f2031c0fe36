//! Pressure tests: recording, witnessing, certifying, the list, and numbers without a gap.

mod certificate;
mod list;
mod numbers;
mod record;
mod show;
pub mod world;
