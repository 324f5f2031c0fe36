//! Pressure tests and their witnesses: one by its number, lists by the filters an index can serve,
//! and writing them. Certificates are in `issued.rs`. Verdicts and who may sign are decided in `record` and `acts`.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::columns::Digits;
use crate::calc::quantity::{PressureUnit, StampedPressure};
use crate::record::certificate_mark::{Certified, Today};
use crate::record::pressure_test::{Basis, OnPaper, PressureTest, TestFacts, TestResult, Waiting};
use crate::record::{
    CertificateNumber, GaugeId, InstrumentId, Moment, PersonId, RebuildId, TagNumber, TestId,
    TestNumber,
};

/// Gauges a search by words looks through at the most; the page says so when there are more.
pub const GAUGES_SEARCHED: i64 = 200;

/// Who made a test of whose person no name was kept: it is a test nevertheless.
pub(super) const NAMELESS: &str = "somebody whose name was not kept";

/// One statement with the columns of a whole test, and an ending.
macro_rules! tests {
    ($ending:literal $(, $value:expr)*) => {
        sqlx::query!(
            r#"SELECT t.id AS "id!", t.number, t.gauge_id, t.rebuild_id, t.tested_on, t.result, t.facts, t.instrument_id,
                 t.person_id, p.name AS "person?: String",
                 t.at, t.done_at, t.done_by, n.name AS "entered_by?: String", w.at AS "witnessed_at?: Moment",
                 wp.name AS "witness?: String",
                 c.number AS "certificate?: CertificateNumber",
                 (SELECT s.standing FROM certificate_standing s WHERE s.certificate_id = c.id) AS "standing?: Today"
               FROM pressure_test t LEFT JOIN known_as p ON p.person_id = coalesce(t.done_by, t.person_id) AND p.since <= coalesce(t.done_at, t.at) AND p.until > coalesce(t.done_at, t.at)
               LEFT JOIN known_as n ON t.done_by IS NOT NULL AND n.person_id = t.person_id AND n.since <= t.at AND n.until > t.at
               LEFT JOIN witnessing w ON w.test_id = t.id LEFT JOIN known_as wp ON wp.person_id = w.person_id AND wp.since <= w.at AND wp.until > w.at
               LEFT JOIN certificate c ON c.test_id = t.id AND NOT EXISTS (SELECT 1 FROM certificate n WHERE n.supersedes = c.id) "#
                + $ending
            $(, $value)*
        )
    };
}

macro_rules! test {
    ($row:expr) => {{
        let row = $row;
        PressureTest {
            id: row.id,
            number: row.number,
            gauge_id: row.gauge_id,
            rebuild_id: row.rebuild_id,
            tested_on: row.tested_on,
            result: row.result,
            facts: serde_json::from_str::<TestFacts>(&row.facts)?,
            instrument_id: row.instrument_id,
            person_id: row.person_id,
            person: row.person.unwrap_or_else(|| NAMELESS.to_owned()),
            at: row.at,
            on_paper: match (row.done_by, row.done_at, row.entered_by) {
                (Some(by), Some(at), Some(entered_by)) => Some(OnPaper { by, at, entered_by }),
                _ => None,
            },
            witness: row.witness.zip(row.witnessed_at),
            certificate: Certified::of(row.certificate, row.standing),
        }
    }};
}

/// The test of that number.
pub async fn by_number(db: &mut SqliteConnection, number: &str) -> Result<Option<PressureTest>> {
    let row = tests!("WHERE t.number = ?1", number)
        .fetch_optional(db)
        .await?;
    row.map(|row| Ok(test!(row))).transpose()
}

/// A test by its row.
pub async fn by_id(db: &mut SqliteConnection, id: TestId) -> Result<Option<PressureTest>> {
    let row = tests!("WHERE t.id = ?1", id).fetch_optional(db).await?;
    row.map(|row| Ok(test!(row))).transpose()
}

