//! Thousands of random dates and gauges, compared with what python-dateutil answered;
//! `differential/dates.py` makes them.
//!
//! library: python-dateutil 4.0.0 (months, first and last of the month) and Python 3.11.7 `datetime`
//! (days, order of dates). Dates are exact: nothing may deviate by a day.

use std::collections::BTreeMap;
use std::error::Error;
use std::path::PathBuf;

use gaugewright::calc::OutOfRange;
use gaugewright::calc::calendar::{
    add_months, days_after, days_before, first_of_month, in_range, last_of_month, months_before,
    require,
};
use gaugewright::calc::due::{Facts, WindowPull, decide, governing_only, rebuild_only};
use gaugewright::calc::lots::last_usable_day;
use gaugewright::calc::reorder::{Timing, order_by};
use serde::Deserialize;
use time::Date;
use time::macros::format_description;

/// One line of the file.
#[derive(Debug, Deserialize)]
#[serde(tag = "ask", rename_all = "snake_case")]
enum Case {
    AddMonths(Shift),
    MonthsBefore(Shift),
    DaysAfter(Shift),
    DaysBefore(Shift),
    FirstOfMonth(Shift),
    LastOfMonth(Shift),
    Due(Gauge),
    LastUsableDay(Shift),
    OrderBy(OrderBy),
    Require(Shift),
}

#[derive(Debug, Deserialize)]
struct Shift {
    from: String,
    by: u32,
    to: Option<String>,
}

#[derive(Debug, Deserialize)]
struct Gauge {
    facts: Facts,
    governing: Option<String>,
    latest: Option<String>,
    window: String,
    rebuild: Option<String>,
    rebuild_latest: Option<String>,
}

#[derive(Debug, Deserialize)]
struct OrderBy {
    #[serde(flatten)]
    shift: Shift,
    today: String,
    days: Option<i64>,
}

fn day(text: &str) -> Result<Date, Box<dyn Error>> {
    Ok(Date::parse(
        text,
        format_description!("[year]-[month]-[day]"),
    )?)
}

fn day_if(text: Option<&String>) -> Result<Option<Date>, Box<dyn Error>> {
    text.map(|text| day(text)).transpose()
}

/// The deviation in days from the library; a refusal must meet a refusal.
fn shift(
    case: &Shift,
    with: impl Fn(Date, u32) -> Result<Date, OutOfRange>,
) -> Result<i64, Box<dyn Error>> {
    let found = with(day(&case.from)?, case.by).ok();
    match (found, day_if(case.to.as_ref())?) {
        (Some(found), Some(wanted)) => Ok((found - wanted).whole_days().abs()),
        (None, None) => Ok(0),
        (found, wanted) => Err(format!("{found:?} against {wanted:?} for {case:?}").into()),
    }
}

fn gauge(case: &Gauge) -> Result<i64, Box<dyn Error>> {
    let found = decide(&case.facts)?;
    let short = governing_only(&case.facts)?;
    let governing = found.governing.map(|one| one.date);
    let window = match found.window {
        WindowPull::NotNeeded => "not-needed",
        WindowPull::PulledTo(_) => "pulled-to",
        WindowPull::NoWindow => "no-window",
    };
    let same = governing == day_if(case.governing.as_ref())?
        && found.latest_date == day_if(case.latest.as_ref())?
        && window == case.window
        && short.latest_date == found.latest_date
        && short.governing == found.governing;
    if same {
        Ok(0)
    } else {
        Err(format!("{found:?} against {case:?}").into())
    }
}

fn rebuild(case: &Gauge) -> Result<i64, Box<dyn Error>> {
    let found = rebuild_only(&case.facts)?;
    let same = found.governing.map(|one| one.date) == day_if(case.rebuild.as_ref())?
        && found.latest_date == day_if(case.rebuild_latest.as_ref())?;
    same.then_some(0)
        .ok_or_else(|| format!("{found:?} against {case:?}").into())
}

/// The date as [`shift`], and the days left or past as the library counts them.
fn ordered(case: &OrderBy) -> Result<i64, Box<dyn Error>> {
    let today = day(&case.today)?;
    let found = order_by(day(&case.shift.from)?, case.shift.by, today).ok();
    let days = found.map(|by| match by.timing {
        Timing::InTime(days) => i64::from(days),
        Timing::Past(days) => -i64::from(days),
    });
    if days != case.days {
        return Err(format!("{days:?} against {case:?}").into());
    }
    shift(&case.shift, |from, lead| {
        order_by(from, lead, today).map(|by| by.date)
    })
}

#[test]
fn dates_and_due_dates_agree_with_the_library() -> Result<(), Box<dyn Error>> {
    let Some(folder) = std::env::var_os("GAUGEWRIGHT_DIFFERENTIAL") else {
        let in_ci = std::env::var("CI").is_ok_and(|ci| ci == "true");
        assert!(
            !in_ci,
            "GAUGEWRIGHT_DIFFERENTIAL is not set, and CI must not skip this"
        );
        println!("SKIPPED: dates against libraries; set GAUGEWRIGHT_DIFFERENTIAL to run it");
        return Ok(());
    };
    let mut largest: BTreeMap<&str, (u32, i64)> = BTreeMap::new();
    for line in std::fs::read_to_string(PathBuf::from(folder).join("dates.jsonl"))?.lines() {
        let (name, deviation) = match serde_json::from_str(line)? {
            Case::AddMonths(case) => ("add_months", shift(&case, add_months)?),
            Case::MonthsBefore(case) => ("months_before", shift(&case, months_before)?),
            Case::DaysAfter(case) => ("days_after", shift(&case, days_after)?),
            Case::DaysBefore(case) => ("days_before", shift(&case, days_before)?),
            Case::FirstOfMonth(case) => (
                "first_of_month",
                shift(&case, |from, _| Ok(first_of_month(from)))?,
            ),
            Case::LastOfMonth(case) => (
                "last_of_month",
                shift(&case, |from, _| Ok(last_of_month(from)))?,
            ),
            Case::Due(case) => {
                let entry = largest.entry("rebuild_only").or_default();
                entry.0 += 1;
                entry.1 = entry.1.max(rebuild(&case)?);
                ("decide, governing_only", gauge(&case)?)
            }
            Case::LastUsableDay(case) => ("last_usable_day", shift(&case, last_usable_day)?),
            Case::OrderBy(case) => ("order_by", ordered(&case)?),
            Case::Require(case) => {
                let from = day(&case.from)?;
                assert_eq!(in_range(from), case.to.is_some(), "{case:?}");
                (
                    "require, in_range",
                    shift(&case, |from, _| require("day", from))?,
                )
            }
        };
        let entry = largest.entry(name).or_default();
        entry.0 += 1;
        entry.1 = entry.1.max(deviation);
    }
    assert_eq!(largest.len(), 11, "{largest:?}");
    // Whole days: anything but 0 fails below.
    let lines: Vec<super::deviations::Line> = largest
        .iter()
        .map(|(name, (count, _))| (*name, usize::try_from(*count).unwrap_or(0), 0.0, 0.0))
        .collect();
    super::deviations::keep("dates", "python-dateutil 4.0.0", &lines);
    for (name, (count, deviation)) in largest {
        println!("{name}: {count} cases, largest deviation {deviation} days");
        assert!(count >= 1000, "{name}: only {count} cases");
        assert_eq!(deviation, 0, "{name}");
    }
    Ok(())
}
