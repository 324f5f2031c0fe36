//! The fields of a filled sheet, part by part, as the page that enters it lays them out. They carry the
//! names of the steps' own fields behind the name of their part; reading them is in `enter.rs`.

use sqlx::SqliteConnection;

use super::enter::Typed;
use super::enter_titles::{prefix, stage, title};
use super::job::Job;
use super::kits::Offer;
use super::step::{Options, words};
use crate::calc::quantity::{
    LengthUnit, PressureUnit, StampedPressure, TemperatureUnit, TorqueUnit, Unit,
};
use crate::pages::chrome::Chrome;
use crate::pages::form::Errors;
use crate::pages::show;
use crate::record::bench::{BackInService, BoltingDone, Fitted, Lubricant};
use crate::record::course::Part;
use crate::record::face::{FaceSeen, READ_AGAIN};
use crate::record::found::{BoltingFound, GasketFound, GlassFound, LeakPath, ShieldFound};
use crate::record::gauge::Kind;
use crate::record::instrument::{Instrument, InstrumentKind};
use crate::record::person::{Reads, Role};
use crate::record::pressure_test::{Basis, CONFIRMED, LeakSeen, Medium, asked};
use crate::record::rebuild::{Cause, LOOKED, RebuildState, STANDS};
use crate::store;

/// How a field is filled in.
#[derive(Debug, Clone)]
pub enum Input {
    /// A line of text.
    Text,
    /// Lines of text.
    Long,
    /// A number.
    Number,
    /// One of these.
    Choice(Options),
    /// A number with one of these units.
    Quantity(Options, String),
    /// A tick.
    Tick,
}

/// One field.
#[derive(Debug, Clone)]
pub struct Field {
    /// Its name on this page.
    pub name: String,
    /// Its label.
    pub label: String,
    /// What to write.
    pub hint: String,
    /// How it is filled in.
    pub input: Input,
    /// What was typed.
    pub value: String,
}

/// One part of the sheet.
#[derive(Debug, Clone)]
pub struct Block {
    /// Its name, for messages that belong to no field.
    pub name: String,
    /// Its heading.
    pub title: String,
    /// The stage of the sheet it begins, where it begins one.
    pub stage: Option<&'static str>,
    /// Who worked on that stage and when, where it begins one.
    pub worked: Vec<Field>,
    /// Its fields.
    pub fields: Vec<Field>,
}

/// Everything that is still open.
#[derive(Debug, Clone)]
pub struct Blocks {
    /// Who did it, the day and the time.
    pub head: Vec<Field>,
    /// The parts.
    pub parts: Vec<Block>,
}

/// What the choices are made from.
struct Known {
    people: Options,
    instruments: Vec<Instrument>,
    lots: Options,
    torque_asked: bool,
    pressure_unit: PressureUnit,
    temperature_unit: TemperatureUnit,
    reads: Reads,
    required: Option<(StampedPressure, u32)>,
}

impl Blocks {
    /// The parts of this rebuild's sheet that are still open, with what was typed.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn of(
        db: &mut SqliteConnection,
        chrome: &Chrome,
        job: &Job,
        (typed, errors): (&Typed, &Errors),
    ) -> store::Result<Self> {
        let wanted = |name: &str| {
            let written =
                |(field, value): &(String, String)| field == name && !value.trim().is_empty();
            !errors.on(name).is_empty() || typed.iter().any(written)
        };
        let known = known(db, chrome, job).await?;
        let own = chrome.signed.person.id.0.to_string();
        let mut head = vec![
            choice("who", "Who did the work", known.people.clone()),
            text("on", "On which day", "Such as 31 Dec 2026"),
            text(
                "at",
                "From what time",
                "Such as 07:30, when the first of these parts was done",
            ),
        ];
        // Who else types a sheet types it for the one who did the work.
        let technician = chrome.may(&[Role::Technician]);
        if technician && known.people.iter().any(|(id, _)| *id == own) {
            head[0].value = own;
        }
        head[1].value = show::plain_date(&chrome.today);
        let to_come = matches!(
            job.rebuild.state,
            RebuildState::Planned | RebuildState::Ready
        );
        let outside = store::windows::is_outside(db, &job.gauge, chrome.today).await?;
        if wanted("stands") || wanted("stands_reason") || (to_come && outside) {
            head.push(tick("stands", &show::sentence(STANDS)));
            let hint = "Of a gauge that cannot be isolated in service; it stays in the record";
            let label = "Why it came to the bench outside of every shutdown window";
            head.push(long("stands_reason", label, hint));
        }
        if wanted("looked") || (to_come && job.gauge.only_assumed_to_be_isolated()) {
            head.push(tick("looked", &show::sentence(LOOKED)));
        }
        fill(&mut head, "", typed);
        let mut last = "";
        let mut parts = Vec::new();
        for part in job.course.open_parts() {
            let begins = stage(part);
            let mut fields = fields(part, job, chrome, &known);
            let begins_with = prefix(part);
            if ["again", "again_reason"]
                .iter()
                .any(|name| wanted(&format!("{begins_with}{name}")))
            {
                let after = fields
                    .iter()
                    .position(|field| field.name == "wall_instrument");
                let at = after.map_or(fields.len(), |at| at + 1);
                fields.splice(at..at, read_again());
            }
            let mut worked = Vec::new();
            if begins != last {
                let mut who = choice("who", "Who, if somebody else", known.people.clone());
                who.input = Input::Choice(with_none(known.people.clone(), "as above"));
                "For every part of this stage".clone_into(&mut who.hint);
                let hint = "Such as 09:40, or with its day; empty: as above";
                worked.extend([who, text("when", "When", hint)]);
            }
            fill(&mut worked, &begins_with, typed);
            fill(&mut fields, &begins_with, typed);
            parts.push(Block {
                name: format!("{begins_with}part"),
                title: title(part, job),
                stage: (begins != last).then_some(begins),
                worked,
                fields,
            });
            last = begins;
        }
        Ok(Self { head, parts })
    }
}

