//! Gauges: one by its tag number, how many there are, and writing them.
//! What may be written is decided in `record` and `acts`.

use std::collections::BTreeMap;

use sqlx::SqliteConnection;

use super::Result;
use super::columns::{Digits, stamped};
use crate::calc::quantity::{Stamped, Unit};
use crate::calc::rating::Point;
use crate::record::gauge::{Gauge, Particulars, Standing};
use crate::record::{AreaId, GaugeId, KitNumber, TagNumber};

/// The gauge that hangs under a tag number.
pub async fn by_tag(db: &mut SqliteConnection, tag: &str) -> Result<Option<Gauge>> {
    let id = id_of(db, tag).await?;
    match id {
        Some(id) => by_id(db, id).await,
        None => Ok(None),
    }
}

/// The row of the gauge that hangs under a tag number.
pub async fn id_of(db: &mut SqliteConnection, tag: &str) -> Result<Option<GaugeId>> {
    Ok(
        sqlx::query_scalar!("SELECT id FROM gauge WHERE tag = ?1", tag)
            .fetch_optional(db)
            .await?,
    )
}

/// A gauge by its row.
pub async fn by_id(db: &mut SqliteConnection, id: GaugeId) -> Result<Option<Gauge>> {
    Ok(by_ids(db, &[id]).await?.pop())
}

/// Gauges by their rows, in two questions however many they are.
pub async fn by_ids(db: &mut SqliteConnection, ids: &[GaugeId]) -> Result<Vec<Gauge>> {
    let ids = serde_json::to_string(ids)?;
    let rows = sqlx::query!(
        r#"SELECT g.id, g.tag, g.area_id, g.service_class_id, g.vessel, g.service, g.standing, g.kind, g.sections,
             g.bolts_per_rail, g.bolt_thread, g.bolt_form, g.glass_length_mm, g.isolation, g.installed_on, g.papers_rebuilt_on, g.papers_looked_on, g.maker,
             g.order_number, g.stamped_kit_number, g.body_material, g.gasket_material, g.glass_type, g.rating_value,
             g.rating_unit, g.rating_temperature_value, g.rating_temperature_unit, g.torque_value, g.torque_unit,
             g.rating_unreadable, g.torque_unreadable, g.assumed,
             g.kit_id, g.kits_per_rebuild, g.note, g.version, a.name AS area, c.name AS class, k.number AS "kit?: KitNumber"
           FROM gauge g JOIN area a ON a.id = g.area_id JOIN service_class c ON c.id = g.service_class_id
           LEFT JOIN kit k ON k.id = g.kit_id WHERE g.id IN (SELECT value FROM json_each(?1))"#,
        ids
    )
    .fetch_all(&mut *db)
    .await?;
    let mut points = rating_points(db, &ids).await?;
    rows.into_iter()
        .map(|row| {
            let assumed = match &row.assumed {
                Some(kept) => serde_json::from_str(kept)?,
                None => Vec::new(),
            };

            let rating_points = points.remove(&row.id).unwrap_or_default();
            Ok(Gauge {
                id: row.id,
                standing: row.standing,
                area: row.area,
                service_class: row.class,
                kit: row.kit,
                version: row.version,
                particulars: Particulars {
                    tag: row.tag,
                    area_id: row.area_id,
                    service_class_id: row.service_class_id,
                    vessel: row.vessel,
                    service: row.service,
                    kind: row.kind,
                    sections: small(row.sections),
                    bolts_per_rail: row.bolts_per_rail.map(small),
                    bolt_thread: row.bolt_thread,
                    bolt_form: row.bolt_form,
                    glass_length_mm: row.glass_length_mm.and_then(|mm| u16::try_from(mm).ok()),
                    isolation: row.isolation,
                    installed_on: row.installed_on,
                    papers_rebuilt_on: row.papers_rebuilt_on,
                    papers_looked_on: row.papers_looked_on,
                    maker: row.maker,
                    order_number: row.order_number,
                    stamped_kit_number: row.stamped_kit_number,
                    body_material: row.body_material,
                    gasket_material: row.gasket_material,
                    glass_type: row.glass_type,
                    rating: stamped(row.rating_value, row.rating_unit),
                    rating_temperature: stamped(
                        row.rating_temperature_value,
                        row.rating_temperature_unit,
                    ),
                    torque: stamped(row.torque_value, row.torque_unit),
                    rating_unreadable: row.rating_unreadable.is_some(),
                    torque_unreadable: row.torque_unreadable.is_some(),
                    rating_points,
                    kit_id: row.kit_id,
                    kits_per_rebuild: u16::try_from(row.kits_per_rebuild).unwrap_or(1),
                    note: row.note,
                    assumed,
                },
            })
        })
        .collect()
}

