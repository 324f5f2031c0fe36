//! Typed sentences with the person's unit behind each value, and texts that are nothing but a figure with
//! its unit, such as kept results of a working. Words are never searched: what people wrote stays theirs.

use std::borrow::Borrow;

use super::{Read, joined};
use crate::calc::quantity::{
    LengthUnit, PressureUnit, Side, Stamped, TemperatureUnit, TorqueUnit, Unit, significant_to,
};
use crate::calc::working::{Input, Step, Working};
use crate::pages::show::KEPT;
use crate::record::certificate::Amount;
use crate::record::person::Reads;
use crate::record::sentence::{Figure, Part, Sentence};

/// What a result is called that has to be reached, also where nothing had to be rounded.
const REQUIRED: &str = "required";
/// What workings call the values put into them that have to be reached.
const AT_LEAST: [&str; 3] = [
    "required test pressure",
    "least wall",
    "lowest value of the wrench",
];
/// What they call those that must not be passed.
const AT_MOST: [&str; 5] = [
    "highest value of the wrench",
    "flatness limit",
    "allowed drop",
    "rated pressure",
    "rating there",
];
/// What joins the ends of a range.
const TO: &str = " to ";
/// A foot in metres, exact (NIST SP 811, B.6).
const FOOT_M: f64 = 0.3048;

/// How a text that is a figure is to be converted.
#[derive(Clone, Copy, Default)]
struct How {
    /// The side it is rounded to; each kind's own where none is said.
    side: Option<Side>,
    /// Whether it is a difference.
    difference: bool,
}

impl How {
    const fn to(side: Side) -> Self {
        Self {
            side: Some(side),
            difference: false,
        }
    }

    /// The side of one of the figures: the ends of a range are rounded inwards where nothing else is said,
    /// so that nothing is promised beyond what is marked.
    fn side_of(self, at: usize, figures: &[f64], joint: &str) -> Option<Side> {
        let inwards =
            joint == TO && !self.difference && matches!(figures, [low, high] if low < high);
        self.side.or(match (inwards, at) {
            (false, _) => None,
            (true, 0) => Some(Side::Up),
            (true, _) => Some(Side::Down),
        })
    }
}

/// The unit of a text that is a figure.
#[derive(Clone, Copy)]
enum Known {
    Pressure(PressureUnit),
    Torque(TorqueUnit),
    Length(LengthUnit),
    Temperature(TemperatureUnit),
}

/// The kinds looked for; litres and kelvins are left alone, since a kelvin is mostly a difference.
fn known(symbol: &str) -> Option<Known> {
    fn of<U: Unit>(symbol: &str) -> Option<U> {
        U::ALL.iter().copied().find(|unit| unit.symbol() == symbol)
    }
    of(symbol)
        .map(Known::Pressure)
        .or_else(|| of(symbol).map(Known::Torque))
        .or_else(|| of(symbol).map(Known::Length))
        .or_else(|| {
            of(symbol)
                .filter(|unit| *unit != TemperatureUnit::Kelvin)
                .map(Known::Temperature)
        })
}

/// A number as the program writes it: digits with at most one point, a sign before them.
fn number(text: &str) -> Option<f64> {
    let (sign, digits) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(digits) => (-1.0, digits),
        None => (1.0, text.strip_prefix('+').unwrap_or(text)),
    };
    let plain = digits.starts_with(|c: char| c.is_ascii_digit())
        && digits.chars().all(|c| c.is_ascii_digit() || c == '.');
    plain
        .then(|| digits.parse::<f64>().ok())?
        .map(|value| sign * value)
}

/// The figures of a text that is nothing else: one, a range or a row, with what joins them and the unit.
fn whole(text: &str) -> Option<(Vec<f64>, &'static str, Known)> {
    let (figures, symbol) = text.rsplit_once([' ', '\u{a0}', '\u{202f}'])?;
    let unit = known(symbol)?;
    let joint = if figures.contains(TO) { TO } else { ", " };
    let numbers: Option<Vec<f64>> = figures.split(joint).map(number).collect();
    Some((numbers?, joint, unit))
}

impl Reads {
    /// A sentence with the person's unit behind each of its values.
    pub fn tell(self, sentence: impl Borrow<Sentence>) -> String {
        sentence
            .borrow()
            .parts()
            .iter()
            .map(|part| match part {
                Part::Words(words) => words.clone(),
                Part::Figure(Figure::Pressure(value), side) => self.told(value, *side),
                Part::Figure(Figure::Torque(value), side) => self.told(value, *side),
                Part::Figure(Figure::Length(value), side) => self.told(value, *side),
                Part::Figure(Figure::Temperature(value), side) => self.told(value, *side),
                Part::Passes(passes) => {
                    self.figure(Sentence::default().passes(passes.iter().copied()))
                }
            })
            .collect()
    }

