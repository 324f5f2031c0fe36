//! The facts due dates are decided from, and the projection lists are sorted by.
//! Which rule governs is decided in `calc::due`.

use std::collections::BTreeMap;

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::columns::{Pull, word};
use crate::calc::calendar::{LAST_DAY, add_months};
use crate::calc::due::{Deferral, Facts, Isolation, Moves, Rule, Window};
use crate::record::gauge::{self, Kind, Standing};
use crate::record::rebuild::RebuildState;
use crate::record::{AreaId, GaugeId, KitId, ServiceClassId, TagNumber};

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
    /// The last day of the window the gauge has to be done in.
    pub window_ends_on: Option<Date>,
    /// The latest day of the next rebuild, which may come after what governs.
    pub rebuild_on: Option<Date>,
    /// The day the certificate was withdrawn, whatever governs.
    pub withdrawn_on: Option<Date>,
    /// What asks for the work that may need a shutdown, look-overs left out: the rule.
    pub work_rule: Option<Rule>,
    /// Its date.
    pub work_date: Option<Date>,
    /// What asks for the next rebuild: the rule.
    pub rebuild_rule: Option<Rule>,
    /// Its date, before any pull into a window.
    pub rebuild_date: Option<Date>,
}

/// What the due date of one gauge is decided from, with what else the projection keeps of it.
#[derive(Debug, Clone)]
pub struct Known {
    /// The gauge.
    pub gauge_id: GaugeId,
    /// In service, resting or retired.
    pub standing: Standing,
    /// Its area.
    pub area_id: AreaId,
    /// The facts the rules are applied to.
    pub facts: Facts,
}

struct FactRow {
    id: GaugeId,
    standing: Standing,
    area_id: AreaId,
    isolation: gauge::Isolation,
    installed_on: Option<Date>,
    rebuild_months: Option<i64>,
    look_over_months: Option<i64>,
    returned_on: Option<Date>,
    returned_at: Option<String>,
    looked_on: Option<Date>,
    failure_on: Option<Date>,
    looked_at: Option<String>,
    papers_rebuilt_on: Option<Date>,
    papers_looked_on: Option<Date>,
    deferred_until: Option<Date>,
    hard_limit: Option<Date>,
    deferred_at: Option<String>,
    deferral_moves: Option<Moves>,
    look_deferred_until: Option<Date>,
    look_hard_limit: Option<Date>,
    look_deferred_at: Option<String>,
    recall_on: Option<Date>,
    withdrawn_on: Option<Date>,
    fitted: bool,
    fitted_months: Option<i64>,
    kit_months: Option<i64>,
    retorque_due: Option<Date>,
}

impl FactRow {
    fn known(self, windows: Vec<Window>, wall_due: Option<Date>) -> Known {
        // A deferral speaks of the interval it was signed in; a later rebuild ends it.
        let deferral = match (self.deferred_until, self.hard_limit) {
            (Some(until), Some(hard_limit)) if self.deferred_at > self.returned_at => {
                Some(Deferral {
                    moves: self.deferral_moves.unwrap_or_default(),
                    until,
                    hard_limit,
                })
            }
            _ => None,
        };
        // One of the look-over ends with the next look-over as well.
        let look_over_deferral = match (self.look_deferred_until, self.look_hard_limit) {
            (Some(until), Some(hard_limit))
                if self.look_deferred_at > self.returned_at
                    && self.look_deferred_at > self.looked_at =>
            {
                Some(Deferral {
                    moves: Moves::LookOver,
                    until,
                    hard_limit,
                })
            }
            _ => None,
        };
        // What the plant's papers say counts until something was done here.
        let anchor = self
            .returned_on
            .or(self.papers_rebuilt_on)
            .or(self.installed_on);
        // The kits the last rebuild took say how old their gaskets may become; a gauge no rebuild of
        // ours took kits for is judged by the kit it names.
        let gasket_months = if self.fitted {
            self.fitted_months
        } else {
            self.kit_months
        };
        let facts = Facts {
            anchor,
            rebuild_months: self.rebuild_months.and_then(|m| u32::try_from(m).ok()),
            look_over_anchor: self.looked_on.max(self.papers_looked_on).max(anchor),
            look_over_months: self.look_over_months.and_then(|m| u32::try_from(m).ok()),
            wall_due,
            gasket_due: anchor.zip(gasket_months).map(|(from, months)| {
                // An age that ends beyond the calendar is told as the calendar's last day: sooner.
                u32::try_from(months)
                    .ok()
                    .and_then(|months| add_months(from, months).ok())
                    .unwrap_or(LAST_DAY)
            }),
            failure_on: self.failure_on,
            retorque_due: self.retorque_due,
            recall_on: self.recall_on,
            withdrawn_on: self.withdrawn_on,
            deferral,
            look_over_deferral,
            isolation: match self.isolation {
                gauge::Isolation::InService => Isolation::InService,
                gauge::Isolation::ShutdownOnly => Isolation::ShutdownOnly,
            },
            windows,
        };
        Known {
            gauge_id: self.id,
            standing: self.standing,
            area_id: self.area_id,
            facts,
        }
    }
}

