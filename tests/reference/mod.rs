//! Published values, handbook tables and general-purpose libraries that the computations are held
//! against: a file a topic, the source named beside each value.

mod bolting;
pub mod by_function;
mod conformance;
mod dates;
pub mod deviations;
mod due_dates;
mod edges;
mod excess;
mod flatness;
mod flatness_plate;
mod hold;
mod kit_demand;
mod life_data;
mod lots;
mod needs;
mod numbers;
mod ordering;
mod outlook;
mod pressure_test;
mod ranks;
mod rating;
mod rebuild_age;
mod renewal;
mod saturation;
mod seal;
mod seat;
mod shown;
mod stock_projection;
mod stored_energy;
mod survival;
mod tightening;
mod trapped;
mod trend;
mod uncertainty;
mod units;
mod wall;
mod water;
mod weibull;

mod differential_dates;
mod differential_faces;
mod differential_fleet;
mod differential_kits;
mod differential_life;
mod differential_mechanics;
mod differential_water;

/// A day as workings write it for people, by the library's own formatter.
fn said(day: time::Date) -> String {
    let form = time::macros::format_description!("[day padding:none] [month repr:short] [year]");
    day.format(&form).expect("a day")
}
