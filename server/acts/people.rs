//! Signing in and out, and the administrator's deeds: people, roles, one-time addresses.
//! Passwords are hashed with argon2id here; nothing else of the product sees them.

use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};
use serde_json::json;
use sha2::{Digest, Sha256};
use sqlx::SqliteConnection;
use time::Duration;
use tokio::sync::{Semaphore, SemaphorePermit};

use super::{Deed, Error, Result, Who};
use crate::record::moment::Clock;
use crate::record::person::{self, Person, Reads, Role};
use crate::record::plant::Plant;
use crate::record::{Moment, PersonId, Refusal};
use crate::store::people::OneTime;
use crate::store::sessions::Asked;
use crate::store::{self, Store};

/// A session lasts this long after it was last used.
pub const SESSION: Duration = Duration::hours(12);
/// However much it is used, a session ends this long after signing in: a stolen one does not last.
pub const SESSION_AT_MOST: Duration = Duration::days(7);
/// Attempts within this time are counted together.
const ATTEMPT_WINDOW: Duration = Duration::minutes(15);
/// So many failed attempts are let through before a pause.
const ATTEMPTS: i64 = 8;
/// A one-time address works for this long.
pub const ADDRESS_LASTS: Duration = Duration::days(3);
/// Passwords hashed at a time: each takes 19 MiB, and anybody may ask for one to be compared.
const HASHED_AT_A_TIME: usize = 2;
/// How long somebody waits for a turn before they are told to try again.
const TURN_WITHIN: std::time::Duration = std::time::Duration::from_secs(10);
/// The longest password looked at, bytes: two hundred characters of any script.
const LONGEST_PASSWORD: usize = 800;

/// The turns of hashing, for the whole process, since it is the process's memory they take.
static TURNS: Semaphore = Semaphore::const_new(HASHED_AT_A_TIME);

/// A secret that is handed out once and kept only as its hash.
#[derive(Debug, Clone)]
pub struct Token(String);

impl Token {
    /// A new secret of 256 random bits.
    ///
    /// # Errors
    /// Fails when the system gives no random numbers.
    pub fn new() -> Result<Self> {
        let mut bytes = [0_u8; 32];
        getrandom::fill(&mut bytes).map_err(|e| {
            Error::Store(store::Error::Unreadable(format!("no random numbers: {e}")))
        })?;
        Ok(Self(crate::record::audit::hex(&bytes)))
    }

    /// A secret as it came back.
    pub fn from_text(text: &str) -> Self {
        Self(text.to_owned())
    }

    /// The secret itself, to be handed out.
    pub fn text(&self) -> &str {
        &self.0
    }

    /// What is kept of it.
    pub fn hash(&self) -> [u8; 32] {
        Sha256::digest(self.0.as_bytes()).into()
    }
}

/// OWASP's and RFC 9106's second recommended setting: 19 MiB, two passes, one lane.
fn argon() -> Argon2<'static> {
    let params = Params::new(19 * 1024, 2, 1, None).unwrap_or_default();
    Argon2::new(Algorithm::Argon2id, Version::V0x13, params)
}

/// Hashes a password. Slow on purpose, so it runs off the async threads and takes a turn.
///
/// # Errors
/// Fails when the system gives no random numbers, and when too many are waiting.
pub async fn hash_password(password: String) -> Result<String> {
    let turn = turn(&TURNS, TURN_WITHIN).await?;
    let work = move || {
        argon()
            .hash_password(password.as_bytes())
            .map(|hash| hash.to_string())
            .map_err(|e| Error::Store(store::Error::Unreadable(format!("password hash: {e}"))))
    };
    in_turn(turn, work).await?.1
}

/// Whether a password is the one whose hash is kept; gives the turn back with the answer.
async fn verify_password(
    turn: Turn,
    password: String,
    kept: Option<String>,
) -> Result<(Turn, bool)> {
    let work = move || -> Result<bool> {
        // Somebody unknown costs the same time as a wrong password.
        let Some(kept) = kept else {
            let _ = argon().hash_password(password.as_bytes());
            return Ok(false);
        };
        let hash = PasswordHash::new(&kept)
            .map_err(|e| Error::Store(store::Error::Unreadable(format!("password hash: {e}"))))?;
        Ok(argon().verify_password(password.as_bytes(), &hash).is_ok())
    };
    let (turn, right) = in_turn(turn, work).await?;
    Ok((turn, right?))
}

