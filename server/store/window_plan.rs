//! What a window's plan is made of: the gauges it could take, those chosen, and what their kits and
//! bolting ask for. What leaving one out means is decided in `calc::due`.

use rust_decimal::Decimal;
use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use super::columns::{Digits, Pull, stamped};
use super::due::{COUNTED, Row};
use super::windows::Window;
use crate::calc::due::{Candidate as Cause, Rule};
use crate::calc::quantity::{StampedTorque, TorqueUnit};
use crate::record::gauge::{Isolation, Kind, Standing};
use crate::record::rebuild::RebuildState;
use crate::record::{AreaId, GaugeId, KitId, KitNumber, Moment, PersonId, TagNumber, WindowId};

/// A gauge a window could take.
#[derive(Debug, Clone)]
pub struct Candidate {
    /// The gauge.
    pub gauge_id: GaugeId,
    /// Its tag number.
    pub tag: TagNumber,
    /// The vessel.
    pub vessel: String,
    /// What it shows.
    pub service: String,
    /// Reflex or transparent.
    pub kind: Kind,
    /// How many sections.
    pub sections: i64,
    /// Nuts of one section; as many as it can have where nobody wrote them down.
    pub nuts: i64,
    /// When it can be isolated.
    pub isolation: Isolation,
    /// Whether that was only assumed for the whole list it came with.
    pub isolation_assumed: bool,
    /// Its kit.
    pub kit: Option<KitNumber>,
    /// Kits for a rebuild.
    pub kits: i64,
    /// The cover bolt torque, as stamped.
    pub torque: Option<StampedTorque>,
    /// Whether somebody looked and the nameplate does not tell it.
    pub torque_unreadable: bool,
    /// The rule that governs its due date.
    pub rule: Option<Rule>,
    /// The date of the rule.
    pub date: Option<Date>,
    /// The real latest date.
    pub latest_on: Option<Date>,
    /// What the windows did.
    pub pull: Option<Pull>,
    /// What asks for the work that may need a shutdown, look-overs left out.
    pub work: Option<Cause>,
    /// What asks for its next rebuild.
    pub rebuilt_for: Option<Cause>,
    /// The latest day of that rebuild.
    pub rebuild_on: Option<Date>,
    /// The state and the day of an open rebuild.
    pub rebuild: Option<(RebuildState, Date)>,
    /// Whether it is in service, resting or retired.
    pub standing: Standing,
    /// The area it hangs in.
    pub area_id: AreaId,
}

impl Candidate {
    /// Why no rebuild of it can be planned into a window of this area, if none can: it was retired or
    /// hung elsewhere after it was chosen.
    pub fn out_of_place(&self, area: AreaId) -> Option<&'static str> {
        if self.standing == Standing::Retired {
            Some("is retired")
        } else if self.area_id != area {
            Some("hangs in another area now")
        } else {
            None
        }
    }

    /// Whether it is out of service, so that it stands on no list of due dates.
    pub fn resting(&self) -> bool {
        self.standing == Standing::Resting
    }

    /// Takes over what asks for its work, as the due dates hold it of a gauge in service.
    pub fn falls_due(&mut self, row: &Row) {
        self.rule = Some(row.rule);
        self.date = Some(row.date);
        self.latest_on = Some(row.latest_on);
        self.pull = Some(row.pull);
        self.work = cause(row.work_rule, row.work_date);
        self.rebuilt_for = cause(row.rebuild_rule, row.rebuild_date);
        self.rebuild_on = row.rebuild_on;
    }

    /// Where its rebuild stands that is under way today, before the window begins, and was planned for none
    /// of the window's days: no hours of the window are counted for it until its first day.
    pub fn under_way(&self, window: &Window, today: Date) -> Option<RebuildState> {
        let (state, planned_for) = self.rebuild?;
        let days = window.starts_on..=window.ends_on;
        let before = today < window.starts_on && !days.contains(&planned_for);
        (state.under_way() && before).then_some(state)
    }

    /// Whether its rebuild is planned for a day outside of the window and not begun, so that it may be given
    /// a day of the window.
    pub fn may_move_into(&self, window: &Window) -> bool {
        let days = window.starts_on..=window.ends_on;
        self.out_of_place(window.area_id).is_none()
            && self
                .rebuild
                .is_some_and(|(state, day)| !state.under_way() && !days.contains(&day))
    }

    /// Hours of a window it takes, where the planner wrote what one takes.
    pub fn hours(&self, hours: &Hours, window: &Window, today: Date) -> Option<Decimal> {
        if self.under_way(window, today).is_some() || !hours.tell_what_one_takes() {
            return None;
        }
        let sections = hours.section.unwrap_or_default() * Decimal::from(self.sections);
        Some(hours.gauge.unwrap_or_default() + sections)
    }
}

