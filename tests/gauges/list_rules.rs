//! The rules by which a plant's list is read, one test each: letters, columns, headings, units,
//! numbers, dates, words. The pages that use them are in `bring_in`.

use std::fmt::Write as _;
use std::io::Write as _;

use gaugewright::calc::quantity::{PressureUnit, TemperatureUnit, TorqueUnit};
use gaugewright::record::gauge::{BoltForm, Isolation, Kind};
use gaugewright::record::plant_list::date::{self, Dates, NotADate, Order};
use gaugewright::record::plant_list::number::{self, Mark, NotANumber, Numbers};
use gaugewright::record::plant_list::plan::Outcome;
use gaugewright::record::plant_list::reading::{self, Wish};
use gaugewright::record::plant_list::row::Checker;
use gaugewright::record::plant_list::table::{Delimiter, Found, letters};
use gaugewright::record::plant_list::{
    Draft, Fault, Field, Known, ListUnit, Matching, Plan, Table, headings, mend, quantity, words,
};
use gaugewright::record::{AreaId, KitId, ServiceClassId};
use proptest::{prop_assert_eq, prop_assume, proptest};
use rust_xlsxwriter::{Format, Formula, Workbook};
use time::macros::date;

const TODAY: time::Date = date!(2026 - 03 - 02);

fn read(bytes: &[u8]) -> (Table, Found) {
    reading::read(bytes, &Wish::default()).expect("a list")
}

fn refused(bytes: &[u8]) -> String {
    reading::read(bytes, &Wish::default())
        .expect_err("not a list")
        .to_string()
}

fn guess(heading: &str) -> Option<Field> {
    headings::guess(&[heading.to_owned()])[0].field
}

fn known() -> Known {
    Known {
        areas: [(
            "boiler house".to_owned(),
            (AreaId(1), "Boiler House".to_owned()),
        )]
        .into(),
        classes: [(
            "saturated steam".to_owned(),
            (ServiceClassId(1), "saturated steam".to_owned()),
        )]
        .into(),
        kits: [
            ("sw-k-3".to_owned(), (KitId(3), Kind::Reflex)),
            ("sw-k-4".to_owned(), (KitId(4), Kind::Transparent)),
        ]
        .into(),
        tags: ["lg-9".to_owned()].into(),
        today: TODAY,
    }
}

/// One line read under these headings, with everything else given for the whole list.
fn one(heading_line: &str, line: &str) -> Result<Draft, Vec<Fault>> {
    let text = format!("{heading_line}\n{line}\n");
    let (table, found) = read(text.as_bytes());
    let mut matching = Matching::guess(&table, &found);
    "Boiler House".clone_into(&mut matching.usual.area);
    "saturated steam".clone_into(&mut matching.usual.class);
    matching.usual.kind = Some(Kind::Reflex);
    matching.usual.sections = Some(2);
    matching.usual.isolation = Some(Isolation::InService);
    let known = known();
    Checker::new(&matching, &known).read(&table.lines[0])
}

/// The reasons why a line was refused.
fn why(heading_line: &str, line: &str) -> String {
    match one(heading_line, line) {
        Err(faults) => faults
            .into_iter()
            .map(|fault| format!("{}: {}", fault.field, fault.message))
            .collect::<Vec<_>>()
            .join(" | "),
        Ok(draft) => panic!("should be refused: {draft:?}"),
    }
}

/// What was read for a field of a good line.
fn got(heading_line: &str, line: &str, field: Field) -> String {
    match one(heading_line, line) {
        Ok(draft) => draft.shown(field),
        Err(faults) => panic!("should be good: {faults:?}"),
    }
}

mod earlier_work {
    use super::*;

    #[test]
    fn days_of_the_last_rebuild_and_look_over_are_found_by_their_headings() {
        // common practice, no source: how plants head such columns.
        for heading in ["Last rebuilt on", "Date of last rebuild", "Last overhaul"] {
            assert_eq!(guess(heading), Some(Field::RebuiltOn), "{heading}");
        }
        for heading in [
            "Last looked over",
            "Last inspection",
            "Date of last inspection",
        ] {
            assert_eq!(guess(heading), Some(Field::LookedOn), "{heading}");
        }
        let line = "LG-1,2019-04-01,2024-05-06";
        assert_eq!(
            got("Tag,First installed,Last rebuilt", line, Field::RebuiltOn),
            "6 May 2024"
        );
    }

    #[test]
    fn work_before_the_gauge_hung_or_in_the_future_is_refused() {
        let headings = "Tag,First installed,Last rebuilt";
        assert!(
            why(headings, "LG-1,2019-04-01,2018-05-06")
                .contains("before the gauge was first installed")
        );
        assert!(why(headings, "LG-1,2019-04-01,2199-05-06").contains("is in the future"));
    }
}

mod letters_and_columns {
    use super::*;

    #[test]
    fn utf_8_is_read_with_and_without_its_mark() {
        for mark in ["", "\u{feff}"] {
            let (table, found) = read(format!("{mark}Tag,Temp °F\nLG-1,38 °C\n").as_bytes());
            assert_eq!(table.headings, ["Tag", "Temp °F"]);
            assert_eq!(found.encoding.as_deref(), Some("UTF-8"));
        }
    }

    #[test]
    fn utf_16_is_read_with_and_without_its_mark() {
        let text = "Tag\tTorque\nLG-1\t43 N·m\n";
        for (mark, big) in [(true, false), (true, true), (false, false), (false, true)] {
            let mut bytes: Vec<u8> = Vec::new();
            let units = text.encode_utf16();
            let first = mark.then_some(0xFEFF_u16);
            for unit in first.into_iter().chain(units) {
                bytes.extend(if big {
                    unit.to_be_bytes()
                } else {
                    unit.to_le_bytes()
                });
            }
            let (table, _) = read(&bytes);
            assert_eq!(
                table.lines[0].cells,
                ["LG-1", "43 N·m"],
                "mark {mark}, big {big}"
            );
        }
    }

    #[test]
    fn windows_1252_is_known_by_its_degree_sign() {
        // 0xB0 is the degree sign (WHATWG Encoding Standard, index windows-1252).
        let (table, found) = read(b"Tag,Design temp \xB0F\nLG-1,100\nLG-2,250\n");
        assert_eq!(table.headings[1], "Design temp °F");
        assert_eq!(found.encoding.as_deref(), Some("windows-1252"));
    }

    #[test]
    fn damaged_utf_8_stays_utf_8_and_only_its_cell_is_refused() {
        let mut bytes = "Tag,Vessel\nLG-1,Kühler\nLG-2,Behälter Süd\nLG-3,Öl "
            .as_bytes()
            .to_vec();
        bytes.extend(b"\xFFx\n");
        let (table, found) = read(&bytes);
        assert_eq!(found.encoding.as_deref(), Some("UTF-8"));
        assert_eq!(table.lines[0].cells[1], "Kühler");
        assert!(table.lines[2].cells[1].contains('\u{fffd}'));
        assert!(why("Tag,Vessel", "LG-3,Öl \u{fffd}x").contains("could not be read"));
    }

