//! What was found, by kind, a few of each; a number typed whole leads straight to its page.
//! Which words fit which thing is the store's to say.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;
use sqlx::SqliteConnection;

use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::{App, address, show};
use crate::record::seal::hash_of_code;
use crate::store;
use crate::store::search::Found;

/// Things of one kind on the page.
const FEW: usize = 8;
/// Longer than any number or name.
const LONGEST: usize = 80;

/// What is looked for.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    q: String,
}

/// A thing that was found, with the address of its page.
#[derive(Debug, Clone)]
pub struct Hit {
    number: String,
    says: String,
    address: String,
}

/// What was found of one kind.
#[derive(Debug, Clone)]
pub struct Group {
    words: &'static str,
    hits: Vec<Hit>,
    /// Whether there are more than are shown, and the list that shows them if there is one.
    more: bool,
    list: Option<String>,
}

#[derive(Template)]
#[template(path = "search/find.html")]
struct Page {
    chrome: Chrome,
    typed: String,
    groups: Vec<Group>,
}

impl Page {
    fn found(&self) -> usize {
        self.groups.iter().map(|group| group.hits.len()).sum()
    }

    fn cut(&self) -> bool {
        self.groups.iter().any(|group| group.more)
    }
}

/// The page, or the way to the only thing of that number.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let typed: String = asked
        .q
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .chars()
        .take(LONGEST)
        .collect();
    let mut db = app.store().read().await?;
    let groups = if typed.chars().any(char::is_alphanumeric) {
        groups(&mut db, &typed).await?
    } else {
        Vec::new()
    };
    let whole: Vec<&Hit> = groups
        .iter()
        .flat_map(|group| &group.hits)
        .filter(|hit| hit.number.eq_ignore_ascii_case(&typed))
        .collect();
    if let [only] = whole[..] {
        return Ok(answer::see_other(&only.address));
    }
    answer::page(&Page {
        chrome,
        typed,
        groups,
    })
}

/// The year and ordinal a number such as 2026-0042 ends with.
fn in_year(typed: &str) -> Option<(i64, i64)> {
    let (before, ordinal) = typed.rsplit_once('-')?;
    let year = before.rsplit('-').next()?;
    (year.len() == 4).then_some(())?;
    Some((year.parse().ok()?, ordinal.parse().ok()?))
}

async fn groups(db: &mut SqliteConnection, typed: &str) -> Result<Vec<Group>, PageError> {
    let most = i64::try_from(FEW + 1).unwrap_or(9);
    // Numbers of tests and certificates are written in capitals.
    let capitals = typed.to_uppercase();
    let numbered = in_year(typed);
    let hash = hash_of_code(typed);
    let mut gauges = store::search::gauges(db, typed, most).await?;
    // A tag typed whole comes first, however many gauges hold the same pieces.
    if let Some(tag) = store::search::gauge(db, typed).await? {
        match gauges.iter().position(|found| found.number == tag) {
            Some(place) => gauges.swap(0, place),
            None => gauges.insert(
                0,
                Found {
                    number: tag,
                    of: String::new(),
                    says: String::new(),
                },
            ),
        }
    }
    let list = |path: &str| Some(address::with_query(path, &[("q", typed.to_owned())]));
    let all = [
        group("Gauges", gauges, list(address::GAUGES), |f| {
            address::gauge(&f.number)
        }),
        group(
            "Kits",
            store::search::kits(db, typed, most).await?,
            list(address::STOREROOM),
            |f| address::kit(&f.number),
        ),
        group(
            "Lots",
            store::search::lots(db, typed, most).await?,
            None,
            |f| address::lot(&f.of, &f.number),
        ),
        group(
            "Instruments",
            store::search::instruments(db, typed, most).await?,
            None,
            |f| address::instrument(&f.number),
        ),
        group(
            "Pressure tests",
            store::search::tests(db, &capitals, numbered, most).await?,
            None,
            |f| address::pressure_test(&f.number),
        ),
        group(
            "Certificates",
            store::search::certificates(db, &capitals, numbered, hash.as_deref(), most).await?,
            None,
            |f| address::certificate(&f.number),
        ),
        group(
            "Orders",
            store::search::orders(db, &capitals, most).await?,
            None,
            |f| address::order(&f.number),
        ),
    ];
    Ok(all
        .into_iter()
        .filter(|group| !group.hits.is_empty())
        .collect())
}

fn group(
    words: &'static str,
    mut found: Vec<Found>,
    list: Option<String>,
    page: impl Fn(&Found) -> String,
) -> Group {
    let more = found.len() > FEW;
    found.truncate(FEW);
    Group {
        words,
        more,
        list,
        hits: found
            .into_iter()
            .map(|one| Hit {
                address: page(&one),
                number: one.number,
                says: one.says,
            })
            .collect(),
    }
}
