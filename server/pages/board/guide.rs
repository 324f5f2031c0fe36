//! The first hour of a plant: what comes next, in order, each step done or not by what the register holds.
//! It is asked of the register until all of it is done, and never again while the program runs.

use sqlx::SqliteConnection;

use crate::pages::chrome::Chrome;
use crate::pages::{App, address};
use crate::record::person::Role;
use crate::store;
use crate::store::set_up::SetUp;

/// A step of the guide.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// What is done.
    pub words: &'static str,
    /// What it is for, or what is missing.
    pub why: String,
    /// Who does it.
    pub who: &'static [Role],
    /// Where, and what the link says.
    pub links: Vec<(&'static str, &'static str)>,
    /// Whether the register holds it.
    pub done: bool,
    /// Whether it is the first one open.
    pub next: bool,
}

impl Step {
    /// Who does it, in words.
    pub fn whose(&self) -> String {
        let all: Vec<String> = self.who.iter().map(|role| format!("the {role}")).collect();
        all.join(" or ")
    }
}

/// The guide as somebody sees it.
#[derive(Debug, Clone)]
pub struct Guide {
    /// The steps, in order.
    pub steps: Vec<Step>,
    /// Whose page it is.
    role: Role,
}

const SETTLE: &[Role] = &[Role::Administrator, Role::Engineer];
const STORE: &[Role] = &[Role::Storekeeper, Role::Engineer];
const WALK: &[Role] = &[Role::Engineer, Role::Technician, Role::Inspector];

impl Guide {
    /// The guide while something of it is open; no question to the register where nothing is.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn of(
        app: &App,
        db: &mut SqliteConnection,
        chrome: &Chrome,
    ) -> store::Result<Option<Self>> {
        if app.is_set_up() {
            return Ok(None);
        }
        let steps = steps(store::set_up::how_far(db).await?);
        if steps.iter().all(|step| step.done) {
            app.was_set_up();
            return Ok(None);
        }
        Ok(Some(Self {
            steps,
            role: chrome.person().role,
        }))
    }

    /// How many steps are done.
    pub fn done(&self) -> usize {
        self.steps.iter().filter(|step| step.done).count()
    }

    /// The steps still open.
    pub fn open(&self) -> Vec<&Step> {
        self.steps.iter().filter(|step| !step.done).collect()
    }

    /// Whether the person does this step.
    pub fn mine(&self, step: &Step) -> bool {
        step.who.contains(&self.role)
    }
}

/// Where somebody goes on who just did a part of the first hour: back to the guide, which shows what is
/// next, while anything of it is open; else to the usual place.
///
/// # Errors
/// The store's failure.
pub async fn onwards(
    app: &App,
    db: &mut SqliteConnection,
    usual: &'static str,
) -> store::Result<&'static str> {
    if app.is_set_up() {
        return Ok(usual);
    }
    let steps = steps(store::set_up::how_far(db).await?);
    let open = steps.iter().any(|step| !step.done);
    Ok(if open { address::GUIDE } else { usual })
}

fn steps(has: SetUp) -> Vec<Step> {
    let mut steps = vec![
        Step {
            words: "Settle what the plant\u{2019}s procedures say",
            why: "Name, time zone, tightening step and limits; and how pressure tests are planned and judged, with the procedure they follow.".to_owned(),
            who: SETTLE,
            links: vec![
                (address::TEST_PLAN, "How tests are planned and judged"),
                (address::SETTINGS, "The other settings"),
            ],
            done: has.tests_settled,
            next: false,
        },
        Step {
            words: "Add the people",
            why: people(has),
            who: &[Role::Administrator],
            links: vec![(address::ADD_PERSON, "Add somebody")],
            done: has.technician && has.inspector && has.engineer,
            next: false,
        },
        Step {
            words: "Name the areas and the service classes",
            why: match (has.area, has.interval) {
                (false, _) => "Areas are where gauges hang; a service class says what they see, and its intervals set the due dates.",
                (true, false) => "There is an area; what is missing is a service class with an interval, which sets the due dates.",
                (true, true) => "Areas are where gauges hang; the intervals of the classes set the due dates.",
            }
            .to_owned(),
            who: SETTLE,
            links: missing_first(
                has.area,
                [
                    (address::NEW_AREA, "Add an area"),
                    (address::NEW_CLASS, "Add a service class"),
                ],
            ),
            done: has.area && has.interval,
            next: false,
        },
        Step {
            words: "Add the kits and receive the first lot",
            why: if has.kit {
                "There is a kit; receive what lies on the shelf as its lots. Gauges name their kit, and then the register says what to order, and by when."
            } else {
                "A kit holds glass and gaskets of one section side, and each gauge names its own. What lies on the shelf is received as lots; then the register says what to order, and by when."
            }
            .to_owned(),
            who: STORE,
            links: missing_first(
                has.kit,
                [
                    (address::NEW_KIT, "Add a kit"),
                    (address::STOREROOM, "Receive a lot in the storeroom"),
                ],
            ),
            done: has.kit && has.lot,
            next: false,
        },
        Step {
            words: "Bring in the gauges",
            why: "The plant\u{2019}s list is a spreadsheet: its columns are read and shown before anything is taken in. Or take gauges in one by one, from their nameplates.".to_owned(),
            who: SETTLE,
            links: vec![
                (address::BRING_IN, "Bring in the plant\u{2019}s list"),
                (address::NEW_GAUGE, "Take in one gauge"),
            ],
            done: has.gauge,
            next: false,
        },
        Step {
            words: "Take in the instruments with their calibrations",
            why: "Torque wrenches, pressure gauges, calipers, indicators: nothing is recorded with an instrument that is out of calibration or has none.".to_owned(),
            who: SETTLE,
            links: missing_first(
                has.instrument,
                [
                    (address::NEW_INSTRUMENT, "Take in an instrument"),
                    (address::INSTRUMENTS, "Record a calibration"),
                ],
            ),
            done: has.instrument && has.calibration,
            next: false,
        },
        Step {
            words: "Look at what is due",
            why: "Go through the due list, and record the first look-over or plan the first rebuild from it.".to_owned(),
            who: WALK,
            links: vec![(address::DUE, "The due list")],
            done: has.work,
            next: false,
        },
    ];
    if let Some(first) = steps.iter_mut().find(|step| !step.done) {
        first.next = true;
    }
    steps
}

/// The two links of a step in two parts: the second part first once the first is there.
fn missing_first(
    first_is_there: bool,
    mut links: [(&'static str, &'static str); 2],
) -> Vec<(&'static str, &'static str)> {
    if first_is_there {
        links.reverse();
    }
    links.to_vec()
}

/// Who is missing. A tester cannot witness their own test, so that three people are the least; where
/// nobody keeps the storeroom, engineers do.
fn people(has: SetUp) -> String {
    let missing: Vec<&str> = [
        (has.engineer, "a reliability engineer, who plans"),
        (has.technician, "a technician, who works at the bench"),
        (has.inspector, "an inspector, who witnesses and certifies"),
        (
            has.storekeeper,
            "a storekeeper (until there is one, engineers keep the storeroom)",
        ),
    ]
    .into_iter()
    .filter(|(there, _)| !there)
    .map(|(_, who)| who)
    .collect();
    if missing.is_empty() {
        return "Each role is held by somebody.".to_owned();
    }
    format!("Still missing: {}.", missing.join("; "))
}
