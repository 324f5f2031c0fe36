//! Photographs taken at the bench: of what was found, of a face, of a leak path. They are part of the
//! record of the rebuild, where they are served from; making an upload ready is `pages::picture`.

use std::collections::BTreeMap;

use axum::extract::{Multipart, Path, State};

use super::job::{self, Job};
use super::sheet::{Form, Page};
use super::step::{Common, section};
use crate::acts;
use crate::acts::bench_photos::{self, Shown};
use crate::acts::in_service::Photograph;
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Reader};
use crate::pages::upload::{self, Uploaded};
use crate::pages::{App, address, picture};

/// What is typed beside the photograph.
#[derive(Debug, Default, Clone)]
pub struct Typed {
    pub(super) section: String,
    pub(super) caption: String,
}

impl Typed {
    fn of(fields: &BTreeMap<String, String>) -> Self {
        let field = |name: &str| fields.get(name).cloned().unwrap_or_default();
        Self {
            section: field("section"),
            caption: field("caption"),
        }
    }

    fn read(&self, job: &Job) -> Result<Shown, Errors> {
        let mut read = Reader::new();
        let section = section(&mut read, job, &self.section, true);
        let caption = read.text("caption", &self.caption, 200);
        read.finish(section.map(|section| Shown { section, caption }))
    }
}

/// The form.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let (_, Some(job)) = job::find(&mut db, &tag).await? else {
        return Ok(see_other(&address::bench(&tag)));
    };
    let form = Form::Photo(Typed::default());
    let page = Page::new(chrome, job, form, Errors::none(), Common::default());
    answer::page(&page)
}

/// Takes a photograph in.
pub async fn add(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    form: Multipart,
) -> Answer {
    let uploaded = upload::read(&chrome.signed, form, picture::MOST_BYTES).await?;
    let of = uploaded.fields.get("rebuild").map_or("", String::as_str);
    let job = job::posted(&app, &tag, of).await?;
    let typed = Typed::of(&uploaded.fields);
    let done = match made_ready(&uploaded, &typed, &job).await {
        Ok((shown, photo)) => add_one(&chrome, &uploaded.key, &job, &shown, &photo)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            let form = Form::Photo(typed);
            answer::refused(&Page::new(chrome, job, form, errors?, Common::default()))
        }
    }
}

async fn made_ready(
    uploaded: &Uploaded,
    typed: &Typed,
    job: &Job,
) -> Result<(Shown, Photograph), Errors> {
    let shown = typed.read(job);
    let refuse = |message: &str| {
        let mut errors = shown.clone().err().unwrap_or_default();
        errors.add("photo", message);
        errors
    };
    if uploaded.too_large {
        return Err(refuse(
            "A photograph has at most 12 MB; this file is larger",
        ));
    }
    if uploaded.bytes.is_empty() {
        return Err(refuse("Choose a photograph first"));
    }
    let photo = picture::ready(uploaded.bytes.clone())
        .await
        .map_err(|message| refuse(&message))?;
    Ok((shown?, photo))
}

async fn add_one(
    chrome: &Chrome,
    key: &str,
    job: &Job,
    shown: &Shown,
    photo: &Photograph,
) -> acts::Result<String> {
    let mut deed = chrome.deed(key).await?;
    bench_photos::add(&mut deed, job.rebuild.id, shown, photo).await?;
    let to = address::bench(&job.gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}
