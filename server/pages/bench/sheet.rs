//! The bench sheet of a gauge's open rebuild: one thing to do at a time, with its caution, the way
//! behind and ahead, and what was recorded so far. The forms of the steps are in their own files.

use std::borrow::Borrow;

use askama::Template;
use axum::extract::{Path, State};
use sqlx::SqliteConnection;
use time::{Date, Duration};

use super::bolt_plan::{BoltPlan, Order};
use super::job::{self, Job};
use super::moves::{Abandon, Back, Return};
use super::step::{Common, Options, Step, sections};
use super::{
    assembled, bolting, face, hand_over, kits, made_safe, none, photo, prove, remark, start,
    stripped, tightened,
};
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;
use crate::pages::form::Errors;
use crate::pages::story::{Happened, story};
use crate::pages::{App, address, show};
use crate::record::Moment;
use crate::record::bench::{Entry, Topic};
use crate::record::course::{Next, Stage};
use crate::record::face::FaceResult;
use crate::record::gauge::Kind;
use crate::record::person::Role;
use crate::record::pressure_test::{Asked, Basis, asked};
use crate::record::rebuild::RebuildState;
use crate::record::sentence::Sentence;
use crate::record::turn::Left;
use crate::record::used_up;
use crate::store;
use crate::store::bench::KitLine;
use crate::store::hand_overs::HandOver;

/// Entries a page takes while it has no connection, besides the first.
const SPARE_KEYS: usize = 24;

/// The one thing the sheet asks for.
#[derive(Debug, Clone)]
pub enum Form {
    /// To be made ready or taken to the bench.
    Start(Box<start::View>),
    /// Made safe.
    MadeSafe(made_safe::Typed),
    /// Stripped.
    Stripped(Box<stripped::View>),
    /// The bolting.
    Bolting(bolting::Typed),
    /// A face.
    Face(Box<face::View>),
    /// Kits to be issued.
    Kits(kits::View),
    /// Assembled.
    Assembled(assembled::Typed),
    /// Tightened.
    Tightened(Box<tightened::View>),
    /// To be sent to its test, with what that has to reach where it is known.
    SendToTest(Option<Box<Asked>>),
    /// On test.
    Prove(Box<prove::View>),
    /// Back to the bench.
    TakeBack(Back),
    /// Returned.
    Return(Return),
    /// Abandoned.
    Abandon(Abandon),
    /// A remark.
    Remark(remark::Typed),
    /// A photograph.
    Photo(photo::Typed),
    /// Handed to somebody else.
    HandOver(hand_over::View),
}

impl Form {
    /// The form for what comes next.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn due(db: &mut SqliteConnection, job: &Job, chrome: &Chrome) -> store::Result<Self> {
        match job.course.next() {
            Next::Start | Next::Nothing => start::Typed::default().form(db, job, chrome).await,
            Next::MakeSafe => made_safe::Typed::default().form(db, job, chrome).await,
            Next::Strip(_) => stripped::Typed::default().form(db, job, chrome).await,
            Next::CheckBolting(_) => bolting::Typed::default().form(db, job, chrome).await,
            Next::Inspect(..) => face::Typed::default().form(db, job, chrome).await,
            Next::IssueKits(_) => kits::Typed::default().form(db, job, chrome).await,
            Next::Assemble(_) => assembled::Typed::default().form(db, job, chrome).await,
            Next::Tighten(_) => tightened::Typed::default().form(db, job, chrome).await,
            Next::SendToTest => {
                let plan = store::test_plans::plan(db, &chrome.plant, &job.gauge).await?;
                let asked = asked(&plan, &job.gauge.particulars, &Basis::default());
                Ok(Self::SendToTest(asked.ok().map(Box::new)))
            }
            Next::Prove => prove::Typed::default().form(db, job, chrome).await,
            Next::TakeBack => Ok(Self::TakeBack(Back::proposed(job))),
            Next::Return => Ok(Self::Return(Return::default())),
        }
    }

    /// The stage the form belongs to, where it belongs to one.
    const fn stage(&self) -> Option<Stage> {
        Some(match self {
            Self::Start(_)
            | Self::Abandon(_)
            | Self::Remark(_)
            | Self::Photo(_)
            | Self::HandOver(_) => return None,
            Self::MadeSafe(_) => Stage::MadeSafe,
            Self::Stripped(_) => Stage::Stripped,
            Self::Bolting(_) | Self::Face(_) => Stage::Inspected,
            Self::Kits(_) | Self::Assembled(_) => Stage::Assembled,
            Self::Tightened(_) => Stage::Tightened,
            Self::SendToTest(_) | Self::Prove(_) | Self::TakeBack(_) => Stage::Proved,
            Self::Return(_) => Stage::Returned,
        })
    }
}

