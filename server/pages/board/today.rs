//! What today asks of the one who looks: a few lines with a number and where to go, by role.
//! The racks below them are the same for everybody.

use sqlx::SqliteConnection;
use time::{Date, Duration};

use crate::acts::needs::SOON;
use crate::calc::calendar::LAST_DAY;
use crate::calc::due::Rule;
use crate::pages::{address, show};
use crate::record::PersonId;
use crate::record::certificate_mark::Today;
use crate::record::person::{Person, Role};
use crate::record::pressure_test::Waiting;
use crate::record::rebuild::RebuildState;
use crate::store::columns::word;
use crate::store::due::COUNTED;
use crate::store::issued::Filter;
use crate::store::{self, Result};

/// One thing to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// How many, and of what.
    pub words: String,
    /// Where it is done.
    pub address: String,
}

/// Calibrations that end within this many days are told.
const CALIBRATION_DAYS: i64 = 30;
/// Lots whose last day is within this many days are told.
const LAST_DAY_WITHIN: i64 = 30;

struct List(Vec<Task>);

impl List {
    /// Adds a line if there is anything to do.
    fn add(&mut self, count: i64, one: &str, many: &str, address: impl Into<String>) {
        if count > 0 {
            self.0.push(Task {
                words: show::counted(count, COUNTED, one, many),
                address: address.into(),
            });
        }
    }
}

fn bench(state: RebuildState) -> String {
    address::with_query(address::BENCH, &[("state", state.word().to_owned())])
}

/// What there is to do today, the most pressing first.
pub async fn of(db: &mut SqliteConnection, who: &Person, today: Date) -> Result<Vec<Task>> {
    let mut list = List(Vec::new());
    match who.role {
        Role::Technician => {
            failures(db, &mut list).await?;
            rebuilds(db, &mut list, true).await?;
            not_begun(db, &mut list, today).await?;
            again(db, &mut list).await?;
            walks(db, &mut list, today).await?;
        }
        Role::Storekeeper => {
            storeroom(db, &mut list, today).await?;
            shelf(db, &mut list, today).await?;
            rebuilds(db, &mut list, false).await?;
        }
        Role::Inspector => {
            waiting(db, &mut list, who.id).await?;
            deferrals(db, &mut list).await?;
            gas(db, &mut list, who.id).await?;
            questioned(db, &mut list).await?;
            again(db, &mut list).await?;
            let planned = store::planned_tests::count_to_witness(db, COUNTED).await?;
            list.add(
                planned,
                "planned test is to be witnessed",
                "planned tests are to be witnessed",
                address::INSPECT,
            );
            instruments(db, &mut list, today).await?;
        }
        Role::Engineer => {
            failures(db, &mut list).await?;
            deferrals(db, &mut list).await?;
            let open = store::recalls::count_undecided(db).await?;
            list.add(
                open,
                "recall waits for decisions",
                "recalls wait for decisions",
                address::RECALLS,
            );
            gas(db, &mut list, who.id).await?;
            questioned(db, &mut list).await?;
            let unplaced = store::due_days::count_unplaced(db).await?;
            list.add(
                unplaced,
                "gauge finds no window before its date",
                "gauges find no window before their date",
                address::WINDOWS,
            );
            rebuilds(db, &mut list, false).await?;
            instruments(db, &mut list, today).await?;
        }
        Role::Administrator => {
            let without = store::people::without_password(db).await?;
            list.add(
                without,
                "person has not set a password yet",
                "people have not set a password yet",
                address::PEOPLE,
            );
            deferrals(db, &mut list).await?;
        }
    }
    Ok(list.0)
}

async fn storeroom(db: &mut SqliteConnection, list: &mut List, today: Date) -> Result<()> {
    let late = store::orders::count_late(db, today, COUNTED).await?;
    list.add(
        late,
        "awaited line is late",
        "awaited lines are late",
        address::ORDERS,
    );
    let soon = store::outlook::count_to_order(db, today.saturating_add(SOON), COUNTED).await?;
    list.add(
        soon,
        "kit is to be ordered within 30 days",
        "kits are to be ordered within 30 days",
        address::NEEDS,
    );
    let hurried = store::outlook::count_to_hurry(db, COUNTED).await?;
    list.add(
        hurried,
        "kit on the way comes too late and is to be hurried",
        "kits on the way come too late and are to be hurried",
        address::NEEDS,
    );
    Ok(())
}

/// What the shelf and the desk ask for: lots to use first, and drafts that were never placed.
async fn shelf(db: &mut SqliteConnection, list: &mut List, today: Date) -> Result<()> {
    let until = today.saturating_add(Duration::days(LAST_DAY_WITHIN));
    let ending = store::shelf::count_ending(db, (today, until), COUNTED).await?;
    list.add(
        ending,
        "lot on the shelf has its last day within 30 days",
        "lots on the shelf have their last day within 30 days",
        address::STOREROOM,
    );
    let drafts = store::orders::count_drafts(db, COUNTED).await?;
    list.add(
        drafts,
        "order is drafted and not placed",
        "orders are drafted and not placed",
        address::ORDERS,
    );
    Ok(())
}

/// Rebuilds that should have been taken to the bench.
async fn not_begun(db: &mut SqliteConnection, list: &mut List, today: Date) -> Result<()> {
    let past = store::rebuilds::count_not_begun(db, today, COUNTED).await?;
    list.add(
        past,
        "rebuild is past its planned day and not begun",
        "rebuilds are past their planned day and not begun",
        address::BENCH,
    );
    Ok(())
}

