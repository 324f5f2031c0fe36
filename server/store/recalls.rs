//! Recalls: opening one, what relied on what was recalled with the certificates that rest on it, and
//! the decisions made. What a decision does is in `acts::recalls`.

use std::collections::BTreeMap;

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::record::certificate_mark::{Certified, Today};
use crate::record::recall::{About, Decided, Decision, Recall, Recalled, Relying};
use crate::record::{
    CertificateId, CertificateNumber, GaugeId, InstrumentId, InstrumentNumber, KitNumber, LotId,
    LotNumber, Moment, PersonId, RebuildId, RecallId, TagNumber, TestId, TestNumber,
};

/// What is recalled, by its row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// An instrument.
    Instrument(InstrumentId),
    /// A lot.
    Lot(LotId),
}

/// A recall about to be opened.
#[derive(Debug, Clone, Copy)]
pub struct NewRecall<'a> {
    /// Of what.
    pub of: Of,
    /// The last day it was known to be good.
    pub since: Option<Date>,
    /// The day it was found bad.
    pub until: Date,
    /// What was found.
    pub reason: &'a str,
}

/// Opens a recall.
pub async fn add(
    db: &mut SqliteConnection,
    new: &NewRecall<'_>,
    person: PersonId,
    now: Moment,
) -> Result<RecallId> {
    let (instrument, lot) = match new.of {
        Of::Instrument(id) => (Some(id), None),
        Of::Lot(id) => (None, Some(id)),
    };
    let id = sqlx::query!(
        "INSERT INTO recall (instrument_id, lot_id, since_on, until_on, reason, person_id, at) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        instrument,
        lot,
        new.since,
        new.until,
        new.reason,
        person,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid();
    Ok(RecallId(id))
}

macro_rules! recalls {
    ($ending:literal $(, $value:expr)*) => {
        sqlx::query!(
            r#"SELECT r.id AS "id!: RecallId", r.instrument_id AS "instrument_id?: InstrumentId", r.lot_id AS "lot_id?: LotId",
                 i.number AS "instrument?: InstrumentNumber", l.number AS "lot?: LotNumber", k.number AS "kit?: KitNumber",
                 r.since_on, r.until_on, r.reason,
             p.name AS "person!: String", r.at
               FROM recall r JOIN known_as p ON p.person_id = r.person_id AND p.since <= r.at AND p.until > r.at LEFT JOIN instrument i ON i.id = r.instrument_id
               LEFT JOIN lot l ON l.id = r.lot_id LEFT JOIN kit k ON k.id = l.kit_id "#
                + $ending
            $(, $value)*
        )
    };
}

macro_rules! recall {
    ($row:expr) => {{
        let row = $row;
        let of = match (row.instrument, row.kit, row.lot) {
            (Some(number), ..) => Recalled::Instrument(number),
            (None, Some(kit), Some(lot)) => Recalled::Lot(kit, lot),
            _ => return Err(super::Error::Unreadable("a recall of nothing".to_owned())),
        };
        Recall {
            id: row.id,
            of,
            since: row.since_on,
            until: row.until_on,
            reason: row.reason,
            person: row.person,
            at: row.at,
        }
    }};
}

/// A recall by its number, and the row of what it recalls.
pub async fn by_id(db: &mut SqliteConnection, id: RecallId) -> Result<Option<(Recall, Of)>> {
    let Some(row) = recalls!("WHERE r.id = ?1", id).fetch_optional(db).await? else {
        return Ok(None);
    };
    let of = match (row.instrument_id, row.lot_id) {
        (Some(id), _) => Of::Instrument(id),
        (None, Some(id)) => Of::Lot(id),
        (None, None) => return Err(super::Error::Unreadable("a recall of nothing".to_owned())),
    };
    Ok(Some((recall!(row), of)))
}

/// The recalls of an instrument or a lot, the latest first.
pub async fn of(db: &mut SqliteConnection, of: Of) -> Result<Vec<Recall>> {
    let mut list = Vec::new();
    match of {
        Of::Instrument(id) => {
            let rows = recalls!(
                "WHERE r.instrument_id = ?1 ORDER BY r.id DESC LIMIT 100",
                id
            );
            for row in rows.fetch_all(db).await? {
                list.push(recall!(row));
            }
        }
        Of::Lot(id) => {
            let rows = recalls!("WHERE r.lot_id = ?1 ORDER BY r.id DESC LIMIT 100", id);
            for row in rows.fetch_all(db).await? {
                list.push(recall!(row));
            }
        }
    }
    Ok(list)
}

/// Every recall before one, the latest first.
pub async fn list(
    db: &mut SqliteConnection,
    before: Option<RecallId>,
    most: i64,
) -> Result<Vec<Recall>> {
    let rows = recalls!(
        "WHERE ?1 IS NULL OR r.id < ?1 ORDER BY r.id DESC LIMIT ?2",
        before,
        most
    );
    let mut list = Vec::new();
    for row in rows.fetch_all(db).await? {
        list.push(recall!(row));
    }
    Ok(list)
}

/// How many recalls have something nobody decided about yet.
pub async fn count_undecided(db: &mut SqliteConnection) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"SELECT count(*) AS "count!: i64" FROM recall r WHERE
             EXISTS (SELECT 1 FROM instrument_use u WHERE u.instrument_id = r.instrument_id
               AND u.used_on >= coalesce(r.since_on, '') AND u.used_on <= r.until_on
               AND NOT EXISTS (SELECT 1 FROM recall_decision d WHERE d.recall_id = r.id
                 AND ((u.test_id IS NOT NULL AND d.test_id = u.test_id) OR (u.test_id IS NULL AND d.rebuild_id = u.rebuild_id))))
             OR EXISTS (SELECT 1 FROM stock_line s WHERE s.lot_id = r.lot_id AND s.rebuild_id IS NOT NULL AND s.kind IN ('issue', 'return')
               AND NOT EXISTS (SELECT 1 FROM recall_decision d WHERE d.recall_id = r.id AND d.rebuild_id = s.rebuild_id)
               GROUP BY s.rebuild_id HAVING sum(s.quantity) < 0)"#
    )
    .fetch_one(db)
    .await?)
}

