//! The same words for needs, orders, papers of lots, window plans and deferrals asked for or signed.
//! How a refusal is recognised stands in `refusals.rs`.

/// Columns that are unique together, the field to say it beside, and the words.
pub(super) const UNIQUE: &[(&str, &str, &str)] = &[
    (
        "kit_order.number",
        "number",
        "This order number was given meanwhile; try again",
    ),
    (
        "kit_order_line.order_id, kit_order_line.kit_id",
        "kit",
        "This kit is in the order already",
    ),
    (
        "order_receipt.stock_line_id",
        "quantity",
        "This receipt answers a line of an order already",
    ),
    (
        "kit_alternative.kit_id, kit_alternative.other_id",
        "other",
        "This kit is named already",
    ),
    (
        "window_choice.window_id, window_choice.gauge_id",
        "gauge",
        "This gauge is chosen into the window already",
    ),
    (
        "deferral_request.gauge_id",
        "until",
        "A deferral of this gauge waits for a decision already",
    ),
    (
        "calendar_feed.token_hash",
        "",
        "This address was given meanwhile; try again",
    ),
];

/// Named CHECKs, the field to say it beside, and the words.
pub(super) const CHECKS: &[(&str, &str, &str)] = &[
    (
        "one_projection",
        "",
        "A register has one set of rules for its projections",
    ),
    ("line_place", "place", "A place has 1 to 60 characters"),
    ("lot_move_from", "place", "A place has 1 to 60 characters"),
    ("lot_move_to", "to", "A place has 1 to 60 characters"),
    ("lot_move_quantity", "quantity", "Write how many are moved"),
    (
        "lot_move_date",
        "",
        "Write the day of the move as 31 Dec 2026",
    ),
    (
        "lot_move_apart",
        "to",
        "They lie there already; write another place",
    ),
    (
        "elsewhere_kits",
        "quantity",
        "So many do not lie there any more",
    ),
    (
        "one_storeroom",
        "",
        "A register has one set of rules for its storeroom",
    ),
    ("rule_review", "review_days", "Write 0 to 366 days"),
    (
        "rule_currency",
        "currency",
        "A currency has at most 8 characters",
    ),
    (
        "terms_supplier",
        "supplier",
        "A supplier has at most 120 characters",
    ),
    ("terms_review", "review_days", "Write 0 to 366 days"),
    (
        "rate_ground",
        "ground",
        "Say in 3 to 500 characters where the rate comes from",
    ),
    (
        "cost_ground",
        "ground",
        "Say in 3 to 500 characters where the costs come from",
    ),
    (
        "gasket_age_months",
        "months",
        "Write a whole number of months from 1 to 600, or nothing",
    ),
    (
        "gasket_age_ground",
        "ground",
        "Say in 3 to 500 characters what it stands on",
    ),
    (
        "class_count_not_negative",
        "",
        "Gauges of a class cannot be counted below none",
    ),
    (
        "class_kit_not_negative",
        "",
        "Gauges that take a kit cannot be counted below none",
    ),
    (
        "order_number",
        "number",
        "An order number has 1 to 40 characters",
    ),
    ("order_state", "", "An order is in one of its states"),
    (
        "order_supplier",
        "supplier",
        "A supplier has at most 120 characters",
    ),
    (
        "order_reference",
        "reference",
        "A reference has at most 80 characters",
    ),
    (
        "order_placed_on",
        "placed_on",
        "Write the day it was placed as 31 Dec 2026",
    ),
    (
        "order_placed",
        "placed_on",
        "An order that was placed has the day of it",
    ),
    (
        "order_line_quantity",
        "quantity",
        "Order 1 to 100000 kits in a line",
    ),
    (
        "order_line_promised",
        "promised_on",
        "Write the promised day as 31 Dec 2026",
    ),
    (
        "order_line_awaited",
        "quantity",
        "No more is awaited of a line than was ordered",
    ),
    (
        "order_receipt_quantity",
        "quantity",
        "At least one kit came",
    ),
    (
        "outlook_stale",
        "",
        "What to order is reckoned, or waits to be",
    ),
    (
        "alternative_note",
        "note",
        "Say in 3 to 500 characters what has to be minded",
    ),
    (
        "alternative_other",
        "other",
        "A kit does not stand in for itself",
    ),
    (
        "document_title",
        "title",
        "Say what the paper is in 1 to 120 characters",
    ),
    ("document_media", "paper", "Choose a PDF, JPEG or PNG file"),
    (
        "request_until",
        "until",
        "Write the later date as 31 Dec 2026",
    ),
    (
        "request_limit",
        "hard_limit",
        "The date no deferral passes is not before the deferral",
    ),
    (
        "request_reason",
        "reason",
        "A reason has 3 to 2000 characters",
    ),
    (
        "request_risk",
        "risk",
        "Say what could go wrong in 3 to 2000 characters",
    ),
    (
        "request_mitigations",
        "mitigations",
        "Say what is done against it in 3 to 2000 characters",
    ),
    (
        "request_decision",
        "",
        "A deferral that was asked for is signed, refused or taken back",
    ),
    (
        "request_by_another",
        "",
        "Who asked for a deferral does not sign it",
    ),
    (
        "deferral_moves",
        "moves",
        "A deferral moves the rebuild or the look-over",
    ),
    (
        "request_moves",
        "moves",
        "A deferral moves the rebuild or the look-over",
    ),
    (
        "class_defer",
        "defer_months",
        "A deferral goes 1 to 60 months past its date",
    ),
    (
        "deferral_until",
        "until",
        "Write the later date as 31 Dec 2026",
    ),
    (
        "deferral_limit",
        "hard_limit",
        "The date no deferral passes is not before the deferral",
    ),
    (
        "deferral_reason",
        "reason",
        "A reason has 3 to 2000 characters",
    ),
];
