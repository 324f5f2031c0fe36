//! Filling a shutdown window: the gauges it could take with what leaving each out means, bench hours
//! against hours there are, kits and instruments needed against what is there.

use askama::Template;
use axum::extract::{Path, Query, State};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use time::{Date, Duration};

use super::needed::{Need, needed};
use super::show::found;
use crate::acts;
use crate::acts::{rebuild_days, window_plan};
use crate::calc::calendar::LAST_DAY;
use crate::calc::due::{Candidate as Cause, Rule};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::merge::{self, Field};
use crate::pages::{App, address, show};
use crate::record::gauge::Isolation;
use crate::record::person::Role;
use crate::record::rebuild::RebuildState;
use crate::record::{GaugeId, Refusal};
use crate::store;
use crate::store::due::COUNTED;
use crate::store::window_plan::{Candidate, Hours};
use crate::store::windows::Window;

/// Gauges that have to be done, on a page.
const PAGE: usize = 20;
/// Gauges without a window, and others the shutdown is a chance for, listed.
const LISTED: i64 = 12;
/// How far ahead others are looked for.
const AHEAD: Duration = Duration::days(366);

/// Where the list of those that have to be done begins.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    after: String,
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

/// A gauge the window could take, with what leaving it out means.
struct Line {
    one: Candidate,
    /// What asks for the work; a look-over only where nothing else asks for anything.
    why: Option<Cause>,
    /// The latest day for that.
    latest: Option<Date>,
    means: String,
    /// Whether leaving it out breaks its date.
    grave: bool,
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
    bound: Vec<Line>,
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
        after: &str,
        (typed, errors): (Option<Typed>, Errors),
    ) -> Result<Self, PageError> {
        let mut db = app.store().read().await?;
        let today = chrome.today;
        let hours = store::window_plan::hours(&mut db, window.id).await?;
        let ids = (window.id, window.area_id, window.ends_on);
        let beginning =
            (!after.is_empty()).then(|| address::window_plan(&window.area, window.starts_on));
        let from = GaugeId(after.parse().unwrap_or(0));
        let most = i64::try_from(PAGE + 1).unwrap_or(21);
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
            lost_count: store::windows::count_without_window(&mut db, ids.1).await?,
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
        self.chrome.may(&[Role::Engineer]) && self.window.ends_on >= self.chrome.today
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

    /// Those still to be chosen that have to be done in it.
    fn left_out(&self) -> usize {
        self.bound
            .iter()
            .filter(|line| !line.one.chosen && self.busy(line).is_none())
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

/// Adds to each gauge what leaving it out means.
fn weighed(
    (window, later): (&Window, Option<&Window>),
    today: Date,
    candidates: Vec<Candidate>,
) -> Vec<Line> {
    // Work that needs the shutdown but opens no gauge, a re-torque or a test once more, stands for
    // itself until the rebuild comes near.
    let near = window.ends_on.saturating_add(AHEAD);
    candidates
        .into_iter()
        .map(|one| {
            let rebuild = one.rebuilt_for;
            let lesser = one
                .work
                .filter(|cause| !cause.rule.takes_kits())
                .filter(|_| rebuild.is_none_or(|rebuild| rebuild.date > near));
            let (means, grave) = match (lesser, rebuild) {
                (Some(_), Some(rebuild)) => {
                    let by = show::date(&rebuild.date);
                    (format!("asks for no rebuild, which is due {by}"), false)
                }
                (None, Some(rebuild)) => means(&one, rebuild, (window, later), today),
                _ => ("no rule asks for a rebuild".to_owned(), false),
            };
            let governs = one.rule.zip(one.date);
            Line {
                why: lesser
                    .or(rebuild)
                    .or(governs.map(|(rule, date)| Cause { rule, date })),
                latest: match (lesser, rebuild) {
                    (None, Some(_)) => one.rebuild_on,
                    _ => one.latest_on,
                },
                one,
                means,
                grave,
            }
        })
        .collect()
}

/// By the date that is shown of each.
fn soonest(mut lines: Vec<Line>) -> Vec<Line> {
    lines.sort_by_key(|line| line.why.map_or(LAST_DAY, |why| why.date));
    lines
}

/// What leaving the work on a gauge out of the window means, and whether that breaks its date.
fn means(
    one: &Candidate,
    work: Cause,
    (window, later): (&Window, Option<&Window>),
    today: Date,
) -> (String, bool) {
    if work.rule == Rule::Failure {
        return ("stays failed".to_owned(), true);
    }
    if one.isolation == Isolation::InService {
        let early = if work.date < window.starts_on {
            ", and falls due before the window begins"
        } else {
            ""
        };
        // Who brought a list in that says nothing of it chose this for all its gauges; nobody looked.
        let words = if one.isolation_assumed {
            "is assumed to be isolated in service; make sure first"
        } else {
            "can be done in service"
        };
        return (format!("{words}{early}"), one.isolation_assumed);
    }
    match later {
        Some(next) if next.ends_on <= work.date => {
            let words = format!(
                "may wait for {} to {}",
                show::date(&next.starts_on),
                show::date(&next.ends_on)
            );
            (words, false)
        }
        Some(next) => {
            let over = (next.ends_on - work.date).whole_days();
            let words = format!(
                "past due by {over} days in the next window, which ends {}",
                show::date(&next.ends_on)
            );
            (words, true)
        }
        None if work.date < today => (
            "past due already, and no later window is agreed".to_owned(),
            true,
        ),
        None if work.date < window.starts_on => (
            format!(
                "past due after {}, before the window begins, and no later one is agreed",
                show::date(&work.date)
            ),
            true,
        ),
        None => (
            format!(
                "past due after {}, and no later window is agreed",
                show::date(&work.date)
            ),
            true,
        ),
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
    answer::page(&Page::of(&app, chrome, window, &asked.after, nothing).await?)
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
    let mut page = Page::of(&app, chrome, window, &posted.form.after, said).await?;
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
    match step {
        Step::Choose => {
            window_plan::choose(&mut deed, window, &gauges).await?;
        }
        Step::LeaveOut => {
            for gauge in gauges {
                window_plan::leave_out(&mut deed, window, gauge).await?;
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
    let to = address::window_plan(&window.area, window.starts_on);
    deed.commit(&to).await?;
    Ok(to)
}