/// The rating a test was made from, and what was chosen for it; none where the test kept neither.
pub async fn made_from(
    db: &mut SqliteConnection,
    id: TestId,
) -> Result<Option<(StampedPressure, Basis)>> {
    let row = sqlx::query!(
        r#"SELECT json_extract(facts, '$.rating') AS "rating?: String", json_extract(facts, '$.basis') AS "basis?: String"
           FROM pressure_test WHERE id = ?1"#,
        id
    )
    .fetch_optional(db)
    .await?;
    let Some((rating, basis)) = row.and_then(|row| row.rating.zip(row.basis)) else {
        return Ok(None);
    };
    Ok(Some((
        serde_json::from_str(&rating)?,
        serde_json::from_str(&basis)?,
    )))
}

/// The row of the test that has this number, or from which the certificate of this number was
/// issued, as typed by somebody who looks for it.
pub async fn id_of(db: &mut SqliteConnection, number: &str) -> Result<Option<TestId>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT id AS "id!: TestId" FROM pressure_test WHERE number IN (?1, upper(?1))
           UNION ALL SELECT test_id FROM certificate WHERE number IN (?1, upper(?1)) LIMIT 1"#,
        number
    )
    .fetch_optional(db)
    .await?)
}

/// The latest test that belongs to a rebuild.
pub async fn latest_of_rebuild(
    db: &mut SqliteConnection,
    rebuild: RebuildId,
) -> Result<Option<PressureTest>> {
    let row = tests!(
        "WHERE t.rebuild_id = ?1 ORDER BY t.id DESC LIMIT 1",
        rebuild
    )
    .fetch_optional(db)
    .await?;
    row.map(|row| Ok(test!(row))).transpose()
}

/// The tests that belong together with one, in order: all of its rebuild; or, without a rebuild,
/// those repeated after a failure until one was passed.
pub async fn attempts(db: &mut SqliteConnection, test: &PressureTest) -> Result<Vec<PressureTest>> {
    if let Some(rebuild) = test.rebuild_id {
        let rows = tests!("WHERE t.rebuild_id = ?1 ORDER BY t.id", rebuild)
            .fetch_all(db)
            .await?;
        return rows.into_iter().map(|row| Ok(test!(row))).collect();
    }
    let rows = tests!(
        "WHERE t.gauge_id = ?1 AND t.rebuild_id IS NULL
           AND t.id > coalesce((SELECT max(o.id) FROM pressure_test o INDEXED BY pressure_test_gauge
             WHERE o.gauge_id = ?1 AND o.id < ?2 AND o.rebuild_id IS NULL AND o.result = 'passed'), 0)
           AND t.id <= coalesce((SELECT min(o.id) FROM pressure_test o INDEXED BY pressure_test_gauge
             WHERE o.gauge_id = ?1 AND o.id >= ?2 AND o.rebuild_id IS NULL AND o.result = 'passed'), 9223372036854775807)
         ORDER BY t.id",
        test.gauge_id,
        test.id
    )
    .fetch_all(db)
    .await?;
    rows.into_iter().map(|row| Ok(test!(row))).collect()
}

/// The tests that stood on one pump with a test, itself among them; none where it stood alone.
pub async fn on_one_pump(
    db: &mut SqliteConnection,
    test: &PressureTest,
) -> Result<Vec<(TestNumber, TagNumber, TestResult)>> {
    let rows = sqlx::query!(
        r#"SELECT t.number AS "number!: TestNumber", g.tag AS "tag!: TagNumber", t.result AS "result!: TestResult"
           FROM pressure_test t JOIN gauge g ON g.id = t.gauge_id
           WHERE t.pump_with = coalesce((SELECT pump_with FROM pressure_test WHERE id = ?1), ?2)
             OR (t.number = coalesce((SELECT pump_with FROM pressure_test WHERE id = ?1), ?2)
               AND EXISTS (SELECT 1 FROM pressure_test o WHERE o.pump_with = t.number))
           ORDER BY t.id"#,
        test.id,
        test.number
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.number, row.tag, row.result))
        .collect())
}

