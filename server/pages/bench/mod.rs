//! The bench: the rebuilds under way, and the sheet of one of them with a form for each step.
//! Everybody may look; technicians and engineers work here. A finished rebuild is shown elsewhere.

pub mod assembled;
pub mod bolt_plan;
pub mod bolting;
pub mod enter;
mod enter_parts;
mod enter_titles;
pub mod face;
mod face_map;
pub mod hand_over;
pub mod handed;
pub mod job;
pub mod kits;
mod lacks;
pub mod list;
pub mod made_safe;
pub mod moves;
pub mod none;
pub mod paper;
mod passes;
pub mod photo;
pub mod prove;
pub mod remark;
pub mod sheet;
pub mod start;
pub mod step;
pub mod stripped;
pub mod tightened;