/// What was recorded last.
struct Last {
    what: String,
    person: String,
    at: Moment,
}

/// The sheet.
#[derive(Template)]
#[template(path = "bench/sheet.html")]
pub struct Page {
    chrome: Chrome,
    job: Job,
    form: Form,
    errors: Errors,
    common: Common,
    /// Whether this is the page of what comes next.
    comes_next: bool,
}

impl Page {
    /// The sheet with a form and what was refused of it.
    pub fn new(chrome: Chrome, job: Job, form: Form, errors: Errors, common: Common) -> Self {
        Self {
            chrome,
            job,
            form,
            errors,
            common,
            comes_next: false,
        }
    }

    /// Whether the page shows the form of this step already, so that no link leads to it.
    fn shows(&self, step: &str) -> bool {
        let own = match &self.form {
            Form::MadeSafe(_) => "made-safe",
            Form::Bolting(_) => "bolting",
            Form::Face(_) => "face",
            Form::Kits(_) => "kits",
            Form::Photo(_) => "photo",
            Form::Remark(_) => "remark",
            Form::HandOver(_) => "hand-over",
            Form::TakeBack(_) => "back",
            Form::Abandon(_) => "abandon",
            _ => return false,
        };
        own == step && self.correcting().is_none()
    }

    /// Whether the person works at the bench.
    fn works(&self) -> bool {
        self.chrome.may(&[Role::Technician, Role::Engineer])
    }

    /// Whether the person plans, and the rebuild is not begun.
    fn gives_another_day(&self) -> bool {
        self.chrome.plans() && !self.job.rebuild.state.under_way()
    }

    /// Whether the person may issue kits.
    fn issues(&self) -> bool {
        self.works() || self.chrome.may(&[Role::Storekeeper])
    }

    /// Whether the form may be shown to this person at all.
    fn open_to_them(&self) -> bool {
        self.works() || (matches!(self.form, Form::Kits(_)) && self.issues())
    }

    /// The entry that is corrected, if one is.
    fn correcting(&self) -> Option<&Entry> {
        self.common
            .corrects()
            .and_then(|id| self.job.course.entry(id))
    }

    fn waits_for(&self) -> String {
        self.job.course.waits_for(self.chrome.today)
    }

    /// What the storeroom holds for it, after the rebuilds that come before.
    fn shelf(&self) -> Left {
        self.job.course.shelf(self.chrome.today)
    }

