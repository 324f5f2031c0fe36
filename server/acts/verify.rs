//! The check of a whole register: the file, the audit chain, every sealed record against its seal,
//! the certificates, the stock balances, the due dates, the kits wanted and what to order of each. It
//! reads only and mends nothing.

use std::collections::HashMap;
use std::collections::hash_map::Entry;

use serde_json::Value;
use sqlx::{Connection, SqliteConnection};

use super::{Error, Result, needs, refresh_due};
use crate::record::audit::{BEGINNING, GONE, hex, read_seal, sha256_hex};
use crate::record::{CertificateId, GaugeId, KitId};
use crate::store::{self, audit};

/// Rows read at a time, so that memory does not grow with the register.
const AT_A_TIME: i64 = 2_000;
/// Findings listed before the check stops naming more.
const NAMED: usize = 50;

/// What a check found.
#[derive(Debug, Default)]
pub struct Report {
    /// Audit lines read.
    pub lines: i64,
    /// Sealed records compared.
    pub records: i64,
    /// Certificates compared.
    pub certificates: i64,
    /// Signatures of certificates checked with the keys they were made with.
    pub signatures: i64,
    /// Due dates recomputed.
    pub due_dates: i64,
    /// Kits reckoned again.
    pub kits: i64,
    /// Kits left out since they wait to be reckoned.
    pub kits_waiting: i64,
    /// Kits left out since they could not be reckoned.
    pub kits_refused: i64,
    /// The hash of the last audit line: noted elsewhere, it proves later that no line was cut off.
    pub head: String,
    /// What is wrong, in words that name the line or the record.
    pub findings: Vec<String>,
    /// Findings not named because there were too many.
    pub more: usize,
}

impl Report {
    fn find(&mut self, words: String) {
        if self.findings.len() < NAMED {
            self.findings.push(words);
        } else {
            self.more += 1;
        }
    }

    /// The kits that were checked, of how many where some were left out.
    pub fn kits_of(&self) -> String {
        let left_out = self.kits_waiting + self.kits_refused;
        if left_out == 0 {
            format!("{} kits", self.kits)
        } else {
            format!("{} of {} kits", self.kits, self.kits + left_out)
        }
    }

    /// What was left out and why, a sentence each.
    pub fn left_out(&self) -> Vec<String> {
        let kits = |count: i64, one: &str, many: &str| match count {
            0 => None,
            1 => Some(format!("1 kit {one}")),
            count => Some(format!("{count} kits {many}")),
        };
        let waiting = kits(
            self.kits_waiting,
            "is not reckoned yet; the register does so within minutes while it is served",
            "are not reckoned yet; the register does so within minutes while it is served",
        );
        let refused = kits(
            self.kits_refused,
            "could not be reckoned; the page of what to order says why",
            "could not be reckoned; the page of what to order says why",
        );
        waiting.into_iter().chain(refused).collect()
    }

    /// Whether nothing is wrong.
    pub fn sound(&self) -> bool {
        self.findings.is_empty()
    }
}

