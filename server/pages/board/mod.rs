//! The board: the whole plant as racks of glasses, and what matters today to the one who looks.
//! It is the first page of every role.

#[expect(
    clippy::module_inception,
    reason = "the page is named for its part, like every other page"
)]
pub mod board;
pub mod guide;
mod rack;
mod today;