/// A turn of hashing.
type Turn = SemaphorePermit<'static>;

/// Waits for a turn.
async fn turn(turns: &'static Semaphore, within: std::time::Duration) -> Result<Turn> {
    match tokio::time::timeout(within, turns.acquire()).await {
        Ok(Ok(turn)) => Ok(turn),
        _ => Err(Error::Busy),
    }
}

/// Works in a turn and gives it back. The turn goes along with the work: a request that is given up
/// does not end the hashing it began.
async fn in_turn<T: Send + 'static>(
    turn: Turn,
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<(Turn, T)> {
    tokio::task::spawn_blocking(move || {
        let done = work();
        (turn, done)
    })
    .await
    .map_err(|e| Error::Store(store::Error::Unreadable(e.to_string())))
}

/// Signs somebody in and returns the token of the new session.
///
/// # Errors
/// One message for a wrong name, a wrong password and a closed account; another, with the time to
/// wait, after too many attempts.
pub async fn sign_in(
    store: &Store,
    clock: &Clock,
    (name, at): (&str, Asked),
    password: String,
) -> Result<(Token, Person)> {
    let now = clock.now();
    let wrong = || Refusal::field("password", "The name or the password is not right");
    // What nobody can be called is answered before anything is asked or written.
    let Ok(name) = person::sign_in_name(name) else {
        return Err(wrong().into());
    };
    let Some(person) = proved(store, now, (&name, at), password).await? else {
        return Err(wrong().into());
    };
    let mut tx = store.write().await?;
    let token = Token::new()?;
    store::sessions::begin(&mut tx, &token.hash(), person.id, (now, now.plus(SESSION))).await?;
    store::sessions::forgive(&mut tx, (&name, at)).await?;
    tx.commit().await.map_err(store::Error::from)?;
    tracing::info!(person = person.id.0, "somebody signed in");
    Ok((token, person))
}

/// Who signs in under a name with this password; nobody where either is wrong or the account is
/// closed. Wrong attempts are counted within the turn of hashing, so that many at once are hardly more
/// than the same number one by one; after too many even the right password waits. Those at the door
/// are counted apart from those of a browser this person has used before and of somebody signed in:
/// nobody outside can keep an inspector from coming in or from signing.
async fn proved(
    store: &Store,
    now: Moment,
    (name, asked): (&str, Asked),
    password: String,
) -> Result<Option<Person>> {
    let turn = turn(&TURNS, TURN_WITHIN).await?;
    let found = {
        let mut db = store.read().await?;
        let since = now.plus(-ATTEMPT_WINDOW);
        let (failed, latest) = store::sessions::failed_since(&mut db, (name, asked), since).await?;
        not_too_often(failed, latest, now)?;
        store::people::by_sign_in(&mut db, name).await?
    };
    let kept = found
        .as_ref()
        .filter(|(person, _)| !person.closed && password.len() <= LONGEST_PASSWORD)
        .and_then(|(_, hash)| hash.clone());
    let (turn, right) = verify_password(turn, password, kept).await?;
    if right {
        return Ok(found.map(|(person, _)| person));
    }
    let mut tx = store.write().await?;
    let forget = now.plus(-Duration::days(1));
    store::sessions::failed(&mut tx, (name, asked), now, forget).await?;
    tx.commit().await.map_err(store::Error::from)?;
    drop(turn);
    // A name nobody has may be a password typed into the wrong field, so it is not logged.
    tracing::warn!(
        person = found.map(|(person, _)| person.id.0),
        asked = asked.word(),
        "a wrong name or password"
    );
    Ok(None)
}

/// Asks somebody who is signed in for their password again, before they sign or change it.
///
/// # Errors
/// Refuses a wrong password beside the field, and too many attempts.
pub async fn sign_again(
    store: &Store,
    clock: &Clock,
    person: &Person,
    field: &str,
    password: String,
) -> Result<()> {
    let name = (person.sign_in.as_str(), Asked::SignedIn);
    match proved(store, clock.now(), name, password).await? {
        Some(found) if found.id == person.id => Ok(()),
        _ => Err(Refusal::field(field, "This is not your password").into()),
    }
}

