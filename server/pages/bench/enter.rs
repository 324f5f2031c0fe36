//! Entering afterwards what was filled in by pen: every part of the sheet that is still open on one
//! page, read by the same readers as the steps on the screen. Its fields are laid out in `enter_parts.rs`.

use askama::Template;
use axum::extract::{Path, State};
use serde::de::DeserializeOwned;
use sqlx::SqliteConnection;

use super::enter_parts::{Blocks, Input};
use super::enter_titles::{prefix, stage};
use super::job::{self, Job};
use super::step::Step;
use super::{assembled, bolting, face, kits, made_safe, moves, stripped, tightened};
use crate::acts;
use crate::acts::bench::Worked;
use crate::acts::enter::{self, Line, Stopped, Written};
use crate::acts::pressure_tests::Done;
use crate::acts::rebuilds::Taking;
use crate::calc::quantity::{
    PressureUnit, StampedPressure, StampedTemperature, TemperatureUnit, Unit,
};
use crate::pages::answer::{self, Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::{App, address};
use crate::record::course::Part;
use crate::record::pressure_test::{Basis, CONFIRMED, Circumstances, LeakSeen, Reading};
use crate::record::refusal::unticked;
use crate::record::{Moment, PersonId};
use crate::store;

/// What was typed: every field by its name, as the browser sent it.
pub type Typed = Vec<(String, String)>;

#[derive(Template)]
#[template(path = "bench/enter.html")]
struct Page {
    chrome: Chrome,
    job: Job,
    blocks: Blocks,
    errors: Errors,
}

impl Page {
    fn tag(&self) -> &crate::record::TagNumber {
        &self.job.gauge.particulars.tag
    }

    /// Whether the sections of a stage stand in an order of their own.
    fn in_order(&self, begins: &str) -> bool {
        begins == stage(Part::Tighten(1)) && self.job.course.loose().len() > 1
    }
}

async fn page(
    db: &mut SqliteConnection,
    chrome: Chrome,
    job: Job,
    typed: &Typed,
    errors: Errors,
) -> store::Result<Page> {
    Ok(Page {
        blocks: Blocks::of(db, &chrome, &job, (typed, &errors)).await?,
        chrome,
        job,
        errors,
    })
}

/// The form, empty.
pub async fn show(State(app): State<App>, chrome: Chrome, Path(tag): Path<String>) -> Answer {
    let mut db = app.store().read().await?;
    let (_, Some(job)) = job::find(&mut db, &tag).await? else {
        return Ok(see_other(&address::bench(&tag)));
    };
    let page = page(&mut db, chrome, job, &Vec::new(), Errors::none()).await?;
    answer::page(&page)
}

/// Enters it all, or nothing and says what is wrong where.
pub async fn enter(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let job = job::posted(&app, &tag, &posted.rebuild).await?;
    let done = match read(&posted.form, &job, &chrome) {
        Ok((parts, lines)) => entered(&chrome, &posted, &job, &lines)
            .await
            .map_err(|stopped| beside(stopped, &parts, &job.course.open_parts())),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(to) => Ok(see_other(&to)),
        Err(errors) => {
            // What this very press entered before is not asked for any more and so seems unwritten.
            if let Err(before @ acts::Error::DoneBefore(_)) = chrome.deed(&posted.key).await {
                return Err(before.into());
            }
            let errors = errors?;
            let mut db = app.store().read().await?;
            let (_, Some(job)) = job::find(&mut db, &tag).await? else {
                return Ok(see_other(&address::bench(&tag)));
            };
            answer::refused(&page(&mut db, chrome, job, &posted.form, errors).await?)
        }
    }
}

async fn entered(
    chrome: &Chrome,
    posted: &Posted<Typed>,
    job: &Job,
    lines: &[Line],
) -> Result<String, Stopped> {
    let mut deed = chrome.deed(&posted.key).await?;
    let seen = value(&posted.form, "seen").parse().unwrap_or(0);
    let told = Taking {
        stands: !value(&posted.form, "stands").is_empty(),
        reason: value(&posted.form, "stands_reason").to_owned(),
        looked: !value(&posted.form, "looked").is_empty(),
    };
    enter::enter(&mut deed, job.rebuild.id, seen, (&told, lines)).await?;
    let to = address::bench(&job.gauge.particulars.tag);
    deed.commit(&to).await?;
    Ok(to)
}

/// A refusal beside the field of the part it belongs to.
fn beside(stopped: Stopped, parts: &[Part], open: &[Part]) -> Result<Errors, PageError> {
    let errors = form::refused(stopped.error)?;
    Ok(match stopped.at.and_then(|at| parts.get(at)) {
        Some(part) => under(&errors, *part, open),
        None => errors,
    })
}

/// Messages of a part by the names its fields have on this page; what belongs to no field stands at
/// the part's own head, who and when at that of its stage.
fn under(errors: &Errors, part: Part, open: &[Part]) -> Errors {
    let mut all = Errors::none();
    for error in errors.all() {
        let part = match error.field.as_str() {
            "who" | "when" => begins(open, part),
            _ => part,
        };
        let name = if matches!(error.field.as_str(), "" | "section" | "face") {
            "part"
        } else {
            error.field.as_str()
        };
        all.add(format!("{}{name}", prefix(part)), error.message.clone());
    }
    all
}

fn value<'a>(typed: &'a Typed, name: &str) -> &'a str {
    let mut found = typed.iter().filter(|(field, _)| field == name);
    found.next().map_or("", |(_, value)| value.as_str())
}

