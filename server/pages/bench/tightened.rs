//! Tightened: the wrench is chosen first, then one pass at a time is shown with the bolts in order;
//! the last pass records the section. Passes and order are computed in `calc::tighten`.

use std::borrow::Borrow;
use std::collections::HashMap;

use serde::Deserialize;
use sqlx::SqliteConnection;

use super::bolt_plan::{BoltPlan, Order};
use super::job::Job;
use super::passes::{bolt_load, goes_round_once, made_with, one_round, outside};
use super::sheet::Form;
use super::step::{Options, Step, section, section_typed};
use crate::acts::bench::Recorded;
use crate::acts::bench::WRENCH_KEPT;
use crate::calc::bolting::{Load, LoadBand, wrench_fits};
use crate::calc::quantity::{PressureUnit, StampedTorque, TorqueUnit, Unit, significant};
use crate::calc::tighten::{self, Plan};
use crate::calc::working::Working;
use crate::pages::address;
use crate::pages::chrome::Chrome;
use crate::pages::form::{Errors, Reader};
use crate::pages::units::Read;
use crate::record::bench::{Entry, Facts, Finished, Tightening, listed};
use crate::record::course::Next;
use crate::record::instrument::{Cycles, Instrument, InstrumentKind};
use crate::record::person::Reads;
use crate::record::{InstrumentId, InstrumentNumber, Moment, TagNumber};
use crate::store;

/// What is typed or stands in the address.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) section: String,
    pub(super) wrench: String,
    pub(super) pass: String,
    /// The nut that comes next, where they are done one by one.
    pub(super) nut: String,
    pub(super) torque: String,
    pub(super) torque_unit: String,
    pub(super) torque_from: String,
    /// Sent with the choice of torque and wrench: the passes are to be begun.
    pub(super) begin: String,
    /// Sent by a page that asked for one round only.
    pub(super) again: String,
    /// When each pass was finished, as the page noted it: "5 2026-03-02T09:10:00.000Z, …".
    pub(super) finished: String,
    pub(super) note: String,
}

/// A wrench to choose from, and why it may not be used.
#[derive(Debug, Clone)]
pub struct Offer {
    /// The wrench.
    pub wrench: Instrument,
    /// Its range.
    pub range: String,
    /// Why not.
    pub against: Option<String>,
    /// Its loadings since its calibration.
    pub cycles: Option<Cycles>,
}

/// One pass as its tile shows it.
#[derive(Debug, Clone)]
pub struct Tile {
    /// The torque.
    pub torque: StampedTorque,
    /// Whether it lies outside what the wrench is good for.
    pub outside: bool,
    /// `done`, `now` or `later`.
    pub look: &'static str,
}

/// The form with the plan and the wrenches.
#[derive(Debug, Clone)]
pub struct View {
    /// What is typed.
    pub typed: Typed,
    /// The torque to reach; none while nobody has said it.
    pub target: Option<StampedTorque>,
    /// Whether the nameplate tells it.
    pub stamped: bool,
    /// The passes.
    pub plan: Option<Plan>,
    /// Whether the section is only tightened again, once round at the full torque.
    pub again: bool,
    /// Why there is no plan.
    pub trouble: Option<String>,
    /// The plant's step, where it is in another unit than the target.
    pub converted: Option<(StampedTorque, StampedTorque)>,
    /// The wrenches.
    pub offers: Vec<Offer>,
    /// The wrench chosen, if it may be used.
    pub wrench: Option<Offer>,
    /// What becomes of passes that were made with a wrench that may not be used any more.
    pub made_with_it: Option<&'static str>,
    /// The working of its range.
    pub range: Option<Working>,
    /// Passes the wrench is not good for.
    pub outside: Vec<StampedTorque>,
    /// The pass shown, from 0.
    pub pass: usize,
    /// The nut that comes next, from 1; 0 where a whole pass is shown at once.
    pub nut: usize,
    /// What the torque does to a bolt, where its thread is known.
    pub load: Option<LoadBand>,
    /// The nuts in order.
    pub picture: Option<BoltPlan>,
    /// Nuts of one section; 0 where the layout is not known.
    pub nuts: usize,
    /// The order of the sections that are open, in words; nothing where one is.
    pub order: String,
    /// The address of this sheet's step.
    pub address: String,
}