/// The same facts for one gauge, a class or an area: what differs is only which index is walked.
macro_rules! fact_rows {
    ($where:literal, $($argument:expr),+) => {
        sqlx::query_as!(
            FactRow,
            r#"SELECT g.id, g.standing, g.area_id, g.isolation, g.installed_on, g.papers_rebuilt_on, g.papers_looked_on,
                 c.rebuild_months, c.look_over_months,
                 (SELECT r.ended_on FROM rebuild r WHERE r.gauge_id = g.id AND r.state = 'returned' ORDER BY r.ordinal DESC LIMIT 1) AS "returned_on?: Date",
                 (SELECT r.ended_at FROM rebuild r WHERE r.gauge_id = g.id AND r.state = 'returned' ORDER BY r.ordinal DESC LIMIT 1) AS "returned_at?: String",
                 (SELECT l.on_date FROM look_over l WHERE l.gauge_id = g.id AND l.taken_back_at IS NULL ORDER BY l.on_date DESC, l.id DESC LIMIT 1) AS "looked_on?: Date",
                 (SELECT l.at FROM look_over l WHERE l.gauge_id = g.id AND l.taken_back_at IS NULL ORDER BY l.on_date DESC, l.id DESC LIMIT 1) AS "looked_at?: String",
                 (SELECT min(f.seen_on) FROM failure f WHERE f.gauge_id = g.id AND f.rebuild_id IS NULL AND f.taken_back_at IS NULL) AS "failure_on?: Date",
                 (SELECT d.until_on FROM deferral d WHERE d.gauge_id = g.id AND d.moves IS NOT 'look-over' ORDER BY d.id DESC LIMIT 1) AS "deferred_until?: Date",
                 (SELECT d.hard_limit_on FROM deferral d WHERE d.gauge_id = g.id AND d.moves IS NOT 'look-over' ORDER BY d.id DESC LIMIT 1) AS "hard_limit?: Date",
                 (SELECT d.at FROM deferral d WHERE d.gauge_id = g.id AND d.moves IS NOT 'look-over' ORDER BY d.id DESC LIMIT 1) AS "deferred_at?: String",
                 (SELECT d.moves FROM deferral d WHERE d.gauge_id = g.id AND d.moves IS NOT 'look-over' ORDER BY d.id DESC LIMIT 1) AS "deferral_moves?: Moves",
                 (SELECT d.until_on FROM deferral d WHERE d.gauge_id = g.id AND d.moves = 'look-over' ORDER BY d.id DESC LIMIT 1) AS "look_deferred_until?: Date",
                 (SELECT d.hard_limit_on FROM deferral d WHERE d.gauge_id = g.id AND d.moves = 'look-over' ORDER BY d.id DESC LIMIT 1) AS "look_hard_limit?: Date",
                 (SELECT d.at FROM deferral d WHERE d.gauge_id = g.id AND d.moves = 'look-over' ORDER BY d.id DESC LIMIT 1) AS "look_deferred_at?: String",
                 (SELECT max(coalesce(m.on_date, substr(m.at, 1, 10))) FROM pressure_test t JOIN certificate k ON k.test_id = t.id
                    JOIN certificate_mark m ON m.certificate_id = k.id AND m.kind = 'withdrawn'
                  WHERE t.gauge_id = g.id
                    AND NOT EXISTS (SELECT 1 FROM certificate n WHERE n.supersedes = k.id)
                    AND NOT EXISTS (SELECT 1 FROM pressure_test p WHERE p.gauge_id = g.id AND p.id > t.id AND p.result = 'passed'))
                   AS "withdrawn_on?: Date",
                 (SELECT min(d.on_date) FROM recall_decision d WHERE d.gauge_id = g.id AND d.decision = 'repeat'
                    AND NOT EXISTS (SELECT 1 FROM recall_decision later WHERE later.recall_id = d.recall_id AND later.id > d.id
                      AND later.rebuild_id IS d.rebuild_id AND later.test_id IS d.test_id)
                    AND NOT EXISTS (SELECT 1 FROM rebuild r WHERE r.gauge_id = g.id AND r.state = 'returned' AND r.started_at > d.at)
                    AND (d.test_id IS NULL OR NOT EXISTS (SELECT 1 FROM pressure_test t WHERE t.gauge_id = g.id AND t.result = 'passed' AND t.at > d.at)))
                   AS "recall_on?: Date",
                 EXISTS (SELECT 1 FROM stock_line s WHERE s.rebuild_id =
                   (SELECT r.id FROM rebuild r WHERE r.gauge_id = g.id AND r.state = 'returned' ORDER BY r.ordinal DESC LIMIT 1)) AS "fitted!: bool",
                 (SELECT min(a.months) FROM stock_line s JOIN lot l ON l.id = s.lot_id JOIN gasket_age a ON a.id = l.kit_id WHERE s.rebuild_id =
                   (SELECT r.id FROM rebuild r WHERE r.gauge_id = g.id AND r.state = 'returned' ORDER BY r.ordinal DESC LIMIT 1)) AS "fitted_months?: i64",
                 (SELECT a.months FROM gasket_age a WHERE a.id = g.kit_id) AS "kit_months?: i64",
                 (SELECT r.re_torque_due_on FROM rebuild r WHERE r.id = (SELECT l.id FROM rebuild l WHERE l.gauge_id = g.id AND l.state = 'returned' ORDER BY l.ordinal DESC LIMIT 1)
                    AND NOT EXISTS (SELECT 1 FROM re_torque t WHERE t.rebuild_id = r.id)) AS "retorque_due?: Date"
               FROM gauge g JOIN service_class c ON c.id = g.service_class_id WHERE "# + $where,
            $($argument),+
        )
    };
}

