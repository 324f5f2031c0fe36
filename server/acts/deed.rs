//! The frame of every deed: the one writing transaction, who does it and when, the audit line with
//! its seals, the form's key and the due dates to refresh. What is done stands in the other files.

use std::collections::{BTreeSet, HashMap};

use serde_json::Value;
use sqlx::{Sqlite, SqliteConnection, Transaction};
use time::{Date, Duration};

use super::{Error, Result, needs, refresh_due, refresh_many};
use crate::record::audit::{self, Line};
use crate::record::moment::{Clock, Zone};
use crate::record::person::{Person, Role};
use crate::record::{GaugeId, Moment, PersonId, Refusal};
use crate::store::{self, Store};

/// How long a form key is remembered: longer than any page stays open in a shift.
const KEY_DAYS: i64 = 14;

/// Who does a deed.
#[derive(Debug, Clone)]
pub struct Who {
    /// Their row; nobody's for what the program does by itself.
    pub id: Option<PersonId>,
    /// Their name, as it will stand in the record.
    pub name: String,
    /// Their role.
    pub role: Option<Role>,
}

impl Who {
    /// The program itself.
    pub fn program() -> Self {
        Self {
            id: None,
            name: "gaugewright".to_owned(),
            role: None,
        }
    }
}

impl From<&Person> for Who {
    fn from(person: &Person) -> Self {
        Self {
            id: Some(person.id),
            name: person.name.clone(),
            role: Some(person.role),
        }
    }
}

/// A deed under way. Dropped without [`Deed::commit`], nothing of it remains.
pub struct Deed {
    tx: Transaction<'static, Sqlite>,
    store: Store,
    who: Who,
    now: Moment,
    zone: Zone,
    key: Option<String>,
    link: Option<(i64, [u8; 32])>,
    touched: BTreeSet<GaugeId>,
}

impl Deed {
    /// Begins a deed. A form's key that was answered before ends it here.
    ///
    /// # Errors
    /// [`Error::DoneBefore`] with the earlier answer; or the store's failure.
    pub async fn begin(
        store: &Store,
        clock: &Clock,
        who: Who,
        key: Option<String>,
    ) -> Result<Self> {
        let mut tx = store.write().await?;
        if let (Some(key), Some(person)) = (&key, who.id)
            && let Some(answer) = store::sessions::answer_to(&mut tx, key, person).await?
        {
            return Err(Error::DoneBefore(answer));
        }
        let zone = store::plant::find(&mut tx)
            .await?
            .map_or_else(Zone::utc, |plant| plant.zone);
        Ok(Self {
            tx,
            store: store.clone(),
            who,
            now: clock.now(),
            zone,
            key,
            link: None,
            touched: BTreeSet::new(),
        })
    }

    /// The connection to read and write on.
    pub fn db(&mut self) -> &mut SqliteConnection {
        &mut self.tx
    }

    /// Who does it.
    pub const fn who(&self) -> &Who {
        &self.who
    }

    /// Who does it, for records that need a signed-in person.
    ///
    /// # Errors
    /// Refuses when nobody is signed in.
    pub fn person(&self) -> Result<PersonId> {
        self.who
            .id
            .ok_or_else(|| Refusal::not_now("Sign in first: this record carries a name").into())
    }

    /// When it is done.
    pub const fn now(&self) -> Moment {
        self.now
    }

    /// The plant's date on which it is done.
    pub fn today(&self) -> Date {
        self.zone.date(self.now)
    }

    /// The plant's folder.
    pub fn folder(&self) -> &std::path::Path {
        self.store.folder()
    }

    /// The plant's time zone.
    pub const fn zone(&self) -> &Zone {
        &self.zone
    }

    /// Continues as somebody else at another moment: for building a plant's past in one transaction.
    pub fn continue_as(&mut self, who: Who, now: Moment) {
        self.who = who;
        self.now = now;
    }

    /// Remembers that a gauge's due date may have moved.
    pub fn touch(&mut self, gauge: GaugeId) {
        self.touched.insert(gauge);
    }