/// A gauge's latest test, where it was failed: its number and day.
pub async fn last_failed(
    db: &mut SqliteConnection,
    gauge: GaugeId,
) -> Result<Option<(TestNumber, Date)>> {
    let last = sqlx::query!(
        r#"SELECT number AS "number!: TestNumber", tested_on AS "tested_on!: Date", result AS "result!: TestResult"
           FROM pressure_test INDEXED BY pressure_test_gauge WHERE gauge_id = ?1 ORDER BY id DESC LIMIT 1"#,
        gauge
    )
    .fetch_optional(db)
    .await?;
    Ok(last
        .filter(|last| last.result == TestResult::Failed)
        .map(|last| (last.number, last.tested_on)))
}

/// A failed test of the same gauge that came after this one, by its number.
pub async fn failed_after(
    db: &mut SqliteConnection,
    test: &PressureTest,
) -> Result<Option<TestNumber>> {
    Ok(sqlx::query_scalar!(
        "SELECT number FROM pressure_test INDEXED BY pressure_test_gauge
         WHERE gauge_id = ?1 AND result = 'failed' AND (tested_on, id) > (?2, ?3) LIMIT 1",
        test.gauge_id,
        test.tested_on,
        test.id
    )
    .fetch_optional(db)
    .await?)
}

/// A line of the list of tests.
#[derive(Debug, Clone)]
pub struct Line {
    /// The row.
    pub id: TestId,
    /// The test's number.
    pub number: TestNumber,
    /// The gauge.
    pub tag: TagNumber,
    /// The vessel it hangs on.
    pub vessel: String,
    /// The day.
    pub tested_on: Date,
    /// What came of it.
    pub result: TestResult,
    /// The required pressure.
    pub required: StampedPressure,
    /// Who tested.
    pub person: String,
    /// Who witnessed.
    pub witness: Option<String>,
    /// Who was last named to witness it.
    pub named: Option<String>,
    /// Who said last that they did not see it.
    pub unseen_by: Option<String>,
    /// The certificate issued from it, the latest of them.
    pub certificate: Option<Certified>,
}

/// Which lines of the list of tests; of several that name different things, all hold.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    /// Only the tests of gauges with these words in tag, vessel, service, maker or order number.
    pub words: Option<String>,
    /// Only this test.
    pub test: Option<TestId>,
    /// Only this gauge.
    pub gauge: Option<GaugeId>,
    /// Only tests that relied on this instrument.
    pub instrument: Option<InstrumentId>,
    /// Only this result.
    pub result: Option<TestResult>,
    /// Only tests that wait for this.
    pub waiting: Option<Waiting>,
    /// Only tests this person did not say they had not seen.
    pub not_unseen_by: Option<PersonId>,
    /// Only tests from this day on.
    pub from: Option<Date>,
    /// Only tests up to this day.
    pub to: Option<Date>,
    /// Only lines after this one: its day and row.
    pub after: Option<(Date, TestId)>,
}

