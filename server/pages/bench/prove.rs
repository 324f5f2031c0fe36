//! Proved, on the sheet: the required pressure with its working, the hold by the server's clock with
//! its readings, and what was seen. A test without a rebuild is recorded among the pressure tests.

use axum::extract::{Path, State};
use serde::Deserialize;
use sqlx::SqliteConnection;
use time::Duration;

use super::job::{self, Job};
use super::sheet::{Form, Page};
use super::step::{Common, Options, words};
use crate::acts;
use crate::acts::holds::{self, Beginning, Ending, Read};
use crate::calc::quantity::{PressureUnit, StampedPressure, TemperatureUnit, Unit};
use crate::pages::answer::{self, Answer, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::{self, Errors, Posted, Reader};
use crate::pages::hold_chart::HoldChart;
use crate::pages::{App, address};
use crate::record::hold::Hold;
use crate::record::instrument::InstrumentKind;
use crate::record::moment::Zone;
use crate::record::pressure_test::{
    Asked, Basis, CONFIRMED, LeakSeen, Medium, Reading, Relied, asked,
};
use crate::record::refusal::unticked;
use crate::record::sentence::Sentence;
use crate::record::{Moment, RebuildId};
use crate::store;
use crate::store::certificates::MadeWith;

/// What is typed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Typed {
    pub(super) instrument: String,
    pub(super) medium: String,
    pub(super) confirmed: String,
    pub(super) stated: String,
    pub(super) pressure: String,
    pub(super) pressure_unit: String,
    pub(super) temperature: String,
    pub(super) temperature_unit: String,
    pub(super) leak: String,
    pub(super) note: String,
    /// Seconds it waited in the browser for a connection; nothing where no script sent it.
    pub(super) waited: String,
}

/// A pressure gauge to choose from, and why it does not suit.
#[derive(Debug, Clone)]
pub struct Offer {
    /// Its number.
    pub number: String,
    /// Its range.
    pub range: String,
    /// Why not.
    pub against: Option<String>,
}

/// The form with what it rests on.
#[derive(Debug, Clone)]
pub struct View {
    /// What is typed.
    pub typed: Typed,
    /// What the test has to reach: of a hold under way by what was chosen when it began.
    pub asked: Option<Asked>,
    /// Why that cannot be told.
    pub trouble: Option<String>,
    /// What nameplate, maker or drawing state otherwise since the hold began; it counts for it.
    pub put_right: Vec<Sentence>,
    /// What was chosen since the hold began and does not count for it.
    pub since: Vec<Sentence>,
    /// Why the pressure is let down.
    pub too_high: Option<Sentence>,
    /// Why the hold comes to nothing as it stands.
    pub falls_short: Option<Sentence>,
    /// The pressure gauges.
    pub offers: Vec<Offer>,
    /// What is in question of what was made with those that may be used.
    pub questioned: Vec<MadeWith>,
    /// The hold under way.
    pub hold: Option<Hold>,
    /// What the server's clock says.
    pub now: Moment,
}

impl View {
    /// What the gauge may be filled with.
    pub fn media(&self) -> Options {
        let liquids: Vec<Medium> = Medium::ALL
            .iter()
            .copied()
            .filter(|medium| !medium.is_gas())
            .collect();
        words(&liquids, Medium::word, Medium::shown)
    }

    /// What may be seen.
    pub fn leaks(&self) -> Options {
        words(LeakSeen::ALL, LeakSeen::word, LeakSeen::shown)
    }

    /// Units of pressure.
    pub fn pressures(&self) -> Options {
        units::<PressureUnit>()
    }

    /// Units of temperature.
    pub fn temperatures(&self) -> Options {
        units::<TemperatureUnit>()
    }

    /// Whole minutes held so far.
    pub fn held(&self) -> u32 {
        self.hold.as_ref().map_or(0, |hold| hold.minute(self.now))
    }

    /// The minutes it has to last.
    pub fn minutes(&self) -> u32 {
        self.asked.as_ref().map_or(0, |asked| asked.hold_minutes)
    }