/// Pauses somebody after too many failed attempts.
fn not_too_often(failed: i64, latest: Option<Moment>, now: Moment) -> Result<()> {
    if failed < ATTEMPTS {
        return Ok(());
    }
    let free = latest.unwrap_or(now).plus(ATTEMPT_WINDOW);
    let minutes = ((free.at() - now.at()).whole_seconds() + 59) / 60;
    Err(Refusal::not_now(format!(
        "Too many attempts under this name. Wait {minutes} minutes, or ask the administrator for a new password"
    ))
    .into())
}

/// Asks somebody who is signed in for the password again, as a signature under a record.
///
/// # Errors
/// Refuses a wrong password, beside the field `password`, and too many attempts like signing in.
pub async fn confirm(
    store: &Store,
    clock: &Clock,
    person: &Person,
    password: String,
) -> Result<()> {
    let name = (person.sign_in.as_str(), Asked::SignedIn);
    match proved(store, clock.now(), name, password).await? {
        Some(found) if found.id == person.id => Ok(()),
        _ => {
            Err(Refusal::field("password", "This is not your password; nothing was signed").into())
        }
    }
}

/// Ends a session.
///
/// # Errors
/// The store's failure.
pub async fn sign_out(store: &Store, token: &Token) -> Result<()> {
    let mut tx = store.write().await?;
    store::sessions::end(&mut tx, &token.hash()).await?;
    tx.commit().await.map_err(store::Error::from)?;
    Ok(())
}

/// Moves the end of a session that is in use, unless somebody is writing: reading a page never
/// waits for a long deed, and the next page notes it as well. Answers until when the session lasts,
/// or nothing where it was not moved.
///
/// # Errors
/// The store's failure.
pub async fn keep_session(
    store: &Store,
    token: &Token,
    (started, now): (Moment, Moment),
) -> Result<Option<Moment>> {
    let until = now.plus(SESSION).min(started.plus(SESSION_AT_MOST));
    let Some(mut db) = store.write_soon().await? else {
        return Ok(None);
    };
    store::sessions::seen(&mut db, &token.hash(), now, until).await?;
    Ok(Some(until))
}

/// Adds somebody and makes the one-time address that sets their password.
///
/// # Errors
/// Refuses a sign-in name that is taken or malformed.
pub async fn add(
    deed: &mut Deed,
    sign_in: &str,
    name: &str,
    role: Role,
) -> Result<(PersonId, Token)> {
    let sign_in = person::sign_in_name(sign_in).map_err(|m| Refusal::field("sign_in", m))?;
    let name = name.trim();
    if name.is_empty() || name.chars().count() > 120 {
        return Err(Refusal::field("name", "Write the name as it should stand on records").into());
    }
    if store::people::by_sign_in(deed.db(), &sign_in)
        .await?
        .is_some()
    {
        return Err(Refusal::field("sign_in", "Somebody signs in under this name already").into());
    }
    let id = store::people::add(deed.db(), &sign_in, name, role).await?;
    deed.record(
        "added",
        &format!("person {sign_in}"),
        None,
        json!({ "name": name, "role": role }),
        &[("person", id.0)],
    )
    .await?;
    let token = one_time(deed, Some(id), "set-password").await?;
    Ok((id, token))
}

/// Makes a one-time address.
async fn one_time(deed: &mut Deed, person: Option<PersonId>, purpose: &str) -> Result<Token> {
    let token = Token::new()?;
    let now = deed.now();
    store::people::add_one_time(
        deed.db(),
        &token.hash(),
        purpose,
        person,
        (now, now.plus(ADDRESS_LASTS)),
    )
    .await?;
    Ok(token)
}

/// Makes the address through which the first administrator comes in; nothing if there is one.
///
/// # Errors
/// The store's failure.
pub async fn first_address(store: &Store, clock: &Clock) -> Result<Option<Token>> {
    let mut deed = Deed::begin(store, clock, Who::program(), None).await?;
    if store::people::administrators(deed.db()).await? > 0 {
        return Ok(None);
    }
    let token = one_time(&mut deed, None, "first-administrator").await?;
    deed.commit("").await?;
    Ok(Some(token))
}

/// Whether the address of a first administrator still works: it was not used, has not run out, and
/// there is no administrator yet.
///
/// # Errors
/// The store's failure.
pub async fn first_works(db: &mut SqliteConnection, token: &Token, now: Moment) -> Result<bool> {
    let found = store::people::one_time(db, &token.hash()).await?;
    Ok(works(found.as_ref(), "first-administrator", now)
        && store::people::administrators(db).await? == 0)
}

