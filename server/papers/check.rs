//! Telling whether a certificate somebody holds is the one that was issued: by its code, by the
//! record as JSON, or by the paper itself. It reads only, and says no value a holder has not shown.

use sqlx::SqliteConnection;

use super::certificate::{CertificateRecord, Mark, Paper, PaperError, Stamp, pdf, stamped};
use super::{attached, marked};
use crate::record::audit::sha256_hex;
use crate::record::certificate::differences;
use crate::record::certificate_mark::{self, MarkKind, Standing};
use crate::record::pressure_test::Certificate;
use crate::record::seal;
use crate::store::{self, Error};

/// Places named to whoever sends a record that differs; who has more wrong does not hold the paper.
const FEW: usize = 5;

/// What is asked about.
#[derive(Debug, Clone)]
pub enum Asked {
    /// A code as typed or scanned; an address that carries it is fine.
    Code(String),
    /// A file: PDF or JSON.
    File(Vec<u8>),
}

/// What can be said of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Issued as it is, and it stands.
    Genuine,
    /// It agrees with one issued before certificates were signed.
    Unsigned,
    /// Issued, and replaced by a corrected one.
    Superseded,
    /// Issued, and questioned since.
    Questioned,
    /// Issued, and withdrawn.
    Withdrawn,
    /// Not as it was issued.
    Altered,
    /// Nothing of this register.
    Unknown,
}

impl Verdict {
    /// In a word, as page and command print it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Genuine => "genuine",
            Self::Unsigned => "unsigned",
            Self::Superseded => "superseded",
            Self::Questioned => "questioned",
            Self::Withdrawn => "withdrawn",
            Self::Altered => "altered",
            Self::Unknown => "unknown",
        }
    }
}

/// The answer to somebody who asked.
#[derive(Debug, Clone)]
pub struct Finding {
    /// What can be said.
    pub verdict: Verdict,
    /// It in sentences.
    pub words: Vec<String>,
    /// The certificate, where what was shown proves that the asker holds it.
    pub held: Option<(Certificate, CertificateRecord)>,
}

impl Finding {
    fn of(verdict: Verdict, words: impl Into<String>) -> Self {
        Self {
            verdict,
            words: vec![words.into()],
            held: None,
        }
    }
}

/// Checks a code or a file against the register.
///
/// # Errors
/// The store's failure, or that no paper can be set; never for what was sent.
pub async fn check(db: &mut SqliteConnection, asked: Asked) -> Result<Finding, Error> {
    match asked {
        Asked::Code(typed) => by_code(db, &typed).await,
        Asked::File(bytes) => {
            let head = &bytes[..bytes.len().min(1024)];
            if head.windows(5).any(|five| five == b"%PDF-") {
                by_paper(db, bytes).await
            } else {
                by_record(db, &bytes).await
            }
        }
    }
}

async fn by_code(db: &mut SqliteConnection, typed: &str) -> Result<Finding, Error> {
    let code = typed
        .rsplit_once("code=")
        .map_or(typed, |(_, code)| code)
        .trim();
    // A scanned paper says its number before the code.
    let last = code.split_whitespace().next_back().unwrap_or_default();
    let Some(beginning) = seal::hash_of_code(code).or_else(|| seal::hash_of_code(last)) else {
        return Ok(Finding::of(
            Verdict::Unknown,
            "A code has twelve letters and digits in three groups of four, and never the letter U. Compare it with the paper letter by letter; it stands beside the square on the first page.",
        ));
    };
    match store::issued::by_hash(db, &beginning).await? {
        Some(kept) => standing(db, kept).await,
        None => Ok(Finding::of(
            Verdict::Unknown,
            "Compare it with the paper letter by letter and type it again: one wrong letter is enough. If every letter is right, the paper was not issued by this register; do not rely on it, and ask whoever gave it to you.",
        )),
    }
}