    /// The heading once a hold has lasted long enough, which a script puts there when it has.
    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn held_long_enough(&self) -> &'static str {
        "On test: held long enough, look at every joint"
    }

    fn heading(&self) -> String {
        let course = &self.job.course;
        let of = |typed: &str| match typed.parse::<u8>() {
            Ok(section) if course.sections > 1 => {
                format!(" section {section} of {}", course.sections)
            }
            _ if course.sections > 1 => " every section".to_owned(),
            _ => " the gauge".to_owned(),
        };
        if let Some(entry) = self.correcting() {
            return format!(
                "Correct \u{201c}{}\u{201d}{}",
                course.title(entry),
                course.of_section(entry.section)
            );
        }
        match &self.form {
            // What others do is no order to somebody who only looks.
            _ if !self.open_to_them() => format!("It waits for: {}", self.waits_for()),
            Form::Start(_) => "Take it to the bench".to_owned(),
            Form::MadeSafe(_) if course.missing(Stage::MadeSafe).is_none() => {
                "Another permit or lock".to_owned()
            }
            Form::MadeSafe(_) => "Make it safe".to_owned(),
            Form::Stripped(view) => format!("Strip{}", of(&view.typed.section)),
            Form::Bolting(_) => match self.hanging_nut() {
                Some(entry) => format!("A nut{} hangs", course.of_section(entry.section)),
                None => "Check the bolting".to_owned(),
            },
            Form::Face(view) => {
                let face = view
                    .faces
                    .iter()
                    .find(|(word, _)| *word == view.typed.face)
                    .map_or("face", |(_, shown)| shown.as_str());
                let section = view.typed.section.parse().ok();
                let first = match self.face_asks(view) {
                    None => "Inspect the",
                    Some(FaceResult::Scrap) => "Renew the part:",
                    Some(FaceResult::Skim) => "Skim, then measure again:",
                    Some(FaceResult::SkimOrRenew) => "Skim or renew, then measure again:",
                    Some(FaceResult::Accept) => "Not good yet:",
                };
                format!("{first} {face}{}", course.of_section(section))
            }
            Form::Kits(_) => match course.kits_wanted() {
                0 => "Every kit is issued".to_owned(),
                1 => "Issue 1 new kit".to_owned(),
                wanted => format!("Issue {wanted} new kits"),
            },
            Form::Assembled(typed) => format!("Assemble{}", of(&typed.section)),
            // The script that turns the passes replaces the first "n of n" of it.
            Form::Tightened(view) if view.wrench.is_some() => {
                let section = match view.typed.section.parse::<u8>() {
                    Ok(section) if course.sections > 1 => format!(" section {section}"),
                    _ => String::new(),
                };
                if view.again {
                    format!("Tighten{section} again, once round")
                } else {
                    let (pass, all) = (view.pass + 1, view.passes());
                    format!("Tighten{section}, pass {pass} of {all}")
                }
            }
            Form::Tightened(view) if view.again => {
                format!("Tighten{} again", of(&view.typed.section))
            }
            Form::Tightened(view) => format!("Tighten{}", of(&view.typed.section)),
            Form::SendToTest(_) => "Ready for its pressure test".to_owned(),
            Form::Prove(view) if view.in_vain() => "On test: let the pressure off".to_owned(),
            Form::Prove(view) if view.over() => self.held_long_enough().to_owned(),
            Form::Prove(view) if view.hold.is_some() => "On test: hold the pressure".to_owned(),
            Form::Prove(_) => "On test: prove it under pressure".to_owned(),
            Form::TakeBack(_) => match course.next() {
                Next::TakeBack => "Failed its test: back to the bench".to_owned(),
                _ => "Back to the bench".to_owned(),
            },
            Form::Return(_) => "Passed its test: return it".to_owned(),
            Form::Abandon(_) => "Abandon this rebuild".to_owned(),
            Form::Remark(_) => "Write a remark".to_owned(),
            Form::Photo(_) => "Add a photograph".to_owned(),
            Form::HandOver(_) => "Hand this rebuild over".to_owned(),
        }
    }

    /// The stages with how each is drawn: `done`, `now` or `later`.
    fn stages(&self) -> Vec<(Stage, &'static str)> {
        let course = &self.job.course;
        let shown = self.form.stage();
        Stage::ALL
            .iter()
            .map(|stage| {
                let done = match (course.state, *stage) {
                    (RebuildState::Planned | RebuildState::Ready, _) => false,
                    (_, stage) => course.missing(stage).is_none(),
                };
                let look = if shown == Some(*stage) {
                    "now"
                } else if done {
                    "done"
                } else {
                    "later"
                };
                (*stage, look)
            })
            .collect()
    }

    /// Keys for the entries that follow on a page which only adds and has no connection meanwhile.
    fn spare_keys(&self) -> String {
        let keys: Vec<String> = (0..SPARE_KEYS).map(|_| self.chrome.key()).collect();
        keys.join(" ")
    }

    /// What is said of walls that count as used up though nothing stops their faces: while the gauge is open,
    /// before its test and before it goes back.
    fn used_up(&self) -> Vec<Sentence> {
        let open = matches!(
            self.form,
            Form::Face(_) | Form::Kits(_) | Form::Assembled(_)
        );
        let leaves = matches!(self.form, Form::SendToTest(_) | Form::Return(_));
        if !open && !leaves {
            return Vec::new();
        }
        let course = &self.job.course;
        let least = self.chrome.plant.wall_limit;
        let worn = self.job.worn.iter().filter(|wear| {
            let place = wear.wall.place;
            course.against_face(place.section, place.face).is_none()
        });
        worn.filter_map(|wear| {
            let of = course.of_section(Some(wear.wall.place.section));
            used_up::caution(wear, least, &of)
        })
        .collect()
    }

    /// By when the bolting is to be tightened again if the gauge is returned today.
    fn re_torque_by(&self) -> Option<Date> {
        let days = i64::from(self.job.re_torque_days?);
        self.chrome.today.checked_add(Duration::days(days))
    }

    /// The bolting of one section, numbered as it is to be loosened where a nut hangs; none where its
    /// layout is not known.
    fn bolts(&self) -> Option<BoltPlan> {
        let which = if self.hanging_nut().is_some() {
            Order::Loosening
        } else {
            Order::Tightening
        };
        let mut plan = BoltPlan::of(&self.job.gauge, which)?;
        if which == Order::Tightening {
            plan.numbered = "Numbered as they are tightened later.";
        }
        Some(plan)
    }

    /// The entry that found a nut hanging, where that is what stops the rebuild.
    fn hanging_nut(&self) -> Option<&Entry> {
        let stops = matches!(self.job.course.next(), Next::CheckBolting(_));
        let found = self.job.course.hanging_nut()?;
        (stops && self.correcting().is_none()).then_some(found)
    }

    /// The hand-over that waits to be taken over. What there is to know stays before the eyes of the one
    /// who took it over until they have recorded something themselves.
    fn handed(&self) -> Option<&HandOver> {
        let last = self.job.hand_overs.last();
        last.filter(|one| {
            let before = |taken| self.mine(one) && !self.recorded_since(taken);
            one.taken_at.is_none_or(before)
        })
    }

    /// Whether the person who looks has recorded anything since then.
    fn recorded_since(&self, then: Moment) -> bool {
        let own = self.chrome.signed.person.id;
        let mut all = self.job.course.entries.iter();
        all.any(|entry| entry.person_id == own && entry.at > then)
    }

    /// Whether the person who looks is the one it was handed to.
    fn mine(&self, one: &HandOver) -> bool {
        one.to_id == self.chrome.signed.person.id
    }

    /// Everything that stands, with the steps from state to state, the kits and the tests in their places,
    /// the latest first.
    fn recorded(&self) -> Vec<Happened<'_>> {
        let mut all = story(&self.job.course, &self.job.kits, &self.job.tests);
        all.retain(|one| !matches!(one, Happened::Recorded(entry) if entry.superseded));
        all.reverse();
        all
    }

    /// Where something is done again.
    fn place(&self, section: impl Borrow<Option<u8>>) -> String {
        self.job.course.place(*section.borrow())
    }

    /// What is done with the face of the form by what was recorded of it last; none while nothing stands
    /// against it.
    fn face_asks(&self, view: &face::View) -> Option<FaceResult> {
        view.against.as_ref()?;
        let section = view.typed.section.parse().unwrap_or(1);
        let face = view.typed.face.parse().ok()?;
        let (_, standing) = self.job.course.standing_face(section, face)?;
        match standing.verdict().result() {
            FaceResult::SkimOrRenew if view.cut_enough => Some(FaceResult::Scrap),
            result => Some(result),
        }
    }

    /// Whether the page shows the first pass of a section, to which the section before it led.
    fn begins_a_section(&self) -> bool {
        let first =
            |view: &tightened::View| view.wrench.is_some() && view.pass == 0 && view.nut <= 1;
        matches!(&self.form, Form::Tightened(view) if first(view))
            && !self.errors.any()
            && self.correcting().is_none()
    }

    /// The day kits were taken, where that is not the day on which it was written down.
    fn moved_on(&self, line: &KitLine) -> Option<Date> {
        let written = self.chrome.zone().date(line.at);
        Some(line.on_date).filter(|day| *day != written)
    }

    /// What was recorded last, so that whoever comes from a step reads that it was taken; on the page of
    /// what comes next and on the first pass of a section only.
    fn last(&self) -> Option<Last> {
        if !self.comes_next && !self.begins_a_section() {
            return None;
        }
        let course = &self.job.course;
        // What one clock tick holds is told apart by what each came after.
        let step = course.moves.last();
        let moved = step.filter(|one| one.after_entry >= course.last_entry());
        let moved = moved.map(|one| Last {
            what: one.told().to_owned(),
            person: one.person.clone(),
            at: one.at,
        });
        let kits = self.job.kits.last().map(|line| Last {
            what: format!("{}, lot {}", line.told(), line.lot),
            person: line.person.clone(),
            at: line.at,
        });
        let entry = course.entries.last().map(|entry| Last {
            what: format!(
                "{}{}{}",
                course.title(entry),
                self.place_of(entry),
                if entry.supersedes.is_some() {
                    " (corrected)"
                } else {
                    ""
                }
            ),
            person: entry.person.clone(),
            at: entry.at,
        });
        let photo = self.job.photos.last().map(|one| Last {
            what: "A photograph".to_owned(),
            person: one.person.clone(),
            at: one.at,
        });
        let handed = self.job.hand_overs.last().map(|one| match one.taken_at {
            Some(at) => Last {
                what: "Taken over".to_owned(),
                person: one.to.clone(),
                at,
            },
            None => Last {
                what: format!("Handed over to {}", one.to),
                person: one.person.clone(),
                at: one.at,
            },
        });
        let read = match &self.form {
            Form::Prove(view) => view.hold.as_ref().and_then(|hold| hold.readings.last()),
            _ => None,
        };
        let read = read.map(|read| Last {
            what: "A reading of the hold".to_owned(),
            person: read.person.clone(),
            at: read.at,
        });
        let test = course.test.as_ref();
        let test = test.filter(|test| step.is_none_or(|one| test.id > one.after_test));
        let test = test.map(|test| Last {
            what: format!("Pressure test {}, {}", test.number, test.result),
            person: test.person.clone(),
            at: test.at,
        });
        let all = [kits, entry, photo, handed, moved, read, test];
        all.into_iter().flatten().max_by_key(|one| one.at)
    }

    fn section_choices(&self, all: bool) -> Options {
        sections(&self.job, all.then_some("all alike"))
    }

    /// The sections to choose from, or what all of them together are called here.
    fn sections_or(&self, whole: &str) -> Options {
        sections(&self.job, Some(whole))
    }

    /// The section of an entry, behind its title.
    fn place_of(&self, entry: &Entry) -> String {
        entry.place(self.job.course.sections)
    }

    fn of_section(&self, section: impl Borrow<Option<u8>>) -> String {
        self.job.course.of_section(*section.borrow())
    }

    /// The address of a step of this sheet.
    fn step(&self, step: &str) -> String {
        address::bench_step(&self.job.gauge.particulars.tag, step)
    }

    /// The sheet on paper of this size.
    fn paper(&self, paper: &str) -> String {
        address::with_query(&self.step("sheet.pdf"), &[("paper", paper.to_owned())])
    }

    /// Where a pressure test of this gauge is recorded.
    fn test_form(&self) -> String {
        let tag = address::encoded(&self.job.gauge.particulars.tag);
        format!("{}/new/{tag}", address::PRESSURE_TESTS)
    }

    /// Where an entry is corrected.
    fn correct(&self, entry: &Entry) -> String {
        let step = match entry.facts.topic() {
            Topic::MadeSafe => "made-safe",
            Topic::Stripped => "stripped",
            Topic::Bolting => "bolting",
            Topic::Face => "face",
            Topic::Assembled => "assembled",
            Topic::Tightened => "tightened",
            Topic::Returned | Topic::Remark => "remark",
        };
        address::with_query(&self.step(step), &[("correct", entry.id.0.to_string())])
    }

    /// The number of the last entry this page shows.
    fn last_entry(&self) -> i64 {
        self.job.course.last_entry()
    }
}

/// The sheet with what comes next.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    match job::find(&mut db, &tag).await? {
        (_, Some(job)) => {
            let form = Form::due(&mut db, &job, &chrome).await?;
            answer::page(&Page {
                comes_next: true,
                ..Page::new(chrome, job, form, Errors::none(), Common::default())
            })
        }
        (gauge, None) => none::show(&mut db, chrome, gauge).await,
    }
}
