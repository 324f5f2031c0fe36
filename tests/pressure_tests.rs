//! Pressure tests: recording, witnessing, certifying, the list, and numbers without a gap.

mod certificate;
mod certificates;
mod list;
mod numbers;
mod plan;
mod record;
mod show;
mod sign;
mod witness;
pub mod world;