async fn by_paper(db: &mut SqliteConnection, bytes: Vec<u8>) -> Result<Finding, Error> {
    let sha256 = sha256_hex(&bytes);
    if let Some((id, marked)) = store::issued::of_paper(db, &sha256).await?
        && let Some(kept) = store::issued::by_id(db, id).await?
    {
        let mut finding = standing(db, kept).await?;
        finding.words.push(match marked {
            None => "The file is, byte for byte, a paper this register handed out.".to_owned(),
            Some(word) => marked_copy(&word),
        });
        return Ok(finding);
    }
    let copy = bytes.clone();
    let found = tokio::task::spawn_blocking(move || attached::record(&copy))
        .await
        .ok()
        .flatten();
    let Some(record) = found else {
        return Ok(Finding::of(
            Verdict::Unknown,
            "No certificate can be read from this file: it is another document, or it was damaged or changed. Do not rely on it.",
        ));
    };
    match store::issued::by_hash(db, &sha256_hex(&record)).await? {
        Some(kept) => {
            let stamps = marked::stamps(db, &kept).await?.ever;
            if let Some(as_what) = set_anew(&kept, stamps, &bytes).await? {
                let mut finding = standing(db, kept).await?;
                if let SetAs::Marked(word) = as_what {
                    finding.words.push(marked_copy(word));
                }
                return Ok(finding);
            }
            Ok(Finding::of(
                Verdict::Altered,
                "The data inside this file is that of a certificate of this register, but the file is not the paper that was issued: its pages may show something else. Do not rely on it; ask for the paper anew.",
            ))
        }
        None => by_record(db, &record).await.map(|finding| match finding.verdict {
            Verdict::Genuine => Finding::of(
                Verdict::Altered,
                "This file is not the paper that was issued. Do not rely on it; ask for the paper anew.",
            ),
            _ => finding,
        }),
    }
}

/// What is said of a copy that was marked before it left the register.
fn marked_copy(word: &str) -> String {
    format!(
        "The file is, byte for byte, a copy this register marked as {word}: the record and the seal inside it are those that were issued, the mark on its pages was added since."
    )
}

/// As what a paper was set.
enum SetAs {
    /// As it was issued.
    Issued,
    /// As a copy that is marked so.
    Marked(&'static str),
}

/// Whether setting the paper from the kept record gives the same bytes: as issued, or marked as which.
async fn set_anew(
    kept: &Certificate,
    stamps: Vec<Stamp>,
    bytes: &[u8],
) -> Result<Option<SetAs>, Error> {
    let record: CertificateRecord = serde_json::from_str(&kept.record)?;
    let (record, kept, wanted) = (record, kept.clone(), bytes.to_vec());
    tokio::task::spawn_blocking(move || {
        for paper in Paper::ALL {
            if paper_of(&kept, &record, *paper)? == wanted {
                return Ok(Some(SetAs::Issued));
            }
            for stamp in &stamps {
                if copy_of(&kept, &record, stamp, *paper)? == wanted {
                    return Ok(Some(SetAs::Marked(stamp.word)));
                }
            }
        }
        Ok(None)
    })
    .await
    .map_err(|error| Error::Unreadable(error.to_string()))?
    .map_err(|error: PaperError| Error::Unreadable(error.to_string()))
}

/// The paper of a kept certificate, sealed if it was signed.
///
/// # Errors
/// As [`pdf`].
pub fn paper_of(
    kept: &Certificate,
    record: &CertificateRecord,
    paper: Paper,
) -> Result<Vec<u8>, PaperError> {
    pdf(record, sealed(kept), paper)
}

/// A copy of it that says on its pages that it is not to be relied on.
///
/// # Errors
/// As [`pdf`].
pub fn copy_of(
    kept: &Certificate,
    record: &CertificateRecord,
    stamp: &Stamp,
    paper: Paper,
) -> Result<Vec<u8>, PaperError> {
    stamped(record, sealed(kept), stamp, paper)
}

const fn sealed(kept: &Certificate) -> Mark<'_> {
    match &kept.seal {
        Some(seal) => Mark::Sealed(kept.record.as_str(), seal),
        None => Mark::Unsigned,
    }
}