impl View {
    /// Units of torque.
    pub fn units(&self) -> Options {
        TorqueUnit::ALL
            .iter()
            .map(|unit| (unit.ucum().to_owned(), unit.symbol().to_owned()))
            .collect()
    }

    /// How many passes there are.
    pub fn passes(&self) -> usize {
        self.plan.as_ref().map_or(0, |plan| plan.passes.len())
    }

    /// By how much the last pass rises, and the step it rises by more than, where it does.
    pub fn larger_last(&self) -> Option<(StampedTorque, StampedTorque)> {
        self.plan.as_ref().and_then(Plan::larger_last)
    }

    /// Whether the pass shown is the last.
    pub fn last(&self) -> bool {
        self.pass + 1 >= self.passes()
    }

    /// The torque of the pass shown.
    pub fn torque(&self) -> Option<StampedTorque> {
        let plan = self.plan.as_ref()?;
        let value = plan.passes.get(self.pass)?;
        Some(StampedTorque::new(*value, plan.unit))
    }

    /// Whether the pass shown lies outside what the wrench is good for.
    pub fn outside_now(&self) -> bool {
        self.torque()
            .is_some_and(|torque| self.outside.contains(&torque))
    }

    /// From which torque on the wrench is relied on, where some pass lies below it.
    pub fn relied_from(&self) -> Option<StampedTorque> {
        if self.outside.is_empty() {
            return None;
        }
        let (low, high) = self.wrench.as_ref()?.wrench.torque_range()?;
        let verdict = wrench_fits(self.target?, low, high).ok()?;
        Some(verdict.usable_from)
    }

    /// The passes as tiles.
    pub fn tiles(&self) -> Vec<Tile> {
        let Some(plan) = &self.plan else {
            return Vec::new();
        };
        plan.passes
            .iter()
            .enumerate()
            .map(|(i, value)| {
                let torque = StampedTorque::new(*value, plan.unit);
                Tile {
                    torque,
                    outside: self.outside.contains(&torque),
                    look: match i.cmp(&self.pass) {
                        std::cmp::Ordering::Less => "done",
                        std::cmp::Ordering::Equal => "now",
                        std::cmp::Ordering::Greater => "later",
                    },
                }
            })
            .collect()
    }

    /// By what the page tells whether passes it noted before are those of this plan.
    pub fn plan_key(&self) -> String {
        self.plan
            .as_ref()
            .map_or_else(String::new, |plan| listed(&plan.passes, plan.unit))
    }

    /// What is said beside a wrench whose loadings do not last for this section.
    pub fn running_out(&self, cycles: impl Borrow<Option<Cycles>>) -> Option<String> {
        let cycles = (*cycles.borrow())?;
        let needed = self.passes() * self.nuts;
        (needed > usize::try_from(cycles.left()).unwrap_or(usize::MAX)).then(|| {
            format!(
                "{} more times before it is calibrated again, and this section takes {needed}",
                cycles.left()
            )
        })
    }

    /// How many places the order of the nuts has; none where the layout is not known.
    pub fn places(&self) -> usize {
        self.picture.as_ref().map_or(0, BoltPlan::places)
    }

    /// Why the passes cannot be begun with what was chosen.
    fn why_no_wrench(&self, chosen: &str) -> String {
        let named = |offer: &&Offer| offer.wrench.number.as_str().eq_ignore_ascii_case(chosen);
        match self.offers.iter().find(named) {
            _ if chosen.is_empty() => {
                "Choose the wrench first: the passes are begun with it in hand".to_owned()
            }
            Some(offer) => offer.against.clone().unwrap_or_default(),
            None => format!("No torque wrench in use has the number {chosen}"),
        }
    }

    /// How the nut that comes next is called.
    pub fn nut_label(&self) -> &str {
        self.picture
            .as_ref()
            .map_or("", |plan| plan.label(self.nut))
    }