/// The list of tests, the latest day first, a page at a time.
pub async fn list(db: &mut SqliteConnection, filter: &Filter, most: i64) -> Result<Vec<Line>> {
    let (after_day, after_id) = filter.after.unzip();
    let words = filter.words.as_deref().map(super::gauge_list::match_words);
    // One statement for every mixture of filters would make SQLite walk the whole list; each of
    // these walks the index that fits.
    macro_rules! lines {
        ($from:literal) => {{
            let rows = sqlx::query!(
                r#"SELECT t.id AS "id!", t.number AS "number!", g.tag AS "tag!", g.vessel AS "vessel!", t.tested_on AS "tested_on!",
                     t.result AS "result!", json_extract(t.facts, '$.required.value') AS "value!: Digits",
                     json_extract(t.facts, '$.required.unit') AS "unit!: PressureUnit", p.name AS "person!: String",
                     (SELECT wp.name
                      FROM witnessing w JOIN known_as wp ON wp.person_id = w.person_id AND wp.since <= w.at AND wp.until > w.at WHERE w.test_id = t.id) AS "witness?: String",
                     (SELECT wp.name FROM witness_asked w JOIN known_as wp ON wp.person_id = w.person_id AND wp.since <= w.at AND wp.until > w.at WHERE w.test_id = t.id ORDER BY w.id DESC LIMIT 1) AS "named?: String",
                     (SELECT wp.name FROM witness_declined w JOIN known_as wp ON wp.person_id = w.person_id AND wp.since <= w.at AND wp.until > w.at WHERE w.test_id = t.id ORDER BY w.id DESC LIMIT 1) AS "unseen_by?: String",
                     (SELECT c.number FROM certificate c WHERE c.test_id = t.id ORDER BY c.id DESC LIMIT 1) AS "certificate?: CertificateNumber",
                     (SELECT s.standing FROM certificate c JOIN certificate_standing s ON s.certificate_id = c.id WHERE c.test_id = t.id ORDER BY c.id DESC LIMIT 1) AS "standing?: Today" "#
                    + $from
                    + r#" AND (?1 IS NULL OR t.id = ?1) AND (?2 IS NULL OR t.gauge_id = ?2) AND (?3 IS NULL OR t.instrument_id = ?3)
                       AND (?4 IS NULL OR t.result = ?4)
                       AND (?5 IS NULL OR EXISTS (SELECT 1 FROM test_waiting x WHERE x.test_id = t.id AND x.what = ?5))
                       AND (?6 IS NULL OR t.gauge_id IN (SELECT rowid FROM gauge_words WHERE gauge_words MATCH ?6 LIMIT ?7))
                       AND (t.tested_on, t.id) < (coalesce(?8, '9999-12-31'), coalesce(?9, 0))
                       AND (?13 IS NULL OR NOT EXISTS (SELECT 1 FROM witness_declined d WHERE d.test_id = t.id AND d.person_id = ?13))
                       AND t.tested_on >= coalesce(?11, '') AND t.tested_on <= coalesce(?12, '9999-12-31')
                     ORDER BY t.tested_on DESC, t.id DESC LIMIT ?10"#,
                filter.test,
                filter.gauge,
                filter.instrument,
                filter.result,
                filter.waiting,
                words,
                GAUGES_SEARCHED,
                after_day,
                after_id,
                most,
                filter.from,
                filter.to,
                filter.not_unseen_by
            )
            .fetch_all(db)
            .await?;
            rows.into_iter()
                .map(|row| Line {
                    id: row.id,
                    number: row.number,
                    tag: row.tag,
                    vessel: row.vessel,
                    tested_on: row.tested_on,
                    result: row.result,
                    required: StampedPressure::new(row.value.0, row.unit),
                    person: row.person,
                    witness: row.witness,
                    named: row.named,
                    unseen_by: row.unseen_by,
                    certificate: Certified::of(row.certificate, row.standing),
                })
                .collect()
        }};
    }
    Ok(if filter.test.is_some() {
        lines!(
            "FROM pressure_test t JOIN gauge g ON g.id = t.gauge_id JOIN known_as p ON p.person_id = coalesce(t.done_by, t.person_id) AND p.since <= coalesce(t.done_at, t.at) AND p.until > coalesce(t.done_at, t.at) WHERE t.id = ?1"
        )
    } else if filter.waiting.is_some() {
        lines!(
            "FROM test_waiting w CROSS JOIN pressure_test t ON t.id = w.test_id JOIN gauge g ON g.id = t.gauge_id JOIN known_as p ON p.person_id = coalesce(t.done_by, t.person_id) AND p.since <= coalesce(t.done_at, t.at) AND p.until > coalesce(t.done_at, t.at) WHERE w.what = ?5"
        )
    } else if words.is_some() {
        lines!(
            "FROM pressure_test t INDEXED BY pressure_test_gauge JOIN gauge g ON g.id = t.gauge_id JOIN known_as p ON p.person_id = coalesce(t.done_by, t.person_id) AND p.since <= coalesce(t.done_at, t.at) AND p.until > coalesce(t.done_at, t.at) WHERE t.gauge_id IN (SELECT rowid FROM gauge_words WHERE gauge_words MATCH ?6 LIMIT ?7)"
        )
    } else if filter.gauge.is_some() {
        lines!(
            "FROM pressure_test t INDEXED BY pressure_test_gauge JOIN gauge g ON g.id = t.gauge_id JOIN known_as p ON p.person_id = coalesce(t.done_by, t.person_id) AND p.since <= coalesce(t.done_at, t.at) AND p.until > coalesce(t.done_at, t.at) WHERE t.gauge_id = ?2"
        )
    } else if filter.instrument.is_some() {
        lines!(
            "FROM pressure_test t INDEXED BY pressure_test_instrument JOIN gauge g ON g.id = t.gauge_id JOIN known_as p ON p.person_id = coalesce(t.done_by, t.person_id) AND p.since <= coalesce(t.done_at, t.at) AND p.until > coalesce(t.done_at, t.at) WHERE t.instrument_id = ?3"
        )
    } else if filter.result.is_some() {
        lines!(
            "FROM pressure_test t INDEXED BY pressure_test_result JOIN gauge g ON g.id = t.gauge_id JOIN known_as p ON p.person_id = coalesce(t.done_by, t.person_id) AND p.since <= coalesce(t.done_at, t.at) AND p.until > coalesce(t.done_at, t.at) WHERE t.result = ?4"
        )
    } else {
        lines!(
            "FROM pressure_test t INDEXED BY pressure_test_day JOIN gauge g ON g.id = t.gauge_id JOIN known_as p ON p.person_id = coalesce(t.done_by, t.person_id) AND p.since <= coalesce(t.done_at, t.at) AND p.until > coalesce(t.done_at, t.at) WHERE 1"
        )
    })
}

