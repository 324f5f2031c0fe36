//! Who is signed in, and what the frame of every page needs: person, plant, today, menu, form keys.
//! Access itself is enforced in `security.rs` from the table in `routes.rs`.

use std::sync::{Arc, OnceLock};

use axum::extract::{FromRef, FromRequestParts};
use axum::http::request::Parts;
use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;
use time::Date;

use super::answer::PageError;
use super::{App, address};
use crate::acts::people::Token;
use crate::acts::{Deed, Who};
use crate::record::Moment;
use crate::record::audit::hex;
use crate::record::moment::Zone;
use crate::record::person::{Person, Reads, Role};
use crate::record::plant::Plant;
use crate::store::{self, FormSecret};

/// The session a request came in, put there by the access check.
#[derive(Debug, Clone)]
pub struct Signed {
    /// Who.
    pub person: Person,
    /// The session's token.
    pub token: Token,
    /// What the register's form keys are made with.
    secret: FormSecret,
    /// The key of the form that came with the request, once it was read.
    pressed: Arc<OnceLock<String>>,
}

impl Signed {
    /// Somebody who is signed in, before a form of theirs was read.
    pub fn new(person: Person, token: Token, secret: FormSecret) -> Self {
        Self {
            person,
            token,
            secret,
            pressed: Arc::default(),
        }
    }

    /// A fresh key for a form of this person: random, and signed so that no other site can make one.
    /// It outlives the session, so that what was typed can be sent after signing in again.
    pub fn key(&self) -> String {
        let mut random = [0_u8; 12];
        let _ = getrandom::fill(&mut random);
        let random = hex(&random);
        let mark = self.mark(&random);
        format!("{random}.{mark}")
    }

    /// Whether a key was made for this person.
    pub fn owns(&self, key: &str) -> bool {
        key.split_once('.').is_some_and(|(random, mark)| {
            random.len() == 24 && constant_time_equal(self.mark(random).as_bytes(), mark.as_bytes())
        })
    }

    /// The same for a form that came with this request; its key is kept, so that a refusal can be
    /// answered as an earlier press of the same button was.
    pub fn takes(&self, key: &str) -> bool {
        let own = self.owns(key);
        if own {
            let _ = self.pressed.set(key.to_owned());
        }
        own
    }

    /// Where an earlier press of the same button led. What a form is read against may have changed by
    /// that very press (a lot that moved, a kit that has another number now), so every refusal of a form
    /// asks here before it is shown.
    ///
    /// # Errors
    /// The store's failure.
    pub(super) async fn led_to(&self, app: &App) -> store::Result<Option<String>> {
        let Some(key) = self.pressed.get() else {
            return Ok(None);
        };
        let mut db = app.store().read().await?;
        store::sessions::answer_to(&mut db, key, self.person.id).await
    }

    fn mark(&self, random: &str) -> String {
        let Ok(mut mac) = Hmac::<Sha256>::new_from_slice(self.secret.bytes()) else {
            return String::new();
        };
        mac.update(b"form");
        mac.update(&self.person.id.0.to_be_bytes());
        mac.update(random.as_bytes());
        hex(&mac.finalize().into_bytes())[..32].to_owned()
    }
}

/// Compares two secrets without telling by its time where they differ.
pub(super) fn constant_time_equal(a: &[u8], b: &[u8]) -> bool {
    a.len() == b.len()
        && a.iter()
            .zip(b)
            .fold(0, |different, (x, y)| different | (x ^ y))
            == 0
}

/// An entry of the menu.
#[derive(Debug, Clone, Copy)]
pub struct MenuEntry {
    /// Where it leads.
    pub address: &'static str,
    /// What it says.
    pub words: &'static str,
}

/// The menu, in its order; the last two are for those who settle things.
const MENU: &[(MenuEntry, &[Role])] = &[
    (
        MenuEntry {
            address: address::BOARD,
            words: "Board",
        },
        Role::ALL,
    ),
    (
        MenuEntry {
            address: address::GAUGES,
            words: "Gauges",
        },
        Role::ALL,
    ),
    (
        MenuEntry {
            address: address::DUE,
            words: "Due",
        },
        Role::ALL,
    ),
    (
        MenuEntry {
            address: address::BENCH,
            words: "Bench",
        },
        Role::ALL,
    ),
    (
        MenuEntry {
            address: address::WINDOWS,
            words: "Windows",
        },
        Role::ALL,
    ),
    (
        MenuEntry {
            address: address::STOREROOM,
            words: "Storeroom",
        },
        Role::ALL,
    ),
    (
        MenuEntry {
            address: address::INSTRUMENTS,
            words: "Instruments",
        },
        Role::ALL,
    ),
    (
        MenuEntry {
            address: address::PRESSURE_TESTS,
            words: "Tests",
        },
        Role::ALL,
    ),
    (
        MenuEntry {
            address: address::LIFE,
            words: "Life",
        },
        Role::ALL,
    ),
    (
        MenuEntry {
            address: address::WORKINGS,
            words: "Workings",
        },
        Role::ALL,
    ),
    (
        MenuEntry {
            address: address::PLANT,
            words: "Plant",
        },
        &[Role::Engineer, Role::Administrator],
    ),
    (
        MenuEntry {
            address: address::PEOPLE,
            words: "People",
        },
        &[Role::Administrator],
    ),
];