    #[test]
    fn commas_semicolons_and_tabs_are_told_apart() {
        for (text, delimiter) in [
            ("Tag,Type,Torque\nLG-1,reflex,32\n", Delimiter::Comma),
            ("Tag;Type;Torque\nLG-1;reflex;32,5\n", Delimiter::Semicolon),
            ("Tag\tType\tTorque\nLG-1\treflex, new\t32\n", Delimiter::Tab),
            ("sep=;\nTag;Note\nLG-1;a,b,c\n", Delimiter::Semicolon),
        ] {
            let (table, found) = read(text.as_bytes());
            assert_eq!(found.delimiter, Some(delimiter), "{text}");
            assert_eq!(table.lines[0].cells[0], "LG-1");
        }
    }

    #[test]
    fn quoted_cells_follow_rfc_4180() {
        // RFC 4180 section 2: quotes around a cell with commas, breaks or doubled quotes.
        let (table, _) = read(b"Tag,Note\r\n\"LG-1\",\"a, \"\"b\"\"\r\nc\"\r\nLG-2,d\r\n");
        assert_eq!(table.lines[0].cells[1], "a, \"b\"\nc");
        assert_eq!(table.lines[1].cells[0], "LG-2");
    }

    #[test]
    fn lines_are_numbered_as_a_spreadsheet_shows_them() {
        let (table, found) =
            read(b"List of gauges\n\nTag,Note\n\nLG-1,\"two\nlines\"\n\n\nLG-2,x\n");
        assert_eq!(found.heading_line, 3);
        let numbers: Vec<u32> = table.lines.iter().map(|line| line.number).collect();
        assert_eq!(numbers, [5, 8]);
        assert_eq!(found.blank, 3);
    }

    #[test]
    fn a_quotation_mark_that_is_never_closed_is_named_with_its_line() {
        let said = refused(b"Tag,Note\nLG-1,fine\nLG-2,\"3/4 bolts\nLG-3,x\n");
        assert!(said.contains("line 3"), "{said}");
        assert!(said.contains("never closed"), "{said}");
    }

    #[test]
    fn an_inch_mark_inside_a_cell_is_no_quotation_mark() {
        let (table, _) = read(b"Tag,Bolt thread\nLG-1,1/2\"-13\nLG-2,5/8\"\n");
        assert_eq!(table.lines[1].cells[1], "5/8\"");
    }

    #[test]
    fn files_that_are_something_else_are_named() {
        for (bytes, word) in [
            (&b""[..], "empty"),
            (b"   \n\n", "empty"),
            (b"%PDF-1.7 ...", "PDF"),
            (b"\x89PNG\r\n\x1a\n....", "picture"),
            (b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1....", "old kind"),
            (b"<!DOCTYPE html><html>", "web page"),
            (b"PK\x03\x04 and nothing more", "damaged"),
            (b"Tag,Note\nLG-1,\x00\x01\x02\x03\n", "not a text file"),
            (b"Tag\nLG-1\nLG-2\n", "one column"),
            (b"Tag,Note\n", "no line below"),
        ] {
            let said = refused(bytes);
            assert!(said.contains(word), "{said:?} should say {word:?}");
        }
    }

    #[test]
    fn more_columns_lines_or_letters_than_a_list_has_are_refused() {
        let wide = format!("Tag{}\nLG-1,{}x\n", ",a".repeat(150), ",".repeat(250));
        assert!(refused(wide.as_bytes()).contains("a list may have 200"));
        let mut long = String::from("Tag,Note\n");
        for i in 0..60_001 {
            let _ = writeln!(long, "LG-{i},x");
        }
        assert!(refused(long.as_bytes()).contains("60000"));
        let cell = format!("Tag,Note\nLG-1,\"{}\"\n", "x".repeat(40_000));
        assert!(refused(cell.as_bytes()).contains("line 2"));
        assert!(refused(&vec![b'x'; 20 * 1024 * 1024 + 1]).contains("20 MB"));
    }

    #[test]
    fn a_line_of_units_below_the_headings_belongs_to_them() {
        let (table, found) = read(b"Tag,Rating,Torque\n,psig,(ft-lb)\nLG-1,1000,32\n");
        assert_eq!(table.headings, ["Tag", "Rating (psig)", "Torque (ft-lb)"]);
        assert_eq!(table.lines.len(), 1);
        let matching = Matching::guess(&table, &found);
        assert_eq!(
            matching.columns[2].unit,
            Some(ListUnit::Torque(TorqueUnit::FootPound))
        );
    }

    #[test]
    fn a_kept_table_comes_back_as_it_was() {
        let (table, _) = read(b"Tag,Note\nLG-1,\"a\n\"\"b\"\", c\"\n\nLG-2,\n");
        assert_eq!(Table::from_kept(&table.kept()).expect("a table"), table);
    }

    #[test]
    fn columns_without_headings_have_the_spreadsheet_s_letters() {
        assert_eq!(
            [0, 25, 26, 701, 702].map(letters),
            ["A", "Z", "AA", "ZZ", "AAA"]
        );
    }
}

mod heading_names {
    use super::*;

    #[test]
    fn our_own_headings_are_all_known_with_their_units() {
        let text = String::from_utf8(mend::empty_list()).expect("text");
        let line = text.trim_start_matches('\u{feff}').trim();
        let names: Vec<String> = line
            .split(',')
            .map(|n| n.trim_matches('"').to_owned())
            .collect();
        let wanted: Vec<Option<Field>> = Field::ALL
            .iter()
            .filter(|f| f.heading().is_some())
            .map(|f| Some(*f))
            .collect();
        let guesses = headings::guess(&names);
        assert_eq!(guesses.iter().map(|g| g.field).collect::<Vec<_>>(), wanted);
        for guess in guesses {
            let has_unit = guess.field.and_then(Field::quantity).is_some();
            assert_eq!(guess.unit.is_some(), has_unit, "{guess:?}");
        }
    }

    #[test]
    fn misspelt_headings_are_known() {
        for (heading, field) in [
            ("Gague tag", Field::Tag),
            ("TAG NO.", Field::Tag),
            ("Tag #", Field::Tag),
            ("Aera", Field::Area),
            ("Servise class", Field::ServiceClass),
            ("Vesel no", Field::Vessel),
            ("Descripton", Field::Service),
            ("Instaled", Field::InstalledOn),
            ("Installed", Field::InstalledOn),
            ("No. of sections", Field::Sections),
            ("No of sectoins", Field::Sections),
            ("Manufactuer", Field::Maker),
            ("Toruqe", Field::Torque),
            ("Glass lenght", Field::GlassLength),
            ("Isolateable", Field::CanIsolate),
            ("Gasket matreial", Field::GasketMaterial),
            ("Bolt thred", Field::BoltThread),
            ("Remarsk", Field::Note),
        ] {
            assert_eq!(guess(heading), Some(field), "{heading}");
        }
    }

