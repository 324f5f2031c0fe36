//! Noting the papers that were handed out, so that each can be told from a changed one for ever,
//! also after the layout of papers moved on with the program. A paper is noted once.

use serde_json::json;

use crate::acts::{Deed, Result, Who};
use crate::record::CertificateId;
use crate::record::moment::Clock;
use crate::record::pressure_test::Certificate;
use crate::store::{self, Store};

/// A paper that leaves the register.
#[derive(Debug, Clone)]
pub struct HandedOut {
    /// The certificate.
    pub certificate: CertificateId,
    /// Its number.
    pub number: String,
    /// The size: `a4` or `letter`.
    pub paper: &'static str,
    /// `withdrawn`, `superseded` or `questioned` where it is a copy marked so; none for the paper as issued.
    pub marked: Option<&'static str>,
    /// SHA-256 of the file.
    pub sha256: String,
}

impl HandedOut {
    /// A paper of a certificate.
    pub fn new(kept: &Certificate, paper: &'static str, sha256: String) -> Self {
        Self {
            certificate: kept.id,
            number: kept.number.to_string(),
            paper,
            marked: None,
            sha256,
        }
    }
}

/// Notes those of these papers that were not handed out before.
///
/// # Errors
/// The store's failure.
pub async fn hand_out(store: &Store, clock: &Clock, who: Who, papers: &[HandedOut]) -> Result<()> {
    let mut fresh = Vec::new();
    {
        let mut db = store.read().await?;
        for paper in papers {
            if store::issued::of_paper(&mut db, &paper.sha256)
                .await?
                .is_none()
            {
                fresh.push(paper);
            }
        }
    }
    if fresh.is_empty() {
        return Ok(());
    }
    let mut deed = Deed::begin(store, clock, who, None).await?;
    let mut rows = Vec::new();
    let mut said = Vec::new();
    let now = deed.now();
    for paper in fresh {
        // Somebody else may have taken the same paper out meanwhile.
        if store::issued::of_paper(deed.db(), &paper.sha256)
            .await?
            .is_some()
        {
            continue;
        }
        let entry = (paper.paper, paper.marked, paper.sha256.as_str());
        let row = store::issued::add_paper(deed.db(), paper.certificate, entry, now).await?;
        rows.push(("certificate_paper", row));
        said.push(match paper.marked {
            None => json!([paper.number, paper.paper, paper.sha256]),
            Some(marked) => json!([paper.number, paper.paper, paper.sha256, marked]),
        });
    }
    if rows.is_empty() {
        return Ok(());
    }
    let subject = match papers {
        [one] => format!("certificate {}", one.number),
        many => format!("{} certificates", many.len()),
    };
    deed.record(
        "handed out",
        &subject,
        None,
        json!({ "papers": said }),
        &rows,
    )
    .await?;
    deed.commit("").await
}