/// What the frame of a page needs.
#[derive(Debug, Clone)]
pub struct Chrome {
    /// The session.
    pub signed: Signed,
    /// The plant.
    pub plant: Plant,
    /// The plant's date.
    pub today: Date,
    /// The address asked for.
    pub path: String,
    app: App,
}

impl Chrome {
    /// Who is signed in.
    pub fn person(&self) -> &Person {
        &self.signed.person
    }

    /// In which units the person reads figures.
    pub fn reads(&self) -> Reads {
        self.signed.person.reads
    }

    /// The plant's zone.
    pub fn zone(&self) -> &Zone {
        &self.plant.zone
    }

    /// What the server's clock says.
    pub fn now(&self) -> Moment {
        self.app.clock().now()
    }

    /// A fresh key for a form.
    pub fn key(&self) -> String {
        self.signed.key()
    }

    /// Whether the person has one of these roles.
    pub fn may(&self, roles: &[Role]) -> bool {
        roles.contains(&self.signed.person.role)
    }

    /// Whether the person plans, corrects and settles: engineers and administrators.
    pub fn settles(&self) -> bool {
        self.may(&[Role::Engineer, Role::Administrator])
    }

    /// Whether the person plans rebuilds: engineers.
    pub fn plans(&self) -> bool {
        self.may(&[Role::Engineer])
    }

    /// Whether the person looks gauges over: technicians, inspectors and engineers.
    pub fn walks(&self) -> bool {
        self.may(&[Role::Technician, Role::Inspector, Role::Engineer])
    }

    /// Whether the person keeps the storeroom: storekeepers and engineers.
    pub fn keeps_store(&self) -> bool {
        self.may(&[Role::Storekeeper, Role::Engineer])
    }

    /// The menu for this person, with whether an entry is the page's own part.
    pub fn menu(&self) -> Vec<(MenuEntry, bool)> {
        MENU.iter()
            .filter(|(_, roles)| self.may(roles))
            .map(|(entry, _)| {
                let within =
                    |part: &str| self.path == part || self.path.starts_with(&format!("{part}/"));
                let here = match entry.address {
                    address::BOARD => self.path == address::BOARD,
                    address::DUE => within(address::DUE) || within(address::CALENDAR),
                    address::STOREROOM => {
                        within(address::STOREROOM)
                            || within(address::NEEDS)
                            || within(address::ORDERS)
                            || within(address::LABELS)
                    }
                    address::INSTRUMENTS => {
                        within(address::INSTRUMENTS) || within(address::RECALLS)
                    }
                    part => within(part),
                };
                (*entry, here)
            })
            .collect()
    }

    /// The address of a file of the product.
    pub fn asset(&self, name: &str) -> String {
        super::assets::address(name)
    }

    /// Begins a deed of this person, from a form with this key.
    ///
    /// # Errors
    /// The store's failure, or that the form was posted before.
    pub async fn deed(&self, key: &str) -> crate::acts::Result<Deed> {
        Deed::begin(
            self.app.store(),
            self.app.clock(),
            Who::from(self.person()),
            Some(key.to_owned()),
        )
        .await
    }
}

impl<S> FromRequestParts<S> for Chrome
where
    App: FromRef<S>,
    S: Send + Sync,
{
    type Rejection = PageError;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, PageError> {
        let app = App::from_ref(state);
        let signed = parts
            .extensions
            .get::<Signed>()
            .cloned()
            .ok_or_else(|| PageError::SeeOther(address::SIGN_IN.to_owned()))?;
        let mut db = app.store().read().await?;
        let plant = store::plant::find(&mut db)
            .await?
            .ok_or_else(|| PageError::BadForm("the plant has no name yet".to_owned()))?;
        let today = plant.zone.date(app.clock().now());
        Ok(Self {
            signed,
            plant,
            today,
            path: parts.uri.path().to_owned(),
            app,
        })
    }
}
