//! Deeds around a pressure test: recording it, witnessing it (in `witness.rs`), and issuing the
//! certificate (in `certify.rs`). What a test has to reach and what came of it is decided in `record`.

mod certify;
mod hand_out;
mod witness;

use serde_json::json;
use time::Duration;

use super::bench::Worked;
use super::{Deed, Result};
use crate::calc::calendar::said;
use crate::calc::pressure_test::head::Elevations;
use crate::calc::quantity::StampedPressure;
use crate::record::gauge::{Gauge, Standing};
use crate::record::person::Role;
use crate::record::plant::Plant;
use crate::record::pressure_test::{
    self, Asked, Basis, BeganWith, Circumstances, Heights, JudgedBy, LeakSeen, Medium,
    PressureTest, Reading, Relied, TestFacts, asked,
};
use crate::record::rebuild::{Rebuild, RebuildState};
use crate::record::recall::About;
use crate::record::test_plan::Rules;
use crate::record::{GaugeId, InstrumentNumber, Moment, Refusal, TestNumber};
use crate::store::{self, pressure_tests::NewTest};

pub use certify::{
    Correction, Issued, Issuing, certify, correct, corrected, drafted, may_be_certified,
    may_be_corrected, proves_the_rating,
};
pub use hand_out::{HandedOut, hand_out};
pub use witness::{ask, decline, witness};

/// A test as it was carried out.
#[derive(Debug, Clone)]
pub struct Done {
    /// The gauge tested.
    pub gauge: GaugeId,
    /// What was chosen for the required pressure.
    pub basis: Basis,
    /// The required pressure the tester was shown before the test, if a page showed it.
    pub shown: Option<StampedPressure>,
    /// The pressure gauge read.
    pub instrument: InstrumentNumber,
    /// When the hold began.
    pub began: Moment,
    /// What the gauge was filled with.
    pub medium: Medium,
    /// Readings by time, the first at the start of the hold.
    pub readings: Vec<Reading>,
    /// What was seen during the hold.
    pub leak: LeakSeen,
    /// Where and under what circumstances.
    pub circumstances: Circumstances,
    /// Where the pressure gauge sat against the gauge under test, where it was measured.
    pub heights: Option<Elevations>,
    /// The first test of those on the same pump, where it is not this one.
    pub pump_with: Option<TestNumber>,
    /// Anything else; where it leaked, if it did.
    pub note: String,
    /// Who made it and when, where it is entered from the sheet on paper.
    pub worked: Option<Worked>,
}

/// Records a pressure test with its verdict. It belongs to the gauge's rebuild if one is on test.
///
/// # Errors
/// Refuses a hold that was too short without a leak, readings that cannot be, a pressure gauge that
/// was out of calibration on the day or does not suit, a test that is still to end, a gauge that is
/// open at the bench, and a required pressure that changed since it was shown.
pub async fn record(deed: &mut Deed, done: &Done) -> Result<TestNumber> {
    record_held(deed, done, None).await
}