/// What is still assumed of a gauge, as it is kept; nothing where all of it is known.
fn kept_assumed(p: &Particulars) -> Result<Option<String>> {
    Ok(if p.assumed.is_empty() {
        None
    } else {
        Some(serde_json::to_string(&p.assumed)?)
    })
}

fn small(number: i64) -> u8 {
    u8::try_from(number).unwrap_or(u8::MAX)
}

/// The points of the ratings of several gauges, by gauge.
async fn rating_points(
    db: &mut SqliteConnection,
    ids: &str,
) -> Result<BTreeMap<GaugeId, Vec<Point>>> {
    let rows = sqlx::query!(
        "SELECT gauge_id, temperature_value, temperature_unit, pressure_value, pressure_unit FROM rating_point
         WHERE gauge_id IN (SELECT value FROM json_each(?1)) ORDER BY gauge_id, position",
        ids
    )
    .fetch_all(db)
    .await?;
    let mut points: BTreeMap<GaugeId, Vec<Point>> = BTreeMap::new();
    for row in rows {
        points.entry(row.gauge_id).or_default().push(Point {
            temperature: Stamped::new(row.temperature_value.0, row.temperature_unit),
            pressure: Stamped::new(row.pressure_value.0, row.pressure_unit),
        });
    }
    Ok(points)
}

/// Adds a gauge in service.
pub async fn add(db: &mut SqliteConnection, p: &Particulars) -> Result<GaugeId> {
    let (rating, rating_unit) = halves(p.rating);
    let (temperature, temperature_unit) = halves(p.rating_temperature);
    let (torque, torque_unit) = halves(p.torque);
    let assumed = kept_assumed(p)?;
    let (no_rating, no_torque) = unreadable(p);
    let id = sqlx::query!(
        "INSERT INTO gauge (tag, area_id, service_class_id, vessel, service, standing, kind, sections, bolts_per_rail, bolt_thread,
           bolt_form, glass_length_mm, isolation, installed_on, maker, order_number, stamped_kit_number, body_material,
           gasket_material, glass_type, rating_value, rating_unit, rating_temperature_value, rating_temperature_unit,
           torque_value, torque_unit, kit_id, kits_per_rebuild, note, papers_rebuilt_on, papers_looked_on,
           assumed, rating_unreadable, torque_unreadable)
         VALUES (?1, ?2, ?3, ?4, ?5, 'in-service', ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13, ?14, ?15, ?16, ?17, ?18, ?19, ?20, ?21,
           ?22, ?23, ?24, ?25, ?26, ?27, ?28, ?29, ?30, ?31, ?32, ?33)",
        p.tag,
        p.area_id,
        p.service_class_id,
        p.vessel,
        p.service,
        p.kind,
        p.sections,
        p.bolts_per_rail,
        p.bolt_thread,
        p.bolt_form,
        p.glass_length_mm,
        p.isolation,
        p.installed_on,
        p.maker,
        p.order_number,
        p.stamped_kit_number,
        p.body_material,
        p.gasket_material,
        p.glass_type,
        rating,
        rating_unit,
        temperature,
        temperature_unit,
        torque,
        torque_unit,
        p.kit_id,
        p.kits_per_rebuild,
        p.note,
        p.papers_rebuilt_on,
        p.papers_looked_on,
        assumed,
        no_rating,
        no_torque
    )
    .execute(&mut *db)
    .await?
    .last_insert_rowid();
    let id = GaugeId(id);
    put_rating_points(db, id, &p.rating_points).await?;
    Ok(id)
}

/// Adds many gauges in service, in one statement, in the order given.
pub async fn add_many(db: &mut SqliteConnection, gauges: &[Particulars]) -> Result<Vec<GaugeId>> {
    let before = sqlx::query_scalar!(r#"SELECT coalesce(max(id), 0) AS "id!: i64" FROM gauge"#)
        .fetch_one(&mut *db)
        .await?;
    let rows: Vec<serde_json::Value> = gauges.iter().map(as_json).collect::<Result<_>>()?;
    let rows = serde_json::to_string(&rows)?;
    sqlx::query!(
        "INSERT INTO gauge (id, tag, area_id, service_class_id, vessel, service, standing, kind, sections, bolts_per_rail, bolt_thread,
           bolt_form, glass_length_mm, isolation, installed_on, maker, order_number, stamped_kit_number, body_material,
           gasket_material, glass_type, rating_value, rating_unit, rating_temperature_value, rating_temperature_unit,
           torque_value, torque_unit, kit_id, kits_per_rebuild, note, papers_rebuilt_on, papers_looked_on,
           assumed, rating_unreadable, torque_unreadable)
         SELECT ?1 + 1 + key, value ->> 0, value ->> 1, value ->> 2, value ->> 3, value ->> 4, 'in-service', value ->> 5, value ->> 6,
           value ->> 7, value ->> 8, value ->> 9, value ->> 10, value ->> 11, value ->> 12, value ->> 13, value ->> 14, value ->> 15,
           value ->> 16, value ->> 17, value ->> 18, value ->> 19, value ->> 20, value ->> 21, value ->> 22, value ->> 23,
           value ->> 24, value ->> 25, value ->> 26, value ->> 27, value ->> 28, value ->> 29,
           value ->> 30, value ->> 31, value ->> 32
         FROM json_each(?2)",
        before,
        rows
    )
    .execute(&mut *db)
    .await?;
    let ids: Vec<GaugeId> = (before + 1..).take(gauges.len()).map(GaugeId).collect();
    for (id, gauge) in ids.iter().zip(gauges) {
        if !gauge.rating_points.is_empty() {
            put_rating_points(db, *id, &gauge.rating_points).await?;
        }
    }
    Ok(ids)
}