/// What asks for work, where rule and date are known.
pub(super) fn cause(rule: Option<Rule>, date: Option<Date>) -> Option<Cause> {
    let (rule, date) = rule.zip(date)?;
    Some(Cause { rule, date })
}

macro_rules! candidates {
    ($db:expr, $from:literal $(, $value:expr)*) => {{
        let rows = sqlx::query!(
            r#"SELECT g.id AS "id!: GaugeId", g.tag AS "tag!: TagNumber", g.vessel AS "vessel!: String", g.service AS "service!: String",
                 g.kind AS "kind!: Kind", g.sections AS "sections!: i64", g.bolts_per_rail AS "bolts?: i64", g.isolation AS "isolation!: Isolation",
                 EXISTS (SELECT 1 FROM json_each(g.assumed) WHERE value = 'isolation') AS "isolation_assumed!: bool",
                 k.number AS "kit?: KitNumber", g.kits_per_rebuild AS "kits!: i64", g.torque_value AS "torque_value?: Digits",
                 g.torque_unit AS "torque_unit?: TorqueUnit", g.torque_unreadable IS NOT NULL AS "torque_unreadable!: bool", d.rule AS "rule?: Rule", d.date AS "date?: Date",
                 d.latest_on AS "latest_on?: Date", d.pull AS "pull?: Pull", d.work_rule AS "work_rule?: Rule", d.work_date AS "work_date?: Date",
                 d.rebuild_rule AS "rebuild_rule?: Rule", d.rebuild_date AS "rebuild_date?: Date", d.rebuild_on AS "rebuild_on?: Date",
                 r.state AS "state?: RebuildState", r.planned_for AS "planned_for?: Date",
                 g.standing AS "standing!: Standing", g.area_id AS "area_id!: AreaId" "#
                + $from
            $(, $value)*
        )
        .fetch_all($db)
        .await?;
        rows.into_iter()
            .map(|row| Candidate {
                gauge_id: row.id,
                tag: row.tag,
                vessel: row.vessel,
                service: row.service,
                kind: row.kind,
                sections: row.sections,
                nuts: row.bolts.map_or(super::instruments::MOST_NUTS, |bolts| 2 * bolts),
                isolation: row.isolation,
                isolation_assumed: row.isolation_assumed,
                kit: row.kit,
                kits: row.kits,
                torque: stamped(row.torque_value, row.torque_unit),
                torque_unreadable: row.torque_unreadable,
                rule: row.rule,
                date: row.date,
                latest_on: row.latest_on,
                pull: row.pull,
                work: cause(row.work_rule, row.work_date),
                rebuilt_for: cause(row.rebuild_rule, row.rebuild_date),
                rebuild_on: row.rebuild_on,
                rebuild: row.state.zip(row.planned_for),
                standing: row.standing,
                area_id: row.area_id,
            })
            .collect()
    }};
}

