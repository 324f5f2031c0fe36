//! The facts due dates are decided from, and the projection lists are sorted by.
//! Which rule governs is decided in `calc::due`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::columns::Pull;
use crate::calc::due::{Deferral, Facts, Isolation, Rule, Window};
use crate::record::gauge::{self, Kind, Standing};
use crate::record::{AreaId, GaugeId, TagNumber};

/// A row of the projection.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// The gauge.
    pub gauge_id: GaugeId,
    /// Its area, so that an area's rack is one index walk.
    pub area_id: AreaId,
    /// The rule that governs.
    pub rule: Rule,
    /// The date the rule gives.
    pub date: Date,
    /// The real latest date, after the pull back into a window.
    pub latest_on: Date,
    /// What the windows did.
    pub pull: Pull,
    /// When the interval began.
    pub since_on: Option<Date>,
}

/// Everything the due date of a gauge is decided from.
pub async fn facts(
    db: &mut SqliteConnection,
    id: GaugeId,
) -> Result<Option<(Standing, AreaId, Facts)>> {
    let row = sqlx::query!(
        r#"SELECT g.standing, g.area_id, g.isolation, g.installed_on,
             c.rebuild_months, c.look_over_months,
             (SELECT r.ended_on FROM rebuild r WHERE r.gauge_id = g.id AND r.state = 'returned' ORDER BY r.ordinal DESC LIMIT 1) AS "returned_on?: Date",
             (SELECT r.ended_at FROM rebuild r WHERE r.gauge_id = g.id AND r.state = 'returned' ORDER BY r.ordinal DESC LIMIT 1) AS "returned_at?: String",
             (SELECT l.on_date FROM look_over l WHERE l.gauge_id = g.id ORDER BY l.on_date DESC LIMIT 1) AS "looked_on?: Date",
             (SELECT min(f.seen_on) FROM failure f WHERE f.gauge_id = g.id AND f.rebuild_id IS NULL) AS "failure_on?: Date",
             (SELECT d.until_on FROM deferral d WHERE d.gauge_id = g.id ORDER BY d.id DESC LIMIT 1) AS "deferred_until?: Date",
             (SELECT d.hard_limit_on FROM deferral d WHERE d.gauge_id = g.id ORDER BY d.id DESC LIMIT 1) AS "hard_limit?: Date",
             (SELECT d.at FROM deferral d WHERE d.gauge_id = g.id ORDER BY d.id DESC LIMIT 1) AS "deferred_at?: String"
           FROM gauge g JOIN service_class c ON c.id = g.service_class_id WHERE g.id = ?1"#,
        id
    )
    .fetch_optional(&mut *db)
    .await?;
    let Some(row) = row else {
        return Ok(None);
    };
    let windows = match row.isolation {
        gauge::Isolation::InService => Vec::new(),
        gauge::Isolation::ShutdownOnly => sqlx::query!(
            "SELECT starts_on, ends_on FROM shutdown_window WHERE area_id = ?1 ORDER BY ends_on",
            row.area_id
        )
        .fetch_all(db)
        .await?
        .into_iter()
        .map(|w| Window {
            starts: w.starts_on,
            ends: w.ends_on,
        })
        .collect(),
    };
    // A deferral speaks of the interval it was signed in; a later rebuild ends it.
    let deferral = match (row.deferred_until, row.hard_limit) {
        (Some(until), Some(hard_limit)) if row.deferred_at > row.returned_at => {
            Some(Deferral { until, hard_limit })
        }
        _ => None,
    };
    let anchor = row.returned_on.or(row.installed_on);
    let facts = Facts {
        anchor,
        rebuild_months: row.rebuild_months.and_then(|m| u32::try_from(m).ok()),
        look_over_anchor: row.looked_on.max(anchor),
        look_over_months: row.look_over_months.and_then(|m| u32::try_from(m).ok()),
        failure_on: row.failure_on,
        deferral,
        isolation: match row.isolation {
            gauge::Isolation::InService => Isolation::InService,
            gauge::Isolation::ShutdownOnly => Isolation::ShutdownOnly,
        },
        windows,
        ..Facts::default()
    };
    Ok(Some((row.standing, row.area_id, facts)))
}

