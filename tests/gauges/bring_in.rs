//! Bringing in a plant's list through its pages: a file is chosen, its columns matched, every line
//! seen, and the good ones taken in one piece or not at all.

use std::fmt::Write as _;

use axum::http::StatusCode;
use gaugewright::record::person::Role;
use gaugewright::store;

use super::messy_list;
use crate::plant::{Answer, Plant, Visitor, plain};

const START: &str = "/gauges/bring-in";

/// The fields of the form that goes to an address, as a browser would send them.
fn form_fields(html: &str, action: &str) -> Vec<(String, String)> {
    let start = html
        .find(&format!("action=\"{action}\""))
        .unwrap_or_else(|| panic!("no form to {action} in {}", plain(html)));
    let form = &html[start..];
    let form = &form[..form.find("</form>").expect("the form's end")];
    let attribute = |tag: &str, name: &str| -> Option<String> {
        let (_, rest) = tag.split_once(&format!(" {name}=\""))?;
        let value = rest.split('"').next()?;
        Some(
            value
                .replace("&#38;", "&")
                .replace("&#39;", "'")
                .replace("&#34;", "\""),
        )
    };
    let mut fields = Vec::new();
    for (at, _) in form.match_indices('<') {
        let tag = &form[at..at + form[at..].find('>').expect("a tag's end")];
        if tag.starts_with("<input") {
            let kind = attribute(tag, "type").unwrap_or_default();
            let ticked = tag.contains(" checked");
            if let Some(name) = attribute(tag, "name")
                && (ticked || !matches!(kind.as_str(), "radio" | "checkbox"))
            {
                fields.push((name, attribute(tag, "value").unwrap_or_default()));
            }
        } else if tag.starts_with("<select") {
            let name = attribute(tag, "name").expect("a name");
            let inner = &form[at..at + form[at..].find("</select>").expect("its end")];
            let options: Vec<&str> = inner.split("<option").skip(1).collect();
            let chosen = options
                .iter()
                .find(|o| {
                    o.split('>')
                        .next()
                        .is_some_and(|tag| tag.contains(" selected"))
                })
                .or(options.first())
                .expect("an option");
            let value = attribute(chosen, "value").unwrap_or_else(|| {
                let (_, text) = chosen.split_once('>').expect("its words");
                text.split('<').next().unwrap_or_default().to_owned()
            });
            fields.push((name, value));
        }
    }
    fields
}

/// Chooses a file; answers the address of the page about its columns.
async fn choose(visitor: &mut Visitor, name: &str, bytes: &[u8]) -> String {
    let answer = offer(visitor, name, bytes).await;
    answer.is(StatusCode::SEE_OTHER);
    answer.goes_to().to_owned()
}

/// Sends a file, whatever comes of it.
async fn offer(visitor: &mut Visitor, name: &str, bytes: &[u8]) -> Answer {
    let key = visitor.get(START).await.field("key");
    visitor
        .upload(START, &[("key", &key)], ("file", name, bytes))
        .await
}

/// Sends the page's form about the columns with some fields answered differently.
async fn settle(visitor: &mut Visitor, columns: &str, changes: &[(&str, &str)]) -> Answer {
    let page = visitor.get(columns).await;
    page.is(StatusCode::OK);
    let mut fields = form_fields(&page.text, columns);
    for (name, value) in changes {
        fields.retain(|(n, _)| n != name);
        fields.push(((*name).to_owned(), (*value).to_owned()));
    }
    let fields: Vec<(&str, &str)> = fields
        .iter()
        .map(|(n, v)| (n.as_str(), v.as_str()))
        .collect();
    visitor.post(columns, &fields).await
}

/// Presses one of the two buttons of the preview as it is now.
async fn decide(visitor: &mut Visitor, preview: &str, choice: &str) -> Answer {
    let page = visitor.get(preview).await;
    page.is(StatusCode::OK);
    press(visitor, preview, &page, choice).await
}

/// Presses a button on a preview opened before.
async fn press(visitor: &mut Visitor, preview: &str, page: &Answer, choice: &str) -> Answer {
    let fields = form_fields(&page.text, preview);
    let mut fields: Vec<(&str, &str)> = fields
        .iter()
        .map(|(n, v)| (n.as_str(), v.as_str()))
        .collect();
    fields.push(("choice", choice));
    visitor.post(preview, &fields).await
}

/// A list with everything a gauge needs, of so many lines.
fn sound_list(lines: usize) -> Vec<u8> {
    let mut text = String::from(
        "Tag,Area,Service class,Vessel,Type,Sections,Isolatable,Installed,Bolt thread,Torque (ft-lb),MAWP (psig)\n",
    );
    for i in 0..lines {
        let area = ["Boiler House", "Tank Row"][i % 2];
        let _ = writeln!(
            text,
            "LG-{i:05},{area},saturated steam,BH-D-{},reflex,2,yes,2024-01-31,1/2-13,32,1000",
            100 + i % 50
        );
    }
    text.into_bytes()
}