    #[test]
    fn a_unit_behind_a_heading_is_its_default() {
        use ListUnit::{Length, Pressure, Temperature, Torque};
        for (heading, field, unit) in [
            ("MAWP (psig)", Field::Rating, Pressure(PressureUnit::Psi)),
            ("Rating, bar", Field::Rating, Pressure(PressureUnit::Bar)),
            ("MAWP bar(g)", Field::Rating, Pressure(PressureUnit::Bar)),
            (
                "Design pressure [kg/cm2]",
                Field::Rating,
                Pressure(PressureUnit::KgfPerCm2),
            ),
            (
                "Torque ft-lbs",
                Field::Torque,
                Torque(TorqueUnit::FootPound),
            ),
            (
                "Torque in Nm",
                Field::Torque,
                Torque(TorqueUnit::NewtonMetre),
            ),
            (
                "Toruqe (in-lb)",
                Field::Torque,
                Torque(TorqueUnit::InchPound),
            ),
            ("torque_nm", Field::Torque, Torque(TorqueUnit::NewtonMetre)),
            (
                "Temp deg F",
                Field::RatingTemperature,
                Temperature(TemperatureUnit::Fahrenheit),
            ),
            (
                "Design temp °C",
                Field::RatingTemperature,
                Temperature(TemperatureUnit::Celsius),
            ),
            (
                "Glass length (mm)",
                Field::GlassLength,
                Length(gaugewright::calc::quantity::LengthUnit::Millimetre),
            ),
        ] {
            let found = headings::guess(&[heading.to_owned()])[0];
            assert_eq!(
                (found.field, found.unit),
                (Some(field), Some(unit)),
                "{heading}"
            );
        }
    }

    #[test]
    fn a_unit_of_the_wrong_kind_is_no_default() {
        let found = headings::guess(&["Torque (psi)".to_owned()])[0];
        assert_eq!((found.field, found.unit), (Some(Field::Torque), None));
    }

    #[test]
    fn each_field_goes_to_the_column_that_fits_best() {
        let headings = ["Gauge", "Tag", "Type", "Class", "Glass"].map(ToOwned::to_owned);
        let fields: Vec<Option<Field>> = headings::guess(&headings)
            .into_iter()
            .map(|g| g.field)
            .collect();
        assert_eq!(
            fields,
            [
                Some(Field::Tag),
                None,
                Some(Field::Kind),
                Some(Field::ServiceClass),
                Some(Field::GlassType)
            ]
        );
    }

    #[test]
    fn headings_of_other_matters_are_left_out() {
        for heading in [
            "P&ID",
            "Loop",
            "Criticality",
            "Cost centre",
            mend::WHY,
            "",
            "12",
        ] {
            assert_eq!(guess(heading), None, "{heading}");
        }
    }

    #[test]
    fn a_bare_unit_column_belongs_to_the_values_left_of_it() {
        let headings = ["Tag", "Torque", "Unit", "Rating", "UoM"].map(ToOwned::to_owned);
        let fields: Vec<Option<Field>> = headings::guess(&headings)
            .into_iter()
            .map(|g| g.field)
            .collect();
        assert_eq!(fields[2], Some(Field::TorqueUnit));
        assert_eq!(fields[4], Some(Field::RatingUnit));
    }

    #[test]
    fn a_column_that_asks_the_other_way_round_is_known_as_such() {
        assert_eq!(guess("Isolatable (Y/N)"), Some(Field::CanIsolate));
        assert_eq!(guess("Shutdown required?"), Some(Field::NeedsShutdown));
        assert_eq!(words::isolation("yes", false), Some(Isolation::InService));
        assert_eq!(words::isolation("yes", true), Some(Isolation::ShutdownOnly));
        assert_eq!(words::isolation("No", true), Some(Isolation::InService));
        assert_eq!(
            words::isolation("shutdown only", true),
            Some(Isolation::ShutdownOnly)
        );
    }

    #[test]
    fn the_line_of_headings_is_found_below_titles() {
        let (table, found) = read(
            b"Level gauge list,,,\nRevision 7,,,\n,,,\nTag,Type,Sections,Torque (Nm)\nLG-1,reflex,2,43\n",
        );
        assert_eq!(found.heading_line, 4);
        assert_eq!(table.lines.len(), 1);
    }

    #[test]
    fn another_line_of_headings_is_read_when_a_person_says_so() {
        let wish = Wish {
            heading_line: Some(2),
            ..Wish::default()
        };
        let (table, found) = reading::read(b"Tag,Type\nA,B\nLG-1,reflex\n", &wish).expect("a list");
        assert_eq!((table.headings[0].as_str(), found.heading_line), ("A", 2));
        let wish = Wish {
            heading_line: Some(9),
            ..Wish::default()
        };
        assert!(reading::read(b"Tag,Type\nLG-1,reflex\n", &wish).is_err());
    }
}

mod numbers {
    use super::*;

    fn read(text: &str, mark: Option<Mark>) -> Result<String, NotANumber> {
        let how = Numbers {
            mark,
            points_part: true,
        };
        number::read(text, how).map(|n| n.to_string())
    }

    #[test]
    fn marks_that_mean_one_thing_need_no_answer() {
        for (text, value) in [
            ("32", "32"),
            ("12.5", "12.5"),
            ("12,5", "12.5"),
            ("1 500", "1500"),
            ("1,500.5", "1500.5"),
            ("1.500,5", "1500.5"),
            ("1,234,567", "1234567"),
            ("0,125", "0.125"),
            ("-10", "-10"),
            ("\u{2212}10", "-10"),
            (".5", "0.5"),
            ("32.50", "32.50"),
        ] {
            assert_eq!(read(text, None).as_deref(), Ok(value), "{text}");
        }
    }

    #[test]
    fn one_comma_before_three_digits_is_asked_about() {
        assert_eq!(read("1,500", None), Err(NotANumber::TwoWays));
        assert_eq!(read("1,500", Some(Mark::Point)).as_deref(), Ok("1500"));
        assert_eq!(read("1,500", Some(Mark::Comma)).as_deref(), Ok("1.500"));
        assert_eq!(read("1.500", None).as_deref(), Ok("1.500"));
        assert_eq!(read("1.500", Some(Mark::Comma)).as_deref(), Ok("1500"));
    }

    #[test]
    fn decimals_behind_the_other_mark_than_was_said_are_refused() {
        assert_eq!(
            read("25,5", Some(Mark::Point)),
            Err(NotANumber::OtherMark(Mark::Point))
        );
        assert_eq!(
            read("25.5", Some(Mark::Comma)),
            Err(NotANumber::OtherMark(Mark::Comma))
        );
    }

    #[test]
    fn a_workbook_s_points_always_stand_before_decimals() {
        let how = Numbers {
            mark: Some(Mark::Comma),
            points_part: false,
        };
        assert_eq!(
            number::read("1.125", how).map(|n| n.to_string()).as_deref(),
            Ok("1.125")
        );
    }

