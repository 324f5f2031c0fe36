//! The register: the list, one gauge with its history, taking in and correcting, and what people
//! record about a gauge in service. Everybody reads and reports failures; technicians, inspectors
//! and engineers look over and photograph; engineers sign deferrals; engineers and administrators
//! take in, correct, rest and retire.

pub mod bring_in;
pub mod bring_in_columns;
pub mod bring_in_done;
pub mod bring_in_preview;
pub mod deferral;
pub mod edit;
pub mod failure;
pub mod history;
pub mod list;
pub mod look_over;
pub mod look_over_mistake;
mod nameplate;
pub mod photo;
pub mod re_torque;
pub mod rebuild;
pub mod rebuild_record;
pub mod show;
pub mod standing;
pub mod take_back;
