//! The history lives are cut from, gauge by gauge within a filter, and what service classes cost.
//! How a life is counted is decided in `record::life`.

use std::collections::BTreeMap;

use rust_decimal::Decimal;
use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::columns::Digits;
use super::gauge_list::match_words;
use crate::record::bench::Facts;
use crate::record::gauge::{Isolation, Kind};
use crate::record::life::{ClassCost, FoundFailed, OneFailure, OneGauge, OneRebuild};
use crate::record::moment::Zone;
use crate::record::rebuild::FailureKind;
use crate::record::{
    AreaId, CostId, GaugeId, KitId, Moment, PersonId, RebuildId, ServiceClassId, TagNumber,
};

/// Which gauges.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    /// Only this service class.
    pub class: Option<ServiceClassId>,
    /// Only this area.
    pub area: Option<AreaId>,
    /// Only gauges that take this kit.
    pub kit: Option<KitId>,
    /// Only this kind.
    pub kind: Option<Kind>,
    /// Only gauges with these words in tag, vessel, service, maker or order number.
    pub words: Option<String>,
}

/// The gauges within a filter, at most so many. Each filter walks its own index, and each gauge asks
/// its own lines of the audit chain.
pub async fn gauges(
    db: &mut SqliteConnection,
    filter: &Filter,
    zone: &Zone,
    most: i64,
) -> Result<Vec<OneGauge>> {
    let words = filter.words.as_deref().map(match_words);
    macro_rules! rows {
        ($from_where:literal) => {{
            let rows = sqlx::query!(
                r#"SELECT g.id AS "id!: GaugeId", g.tag, g.service_class_id, c.name AS "class!: String", g.installed_on, g.standing,
                     (SELECT a.at FROM audit a WHERE a.gauge_id = g.id ORDER BY a.id LIMIT 1) AS "taken_in?: Moment",
                     CASE WHEN g.standing <> 'in-service' THEN (SELECT min(a.at) FROM audit a WHERE a.gauge_id = g.id AND a.deed IN ('put to rest', 'retired')
                       AND a.id > coalesce((SELECT max(b.id) FROM audit b WHERE b.gauge_id = g.id AND b.deed = 'brought back into service'), 0)) END AS "out?: Moment",
                     (SELECT r.started_at FROM rebuild r WHERE r.gauge_id = g.id AND r.state IN ('at-the-bench', 'on-test')) AS "bench?: Moment" "#
                    + $from_where
                    + r#" AND (?2 IS NULL OR g.service_class_id = ?2) AND (?3 IS NULL OR g.area_id = ?3) AND (?4 IS NULL OR g.kit_id = ?4)
                     AND (?5 IS NULL OR g.kind = ?5) ORDER BY g.id LIMIT ?6"#,
                words,
                filter.class,
                filter.area,
                filter.kit,
                filter.kind,
                most
            )
            .fetch_all(db)
            .await?;
            rows.into_iter()
                .map(|row| OneGauge {
                    id: row.id,
                    tag: row.tag,
                    class: row.service_class_id,
                    class_name: row.class,
                    installed_on: row.installed_on,
                    taken_in_on: row.taken_in.map(|at| zone.date(at)),
                    standing: row.standing,
                    out_on: row.out.map(|at| zone.date(at)),
                    bench_on: row.bench.map(|at| zone.date(at)),
                })
                .collect()
        }};
    }
    Ok(if words.is_some() {
        rows!(
            "FROM gauge_words w JOIN gauge g ON g.id = w.rowid JOIN service_class c ON c.id = g.service_class_id WHERE w.gauge_words MATCH ?1"
        )
    } else if filter.kit.is_some() {
        rows!(
            "FROM gauge g INDEXED BY gauge_by_kit JOIN service_class c ON c.id = g.service_class_id WHERE g.kit_id = ?4 AND ?1 IS NULL"
        )
    } else if filter.class.is_some() {
        rows!(
            "FROM gauge g INDEXED BY gauge_by_class JOIN service_class c ON c.id = g.service_class_id WHERE g.service_class_id = ?2 AND ?1 IS NULL"
        )
    } else if filter.area.is_some() {
        rows!(
            "FROM gauge g INDEXED BY gauge_by_area JOIN service_class c ON c.id = g.service_class_id WHERE g.area_id = ?3 AND ?1 IS NULL"
        )
    } else {
        rows!("FROM gauge g JOIN service_class c ON c.id = g.service_class_id WHERE ?1 IS NULL")
    })
}