async fn by_record(db: &mut SqliteConnection, bytes: &[u8]) -> Result<Finding, Error> {
    if let Some(kept) = store::issued::by_hash(db, &sha256_hex(bytes)).await? {
        return standing(db, kept).await;
    }
    let Ok(read) = serde_json::from_slice::<CertificateRecord>(bytes) else {
        return Ok(Finding::of(
            Verdict::Unknown,
            "This is neither a certificate nor the record inside one. Do not rely on it.",
        ));
    };
    let canonical = read.canonical()?;
    if let Some(kept) = store::issued::by_hash(db, &sha256_hex(canonical.as_bytes())).await? {
        if kept.seal.is_none() {
            let mut finding = standing(db, kept).await?;
            finding.words.push(
                "Only the data inside the file was compared; what its pages show was not."
                    .to_owned(),
            );
            return Ok(finding);
        }
        return Ok(Finding::of(
            Verdict::Altered,
            "What this file states agrees with a certificate of this register, but it is not the file that was issued: some program wrote it anew. Send the paper or the record as they came.",
        ));
    }
    let Some(kept) = store::issued::by_number(db, &read.number).await? else {
        return Ok(Finding::of(
            Verdict::Unknown,
            "No certificate of this register has the number this file bears. It was not issued here.",
        ));
    };
    let issued: CertificateRecord = serde_json::from_str(&kept.record)?;
    // Which values differ is said, what they are is not; and only to somebody who has nearly all of
    // them, since else a made-up file with a true number would tell which of its guesses are right.
    let places: Vec<String> = differences(&issued, &read)
        .into_iter()
        .map(|difference| difference.what)
        .collect();
    let mut finding = Finding::of(
        Verdict::Altered,
        format!(
            "Certificate {} was issued here, but it does not state what this file states. Do not rely on it.",
            kept.number
        ),
    );
    if places.len() > FEW {
        finding.words.push("It differs in many places.".to_owned());
    } else if !places.is_empty() {
        finding
            .words
            .push(format!("Different: {}.", places.join("; ")));
    }
    Ok(finding)
}

/// How a certificate of the register stands today.
async fn standing(db: &mut SqliteConnection, kept: Certificate) -> Result<Finding, Error> {
    let record: CertificateRecord = serde_json::from_str(&kept.record)?;
    let number = kept.number.clone();
    let whole = sha256_hex(kept.record.as_bytes()) == kept.sha256;
    let signed = kept
        .seal
        .as_ref()
        .is_none_or(|seal| seal.holds(&kept.record));
    if !whole || !signed {
        return Ok(Finding::of(
            Verdict::Altered,
            format!(
                "Certificate {number} is in this register, but the record kept of it does not fit its signature: the register itself was altered. Tell the plant."
            ),
        ));
    }
    let marks = store::certificates::marks(db, kept.id).await?;
    let last = |kind: MarkKind| {
        let mark = marks.iter().rev().find(|mark| mark.kind == kind);
        mark.map(|mark| mark.reason.clone()).unwrap_or_default()
    };
    let stands = certificate_mark::standing(&marks);
    let mut finding = if stands == Standing::Withdrawn {
        Finding::of(
            Verdict::Withdrawn,
            format!(
                "Certificate {number} was issued as it is, and was withdrawn: {}. Do not rely on it.",
                last(MarkKind::Withdrawn)
            ),
        )
    } else if let Some(later) = &kept.superseded_by {
        let why = reason_of(db, later.as_str()).await?;
        Finding::of(
            Verdict::Superseded,
            format!(
                "Certificate {number} was issued as it is, and was replaced by {later}: {why}. Rely on the later one."
            ),
        )
    } else if stands == Standing::Questioned {
        Finding::of(
            Verdict::Questioned,
            format!(
                "Certificate {number} was issued as it is, and is questioned: {}. Do not rely on it before the plant has decided.",
                last(MarkKind::Questioned)
            ),
        )
    } else if kept.seal.is_some() {
        Finding::of(
            Verdict::Genuine,
            format!("Certificate {number} was issued as it is, and it stands."),
        )
    } else {
        Finding::of(
            Verdict::Unsigned,
            format!(
                "Certificate {number} was issued before certificates were signed. It agrees with the register."
            ),
        )
    };
    if let Some(seal) = &kept.seal {
        finding.words.push(format!(
            "Its record gives the SHA-256 it was sealed with, and the signature is that of the plant\u{2019}s key {}.",
            seal.key.fingerprint
        ));
    }
    finding.held = Some((kept, record));
    Ok(finding)
}

async fn reason_of(db: &mut SqliteConnection, number: &str) -> Result<String, Error> {
    let Some(later) = store::issued::by_number(db, number).await? else {
        return Ok(String::new());
    };
    let record: CertificateRecord = serde_json::from_str(&later.record)?;
    Ok(record.supersedes.map(|s| s.reason).unwrap_or_default())
}