/// The preview of a sound list of so many lines.
async fn previewed(visitor: &mut Visitor, lines: usize) -> String {
    let columns = choose(visitor, "gauges.csv", &sound_list(lines)).await;
    let answer = settle(visitor, &columns, &[]).await;
    answer.is(StatusCode::SEE_OTHER);
    answer.goes_to().to_owned()
}

async fn gauges(plant: &Plant) -> i64 {
    let mut db = plant.store.read().await.expect("a reader");
    let counts = store::gauges::count_by_standing(&mut db)
        .await
        .expect("counts");
    counts.iter().map(|(_, n)| n).sum()
}

/// Asserts that so many gauges hang, that the audit chain holds, that every gauge stands sealed in it
/// as it is, and that its due date is what recomputing gives.
async fn proved(plant: &Plant, hang: i64) {
    assert_eq!(gauges(plant).await, hang);
    let mut db = plant.store.read().await.expect("a reader");
    let report = gaugewright::acts::verify::verify(&mut db)
        .await
        .expect("a report");
    assert!(report.sound(), "{:?}", report.findings);
}

mod messy {
    use super::*;

    async fn hanging(engineer: &mut Visitor) {
        for tag in messy_list::HANGING {
            let mut fields = super::super::edit::NAMEPLATE.to_vec();
            fields[0] = ("tag", tag);
            engineer
                .fill("/gauges/new", "/gauges/new", &fields)
                .await
                .is(StatusCode::SEE_OTHER);
        }
    }

    async fn goes_in(name: &str, bytes: &[u8]) {
        let messy = messy_list::make();
        let (refused, good) = (
            messy_list::refused(),
            messy_list::GAUGES - messy_list::refused(),
        );
        assert_eq!((good, refused), (411, 89));
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        hanging(&mut engineer).await;
        let columns = choose(&mut engineer, name, bytes).await;
        let page = engineer.get(&columns).await;
        page.says("17 of 19 columns were recognised by their headings in line 3")
            .says("can be read two ways. Do dates begin with the day or the month?");
        let preview = settle(&mut engineer, &columns, &[])
            .await
            .goes_to()
            .to_owned();
        let page = engineer.get(&preview).await;
        page.says("411 lines can be taken in, 89 lines cannot")
            .says(&format!("{} lines are no gauge", messy_list::PASSED_OVER))
            .says("1 area would be made")
            .says("Brine Plant")
            .says("1 service class would be made, without intervals")
            .says("weak brine");

        // Every line that was spoilt is refused for the reason it was spoilt with, beside its number.
        let mut pages = String::new();
        for number in 1..=2 {
            let page = engineer
                .get(&format!("{preview}?show=refused&page={number}"))
                .await;
            pages.push_str(&page.text);
        }
        let rows: Vec<&str> = pages.split("<tr class=\"refused\">").skip(1).collect();
        assert_eq!(rows.len(), refused);
        for ((place, wrong), row) in messy.wrong.iter().zip(rows) {
            let said = plain(row);
            let line = place + 1;
            let (_, _, words) = messy_list::WRONGS
                .iter()
                .find(|(w, ..)| w == wrong)
                .expect("words");
            assert!(
                said.starts_with(&format!("{line} refused")),
                "line {line}: {said}"
            );
            assert!(said.contains(words), "line {line}, {wrong:?}: {said}");
        }

        let done = decide(&mut engineer, &preview, "take")
            .await
            .goes_to()
            .to_owned();
        engineer
            .get(&done)
            .await
            .says("411 gauges taken into the register")
            .says("89 lines were refused")
            .says("7 lines were no gauge")
            .says("weak brine");
        proved(&plant, 413).await;
    }

    #[tokio::test]
    async fn a_messy_list_as_csv_goes_in_but_for_exactly_its_bad_lines() {
        goes_in("plant list.csv", &messy_list::make().csv()).await;
    }

    #[tokio::test]
    async fn the_same_list_as_a_workbook_goes_in_just_so() {
        goes_in("plant list.xlsx", &messy_list::make().workbook()).await;
    }