/// Everything the due date of a gauge is decided from.
pub async fn facts(
    db: &mut SqliteConnection,
    id: GaugeId,
) -> Result<Option<(Standing, AreaId, Facts)>> {
    let row = fact_rows!("g.id = ?1", id).fetch_optional(&mut *db).await?;
    let Some(row) = row else {
        return Ok(None);
    };
    let known = completed(db, vec![row]).await?.pop();
    Ok(known.map(|known| (known.standing, known.area_id, known.facts)))
}

async fn windows_of(db: &mut SqliteConnection, area: AreaId) -> Result<Vec<Window>> {
    let rows = sqlx::query!(
        "SELECT starts_on, ends_on FROM shutdown_window WHERE area_id = ?1 ORDER BY ends_on",
        area
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|w| Window {
            starts: w.starts_on,
            ends: w.ends_on,
        })
        .collect())
}

/// The facts of the gauges in service of a service class, after a gauge, at most so many.
pub async fn facts_of_class(
    db: &mut SqliteConnection,
    class: ServiceClassId,
    after: GaugeId,
    most: i64,
) -> Result<Vec<Known>> {
    let rows = fact_rows!(
        "g.service_class_id = ?1 AND g.id > ?2 AND g.standing = 'in-service' ORDER BY g.id LIMIT ?3",
        class,
        after,
        most
    )
    .fetch_all(&mut *db)
    .await?;
    completed(db, rows).await
}

/// The facts of some gauges, in one question.
pub async fn facts_of(db: &mut SqliteConnection, gauges: &[GaugeId]) -> Result<Vec<Known>> {
    let ids = serde_json::to_string(gauges)?;
    let rows = fact_rows!("g.id IN (SELECT value FROM json_each(?1))", ids)
        .fetch_all(&mut *db)
        .await?;
    completed(db, rows).await
}

