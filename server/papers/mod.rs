//! Papers made from records: the certificate, what it is typeset with, and telling whether a paper
//! somebody holds is the one that was issued.

pub mod attached;
pub mod bench_sheet;
pub mod bundle;
pub mod certificate;
pub mod check;
pub mod ics;
pub mod labels;
pub mod marked;
pub mod order;
pub mod qr;
pub mod table;
pub mod typeset;
pub mod window_pack;