    #[tokio::test]
    async fn the_refused_lines_can_be_mended_and_come_in_without_matching_them_again() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let list = "Tag;Where it hangs;Class;Type;Sections;Isolatable;Remark\n\
                    LG-1;Tank Row;cold water;reflex;2;yes;fine\n\
                    LG 2;Tank Row;cold water;reflex;0;yes;\"=HYPERLINK(\"\"x\"\")\"\n";
        let columns = choose(&mut engineer, "list.csv", list.as_bytes()).await;
        // No heading says "area" here; a person does.
        let answer = settle(&mut engineer, &columns, &[("column_1", "area")]).await;
        let preview = answer.goes_to().to_owned();
        let done = decide(&mut engineer, &preview, "take")
            .await
            .goes_to()
            .to_owned();
        let file = engineer.get(&done.replace("done", "refused.csv")).await;
        assert!(
            file.headers["content-disposition"]
                .to_str()
                .expect("text")
                .contains("to%20mend.csv")
        );
        let text = String::from_utf8(file.bytes).expect("text");
        assert!(text.contains("'=HYPERLINK"), "{text}");
        assert!(text.contains("Why it was not taken in"), "{text}");
        assert!(text.contains("Tag number: A tag number holds"), "{text}");
        let mended = text.replace("LG 2", "LG-2").replace(";0;", ";3;");
        let columns = choose(&mut engineer, "list to mend.csv", mended.as_bytes()).await;
        let preview = settle(&mut engineer, &columns, &[])
            .await
            .goes_to()
            .to_owned();
        engineer
            .get(&preview)
            .await
            .says("1 line can be taken in, 0 lines cannot");
        decide(&mut engineer, &preview, "take")
            .await
            .is(StatusCode::SEE_OTHER);
        engineer.get("/gauges/LG-2").await.says("Tank Row");
    }
}

mod assumed {
    use gaugewright::record::gauge::Gauge;

    use super::*;

    const SAID: &str = "Assumed for the whole list it came with, not read for this gauge";

    /// Two gauges of a list that says nothing of their bolting and torque, and of one of them nothing of how
    /// it is isolated.
    async fn taken(engineer: &mut Visitor) {
        let list = "Tag,Area,Class,Type,Sections,Isolatable\n\
                    LG-1,Tank Row,cold water,reflex,2,\n\
                    LG-2,Tank Row,cold water,reflex,2,no\n";
        let columns = choose(engineer, "l.csv", list.as_bytes()).await;
        let preview = settle(engineer, &columns, &[("isolation", "in-service")])
            .await
            .goes_to()
            .to_owned();
        engineer
            .get(&preview)
            .await
            .says("Assumed where the list says nothing Isolation: can be isolated in service, for 1 gauge. How a gauge is isolated decides whether people open it")
            .says("Bolting: bolts, for 2 gauges")
            .says("Not in the list, and never assumed Cover bolt torque, for 2 gauges: no column holds it Rated pressure, for 2 gauges: no column holds it Each is read from the nameplate")
            .does_not_say("Type: reflex");
        let done = decide(engineer, &preview, "take").await;
        done.is(StatusCode::SEE_OTHER);
        let done = engineer.get(done.goes_to()).await;
        done.says(
            "How 1 gauge of the register is isolated is only assumed. Make sure of it at each",
        );
        assert!(
            done.text.contains("/gauges?assumed=isolation"),
            "a way there"
        );
    }

    async fn gauge(plant: &Plant, tag: &str) -> Gauge {
        let mut db = plant.store.read().await.expect("a reader");
        let found = store::gauges::by_tag(&mut db, tag).await.expect("asked");
        found.expect("a gauge")
    }

    /// Saves the first of them as it stands, with these fields instead.
    async fn saved(plant: &Plant, engineer: &mut Visitor, instead: &[(&str, &str)]) {
        let known = gauge(plant, "LG-1").await;
        let area = known.particulars.area_id.0.to_string();
        let class = known.particulars.service_class_id.0.to_string();
        let version = known.version.to_string();
        let mut fields = vec![
            ("tag", "LG-1"),
            ("version", version.as_str()),
            ("area", area.as_str()),
            ("class", class.as_str()),
            ("kind", "reflex"),
            ("sections", "2"),
            ("bolt_form", "bolts"),
            ("isolation", "in-service"),
        ];
        fields.retain(|(name, _)| instead.iter().all(|(other, _)| other != name));
        fields.extend_from_slice(instead);
        engineer
            .fill("/gauges/LG-1/edit", "/gauges/LG-1/edit", &fields)
            .await
            .is(StatusCode::SEE_OTHER);
    }

