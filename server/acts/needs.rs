//! What to order of a kit: the question put together from the register, the answer kept for lists,
//! and the deeds that say how kits are stocked. The answer itself is `calc::needs`.

use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use serde_json::json;
use sqlx::SqliteConnection;
use time::{Date, Duration};

use super::refresh_due::beyond;
use super::refresh_many::rebuild_days;
use super::{Deed, Result, kits};
use crate::calc::calendar::{add_months, first_of_month, last_of_month, months_before};
use crate::calc::lots::Wanted;
use crate::calc::needs::{self, Answer, ClassDemand, Question};
use crate::calc::reorder::{self, Packing, ServiceLevel};
use crate::record::kit::{self, AHEAD, Kit, Lot};
use crate::record::moment::Zone;
use crate::record::need::{ClassRecord, Rules, Stated, Terms, Then};
use crate::record::{KitId, LotNumber, Refusal};
use crate::store;
use crate::store::needs::{Ahead, Reckoned};

/// Months of the record that a failure rate is drawn from.
pub const RECORD_MONTHS: u32 = 36;
/// The least days a register has to have watched before a rate is drawn from it.
const LEAST_DAYS: i64 = 365;
/// Months a needs page looks ahead at least.
const MONTHS: u32 = 13;
/// Kits reckoned in one go outside of deeds.
const AT_ONCE: i64 = 50;

/// What somebody asks "what if" about.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct WhatIf {
    /// Another service level, percent.
    pub level: Option<Decimal>,
    /// Another lead time.
    pub lead_days: Option<u32>,
    /// Another time between two looks.
    pub review_days: Option<u32>,
    /// Another rebuild interval for every gauge that takes the kit, months.
    pub interval: Option<u32>,
}

/// What a kit's answer was made from, beside the answer.
#[derive(Debug, Clone)]
pub struct Asked {
    /// The rules of the storeroom.
    pub rules: Rules,
    /// The kit's own terms.
    pub terms: Terms,
    /// The lots on the shelf.
    pub lots: Vec<Lot>,
    /// The whole question.
    pub question: Question<LotNumber>,
    /// The answer.
    pub answer: Answer<LotNumber>,
}

/// What every kit's answer needs, asked once.
#[derive(Debug, Clone)]
pub struct Ground {
    rules: Rules,
    classes: Vec<ClassRecord>,
    years: Option<f64>,
    since: Option<Date>,
    today: Date,
}

/// The failures seen of each class, and the years they were looked for; none where the register is
/// too young to draw a rate from.
pub async fn ground(db: &mut SqliteConnection, today: Date) -> Result<Ground> {
    let since = months_before(first_of_month(today), RECORD_MONTHS).map_err(beyond)?;
    let began = store::needs::began(db).await?;
    let zone = match store::plant::find(db).await? {
        Some(plant) => plant.zone,
        None => Zone::utc(),
    };
    let from = began.map(|at| zone.date(at).max(since));
    let days = from.map_or(0, |from| (today - from).whole_days());
    let years = (days >= LEAST_DAYS)
        .then(|| days.to_f64().map(|days| days / 365.25))
        .flatten();
    let month = format!("{}-{:02}", since.year(), u8::from(since.month()));
    Ok(Ground {
        rules: store::needs::rules(db).await?,
        classes: store::needs::class_records(db, &month).await?,
        years,
        since: from,
        today,
    })
}

impl Ground {
    /// The classes with the rate each is reckoned with.
    pub fn rates(&self) -> Vec<(&ClassRecord, f64, String)> {
        self.classes
            .iter()
            .map(|class| {
                let (rate, ground) = self.rate(class);
                (class, rate, ground)
            })
            .collect()
    }

    /// Years of the record that are looked at; none while it is too young.
    pub const fn years(&self) -> Option<f64> {
        self.years
    }

    /// The first day of the record that is looked at.
    pub const fn since(&self) -> Option<Date> {
        self.since
    }

    fn rate(&self, class: &ClassRecord) -> (f64, String) {
        if let Some(stated) = &class.stated {
            let rate = stated.per_year.to_f64().unwrap_or(0.0);
            return (rate, format!("as stated: {}", stated.ground));
        }
        let Some(years) = self.years else {
            return (
                0.0,
                "none: the register is younger than a year and no rate is stated".to_owned(),
            );
        };
        let failures = u32::try_from(class.failures).unwrap_or(u32::MAX);
        let gauge_years = years * class.gauges.to_f64().unwrap_or(0.0);
        match needs::failure_rate(failures, gauge_years) {
            Ok(rate) => (
                rate,
                format!(
                    "({failures} + ½) failures in {gauge_years:.1} gauge-years of the record ({} gauges in service now)",
                    class.gauges
                ),
            ),
            Err(_) => (0.0, "none: no gauge of the class is in service".to_owned()),
        }
    }
}