    /// Writes the audit line of what was done, with seals of the rows it wrote.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn record(
        &mut self,
        deed: &str,
        subject: &str,
        gauge: Option<GaugeId>,
        facts: Value,
        rows: &[(&'static str, i64)],
    ) -> Result<()> {
        let mut seals = Vec::with_capacity(rows.len());
        for (table, id) in rows {
            let canonical = self.store.canonical(table);
            let seal = store::audit::seal(&mut self.tx, table, canonical, *id).await?;
            let hash = seal.map_or_else(|| audit::GONE.to_owned(), |seal| seal.sha256);
            seals.push(Value::String(format!("{table}/{id}/{hash}")));
        }
        let (line, hash) = self
            .chained(deed, subject, gauge, sealed(facts, seals))
            .await?;
        store::audit::add(&mut self.tx, &line, &hash).await?;
        Ok(())
    }

    /// Writes one audit line for many rows of two tables, with a seal of each.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn record_rows(
        &mut self,
        deed: &str,
        subject: &str,
        first: (&'static str, &[i64]),
        second: (&'static str, &[i64]),
    ) -> Result<()> {
        let mut seals = Vec::new();
        for (table, ids) in [first, second] {
            let canonical = self.store.canonical(table);
            let some = store::audit::seal_many(&mut self.tx, table, canonical, ids).await?;
            seals.extend(
                some.into_iter()
                    .map(|seal| Value::String(format!("{table}/{}/{}", seal.id, seal.sha256))),
            );
        }
        let facts = sealed(Value::Null, seals);
        let (line, hash) = self.chained(deed, subject, None, facts).await?;
        store::audit::add(&mut self.tx, &line, &hash).await?;
        Ok(())
    }

    /// The next line of the chain, not yet written.
    async fn chained(
        &mut self,
        deed: &str,
        subject: &str,
        gauge: Option<GaugeId>,
        facts: String,
    ) -> Result<(Line, [u8; 32])> {
        let (last, previous) = match self.link {
            Some(link) => link,
            None => store::audit::last_link(&mut self.tx).await?,
        };
        let line = Line {
            id: last + 1,
            at: self.now,
            person_id: self.who.id,
            who: self.who.name.clone(),
            deed: deed.to_owned(),
            subject: subject.to_owned(),
            gauge_id: gauge,
            facts,
        };
        let hash = line.hash(&previous);
        self.link = Some((line.id, hash));
        Ok((line, hash))
    }

    /// Writes an audit line for each of many gauges that were just taken in, each with the seals of
    /// its own rows: the lines [`Deed::record`] would write one by one, in a few statements.
    ///
    /// # Errors
    /// The store's failure.
    pub async fn record_many(&mut self, deed: &str, entries: Vec<GaugeEntry>) -> Result<()> {
        let mut seals: HashMap<i64, Vec<Value>> = HashMap::new();
        for table in ["gauge", "rating_point"] {
            let ids: Vec<i64> = entries
                .iter()
                .filter(|entry| table == "gauge" || entry.has_points)
                .map(|entry| entry.gauge.0)
                .collect();
            if ids.is_empty() {
                continue;
            }
            let canonical = self.store.canonical(table);
            for seal in store::audit::seal_many(&mut self.tx, table, canonical, &ids).await? {
                let text = format!("{table}/{}/{}", seal.id, seal.sha256);
                seals.entry(seal.id).or_default().push(Value::String(text));
            }
        }
        let mut lines = Vec::with_capacity(entries.len());
        for entry in entries {
            let own = seals.remove(&entry.gauge.0).unwrap_or_default();
            let facts = sealed(entry.facts, own);
            lines.push(
                self.chained(deed, &entry.subject, Some(entry.gauge), facts)
                    .await?,
            );
        }
        store::audit::add_many(&mut self.tx, &lines).await?;
        Ok(())
    }

    /// Refreshes the due dates the deed moved, keeps the form's answer and makes it all last.
    ///
    /// # Errors
    /// The store's failure; then nothing of the deed remains.
    pub async fn commit(mut self, answer: &str) -> Result<()> {
        let touched: Vec<GaugeId> = std::mem::take(&mut self.touched).into_iter().collect();
        match touched.as_slice() {
            [gauge] => refresh_due::of_gauge(&mut self.tx, *gauge).await?,
            gauges => refresh_many::of_gauges(&mut self.tx, gauges).await?,
        }
        let today = self.today();
        needs::refresh(&mut self.tx, today).await?;
        if let (Some(key), Some(person)) = (&self.key, self.who.id) {
            let forget = self.now.plus(-Duration::days(KEY_DAYS));
            store::sessions::answered(&mut self.tx, key, person, answer, (self.now, forget))
                .await?;
        }
        self.tx.commit().await.map_err(store::Error::from)?;
        Ok(())
    }
}

/// What an audit line of one among many gauges says.
#[derive(Debug)]
pub struct GaugeEntry {
    /// The gauge.
    pub gauge: GaugeId,
    /// How it is named in the chain.
    pub subject: String,
    /// Before and after.
    pub facts: Value,
    /// Whether rows of pressure-temperature points belong to it.
    pub has_points: bool,
}

/// The facts of a line with the seals of the rows it speaks of.
fn sealed(facts: Value, seals: Vec<Value>) -> String {
    let mut whole = match facts {
        Value::Object(map) => map,
        Value::Null => serde_json::Map::new(),
        other => serde_json::Map::from_iter([("about".to_owned(), other)]),
    };
    if !seals.is_empty() {
        whole.insert("seals".to_owned(), Value::Array(seals));
    }
    Value::Object(whole).to_string()
}

impl std::fmt::Debug for Deed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Deed")
            .field("who", &self.who)
            .field("now", &self.now)
            .finish_non_exhaustive()
    }
}