    #[tokio::test]
    async fn what_was_assumed_for_the_whole_list_is_told_on_the_gauge_and_before_it_is_opened() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        taken(&mut engineer).await;
        engineer
            .get("/gauges?assumed=isolation")
            .await
            .says("One of 2 gauges fits")
            .says("LG-1")
            .does_not_say("LG-2");
        for other in ["area=1", "q=LG-2", "standing=resting"] {
            engineer
                .get(&format!("/gauges?assumed=isolation&{other}"))
                .await
                .says("No gauge fits");
        }
        engineer
            .get("/gauges/LG-1")
            .await
            .says("How it is isolated is only assumed.")
            .says(SAID)
            .says("isolation (can be isolated in service), bolting (bolts)");
        engineer
            .get("/gauges/LG-2")
            .await
            .does_not_say("How it is isolated is only assumed.")
            .says(SAID)
            .says("bolting (bolts)");
        let today = plant.clock.now().to_string();
        let rebuild = [("cause", "leak"), ("planned_for", &today[..10])];
        engineer
            .fill("/gauges/LG-1/rebuild", "/gauges/LG-1/rebuild", &rebuild)
            .await
            .is(StatusCode::SEE_OTHER);
        let mut technician = plant.technician().await;
        technician
            .get("/bench/LG-1")
            .await
            .says("How it is isolated is only assumed.");
        proved(&plant, 2).await;
    }

    #[tokio::test]
    async fn it_stays_assumed_until_somebody_confirms_or_corrects_just_that() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        taken(&mut engineer).await;
        saved(&plant, &mut engineer, &[("vessel", "TR-T-4")]).await;
        engineer
            .get("/gauges/LG-1")
            .await
            .says("How it is isolated is only assumed.");
        saved(&plant, &mut engineer, &[("confirmed", "isolation")]).await;
        engineer
            .get("/gauges/LG-1")
            .await
            .does_not_say("How it is isolated is only assumed.")
            .says(SAID)
            .says("can be isolated in service, assumed → can be isolated in service, confirmed");
        engineer
            .get("/gauges?assumed=isolation")
            .await
            .says("No gauge fits");
        saved(&plant, &mut engineer, &[("bolt_form", "studs")]).await;
        engineer.get("/gauges/LG-1").await.does_not_say(SAID);
        assert!(gauge(&plant, "LG-1").await.particulars.assumed.is_empty());
        proved(&plant, 2).await;
    }

    #[tokio::test]
    async fn a_list_without_torques_does_not_say_that_the_nameplates_cannot_be_read() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        taken(&mut engineer).await;
        engineer
            .get("/gauges/LG-1")
            .await
            .says("not in the register; read it from the nameplate")
            .does_not_say("not readable");
        let list = "Tag,Area,Class,Type,Sections,Isolatable,Torque (ft-lb)\n\
                    LG-3,Tank Row,cold water,reflex,2,no,illegible\n";
        let columns = choose(&mut engineer, "m.csv", list.as_bytes()).await;
        let preview = settle(&mut engineer, &columns, &[])
            .await
            .goes_to()
            .to_owned();
        // Somebody looked at the torque and could not read it, which says something.
        engineer.get(&preview).await.says(
            "Not in the list, and never assumed Rated pressure, for 1 gauge: no column holds it",
        );
        decide(&mut engineer, &preview, "take")
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get("/gauges/LG-3")
            .await
            .says("not readable; ask the maker before tightening");
        proved(&plant, 3).await;
    }
}

mod columns {
    use super::*;

