//! Sentences, results and ranges written further down the house: each figure with its unit is found in
//! them and the person's unit put behind it in brackets. What a value is is told in `pages/units.rs`.

use super::Read;
use crate::calc::quantity::{
    LengthUnit, PressureUnit, Side, TemperatureUnit, TorqueUnit, significant_to,
};
use crate::calc::working::{Input, Step, Working};
use crate::record::person::Reads;

/// Words after which "in" is the inch and not the preposition.
const AFTER_INCH: &[&str] = &[
    "a year", "per year", "against", "to ", "of wall", "at ", "and ", "or ",
];
/// Words before a figure that make it a difference of two readings and not a reading.
const BEFORE_DIFFERENCE: &[&str] = &["by ", "±", "± ", "within "];

/// Headings under which stand the words of people.
const WRITTEN: &[&str] = &["Note", "Remark", "Permit", "Lock and tag"];
/// What a result is called that has to be reached, also where nothing had to be rounded.
const REQUIRED: &str = "required";
/// What the lower end of a range is called in a working.
const LOWEST: &str = "lowest";
/// A foot in metres, exact (NIST SP 811, B.6).
const FOOT_M: f64 = 0.3048;

/// How the figures of a text are to be converted.
#[derive(Clone, Copy, Default)]
struct How {
    /// The side they are rounded to; each kind's own where none is said.
    side: Option<Side>,
    /// Whether they are differences.
    difference: bool,
}

impl How {
    /// The side one of the figures is rounded to: the ends of a range inwards, where nothing else is said.
    fn side_of(self, one: &Figure, figures: &[Figure]) -> Option<Side> {
        let [low, high] = figures else {
            return self.side;
        };
        let inwards = is_range(low, high) && low.value < high.value && !self.difference;
        self.side.or_else(|| match (inwards, one.from == low.from) {
            (false, _) => None,
            (true, true) => Some(Side::Up),
            (true, false) => Some(Side::Down),
        })
    }
}

/// A figure with its unit.
#[derive(Clone, Copy)]
enum Known {
    Pressure(PressureUnit),
    Torque(TorqueUnit),
    Length(LengthUnit),
    Temperature(TemperatureUnit),
}

/// The kinds looked for; litres and kelvins are left alone, since an L is a rail too and a kelvin mostly
/// a difference.
fn known(rest: &str) -> Option<(Known, usize)> {
    fn longest<U: Read>(rest: &str) -> Option<(U, usize)> {
        U::ALL
            .iter()
            .filter(|unit| rest.starts_with(unit.symbol()))
            .map(|unit| (*unit, unit.symbol().len()))
            .max_by_key(|(_, length)| *length)
    }
    let all = [
        longest(rest).map(|(unit, n)| (Known::Pressure(unit), n)),
        longest(rest).map(|(unit, n)| (Known::Torque(unit), n)),
        longest(rest).map(|(unit, n)| (Known::Length(unit), n)),
        longest::<TemperatureUnit>(rest)
            .filter(|(unit, _)| *unit != TemperatureUnit::Kelvin)
            .map(|(unit, n)| (Known::Temperature(unit), n)),
    ];
    let (found, length) = all.into_iter().flatten().max_by_key(|(_, n)| *n)?;
    let after = &rest[length..];
    let ends = !after
        .chars()
        .next()
        .is_some_and(|c| c.is_alphanumeric() || matches!(c, '·' | '/' | '²' | '³' | '\u{2019}'));
    let is_unit = match found {
        Known::Length(LengthUnit::Inch) => inch(after),
        _ => true,
    };
    (ends && is_unit).then_some((found, length))
}

/// Whether an "in" with this behind it is the inch.
fn inch(after: &str) -> bool {
    match after.strip_prefix(' ') {
        None => true,
        Some(words) => {
            words.starts_with(['(', '\u{2013}', '→'])
                || AFTER_INCH.iter().any(|known| words.starts_with(known))
        }
    }
}

/// A figure found in a text: where it stands and what it is.
#[derive(Clone, Copy)]
struct Figure {
    from: usize,
    to: usize,
    value: f64,
}