/// The gauges that have to be done in a window and are not chosen into it yet, after a gauge.
pub async fn bound(
    db: &mut SqliteConnection,
    (window, area, ends_on): (WindowId, AreaId, Date),
    after: GaugeId,
    most: i64,
) -> Result<Vec<Candidate>> {
    Ok(candidates!(
        db,
        "FROM due d INDEXED BY due_in_window JOIN gauge g ON g.id = d.gauge_id LEFT JOIN kit k ON k.id = g.kit_id
           LEFT JOIN rebuild r ON r.gauge_id = g.id AND r.state NOT IN ('returned', 'abandoned')
         WHERE d.area_id = ?2 AND d.window_ends_on = ?3 AND d.gauge_id > ?4
           AND NOT EXISTS (SELECT 1 FROM window_choice c WHERE c.window_id = ?1 AND c.gauge_id = d.gauge_id)
         ORDER BY d.gauge_id LIMIT ?5",
        window,
        area,
        ends_on,
        after,
        most
    ))
}

/// The gauges of an area that find no window in time and are not chosen into this one, the soonest first.
pub async fn lost(
    db: &mut SqliteConnection,
    (window, area): (WindowId, AreaId),
    most: i64,
) -> Result<Vec<Candidate>> {
    Ok(candidates!(
        db,
        "FROM due d INDEXED BY due_without_window JOIN gauge g ON g.id = d.gauge_id LEFT JOIN kit k ON k.id = g.kit_id
           LEFT JOIN rebuild r ON r.gauge_id = g.id AND r.state NOT IN ('returned', 'abandoned')
         WHERE d.area_id = ?2 AND d.pull = 'no-window'
           AND NOT EXISTS (SELECT 1 FROM window_choice c WHERE c.window_id = ?1 AND c.gauge_id = d.gauge_id)
         ORDER BY d.latest_on, d.gauge_id LIMIT ?3",
        window,
        area,
        most
    ))
}

/// The gauges of an area that wait for a shutdown and whose open rebuild is planned for a day of a window,
/// though they are not chosen into it: they depend on the window all the same.
pub async fn planned_within(
    db: &mut SqliteConnection,
    window: &Window,
    most: i64,
) -> Result<Vec<Candidate>> {
    Ok(candidates!(
        db,
        "FROM rebuild r INDEXED BY rebuild_by_planned_day JOIN gauge g ON g.id = r.gauge_id LEFT JOIN kit k ON k.id = g.kit_id
           LEFT JOIN due d ON d.gauge_id = g.id
         WHERE r.state NOT IN ('returned', 'abandoned') AND r.planned_for >= ?3 AND r.planned_for <= ?4
           AND g.area_id = ?2 AND g.isolation = 'shutdown-only'
           AND NOT EXISTS (SELECT 1 FROM window_choice c WHERE c.window_id = ?1 AND c.gauge_id = g.id)
         ORDER BY g.id LIMIT ?5",
        window.id,
        window.area_id,
        window.starts_on,
        window.ends_on,
        most
    ))
}

/// How many they are, counted up to [`COUNTED`].
pub async fn count_lost(
    db: &mut SqliteConnection,
    (window, area): (WindowId, AreaId),
) -> Result<i64> {
    Ok(sqlx::query_scalar!(
        r#"WITH chosen AS (SELECT count(*) AS lost FROM window_choice c JOIN due d ON d.gauge_id = c.gauge_id
             WHERE c.window_id = ?1 AND d.area_id = ?2 AND d.pull = 'no-window')
           SELECT (SELECT count(*) FROM (SELECT 1 FROM due INDEXED BY due_without_window
             WHERE area_id = ?2 AND pull = 'no-window' LIMIT ?3 + (SELECT lost FROM chosen))) - (SELECT lost FROM chosen) AS "count!: i64""#,
        window,
        area,
        COUNTED
    )
    .fetch_one(db)
    .await?)
}

