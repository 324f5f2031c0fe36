//! Rebuilds: their rows, their steps from state to state, lists of those under way, what they answered.
//! What was recorded at the bench is in `bench.rs`; which step may follow which is decided in `record`.

use std::collections::HashMap;

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::record::certificate_mark::{Certified, Today};
use crate::record::pressure_test::{TestFacts, TestResult};
use crate::record::rebuild::{Cause, FailureKind, Rebuild, RebuildState, Rework};
use crate::record::sentence::Sentence;
use crate::record::{
    CertificateNumber, FailureId, GaugeId, Moment, MoveId, PersonId, RebuildId, TagNumber,
    TestNumber,
};

/// The open rebuild of a gauge, if it has one.
pub async fn open_of(db: &mut SqliteConnection, gauge: GaugeId) -> Result<Option<Rebuild>> {
    Ok(sqlx::query_as!(
        Rebuild,
        "SELECT id, gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, note, started_at, ended_on, ended_at,
           ended_by, abandoned_reason, re_torque_due_on, version
         FROM rebuild WHERE gauge_id = ?1 AND state NOT IN ('returned', 'abandoned')",
        gauge
    )
    .fetch_optional(db)
    .await?)
}

/// A rebuild by its row.
pub async fn by_id(db: &mut SqliteConnection, id: RebuildId) -> Result<Option<Rebuild>> {
    Ok(sqlx::query_as!(
        Rebuild,
        "SELECT id, gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, note, started_at, ended_on, ended_at,
           ended_by, abandoned_reason, re_torque_due_on, version
         FROM rebuild WHERE id = ?1",
        id
    )
    .fetch_optional(db)
    .await?)
}

/// A gauge's rebuild by its number.
pub async fn by_ordinal(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    ordinal: i64,
) -> Result<Option<Rebuild>> {
    Ok(sqlx::query_as!(
        Rebuild,
        "SELECT id, gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, note, started_at, ended_on, ended_at,
           ended_by, abandoned_reason, re_torque_due_on, version
         FROM rebuild WHERE gauge_id = ?1 AND ordinal = ?2",
        gauge,
        ordinal
    )
    .fetch_optional(db)
    .await?)
}

/// A gauge's rebuilds, the latest first.
pub async fn of_gauge(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    most: i64,
) -> Result<Vec<Rebuild>> {
    Ok(sqlx::query_as!(
        Rebuild,
        "SELECT id, gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, note, started_at, ended_on, ended_at,
           ended_by, abandoned_reason, re_torque_due_on, version
         FROM rebuild WHERE gauge_id = ?1 ORDER BY ordinal DESC LIMIT ?2",
        gauge,
        most
    )
    .fetch_all(db)
    .await?)
}

/// A rebuild about to be planned.
#[derive(Debug, Clone)]
pub struct NewRebuild<'a> {
    /// The gauge.
    pub gauge: GaugeId,
    /// Why.
    pub cause: Cause,
    /// The day it is planned for.
    pub planned_for: Date,
    /// What the planner wrote.
    pub note: &'a str,
}

