//! Gauges: the register's list, one gauge with its nameplate and history, and correcting it.
//! Everybody signed in may look; engineers and administrators correct.

pub mod edit;
pub mod list;
pub mod show;
