//! Shutdown windows by area and the gauges that have to be done in them. Everybody reads them;
//! engineers and administrators agree and move them.

pub mod edit;
pub mod list;
mod needed;
pub mod pack;
pub mod plan;
pub mod show;
mod weighed;
mod wrenches;