/// The same of a hold: judged by what was chosen when it began, where that was kept, and by nameplate and
/// limit as they stand now.
///
/// # Errors
/// As [`record`].
pub(super) async fn record_held(
    deed: &mut Deed,
    done: &Done,
    began_with: Option<&BeganWith>,
) -> Result<TestNumber> {
    let Some(gauge) = store::gauges::by_id(deed.db(), done.gauge).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    let rebuild = store::rebuilds::open_of(deed.db(), gauge.id).await?;
    may_be_tested(&gauge, rebuild.as_ref())?;
    let rebuild = rebuild.filter(|r| r.state == RebuildState::OnTest);
    let plant = settled(deed).await?;
    let plan = store::test_plans::plan(deed.db(), &plant, &gauge).await?;
    let judged_by = began_with.map_or_else(
        || JudgedBy::plan(&plan),
        |began_with| began_with.judged_by(&plan),
    );
    let asked = judged_by
        .asked(&gauge.particulars, &done.basis)
        .map_err(|fault| Refusal::Fields(vec![fault]))?;
    let at_first = began_with.and_then(|began_with| began_with.at_first(&asked));
    if let Some(shown) = done.shown.filter(|shown| *shown != asked.required) {
        return Err(Refusal::not_now(format!(
            "The required pressure changed since this page was opened: it was {shown} and is {} now. Nothing was recorded",
            asked.required
        ))
        .into());
    }
    let day = deed.zone().date(done.began);
    if let Some(rebuild) = &rebuild {
        after_reassembly(deed, rebuild, done.began).await?;
    }
    let instrument = store::instruments::on_day(deed.db(), done.instrument.as_str(), day).await?;
    let Some(instrument) = instrument else {
        return Err(Refusal::field("instrument", "Choose one of the pressure gauges").into());
    };
    let relied = Relied::on(&instrument, day, asked.required)
        .map_err(|why| Refusal::field("instrument", why))?;
    let mut facts = facts(deed, done, asked, relied);
    if let Some(worked) = done.worked {
        let tester = store::people::by_id(deed.db(), worked.by).await?;
        facts.tester_role = tester.map(|person| person.role);
    }
    facts.choices = judged_by.choices;
    facts.at_first = at_first;
    if done.medium.is_gas() {
        facts.gas =
            Some(super::gas_tests::rests_on(deed, gauge.id, facts.highest(), done.began).await?);
    }
    let faults = facts.faults();
    if !faults.is_empty() {
        return Err(Refusal::Fields(faults).into());
    }
    if facts.ended() > deed.now() {
        let words = "By this time the hold would not be over yet; check day and time";
        return Err(Refusal::field("began_at", words).into());
    }
    computed(&mut facts, done, &judged_by.rules)?;
    // Asked again: what the liquid adds at the lowest point is known only now.
    let faults = facts.faults();
    if !faults.is_empty() {
        return Err(Refusal::Fields(faults).into());
    }
    let (result, why) = facts.verdict();
    let year = deed.today().year();
    let ordinal = store::pressure_tests::count_in(deed.db(), year).await? + 1;
    let number =
        pressure_test::test_number(&plant.number_prefix, year, ordinal).map_err(Refusal::NotNow)?;
    let new = NewTest {
        number: (&number, year, ordinal),
        gauge: gauge.id,
        rebuild: rebuild.as_ref().map(|r| r.id),
        tested_on: day,
        result,
        facts: &facts,
        instrument: instrument.id,
        pump_with: done.pump_with.as_ref(),
        done: done.worked.map(|worked| (worked.by, worked.at)),
    };
    let (person, now) = (deed.person()?, deed.now());
    let id = store::pressure_tests::add(deed.db(), &new, person, now).await?;
    let used =
        store::instruments::note_use(deed.db(), instrument.id, new.rebuild, Some(id), day).await?;
    // Entered late, it may fall into days on which the pressure gauge is known to have been bad.
    let mut rows = vec![("pressure_test", id.0), ("instrument_use", used)];
    rows.extend(super::recalls::reached(deed, used, About::Test(id)).await?);
    deed.record(
        "tested",
        &subject(&number),
        Some(gauge.id),
        json!({
            "gauge": gauge.particulars.tag, "result": result, "why": why,
            "required": facts.required.to_string(), "instrument": facts.instrument.number,
            "done by": done.worked.map(|worked| worked.by.0), "done at": done.worked.map(|worked| worked.at.text()),
        }),
        &rows,
    )
    .await?;
    super::planned_tests::ended(deed, gauge.id, id, result, new.rebuild.is_some()).await?;
    // A test that had to be repeated for a recall is answered by one that was passed.
    deed.touch(gauge.id);
    Ok(number)
}

/// Records the tests of several gauges that stood on one pump: all or none. Answers with the number
/// of the first, under which they are kept together.
///
/// # Errors
/// As [`record`], and where they do not ask for the same pressure.
pub async fn record_together(deed: &mut Deed, list: Vec<Done>) -> Result<TestNumber> {
    let plant = settled(deed).await?;
    let mut first: Option<(TestNumber, StampedPressure)> = None;
    for mut done in list {
        if done.medium.is_gas() {
            let words = "Gas is used on one gauge at a time";
            return Err(Refusal::field("medium", words).into());
        }
        let Some(gauge) = store::gauges::by_id(deed.db(), done.gauge).await? else {
            return Err(Refusal::Missing("gauge").into());
        };
        let plan = store::test_plans::plan(deed.db(), &plant, &gauge).await?;
        let required = asked(&plan, &gauge.particulars, &done.basis)
            .map_err(|fault| Refusal::Fields(vec![fault]))?
            .required;
        if let Some((number, pressure)) = &first {
            if (required.si() - pressure.si()).abs() > pressure.si() * 1e-6 {
                return Err(Refusal::not_now(format!(
                    "{} asks for {required} and the first for {pressure}; on one pump all see the same",
                    gauge.particulars.tag
                ))
                .into());
            }
            done.pump_with = Some(number.clone());
        }
        let number = record(deed, &done).await?;
        first.get_or_insert((number, required));
    }
    first
        .map(|(number, _)| number)
        .ok_or_else(|| Refusal::not_now("No gauge was named").into())
}

