//! Filling a shutdown window: the gauges it could take with what leaving each out means, bench hours
//! against hours there are, kits and instruments needed against what is there.

use askama::Template;
use axum::extract::{Path, Query, State};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use sqlx::SqliteConnection;
use time::Date;

use super::needed::{Need, needed};
use super::show::found;
use super::weighed::{AHEAD, Line, soonest, weighed};
use crate::acts;
use crate::acts::{rebuild_days, window_plan};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::merge::{self, Field};
use crate::pages::{App, address, show};
use crate::record::rebuild::RebuildState;
use crate::record::{GaugeId, KitNumber, Refusal, TagNumber};
use crate::store;
use crate::store::due::COUNTED;
use crate::store::window_plan::{Candidate, Hours};
use crate::store::windows::Window;

/// Gauges that have to be done, on a page.
const PAGE: usize = 12;
/// Gauges without a window, and others the shutdown is a chance for, listed.
const LISTED: i64 = 12;
/// Chosen gauges named that fall due before the window begins.
const NAMED: usize = 12;

/// Where the list of those that have to be done begins, and which gauge was left out just now.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    after: String,
    left: String,
}

/// What stands in the form of hours.
#[derive(Debug, Default, Clone, Serialize, Deserialize)]
#[serde(default)]
struct Typed {
    available: String,
    hours_gauge: String,
    hours_section: String,
    version: i64,
    #[serde(skip_serializing)]
    opened: String,
}

const FIELDS: &[Field] = &[
    Field {
        name: "available",
        parts: &["available"],
    },
    Field {
        name: "hours_gauge",
        parts: &["hours_gauge"],
    },
    Field {
        name: "hours_section",
        parts: &["hours_section"],
    },
];

impl Typed {
    fn of(hours: &Hours, window: &Window) -> Self {
        let text =
            |value: Option<Decimal>| value.map_or_else(String::new, |v| v.normalize().to_string());
        let typed = Self {
            available: text(hours.available),
            hours_gauge: text(hours.gauge),
            hours_section: text(hours.section),
            version: window.version,
            opened: String::new(),
        };
        Self {
            opened: merge::opened(&typed),
            ..typed
        }
    }
}

/// The gauges ticked, or the one to leave out.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Ticked {
    gauge: Vec<i64>,
    /// Rebuilds that are moved into the window: the gauge and the day each was shown with.
    seen: Vec<String>,
    after: String,
    available: String,
    hours_gauge: String,
    hours_section: String,
    version: i64,
    opened: String,
}

/// A gauge that is left out of the window, while its rebuild stays open.
struct LeftOut {
    tag: TagNumber,
    ordinal: i64,
    state: RebuildState,
    planned_for: Date,
    /// How many kits stay reserved for it, and which.
    reserved: Option<(i64, KitNumber)>,
}

impl LeftOut {
    /// What stays of a gauge that was left out; nothing where it is chosen or has no open rebuild.
    async fn of(
        db: &mut SqliteConnection,
        left: &str,
        chosen: &[Candidate],
    ) -> store::Result<Option<Self>> {
        let Ok(id) = left.parse().map(GaugeId) else {
            return Ok(None);
        };
        if chosen.iter().any(|one| one.gauge_id == id) {
            return Ok(None);
        }
        let Some(gauge) = store::gauges::by_id(db, id).await? else {
            return Ok(None);
        };
        let Some(open) = store::rebuilds::open_of(db, id).await? else {
            return Ok(None);
        };
        let need = store::stock::need_of(db, id).await?;
        let kits = need.filter(|need| need.rebuild_id == Some(open.id) && need.kits > 0);
        Ok(Some(Self {
            tag: gauge.particulars.tag,
            ordinal: open.ordinal,
            state: open.state,
            planned_for: open.planned_for,
            reserved: kits.map(|need| need.kits).zip(gauge.kit),
        }))
    }
}

#[derive(Template)]
#[template(path = "windows/plan.html")]
struct Page {
    chrome: Chrome,
    window: Window,
    hours: Hours,
    typed: Typed,
    seen: (i64, i64, f64),
    chosen: Vec<Line>,
    left: Option<LeftOut>,
    /// Those that have to be done in it and are not chosen.
    bound: Vec<Line>,
    /// All that have to be done in it.
    bound_count: i64,
    lost: Vec<Line>,
    lost_count: i64,
    others: Vec<Line>,
    next: Option<String>,
    /// After which gauge those that have to be done begin; empty where the list begins.
    after: String,
    /// Where those that have to be done begin, on a page that goes on with them.
    beginning: Option<String>,
    need: Need,
    /// What was ticked, where choosing it was refused.
    ticked: Vec<i64>,
    errors: Errors,
}