/// The next figure from a place on: digits with at most one point, not part of a number or a word.
fn next_figure(text: &str, from: usize) -> Option<Figure> {
    let bytes = text.as_bytes();
    let mut at = from;
    while at < bytes.len() {
        if !bytes[at].is_ascii_digit() {
            at += 1;
            continue;
        }
        let mut end = at;
        let mut point = false;
        while end < bytes.len()
            && (bytes[end].is_ascii_digit()
                || (!point
                    && bytes[end] == b'.'
                    && bytes.get(end + 1).is_some_and(u8::is_ascii_digit)))
        {
            point |= bytes[end] == b'.';
            end += 1;
        }
        let before = &text[..at];
        let minus = before.ends_with(['-', '\u{2212}']);
        let clear = before.trim_end_matches(['-', '\u{2212}']);
        let part_of_a_word = clear
            .chars()
            .next_back()
            .is_some_and(|c| c.is_alphanumeric() || matches!(c, '.' | '/' | '_'));
        if part_of_a_word {
            at = end;
            continue;
        }
        let value: f64 = text[at..end].parse().unwrap_or(f64::NAN);
        return Some(Figure {
            from: if minus { clear.len() } else { at },
            to: end,
            value: if minus { -value } else { value },
        });
    }
    None
}

impl Reads {
    /// A text with the person's unit behind every figure. The ends of a range are rounded inwards, so that
    /// nothing is promised beyond what is marked: "10 to 80 ft·lbf (13.56 to 108.4 N·m)".
    pub fn says(self, text: impl ToString) -> String {
        self.said(&text.to_string(), How::default())
    }

    /// The same where the figures are to be reached: never rounded below them.
    pub fn says_at_least(self, text: impl ToString) -> String {
        let side = Some(Side::Up);
        self.said(
            &text.to_string(),
            How {
                side,
                ..How::default()
            },
        )
    }

    /// The same where the figures are steps or uncertainties and no readings.
    pub fn says_difference(self, text: impl ToString) -> String {
        let how = How {
            difference: true,
            ..How::default()
        };
        self.said(&text.to_string(), how)
    }

    /// Only the bracket of a step that is drawn by itself: " (0.1724 bar)", or nothing.
    pub fn beside(self, number: impl ToString, unit: impl ToString) -> String {
        let own = format!("{} {}", number.to_string(), unit.to_string());
        let said = self.says_difference(&own);
        said.strip_prefix(&own).unwrap_or_default().to_owned()
    }

    /// What an entry of the bench tells under a heading; words people wrote stay as they wrote them.
    pub fn told(self, heading: impl ToString, words: impl ToString) -> String {
        if WRITTEN.contains(&heading.to_string().as_str()) {
            words.to_string()
        } else {
            self.says(words)
        }
    }

