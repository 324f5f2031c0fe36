//! Dates for people have one form: every page a role reaches by its links is read, as far as it is text.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use axum::http::StatusCode;
use gaugewright::demo::{self, Size};
use gaugewright::pages::{App, routes};
use gaugewright::record::Moment;
use gaugewright::record::moment::Clock;
use gaugewright::store::Store;
use time::macros::datetime;

use crate::plant::{Visitor, plain};

/// Pages of one address of the table that are looked at.
const A_ROUTE: usize = 4;

/// Where the text says a day as machines do: four digits, two, two.
fn machine_dates(text: &str) -> Vec<String> {
    let bytes = text.as_bytes();
    let digits = |from: usize, many: usize| {
        (from..from + many).all(|at| bytes.get(at).is_some_and(u8::is_ascii_digit))
    };
    let part = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_alphanumeric);
    (0..bytes.len())
        .filter(|&at| {
            digits(at, 4)
                && bytes.get(at + 4) == Some(&b'-')
                && digits(at + 5, 2)
                && bytes.get(at + 7) == Some(&b'-')
                && digits(at + 8, 2)
                && !part(at + 10)
                && (at == 0 || !part(at - 1))
        })
        .map(|at| {
            let from = text.floor_char_boundary(at.saturating_sub(60));
            let to = text.ceil_char_boundary((at + 40).min(text.len()));
            text[from..to].to_owned()
        })
        .collect()
}

/// The text of a page without what is typed into fields, and without what is written for machines.
fn read_by_people(html: &str) -> String {
    let mut html = html.to_owned();
    for (from, to) in [
        ("<textarea", "</textarea>"),
        ("<pre", "</pre>"),
        ("<code", "</code>"),
    ] {
        while let Some(begin) = html.find(from) {
            let length = html[begin..]
                .find(to)
                .map_or(html.len() - begin, |at| at + to.len());
            html.replace_range(begin..begin + length, " ");
        }
    }
    // How a list that is brought in may write its dates is said in both forms.
    plain(&html).replace("2024-12-31 or 31 Dec 2024", "as lists write it")
}

/// The route a path is of; a fixed word wins over a parameter.
fn route_of(path: &str) -> Option<&'static str> {
    let path = path.split(['?', '#']).next().unwrap_or_default();
    let parts: Vec<&str> = path.split('/').collect();
    let mut fitting: Vec<&'static str> = routes::table()
        .iter()
        .map(|route| route.path)
        .filter(|route| {
            let words: Vec<&str> = route.split('/').collect();
            words.len() == parts.len()
                && words
                    .iter()
                    .zip(&parts)
                    .all(|(word, part)| word.starts_with('{') || word == part)
        })
        .collect();
    fitting.sort_by_key(|route| route.matches('{').count());
    fitting.first().copied()
}

#[test]
fn a_day_written_for_machines_is_found_and_a_number_is_not() {
    assert_eq!(machine_dates("ran out on 2026-10-28.").len(), 1);
    assert_eq!(
        machine_dates("28 Oct 2026, TW-T-2026-0012, 12026-10-28").len(),
        0
    );
}

#[tokio::test]
async fn no_page_of_the_demo_plant_writes_a_day_as_machines_do() {
    let folder = tempfile::tempdir().expect("a folder");
    let clock = Clock::standing(Moment::new(datetime!(2026-11-30 10:00 UTC)));
    let size = Size {
        gauges: 60,
        kits: 9,
        stock_lines: 0,
    };
    demo::make(folder.path(), &clock, size).await.expect("made");
    let store = Store::open(folder.path()).await.expect("opens");
    let service = routes::service(&App::new(store, clock, None));
    let mut wrong = BTreeSet::new();
    for role in ["engineer", "inspector"] {
        let mut visitor = Visitor::of(service.clone());
        let fields = [("name", role), ("password", demo::plant::PASSWORD)];
        visitor
            .post("/people/sign-in", &fields)
            .await
            .is(StatusCode::SEE_OTHER);
        let mut looked: BTreeMap<&str, usize> = BTreeMap::new();
        let mut seen = BTreeSet::from(["/".to_owned()]);
        let mut queue = VecDeque::from(["/".to_owned()]);
        let mut pages = 0;
        while let Some(path) = queue.pop_front() {
            let Some(route) = route_of(&path) else {
                continue;
            };
            let file = path
                .split('?')
                .next()
                .and_then(|path| path.rsplit('/').next());
            let taken_away = ["pdf", "zip", "xlsx", "csv", "ics", "json"];
            let ending = file
                .and_then(|file| file.rsplit_once('.'))
                .map(|(_, end)| end);
            if ending.is_some_and(|end| taken_away.contains(&end)) {
                continue;
            }
            let times = looked.entry(route).or_default();
            *times += 1;
            if *times > A_ROUTE {
                continue;
            }
            let answer = visitor.get(&path).await;
            let kind = answer.headers.get("content-type");
            let page = kind.is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"));
            if answer.status != StatusCode::OK || !page {
                continue;
            }
            pages += 1;
            for found in machine_dates(&read_by_people(&answer.text)) {
                wrong.insert(format!("{route}: …{found}…"));
            }
            for link in answer.text.split("href=\"").skip(1) {
                let link = link.split('"').next().unwrap_or_default();
                let link = link.replace("&#38;", "&").replace("&amp;", "&");
                let link = link.split('#').next().unwrap_or_default().to_owned();
                if link.starts_with('/')
                    && !link.starts_with("/static")
                    && seen.insert(link.clone())
                {
                    queue.push_back(link);
                }
            }
        }
        assert!(pages > 60, "{role} reached {pages} pages only");
    }
    let wrong: Vec<String> = wrong.into_iter().collect();
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}
