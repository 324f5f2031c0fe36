//! Labels for gauges, lots and instruments: chosen here, printed as PDF. Everybody may print them.

pub mod choose;
pub mod sheet;