    /// Whether it has lasted long enough.
    pub fn over(&self) -> bool {
        self.hold.is_some() && self.asked.is_some() && self.held() >= self.minutes()
    }

    /// Whether a hold is under way that proves nothing any more.
    pub fn in_vain(&self) -> bool {
        self.hold.is_some() && self.asked.is_none()
    }

    /// Whether what is done now is to end it: it has lasted long enough, or leaks.
    pub fn ends(&self) -> bool {
        let seen = self.typed.leak.parse::<LeakSeen>();
        self.over() || seen.is_ok_and(|seen| seen != LeakSeen::None)
    }

    /// What was read, drawn against what counts; nothing before the second reading.
    pub fn chart(&self) -> Option<HoldChart> {
        let (hold, asked) = (self.hold.as_ref()?, self.asked.as_ref()?);
        HoldChart::drawn(&hold.as_read(), asked.required)
    }

    /// Seconds still to be held.
    pub fn left(&self) -> i64 {
        let over = self.hold.as_ref().map(|h| h.over_at(self.minutes()));
        over.map_or(0, |over| {
            (over.at() - self.now.at())
                .max(Duration::ZERO)
                .whole_seconds()
        })
    }

    /// When it has lasted long enough.
    pub fn over_at(&self) -> Moment {
        let over = self.hold.as_ref().map(|h| h.over_at(self.minutes()));
        over.unwrap_or(self.now)
    }
}

/// What was read above the limit stated now; or, where the rating was put right downwards, well above what is
/// required by now.
fn too_high(
    hold: &Hold,
    limit: Option<StampedPressure>,
    asked: Option<&Asked>,
) -> Option<Sentence> {
    let read = hold.readings.iter().map(|read| read.pressure);
    let most = read.max_by(|a, b| a.si().total_cmp(&b.si()))?;
    let told = Sentence::default().figure(most);
    if let Some(limit) = limit.filter(|limit| most.si() > limit.si() * (1.0 + 1e-9)) {
        return Some(
            told.words(" was read, above the stated limit of ")
                .at_most(limit),
        );
    }
    let (began, asked) = hold.began_with.as_ref().zip(asked)?;
    if began.rating.si() <= asked.rating.si() {
        return None;
    }
    let reading = Reading {
        minute: 0,
        second: 0,
        pressure: most,
        temperature: None,
    };
    let percent = reading.well_above(asked.required)?;
    Some(
        told.words(format!(" was read, {percent} % of the required "))
            .at_least(asked.required),
    )
}

/// What keeps a hold from proving what is required once the rating was put right: a pressure held below it,
/// or a pressure gauge that does not suit any more.
async fn falls_short(
    db: &mut SqliteConnection,
    hold: &Hold,
    asked: Option<&Asked>,
    zone: &Zone,
) -> store::Result<Option<Sentence>> {
    let corrected = hold.began_with.as_ref().zip(asked);
    let Some((_, asked)) = corrected.filter(|(began, asked)| began.rating != asked.rating) else {
        return Ok(None);
    };
    let least = hold.readings.iter().map(|read| read.pressure);
    let least = least.min_by(|a, b| a.si().total_cmp(&b.si()));
    if let Some(least) = least
        && least.si() < asked.required.si() * (1.0 - 1e-9)
    {
        return Ok(Some(
            Sentence::of("Ended now it fails: ")
                .figure(least)
                .words(" was read, below the required ")
                .at_least(asked.required)
                .words(". Begin another hold at the required pressure"),
        ));
    }
    let (number, day) = (hold.instrument.as_str(), zone.date(hold.began));
    let Some(instrument) = store::instruments::on_day(db, number, day).await? else {
        return Ok(None);
    };
    let against = Relied::on(&instrument, day, asked.required).err();
    Ok(against.map(|why| {
        Sentence::of(format!(
            "It cannot be ended as a test: {why}. Begin another hold with a pressure gauge that suits"
        ))
    }))
}

