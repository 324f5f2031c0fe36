//! Who saw a test: naming the inspector who is to say so, saying so, and saying that one did not see it.
//! What a certificate needs of a witness is decided in `certify.rs`.

use serde_json::json;

use super::{found, inspector, subject};
use crate::acts::{Deed, Result};
use crate::record::person::Role;
use crate::record::pressure_test::PressureTest;
use crate::record::{PersonId, Refusal};
use crate::store;

/// Notes that an inspector saw the test.
///
/// # Errors
/// Refuses the tester themself, anybody but an inspector, a second witness, and whoever said that they
/// did not see it.
pub async fn witness(deed: &mut Deed, number: &str) -> Result<()> {
    let test = found(deed, number).await?;
    let person = inspector(deed, "A test is witnessed by an inspector")?;
    if test.made_by(person) {
        let words = "You made this test yourself; the witness is another person than the tester";
        return Err(Refusal::not_now(words).into());
    }
    if let Some((name, _)) = &test.witness {
        return Err(Refusal::not_now(format!("{name} witnessed this test already")).into());
    }
    if store::witnesses::declined(deed.db(), test.id, person).await? {
        let words = "You said that you did not see this test; another inspector witnesses it";
        return Err(Refusal::not_now(words).into());
    }
    let now = deed.now();
    store::pressure_tests::add_witness(deed.db(), test.id, person, now).await?;
    deed.record(
        "witnessed",
        &subject(&test.number),
        Some(test.gauge_id),
        json!({ "result": test.result }),
        &[("witnessing", test.id.0)],
    )
    .await
}

/// Names the inspector who is to witness a test. The last one named is the one who is waited for; any
/// other inspector who saw the test may still say so.
///
/// # Errors
/// Refuses a test that was witnessed, the tester, anybody but an inspector with an open account, and
/// whoever said that they did not see it.
pub async fn ask(deed: &mut Deed, number: &str, named: PersonId) -> Result<()> {
    let test = found(deed, number).await?;
    unwitnessed(&test)?;
    let by = deed.person()?;
    let refuse = |words: &str| Err(Refusal::field("witness", words).into());
    let Some(person) = store::people::by_id(deed.db(), named).await? else {
        return refuse("Choose an inspector");
    };
    if person.closed || person.role != Role::Inspector {
        return refuse("A test is witnessed by an inspector");
    }
    if test.made_by(person.id) {
        return refuse("The witness is another person than the tester");
    }
    if store::witnesses::declined(deed.db(), test.id, named).await? {
        let words = format!("{} did not see this test; name another", person.name);
        return Err(Refusal::field("witness", words).into());
    }
    let now = deed.now();
    let row = store::witnesses::ask(deed.db(), test.id, (named, by), now).await?;
    deed.record(
        "named the witness of",
        &subject(&test.number),
        Some(test.gauge_id),
        json!({ "witness": person.name }),
        &[("witness_asked", row)],
    )
    .await
}

/// Notes that an inspector did not see a test, with the reason. They do not witness it any more; it waits
/// for another.
///
/// # Errors
/// Refuses the tester, anybody but an inspector, a missing reason, a test that was witnessed, and saying
/// it twice.
pub async fn decline(deed: &mut Deed, number: &str, reason: &str) -> Result<()> {
    let test = found(deed, number).await?;
    let person = inspector(deed, "A test is witnessed by an inspector")?;
    if test.made_by(person) {
        let words = "You made this test yourself; nobody asks you whether you saw it";
        return Err(Refusal::not_now(words).into());
    }
    unwitnessed(&test)?;
    let reason = reason.trim();
    if !(3..=500).contains(&reason.chars().count()) {
        let words = "Say why in 3 to 500 characters, such as called away before the hold began";
        return Err(Refusal::field("reason", words).into());
    }
    if store::witnesses::declined(deed.db(), test.id, person).await? {
        let words = "You said already that you did not see this test";
        return Err(Refusal::not_now(words).into());
    }
    let now = deed.now();
    let row = store::witnesses::decline(deed.db(), test.id, (person, reason), now).await?;
    deed.record(
        "did not see",
        &subject(&test.number),
        Some(test.gauge_id),
        json!({ "reason": reason }),
        &[("witness_declined", row)],
    )
    .await
}

fn unwitnessed(test: &PressureTest) -> Result<()> {
    match &test.witness {
        Some((name, _)) => {
            Err(Refusal::not_now(format!("{name} witnessed this test already")).into())
        }
        None => Ok(()),
    }
}