impl Page {
    async fn of(
        app: &App,
        chrome: Chrome,
        window: Window,
        asked: &Asked,
        (typed, errors): (Option<Typed>, Errors),
    ) -> Result<Self, PageError> {
        let mut db = app.store().read().await?;
        let (today, after) = (chrome.today, asked.after.as_str());
        let hours = store::window_plan::hours(&mut db, window.id).await?;
        let ids = (window.id, window.area_id, window.ends_on);
        let beginning =
            (!after.is_empty()).then(|| address::window_plan(&window.area, window.starts_on));
        let from = GaugeId(after.parse().unwrap_or(0));
        let most = i64::try_from(PAGE + 1).unwrap_or(13);
        let mut bound = store::window_plan::bound(&mut db, ids, from, most).await?;
        let more = bound.len() > PAGE;
        bound.truncate(PAGE);
        let next = bound.last().filter(|_| more).map(|last| {
            let here = address::window_plan(&window.area, window.starts_on);
            address::with_query(&here, &[("after", last.gauge_id.0.to_string())])
        });
        let lost = store::window_plan::lost(&mut db, (ids.0, ids.1), LISTED).await?;
        let until = window.ends_on.saturating_add(AHEAD);
        let others = store::window_plan::others(&mut db, ids, until, LISTED).await?;
        let chosen = window_plan::chosen(&mut db, window.id).await?;
        let need = needed(&mut db, (&chrome.plant, today), &window, &chosen).await?;
        let later = store::windows::next_after(&mut db, window.area_id, window.ends_on).await?;
        let windows = (&window, later.as_ref());
        Ok(Self {
            seen: store::window_plan::hours_seen(&mut db).await?,
            bound_count: store::windows::count_in_window(&mut db, ids.1, ids.2).await?,
            lost_count: store::window_plan::count_lost(&mut db, (ids.0, ids.1)).await?,
            left: LeftOut::of(&mut db, &asked.left, &chosen).await?,
            chosen: weighed(windows, today, chosen),
            bound: weighed(windows, today, bound),
            lost: soonest(weighed(windows, today, lost)),
            others: weighed(windows, today, others),
            typed: typed.unwrap_or_else(|| Typed::of(&hours, &window)),
            chrome,
            window,
            hours,
            next,
            after: after.to_owned(),
            beginning,
            need,
            ticked: Vec::new(),
            errors,
        })
    }

    fn plans(&self) -> bool {
        self.chrome.plans() && self.window.ends_on >= self.chrome.today
    }

    /// Hours the chosen gauges take, where the planner wrote what one takes.
    fn hours_needed(&self) -> Option<Decimal> {
        let chosen = self.chosen.iter().map(|line| &line.one);
        self.hours.needed(chosen, &self.window, self.chrome.today)
    }

    /// What the hours were reckoned with, where the planner wrote what one takes.
    fn reckoned(&self) -> Option<String> {
        let each = [
            (self.hours.gauge, "a gauge"),
            (self.hours.section, "a section"),
        ];
        let each: Vec<String> = each
            .into_iter()
            .filter_map(|(hours, of)| Some(format!("{} h {of}", self.plain(&hours?))))
            .collect();
        (!each.is_empty()).then(|| format!("Reckoned with {}.", each.join(" and ")))
    }

    fn over(&self) -> Option<Decimal> {
        let over = self.hours_needed()? - self.hours.available?;
        (over > Decimal::ZERO).then_some(over)
    }

    /// Whether one of those listed can be ticked.
    fn any_to_tick(&self) -> bool {
        let listed = [&self.bound, &self.lost, &self.others];
        let mut listed = listed.into_iter().flatten();
        listed.any(|line| self.busy(line).is_none())
    }

    /// Whether one of those the shutdown is a chance for was ticked, or nothing else is there to be.
    fn others_open(&self) -> bool {
        self.others.iter().any(|line| self.was_ticked(line))
            || (self.bound.is_empty() && self.lost.is_empty())
    }

    /// Of those that find no window in time, the ones whose date a deferral may move.
    fn deferrable(&self) -> Vec<&Line> {
        let lost = self.lost.iter();
        lost.filter(|line| line.may_be_deferred()).collect()
    }

    /// The chosen gauges that fall due before the window begins, and when, while it is still ahead.
    fn due_before(&self) -> Vec<(&TagNumber, Date)> {
        if self.window.starts_on <= self.chrome.today {
            return Vec::new();
        }
        self.chosen
            .iter()
            .filter(|line| self.astray(line).is_none())
            .filter_map(|line| Some((&line.one.tag, line.due_before(&self.window)?)))
            .collect()
    }

