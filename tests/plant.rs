//! The world of the tests: a plant in a database file of its own, the service without a socket, a
//! clock that stands until it is turned, and people who visit pages and send forms.

mod area;
mod class;
mod settings;

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::sync::OnceLock;

use axum::Router;
use axum::body::Body;
use axum::http::header::{CONTENT_TYPE, COOKIE, LOCATION, SET_COOKIE};
use axum::http::{Method, Request, StatusCode};
use gaugewright::acts::{self, Deed, Who};
use gaugewright::calc::pressure_test::Code;
use gaugewright::calc::quantity::{LengthUnit, Stamped, TorqueUnit};
use gaugewright::pages::{App, routes};
use gaugewright::record::moment::{Clock, Zone};
use gaugewright::record::person::{Person, Role};
use gaugewright::record::plant::{Plant as Settings, ServiceClass};
use gaugewright::record::{Moment, ServiceClassId};
use gaugewright::store::{self, Store};
use http_body_util::BodyExt;
use rust_decimal::Decimal;
use time::macros::datetime;
use tower::ServiceExt;

/// The password of everybody in the tests; hashed once, since hashing is slow on purpose.
pub const PASSWORD: &str = "a strip of flat glass";

/// A plant with five people, two areas and two service classes, on 2 March 2026.
pub struct Plant {
    pub store: Store,
    pub clock: Clock,
    pub service: Router,
    pub folder: PathBuf,
    _kept: tempfile::TempDir,
}

/// The database as a new plant has it, made once and copied for every test.
static TEMPLATE: OnceLock<Vec<u8>> = OnceLock::new();

async fn template() -> &'static Vec<u8> {
    static ONCE: tokio::sync::OnceCell<()> = tokio::sync::OnceCell::const_new();
    ONCE.get_or_init(|| async {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(folder.path()).await.expect("a new database");
        let clock = Clock::standing(start());
        furnish(&store, &clock).await;
        store.close().await;
        let copy = folder.path().join("copy.db");
        store::copy_to(folder.path(), &copy).await.expect("a copy");
        TEMPLATE
            .set(std::fs::read(copy).expect("the copy"))
            .expect("set once");
    })
    .await;
    TEMPLATE.get().expect("the template")
}

/// Monday 2 March 2026, nine o'clock in the morning, UTC.
pub fn start() -> Moment {
    Moment::new(datetime!(2026-03-02 09:00 UTC))
}

async fn furnish(store: &Store, clock: &Clock) {
    let hash = acts::people::hash_password(PASSWORD.to_owned())
        .await
        .expect("a hash");
    let mut deed = Deed::begin(store, clock, Who::program(), None)
        .await
        .expect("a deed");
    for role in Role::ALL {
        let (id, _) = acts::people::add(&mut deed, role.word(), &format!("Test {role}"), *role)
            .await
            .expect("a person");
        store::people::set_password(deed.db(), id, &hash)
            .await
            .expect("a password");
    }
    acts::plant::settle(
        &mut deed,
        &Settings {
            name: "Test Works".to_owned(),
            owner: "Test Owner".to_owned(),
            address: "1 Quay".to_owned(),
            zone: Zone::utc(),
            test_code: Code::CommonPractice,
            hold_minutes: 5,
            tightening_step: Stamped::new(Decimal::from(5), TorqueUnit::FootPound),
            flatness_limit: Stamped::new(Decimal::new(2, 3), LengthUnit::Inch),
            wall_limit: Stamped::new(Decimal::new(100, 3), LengthUnit::Inch),
            skim_limit: 2,
            number_prefix: "TW".to_owned(),
            ground: String::new(),
            settled_on: None,
            demo: false,
            version: 0,
        },
    )
    .await
    .expect("settings");
    for area in ["Boiler House", "Tank Row"] {
        acts::plant::add_area(&mut deed, area)
            .await
            .expect("an area");
    }
    for (name, rebuild, look_over) in [("saturated steam", 18, 3), ("cold water", 60, 12)] {
        let class = ServiceClass {
            id: ServiceClassId(0),
            name: name.to_owned(),
            description: String::new(),
            rebuild_months: Some(rebuild),
            look_over_months: Some(look_over),
            defer_months: None,
            re_torque_days: None,
            flush: false,
            version: 0,
        };
        acts::plant::add_service_class(&mut deed, &class)
            .await
            .expect("a class");
    }
    deed.commit("").await.expect("committed");
}

