//! The register's list of gauges, by the filters an index can serve.

use sqlx::SqliteConnection;
use time::Date;

use super::Result;
use crate::calc::due::Rule;
use crate::record::gauge::{Kind, Standing};
use crate::record::{AreaId, GaugeId, KitId, ServiceClassId, TagNumber};

/// A line of the register's list.
#[derive(Debug, Clone)]
pub struct Line {
    /// The row.
    pub id: GaugeId,
    /// Its tag number.
    pub tag: TagNumber,
    /// The vessel.
    pub vessel: String,
    /// What it shows.
    pub service: String,
    /// The area's name.
    pub area: String,
    /// The service class's name.
    pub service_class: String,
    /// Reflex or transparent.
    pub kind: Kind,
    /// Sections.
    pub sections: i64,
    /// In service, resting or retired.
    pub standing: Standing,
    /// The rule that sets its due date.
    pub rule: Option<Rule>,
    /// Its real latest date.
    pub latest_on: Option<Date>,
    /// When the interval began.
    pub since_on: Option<Date>,
}

/// Which lines of the register.
#[derive(Debug, Clone, Default)]
pub struct Filter {
    /// Words to look for in tag, vessel, service, maker and order number.
    pub words: Option<String>,
    /// Only this area.
    pub area: Option<AreaId>,
    /// Only this service class.
    pub service_class: Option<ServiceClassId>,
    /// Only this kit.
    pub kit: Option<KitId>,
    /// Only this kind.
    pub kind: Option<Kind>,
    /// Only this standing; retired gauges show only when asked for.
    pub standing: Option<Standing>,
    /// Only those of which it is assumed how they are isolated.
    pub isolation_assumed: bool,
    /// Only those in service that no rule gives a date.
    pub undated: bool,
    /// Only lines after this one: a tag number, or a row where words are looked for.
    pub after: Option<(String, i64)>,
}