    /// Whether its row offers to ask for a deferral: it is chosen, and falls due before the window begins.
    fn asks_deferral(&self, line: &Line) -> bool {
        self.plans()
            && self.window.starts_on > self.chrome.today
            && line.may_be_deferred()
            && line.due_before(&self.window).is_some()
    }

    /// Whether its rebuild is planned into the window, so that it is left out only once that is abandoned.
    fn held(&self, line: &Line) -> bool {
        line.one.rebuild.is_some() && !self.outside(line)
    }

    /// Whether that holds of a chosen gauge.
    fn any_held(&self) -> bool {
        self.chosen.iter().any(|line| self.held(line))
    }

    /// Those still to be chosen that have to be done in it.
    fn left_out(&self) -> usize {
        self.bound
            .iter()
            .filter(|line| self.busy(line).is_none())
            .count()
    }

    /// Where the rebuild of a gauge stands that is under way now and none of this window's: the gauge is
    /// not offered for it, and takes none of its hours before its first day.
    fn busy(&self, line: &Line) -> Option<RebuildState> {
        line.one.under_way(&self.window, self.chrome.today)
    }

    fn hours_of(&self, line: &Line) -> Option<Decimal> {
        line.one.hours(&self.hours, &self.window, self.chrome.today)
    }

    fn was_ticked(&self, line: &Line) -> bool {
        self.ticked.contains(&line.one.gauge_id.0)
    }

    /// Chosen gauges without an open rebuild, of those that can have one.
    fn unplanned(&self) -> usize {
        self.chosen
            .iter()
            .filter(|line| line.one.rebuild.is_none() && self.astray(line).is_none())
            .count()
    }

    /// Whether its date is past before the window begins.
    fn early(&self, line: &Line) -> bool {
        line.latest.is_some_and(|day| day < self.window.starts_on)
    }

    /// Why a chosen gauge is passed over when the rebuilds are planned.
    fn astray(&self, line: &Line) -> Option<&'static str> {
        line.one.out_of_place(self.window.area_id)
    }

    /// Whether an open rebuild of a chosen gauge is planned for a day outside of the window.
    fn outside(&self, line: &Line) -> bool {
        let days = self.window.starts_on..=self.window.ends_on;
        line.one
            .rebuild
            .is_some_and(|(_, day)| !days.contains(&day))
    }

    /// Chosen gauges whose rebuild is planned for a day outside of the window and not begun.
    fn outside_not_begun(&self) -> Vec<&Line> {
        let chosen = self.chosen.iter();
        chosen
            .filter(|line| line.one.may_move_into(&self.window))
            .collect()
    }

    /// Those of them that are planned in time and would be done after their date in the window.
    fn put_off(&self) -> Vec<&Line> {
        let to = self.window.starts_on.max(self.chrome.today);
        let late = |line: &&Line| {
            let due = line.why.filter(|why| why.rule.takes_kits());
            let planned = line.one.rebuild.map(|(_, day)| day);
            due.zip(planned)
                .is_some_and(|(due, day)| day <= due.date && due.date < to)
        };
        self.outside_not_begun().into_iter().filter(late).collect()
    }

    /// The day they may be given: its first, or today where it began.
    fn day_within(&self) -> String {
        show::date(&self.window.starts_on.max(self.chrome.today))
    }

    fn a_section(&self) -> Option<f64> {
        use rust_decimal::prelude::ToPrimitive;
        let (rebuilds, sections, hours) = self.seen;
        (rebuilds >= 5 && sections > 0).then(|| hours / sections.to_f64().unwrap_or(1.0))
    }

    #[expect(clippy::unused_self, reason = "templates call methods of their page")]
    fn plain(&self, value: &Decimal) -> String {
        value.normalize().to_string()
    }
}

/// The page.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((area, starts_on)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Answer {
    let window = found(&app, &area, &starts_on).await?;
    let nothing = (None, Errors::none());
    answer::page(&Page::of(&app, chrome, window, &asked, nothing).await?)
}