    #[test]
    fn text_is_no_number() {
        for text in [
            "",
            "x",
            "1.2.3",
            "12,34,5",
            "1-2",
            "3e5",
            "1234567890123",
            "--5",
            "1,5.0,2",
        ] {
            assert_eq!(
                read(text, Some(Mark::Point)),
                Err(NotANumber::NoNumber),
                "{text}"
            );
        }
    }

    #[test]
    fn other_cells_may_say_which_mark_is_meant_and_may_disagree() {
        let mut evidence = number::Evidence::default();
        for text in ["1,500", "12,5"] {
            evidence.note(text);
        }
        assert_eq!(evidence.question(true), Some("1,500"));
        assert_eq!(evidence.leaning(), Some((Mark::Comma, "12,5")));
        evidence.note("1,200.5");
        assert_eq!(evidence.leaning(), None);
    }

    #[test]
    fn a_unit_in_the_cell_wins_over_the_column_beside_and_the_heading() {
        let how = Numbers::default();
        let read = |cell, beside| {
            quantity::read::<TorqueUnit>(cell, how, beside, Some(TorqueUnit::FootPound))
                .map(|t| t.to_string())
        };
        assert_eq!(read("43 Nm", Some("in-lb")).as_deref(), Ok("43 N·m"));
        assert_eq!(read("43", Some("in-lb")).as_deref(), Ok("43 in·lbf"));
        assert_eq!(read("43", None).as_deref(), Ok("43 ft·lbf"));
        assert_eq!(read("43ft-lbs", None).as_deref(), Ok("43 ft·lbf"));
    }
}

mod dates {
    use super::*;

    fn read(text: &str, order: Option<Order>, short_years: bool) -> Result<time::Date, NotADate> {
        date::read(
            text,
            &Dates {
                order,
                short_years,
                today: TODAY,
            },
        )
    }

    #[test]
    fn dates_that_mean_one_day_need_no_answer() {
        for text in [
            "2024-03-31",
            "2024/03/31",
            "20240331",
            "31 Mar 2024",
            "31 March 2024",
            "Mar 31, 2024",
            "31-MAR-2024",
            "31st March 2024",
            "31/03/2024",
            "03/31/2024",
            "31.3.2024",
            "2024-03-31 00:00:00",
            "31/03/2024 14:05",
            "3/31/2024 12:00 AM",
        ] {
            assert_eq!(read(text, None, false), Ok(date!(2024 - 03 - 31)), "{text}");
        }
        assert_eq!(read("04/04/2024", None, false), Ok(date!(2024 - 04 - 04)));
    }

    #[test]
    fn day_and_month_that_can_change_places_are_asked_about() {
        assert_eq!(read("03/04/2024", None, false), Err(NotADate::TwoWays));
        assert_eq!(
            read("03/04/2024", Some(Order::DayFirst), false),
            Ok(date!(2024 - 04 - 03))
        );
        assert_eq!(
            read("03/04/2024", Some(Order::MonthFirst), false),
            Ok(date!(2024 - 03 - 04))
        );
    }

    #[test]
    fn an_answer_never_bends_a_date_that_means_one_day() {
        assert_eq!(
            read("31/03/2024", Some(Order::MonthFirst), false),
            Ok(date!(2024 - 03 - 31))
        );
    }

    #[test]
    fn years_of_two_digits_are_the_latest_not_in_the_future_once_allowed() {
        assert_eq!(read("3-Apr-24", None, false), Err(NotADate::ShortYear));
        assert_eq!(read("3-Apr-24", None, true), Ok(date!(2024 - 04 - 03)));
        assert_eq!(read("3-Apr-98", None, true), Ok(date!(1998 - 04 - 03)));
        assert_eq!(read("2-Mar-26", None, true), Ok(TODAY));
        assert_eq!(read("3-Mar-26", None, true), Ok(date!(1926 - 03 - 03)));
        assert_eq!(
            read("24-03-04", Some(Order::DayFirst), true),
            Err(NotADate::NoDate)
        );
    }

    #[test]
    fn a_year_or_a_month_is_no_day() {
        for text in ["2014", "03/2014", "Mar 2014", "2014-03"] {
            assert_eq!(read(text, None, false), Err(NotADate::NoDay), "{text}");
        }
    }

    #[test]
    fn days_that_do_not_exist_are_no_dates() {
        for text in [
            "31/02/2024",
            "2023-02-29",
            "32/01/2024",
            "13/13/2024",
            "soon",
            "1/2/3/4",
        ] {
            assert_eq!(
                read(text, Some(Order::DayFirst), false),
                Err(NotADate::NoDate),
                "{text}"
            );
        }
        assert_eq!(read("1 Jan 1850", None, false), Err(NotADate::OutOfRange));
    }

    #[test]
    fn a_spreadsheet_s_day_number_is_a_date() {
        // Day 39448 is 1 January 2008 (the vendor's own reference page of the DATEVALUE function).
        assert_eq!(read("39448", None, false), Ok(date!(2008 - 01 - 01)));
        assert_eq!(read("39448.75", None, false), Ok(date!(2008 - 01 - 01)));
        assert_eq!(read("394480", None, false), Err(NotADate::NoDate));
    }

    #[test]
    fn other_dates_of_the_column_may_say_which_order_is_meant() {
        let mut evidence = date::Evidence::default();
        for text in ["03/04/2024", "25/04/2024", "5-Apr-19"] {
            evidence.note(text);
        }
        assert_eq!(evidence.either.as_deref(), Some("03/04/2024"));
        assert_eq!(evidence.leaning(), Some((Order::DayFirst, "25/04/2024")));
        assert_eq!(evidence.short_year.as_deref(), Some("5-Apr-19"));
        evidence.note("04/25/2024");
        assert_eq!(evidence.leaning(), None);
    }
}

mod cells {
    use super::*;

    #[test]
    fn words_of_the_trade_and_their_misspellings_are_known() {
        for (cell, kind) in [
            ("Reflex", Kind::Reflex),
            ("relfex", Kind::Reflex),
            ("R", Kind::Reflex),
            ("TRANSPARENT", Kind::Transparent),
            ("transparant", Kind::Transparent),
            ("T", Kind::Transparent),
        ] {
            assert_eq!(words::kind(cell), Some(kind), "{cell}");
        }
        assert_eq!(words::kind("magnetic"), None);
        assert_eq!(words::bolt_form("U-bolts"), Some(BoltForm::UBolts));
        assert_eq!(words::bolt_form("Studs"), Some(BoltForm::Studs));
    }

    #[test]
    fn what_people_write_where_they_know_nothing_is_nothing() {
        for cell in [
            "",
            "-",
            "–",
            "n/a",
            "N.A.",
            "unknown",
            "?",
            "TBC",
            "tbd",
            "illegible",
            "none",
        ] {
            assert!(words::says_nothing(cell), "{cell}");
        }
        assert!(!words::says_nothing("0"));
        assert_eq!(got("Tag,Torque (Nm)", "LG-1,n/a", Field::Torque), "");
    }

