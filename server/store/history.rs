//! A gauge's whole history, newest first, as one question over every table that holds a part of it.
//! Each part is found by the gauge's own index, so the fleet's size does not enter.

use sqlx::SqliteConnection;
use time::Date;

use super::{Error, Result};
use crate::record::certificate_mark::Certified;
use crate::record::gauge::Change;
use crate::record::history::{Happened, Key, Line, Topic};
use crate::record::re_torque::ReTorque;
use crate::record::{GaugeId, Moment};

/// Which lines of the history.
#[derive(Debug, Clone, Copy, Default)]
pub struct Filter {
    /// Only lines older than this one.
    pub before: Option<Key>,
    /// Only lines of this kind.
    pub topic: Option<Topic>,
}

struct Row {
    topic: Topic,
    id: i64,
    at: Moment,
    on_date: Option<Date>,
    who: String,
    number: Option<String>,
    word: Option<String>,
    more: Option<String>,
    other: Option<String>,
    third: Option<String>,
    count: Option<i64>,
    limit_on: Option<Date>,
}

/// The lines of a gauge's history, newest first.
pub async fn of_gauge(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    filter: Filter,
    most: i64,
) -> Result<Vec<Line>> {
    let at = filter
        .before
        .map_or_else(|| "9".to_owned(), |key| key.at.text());
    let topic = filter.before.map_or("", |key| key.topic.word());
    let id = filter.before.map_or(0, |key| key.id);
    // What a wrench or a caliper was used for at the bench carries a day and no hour; it stands at
    // the end of its day. Who used it is told by the line of the deed that sealed the use.
    let rows = sqlx::query_as!(
        Row,
        r#"SELECT h.topic AS "topic!: Topic", h.id AS "id!: i64", h.at AS "at!: Moment", h.on_date AS "on_date?: Date", h.who AS "who!: String",
             h.number AS "number?: String", h.word AS "word?: String", h.more AS "more?: String", h.other AS "other?: String",
             h.third AS "third?: String", h.count AS "count?: i64", h.limit_on AS "limit_on?: Date"
           FROM (
             SELECT 'rebuild' AS topic, r.id AS id, coalesce(r.ended_at, r.planned_at) AS at, coalesce(r.ended_on, r.planned_for) AS on_date,
               coalesce(e.name, p.name) AS who, CAST(r.ordinal AS TEXT) AS number, r.state AS word,
               coalesce(r.abandoned_reason, r.note) AS more, r.cause AS other, NULL AS third, r.ordinal AS count, NULL AS limit_on
             FROM rebuild r JOIN known_as p ON p.person_id = r.planned_by AND p.since <= r.planned_at AND p.until > r.planned_at LEFT JOIN known_as e ON e.person_id = r.ended_by AND e.since <= r.ended_at AND e.until > r.ended_at WHERE r.gauge_id = ?1
             UNION ALL
             SELECT 'test', t.id, t.at, t.tested_on,
               p.name, t.number, t.result, c.number,
               w.name, (SELECT s.standing FROM certificate_standing s WHERE s.certificate_id = c.id), NULL, NULL
             FROM pressure_test t JOIN known_as p ON p.person_id = coalesce(t.done_by, t.person_id) AND p.since <= coalesce(t.done_at, t.at) AND p.until > coalesce(t.done_at, t.at) LEFT JOIN certificate c ON c.test_id = t.id AND NOT EXISTS (SELECT 1 FROM certificate n WHERE n.supersedes = c.id)
               LEFT JOIN witnessing y ON y.test_id = t.id LEFT JOIN known_as w ON w.person_id = y.person_id AND w.since <= y.at AND w.until > y.at WHERE t.gauge_id = ?1
             UNION ALL
             SELECT 'look-over', l.id, l.at, l.on_date,
               p.name, NULL, l.found, l.note, b.name, l.taken_back_why,
               l.taken_back_at IS NULL AND (SELECT g.standing FROM gauge g WHERE g.id = ?1) <> 'retired', NULL
             FROM look_over l JOIN known_as p ON p.person_id = l.person_id AND p.since <= l.at AND p.until > l.at
               LEFT JOIN known_as b ON b.person_id = l.taken_back_by AND b.since <= l.taken_back_at AND b.until > l.taken_back_at WHERE l.gauge_id = ?1
             UNION ALL
             SELECT 'failure', f.id, f.at, f.seen_on,
               p.name, NULL, f.kind, f.note, b.name, f.taken_back_why, r.ordinal, NULL
             FROM failure f JOIN known_as p ON p.person_id = f.person_id AND p.since <= f.at AND p.until > f.at LEFT JOIN rebuild r ON r.id = f.rebuild_id
               LEFT JOIN known_as b ON b.person_id = f.taken_back_by AND b.since <= f.taken_back_at AND b.until > f.taken_back_at WHERE f.gauge_id = ?1
             UNION ALL
             SELECT 'deferral', d.id, d.at, d.until_on,
               p.name, NULL, NULL, d.reason, NULL, NULL, NULL, d.hard_limit_on
             FROM deferral d JOIN known_as p ON p.person_id = d.person_id AND p.since <= d.at AND p.until > d.at WHERE d.gauge_id = ?1
             UNION ALL
             SELECT 'register', a.id, a.at, NULL, a.who, NULL, a.deed, a.facts, NULL, NULL, NULL, NULL
             FROM audit a WHERE a.gauge_id = ?1
               AND a.deed IN ('took into the register', 'corrected', 'put to rest', 'brought back into service', 'retired')
             UNION ALL
             SELECT 'stock', s.id, s.at, s.on_date,
               p.name, o.number, s.kind, NULL, k.number, CAST(r.ordinal AS TEXT), abs(s.quantity), NULL
             FROM rebuild r JOIN stock_line s ON s.rebuild_id = r.id JOIN lot o ON o.id = s.lot_id JOIN kit k ON k.id = o.kit_id
               JOIN known_as p ON p.person_id = s.person_id AND p.since <= s.at AND p.until > s.at WHERE r.gauge_id = ?1 AND s.kind IN ('issue', 'return')
             UNION ALL
             SELECT 'instrument', min(u.id), u.used_on || 'T23:59:59.999Z', u.used_on, coalesce(w.who, ''), i.number, i.kind, w.deed, NULL, NULL, r.ordinal, NULL
             FROM rebuild r JOIN instrument_use u ON u.rebuild_id = r.id JOIN instrument i ON i.id = u.instrument_id
               LEFT JOIN (SELECT CAST(substr(s.value, 16) AS INTEGER) AS use_id, a.who AS who, a.deed AS deed
                 FROM audit a CROSS JOIN json_each(a.facts, '$.seals') s WHERE a.gauge_id = ?1 AND s.value LIKE 'instrument_use/%') w ON w.use_id = u.id
             WHERE r.gauge_id = ?1 AND u.test_id IS NULL GROUP BY r.id, i.id, u.used_on, w.who, w.deed = 'tightened again'
             UNION ALL
             SELECT 'instrument', u.id, t.at, u.used_on,
               p.name, i.number, i.kind, NULL, t.number, NULL, NULL, NULL
             FROM pressure_test t JOIN instrument_use u ON u.test_id = t.id JOIN instrument i ON i.id = u.instrument_id
               JOIN known_as p ON p.person_id = coalesce(t.done_by, t.person_id) AND p.since <= coalesce(t.done_at, t.at) AND p.until > coalesce(t.done_at, t.at) WHERE t.gauge_id = ?1
             UNION ALL
             SELECT 'photograph', n.id, n.at, NULL,
               p.name, lower(hex(n.sha256)), NULL, NULL, NULL, NULL, NULL, NULL
             FROM nameplate_photo n JOIN known_as p ON p.person_id = n.person_id AND p.since <= n.at AND p.until > n.at WHERE n.gauge_id = ?1
             UNION ALL
             SELECT 're-torque', t.id, t.at, t.on_date,
               p.name, t.facts ->> 'wrench', NULL, t.facts, NULL, NULL, r.ordinal, NULL
             FROM re_torque t JOIN known_as p ON p.person_id = t.person_id AND p.since <= t.at AND p.until > t.at JOIN rebuild r ON r.id = t.rebuild_id WHERE t.gauge_id = ?1
           ) h
           WHERE (h.at, h.topic, h.id) < (?2, ?3, ?4) AND (?5 IS NULL OR h.topic = ?5)
           ORDER BY h.at DESC, h.topic DESC, h.id DESC LIMIT ?6"#,
        gauge,
        at,
        topic,
        id,
        filter.topic,
        most
    )
    .fetch_all(db)
    .await?;
    rows.into_iter().map(Row::line).collect()
}

