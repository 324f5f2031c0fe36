//! A plant's list as plants really have them: misspelt headings below a title, mixed units, two
//! forms of dates, blank lines, titles and headings between the lines, gauges listed twice, cells
//! that cannot be true, remarks below. The same list every time, with what is wrong known for each
//! line by how it was made, not by how it is read.

use std::collections::BTreeMap;

use rust_xlsxwriter::Workbook;

/// Gauges in the list, good and bad.
pub const GAUGES: usize = 500;

/// The headings, each a slip of the pen or a habit away from ours.
pub const HEADINGS: [&str; 19] = [
    "Item",
    "Gague tag",
    "Aera",
    "Servise class",
    "Vessel no.",
    "Descripton",
    "Tpye",
    "No. of sectons",
    "Glass lenght (mm)",
    "Bolt thred",
    "MAWP (psig)",
    "Design tmep °F",
    "Toruqe ft-lbs",
    "Instaled",
    "Isolatable?",
    "Manufactuer",
    "Gasket matl",
    "P&ID",
    "Remarks",
];

/// What is wrong with a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Wrong {
    NoTag,
    SpaceInTag,
    HangsAlready,
    TwiceDifferent,
    TwiceSame,
    NoSuchType,
    Sections,
    GlassLength,
    ThreadMadeADate,
    RatingUnit,
    RatingNegative,
    Temperature,
    TorqueZero,
    TorqueNegative,
    TorqueText,
    TorqueForThread,
    TorqueUnit,
    NoSuchDay,
    YearOnly,
    Future,
    Isolation,
    SheetError,
    LongMaker,
}

/// How many lines of each kind there are, and words their message holds.
pub const WRONGS: [(Wrong, usize, &str); 23] = [
    (Wrong::NoTag, 5, "A tag number is needed"),
    (Wrong::SpaceInTag, 5, "a space is not allowed"),
    (Wrong::HangsAlready, 2, "hangs in the register already"),
    (
        Wrong::TwiceDifferent,
        8,
        "with different data; keep the one that is right",
    ),
    (Wrong::TwiceSame, 3, "which is taken"),
    (
        Wrong::NoSuchType,
        5,
        "is not understood; write reflex or transparent",
    ),
    (Wrong::Sections, 6, "is not a whole number from 1 to 12"),
    (Wrong::GlassLength, 2, "it is from 50 to 1000 mm"),
    (Wrong::ThreadMadeADate, 2, "made the date"),
    (Wrong::RatingUnit, 5, "is not a unit of pressure used here"),
    (Wrong::RatingNegative, 2, "a rated pressure is above zero"),
    (
        Wrong::Temperature,
        2,
        "no temperature a level gauge works at",
    ),
    (Wrong::TorqueZero, 6, "a torque is above zero"),
    (Wrong::TorqueNegative, 4, "a torque is above zero"),
    (
        Wrong::TorqueText,
        7,
        "is not a torque; write one number with its unit",
    ),
    (Wrong::TorqueForThread, 5, "would stretch it past yield"),
    (Wrong::TorqueUnit, 4, "is not a unit of torque used here"),
    (Wrong::NoSuchDay, 4, "is not a date"),
    (Wrong::YearOnly, 3, "has no day"),
    (Wrong::Future, 2, "is in the future"),
    (Wrong::Isolation, 3, "is not understood; write yes or no"),
    (
        Wrong::SheetError,
        2,
        "The spreadsheet itself shows an error here",
    ),
    (Wrong::LongMaker, 2, "More than 80 characters"),
];

/// Lines that are no gauges: three titles, two repeated headings, two remarks below.
pub const PASSED_OVER: usize = 7;

/// The tag numbers `HangsAlready` lines use; a test takes these gauges in first.
pub const HANGING: [&str; 2] = ["LG-9001", "LG-9002"];

/// How many lines are refused.
pub fn refused() -> usize {
    WRONGS.iter().map(|(_, n, _)| n).sum()
}

/// A small generator of even numbers of chance; the same every time.
struct Chance(u64);

impl Chance {
    /// A number below `n`.
    fn below(&mut self, n: usize) -> usize {
        // Knuth's MMIX constants (The Art of Computer Programming 3.3.4, table 1).
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).expect("a small number") % n
    }

    fn of<'a>(&mut self, list: &[&'a str]) -> &'a str {
        list[self.below(list.len())]
    }
}

/// One line of the list, by column.
pub type Cells = Vec<String>;

/// The lines in order, with what is wrong with each gauge; `None` for good ones. Lines that are no
/// gauges are in the list too, with no entry of their own.
pub struct Messy {
    /// Every line of the file, blank ones too.
    pub lines: Vec<Cells>,
    /// What is wrong, by place in `lines`.
    pub wrong: BTreeMap<usize, Wrong>,
}