    /// Whether this press ends the section: the last pass, and its last nut where they are counted.
    pub fn ends(&self) -> bool {
        self.last() && (self.nut == 0 || self.nut >= self.places())
    }

    /// Where the next press leads: the next nut, or the next pass.
    pub fn next(&self) -> String {
        match self.nut {
            0 => self.at(self.pass + 1, 0),
            nut if nut < self.places() => self.at(self.pass, nut + 1),
            _ => self.at(self.pass + 1, 1),
        }
    }

    /// Where one step back leads; none from the very first.
    pub fn before(&self) -> Option<String> {
        match (self.pass, self.nut) {
            (0, 0 | 1) => None,
            (pass, 0) => Some(self.at(pass - 1, 0)),
            (pass, 1) => Some(self.at(pass - 1, self.places())),
            (pass, nut) => Some(self.at(pass, nut - 1)),
        }
    }

    /// The same pass nut by nut, or all at once.
    pub fn other_way(&self) -> String {
        self.at(self.pass, usize::from(self.nut == 0))
    }

    /// The tension and the stress of a bolt at the full torque, in words: in the units of the person, or
    /// else in those of the torque.
    pub fn bolt(&self, reads: Reads) -> Option<String> {
        let load = self.load.as_ref()?;
        let system = match reads {
            Reads::AsStamped => self.target?.unit.system().unwrap_or(Reads::Si),
            chosen => chosen,
        };
        // Friction is not known to more than three digits.
        let three = |value: f64| {
            let value = format!("{value:.2e}").parse().unwrap_or(value);
            significant(value, 3)
        };
        let (force, unit) = match system {
            Reads::UsCustomary => (
                format!("{} lbf", three(load.likely.pounds_force())),
                PressureUnit::Psi,
            ),
            Reads::AsStamped | Reads::Si => (
                format!("{} kN", three(load.likely.force_n / 1000.0)),
                PressureUnit::MegaPascal,
            ),
        };
        let stress = |load: &Load| format!("{} {unit}", three(load.stress_in(unit)));
        Some(format!(
            "about {force}, {} in each bolt; from {} to {}, depending on thread friction",
            stress(&load.likely),
            stress(&load.low),
            stress(&load.high)
        ))
    }

    /// The address of a pass, and of a nut of it where they are done one by one.
    pub fn at(&self, pass: usize, nut: usize) -> String {
        let t = &self.typed;
        let one = if nut == 0 {
            String::new()
        } else {
            nut.to_string()
        };
        let mut values = vec![
            ("section", t.section.clone()),
            ("wrench", t.wrench.clone()),
            ("pass", (pass + 1).to_string()),
            ("nut", one),
        ];
        if !self.stamped {
            values.extend([
                ("torque", t.torque.clone()),
                ("torque_unit", t.torque_unit.clone()),
                ("torque_from", t.torque_from.clone()),
            ]);
        }
        address::with_query(&self.address, &values)
    }
}

impl Step for Typed {
    fn of(entry: &Entry) -> Option<Self> {
        let Facts::Tightened(tightening) = &entry.facts else {
            return None;
        };
        Some(Self {
            section: section_typed(entry.section),
            wrench: tightening.wrench.to_string(),
            pass: String::new(),
            nut: String::new(),
            torque: tightening.target.value.to_string(),
            torque_unit: tightening.target.unit.ucum().to_owned(),
            torque_from: tightening.target_from.clone().unwrap_or_default(),
            begin: String::new(),
            again: String::new(),
            finished: String::new(),
            note: tightening.note.clone(),
        })
    }

    fn read(&self, job: &Job, chrome: &Chrome) -> Result<Recorded, Errors> {
        let mut read = Reader::new();
        let place = section(&mut read, job, &self.section, false);
        let wrench = read.parse("wrench", &self.wrench);
        let note = read.text("note", &self.note, 2000);
        let target = target(&mut read, job, self);
        let passes = target.as_ref().and_then(|(torque, _)| {
            let plan = tighten::plan(*torque, chrome.plant.tightening_step);
            read.take("torque", plan).map(|plan| plan.passes)
        });
        let finished = finished(&mut read, &self.finished);
        let recorded = (|| {
            let (target, target_from) = target?;
            Some(Recorded {
                section: place?,
                facts: Facts::Tightened(Box::new(Tightening {
                    target,
                    target_from,
                    passes: passes?,
                    again: !self.again.is_empty(),
                    finished: finished?,
                    wrench: wrench?,
                    note,
                })),
            })
        })();
        read.finish(recorded)
    }

