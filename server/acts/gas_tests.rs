//! Asking for a test with gas, the second person's answer, and whether a test may rest on it.
//! Gas stores energy that throws glass; a liquid is used wherever one can be.

use serde_json::json;
use time::Date;

use super::{Deed, Result};
use crate::calc::calendar::said;
use crate::calc::quantity::StampedPressure;
use crate::record::gas_test::GasFacts;
use crate::record::person::Role;
use crate::record::{GasRequestId, GaugeId, Moment, Refusal};
use crate::store;

/// The longest an approval may cover, in days.
const LONGEST: i64 = 31;
/// Requests of a gauge looked through.
const LATEST: i64 = 20;

/// Asks for a test of a gauge with gas.
///
/// # Errors
/// Refuses a missing reason, and more energy than one test may store.
pub async fn ask(deed: &mut Deed, tag: &str, facts: &GasFacts, reason: &str) -> Result<()> {
    let reason = reason.trim();
    if !(10..=2000).contains(&reason.chars().count()) {
        let words = "Say why no liquid can be used, and how people are kept away";
        return Err(Refusal::field("reason", words).into());
    }
    if facts.energy.beyond_one_test {
        let words = "This stores more than 271 MJ, which no single test may; divide the volume";
        return Err(Refusal::field("litres", words).into());
    }
    let Some(gauge) = store::gauges::id_of(deed.db(), tag).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    let by = (deed.person()?, deed.now());
    let id = store::gas_tests::ask(deed.db(), gauge, (facts, reason), by).await?;
    deed.record(
        "asked for a gas test",
        &format!("gauge {tag}"),
        Some(gauge),
        json!({ "pressure": facts.pressure.to_string(), "litres": facts.litres, "distance m": facts.energy.distance_m, "reason": reason }),
        &[("gas_request", id.0)],
    )
    .await
}

/// Answers a request: the second approval, or a refusal.
///
/// # Errors
/// Refuses anybody but inspectors and engineers, whoever asked, missing words, a second answer, and
/// an approval that covers more than a month or a day that is past.
pub async fn answer(
    deed: &mut Deed,
    tag: &str,
    id: GasRequestId,
    (approved, until, words): (bool, Option<Date>, &str),
) -> Result<()> {
    if !matches!(deed.who().role, Some(Role::Inspector | Role::Engineer)) {
        let words = "A gas test is approved by an inspector or an engineer";
        return Err(Refusal::not_now(words).into());
    }
    let words = words.trim();
    if !(3..=2000).contains(&words.chars().count()) {
        return Err(Refusal::field("words", "Say on what conditions, or why not").into());
    }
    let person = deed.person()?;
    let Some(gauge) = store::gauges::id_of(deed.db(), tag).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    let requests = store::gas_tests::of_gauge(deed.db(), gauge, LATEST).await?;
    let Some(request) = requests.into_iter().find(|request| request.id == id) else {
        return Err(Refusal::Missing("request").into());
    };
    if request.person_id == person {
        let words = "You asked for it; the second approval is another person\u{2019}s";
        return Err(Refusal::not_now(words).into());
    }
    if let Some(answer) = request.answer {
        return Err(Refusal::not_now(format!("{} answered this already", answer.person)).into());
    }
    let until = if approved {
        let today = deed.today();
        match until {
            Some(day) if day >= today && (day - today).whole_days() <= LONGEST => Some(day),
            _ => {
                let words = "Write the last day it covers, within a month from today";
                return Err(Refusal::field("until", words).into());
            }
        }
    } else {
        None
    };
    let by = (person, deed.now());
    store::gas_tests::answer(deed.db(), id, (approved, until, words), by).await?;
    deed.record(
        if approved {
            "approved a gas test"
        } else {
            "refused a gas test"
        },
        &format!("gauge {tag}"),
        Some(gauge),
        json!({ "until": until.map(|day| day.to_string()), "words": words }),
        &[("gas_answer", id.0)],
    )
    .await
}

/// The approval a gas test that began then and went to that pressure rests on, in a sentence with all
/// that bounds it: from when to when, to which pressure, for which volume, on which conditions.
///
/// # Errors
/// Refuses where there is none.
pub(super) async fn rests_on(
    deed: &mut Deed,
    gauge: GaugeId,
    pressure: StampedPressure,
    began: Moment,
) -> Result<String> {
    let day = deed.zone().date(began);
    let requests = store::gas_tests::of_gauge(deed.db(), gauge, LATEST).await?;
    let found = requests
        .iter()
        .find(|request| request.covers(pressure, (began, day)));
    let Some((request, answer)) = found.and_then(|r| Some((r, r.answer.as_ref()?))) else {
        let words = "A test with gas needs a second person\u{2019}s approval, given before the test began, for its day and pressure; ask for it first";
        return Err(Refusal::field("medium", words).into());
    };
    let from = deed.zone().local(answer.at);
    Ok(format!(
        "asked for by {}, approved by {} from {} at {:02}:{:02} to {}, for at most {} and {} L ({}); that stores {} kJ by {}; people at least {} m away.",
        request.person,
        answer.person,
        said(from.date()),
        from.hour(),
        from.minute(),
        answer.until.map(said).unwrap_or_default(),
        request.facts.pressure,
        request.facts.litres.normalize(),
        answer.words,
        request.facts.kilojoules(),
        request.facts.edition.name(),
        request.facts.energy.distance_m
    ))
}