/// Puts the question of one kit together and answers it.
///
/// # Errors
/// The store's failure, or a number outside what can be computed with.
pub async fn ask(
    db: &mut SqliteConnection,
    ground: &Ground,
    kit: &Kit,
    what_if: WhatIf,
) -> Result<Asked> {
    let today = ground.today;
    let terms = store::needs::terms(db, kit.id).await?;
    let level = what_if
        .level
        .or(terms.service_level)
        .unwrap_or(ground.rules.service_level);
    let lead_days = what_if.lead_days.unwrap_or(kit.lead_days);
    let review_days = what_if
        .review_days
        .or(terms.review_days)
        .unwrap_or(ground.rules.review_days);
    let span = lead_days.saturating_add(review_days);
    // Far enough ahead that the span after the last order-by date is still in sight.
    let months = (span.saturating_mul(2) / 28 + 2).clamp(MONTHS, 60);
    let first = first_of_month(today);
    let limit = last_of_month(add_months(first, months - 1).map_err(beyond)?);
    let planned = match what_if.interval {
        Some(interval) => planned_at(db, kit.id, (today, limit), interval).await?,
        None => planned(db, kit.id, (today, limit), months).await?,
    };
    let takers = store::needs::takers(db, kit.id).await?;
    let failures = ground
        .classes
        .iter()
        .filter_map(|class| {
            let gauges = takers.get(&class.class)?.clone();
            let (rate, ground) = ground.rate(class);
            Some(ClassDemand {
                name: class.name.clone(),
                rate,
                gauges,
                ground,
                stated: class.stated.is_some(),
            })
        })
        .collect();
    let lots = store::kits::lots_on_hand(db, kit.id).await?;
    let fraction = level.to_f64().unwrap_or(95.0) / 100.0;
    let question = Question {
        lots: lots.iter().map(Lot::shelved).collect(),
        receipts: store::needs::awaited(db, kit.id).await?,
        planned,
        failures,
        terms: needs::Terms {
            lead_days,
            review_days,
            level: ServiceLevel::new(fraction).map_err(beyond)?,
            packing: Packing::new(kit.pack, kit.minimum).map_err(beyond)?,
            shelf_months: kit.shelf_life_months,
        },
        today,
        months,
    };
    let answer = needs::ask(&question).map_err(beyond)?;
    Ok(Asked {
        rules: ground.rules.clone(),
        terms,
        lots,
        question,
        answer,
    })
}

/// What planned rebuilds want of a kit, those that come round again within the time included.
async fn planned(
    db: &mut SqliteConnection,
    kit: KitId,
    (today, limit): (Date, Date),
    months: u32,
) -> Result<Vec<Wanted>> {
    let mut wants = store::stock::wants_of(db, kit, today, limit).await?;
    for (on, interval, kits) in store::needs::short_intervals(db, kit, limit, months).await? {
        again(&mut wants, on.max(today), (interval, kits), limit)?;
    }
    Ok(wants)
}

/// The rebuilds of one gauge that follow the next one within the time looked at.
fn again(
    wants: &mut Vec<Wanted>,
    from: Date,
    (interval, kits): (u32, u32),
    limit: Date,
) -> Result<()> {
    for time in 1.. {
        let on = add_months(from, interval * time).map_err(beyond)?;
        if on > limit {
            break;
        }
        wants.push(Wanted { on, quantity: kits });
    }
    Ok(())
}

/// The same with another interval for every gauge that takes the kit. It walks these gauges, which
/// only the person who asks pays for.
async fn planned_at(
    db: &mut SqliteConnection,
    kit: KitId,
    (today, limit): (Date, Date),
    interval: u32,
) -> Result<Vec<Wanted>> {
    let mut known = store::due::facts_of_kit(db, kit).await?;
    for gauge in &mut known {
        gauge.facts.rebuild_months = Some(interval);
    }
    let days = rebuild_days(&known)?;
    let mut wants = Vec::new();
    for need in store::stock::needs_on(db, &days).await? {
        let on = need.on_date.max(today);
        let kits = u32::try_from(need.kits).unwrap_or(0);
        if need.kit_id == Some(kit) && on <= limit {
            wants.push(Wanted { on, quantity: kits });
            again(&mut wants, on, (interval, kits), limit)?;
        }
    }
    Ok(wants)
}

/// Reckons the projection of every kit that something moved, as the last step of a deed.
///
/// # Errors
/// The store's failure. A kit that cannot be reckoned keeps what was reckoned last, and why.
pub async fn refresh(db: &mut SqliteConnection, today: Date) -> Result<()> {
    let stale = store::needs::stale(db, i64::MAX).await?;
    reckon(db, &stale, today).await?;
    Ok(())
}