fn works(found: Option<&OneTime>, purpose: &str, now: Moment) -> bool {
    found.is_some_and(|one| one.purpose == purpose && one.used_at.is_none() && one.expires_at > now)
}

/// Names the plant and its first administrator with their password; the address is used up.
///
/// # Errors
/// Refuses an address that does not work any more, and a name or password that will not do.
pub async fn first(
    deed: &mut Deed,
    token: &Token,
    settings: &Plant,
    (sign_in, name): (&str, &str),
    (password, hash): (&str, &str),
) -> Result<Person> {
    let now = deed.now();
    if !first_works(deed.db(), token, now).await?
        || !store::people::use_one_time(deed.db(), &token.hash(), now).await?
    {
        return Err(Refusal::not_now(GONE).into());
    }
    person::password(password, sign_in).map_err(|m| Refusal::field("password", m))?;
    let (id, _) = add(deed, sign_in, name, Role::Administrator).await?;
    store::people::set_password(deed.db(), id, hash).await?;
    store::people::drop_one_time(deed.db(), id).await?;
    let Some(person) = store::people::by_id(deed.db(), id).await? else {
        return Err(Refusal::Missing("person").into());
    };
    deed.continue_as(Who::from(&person), now);
    super::plant::settle(deed, settings).await?;
    Ok(person)
}

/// Makes a one-time address for somebody who needs a new password; the old one and their sessions
/// end, since a password is asked for anew because it was forgotten or is known to somebody else.
///
/// # Errors
/// Refuses for a closed account, and for one's own: whoever is signed in changes their password.
pub async fn reset(deed: &mut Deed, id: PersonId) -> Result<Token> {
    let Some(person) = store::people::by_id(deed.db(), id).await? else {
        return Err(Refusal::Missing("person").into());
    };
    if person.closed {
        return Err(Refusal::not_now("This account is closed; open it again first").into());
    }
    if deed.who().id == Some(id) {
        let words = "This is your own account; change your password under your name";
        return Err(Refusal::not_now(words).into());
    }
    store::sessions::end_all(deed.db(), id).await?;
    store::people::clear_password(deed.db(), id).await?;
    deed.record(
        "made a one-time address for",
        &format!("person {}", person.sign_in),
        None,
        json!({}),
        &[],
    )
    .await?;
    one_time(deed, Some(id), "set-password").await
}

/// Changes somebody's name and role, closes or opens their account. A closed account's sessions end.
///
/// # Errors
/// Refuses to take the last administrator away, and a change made meanwhile by somebody else.
pub async fn change(deed: &mut Deed, wanted: &Person) -> Result<()> {
    let Some(before) = store::people::by_id(deed.db(), wanted.id).await? else {
        return Err(Refusal::Missing("person").into());
    };
    let loses = before.role == Role::Administrator
        && !before.closed
        && (wanted.role != Role::Administrator || wanted.closed);
    if loses && store::people::administrators(deed.db()).await? <= 1 {
        return Err(Refusal::not_now(
            "This is the last administrator; make somebody else administrator first",
        )
        .into());
    }
    let now = deed.now();
    let closed_at = wanted.closed.then_some(now);
    if !store::people::change(deed.db(), wanted, closed_at, now).await? {
        let by = store::audit::last_hand(deed.db(), &format!("person {}", before.sign_in)).await?;
        return Err(Refusal::Changed {
            what: before.name,
            by,
        }
        .into());
    }
    if wanted.closed || wanted.role != before.role {
        store::sessions::end_all(deed.db(), wanted.id).await?;
    }
    if wanted.closed {
        store::people::drop_one_time(deed.db(), wanted.id).await?;
    }
    let facts = json!({
        "before": { "name": before.name, "role": before.role, "closed": before.closed },
        "after": { "name": wanted.name, "role": wanted.role, "closed": wanted.closed },
    });
    deed.record(
        "changed",
        &format!("person {}", before.sign_in),
        None,
        facts,
        &[("person", wanted.id.0)],
    )
    .await
}

/// What is said of a one-time address that does not work any more.
pub const GONE: &str =
    "This address was used before or ran out; ask the administrator for a new one";

