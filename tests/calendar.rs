//! The plant's days: the month, the year, and the private address that a calendar program reads, whose
//! text an independent library of the registries takes apart.

use axum::http::StatusCode;
use icalendar::{Calendar, CalendarDateTime, Component, DatePerhapsTime};

use crate::gauges::hang;
use crate::plant::{Plant, Visitor};

async fn days() -> (Plant, Visitor) {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    // Looked over every three months: 20 May 2026.
    for tag in ["LG-1", "LG-2"] {
        hang(
            &mut engineer,
            &[("tag", tag), ("installed_on", "2026-02-20")],
        )
        .await;
    }
    engineer
        .fill(
            "/windows/new",
            "/windows/new",
            &[
                ("area", "1"),
                ("name", "spring; boilers, drums"),
                ("starts_on", "2026-05-04"),
                ("ends_on", "2026-05-15"),
            ],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    (plant, engineer)
}

mod show {
    use super::*;

    #[tokio::test]
    async fn the_month_shows_what_falls_due_and_who_stands_on_its_days() {
        let (_plant, mut engineer) = days().await;
        let page = engineer.get("/calendar?month=2026-05").await;
        page.says("May 2026: 2 gauges fall due")
            .says("2 due Boiler House: LG-1, LG-2");
        assert_eq!(page.text.matches("Boiler House stands").count(), 12);
        engineer
            .get("/calendar")
            .await
            .says("March 2026: 0 gauges fall due")
            .says("February 2026 April 2026")
            .says("today");
        engineer
            .get("/calendar?year=2026")
            .await
            .says("2026: 2 gauges fall due")
            .says("May 2 Boiler House 4 May 2026 to 15 May 2026");
        engineer
            .get("/calendar?month=soon")
            .await
            .says("March 2026");
    }
}

mod feed {
    use super::*;

    async fn address(visitor: &mut Visitor, area: &str) -> String {
        let page = visitor
            .fill("/calendar/feeds", "/calendar/feeds", &[("area", area)])
            .await;
        page.is(StatusCode::OK);
        let at = page.text.find("/calendar/feed/").expect("the address");
        page.text[at..].chars().take_while(|c| *c != '<').collect()
    }

    fn day(at: Option<DatePerhapsTime>) -> String {
        match at {
            Some(DatePerhapsTime::Date(day)) => day.to_string(),
            Some(DatePerhapsTime::DateTime(CalendarDateTime::Utc(at))) => at.to_string(),
            other => panic!("{other:?}"),
        }
    }

    #[tokio::test]
    async fn another_library_reads_the_same_days() {
        let (plant, mut engineer) = days().await;
        let feed = address(&mut engineer, "").await;
        // No session comes with it.
        let answer = plant.visitor().get(&feed).await;
        answer.is(StatusCode::OK);
        assert_eq!(
            answer.headers["content-type"],
            "text/calendar; charset=utf-8"
        );
        for line in answer.text.split("\r\n") {
            assert!(line.len() <= 75, "{line}");
            assert!(!line.contains('\n'), "{line}");
        }
        let calendar: Calendar = answer.text.parse().expect("RFC 5545");
        let events: Vec<_> = calendar
            .components
            .iter()
            .filter_map(icalendar::CalendarComponent::as_event)
            .map(|event| {
                (
                    event.get_summary().unwrap_or_default().to_owned(),
                    day(event.get_start()),
                    day(event.get_end()),
                )
            })
            .collect();
        let said = |text: &str| text.replace('\\', "");
        assert_eq!(events.len(), 2, "{events:?}");
        assert_eq!(
            said(&events[0].0),
            "Boiler House stands: spring; boilers, drums"
        );
        // The end of whole days is the day after the last.
        assert_eq!(
            (events[0].1.as_str(), events[0].2.as_str()),
            ("2026-05-04", "2026-05-16")
        );
        assert_eq!(said(&events[1].0), "2 gauges due, Boiler House");
        assert_eq!(
            (events[1].1.as_str(), events[1].2.as_str()),
            ("2026-05-20", "2026-05-21")
        );
    }

    #[tokio::test]
    async fn an_address_that_was_ended_and_one_that_was_guessed_read_nothing() {
        let (plant, mut engineer) = days().await;
        let feed = address(&mut engineer, "1").await;
        plant.visitor().get(&feed).await.is(StatusCode::OK);
        plant
            .visitor()
            .get(&format!("/calendar/feed/{}.ics", "0".repeat(64)))
            .await
            .is(StatusCode::NOT_FOUND);
        // Nobody ends somebody else's.
        let mut keeper = plant.storekeeper().await;
        keeper
            .fill("/calendar/feeds", "/calendar/feeds", &[("end", "1")])
            .await
            .is(StatusCode::NOT_FOUND);
        plant.visitor().get(&feed).await.is(StatusCode::OK);
        engineer
            .fill("/calendar/feeds", "/calendar/feeds", &[("end", "1")])
            .await
            .is(StatusCode::SEE_OTHER);
        plant.visitor().get(&feed).await.is(StatusCode::NOT_FOUND);
    }

    #[tokio::test]
    async fn the_secret_is_not_kept() {
        let (plant, mut engineer) = days().await;
        let feed = address(&mut engineer, "").await;
        let secret = feed
            .trim_start_matches("/calendar/feed/")
            .trim_end_matches(".ics");
        assert_eq!(secret.len(), 64);
        plant.store.close().await;
        let bytes = std::fs::read(plant.folder.join("register.db")).expect("the database");
        let found = bytes
            .windows(secret.len())
            .any(|part| part == secret.as_bytes());
        assert!(!found);
    }
}
