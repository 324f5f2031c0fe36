//! What plant, service classes and gauges chose for their pressure tests: one rule by its scope, the
//! plan of a gauge, the plant's paper, and writing a rule.

use sqlx::SqliteConnection;

use super::columns::Digits;
use super::{Error, Result};
use crate::calc::quantity::Stamped;
use crate::record::gauge::Gauge;
use crate::record::plant::{Paper, Plant};
use crate::record::test_plan::{Rule, TestPlan};
use crate::record::{GaugeId, ServiceClassId};

/// Whose rule: of a class, of a gauge, or with neither the plant's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Of {
    /// The service class.
    pub class: Option<ServiceClassId>,
    /// The gauge.
    pub gauge: Option<GaugeId>,
}

impl Of {
    const fn class(class: ServiceClassId) -> Self {
        Self {
            class: Some(class),
            gauge: None,
        }
    }

    const fn gauge(gauge: GaugeId) -> Self {
        Self {
            class: None,
            gauge: Some(gauge),
        }
    }
}

/// What was chosen at one place, with its row; nothing where nothing was.
pub async fn rule(db: &mut SqliteConnection, of: Of) -> Result<Option<(i64, Rule)>> {
    let found = at(db, &[of]).await?.pop();
    Ok(found.map(|(_, row, rule)| (row, rule)))
}

/// What was chosen at some places, in one question however many they are.
async fn at(db: &mut SqliteConnection, places: &[Of]) -> Result<Vec<(Of, i64, Rule)>> {
    let places: Vec<(i64, i64)> = places
        .iter()
        .map(|of| (of.class.map_or(0, |c| c.0), of.gauge.map_or(0, |g| g.0)))
        .collect();
    let places = serde_json::to_string(&places)?;
    let rows = sqlx::query!(
        r#"SELECT id AS "id!: i64", service_class_id, gauge_id, code, factor, hold_minutes, stress_ratio, limit_value, limit_unit, drop_value, drop_unit,
             guard, thermometer, paper, ground, version
           FROM test_rule WHERE id IN (SELECT o.id FROM json_each(?1) j CROSS JOIN test_rule o
             ON ifnull(o.service_class_id, 0) = j.value ->> 0 AND ifnull(o.gauge_id, 0) = j.value ->> 1)"#,
        places
    )
    .fetch_all(db)
    .await?;
    let stamped = |value: Option<Digits>, unit| {
        value
            .zip(unit)
            .map(|(value, unit)| Stamped::new(value.0, unit))
    };
    Ok(rows
        .into_iter()
        .map(|row| {
            let of = Of {
                class: row.service_class_id,
                gauge: row.gauge_id,
            };
            let rule = Rule {
                code: row.code,
                factor: row.factor.map(|digits| digits.0),
                hold_minutes: row
                    .hold_minutes
                    .and_then(|minutes| u32::try_from(minutes).ok()),
                stress_ratio: row.stress_ratio.map(|digits| digits.0),
                limit: stamped(row.limit_value, row.limit_unit),
                allowed_drop: stamped(row.drop_value, row.drop_unit),
                guard: row.guard,
                thermometer: row.thermometer.map(|digits| digits.0),
                paper: row.paper,
                ground: row.ground,
                version: row.version,
            };
            (of, row.id, rule)
        })
        .collect())
}

/// How a gauge is tested.
pub async fn plan(db: &mut SqliteConnection, plant: &Plant, gauge: &Gauge) -> Result<TestPlan> {
    let places = places(std::slice::from_ref(gauge));
    Ok(planned(plant, &at(db, &places).await?, gauge))
}

/// How each of several gauges is tested, in one question however many they are.
pub async fn plans(
    db: &mut SqliteConnection,
    plant: &Plant,
    gauges: &[Gauge],
) -> Result<Vec<TestPlan>> {
    let rules = at(db, &places(gauges)).await?;
    let each = gauges.iter().map(|gauge| planned(plant, &rules, gauge));
    Ok(each.collect())
}

/// Where something may be chosen that these gauges are tested by.
fn places(gauges: &[Gauge]) -> Vec<Of> {
    let mut places = vec![Of::default()];
    for gauge in gauges {
        places.push(Of::class(gauge.particulars.service_class_id));
        places.push(Of::gauge(gauge.id));
    }
    places
}

fn planned(plant: &Plant, rules: &[(Of, i64, Rule)], gauge: &Gauge) -> TestPlan {
    let at = |of: Of| {
        let found = rules.iter().find(|(place, ..)| *place == of);
        found.map(|(_, _, rule)| rule)
    };
    let usual = Rule::default();
    TestPlan::of(
        plant,
        at(Of::default()).unwrap_or(&usual),
        at(Of::class(gauge.particulars.service_class_id)),
        at(Of::gauge(gauge.id)),
    )
}

/// The plant's size of paper.
pub async fn paper(db: &mut SqliteConnection) -> Result<Paper> {
    let own = rule(db, Of::default()).await?;
    Ok(own.and_then(|(_, rule)| rule.paper).unwrap_or(Paper::A4))
}

/// Writes a rule, new or over the version it was read at; its row, or nothing if it moved meanwhile.
pub async fn put(db: &mut SqliteConnection, of: Of, rule: &Rule) -> Result<Option<i64>> {
    let hold = rule.hold_minutes.map(i64::from);
    let digits = |value: Option<rust_decimal::Decimal>| value.map(Digits);
    let (factor, ratio, kelvin) = (
        digits(rule.factor),
        digits(rule.stress_ratio),
        digits(rule.thermometer),
    );
    let (limit, limit_unit) = rule.limit.map(|p| (Digits(p.value), p.unit)).unzip();
    let (drop, drop_unit) = rule.allowed_drop.map(|p| (Digits(p.value), p.unit)).unzip();
    let done = sqlx::query!(
        "INSERT INTO test_rule (service_class_id, gauge_id, code, factor, hold_minutes, stress_ratio, limit_value, limit_unit,
                                drop_value, drop_unit, guard, thermometer, paper, ground)
         SELECT ?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14 WHERE true
         ON CONFLICT (ifnull(service_class_id, 0), ifnull(gauge_id, 0)) DO UPDATE SET
           code = excluded.code, factor = excluded.factor, hold_minutes = excluded.hold_minutes,
           stress_ratio = excluded.stress_ratio, limit_value = excluded.limit_value, limit_unit = excluded.limit_unit,
           drop_value = excluded.drop_value, drop_unit = excluded.drop_unit, guard = excluded.guard,
           thermometer = excluded.thermometer, paper = excluded.paper, ground = excluded.ground,
           version = test_rule.version + 1
         WHERE test_rule.version = ?15",
        of.class,
        of.gauge,
        rule.code,
        factor,
        hold,
        ratio,
        limit,
        limit_unit,
        drop,
        drop_unit,
        rule.guard,
        kelvin,
        rule.paper,
        rule.ground,
        rule.version
    )
    .execute(&mut *db)
    .await?;
    if done.rows_affected() != 1 {
        return Ok(None);
    }
    let (id, _) = self::rule(db, of)
        .await?
        .ok_or_else(|| Error::Unreadable("a rule that was just written".to_owned()))?;
    Ok(Some(id))
}
