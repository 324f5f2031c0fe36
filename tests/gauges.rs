//! Gauges: the register's list, one gauge, taking in and correcting, and what is recorded in service.

mod another_day;
mod bring_in;
mod deferral;
mod failure;
mod history;
mod list;
mod list_rules;
mod look_over;
mod messy_list;
pub mod photo;
mod re_torque;
mod rebuild;
mod rebuild_record;
mod sealed;
mod second_saver;
mod show;
mod standing;

use axum::http::StatusCode;

use crate::plant::Visitor;

/// Takes a gauge into the register: the usual nameplate with these fields instead.
pub async fn hang(visitor: &mut Visitor, instead: &[(&str, &str)]) {
    let mut fields: Vec<(&str, &str)> = edit::NAMEPLATE
        .iter()
        .copied()
        .filter(|(name, _)| !instead.iter().any(|(other, _)| other == name))
        .collect();
    fields.extend_from_slice(instead);
    visitor
        .fill("/gauges/new", "/gauges/new", &fields)
        .await
        .is(StatusCode::SEE_OTHER);
}

pub mod edit {
    use axum::http::StatusCode;

    use crate::plant::Plant;

    pub const NAMEPLATE: &[(&str, &str)] = &[
        ("tag", "LG-1107A"),
        ("area", "1"),
        ("class", "1"),
        ("vessel", "BH-D-101"),
        ("service", "steam drum"),
        ("kind", "reflex"),
        ("sections", "4"),
        ("bolts_per_rail", "6"),
        ("bolt_thread", "1/2-13"),
        ("bolt_form", "bolts"),
        ("glass_length_mm", "250"),
        ("isolation", "in-service"),
        ("installed_on", "2024-01-31"),
        ("maker", "Fennel Gauge"),
        ("rating", "1000"),
        ("rating_unit", "[psi]"),
        ("rating_temperature", "100"),
        ("rating_temperature_unit", "[degF]"),
        ("torque", "32"),
        ("torque_unit", "[ft_i].[lbf_av]"),
        ("kits_per_rebuild", ""),
    ];

    #[tokio::test]
    async fn a_gauge_taken_in_is_due_a_look_over_three_months_after_installation_clamped_to_the_month_s_end()
     {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let answer = engineer.fill("/gauges/new", "/gauges/new", NAMEPLATE).await;
        answer.is(StatusCode::SEE_OTHER);
        assert_eq!(answer.goes_to(), "/gauges/LG-1107A");
        // 31 January + 3 months is 30 April: calendar arithmetic as python-dateutil's relativedelta.
        engineer
            .get("/gauges/LG-1107A")
            .await
            .says("30 Apr 2024")
            .says("look-over interval");
    }

    #[tokio::test]
    async fn a_new_gauge_s_form_guesses_nothing_that_is_read_off_the_gauge() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let page = engineer.get("/gauges/new").await;
        for field in [
            "tag",
            "sections",
            "glass_length_mm",
            "bolts_per_rail",
            "rating",
            "torque",
        ] {
            assert_eq!(page.field(field), "", "{field}");
        }
        for choice in ["area", "class", "isolation", "kind", "bolt_form"] {
            let mark = format!("<select id=\"{choice}\"");
            let list = page.text.split(&mark).nth(1).expect(choice);
            let list = list.split("</select>").next().expect("its end");
            assert!(
                list.contains("<option value=\"\" selected>choose</option>"),
                "{choice}: {list}"
            );
        }
        // Left so, each is asked for, and nothing is taken in.
        let sent = [("tag", "LG-9")];
        engineer
            .fill("/gauges/new", "/gauges/new", &sent)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Choose one: reflex or transparent")
            .says("Choose one: the form of the bolting")
            .says("Write a whole number from 1 to 12");
    }

    #[tokio::test]
    async fn pressing_twice_takes_one_gauge_in() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let key = engineer.get("/gauges/new").await.field("key");
        let mut fields = vec![("key", key.as_str())];
        fields.extend_from_slice(NAMEPLATE);
        let first = engineer.post("/gauges/new", &fields).await;
        let second = engineer.post("/gauges/new", &fields).await;
        assert_eq!(first.goes_to(), second.goes_to());
        engineer
            .get("/gauges")
            .await
            .says("1 gauge in the register");
    }

    #[tokio::test]
    async fn a_gauge_hangs_since_a_day_that_has_come() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let fields = |day| {
            let mut fields: Vec<(&str, &str)> = NAMEPLATE.to_vec();
            fields.retain(|(name, _)| *name != "installed_on");
            fields.push(("installed_on", day));
            fields
        };
        engineer
            .fill("/gauges/new", "/gauges/new", &fields("2026-03-03"))
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("This day is still to come");
        engineer
            .fill("/gauges/new", "/gauges/new", &fields("2026-03-02"))
            .await
            .is(StatusCode::SEE_OTHER);
    }

    #[tokio::test]
    async fn a_form_with_the_key_of_somebody_else_changes_nothing() {
        let plant = Plant::new().await;
        let mut engineer = plant.engineer().await;
        let mut other = plant.administrator().await;
        let key = other.get("/gauges/new").await.field("key");
        let mut fields = vec![("key", key.as_str())];
        fields.extend_from_slice(NAMEPLATE);
        engineer
            .post("/gauges/new", &fields)
            .await
            .is(StatusCode::BAD_REQUEST);
        engineer
            .get("/gauges")
            .await
            .says("0 gauges in the register");
    }
}