/// The facts of the gauges in service of an area that wait for a shutdown, after a gauge.
pub async fn facts_bound_to(
    db: &mut SqliteConnection,
    area: AreaId,
    after: GaugeId,
    most: i64,
) -> Result<Vec<Known>> {
    let rows = fact_rows!(
        "g.area_id = ?1 AND g.id > ?2 AND g.isolation = 'shutdown-only' AND g.standing = 'in-service' ORDER BY g.id LIMIT ?3",
        area,
        after,
        most
    )
    .fetch_all(&mut *db)
    .await?;
    completed(db, rows).await
}

/// The facts of the gauges in service that take a kit.
pub async fn facts_of_kit(db: &mut SqliteConnection, kit: KitId) -> Result<Vec<Known>> {
    let rows = fact_rows!(
        "g.kit_id = ?1 AND g.standing = 'in-service' ORDER BY g.id",
        kit
    )
    .fetch_all(&mut *db)
    .await?;
    completed(db, rows).await
}

/// Adds the windows of each area, asked for once an area, and when the walls are measured again.
async fn completed(db: &mut SqliteConnection, rows: Vec<FactRow>) -> Result<Vec<Known>> {
    let ids: Vec<GaugeId> = rows.iter().map(|row| row.id).collect();
    let walls = super::wear::due_days(db, &ids).await?;
    let mut by_area: BTreeMap<AreaId, Vec<Window>> = BTreeMap::new();
    let mut list = Vec::with_capacity(rows.len());
    for row in rows {
        let windows = if row.isolation == gauge::Isolation::InService {
            Vec::new()
        } else if let Some(known) = by_area.get(&row.area_id) {
            known.clone()
        } else {
            let asked = windows_of(db, row.area_id).await?;
            by_area.insert(row.area_id, asked.clone());
            asked
        };
        let wall_due = walls.get(&row.id).copied();
        list.push(row.known(windows, wall_due));
    }
    Ok(list)
}