/// Whether somebody wrote in a part: a unit, or what the page chose beforehand, is no writing.
fn written(typed: &Typed, part: Part) -> bool {
    let begins = prefix(part);
    typed.iter().any(|(name, value)| {
        name.strip_prefix(begins.as_str()).is_some_and(|field| {
            !value.trim().is_empty()
                && !field.ends_with("_unit")
                && !matches!(field, "cause" | "who" | "when")
        })
    })
}

/// A step's own form out of the fields of a part.
fn form_of<T: DeserializeOwned + Default>(typed: &Typed, part: Part) -> T {
    let begins = prefix(part);
    let mut own: Vec<(&str, &str)> = typed
        .iter()
        .filter_map(|(name, value)| Some((name.strip_prefix(begins.as_str())?, value.as_str())))
        .collect();
    let place = |section: Option<u8>| section.map_or_else(|| "all".to_owned(), |s| s.to_string());
    let (section, face) = match part {
        Part::Strip(s) | Part::Tighten(s) => (place(Some(s)), ""),
        Part::Bolting(s) | Part::Assemble(s) => (place(s), ""),
        Part::Face(s, face) => (place(Some(s)), face.word()),
        _ => (String::new(), ""),
    };
    if !section.is_empty() {
        own.push(("section", &section));
    }
    if !face.is_empty() {
        own.push(("face", face));
    }
    serde_html_form::to_string(&own)
        .ok()
        .and_then(|text| serde_html_form::from_str(&text).ok())
        .unwrap_or_default()
}

/// Reads every part that was written in.
fn read(typed: &Typed, job: &Job, chrome: &Chrome) -> Result<(Vec<Part>, Vec<Line>), Errors> {
    let mut errors = Errors::none();
    let mut head = Reader::new();
    let whole = moment(
        &mut head,
        chrome,
        value(typed, "on"),
        value(typed, "at"),
        "on",
    );
    let by = head.take(
        "who",
        value(typed, "who")
            .parse()
            .map(PersonId)
            .map_err(|_| "Choose who did the work"),
    );
    head.text("stands_reason", value(typed, "stands_reason"), 400);
    let (mut parts, mut lines) = (Vec::new(), Vec::new());
    let mut before = whole;
    let open = job.course.open_parts();
    // Who and when are asked at the head of a stage. A stage that names nobody was worked on by whoever is
    // named above; one that names no time when the part before it was.
    let mut stage_of: Option<(Part, Option<PersonId>)> = None;
    for part in open.iter().copied() {
        if !written(typed, part) {
            continue;
        }
        let first = begins(&open, part);
        let mut own = Reader::new();
        let worker = match stage_of {
            Some((begun, worker)) if begun == first => worker,
            _ => {
                let told = |field: &str| value(typed, &format!("{}{field}", prefix(first)));
                let worker = match told("who") {
                    "" => by,
                    id => own.take(
                        "who",
                        id.parse().map(PersonId).map_err(|_| "Choose who did it"),
                    ),
                };
                let at = match told("when").trim() {
                    "" => before,
                    text => when(&mut own, chrome, text, before.or(whole)),
                };
                before = at.or(before);
                stage_of = Some((first, worker));
                worker
            }
        };
        let read = own
            .finish(Some(()))
            .and_then(|()| line(typed, part, (job, chrome), worker.zip(before)));
        match read {
            Ok(Some(line)) => {
                parts.push(part);
                lines.push(line);
            }
            Ok(None) => {}
            Err(wrong) => {
                for error in under(&wrong, part, &open).all() {
                    errors.add(error.field.clone(), error.message.clone());
                }
            }
        }
    }
    let mut all = head.finish(Some(())).err().unwrap_or_default();
    for error in errors.all() {
        all.add(error.field.clone(), error.message.clone());
    }
    if !all.any() && lines.is_empty() {
        all.add("", "Nothing was written yet");
    }
    if all.any() {
        Err(all)
    } else {
        Ok((parts, lines))
    }
}

/// The part at whose head it is asked who worked on a part and when: the first open one of its stage.
fn begins(open: &[Part], part: Part) -> Part {
    let mut all = open.iter().copied();
    all.find(|other| stage(*other) == stage(part))
        .unwrap_or(part)
}

/// A day and a time of it.
fn moment(
    read: &mut Reader,
    chrome: &Chrome,
    day: &str,
    time: &str,
    field: &str,
) -> Option<Moment> {
    let day = read.needed_date(field, day);
    let time = read.needed_time("at", time);
    day.zip(time)
        .and_then(|(day, time)| chrome.zone().moment(day, time))
}