struct RelyingRow {
    rebuild_id: Option<RebuildId>,
    test_id: Option<TestId>,
    gauge_id: GaugeId,
    tag: TagNumber,
    ordinal: Option<i64>,
    test: Option<TestNumber>,
    first_on: Date,
    last_on: Date,
    place: i64,
}

/// Which of the things that relied on what was recalled.
#[derive(Debug, Clone, Copy)]
pub enum Part<'a> {
    /// Every one.
    All,
    /// These, as far as they relied on it.
    Of(&'a [About]),
    /// So many of the latest before a day and a place in it; of all days where none is named.
    Before(Option<(Date, i64)>, i64),
}

impl Part<'_> {
    /// The tests and the rebuilds asked for, as lists in JSON; none where all are.
    fn only(&self) -> Result<(Option<String>, Option<String>)> {
        let Self::Of(about) = self else {
            return Ok((None, None));
        };
        let (mut tests, mut rebuilds) = (Vec::new(), Vec::new());
        for one in *about {
            match one {
                About::Test(id) => tests.push(id.0),
                About::Rebuild(id) => rebuilds.push(id.0),
                About::Left => {}
            }
        }
        let text = |ids: &[i64]| serde_json::to_string(ids);
        Ok((Some(text(&tests)?), Some(text(&rebuilds)?)))
    }

    /// Where the part begins, and its length as SQLite takes it: below zero is without end.
    fn page(&self) -> (Option<Date>, Option<i64>, i64) {
        match self {
            Self::Before(before, most) => {
                let (on, place) = before.unzip();
                (on, place, *most)
            }
            Self::All | Self::Of(_) => (None, None, -1),
        }
    }
}

