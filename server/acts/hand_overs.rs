//! Handing a rebuild from one person to another, as between shifts, and taking it over.
//! It changes nothing of what may be recorded: everybody of the bench works on every open rebuild.

use serde_json::json;

use super::rebuilds::{loaded, subject};
use super::{Deed, Result};
use crate::record::person::Role;
use crate::record::{HandOverId, PersonId, RebuildId, Refusal};
use crate::store;

/// Hands an open rebuild to somebody else.
///
/// # Errors
/// Refuses a finished rebuild, oneself, somebody who does not work at the bench, and no word of what
/// the other has to know.
pub async fn hand_over(
    deed: &mut Deed,
    rebuild: RebuildId,
    to: PersonId,
    note: &str,
) -> Result<HandOverId> {
    let (rebuild, gauge, course) = loaded(deed, rebuild).await?;
    if rebuild.state.finished() {
        let words = format!(
            "This rebuild is {}; there is nothing to hand over",
            rebuild.state
        );
        return Err(Refusal::not_now(words).into());
    }
    let (person, now) = (deed.person()?, deed.now());
    if to == person {
        return Err(Refusal::field("to", "Choose somebody else than yourself").into());
    }
    let other = store::people::by_id(deed.db(), to).await?;
    let other = other.filter(|p| !p.closed && matches!(p.role, Role::Technician | Role::Engineer));
    let Some(other) = other else {
        return Err(Refusal::field("to", "Choose one: a technician or an engineer").into());
    };
    let note = note.trim();
    if !(3..=2000).contains(&note.chars().count()) {
        let words = "Say what the other has to know, in 3 to 2000 characters";
        return Err(Refusal::field("note", words).into());
    }
    let id = store::hand_overs::add(deed.db(), rebuild.id, (person, to), note, now).await?;
    let waits_for = course.waits_for(deed.today());
    deed.record(
        "handed over",
        &subject(&gauge, &rebuild),
        Some(gauge.id),
        json!({ "to": other.name, "note": note, "waits for": waits_for }),
        &[("hand_over", id.0)],
    )
    .await?;
    Ok(id)
}

/// Takes over what was handed to the person who is signed in.
///
/// # Errors
/// Refuses where nothing waits to be taken over by them.
pub async fn take_over(deed: &mut Deed, rebuild: RebuildId) -> Result<()> {
    let (rebuild, gauge, _) = loaded(deed, rebuild).await?;
    let (person, now) = (deed.person()?, deed.now());
    let all = store::hand_overs::of_rebuild(deed.db(), rebuild.id).await?;
    let waiting = all
        .last()
        .filter(|one| one.to_id == person && one.taken_at.is_none());
    let Some(one) = waiting else {
        return Err(
            Refusal::not_now("Nothing of this rebuild waits to be taken over by you").into(),
        );
    };
    if !store::hand_overs::take(deed.db(), one.id, now).await? {
        return Err(Refusal::not_now("You took it over already").into());
    }
    deed.record(
        "took over",
        &subject(&gauge, &rebuild),
        Some(gauge.id),
        json!({ "from": one.person }),
        &[("hand_over", one.id.0)],
    )
    .await
}