/// Whether more gauges have these words than a search looks through.
pub async fn too_many_gauges(db: &mut SqliteConnection, words: &str) -> Result<bool> {
    let words = super::gauge_list::match_words(words);
    let most = GAUGES_SEARCHED + 1;
    let found = sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM (SELECT 1 FROM gauge_words WHERE gauge_words MATCH ?1 LIMIT ?2)"#,
        words,
        most
    )
    .fetch_one(db)
    .await?;
    Ok(found > GAUGES_SEARCHED)
}

/// How many tests wait for something, counted to this many.
pub async fn count_waiting(db: &mut SqliteConnection, what: Waiting, most: i64) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM (SELECT 1 FROM test_waiting WHERE what = ?1 LIMIT ?2)"#,
        what,
        most
    )
    .fetch_one(db)
    .await?)
}

/// How many tests wait for a witness who may be this person, since they never said that they did not see
/// it; counted to this many.
pub async fn count_to_witness(
    db: &mut SqliteConnection,
    person: PersonId,
    most: i64,
) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM (SELECT 1 FROM test_waiting x WHERE x.what = 'witness'
             AND NOT EXISTS (SELECT 1 FROM witness_declined d WHERE d.test_id = x.test_id AND d.person_id = ?1) LIMIT ?2)"#,
        person,
        most
    )
    .fetch_one(db)
    .await?)
}

/// What one test still waits for.
pub async fn waiting_for(db: &mut SqliteConnection, test: TestId) -> Result<Option<Waiting>> {
    Ok(
        sqlx::query_scalar!("SELECT what FROM test_waiting WHERE test_id = ?1", test)
            .fetch_optional(db)
            .await?,
    )
}

impl Line {
    /// What is to be said of its witness while there is none.
    pub fn awaited(&self) -> Option<String> {
        match (&self.named, &self.unseen_by) {
            _ if self.witness.is_some() => None,
            (Some(named), Some(unseen)) if named == unseen => {
                Some(format!("{unseen} did not see it"))
            }
            (Some(named), _) => Some(format!("{named} is named")),
            (None, Some(unseen)) => Some(format!("{unseen} did not see it")),
            (None, None) => None,
        }
    }
}