/// Whose password a one-time address sets, while it works.
///
/// # Errors
/// The store's failure.
pub async fn whose(
    db: &mut SqliteConnection,
    token: &Token,
    now: Moment,
) -> Result<Option<Person>> {
    let found = store::people::one_time(db, &token.hash()).await?;
    if !works(found.as_ref(), "set-password", now) {
        return Ok(None);
    }
    match found.and_then(|one| one.person_id) {
        Some(id) => Ok(store::people::by_id(db, id).await?.filter(|p| !p.closed)),
        None => Ok(None),
    }
}

/// Changes the password of the person who does the deed, who gave the old one; their other
/// sessions end, the one they are in stays.
///
/// # Errors
/// Refuses a password that will not do.
pub async fn change_own_password(
    deed: &mut Deed,
    kept: &Token,
    person: &Person,
    (password, hash): (&str, &str),
) -> Result<()> {
    person::password(password, &person.sign_in).map_err(|m| Refusal::field("password", m))?;
    store::people::set_password(deed.db(), person.id, hash).await?;
    store::people::drop_one_time(deed.db(), person.id).await?;
    store::sessions::end_others(deed.db(), person.id, &kept.hash()).await?;
    deed.record(
        "changed the own password of",
        &format!("person {}", person.sign_in),
        None,
        json!({}),
        &[],
    )
    .await
}

/// Keeps in which units the person who does the deed reads figures.
///
/// # Errors
/// The store's failure.
pub async fn read_in(deed: &mut Deed, person: &Person, reads: Reads) -> Result<()> {
    store::people::set_reads(deed.db(), person.id, reads).await?;
    deed.record(
        "chose how figures are read by",
        &format!("person {}", person.sign_in),
        None,
        json!({ "before": person.reads, "after": reads }),
        &[("person", person.id.0)],
    )
    .await
}

/// Sets a password through a one-time address, which is used up; other sessions end.
///
/// # Errors
/// Refuses an address that was used or ran out, and a password that will not do.
pub async fn set_password(
    deed: &mut Deed,
    token: &Token,
    password: &str,
    hash: &str,
) -> Result<Person> {
    let gone = || Refusal::not_now(GONE);
    let found = store::people::one_time(deed.db(), &token.hash())
        .await?
        .ok_or_else(gone)?;
    let id = found.person_id.ok_or_else(gone)?;
    let person = store::people::by_id(deed.db(), id)
        .await?
        .filter(|p| !p.closed)
        .ok_or_else(gone)?;
    person::password(password, &person.sign_in).map_err(|m| Refusal::field("password", m))?;
    let now = deed.now();
    if !store::people::use_one_time(deed.db(), &token.hash(), now).await? {
        return Err(gone().into());
    }
    store::people::set_password(deed.db(), id, hash).await?;
    store::sessions::end_all(deed.db(), id).await?;
    for asked in Asked::ALL {
        store::sessions::forgive(deed.db(), (&person.sign_in, asked)).await?;
    }
    deed.continue_as(Who::from(&person), now);
    deed.record(
        "set a password for",
        &format!("person {}", person.sign_in),
        None,
        json!({}),
        &[],
    )
    .await?;
    Ok(person)
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};
    use std::time::Duration;

    use super::*;

    static FEW: Semaphore = Semaphore::const_new(HASHED_AT_A_TIME);
    static NOW: AtomicUsize = AtomicUsize::new(0);
    static MOST: AtomicUsize = AtomicUsize::new(0);

    #[tokio::test]
    async fn passwords_are_hashed_a_few_at_a_time_and_whoever_waits_long_is_told() {
        let hashing = || {
            let now = NOW.fetch_add(1, Ordering::SeqCst) + 1;
            MOST.fetch_max(now, Ordering::SeqCst);
            std::thread::sleep(Duration::from_millis(20));
            NOW.fetch_sub(1, Ordering::SeqCst);
        };
        let many: Vec<_> = (0..12)
            .map(|_| {
                tokio::spawn(async move {
                    let turn = turn(&FEW, Duration::from_mins(1)).await?;
                    in_turn(turn, hashing).await.map(|_| ())
                })
            })
            .collect();
        for one in many {
            assert!(matches!(one.await, Ok(Ok(()))));
        }
        assert_eq!(MOST.load(Ordering::SeqCst), HASHED_AT_A_TIME);
        let held = FEW.acquire_many(2).await;
        let late = turn(&FEW, Duration::from_millis(10)).await;
        assert!(matches!(late, Err(Error::Busy)));
        drop(held);
    }
}