    /// A value put into a step of a working; the lower end of a range is never rounded below it.
    pub fn input(self, input: &Input) -> String {
        if input.meaning.starts_with(LOWEST) {
            self.says_at_least(&input.value)
        } else {
            self.says(&input.value)
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
        self.said(
            &step.result,
            How {
                side,
                ..How::default()
            },
        )
    }

    /// A result that stands apart from its working under its name, rounded as the step that gave it.
    pub fn result_of(self, name: impl ToString, text: impl ToString, working: &Working) -> String {
        let text = text.to_string();
        let name = name.to_string().to_lowercase();
        if name.starts_with(REQUIRED) || name.ends_with("rounding up") {
            return self.says_at_least(text);
        }
        match working.steps.iter().find(|step| step.result == text) {
            Some(step) => self.result(step),
            None => self.says(text),
        }
    }

    fn said(self, text: &str, how: How) -> String {
        if self == Self::AsStamped {
            return text.to_owned();
        }
        let mut out = String::with_capacity(text.len() + 16);
        let (mut done, mut at) = (0, 0);
        let mut chain: Vec<Figure> = Vec::new();
        while let Some(figure) = next_figure(text, at) {
            at = figure.to;
            let joined = chain
                .last()
                .is_some_and(|last| matches!(text.get(last.to..figure.from), Some(" to " | ", ")));
            if !joined {
                chain.clear();
            }
            chain.push(figure);
            let rest = &text[figure.to..];
            let Some((found, length)) = rest
                .strip_prefix([' ', '\u{a0}', '\u{202f}'])
                .and_then(known)
            else {
                continue;
            };
            let space = rest.chars().next().map_or(0, char::len_utf8);
            let end = figure.to + space + length;
            at = end;
            let together = together(text, &chain, found);
            chain.clear();
            if let Some(bracket) = bracket_behind(&text[end..]) {
                at = end + bracket;
                continue;
            }
            let before = &text[..figure.from];
            let how = How {
                side: how
                    .side
                    .or_else(|| end_of_range(text, (figure, end), found)),
                difference: how.difference || BEFORE_DIFFERENCE.iter().any(|w| before.ends_with(w)),
            };
            if let Some(own) = self.own(found, &together, how) {
                out.push_str(&text[done..end]);
                out.push_str(&own);
                done = end;
            }
        }
        out.push_str(&text[done..]);
        out
    }

    /// The bracket with the figures in the person's unit.
    fn own(self, found: Known, figures: &[Figure], how: How) -> Option<String> {
        match found {
            // Distances in metres are read in feet, which nobody stamps on a gauge.
            Known::Length(LengthUnit::Metre) if self == Self::UsCustomary => {
                let feet = |one: &Figure| {
                    let side = how.side_of(one, figures).unwrap_or(Side::Nearest);
                    significant_to(one.value / FOOT_M, 4, side)
                };
                Some(written(figures, "ft", feet))
            }
            Known::Pressure(unit) => self.own_of(unit, figures, how),
            Known::Torque(unit) => self.own_of(unit, figures, how),
            Known::Length(unit) => self.own_of(unit, figures, how),
            Known::Temperature(unit) => self.own_of(unit, figures, how),
        }
    }

    fn own_of<U: Read>(self, unit: U, figures: &[Figure], how: How) -> Option<String> {
        // The last one, which stands beside the unit, says in which unit all of them are read.
        let last = figures.last()?;
        let own = self.into_unit(unit, unit.to_si(last.value))?;
        let convert = |one: &Figure| {
            let value = if how.difference {
                unit.difference(one.value, own)
            } else {
                own.from_si(unit.to_si(one.value))
            };
            significant_to(value, 4, how.side_of(one, figures).unwrap_or(U::SIDE))
        };
        Some(written(figures, own.symbol(), convert))
    }
}

/// The bracket, its figures joined as they were.
fn written(figures: &[Figure], unit: &str, convert: impl Fn(&Figure) -> String) -> String {
    let numbers: Vec<String> = figures
        .iter()
        .map(|one| convert(one).replace('-', "\u{2212}"))
        .collect();
    let range = matches!(figures, [low, high] if is_range(low, high));
    let joint = if range { " to " } else { ", " };
    format!(" ({} {unit})", numbers.join(joint))
}

/// Whether two figures that share a unit are joined as a range and not as a list.
fn is_range(low: &Figure, high: &Figure) -> bool {
    high.from >= low.to + " to ".len()
}

/// The side of a torque that is an end of a range whose ends both have their unit: "16 ft·lbf to
/// 80 ft·lbf". The lower end is rounded up and the upper one down.
fn end_of_range(text: &str, (figure, end): (Figure, usize), found: Known) -> Option<Side> {
    if !matches!(found, Known::Torque(_)) {
        return None;
    }
    let torque = |rest: &str| matches!(known(rest), Some((Known::Torque(_), _)));
    let lower = text[end..].strip_prefix(" to ").is_some_and(|rest| {
        next_figure(rest, 0).is_some_and(|high| {
            high.from == 0
                && high.value > figure.value
                && rest[high.to..].strip_prefix(' ').is_some_and(torque)
        })
    });
    if lower {
        return Some(Side::Up);
    }
    let before = text[..figure.from].strip_suffix(" to ")?;
    let unit = before.rfind(' ')?;
    let (low, name) = (&before[..unit], &before[unit + 1..]);
    let digits = low.rfind(|c: char| !c.is_ascii_digit() && c != '.');
    let low: f64 = low[digits.map_or(0, |at| at + 1)..].parse().ok()?;
    (torque(name) && low < figure.value).then_some(Side::Down)
}

/// The figures that share the unit behind the last of them: a range, and the passes of a tightening.
fn together(text: &str, chain: &[Figure], found: Known) -> Vec<Figure> {
    let Some((last, earlier)) = chain.split_last() else {
        return Vec::new();
    };
    let mut all = vec![*last];
    let joint = |one: &Figure, next: &Figure| text.get(one.to..next.from);
    match earlier.last().and_then(|one| joint(one, last)) {
        Some(" to ") => all.insert(0, earlier[earlier.len() - 1]),
        Some(", ") if matches!(found, Known::Torque(_)) => {
            for one in earlier.iter().rev() {
                if joint(one, &all[0]) != Some(", ") {
                    break;
                }
                all.insert(0, *one);
            }
        }
        _ => {}
    }
    all
}

/// How long a bracket behind a figure is that holds another figure: such a value has its other unit.
fn bracket_behind(rest: &str) -> Option<usize> {
    let inner = rest.strip_prefix(" (")?;
    let end = inner.find(')')?;
    let figure = next_figure(inner, 0).filter(|one| one.from == 0)?;
    let unit = inner[figure.to..end].strip_prefix(' ')?;
    known(unit).filter(|(_, length)| *length == unit.len())?;
    Some(" (".len() + end + 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calc::working::Source;

    /// published: NIST SP 811 (2008), B.8: psi to kPa 6.894757, ft·lbf to N·m 1.355818, in to mm 25.4.
    #[test]
    fn a_figure_in_a_sentence_is_followed_by_the_person_s_unit() {
        for (text, read) in [
            (
                "Held 1500 psi; no leak",
                "Held 1500 psi (103.4 bar); no leak",
            ),
            ("0 to 3000 psi", "0 to 3000 psi (0 to 206.8 bar)"),
            (
                "5, 10, 15 ft·lbf",
                "5, 10, 15 ft·lbf (6.779, 13.55, 20.33 N·m)",
            ),
            ("0.100 in, at least", "0.100 in (2.54 mm), at least"),
            (
                "0.0012 in a year; no loss",
                "0.0012 in (30.48 µm) a year; no loss",
            ),
            ("\u{2212}40 °F", "\u{2212}40 °F (\u{2212}40 °C)"),
        ] {
            assert_eq!(Reads::Si.says(text), read);
            assert_eq!(Reads::AsStamped.says(text), text);
        }
        assert_eq!(Reads::UsCustomary.says("2.5 mm"), "2.5 mm (0.09843 in)");
        assert_eq!(
            Reads::UsCustomary.says("250 MPa in each bolt"),
            "250 MPa (36259 psi) in each bolt"
        );
    }

    /// published: NIST SP 811 (2008), B.8: ft·lbf to N·m 1.355818, so 5 are 6.77909, 10 are 13.55818, 16 are
    /// 21.69309 and 80 are 108.46544 N·m; psi to kPa 6.894757, so 100 psi are 6.894757 bar.
    #[test]
    fn the_lower_end_of_a_range_is_rounded_up_and_the_upper_end_down() {
        for (text, read) in [
            ("5 to 80 ft·lbf", "5 to 80 ft·lbf (6.78 to 108.4 N·m)"),
            ("10 to 80 ft·lbf", "10 to 80 ft·lbf (13.56 to 108.4 N·m)"),
            (
                "good for 16 ft·lbf to 80 ft·lbf: the target lies below",
                "good for 16 ft·lbf (21.7 N·m) to 80 ft·lbf (108.4 N·m): the target lies below",
            ),
            ("100 to 1000 psi", "100 to 1000 psi (6.895 to 68.94 bar)"),
        ] {
            assert_eq!(Reads::Si.says(text), read);
        }
        let step = Step::new("range", "usable", "", Source::Arithmetic).with(
            "low",
            "lowest value of the wrench",
            "5 ft·lbf",
            Source::Entered,
        );
        assert_eq!(Reads::Si.input(&step.inputs[0]), "5 ft·lbf (6.78 N·m)");
    }

    #[test]
    fn a_preposition_a_tag_and_a_number_without_unit_are_left_alone() {
        for text in [
            "0.35 in 5 years",
            "3 in front, 2 at the back",
            "LG-1107A by 30 June, lot 24/117",
            "section 2, 12 nuts",
            "9.81 m/s², 4 m³, 0.5 K",
            "rebuild 3 barred",
        ] {
            for reads in [Reads::Si, Reads::UsCustomary] {
                assert_eq!(reads.says(text), text);
            }
        }
    }

    #[test]
    fn a_value_that_has_its_other_unit_gets_no_second_one() {
        for text in ["1000 psi (68.95 bar)", "0.05 mm (0.001969 in), within"] {
            for reads in [Reads::Si, Reads::UsCustomary] {
                assert_eq!(reads.says(text), text);
            }
        }
    }

    /// published: NIST SP 811 (2008), B.8: a difference of 1 °C is one of 1.8 °F.
    #[test]
    fn a_difference_of_temperatures_is_no_temperature() {
        let text = "\u{2212}5 psi, while the temperature moved by \u{2212}0.2 °C";
        assert_eq!(
            Reads::UsCustomary.says(text),
            "\u{2212}5 psi, while the temperature moved by \u{2212}0.2 °C (\u{2212}0.36 °F)"
        );
    }

    /// published: NIST SP 811 (2008), B.8: 1500 psi are 103.4214 bar.
    #[test]
    fn a_result_that_was_rounded_up_is_rounded_up_again() {
        let step = Step::new("P", "required", "1.5 P", Source::Arithmetic)
            .rounded("up to the next 1 psi")
            .gives("1500 psi");
        assert_eq!(Reads::Si.result(&step), "1500 psi (103.5 bar)");
    }
}