    fn told<U: Read>(self, value: &Stamped<U>, side: Option<Side>) -> String {
        self.to_side(value, side.unwrap_or(U::SIDE))
    }

    /// A text that is a figure, a range or a row of figures with its unit, and the same in the person's
    /// unit behind it; any other text as it is.
    pub fn figure(self, text: impl ToString) -> String {
        self.with_own(&text.to_string(), How::default())
    }

    /// The same for what has to be reached.
    pub fn figure_at_least(self, text: impl ToString) -> String {
        self.with_own(&text.to_string(), How::to(Side::Up))
    }

    /// The same for what must not be passed.
    pub fn figure_at_most(self, text: impl ToString) -> String {
        self.with_own(&text.to_string(), How::to(Side::Down))
    }

    /// A field of the nameplate before or after a correction: its quantities, by the names the register
    /// keeps them under; words people write in other fields stay as they are.
    pub fn changed(self, what: impl AsRef<str>, text: impl ToString) -> String {
        match what.as_ref() {
            "rating" => self.figure_at_most(text),
            "rating temperature" | "cover bolt torque" => self.figure(text),
            _ => text.to_string(),
        }
    }

    /// What a certificate states of an amount.
    pub fn amount(self, amount: &Amount) -> String {
        self.figure(format!("{} {}", amount.value, amount.unit))
    }

    /// The same for what has to be reached.
    pub fn amount_at_least(self, amount: &Amount) -> String {
        self.figure_at_least(format!("{} {}", amount.value, amount.unit))
    }

    /// The same for what must not be passed.
    pub fn amount_at_most(self, amount: &Amount) -> String {
        self.figure_at_most(format!("{} {}", amount.value, amount.unit))
    }

    /// Only the bracket of a step or an uncertainty that is drawn by itself: " (0.1724 bar)", or nothing.
    pub fn beside(self, number: impl ToString, unit: impl ToString) -> String {
        let text = format!("{} {}", number.to_string(), unit.to_string());
        let how = How {
            difference: true,
            ..How::default()
        };
        self.in_own(&text, how)
            .map_or_else(String::new, |own| format!(" ({own})"))
    }

    /// A value put into a step of a working; a limit is never read as less strict than it is.
    pub fn input(self, input: &Input) -> String {
        let named = |list: &[&str]| list.contains(&input.meaning.as_str());
        if named(&AT_LEAST) {
            self.figure_at_least(&input.value)
        } else if named(&AT_MOST) {
            self.figure_at_most(&input.value)
        } else {
            self.figure(&input.value)
        }
    }

    /// The result of a step of a working, rounded to the side the step itself was rounded to.
    pub fn result(self, step: &Step) -> String {
        let how = step.rounding.as_deref().unwrap_or_default();
        let has = |word| how.split([' ', ',']).any(|one| one == word);
        let required = step.meaning.starts_with(REQUIRED);
        let side = match (has("up") || required, has("down")) {
            (true, false) => Some(Side::Up),
            (false, true) => Some(Side::Down),
            _ => None,
        };
        let how = How {
            side,
            ..How::default()
        };
        self.with_own(&step.result, how)
    }

    /// A result that stands apart from its working under its name, rounded as the step that gave it.
    pub fn result_of(self, name: impl ToString, text: impl ToString, working: &Working) -> String {
        let text = text.to_string();
        let name = name.to_string().to_lowercase();
        if name.starts_with(REQUIRED) || name.ends_with("rounding up") {
            return self.figure_at_least(text);
        }
        match working.steps.iter().find(|step| step.result == text) {
            Some(step) => self.result(step),
            None => self.figure(text),
        }
    }

    fn with_own(self, text: &str, how: How) -> String {
        // Words people wrote stay as they are, down to their spaces.
        let shown = whole(text).map_or_else(|| text.to_owned(), |_| joined(text));
        match self.in_own(text, how) {
            Some(own) => format!("{shown} ({own})"),
            None => shown,
        }
    }

    fn in_own(self, text: &str, how: How) -> Option<String> {
        match self {
            Self::AsStamped => None,
            Self::UsCustomary | Self::Si => self.converted_text(text, how),
        }
    }