impl Plant {
    /// A plant of its own for one test.
    pub async fn new() -> Self {
        let kept = tempfile::tempdir().expect("a folder");
        let folder = kept.path().to_owned();
        std::fs::write(folder.join("register.db"), template().await).expect("the database");
        let store = Store::open(&folder).await.expect("the database opens");
        let clock = Clock::standing(start());
        let app = App::new(store.clone(), clock.clone(), None);
        let service = routes::service(&app);
        Self {
            store,
            clock,
            service,
            folder,
            _kept: kept,
        }
    }

    /// Turns the clock.
    pub fn turn_to(&self, at: time::OffsetDateTime) {
        self.clock.set(Moment::new(at));
    }

    /// Somebody who is not signed in.
    pub fn visitor(&self) -> Visitor {
        Visitor::of(self.service.clone())
    }

    /// Somebody of this role, signed in.
    pub async fn signed_in(&self, role: Role) -> Visitor {
        let mut visitor = self.visitor();
        let answer = visitor
            .post(
                "/people/sign-in",
                &[("name", role.word()), ("password", PASSWORD)],
            )
            .await;
        assert_eq!(answer.status, StatusCode::SEE_OTHER, "{}", answer.text);
        visitor
    }

    /// The technician, signed in.
    pub async fn technician(&self) -> Visitor {
        self.signed_in(Role::Technician).await
    }

    /// The storekeeper, signed in.
    pub async fn storekeeper(&self) -> Visitor {
        self.signed_in(Role::Storekeeper).await
    }

    /// The inspector, signed in.
    pub async fn inspector(&self) -> Visitor {
        self.signed_in(Role::Inspector).await
    }

    /// The reliability engineer, signed in.
    pub async fn engineer(&self) -> Visitor {
        self.signed_in(Role::Engineer).await
    }

    /// The administrator, signed in.
    pub async fn administrator(&self) -> Visitor {
        self.signed_in(Role::Administrator).await
    }

    /// Writes straight into the database, past every rule but the schema's own; answers as the
    /// store would.
    pub async fn run(&self, sql: &str) -> store::Result<()> {
        let mut tx = self.store.write().await?;
        sqlx::raw_sql(sqlx::AssertSqlSafe(sql.to_owned()))
            .execute(&mut *tx)
            .await?;
        tx.commit().await?;
        Ok(())
    }

    /// Begins a deed of the first person of a role, past the pages.
    pub async fn deed_of(&self, role: Role) -> Deed {
        let mut db = self.store.read().await.expect("a reader");
        let person: Person = store::people::of_role(&mut db, role)
            .await
            .expect("people")
            .remove(0);
        drop(db);
        Deed::begin(&self.store, &self.clock, Who::from(&person), None)
            .await
            .expect("a deed")
    }
}

/// A browser as far as these tests need one: cookies, pages, forms.
#[derive(Clone)]
pub struct Visitor {
    service: Router,
    cookies: BTreeMap<String, String>,
}

/// What came back.
#[derive(Debug)]
pub struct Answer {
    pub status: StatusCode,
    pub headers: axum::http::HeaderMap,
    pub text: String,
    pub bytes: Vec<u8>,
}

impl Answer {
    /// Where the answer sends the browser.
    pub fn goes_to(&self) -> &str {
        self.headers
            .get(LOCATION)
            .and_then(|v| v.to_str().ok())
            .unwrap_or("")
    }

    /// Asserts that the page says something, spaces apart.
    pub fn says(&self, words: &str) -> &Self {
        assert!(
            plain(&self.text).contains(&plain(words)),
            "the page ({}) should say {words:?}; it says:\n{}",
            self.status,
            plain(&self.text)
        );
        self
    }

    /// Asserts that the page does not say something.
    pub fn does_not_say(&self, words: &str) -> &Self {
        assert!(
            !plain(&self.text).contains(&plain(words)),
            "the page should not say {words:?}"
        );
        self
    }

    /// Asserts the status.
    pub fn is(&self, status: StatusCode) -> &Self {
        assert_eq!(self.status, status, "{}", plain(&self.text));
        self
    }

    /// The value of a named field of the page's forms, the last one of that name.
    pub fn field(&self, name: &str) -> String {
        let mark = format!("name=\"{name}\"");
        let at = self
            .text
            .rfind(&mark)
            .unwrap_or_else(|| panic!("no field {name} in\n{}", self.text));
        let start = self.text[..at].rfind('<').expect("a tag");
        let end = at + self.text[at..].find('>').expect("the tag's end");
        let tag = &self.text[start..end];
        tag.split_once("value=\"")
            .map(|(_, rest)| rest.split('"').next().unwrap_or_default().to_owned())
            .unwrap_or_default()
    }
}