    /// Passes are begun with a torque and a wrench only, and go on with a wrench that may still be used.
    fn stops(&self, form: &Form) -> Errors {
        let Form::Tightened(view) = form else {
            return Errors::none();
        };
        let goes_on = !self.pass.is_empty() && view.plan.is_some();
        if (self.begin.is_empty() && !goes_on) || view.wrench.is_some() {
            return Errors::none();
        }
        let mut read = Reader::new();
        if view.plan.is_none() {
            said(&mut read, self);
        } else {
            read.refuse("wrench", view.why_no_wrench(self.wrench.trim()));
        }
        read.into_errors()
    }

    async fn form(
        mut self,
        db: &mut SqliteConnection,
        job: &Job,
        chrome: &Chrome,
    ) -> store::Result<Form> {
        if let (true, Next::Tighten(next)) = (self.section.is_empty(), job.course.next()) {
            self.section = next.to_string();
        }
        self.as_before(job);
        if self.torque_unit.is_empty() {
            let usual = chrome.reads().unit(TorqueUnit::FootPound);
            usual.ucum().clone_into(&mut self.torque_unit);
        }
        let wrenches = store::instruments::of_kind(db, InstrumentKind::TorqueWrench).await?;
        let now = chrome.now();
        let around = (now.plus(-WRENCH_KEPT), now);
        let busy = store::bench::wrenches_elsewhere(db, job.rebuild.id, around).await?;
        let ids: Vec<_> = wrenches.iter().map(|wrench| wrench.id).collect();
        let made = store::instruments::loadings(db, &ids).await?;
        let view = view(self, job, chrome, wrenches, (&busy, &made));
        Ok(Form::Tightened(Box::new(view)))
    }
}

impl Typed {
    /// A torque that was said for one section of this rebuild stands for the others.
    fn as_before(&mut self, job: &Job) {
        if !self.torque.is_empty() || job.gauge.particulars.torque.is_some() {
            return;
        }
        let before = job
            .course
            .entries
            .iter()
            .rev()
            .find_map(|e| match &e.facts {
                Facts::Tightened(t) if !e.superseded => Some(t),
                _ => None,
            });
        if let Some(t) = before {
            self.torque = t.target.value.to_string();
            t.target.unit.ucum().clone_into(&mut self.torque_unit);
            self.torque_from = t.target_from.clone().unwrap_or_default();
        }
    }
}

/// The torque to reach and where it comes from when the nameplate does not tell it.
fn target(read: &mut Reader, job: &Job, typed: &Typed) -> Option<(StampedTorque, Option<String>)> {
    match job.gauge.particulars.torque {
        Some(stamped) => Some((stamped, None)),
        None => said(read, typed),
    }
}

/// The torque that was said and where it comes from.
fn said(read: &mut Reader, typed: &Typed) -> Option<(StampedTorque, Option<String>)> {
    if typed.torque.trim().is_empty() {
        read.refuse(
            "torque",
            "Write the torque to reach: as the nameplate, the maker or the engineer gives it",
        );
    }
    let torque = read.stamped("torque", &typed.torque, &typed.torque_unit);
    let from = read.needed(
        "torque_from",
        &typed.torque_from,
        200,
        "Say where this torque comes from, such as the maker\u{2019}s sheet and its date",
    );
    torque.zip(from).map(|(torque, from)| (torque, Some(from)))
}