/// Plans a rebuild; the schema refuses a second open one of the same gauge.
pub async fn add(
    db: &mut SqliteConnection,
    r: &NewRebuild<'_>,
    person: PersonId,
    now: Moment,
) -> Result<RebuildId> {
    let id = sqlx::query!(
        "INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by, note)
         VALUES (?1, 1 + coalesce((SELECT max(ordinal) FROM rebuild WHERE gauge_id = ?1), 0), 'planned', ?2, ?3, ?4, ?5, ?6)",
        r.gauge,
        r.cause,
        r.planned_for,
        now,
        person,
        r.note
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(RebuildId(id))
}

/// Moves a rebuild to another state, from the version that was read; false if it moved meanwhile.
/// `began` is when the work began, where it moves to the bench for the first time.
pub async fn change_state(
    db: &mut SqliteConnection,
    rebuild: &Rebuild,
    to: RebuildState,
    began: Moment,
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE rebuild SET state = ?3, started_at = CASE WHEN ?3 = 'at-the-bench' THEN coalesce(started_at, ?4) ELSE started_at END,
           version = version + 1
         WHERE id = ?1 AND version = ?2",
        rebuild.id,
        rebuild.version,
        to,
        began
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// How a rebuild ended.
#[derive(Debug, Clone)]
pub struct End<'a> {
    /// Returned or abandoned.
    pub state: RebuildState,
    /// The day.
    pub on: Date,
    /// Why, where it was abandoned.
    pub reason: Option<&'a str>,
    /// By when the practice asks for the bolting to be tightened again.
    pub re_torque_due_on: Option<Date>,
}

/// Ends a rebuild, from the version that was read; false if it moved meanwhile.
pub async fn end(
    db: &mut SqliteConnection,
    rebuild: &Rebuild,
    end: &End<'_>,
    person: PersonId,
    now: Moment,
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE rebuild SET state = ?3, ended_on = ?4, ended_at = ?5, ended_by = ?6, abandoned_reason = ?7, re_torque_due_on = ?8, version = version + 1
         WHERE id = ?1 AND version = ?2",
        rebuild.id,
        rebuild.version,
        end.state,
        end.on,
        now,
        person,
        end.reason,
        end.re_torque_due_on
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// Settles the cause of an open rebuild as it showed at the bench.
pub async fn settle_cause(db: &mut SqliteConnection, id: RebuildId, cause: Cause) -> Result<()> {
    sqlx::query!("UPDATE rebuild SET cause = ?2 WHERE id = ?1", id, cause)
        .execute(db)
        .await?;
    Ok(())
}

/// A step from state to state about to be written down.
#[derive(Debug, Clone)]
pub struct NewMove<'a> {
    /// Where it goes.
    pub to: RebuildState,
    /// Why, where a reason is asked for.
    pub reason: &'a str,
    /// What has to be done again, on the way back to the bench.
    pub rework: Option<Rework>,
    /// The section that concerns.
    pub section: Option<u8>,
}

/// Writes down a step from the state a rebuild stands in.
pub async fn add_move(
    db: &mut SqliteConnection,
    rebuild: &Rebuild,
    new: &NewMove<'_>,
    person: PersonId,
    now: Moment,
) -> Result<MoveId> {
    let id = sqlx::query!(
        "INSERT INTO rebuild_move (rebuild_id, from_state, to_state, at, person_id, reason, rework, section, after_entry, after_test)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8,
           coalesce((SELECT max(id) FROM bench_entry WHERE rebuild_id = ?1), 0),
           coalesce((SELECT max(id) FROM pressure_test WHERE rebuild_id = ?1), 0))",
        rebuild.id,
        rebuild.state,
        new.to,
        now,
        person,
        new.reason,
        new.rework,
        new.section
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(MoveId(id))
}

/// Answers the open failures of a gauge by a rebuild; returns their rows.
pub async fn answer_failures(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    rebuild: RebuildId,
) -> Result<Vec<FailureId>> {
    Ok(sqlx::query_scalar!(
        r#"UPDATE failure SET rebuild_id = ?2 WHERE gauge_id = ?1 AND rebuild_id IS NULL AND taken_back_at IS NULL RETURNING id AS "id!: FailureId""#,
        gauge,
        rebuild
    )
    .fetch_all(db)
    .await?)
}

/// A failure as pages list it.
#[derive(Debug, Clone)]
pub struct Failure {
    /// The row.
    pub id: FailureId,
    /// When it was seen.
    pub seen_on: Date,
    /// What went wrong.
    pub kind: FailureKind,
    /// Anything else.
    pub note: String,
}

/// The failures of a gauge a rebuild answered.
pub async fn answered_failures(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    rebuild: RebuildId,
) -> Result<Vec<Failure>> {
    Ok(sqlx::query_as!(
        Failure,
        "SELECT id, seen_on, kind, note FROM failure WHERE gauge_id = ?1 AND rebuild_id = ?2 ORDER BY id",
        gauge,
        rebuild
    )
    .fetch_all(db)
    .await?)
}

/// A rebuild under way, as the bench lists it.
#[derive(Debug, Clone)]
pub struct UnderWay {
    /// The row.
    pub id: RebuildId,
    /// The gauge's tag number.
    pub tag: TagNumber,
    /// The vessel.
    pub vessel: String,
    /// What it shows.
    pub service: String,
    /// The area's name.
    pub area: String,
    /// Why it is done.
    pub cause: Cause,
    /// The day it is planned for.
    pub planned_for: Date,
}

/// The rebuilds in one state by the day they are planned for, after a day and a row.
pub async fn under_way(
    db: &mut SqliteConnection,
    state: RebuildState,
    after: Option<(Date, RebuildId)>,
    most: i64,
) -> Result<Vec<UnderWay>> {
    let (day, id) = after.unzip();
    Ok(sqlx::query_as!(
        UnderWay,
        r#"SELECT r.id AS "id!", g.tag, g.vessel, g.service, a.name AS area, r.cause, r.planned_for
         FROM rebuild r INDEXED BY rebuild_open JOIN gauge g ON g.id = r.gauge_id JOIN area a ON a.id = g.area_id
         WHERE r.state = ?1 AND r.state NOT IN ('returned', 'abandoned') AND (r.planned_for, r.id) > (coalesce(?2, ''), coalesce(?3, 0))
         ORDER BY r.planned_for, r.id LIMIT ?4"#,
        state,
        day,
        id,
        most
    )
    .fetch_all(db)
    .await?)
}

/// The tag numbers of the gauges of some rebuilds.
pub async fn tags(
    db: &mut SqliteConnection,
    rebuilds: &[RebuildId],
) -> Result<HashMap<RebuildId, TagNumber>> {
    let ids = serde_json::to_string(rebuilds)?;
    let rows = sqlx::query!(
        r#"SELECT r.id AS "id!: RebuildId", g.tag AS "tag!: TagNumber"
           FROM json_each(?1) j CROSS JOIN rebuild r ON r.id = j.value JOIN gauge g ON g.id = r.gauge_id"#,
        ids
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, row.tag)).collect())
}