/// Gives fields the names they have on this page, and what was typed in them.
fn fill(fields: &mut [Field], prefix: &str, typed: &Typed) {
    let sent = |name: &str| {
        let mut found = typed.iter().filter(|(field, _)| field == name);
        found.next().map(|(_, value)| value.clone())
    };
    for field in fields {
        field.name = format!("{prefix}{}", field.name);
        if !typed.is_empty() {
            field.value = sent(&field.name).unwrap_or_default();
        }
        if let Input::Quantity(_, unit) = &mut field.input
            && let Some(chosen) = sent(&format!("{}_unit", field.name))
        {
            *unit = chosen;
        }
    }
}

fn plain(name: &str, label: &str, hint: &str, input: Input) -> Field {
    Field {
        name: name.to_owned(),
        label: label.to_owned(),
        hint: hint.to_owned(),
        input,
        value: String::new(),
    }
}

fn text(name: &str, label: &str, hint: &str) -> Field {
    plain(name, label, hint, Input::Text)
}

fn long(name: &str, label: &str, hint: &str) -> Field {
    plain(name, label, hint, Input::Long)
}

fn tick(name: &str, label: &str) -> Field {
    plain(name, label, "", Input::Tick)
}

fn with_none(options: Options, shown: &str) -> Options {
    let none = (String::new(), shown.to_owned());
    std::iter::once(none).chain(options).collect()
}

fn choice(name: &str, label: &str, options: Options) -> Field {
    plain(name, label, "", Input::Choice(with_none(options, "choose")))
}

fn quantity<U: Unit>(name: &str, label: &str, hint: &str, unit: U) -> Field {
    let units = U::ALL
        .iter()
        .map(|unit| (unit.ucum().to_owned(), unit.symbol().to_owned()))
        .collect();
    plain(
        name,
        label,
        hint,
        Input::Quantity(units, unit.ucum().to_owned()),
    )
}

/// What is asked of a wall that is thicker than before.
fn read_again() -> [Field; 2] {
    let hint = "Such as what was wrong with the earlier reading; it stays in the record";
    [
        tick("again", &show::sentence(READ_AGAIN)),
        long("again_reason", "Why it is thicker than before", hint),
    ]
}

fn note() -> Field {
    long("note", "Anything else", "")
}