/// The register's list, a page at a time: by tag number, or by match where words are looked for.
pub async fn list(db: &mut SqliteConnection, filter: &Filter, most: i64) -> Result<Vec<Line>> {
    let (after_tag, after_id) = filter.after.clone().unzip();
    let words = filter.words.as_deref().map(match_words);
    macro_rules! lines {
        ($from_where:literal, $order:literal) => {
            sqlx::query_as!(
                Line,
                r#"SELECT g.id AS "id!", g.tag, g.vessel, g.service, a.name AS area, c.name AS service_class, g.kind, g.sections, g.standing,
                     d.rule AS "rule?: Rule", d.latest_on AS "latest_on?: Date", d.since_on AS "since_on?: Date" "#
                    + $from_where
                    + r#" AND (?2 IS NULL OR g.area_id = ?2) AND (?3 IS NULL OR g.service_class_id = ?3) AND (?4 IS NULL OR g.kit_id = ?4)
                     AND (?5 IS NULL OR g.kind = ?5) AND (CASE WHEN ?6 IS NULL THEN g.standing <> 'retired' ELSE g.standing = ?6 END) AND (NOT ?10 OR instr(g.assumed, 'isolation') > 0)
                     AND (NOT ?11 OR EXISTS (SELECT 1 FROM undated x WHERE x.gauge_id = g.id)) "#
                    + $order
                    + " LIMIT ?9",
                words,
                filter.area,
                filter.service_class,
                filter.kit,
                filter.kind,
                filter.standing,
                after_tag,
                after_id,
                most,
                filter.isolation_assumed,
                filter.undated
            )
            .fetch_all(db)
            .await?
        };
    }
    Ok(if words.is_some() {
        lines!(
            "FROM gauge_words w JOIN gauge g ON g.id = w.rowid JOIN area a ON a.id = g.area_id JOIN service_class c ON c.id = g.service_class_id LEFT JOIN due d ON d.gauge_id = g.id WHERE w.gauge_words MATCH ?1 AND w.rowid > coalesce(?8, 0) AND ?7 IS ?7",
            "ORDER BY w.rowid"
        )
    } else if filter.isolation_assumed {
        lines!(
            "FROM gauge g INDEXED BY gauge_isolation_assumed JOIN area a ON a.id = g.area_id JOIN service_class c ON c.id = g.service_class_id LEFT JOIN due d ON d.gauge_id = g.id WHERE instr(g.assumed, 'isolation') > 0 AND g.tag > coalesce(?7, '') AND ?1 IS NULL AND ?8 IS ?8",
            "ORDER BY g.tag"
        )
    } else if filter.undated {
        lines!(
            "FROM undated u INDEXED BY undated_by_tag CROSS JOIN gauge g ON g.id = u.gauge_id JOIN area a ON a.id = g.area_id JOIN service_class c ON c.id = g.service_class_id LEFT JOIN due d ON d.gauge_id = g.id WHERE u.tag > coalesce(?7, '') AND ?1 IS NULL AND ?8 IS ?8",
            "ORDER BY u.tag"
        )
    } else if filter.kit.is_some() {
        lines!(
            "FROM gauge g INDEXED BY gauge_by_kit JOIN area a ON a.id = g.area_id JOIN service_class c ON c.id = g.service_class_id LEFT JOIN due d ON d.gauge_id = g.id WHERE g.kit_id = ?4 AND g.tag > coalesce(?7, '') AND ?1 IS NULL AND ?8 IS ?8",
            "ORDER BY g.tag"
        )
    } else if filter.service_class.is_some() {
        lines!(
            "FROM gauge g INDEXED BY gauge_by_class JOIN area a ON a.id = g.area_id JOIN service_class c ON c.id = g.service_class_id LEFT JOIN due d ON d.gauge_id = g.id WHERE g.service_class_id = ?3 AND g.tag > coalesce(?7, '') AND ?1 IS NULL AND ?8 IS ?8",
            "ORDER BY g.tag"
        )
    } else if filter.area.is_some() {
        lines!(
            "FROM gauge g INDEXED BY gauge_by_area JOIN area a ON a.id = g.area_id JOIN service_class c ON c.id = g.service_class_id LEFT JOIN due d ON d.gauge_id = g.id WHERE g.area_id = ?2 AND g.tag > coalesce(?7, '') AND ?1 IS NULL AND ?8 IS ?8",
            "ORDER BY g.tag"
        )
    } else if filter.standing.is_some() {
        lines!(
            "FROM gauge g INDEXED BY gauge_by_standing JOIN area a ON a.id = g.area_id JOIN service_class c ON c.id = g.service_class_id LEFT JOIN due d ON d.gauge_id = g.id WHERE g.standing = ?6 AND g.tag > coalesce(?7, '') AND ?1 IS NULL AND ?8 IS ?8",
            "ORDER BY g.tag"
        )
    } else if filter.kind.is_some() {
        lines!(
            "FROM gauge g INDEXED BY gauge_by_kind JOIN area a ON a.id = g.area_id JOIN service_class c ON c.id = g.service_class_id LEFT JOIN due d ON d.gauge_id = g.id WHERE g.kind = ?5 AND g.tag > coalesce(?7, '') AND ?1 IS NULL AND ?8 IS ?8",
            "ORDER BY g.tag"
        )
    } else {
        lines!(
            "FROM gauge g JOIN area a ON a.id = g.area_id JOIN service_class c ON c.id = g.service_class_id LEFT JOIN due d ON d.gauge_id = g.id WHERE g.tag > coalesce(?7, '') AND ?1 IS NULL AND ?8 IS ?8",
            "ORDER BY g.tag"
        )
    })
}

/// Turns what a person typed into a search: every word must begin a word of the gauge, and
/// the pieces of a tag between its hyphens are words too.
pub(super) fn match_words(typed: &str) -> String {
    typed
        .split_whitespace()
        .filter(|word| word.chars().any(char::is_alphanumeric))
        .map(|word| format!("\"{}\"*", word.replace('"', "")))
        .collect::<Vec<_>>()
        .join(" ")
}
