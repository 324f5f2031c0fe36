//! Correcting a certificate by a new one that replaces it: why, what was wrong, what the new one will
//! state differently, and the signature. The test itself is evidence and stays as it was recorded.

use askama::Template;
use axum::extract::{Path, State};
use serde::Deserialize;

use super::show::confirm;
use super::sign::{Unsigned, check_at, printable};
use crate::acts;
use crate::acts::pressure_tests::{Correction, corrected};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{Errors, Posted, Reader};
use crate::pages::{App, address, show};
use crate::papers::certificate::CertificateRecord;
use crate::record::Moment;
use crate::record::certificate::{Difference, MEANING_ISSUED, changes};
use crate::record::pressure_test::{Certificate, Circumstances};
use crate::store;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    reason: String,
    place: String,
    read_at: String,
    procedure: String,
    remark: String,
    /// Pressed to look at the differences before signing.
    look: String,
    password: String,
}

#[derive(Template)]
#[template(path = "pressure_tests/correct.html")]
struct Page {
    chrome: Chrome,
    kept: Certificate,
    typed: Typed,
    /// What the new one would state differently, as things stand in the form.
    differences: Vec<Difference>,
    /// Why it cannot be corrected.
    against: Option<String>,
    now: Moment,
    errors: Errors,
}

impl Page {
    async fn new(
        app: &App,
        chrome: Chrome,
        number: &str,
        typed: Option<Typed>,
        errors: Errors,
    ) -> Result<Self, PageError> {
        let mut db = app.store().read().await?;
        let kept = store::issued::by_number(&mut db, number)
            .await?
            .ok_or(PageError::NotFound("certificate"))?;
        let test = store::pressure_tests::by_id(&mut db, kept.test_id)
            .await?
            .ok_or(PageError::NotFound("pressure test"))?;
        let before: CertificateRecord =
            serde_json::from_str(&kept.record).map_err(store::Error::from)?;
        let c = &test.facts.circumstances;
        let typed = typed.unwrap_or_else(|| Typed {
            place: before.test.place.clone().unwrap_or_else(|| c.place.clone()),
            read_at: before.test.measured_at.clone().unwrap_or_default(),
            procedure: before.requirement.procedure.clone().unwrap_or_default(),
            ..Typed::default()
        });
        let correction = typed.correction(c).unwrap_or_default();
        let by = (chrome.person().name.clone(), app.clock().now());
        let at = check_at(app);
        let plant = chrome.plant.clone();
        let tried = corrected(&mut db, plant, &kept, &correction, at.as_deref(), by).await;
        let (differences, against) = match tried {
            Ok((_, after)) => (changes(&before, &after), None),
            Err(acts::Error::Refused(crate::record::Refusal::Fields(_))) => (Vec::new(), None),
            Err(acts::Error::Refused(refusal)) => (Vec::new(), Some(refusal.to_string())),
            Err(other) => return Err(other.into()),
        };
        Ok(Self {
            now: app.clock().now(),
            chrome,
            kept,
            typed,
            differences,
            against,
            errors,
        })
    }
}

impl Typed {
    fn correction(&self, before: &Circumstances) -> Result<Correction, Errors> {
        let mut read = Reader::new();
        let correction = Correction {
            reason: read.text("reason", &self.reason, 600),
            circumstances: Circumstances {
                place: read.text("place", &self.place, 80),
                read_at: read.text("read_at", &self.read_at, 120),
                procedure: read.text("procedure", &self.procedure, 80),
                ..before.clone()
            },
            remark: read.text("remark", &self.remark, 1000),
        };
        read.finish(Some(correction))
    }
}

/// The page.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(number): Path<String>) -> Answer {
    answer::page(&Box::pin(Page::new(&app, chrome, &number, None, Errors::none())).await?)
}

/// Issues the corrected certificate; or shows what it would state differently.
pub async fn replace(
    State(app): State<App>,
    chrome: Chrome,
    Path(number): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let errors = if posted.form.look.is_empty() {
        match replace_one(&app, &chrome, &number, &posted).await {
            Ok(to) => return Ok(see_other(&to)),
            Err(refused) => refused.errors()?,
        }
    } else {
        Errors::none()
    };
    let looked = !errors.any();
    let typed = Typed {
        password: String::new(),
        look: String::new(),
        ..posted.form
    };
    let page = Box::pin(Page::new(&app, chrome, &number, Some(typed), errors)).await?;
    if looked {
        answer::page(&page)
    } else {
        answer::refused(&page)
    }
}

async fn replace_one(
    app: &App,
    chrome: &Chrome,
    number: &str,
    posted: &Posted<Typed>,
) -> Result<String, Unsigned> {
    let before = {
        let mut db = app.store().read().await.map_err(acts::Error::from)?;
        let kept = store::issued::by_number(&mut db, number)
            .await
            .map_err(acts::Error::from)?;
        let test = match kept {
            Some(kept) => store::pressure_tests::by_id(&mut db, kept.test_id)
                .await
                .map_err(acts::Error::from)?,
            None => None,
        };
        test.ok_or(Unsigned::Page(PageError::NotFound("certificate")))?
            .facts
            .circumstances
    };
    let correction = posted
        .form
        .correction(&before)
        .map_err(|errors| Unsigned::Act(errors.into_refusal().into()))?;
    confirm(app, chrome, &posted.form.password).await?;
    let at = check_at(app);
    let mut deed = chrome.deed(&posted.key).await?;
    let issued =
        acts::pressure_tests::correct(&mut deed, number, &correction, at.as_deref()).await?;
    let to = address::certificate(&issued.record.number);
    printable(issued).await?;
    deed.commit(&to).await?;
    Ok(to)
}