async fn known(db: &mut SqliteConnection, chrome: &Chrome, job: &Job) -> store::Result<Known> {
    let people = store::people::at_the_bench(db).await?;
    let kinds = [
        InstrumentKind::HEIGHTS,
        InstrumentKind::GAP,
        InstrumentKind::WALL,
        &[InstrumentKind::TorqueWrench, InstrumentKind::PressureGauge],
    ]
    .concat();
    let lots = match job.gauge.particulars.kit_id {
        Some(kit) => store::kits::lots_on_hand(db, kit).await?,
        None => Vec::new(),
    };
    let plan = store::test_plans::plan(db, &chrome.plant, &job.gauge).await?;
    let asked = asked(&plan, &job.gauge.particulars, &Basis::default()).ok();
    Ok(Known {
        people: people
            .into_iter()
            .map(|one| (one.id.0.to_string(), one.name))
            .collect(),
        instruments: store::instruments::of_kinds(db, &kinds).await?,
        lots: Offer::of(lots, chrome.today)
            .into_iter()
            .map(|offer| {
                let lot = &offer.lot;
                let until = lot.expires_on.map_or_else(
                    || "no last day".to_owned(),
                    |last| format!("up to {}", show::date(&last)),
                );
                let mut shown = format!("{}, {} on hand, {until}", lot.number, offer.part.kits);
                if lot.several() {
                    shown = format!("{shown}, {}", offer.place());
                }
                (offer.word(), shown)
            })
            .collect(),
        torque_asked: job.gauge.particulars.torque.is_none(),
        pressure_unit: asked
            .as_ref()
            .map_or(PressureUnit::Bar, |a| a.required.unit),
        temperature_unit: (job.gauge.particulars.rating_temperature)
            .map_or(TemperatureUnit::Celsius, |stamped| stamped.unit),
        reads: chrome.reads(),
        required: asked.map(|a| (a.required, a.hold_minutes)),
    })
}

impl Known {
    fn of(&self, kinds: &[InstrumentKind]) -> Options {
        let all = self.instruments.iter();
        all.filter(|one| kinds.contains(&one.kind))
            .map(|one| {
                (
                    one.number.to_string(),
                    format!("{}, {}", one.number, one.kind),
                )
            })
            .collect()
    }
}

fn fields(part: Part, job: &Job, chrome: &Chrome, known: &Known) -> Vec<Field> {
    match part {
        Part::MadeSafe => job
            .course
            .made_safe_by()
            .into_iter()
            .map(|one| tick(one.field(), &show::sentence(one)))
            .chain([
                text("permit", "Permit", "Its number, or none"),
                text("lock", "Lock or tag", "Its number"),
            ])
            .collect(),
        Part::Strip(_) => stripped(job),
        Part::Bolting(_) => vec![
            choice(
                "done",
                "The bolting",
                words(BoltingDone::ALL, BoltingDone::word, BoltingDone::shown),
            ),
            note(),
        ],
        Part::Face(_, face) => face_fields(face.on_chamber(), chrome, known),
        Part::Kits(_) => vec![
            choice("lot", "Lot", known.lots.clone()),
            plain("quantity", "How many", "", Input::Number),
            text(
                "reason",
                "Why this lot, if another was to be taken first",
                "",
            ),
        ],
        Part::Assemble(_) => Fitted::asked(job.course.kind)
            .into_iter()
            .map(|one| tick(one.field(), &show::sentence(one)))
            .chain([
                choice(
                    "lubricant",
                    "Threads lubricated with",
                    words(Lubricant::ALL, Lubricant::word, Lubricant::shown),
                ),
                note(),
            ])
            .collect(),
        Part::Tighten(_) => {
            let mut list = vec![choice(
                "wrench",
                "Torque wrench",
                known.of(&[InstrumentKind::TorqueWrench]),
            )];
            if known.torque_asked {
                let unit = known.reads.unit(chrome.plant.tightening_step.unit);
                list.push(quantity::<TorqueUnit>("torque", "Torque reached", "", unit));
                list.push(text(
                    "torque_from",
                    "Where it comes from",
                    "The nameplate tells none",
                ));
            }
            list.push(note());
            list
        }
        Part::Prove => tested(known),
        Part::Return => BackInService::ALL
            .iter()
            .map(|one| tick(one.field(), &show::sentence(one)))
            .chain([note()])
            .collect(),
    }
}

fn stripped(job: &Job) -> Vec<Field> {
    let glass = |name: &str, label: &str| {
        choice(
            name,
            label,
            words(GlassFound::ALL, GlassFound::word, GlassFound::shown),
        )
    };
    let gasket = |name: &str, label: &str| {
        choice(
            name,
            label,
            words(GasketFound::ALL, GasketFound::word, GasketFound::shown),
        )
    };
    let shield = |name: &str, label: &str| {
        choice(
            name,
            label,
            words(ShieldFound::ALL, ShieldFound::word, ShieldFound::shown),
        )
    };
    let bolting = words(BoltingFound::ALL, BoltingFound::word, BoltingFound::shown);
    let mut list = vec![
        choice("bolting", "Bolting as found", bolting),
        glass("glass", "Glass"),
        gasket("seal", "Seal gasket"),
        gasket("cushion", "Cushion gasket"),
    ];
    if job.course.kind == Kind::Transparent {
        list.extend([
            shield("shield", "Shield"),
            glass("back_glass", "Glass at the back"),
            gasket("back_seal", "Seal gasket at the back"),
            gasket("back_cushion", "Cushion gasket at the back"),
            shield("back_shield", "Shield at the back"),
        ]);
    }
    let mut cause = choice(
        "cause",
        "Cause of the work",
        words(Cause::ALL, Cause::word, Cause::shown),
    );
    job.rebuild.cause.word().clone_into(&mut cause.value);
    list.extend([
        choice(
            "leak",
            "Leak path",
            words(LeakPath::ALL, LeakPath::word, LeakPath::shown),
        ),
        cause,
        tick("thrown", "Old glass and gaskets are thrown away"),
        note(),
    ]);
    list
}

