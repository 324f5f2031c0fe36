//! An order of kits as a paper and as a spreadsheet, in the plant's own layout.
//! The record comes in whole; nothing here decides what to order.

use serde::Serialize;
use time::{Date, Time};

use super::table::{Cell, Table};
use super::typeset::{Paper, PaperError, Sheet, typeset};
use crate::record::order::{Order, OrderLine, OrderState};
use crate::record::plant::Plant;

/// What the paper prints.
#[derive(Debug, Clone, Serialize)]
pub struct OrderRecord {
    number: String,
    draft: bool,
    date: String,
    plant: String,
    owner: String,
    address: String,
    supplier: String,
    reference: String,
    note: String,
    by: String,
    currency: String,
    lines: Vec<LineRecord>,
    sum: Option<String>,
    demo: bool,
}

#[derive(Debug, Clone, Serialize)]
struct LineRecord {
    kit: String,
    name: String,
    contents: String,
    quantity: i64,
    wanted_for: Option<String>,
    cost: Option<String>,
    value: Option<String>,
}

/// A line with what its kit holds.
#[derive(Debug, Clone)]
pub struct Line {
    /// The line.
    pub line: OrderLine,
    /// What is in the kit.
    pub contents: String,
}

fn day_of(order: &Order) -> Date {
    order.placed_on.unwrap_or(order.made_on)
}

impl OrderRecord {
    /// Puts the record of an order together.
    pub fn of(plant: &Plant, order: &Order, lines: &[Line], currency: &str) -> Self {
        let priced = lines.iter().all(|one| one.line.cost.is_some());
        let sum: rust_decimal::Decimal = lines.iter().filter_map(|one| one.line.value()).sum();
        Self {
            number: order.number.to_string(),
            draft: order.state == OrderState::Draft,
            date: day_of(order).to_string(),
            plant: plant.name.clone(),
            owner: plant.owner.clone(),
            address: plant.address.clone(),
            supplier: order.supplier.clone(),
            reference: order.reference.clone(),
            note: order.note.clone(),
            by: order.made_by.clone(),
            currency: currency.to_owned(),
            lines: lines.iter().map(LineRecord::of).collect(),
            sum: (priced && !lines.is_empty()).then(|| format!("{:.2}", sum.round_dp(2))),
            demo: plant.demo,
        }
    }
}

impl LineRecord {
    fn of(one: &Line) -> Self {
        let line = &one.line;
        let money = |value: rust_decimal::Decimal| format!("{:.2}", value.round_dp(2));
        Self {
            kit: line.kit.to_string(),
            name: line.name.clone(),
            contents: one.contents.replace('\n', ", "),
            quantity: line.quantity,
            wanted_for: line.promised_on.map(|day| day.to_string()),
            cost: line.cost.map(money),
            value: line.value().map(money),
        }
    }
}

/// Sets the order and returns the PDF.
///
/// # Errors
/// A [`PaperError`] when a character is in none of the embedded fonts or the page cannot be set.
pub fn pdf(record: &OrderRecord, order: &Order, paper: Paper) -> Result<Vec<u8>, PaperError> {
    typeset(&Sheet {
        template: include_str!("../../templates/papers/order.typ"),
        identity: &format!("order {} version {}", order.number, order.version),
        record,
        paper,
        dated: day_of(order).with_time(Time::MIDNIGHT).assume_utc(),
    })
}

/// The order as a table for a spreadsheet.
pub fn table(plant: &Plant, order: &Order, lines: &[Line], currency: &str) -> Table {
    let supplier = match order.supplier.as_str() {
        "" => "Supplier: not named yet".to_owned(),
        name => format!("Supplier: {name}"),
    };
    let mut notes = vec![
        format!("{} {}", plant.name, plant.address),
        format!(
            "{} {}",
            if order.state == OrderState::Draft {
                "Draft of"
            } else {
                "Placed"
            },
            day_of(order)
        ),
        supplier,
    ];
    if !currency.is_empty() {
        notes.push(format!("Prices in {currency}"));
    }
    Table {
        title: format!("Order {}", order.number),
        notes,
        headings: vec![
            ("Kit number", 18),
            ("What it is for", 32),
            ("Contents", 48),
            ("Kits", 8),
            ("Promised for", 14),
            ("Price of one", 14),
            ("Value", 14),
        ],
        rows: lines
            .iter()
            .map(|one| {
                let line = &one.line;
                vec![
                    Cell::text(&line.kit),
                    Cell::text(&line.name),
                    Cell::text(one.contents.replace('\n', ", ")),
                    Cell::Whole(line.quantity),
                    Cell::day(line.promised_on),
                    line.cost.map_or(Cell::Empty, Cell::Decimal),
                    line.value().map_or(Cell::Empty, Cell::Decimal),
                ]
            })
            .collect(),
    }
}
