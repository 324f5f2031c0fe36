//! Who saw a test: an inspector is named, says that they did not see it, another one is named and does.

use axum::http::StatusCode;
use gaugewright::acts::{self, Deed};
use gaugewright::record::PersonId;
use gaugewright::record::person::Role;
use gaugewright::store;

use super::world::{PASSED, plant, signs, sound, tested};
use crate::plant::{PASSWORD, Plant, Visitor};

/// A second inspector, signed in, and their row.
async fn another(plant: &Plant) -> (Visitor, PersonId) {
    let hash = acts::people::hash_password(PASSWORD.to_owned())
        .await
        .unwrap();
    let mut deed: Deed = plant.deed_of(Role::Administrator).await;
    let (id, _) = acts::people::add(&mut deed, "second", "Second inspector", Role::Inspector)
        .await
        .unwrap();
    store::people::set_password(deed.db(), id, &hash)
        .await
        .unwrap();
    deed.commit("").await.unwrap();
    let mut visitor = plant.visitor();
    visitor
        .post(
            "/people/sign-in",
            &[("name", "second"), ("password", PASSWORD)],
        )
        .await
        .is(StatusCode::SEE_OTHER);
    (visitor, id)
}

async fn row(plant: &Plant, sign_in: &str) -> String {
    let mut db = plant.store.read().await.unwrap();
    let all = store::people::all(&mut db).await.unwrap();
    let one = all.into_iter().find(|one| one.sign_in == sign_in).unwrap();
    one.id.0.to_string()
}

#[tokio::test]
async fn a_named_witness_says_they_did_not_see_it_no_longer_has_it_to_witness_and_another_is_named()
{
    let plant = plant().await;
    let (mut second, second_id) = another(&plant).await;
    let mut technician = plant.technician().await;
    let number = tested(&mut technician, PASSED).await;
    let page = format!("/pressure-tests/{number}");
    let name = format!("{page}/witness/name");
    let decline = format!("{page}/witness/decline");
    let first = row(&plant, "inspector").await;
    technician
        .fill(&page, &name, &[("witness", &first)])
        .await
        .is(StatusCode::SEE_OTHER);
    technician
        .get(&page)
        .await
        .says("Test inspector is named as the witness, by Test technician on 2 Mar 2026, 09:00");
    let mut inspector = plant.inspector().await;
    inspector
        .get("/pressure-tests/inspect")
        .await
        .says("Test inspector is named");
    // A reason and the password, and what was typed stays.
    let refused = inspector
        .fill(&page, &decline, &[("reason", " "), ("password", PASSWORD)])
        .await;
    refused
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Say why in 3 to 500 characters");
    let refused = inspector
        .fill(
            &page,
            &decline,
            &[("reason", "called to another gauge"), ("password", "wrong")],
        )
        .await;
    refused.is(StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(refused.field("reason"), "called to another gauge");
    // The message stands where it was typed, and not under the opposite statement.
    assert!(
        refused.text.contains("id=\"decline-password-wrong\"")
            && !refused.text.contains("id=\"password-wrong\"")
    );
    let fields = [
        ("reason", "called to another gauge"),
        ("password", PASSWORD),
    ];
    inspector
        .fill(&page, &decline, &fields)
        .await
        .is(StatusCode::SEE_OTHER);
    let shown = technician.get(&page).await;
    shown
        .says("Test inspector did not see this test : called to another gauge")
        .does_not_say("is named as the witness");
    // It waits for somebody else now, who is told.
    inspector
        .get("/pressure-tests/inspect")
        .await
        .says("Nothing waits for an inspector")
        .does_not_say(&number);
    second
        .get("/pressure-tests/inspect")
        .await
        .says(&number)
        .says("Test inspector did not see it");
    // It is not certified as witnessed, and who did not see it does not witness it after all.
    signs(&mut inspector, &number, "certificate")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Nobody witnessed this test yet");
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("You said that you did not see this test");
    technician
        .fill("/people/password", &name, &[("witness", &first)])
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("Test inspector did not see this test; name another");
    let other = second_id.0.to_string();
    technician
        .fill(&page, &name, &[("witness", &other)])
        .await
        .is(StatusCode::SEE_OTHER);
    technician
        .get(&page)
        .await
        .says("Second inspector is named as the witness");
    signs(&mut second, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    // Witnessed, it still shows who did not see it.
    technician
        .get(&page)
        .await
        .says("Witnessed by Second inspector")
        .says("Test inspector did not see this test");
    signs(&mut inspector, &number, "certificate")
        .await
        .is(StatusCode::SEE_OTHER);
    sound(&plant).await;
}

#[tokio::test]
async fn neither_the_tester_nor_anybody_but_an_inspector_is_named_or_declines() {
    let plant = plant().await;
    let mut inspector = plant.inspector().await;
    let number = tested(&mut inspector, PASSED).await;
    let page = format!("/pressure-tests/{number}");
    let name = format!("{page}/witness/name");
    for (sign_in, words) in [
        ("inspector", "The witness is another person than the tester"),
        ("engineer", "A test is witnessed by an inspector"),
    ] {
        let one = row(&plant, sign_in).await;
        inspector
            .fill("/people/password", &name, &[("witness", &one)])
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says(words);
    }
    inspector
        .fill("/people/password", &name, &[("witness", "")])
        .await
        .says("Choose an inspector");
    let fields = [("reason", "was not there"), ("password", PASSWORD)];
    inspector
        .fill(
            "/people/password",
            &format!("{page}/witness/decline"),
            &fields,
        )
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("You made this test yourself");
    for role in [Role::Technician, Role::Storekeeper, Role::Engineer] {
        plant
            .signed_in(role)
            .await
            .post(&format!("{page}/witness/decline"), &[])
            .await
            .is(StatusCode::FORBIDDEN);
    }
}

#[tokio::test]
async fn what_was_said_of_a_witness_is_said_once_and_not_of_a_witnessed_test() {
    let plant = plant().await;
    let (mut second, second_id) = another(&plant).await;
    let number = tested(&mut plant.technician().await, PASSED).await;
    let page = format!("/pressure-tests/{number}");
    let decline = format!("{page}/witness/decline");
    let fields = [("reason", "was not there"), ("password", PASSWORD)];
    let key = second.get("/people/password").await.field("key");
    let all = [&[("key", key.as_str())][..], &fields].concat();
    for _ in 0..3 {
        assert_eq!(second.post(&decline, &all).await.goes_to(), page);
    }
    second
        .fill("/people/password", &decline, &fields)
        .await
        .is(StatusCode::UNPROCESSABLE_ENTITY)
        .says("You said already that you did not see this test");
    let mut inspector = plant.inspector().await;
    signs(&mut inspector, &number, "witness")
        .await
        .is(StatusCode::SEE_OTHER);
    let other = second_id.0.to_string();
    for (to, fields) in [
        ("witness/decline", &fields[..]),
        ("witness/name", &[("witness", other.as_str())][..]),
    ] {
        inspector
            .fill("/people/password", &format!("{page}/{to}"), fields)
            .await
            .is(StatusCode::UNPROCESSABLE_ENTITY)
            .says("Test inspector witnessed this test already");
    }
    sound(&plant).await;
}