fn face_fields(on_chamber: bool, chrome: &Chrome, known: &Known) -> Vec<Field> {
    let unit = known.reads.unit(chrome.plant.flatness_limit.unit);
    let units = LengthUnit::ALL
        .iter()
        .map(|unit| (unit.ucum().to_owned(), unit.symbol().to_owned()))
        .collect();
    let mut heights = plain(
        "heights_unit",
        "Unit of the heights",
        "",
        Input::Choice(units),
    );
    unit.ucum().clone_into(&mut heights.value);
    let flat = known.of(&[InstrumentKind::HEIGHTS, InstrumentKind::GAP].concat());
    let mut list = vec![
        choice(
            "seen_as",
            "As seen",
            words(FaceSeen::ALL, FaceSeen::word, FaceSeen::shown),
        ),
        quantity::<LengthUnit>("feeler", "Thinnest feeler that did not pass", "", unit),
        text("left", "Or heights, left rail", "With spaces between"),
        text("right", "Heights, right rail", ""),
        heights,
        plain("pitch", "Between stations, mm", "", Input::Number),
        plain("apart", "Between the rails, mm", "", Input::Number),
        choice("instrument", "Read with", flat),
    ];
    if on_chamber {
        let wall = known.reads.unit(chrome.plant.wall_limit.unit);
        list.push(quantity::<LengthUnit>("wall", "Wall", "", wall));
        list.push(choice(
            "wall_instrument",
            "Wall measured with",
            known.of(InstrumentKind::WALL),
        ));
    }
    list.push(quantity::<LengthUnit>(
        "skim",
        "Cut planned, if it is skimmed",
        "",
        unit,
    ));
    list.push(note());
    list
}

fn tested(known: &Known) -> Vec<Field> {
    let liquids: Vec<Medium> = Medium::ALL
        .iter()
        .copied()
        .filter(|medium| !medium.is_gas())
        .collect();
    let units = |list: &mut Vec<Field>| {
        let all = PressureUnit::ALL.iter();
        let mut pressure = plain(
            "readings_unit",
            "Unit of the pressures",
            "",
            Input::Choice(
                all.map(|u| (u.ucum().to_owned(), u.symbol().to_owned()))
                    .collect(),
            ),
        );
        let unit = known.reads.unit(known.pressure_unit);
        unit.ucum().clone_into(&mut pressure.value);
        let all = TemperatureUnit::ALL.iter();
        let mut degrees = plain(
            "degrees_unit",
            "Unit of the temperatures",
            "",
            Input::Choice(
                all.map(|u| (u.ucum().to_owned(), u.symbol().to_owned()))
                    .collect(),
            ),
        );
        let unit = known.reads.unit(known.temperature_unit);
        unit.ucum().clone_into(&mut degrees.value);
        list.extend([pressure, degrees]);
    };
    let lines = "A line each: minute, pressure, temperature, such as 0 1510 18.5";
    let held = known
        .required
        .map_or_else(String::new, |(pressure, minutes)| {
            let pressure = known.reads.at_least(&pressure);
            format!("{lines}. Required: {pressure}, held at least {minutes} min")
        });
    let mut list = vec![
        choice(
            "medium",
            "Filled with",
            words(&liquids, Medium::word, Medium::shown),
        ),
        choice(
            "instrument",
            "Pressure gauge read",
            known.of(&[InstrumentKind::PressureGauge]),
        ),
        tick("confirmed", &show::sentence(CONFIRMED)),
        long("readings", "Readings", &held),
    ];
    units(&mut list);
    list.push(choice(
        "leak",
        "Seen at every joint",
        words(LeakSeen::ALL, LeakSeen::word, LeakSeen::shown),
    ));
    list.push(long("note", "Where it leaked; anything else", ""));
    list
}
