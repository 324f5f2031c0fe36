//! The plant's days: the month, the year, and the private address that a calendar program reads, whose
//! text an independent library of the registries takes apart.

use axum::http::StatusCode;
use icalendar::{Calendar, CalendarDateTime, Component, DatePerhapsTime};
use time::macros::datetime;

use crate::bench::world::Bench;
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
            .says("2 due Boiler House : LG-1, LG-2");
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

mod today {
    use super::*;

    #[tokio::test]
    async fn today_names_what_is_past_due_and_a_rebuild_that_has_begun_says_so() {
        // Never looked over since 31 January 2024.
        let mut bench = Bench::new().await.started().await;
        let page = bench.engineer.get("/calendar").await;
        page.says("2 March today 1 past due")
            .says("bench: LG-1107A (at the bench now)");
        assert!(page.text.contains("href=\"/due?until=2026-03-01\""));
        bench
            .engineer
            .get("/calendar?month=2026-06")
            .await
            .does_not_say("past due");
    }

    #[tokio::test]
    async fn the_area_of_a_day_leads_to_the_due_list_of_that_area() {
        let (_plant, mut engineer) = days().await;
        let page = engineer.get("/calendar?month=2026-05").await;
        let list = "href=\"/due?area=1&#38;until=2026-05-20\"";
        assert!(page.text.contains(list), "{}", page.text);
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

    /// The lines of the event whose UID begins so, unfolded.
    fn event(text: &str, uid: &str) -> String {
        let whole = text.replace("\r\n ", "");
        let begins = format!("UID:{uid}");
        whole
            .split("BEGIN:VEVENT")
            .find(|event| event.lines().any(|line| line.starts_with(&begins)))
            .unwrap_or_else(|| panic!("no event {uid} in {whole}"))
            .to_owned()
    }

    /// That it has these lines; of an address only the part after the host is given.
    fn has(event: &str, wanted: &[&str]) {
        for line in wanted {
            let there = if line.starts_with('/') {
                event.lines().any(|one| one.ends_with(*line))
            } else {
                event.lines().any(|one| one == *line)
            };
            assert!(there, "{line} is not in {event}");
        }
    }

    /// RFC 5545, 3.3.11: a comma in a text is written with a backslash before it.
    #[tokio::test]
    async fn what_is_past_due_stands_on_today_and_stays_on_its_day_for_a_year() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        // Looked over every three months: due on 30 April 2024 and on 1 February 2026.
        for (tag, area, installed) in [("LG-1", "1", "2024-01-31"), ("LG-2", "2", "2025-11-01")] {
            let fields = [("tag", tag), ("area", area), ("installed_on", installed)];
            hang(&mut engineer, &fields).await;
        }
        let whole = address(&mut engineer, "").await;
        let of_area = address(&mut engineer, "2").await;
        let text = plant.visitor().get(&whole).await.text;
        let past = event(&text, "past-due@");
        has(
            &past,
            &[
                "DTSTART;VALUE=DATE:20260302",
                "SUMMARY:2 gauges past due: LG-1\\, LG-2",
                "/due?until=2026-03-01",
            ],
        );
        has(
            &event(&text, "due-2026-02-01-Tank%20Row@"),
            &[
                "DTSTART;VALUE=DATE:20260201",
                "SUMMARY:1 gauge past due\\, Tank Row",
                "DESCRIPTION:LG-2",
                "/due?area=2&until=2026-02-01",
            ],
        );
        assert!(!text.contains("DTSTART;VALUE=DATE:20240430"), "{text}");
        let text = plant.visitor().get(&of_area).await.text;
        has(
            &event(&text, "past-due-Tank%20Row@"),
            &[
                "SUMMARY:1 gauge past due: LG-2",
                "/due?area=2&until=2026-03-01",
            ],
        );
        // The same event moves on with the days.
        plant.turn_to(datetime!(2026-03-03 09:00 UTC));
        let text = plant.visitor().get(&whole).await.text;
        has(
            &event(&text, "past-due@"),
            &["DTSTART;VALUE=DATE:20260303", "/due?until=2026-03-02"],
        );
        let _: Calendar = text.parse().expect("RFC 5545");
    }

    #[tokio::test]
    async fn a_gauge_at_the_bench_is_said_to_be_there_until_today() {
        let mut bench = Bench::new().await.started().await;
        let feed = address(&mut bench.engineer, "").await;
        bench.plant.turn_to(datetime!(2026-03-04 09:00 UTC));
        let text = bench.plant.visitor().get(&feed).await.text;
        has(
            &event(&text, "rebuild-2026-03-02-LG-1107A@"),
            &[
                "DTSTART;VALUE=DATE:20260302",
                // The end of whole days is the day after the last.
                "DTEND;VALUE=DATE:20260305",
                "SUMMARY:LG-1107A at the bench\\, Boiler House",
            ],
        );
    }

    #[tokio::test]
    async fn a_rebuild_whose_day_is_past_is_said_not_to_have_begun() {
        let mut bench = Bench::new().await.planned().await;
        let feed = address(&mut bench.engineer, "").await;
        bench.plant.turn_to(datetime!(2026-03-04 09:00 UTC));
        let text = bench.plant.visitor().get(&feed).await.text;
        has(
            &event(&text, "rebuild-2026-03-02-LG-1107A@"),
            &[
                "DTSTART;VALUE=DATE:20260302",
                "SUMMARY:Rebuild of LG-1107A planned and not begun\\, Boiler House",
            ],
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
