//! The plant's days: month and year, and the private addresses under which calendar programs read
//! them. Everybody reads; each person keeps their own addresses.

pub mod feed;
pub mod feeds;
pub mod show;