fn units<U: Unit>() -> Options {
    U::ALL
        .iter()
        .map(|unit| (unit.ucum().to_owned(), unit.symbol().to_owned()))
        .collect()
}

impl Typed {
    /// The form for this rebuild.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn form(
        mut self,
        db: &mut SqliteConnection,
        job: &Job,
        chrome: &Chrome,
    ) -> store::Result<Form> {
        let p = &job.gauge.particulars;
        let plan = store::test_plans::plan(db, &chrome.plant, &job.gauge).await?;
        let hold = match holds::on_test_since(&job.course) {
            Some(since) => store::holds::under_way(db, job.rebuild.id, since).await?,
            None => None,
        };
        // A hold under way is asked by what was chosen when it began; one that is begun now by what is
        // chosen now. Rating and limit count as they stand now for both.
        let next = asked(&plan, p, &Basis::default());
        let began = hold.as_ref().and_then(|hold| hold.began_with.as_ref());
        let put_right = began.map_or_else(Vec::new, |began| began.put_right(&plan, p));
        let since = began.map_or_else(Vec::new, |began| began.chosen_since(&plan, p));
        let counts = began.map_or_else(
            || next.clone(),
            |began| began.judged_by(&plan).asked(p, &Basis::default()),
        );
        let (asked, trouble) = match counts {
            Ok(asked) => (Some(asked), None),
            Err(fault) => (None, Some(fault.message)),
        };
        let limit = plan.limit.as_ref().map(|limit| limit.value);
        let too_high = hold
            .as_ref()
            .and_then(|hold| too_high(hold, limit, asked.as_ref()));
        let falls_short = match &hold {
            Some(hold) => falls_short(db, hold, asked.as_ref(), chrome.zone()).await?,
            None => None,
        };
        let (mut offers, mut ids) = (Vec::new(), Vec::new());
        if let Ok(asked) = &next {
            for one in store::instruments::of_kind(db, InstrumentKind::PressureGauge).await? {
                let suits = Relied::on(&one, chrome.today, asked.required);
                if suits.is_ok() {
                    ids.push(one.id);
                }
                offers.push(Offer {
                    number: one.number.to_string(),
                    range: one.range(),
                    against: suits.err(),
                });
            }
        }
        if let Some(asked) = &asked
            && self.pressure_unit.is_empty()
        {
            // The test gauge that was read before has its scale; else the person's unit is offered.
            let before = hold.as_ref().and_then(|h| h.readings.last());
            let unit = before.map_or_else(
                || chrome.reads().unit(asked.required.unit),
                |read| read.pressure.unit,
            );
            unit.ucum().clone_into(&mut self.pressure_unit);
        }
        offers.sort_by_key(|offer| offer.against.is_some());
        let questioned = store::certificates::questioned_with(db, &ids).await?;
        let read_before = hold.as_ref().and_then(|h| h.readings.last()?.temperature);
        if self.temperature_unit.is_empty() {
            let stamped = p.rating_temperature.map(|t| t.unit);
            let usual = stamped.unwrap_or(TemperatureUnit::Celsius);
            let unit = read_before.map_or_else(|| chrome.reads().unit(usual), |t| t.unit);
            unit.ucum().clone_into(&mut self.temperature_unit);
        }
        Ok(Form::Prove(Box::new(View {
            typed: self,
            asked,
            trouble,
            put_right,
            since,
            too_high,
            falls_short,
            offers,
            questioned,
            hold,
            now: chrome.now(),
        })))
    }

    fn reading(&self, read: &mut Reader) -> Option<Read> {
        if self.pressure.trim().is_empty() {
            read.refuse("pressure", "Write the pressure that is read");
            return None;
        }
        let pressure = read.any_stamped("pressure", &self.pressure, &self.pressure_unit);
        let temperature =
            read.any_stamped("temperature", &self.temperature, &self.temperature_unit);
        Some(Read {
            pressure: pressure?,
            temperature,
            waited: self.waited(),
        })
    }

    /// How long it waited; what is no number waited not at all, what is too long as long as can be.
    fn waited(&self) -> Duration {
        let seconds = self.waited.trim().parse::<u32>();
        Duration::seconds(i64::from(seconds.unwrap_or(0).min(31_536_000)))
    }

    fn beginning(&self) -> Result<Beginning, Errors> {
        let mut read = Reader::new();
        let instrument = read.take(
            "instrument",
            self.instrument
                .parse()
                .map_err(|_| "Choose the pressure gauge that is read"),
        );
        let medium = read.parse("medium", &self.medium);
        if self.confirmed.is_empty() {
            let words = unticked(
                CONFIRMED,
                "a test with air inside or people in line with the glass is not begun",
            );
            read.refuse("confirmed", words);
        }
        let first = self.reading(&mut read);
        let whole = (|| {
            Some(Beginning {
                instrument: instrument?,
                medium: medium?,
                read: first?,
                stated: !self.stated.is_empty(),
            })
        })();
        read.finish(whole)
    }

    fn ending(&self) -> Result<Ending, Errors> {
        let mut read = Reader::new();
        let leak: Option<LeakSeen> = read.take(
            "leak",
            self.leak
                .parse()
                .map_err(|_: String| "Say whether a leak was seen"),
        );
        let leaks = leak.is_some_and(|leak| leak != LeakSeen::None);
        let last = if leaks && self.pressure.trim().is_empty() {
            Some(None)
        } else {
            self.reading(&mut read).map(Some)
        };
        let note = read.text("note", &self.note, 2000);
        let whole = (|| {
            Some(Ending {
                read: last?,
                leak: leak?,
                note,
            })
        })();
        read.finish(whole)
    }
}

