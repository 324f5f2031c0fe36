//! Dates: when a gauge falls due and why, months and shelf life from a day.
//! The rules are in `calc::due`, `calc::calendar` and `calc::lots`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::pressure::steps;
use super::registry::{Computation, Found, No, Part, computation};
use super::typed::Day;
use crate::calc::calendar::add_months;
use crate::calc::due::{self, Facts, Isolation, Rule, WindowPull};
use crate::calc::lots::last_usable_day;
use crate::calc::working::{Source, Step};

pub(super) fn list() -> Vec<Computation> {
    vec![
        computation(
            (
                "due-date",
                "When a gauge falls due, which rule sets it, and every date considered",
            ),
            (Part::Dates, &[]),
            r#"{"anchor": "2023-05-31", "rebuild_months": 36, "look_over_anchor": "2025-11-30", "look_over_months": 6, "isolation": "shutdown-only", "windows": [{"starts": "2026-03-02", "ends": "2026-03-13"}, {"starts": "2026-09-07", "ends": "2026-09-18"}]}"#,
            due_date,
        ),
        computation(
            (
                "months-after",
                "The day so many calendar months after another",
            ),
            (Part::Dates, &[]),
            r#"{"from": "2026-01-31", "months": 1}"#,
            months_after,
        ),
        computation(
            (
                "last-usable-day",
                "The last day a lot may be used, from the day it was made and its shelf life",
            ),
            (Part::Dates, &[]),
            r#"{"made": "2025-08-31", "shelf_months": 18}"#,
            last_day,
        ),
    ]
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WindowOf {
    /// First day of the window.
    #[schemars(extend("x-named" = ["first day of the shutdown window"]))]
    starts: Day,
    /// Last day of the window.
    #[schemars(extend("x-named" = ["last day of the shutdown window"]))]
    ends: Day,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DueOf {
    /// Last return to service.
    ///
    /// Or the first installation.
    anchor: Option<Day>,
    /// Rebuild interval, months.
    #[schemars(extend("x-named" = ["rebuild interval", "months"]))]
    rebuild_months: Option<u32>,
    /// Last look-over.
    look_over_anchor: Option<Day>,
    /// Look-over interval, months.
    #[schemars(extend("x-named" = ["look-over interval", "months"]))]
    look_over_months: Option<u32>,
    /// Date of the next wall measurement.
    wall_due: Option<Day>,
    /// Date of the gasket age.
    gasket_due: Option<Day>,
    /// Date of the failure.
    failure_on: Option<Day>,
    /// Date of the re-torque.
    retorque_due: Option<Day>,
    /// Date of the recall.
    recall_on: Option<Day>,
    /// Day the certificate was withdrawn.
    withdrawn_on: Option<Day>,
    /// Deferral.
    ///
    /// The signed later date.
    deferral_until: Option<Day>,
    /// Hard limit of the deferral.
    deferral_limit: Option<Day>,
    /// Can be isolated.
    #[serde(default)]
    isolation: Isolation,
    /// Shutdown windows.
    #[serde(default)]
    windows: Vec<WindowOf>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct Dated {
    /// Rule.
    rule: Rule,
    /// Date.
    date: Day,
}

#[derive(Debug, Serialize, JsonSchema)]
struct DueFound {
    /// Latest date.
    latest: Option<Day>,
    /// What sets it.
    governing: Option<Rule>,
    /// Shutdown window.
    window: &'static str,
    /// First day of that window.
    window_starts: Option<Day>,
    /// Last day of that window.
    window_ends: Option<Day>,
    /// Every date considered.
    considered: Vec<Dated>,
    /// Dates the deferral stands in for.
    deferred: Vec<Dated>,
}

fn due_date(of: DueOf) -> Found<DueFound> {
    let deferral = match (of.deferral_until, of.deferral_limit) {
        (Some(until), Some(limit)) => Some(due::Deferral {
            moves: due::Moves::All,
            until: until.0,
            hard_limit: limit.0,
        }),
        (None, None) => None,
        (Some(_), None) => {
            return Err(No::At(
                "deferral_limit",
                "it is missing: a deferral has a hard limit".to_owned(),
            ));
        }
        (None, Some(_)) => {
            return Err(No::At(
                "deferral_until",
                "it is missing: a hard limit alone defers nothing".to_owned(),
            ));
        }
    };
    let day = |day: Option<Day>| day.map(|day| day.0);
    let found = due::decide(&Facts {
        anchor: day(of.anchor),
        rebuild_months: of.rebuild_months,
        look_over_anchor: day(of.look_over_anchor),
        look_over_months: of.look_over_months,
        wall_due: day(of.wall_due),
        gasket_due: day(of.gasket_due),
        failure_on: day(of.failure_on),
        retorque_due: day(of.retorque_due),
        recall_on: day(of.recall_on),
        withdrawn_on: day(of.withdrawn_on),
        look_over_deferral: None,
        deferral,
        isolation: of.isolation,
        windows: of
            .windows
            .iter()
            .map(|window| due::Window {
                starts: window.starts.0,
                ends: window.ends.0,
            })
            .collect(),
    })?;
    let (window, pulled) = match found.window {
        WindowPull::NotNeeded => ("not needed", None),
        WindowPull::PulledTo(window) => ("pulled to a window", Some(window)),
        WindowPull::NoWindow => ("no window ends in time", None),
    };
    let dated = |list: &[due::Candidate]| {
        list.iter()
            .map(|one| Dated {
                rule: one.rule,
                date: Day(one.date),
            })
            .collect()
    };
    let answer = DueFound {
        latest: found.latest_date.map(Day),
        governing: found.governing.map(|one| one.rule),
        window,
        window_starts: pulled.map(|window| Day(window.starts)),
        window_ends: pulled.map(|window| Day(window.ends)),
        considered: dated(&found.considered),
        deferred: dated(&found.deferred),
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct MonthsOf {
    /// From.
    #[schemars(extend("x-named" = ["starting date", "date after adding months"]))]
    from: Day,
    /// Months.
    months: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
struct DayFound {
    /// Date.
    date: Day,
}

fn months_after(of: MonthsOf) -> Found<DayFound> {
    let date = add_months(of.from.0, of.months)?;
    let step = Step::new(
        "d",
        "the same day of the month, or its last day where there is none",
        "d₀ + n months",
        Source::CommonPractice,
    )
    .with("d₀", "from", of.from.0, Source::Entered)
    .with("n", "calendar months", of.months, Source::Entered)
    .gives(date);
    let working = steps("Months after a day", vec![step]).remark(
        "Count from the first day each time, never from a date that was cut to a month's end.",
    );
    Ok((DayFound { date: Day(date) }, working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ShelfOf {
    /// Day it was made.
    #[schemars(extend("x-named" = ["starting date", "date after adding months"]))]
    made: Day,
    /// Shelf life, months.
    #[schemars(extend("x-named" = ["shelf life", "months"]))]
    shelf_months: u32,
}

fn last_day(of: ShelfOf) -> Found<DayFound> {
    let date = last_usable_day(of.made.0, of.shelf_months)?;
    let step = Step::new(
        "d",
        "last usable day",
        "day made + shelf life; that day still counts",
        Source::CommonPractice,
    )
    .with(
        "day made",
        "when the lot was made",
        of.made.0,
        Source::Entered,
    )
    .with(
        "shelf life",
        "calendar months",
        of.shelf_months,
        Source::Entered,
    )
    .gives(date);
    Ok((
        DayFound { date: Day(date) },
        steps("Last usable day of a lot", vec![step]),
    ))
}
