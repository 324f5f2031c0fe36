//! What was recorded at the bench, and everything that decides how far rebuilds have come, read for
//! many of them at once. What may be recorded next is decided in `record::course`.

use std::collections::HashMap;

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::pressure_tests::NAMELESS;
use crate::record::bench::{Entry, Facts};
use crate::record::course::{Course, EarlierCut, LastTest};
use crate::record::face::{FaceOf, FaceSeen, Reading};
use crate::record::instrument::{Found, InstrumentKind};
use crate::record::kit::Movement;
use crate::record::pressure_test::TestResult;
use crate::record::rebuild::{Move, RebuildState};
use crate::record::{
    EntryId, GaugeId, InstrumentNumber, KitId, KitNumber, LotNumber, Moment, MoveId, PersonId,
    RebuildId, TagNumber, TestNumber,
};

/// An entry about to be recorded.
#[derive(Debug, Clone)]
pub struct NewEntry<'a> {
    /// The section; none for the whole gauge.
    pub section: Option<u8>,
    /// What is recorded.
    pub facts: &'a Facts,
    /// The entry it corrects, and why.
    pub corrects: Option<(EntryId, &'a str)>,
    /// Who did the work and when, where it is entered afterwards.
    pub done: Option<(PersonId, Moment)>,
}

