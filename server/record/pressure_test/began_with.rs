//! What counts for a hold to its end. What was chosen for it counts as it stood when it began; the rating on
//! the nameplate and the highest pressure that maker or drawing state count as they stand now.

use super::asked::{Asked, Basis, asked, asked_by, of_rating};
use super::facts::{AtFirst, limit_changed, rating_corrected};
use crate::calc::quantity::{StampedPressure, StampedTemperature};
use crate::record::certificate::Choice;
use crate::record::gauge::Particulars;
use crate::record::refusal::FieldError;
use crate::record::sentence::Sentence;
use crate::record::test_plan::{Chosen, LIMIT, Rules, Scope, TestPlan};

/// How what was put right or chosen during a hold is told on its page.
const SINCE: &str = "Since it began,";

/// What a test is judged by, and whose choice each was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct JudgedBy {
    /// What it has to reach and is judged by.
    pub rules: Rules,
    /// Whose choice each was, and on what ground.
    pub choices: Vec<Choice>,
}

impl JudgedBy {
    /// What a test of this plan is judged by.
    pub fn plan(plan: &TestPlan) -> Self {
        Self {
            rules: plan.rules(),
            choices: plan.choices(),
        }
    }

    /// What it has to reach, and for how long.
    ///
    /// # Errors
    /// As [`asked`].
    pub fn asked(&self, gauge: &Particulars, basis: &Basis) -> Result<Asked, FieldError> {
        asked_by(&self.rules, gauge, basis)
    }
}

/// What a hold began with: the rating and what was chosen for its test, as it stood then.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BeganWith {
    /// The stamped rating.
    pub rating: StampedPressure,
    /// The temperature the rating was stamped at.
    pub rating_temperature: Option<StampedTemperature>,
    /// What was chosen for the test.
    pub rules: Rules,
    /// Whose choice each was, and on what ground.
    pub choices: Vec<Choice>,
}

impl BeganWith {
    /// What a hold of this gauge begins with now.
    pub fn now(plan: &TestPlan, gauge: &Particulars, rating: StampedPressure) -> Self {
        Self {
            rating,
            rating_temperature: gauge.rating_temperature,
            rules: plan.rules(),
            choices: plan.choices(),
        }
    }

    /// What the hold was asked to reach when it began.
    ///
    /// # Errors
    /// As [`asked`].
    pub fn asked(&self) -> Result<Asked, FieldError> {
        of_rating(
            &self.rules,
            (self.rating, Vec::new()),
            self.rating_temperature,
            &Basis::default(),
        )
    }

    /// What counts for the hold: what was chosen when it began, and the limit stated now.
    pub fn judged_by(&self, plan: &TestPlan) -> JudgedBy {
        let limit = plan.choices().into_iter().filter(|one| one.what == LIMIT);
        let kept = self.choices.iter().filter(|one| one.what != LIMIT);
        JudgedBy {
            rules: Rules {
                limit: plan.limit.as_ref().map(|limit| limit.value),
                ..self.rules.clone()
            },
            choices: kept.cloned().chain(limit).collect(),
        }
    }

    /// Rating and limit it began with, where either is not what it is judged by.
    pub fn at_first(&self, judged: &Asked) -> Option<AtFirst> {
        let other = self.rating != judged.rating || self.rules.limit != judged.limit;
        other.then_some(AtFirst {
            rating: self.rating,
            limit: self.rules.limit,
        })
    }

    /// What nameplate, maker or drawing state otherwise than when the hold began: it counts for the hold.
    pub fn put_right(&self, plan: &TestPlan, gauge: &Particulars) -> Vec<Sentence> {
        let mut list = Vec::new();
        match gauge.rating {
            None => list.push(
                Sentence::of(format!("{SINCE} the rating of "))
                    .at_most(self.rating)
                    .words(" was taken from the register"),
            ),
            Some(now) if now != self.rating => list.push(
                rating_corrected(SINCE, self.rating, now)
                    .words("; the hold is judged by ")
                    .at_most(now),
            ),
            Some(_) => {}
        }
        if gauge.rating_temperature != self.rating_temperature {
            list.push(match gauge.rating_temperature {
                Some(now) => Sentence::of(format!(
                    "{SINCE} the temperature the rating is stamped at was corrected to "
                ))
                .figure(now),
                None => Sentence::of(format!(
                    "{SINCE} the temperature the rating is stamped at was taken from the register"
                )),
            });
        }
        let limit = plan.limit.as_ref().map(|limit| limit.value);
        list.extend(
            limit_changed(SINCE, self.rules.limit, limit)
                .map(|told| told.words("; that counts for this hold")),
        );
        list
    }

    /// What was chosen since the hold began and does not count for it, with whose choice it is.
    pub fn chosen_since(&self, plan: &TestPlan, gauge: &Particulars) -> Vec<Sentence> {
        let counts = "; this hold is judged by what it began with";
        let (own, now) = (&self.rules, plan.rules());
        let asks = scopes([
            (own.code != now.code, Some(plan.code.scope)),
            // Where none is chosen any more, the code has its own.
            (
                own.factor != now.factor,
                scope(plan.factor.as_ref()).or(Some(plan.code.scope)),
            ),
            (
                own.stress_ratio != now.stress_ratio,
                scope(plan.stress_ratio.as_ref()).or(Some(plan.code.scope)),
            ),
            (
                own.hold_minutes != now.hold_minutes,
                Some(plan.hold_minutes.scope),
            ),
        ]);
        let mut list = Vec::new();
        if !asks.is_empty() {
            let verb = if asks.len() == 1 { "asks" } else { "ask" };
            let whose = named(&asks);
            let by = if own.code == now.code {
                String::new()
            } else {
                format!(" by {}", now.code.name())
            };
            list.push(match asked(plan, gauge, &Basis::default()) {
                Ok(next) => Sentence::of(format!("{SINCE} {whose} {verb} for "))
                    .at_least(next.required)
                    .words(format!(
                        "{by}, held for at least {} min{counts}",
                        next.hold_minutes
                    )),
                Err(_) => Sentence::of(format!("{SINCE} {whose} {verb} for another test{counts}")),
            });
        }
        let drop = own.allowed_drop != now.allowed_drop;
        let guard = own.guard != now.guard;
        let thermometer = own.thermometer != now.thermometer;
        if drop || guard || thermometer {
            let judges = scopes([
                (drop, scope(plan.allowed_drop.as_ref())),
                (guard, scope(plan.guard.as_ref())),
                (thermometer, scope(plan.thermometer.as_ref())),
            ]);
            // A choice that was taken back is nobody's any more.
            let whose = if judges.is_empty() {
                String::new()
            } else {
                format!(" by {}", named(&judges))
            };
            list.push(Sentence::of(format!(
                "{SINCE} how a drop of pressure is judged was changed{whose}{counts}"
            )));
        }
        list
    }
}

fn scope<T>(chosen: Option<&Chosen<T>>) -> Option<Scope> {
    chosen.map(|chosen| chosen.scope)
}

/// Whose choices were changed, each once.
fn scopes(changed: impl IntoIterator<Item = (bool, Option<Scope>)>) -> Vec<Scope> {
    let mut list = Vec::new();
    for (_, scope) in changed.into_iter().filter(|(changed, _)| *changed) {
        if let Some(scope) = scope
            && !list.contains(&scope)
        {
            list.push(scope);
        }
    }
    list
}

fn named(scopes: &[Scope]) -> String {
    let named: Vec<&str> = scopes.iter().map(|scope| scope.whose()).collect();
    named.join(" and ")
}
