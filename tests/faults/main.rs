//! The storeroom under fifty people at once while the program is killed again and again: every entry
//! that was acknowledged is there once, none that was refused is, and the ledger adds up.
//!
//! A kill ends the process at any instruction; what the disk itself does in a power cut is the
//! database's promise and not tested here.

#![expect(clippy::expect_used, reason = "a test that cannot go on should stop")]

mod browser;
mod program;

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

use gaugewright::acts::{self, Deed, Who};
use gaugewright::calc::pressure_test::Code;
use gaugewright::calc::quantity::{LengthUnit, Stamped, TorqueUnit};
use gaugewright::record::KitId;
use gaugewright::record::gauge::Kind;
use gaugewright::record::kit::Kit;
use gaugewright::record::moment::{Clock, Zone};
use gaugewright::record::person::Role;
use gaugewright::record::plant::Plant;
use gaugewright::store::{self, Store};
use rust_decimal::Decimal;

use browser::{Answer, Browser};
use program::Program;

const PEOPLE: usize = 50;
const LOTS: usize = 6;
const PASSWORD: &str = "a strip of flat glass";
/// No longer than this, however slow the machine is.
const LONGEST: Duration = Duration::from_secs(170);
/// A machine on which fewer kills fit into that time says so.
const LEAST_KILLS: usize = 100;

/// How often the program is killed.
fn kills() -> usize {
    std::env::var("GAUGEWRIGHT_KILLS")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or(220)
}

/// Fifty storekeepers, one kit, a few lots.
async fn furnish(folder: &Path) {
    let store = Store::open(folder).await.expect("a database");
    let hash = acts::people::hash_password(PASSWORD.to_owned())
        .await
        .expect("a hash");
    let mut deed = Deed::begin(&store, &Clock::Machine, Who::program(), None)
        .await
        .expect("a deed");
    let plant = Plant {
        name: "Test Works".to_owned(),
        owner: String::new(),
        address: String::new(),
        zone: Zone::utc(),
        test_code: Code::CommonPractice,
        hold_minutes: 5,
        tightening_step: Stamped::new(Decimal::from(5), TorqueUnit::FootPound),
        flatness_limit: Stamped::new(Decimal::new(2, 3), LengthUnit::Inch),
        wall_limit: Stamped::new(Decimal::new(100, 3), LengthUnit::Inch),
        skim_limit: 2,
        number_prefix: "TW".to_owned(),
        ground: String::new(),
        settled_on: None,
        demo: false,
        version: 0,
    };
    acts::plant::settle(&mut deed, &plant)
        .await
        .expect("a plant");
    let (boss, _) = acts::people::add(&mut deed, "boss", "Boss", Role::Administrator)
        .await
        .expect("a person");
    store::people::set_password(deed.db(), boss, &hash)
        .await
        .expect("a password");
    let mut first = None;
    for number in 0..PEOPLE {
        let name = format!("keeper{number}");
        let (id, _) = acts::people::add(&mut deed, &name, &name, Role::Storekeeper)
            .await
            .expect("a person");
        store::people::set_password(deed.db(), id, &hash)
            .await
            .expect("a password");
        first.get_or_insert(id);
    }
    let now = deed.now();
    let keeper = Who {
        id: first,
        name: "keeper0".to_owned(),
        role: Some(Role::Storekeeper),
    };
    deed.continue_as(keeper, now);
    let kit = Kit {
        id: KitId(0),
        number: "TW-K-1".parse().expect("a number"),
        name: "reflex 250".to_owned(),
        kind: Kind::Reflex,
        glass_length_mm: Some(250),
        contents: String::new(),
        shelf_life_months: None,
        lead_days: 10,
        pack: 1,
        minimum: 1,
        version: 0,
    };
    let kit = acts::kits::add(&mut deed, &kit).await.expect("a kit");
    let today = deed.today();
    for number in 0..LOTS {
        let receipt = acts::stock::Receipt {
            kit,
            lot: format!("L-{number}").parse().expect("a number"),
            quantity: 30,
            received_on: today,
            expires_on: None,
            place: String::new(),
        };
        acts::stock::receive(&mut deed, &receipt)
            .await
            .expect("a lot");
    }
    deed.commit("").await.expect("committed");
    store.close().await;
}

/// What is known of every entry that was sent.
#[derive(Default)]
struct Sent {
    acknowledged: BTreeSet<String>,
    refused: BTreeSet<String>,
    tries: usize,
    cut: usize,
}