/// Writes a gauge's row of the projection.
pub async fn put(db: &mut SqliteConnection, row: &Row) -> Result<()> {
    sqlx::query!(
        "INSERT INTO due (gauge_id, area_id, rule, date, latest_on, pull, since_on) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)
         ON CONFLICT (gauge_id) DO UPDATE SET area_id = excluded.area_id, rule = excluded.rule, date = excluded.date,
           latest_on = excluded.latest_on, pull = excluded.pull, since_on = excluded.since_on",
        row.gauge_id,
        row.area_id,
        row.rule,
        row.date,
        row.latest_on,
        row.pull,
        row.since_on
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Takes a gauge out of the projection.
pub async fn remove(db: &mut SqliteConnection, gauge: GaugeId) -> Result<()> {
    sqlx::query!("DELETE FROM due WHERE gauge_id = ?1", gauge)
        .execute(db)
        .await?;
    Ok(())
}

/// A gauge's row of the projection.
pub async fn find(db: &mut SqliteConnection, gauge: GaugeId) -> Result<Option<Row>> {
    Ok(sqlx::query_as!(
        Row,
        "SELECT gauge_id, area_id, rule, date, latest_on, pull, since_on FROM due WHERE gauge_id = ?1",
        gauge
    )
    .fetch_optional(db)
    .await?)
}

/// A line of the due list.
#[derive(Debug, Clone)]
pub struct Line {
    /// The gauge.
    pub gauge_id: GaugeId,
    /// Its tag number.
    pub tag: TagNumber,
    /// The vessel.
    pub vessel: String,
    /// What it shows.
    pub service: String,
    /// The area's name.
    pub area: String,
    /// Reflex or transparent.
    pub kind: Kind,
    /// The rule that governs.
    pub rule: Rule,
    /// The date the rule gives.
    pub date: Date,
    /// The real latest date.
    pub latest_on: Date,
    /// What the windows did.
    pub pull: Pull,
    /// When the interval began.
    pub since_on: Option<Date>,
    /// The kit, by number.
    pub kit: Option<String>,
    /// Kits for a rebuild.
    pub kits_per_rebuild: i64,
    /// The state of an open rebuild.
    pub rebuild: Option<String>,
}

/// Which lines of the due list.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    /// Only this area.
    pub area: Option<AreaId>,
    /// Only dates up to this one.
    pub until: Option<Date>,
    /// Only this rule.
    pub rule: Option<Rule>,
    /// Only lines after this one (latest date and gauge).
    pub after: Option<(Date, GaugeId)>,
}

/// The due list in the order of the latest date, a page at a time.
pub async fn list(db: &mut SqliteConnection, filter: &Filter, most: i64) -> Result<Vec<Line>> {
    let (after_date, after_id) = filter.after.unzip();
    // One statement for every mixture of filters would make SQLite walk the whole list; these two
    // walk the index that fits.
    macro_rules! lines {
        ($from_where:literal) => {
            sqlx::query_as!(
                Line,
                r#"SELECT d.gauge_id AS "gauge_id!", g.tag, g.vessel, g.service, a.name AS area, g.kind, d.rule, d.date, d.latest_on, d.pull,
                     d.since_on, k.number AS "kit?: String", g.kits_per_rebuild,
                     (SELECT r.state FROM rebuild r WHERE r.gauge_id = g.id AND r.state NOT IN ('returned', 'abandoned')) AS "rebuild?: String" "#
                    + $from_where
                    + r#" AND (?2 IS NULL OR d.latest_on <= ?2) AND (?3 IS NULL OR d.rule = ?3)
                     AND (d.latest_on, d.gauge_id) > (coalesce(?4, ''), coalesce(?5, 0))
                   ORDER BY d.latest_on, d.gauge_id LIMIT ?6"#,
                filter.area,
                filter.until,
                filter.rule,
                after_date,
                after_id,
                most
            )
            .fetch_all(db)
            .await?
        };
    }
    Ok(if filter.area.is_some() {
        lines!(
            "FROM due d INDEXED BY due_area JOIN gauge g ON g.id = d.gauge_id JOIN area a ON a.id = d.area_id LEFT JOIN kit k ON k.id = g.kit_id WHERE d.area_id = ?1"
        )
    } else if filter.rule.is_some() {
        lines!(
            "FROM due d INDEXED BY due_rule JOIN gauge g ON g.id = d.gauge_id JOIN area a ON a.id = d.area_id LEFT JOIN kit k ON k.id = g.kit_id WHERE ?1 IS NULL AND d.rule = ?3"
        )
    } else {
        lines!(
            "FROM due d INDEXED BY due_latest JOIN gauge g ON g.id = d.gauge_id JOIN area a ON a.id = d.area_id LEFT JOIN kit k ON k.id = g.kit_id WHERE ?1 IS NULL"
        )
    })
}

/// Counting stops here, so that no page counts a whole fleet.
pub const COUNTED: i64 = 1_000;

/// How many gauges are due from one date (none: from the beginning) to before another, counted up
/// to [`COUNTED`].
pub async fn count_between(
    db: &mut SqliteConnection,
    from: Option<Date>,
    before: Date,
) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM (SELECT 1 FROM due WHERE latest_on >= coalesce(?1, '') AND latest_on < ?2 LIMIT ?3)",
        from,
        before,
        COUNTED
    )
    .fetch_one(db)
    .await?)
}

/// Every row of the projection after a gauge, for the check by recomputing.
pub async fn rows_after(db: &mut SqliteConnection, after: GaugeId, most: i64) -> Result<Vec<Row>> {
    Ok(sqlx::query_as!(
        Row,
        "SELECT gauge_id, area_id, rule, date, latest_on, pull, since_on FROM due WHERE gauge_id > ?1 ORDER BY gauge_id LIMIT ?2",
        after,
        most
    )
    .fetch_all(db)
    .await?)
}