fn good(chance: &mut Chance, number: usize) -> Cells {
    let tag = format!("{}-{}", chance.of(&["LG", "Lg"]), 1000 + number);
    let area = chance.of(&[
        "Boiler House",
        "boiler house",
        "Tank Row ",
        "Tank  Row",
        "Brine Plant",
    ]);
    let class = chance.of(&[
        "saturated steam",
        "Saturated Steam",
        "cold water",
        "weak brine",
    ]);
    let rating = match chance.below(5) {
        0 => "69 bar".to_owned(),
        1 => "6.9 MPa".to_owned(),
        2 => "1 000".to_owned(),
        3 => "1000 psi @ 100 °F".to_owned(),
        _ => "1000".to_owned(),
    };
    let temperature = if rating.contains('@') {
        String::new()
    } else {
        chance.of(&["100", "38 °C", "", "n/a"]).to_owned()
    };
    let (thread, torque) = match chance.below(6) {
        0 => ("1/2-13", "32"),
        1 => ("1/2-13 UNC", "43 Nm"),
        2 => ("5/8-11", "60 ft lbf"),
        3 => ("M12", "4.4 kgf·m"),
        4 => ("1/2-13", "384 in-lb"),
        _ => ("", "illegible"),
    };
    let (day, month, year) = (
        1 + chance.below(28),
        1 + chance.below(12),
        2001 + chance.below(24),
    );
    let installed = match chance.below(4) {
        0 => format!("{year}-{month:02}-{day:02}"),
        1 => String::new(),
        _ => format!("{day:02}/{month:02}/{year}"),
    };
    vec![
        number.to_string(),
        tag,
        area.to_owned(),
        class.to_owned(),
        format!("BH-D-{}", 100 + chance.below(40)),
        chance
            .of(&[
                "steam drum",
                "condensate pot",
                "feed, tank",
                "blow-down \"old\"",
            ])
            .to_owned(),
        chance
            .of(&["Reflex", "reflex", "R", "TRANSPARENT", "transparant", "T"])
            .to_owned(),
        chance.of(&["1", "2", "3.0", "4"]).to_owned(),
        chance.of(&["250", "320", "12.6 in", "-"]).to_owned(),
        thread.to_owned(),
        rating,
        temperature,
        torque.to_owned(),
        installed,
        chance
            .of(&["Y", "yes", "No", "n", "in service", "shutdown only"])
            .to_owned(),
        chance
            .of(&["Fennel Gauge", "Northquay Instruments", ""])
            .to_owned(),
        chance.of(&["graphite", "PTFE", ""]).to_owned(),
        format!("PID-{}", chance.below(30)),
        chance
            .of(&["", "", "=see drawing", "tag painted over"])
            .to_owned(),
    ]
}

fn spoil(cells: &mut Cells, wrong: Wrong, nth: usize) {
    let mut put = |column: usize, text: &str| text.clone_into(&mut cells[column]);
    match wrong {
        Wrong::NoTag => put(1, ""),
        Wrong::SpaceInTag => put(1, &format!("LG 70{nth}")),
        Wrong::HangsAlready => put(1, &HANGING[nth % 2].to_lowercase()),
        // Pairs: the second of two has the first one's tag and another vessel.
        Wrong::TwiceDifferent => {
            put(1, &format!("{}-80{}", ["LG", "lg"][nth % 2], nth / 2));
            put(4, &format!("BH-D-{nth}"));
        }
        // Copies of good lines are made by the list itself.
        Wrong::TwiceSame => {}
        Wrong::NoSuchType => put(6, ["magnetic", "float", "tubular", "glass", "?!x"][nth]),
        Wrong::Sections => put(7, ["0", "14", "four", "2.5", "-1", "2-3"][nth]),
        Wrong::GlassLength => put(8, ["32", "3.2 m"][nth]),
        Wrong::ThreadMadeADate => put(9, "2013-02-01"),
        Wrong::RatingUnit => put(
            10,
            ["100 furlong", "1000 psia", "69 bananas", "10 atm", "7 t"][nth],
        ),
        Wrong::RatingNegative => put(10, "-1000"),
        Wrong::Temperature => {
            put(10, "1000");
            put(11, ["-500", "5000 °C"][nth]);
        }
        Wrong::TorqueZero => put(12, ["0", "0 Nm", "0.0", "0,0", "00", "0 ft-lb"][nth]),
        Wrong::TorqueNegative => put(12, ["-32", "-43 Nm", "\u{2212}5", "-0.1"][nth]),
        Wrong::TorqueText => put(
            12,
            [
                "see tag",
                "hand tight",
                "30-32",
                "~32",
                "per maker",
                "32/40",
                "thirty",
            ][nth],
        ),
        Wrong::TorqueForThread => {
            put(9, "1/2-13");
            put(
                12,
                ["320", "3200", "434 Nm", "32 000 in-lb", "99 kgf·m"][nth],
            );
        }
        Wrong::TorqueUnit => put(12, ["32 stone", "43 N", "5 turns", "32 lbs"][nth]),
        Wrong::NoSuchDay => put(13, ["31/02/2020", "30.02.2019", "2021-13-01", "soon"][nth]),
        Wrong::YearOnly => put(13, ["2014", "03/2011", "Mar 2009"][nth]),
        Wrong::Future => put(13, ["2027-01-01", "3 Mar 2026"][nth]),
        Wrong::Isolation => put(14, ["maybe", "sometimes", "2"][nth]),
        Wrong::SheetError => put(15, ["#REF!", "#N/A"][nth]),
        Wrong::LongMaker => put(15, &"x".repeat(81 + nth)),
    }
}