/// Records an entry at the bench.
pub async fn add_entry(
    db: &mut SqliteConnection,
    rebuild: RebuildId,
    entry: &NewEntry<'_>,
    person: PersonId,
    now: Moment,
) -> Result<EntryId> {
    let topic = entry.facts.topic();
    let text = serde_json::to_string(entry.facts)?;
    let (supersedes, reason) = entry.corrects.unzip();
    let (done_by, done_at) = entry.done.unzip();
    let id = sqlx::query!(
        "INSERT INTO bench_entry (rebuild_id, topic, section, facts, at, person_id, supersedes, correction_reason, done_by, done_at)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10)",
        rebuild,
        topic,
        entry.section,
        text,
        now,
        person,
        supersedes,
        reason,
        done_by,
        done_at
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(EntryId(id))
}

/// How far a rebuild has come.
pub async fn course(db: &mut SqliteConnection, rebuild: RebuildId) -> Result<Option<Course>> {
    Ok(courses(db, &[rebuild]).await?.remove(&rebuild))
}

/// How far rebuilds have come: six statements at most, however many there are.
pub async fn courses(
    db: &mut SqliteConnection,
    rebuilds: &[RebuildId],
) -> Result<HashMap<RebuildId, Course>> {
    let ids = serde_json::to_string(rebuilds)?;
    let mut all = standings(db, &ids).await?;
    for (rebuild, entry) in entries(db, &ids).await? {
        if let Some(course) = all.get_mut(&rebuild) {
            course.entries.push(entry);
        }
    }
    for (rebuild, one) in moves(db, &ids).await? {
        if let Some(course) = all.get_mut(&rebuild) {
            course.moves.push(one);
        }
    }
    for (rebuild, cut) in earlier_cuts(db, &ids).await? {
        if let Some(course) = all.get_mut(&rebuild) {
            course.earlier_cuts.push(cut);
        }
    }
    Ok(all)
}

async fn standings(db: &mut SqliteConnection, ids: &str) -> Result<HashMap<RebuildId, Course>> {
    let rows = sqlx::query!(
        r#"SELECT r.id AS "id!: RebuildId", r.state, g.kind, g.isolation, g.sections, g.kits_per_rebuild, k.number AS "kit?: KitNumber",
             coalesce(c.flush, 0) AS "flush!: bool",
             coalesce((SELECT sum(-s.quantity) FROM stock_line s WHERE s.rebuild_id = r.id AND s.kind IN ('issue', 'return')), 0) AS "taken!: i64",
             r.planned_for, g.kit_id AS "kit_id?: KitId",
             t.id AS "test_id?: i64", t.number AS "test_number?: TestNumber", t.tested_on AS "tested_on?: Date", t.result AS "test_result?: TestResult",
             EXISTS (SELECT 1 FROM witnessing w WHERE w.test_id = t.id) AS "witnessed!: bool", t.at AS "test_at?: Moment",
             (SELECT n.name FROM known_as n WHERE n.person_id = t.person_id AND n.since <= t.at AND n.until > t.at) AS "tester?: String"
           FROM rebuild r JOIN gauge g ON g.id = r.gauge_id JOIN service_class c ON c.id = g.service_class_id LEFT JOIN kit k ON k.id = g.kit_id
           LEFT JOIN pressure_test t ON t.id = (SELECT max(id) FROM pressure_test WHERE rebuild_id = r.id)
           WHERE r.id IN (SELECT value FROM json_each(?1))"#,
        ids
    )
    .fetch_all(&mut *db)
    .await?;
    // Once it is on test it is not the shelf that it waits for.
    let waits = |state| {
        matches!(
            state,
            RebuildState::Planned | RebuildState::Ready | RebuildState::AtTheBench
        )
    };
    let waiting = rows.iter().filter(|row| waits(row.state));
    let kits: Vec<KitId> = waiting.clone().filter_map(|row| row.kit_id).collect();
    let queues = match waiting.map(|row| row.planned_for).max() {
        Some(until) => super::shelf::queues(db, &kits, until).await?,
        None => HashMap::new(),
    };
    let count = |n: i64| u32::try_from(n.max(0)).unwrap_or(u32::MAX);
    Ok(rows
        .into_iter()
        .map(|row| {
            let of_test = (row.test_id, row.test_number, row.tested_on);
            let came = (row.test_result, row.test_at);
            let person = row.tester;
            let test = match (of_test, came) {
                ((Some(id), Some(number), Some(tested_on)), (Some(result), Some(at))) => {
                    Some(LastTest {
                        id,
                        number,
                        tested_on,
                        result,
                        witnessed: row.witnessed,
                        at,
                        person: person.unwrap_or_else(|| NAMELESS.to_owned()),
                    })
                }
                _ => None,
            };
            let course = Course {
                state: row.state,
                kind: row.kind,
                sections: u8::try_from(row.sections).unwrap_or(u8::MAX),
                flush: row.flush,
                isolation: row.isolation,
                kit: row.kit,
                kits_needed: count(row.kits_per_rebuild),
                kits_taken: count(row.taken),
                turn: (row.planned_for, row.id),
                queue: row
                    .kit_id
                    .filter(|_| waits(row.state))
                    .and_then(|kit| queues.get(&kit).cloned()),
                earlier_cuts: Vec::new(),
                entries: Vec::new(),
                moves: Vec::new(),
                test,
            };
            (row.id, course)
        })
        .collect())
}

async fn entries(db: &mut SqliteConnection, ids: &str) -> Result<Vec<(RebuildId, Entry)>> {
    let rows = sqlx::query!(
        r#"SELECT e.id AS "id!: EntryId", e.rebuild_id AS "rebuild_id!: RebuildId", e.section, e.facts, e.at, e.person_id,
             p.name AS "person!: String", e.supersedes, e.correction_reason,
             e.done_at, d.name AS "done_by?: String",
             EXISTS (SELECT 1 FROM bench_entry later WHERE later.supersedes = e.id) AS "superseded!: bool"
           FROM bench_entry e JOIN known_as p ON p.person_id = e.person_id AND p.since <= e.at AND p.until > e.at LEFT JOIN known_as d ON d.person_id = e.done_by AND d.since <= e.done_at AND d.until > e.done_at
           WHERE e.rebuild_id IN (SELECT value FROM json_each(?1)) ORDER BY e.id"#,
        ids
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| {
            let entry = Entry {
                id: row.id,
                section: row.section.and_then(small),
                facts: serde_json::from_str::<Facts>(&row.facts)?,
                at: row.at,
                person_id: row.person_id,
                person: row.person,
                supersedes: row.supersedes,
                correction_reason: row.correction_reason,
                superseded: row.superseded,
                done: row.done_by.zip(row.done_at),
            };
            Ok((row.rebuild_id, entry))
        })
        .collect()
}

async fn moves(db: &mut SqliteConnection, ids: &str) -> Result<Vec<(RebuildId, Move)>> {
    let rows = sqlx::query!(
        r#"SELECT m.id AS "id!: MoveId", m.rebuild_id, m.from_state, m.to_state, m.at, m.person_id,
             p.name AS "person!: String", m.reason,
             m.rework, m.section, m.after_entry, m.after_test
           FROM rebuild_move m JOIN known_as p ON p.person_id = m.person_id AND p.since <= m.at AND p.until > m.at
           WHERE m.rebuild_id IN (SELECT value FROM json_each(?1)) ORDER BY m.id"#,
        ids
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| {
            let one = Move {
                id: row.id,
                from: row.from_state,
                to: row.to_state,
                at: row.at,
                person_id: row.person_id,
                person: row.person,
                reason: row.reason,
                rework: row.rework,
                section: row.section.and_then(small),
                after_entry: row.after_entry,
                after_test: row.after_test,
            };
            (row.rebuild_id, one)
        })
        .collect())
}