/// The columns of a new gauge in the order `add_many` reads them.
fn as_json(p: &Particulars) -> Result<serde_json::Value> {
    let (rating, rating_unit) = halves(p.rating);
    let (temperature, temperature_unit) = halves(p.rating_temperature);
    let (torque, torque_unit) = halves(p.torque);
    let digits = |value: Option<Digits>| value.map(|d| d.0.to_string());
    let assumed = kept_assumed(p)?;
    Ok(serde_json::json!([
        p.tag,
        p.area_id,
        p.service_class_id,
        p.vessel,
        p.service,
        p.kind,
        p.sections,
        p.bolts_per_rail,
        p.bolt_thread,
        p.bolt_form,
        p.glass_length_mm,
        p.isolation,
        p.installed_on.map(|date| date.to_string()),
        p.maker,
        p.order_number,
        p.stamped_kit_number,
        p.body_material,
        p.gasket_material,
        p.glass_type,
        digits(rating),
        rating_unit.map(Unit::ucum),
        digits(temperature),
        temperature_unit.map(Unit::ucum),
        digits(torque),
        torque_unit.map(Unit::ucum),
        p.kit_id,
        p.kits_per_rebuild,
        p.note,
        p.papers_rebuilt_on.map(|date| date.to_string()),
        p.papers_looked_on.map(|date| date.to_string()),
        assumed,
        p.rating_unreadable.then_some(1),
        p.torque_unreadable.then_some(1)
    ]))
}

/// Which of these tag numbers hang in the register, whatever their letters' case.
pub async fn tags_among(db: &mut SqliteConnection, tags: &[&str]) -> Result<Vec<TagNumber>> {
    let list = serde_json::to_string(tags)?;
    Ok(sqlx::query_scalar!(
        "SELECT g.tag FROM json_each(?1) j CROSS JOIN gauge g ON g.tag = j.value",
        list
    )
    .fetch_all(db)
    .await?)
}

/// Changes a gauge if nobody did so since this version; false if somebody did.
pub async fn change(
    db: &mut SqliteConnection,
    id: GaugeId,
    version: i64,
    p: &Particulars,
) -> Result<bool> {
    let (rating, rating_unit) = halves(p.rating);
    let (temperature, temperature_unit) = halves(p.rating_temperature);
    let (torque, torque_unit) = halves(p.torque);
    let assumed = kept_assumed(p)?;
    let (no_rating, no_torque) = unreadable(p);
    let done = sqlx::query!(
        "UPDATE gauge SET tag = ?3, area_id = ?4, service_class_id = ?5, vessel = ?6, service = ?7, kind = ?8, sections = ?9,
           bolts_per_rail = ?10, bolt_thread = ?11, bolt_form = ?12, glass_length_mm = ?13, isolation = ?14, installed_on = ?15,
           maker = ?16, order_number = ?17, stamped_kit_number = ?18, body_material = ?19, gasket_material = ?20,
           glass_type = ?21, rating_value = ?22, rating_unit = ?23, rating_temperature_value = ?24, rating_temperature_unit = ?25,
           torque_value = ?26, torque_unit = ?27, kit_id = ?28, kits_per_rebuild = ?29, note = ?30, papers_rebuilt_on = ?31, papers_looked_on = ?32,
           assumed = ?33, rating_unreadable = ?34, torque_unreadable = ?35, version = version + 1
         WHERE id = ?1 AND version = ?2",
        id,
        version,
        p.tag,
        p.area_id,
        p.service_class_id,
        p.vessel,
        p.service,
        p.kind,
        p.sections,
        p.bolts_per_rail,
        p.bolt_thread,
        p.bolt_form,
        p.glass_length_mm,
        p.isolation,
        p.installed_on,
        p.maker,
        p.order_number,
        p.stamped_kit_number,
        p.body_material,
        p.gasket_material,
        p.glass_type,
        rating,
        rating_unit,
        temperature,
        temperature_unit,
        torque,
        torque_unit,
        p.kit_id,
        p.kits_per_rebuild,
        p.note,
        p.papers_rebuilt_on,
        p.papers_looked_on,
        assumed,
        no_rating,
        no_torque
    )
    .execute(&mut *db)
    .await?;
    if done.rows_affected() == 0 {
        return Ok(false);
    }
    put_rating_points(db, id, &p.rating_points).await?;
    Ok(true)
}

