//! Every public computation under a name of the trade: what goes in, what comes out, a sample, and
//! the function of `calc` that does it. Command line and pages read this list; nothing is computed here.

mod dates;
mod faces;
mod fields;
mod fleet;
mod kits;
mod life;
mod orders;
mod pressure;
mod registry;
mod repair;
mod tightening;
mod typed;
mod units;
mod wall;
mod water;

pub use fields::{Field, Kind};
pub use registry::{Answer, Care, Computation, Part, Refused, all, find, nearest};
pub use typed::symbol;