/// Skims and new parts in earlier rebuilds of the same gauges, in the order in which the work was done. A
/// correction keeps the place in time of what it corrects.
async fn earlier_cuts(
    db: &mut SqliteConnection,
    ids: &str,
) -> Result<Vec<(RebuildId, EarlierCut)>> {
    let rows = sqlx::query!(
        r#"WITH RECURSIVE back (rebuild_id, id, origin, earlier) AS (
             SELECT r.id, e.id, e.id, e.supersedes
             FROM rebuild r JOIN rebuild o ON o.gauge_id = r.gauge_id AND o.ordinal < r.ordinal
             JOIN bench_entry e ON e.rebuild_id = o.id
             WHERE r.id IN (SELECT value FROM json_each(?1)) AND e.topic = 'face' AND e.facts ->> 'seen' IN ('skimmed', 'renewed')
               AND NOT EXISTS (SELECT 1 FROM bench_entry later WHERE later.supersedes = e.id)
             UNION ALL
             SELECT b.rebuild_id, b.id, o.id, o.supersedes FROM back b CROSS JOIN bench_entry o ON o.id = b.earlier)
           SELECT b.rebuild_id AS "id!: RebuildId", e.section AS "section?: i64", e.facts ->> 'face' AS "face!: FaceOf", e.facts ->> 'seen' AS "seen!: FaceSeen"
           FROM back b CROSS JOIN bench_entry o ON o.id = b.origin CROSS JOIN bench_entry e ON e.id = b.id
           WHERE b.earlier IS NULL ORDER BY coalesce(o.done_at, o.at), o.id"#,
        ids
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| {
            let cut = EarlierCut {
                section: row.section.and_then(small),
                face: row.face,
                seen: row.seen,
            };
            (row.id, cut)
        })
        .collect())
}

/// Wrenches with which other gauges at the bench were tightened between two moments, and are not tight
/// in every section yet. The last pass tells when, where it was noted.
pub async fn wrenches_elsewhere(
    db: &mut SqliteConnection,
    but: RebuildId,
    (since, until): (Moment, Moment),
) -> Result<Vec<(InstrumentNumber, TagNumber)>> {
    let rows = sqlx::query!(
        r#"SELECT DISTINCT r.id AS "id!: RebuildId", e.facts ->> 'wrench' AS "wrench!: InstrumentNumber", g.tag AS "tag!: TagNumber"
           FROM rebuild r INDEXED BY rebuild_open JOIN gauge g ON g.id = r.gauge_id
           JOIN bench_entry e ON e.rebuild_id = r.id AND e.topic = 'tightened'
             AND coalesce(e.facts ->> '$.finished[#-1].at', e.done_at, e.at) BETWEEN ?2 AND ?3
           WHERE r.state = 'at-the-bench' AND r.state NOT IN ('returned', 'abandoned') AND r.id <> ?1
             AND NOT EXISTS (SELECT 1 FROM bench_entry later WHERE later.supersedes = e.id)"#,
        but,
        since,
        until
    )
    .fetch_all(&mut *db)
    .await?;
    // Which sections are tight is for the course to say: what was tightened before the gauge was
    // opened again, or taken back to be tightened again, does not count.
    let ids: Vec<RebuildId> = rows.iter().map(|row| row.id).collect();
    let all = courses(db, &ids).await?;
    Ok(rows
        .into_iter()
        .filter(|row| all.get(&row.id).is_some_and(|course| !course.is_tight()))
        .map(|row| (row.wrench, row.tag))
        .collect())
}

/// A reading of a face whose wall was measured, or whose part was renewed, at its place in time.
#[derive(Debug, Clone)]
pub struct WallRead {
    /// The entry that counts.
    pub entry: EntryId,
    /// The entry it goes back to; itself where it corrects nothing.
    pub origin: EntryId,
    /// When the work was done.
    pub at: Moment,
    /// What was read.
    pub reading: Reading,
}

impl WallRead {
    /// Where it lies in time, as [`Course::place`] has it.
    pub const fn place(&self) -> (Moment, i64) {
        (self.at, self.origin.0)
    }
}