    #[test]
    fn a_cell_that_somebody_could_not_read_is_told_from_one_nobody_filled_in() {
        for cell in ["illegible", "Unreadable", "not readable", "not legible"] {
            assert_eq!(
                got("Tag,Torque (Nm)", &format!("LG-1,{cell}"), Field::Torque),
                "not readable",
                "{cell}"
            );
        }
        assert_eq!(got("Tag,Torque (Nm)", "LG-1,", Field::Torque), "");
    }

    #[test]
    fn impossible_torques_are_refused_in_plain_words() {
        let heads = "Tag,Bolt thread,Torque (ft-lb)";
        assert!(why(heads, "LG-1,1/2-13,0").contains("a torque is above zero"));
        assert!(why(heads, "LG-1,1/2-13,-32").contains("a torque is above zero"));
        assert!(why(heads, "LG-1,1/2-13,see tag").contains("“see tag” is not a torque"));
        assert!(why(heads, "LG-1,1/2-13,30-32").contains("“30-32” is not a torque"));
        assert!(why(heads, "LG-1,1/2-13,32 stone").contains("“stone” is not a unit of torque"));
    }

    #[test]
    fn a_torque_above_what_yields_the_bolt_is_refused() {
        // 1/2-13: A = 0.1419 in² (ASME B1.1); A193 B7 yields at 105 ksi (ASTM A193). Dry, with
        // K = 0.25: T = 0.25 · 0.5 in · 0.1419 in² · 105 000 psi = 1862 in·lbf = 155.2 ft·lbf.
        let heads = "Tag,Bolt thread,Torque (ft-lb)";
        assert_eq!(got(heads, "LG-1,1/2-13,155", Field::Torque), "155 ft·lbf");
        let said = why(heads, "LG-1,1/2-13,156");
        assert!(
            said.contains("about 155 ft·lbf would stretch it past yield"),
            "{said}"
        );
        // 32 ft·lbf meant, 320 typed.
        assert!(why(heads, "LG-1,1/2-13,320").contains("more than a 1/2-13 bolt bears"));
        // 1-8: A = 0.6057 in² (ASME B1.1): T = 0.25 · 1 · 0.6057 · 105 000 / 12 = 1325 ft·lbf.
        assert_eq!(got(heads, "LG-1,,1320", Field::Torque), "1320 ft·lbf");
        assert!(why(heads, "LG-1,,1330").contains("even a 1-8 bolt"));
    }

    #[test]
    fn ratings_and_temperatures_no_gauge_has_are_refused() {
        assert!(why("Tag,MAWP (psig)", "LG-1,-5").contains("above zero"));
        assert!(why("Tag,MAWP (psig)", "LG-1,150000").contains("above 1000 bar"));
        assert!(
            why("Tag,MAWP (psig)", "LG-1,12 furlong")
                .contains("“furlong” is not a unit of pressure")
        );
        assert!(why("Tag,MAWP (psig)", "LG-1,100 psia").contains("“psia” is not a unit"));
        assert!(why("Tag,Temp °F", "LG-1,-500").contains("no temperature a level gauge works at"));
    }

    #[test]
    fn a_value_without_any_unit_is_refused() {
        assert!(why("Tag,Torque", "LG-1,32").contains("has no unit"));
        assert_eq!(
            got("Tag,Torque,Unit", "LG-1,32,ft-lb", Field::Torque),
            "32 ft·lbf"
        );
        assert!(why("Tag,Torque,Unit", "LG-1,32,stone").contains("“stone”"));
    }

    #[test]
    fn a_rating_may_name_its_temperature_in_the_same_cell() {
        let heads = "Tag,Rating";
        assert_eq!(
            got(heads, "LG-1,1000 psi @ 100 °F", Field::Rating),
            "1000 psi"
        );
        assert_eq!(
            got(heads, "LG-1,69 bar at 38 °C", Field::RatingTemperature),
            "38 °C"
        );
        let said = why("Tag,Rating,Temp", "LG-1,69 bar at 38 °C,40 °C");
        assert!(said.contains("Two temperatures for one rating"), "{said}");
    }

    #[test]
    fn pressure_temperature_points_are_read_from_one_cell() {
        let heads = "Tag,Pressure-temperature points";
        let line = "LG-1,850 psi @ 400 °F; 1000 psi @ 100 °F";
        assert_eq!(
            got(heads, line, Field::RatingPoints),
            "1000 psi at 100 °F; 850 psi at 400 °F"
        );
        assert!(why(heads, "LG-1,850 psi; 1000 psi @ 100 °F").contains("is no point"));
        let mixed = "LG-1,850 psi @ 400 °F; 69 bar @ 38 °C";
        assert!(why(heads, mixed).contains("in one unit"));
    }

    #[test]
    fn whole_numbers_keep_to_their_range() {
        for cell in ["0", "13", "four", "2.5"] {
            assert!(
                why("Tag,Sections", &format!("LG-1,{cell}")).contains("from 1 to 12"),
                "{cell}"
            );
        }
        assert_eq!(got("Tag,Sections", "LG-1,4.0", Field::Sections), "4");
        assert_eq!(got("Tag,Sections", "LG-1,", Field::Sections), "2");
    }

    #[test]
    fn a_glass_length_in_inches_is_known_in_millimetres() {
        // 12.6 in · 25.4 mm/in = 320.04 mm (the inch of 25.4 mm, SP 811).
        assert_eq!(
            got("Tag,Glass length (in)", "LG-1,12.6", Field::GlassLength),
            "320 mm"
        );
        assert!(why("Tag,Glass length (mm)", "LG-1,32").contains("from 50 to 1000 mm"));
    }

    #[test]
    fn a_thread_the_spreadsheet_made_a_date_of_is_refused() {
        assert!(why("Tag,Bolt thread", "LG-1,2013-02-01").contains("made the date"));
    }

    #[test]
    fn errors_the_spreadsheet_shows_are_refused() {
        assert!(why("Tag,Maker", "LG-1,#REF!").contains("#REF!"));
    }

    #[test]
    fn a_kit_has_to_be_in_the_storeroom_and_of_the_right_kind() {
        let heads = "Tag,Type,Storeroom kit";
        assert!(why(heads, "LG-1,reflex,SW-K-99").contains("no kit SW-K-99"));
        assert!(why(heads, "LG-1,reflex,SW-K-4").contains("for transparent gauges"));
        assert!(one(heads, "LG-1,reflex,sw-k-3").is_ok());
    }

    #[test]
    fn a_date_in_the_future_is_refused() {
        assert!(why("Tag,Installed", "LG-1,2026-03-03").contains("in the future"));
        assert_eq!(
            got("Tag,Installed", "LG-1,2026-03-02", Field::InstalledOn),
            "2 Mar 2026"
        );
    }