/// The finished rebuilds of some gauges, gauge by gauge in their order.
pub async fn rebuilds(
    db: &mut SqliteConnection,
    gauges: &[GaugeId],
    zone: &Zone,
) -> Result<Vec<OneRebuild>> {
    let ids = serde_json::to_string(gauges)?;
    let rows = sqlx::query!(
        r#"SELECT r.id AS "id!: RebuildId", r.gauge_id, r.ordinal, r.cause, r.planned_at, r.started_at, r.ended_on AS "ended_on!: Date",
             (SELECT max(l.on_date) FROM look_over l WHERE l.gauge_id = r.gauge_id AND l.found = 'sound' AND l.taken_back_at IS NULL AND l.on_date < r.ended_on) AS "sound_on?: Date"
           FROM json_each(?1) j JOIN rebuild r ON r.gauge_id = j.value
           WHERE r.state = 'returned' ORDER BY r.gauge_id, r.ordinal"#,
        ids
    )
    .fetch_all(&mut *db)
    .await?;
    let mut found = found_failed(db, &ids).await?;
    Ok(rows
        .into_iter()
        .map(|row| {
            let bench_on = row.started_at.map_or(row.ended_on, |at| zone.date(at));
            OneRebuild {
                id: row.id,
                gauge: row.gauge_id,
                ordinal: row.ordinal,
                cause: row.cause,
                planned_on: zone.date(row.planned_at),
                bench_on: bench_on.min(row.ended_on),
                ended_on: row.ended_on,
                sound_on: row.sound_on.filter(|on| *on < bench_on),
                found: found.remove(&row.id),
            }
        })
        .collect())
}

/// What stripping found, where it is a failure, in the finished rebuilds of some gauges. A section
/// stripped again after a failed test tells of the new glass, so only its first entry counts, in its
/// latest correction.
async fn found_failed(
    db: &mut SqliteConnection,
    gauges: &str,
) -> Result<BTreeMap<RebuildId, FoundFailed>> {
    let rows = sqlx::query!(
        r#"SELECT e.id AS "id!: i64", e.rebuild_id, e.section, e.supersedes AS "supersedes?: i64", e.facts
           FROM json_each(?1) j JOIN rebuild r ON r.gauge_id = j.value
             JOIN bench_entry e INDEXED BY bench_entry_stripped ON e.rebuild_id = r.id AND e.topic = 'stripped'
           WHERE r.state = 'returned' ORDER BY e.id"#,
        gauges
    )
    .fetch_all(db)
    .await?;
    // A section's entry in force: its row and what it found.
    let mut force: BTreeMap<(RebuildId, Option<i64>), (i64, Option<FoundFailed>)> = BTreeMap::new();
    for row in rows {
        let key = (row.rebuild_id, row.section);
        let replaces = match (force.get(&key), row.supersedes) {
            (None, None) => true,
            (Some((earlier, _)), Some(of)) => *earlier == of,
            _ => false,
        };
        if replaces {
            let facts: Facts = serde_json::from_str(&row.facts)?;
            force.insert(key, (row.id, FoundFailed::of(&facts)));
        }
    }
    let mut found = BTreeMap::new();
    for ((rebuild, _), (_, what)) in force {
        if let Some(what) = what {
            found.entry(rebuild).or_insert(what);
        }
    }
    Ok(found)
}

/// The reported failures of some gauges.
pub async fn failures(db: &mut SqliteConnection, gauges: &[GaugeId]) -> Result<Vec<OneFailure>> {
    let ids = serde_json::to_string(gauges)?;
    let rows = sqlx::query!(
        r#"SELECT f.gauge_id, f.seen_on, f.kind AS "kind!: FailureKind", f.rebuild_id
           FROM json_each(?1) j JOIN failure f ON f.gauge_id = j.value ORDER BY f.gauge_id, f.id"#,
        ids
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| OneFailure {
            gauge: row.gauge_id,
            seen_on: row.seen_on,
            kind: row.kind,
            rebuild: row.rebuild_id,
        })
        .collect())
}

/// A service class as the overview lists it.
#[derive(Debug, Clone)]
pub struct ClassLine {
    /// The row.
    pub id: ServiceClassId,
    /// Its name.
    pub name: String,
    /// Its rebuild interval, months.
    pub rebuild_months: Option<i64>,
    /// Gauges in service.
    pub gauges: i64,
    /// Failures reported of its gauges, gauge valves aside.
    pub failures: i64,
    /// Whether somebody stated what a rebuild and a failure cost.
    pub priced: bool,
}

