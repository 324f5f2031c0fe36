//! Papers made from records: the certificate and what it is typeset with.
//! Nothing here asks the database; the record comes in whole.

pub mod bench_sheet;
pub mod certificate;
pub mod ics;
pub mod labels;
pub mod order;
pub mod table;
pub mod typeset;
pub mod window_pack;
