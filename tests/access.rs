//! Who may come where: the table of addresses, walked for every role and for nobody signed in; and
//! what stands around every answer.

use axum::body::Body;
use axum::http::header::{CONTENT_TYPE, RETRY_AFTER};
use axum::http::{Method, Request, StatusCode};
use axum::response::IntoResponse;
use gaugewright::pages::answer::PageError;
use gaugewright::pages::routes::{self, Access, Route};
use gaugewright::record::person::Role;

use crate::gauges::hang;
use crate::plant::{Answer, Plant, Visitor, plain};

/// An address of the table with its parameters filled in from the furnished plant, and whether
/// something is there. Where nothing is, not-found is an answer too.
fn concrete(path: &str) -> (String, bool) {
    let known: &[(&str, &str)] = &[
        ("/gauges/{tag}", "/gauges/LG-1107A"),
        (
            "/gauges/{tag}/rebuilds/{ordinal}",
            "/gauges/LG-1107A/rebuilds/1",
        ),
        ("/bench/{tag}", "/bench/LG-1107A"),
        (
            "/storeroom/kits/{kit}/lots/{lot}/{movement}",
            "/storeroom/kits/TW-K-1/lots/L-1/count",
        ),
        (
            "/storeroom/kits/{kit}/lots/{lot}",
            "/storeroom/kits/TW-K-1/lots/L-1",
        ),
        ("/storeroom/kits/{kit}", "/storeroom/kits/TW-K-1"),
        ("/instruments/{number}", "/instruments/PG-1"),
        ("/pressure-tests/new/{tag}", "/pressure-tests/new/LG-1107A"),
        ("/pressure-tests/gas/{tag}", "/pressure-tests/gas/LG-1107A"),
        (
            "/pressure-tests/plan/{tag}",
            "/pressure-tests/plan/LG-1107A",
        ),
        (
            "/windows/{area}/{starts_on}",
            "/windows/Boiler%20House/2026-05-04",
        ),
        ("/plant/area/{name}", "/plant/area/Boiler%20House"),
        ("/plant/class/{name}", "/plant/class/cold%20water"),
        ("/people/account/{name}", "/people/account/storekeeper"),
        ("/people/set-password/{token}", "/people/set-password/0000"),
        ("/people/first/{token}", "/people/first/0000"),
        ("/life/costs/{name}", "/life/costs/cold%20water"),
        ("/life/tables/{file}", "/life/tables/lives.csv"),
        ("/workings/{name}", "/workings/test-pressure"),
        ("/static/{*name}", "/static/style.css"),
    ];
    for (pattern, filled) in known {
        if let Some(rest) = path.strip_prefix(pattern)
            && !rest.contains('{')
        {
            return (format!("{filled}{rest}"), true);
        }
    }
    if !path.contains('{') {
        return (path.to_owned(), true);
    }
    let filled = path
        .split('/')
        .map(|part| {
            if part.starts_with('{') {
                "none-such"
            } else {
                part
            }
        })
        .collect::<Vec<_>>()
        .join("/");
    (filled, false)
}