    fn converted_text(self, text: &str, how: How) -> Option<String> {
        let (figures, joint, unit) = whole(text)?;
        match unit {
            // Distances in metres are read in feet, which nobody stamps on a gauge.
            Known::Length(LengthUnit::Metre) if self == Self::UsCustomary => {
                let feet = |at: usize, value: f64| {
                    let side = how.side_of(at, &figures, joint).unwrap_or(Side::Nearest);
                    significant_to(value / FOOT_M, 4, side)
                };
                Some(written(&figures, joint, "ft", feet))
            }
            Known::Pressure(unit) => self.own(unit, &figures, joint, how),
            Known::Torque(unit) => self.own(unit, &figures, joint, how),
            Known::Length(unit) => self.own(unit, &figures, joint, how),
            Known::Temperature(unit) => self.own(unit, &figures, joint, how),
        }
    }

    fn own<U: Read>(self, unit: U, figures: &[f64], joint: &str, how: How) -> Option<String> {
        // The last one, which stands beside the unit, says in which unit all of them are read.
        let last = figures.last()?;
        let own = self.into_unit(unit, unit.to_si(*last))?;
        let convert = |at: usize, value: f64| {
            let value = if how.difference {
                unit.difference(value, own)
            } else {
                own.from_si(unit.to_si(value))
            };
            let side = how.side_of(at, figures, joint).unwrap_or(U::SIDE);
            significant_to(value, 4, side)
        };
        Some(written(figures, joint, own.symbol(), convert))
    }
}

/// The figures in another unit, joined as they were.
fn written(
    figures: &[f64],
    joint: &str,
    unit: &str,
    convert: impl Fn(usize, f64) -> String,
) -> String {
    let numbers: Vec<String> = (0..)
        .zip(figures)
        .map(|(at, value)| convert(at, *value).replace('-', "\u{2212}"))
        .collect();
    format!("{}{KEPT}{unit}", numbers.join(joint))
}

#[cfg(test)]
mod tests {
    use rust_decimal::Decimal;

    use super::super::tests::plain;
    use super::*;
    use crate::calc::quantity::{StampedPressure, StampedTorque};
    use crate::calc::working::Source;

    /// published: NIST SP 811 (2008), B.8: psi to kPa 6.894757, ft·lbf to N·m 1.355818, in to mm 25.4.
    #[test]
    fn a_text_that_is_a_figure_is_followed_by_the_person_s_unit() {
        for (text, read) in [
            ("1500 psi", "1500 psi (103.4 bar)"),
            ("0 to 3000 psi", "0 to 3000 psi (0 to 206.8 bar)"),
            (
                "5, 10, 15 ft·lbf",
                "5, 10, 15 ft·lbf (6.779, 13.55, 20.33 N·m)",
            ),
            ("0.100 in", "0.100 in (2.54 mm)"),
            ("0.0012 in", "0.0012 in (30.48 µm)"),
            ("\u{2212}40 °F", "\u{2212}40 °F (\u{2212}40 °C)"),
        ] {
            assert_eq!(plain(Reads::Si.figure(text)), read);
            assert_eq!(plain(Reads::AsStamped.figure(text)), text);
        }
        assert_eq!(
            plain(Reads::UsCustomary.figure("2.5 mm")),
            "2.5 mm (0.09843 in)"
        );
    }

    /// published: NIST SP 811 (2008), B.8: ft·lbf to N·m 1.355818, so 5 are 6.77909, 10 are 13.55818 and 80
    /// are 108.46544 N·m; psi to kPa 6.894757, so 100 psi are 6.894757 bar.
    #[test]
    fn the_lower_end_of_a_range_is_rounded_up_and_the_upper_end_down() {
        for (text, read) in [
            ("5 to 80 ft·lbf", "5 to 80 ft·lbf (6.78 to 108.4 N·m)"),
            ("10 to 80 ft·lbf", "10 to 80 ft·lbf (13.56 to 108.4 N·m)"),
            ("100 to 1000 psi", "100 to 1000 psi (6.895 to 68.94 bar)"),
        ] {
            assert_eq!(plain(Reads::Si.figure(text)), read);
        }
        let step = Step::new("range", "usable", "", Source::Arithmetic).with(
            "low",
            "lowest value of the wrench",
            "5 ft·lbf",
            Source::Entered,
        );
        assert_eq!(
            plain(Reads::Si.input(&step.inputs[0])),
            "5 ft·lbf (6.78 N·m)"
        );
    }

