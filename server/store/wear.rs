//! The readings of walls between through-bore and recess, for many gauges at once.
//! What they say is worked out in `record::wear`.

use std::collections::BTreeMap;

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::record::bench::Facts;
use crate::record::face::Reading;
use crate::record::moment::Zone;
use crate::record::wear::{Wear, first_due, walls, worn};
use crate::record::{GaugeId, Moment};
use crate::store;

/// Readings of walls by gauge, in the order in which the work was done: section, moment, reading. A
/// correction keeps the place in time of what it corrects.
async fn readings(
    db: &mut SqliteConnection,
    gauges: &str,
) -> Result<BTreeMap<GaugeId, Vec<(u8, Moment, Reading)>>> {
    let rows = sqlx::query!(
        r#"WITH RECURSIVE back (gauge_id, id, origin, earlier) AS (
             SELECT r.gauge_id, e.id, e.id, e.supersedes
             FROM json_each(?1) j CROSS JOIN rebuild r ON r.gauge_id = j.value CROSS JOIN bench_entry e ON e.rebuild_id = r.id
             WHERE e.topic = 'face' AND e.section IS NOT NULL AND (e.facts ->> 'wall' IS NOT NULL OR e.facts ->> 'seen' = 'renewed')
               AND NOT EXISTS (SELECT 1 FROM bench_entry later WHERE later.supersedes = e.id)
             UNION ALL
             SELECT b.gauge_id, b.id, o.id, o.supersedes FROM back b CROSS JOIN bench_entry o ON o.id = b.earlier)
           SELECT b.gauge_id AS "gauge_id!: GaugeId", e.section AS "section!: i64", coalesce(o.done_at, o.at) AS "at!: Moment", e.facts AS "facts!: String"
           FROM back b CROSS JOIN bench_entry o ON o.id = b.origin CROSS JOIN bench_entry e ON e.id = b.id
           WHERE b.earlier IS NULL ORDER BY coalesce(o.done_at, o.at), o.id"#,
        gauges
    )
    .fetch_all(db)
    .await?;
    let mut list: BTreeMap<GaugeId, Vec<_>> = BTreeMap::new();
    for row in rows {
        if let Facts::Face(reading) = serde_json::from_str::<Facts>(&row.facts)? {
            let section = u8::try_from(row.section).unwrap_or(u8::MAX);
            let of_gauge = list.entry(row.gauge_id).or_default();
            of_gauge.push((section, row.at, *reading));
        }
    }
    Ok(list)
}

/// How the measured walls of some gauges wear, by gauge; those never measured are left out.
pub async fn of_gauges(
    db: &mut SqliteConnection,
    gauges: &[GaugeId],
) -> Result<BTreeMap<GaugeId, Vec<Wear>>> {
    let list = readings(db, &serde_json::to_string(gauges)?).await?;
    if list.is_empty() {
        return Ok(BTreeMap::new());
    }
    let Some(plant) = store::plant::find(db).await? else {
        return Ok(BTreeMap::new());
    };
    let zone: &Zone = &plant.zone;
    list.into_iter()
        .map(|(gauge, readings)| {
            let dated = readings
                .into_iter()
                .map(|(section, at, reading)| (section, zone.date(at), reading));
            // A reading that was taken in lies within the range; one that does not is damage.
            let worn = worn(walls(dated), plant.wall_limit, &[])
                .map_err(|cause| store::Error::Unreadable(cause.to_string()))?;
            Ok((gauge, worn))
        })
        .collect()
}

/// The day by which a wall of each gauge has to be measured again, where wear is known.
pub async fn due_days(
    db: &mut SqliteConnection,
    gauges: &[GaugeId],
) -> Result<BTreeMap<GaugeId, Date>> {
    let worn = of_gauges(db, gauges).await?;
    Ok(worn
        .into_iter()
        .filter_map(|(gauge, worn)| Some((gauge, first_due(&worn)?.0)))
        .collect())
}

/// The gauges with a wall that was ever measured: those another least wall concerns.
pub async fn measured(db: &mut SqliteConnection) -> Result<Vec<GaugeId>> {
    Ok(sqlx::query_scalar!(
        r#"SELECT DISTINCT r.gauge_id AS "gauge!: GaugeId" FROM bench_entry e JOIN rebuild r ON r.id = e.rebuild_id
           WHERE e.topic = 'face' AND e.facts ->> 'wall' IS NOT NULL ORDER BY 1"#
    )
    .fetch_all(db)
    .await?)
}
