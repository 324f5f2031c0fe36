//! The pages: fields made from the list, the result with its working, errors beside the field.

use super::*;

#[tokio::test]
async fn every_computation_is_listed_and_opens_with_its_example() {
    let plant = Plant::new().await;
    let mut technician = plant.technician().await;
    let list = technician.get("/workings").await;
    for one in workings::all() {
        list.says(one.purpose);
        let page = technician.get(&format!("/workings/{}", one.name)).await;
        page.is(StatusCode::OK);
        page.says("An example is filled in");
        page.does_not_say("Working: ");
    }
}

/// What stands in the fields of a page, sent as its form would.
fn query(html: &str) -> String {
    let mut pairs: Vec<(String, String)> = Vec::new();
    let text = |s: &str| {
        s.replace("&#34;", "\"")
            .replace("&#38;", "&")
            .replace("&#39;", "'")
            .replace("&#60;", "<")
            .replace("&#62;", ">")
    };
    let attribute = |tag: &str, name: &str| {
        tag.split_once(&format!(" {name}=\""))
            .map(|(_, rest)| text(rest.split('"').next().unwrap_or_default()))
    };
    let form = html.split("class=\"try\"").nth(1).unwrap_or_default();
    for part in form.split('<').skip(1) {
        if part.starts_with("input ")
            || part.starts_with("select ")
            || part.starts_with("textarea ")
        {
            let value = if part.starts_with("textarea ") {
                text(part.split_once('>').map_or("", |(_, rest)| rest))
            } else {
                attribute(part, "value").unwrap_or_default()
            };
            pairs.push((attribute(part, "name").unwrap_or_default(), value));
        } else if part.starts_with("option ")
            && let Some(last) = pairs.last_mut()
            && (part.contains(" selected") || last.1.is_empty())
        {
            last.1 = attribute(part, "value").unwrap_or_default();
        }
    }
    let pairs: Vec<String> = pairs
        .iter()
        .map(|(name, value)| format!("{name}={}", gaugewright::pages::address::encoded(value)))
        .collect();
    pairs.join("&")
}

#[tokio::test]
async fn the_example_as_it_stands_in_the_form_computes() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    for one in workings::all() {
        let address = format!("/workings/{}", one.name);
        let page = engineer.get(&address).await;
        let answer = engineer
            .get(&format!("{address}?{}", query(&page.text)))
            .await;
        assert_eq!(
            answer.status,
            StatusCode::OK,
            "{}: {}",
            one.name,
            answer.text
        );
        answer.says("Result").says("Working: ");
    }
}

/// common practice, no source: a rating of 1000 psi is tested at 1500 psi.
#[tokio::test]
async fn a_result_stands_with_its_working_and_the_cautions() {
    let plant = Plant::new().await;
    let mut technician = plant.technician().await;
    technician
        .get("/workings/test-pressure?rating=1000&rating_unit=%5Bpsi%5D&code=common-practice")
        .await
        .says("Required test pressure 1500 psi")
        .says("P_T = f · P · S_T/S")
        .says("(common practice, no source)")
        .says("Vent all air before a test")
        .does_not_say("up to the next 1 psi");
    technician
        .get("/workings/test-pressure?rating=1001&rating_unit=%5Bpsi%5D&code=common-practice")
        .await
        .says("1502 psi")
        .says("from 1501.5 psi up to the next 1 psi");
}

/// A field of a form is cut off on paper: a list of stations shows three lines of six there.
#[tokio::test]
async fn the_paper_shows_every_number_the_result_was_computed_from() {
    let plant = Plant::new().await;
    let mut technician = plant.technician().await;
    for name in ["flatness", "tightening-plan", "stored-energy"] {
        let address = format!("/workings/{name}");
        let form = technician.get(&address).await;
        let page = technician
            .get(&format!("{address}?{}", query(&form.text)))
            .await;
        let paper = page
            .text
            .split_once("<section class=\"printed\"")
            .and_then(|(_, rest)| rest.split_once("</section>"))
            .map_or("", |(paper, _)| paper)
            .replace('\u{a0}', " ");
        let wanted: &[&str] = match name {
            "flatness" => &["0; 0; 0", "100; 40; 0.9", "Thousandths of an inch"],
            "tightening-plan" => &["32 ft\u{b7}lbf", "5 ft\u{b7}lbf"],
            _ => &["10 bar", "10 L", "above it"],
        };
        for words in wanted {
            assert!(paper.contains(words), "{name}: no {words} in {paper}");
        }
    }
}

