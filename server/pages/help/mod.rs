//! Help that stands apart from the pages it helps with: the words of the trade and the keys.
//! What a field asks for is said beside the field.

pub mod keys;
pub mod words;