    #[test]
    fn tag_numbers_are_refused_for_what_is_wrong_with_them() {
        assert!(why("Tag,Type,Maker", ",reflex,x").contains("A tag number is needed"));
        assert!(why("Tag,Type", "LG 1,reflex").contains("a space is not allowed"));
        assert!(why("Tag,Type", "Lg-9,reflex").contains("hangs in the register already"));
    }

    #[test]
    fn words_longer_than_the_register_keeps_are_refused() {
        let long = "x".repeat(81);
        assert!(why("Tag,Maker", &format!("LG-1,{long}")).contains("More than 80 characters"));
    }

    #[test]
    fn every_fault_of_a_line_is_named_at_once() {
        let said = why("Tag,Type,Sections,Torque (Nm)", "LG 1,magnetic,0,-3");
        for word in ["a space", "magnetic", "from 1 to 12", "above zero"] {
            assert!(said.contains(word), "{said}");
        }
    }

    #[test]
    fn every_fault_of_one_cell_is_named_at_once() {
        let said = why(
            "Tag,P-T points",
            "LG-1,1000 psi @ 100 \u{b0}F; warm; -5 psi @ 200 \u{b0}F; 40 furlong @ 300 \u{b0}F",
        );
        for word in ["“warm” is no point", "above zero", "furlong"] {
            assert!(said.contains(word), "{said}");
        }
        // A number that can be read two ways, in a unit nobody knows.
        let said = why("Tag,Torque", "LG-1,\"1,500 furlong\"");
        for word in ["can be read two ways", "furlong"] {
            assert!(said.contains(word), "{said}");
        }
        // Words are no number, and what is not there has no unit to be wrong.
        let said = why("Tag,Torque", "LG-1,banana");
        assert!(said.contains("“banana” is not a torque"), "{said}");
        assert!(!said.contains("not a unit"), "{said}");
    }
}

mod whole_lists {
    use super::*;

    fn plan(text: &str) -> (Table, Plan) {
        let (table, found) = read(text.as_bytes());
        let mut matching = Matching::guess(&table, &found);
        "Boiler House".clone_into(&mut matching.usual.area);
        "saturated steam".clone_into(&mut matching.usual.class);
        matching.usual.kind = Some(Kind::Reflex);
        matching.usual.sections = Some(1);
        matching.usual.isolation = Some(Isolation::InService);
        let plan = Plan::of(&table, &matching, &known());
        (table, plan)
    }

    fn counts(plan: &Plan) -> (usize, usize, usize) {
        (plan.good, plan.refused, plan.passed_over)
    }

    #[test]
    fn a_tag_number_given_twice_with_different_data_is_refused_each_time() {
        let (_, plan) = plan("Tag,Maker\nLG-1,a\nLG-2,a\nlg-1,b\n");
        assert_eq!(counts(&plan), (1, 2, 0));
        let Outcome::Refused(faults) = &plan.outcomes[2] else {
            panic!("refused")
        };
        assert!(
            faults[0].message.contains("stands in lines 2, 4"),
            "{faults:?}"
        );
    }

    #[test]
    fn a_line_given_twice_is_taken_once() {
        let (_, plan) = plan("Tag,Maker\nLG-1,a\nLG-2,a\nLG-1, A\n");
        assert_eq!(counts(&plan), (2, 1, 0));
        let Outcome::Refused(faults) = &plan.outcomes[2] else {
            panic!("refused")
        };
        assert!(
            faults[0]
                .message
                .contains("The same as line 2, which is taken"),
            "{faults:?}"
        );
    }

    /// The lines of a tag number that stands twice say that beside all else that is wrong with them.
    #[test]
    fn a_tag_number_given_twice_hides_no_other_fault_of_its_lines() {
        let (_, two) = plan("Tag,Type,Sections\nLG-1,magnetic,2\nLG-1,reflex,0\n");
        let said = |plan: &Plan, index: usize| -> String {
            let Outcome::Refused(faults) = &plan.outcomes[index] else {
                panic!("refused")
            };
            let said: Vec<&str> = faults.iter().map(|fault| fault.message.as_str()).collect();
            said.join(" | ")
        };
        for (index, word) in [(0, "magnetic"), (1, "from 1 to 12")] {
            let said = said(&two, index);
            assert!(said.contains(word), "{said}");
            assert!(said.contains("stands in lines 2, 3"), "{said}");
        }
        // The first of two lines that are the same is not taken where it is refused itself.
        let (_, same) = plan("Tag,Type\nLG-1,magnetic\nLG-1,magnetic\n");
        assert_eq!(counts(&same), (0, 2, 0));
        assert!(!said(&same, 0).contains("The same as"));
        let second = said(&same, 1);
        assert!(second.contains("magnetic"), "{second}");
        assert!(
            second.contains("The same as line 2, which is refused too"),
            "{second}"
        );
    }

    #[test]
    fn titles_headings_and_remarks_between_the_lines_are_passed_over() {
        let (_, plan) = plan(
            "Tag,Maker,Type\nBOILER HOUSE,,\nLG-1,a,reflex\nTag,Maker,Type\nLG-2,a,reflex\nNote: torques per tag,,\nTotal:,2,\n",
        );
        assert_eq!(counts(&plan), (2, 0, 4));
    }

    #[test]
    fn a_line_with_data_but_no_tag_is_refused_not_passed_over() {
        let (_, plan) = plan("Tag,Maker,Type\n,a,reflex\nLG-2,a,reflex\n");
        assert_eq!(counts(&plan), (1, 1, 0));
    }

    #[test]
    fn new_names_are_counted_and_slips_of_the_pen_pointed_out() {
        let (_, plan) = plan(
            "Tag,Area,Service class\nLG-1,Boiler Huose,saturated steam\nLG-2,Tank Row 1,brine\nLG-3,Tank Row 2,Brine\nLG-4,BOILER HOUSE,brine\n",
        );
        let names: Vec<(&str, usize, Option<&str>)> = plan
            .new_areas
            .iter()
            .map(|n| (n.name.as_str(), n.gauges, n.like.as_deref()))
            .collect();
        assert_eq!(
            names,
            [
                ("Boiler Huose", 1, Some("Boiler House")),
                ("Tank Row 1", 1, None),
                ("Tank Row 2", 1, None)
            ]
        );
        assert_eq!(plan.new_classes[0].name, "brine");
        assert_eq!(plan.new_classes[0].gauges, 3);
    }

    /// What the second of two new areas is said to be much like.
    fn like(one: &str, other: &str) -> Option<String> {
        let (_, plan) = plan(&format!("Tag,Area\nLG-1,{one}\nLG-2,{other}\n"));
        assert_eq!(plan.new_areas.len(), 2, "{one}, {other}");
        plan.new_areas[1].like.clone()
    }

