//! The plant's signing key: made when there is none, changed for a new one, and handed to whoever
//! issues a certificate. The secret half is a file beside the register, readable by its owner alone.
//!
//! It is not in the database so that copies of the register can be looked at by people who must not
//! sign. Losing the file costs nothing but a new key: what was signed is checked with public halves.

use std::io::Write;
use std::path::{Path, PathBuf};

use serde_json::json;

use super::{Deed, Result, Who};
use crate::record::moment::Clock;
use crate::record::person::Role;
use crate::record::seal::{PlantKey, PublicKey};
use crate::record::{KeyId, Refusal};
use crate::store::{self, Store};

/// The file of the secret half, in the plant's folder.
pub const FILE: &str = "signing-key.pem";
/// A new key before the register knows it.
const NEXT: &str = "signing-key.pem.next";

/// The key a certificate is signed with now. Makes one where the plant has none, and where the file
/// is not the one the register expects (a folder put together from copies of different days).
///
/// # Errors
/// The file cannot be read or written; or the store's failure.
pub(super) async fn in_use(deed: &mut Deed) -> Result<(KeyId, PlantKey)> {
    let folder = deed.folder().to_owned();
    let known = store::keys::current(deed.db()).await?;
    let expected = known.as_ref().map(|(_, key)| key);
    if let (Some((id, _)), Some(key)) = (&known, read(&folder, FILE, expected)?) {
        return Ok((*id, key));
    }
    if let (Some((id, _)), Some(key)) = (&known, read(&folder, NEXT, expected)?) {
        // Cut off between the register and the file: the register had it first.
        put_in_place(&folder)?;
        return Ok((*id, key));
    }
    let reason = if known.is_some() {
        "The file of the key in use was not there, so a new key was made"
    } else {
        "Made when the register first needed a key"
    };
    let made = make(deed, reason).await?;
    put_in_place(&folder)?;
    Ok(made)
}

/// Makes sure that the plant has a key, at start.
///
/// # Errors
/// As [`in_use`].
pub async fn ready(store: &Store, clock: &Clock) -> Result<PublicKey> {
    let mut deed = Deed::begin(store, clock, Who::program(), None).await?;
    let (_, key) = in_use(&mut deed).await?;
    deed.commit("").await?;
    Ok(key.public())
}

/// Makes a new key that signs from now on. Call [`changed`] after the deed was committed.
///
/// # Errors
/// Refuses anybody but an administrator, and a missing reason.
pub async fn change(deed: &mut Deed, reason: &str) -> Result<PublicKey> {
    let who = deed.who();
    if who.id.is_some() && who.role != Some(Role::Administrator) {
        let words = "The plant's signing key is changed by an administrator";
        return Err(Refusal::not_now(words).into());
    }
    let reason = reason.trim();
    if !(3..=400).contains(&reason.chars().count()) {
        let words = "Say why in 3 to 400 characters; it stands in the list of keys";
        return Err(Refusal::field("reason", words).into());
    }
    let (_, key) = make(deed, reason).await?;
    Ok(key.public())
}

/// Puts the file of a changed key in its place, once the register has it.
///
/// # Errors
/// The folder cannot be written; the next signing tries again.
pub fn changed(store: &Store) -> Result<()> {
    put_in_place(store.folder())
}

/// Copies the file of the key beside a copy of the register, readable by its owner alone; nothing
/// where the folder has none.
///
/// # Errors
/// The file cannot be written, or is there already.
pub fn copy_beside(folder: &Path, copy: &Path) -> Result<Option<PathBuf>> {
    let Ok(text) = std::fs::read_to_string(folder.join(FILE)) else {
        return Ok(None);
    };
    let mut name = copy.as_os_str().to_owned();
    name.push(".");
    name.push(FILE);
    let to = PathBuf::from(name);
    let Some(key) = PlantKey::from_pem(&text) else {
        return Ok(None);
    };
    if to.exists() {
        let cause = std::io::Error::from(std::io::ErrorKind::AlreadyExists);
        return Err(failed("will not overwrite", to, cause).into());
    }
    write(&to, &key)?;
    Ok(Some(to))
}

async fn make(deed: &mut Deed, reason: &str) -> Result<(KeyId, PlantKey)> {
    let mut secret = [0_u8; 32];
    getrandom::fill(&mut secret).map_err(|error| {
        store::Error::Unreadable(format!("the system gives no random bytes: {error}"))
    })?;
    let key = PlantKey::of(&secret);
    write(&deed.folder().join(NEXT), &key)?;
    let public = key.public();
    let by = (deed.who().id, deed.now());
    let id = store::keys::add(deed.db(), &public, reason, by).await?;
    deed.record(
        "made",
        &format!("signing key {}", public.fingerprint),
        None,
        json!({ "public key": public.public_key, "reason": reason }),
        &[("signing_key", id.0)],
    )
    .await?;
    Ok((id, key))
}

fn read(folder: &Path, name: &str, expected: Option<&PublicKey>) -> Result<Option<PlantKey>> {
    let path = folder.join(name);
    let text = match std::fs::read_to_string(&path) {
        Ok(text) => text,
        Err(cause) if cause.kind() == std::io::ErrorKind::NotFound => return Ok(None),
        Err(cause) => return Err(failed("cannot read", path, cause).into()),
    };
    Ok(PlantKey::from_pem(&text).filter(|key| Some(&key.public()) == expected))
}

fn write(path: &Path, key: &PlantKey) -> Result<()> {
    let text = key
        .pem()
        .ok_or_else(|| store::Error::Unreadable("a key cannot be written down".to_owned()))?;
    let mut options = std::fs::File::options();
    options.create(true).truncate(true).write(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        options.mode(0o600);
    }
    options
        .open(path)
        .and_then(|mut file| {
            file.write_all(text.as_bytes())?;
            file.sync_all()
        })
        .map_err(|cause| failed("cannot write", path.to_owned(), cause))?;
    Ok(())
}

fn put_in_place(folder: &Path) -> Result<()> {
    let (next, place) = (folder.join(NEXT), folder.join(FILE));
    if !next.exists() {
        return Ok(());
    }
    std::fs::rename(&next, &place).map_err(|cause| failed("cannot write", place, cause))?;
    Ok(())
}

fn failed(what: &'static str, path: PathBuf, cause: std::io::Error) -> store::Error {
    store::Error::Folder {
        what,
        path: path.display().to_string(),
        cause,
    }
}