    /// The other thing lists leave out stands where is said what is assumed.
    #[tokio::test]
    async fn a_torque_no_column_holds_is_named_where_assumptions_are_chosen() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let said = "No column is matched to the cover bolt torque . None is assumed";
        let columns = choose(&mut engineer, "l.csv", b"Tag,Maker\nLG-1,x\n").await;
        engineer.get(&columns).await.says(said);
        let with = b"Tag,Maker,Torque (ft-lb)\nLG-1,x,32\n";
        let columns = choose(&mut engineer, "m.csv", with).await;
        engineer.get(&columns).await.does_not_say(said);
    }

    #[tokio::test]
    async fn what_no_column_says_is_asked_beside_its_field() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let columns = choose(&mut engineer, "l.csv", b"Tag,Maker\nLG-1,x\n").await;
        let answer = settle(&mut engineer, &columns, &[("sections", "many")]).await;
        answer
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("No column holds the area; write the area of these gauges")
            .says("No column holds the service class")
            .says("No column says reflex or transparent")
            .says("Write a whole number from 1 to 12")
            .says("No column says whether the gauges can be isolated in service");
        // What was typed stays.
        assert!(answer.text.contains("value=\"many\""));
        let answers = [
            ("area", "Cold End"),
            ("class", "brine"),
            ("kind", "transparent"),
            ("sections", "3"),
            ("isolation", "shutdown-only"),
        ];
        let preview = settle(&mut engineer, &columns, &answers)
            .await
            .goes_to()
            .to_owned();
        engineer
            .get(&preview)
            .await
            .says("Cold End, 1 gauge")
            .says("brine, 1 gauge");
        decide(&mut engineer, &preview, "take")
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get("/gauges")
            .await
            .says("transparent, 3 sections")
            .says("Cold End");
    }

    #[tokio::test]
    async fn a_unit_named_nowhere_is_asked_for_and_never_guessed() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let list = "Tag,Area,Class,Type,Sections,Isolatable,Torque\nLG-1,Tank Row,cold water,reflex,1,yes,32\nLG-2,Tank Row,cold water,reflex,1,yes,43 Nm\n";
        let columns = choose(&mut engineer, "l.csv", list.as_bytes()).await;
        settle(&mut engineer, &columns, &[])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Choose the unit of “Torque”: some of its cells name none");
        let unit = [("unit_6", "[ft_i].[lbf_av]")];
        let preview = settle(&mut engineer, &columns, &unit)
            .await
            .goes_to()
            .to_owned();
        engineer
            .get(&preview)
            .await
            .says("read as 32 ft·lbf")
            .says("read as 43 N·m");
    }

    #[tokio::test]
    async fn the_third_of_april_or_the_fourth_of_march_is_asked_and_never_guessed() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let list = "Tag,Area,Class,Type,Sections,Isolatable,Installed\nLG-1,Tank Row,cold water,reflex,1,yes,03/04/2024\n";
        let columns = choose(&mut engineer, "l.csv", list.as_bytes()).await;
        settle(&mut engineer, &columns, &[])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Say whether 03/04/2024 begins with the day or the month");
        for (order, read) in [("day-first", "3 Apr 2024"), ("month-first", "4 Mar 2024")] {
            let answer = settle(&mut engineer, &columns, &[("order", order)]).await;
            let preview = answer.goes_to().to_owned();
            engineer
                .get(&preview)
                .await
                .says(&format!("read as {read}"));
        }
    }

    #[tokio::test]
    async fn a_comma_before_three_digits_is_asked_about() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let list = "Tag,Area,Class,Type,Sections,Isolatable,MAWP (psig)\nLG-1,Tank Row,cold water,reflex,1,yes,\"1,500\"\n";
        let columns = choose(&mut engineer, "l.csv", list.as_bytes()).await;
        settle(&mut engineer, &columns, &[])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("1,500 can be read two ways");
        let answer = settle(&mut engineer, &columns, &[("mark", "point")]).await;
        let preview = answer.goes_to().to_owned();
        engineer.get(&preview).await.says("read as 1500 psi");
    }

    #[tokio::test]
    async fn years_of_two_digits_are_read_only_when_a_person_says_so() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let list = "Tag,Area,Class,Type,Sections,Isolatable,Installed\nLG-1,Tank Row,cold water,reflex,1,yes,3-Apr-98\n";
        let columns = choose(&mut engineer, "l.csv", list.as_bytes()).await;
        let preview = settle(&mut engineer, &columns, &[])
            .await
            .goes_to()
            .to_owned();
        engineer
            .get(&preview)
            .await
            .says("The year of 3-Apr-98 has two digits");
        settle(&mut engineer, &columns, &[("short_years", "yes")]).await;
        engineer.get(&preview).await.says("read as 3 Apr 1998");
    }

    #[tokio::test]
    async fn two_columns_cannot_say_the_same() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let list = "Tag,Area,Class,Type,Sections,Isolatable,Maker,Make\nLG-1,Tank Row,cold water,reflex,1,yes,a,b\n";
        let columns = choose(&mut engineer, "l.csv", list.as_bytes()).await;
        settle(&mut engineer, &columns, &[("column_7", "maker")])
            .await
            .says("“Make” and “Maker” say the same; leave one of them out");
        settle(&mut engineer, &columns, &[("column_0", "")])
            .await
            .says("Say which column holds the tag number");
    }

    #[tokio::test]
    async fn a_file_read_wrongly_is_read_again_as_a_person_says() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let list = b"Gauge;Type\nTag;Type;Vessel \xE4\nLG-1;reflex;B\xE4r\n";
        let columns = choose(&mut engineer, "l.csv", list).await;
        let reading = columns.replace("columns", "reading");
        let page = engineer.get(&columns).await;
        let mut fields = form_fields(&page.text, &reading);
        for (name, value) in &mut fields {
            match name.as_str() {
                "heading_line" => "2".clone_into(value),
                "encoding" => "windows-1252".clone_into(value),
                _ => {}
            }
        }
        let fields: Vec<(&str, &str)> = fields
            .iter()
            .map(|(n, v)| (n.as_str(), v.as_str()))
            .collect();
        engineer
            .post(&reading, &fields)
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get(&columns)
            .await
            .says("1 line in l.csv")
            .says("headings in line 2")
            .says("Vessel ä")
            .says("Bär");
        let key = engineer.get(&columns).await.field("key");
        engineer
            .post(&reading, &[("key", &key), ("heading_line", "77")])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Line 77 is blank or not in the file");
    }
}