    /// common practice, no source: how plants name their areas, and how names are mistyped.
    #[test]
    fn another_word_or_figure_is_another_name_and_no_slip_of_the_pen() {
        for (one, other) in [
            ("North", "South"),
            ("East", "West"),
            ("East", "Cast"),
            ("North Hall", "South Hall"),
            ("Northern Tanks", "Southern Tanks"),
            ("Eastern Yard", "Western Yard"),
            ("Upper Deck", "Lower Deck"),
            ("Import Line", "Export Line"),
            ("Treated Water", "Untreated Water"),
            ("Hot End", "Cold End"),
            ("CWS", "CWR"),
            ("Line A", "Line B"),
            ("Unit 1", "Unit 2"),
            ("Unit1", "Unit2"),
            ("Unit 1-2", "Unit 12"),
            ("Cell 4a", "Cell 4b"),
            ("Unit VII", "Unit VIII"),
            ("Tank Row", "Tank Row B"),
        ] {
            assert_eq!(like(one, other), None, "{one}, {other}");
            assert_eq!(like(other, one), None, "{other}, {one}");
        }
    }

    #[test]
    fn a_letter_missing_doubled_or_in_another_place_is_a_slip_of_the_pen() {
        for (one, other) in [
            ("Pump House", "Pump Hose"),
            ("Tank Farm", "Tnak Farm"),
            ("Tank Farm", "Tank Fam"),
            ("North", "Noth"),
            ("North", "Nroth"),
            ("Brine Plant", "Brine Plannt"),
            ("Column Hall", "Colum Hall"),
            ("Column Hall", "Coulmn Hal"),
            ("Column Hall", "Columm Hall"),
            ("Turbine Deck 1", "Tubrine Deck 1"),
            ("Tank Farm", "Tankfarm"),
            ("Tank-Farm", "Tank Farm"),
            ("Unit 1", "Unit1"),
        ] {
            assert_eq!(like(one, other).as_deref(), Some(one), "{one}, {other}");
            assert_eq!(like(other, one).as_deref(), Some(other), "{other}, {one}");
        }
        // As the register knows it.
        let (_, plan) = plan("Tag,Area\nLG-1,Boiler Hose\n");
        assert_eq!(plan.new_areas[0].like.as_deref(), Some("Boiler House"));
    }

    proptest! {
        #[test]
        fn names_that_differ_in_a_figure_are_never_alike(name in "[a-z]{4,9}", one in 0_u16..500, other in 0_u16..500) {
            prop_assume!(one != other);
            prop_assert_eq!(like(&format!("{name} {one}"), &format!("{name} {other}")), None);
        }

        /// Letters of long words left out or changing places, whichever they are.
        #[test]
        fn one_slip_in_a_long_word_is_pointed_out(name in "[a-h]{7,12}", at in 1_usize..6, swapped in proptest::bool::ANY) {
            let mut letters: Vec<char> = name.chars().collect();
            if swapped {
                letters.swap(at, at + 1);
            } else {
                letters.remove(at);
            }
            let slip: String = letters.into_iter().collect();
            prop_assume!(slip != name);
            prop_assert_eq!(like(&format!("{name} yard"), &format!("{slip} yard")), Some(format!("{name} yard")));
        }
    }

    #[test]
    fn gauges_without_torque_or_rating_are_counted_and_those_nobody_can_read_are_not() {
        let (_, plan) = plan(
            "Tag,Torque (Nm),MAWP (psig)\nLG-1,40,\nLG-2,,1000\nLG-3,unreadable,1000\nLG-4,-2,\n",
        );
        assert_eq!(counts(&plan), (3, 1, 0));
        assert_eq!((plan.without_torque, plan.without_rating), (1, 1));
    }

    #[test]
    fn far_too_many_new_areas_mean_the_wrong_column() {
        let mut text = String::from("Tag,Area\n");
        for i in 100..301 {
            let _ = writeln!(text, "LG-{i},place {i}");
        }
        let (_, plan) = plan(&text);
        let said = plan.blocked.clone().unwrap_or_default();
        assert!(
            said.contains("201 new areas"),
            "{said:?} {:?}",
            counts(&plan)
        );
    }

    #[test]
    fn refused_lines_come_back_with_their_reason_and_no_formula() {
        let text = "Tag,Maker,Torque (Nm)\nLG-1,a,40\n=1+1,\"@x, y\",-5\nLG-3,+a,-10 Nm\n";
        let (table, plan) = plan(text);
        let file =
            String::from_utf8(mend::refused_lines(&table, &plan, Delimiter::Comma)).expect("text");
        let lines: Vec<&str> = file.trim_start_matches('\u{feff}').lines().collect();
        assert_eq!(lines[0], "Tag,Maker,Torque (Nm),Why it was not taken in");
        assert_eq!(lines.len(), 3);
        assert!(lines[1].starts_with("'=1+1,\"'@x, y\",-5,"), "{}", lines[1]);
        assert!(lines[2].starts_with("LG-3,'+a,'-10 Nm,"), "{}", lines[2]);
        // Back again, the cells are what they were and the reasons are left out.
        let (again, found) = read(file.as_bytes());
        assert_eq!(again.lines[0].cells[..3], ["=1+1", "@x, y", "-5"]);
        assert_eq!(again.lines[1].cells[2], "-10 Nm");
        let matching = Matching::guess(&again, &found);
        assert_eq!(matching.columns[3].field, None);
    }

    #[test]
    fn every_start_of_a_formula_is_guarded() {
        // OWASP, CSV injection: equals, plus, minus, at, tab, carriage return, line feed and the
        // full-width forms of the first four.
        for cell in [
            "=1", "+x", "-x", "@x", "\tx", "\rx", "\nx", "＝1", "＋1", "－1", "＠x",
        ] {
            assert!(mend::guarded(cell).starts_with('\''), "{cell:?}");
            assert_eq!(mend::unguarded(&mend::guarded(cell)), cell);
        }
        for cell in ["-10", "+5", "-12.5", "LG-1", "", "'quoted'"] {
            assert_eq!(mend::guarded(cell), cell);
            assert_eq!(mend::unguarded(cell), cell);
        }
    }
}

mod workbooks {
    use super::*;

    fn saved(mut book: Workbook) -> Vec<u8> {
        book.save_to_buffer().expect("a workbook")
    }

    #[test]
    fn the_sheet_with_headings_is_read_not_the_cover() {
        let mut book = Workbook::new();
        let cover = book.add_worksheet();
        cover.set_name("Cover").expect("a name");
        cover
            .write(0, 0, "Level gauges of the works")
            .expect("a cell");
        cover.write(1, 0, "Revision").expect("a cell");
        cover.write(1, 1, 7).expect("a cell");
        cover.write_row(2, 0, ["Pages", "3"]).expect("cells");
        let hidden = book.add_worksheet();
        hidden.set_name("Old").expect("a name").set_hidden(true);
        hidden.write_row(0, 0, ["Tag", "Type"]).expect("cells");
        hidden.write_row(1, 0, ["LG-0", "reflex"]).expect("cells");
        let list = book.add_worksheet();
        list.set_name("Gauges").expect("a name");
        list.write_row(4, 1, ["Tag", "Type", "Sections"])
            .expect("cells");
        list.write_row(5, 1, ["LG-1", "reflex", "2"])
            .expect("cells");
        let bytes = saved(book);
        let (table, found) = read(&bytes);
        assert_eq!(found.sheet.as_deref(), Some("Gauges"));
        assert_eq!(found.sheets, ["Cover", "Gauges"]);
        assert_eq!((found.heading_line, table.lines[0].number), (5, 6));
        assert_eq!(table.lines[0].cells, ["", "LG-1", "reflex", "2"]);
        let wish = Wish {
            sheet: Some("Cover".to_owned()),
            ..Wish::default()
        };
        let (cover, _) = reading::read(&bytes, &wish).expect("a sheet");
        assert_eq!(cover.lines[0].cells, ["Pages", "3"]);
    }

