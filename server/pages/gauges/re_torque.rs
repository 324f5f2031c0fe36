//! Recording that the bolting of a returned gauge was tightened again after its first heat cycle, cold
//! and without pressure. By when it is due is the practice of the service class.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::show::found;
use crate::acts;
use crate::calc::quantity::{StampedTorque, TorqueUnit, Unit};
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::bench::bolt_plan::{BoltPlan, Order};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::record::bench::{Condition, Facts};
use crate::record::gauge::Gauge;
use crate::record::instrument::InstrumentKind;
use crate::record::re_torque::{NutsMoved, ReTorque};
use crate::record::refusal::unticked;
use crate::store;
use crate::store::re_torques::Returned;
use time::Date;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    on: String,
    isolated: String,
    vessel: String,
    locked: String,
    zero: String,
    cold: String,
    torque: String,
    torque_unit: String,
    torque_from: String,
    wrench: String,
    moved: String,
    note: String,
}

type Options = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "gauges/re_torque.html")]
struct Page {
    chrome: Chrome,
    gauge: Gauge,
    last: Option<Returned>,
    picture: Option<BoltPlan>,
    wrenches: Options,
    typed: Typed,
    errors: Errors,
}

impl Typed {
    fn tick(&self, condition: Condition) -> &str {
        match condition {
            Condition::Isolated => &self.isolated,
            Condition::VesselOut => &self.vessel,
            Condition::LockedOut => &self.locked,
            Condition::ZeroPressure => &self.zero,
            _ => &self.cold,
        }
    }

    fn read(&self, gauge: &Gauge) -> Result<(Date, ReTorque), Errors> {
        let mut read = Reader::new();
        for one in ReTorque::before(gauge.particulars.isolation) {
            if self.tick(one).is_empty() {
                read.refuse(
                    one.field(),
                    unticked(one, "a gauge is never tightened under pressure or hot"),
                );
            }
        }
        let on = read.needed_date("on", &self.on);
        let (torque, from) = match gauge.particulars.torque {
            Some(stamped) => (Some(stamped), Some(None)),
            None => self.said(&mut read),
        };
        let wrench = read.take(
            "wrench",
            self.wrench.parse().map_err(|_| "Choose the torque wrench"),
        );
        let moved = read.take(
            "moved",
            self.moved
                .parse::<NutsMoved>()
                .map_err(|_| "Say whether nuts moved"),
        );
        let note = read.text("note", &self.note, 2000);
        let facts = (|| {
            Some(ReTorque {
                torque: torque?,
                torque_from: from?,
                wrench: wrench?,
                confirmed: ReTorque::before(gauge.particulars.isolation).to_vec(),
                moved: moved?,
                note,
            })
        })();
        read.finish(on.zip(facts))
    }

    #[expect(
        clippy::option_option,
        reason = "the outer one tells a refused field, the inner one a torque the nameplate tells"
    )]
    fn said(&self, read: &mut Reader) -> (Option<StampedTorque>, Option<Option<String>>) {
        if self.torque.trim().is_empty() {
            read.refuse(
                "torque",
                "The register holds no torque; write the one it was tightened to",
            );
        }
        let torque = read.stamped("torque", &self.torque, &self.torque_unit);
        let from = read.needed(
            "torque_from",
            &self.torque_from,
            200,
            "Say where this torque comes from, such as the maker\u{2019}s sheet and its date",
        );
        (torque, from.map(Some))
    }
}

impl Page {
    /// The ticks: field, words, whether it is set.
    fn ticks(&self) -> Vec<(&'static str, String, bool)> {
        let each = ReTorque::before(self.gauge.particulars.isolation).into_iter();
        each.map(|one| {
            let set = !self.typed.tick(one).is_empty();
            (one.field(), show::sentence(one), set)
        })
        .collect()
    }

    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn moves(&self) -> Options {
        let all = NutsMoved::ALL.iter();
        all.map(|one| (one.word().to_owned(), one.shown().to_owned()))
            .collect()
    }

    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn units(&self) -> Options {
        let all = TorqueUnit::ALL.iter();
        all.map(|unit| (unit.ucum().to_owned(), unit.symbol().to_owned()))
            .collect()
    }

    fn wrenches(&self) -> Options {
        self.wrenches.clone()
    }
}

async fn page(
    db: &mut SqliteConnection,
    chrome: Chrome,
    gauge: Gauge,
    typed: Typed,
    errors: Errors,
) -> store::Result<Page> {
    let on = form::read_date(&typed.on).unwrap_or(chrome.today);
    let target = gauge.particulars.torque;
    let none = (String::new(), "choose".to_owned());
    let all = store::instruments::of_kind(db, InstrumentKind::TorqueWrench).await?;
    let wrenches = all.into_iter().map(|wrench| {
        let against = match target {
            Some(target) => wrench.may_tighten(target, on).err(),
            None => wrench.usable_on(on).err(),
        };
        let shown = match against {
            None => wrench.number.to_string(),
            Some(why) => format!("{} (not good for it: {why})", wrench.number),
        };
        (wrench.number.to_string(), shown)
    });
    Ok(Page {
        last: store::re_torques::latest_return(db, gauge.id).await?,
        picture: BoltPlan::of(&gauge, Order::Tightening),
        wrenches: std::iter::once(none).chain(wrenches).collect(),
        chrome,
        gauge,
        typed,
        errors,
    })
}

/// What the rebuild was tightened to, where the nameplate does not tell it.
async fn as_before(
    db: &mut SqliteConnection,
    gauge: &Gauge,
    typed: &mut Typed,
) -> store::Result<()> {
    let last = store::re_torques::latest_return(db, gauge.id).await?;
    let (None, Some(last)) = (gauge.particulars.torque, last) else {
        return Ok(());
    };
    let course = store::bench::course(db, last.rebuild_id).await?;
    let entries = course.into_iter().flat_map(|course| course.entries);
    for entry in entries.filter(|entry| !entry.superseded) {
        if let Facts::Tightened(tightened) = entry.facts {
            typed.torque = tightened.target.value.to_string();
            tightened
                .target
                .unit
                .ucum()
                .clone_into(&mut typed.torque_unit);
            typed.torque_from = tightened.target_from.unwrap_or_default();
        }
    }
    Ok(())
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let gauge = found(&mut db, &tag).await?;
    let usual = chrome.reads().unit(TorqueUnit::FootPound);
    let mut typed = Typed {
        on: show::plain_date(&chrome.today),
        torque_unit: usual.ucum().to_owned(),
        ..Typed::default()
    };
    as_before(&mut db, &gauge, &mut typed).await?;
    answer::page(&page(&mut db, chrome, gauge, typed, Errors::none()).await?)
}

/// Records it.
pub async fn record(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let gauge = found(&mut *app.store().read().await?, &tag).await?;
    let done = match posted.form.read(&gauge) {
        Ok((on, facts)) => record_one(&chrome, &posted.key, &gauge, (on, &facts))
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let mut db = app.store().read().await?;
            answer::refused(&page(&mut db, chrome, gauge, posted.form, errors?).await?)
        }
    }
}

async fn record_one(
    chrome: &Chrome,
    key: &str,
    gauge: &Gauge,
    (on, facts): (Date, &ReTorque),
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    acts::re_torques::record(&mut deed, gauge.id, on, facts).await?;
    let to = address::gauge(&gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}
