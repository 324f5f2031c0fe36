//! Two people correct the same gauge: nothing either of them typed is lost.

use axum::http::StatusCode;

use super::edit::NAMEPLATE;
use super::hang;
use crate::plant::{Answer, Plant, Visitor};

const PAGE: &str = "/gauges/LG-1107A/edit";

/// The form as a browser would send it after opening it: hidden fields and what was typed.
async fn send(visitor: &mut Visitor, to: &str, opened: &Answer, typed: &[(&str, &str)]) -> Answer {
    let hidden: Vec<(String, String)> = ["key", "version", "row", "opened"]
        .iter()
        .map(|name| {
            let value = opened
                .field(name)
                .replace("&#34;", "\"")
                .replace("&#38;", "&");
            ((*name).to_owned(), value)
        })
        .collect();
    let mut fields: Vec<(&str, &str)> = hidden
        .iter()
        .map(|(name, value)| (name.as_str(), value.as_str()))
        .collect();
    fields.extend(
        NAMEPLATE
            .iter()
            .filter(|(name, _)| !typed.iter().any(|(other, _)| other == name)),
    );
    fields.extend_from_slice(typed);
    visitor.post(to, &fields).await
}

#[tokio::test]
async fn both_values_stand_beside_a_field_both_changed() {
    let plant = Plant::new().await;
    let (mut engineer, mut administrator) = (plant.engineer().await, plant.administrator().await);
    hang(&mut engineer, &[]).await;
    let (first, second) = (engineer.get(PAGE).await, administrator.get(PAGE).await);
    send(&mut engineer, PAGE, &first, &[("torque", "35")])
        .await
        .is(StatusCode::SEE_OTHER);
    let answer = send(&mut administrator, PAGE, &second, &[("torque", "38")]).await;
    answer.is(StatusCode::UNPROCESSABLE_ENTITY).says(
        "The register now holds 35 ft·lbf, saved by Test reliability engineer; you typed 38 ft·lbf",
    );
    assert_eq!(answer.field("torque"), "38");
    // Once both were seen, saving again is a decision and goes through.
    send(&mut administrator, PAGE, &answer, &[("torque", "38")])
        .await
        .is(StatusCode::SEE_OTHER);
    administrator
        .get("/gauges/LG-1107A")
        .await
        .says("cover bolt torque: 35 ft·lbf → 38 ft·lbf");
}

#[tokio::test]
async fn what_only_the_other_changed_is_taken_over_and_what_only_i_changed_stays() {
    let plant = Plant::new().await;
    let (mut engineer, mut administrator) = (plant.engineer().await, plant.administrator().await);
    hang(&mut engineer, &[]).await;
    let (first, second) = (engineer.get(PAGE).await, administrator.get(PAGE).await);
    send(
        &mut engineer,
        PAGE,
        &first,
        &[("area", "2"), ("rating", "900"), ("rating_unit", "[psi]")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    let answer = send(&mut administrator, PAGE, &second, &[("vessel", "BH-D-102")]).await;
    answer
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("changed this from 1000 psi to 900 psi; it is taken over here")
        .says("changed this from Boiler House to Tank Row; it is taken over here");
    assert_eq!(answer.field("vessel"), "BH-D-102");
    assert_eq!(answer.field("rating"), "900");
    send(
        &mut administrator,
        PAGE,
        &answer,
        &[("vessel", "BH-D-102"), ("area", "2"), ("rating", "900")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    administrator
        .get("/gauges/LG-1107A")
        .await
        .says("BH-D-102")
        .says("Rating 900 psi")
        .says("area: Boiler House → Tank Row");
}

#[tokio::test]
async fn the_second_saver_finds_the_gauge_even_under_its_new_tag_number() {
    let plant = Plant::new().await;
    let (mut engineer, mut administrator) = (plant.engineer().await, plant.administrator().await);
    hang(&mut engineer, &[]).await;
    let (first, second) = (engineer.get(PAGE).await, administrator.get(PAGE).await);
    send(&mut engineer, PAGE, &first, &[("tag", "LG-1107B")])
        .await
        .is(StatusCode::SEE_OTHER);
    let answer = send(&mut administrator, PAGE, &second, &[("note", "stands low")]).await;
    answer
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("changed this from LG-1107A to LG-1107B; it is taken over here")
        .says("stands low");
    assert_eq!(answer.field("tag"), "LG-1107B");
}

#[tokio::test]
async fn a_field_that_needs_mending_does_not_hide_that_somebody_saved_meanwhile() {
    let plant = Plant::new().await;
    let (mut engineer, mut administrator) = (plant.engineer().await, plant.administrator().await);
    hang(&mut engineer, &[]).await;
    let (first, second) = (engineer.get(PAGE).await, administrator.get(PAGE).await);
    send(
        &mut engineer,
        PAGE,
        &first,
        &[("maker", "Northquay Instruments")],
    )
    .await
    .is(StatusCode::SEE_OTHER);
    let refused = send(&mut administrator, PAGE, &second, &[("sections", "40")]).await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Write a whole number from 1 to 12");
    send(&mut administrator, PAGE, &refused, &[("sections", "5")])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("changed this from Fennel Gauge to Northquay Instruments; it is taken over here");
}

#[tokio::test]
async fn points_two_people_changed_stand_beside_each_other() {
    let plant = Plant::new().await;
    let (mut engineer, mut administrator) = (plant.engineer().await, plant.administrator().await);
    hang(&mut engineer, &[]).await;
    let (first, second) = (engineer.get(PAGE).await, administrator.get(PAGE).await);
    let points = |pressure: &'static str| {
        vec![
            ("point_temperature", "100"),
            ("point_pressure", pressure),
            ("point_temperature_unit", "[degF]"),
            ("point_pressure_unit", "[psi]"),
        ]
    };
    send(&mut engineer, PAGE, &first, &points("1000"))
        .await
        .is(StatusCode::SEE_OTHER);
    send(&mut administrator, PAGE, &second, &points("950"))
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("The register now holds 100 °F: 1000 psi")
        .says("you typed 100 °F: 950 psi");
}