/// The readings of a face whose wall was measured, or whose part was renewed, in all rebuilds of a gauge, in
/// the order in which the work was done. A correction keeps the place in time of what it corrects.
pub async fn wall_readings(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    section: u8,
    face: FaceOf,
) -> Result<Vec<WallRead>> {
    let rows = sqlx::query!(
        r#"WITH RECURSIVE back (id, origin, earlier) AS (
             SELECT e.id, e.id, e.supersedes FROM rebuild r JOIN bench_entry e ON e.rebuild_id = r.id
             WHERE r.gauge_id = ?1 AND e.topic = 'face' AND e.section = ?2 AND e.facts ->> 'face' = ?3
               AND (e.facts ->> 'wall' IS NOT NULL OR e.facts ->> 'seen' = 'renewed')
               AND NOT EXISTS (SELECT 1 FROM bench_entry later WHERE later.supersedes = e.id)
             UNION ALL
             SELECT b.id, o.id, o.supersedes FROM back b CROSS JOIN bench_entry o ON o.id = b.earlier)
           SELECT e.id AS "entry!: EntryId", o.id AS "origin!: EntryId", coalesce(o.done_at, o.at) AS "at!: Moment", e.facts AS "facts!: String"
           FROM back b CROSS JOIN bench_entry o ON o.id = b.origin CROSS JOIN bench_entry e ON e.id = b.id
           WHERE b.earlier IS NULL ORDER BY coalesce(o.done_at, o.at), o.id"#,
        gauge,
        section,
        face
    )
    .fetch_all(db)
    .await?;
    let mut list = Vec::new();
    for row in rows {
        if let Facts::Face(reading) = serde_json::from_str::<Facts>(&row.facts)? {
            list.push(WallRead {
                entry: row.entry,
                origin: row.origin,
                at: row.at,
                reading: *reading,
            });
        }
    }
    Ok(list)
}

/// A movement of the storeroom for a rebuild, as its record lists it.
#[derive(Debug, Clone)]
pub struct KitLine {
    /// Issued, or given back.
    pub kind: Movement,
    /// How many, without sign.
    pub quantity: i64,
    /// The kit.
    pub kit: KitNumber,
    /// The lot.
    pub lot: LotNumber,
    /// Last day the lot may be used.
    pub expires_on: Option<Date>,
    /// The day it happened.
    pub on_date: Date,
    /// Who wrote it.
    pub person: String,
    /// When.
    pub at: Moment,
}

impl KitLine {
    /// What moved, in words.
    pub fn told(&self) -> String {
        let kits = if self.quantity == 1 {
            "1 kit".to_owned()
        } else {
            format!("{} kits", self.quantity)
        };
        if self.kind == Movement::Return {
            format!("{kits} given back to the storeroom")
        } else {
            format!("{kits} issued")
        }
    }
}

/// What moved in the storeroom for a rebuild, in order.
pub async fn kit_lines(db: &mut SqliteConnection, rebuild: RebuildId) -> Result<Vec<KitLine>> {
    Ok(sqlx::query_as!(
        KitLine,
        r#"SELECT s.kind, abs(s.quantity) AS "quantity!: i64", k.number AS kit, l.number AS lot, l.expires_on,
             s.on_date, p.name AS "person!: String", s.at
           FROM stock_line s JOIN lot l ON l.id = s.lot_id JOIN kit k ON k.id = l.kit_id JOIN known_as p ON p.person_id = s.person_id AND p.since <= s.at AND p.until > s.at
           WHERE s.rebuild_id = ?1 ORDER BY s.id"#,
        rebuild
    )
    .fetch_all(db)
    .await?)
}

fn small(number: i64) -> Option<u8> {
    u8::try_from(number).ok()
}

/// An instrument a rebuild relied on, with the calibration that covered it on that day.
#[derive(Debug, Clone)]
pub struct Used {
    /// Its number.
    pub number: InstrumentNumber,
    /// What it is.
    pub kind: InstrumentKind,
    /// Maker's description, serial number.
    pub description: String,
    /// The day.
    pub used_on: Date,
    /// The calibration certificate's reference.
    pub reference: Option<String>,
    /// When it was calibrated.
    pub calibrated_on: Option<Date>,
    /// Last day the calibration covers.
    pub due_on: Option<Date>,
    /// What the next calibration found, if there was one: out of tolerance puts the reading in doubt.
    pub found_later: Option<Found>,
}

/// The instruments a rebuild relied on, each once a day.
pub async fn instruments_used(db: &mut SqliteConnection, rebuild: RebuildId) -> Result<Vec<Used>> {
    Ok(sqlx::query_as!(
        Used,
        r#"SELECT DISTINCT i.number, i.kind, i.description, u.used_on, c.reference AS "reference?", c.calibrated_on AS "calibrated_on?: Date",
             c.due_on AS "due_on?: Date",
             (SELECT n.found FROM calibration n WHERE n.instrument_id = i.id AND n.calibrated_on > u.used_on AND n.taken_back_at IS NULL ORDER BY n.calibrated_on, n.id LIMIT 1)
               AS "found_later?: Found"
           FROM instrument_use u JOIN instrument i ON i.id = u.instrument_id
           LEFT JOIN calibration c ON c.id = (SELECT b.id FROM calibration b WHERE b.instrument_id = i.id AND b.calibrated_on <= u.used_on AND b.taken_back_at IS NULL
             ORDER BY b.calibrated_on DESC, b.id DESC LIMIT 1)
           WHERE u.rebuild_id = ?1 ORDER BY u.used_on, i.number"#,
        rebuild
    )
    .fetch_all(db)
    .await?)
}