#[tokio::test]
async fn what_is_wrong_is_said_beside_its_field_and_nothing_typed_is_lost() {
    let plant = Plant::new().await;
    let mut technician = plant.technician().await;
    let page = technician
        .get("/workings/torque-wrench?target=thirty&target_unit=N.m&low=5&low_unit=N.m&high=&high_unit=N.m")
        .await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Not computed yet")
        .says("Write a number such as 1500 or 12.5")
        .says("Highest value of the wrench is missing");
    assert_eq!(page.field("target"), "thirty");
    assert_eq!(page.field("low"), "5");
    let page = technician
        .get("/workings/torque-wrench?target=30&target_unit=N.m&low=50&low_unit=N.m&high=20&high_unit=N.m")
        .await;
    page.is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("above the lowest value");
    assert!(page.text.contains("id=\"high-wrong\""), "{}", page.text);
}

#[tokio::test]
async fn a_list_may_be_pasted_from_a_spreadsheet() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let lives = "54\n187\n216\n240\n244\n335\n361\n373\n375\n386\n500\tgood\t10";
    // published: NIST/SEMATECH e-Handbook 8.4.1.3 prints 1.7208 and 606.5280.
    engineer
        .get(&format!(
            "/workings/weibull?unit=hours&confidence=0.9&lives={}",
            gaugewright::pages::address::encoded(lives)
        ))
        .await
        .says("Shape β 1.7208")
        .says("606.52");
    engineer
        .get("/workings/weibull?unit=hours&confidence=0.9&lives=54%0A187%20dropped")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Line 2: Ended: Write one of failed, good, found");
}

#[tokio::test]
async fn a_list_too_long_for_an_address_is_computed_from_the_form() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let lines: Vec<String> = (1..2000).map(|age| format!("{age}.5")).collect();
    let long = lines.join("\n");
    let address = "/workings/weibull";
    engineer
        .fill(
            address,
            address,
            &[("unit", "hours"), ("confidence", "0.9"), ("lives", &long)],
        )
        .await
        .is(StatusCode::OK)
        .says("Shape β");
    let short = engineer
        .fill(
            address,
            address,
            &[
                ("unit", "hours"),
                ("confidence", "0.9"),
                ("lives", "54\n60\n70"),
            ],
        )
        .await;
    short.is(StatusCode::SEE_OTHER);
    assert!(
        short.goes_to().starts_with("/workings/weibull?unit=hours&"),
        "{}",
        short.goes_to()
    );
}

#[tokio::test]
async fn a_computation_that_is_none_is_not_found() {
    let plant = Plant::new().await;
    let mut technician = plant.technician().await;
    technician
        .get("/workings/alchemy")
        .await
        .is(StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn while_a_long_working_runs_other_pages_are_answered() {
    let plant = Plant::new().await;
    let mut technician = plant.technician().await;
    let mut other = technician.clone();
    let example = technician.get("/workings/fleet-outlook").await;
    let asked = query(&example.text).replace("runs=300", "runs=6000");
    let long = async {
        let answer = technician
            .get(&format!("/workings/fleet-outlook?{asked}"))
            .await;
        answer.is(StatusCode::OK);
        std::time::Instant::now()
    };
    let short = async {
        other.get("/healthz").await.is(StatusCode::OK);
        std::time::Instant::now()
    };
    let (long, short) = tokio::join!(long, short);
    assert!(short < long, "the check of health waited for the working");
}

/// published: NIST SP 811 (2008), B.8: 1500 psi are 103.4214 bar. What has to be reached is rounded up.
#[tokio::test]
async fn a_working_is_read_in_the_person_s_unit_and_its_own_rounding_is_kept() {
    let plant = crate::plant::Plant::new().await;
    let mut technician = plant.technician().await;
    technician.reads("si").await;
    technician
        .get("/workings/test-pressure?rating=1000&rating_unit=%5Bpsi%5D&code=common-practice")
        .await
        .says("Required test pressure 1500 psi (103.5 bar)")
        .says("1000 psi (68.95 bar)")
        .does_not_say("103.4 bar");
}