/// Whether a gauge may be tested as it stands.
///
/// # Errors
/// Says why not.
pub fn may_be_tested(gauge: &Gauge, open: Option<&Rebuild>) -> std::result::Result<(), Refusal> {
    let tag = &gauge.particulars.tag;
    if gauge.standing == Standing::Retired {
        return Err(Refusal::not_now(format!(
            "{tag} is retired; bring it back before it is tested"
        )));
    }
    if open.is_some_and(|rebuild| rebuild.state == RebuildState::AtTheBench) {
        return Err(Refusal::not_now(format!(
            "{tag} is at the bench and not yet on test; finish the bench sheet first"
        )));
    }
    Ok(())
}

/// Whether a hold began after the gauge was put together and sent to its test, to the minute: one
/// before that proves nothing of what was done since.
async fn after_reassembly(deed: &mut Deed, rebuild: &Rebuild, began: Moment) -> Result<()> {
    let Some(course) = store::bench::course(deed.db(), rebuild.id).await? else {
        return Err(Refusal::Missing("rebuild").into());
    };
    // A sheet entered from paper went on test in the register when it was entered; what counts there
    // is when its last work was done.
    let on_paper = course.entries.last().and_then(|last| last.done.as_ref());
    let went_on_test = super::holds::on_test_since(&course);
    let (what, since) = match (on_paper, went_on_test) {
        (Some((_, at)), _) => ("was last worked on", *at),
        (None, Some(at)) => ("went on test", at),
        (None, None) => return Ok(()),
    };
    // A time is typed to the minute.
    if began.plus(Duration::minutes(1)) > since {
        return Ok(());
    }
    let (day, went) = (deed.zone().date(began), deed.zone().local(since));
    let words = format!(
        "The gauge {what} on {} at {:02}:{:02}; a hold that began before proves nothing of this rebuild",
        said(went.date()),
        went.hour(),
        went.minute()
    );
    let field = if day < went.date() {
        "began_on"
    } else {
        "began_at"
    };
    Err(Refusal::field(field, words).into())
}

fn facts(deed: &Deed, done: &Done, asked: Asked, relied: Relied) -> TestFacts {
    let mut readings = done.readings.clone();
    readings.sort_by_key(Reading::seconds);
    TestFacts {
        code: asked.code,
        basis: asked.basis,
        rating: asked.rating,
        required: asked.required,
        hold_required: asked.hold_minutes,
        working: asked.working,
        limit: asked.limit,
        instrument: relied,
        tester_role: deed.who().role,
        began: done.began,
        medium: done.medium,
        confirmed: done.medium.confirmed().to_owned(),
        readings,
        leak: done.leak,
        circumstances: done.circumstances.clone(),
        note: done.note.trim().to_owned(),
        choices: Vec::new(),
        heights: None,
        judged: None,
        gas: None,
        at_first: None,
    }
}

/// What follows from the readings: heads of liquid and the judged change of pressure.
fn computed(facts: &mut TestFacts, done: &Done, rules: &Rules) -> Result<()> {
    if let Some(elevations) = done.heights {
        let heights = Heights::of(facts, elevations)
            .map_err(|e| Refusal::field("above_lowest", e.to_string()))?;
        facts.heights = Some(heights);
    }
    facts.judged = pressure_test::judge(facts, rules)
        .map_err(|e| Refusal::field("readings", e.to_string()))?;
    Ok(())
}

/// How a test is named in the audit chain.
pub fn subject(number: &TestNumber) -> String {
    format!("pressure test {number}")
}

async fn found(deed: &mut Deed, number: &str) -> Result<PressureTest> {
    store::pressure_tests::by_number(deed.db(), number)
        .await?
        .ok_or_else(|| Refusal::Missing("pressure test").into())
}

async fn settled(deed: &mut Deed) -> Result<Plant> {
    store::plant::find(deed.db())
        .await?
        .ok_or_else(|| Refusal::not_now("The plant has no name and no procedures yet").into())
}

fn inspector(deed: &Deed, words: &str) -> Result<crate::record::PersonId> {
    if deed.who().role == Some(Role::Inspector) {
        deed.person()
    } else {
        Err(Refusal::not_now(words).into())
    }
}