/// Writes many rows of the projection in one statement.
pub async fn put_all(db: &mut SqliteConnection, rows: &[Row]) -> Result<()> {
    let json: Vec<serde_json::Value> = rows
        .iter()
        .map(|row| {
            serde_json::json!([
                row.gauge_id.0,
                row.area_id.0,
                word(&row.rule),
                row.date.to_string(),
                row.latest_on.to_string(),
                row.pull.word(),
                row.since_on.map(|d| d.to_string()),
                row.window_ends_on.map(|d| d.to_string()),
                row.rebuild_on.map(|d| d.to_string()),
                row.withdrawn_on.map(|d| d.to_string()),
                row.work_rule.as_ref().map(word),
                row.work_date.map(|d| d.to_string()),
                row.rebuild_rule.as_ref().map(word),
                row.rebuild_date.map(|d| d.to_string()),
            ])
        })
        .collect();
    let json = serde_json::Value::Array(json).to_string();
    sqlx::query!(
        "INSERT INTO due (gauge_id, area_id, rule, date, latest_on, pull, since_on, window_ends_on, rebuild_on, withdrawn_on, work_rule, work_date, rebuild_rule, rebuild_date)
         SELECT value ->> 0, value ->> 1, value ->> 2, value ->> 3, value ->> 4, value ->> 5, value ->> 6, value ->> 7, value ->> 8, value ->> 9,
           value ->> 10, value ->> 11, value ->> 12, value ->> 13
         FROM json_each(?1) WHERE true
         ON CONFLICT (gauge_id) DO UPDATE SET area_id = excluded.area_id, rule = excluded.rule, date = excluded.date,
           latest_on = excluded.latest_on, pull = excluded.pull, since_on = excluded.since_on,
           window_ends_on = excluded.window_ends_on, rebuild_on = excluded.rebuild_on, withdrawn_on = excluded.withdrawn_on,
           work_rule = excluded.work_rule, work_date = excluded.work_date, rebuild_rule = excluded.rebuild_rule, rebuild_date = excluded.rebuild_date",
        json
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Writes a gauge's row of the projection.
pub async fn put(db: &mut SqliteConnection, row: &Row) -> Result<()> {
    sqlx::query!(
        "INSERT INTO due (gauge_id, area_id, rule, date, latest_on, pull, since_on, window_ends_on, rebuild_on, withdrawn_on, work_rule, work_date, rebuild_rule, rebuild_date) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)
         ON CONFLICT (gauge_id) DO UPDATE SET area_id = excluded.area_id, rule = excluded.rule, date = excluded.date,
           latest_on = excluded.latest_on, pull = excluded.pull, since_on = excluded.since_on,
           window_ends_on = excluded.window_ends_on, rebuild_on = excluded.rebuild_on, withdrawn_on = excluded.withdrawn_on,
           work_rule = excluded.work_rule, work_date = excluded.work_date, rebuild_rule = excluded.rebuild_rule, rebuild_date = excluded.rebuild_date",
        row.gauge_id,
        row.area_id,
        row.rule,
        row.date,
        row.latest_on,
        row.pull,
        row.since_on,
        row.window_ends_on,
        row.rebuild_on,
        row.withdrawn_on,
        row.work_rule,
        row.work_date,
        row.rebuild_rule,
        row.rebuild_date
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Takes many gauges out of the projection.
pub async fn remove_all(db: &mut SqliteConnection, gauges: &[GaugeId]) -> Result<()> {
    let list = serde_json::to_string(gauges)?;
    sqlx::query!(
        "DELETE FROM due WHERE gauge_id IN (SELECT value FROM json_each(?1))",
        list
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
        "SELECT gauge_id, area_id, rule, date, latest_on, pull, since_on, window_ends_on, rebuild_on, withdrawn_on, work_rule, work_date, rebuild_rule, rebuild_date FROM due WHERE gauge_id = ?1",
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
    /// The latest day of the next rebuild.
    pub rebuild_on: Option<Date>,
    /// The kit, by number.
    pub kit: Option<String>,
    /// Kits for a rebuild.
    pub kits_per_rebuild: i64,
    /// The state of an open rebuild.
    pub rebuild: Option<RebuildState>,
}

impl Line {
    /// Days between the latest date and the date of the rule, where a window pulled it forward.
    pub fn early(&self) -> i64 {
        (self.date - self.latest_on).whole_days()
    }

    /// Whether the next rebuild is past due or falls due within thirty days, whatever governs.
    pub fn rebuild_near(&self, today: Date) -> bool {
        let near = today.saturating_add(time::Duration::days(30));
        self.rebuild_on.is_some_and(|day| day <= near)
    }

    /// Whether what there is to do takes kits: what governs, or a rebuild that is near beside it.
    pub fn takes_kits(&self, today: Date) -> bool {
        self.rule.takes_kits() || self.rebuild_near(today)
    }
}

/// Which lines of the due list.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    /// Only this area.
    pub area: Option<AreaId>,
    /// Only dates up to this one.
    pub until: Option<Date>,
    /// Only this rule; for failures, every gauge that has an open one.
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
                     d.since_on, d.rebuild_on, k.number AS "kit?: String", g.kits_per_rebuild,
                     (SELECT r.state FROM rebuild r WHERE r.gauge_id = g.id AND r.state NOT IN ('returned', 'abandoned')) AS "rebuild?: RebuildState" "#
                    + $from_where
                    + r#" AND (?2 IS NULL OR d.latest_on <= ?2)
                     AND (?3 IS NULL OR d.rule = ?3 OR (?3 = 'failure' AND EXISTS (SELECT 1 FROM failure o WHERE o.gauge_id = d.gauge_id AND o.rebuild_id IS NULL AND o.taken_back_at IS NULL)) OR (?3 = 'withdrawn' AND d.withdrawn_on IS NOT NULL))
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
    } else if filter.rule == Some(Rule::Failure) {
        // A gauge that leaks is found here also when an earlier date of another rule governs it.
        lines!(
            "FROM (SELECT DISTINCT gauge_id FROM failure INDEXED BY failure_open WHERE rebuild_id IS NULL AND taken_back_at IS NULL) f CROSS JOIN due d ON d.gauge_id = f.gauge_id JOIN gauge g ON g.id = d.gauge_id JOIN area a ON a.id = d.area_id LEFT JOIN kit k ON k.id = g.kit_id WHERE ?1 IS NULL"
        )
    } else if filter.rule == Some(Rule::Withdrawn) {
        lines!(
            "FROM due d INDEXED BY due_withdrawn JOIN gauge g ON g.id = d.gauge_id JOIN area a ON a.id = d.area_id LEFT JOIN kit k ON k.id = g.kit_id WHERE ?1 IS NULL AND d.withdrawn_on IS NOT NULL"
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
