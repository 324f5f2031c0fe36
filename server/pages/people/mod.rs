//! People: signing in and out for everybody; accounts for the administrator.
//! Roles are enforced from the table of routes.

pub mod sign_in;