/// Every service class with counts that triggers keep, so that no gauge is asked.
pub async fn classes(db: &mut SqliteConnection) -> Result<Vec<ClassLine>> {
    Ok(sqlx::query_as!(
        ClassLine,
        r#"SELECT c.id AS "id!: ServiceClassId", c.name AS "name!: String", c.rebuild_months AS "rebuild_months?: i64", coalesce(n.gauges, 0) AS "gauges!: i64",
             coalesce((SELECT sum(f.failures) FROM class_failures f WHERE f.service_class_id = c.id), 0) AS "failures!: i64",
             EXISTS (SELECT 1 FROM class_cost k WHERE k.service_class_id = c.id) AS "priced!: bool"
           FROM service_class c LEFT JOIN class_count n ON n.service_class_id = c.id ORDER BY c.name"#
    )
    .fetch_all(db)
    .await?)
}

/// What a service class costs as stated last: the row, the costs, who stated them and when.
#[derive(Debug, Clone)]
pub struct StatedCost {
    /// The row.
    pub id: CostId,
    /// The costs.
    pub cost: ClassCost,
    /// Who stated them.
    pub person: String,
    /// When.
    pub at: Moment,
}

/// What a service class costs, each time somebody stated it, the latest first.
pub async fn costs(
    db: &mut SqliteConnection,
    class: ServiceClassId,
    most: i64,
) -> Result<Vec<StatedCost>> {
    let rows = sqlx::query!(
        r#"SELECT k.id AS "id!: CostId", k.planned, k.failure, k.bench_hours, k.ground, p.name AS "person!: String", k.at
           FROM class_cost k JOIN known_as p ON p.person_id = k.person_id AND p.since <= k.at AND p.until > k.at
           WHERE k.service_class_id = ?1 ORDER BY k.id DESC LIMIT ?2"#,
        class,
        most
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| StatedCost {
            id: row.id,
            cost: ClassCost {
                planned: row.planned.0,
                failure: row.failure.0,
                bench_hours: row.bench_hours.map(|hours| hours.0),
                ground: row.ground,
            },
            person: row.person,
            at: row.at,
        })
        .collect())
}

/// Adds what a service class costs.
pub async fn add_cost(
    db: &mut SqliteConnection,
    class: ServiceClassId,
    cost: &ClassCost,
    person: PersonId,
    now: Moment,
) -> Result<CostId> {
    let (planned, failure) = (Digits(cost.planned), Digits(cost.failure));
    let hours = cost.bench_hours.map(|hours: Decimal| Digits(hours));
    let id = sqlx::query!(
        "INSERT INTO class_cost (service_class_id, planned, failure, bench_hours, ground, person_id, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        class,
        planned,
        failure,
        hours,
        cost.ground,
        person,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(CostId(id))
}

/// A gauge in service as an outlook plays it.
#[derive(Debug, Clone)]
pub struct Member {
    /// Its tag number.
    pub tag: TagNumber,
    /// When its present life began.
    pub began_on: Option<Date>,
    /// Kits for a rebuild.
    pub kits: i64,
    /// Whether it can be isolated in service.
    pub isolation: Isolation,
    /// Its area.
    pub area: AreaId,
}

/// The gauges in service of a service class.
pub async fn members(
    db: &mut SqliteConnection,
    class: ServiceClassId,
    most: i64,
) -> Result<Vec<Member>> {
    Ok(sqlx::query_as!(
        Member,
        r#"SELECT g.tag, coalesce((SELECT r.ended_on FROM rebuild r WHERE r.gauge_id = g.id AND r.state = 'returned' ORDER BY r.ordinal DESC LIMIT 1),
             g.installed_on) AS "began_on?: Date", g.kits_per_rebuild AS "kits!: i64", g.isolation, g.area_id AS "area!: AreaId"
           FROM gauge g INDEXED BY gauge_by_class WHERE g.service_class_id = ?1 AND g.standing = 'in-service' LIMIT ?2"#,
        class,
        most
    )
    .fetch_all(db)
    .await?)
}

/// The first day of the next shutdown window among some areas.
pub async fn next_window(
    db: &mut SqliteConnection,
    areas: &[AreaId],
    today: Date,
) -> Result<Option<Date>> {
    let areas = serde_json::to_string(areas)?;
    Ok(sqlx::query_scalar!(
        r#"SELECT min(w.starts_on) AS "on?: Date" FROM shutdown_window w
           WHERE w.area_id IN (SELECT value FROM json_each(?1)) AND w.ends_on >= ?2"#,
        areas,
        today
    )
    .fetch_one(db)
    .await?)
}
