//! Figures on the pages as people of either system read them: what was stamped first, then their unit.
//! Sentences and texts that are figures are tested beside the helper itself, and each part's own figures in that part's tests.

use axum::http::StatusCode;

use crate::gauges::hang;
use crate::plant::Plant;

#[tokio::test]
async fn a_us_and_an_si_person_see_the_same_stamped_text_first() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let metric = [
        ("tag", "LG-2"),
        ("rating", "69"),
        ("rating_unit", "bar"),
        ("torque", "45"),
        ("torque_unit", "N.m"),
    ];
    hang(&mut engineer, &[]).await;
    hang(&mut engineer, &metric).await;
    let mut us = plant.technician().await;
    us.reads("us-customary").await;
    let mut si = plant.inspector().await;
    si.reads("si").await;
    // published: NIST SP 811 (2008), B.8: 1 psi = 6.894757 kPa, 1 bar = 14.50377 psi,
    // 1 ft·lbf = 1.355818 N·m, 1 N·m = 0.7375621 ft·lbf, t/°C = (t/°F − 32)/1.8.
    for (gauge, who, beside) in [
        (
            "LG-1107A",
            &mut us,
            ["1000 psi", "32 ft·lbf", "100 °F"].map(str::to_owned),
        ),
        (
            "LG-1107A",
            &mut si,
            [
                "1000 psi (68.94 bar)",
                "32 ft·lbf (43.38 N·m)",
                "100 °F (37.78 °C)",
            ]
            .map(str::to_owned),
        ),
    ] {
        let page = who.get(&format!("/gauges/{gauge}")).await;
        for words in beside {
            page.says(&words);
        }
    }
    us.get("/gauges/LG-1107A")
        .await
        .does_not_say("bar")
        .does_not_say("N·m");
    us.get("/gauges/LG-2")
        .await
        .says("69 bar (1000 psi)")
        .says("45 N·m (33.19 ft·lbf)");
    si.get("/gauges/LG-2")
        .await
        .does_not_say("psi")
        .does_not_say("ft·lbf");
    for who in [&mut us, &mut si] {
        let page = who.get("/gauges/LG-1107A").await;
        for stamped in ["1000 psi</strong>", "32 ft·lbf</strong>", "100 °F</strong>"] {
            assert!(page.text.contains(stamped), "{stamped}");
        }
    }
}

#[tokio::test]
async fn an_empty_field_offers_the_person_s_unit_and_what_was_stamped_stays_as_stamped() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    engineer.reads("si").await;
    let page = engineer.get("/gauges/new").await;
    for unit in ["bar", "N.m", "Cel"] {
        let chosen = format!("<option value=\"{unit}\" selected>");
        assert!(page.text.contains(&chosen), "{unit}");
    }
    assert!(!page.text.contains("<option value=\"[psi]\" selected>"));
    hang(&mut engineer, &[]).await;
    let page = engineer.get("/gauges/LG-1107A/edit").await;
    assert!(page.text.contains("<option value=\"[psi]\" selected>"));
    page.says("That is 68.95 bar");
    // Saved as it opened, nothing is converted in the record.
    engineer
        .get("/gauges/LG-1107A")
        .await
        .says("1000 psi (68.94 bar)");
}

/// What people wrote stays as they wrote it, whatever figures are in it; what the register says of its
/// own has the person's unit behind each value.
#[tokio::test]
async fn people_s_own_words_get_no_brackets() {
    let plant = Plant::new().await;
    let mut engineer = plant.engineer().await;
    let words = "pops at 900 psi, never above 32 ft·lbf, 0.5 in short";
    hang(
        &mut engineer,
        &[("note", words), ("service", "condensate 150 psi")],
    )
    .await;
    let edit = "/gauges/LG-1107A/edit";
    let page = engineer.get(edit).await;
    let (version, row) = (page.field("version"), page.field("row"));
    let mut fields: Vec<(&str, &str)> = crate::gauges::edit::NAMEPLATE
        .iter()
        .copied()
        .filter(|(name, _)| !["rating", "service"].contains(name))
        .collect();
    fields.extend([
        ("rating", "1100"),
        ("service", "condensate 150 psi"),
        ("note", "now 800 psi"),
        ("version", version.as_str()),
        ("row", row.as_str()),
    ]);
    engineer
        .fill(edit, edit, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    for who in ["us-customary", "si"] {
        engineer.reads(who).await;
        engineer
            .get("/gauges/LG-1107A")
            .await
            .says("now 800 psi")
            .does_not_say("now 800 psi (");
        engineer
            .get("/gauges/LG-1107A/history")
            .await
            .says(&format!("note: {words} → now 800 psi"))
            .does_not_say("now 800 psi (");
        engineer
            .get("/search?q=condensate")
            .await
            .does_not_say("condensate 150 psi (");
    }
    // published: NIST SP 811 (2008), B.8: 1000 psi are 68.9476 bar, 1100 psi 75.8423: limits, rounded down.
    engineer
        .get("/gauges/LG-1107A/history")
        .await
        .says("rating: 1000 psi (68.94 bar) → 1100 psi (75.84 bar)");
}
