//! Functions that build the addresses of the product; templates and redirects use nothing else.
//! Which handler answers an address stands in `routes.rs`.

use std::fmt::{self, Write as _};

use crate::record::{AreaId, BringInId};

/// A piece of text as one segment or value of an address (RFC 3986 unreserved characters stay).
pub fn encoded(text: impl ToString) -> String {
    text.to_string()
        .bytes()
        .fold(String::new(), |mut out, byte| {
            if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'.' | b'_' | b'~') {
                out.push(char::from(byte));
            } else {
                let _ = write!(out, "%{byte:02X}");
            }
            out
        })
}

/// An address with the given values in its query, leaving out the empty ones.
pub fn with_query(path: &str, values: &[(&str, String)]) -> String {
    let query: Vec<String> = values
        .iter()
        .filter(|(_, value)| !value.is_empty())
        .map(|(name, value)| format!("{name}={}", encoded(value)))
        .collect();
    if query.is_empty() {
        path.to_owned()
    } else {
        format!("{path}?{}", query.join("&"))
    }
}

/// The board.
pub const BOARD: &str = "/";
/// The guide of the first hour on the board.
pub const GUIDE: &str = "/#guide";
/// Where anything is found by its number.
pub const SEARCH: &str = "/search";
/// The words of the trade.
pub const WORDS: &str = "/help/words";
/// The keys.
pub const KEYS: &str = "/help/keys";
/// The sign-in page.
pub const SIGN_IN: &str = "/people/sign-in";
/// The register's list.
pub const GAUGES: &str = "/gauges";
/// The due list.
pub const DUE: &str = "/due";
/// The rebuilds under way.
pub const BENCH: &str = "/bench";
/// The storeroom.
pub const STOREROOM: &str = "/storeroom";
/// The pressure tests.
pub const PRESSURE_TESTS: &str = "/pressure-tests";
/// What waits for an inspector.
pub const INSPECT: &str = "/pressure-tests/inspect";
/// The instruments.
pub const INSTRUMENTS: &str = "/instruments";
/// The shutdown windows.
pub const WINDOWS: &str = "/windows";
/// The computations.
pub const WORKINGS: &str = "/workings";
/// The people.
pub const PEOPLE: &str = "/people";
/// Where people choose how they read figures.
pub const FIGURES: &str = "/people/figures";
/// Where people change their own password.
pub const OWN_PASSWORD: &str = "/people/password";
/// Where the plant's settings are changed.
pub const SETTINGS: &str = "/plant/settings";
/// Where an area is added.
pub const NEW_AREA: &str = "/plant/area";
/// Where a service class is added.
pub const NEW_CLASS: &str = "/plant/class";
/// Where somebody is added.
pub const ADD_PERSON: &str = "/people/add";
/// Where a gauge is taken in.
pub const NEW_GAUGE: &str = "/gauges/new";
/// The plant's settings.
pub const PLANT: &str = "/plant";

/// What a word of the trade means, by its mark on that page.
pub fn word(mark: &str) -> String {
    format!("{WORDS}#{mark}")
}

/// The word of the register's address for gauges without a due date.
pub const NO_DATE: &str = "none";

/// The gauges in service that no rule gives a date.
pub fn undated() -> String {
    with_query(GAUGES, &[("due", NO_DATE.to_owned())])
}

/// What falls due up to a day, in one area or in all of them.
pub fn due_until(area: Option<AreaId>, until: impl ToString) -> String {
    let area = area.map_or_else(String::new, |area| area.0.to_string());
    with_query(DUE, &[("area", area), ("until", until.to_string())])
}

/// A gauge's page.
pub fn gauge(tag: impl ToString) -> String {
    format!("{GAUGES}/{}", encoded(tag))
}

/// A page below a gauge's page.
pub fn gauge_part(tag: impl ToString, part: &str) -> String {
    format!("{GAUGES}/{}/{part}", encoded(tag))
}

/// Taking back a look-over of a gauge.
pub fn look_over_mistake(tag: impl ToString, look_over: impl ToString) -> String {
    gauge_part(tag, &format!("look-over/{}", look_over.to_string()))
}

/// A photograph of a gauge's nameplate, by the mark of its content.
pub fn gauge_photo(tag: impl ToString, mark: &str, small: bool) -> String {
    let small = if small { "1" } else { "" };
    with_query(
        &gauge_part(tag, "photo"),
        &[("mark", mark.to_owned()), ("small", small.to_owned())],
    )
}

/// An area's page among the plant's settings.
pub fn area(name: impl ToString) -> String {
    format!("{PLANT}/area/{}", encoded(name))
}

/// A service class's page among the plant's settings.
pub fn service_class(name: impl ToString) -> String {
    format!("{PLANT}/class/{}", encoded(name))
}

/// A shutdown window's page: the area that stands and its first day.
pub fn window(area: impl ToString, starts_on: impl ToString) -> String {
    format!("{WINDOWS}/{}/{}", encoded(area), encoded(starts_on))
}

/// Where a shutdown window is moved.
pub fn window_move(area: impl ToString, starts_on: impl ToString) -> String {
    format!("{}/move", window(area, starts_on))
}