impl Row {
    fn line(self) -> Result<Line> {
        let key = Key {
            at: self.at,
            topic: self.topic,
            id: self.id,
        };
        // A deferral speaks of a day to come and was signed on the day it was recorded.
        let on = self.on_date.filter(|_| self.topic != Topic::Deferral);
        let who = self.who.clone();
        let happened = self
            .happened()
            .ok_or_else(|| Error::Unreadable(format!("line {} of a history", key.text())))?;
        Ok(Line {
            key,
            on,
            who,
            happened,
        })
    }

    /// The columns every kind of line shares, read as the kind means them.
    fn happened(self) -> Option<Happened> {
        let more = self.more.unwrap_or_default();
        Some(match self.topic {
            Topic::Rebuild => Happened::Rebuild {
                ordinal: self.count?,
                state: self.word?.parse().ok()?,
                cause: self.other?.parse().ok()?,
                note: more,
            },
            Topic::Test => Happened::Test {
                number: self.number?.parse().ok()?,
                result: self.word?.parse().ok()?,
                witness: self.other,
                certificate: Certified::of(
                    Some(more)
                        .filter(|n| !n.is_empty())
                        .and_then(|n| n.parse().ok()),
                    self.third.and_then(|word| word.parse().ok()),
                ),
            },
            Topic::LookOver => Happened::LookOver {
                found: self.word?.parse().ok()?,
                note: more,
                may_go: self.count == Some(1),
                taken_back: self.third.map(|why| (self.other.unwrap_or_default(), why)),
            },
            Topic::Failure => Happened::Failure {
                kind: self.word?.parse().ok()?,
                note: more,
                answered_by: self.count,
                taken_back: self.third.map(|why| (self.other.unwrap_or_default(), why)),
            },
            Topic::Deferral => Happened::Deferral {
                until: self.on_date?,
                hard_limit: self.limit_on?,
                reason: more,
            },
            Topic::Register => {
                let facts: serde_json::Value = serde_json::from_str(&more).ok()?;
                let changes = facts.get("changes").cloned().unwrap_or_default();
                Happened::Register {
                    deed: self.word?,
                    changes: serde_json::from_value::<Vec<Change>>(changes).unwrap_or_default(),
                    reason: facts
                        .get("reason")
                        .and_then(serde_json::Value::as_str)
                        .unwrap_or_default()
                        .to_owned(),
                }
            }
            Topic::Stock => Happened::Stock {
                movement: self.word?.parse().ok()?,
                lot: self.number?.parse().ok()?,
                kit: self.other?.parse().ok()?,
                quantity: self.count?,
                ordinal: self.third?.parse().ok()?,
            },
            Topic::Instrument => Happened::Instrument {
                number: self.number?.parse().ok()?,
                kind: self.word?.parse().ok()?,
                ordinal: self.count,
                after: more == "tightened again",
                test: self.other.and_then(|n| n.parse().ok()),
            },
            Topic::ReTorque => {
                let facts: ReTorque = serde_json::from_str(&more).ok()?;
                Happened::ReTorque {
                    ordinal: self.count?,
                    torque: facts.torque.to_string(),
                    wrench: facts.wrench,
                }
            }
            Topic::Photograph => Happened::Photograph { mark: self.number? },
        })
    }
}