/// A gauge on test whose rebuild is not proved yet.
#[derive(Debug, Clone)]
pub struct OnTest {
    /// The gauge.
    pub tag: TagNumber,
    /// The vessel.
    pub vessel: String,
    /// What its latest test came to, if there was one.
    pub latest: Option<TestResult>,
}

/// Gauges on test that have not passed, by the day their rebuild was planned for.
pub async fn to_be_tested(db: &mut SqliteConnection, most: i64) -> Result<Vec<OnTest>> {
    Ok(sqlx::query_as!(
        OnTest,
        r#"SELECT g.tag, g.vessel,
             (SELECT t.result FROM pressure_test t WHERE t.rebuild_id = r.id ORDER BY t.id DESC LIMIT 1) AS "latest?: TestResult"
           FROM rebuild r INDEXED BY rebuild_open JOIN gauge g ON g.id = r.gauge_id
           WHERE r.state = 'on-test' AND r.state NOT IN ('returned', 'abandoned')
             AND 'passed' IS NOT (SELECT t.result FROM pressure_test t WHERE t.rebuild_id = r.id ORDER BY t.id DESC LIMIT 1)
           ORDER BY r.planned_for, r.id LIMIT ?1"#,
        most
    )
    .fetch_all(db)
    .await?)
}

/// How many tests were recorded in a year: the place of the last one, since none is left out.
pub async fn count_in(db: &mut SqliteConnection, year: i32) -> Result<i64> {
    let last = sqlx::query_scalar!(
        r#"SELECT max(ordinal) AS "last?: i64" FROM pressure_test WHERE year = ?1"#,
        year
    )
    .fetch_one(db)
    .await?;
    Ok(last.unwrap_or(0))
}

/// A test about to be recorded.
#[derive(Debug)]
pub struct NewTest<'a> {
    /// Its number, the year it counts in and its place in it.
    pub number: (&'a TestNumber, i32, i64),
    /// The gauge.
    pub gauge: GaugeId,
    /// The rebuild it belongs to.
    pub rebuild: Option<RebuildId>,
    /// The day.
    pub tested_on: Date,
    /// What came of it.
    pub result: TestResult,
    /// What it rests on.
    pub facts: &'a TestFacts,
    /// The pressure gauge.
    pub instrument: InstrumentId,
    /// The first test on the same pump, where it is not this one.
    pub pump_with: Option<&'a TestNumber>,
    /// Who made it and when, where it is entered from the sheet on paper.
    pub done: Option<(PersonId, Moment)>,
}

/// Records a test; the schema refuses a number left out or used twice.
pub async fn add(
    db: &mut SqliteConnection,
    test: &NewTest<'_>,
    person: PersonId,
    now: Moment,
) -> Result<TestId> {
    let facts = serde_json::to_string(test.facts)?;
    let (number, year, ordinal) = test.number;
    let (done_by, done_at) = test.done.unzip();
    let id = sqlx::query!(
        "INSERT INTO pressure_test (number, year, ordinal, gauge_id, rebuild_id, tested_on, result, facts, instrument_id, person_id, at, pump_with, done_by, done_at)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14)",
        number,
        year,
        ordinal,
        test.gauge,
        test.rebuild,
        test.tested_on,
        test.result,
        facts,
        test.instrument,
        person,
        now,
        test.pump_with,
        done_by,
        done_at
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(TestId(id))
}

/// Notes who witnessed a test.
pub async fn add_witness(
    db: &mut SqliteConnection,
    test: TestId,
    person: PersonId,
    now: Moment,
) -> Result<()> {
    sqlx::query!(
        "INSERT INTO witnessing (test_id, person_id, at) VALUES (?1, ?2, ?3)",
        test,
        person,
        now
    )
    .execute(db)
    .await?;
    Ok(())
}