/// Where a shutdown window is filled.
pub fn window_plan(area: impl ToString, starts_on: impl ToString) -> String {
    format!("{}/plan", window(area, starts_on))
}

/// A page or deed below a shutdown window's page.
pub fn window_part(area: impl ToString, starts_on: impl ToString, part: &str) -> String {
    format!("{}/{part}", window(area, starts_on))
}

/// Somebody's account, by the name they sign in with.
pub fn account(sign_in: impl ToString) -> String {
    format!("{PEOPLE}/account/{}", encoded(sign_in))
}

/// Where a one-time address for somebody's new password is made.
pub fn account_reset(sign_in: impl ToString) -> String {
    format!("{}/reset", account(sign_in))
}

/// The one-time address that sets a password.
pub fn set_password(token: &str) -> String {
    format!("{PEOPLE}/set-password/{token}")
}

/// Where a plant's list is brought in.
pub const BRING_IN: &str = "/gauges/bring-in";

/// A step of bringing in a list: "columns", "reading", "preview", "refused.csv", "done".
pub fn bring_in(id: BringInId, step: &str) -> String {
    format!("{BRING_IN}/{}/{step}", id.0)
}

/// The bench sheet of a gauge's open rebuild.
pub fn bench(tag: impl ToString) -> String {
    format!("{BENCH}/{}", encoded(tag))
}

/// A step of that bench sheet.
pub fn bench_step(tag: impl ToString, step: &str) -> String {
    format!("{BENCH}/{}/{step}", encoded(tag))
}

/// A photograph taken at the bench, by the mark of its content.
pub fn bench_photo(
    tag: impl ToString,
    ordinal: impl std::fmt::Display,
    mark: &str,
    small: bool,
) -> String {
    let size = if small { "?small=1" } else { "" };
    format!("{}/photos/{mark}{size}", rebuild(tag, ordinal))
}

/// A finished or open rebuild by its number.
pub fn rebuild(tag: impl ToString, ordinal: impl ToString) -> String {
    format!("{GAUGES}/{}/rebuilds/{}", encoded(tag), ordinal.to_string())
}

/// The form for a kit the storeroom does not have yet.
pub const NEW_KIT: &str = "/storeroom/new-kit";
/// The ledger of the whole storeroom.
pub const LEDGER: &str = "/storeroom/ledger";

/// A kit's page.
pub fn kit(number: impl ToString) -> String {
    format!("{STOREROOM}/kits/{}", encoded(number))
}

/// A page below a kit's page.
pub fn kit_part(number: impl ToString, part: &str) -> String {
    format!("{}/{part}", kit(number))
}

/// A lot's page. Makers mark lots as they like ("24/117 #3"), so a slash arrives encoded.
pub fn lot(kit: impl ToString, number: impl ToString) -> String {
    format!("{}/lots/{}", self::kit(kit), encoded(number))
}

/// A page below a lot's page.
pub fn lot_part(kit: impl ToString, number: impl ToString, part: &str) -> String {
    format!("{}/{part}", lot(kit, number))
}

/// A computation's page.
pub fn working(name: impl ToString) -> String {
    format!("{WORKINGS}/{}", encoded(name))
}

/// A pressure test's page.
pub fn pressure_test(number: impl ToString) -> String {
    format!("{PRESSURE_TESTS}/{}", encoded(number))
}

/// A page or deed below a pressure test's page.
pub fn pressure_test_part(number: impl ToString, part: &str) -> String {
    format!("{}/{part}", pressure_test(number))
}

/// Where a gauge to be tested is chosen.
pub const NEW_PRESSURE_TEST: &str = "/pressure-tests/new";

/// The form that records a pressure test of a gauge.
pub fn record_pressure_test(tag: impl ToString) -> String {
    format!("{NEW_PRESSURE_TEST}/{}", encoded(tag))
}

/// A certificate's page.
pub fn certificate(number: impl ToString) -> String {
    format!("{PRESSURE_TESTS}/certificates/{}", encoded(number))
}

/// A certificate's paper.
pub fn certificate_pdf(number: impl ToString) -> String {
    format!("{PRESSURE_TESTS}/certificates/{}.pdf", encoded(number))
}

/// A page, file or deed below a certificate's page.
pub fn certificate_part(number: impl ToString, part: &str) -> String {
    format!("{}/{part}", certificate(number))
}

/// Where a test with gas is asked for and answered.
pub fn gas_test(tag: impl ToString) -> String {
    format!("{PRESSURE_TESTS}/gas/{}", encoded(tag))
}

/// Where re-tests are planned.
pub const PLAN_TESTS: &str = "/pressure-tests/plan";
/// Where several gauges on one pump are recorded.
pub const PUMP: &str = "/pressure-tests/pump";
/// How tests are planned and judged in the plant.
pub const TEST_PLAN: &str = "/plant/test-plan";

/// How tests of a gauge are planned and judged.
pub fn gauge_test_plan(tag: impl ToString) -> String {
    with_query(TEST_PLAN, &[("gauge", tag.to_string())])
}

