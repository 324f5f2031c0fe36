//! Published values, handbook tables and general-purpose libraries that the computations are held
//! against: a file a topic, the source named beside each value.

mod bolting;
mod conformance;
mod dates;
mod due_dates;
mod flatness;
mod hold;
mod kit_demand;
mod lots;
mod ordering;
mod pressure_test;
mod rating;
mod saturation;
mod stock_projection;
mod stored_energy;
mod tightening;
mod trapped;
mod uncertainty;
mod wall;
mod water;

mod differential_dates;
mod differential_faces;
mod differential_kits;
mod differential_mechanics;
mod differential_water;