/// Reads when each pass was finished; nothing where the page noted nothing.
fn finished(read: &mut Reader, typed: &str) -> Option<Vec<Finished>> {
    let one = |text: &str| {
        let (torque, at) = text.trim().split_once(' ')?;
        Some(Finished {
            torque: torque.parse().ok()?,
            at: Moment::parse(at.trim()).ok()?,
        })
    };
    let all = typed.split(',').filter(|text| !text.trim().is_empty());
    let all: Option<Vec<Finished>> = all.map(one).collect();
    if all.is_none() {
        let words = "What this page noted of the passes cannot be read; go through them again";
        read.refuse("finished", words);
    }
    all
}

fn view(
    typed: Typed,
    job: &Job,
    chrome: &Chrome,
    wrenches: Vec<Instrument>,
    (busy, made): (
        &[(InstrumentNumber, TagNumber)],
        &HashMap<InstrumentId, u32>,
    ),
) -> View {
    let stamped = job.gauge.particulars.torque.is_some();
    let step = chrome.plant.tightening_step;
    let target = target(&mut Reader::new(), job, &typed).map(|(torque, _)| torque);
    let again = target.is_some_and(|t| goes_round_once(job, &typed, t));
    let (plan, trouble) = match target {
        None => (None, None),
        Some(target) if again => (Some(one_round(target, stamped)), None),
        Some(target) => match tighten::plan(target, step) {
            Ok(plan) => (Some(plan), None),
            Err(error) => (None, Some(error.to_string())),
        },
    };
    let offers: Vec<Offer> = wrenches
        .into_iter()
        .map(|wrench| Offer {
            range: wrench
                .torque_range()
                .map_or_else(String::new, |(low, high)| {
                    format!("{} to {high}", low.value)
                }),
            against: target
                .and_then(|t| wrench.may_tighten(t, chrome.today).err())
                .or_else(|| {
                    let made = made.get(&wrench.id).copied().unwrap_or(0);
                    wrench.may_go_on(made).err()
                })
                .or_else(|| {
                    let (_, tag) = busy.iter().find(|(number, _)| *number == wrench.number)?;
                    Some(format!("{} is in use on {tag}", wrench.number))
                }),
            cycles: wrench.cycles(made.get(&wrench.id).copied().unwrap_or(0)),
            wrench,
        })
        .collect();
    let number = typed.wrench.trim();
    let chosen = offers
        .iter()
        .find(|o| o.wrench.number.as_str().eq_ignore_ascii_case(number));
    let wrench = chosen.filter(|o| o.against.is_none()).cloned();
    let outside = outside(plan.as_ref(), wrench.as_ref());
    let passes = plan.as_ref().map_or(0, |plan| plan.passes.len());
    let pass: usize = typed.pass.parse().unwrap_or(1);
    let picture = BoltPlan::of(&job.gauge, Order::Tightening);
    let places = picture.as_ref().map_or(0, BoltPlan::places);
    let nut: usize = typed.nut.parse().unwrap_or(0);
    let begun = pass > 1 || nut > 1 || !typed.finished.is_empty();
    let made_with_it = (begun && wrench.is_none() && !number.is_empty())
        .then(|| made_with(chosen.map(|o| &o.wrench), chrome.today));
    let loose = job.course.loose();
    let order: Vec<String> = loose.iter().map(ToString::to_string).collect();
    View {
        range: wrench
            .as_ref()
            .zip(target)
            .and_then(|(o, t)| o.wrench.may_tighten(t, chrome.today).ok()),
        converted: target
            .filter(|t| !again && t.unit != step.unit)
            .and_then(|t| tighten::step_in(step, t.unit).ok())
            .map(|own| (step, own)),
        target,
        stamped,
        plan,
        again,
        trouble,
        offers,
        wrench,
        made_with_it,
        outside,
        pass: pass.saturating_sub(1).min(passes.saturating_sub(1)),
        nut: nut.min(places),
        nuts: usize::from(job.gauge.particulars.bolts_per_rail.unwrap_or(0)) * 2,
        load: target.and_then(|t| bolt_load(t, job, &typed)),
        picture,
        order: if order.len() > 1 {
            order.join(", ")
        } else {
            String::new()
        },
        address: address::bench_step(&job.gauge.particulars.tag, "tightened"),
        typed,
    }
}