/// Makes the list.
pub fn make() -> Messy {
    let mut chance = Chance(20_260_302);
    let mut kinds: Vec<Option<Wrong>> = Vec::new();
    for (wrong, count, _) in WRONGS {
        kinds.extend(std::iter::repeat_n(Some(wrong), count));
    }
    kinds.resize(GAUGES, None);
    for at in (1..kinds.len()).rev() {
        kinds.swap(at, chance.below(at + 1));
    }
    // A copy needs a good line before it.
    if kinds[0] == Some(Wrong::TwiceSame) {
        let free = kinds.iter().position(Option::is_none).expect("a good line");
        kinds.swap(0, free);
    }
    let titled = |title: &str| {
        let mut line = vec![String::new(); HEADINGS.len()];
        title.clone_into(&mut line[0]);
        line
    };
    let blank = || vec![String::new(); HEADINGS.len()];
    let headings = || HEADINGS.iter().map(|h| (*h).to_owned()).collect::<Cells>();
    let mut messy = Messy {
        lines: vec![titled("LEVEL GAUGES, all areas"), blank(), headings()],
        wrong: BTreeMap::new(),
    };
    let mut nth: BTreeMap<Wrong, usize> = BTreeMap::new();
    let mut last_good: Option<Cells> = None;
    for (number, kind) in kinds.into_iter().enumerate() {
        match number {
            100 | 250 | 400 => messy.lines.push(titled("SECTION OF THE LIST")),
            150 | 300 => messy.lines.push(headings()),
            _ if number % 37 == 0 => messy.lines.push(blank()),
            _ => {}
        }
        let mut cells = good(&mut chance, number);
        match kind {
            None => last_good = Some(cells.clone()),
            Some(Wrong::TwiceSame) => {
                cells.clone_from(last_good.as_ref().expect("a good line"));
                messy.wrong.insert(messy.lines.len(), Wrong::TwiceSame);
            }
            Some(wrong) => {
                let count = nth.entry(wrong).or_default();
                spoil(&mut cells, wrong, *count);
                *count += 1;
                messy.wrong.insert(messy.lines.len(), wrong);
            }
        }
        messy.lines.push(cells);
    }
    messy.lines.push(blank());
    messy
        .lines
        .push(titled("Torques as found on the tags, 1998 to 2024"));
    let mut remark = titled("Note:");
    "ask the shift before work".clone_into(&mut remark[1]);
    messy.lines.push(remark);
    messy
}

impl Messy {
    /// The list as a CSV file.
    pub fn csv(&self) -> Vec<u8> {
        let mut to = csv::Writer::from_writer(Vec::new());
        for line in &self.lines {
            to.write_record(line).expect("a line");
        }
        to.into_inner().expect("a file")
    }

    /// The list as a workbook, below a cover sheet, numbers as numbers where they are plain ones.
    pub fn workbook(&self) -> Vec<u8> {
        let mut book = Workbook::new();
        let cover = book.add_worksheet();
        cover.write(0, 0, "Register of the works").expect("a cell");
        let sheet = book.add_worksheet();
        for (row, line) in (0_u32..).zip(&self.lines) {
            for (column, cell) in (0_u16..).zip(line) {
                let number = cell.parse::<f64>().ok().filter(|n| n.to_string() == *cell);
                match number {
                    Some(number) => sheet.write(row, column, number).expect("a cell"),
                    None if cell.is_empty() => continue,
                    None => sheet.write_string(row, column, cell).expect("a cell"),
                };
            }
        }
        book.save_to_buffer().expect("a workbook")
    }
}