mod files {
    use super::*;

    #[tokio::test]
    async fn files_that_are_no_lists_are_refused_beside_the_field_and_nothing_is_kept() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let large = vec![b'x'; 20 * 1024 * 1024 + 1];
        let huge = vec![b'x'; 22 * 1024 * 1024];
        for (bytes, words) in [
            (&b""[..], "The file is empty"),
            (b"%PDF-1.4", "This is a PDF, not a list"),
            (b"PK\x03\x04x", "This workbook is damaged"),
            (b"just words", "Only one column"),
            (&large, "more than 20 MB"),
            (&huge, "more than 20 MB"),
        ] {
            offer(&mut engineer, "l.csv", bytes)
                .await
                .is(StatusCode::UNPROCESSABLE_ENTITY)
                .says("Nothing was saved yet")
                .says(words);
        }
        engineer.get(START).await.does_not_say("Latest lists");
        let key = engineer.get(START).await.field("key");
        engineer
            .upload(START, &[("key", &key)], ("file", "", b""))
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Choose the file that holds the list");
    }

    #[tokio::test]
    async fn a_file_s_name_cannot_do_harm() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let name = "C:\\lists\\<b>plant & co.csv";
        let columns = choose(&mut engineer, name, &sound_list(2)).await;
        let page = engineer.get(&columns).await;
        assert!(!page.text.contains("<b>"));
        page.says("bplant & co");
    }

    #[tokio::test]
    async fn the_empty_list_comes_with_our_headings_and_goes_in_when_filled() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let empty = engineer.get("/gauges/bring-in/empty-list.csv").await;
        assert_eq!(empty.headers["content-type"], "text/csv; charset=utf-8");
        let mut filled = empty.bytes.clone();
        filled.extend_from_slice(
            "LG-1,Tank Row,cold water,TK-1,level,yes,2024-05-06,2025-06-07,2025-12-08,reflex,2,320,6,1/2-13,bolts,Fennel Gauge,F-1,K-1,1000,100,32,steel,graphite,tempered,,,careful\n"
                .as_bytes(),
        );
        let columns = choose(&mut engineer, "filled.csv", &filled).await;
        let preview = settle(&mut engineer, &columns, &[])
            .await
            .goes_to()
            .to_owned();
        engineer
            .get(&preview)
            .await
            .says("1 line can be taken in, 0 lines cannot");
        decide(&mut engineer, &preview, "take")
            .await
            .is(StatusCode::SEE_OTHER);
        engineer.get("/gauges/LG-1/edit").await.is(StatusCode::OK);
        // Looked over on 8 December 2025 by the plant's papers, and 12 months of the class: 8 December
        // 2026; rebuilt on 7 June 2025, and 60 months: 7 June 2030 (civil calendar).
        engineer
            .get("/gauges/LG-1")
            .await
            .says("Due 8 Dec 2026")
            .says("rebuild interval 7 Jun 2030")
            .says("7 Jun 2025 brought in; no record of a rebuild here");
    }

    #[tokio::test]
    async fn only_engineers_and_administrators_bring_lists_in() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let preview = previewed(&mut engineer, 1).await;
        for role in Role::ALL {
            let mut visitor = plant.signed_in(*role).await;
            let may = matches!(role, Role::Engineer | Role::Administrator);
            let wanted = if may {
                StatusCode::OK
            } else {
                StatusCode::FORBIDDEN
            };
            for page in [START, "/gauges/bring-in/empty-list.csv", preview.as_str()] {
                visitor.get(page).await.is(wanted);
            }
        }
        for address in [
            "/gauges/bring-in/77/columns",
            "/gauges/bring-in/x/preview",
            "/gauges/bring-in/-1/done",
        ] {
            engineer.get(address).await.is(StatusCode::NOT_FOUND);
        }
    }
}

mod taking {
    use super::*;

