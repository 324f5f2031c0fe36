//! Bringing in the plant's list, first page: the file is chosen and read, and the lists that came
//! before are named. What its columns hold is asked on the next page.

use askama::Template;
use axum::extract::{DefaultBodyLimit, FromRequest, Multipart, Request, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::IntoResponse;

use crate::acts::{self, bring_in};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors};
use crate::pages::{App, address, show, upload};
use crate::record::plant_list::reading::Wish;
use crate::record::plant_list::{Field, MOST_BYTES, MOST_LINES, mend};
use crate::record::{BringInId, Moment};
use crate::store;
use crate::store::bring_in::Upload;

/// Lists named below the form.
const NAMED: i64 = 10;
/// A larger file is still let in to its end, so that the browser shows our answer and not a broken
/// connection; it is not kept.
const LET_IN: usize = 200 * 1024 * 1024;
/// Longest name of a file that is kept.
const NAME: usize = 120;

#[derive(Template)]
#[template(path = "gauges/bring_in.html")]
struct Page {
    chrome: Chrome,
    errors: Errors,
    lists: Vec<Upload>,
    now: Moment,
}

impl Page {
    async fn new(app: &App, chrome: Chrome, errors: Errors) -> Result<Self, PageError> {
        let mut db = app.store().read().await?;
        Ok(Self {
            chrome,
            errors,
            lists: store::bring_in::latest(&mut db, NAMED).await?,
            now: app.clock().now(),
        })
    }

    fn waits(&self, list: &Upload) -> bool {
        bring_in::closed(list, self.now).is_none()
    }

    fn until(&self, list: &Upload) -> String {
        show::moment(&list.at.plus(bring_in::KEPT), self.chrome.zone())
    }

    fn most_lines() -> i64 {
        i64::try_from(MOST_LINES).unwrap_or(i64::MAX)
    }

    /// Where a list that waits is taken up again.
    fn next(list: &Upload) -> String {
        let step = if list.matching.is_some() {
            "preview"
        } else {
            "columns"
        };
        address::bring_in(list.id, step)
    }

    fn fields() -> Vec<(&'static str, &'static str)> {
        Field::ALL
            .iter()
            .filter_map(|field| Some((field.heading()?, field.explained())))
            .collect()
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome) -> Answer {
    answer::page(&Page::new(&app, chrome, Errors::none()).await?)
}

/// Reads the chosen file and keeps it.
pub async fn receive(State(app): State<App>, chrome: Chrome, mut request: Request) -> Answer {
    DefaultBodyLimit::max(LET_IN).apply(&mut request);
    let parts = Multipart::from_request(request, &app)
        .await
        .map_err(|e| PageError::BadForm(e.to_string()))?;
    let posted = upload::read(&chrome.signed, parts, MOST_BYTES).await?;
    let mut errors = Errors::none();
    if posted.too_large {
        errors.add(
            "file",
            "The file has more than 20 MB; split the list or take out what the register does not need",
        );
    } else if posted.file_name.trim().is_empty() && posted.bytes.is_empty() {
        errors.add("file", "Choose the file that holds the list");
    }
    if errors.any() {
        return answer::refused(&Page::new(&app, chrome, errors).await?);
    }
    let name = plain_name(&posted.file_name);
    match receive_one(&chrome, &posted.key, name, posted.bytes).await {
        Ok(to) => Ok(see_other(&to)),
        Err(error) => {
            let errors = form::refused(error)?;
            answer::refused(&Page::new(&app, chrome, errors).await?)
        }
    }
}

async fn receive_one(
    chrome: &Chrome,
    key: &str,
    name: String,
    bytes: Vec<u8>,
) -> acts::Result<String> {
    let opened = bring_in::open(name, bytes, Wish::default()).await?;
    let mut deed = chrome.deed(key).await?;
    let id = bring_in::receive(&mut deed, &opened).await?;
    let to = address::bring_in(id, "columns");
    deed.commit(&to).await?;
    Ok(to)
}

/// The file's own name, without folders and marks that have no business in one.
fn plain_name(given: &str) -> String {
    let last = given.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain: String = last
        .chars()
        .filter(|c| !c.is_control() && !matches!(c, '"' | '<' | '>'))
        .take(NAME)
        .collect();
    let plain = plain.trim();
    if plain.is_empty() {
        "list".to_owned()
    } else {
        plain.to_owned()
    }
}

/// The list to fill in, with the headings the register likes.
pub async fn empty_list(_chrome: Chrome) -> Answer {
    Ok(csv_file("gauges-to-bring-in.csv", mend::empty_list()))
}

/// A CSV file to keep.
pub fn csv_file(name: &str, bytes: Vec<u8>) -> axum::response::Response {
    let disposition = format!("attachment; filename*=UTF-8''{}", address::encoded(name));
    (
        [
            (CONTENT_TYPE, "text/csv; charset=utf-8".to_owned()),
            (CONTENT_DISPOSITION, disposition),
        ],
        bytes,
    )
        .into_response()
}

/// The list a step's address names.
///
/// # Errors
/// There is no such list.
pub async fn asked_for(db: &mut sqlx::SqliteConnection, id: &str) -> Result<Upload, PageError> {
    let id = id.parse().map_err(|_| PageError::NotFound("list"))?;
    store::bring_in::find(db, BringInId(id))
        .await?
        .ok_or(PageError::NotFound("list"))
}