/// Other gauges of an area that fall due up to a day and are not chosen, the soonest first: the shutdown is
/// a chance for them.
pub async fn others(
    db: &mut SqliteConnection,
    (window, area, ends_on): (WindowId, AreaId, Date),
    until: Date,
    most: i64,
) -> Result<Vec<Candidate>> {
    Ok(candidates!(
        db,
        "FROM due d INDEXED BY due_area JOIN gauge g ON g.id = d.gauge_id LEFT JOIN kit k ON k.id = g.kit_id
           LEFT JOIN rebuild r ON r.gauge_id = g.id AND r.state NOT IN ('returned', 'abandoned')
         WHERE d.area_id = ?2 AND d.latest_on <= ?4 AND d.window_ends_on IS NOT ?3 AND d.pull <> 'no-window'
           AND NOT EXISTS (SELECT 1 FROM window_choice c WHERE c.window_id = ?1 AND c.gauge_id = d.gauge_id)
         ORDER BY d.latest_on, d.gauge_id LIMIT ?5",
        window,
        area,
        ends_on,
        until,
        most
    ))
}

/// The gauges chosen into a window, by tag number; of one that rests what asks for its work is not here.
pub async fn chosen(
    db: &mut SqliteConnection,
    window: WindowId,
    most: i64,
) -> Result<Vec<Candidate>> {
    Ok(candidates!(
        db,
        "FROM window_choice c JOIN gauge g ON g.id = c.gauge_id LEFT JOIN due d ON d.gauge_id = g.id LEFT JOIN kit k ON k.id = g.kit_id
           LEFT JOIN rebuild r ON r.gauge_id = g.id AND r.state NOT IN ('returned', 'abandoned')
         WHERE c.window_id = ?1 ORDER BY g.tag LIMIT ?2",
        window,
        most
    ))
}

/// Chooses a gauge into a window; the row, or none where it was chosen already.
pub async fn choose(
    db: &mut SqliteConnection,
    window: WindowId,
    gauge: GaugeId,
    person: PersonId,
    now: Moment,
) -> Result<Option<i64>> {
    let done = sqlx::query!(
        "INSERT INTO window_choice (window_id, gauge_id, person_id, at) VALUES (?1, ?2, ?3, ?4) ON CONFLICT DO NOTHING",
        window,
        gauge,
        person,
        now
    )
    .execute(db)
    .await?;
    Ok((done.rows_affected() == 1).then(|| done.last_insert_rowid()))
}

/// Leaves a gauge out of a window again; the row, or none where it was not chosen.
pub async fn leave_out(
    db: &mut SqliteConnection,
    window: WindowId,
    gauge: GaugeId,
) -> Result<Option<i64>> {
    Ok(sqlx::query_scalar!(
        r#"DELETE FROM window_choice WHERE window_id = ?1 AND gauge_id = ?2 RETURNING id AS "id!: i64""#,
        window,
        gauge
    )
    .fetch_optional(db)
    .await?)
}

/// Hours at the bench as the planner wrote them.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Hours {
    /// All there are.
    pub available: Option<Decimal>,
    /// What a gauge takes beside its sections.
    pub gauge: Option<Decimal>,
    /// What a section takes.
    pub section: Option<Decimal>,
}

impl Hours {
    /// Whether the planner wrote what a gauge or a section takes.
    pub const fn tell_what_one_takes(&self) -> bool {
        self.gauge.is_some() || self.section.is_some()
    }

    /// What chosen gauges take together, where the planner wrote what one takes.
    pub fn needed<'a>(
        &self,
        chosen: impl IntoIterator<Item = &'a Candidate>,
        window: &Window,
        today: Date,
    ) -> Option<Decimal> {
        let each = chosen.into_iter();
        self.tell_what_one_takes()
            .then(|| each.filter_map(|one| one.hours(self, window, today)).sum())
    }
}