/// A plant with one of what the addresses speak of.
async fn furnished() -> Plant {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    hang(&mut engineer, &[]).await;
    engineer
        .fill(
            "/windows/new",
            "/windows/new",
            &[
                ("area", "1"),
                ("name", "spring"),
                ("starts_on", "2026-05-04"),
                ("ends_on", "2026-05-15"),
            ],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    plant
        .run(
            "INSERT INTO kit (number, name, kind, lead_days) VALUES ('TW-K-1', 'reflex 250', 'reflex', 30);
             INSERT INTO lot (kit_id, number, received_on) VALUES (1, 'L-1', '2025-01-10');
             INSERT INTO stock_line (lot_id, kind, quantity, balance, at, on_date, person_id) VALUES (1, 'receipt', 6, 6, '2025-01-10T08:00:00.000Z', '2025-01-10', 2);
             INSERT INTO instrument (number, kind, range_low, range_high, unit) VALUES ('PG-1', 'pressure-gauge', '0', '3000', '[psi]');",
        )
        .await
        .expect("a kit and an instrument");
    plant
        .run(
            "INSERT INTO rebuild (gauge_id, ordinal, state, cause, planned_for, planned_at, planned_by) VALUES
               (1, 1, 'at-the-bench', 'interval', '2026-03-02', '2026-03-01T08:00:00.000Z', 4)",
        )
        .await
        .expect("a rebuild");
    plant
        .run("INSERT INTO nameplate_photo (gauge_id, at, person_id, width, height, sha256, jpeg, small_jpeg) VALUES (1, '2026-03-02T09:00:00.000Z', 1, 1, 1, zeroblob(32), x'ff', x'ff')")
        .await
        .expect("a photograph");
    plant
}

/// Goes to an address as a form without fields would, or visits it.
async fn go(visitor: &mut Visitor, route: &Route, address: &str) -> Answer {
    if route.method == Method::POST {
        visitor.post(address, &[]).await
    } else {
        visitor.get(address).await
    }
}

fn shut(status: StatusCode) -> bool {
    matches!(
        status,
        StatusCode::UNAUTHORIZED | StatusCode::FORBIDDEN | StatusCode::METHOD_NOT_ALLOWED
    )
}

#[tokio::test]
async fn every_role_comes_in_where_the_table_says_and_nowhere_else() {
    let plant = furnished().await;
    let mut wrong = Vec::new();
    for role in Role::ALL {
        let mut visitor = plant.signed_in(*role).await;
        for route in routes::table() {
            if route.path == "/people/sign-out" {
                continue;
            }
            let (address, there) = concrete(route.path);
            let status = go(&mut visitor, &route, &address).await.status;
            let fine = if route.access.lets(Some(*role)) {
                !shut(status)
                    && !status.is_server_error()
                    && (status != StatusCode::NOT_FOUND || !there)
            } else {
                status == StatusCode::FORBIDDEN
            };
            if !fine {
                wrong.push(format!(
                    "{role}: {} {address} answers {status}",
                    route.method
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[tokio::test]
async fn a_page_somebody_may_see_is_shown_or_leads_on() {
    let plant = furnished().await;
    let mut wrong = Vec::new();
    for role in Role::ALL {
        let mut visitor = plant.signed_in(*role).await;
        for route in routes::table() {
            let (address, there) = concrete(route.path);
            let shows = route.method == Method::GET && there && route.access.lets(Some(*role));
            if !shows || route.path.ends_with("{token}") {
                continue;
            }
            let status = visitor.get(&address).await.status;
            if !matches!(status, StatusCode::OK | StatusCode::SEE_OTHER) {
                wrong.push(format!("{role}: {address} answers {status}"));
            }
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[tokio::test]
async fn nobody_signed_out_comes_further_than_the_door() {
    let plant = furnished().await;
    let mut visitor = plant.visitor();
    let mut wrong = Vec::new();
    for route in routes::table() {
        let (address, _) = concrete(route.path);
        let answer = go(&mut visitor, &route, &address).await;
        let fine = match (route.access, &route.method) {
            (Access::Open, _) => !shut(answer.status) && !answer.status.is_server_error(),
            (Access::Roles(_), &Method::GET) => {
                answer.status == StatusCode::SEE_OTHER
                    && answer.goes_to().starts_with("/people/sign-in?next=%2F")
            }
            (Access::Roles(_), _) => answer.status == StatusCode::UNAUTHORIZED,
        };
        if !fine {
            wrong.push(format!(
                "{} {address} answers {}",
                route.method, answer.status
            ));
        }
    }
    assert!(wrong.is_empty(), "\n{}", wrong.join("\n"));
}

#[tokio::test]
async fn no_address_lets_in_a_role_that_does_not_exist_and_none_is_listed_twice() {
    let mut seen = std::collections::BTreeSet::new();
    for route in routes::table() {
        assert!(
            seen.insert((route.method.to_string(), route.path)),
            "{} {} stands twice",
            route.method,
            route.path
        );
        if let Access::Roles(roles) = route.access {
            assert!(!roles.is_empty(), "{} lets nobody in", route.path);
        }
        if route.method == Method::POST && route.access == Access::Open {
            assert!(
                [
                    "/people/sign-in",
                    "/people/set-password/{token}",
                    "/people/first/{token}",
                    // Reads what it is sent and keeps nothing.
                    "/check"
                ]
                .contains(&route.path),
                "{} is open to everybody",
                route.path
            );
        }
    }
}

/// While a list is taken in nobody else can record anything, so nothing but the list's own pages may hold on
/// for longer than a minute, and these for five at most.
#[test]
fn only_the_pages_that_work_through_a_plant_s_list_are_waited_for_longer() {
    let minutes = std::time::Duration::from_mins;
    let long: Vec<(String, &str)> = routes::table()
        .into_iter()
        .filter(|route| route.patience != minutes(1))
        .inspect(|route| assert_eq!(route.patience, minutes(5), "{}", route.path))
        .map(|route| (route.method.to_string(), route.path))
        .collect();
    let expected = [
        ("POST", "/gauges/bring-in"),
        ("GET", "/gauges/bring-in/{id}/columns"),
        ("POST", "/gauges/bring-in/{id}/columns"),
        ("POST", "/gauges/bring-in/{id}/reading"),
        ("GET", "/gauges/bring-in/{id}/preview"),
        ("POST", "/gauges/bring-in/{id}/preview"),
    ];
    let expected = expected.map(|(method, path)| (method.to_owned(), path));
    assert_eq!(long, expected);
}

#[test]
fn whoever_waits_in_vain_for_the_register_is_told_that_it_is_busy_and_to_send_it_once_more() {
    let waited = || gaugewright::store::Error::from(sqlx::Error::PoolTimedOut);
    for error in [
        PageError::from(waited()),
        PageError::from(gaugewright::acts::Error::from(waited())),
    ] {
        let answer = error.into_response();
        assert_eq!(answer.status(), StatusCode::SERVICE_UNAVAILABLE);
        assert!(answer.headers().contains_key(RETRY_AFTER));
    }
    let failed = PageError::from(gaugewright::store::Error::from(sqlx::Error::WorkerCrashed));
    let answer = failed.into_response();
    assert_eq!(answer.status(), StatusCode::INTERNAL_SERVER_ERROR);
}

#[tokio::test]
async fn the_page_of_an_address_that_is_none_says_so() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    engineer
        .get("/nowhere")
        .await
        .is(StatusCode::NOT_FOUND)
        .says("Not in the register");
    engineer.post("/due", &[]).await.is(StatusCode::NOT_FOUND);
}

/// Every kind of answer: pages, refusals, files, nothing found, a form of another site, a body too
/// large, an address that cannot be read.
async fn every_answer(plant: &Plant) -> Vec<(String, Answer)> {
    let mut all = Vec::new();
    let mut engineer = plant.engineer().await;
    let mut nobody = plant.visitor();
    for route in routes::table() {
        if route.path == "/people/sign-out" {
            continue;
        }
        let (address, _) = concrete(route.path);
        for visitor in [&mut engineer, &mut nobody] {
            let answer = go(visitor, &route, &address).await;
            all.push((format!("{} {address}", route.method), answer));
        }
    }
    for path in [
        "/nowhere",
        "/gauges/LG-0000",
        "/static/none.css",
        "/gauges/%FF%FE",
    ] {
        all.push((path.to_owned(), engineer.get(path).await));
    }
    all.push((
        "cross-site".to_owned(),
        cross_site(&mut engineer, "/gauges/new").await,
    ));
    let large = Request::builder()
        .method(Method::POST)
        .uri("/gauges/new")
        .header(CONTENT_TYPE, "application/x-www-form-urlencoded")
        .header("sec-fetch-site", "same-origin");
    all.push((
        "too large".to_owned(),
        engineer
            .send(large, Body::from(vec![b'a'; 22 * 1024 * 1024]))
            .await,
    ));
    all
}

async fn cross_site(visitor: &mut Visitor, path: &str) -> Answer {
    let request = Request::builder()
        .method(Method::POST)
        .uri(path)
        .header(CONTENT_TYPE, "application/x-www-form-urlencoded")
        .header("sec-fetch-site", "cross-site");
    visitor.send(request, Body::from("kind=leak")).await
}

#[tokio::test]
async fn every_answer_carries_the_policy_and_the_headers() {
    let plant = furnished().await;
    for (what, answer) in every_answer(&plant).await {
        let header = |name: &str| {
            answer
                .headers
                .get(name)
                .and_then(|v| v.to_str().ok())
                .unwrap_or_default()
                .to_owned()
        };
        let policy = header("content-security-policy");
        for part in [
            "default-src 'none'",
            "script-src 'self'",
            "style-src 'self'",
            "frame-ancestors 'none'",
            "base-uri 'none'",
            "form-action 'self'",
        ] {
            assert!(
                policy.contains(part),
                "{what} ({}): {policy:?}",
                answer.status
            );
        }
        assert!(!policy.contains("unsafe"), "{what}: {policy}");
        for (name, value) in [
            ("x-content-type-options", "nosniff"),
            ("x-frame-options", "DENY"),
            ("referrer-policy", "same-origin"),
            ("cross-origin-opener-policy", "same-origin"),
            ("cross-origin-resource-policy", "same-origin"),
        ] {
            assert_eq!(header(name), value, "{what} ({})", answer.status);
        }
        assert!(!header("permissions-policy").is_empty(), "{what}");
        assert!(!header("x-request-id").is_empty(), "{what}");
        let lasting = what.contains("/static/style.css") || what.contains("mark=");
        if !lasting && answer.status != StatusCode::NOT_FOUND {
            assert_eq!(header("cache-control"), "no-store", "{what}");
        }
    }
}

#[tokio::test]
async fn no_answer_shows_what_went_wrong_inside() {
    let plant = furnished().await;
    for (what, answer) in every_answer(&plant).await {
        assert!(
            !answer.status.is_server_error(),
            "{what} answers {}",
            answer.status
        );
        for word in [
            "sqlx",
            "SQLite",
            "panicked",
            "no such table",
            "constraint failed",
            "Error {",
        ] {
            assert!(!answer.text.contains(word), "{what} says {word}");
        }
    }
}

#[tokio::test]
async fn no_page_carries_script_or_style_of_its_own() {
    let plant = furnished().await;
    for (what, answer) in every_answer(&plant).await {
        let page = answer
            .headers
            .get(CONTENT_TYPE)
            .is_some_and(|kind| kind.as_bytes().starts_with(b"text/html"));
        if !page {
            continue;
        }
        assert!(!answer.text.contains("<style"), "{what}");
        assert!(!answer.text.contains(" style=\""), "{what}");
        for script in answer.text.split("<script").skip(1) {
            assert!(
                script.starts_with(" src=\"/static/") && script.contains("></script>"),
                "{what}"
            );
        }
    }
}

#[tokio::test]
async fn a_form_of_another_site_is_refused_at_every_address_whoever_is_signed_in() {
    let plant = furnished().await;
    let mut engineer = plant.engineer().await;
    for route in routes::table() {
        if route.method != Method::POST {
            continue;
        }
        let (address, _) = concrete(route.path);
        cross_site(&mut engineer, &address)
            .await
            .is(StatusCode::FORBIDDEN)
            .says("This form was not sent from a page of this register");
        for (name, value) in [
            ("sec-fetch-site", "same-site"),
            ("origin", "https://elsewhere.example"),
            ("origin", "null"),
        ] {
            let request = Request::builder()
                .method(Method::POST)
                .uri(&address)
                .header(CONTENT_TYPE, "application/x-www-form-urlencoded")
                .header(name, value);
            engineer
                .send(request, Body::from("kind=leak"))
                .await
                .is(StatusCode::FORBIDDEN);
        }
    }
    engineer
        .get("/gauges/LG-1107A")
        .await
        .is(StatusCode::OK)
        .does_not_say("Failure open");
}

#[tokio::test]
async fn our_own_forms_come_in_with_their_origin() {
    let plant = furnished().await;
    let mut technician = plant.technician().await;
    let key = technician
        .get("/gauges/LG-1107A/failure")
        .await
        .field("key");
    let request = Request::builder()
        .method(Method::POST)
        .uri("/gauges/LG-1107A/failure")
        .header(CONTENT_TYPE, "application/x-www-form-urlencoded")
        .header("origin", "http://plant.test");
    technician
        .send(request, Body::from(format!("key={key}&kind=leak")))
        .await
        .is(StatusCode::SEE_OTHER);
}

/// The names of a page's fields, but for what tells whose form it is and of which rebuild; choices apart
/// from what is typed.
fn fields_of(page: &str) -> Vec<String> {
    ["<input", "<select", "<textarea"]
        .iter()
        .flat_map(|tag| page.split(tag).skip(1))
        .filter_map(|rest| {
            let tag = rest.split('>').next()?;
            let name = tag.split_once(" name=\"")?.1.split('"').next()?;
            Some(name.to_owned())
        })
        .filter(|name| !["key", "rebuild"].contains(&name.as_str()))
        .collect()
}

/// What a refused form says: beside its fields, and in the summary on top.
fn messages_of(page: &str) -> Vec<String> {
    let beside = page.split("class=\"wrong\"").skip(1);
    let beside = beside.map(|rest| rest.split_once('>').map_or(rest, |(_, words)| words));
    let summary = page.split("class=\"summary\"").skip(1);
    let above = summary
        .filter_map(|rest| rest.split("</ul>").next())
        .flat_map(|list| list.split("<li>").skip(1));
    beside
        .filter_map(|words| words.split("</p>").next())
        .chain(above.filter_map(|words| words.split("</li>").next()))
        .map(plain)
        .collect()
}

#[tokio::test]
async fn no_message_of_a_refused_form_begins_in_lower_case_or_speaks_of_variants() {
    let plant = furnished().await;
    let table = routes::table();
    let posts: Vec<&Route> = table
        .iter()
        .filter(|route| route.method == Method::POST && !route.path.contains("sign-out"))
        .collect();
    let (mut wrong, mut seen) = (Vec::new(), 0);
    for role in [
        Role::Engineer,
        Role::Technician,
        Role::Inspector,
        Role::Storekeeper,
        Role::Administrator,
    ] {
        let mut visitor = plant.signed_in(role).await;
        for route in &posts {
            let (address, there) = concrete(route.path);
            let page = visitor.get(&address).await;
            if !there || page.status != StatusCode::OK || !page.text.contains("name=\"key\"") {
                continue;
            }
            let key = page.field("key");
            let names = fields_of(&page.text);
            for typed in ["", "zz", "-1"] {
                let mut fields = vec![("key", key.as_str())];
                fields.extend(names.iter().map(|name| (name.as_str(), typed)));
                let answer = visitor.post(&address, &fields).await;
                if answer.status != StatusCode::UNPROCESSABLE_ENTITY {
                    continue;
                }
                for message in messages_of(&answer.text) {
                    seen += 1;
                    let lower = message.chars().next().is_some_and(char::is_lowercase);
                    if lower || message.contains("variant") {
                        wrong.push(format!("{address}: {message}"));
                    }
                }
            }
        }
    }
    wrong.sort();
    wrong.dedup();
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(seen > 100, "only {seen} messages were seen");
}
