//! What was said of certificates after they were issued, and tests that wait: one corrected, one
//! questioned, one withdrawn, re-tests planned, a gas test asked for, choices made for tests.

use std::collections::BTreeSet;

use rust_decimal::Decimal;
use time::Duration;

use crate::acts::certificates::Marking;
use crate::acts::pressure_tests::Correction;
use crate::acts::{self, Deed, Result, Who};
use crate::calc::pressure_test::Code;
use crate::calc::stored_energy::Edition;
use crate::record::Refusal;
use crate::record::certificate_mark::MarkKind;
use crate::record::gas_test::GasFacts;
use crate::record::moment::Clock;
use crate::record::plant::Paper;
use crate::record::pressure_test::{Basis, Circumstances, asked};
use crate::record::test_plan::Rule;
use crate::store::issued::Filter;
use crate::store::test_plans::Of;
use crate::store::{self, Store};

/// Certificates passed over between one that something was said of and the next.
const APART: usize = 5;

/// Leaves the plant's proofs as they stand today. Nothing is done in a plant without certificates.
pub async fn leave(store: &Store, clock: &Clock, inspector: &Who, engineer: &Who) -> Result<()> {
    let mut deed = Deed::begin(store, clock, inspector.clone(), None).await?;
    let latest = store::issued::list(deed.db(), &Filter::default(), 60).await?;
    let mut some = latest.iter().step_by(APART);
    if let Some(line) = some.next() {
        let correction = Correction {
            reason: "the place of the test was written as the bench; it was made in place"
                .to_owned(),
            circumstances: Circumstances {
                place: "in place".to_owned(),
                read_at: "at the pump, level with the gauge".to_owned(),
                procedure: "SW-PT-01 issue 3 (invented)".to_owned(),
                ..Circumstances::default()
            },
            remark: String::new(),
        };
        acts::pressure_tests::correct(&mut deed, line.number.as_str(), &correction, None).await?;
    }
    for (kind, reason) in [
        (
            MarkKind::Questioned,
            "the pressure gauge read low when it was compared; readings are being worked out",
        ),
        (
            MarkKind::Withdrawn,
            "the certificate was made out for the gauge beside it; the test is repeated",
        ),
    ] {
        if let Some(line) = some.next() {
            let marking = Marking {
                kind,
                reason,
                recall: None,
            };
            acts::certificates::mark(&mut deed, &line.number, marking).await?;
        }
    }
    let day = deed.today() + Duration::days(24);
    // A gauge of a small plant may have two certificates among the latest; one test of it is planned.
    let mut planned = BTreeSet::new();
    for line in some.by_ref().take(2) {
        if planned.insert(line.tag.as_str().to_owned()) {
            let wanted = (day, true, "asked for by the insurer (invented)");
            acts::planned_tests::plan(&mut deed, line.tag.as_str(), wanted).await?;
        }
    }
    deed.commit("").await?;

    let mut deed = Deed::begin(store, clock, engineer.clone(), None).await?;
    let own = Rule {
        paper: Some(Paper::A4),
        ground: "SW-PT-01 issue 3 (invented)".to_owned(),
        ..Rule::default()
    };
    acts::test_plans::choose(&mut deed, Of::default(), "the plant", &own).await?;
    if let Some(class) = store::plant::service_classes(deed.db())
        .await?
        .into_iter()
        .next_back()
    {
        let of = Of {
            class: Some(class.id),
            gauge: None,
        };
        let rule = Rule {
            code: Some(Code::AsmeB313),
            ground: "piping class of the plant (invented)".to_owned(),
            ..Rule::default()
        };
        acts::test_plans::choose(
            &mut deed,
            of,
            &format!("service class {}", class.name),
            &rule,
        )
        .await?;
    }
    if let Some(line) = some.next() {
        ask_for_gas(&mut deed, line.tag.as_str()).await?;
    }
    deed.commit("").await
}

/// A test with gas asked for, at what the gauge has to be proved at.
async fn ask_for_gas(deed: &mut Deed, tag: &str) -> Result<()> {
    let plant = store::plant::find(deed.db()).await?;
    let gauge = store::gauges::by_tag(deed.db(), tag).await?;
    let (Some(plant), Some(gauge)) = (plant, gauge) else {
        return Ok(());
    };
    let plan = store::test_plans::plan(deed.db(), &plant, &gauge).await?;
    let asked = asked(&plan, &gauge.particulars, &Basis::default())
        .map_err(|fault| Refusal::Fields(vec![fault]))?;
    let facts = GasFacts::new(asked.required, Decimal::from(4), Edition::Of2022)
        .map_err(|error| Refusal::NotNow(error.to_string()))?;
    let reason = "the service must stay dry and the chamber cannot be dried in place (invented)";
    acts::gas_tests::ask(deed, tag, &facts, reason).await
}