/// The last seal of every record: hash, and the audit line that carries it.
type Seals = HashMap<(&'static str, i64), (String, i64)>;

/// Checks everything as it stood at one moment: what is written beside the check is not seen half.
///
/// # Errors
/// Only when the database cannot be read at all; what is wrong with it is in the report.
pub async fn verify(db: &mut SqliteConnection) -> Result<Report> {
    let mut moment = db.begin().await.map_err(store::Error::from)?;
    let report = standing_still(&mut moment).await;
    moment.rollback().await.map_err(store::Error::from)?;
    report
}

async fn standing_still(db: &mut SqliteConnection) -> Result<Report> {
    let mut report = Report::default();
    for words in audit::damage(db).await? {
        report.find(format!("the file is damaged: {words}"));
    }
    let mut seals = Seals::new();
    chain(db, &mut report, &mut seals).await?;
    for table in audit::SEALED {
        records(db, table, &mut report, &mut seals).await?;
    }
    let mut missing: Vec<_> = seals
        .into_iter()
        .filter(|(_, (hash, _))| hash != GONE)
        .collect();
    missing.sort_by_key(|(_, (_, line))| *line);
    for ((table, id), (_, line)) in missing {
        report.find(format!(
            "record {table} {id} is gone, though audit line {line} wrote it"
        ));
    }
    certificates(db, &mut report).await?;
    for line in audit::wrong_balances(db).await? {
        report.find(format!(
            "stock line {line} does not add up with the lines before it"
        ));
    }
    due_dates(db, &mut report).await?;
    outlooks(db, &mut report).await?;
    let astray = store::stock::astray(db).await?
        + store::needs::astray(db).await?
        + store::instruments::astray(db).await?;
    if astray > 0 {
        report.find(format!(
            "{astray} rows that name lots on the shelf, kits wanted by day, gauges by class, kits awaited, calibrations in force or loadings of wrenches differ from the records they are made from"
        ));
    }
    let misplaced = store::stock::places_astray(db).await?;
    if misplaced > 0 {
        report.find(format!(
            "{misplaced} places hold another number of kits than the ledger and the moves give"
        ));
    }
    let renamed = store::people::names_astray(db).await?;
    if renamed > 0 {
        report.find(format!(
            "{renamed} people are kept under other names than they did their deeds under"
        ));
    }
    for (standing, kept, counted) in store::gauges::wrong_counts(db).await? {
        report.find(format!(
            "{kept} gauges are counted as {standing}, but there are {counted}"
        ));
    }
    let wrong = store::due_days::wrong_days(db).await?;
    if wrong > 0 {
        report.find(format!(
            "{wrong} days have another number of gauges kept than fall due on them"
        ));
    }
    let wrong = store::due_days::wrong_undated(db).await?;
    if wrong > 0 {
        report.find(format!(
            "{wrong} gauges are kept as without a due date and have one or are not in service, or the other way round"
        ));
    }
    Ok(report)
}

async fn chain(db: &mut SqliteConnection, report: &mut Report, seals: &mut Seals) -> Result<()> {
    let mut previous = BEGINNING.to_vec();
    let mut last = 0;
    loop {
        let lines = audit::lines_after(db, last, AT_A_TIME).await?;
        if lines.is_empty() {
            report.head = hex(&previous);
            return Ok(());
        }
        for kept in lines {
            let line = &kept.line;
            if line.id != last + 1 {
                report.find(format!("audit line {} is missing", last + 1));
            }
            if line.hash(&previous).as_slice() != kept.hash {
                report.find(format!(
                    "audit line {} was altered ({}, {}, {})",
                    line.id, line.who, line.deed, line.subject
                ));
            }
            keep_seals(&line.facts, line.id, seals);
            report.lines += 1;
            last = line.id;
            previous = kept.hash;
        }
    }
}

fn keep_seals(facts: &str, line: i64, seals: &mut Seals) {
    let Ok(facts) = serde_json::from_str::<Value>(facts) else {
        return;
    };
    let Some(list) = facts.get("seals").and_then(Value::as_array) else {
        return;
    };
    for (table, id, hash) in list.iter().filter_map(Value::as_str).filter_map(read_seal) {
        if let Some(table) = audit::SEALED.iter().find(|known| **known == table) {
            seals.insert((table, id), (hash.to_owned(), line));
        }
    }
}

async fn records(
    db: &mut SqliteConnection,
    table: &'static str,
    report: &mut Report,
    seals: &mut Seals,
) -> Result<()> {
    let canonical = audit::canonical_sql(db, table).await?;
    let mut last = 0;
    loop {
        let rows = audit::standing_after(db, table, &canonical, last, AT_A_TIME).await?;
        let Some(end) = rows.last() else {
            return Ok(());
        };
        last = end.id;
        for row in rows {
            report.records += 1;
            match seals.remove(&(table, row.id)) {
                None => report.find(format!("record {table} {} has no audit line", row.id)),
                Some((hash, line)) if hash != row.sha256 => report.find(format!(
                    "record {table} {} was altered since audit line {line} wrote it",
                    row.id
                )),
                Some(_) => {}
            }
        }
    }
}

async fn certificates(db: &mut SqliteConnection, report: &mut Report) -> Result<()> {
    let mut last = CertificateId(0);
    loop {
        let rows = store::issued::after(db, last, AT_A_TIME).await?;
        let Some(end) = rows.last() else {
            return Ok(());
        };
        last = end.id;
        for kept in rows {
            report.certificates += 1;
            let number = &kept.number;
            if sha256_hex(kept.record.as_bytes()) != kept.sha256 {
                report.find(format!(
                    "certificate {number} does not fit its own hash: it was altered"
                ));
            } else if let Some(seal) = &kept.seal {
                report.signatures += 1;
                if !seal.holds(&kept.record) {
                    report.find(format!(
                        "the signature under certificate {number} is not that of key {}",
                        seal.key.fingerprint
                    ));
                }
            }
        }
    }
}

/// Reckons each kit again on the day its row was reckoned on. Rows that something moved since are
/// left out: they are reckoned before anybody relies on them. The report says how many were.
async fn outlooks(db: &mut SqliteConnection, report: &mut Report) -> Result<()> {
    (report.kits_waiting, report.kits_refused) = store::needs::not_standing(db).await?;
    let mut grounds = HashMap::new();
    let mut last = KitId(0);
    loop {
        let rows = store::needs::standing_after(db, last, AT_A_TIME).await?;
        let Some((end, _)) = rows.last() else {
            return Ok(());
        };
        last = end.kit;
        for (kept, number) in rows {
            let Some(kit) = store::kits::by_id(db, kept.kit).await? else {
                continue;
            };
            let ground = match grounds.entry(kept.on) {
                Entry::Occupied(known) => known.into_mut(),
                Entry::Vacant(empty) => empty.insert(needs::ground(db, kept.on).await?),
            };
            report.kits += 1;
            match needs::reckoned(db, ground, &kit).await {
                Ok(computed) if computed == kept => {}
                Ok(_) => report.find(format!(
                    "what to order of kit {number} is kept otherwise than its stock, needs and orders give"
                )),
                Err(Error::Refused(refusal)) => {
                    report.find(format!("kit {number} cannot be reckoned: {refusal}"));
                }
                Err(error) => return Err(error),
            }
        }
    }
}

/// How a gauge is named: by its tag number, or by its row where it has lost that.
async fn named(db: &mut SqliteConnection, gauge: GaugeId) -> Result<String> {
    let found = store::gauges::by_id(db, gauge).await?;
    Ok(found.map_or_else(
        || format!("row {}", gauge.0),
        |gauge| gauge.particulars.tag.to_string(),
    ))
}

async fn due_dates(db: &mut SqliteConnection, report: &mut Report) -> Result<()> {
    let mut last = GaugeId(0);
    loop {
        let gauges = store::gauges::rows_after(db, last, AT_A_TIME).await?;
        let Some(end) = gauges.last() else {
            return Ok(());
        };
        last = *end;
        for gauge in gauges {
            let kept = store::due::find(db, gauge).await?;
            let kept_need = store::stock::need_of(db, gauge).await?;
            let (computed, need) = match refresh_due::projected(db, gauge).await {
                Ok(projected) => projected,
                Err(Error::Refused(refusal)) => {
                    let gauge = named(db, gauge).await?;
                    report.find(format!(
                        "gauge {gauge}: no due date can be computed: {refusal}"
                    ));
                    continue;
                }
                Err(error) => return Err(error),
            };
            report.due_dates += i64::from(computed.is_some());
            if kept != computed {
                let gauge = named(db, gauge).await?;
                report.find(format!(
                    "the due date kept for gauge {gauge} is not the one its facts give"
                ));
            }
            if kept_need != need {
                let gauge = named(db, gauge).await?;
                report.find(format!(
                    "the kits kept as wanted for gauge {gauge} are not those its facts give"
                ));
            }
        }
    }
}
