//! How many statements the pages that matter ask of the database: as many with a thousand gauges as
//! with ten. They are counted in a process of their own, where nothing else asks.

use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};

use gaugewright::acts;
use gaugewright::calc::quantity::{PressureUnit, Stamped, TorqueUnit};
use gaugewright::record::gauge::{BoltForm, Isolation, Kind, Particulars};
use gaugewright::record::person::Role;
use gaugewright::record::{AreaId, KitId, ServiceClassId};
use gaugewright::store::{READERS, Store};
use rust_decimal::Decimal;
use time::macros::date;
use tracing_subscriber::layer::SubscriberExt;

use crate::plant::{Plant, Visitor};

/// Says to the second process that it counts.
const COUNTING: &str = "GAUGEWRIGHT_COUNTS_STATEMENTS";
const PAGES: &[&str] = &[
    "/",
    "/gauges",
    "/gauges/LG-1",
    "/due",
    "/calendar",
    "/bench",
    "/storeroom",
    "/storeroom/kits/TW-K-250R",
    "/needs",
    "/needs/kits/TW-K-250R",
    "/windows",
    "/windows/Boiler%20House/2026-09-01",
    "/windows/Boiler%20House/2026-09-01/plan",
    "/pressure-tests",
    "/instruments",
];

static ASKED: AtomicUsize = AtomicUsize::new(0);

struct Counts;

impl<S: tracing::Subscriber> tracing_subscriber::Layer<S> for Counts {
    fn on_event(&self, event: &tracing::Event<'_>, _: tracing_subscriber::layer::Context<'_, S>) {
        if event.metadata().target() == "sqlx::query" {
            ASKED.fetch_add(1, Ordering::SeqCst);
        }
    }
}

/// A plant with so many gauges of one kit, falling due all over a year, every other one bound to the
/// shutdown of September.
async fn plant_of(gauges: u32) -> (Plant, Visitor) {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    crate::needs::adds_kit(&mut engineer).await;
    let window = [
        ("area", "1"),
        ("name", "autumn"),
        ("starts_on", "2026-09-01"),
        ("ends_on", "2026-09-10"),
    ];
    engineer.fill("/windows/new", "/windows/new", &window).await;
    let mut deed = plant.deed_of(Role::Engineer).await;
    for number in 1..=gauges {
        let particulars = Particulars {
            tag: format!("LG-{number}").parse().unwrap(),
            area_id: AreaId(1 + i64::from(number % 2)),
            service_class_id: ServiceClassId(2),
            vessel: "BH-D-101".to_owned(),
            service: "steam drum".to_owned(),
            kind: Kind::Reflex,
            sections: 2,
            bolts_per_rail: Some(6),
            bolt_thread: "1/2-13".to_owned(),
            bolt_form: BoltForm::Bolts,
            glass_length_mm: Some(250),
            isolation: if number % 2 == 0 {
                Isolation::ShutdownOnly
            } else {
                Isolation::InService
            },
            installed_on: Some(
                date!(2021 - 09 - 20) + time::Duration::days(i64::from(number * 37 % 400)),
            ),
            maker: String::new(),
            order_number: String::new(),
            stamped_kit_number: String::new(),
            body_material: String::new(),
            gasket_material: String::new(),
            glass_type: String::new(),
            rating: Some(Stamped::new(Decimal::from(1000), PressureUnit::Psi)),
            rating_temperature: None,
            rating_unreadable: false,
            torque_unreadable: false,
            torque: Some(Stamped::new(Decimal::from(32), TorqueUnit::FootPound)),
            rating_points: Vec::new(),
            kit_id: Some(KitId(1)),
            kits_per_rebuild: 2,
            papers_rebuilt_on: None,
            papers_looked_on: None,
            note: String::new(),
            assumed: Vec::new(),
        };
        acts::gauges::register(&mut deed, &particulars)
            .await
            .unwrap();
    }
    deed.commit("").await.unwrap();
    (plant, engineer)
}

/// How many statements were asked since the last time, every one of them, and none but those of pages.
///
/// A statement is counted when its connection puts it away, which may be after the page was read. A
/// connection comes free only once it has put away all it was asked, so whoever holds all of them has waited
/// for the last statement, however busy the machine is. And a page that finds its connections not yet free
/// again opens one more, which sets it up with a statement of its own: once all were held at once, none is
/// left to be opened.
async fn asked(store: &Store) -> usize {
    let mut all = Vec::new();
    for _ in 0..READERS {
        all.push(store.read().await.unwrap());
    }
    let writer = store.write().await.unwrap();
    let asked = ASKED.swap(0, Ordering::SeqCst);
    drop(writer);
    drop(all);
    asked
}

/// How many statements each page asks, in the order of [`PAGES`].
async fn counted(store: &Store, visitor: &mut Visitor) -> Vec<usize> {
    // Opens every connection; each is waited for from the second time on.
    asked(store).await;
    let mut counts = Vec::new();
    for page in PAGES {
        // The first visit may fill what is kept between visits.
        visitor.get(page).await.is(axum::http::StatusCode::OK);
        asked(store).await;
        visitor.get(page).await.is(axum::http::StatusCode::OK);
        counts.push(asked(store).await);
    }
    counts
}

#[test]
fn no_page_asks_more_often_at_a_thousand_gauges_than_at_ten() {
    if std::env::var_os(COUNTING).is_some() {
        count();
        return;
    }
    let done = Command::new(std::env::current_exe().unwrap())
        .args([
            "--exact",
            "statements::no_page_asks_more_often_at_a_thousand_gauges_than_at_ten",
            "--nocapture",
        ])
        .env(COUNTING, "1")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&done.stdout);
    assert!(
        done.status.success(),
        "{said}\n{}",
        String::from_utf8_lossy(&done.stderr)
    );
    assert!(said.contains("counted 15 pages"), "{said}");
}

fn count() {
    let subscriber = tracing_subscriber::registry().with(Counts);
    tracing::subscriber::set_global_default(subscriber).unwrap();
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .unwrap();
    runtime.block_on(async {
        let (ten, mut few) = plant_of(10).await;
        let few = counted(&ten.store, &mut few).await;
        let (thousand, mut many) = plant_of(1_000).await;
        let many = counted(&thousand.store, &mut many).await;
        for ((page, few), many) in PAGES.iter().zip(&few).zip(&many) {
            println!("{page}: {few} and {many} statements");
            assert!(*few > 0, "{page} was not counted");
        }
        // Fewer is fine: a rack of more than sixty gauges is drawn as bars and asks for none of them.
        for ((page, few), many) in PAGES.iter().zip(&few).zip(&many) {
            assert!(
                many <= few,
                "{page} asks {many} times at 1,000 gauges and {few} times at 10"
            );
            assert!(*many <= 40, "{page} asks {many} times");
        }
        println!("counted {} pages", PAGES.len());
    });
}