/// Does what one of the page's buttons says: "choose", "leave-out", "hours", "rebuilds" or "rebuild-days".
pub async fn step(
    State(app): State<App>,
    chrome: Chrome,
    Path((area, starts_on, step)): Path<(String, String, String)>,
    posted: Posted<Ticked>,
) -> Answer {
    let window = found(&app, &area, &starts_on).await?;
    let error = match read(&step, &posted.form)? {
        Ok(step) => match do_one(&chrome, &posted, &window, step).await {
            Ok(to) => return Ok(see_other(&to)),
            Err(error) => error,
        },
        Err(errors) => acts::Error::Refused(errors.into_refusal()),
    };
    let typed = (step == "hours").then(|| posted.form.hours());
    let said = match (error, typed) {
        (acts::Error::Refused(Refusal::Changed { by, .. }), Some(typed)) => {
            second_saver(&app, &window, typed, &by).await?
        }
        (error, typed) => (typed, form::refused(error)?),
    };
    let asked = Asked {
        after: posted.form.after.clone(),
        left: String::new(),
    };
    let mut page = Page::of(&app, chrome, window, &asked, said).await?;
    page.ticked = posted.form.gauge;
    answer::refused(&page)
}

/// Both people's hours, beside each field they both changed.
async fn second_saver(
    app: &App,
    window: &Window,
    typed: Typed,
    by: &str,
) -> Result<(Option<Typed>, Errors), PageError> {
    let mut db = app.store().read().await?;
    let fresh = Typed::of(
        &store::window_plan::hours(&mut db, window.id).await?,
        window,
    );
    let opened = typed.opened.clone();
    let (merged, errors) = merge::merge(&opened, (typed, &fresh), FIELDS, by, |_, values| {
        values.first().cloned().unwrap_or_default()
    });
    let typed = Typed {
        version: fresh.version,
        opened: fresh.opened,
        ..merged
    };
    Ok((Some(typed), errors))
}

impl Ticked {
    /// The rebuilds shown outside of the window, each with its day.
    fn seen(&self) -> Vec<(GaugeId, Date)> {
        let one = |text: &String| {
            let (gauge, day) = text.split_once('/')?;
            Some((GaugeId(gauge.parse().ok()?), form::read_date(day)?))
        };
        self.seen.iter().filter_map(one).collect()
    }

    /// What was typed of the hours.
    fn hours(&self) -> Typed {
        Typed {
            available: self.available.clone(),
            hours_gauge: self.hours_gauge.clone(),
            hours_section: self.hours_section.clone(),
            version: self.version,
            opened: self.opened.clone(),
        }
    }
}

enum Step {
    Choose,
    LeaveOut,
    Hours(Hours),
    Rebuilds,
    RebuildDays,
}

fn read(step: &str, typed: &Ticked) -> Result<Result<Step, Errors>, PageError> {
    Ok(match step {
        "choose" => Ok(Step::Choose),
        "leave-out" => Ok(Step::LeaveOut),
        "rebuilds" => Ok(Step::Rebuilds),
        "rebuild-days" => Ok(Step::RebuildDays),
        "hours" => {
            let mut read = Reader::new();
            let mut decimal = |field: &'static str, text: &str| {
                if text.trim().is_empty() {
                    None
                } else {
                    read.decimal(field, text)
                }
            };
            let hours = Hours {
                available: decimal("available", &typed.available),
                gauge: decimal("hours_gauge", &typed.hours_gauge),
                section: decimal("hours_section", &typed.hours_section),
            };
            read.finish(Some(Step::Hours(hours)))
        }
        _ => return Err(PageError::NotFound("page")),
    })
}

async fn do_one(
    chrome: &Chrome,
    posted: &Posted<Ticked>,
    window: &Window,
    step: Step,
) -> acts::Result<String> {
    let mut deed = chrome.deed(&posted.key).await?;
    let gauges: Vec<GaugeId> = posted.form.gauge.iter().copied().map(GaugeId).collect();
    let mut to = address::window_plan(&window.area, window.starts_on);
    match step {
        Step::Choose => {
            window_plan::choose(&mut deed, window, &gauges).await?;
        }
        Step::LeaveOut => {
            for gauge in gauges {
                window_plan::leave_out(&mut deed, window, gauge).await?;
                // The page says what of it stays.
                let left = [("left", gauge.0.to_string())];
                to = address::with_query(
                    &address::window_plan(&window.area, window.starts_on),
                    &left,
                );
            }
        }
        Step::Hours(hours) => {
            let read = Window {
                version: posted.form.version,
                ..window.clone()
            };
            window_plan::write_hours(&mut deed, &read, &hours).await?;
        }
        Step::Rebuilds => {
            window_plan::plan_rebuilds(&mut deed, window).await?;
        }
        Step::RebuildDays => {
            rebuild_days::move_into(&mut deed, window, &posted.form.seen()).await?;
        }
    }
    deed.commit(&to).await?;
    Ok(to)
}
