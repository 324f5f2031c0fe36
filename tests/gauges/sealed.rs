//! Whatever is recorded from these pages is sealed in the audit chain and leaves a sound register.

use axum::http::StatusCode;

use super::hang;
use crate::plant::{Plant, Visitor};
use crate::verify::report;

async fn does(visitor: &mut Visitor, page: &str, fields: &[(&str, &str)]) {
    let answer = visitor.fill(page, page, fields).await;
    assert!(
        matches!(answer.status, StatusCode::SEE_OTHER | StatusCode::OK),
        "{page}: {}",
        crate::plant::plain(&answer.text)
    );
}

async fn photographs(engineer: &mut Visitor) {
    let picture = image::DynamicImage::new_rgb8(64, 48);
    let mut png = std::io::Cursor::new(Vec::new());
    picture
        .write_to(&mut png, image::ImageFormat::Png)
        .expect("a picture");
    let key = engineer.get("/gauges/LG-1107A").await.field("key");
    engineer
        .upload(
            "/gauges/LG-1107A/photo",
            &[("key", &key)],
            ("photo", "a.png", png.get_ref()),
        )
        .await
        .is(StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn a_register_is_sound_after_everything_that_can_be_done_from_these_pages() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let mut administrator = plant.administrator().await;
    hang(
        &mut engineer,
        &[
            ("isolation", "shutdown-only"),
            ("installed_on", "2024-10-01"),
        ],
    )
    .await;
    hang(&mut engineer, &[("tag", "LG-2"), ("class", "2")]).await;
    let window = [
        ("area", "1"),
        ("name", "spring"),
        ("starts_on", "2026-03-20"),
        ("ends_on", "2026-03-28"),
    ];
    does(&mut engineer, "/windows/new", &window).await;
    does(
        &mut engineer,
        "/windows/Boiler%20House/2026-03-20/move",
        &[
            ("version", "1"),
            ("name", "spring"),
            ("starts_on", "2026-03-23"),
            ("ends_on", "2026-03-30"),
        ],
    )
    .await;
    for (page, fields) in [
        (
            "/gauges/LG-1107A/look-over",
            vec![("found", "sound"), ("on", "2026-03-01")],
        ),
        (
            "/gauges/LG-1107A/deferral",
            vec![
                ("moves", "rebuild"),
                ("until", "2026-06-30"),
                ("hard_limit", "2026-09-30"),
                ("reason", "kit late"),
                ("risk", "the gasket hardens"),
                ("mitigations", "looked at weekly"),
            ],
        ),
        ("/gauges/LG-1107A/failure", vec![("kind", "leak")]),
        (
            "/gauges/LG-2/look-over",
            vec![("found", "cracked-glass"), ("on", "2026-03-01")],
        ),
        (
            "/gauges/LG-2/standing",
            vec![("to", "resting"), ("reason", "empty"), ("version", "1")],
        ),
        ("/plant/area", vec![("name", "Cold End")]),
        ("/plant/area/Tank%20Row", vec![("name", "Tank Rows")]),
        (
            "/plant/class",
            vec![("name", "brine"), ("rebuild_months", "24")],
        ),
    ] {
        does(&mut engineer, page, &fields).await;
    }
    let class = [
        ("name", "saturated steam"),
        ("rebuild_months", "12"),
        ("look_over_months", "2"),
        ("version", "1"),
        ("weighed", "Some(12)/Some(2)"),
    ];
    does(&mut engineer, "/plant/class/saturated%20steam", &class).await;
    does(
        &mut administrator,
        "/people/add",
        &[("name", "Mara"), ("sign_in", "mara"), ("role", "inspector")],
    )
    .await;
    does(
        &mut administrator,
        "/people/account/mara",
        &[
            ("name", "Mara Quill"),
            ("role", "engineer"),
            ("account", "closed"),
            ("version", "1"),
        ],
    )
    .await;
    photographs(&mut engineer).await;
    let report = report(&plant).await;
    assert!(report.sound(), "{:?}", report.findings);
    assert_eq!(report.due_dates, 1);
}