/// A time of the day of the part before it, or a day and a time.
fn when(read: &mut Reader, chrome: &Chrome, text: &str, before: Option<Moment>) -> Option<Moment> {
    let (day, time) = match text.rsplit_once(' ') {
        Some((day, time)) => (form::read_date(day.trim()), form::read_time(time)),
        None => (before.map(|m| chrome.zone().date(m)), form::read_time(text)),
    };
    let found = day
        .zip(time)
        .and_then(|(day, time)| chrome.zone().moment(day, time));
    if found.is_none() {
        read.refuse(
            "when",
            "Write the time as 14:05, or with its day as 31 Dec 2026 14:05",
        );
    }
    found
}

/// What one part says; nothing where its head is wrong already.
fn line(
    typed: &Typed,
    part: Part,
    (job, chrome): (&Job, &Chrome),
    worked: Option<(PersonId, Moment)>,
) -> Result<Option<Line>, Errors> {
    fn step<T: Step>(
        typed: &Typed,
        part: Part,
        job: &Job,
        chrome: &Chrome,
    ) -> Result<Written, Errors> {
        let new = form_of::<T>(typed, part).read(job, chrome)?;
        Ok(Written::Entry(Box::new(new)))
    }
    let written = match part {
        Part::MadeSafe => step::<made_safe::Typed>(typed, part, job, chrome)?,
        Part::Strip(_) => step::<stripped::Typed>(typed, part, job, chrome)?,
        Part::Bolting(_) => step::<bolting::Typed>(typed, part, job, chrome)?,
        Part::Face(..) => step::<face::Typed>(typed, part, job, chrome)?,
        Part::Assemble(_) => step::<assembled::Typed>(typed, part, job, chrome)?,
        Part::Tighten(_) => step::<tightened::Typed>(typed, part, job, chrome)?,
        Part::Kits(_) => Written::Kits(form_of::<kits::Typed>(typed, part).read()?),
        Part::Prove => Written::Test(Box::new(test(typed, job, worked)?)),
        Part::Return => Written::Return(form_of::<moves::Return>(typed, part).read()?),
    };
    Ok(worked.map(|(by, at)| Line {
        worked: Worked { by, at },
        written,
    }))
}

/// The pressure test as it was written down.
fn test(typed: &Typed, job: &Job, worked: Option<(PersonId, Moment)>) -> Result<Done, Errors> {
    let begins = prefix(Part::Prove);
    let field = |name: &str| value(typed, &format!("{begins}{name}"));
    let mut read = Reader::new();
    let instrument = read.take(
        "instrument",
        field("instrument")
            .parse()
            .map_err(|_| "Choose the pressure gauge that was read"),
    );
    let medium = read.parse("medium", field("medium"));
    if field("confirmed").is_empty() {
        let words = unticked(
            CONFIRMED,
            "a test with air inside or people in line with the glass proves nothing",
        );
        read.refuse("confirmed", words);
    }
    let readings = readings(&mut read, field);
    let leak: Option<LeakSeen> = read.take(
        "leak",
        field("leak")
            .parse()
            .map_err(|_: String| "Say whether a leak was seen"),
    );
    let note = read.text("note", field("note"), 1800);
    let began = worked.map(|(_, at)| at);
    let done = (|| {
        Some(Done {
            gauge: job.gauge.id,
            basis: Basis::default(),
            shown: None,
            instrument: instrument?,
            // Without a moment nothing is entered; the head of the page says so.
            began: began.unwrap_or(job.rebuild.planned_at),
            medium: medium?,
            readings: readings?,
            leak: leak?,
            circumstances: Circumstances {
                place: "bench, from the sheet on paper".to_owned(),
                ..Circumstances::default()
            },
            heights: None,
            pump_with: None,
            worked: None,
            note,
        })
    })();
    read.finish(done)
}

/// Readings a line each: minute, pressure, temperature.
fn readings<'a>(read: &mut Reader, field: impl Fn(&str) -> &'a str) -> Option<Vec<Reading>> {
    let pressure = PressureUnit::from_ucum(field("readings_unit"));
    let degrees = TemperatureUnit::from_ucum(field("degrees_unit"));
    let mut list = Vec::new();
    let text = field("readings");
    for (row, line) in text
        .lines()
        .filter(|line| !line.trim().is_empty())
        .enumerate()
    {
        let words: Vec<&str> = line.split_whitespace().collect();
        let one = || {
            let number = |at: usize| {
                let word = words.get(at)?.replace(',', ".");
                word.parse::<rust_decimal::Decimal>().ok()
            };
            let temperature = match words.len() {
                2 => None,
                3 => Some(StampedTemperature::new(number(2)?, degrees?)),
                _ => return None,
            };
            Some(Reading {
                minute: words.first()?.parse().ok()?,
                second: 0,
                pressure: StampedPressure::new(number(1)?, pressure?),
                temperature,
            })
        };
        if let Some(reading) = one() {
            list.push(reading);
        } else {
            let words = format!(
                "Line {}: write minute, pressure and temperature, such as 0 1510 18.5",
                row + 1
            );
            read.refuse("readings", words);
            return None;
        }
    }
    if list.is_empty() {
        read.refuse("readings", "Write the readings, the first at minute 0");
        return None;
    }
    Some(list)
}
