//! Checking a certificate by whoever holds one, signed in or not: by code, paper or record; the
//! plant's public keys; and the gate that keeps the page from being worn out.

pub mod ask;
mod gate;
pub mod keys;

pub use gate::{Gate, Network};
