//! The plant's own settings: what its procedures chose, its areas and its service classes.
//! For engineers and administrators; every change is in the audit chain.

pub mod area;
pub mod class;
pub mod judging;
pub mod keys;
pub mod settings;
pub mod show;
pub mod test_plan;
