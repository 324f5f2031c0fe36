//! The facts of the register as types: only a valid one can be made. States and the steps allowed
//! between them live here; no SQL and no HTTP do.

pub mod audit;
pub mod bench;
pub mod calibration;
pub mod certificate;
pub mod certificate_mark;
pub mod course;
pub mod deferral;
pub mod face;
pub mod found;
pub mod gas_test;
pub mod gauge;
pub mod history;
pub mod hold;
pub mod ids;
pub mod instrument;
pub mod kit;
pub mod life;
pub mod life_actors;
pub mod life_study;
pub mod moment;
pub mod need;
pub mod order;
pub mod person;
pub mod plant;
pub mod plant_list;
pub mod pressure_test;
pub mod re_torque;
pub mod rebuild;
pub mod recall;
pub mod refusal;
pub mod seal;
pub mod sentence;
pub mod test_plan;
pub mod turn;
pub mod used_up;
pub mod wear;
pub mod words;

pub use ids::*;
pub use moment::Moment;
pub use refusal::{FieldError, Refusal};
