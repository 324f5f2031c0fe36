//! Looking for a thing by any number or word, from the field in the frame of every page.
//! Lists with filters of their own stand in their parts.

pub mod find;