    #[test]
    fn numbers_dates_formulas_and_truth_become_text_people_write() {
        let mut book = Workbook::new();
        let day = Format::new().set_num_format("dd/mm/yyyy");
        let sheet = book.add_worksheet();
        sheet
            .write_row(
                0,
                0,
                [
                    "Tag",
                    "Torque",
                    "Installed",
                    "Isolatable",
                    "Sections",
                    "Rating",
                    "Note",
                ],
            )
            .expect("cells");
        sheet.write(1, 0, "LG-1").expect("a cell");
        sheet.write(1, 1, 0.1 + 0.2).expect("a cell");
        sheet.write_with_format(1, 2, 45_355, &day).expect("a cell");
        sheet.write(1, 3, true).expect("a cell");
        sheet.write(1, 4, "4").expect("a cell");
        sheet.write(1, 5, 1500).expect("a cell");
        sheet
            .write(1, 6, Formula::new("=1/0").set_result("#DIV/0!"))
            .expect("a cell");
        let (table, _) = read(&saved(book));
        let cells = &table.lines[0].cells;
        // 45355 days after 30 December 1899: 4 March 2024 (39448 is 1 January 2008, as above).
        assert_eq!(
            cells[..6],
            ["LG-1", "0.3", "2024-03-04", "yes", "4", "1500"]
        );
        assert!(words::is_sheet_error(&cells[6]), "{}", cells[6]);
    }

    #[test]
    fn a_cell_merged_downwards_stands_for_every_line_it_spans() {
        let mut book = Workbook::new();
        let plain = Format::new();
        let sheet = book.add_worksheet();
        sheet
            .merge_range(0, 0, 0, 2, "LEVEL GAUGES", &plain)
            .expect("merged");
        sheet
            .write_row(1, 0, ["Area", "Tag", "Type"])
            .expect("cells");
        sheet
            .merge_range(2, 0, 5, 0, "Tank Row", &plain)
            .expect("merged");
        sheet.write_row(2, 1, ["LG-1", "reflex"]).expect("cells");
        sheet.write_row(3, 1, ["LG-2", "reflex"]).expect("cells");
        // Line 5 stays blank but for the merged cell: it is no line.
        sheet.write_row(5, 1, ["LG-3", "reflex"]).expect("cells");
        let (table, _) = read(&saved(book));
        assert_eq!(table.headings, ["Area", "Tag", "Type"]);
        let lines: Vec<(u32, &str, &str)> = table
            .lines
            .iter()
            .map(|l| (l.number, l.cell(0), l.cell(1)))
            .collect();
        assert_eq!(
            lines,
            [
                (3, "Tank Row", "LG-1"),
                (4, "Tank Row", "LG-2"),
                (6, "Tank Row", "LG-3")
            ]
        );
    }

    #[test]
    fn an_empty_workbook_is_named() {
        let mut book = Workbook::new();
        book.add_worksheet();
        assert!(refused(&saved(book)).contains("No sheet of the workbook holds anything"));
    }

    fn packed(parts: &[(&str, &[u8])]) -> Vec<u8> {
        let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        let how = zip::write::SimpleFileOptions::default()
            .compression_method(zip::CompressionMethod::Deflated);
        for (name, bytes) in parts {
            zip.start_file(*name, how).expect("a part");
            zip.write_all(bytes).expect("its bytes");
        }
        zip.finish().expect("a packed file").into_inner()
    }

    #[test]
    fn another_packed_file_is_no_workbook() {
        let said = refused(&packed(&[("content.txt", b"Tag,Type")]));
        assert!(said.contains("holds no .xlsx workbook"), "{said}");
    }

    /// A workbook whose one sheet unpacks to 300 MB of blanks out of some 300 kB.
    fn bomb() -> Vec<u8> {
        let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        let how = zip::write::SimpleFileOptions::default()
            .compression_method(zip::CompressionMethod::Deflated)
            .compression_level(Some(1));
        zip.start_file("xl/workbook.xml", how).expect("a part");
        zip.write_all(b"<workbook/>").expect("its bytes");
        zip.start_file("xl/worksheets/sheet1.xml", how)
            .expect("a part");
        let blanks = vec![b' '; 1024 * 1024];
        for _ in 0..300 {
            zip.write_all(&blanks).expect("its bytes");
        }
        zip.finish().expect("a packed file").into_inner()
    }

    #[test]
    fn a_workbook_that_unpacks_to_far_more_than_its_size_is_not_unpacked() {
        let honest = bomb();
        assert!(honest.len() < 4 * 1024 * 1024);
        assert!(refused(&honest).contains("unpacks to far more than its size"));
        // The same with a directory that claims ten bytes for every part: the sizes in local and
        // central headers stand at offsets 22 and 24 (PKWARE APPNOTE 4.3.7 and 4.3.12).
        let mut lying = honest;
        for (mark, offset) in [(b"PK\x03\x04", 22), (b"PK\x01\x02", 24)] {
            let places: Vec<usize> = lying
                .windows(4)
                .enumerate()
                .filter(|(_, w)| w == mark)
                .map(|(at, _)| at)
                .collect();
            for at in places {
                lying[at + offset..at + offset + 4].copy_from_slice(&10_u32.to_le_bytes());
            }
        }
        let said = refused(&lying);
        assert!(
            said.contains("far more than its size") || said.contains("damaged"),
            "{said}"
        );
    }

    #[test]
    fn a_workbook_that_claims_more_strings_than_it_can_hold_is_refused() {
        let said = refused(&packed(&[
            ("xl/workbook.xml", b"<workbook/>"),
            (
                "xl/sharedStrings.xml",
                b"<sst count=\"1\" uniqueCount=\"999999999999\"><si><t>a</t></si></sst>",
            ),
        ]));
        assert!(said.contains("damaged"), "{said}");
    }

    #[test]
    fn a_cut_off_workbook_is_named_as_damaged() {
        let mut book = Workbook::new();
        book.add_worksheet()
            .write_row(0, 0, ["Tag", "Type"])
            .expect("cells");
        let bytes = saved(book);
        assert!(refused(&bytes[..bytes.len() / 2]).contains("damaged"));
    }
}