/// What relied on what was recalled, the latest first.
pub async fn relying(
    db: &mut SqliteConnection,
    recall: RecallId,
    on: Of,
    part: Part<'_>,
) -> Result<Vec<Relying>> {
    let (tests, rebuilds) = part.only()?;
    let (before_on, before_place, most) = part.page();
    let rows = match on {
        Of::Instrument(_) => {
            sqlx::query_as!(
                RelyingRow,
                r#"SELECT iif(u.test_id IS NULL, u.rebuild_id, NULL) AS "rebuild_id?: RebuildId", u.test_id AS "test_id?: TestId",
                     g.id AS "gauge_id!: GaugeId", g.tag AS "tag!: TagNumber", b.ordinal AS "ordinal?: i64", t.number AS "test?: TestNumber",
                     min(u.used_on) AS "first_on!: Date", max(u.used_on) AS "last_on!: Date", max(u.use_id) AS "place!: i64"
                   FROM use_in_doubt u
                   LEFT JOIN rebuild b ON b.id = u.rebuild_id LEFT JOIN pressure_test t ON t.id = u.test_id
                   JOIN gauge g ON g.id = coalesce(t.gauge_id, b.gauge_id)
                   WHERE u.recall_id = ?1 AND (?2 IS NULL OR u.test_id IN (SELECT value FROM json_each(?2))
                     OR (u.test_id IS NULL AND u.rebuild_id IN (SELECT value FROM json_each(?3))))
                   GROUP BY 1, 2 HAVING (max(u.used_on), max(u.use_id)) < (coalesce(?4, '9999'), coalesce(?5, 0))
                   ORDER BY max(u.used_on) DESC, max(u.use_id) DESC LIMIT ?6"#,
                recall,
                tests,
                rebuilds,
                before_on,
                before_place,
                most
            )
            .fetch_all(&mut *db)
            .await?
        }
        Of::Lot(_) => {
            sqlx::query_as!(
                RelyingRow,
                r#"SELECT s.rebuild_id AS "rebuild_id?: RebuildId", NULL AS "test_id?: TestId", g.id AS "gauge_id!: GaugeId",
                     g.tag AS "tag!: TagNumber", b.ordinal AS "ordinal?: i64", NULL AS "test?: TestNumber",
                     min(s.on_date) AS "first_on!: Date", max(s.on_date) AS "last_on!: Date", s.rebuild_id AS "place!: i64"
                   FROM recall r JOIN stock_line s ON s.lot_id = r.lot_id AND s.rebuild_id IS NOT NULL
                   JOIN rebuild b ON b.id = s.rebuild_id JOIN gauge g ON g.id = b.gauge_id
                   WHERE r.id = ?1 AND s.kind IN ('issue', 'return')
                     AND (?2 IS NULL OR s.rebuild_id IN (SELECT value FROM json_each(?2)))
                   GROUP BY s.rebuild_id
                   HAVING sum(s.quantity) < 0 AND (max(s.on_date), s.rebuild_id) < (coalesce(?3, '9999'), coalesce(?4, 0))
                   ORDER BY max(s.on_date) DESC, s.rebuild_id DESC LIMIT ?5"#,
                recall,
                rebuilds,
                before_on,
                before_place,
                most
            )
            .fetch_all(&mut *db)
            .await?
        }
    };
    let mut certificates = certificates(db, &rows).await?;
    Ok(rows
        .into_iter()
        .filter_map(|row| {
            let about = match (row.test_id, row.rebuild_id) {
                (Some(test), _) => About::Test(test),
                (None, Some(rebuild)) => About::Rebuild(rebuild),
                (None, None) => return None,
            };
            Some(Relying {
                certificates: certificates.remove(&about).unwrap_or_default(),
                about,
                gauge_id: row.gauge_id,
                tag: row.tag,
                ordinal: row.ordinal,
                test: row.test,
                first_on: row.first_on,
                last_on: row.last_on,
                place: row.place,
            })
        })
        .collect())
}

/// How many things relied on what was recalled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Counted {
    /// All of them.
    pub all: i64,
    /// Those nobody decided about.
    pub open: i64,
}

/// Counts what relied on what was recalled; what is left of a lot is not among it.
pub async fn count_relying(db: &mut SqliteConnection, recall: RecallId, on: Of) -> Result<Counted> {
    let counted = match on {
        Of::Instrument(_) => {
            sqlx::query_as!(
                Counted,
                r#"SELECT count(*) AS "all!: i64", count(*) FILTER (WHERE NOT EXISTS (SELECT 1 FROM recall_decision d
                     WHERE d.recall_id = ?1 AND d.test_id IS u.test AND d.rebuild_id IS u.rebuild)) AS "open!: i64"
                   FROM (SELECT DISTINCT iif(test_id IS NULL, rebuild_id, NULL) AS rebuild, test_id AS test
                         FROM use_in_doubt WHERE recall_id = ?1) u"#,
                recall
            )
            .fetch_one(db)
            .await?
        }
        Of::Lot(_) => {
            sqlx::query_as!(
                Counted,
                r#"SELECT count(*) AS "all!: i64", count(*) FILTER (WHERE NOT EXISTS (SELECT 1 FROM recall_decision d
                     WHERE d.recall_id = ?1 AND d.rebuild_id = u.rebuild)) AS "open!: i64"
                   FROM (SELECT s.rebuild_id AS rebuild FROM recall r JOIN stock_line s ON s.lot_id = r.lot_id
                         WHERE r.id = ?1 AND s.rebuild_id IS NOT NULL AND s.kind IN ('issue', 'return')
                         GROUP BY s.rebuild_id HAVING sum(s.quantity) < 0) u"#,
                recall
            )
            .fetch_one(db)
            .await?
        }
    };
    Ok(counted)
}

