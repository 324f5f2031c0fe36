//! The ground floor: every number the product computes, as pure functions of typed quantities.
//! No web, database, clock, random source or logging is known here; see the list of rules below.
//!
//! # Conventions all files of this folder keep to
//!
//! - Pressures are gauge pressures ([`quantity::GaugePressure`]) unless the type says
//!   [`quantity::AbsolutePressure`]; the standard atmosphere is 101 325 Pa.
//! - A value as a person stamped or typed it is a [`quantity::Stamped`] (decimal and unit); the
//!   conversion into SI is exact by definition and happens once, at the door of a function.
//! - Rounding is the last step and goes to the safe side where a limit depends on it: a required
//!   test pressure rounds up, a usable wall rounds down.
//! - Dates are civil dates of the plant; "today" is always an argument.
//! - A refused input names itself and its allowed range ([`OutOfRange`]).
//! - A function that a person acts on returns its [`working::Working`] beside the result.

pub mod bolting;
pub mod calendar;
pub mod conformance;
pub mod demand;
pub mod due;
pub mod excess;
pub mod flatness;
pub mod hold;
pub mod life;
pub mod long_run;
pub mod lots;
pub mod needs;
mod numeric;
mod out_of_range;
pub mod outlook;
pub mod pressure_test;
pub mod quantity;
pub mod ranks;
pub mod rating;
pub mod rebuild_age;
pub mod renewal;
pub mod reorder;
pub mod saturation;
pub mod seat;
pub mod shown;
pub mod stock_plan;
mod stock_play;
pub mod stored_energy;
pub mod survival;
pub mod tighten;
pub mod trapped;
pub mod trend;
pub mod uncertainty;
pub mod wall;
pub mod water;
pub mod weibull;
pub mod working;

pub use out_of_range::OutOfRange;
