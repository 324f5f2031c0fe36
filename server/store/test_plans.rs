//! What plant, service classes and gauges chose for their pressure tests: one rule by its scope, the
//! plan of a gauge, the plant's paper, and writing a rule.

use std::collections::BTreeMap;

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

macro_rules! rules {
    ($from:literal $(, $value:expr)*) => {
        sqlx::query!(
            r#"SELECT t.id AS "id!: i64", t.service_class_id, t.gauge_id, code, factor, hold_minutes, stress_ratio, limit_value, limit_unit, drop_value, drop_unit, guard, thermometer,
             paper, ground, version "#
                + $from
            $(, $value)*
        )
    };
}

macro_rules! chosen {
    ($row:expr) => {{
        let row = $row;
        let stamped = |value: Option<Digits>, unit| {
            value
                .zip(unit)
                .map(|(value, unit)| Stamped::new(value.0, unit))
        };
        Rule {
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
        }
    }};
}

/// What was chosen at one place, with its row; nothing where nothing was.
pub async fn rule(db: &mut SqliteConnection, of: Of) -> Result<Option<(i64, Rule)>> {
    let row = rules!(
        "FROM test_rule t WHERE ifnull(service_class_id, 0) = ifnull(?1, 0) AND ifnull(gauge_id, 0) = ifnull(?2, 0)",
        of.class,
        of.gauge
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| (row.id, chosen!(row))))
}

/// How each of several gauges is tested, in one question however many they are.
pub async fn plans(
    db: &mut SqliteConnection,
    plant: &Plant,
    gauges: &[Gauge],
) -> Result<Vec<TestPlan>> {
    let mut places = vec![(0, 0)];
    for gauge in gauges {
        places.push((gauge.particulars.service_class_id.0, 0));
        places.push((0, gauge.id.0));
    }
    places.sort_unstable();
    places.dedup();
    let places = serde_json::to_string(&places)?;
    let rows = rules!(
        "FROM test_rule t WHERE t.id IN (SELECT o.id FROM json_each(?1) j CROSS JOIN test_rule o
           ON ifnull(o.service_class_id, 0) = j.value ->> 0 AND ifnull(o.gauge_id, 0) = j.value ->> 1)",
        places
    )
    .fetch_all(db)
    .await?;
    let mut own = Rule::default();
    let mut classes = BTreeMap::new();
    let mut singles = BTreeMap::new();
    for row in rows {
        match (row.service_class_id, row.gauge_id) {
            (Some(class), _) => {
                classes.insert(class, chosen!(row));
            }
            (None, Some(gauge)) => {
                singles.insert(gauge, chosen!(row));
            }
            (None, None) => own = chosen!(row),
        }
    }
    Ok(gauges
        .iter()
        .map(|gauge| {
            let class = classes.get(&gauge.particulars.service_class_id);
            TestPlan::of(plant, &own, class, singles.get(&gauge.id))
        })
        .collect())
}

/// How a gauge is tested.
pub async fn plan(db: &mut SqliteConnection, plant: &Plant, gauge: &Gauge) -> Result<TestPlan> {
    let own = rule(&mut *db, Of::default()).await?.map(|(_, rule)| rule);
    let class = Of {
        class: Some(gauge.particulars.service_class_id),
        gauge: None,
    };
    let class = rule(&mut *db, class).await?.map(|(_, rule)| rule);
    let gauge = Of {
        class: None,
        gauge: Some(gauge.id),
    };
    let gauge = rule(db, gauge).await?.map(|(_, rule)| rule);
    Ok(TestPlan::of(
        plant,
        &own.unwrap_or_default(),
        class.as_ref(),
        gauge.as_ref(),
    ))
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