/// Reckons kits, and answers which of them cannot be reckoned and why.
async fn reckon(
    db: &mut SqliteConnection,
    kits: &[KitId],
    today: Date,
) -> Result<Vec<(KitId, String)>> {
    let mut refused = Vec::new();
    if kits.is_empty() {
        return Ok(refused);
    }
    let ground = ground(db, today).await?;
    for kit in store::kits::some(db, kits).await? {
        match reckoned(db, &ground, &kit).await {
            Ok(row) => store::needs::put(db, &row).await?,
            Err(super::Error::Refused(why)) => {
                tracing::warn!(kit = %kit.number, %why, "the needs of a kit cannot be reckoned");
                let words = why.to_string();
                store::needs::put_refused(db, kit.id, today, &words).await?;
                refused.push((kit.id, words));
            }
            Err(error) => return Err(error),
        }
    }
    Ok(refused)
}

/// The row of the projection that a kit gives on the day of this ground.
///
/// # Errors
/// The store's failure, or a number outside what can be computed with.
pub async fn reckoned(db: &mut SqliteConnection, ground: &Ground, kit: &Kit) -> Result<Reckoned> {
    let today = ground.today;
    let asked = ask(db, ground, kit, WhatIf::default()).await?;
    let until = today.saturating_add(AHEAD);
    let wants = store::stock::wants_of(db, kit.id, today, until).await?;
    let cover = kit::cover(&asked.lots, &wants, today).map_err(beyond)?;
    let ahead_by = cover
        .short_on
        .map(|from| reorder::order_by(from, kit.lead_days, today))
        .transpose()
        .map_err(beyond)?;
    let answer = &asked.answer;
    Ok(Reckoned {
        kit: kit.id,
        on: today,
        order_by: answer.order_by.as_ref().map(|by| by.date),
        short_on: answer.short.map(|short| short.on),
        rebuilds_short_on: answer.rebuilds_short,
        then: answer.following.map(Then::from),
        kits: [
            answer.suggestion.quantity,
            answer.usable,
            answer.position.on_order,
            answer.point.planned,
            answer.point.cover,
        ],
        until: answer.until,
        ahead: Ahead {
            unusable: cover.unusable,
            wanted: cover.wanted,
            short: cover.short,
            short_on: cover.short_on,
            order_by: ahead_by.map(|by| by.date),
        },
    })
}

/// Reckons some of the kits whose answer is of another day; answers whether more may be left.
/// Nothing of the record changes, so there is no audit line.
///
/// # Errors
/// The store's failure.
pub async fn new_day(store: &store::Store, today: Date) -> Result<bool> {
    let mut tx = store.write().await?;
    let mut old = store::needs::stale(&mut tx, AT_ONCE).await?;
    for kit in store::needs::reckoned_before(&mut tx, today, AT_ONCE).await? {
        if !old.contains(&kit) {
            old.push(kit);
        }
    }
    reckon(&mut tx, &old, today).await?;
    tx.commit().await.map_err(store::Error::from)?;
    Ok(i64::try_from(old.len()).unwrap_or(0) >= AT_ONCE)
}

/// Chooses the storeroom's rules.
///
/// # Errors
/// Refuses a service level outside 50 to 99.9999 %, and a change made meanwhile by somebody else.
pub async fn choose_rules(deed: &mut Deed, rules: &Rules) -> Result<()> {
    level("service_level", rules.service_level)?;
    let before = store::needs::rules(deed.db()).await?;
    if !store::needs::put_rules(deed.db(), rules).await? {
        return Err(changed(deed, "The storeroom's rules", RULES).await?.into());
    }
    let facts = json!({
        "service level, %": [before.service_level.to_string(), rules.service_level.to_string()],
        "review, days": [before.review_days, rules.review_days],
        "currency": [before.currency, rules.currency],
    });
    deed.record("chose", RULES, None, facts, &[("storeroom_rule", 1)])
        .await
}

const RULES: &str = "storeroom rules";

/// Settles a kit's own terms.
///
/// # Errors
/// Refuses a service level out of range, a cost below zero, and a change made meanwhile.
pub async fn settle_terms(deed: &mut Deed, kit: &Kit, terms: &Terms) -> Result<()> {
    if let Some(own) = terms.service_level {
        level("service_level", own)?;
    }
    if terms.cost.is_some_and(|cost| cost < Decimal::ZERO) {
        return Err(Refusal::field("cost", "A cost is zero or more").into());
    }
    let subject = kits::subject(&kit.number);
    if !store::needs::put_terms(deed.db(), kit.id, terms).await? {
        return Err(changed(deed, &format!("Kit {}", kit.number), &subject)
            .await?
            .into());
    }
    let text = |value: Option<Decimal>| value.map(|v| v.to_string());
    let facts = json!({
        "cost": text(terms.cost), "supplier": terms.supplier,
        "service level, %": text(terms.service_level), "review, days": terms.review_days,
    });
    deed.record(
        "settled the terms of",
        &subject,
        None,
        facts,
        &[("kit_terms", kit.id.0)],
    )
    .await
}

