//! Every test that needs no browser, in one binary: one file a part of the product, named as in
//! `pages/`; the world they share is `plant.rs`.

#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    reason = "a test that cannot go on should stop"
)]

mod access;
mod bench;
mod board;
mod calendar;
mod check;
mod commands;
mod demo;
mod due;
mod gauges;
mod help;
mod house;
mod instruments;
mod labels;
mod life;
mod needs;
mod orders;
mod papers;
mod people;
mod plant;
mod pressure_tests;
mod recalls;
mod reference;
mod schema;
mod search;
mod settings;
mod statements;
mod storeroom;
mod units;
mod verify;
mod windows;
mod workings;
