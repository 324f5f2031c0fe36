//! What to order: every kit by the day its order has to be placed, one kit with its working, and how
//! kits are stocked. Everybody reads; storekeepers and engineers settle terms, engineers state rates.

pub mod list;
pub mod rate;
pub mod rates;
pub mod rules;
pub mod show;
pub mod terms;

use rust_decimal::Decimal;

/// An amount of money in the plant's currency, or the bare number where none is chosen.
fn money(value: &Decimal, currency: &str) -> String {
    let rounded = value.round_dp(2);
    if currency.is_empty() {
        format!("{rounded:.2}")
    } else {
        format!("{rounded:.2}\u{a0}{currency}")
    }
}
