//! Deferring a gauge's rebuild or look-over: one person asks with reason, risk and mitigations,
//! another signs or refuses. What may be deferred at all is decided in `calc::due`.

use serde_json::json;
use time::Date;

use super::{Deed, Result, gauges, in_service};
use crate::calc::calendar::{add_months, said};
use crate::calc::due::{self, Deferral, Facts, Moves, Rule};
use crate::record::deferral::{Decided, Request};
use crate::record::gauge::{Gauge, Standing};
use crate::record::words::capital;
use crate::record::{GaugeId, Refusal, RequestId};
use crate::store;
use crate::store::deferrals::NewRequest;
use crate::store::in_service::NewDeferral;

/// A deferral as it is asked for.
#[derive(Debug, Clone)]
pub struct Ask {
    /// What it moves: the rebuild or the look-over.
    pub moves: Moves,
    /// The later date.
    pub until: Date,
    /// The date no deferral of this interval passes.
    pub hard_limit: Date,
    /// Why.
    pub reason: String,
    /// What could go wrong meanwhile.
    pub risk: String,
    /// What is done against it.
    pub mitigations: String,
}

/// Asks for a deferral; nothing moves until somebody else signs it.
///
/// # Errors
/// Refuses a date that is not later, one past a limit signed before in the same interval, a due
/// date no deferral may move, and a second one while another waits.
pub async fn ask(deed: &mut Deed, id: GaugeId, ask: &Ask) -> Result<RequestId> {
    let gauge = in_service::hanging(deed, id).await?;
    let (reason, risk) = (
        told("reason", &ask.reason, "the reason")?,
        told("risk", &ask.risk, "what could go wrong meanwhile")?,
    );
    let mitigations = told("mitigations", &ask.mitigations, "what is done against it")?;
    let wanted = Deferral {
        moves: ask.moves,
        until: ask.until,
        hard_limit: ask.hard_limit,
    };
    may_be(deed, &gauge, wanted).await?;
    if let Some(before) = store::deferrals::waiting(deed.db(), id).await? {
        let words = format!(
            "A deferral until {} that {} asked for waits for a decision",
            said(before.until_on),
            before.asker
        );
        return Err(Refusal::not_now(words).into());
    }
    let new = NewRequest {
        gauge: id,
        moves: ask.moves,
        until: ask.until,
        hard_limit: ask.hard_limit,
        reason,
        risk,
        mitigations,
    };
    let (person, now) = (deed.person()?, deed.now());
    let request = store::deferrals::add(deed.db(), &new, person, now).await?;
    deed.record(
        "asked for a deferral of",
        &gauges::subject(&gauge.particulars),
        Some(id),
        json!({
            "moves": ask.moves.words(), "until": ask.until.to_string(), "hard limit": ask.hard_limit.to_string(),
            "reason": reason, "risk": risk, "mitigations": mitigations,
        }),
        &[("deferral_request", request.0)],
    )
    .await?;
    Ok(request)
}

/// Signs a deferral that somebody else asked for.
///
/// # Errors
/// Refuses the asker, one decided meanwhile, and one that may not be signed any more.
pub async fn sign(deed: &mut Deed, id: RequestId, note: &str) -> Result<()> {
    let request = open(deed, id).await?;
    let gauge = in_service::hanging(deed, request.gauge_id).await?;
    let person = deed.person()?;
    if request.asked_by == person {
        return Err(Refusal::not_now(
            "Who asked for a deferral does not sign it; somebody else has to look at the risk",
        )
        .into());
    }
    let Some(moves) = request.moves else {
        let words = "It was asked for before deferrals named what they move; refuse it, and it is asked for again";
        return Err(Refusal::not_now(words).into());
    };
    let wanted = Deferral {
        moves,
        until: request.until_on,
        hard_limit: request.hard_limit_on,
    };
    may_be(deed, &gauge, wanted).await?;
    decide(deed, &request, (Decided::Signed, note)).await?;
    let new = NewDeferral {
        gauge: gauge.id,
        moves,
        until: request.until_on,
        hard_limit: request.hard_limit_on,
        reason: &request.reason,
        risk: &request.risk,
        mitigations: &request.mitigations,
        asked_by: request.asked_by,
    };
    let now = deed.now();
    let deferral = store::in_service::add_deferral(deed.db(), &new, person, now).await?;
    deed.record(
        "signed a deferral for",
        &gauges::subject(&gauge.particulars),
        Some(gauge.id),
        json!({
            "moves": moves.words(), "until": request.until_on.to_string(), "hard limit": request.hard_limit_on.to_string(),
            "reason": request.reason, "risk": request.risk, "mitigations": request.mitigations,
            "asked by": request.asker, "note": note.trim(),
        }),
        &[("deferral_request", id.0), ("deferral", deferral)],
    )
    .await?;
    deed.touch(gauge.id);
    Ok(())
}

/// Refuses a deferral, or takes it back if one asked for it oneself.
///
/// # Errors
/// Refuses a missing reason and one decided meanwhile.
pub async fn refuse(deed: &mut Deed, id: RequestId, note: &str) -> Result<()> {
    let request = open(deed, id).await?;
    let gauge = in_service::hanging(deed, request.gauge_id).await?;
    let own = request.asked_by == deed.person()?;
    let (decided, words) = if own {
        (Decided::TakenBack, "took back a deferral asked for")
    } else {
        (Decided::Refused, "refused a deferral for")
    };
    if !own && note.trim().chars().count() < 3 {
        return Err(
            Refusal::field("note", "Say why it is refused; it stays in the history").into(),
        );
    }
    decide(deed, &request, (decided, note)).await?;
    deed.record(
        words,
        &gauges::subject(&gauge.particulars),
        Some(gauge.id),
        json!({ "until": request.until_on.to_string(), "note": note.trim() }),
        &[("deferral_request", id.0)],
    )
    .await
}