/// The words of a page without its marks, spaces folded. What stands in a template element is on no
/// page until a script puts it there.
pub fn plain(html: &str) -> String {
    let mut shown = html.to_owned();
    while let Some(from) = shown.find("<template>") {
        let length = shown[from..]
            .find("</template>")
            .unwrap_or(shown.len() - from);
        shown.replace_range(from..from + length, "");
    }
    let html = shown.as_str();
    let mut words = String::new();
    let mut inside = false;
    for c in html.chars() {
        match c {
            '<' => {
                inside = true;
                words.push(' ');
            }
            '>' => inside = false,
            c if !inside => words.push(c),
            _ => {}
        }
    }
    words
        .replace("&#38;", "&")
        .replace("&#39;", "'")
        .replace("&#34;", "\"")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

impl Visitor {
    /// Somebody at the door of a service, not signed in.
    pub fn of(service: Router) -> Self {
        Self {
            service,
            cookies: BTreeMap::new(),
        }
    }

    /// Visits a page.
    pub async fn get(&mut self, path: &str) -> Answer {
        self.send(
            Request::builder().method(Method::GET).uri(path),
            Body::empty(),
        )
        .await
    }

    /// Sends fields as a form.
    pub async fn post(&mut self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let body = serde_html_form::to_string(fields).expect("a form");
        let request = Request::builder()
            .method(Method::POST)
            .uri(path)
            .header(CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header("sec-fetch-site", "same-origin");
        self.send(request, Body::from(body)).await
    }

    /// Opens a page and sends its form with these fields and the page's own key.
    pub async fn fill(&mut self, page: &str, action: &str, fields: &[(&str, &str)]) -> Answer {
        let opened = self.get(page).await;
        opened.is(StatusCode::OK);
        let key = opened.field("key");
        let mut all = vec![("key", key.as_str())];
        all.extend_from_slice(fields);
        self.post(action, &all).await
    }

    /// Chooses how figures are read: "as-stamped", "us-customary" or "si".
    pub async fn reads(&mut self, word: &str) {
        self.fill("/people/figures", "/people/figures", &[("reads", word)])
            .await
            .is(StatusCode::SEE_OTHER);
    }

    /// Sends one file and some fields as a multipart form.
    pub async fn upload(
        &mut self,
        path: &str,
        fields: &[(&str, &str)],
        file: (&str, &str, &[u8]),
    ) -> Answer {
        let edge = "----edge-of-a-part";
        let mut body = Vec::new();
        for (name, value) in fields {
            body.extend_from_slice(
                format!(
                    "--{edge}\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n"
                )
                .as_bytes(),
            );
        }
        let (name, file_name, bytes) = file;
        body.extend_from_slice(
            format!("--{edge}\r\nContent-Disposition: form-data; name=\"{name}\"; filename=\"{file_name}\"\r\nContent-Type: application/octet-stream\r\n\r\n").as_bytes(),
        );
        body.extend_from_slice(bytes);
        body.extend_from_slice(format!("\r\n--{edge}--\r\n").as_bytes());
        let request = Request::builder()
            .method(Method::POST)
            .uri(path)
            .header(
                CONTENT_TYPE,
                format!("multipart/form-data; boundary={edge}"),
            )
            .header("sec-fetch-site", "same-origin");
        self.send(request, Body::from(body)).await
    }

    /// Sends a request with the visitor's cookies and keeps those that come back.
    pub async fn send(&mut self, request: axum::http::request::Builder, body: Body) -> Answer {
        let cookies: Vec<String> = self
            .cookies
            .iter()
            .map(|(k, v)| format!("{k}={v}"))
            .collect();
        let request = request
            .header("host", "plant.test")
            .header(COOKIE, cookies.join("; "))
            .body(body)
            .expect("a request");
        let response = self
            .service
            .clone()
            .oneshot(request)
            .await
            .expect("an answer");
        let (parts, body) = response.into_parts();
        for cookie in parts.headers.get_all(SET_COOKIE) {
            let text = cookie
                .to_str()
                .expect("a cookie")
                .split(';')
                .next()
                .unwrap_or_default();
            let (name, value) = text.split_once('=').expect("a cookie's value");
            if value.is_empty() {
                self.cookies.remove(name);
            } else {
                self.cookies.insert(name.to_owned(), value.to_owned());
            }
        }
        let bytes = body.collect().await.expect("a body").to_bytes().to_vec();
        Answer {
            status: parts.status,
            headers: parts.headers,
            text: String::from_utf8_lossy(&bytes).into_owned(),
            bytes,
        }
    }
}