/// One person at the shelf: opens a form, sends it, and sends it again until there is an answer.
fn work(number: usize, program: &Program, sent: &Mutex<Sent>, stop: &AtomicBool) {
    let mut browser = Browser::new(program.address());
    while !browser.sign_in(&format!("keeper{number}"), PASSWORD) {
        if stop.load(Ordering::Relaxed) {
            return;
        }
        thread::sleep(Duration::from_millis(50));
    }
    let mut turn = 0;
    while !stop.load(Ordering::Relaxed) {
        turn += 1;
        let reason = format!("entry {number}/{turn}");
        let lot = (number + turn) % LOTS;
        let movement =
            ["issue", "receipt", "count", "issue", "scrap", "receipt"][(number + turn) % 6];
        let page = format!("/storeroom/kits/TW-K-1/lots/L-{lot}/{movement}");
        let Some(form) = browser.get(&page) else {
            thread::sleep(Duration::from_millis(20));
            continue;
        };
        let (Some(key), seen) = (form.field("key"), form.field("seen").unwrap_or_default()) else {
            continue;
        };
        let today = form.field("received_on").unwrap_or_default();
        let counted = seen.parse::<i64>().unwrap_or(0) + 1;
        let quantity = match movement {
            "count" => counted.to_string(),
            "receipt" => "2".to_owned(),
            _ => "1".to_owned(),
        };
        let fields = [
            ("key", key.as_str()),
            ("quantity", quantity.as_str()),
            ("received_on", today.as_str()),
            ("seen", seen.as_str()),
            ("reason", reason.as_str()),
        ];
        // Like a person at a phone in a bad corner: presses again until the page answers.
        loop {
            let answer = browser.post(&page, &fields);
            let mut sent = sent.lock().expect("the list");
            sent.tries += 1;
            match answer {
                Some(Answer { status: 303, .. }) => {
                    sent.acknowledged.insert(reason.clone());
                    break;
                }
                Some(Answer {
                    status: 422 | 409, ..
                }) => {
                    sent.refused.insert(reason.clone());
                    break;
                }
                Some(answer) if answer.status < 500 => panic!("{page}: {}", answer.status),
                _ => sent.cut += 1,
            }
            drop(sent);
            if stop.load(Ordering::Relaxed) && !program.up() {
                return;
            }
            thread::sleep(Duration::from_millis(25));
        }
    }
}

#[test]
fn fifty_people_and_a_few_hundred_kills_lose_and_double_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let runtime = tokio::runtime::Runtime::new().expect("a runtime");
    runtime.block_on(furnish(folder.path()));
    let program = Arc::new(Program::start(folder.path()));
    let sent = Arc::new(Mutex::new(Sent::default()));
    let stop = Arc::new(AtomicBool::new(false));
    let workers: Vec<_> = (0..PEOPLE)
        .map(|number| {
            let (program, sent, stop) = (program.clone(), sent.clone(), stop.clone());
            thread::spawn(move || work(number, &program, &sent, &stop))
        })
        .collect();
    // Everybody is at work before the first kill.
    let begun = Instant::now();
    while sent.lock().expect("the list").acknowledged.len() < PEOPLE
        && begun.elapsed() < Duration::from_mins(1)
    {
        thread::sleep(Duration::from_millis(50));
    }
    let begun = Instant::now();
    let killed = AtomicUsize::new(0);
    for number in 0..kills() {
        if begun.elapsed() > LONGEST {
            break;
        }
        // Any moment: the pauses run through a span that is no multiple of anything.
        let pause = 40 + (u64::try_from(number).unwrap_or(0) * 37) % 211;
        thread::sleep(Duration::from_millis(pause));
        program.kill_and_start_again();
        killed.fetch_add(1, Ordering::Relaxed);
    }
    // What was cut off is sent once more and answered.
    stop.store(true, Ordering::Relaxed);
    for worker in workers {
        worker.join().expect("a worker");
    }
    program.stop();
    let killed = killed.into_inner();
    let sent = sent.lock().expect("the list");
    println!(
        "{killed} kills in {:?}: {} entries sent {} times, {} acknowledged, {} refused, {} cut off",
        begun.elapsed(),
        sent.acknowledged.len() + sent.refused.len(),
        sent.tries,
        sent.acknowledged.len(),
        sent.refused.len(),
        sent.cut
    );
    runtime.block_on(check(folder.path(), &sent));
    assert!(
        killed >= LEAST_KILLS.min(kills()),
        "only {killed} kills in {LONGEST:?}"
    );
    assert!(sent.acknowledged.len() > 2 * PEOPLE);
}

async fn check(folder: &Path, sent: &Sent) {
    use sqlx::Row;
    let store = Store::open(folder).await.expect("the database opens");
    let mut db = store.read().await.expect("a reader");
    let rows = sqlx::query(
        "SELECT reason, count(*) FROM stock_line WHERE reason LIKE 'entry %' GROUP BY reason",
    )
    .fetch_all(&mut *db)
    .await
    .expect("the ledger");
    let mut there = BTreeSet::new();
    for row in rows {
        let (reason, lines): (String, i64) = (row.get(0), row.get(1));
        assert_eq!(lines, 1, "{reason} stands more than once");
        there.insert(reason);
    }
    let missing: Vec<_> = sent.acknowledged.difference(&there).collect();
    assert!(
        missing.is_empty(),
        "acknowledged and not there: {missing:?}"
    );
    let refused: Vec<_> = sent.refused.intersection(&there).collect();
    assert!(refused.is_empty(), "refused and there: {refused:?}");
    let lots = sqlx::query(
        "SELECT lot_id, sum(quantity), min(balance),
           (SELECT balance FROM stock_line l WHERE l.lot_id = s.lot_id ORDER BY id DESC LIMIT 1)
         FROM stock_line s GROUP BY lot_id",
    )
    .fetch_all(&mut *db)
    .await
    .expect("the lots");
    assert_eq!(lots.len(), LOTS);
    for row in lots {
        let (lot, sum, least, balance): (i64, i64, i64, i64) =
            (row.get(0), row.get(1), row.get(2), row.get(3));
        assert_eq!(sum, balance, "lot {lot}");
        assert!(least >= 0, "lot {lot} was below nothing");
    }
    let report = acts::verify::verify(&mut db).await.expect("a report");
    assert!(report.sound(), "{:?}", report.findings);
}