/// The recalls to which a use of an instrument belongs and that nobody decided about it yet.
pub async fn reached_by(db: &mut SqliteConnection, instrument_use: i64) -> Result<Vec<RecallId>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT u.recall_id AS "id!: RecallId" FROM use_in_doubt u WHERE u.use_id = ?1 AND NOT EXISTS (
             SELECT 1 FROM recall_decision d WHERE d.recall_id = u.recall_id AND d.test_id IS u.test_id
               AND d.rebuild_id IS iif(u.test_id IS NULL, u.rebuild_id, NULL)) ORDER BY u.recall_id"#,
        instrument_use
    )
    .fetch_all(db)
    .await?)
}

/// The certificates that rest on rebuilds and tests: those of the tests, and of the tests that
/// proved the rebuilds.
async fn certificates(
    db: &mut SqliteConnection,
    rows: &[RelyingRow],
) -> Result<BTreeMap<About, Vec<(CertificateId, Certified)>>> {
    let tests: Vec<i64> = rows.iter().filter_map(|r| Some(r.test_id?.0)).collect();
    let rebuilds: Vec<i64> = rows.iter().filter_map(|r| Some(r.rebuild_id?.0)).collect();
    let (tests, rebuilds) = (
        serde_json::to_string(&tests)?,
        serde_json::to_string(&rebuilds)?,
    );
    let found = sqlx::query!(
        r#"SELECT c.id AS "id!: CertificateId", c.number AS "number!: CertificateNumber",
             (SELECT s.standing FROM certificate_standing s WHERE s.certificate_id = c.id) AS "standing!: Today",
             t.id AS "test!: TestId", NULL AS "rebuild?: RebuildId"
           FROM pressure_test t JOIN certificate c ON c.test_id = t.id WHERE t.id IN (SELECT value FROM json_each(?1))
           UNION ALL
           SELECT c.id, c.number, (SELECT s.standing FROM certificate_standing s WHERE s.certificate_id = c.id), t.id, t.rebuild_id
           FROM pressure_test t JOIN certificate c ON c.test_id = t.id
           WHERE t.rebuild_id IN (SELECT value FROM json_each(?2))"#,
        tests,
        rebuilds
    )
    .fetch_all(db)
    .await?;
    let mut map: BTreeMap<About, Vec<_>> = BTreeMap::new();
    for row in found {
        let about = row.rebuild.map_or(About::Test(row.test), About::Rebuild);
        let (number, standing) = (row.number, row.standing);
        map.entry(about)
            .or_default()
            .push((row.id, Certified { number, standing }));
    }
    Ok(map)
}

/// Every decision of a recall, in the order they were made; the latest about a thing counts.
pub async fn decisions(db: &mut SqliteConnection, recall: RecallId) -> Result<Vec<Decided>> {
    let rows = sqlx::query!(
        r#"SELECT d.rebuild_id AS "rebuild?: RebuildId", d.test_id AS "test?: TestId", d.decision, d.reason,
             p.name AS "person!: String", d.at
           FROM recall_decision d JOIN known_as p ON p.person_id = d.person_id AND p.since <= d.at AND p.until > d.at WHERE d.recall_id = ?1 ORDER BY d.id"#,
        recall
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| Decided {
            about: match (row.test, row.rebuild) {
                (Some(test), _) => About::Test(test),
                (None, Some(rebuild)) => About::Rebuild(rebuild),
                (None, None) => About::Left,
            },
            decision: row.decision,
            reason: row.reason,
            person: row.person,
            at: row.at,
        })
        .collect())
}

/// A decision about to be made.
#[derive(Debug, Clone, Copy)]
pub struct NewDecision<'a> {
    /// In which recall.
    pub recall: RecallId,
    /// About what.
    pub about: About,
    /// On which gauge; none for what is left of a lot.
    pub gauge: Option<GaugeId>,
    /// What.
    pub decision: Decision,
    /// Why.
    pub reason: &'a str,
    /// The plant's date.
    pub on: Date,
}

/// Keeps a decision; returns its row.
pub async fn add_decision(
    db: &mut SqliteConnection,
    new: &NewDecision<'_>,
    person: PersonId,
    now: Moment,
) -> Result<i64> {
    let (rebuild, test) = match new.about {
        About::Rebuild(id) => (Some(id), None),
        About::Test(id) => (None, Some(id)),
        About::Left => (None, None),
    };
    Ok(sqlx::query!(
        "INSERT INTO recall_decision (recall_id, rebuild_id, test_id, gauge_id, decision, reason, on_date, person_id, at)
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        new.recall,
        rebuild,
        test,
        new.gauge,
        new.decision,
        new.reason,
        new.on,
        person,
        now
    )
    .execute(db)
    .await?
    .last_insert_rowid())
}