async fn decide(deed: &mut Deed, request: &Request, (to, note): (Decided, &str)) -> Result<()> {
    let (person, now) = (deed.person()?, deed.now());
    let note = note.trim();
    if !store::deferrals::decide(deed.db(), request.id, (to, note), person, now).await? {
        return Err(Refusal::not_now("Somebody decided this deferral meanwhile").into());
    }
    Ok(())
}

async fn open(deed: &mut Deed, id: RequestId) -> Result<Request> {
    let request = store::deferrals::by_id(deed.db(), id)
        .await?
        .ok_or(Refusal::Missing("deferral"))?;
    match request.decision {
        None => Ok(request),
        Some(decided) => {
            Err(Refusal::not_now(format!("This deferral was {decided} already")).into())
        }
    }
}

fn told<'a>(field: &str, text: &'a str, what: &str) -> Result<&'a str> {
    let text = text.trim();
    if (3..=2000).contains(&text.chars().count()) {
        return Ok(text);
    }
    Err(Refusal::field(field, format!("Say {what} in 3 to 2000 characters")).into())
}

/// Whether a deferral may be asked for or signed today.
async fn may_be(deed: &mut Deed, gauge: &Gauge, wanted: Deferral) -> Result<()> {
    if gauge.standing != Standing::InService {
        return Err(Refusal::not_now("The gauge is resting and falls due on no date").into());
    }
    if wanted.hard_limit < wanted.until {
        return Err(Refusal::field(
            "hard_limit",
            "The date no deferral passes is not before the deferral",
        )
        .into());
    }
    if wanted.until <= deed.today() {
        return Err(Refusal::field("until", "A deferral ends on a day to come").into());
    }
    let Some((_, _, facts)) = store::due::facts(deed.db(), gauge.id).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    moves_something(&facts, wanted)?;
    let class = store::plant::service_class(deed.db(), gauge.particulars.service_class_id).await?;
    let most = class.and_then(|class| class.defer_months);
    if let Some(limit) = furthest(&facts, wanted.moves, most)?
        && wanted.hard_limit > limit
    {
        let words = format!(
            "{} may be deferred to {} at the latest: {}. Do it, or let the administrator weigh another interval",
            capital(wanted.moves.words()),
            said(limit),
            match most {
                Some(months) => format!("the service class allows {months} months past its date"),
                None => "one interval past its date".to_owned(),
            }
        );
        return Err(Refusal::field("hard_limit", words).into());
    }
    Ok(())
}

/// The latest day rebuild or look-over may be deferred to: so many months past its own date as the
/// service class allows, else one interval, because a longer one is another interval and not a
/// deferral (common practice, no source). None where no interval gives a date.
///
/// # Errors
/// A date outside the calendar's range.
pub fn furthest(facts: &Facts, moves: Moves, most: Option<u32>) -> Result<Option<Date>> {
    let (anchor, months) = match moves {
        Moves::LookOver => (facts.look_over_anchor, facts.look_over_months),
        Moves::Rebuild | Moves::All => (facts.anchor, facts.rebuild_months),
    };
    let Some((anchor, months)) = anchor.zip(months) else {
        return Ok(None);
    };
    add_months(anchor, months + most.unwrap_or(months))
        .map(Some)
        .map_err(|e| Refusal::field("hard_limit", e.to_string()).into())
}

/// Whether a deferral moves a date of what it names, within the limit signed before it.
fn moves_something(facts: &Facts, deferral: Deferral) -> Result<()> {
    let before = match deferral.moves {
        Moves::LookOver => facts.look_over_deferral,
        Moves::Rebuild | Moves::All => facts.deferral,
    };
    if let Some(before) = before
        && deferral.hard_limit > before.hard_limit
    {
        return Err(Refusal::field(
            "hard_limit",
            format!(
                "The limit signed before is {}; no later deferral passes it until the gauge is rebuilt",
                said(before.hard_limit)
            ),
        )
        .into());
    }
    let mut with = facts.clone();
    if deferral.moves == Moves::LookOver {
        with.look_over_deferral = Some(deferral);
    } else {
        with.deferral = Some(deferral);
    }
    let decided = due::decide(&with).map_err(|e| Refusal::field("until", e.to_string()))?;
    let fixed = |one: &&due::Candidate| {
        !one.rule.may_be_deferred() && one.rule != Rule::Deferral && one.date <= deferral.until
    };
    if let Some(first) = decided.considered.iter().find(fixed) {
        return Err(Refusal::not_now(format!(
            "{}, {}, comes before that day; no deferral moves it",
            capital(first.rule.words()),
            said(first.date)
        ))
        .into());
    }
    if !decided
        .deferred
        .iter()
        .any(|one| deferral.moves.covers(one.rule))
    {
        return Err(Refusal::field(
            "until",
            format!("No date of {} lies before this day", deferral.moves.words()),
        )
        .into());
    }
    Ok(())
}