/// Gauges whose certificate was withdrawn.
async fn again(db: &mut SqliteConnection, list: &mut List) -> Result<()> {
    let again = store::due_days::count_withdrawn(db).await?;
    list.add(
        again,
        "gauge is to be tested again, its certificate withdrawn",
        "gauges are to be tested again, their certificates withdrawn",
        address::with_query(address::DUE, &[("rule", word(&Rule::Withdrawn))]),
    );
    Ok(())
}

/// What is done on a walk through the plant: bolting to be tightened again, look-overs past due.
async fn walks(db: &mut SqliteConnection, list: &mut List, today: Date) -> Result<()> {
    let rule = Rule::Retorque;
    let re_torques = store::due_days::count_governed(db, rule, LAST_DAY).await?;
    list.add(
        re_torques,
        "gauge is to be tightened again",
        "gauges are to be tightened again",
        address::with_query(address::DUE, &[("rule", word(&rule))]),
    );
    let rule = Rule::LookOver;
    let past = store::due_days::count_governed(db, rule, today).await?;
    let until = today.previous_day().unwrap_or(today);
    list.add(
        past,
        "look-over is past due",
        "look-overs are past due",
        address::with_query(
            address::DUE,
            &[("rule", word(&rule)), ("until", until.to_string())],
        ),
    );
    Ok(())
}

/// Certificates somebody has to decide about.
async fn questioned(db: &mut SqliteConnection, list: &mut List) -> Result<()> {
    let standing = Today::Questioned;
    let only = Filter {
        standing: Some(standing),
        ..Filter::default()
    };
    let questioned = store::issued::count(db, &only, COUNTED).await?;
    list.add(
        questioned,
        "certificate is in question",
        "certificates are in question",
        address::with_query(
            address::CERTIFICATES,
            &[("standing", standing.word().to_owned())],
        ),
    );
    Ok(())
}

async fn deferrals(db: &mut SqliteConnection, list: &mut List) -> Result<()> {
    let asked = store::deferrals::count_waiting(db, COUNTED).await?;
    list.add(
        asked,
        "deferral waits for a signature",
        "deferrals wait for a signature",
        address::DUE,
    );
    Ok(())
}

/// Gas tests somebody else asked for; the one where it is approved, several where they are listed.
async fn gas(db: &mut SqliteConnection, list: &mut List, who: PersonId) -> Result<()> {
    let mut asked = store::gas_tests::open(db, COUNTED).await?;
    asked.retain(|open| open.person_id != who);
    let to = match asked.as_slice() {
        [only] => address::gas_test(&only.tag),
        _ => address::INSPECT.to_owned(),
    };
    list.add(
        i64::try_from(asked.len()).unwrap_or(COUNTED),
        "gas test waits for its approval",
        "gas tests wait for their approval",
        to,
    );
    Ok(())
}

async fn failures(db: &mut SqliteConnection, list: &mut List) -> Result<()> {
    let failed = store::due_days::count_failed(db).await?;
    let address = address::with_query(address::DUE, &[("rule", word(&Rule::Failure))]);
    list.add(
        failed,
        "gauge failed in service",
        "gauges failed in service",
        address,
    );
    Ok(())
}

/// Rebuilds by state: those under way first for whoever holds the wrench, those to come first for
/// whoever gets them ready.
async fn rebuilds(db: &mut SqliteConnection, list: &mut List, at_work: bool) -> Result<()> {
    let counts = store::rebuilds::count_open(db).await?;
    let words = |state| match state {
        RebuildState::AtTheBench => ("rebuild at the bench", "rebuilds at the bench"),
        RebuildState::OnTest => ("gauge on test", "gauges on test"),
        RebuildState::Ready => ("rebuild ready to start", "rebuilds ready to start"),
        _ => ("rebuild planned", "rebuilds planned"),
    };
    let states = if at_work {
        [
            RebuildState::AtTheBench,
            RebuildState::OnTest,
            RebuildState::Ready,
        ]
    } else {
        [
            RebuildState::Planned,
            RebuildState::Ready,
            RebuildState::AtTheBench,
        ]
    };
    for state in states {
        let count = counts
            .iter()
            .find(|(s, _)| *s == state)
            .map_or(0, |(_, n)| *n);
        let (one, many) = words(state);
        list.add(count, one, many, bench(state));
    }
    Ok(())
}

/// What waits for an inspector, counted and listed as on the page that shows it. Whoever did not see a
/// test cannot witness it.
async fn waiting(db: &mut SqliteConnection, list: &mut List, who: PersonId) -> Result<()> {
    let to_witness = store::pressure_tests::count_to_witness(db, who, COUNTED).await?;
    list.add(
        to_witness,
        "test waits for its witness",
        "tests wait for their witness",
        address::INSPECT,
    );
    let what = Waiting::Certificate;
    let to_issue = store::pressure_tests::count_waiting(db, what, COUNTED).await?;
    list.add(
        to_issue,
        "certificate waits to be issued",
        "certificates wait to be issued",
        address::INSPECT,
    );
    Ok(())
}

async fn instruments(db: &mut SqliteConnection, list: &mut List, today: Date) -> Result<()> {
    let later = today.saturating_add(Duration::days(CALIBRATION_DAYS));
    let cover = store::instruments::in_use(db, today, later).await?;
    list.add(
        cover.uncovered,
        "instrument without a valid calibration",
        "instruments without a valid calibration",
        address::INSTRUMENTS,
    );
    list.add(
        cover.running_out,
        "calibration ends within 30 days",
        "calibrations end within 30 days",
        address::INSTRUMENTS,
    );
    Ok(())
}
