//! Gaugewright: a plant's register of armoured level gauges.
//!
//! # Floors
//! Imports go downwards only: `pages`, `papers`, `demo` → `acts` → `store` → `record` → `calc`; `workings`
//! stands on `calc` alone.
//! `tests/house.rs` reads the sources and keeps it so.
//!
//! # Where do I find …
//! - what a page shows: `pages/<part>/`, its template under the same word in `templates/<part>/`
//! - every address of the product: `pages/routes.rs`
//! - what a person's deed changes: `acts/`
//! - what is kept and how it is asked for: `store/`
//! - what a fact may be, and the states of a rebuild: `record/`
//! - any number a person acts on: `calc/`; under its name, with input, output and sample: `workings/`
//! - certificates and sheets: `papers/`
//! - the invented plant: `demo/`

pub mod acts;
pub mod calc;
pub mod commands;
pub mod compute;
pub mod demo;
pub mod health;
pub mod pages;
pub mod papers;
pub mod record;
pub mod settings;
pub mod store;
pub mod workings;