/// States the failure rate of a service class.
///
/// # Errors
/// Refuses a rate below zero or above 100, one that kits cannot be reckoned with, a missing ground,
/// and a change made meanwhile.
pub async fn state_rate(deed: &mut Deed, class: &str, stated: &Stated) -> Result<()> {
    if stated.per_year < Decimal::ZERO || stated.per_year > Decimal::ONE_HUNDRED {
        let words = "Write failures per gauge and year, from 0 to 100";
        return Err(Refusal::field("per_year", words).into());
    }
    let length = stated.ground.trim().chars().count();
    if !(3..=500).contains(&length) {
        return Err(Refusal::field(
            "ground",
            "Say in 3 to 500 characters where the rate comes from",
        )
        .into());
    }
    let subject = format!("failure rate of {class}");
    if !store::needs::put_rate(deed.db(), stated).await? {
        return Err(
            changed(deed, &format!("The failure rate of {class}"), &subject)
                .await?
                .into(),
        );
    }
    let before = store::outlook::refused(deed.db(), i64::MAX).await?;
    let stale = store::needs::stale(deed.db(), i64::MAX).await?;
    let today = deed.today();
    for (id, why) in reckon(deed.db(), &stale, today).await? {
        if before.iter().all(|(known, ..)| *known != id) {
            let kit = store::kits::by_id(deed.db(), id).await?;
            let number = kit.map_or_else(String::new, |kit| format!(" {}", kit.number));
            let words =
                format!("With this rate what to order of kit{number} cannot be reckoned: {why}");
            return Err(Refusal::field("per_year", words).into());
        }
    }
    let facts = json!({ "failures per gauge and year": stated.per_year.to_string(), "ground": stated.ground });
    deed.record(
        "stated",
        &subject,
        None,
        facts,
        &[("class_rate", stated.class.0)],
    )
    .await
}

/// Says that another kit may stand in for one.
///
/// # Errors
/// Refuses the kit itself, one named already, and a missing remark of what has to be minded.
pub async fn add_alternative(deed: &mut Deed, kit: &Kit, other: &str, note: &str) -> Result<()> {
    let Some(other) = store::kits::by_number(deed.db(), other.trim()).await? else {
        return Err(Refusal::field("other", "No kit has this number").into());
    };
    if other.id == kit.id {
        return Err(Refusal::field("other", "That is this kit itself").into());
    }
    let note = note.trim();
    if !(3..=500).contains(&note.chars().count()) {
        let words = "Say in 3 to 500 characters what has to be minded, and who says that it fits";
        return Err(Refusal::field("note", words).into());
    }
    let known = store::alternatives::of_kit(deed.db(), kit.id).await?;
    if known.iter().any(|one| one.kit_id == other.id) {
        return Err(Refusal::field("other", "This kit is named already").into());
    }
    let row = store::alternatives::add(deed.db(), kit.id, other.id, note).await?;
    let facts = json!({ "stands in": other.number, "note": note });
    let subject = kits::subject(&kit.number);
    deed.record(
        "named another kit for",
        &subject,
        None,
        facts,
        &[("kit_alternative", row)],
    )
    .await
}

/// Takes back that another kit may stand in.
///
/// # Errors
/// The store's failure.
pub async fn remove_alternative(deed: &mut Deed, kit: &Kit, row: i64) -> Result<()> {
    if !store::alternatives::remove(deed.db(), kit.id, row).await? {
        return Err(Refusal::Missing("kit").into());
    }
    let subject = kits::subject(&kit.number);
    deed.record(
        "took back another kit for",
        &subject,
        None,
        json!({}),
        &[("kit_alternative", row)],
    )
    .await
}

fn level(field: &str, percent: Decimal) -> Result<()> {
    let fraction = percent.to_f64().unwrap_or(0.0) / 100.0;
    ServiceLevel::new(fraction)
        .map(|_| ())
        .map_err(|_| Refusal::field(field, "Write a percentage from 50 to 99.9999").into())
}

async fn changed(deed: &mut Deed, what: &str, subject: &str) -> Result<Refusal> {
    let by = store::audit::last_hand(deed.db(), subject).await?;
    Ok(Refusal::Changed {
        what: what.to_owned(),
        by,
    })
}

/// The time within which something is to be ordered soon.
pub const SOON: Duration = Duration::days(30);