/// The hours of a window.
pub async fn hours(db: &mut SqliteConnection, window: WindowId) -> Result<Hours> {
    let row = sqlx::query!(
        "SELECT bench_hours, hours_gauge, hours_section FROM shutdown_window WHERE id = ?1",
        window
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map_or_else(Hours::default, |row| Hours {
        available: row.bench_hours.map(|d| d.0),
        gauge: row.hours_gauge.map(|d| d.0),
        section: row.hours_section.map(|d| d.0),
    }))
}

/// Keeps the hours of a window, if nobody changed it since the version that was read.
pub async fn put_hours(
    db: &mut SqliteConnection,
    (window, version): (WindowId, i64),
    hours: &Hours,
) -> Result<bool> {
    let (available, gauge, section) = (
        hours.available.map(Digits),
        hours.gauge.map(Digits),
        hours.section.map(Digits),
    );
    let done = sqlx::query!(
        "UPDATE shutdown_window SET bench_hours = ?2, hours_gauge = ?3, hours_section = ?4, version = version + 1
         WHERE id = ?1 AND version = ?5",
        window,
        available,
        gauge,
        section,
        version
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// What the last rebuilds that were returned took at the bench, those within a day: how many, their sections,
/// their hours. Of what is only planned, or was abandoned, nobody knows what it takes.
pub async fn hours_seen(db: &mut SqliteConnection) -> Result<(i64, i64, f64)> {
    let row = sqlx::query!(
        r#"SELECT count(*) AS "rebuilds!: i64", coalesce(sum(sections), 0) AS "sections!: i64", coalesce(sum(hours), 0.0) AS "hours!: f64"
           FROM (SELECT g.sections, (julianday(r.ended_at) - julianday(r.started_at)) * 24 AS hours
                 FROM (SELECT * FROM rebuild INDEXED BY rebuild_returned WHERE state = 'returned' AND started_at IS NOT NULL ORDER BY id DESC LIMIT 200) r
                   JOIN gauge g ON g.id = r.gauge_id)
           WHERE hours > 0 AND hours < 24"#
    )
    .fetch_one(db)
    .await?;
    Ok((row.rebuilds, row.sections, row.hours))
}

/// What a window asks of one kit.
#[derive(Debug, Clone)]
pub struct KitWanted {
    /// The kit's row.
    pub kit_id: KitId,
    /// The kit.
    pub kit: KitNumber,
    /// Kits the chosen gauges still want from the shelf.
    pub wanted: i64,
    /// Kits other gauges want up to the last day of the window.
    pub others: i64,
    /// Kits promised up to the first day of the window.
    pub coming: i64,
}

/// What the chosen gauges want of each kit, beside what others want and what is on the way.
pub async fn kits_wanted(
    db: &mut SqliteConnection,
    window: WindowId,
    (starts_on, ends_on): (Date, Date),
) -> Result<Vec<KitWanted>> {
    Ok(sqlx::query_as!(
        KitWanted,
        r#"WITH own AS (
             SELECT g.kit_id AS kit_id,
               sum(max(g.kits_per_rebuild + coalesce((SELECT sum(s.quantity) FROM stock_line s
                     WHERE s.rebuild_id = r.id AND s.kind IN ('issue', 'return')), 0), 0)) AS wanted,
               coalesce(sum(n.kits) FILTER (WHERE n.on_date <= ?3), 0) AS counted
             FROM window_choice c JOIN gauge g ON g.id = c.gauge_id LEFT JOIN kit_need n ON n.gauge_id = g.id
               LEFT JOIN rebuild r ON r.gauge_id = g.id AND r.state NOT IN ('returned', 'abandoned')
             WHERE c.window_id = ?1 AND g.kit_id IS NOT NULL GROUP BY g.kit_id)
           SELECT own.kit_id AS "kit_id!: KitId", k.number AS "kit!: KitNumber", own.wanted AS "wanted!: i64",
             max(coalesce((SELECT sum(d.kits) FROM kit_need_day d WHERE d.kit_id = own.kit_id AND d.on_date <= ?3), 0) - own.counted, 0) AS "others!: i64",
             coalesce((SELECT sum(o.awaited) FROM kit_order_line o INDEXED BY kit_order_line_awaited
                       WHERE o.kit_id = own.kit_id AND o.awaited > 0 AND o.promised_on <= ?2), 0) AS "coming!: i64"
           FROM own JOIN kit k ON k.id = own.kit_id ORDER BY k.number"#,
        window,
        starts_on,
        ends_on
    )
    .fetch_all(db)
    .await?)
}

/// Kits that rebuilds planned before a window take first.
#[derive(Debug, Clone, Copy)]
pub struct Earlier {
    /// The kit.
    pub kit_id: KitId,
    /// The day they take them.
    pub on: Date,
    /// How many.
    pub kits: i64,
}

/// What is taken before a window's own gauges take theirs, by kit and day: rebuilds of other gauges
/// planned up to its first day, and gauges chosen into a window that begins before it. The windows are
/// walked first: there are few of them, and thousands of gauges may take a kit.
pub async fn taken_before(
    db: &mut SqliteConnection,
    (window, starts_on): (WindowId, Date),
    kits: &[KitId],
    today: Date,
) -> Result<Vec<Earlier>> {
    let list = serde_json::to_string(kits)?;
    Ok(sqlx::query_as!(
        Earlier,
        r#"WITH own AS (SELECT gauge_id FROM window_choice WHERE window_id = ?1)
           SELECT kit_id AS "kit_id!: KitId", max(on_date, ?4) AS "on!: Date", sum(kits) AS "kits!: i64" FROM (
             SELECT n.kit_id, n.on_date, n.kits
             FROM json_each(?3) j CROSS JOIN kit_need n INDEXED BY kit_need_reserved ON n.kit_id = j.value
             WHERE n.rebuild_id IS NOT NULL AND n.on_date <= max(?2, ?4) AND n.gauge_id NOT IN (SELECT gauge_id FROM own)
             UNION ALL
             SELECT g.kit_id, w.starts_on, g.kits_per_rebuild
             FROM shutdown_window w CROSS JOIN window_choice c ON c.window_id = w.id CROSS JOIN gauge g ON g.id = c.gauge_id
             WHERE w.ends_on >= ?4 AND (w.starts_on, w.id) < (?2, ?1) AND g.standing <> 'retired' AND g.area_id = w.area_id
               AND g.kit_id IN (SELECT value FROM json_each(?3)) AND g.id NOT IN (SELECT gauge_id FROM own)
               AND NOT EXISTS (SELECT 1 FROM rebuild r WHERE r.gauge_id = g.id AND r.state NOT IN ('returned', 'abandoned')))
           GROUP BY 1, 2 ORDER BY 1, 2"#,
        window,
        starts_on,
        list,
        today
    )
    .fetch_all(db)
    .await?)
}

/// A gauge that stands for all chosen ones of the same stamped rating and the same rules of testing,
/// and which they are.
pub async fn by_rating(
    db: &mut SqliteConnection,
    window: WindowId,
) -> Result<Vec<(GaugeId, Vec<GaugeId>)>> {
    let rows = sqlx::query!(
        r#"SELECT min(g.id) AS "id!: GaugeId", json_group_array(g.id) AS "gauges!: String"
           FROM window_choice c JOIN gauge g ON g.id = c.gauge_id WHERE c.window_id = ?1
           GROUP BY g.rating_value, g.rating_unit, g.service_class_id,
             (SELECT t.gauge_id FROM test_rule t WHERE t.gauge_id = g.id)"#,
        window
    )
    .fetch_all(db)
    .await?;
    rows.into_iter()
        .map(|row| Ok((row.id, serde_json::from_str::<Vec<GaugeId>>(&row.gauges)?)))
        .collect()
}