fn halves<U: Copy>(value: Option<Stamped<U>>) -> (Option<Digits>, Option<U>) {
    (value.map(|v| Digits(v.value)), value.map(|v| v.unit))
}

/// That the nameplate does not tell the rating, and the torque: columns that are empty where nobody said so.
fn unreadable(p: &Particulars) -> (Option<bool>, Option<bool>) {
    (
        p.rating_unreadable.then_some(true),
        p.torque_unreadable.then_some(true),
    )
}

async fn put_rating_points(
    db: &mut SqliteConnection,
    gauge: GaugeId,
    points: &[Point],
) -> Result<()> {
    sqlx::query!("DELETE FROM rating_point WHERE gauge_id = ?1", gauge)
        .execute(&mut *db)
        .await?;
    for (position, point) in (1_i64..).zip(points) {
        let (temperature, pressure) = (
            Digits(point.temperature.value),
            Digits(point.pressure.value),
        );
        sqlx::query!(
            "INSERT INTO rating_point (gauge_id, position, temperature_value, temperature_unit, pressure_value, pressure_unit)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            gauge,
            position,
            temperature,
            point.temperature.unit,
            pressure,
            point.pressure.unit
        )
        .execute(&mut *db)
        .await?;
    }
    Ok(())
}

/// Puts a gauge in service, to rest or out of use, if nobody changed it since this version.
pub async fn change_standing(
    db: &mut SqliteConnection,
    id: GaugeId,
    version: i64,
    to: Standing,
) -> Result<bool> {
    let done = sqlx::query!(
        "UPDATE gauge SET standing = ?3, version = version + 1 WHERE id = ?1 AND version = ?2",
        id,
        version,
        to
    )
    .execute(db)
    .await?;
    Ok(done.rows_affected() == 1)
}

/// How many gauges there are, by standing, leaving out standings without any.
pub async fn count_by_standing(db: &mut SqliteConnection) -> Result<Vec<(Standing, i64)>> {
    let rows =
        sqlx::query!("SELECT standing, gauges FROM gauge_count WHERE gauges > 0 ORDER BY standing")
            .fetch_all(db)
            .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.standing, row.gauges))
        .collect())
}

/// How many gauges rest, by area.
pub async fn count_resting(db: &mut SqliteConnection) -> Result<Vec<(AreaId, i64)>> {
    let rows = sqlx::query!(
        r#"SELECT area_id, count(*) AS "gauges!: i64" FROM gauge INDEXED BY gauge_resting WHERE standing = 'resting' GROUP BY area_id"#
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.area_id, row.gauges))
        .collect())
}

/// The gauges that rest, of each area the first few by tag number.
pub async fn resting(db: &mut SqliteConnection, of_each: i64) -> Result<Vec<(AreaId, TagNumber)>> {
    let rows = sqlx::query!(
        r#"SELECT g.area_id AS "area_id!: AreaId", g.tag AS "tag!: TagNumber" FROM area a CROSS JOIN gauge g ON g.id IN (
             SELECT x.id FROM gauge x INDEXED BY gauge_resting
             WHERE x.standing = 'resting' AND x.area_id = a.id ORDER BY x.tag LIMIT ?1)
           ORDER BY g.tag"#,
        of_each
    )
    .fetch_all(db)
    .await?;
    Ok(rows.into_iter().map(|row| (row.area_id, row.tag)).collect())
}

/// The rows of the gauges after one, in order.
pub async fn rows_after(
    db: &mut SqliteConnection,
    after: GaugeId,
    most: i64,
) -> Result<Vec<GaugeId>> {
    Ok(sqlx::query_scalar!(
        "SELECT id FROM gauge WHERE id > ?1 ORDER BY id LIMIT ?2",
        after,
        most
    )
    .fetch_all(db)
    .await?)
}

/// Standings whose kept count is not the number of gauges: the word, the count kept, the number.
pub async fn wrong_counts(db: &mut SqliteConnection) -> Result<Vec<(Standing, i64, i64)>> {
    let rows = sqlx::query!(
        r#"SELECT c.standing, c.gauges, (SELECT count(*) FROM gauge g WHERE g.standing = c.standing) AS "counted!: i64"
           FROM gauge_count c"#
    )
    .fetch_all(db)
    .await?;
    Ok(rows
        .into_iter()
        .filter(|row| row.gauges != row.counted)
        .map(|row| (row.standing, row.gauges, row.counted))
        .collect())
}