/// How tests of a service class are planned and judged.
pub fn class_test_plan(name: impl ToString) -> String {
    with_query(TEST_PLAN, &[("class", name.to_string())])
}

/// Where anybody checks a certificate, signed in or not.
pub const CHECK: &str = "/check";
/// The check of one code.
pub fn check_code(code: impl ToString) -> String {
    with_query(CHECK, &[("code", code.to_string())])
}

/// The plant's public keys, for whoever checks without the register.
pub const PUBLIC_KEYS: &str = "/check/keys";
/// The plant's signing key, for the administrator.
pub const SIGNING_KEY: &str = "/plant/keys";
/// The register of certificates.
pub const CERTIFICATES: &str = "/pressure-tests/certificates";

/// An instrument's page.
pub fn instrument(number: impl ToString) -> String {
    format!("{INSTRUMENTS}/{}", encoded(number))
}

/// The recalls.
pub const RECALLS: &str = "/recalls";

/// Where the recall of a lot is opened.
pub fn recall_lot(kit: impl ToString, lot: impl ToString) -> String {
    let values = [("kit", kit.to_string()), ("lot", lot.to_string())];
    with_query("/recalls/open", &values)
}

/// Where the recall of an instrument is opened that its latest calibration found out of tolerance.
pub fn recall_instrument(number: impl ToString) -> String {
    with_query("/recalls/open", &[("instrument", number.to_string())])
}

/// A recall's page.
pub fn recall(id: impl fmt::Display) -> String {
    format!("{RECALLS}/{id}")
}

/// A deed below a recall's page.
pub fn recall_part(id: impl fmt::Display, part: &str) -> String {
    format!("{}/{part}", recall(id))
}

/// The form for an instrument the register does not have yet.
pub const NEW_INSTRUMENT: &str = "/instruments/new";

/// A page below an instrument's page.
pub fn instrument_part(number: impl ToString, part: &str) -> String {
    format!("{}/{part}", instrument(number))
}

/// A paper of an instrument's calibration, by the mark of its content.
pub fn instrument_paper(number: impl ToString, mark: &str) -> String {
    let papers = instrument_part(number, "papers");
    with_query(&papers, &[("mark", mark.to_owned())])
}

/// What to order.
pub const NEEDS: &str = "/needs";
/// How safely kits are stocked.
pub const NEEDS_RULES: &str = "/needs/rules";
/// How often gauges fail.
pub const NEEDS_RATES: &str = "/needs/rates";

/// What to order of one kit, and why.
pub fn need(kit: impl ToString) -> String {
    format!("{NEEDS}/kits/{}", encoded(kit))
}

/// A page below that: "terms", "stand-in".
pub fn need_part(kit: impl ToString, part: &str) -> String {
    format!("{}/{part}", need(kit))
}

/// Where the failure rate of a service class is stated.
pub fn need_rate(class: impl ToString) -> String {
    format!("{NEEDS_RATES}/{}", encoded(class))
}

/// The orders of kits.
pub const ORDERS: &str = "/orders";
/// Where an order is drafted.
pub const NEW_ORDER: &str = "/orders/new";

/// An order's page.
pub fn order(number: impl ToString) -> String {
    format!("{ORDERS}/{}", encoded(number))
}

/// A page or deed below an order's page.
pub fn order_part(number: impl ToString, part: &str) -> String {
    format!("{}/{part}", order(number))
}

/// Where kits of an order are received.
pub fn order_receive(number: impl ToString, kit: impl ToString) -> String {
    format!("{}/receive/{}", order(number), encoded(kit))
}

/// The plant's days.
pub const CALENDAR: &str = "/calendar";
/// The private addresses for calendar programs.
pub const CALENDAR_FEEDS: &str = "/calendar/feeds";

/// The private address a calendar program reads.
pub fn calendar_feed(token: &str) -> String {
    format!("{CALENDAR}/feed/{token}.ics")
}

/// Where labels are chosen.
pub const LABELS: &str = "/labels";
/// The sheet of labels.
pub const LABEL_SHEET: &str = "/labels/sheet.pdf";

/// Where lots are counted one after the other.
pub const COUNT: &str = "/storeroom/count";

/// A paper of a lot, by the mark of its content.
pub fn lot_paper(kit: impl ToString, number: impl ToString, mark: &str) -> String {
    with_query(
        &lot_part(kit, number, "papers"),
        &[("mark", mark.to_owned())],
    )
}

/// How long gauges last.
pub const LIFE: &str = "/life";

/// A page below that: "lives", "gauges", "intervals", "tables/…".
pub fn life_part(part: &str, values: &[(&str, String)]) -> String {
    with_query(&format!("{LIFE}/{part}"), values)
}

/// Where the costs of a service class are stated.
pub fn life_costs(class: impl ToString) -> String {
    format!("{LIFE}/costs/{}", encoded(class))
}

/// The page that changes a service class, with an interval filled in and nothing saved.
pub fn service_class_with_interval(name: impl ToString, months: impl ToString) -> String {
    with_query(
        &service_class(name),
        &[("rebuild_months", months.to_string())],
    )
}
