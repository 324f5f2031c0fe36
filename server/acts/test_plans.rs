//! Choosing how pressure tests are planned and judged: for the plant, a service class or a gauge.
//! What a choice does to a test is in `record::test_plan`.

use serde_json::json;

use super::{Deed, Result};
use crate::calc::pressure_test::Code;
use crate::record::Refusal;
use crate::record::test_plan::Rule;
use crate::store::{self, test_plans::Of};

/// Keeps what was chosen, from the version that was read.
///
/// # Errors
/// Refuses a missing ground, a factor beside a code that fixes its own, and a change made meanwhile
/// by somebody else.
pub async fn choose(deed: &mut Deed, of: Of, named: &str, rule: &Rule) -> Result<()> {
    let ground = rule.ground.trim();
    if !(3..=400).contains(&ground.chars().count()) {
        let words =
            "Name the procedure, drawing or person that says so; it is printed with the choice";
        return Err(Refusal::field("ground", words).into());
    }
    if rule.factor.is_some() && rule.code.is_some_and(|code| code != Code::CommonPractice) {
        let words = "This code fixes its own factor; leave this empty, or choose common practice";
        return Err(Refusal::field("factor", words).into());
    }
    if rule.allowed_drop.is_some()
        && (rule.guard.is_none() || rule.thermometer.is_none())
        && of == Of::default()
    {
        let words = "An allowed drop is judged with a guard band and the uncertainty of the thermometer; choose both";
        return Err(Refusal::field("guard", words).into());
    }
    let subject = format!("test plan of {named}");
    let kept = Rule {
        ground: ground.to_owned(),
        ..rule.clone()
    };
    let Some(id) = store::test_plans::put(deed.db(), of, &kept).await? else {
        let by = store::audit::last_hand(deed.db(), &subject).await?;
        return Err(Refusal::Changed {
            what: format!("The test plan of {named}"),
            by,
        }
        .into());
    };
    deed.record(
        "chose",
        &subject,
        of.gauge,
        json!({
            "code": rule.code, "factor": rule.factor, "hold": rule.hold_minutes,
            "stress ratio": rule.stress_ratio, "limit": rule.limit.map(|p| p.to_string()),
            "allowed drop": rule.allowed_drop.map(|p| p.to_string()), "guard": rule.guard,
            "thermometer": rule.thermometer, "paper": rule.paper, "ground": ground,
        }),
        &[("test_rule", id)],
    )
    .await
}