/// How many rebuilds stand in each open state.
pub async fn count_open(db: &mut SqliteConnection) -> Result<Vec<(RebuildState, i64)>> {
    let rows = sqlx::query!(
        r#"SELECT state, count(*) AS "count!: i64" FROM rebuild INDEXED BY rebuild_open
           WHERE state NOT IN ('returned', 'abandoned') GROUP BY state"#
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| (row.state, row.count)).collect())
}

/// How many open rebuilds were planned for a day before this one.
pub async fn count_past(db: &mut SqliteConnection, today: Date) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM rebuild INDEXED BY rebuild_by_planned_day
           WHERE state NOT IN ('returned', 'abandoned') AND planned_for < ?1"#,
        today
    )
    .fetch_one(db)
    .await?)
}

/// How many rebuilds were planned for a day before this one and have not begun, counted up to so many.
pub async fn count_not_begun(db: &mut SqliteConnection, today: Date, most: i64) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        "SELECT count(*) FROM (SELECT 1 FROM rebuild INDEXED BY rebuild_open
           WHERE state NOT IN ('returned', 'abandoned') AND state IN ('planned', 'ready') AND planned_for < ?1 LIMIT ?2)",
        today,
        most
    )
    .fetch_one(db)
    .await?)
}

/// A pressure test of a rebuild, as its record lists it.
#[derive(Debug, Clone)]
pub struct TestLine {
    /// The row, for its place in time.
    pub id: i64,
    /// Its number.
    pub number: TestNumber,
    /// The day.
    pub tested_on: Date,
    /// What came of it.
    pub result: TestResult,
    /// Who did it.
    pub person: String,
    /// Who entered it from the sheet on paper.
    pub entered_by: Option<String>,
    /// When it was recorded.
    pub at: Moment,
    /// What it rests on, where that can be read.
    pub facts: Option<Box<TestFacts>>,
    /// The certificate issued from it, the latest of them.
    pub certificate: Option<Certified>,
}

impl TestLine {
    /// Why it came out as it did.
    pub fn why(&self) -> Option<Sentence> {
        Some(self.facts.as_ref()?.judged_in_words().1)
    }

    /// The last pressure that was read, beside what was required.
    pub fn read_last(&self) -> Option<Sentence> {
        let facts = self.facts.as_ref()?;
        let last = facts.readings.last()?;
        Some(
            Sentence::default()
                .figure(last.pressure)
                .words(format!(" at minute {}; required ", last.after()))
                .at_least(facts.required)
                .words(format!(" for at least {} min", facts.hold_required)),
        )
    }

    /// What was noted of it, such as where it leaked.
    pub fn note(&self) -> &str {
        self.facts.as_ref().map_or("", |facts| facts.note.trim())
    }
}

/// The pressure tests of a rebuild, in order.
pub async fn tests(db: &mut SqliteConnection, rebuild: RebuildId) -> Result<Vec<TestLine>> {
    let rows = sqlx::query!(
        r#"SELECT t.id AS "id!: i64", t.number AS "number: TestNumber", t.tested_on, t.result, t.at, t.facts,
             p.name AS "person!: String",
             (SELECT n.name FROM known_as n WHERE t.done_by IS NOT NULL AND n.person_id = t.person_id AND n.since <= t.at AND n.until > t.at)
               AS "entered_by?: String",
             (SELECT c.number FROM certificate c WHERE c.test_id = t.id ORDER BY c.id DESC LIMIT 1) AS "certificate?: CertificateNumber",
             (SELECT s.standing FROM certificate c JOIN certificate_standing s ON s.certificate_id = c.id WHERE c.test_id = t.id ORDER BY c.id DESC LIMIT 1) AS "standing?: Today"
           FROM pressure_test t JOIN known_as p ON p.person_id = coalesce(t.done_by, t.person_id) AND p.since <= coalesce(t.done_at, t.at) AND p.until > coalesce(t.done_at, t.at) WHERE t.rebuild_id = ?1 ORDER BY t.id"#,
        rebuild
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| TestLine {
            id: row.id,
            number: row.number,
            tested_on: row.tested_on,
            result: row.result,
            person: row.person,
            entered_by: row.entered_by,
            at: row.at,
            facts: serde_json::from_str(&row.facts).ok().map(Box::new),
            certificate: Certified::of(row.certificate, row.standing),
        })
        .collect())
}