    #[tokio::test]
    async fn a_taken_list_is_in_the_history_of_each_gauge_and_its_file_is_forgotten() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let preview = previewed(&mut engineer, 3).await;
        decide(&mut engineer, &preview, "take")
            .await
            .is(StatusCode::SEE_OTHER);
        engineer
            .get("/gauges/LG-00001")
            .await
            .says("Taken into the register")
            .says("line 3 of gauges.csv");
        let mut db = plant.store.read().await.expect("a reader");
        let list = gaugewright::record::BringInId(1);
        assert!(
            store::bring_in::file(&mut db, list)
                .await
                .expect("asked")
                .is_empty()
        );
        assert!(
            store::bring_in::table(&mut db, list)
                .await
                .expect("asked")
                .is_none()
        );
        drop(db);
        // 31 January 2024 and three months: 30 April 2024 (as python-dateutil's relativedelta).
        engineer.get("/gauges/LG-00001").await.says("30 Apr 2024");
        engineer.get(START).await.says("3 gauges taken in");
        // Its steps lead to what became of it.
        assert_eq!(
            engineer.get(&preview).await.goes_to(),
            preview.replace("preview", "done")
        );
    }

    #[tokio::test]
    async fn taking_nothing_leaves_the_register_as_it_was() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let preview = previewed(&mut engineer, 3).await;
        let done = decide(&mut engineer, &preview, "nothing")
            .await
            .goes_to()
            .to_owned();
        engineer
            .get(&done)
            .await
            .says("Nothing was taken from gauges.csv")
            .says("Test reliability engineer left it");
        assert_eq!(gauges(&plant).await, 0);
        decide_again_is_refused(&mut engineer, &preview).await;
    }

    async fn decide_again_is_refused(visitor: &mut Visitor, preview: &str) {
        assert_eq!(visitor.get(preview).await.status, StatusCode::SEE_OTHER);
    }

    #[tokio::test]
    async fn pressing_twice_takes_the_list_once() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let preview = previewed(&mut engineer, 3).await;
        let page = engineer.get(&preview).await;
        let first = press(&mut engineer, &preview, &page, "take").await;
        let second = press(&mut engineer, &preview, &page, "take").await;
        first.is(StatusCode::SEE_OTHER);
        second.is(StatusCode::SEE_OTHER);
        assert_eq!(first.goes_to(), second.goes_to());
        proved(&plant, 3).await;
    }

    #[tokio::test]
    async fn choosing_a_file_twice_with_one_press_keeps_it_once() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let key = engineer.get(START).await.field("key");
        let list = sound_list(1);
        let first = engineer
            .upload(START, &[("key", &key)], ("file", "a.csv", &list))
            .await;
        let second = engineer
            .upload(START, &[("key", &key)], ("file", "a.csv", &list))
            .await;
        assert_eq!(first.goes_to(), second.goes_to());
    }

    #[tokio::test]
    async fn when_two_people_take_the_same_list_at_once_one_does_and_the_other_learns_who_did() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let mut administrator = plant.administrator().await;
        let preview = previewed(&mut engineer, 40).await;
        let one = engineer.get(&preview).await;
        let other = administrator.get(&preview).await;
        let (a, b) = tokio::join!(
            press(&mut engineer, &preview, &one, "take"),
            press(&mut administrator, &preview, &other, "take")
        );
        a.is(StatusCode::SEE_OTHER);
        b.is(StatusCode::SEE_OTHER);
        let done = preview.replace("preview", "done");
        assert_eq!((a.goes_to(), b.goes_to()), (done.as_str(), done.as_str()));
        engineer
            .get(&done)
            .await
            .says("40 gauges taken into the register")
            .says(", by Test ");
        proved(&plant, 40).await;
    }

    #[tokio::test]
    async fn a_gauge_taken_in_meanwhile_stops_the_list_until_it_is_seen_again() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let preview = previewed(&mut engineer, 3).await;
        let page = engineer.get(&preview).await;
        let mut fields = super::super::edit::NAMEPLATE.to_vec();
        fields[0] = ("tag", "lg-00001");
        let mut administrator = plant.administrator().await;
        administrator
            .fill("/gauges/new", "/gauges/new", &fields)
            .await
            .is(StatusCode::SEE_OTHER);
        press(&mut engineer, &preview, &page, "take")
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("The register changed since you opened this page: 2 lines can be taken in now, not 3")
            .says("LG-00001 hangs in the register already");
        assert_eq!(gauges(&plant).await, 1);
        decide(&mut engineer, &preview, "take")
            .await
            .is(StatusCode::SEE_OTHER);
        assert_eq!(gauges(&plant).await, 3);
    }

    #[tokio::test]
    async fn a_list_matched_differently_meanwhile_is_looked_at_again() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let preview = previewed(&mut engineer, 3).await;
        let page = engineer.get(&preview).await;
        let mut administrator = plant.administrator().await;
        let columns = preview.replace("preview", "columns");
        settle(&mut administrator, &columns, &[("column_3", "")])
            .await
            .is(StatusCode::SEE_OTHER);
        press(&mut engineer, &preview, &page, "take")
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("The list was matched differently since you opened this page");
        assert_eq!(gauges(&plant).await, 0);
    }

    #[tokio::test]
    async fn a_press_of_neither_button_does_nothing() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let preview = previewed(&mut engineer, 1).await;
        decide(&mut engineer, &preview, "perhaps")
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Press one of the two buttons");
        engineer.get(&preview).await.says("1 line can be taken in");
    }

    #[tokio::test]
    async fn a_list_nobody_took_is_forgotten_after_a_week() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let preview = previewed(&mut engineer, 1).await;
        plant.turn_to(time::macros::datetime!(2026-03-09 08:59 UTC));
        let mut engineer = plant.engineer().await;
        engineer.get(&preview).await.is(StatusCode::OK);
        plant.turn_to(time::macros::datetime!(2026-03-09 09:01 UTC));
        let done = engineer.get(&preview).await.goes_to().to_owned();
        engineer
            .get(&done)
            .await
            .says("gauges.csv is not kept any more");
        gaugewright::acts::bring_in::forget(&plant.store, &plant.clock)
            .await
            .expect("forgotten");
        let mut db = plant.store.read().await.expect("a reader");
        let list = gaugewright::record::BringInId(1);
        assert!(
            store::bring_in::file(&mut db, list)
                .await
                .expect("asked")
                .is_empty()
        );
        drop(db);
        engineer.get(START).await.says("forgotten after a week");
    }

    #[tokio::test]
    async fn fifty_thousand_lines_are_previewed_and_taken_in_one_piece() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let list = sound_list(50_000);
        let mut clock = std::time::Instant::now();
        let mut took = |what: &str| {
            println!("{what}: {:.2} s", clock.elapsed().as_secs_f64());
            clock = std::time::Instant::now();
        };
        let columns = choose(&mut engineer, "gauges.csv", &list).await;
        took("read");
        let preview = settle(&mut engineer, &columns, &[])
            .await
            .goes_to()
            .to_owned();
        took("matched");
        let page = engineer.get(&format!("{preview}?page=1000")).await;
        page.says("can be taken in, 0 lines cannot")
            .says("Page 1000 of 1000")
            .says("LG-49999");
        took("previewed");
        let page = engineer.get(&preview).await;
        took("previewed again");
        press(&mut engineer, &preview, &page, "take")
            .await
            .is(StatusCode::SEE_OTHER);
        took("taken in");
        proved(&plant, 50_000).await;
    }

    #[tokio::test]
    async fn many_gauges_are_written_sealed_and_dated_as_one_is() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let list = "Tag,Area,Class,Type,Sections,Isolatable,Installed,Rating,Pressure-temperature points,Glass length (mm),Bolts per rail,Bolting,Torque (ft-lb)\n\
            LG-1,Tank Row,cold water,reflex,2,no,2024-01-31,1000 psi @ 100 °F,850 psi @ 400 °F; 1000 psi @ 100 °F,320,6,studs,32.50\n\
            LG-2,Tank Row,cold water,T,2,yes,,,,,,,\n";
        let columns = choose(&mut engineer, "l.csv", list.as_bytes()).await;
        let preview = settle(&mut engineer, &columns, &[])
            .await
            .goes_to()
            .to_owned();
        decide(&mut engineer, &preview, "take")
            .await
            .is(StatusCode::SEE_OTHER);
        proved(&plant, 2).await;
        let mut db = plant.store.read().await.expect("a reader");
        let one = store::gauges::by_tag(&mut db, "LG-1")
            .await
            .expect("asked")
            .expect("a gauge");
        let two = store::gauges::by_tag(&mut db, "LG-2")
            .await
            .expect("asked")
            .expect("a gauge");
        drop(db);
        let p = &one.particulars;
        assert_eq!(
            p.torque.map(|t| t.to_string()).as_deref(),
            Some("32.50 ft·lbf")
        );
        assert_eq!(p.rating_points.len(), 2);
        assert_eq!(p.rating_points[0].temperature.to_string(), "100 °F");
        assert_eq!(
            (p.glass_length_mm, p.bolts_per_rail, p.kits_per_rebuild),
            (Some(320), Some(6), 2)
        );
        assert_eq!(two.particulars.kits_per_rebuild, 4);
        assert_eq!(two.particulars.torque, None);
        // Taken in one by one by the form's deed, the rows are the same.
        let mut again = p.clone();
        again.tag = "LG-3".parse().expect("a tag");
        let mut deed = plant.deed_of(Role::Engineer).await;
        let id = gaugewright::acts::gauges::register(&mut deed, &again)
            .await
            .expect("taken");
        deed.commit("").await.expect("committed");
        let mut db = plant.store.read().await.expect("a reader");
        let three = store::gauges::by_id(&mut db, id)
            .await
            .expect("asked")
            .expect("a gauge");
        assert_eq!(three.particulars, again);
        drop(db);
        proved(&plant, 3).await;
    }
}