    #[test]
    fn words_people_wrote_are_never_touched_whatever_figures_they_hold() {
        for text in [
            "let down at 900 psi, then 1500 psi again",
            "torque to 32 ft·lbf",
            "about 5 psi",
            "1440 psi (99 bar)",
            "3 in front, 2 at the back",
            "LG-1107A",
            "",
        ] {
            for reads in [Reads::Si, Reads::UsCustomary] {
                assert_eq!(reads.figure(text), text);
                assert_eq!(reads.tell(Sentence::of(text)), text);
            }
        }
        // Even words that are a figure and nothing else.
        assert_eq!(Reads::Si.tell(Sentence::of("900 psi")), "900 psi");
    }

    /// published: NIST SP 811 (2008), B.8: 1500 psi are 103.4214 bar, 5 and 10 ft·lbf 6.779 and 13.558 N·m.
    #[test]
    fn a_sentence_is_told_with_each_value_to_the_side_it_needs() {
        let psi = StampedPressure::new(Decimal::from(1500), PressureUnit::Psi);
        let torque = |n: i64| StampedTorque::new(Decimal::from(n), TorqueUnit::FootPound);
        let told = Sentence::of("reached ")
            .figure(psi)
            .words(", required ")
            .at_least(psi)
            .words(", limit ")
            .at_most(psi)
            .words("; passes ")
            .passes([torque(5), torque(10)])
            .words("; note: at 900 psi");
        assert_eq!(
            plain(Reads::Si.tell(&told)),
            "reached 1500 psi (103.4 bar), required 1500 psi (103.5 bar), limit 1500 psi (103.4 bar); passes 5, 10 ft·lbf (6.779, 13.55 N·m); note: at 900 psi"
        );
        assert_eq!(plain(Reads::AsStamped.tell(&told)), told.to_string());
    }

    /// published: NIST SP 811 (2008), B.8: a difference of 1 °C is one of 1.8 °F.
    #[test]
    fn a_step_of_temperature_is_no_temperature() {
        assert_eq!(plain(Reads::UsCustomary.beside("0.2", "°C")), " (0.36 °F)");
    }

    /// published: NIST SP 811 (2008), B.8: 1500 psi are 103.4214 bar, 0.100 in are 2.54 mm and 0.002 in are
    /// 50.8 µm; 0.131 in are 3.3274 mm.
    #[test]
    fn a_limit_put_into_a_working_is_never_read_as_less_strict() {
        let read = |meaning: &str, value: &str| {
            let step = Step::new("x", "x", "", Source::Arithmetic).with(
                "y",
                meaning,
                value,
                Source::Plant,
            );
            plain(Reads::Si.input(&step.inputs[0]))
        };
        for (meaning, value, as_read) in [
            ("required test pressure", "1500 psi", "1500 psi (103.5 bar)"),
            ("rated pressure", "1500 psi", "1500 psi (103.4 bar)"),
            ("allowed drop", "15.5 psi", "15.5 psi (1.068 bar)"),
            ("least wall", "0.131 in", "0.131 in (3.328 mm)"),
            ("wall", "0.131 in", "0.131 in (3.327 mm)"),
            ("flatness limit", "0.002 in", "0.002 in (50.8 µm)"),
        ] {
            assert_eq!(read(meaning, value), as_read);
        }
    }

    /// Each name a limit goes by is one that a working uses.
    #[test]
    fn the_names_of_limits_are_those_the_workings_use() {
        let used = [
            include_str!("../../calc/hold/working.rs"),
            include_str!("../../calc/wall.rs"),
            include_str!("../../calc/bolting.rs"),
            include_str!("../../calc/seat.rs"),
            include_str!("../../calc/pressure_test.rs"),
            include_str!("../../calc/rating.rs"),
        ]
        .concat();
        for name in AT_LEAST.iter().chain(&AT_MOST) {
            assert!(used.contains(&format!("\"{name}\"")), "{name}");
        }
    }

    /// published: NIST SP 811 (2008), B.8: 1500 psi are 103.4214 bar.
    #[test]
    fn a_result_that_was_rounded_up_is_rounded_up_again() {
        let step = Step::new("P", "required", "1.5 P", Source::Arithmetic)
            .rounded("up to the next 1 psi")
            .gives("1500 psi");
        assert_eq!(plain(Reads::Si.result(&step)), "1500 psi (103.5 bar)");
    }
}