enum What {
    Begin(Beginning),
    Read(Read),
    Finish(Ending),
}

/// Begins the hold.
pub async fn begin(
    state: State<App>,
    chrome: Chrome,
    tag: Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let what = posted.form.beginning().map(What::Begin);
    done(state, chrome, tag, posted, what).await
}

/// Keeps a reading.
pub async fn read(
    state: State<App>,
    chrome: Chrome,
    tag: Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let mut reader = Reader::new();
    let read = posted.form.reading(&mut reader);
    let what = reader.finish(read).map(What::Read);
    done(state, chrome, tag, posted, what).await
}

/// Ends the hold and records the test.
pub async fn finish(
    state: State<App>,
    chrome: Chrome,
    tag: Path<String>,
    posted: Posted<Typed>,
) -> Answer {
    let what = posted.form.ending().map(What::Finish);
    done(state, chrome, tag, posted, what).await
}

async fn done(
    State(app): State<App>,
    chrome: Chrome,
    Path(tag): Path<String>,
    posted: Posted<Typed>,
    what: Result<What, Errors>,
) -> Answer {
    let job = job::posted(&app, &tag, &posted.rebuild).await?;
    let to = address::bench(&job.gauge.particulars.tag);
    let done = match what {
        Ok(what) => act(&chrome, &posted.key, job.rebuild.id, &what, &to)
            .await
            .map_err(form::refused),
        Err(errors) => Err(Ok(errors)),
    };
    match done {
        Ok(()) => Ok(see_other(&to)),
        Err(errors) => {
            let errors = errors?;
            let mut db = app.store().read().await?;
            let form = posted.form.form(&mut db, &job, &chrome).await?;
            answer::refused(&Page::new(chrome, job, form, errors, Common::default()))
        }
    }
}

async fn act(chrome: &Chrome, key: &str, id: RebuildId, what: &What, to: &str) -> acts::Result<()> {
    let mut deed = chrome.deed(key).await?;
    match what {
        What::Begin(beginning) => holds::begin(&mut deed, id, beginning).await?,
        What::Read(read) => holds::read(&mut deed, id, *read).await?,
        What::Finish(ending) => {
            holds::finish(&mut deed, id, ending).await?;
        }
    }
    deed.commit(to).await
}
