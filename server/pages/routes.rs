//! Every address of the product in one table, in the order of the menu: method, address, who may
//! come in, and the handler. A test walks this table for every role.

use std::time::Duration;

use axum::handler::Handler;
use axum::http::Method;
use axum::routing::{MethodRouter, get, post};

use super::bench::{assembled, bolting, face, made_safe, remark, step, stripped, tightened};
use super::{
    App, assets, bench, board, calendar, check, due, gauges, health, help, instruments, labels,
    life, needs, orders, people, plant, pressure_tests, recalls, search, storeroom, windows,
    workings,
};
use crate::record::person::Role::{
    self, Administrator, Engineer, Inspector, Storekeeper, Technician,
};

/// Who may come in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Access {
    /// Anybody, signed in or not.
    Open,
    /// People of these roles.
    Roles(&'static [Role]),
}

impl Access {
    /// Whether somebody of this role (or nobody signed in) comes in.
    pub fn lets(self, role: Option<Role>) -> bool {
        match (self, role) {
            (Self::Open, _) => true,
            (Self::Roles(roles), Some(role)) => roles.contains(&role),
            (Self::Roles(_), None) => false,
        }
    }
}

/// Everybody who is signed in.
const ALL: Access = Access::Roles(Role::ALL);
/// Those who own the fleet's data.
const SETTLE: Access = Access::Roles(&[Engineer, Administrator]);
/// Those who plan the work.
const PLAN: Access = Access::Roles(&[Engineer]);
/// Those who work at the bench.
const BENCH: Access = Access::Roles(&[Technician, Engineer]);
/// Those who issue kits to a rebuild.
const ISSUE: Access = Access::Roles(&[Technician, Storekeeper, Engineer]);
/// Those who keep the storeroom.
const STORE: Access = Access::Roles(&[Storekeeper, Engineer]);
/// Those who test.
const TEST: Access = Access::Roles(&[Technician, Inspector, Engineer]);
/// Those who plan tests and approve the unusual ones.
const PROVE: Access = Access::Roles(&[Inspector, Engineer]);
/// Those who witness and certify.
const CERTIFY: Access = Access::Roles(&[Inspector]);
/// Those who walk the plant: look-overs and photographs.
const WALK: Access = Access::Roles(&[Technician, Inspector, Engineer]);
/// Those who ask for a later date.
const DEFER: Access = Access::Roles(&[Engineer]);
/// Those who sign for a later date that somebody else asked for.
const SIGN_DEFERRAL: Access = Access::Roles(&[Engineer, Inspector, Administrator]);
/// Those who look after people.
const ADMINISTER: Access = Access::Roles(&[Administrator]);

/// One address.
#[derive(Debug)]
pub struct Route {
    /// GET or POST.
    pub method: Method,
    /// The address, with parameters in braces.
    pub path: &'static str,
    /// Who may come in.
    pub access: Access,
    /// How long an answer may take before it is given up.
    pub patience: Duration,
    pub(super) handler: MethodRouter<App>,
}

/// How long most answers may take.
const PATIENCE: Duration = Duration::from_mins(1);
/// How long one may take that works through a plant's whole list, tens of thousands of lines on a slow
/// machine: what was read of it would be lost. While it writes nobody else does, so it is not for long.
const LONG_PATIENCE: Duration = Duration::from_mins(5);

impl Route {
    /// The same, waited for longer.
    fn with_patience(self) -> Self {
        Self {
            patience: LONG_PATIENCE,
            ..self
        }
    }
}

