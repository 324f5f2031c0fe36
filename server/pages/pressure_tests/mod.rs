//! Pressure tests and certificates: the list with what waits for a signature, choosing a gauge,
//! recording a test, one test with its witness, and the certificate as page and paper.

pub mod certificate;
pub mod certificates;
pub mod choose;
pub mod correct;
pub mod export;
pub mod gas;
pub mod inspect;
pub mod list;
pub mod plan;
pub mod pump;
pub mod record;
pub mod show;
pub mod sign;
pub mod withdraw;
pub mod witness;
