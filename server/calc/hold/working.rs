//! The shown calculation behind a judged hold.
//! Nothing is decided here.

use super::super::quantity::{Unit, significant};
use super::super::working::{Source, Step, Working};
use super::{Hold, Moment, Required, Residual, Telling, Verdict};

pub(super) fn working(
    hold: &Hold,
    required: &Required,
    telling: &Telling,
    (vented, likely): (Option<&Residual>, Option<f64>),
    verdict: &Verdict,
) -> Working {
    let mut working = Working::new("Reading of the pressure hold");
    if let Some(case) = vented {
        for step in change(hold, telling, case) {
            working = working.step(step);
        }
    }
    let mut last = Step::new(
        "verdict",
        "the hold",
        "no leak seen; y ≥ −a + k·u; y ≤ a − k·u",
        Source::published("ILAC-G8:09/2019, clause 4.2.3"),
    )
    .with("a", "allowed drop", required.allowed_drop, Source::Plant)
    .with(
        "k",
        "guard factor",
        significant(telling.guard.factor(), 5),
        Source::Plant,
    )
    .with(
        "p₀",
        "required test pressure",
        required.pressure,
        Source::Entered,
    )
    .with(
        "t",
        "minutes held, and required",
        format!("{} of {}", hold.minutes, required.minutes),
        Source::Entered,
    );
    if let Some(p) = likely {
        let meaning = "probability that no more than the allowed drop is unexplained";
        last = last.with("P", meaning, significant(p, 4), Source::Arithmetic);
    }
    working.step(last.gives(verdict.words())).remark(
        "Instruments do not look at joints: somebody must have looked at every joint from a safe place.",
    )
}

/// The steps from the readings to the change that temperature does not explain.
fn change(hold: &Hold, telling: &Telling, case: &Residual) -> [Step; 3] {
    let unit = hold.start.pressure.unit;
    let show = |pa: f64| format!("{} {}", significant(unit.from_si(pa), 4), unit.symbol());
    let warm = |moment: &Moment| {
        moment
            .temperature
            .map_or_else(|| "not read".to_owned(), |t| t.to_string())
    };
    [
        Step::new(
            "pₑ",
            "pressure the change of temperature alone would give",
            "what is shut in keeps its mass",
            Source::published("IAPWS R6-95(2018) for water; ideal-gas law for gas"),
        )
        .with(
            "p₁",
            "gauge pressure at the start",
            hold.start.pressure,
            Source::Entered,
        )
        .with(
            "T₁",
            "temperature at the start",
            warm(&hold.start),
            Source::Entered,
        )
        .with(
            "T₂",
            "temperature at the end",
            warm(&hold.end),
            Source::Entered,
        )
        .gives(show(case.expected)),
        Step::new(
            "y",
            "change temperature does not explain",
            "p₂ − pₑ",
            Source::Arithmetic,
        )
        .with(
            "p₂",
            "gauge pressure at the end",
            hold.end.pressure,
            Source::Entered,
        )
        .gives(show(case.y)),
        Step::new(
            "u",
            "standard uncertainty of y",
            "√(2·uₚ² + 2·(b·uₜ)² + (r·(pₑ − p₁))²)",
            Source::published("JCGM 100:2008, clause 5.1"),
        )
        .with(
            "uₚ",
            "of a pressure reading",
            telling.pressure,
            Source::Entered,
        )
        .with(
            "uₜ",
            "of a temperature reading",
            format!("{} K", telling.temperature_k),
            Source::Entered,
        )
        .with(
            "b",
            "pressure a kelvin",
            show(case.slope),
            Source::Arithmetic,
        )
        .with(
            "r",
            "of the computed change, as a part of it",
            telling.model,
            Source::Plant,
        )
        .gives(show(case.u)),
    ]
}