fn shows<H, T>(path: &'static str, access: Access, handler: H) -> Route
where
    H: Handler<T, App>,
    T: 'static,
{
    Route {
        method: Method::GET,
        path,
        access,
        patience: PATIENCE,
        handler: get(handler),
    }
}

fn does<H, T>(path: &'static str, access: Access, handler: H) -> Route
where
    H: Handler<T, App>,
    T: 'static,
{
    Route {
        method: Method::POST,
        path,
        access,
        patience: PATIENCE,
        handler: post(handler),
    }
}

/// The table.
#[expect(
    clippy::too_many_lines,
    reason = "one table, so that every address is found in one place"
)]
// One address a line, so that the eye runs down the table.
#[rustfmt::skip]
pub fn table() -> Vec<Route> {
    use Access::Open;
    vec![
        // The board
        shows("/", ALL, board::board::show),
        // Anything, by its number
        shows("/search", ALL, search::find::show),
        // Gauges
        shows("/gauges", ALL, gauges::list::show),
        shows("/gauges/new", SETTLE, gauges::edit::new),
        does("/gauges/new", SETTLE, gauges::edit::register),
        shows("/gauges/bring-in", SETTLE, gauges::bring_in::show),
        does("/gauges/bring-in", SETTLE, gauges::bring_in::receive).with_patience(),
        shows("/gauges/bring-in/empty-list.csv", SETTLE, gauges::bring_in::empty_list),
        shows("/gauges/bring-in/{id}/columns", SETTLE, gauges::bring_in_columns::show).with_patience(),
        does("/gauges/bring-in/{id}/columns", SETTLE, gauges::bring_in_columns::settle).with_patience(),
        does("/gauges/bring-in/{id}/reading", SETTLE, gauges::bring_in_columns::read_again).with_patience(),
        shows("/gauges/bring-in/{id}/preview", SETTLE, gauges::bring_in_preview::show).with_patience(),
        does("/gauges/bring-in/{id}/preview", SETTLE, gauges::bring_in_preview::decide).with_patience(),
        shows("/gauges/bring-in/{id}/refused.csv", SETTLE, gauges::bring_in_done::refused),
        shows("/gauges/bring-in/{id}/done", SETTLE, gauges::bring_in_done::show),
        shows("/gauges/{tag}", ALL, gauges::show::show),
        shows("/gauges/{tag}/edit", SETTLE, gauges::edit::edit),
        does("/gauges/{tag}/edit", SETTLE, gauges::edit::correct),
        shows("/gauges/{tag}/history", ALL, gauges::history::show),
        shows("/gauges/{tag}/photo", ALL, gauges::photo::show),
        does("/gauges/{tag}/photo", WALK, gauges::photo::add),
        shows("/gauges/{tag}/failure", ALL, gauges::failure::show),
        does("/gauges/{tag}/failure", ALL, gauges::failure::report),
        shows("/gauges/{tag}/take-back/{failure}", WALK, gauges::take_back::show),
        does("/gauges/{tag}/take-back/{failure}", WALK, gauges::take_back::take_back),
        shows("/gauges/{tag}/look-over", WALK, gauges::look_over::show),
        does("/gauges/{tag}/look-over", WALK, gauges::look_over::record),
        shows("/gauges/{tag}/look-over/{look_over}", WALK, gauges::look_over_mistake::show),
        does("/gauges/{tag}/look-over/{look_over}", WALK, gauges::look_over_mistake::take_back),
        shows("/gauges/{tag}/deferral", SIGN_DEFERRAL, gauges::deferral::show),
        does("/gauges/{tag}/deferral", DEFER, gauges::deferral::ask),
        does("/gauges/{tag}/deferral/decide", SIGN_DEFERRAL, gauges::deferral::decide),
        shows("/gauges/{tag}/standing", SETTLE, gauges::standing::show),
        does("/gauges/{tag}/standing", SETTLE, gauges::standing::change),
        shows("/gauges/{tag}/rebuild", PLAN, gauges::rebuild::show),
        does("/gauges/{tag}/rebuild", PLAN, gauges::rebuild::plan),
        does("/gauges/{tag}/rebuild/day", PLAN, gauges::rebuild::another_day),
        shows("/gauges/{tag}/rebuilds/{ordinal}", ALL, gauges::rebuild_record::show),
        shows("/gauges/{tag}/rebuilds/{ordinal}/photos/{mark}", ALL, gauges::rebuild_record::photo),
        shows("/gauges/{tag}/re-torque", BENCH, gauges::re_torque::show),
        does("/gauges/{tag}/re-torque", BENCH, gauges::re_torque::record),
        // Due
        shows("/due", ALL, due::list::show),
        // list.xlsx or list.csv
        shows("/due/{file}", ALL, due::list::table),
        shows("/calendar", ALL, calendar::show::show),
        shows("/calendar/feeds", ALL, calendar::feeds::show),
        does("/calendar/feeds", ALL, calendar::feeds::change),
        // The secret in the address is the key.
        shows("/calendar/feed/{token}", Open, calendar::feed::show),
        // The bench
        shows("/bench", ALL, bench::list::show),
        shows("/bench/{tag}", ALL, bench::sheet::show),
        shows("/bench/{tag}/sheet.pdf", ALL, bench::paper::show),
        does("/bench/{tag}/ready", BENCH, bench::moves::ready),
        does("/bench/{tag}/not-ready", BENCH, bench::moves::unready),
        does("/bench/{tag}/start", BENCH, bench::start::start),
        shows("/bench/{tag}/made-safe", BENCH, step::show::<made_safe::Typed>),
        does("/bench/{tag}/made-safe", BENCH, step::record::<made_safe::Typed>),
        shows("/bench/{tag}/stripped", BENCH, step::show::<stripped::Typed>),
        does("/bench/{tag}/stripped", BENCH, step::record::<stripped::Typed>),
        shows("/bench/{tag}/bolting", BENCH, step::show::<bolting::Typed>),
        does("/bench/{tag}/bolting", BENCH, step::record::<bolting::Typed>),
        shows("/bench/{tag}/face", BENCH, step::show::<face::Typed>),
        does("/bench/{tag}/face", BENCH, step::record::<face::Typed>),
        shows("/bench/{tag}/kits", ISSUE, bench::kits::show),
        does("/bench/{tag}/kits", ISSUE, bench::kits::issue),
        does("/bench/{tag}/kits-back", ISSUE, bench::kits::give_back),
        shows("/bench/{tag}/assembled", BENCH, step::show::<assembled::Typed>),
        does("/bench/{tag}/assembled", BENCH, step::record::<assembled::Typed>),
        shows("/bench/{tag}/tightened", BENCH, step::show::<tightened::Typed>),
        does("/bench/{tag}/tightened", BENCH, step::record::<tightened::Typed>),
        shows("/bench/{tag}/remark", BENCH, step::show::<remark::Typed>),
        does("/bench/{tag}/remark", BENCH, step::record::<remark::Typed>),
        shows("/bench/{tag}/enter", BENCH, bench::enter::show),
        does("/bench/{tag}/enter", BENCH, bench::enter::enter),
        shows("/bench/{tag}/photo", BENCH, bench::photo::show),
        does("/bench/{tag}/photo", BENCH, bench::photo::add),
        shows("/bench/{tag}/hand-over", BENCH, bench::hand_over::show),
        does("/bench/{tag}/hand-over", BENCH, bench::hand_over::hand),
        does("/bench/{tag}/take-over", BENCH, bench::hand_over::take),
        does("/bench/{tag}/test", BENCH, bench::moves::test),
        does("/bench/{tag}/hold", BENCH, bench::prove::begin),
        does("/bench/{tag}/hold-reading", BENCH, bench::prove::read),
        does("/bench/{tag}/prove", BENCH, bench::prove::finish),
        shows("/bench/{tag}/back", BENCH, bench::moves::back_form),
        does("/bench/{tag}/back", BENCH, bench::moves::back),
        does("/bench/{tag}/return", BENCH, bench::moves::finish),
        shows("/bench/{tag}/abandon", BENCH, bench::moves::abandon_form),
        does("/bench/{tag}/abandon", BENCH, bench::moves::abandon),
        // Storeroom
        shows("/storeroom", ALL, storeroom::list::show),
        shows("/storeroom/new-kit", STORE, storeroom::edit_kit::new),
        does("/storeroom/new-kit", STORE, storeroom::edit_kit::add),
        shows("/storeroom/ledger", ALL, storeroom::ledger::show),
        shows("/storeroom/count", STORE, storeroom::count::show),
        does("/storeroom/count", STORE, storeroom::count::write),
        shows("/storeroom/kits/{kit}", ALL, storeroom::kit::show),
        shows("/storeroom/kits/{kit}/edit", STORE, storeroom::edit_kit::edit),
        does("/storeroom/kits/{kit}/edit", STORE, storeroom::edit_kit::correct),
        shows("/storeroom/kits/{kit}/gasket-age", SETTLE, storeroom::gasket_age::show),
        does("/storeroom/kits/{kit}/gasket-age", SETTLE, storeroom::gasket_age::state),
        shows("/storeroom/kits/{kit}/receive", STORE, storeroom::receive::show),
        does("/storeroom/kits/{kit}/receive", STORE, storeroom::receive::receive),
        shows("/storeroom/kits/{kit}/lots/{lot}", ALL, storeroom::lot::show),
        shows("/storeroom/kits/{kit}/lots/{lot}/edit", STORE, storeroom::edit_lot::edit),
        does("/storeroom/kits/{kit}/lots/{lot}/edit", STORE, storeroom::edit_lot::correct),
        shows("/storeroom/kits/{kit}/lots/{lot}/move-part", STORE, storeroom::move_part::show),
        does("/storeroom/kits/{kit}/lots/{lot}/move-part", STORE, storeroom::move_part::put),
        shows("/storeroom/kits/{kit}/lots/{lot}/papers", ALL, storeroom::papers::show),
        does("/storeroom/kits/{kit}/lots/{lot}/papers", STORE, storeroom::papers::add),
        // receipt, issue, return, count, scrap
        shows("/storeroom/kits/{kit}/lots/{lot}/{movement}", STORE, storeroom::movement::show),
        does("/storeroom/kits/{kit}/lots/{lot}/{movement}", STORE, storeroom::movement::write),
        // What to order, and orders
        shows("/needs", ALL, needs::list::show),
        shows("/needs/rules", STORE, needs::rules::show),
        does("/needs/rules", STORE, needs::rules::choose),
        shows("/needs/rates", ALL, needs::rates::show),
        shows("/needs/rates/{name}", SETTLE, needs::rate::show),
        does("/needs/rates/{name}", SETTLE, needs::rate::state),
        shows("/needs/kits/{kit}", ALL, needs::show::show),
        shows("/needs/kits/{kit}/terms", STORE, needs::terms::show),
        does("/needs/kits/{kit}/terms", STORE, needs::terms::settle),
        does("/needs/kits/{kit}/stand-in", STORE, needs::terms::stand_in),
        shows("/orders", ALL, orders::list::show),
        shows("/orders/new", STORE, orders::new::show),
        does("/orders/new", STORE, orders::new::draft),
        shows("/orders/{number}", ALL, orders::show::show),
        shows("/orders/{number}/order.pdf", ALL, orders::paper::pdf),
        shows("/orders/{number}/order.xlsx", ALL, orders::paper::xlsx),
        shows("/orders/{number}/receive/{kit}", STORE, orders::receive::show),
        does("/orders/{number}/receive/{kit}", STORE, orders::receive::receive),
        // line, place, promise, withdraw
        does("/orders/{number}/{step}", STORE, orders::show::step),
        // Labels
        shows("/labels", ALL, labels::choose::show),
        shows("/labels/sheet.pdf", ALL, labels::sheet::show),
        // Instruments
        shows("/instruments", ALL, instruments::list::show),
        shows("/instruments/new", SETTLE, instruments::edit::new),
        does("/instruments/new", SETTLE, instruments::edit::add),
        shows("/instruments/{number}", ALL, instruments::show::show),
        shows("/instruments/{number}/edit", SETTLE, instruments::edit::edit),
        does("/instruments/{number}/edit", SETTLE, instruments::edit::correct),
        shows("/instruments/{number}/calibrate", SETTLE, instruments::calibrate::show),
        does("/instruments/{number}/calibrate", SETTLE, instruments::calibrate::calibrate),
        shows("/instruments/{number}/calibrate/{calibration}", SETTLE, instruments::mistake::show),
        does("/instruments/{number}/calibrate/{calibration}", SETTLE, instruments::mistake::take_back),
        shows("/instruments/{number}/papers", ALL, instruments::papers::show),
        does("/instruments/{number}/papers", SETTLE, instruments::papers::add),
        shows("/instruments/{number}/retire", SETTLE, instruments::retire::show),
        does("/instruments/{number}/retire", SETTLE, instruments::retire::retire),
        // Recalls of instruments and lots
        shows("/recalls", ALL, recalls::list::show),
        shows("/recalls/open", PLAN, recalls::open::show),
        does("/recalls/open", PLAN, recalls::open::open),
        shows("/recalls/{number}", ALL, recalls::show::show),
        does("/recalls/{number}/decide", PLAN, recalls::show::decide),
        // Shutdown windows
        shows("/windows", ALL, windows::list::show),
        shows("/windows/new", SETTLE, windows::edit::new),
        does("/windows/new", SETTLE, windows::edit::add),
        shows("/windows/{area}/{starts_on}", ALL, windows::show::show),
        shows("/windows/{area}/{starts_on}/plan", ALL, windows::plan::show),
        // choose, leave-out, hours, rebuilds, rebuild-days
        does("/windows/{area}/{starts_on}/plan/{step}", PLAN, windows::plan::step),
        shows("/windows/{area}/{starts_on}/pack.pdf", ALL, windows::pack::pdf),
        shows("/windows/{area}/{starts_on}/move", SETTLE, windows::edit::edit),
        does("/windows/{area}/{starts_on}/move", SETTLE, windows::edit::change),
        // Pressure tests
        shows("/pressure-tests", ALL, pressure_tests::list::show),
        shows("/pressure-tests/list.xlsx", ALL, pressure_tests::list::xlsx),
        shows("/pressure-tests/list.csv", ALL, pressure_tests::list::csv),
        shows("/pressure-tests/new", TEST, pressure_tests::choose::show),
        shows("/pressure-tests/new/{tag}", TEST, pressure_tests::record::new),
        does("/pressure-tests/new/{tag}", TEST, pressure_tests::record::record),
        shows("/pressure-tests/inspect", ALL, pressure_tests::inspect::show),
        shows("/pressure-tests/plan", PROVE, pressure_tests::plan::show),
        does("/pressure-tests/plan", PROVE, pressure_tests::plan::plan),
        does("/pressure-tests/plan/{tag}/drop", PROVE, pressure_tests::plan::drop_it),
        shows("/pressure-tests/pump", TEST, pressure_tests::pump::show),
        does("/pressure-tests/pump", TEST, pressure_tests::pump::record),
        shows("/pressure-tests/gas/{tag}", TEST, pressure_tests::gas::show),
        does("/pressure-tests/gas/{tag}", TEST, pressure_tests::gas::ask),
        does("/pressure-tests/gas/{tag}/answer", PROVE, pressure_tests::gas::answer),
        shows("/pressure-tests/certificates", ALL, pressure_tests::certificates::show),
        shows("/pressure-tests/certificates/list.xlsx", ALL, pressure_tests::certificates::xlsx),
        shows("/pressure-tests/certificates/list.csv", ALL, pressure_tests::certificates::csv),
        shows("/pressure-tests/certificates/export", ALL, pressure_tests::export::show),
        shows("/pressure-tests/certificates/export.zip", ALL, pressure_tests::export::zip),
        // The page, or the paper when the number ends in ".pdf"
        shows("/pressure-tests/certificates/{number}", ALL, pressure_tests::certificate::show),
        shows("/pressure-tests/{number}", ALL, pressure_tests::show::show),
        does("/pressure-tests/{number}/witness", CERTIFY, pressure_tests::witness::witness),
        does("/pressure-tests/{number}/witness/decline", CERTIFY, pressure_tests::witness::decline),
        does("/pressure-tests/{number}/witness/name", TEST, pressure_tests::witness::name),
        shows("/pressure-tests/{number}/certificate", CERTIFY, pressure_tests::sign::show),
        does("/pressure-tests/{number}/certificate", CERTIFY, pressure_tests::sign::certify),
        shows("/pressure-tests/{number}/draft.pdf", CERTIFY, pressure_tests::sign::paper),
        shows("/pressure-tests/certificates/{number}/correct", CERTIFY, pressure_tests::correct::show),
        does("/pressure-tests/certificates/{number}/correct", CERTIFY, pressure_tests::correct::replace),
        shows("/pressure-tests/certificates/{number}/withdraw", CERTIFY, pressure_tests::withdraw::show),
        does("/pressure-tests/certificates/{number}/withdraw", CERTIFY, pressure_tests::withdraw::withdraw),
        // Checking a certificate, by whoever holds one
        shows("/check", Open, check::ask::show),
        does("/check", Open, check::ask::upload),
        shows("/check/keys", Open, check::keys::show),
        // How long gauges last
        shows("/life", ALL, life::list::show),
        shows("/life/lives", ALL, life::lives::show),
        shows("/life/gauges", ALL, life::gauges::show),
        shows("/life/intervals", ALL, life::intervals::show),
        // lives, weibull, survival, gauges or intervals, as .xlsx or .csv
        shows("/life/tables/{file}", ALL, life::tables::show),
        shows("/life/costs/{name}", PLAN, life::costs::show),
        does("/life/costs/{name}", PLAN, life::costs::state),
        // Workings
        shows("/workings", ALL, workings::list::show),
        shows("/workings/{name}", ALL, workings::show::show),
        does("/workings/{name}", ALL, workings::show::compute),
        // The plant
        shows("/plant", SETTLE, plant::show::show),
        shows("/plant/settings", SETTLE, plant::settings::show),
        does("/plant/settings", SETTLE, plant::settings::save),
        shows("/plant/test-plan", SETTLE, plant::test_plan::show),
        does("/plant/test-plan", SETTLE, plant::test_plan::choose),
        shows("/plant/keys", SETTLE, plant::keys::show),
        does("/plant/keys", ADMINISTER, plant::keys::change),
        shows("/plant/area", SETTLE, plant::area::new),
        does("/plant/area", SETTLE, plant::area::add),
        shows("/plant/area/{name}", SETTLE, plant::area::edit),
        does("/plant/area/{name}", SETTLE, plant::area::rename),
        shows("/plant/class", SETTLE, plant::class::new),
        does("/plant/class", SETTLE, plant::class::add),
        shows("/plant/class/{name}", SETTLE, plant::class::edit),
        does("/plant/class/{name}", SETTLE, plant::class::change),
        // People
        shows("/people", ADMINISTER, people::list::show),
        shows("/people/add", ADMINISTER, people::add::show),
        does("/people/add", ADMINISTER, people::add::add),
        shows("/people/account/{name}", ADMINISTER, people::account::show),
        does("/people/account/{name}", ADMINISTER, people::account::change),
        does("/people/account/{name}/reset", ADMINISTER, people::account::reset),
        shows("/people/figures", ALL, people::figures::show),
        does("/people/figures", ALL, people::figures::choose),
        shows("/people/password", ALL, people::password::show),
        does("/people/password", ALL, people::password::change),
        shows("/people/set-password/{token}", Open, people::set_password::show),
        does("/people/set-password/{token}", Open, people::set_password::set),
        shows("/people/first/{token}", Open, people::first::show),
        does("/people/first/{token}", Open, people::first::settle),
        shows("/people/sign-in", Open, people::sign_in::show),
        does("/people/sign-in", Open, people::sign_in::sign_in),
        does("/people/sign-out", ALL, people::sign_in::sign_out),
        // Help that stands apart
        shows("/help/words", ALL, help::words::show),
        shows("/help/keys", ALL, help::keys::show),
        // The program itself
        shows("/healthz", Open, health::check),
        shows("/static/{*name}", Open, assets::serve),
    ]
}

pub use super::service::service;
