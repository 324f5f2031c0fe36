//! How far a new plant is set up: one question with a yes or no to each part of it. What comes next and
//! who does it is told by the page that asks.

use sqlx::SqliteConnection;

use super::Result;

/// What a plant has so far.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "a yes or no to each of several questions"
)]
pub struct SetUp {
    /// The plant said how its tests are planned and judged.
    pub tests_settled: bool,
    /// Somebody works at the bench.
    pub technician: bool,
    /// Somebody witnesses and certifies.
    pub inspector: bool,
    /// Somebody plans.
    pub engineer: bool,
    /// Somebody keeps the storeroom.
    pub storekeeper: bool,
    /// There is an area.
    pub area: bool,
    /// There is a service class with an interval.
    pub interval: bool,
    /// There is a gauge.
    pub gauge: bool,
    /// There is a kit.
    pub kit: bool,
    /// A lot was received.
    pub lot: bool,
    /// There is an instrument.
    pub instrument: bool,
    /// One was calibrated.
    pub calibration: bool,
    /// A gauge was looked over, or its rebuild planned.
    pub work: bool,
}

/// How far the plant is; each part of the question ends at the first row it finds.
pub async fn how_far(db: &mut SqliteConnection) -> Result<SetUp> {
    Ok(sqlx::query_as!(
        SetUp,
        r#"SELECT
             EXISTS (SELECT 1 FROM test_rule WHERE ifnull(service_class_id, 0) = 0 AND ifnull(gauge_id, 0) = 0) AS "tests_settled!: bool",
             EXISTS (SELECT 1 FROM person WHERE role = 'technician' AND closed_at IS NULL) AS "technician!: bool",
             EXISTS (SELECT 1 FROM person WHERE role = 'inspector' AND closed_at IS NULL) AS "inspector!: bool",
             EXISTS (SELECT 1 FROM person WHERE role = 'engineer' AND closed_at IS NULL) AS "engineer!: bool",
             EXISTS (SELECT 1 FROM person WHERE role = 'storekeeper' AND closed_at IS NULL) AS "storekeeper!: bool",
             EXISTS (SELECT 1 FROM area) AS "area!: bool",
             EXISTS (SELECT 1 FROM service_class WHERE rebuild_months IS NOT NULL OR look_over_months IS NOT NULL) AS "interval!: bool",
             EXISTS (SELECT 1 FROM gauge) AS "gauge!: bool",
             EXISTS (SELECT 1 FROM kit) AS "kit!: bool",
             EXISTS (SELECT 1 FROM lot) AS "lot!: bool",
             EXISTS (SELECT 1 FROM instrument) AS "instrument!: bool",
             EXISTS (SELECT 1 FROM calibration) AS "calibration!: bool",
             EXISTS (SELECT 1 FROM rebuild) OR EXISTS (SELECT 1 FROM look_over) AS "work!: bool""#
    )
    .fetch_one(db)
    .await?)
}
