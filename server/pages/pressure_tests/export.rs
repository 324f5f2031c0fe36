//! The export for an audit or a shutdown: the certificates of a filter as one ZIP, sent while it is
//! made, with a page that says how far it has come. Its files are put together in `papers::bundle`.

use std::io::Write;
use std::sync::Arc;
use std::sync::atomic::Ordering;

use askama::Template;
use axum::body::{Body, Bytes};
use axum::extract::{Query, State};
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_ENCODING, CONTENT_TYPE, HeaderName};
use axum::response::IntoResponse;
use tokio::runtime::Handle;
use tokio::sync::mpsc;
use tokio_stream::wrappers::ReceiverStream;
use zip::ZipWriter;

use super::certificates::{Asked, row};
use crate::acts::Who;
use crate::acts::pressure_tests::{HandedOut, hand_out};
use crate::pages::answer::{self, Answer, PageError};
use crate::pages::chrome::Chrome;
use crate::pages::exports::Progress;
use crate::pages::{App, address, show};
use crate::papers::bundle::{Bundle, Entry};
use crate::papers::certificate::Paper;
use crate::papers::check::paper_of;
use crate::record::CertificateId;
use crate::record::audit::{hex, sha256_hex};
use crate::record::moment::Zone;
use crate::record::pressure_test::Certificate;
use crate::store;
use crate::store::issued::{Filter, Line};

/// Certificates read and set at a time: memory holds these and no more.
const AT_A_TIME: i64 = 20;
/// Bytes gathered before they are sent.
const PIECE: usize = 64 * 1024;
/// Pieces waiting for a slow reader before the export waits too.
const WAITING: usize = 8;

#[derive(Template)]
#[template(path = "pressure_tests/export.html")]
struct Page {
    chrome: Chrome,
    asked: Asked,
    count: i64,
    /// Done and all of an export under way.
    progress: Option<(usize, usize)>,
    own: Paper,
    ticket: String,
}

impl Page {
    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "templates hand over references"
    )]
    fn words(number: &usize) -> String {
        show::count(
            i64::try_from(*number).unwrap_or(0),
            "certificate",
            "certificates",
        )
    }

    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "templates hand over references"
    )]
    fn is_own(&self, paper: &Paper) -> bool {
        *paper == self.own
    }

    #[expect(
        clippy::trivially_copy_pass_by_ref,
        reason = "templates hand over references"
    )]
    fn zip(&self, paper: &Paper) -> String {
        self.asked.address(
            "/pressure-tests/certificates/export.zip",
            &[
                ("paper", paper.word().to_owned()),
                ("ticket", self.ticket.clone()),
            ],
        )
    }

    fn progress_at(&self) -> String {
        self.asked.address(
            "/pressure-tests/certificates/export",
            &[("ticket", self.ticket.clone())],
        )
    }
}

/// The page; with a ticket, how far its export has come.
pub async fn show(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let mut db = app.store().read().await?;
    let filter = asked.filter(&mut db).await?;
    let count = store::issued::count(&mut db, &filter, i64::MAX).await?;
    let own = store::test_plans::paper(&mut db).await?;
    let known = app.exports().of(&asked.ticket);
    let progress = known.map(|progress| progress.now());
    let ticket = if asked.ticket.is_empty() {
        let mut random = [0_u8; 8];
        let _ = getrandom::fill(&mut random);
        hex(&random)
    } else {
        asked.ticket.chars().take(16).collect()
    };
    let under_way = progress.is_none_or(|(done, all)| all == 0 || done < all);
    let asks_again = under_way && !asked.ticket.is_empty();
    let page = answer::page(&Page {
        chrome,
        asked,
        count,
        progress,
        own,
        ticket,
    })?;
    if asks_again {
        // The browser asks again by itself; no script is needed.
        return Ok(([(HeaderName::from_static("refresh"), "2")], page).into_response());
    }
    Ok(page)
}

/// The ZIP, sent while it is made.
pub async fn zip(State(app): State<App>, chrome: Chrome, Query(asked): Query<Asked>) -> Answer {
    let (filter, count) = {
        let mut db = app.store().read().await?;
        let filter = Filter {
            after: None,
            ..asked.filter(&mut db).await?
        };
        let count = store::issued::count(&mut db, &filter, i64::MAX).await?;
        (filter, count)
    };
    let paper: Paper = match asked.paper.as_str() {
        "" => super::certificate::own_paper(&app).await?,
        word => word
            .parse()
            .map_err(|_| PageError::NotFound("paper of that size"))?,
    };
    let progress = app.exports().begin(&asked.ticket);
    let all = usize::try_from(count).unwrap_or(0);
    progress.all.store(all, Ordering::Relaxed);
    let (send, receive) = mpsc::channel::<std::io::Result<Bytes>>(WAITING);
    let about = format!(
        "Certificates of {}, exported by {} on {}.\nChosen: {}\nCheck a file with: sha256sum -c SHA256SUMS\n",
        chrome.plant.name,
        chrome.person().name,
        chrome.today,
        asked.address(address::CERTIFICATES, &[]),
    );
    let work = Work {
        who: Who::from(chrome.person()),
        zone: chrome.zone().clone(),
        handle: Handle::current(),
        app,
        filter,
        paper,
        progress,
        about,
    };
    tokio::task::spawn_blocking(move || {
        let failed = send.clone();
        if let Err(error) = work.write(Piecewise::new(send)) {
            tracing::warn!(cause = %error, "an export ended early");
            // The browser sees a download that broke off, never a whole one that is not.
            let _ = failed.blocking_send(Err(std::io::Error::other(error.to_string())));
        }
    });
    let headers = [
        (CONTENT_TYPE, "application/zip"),
        // Compressed inside already.
        (CONTENT_ENCODING, "identity"),
        (
            CONTENT_DISPOSITION,
            "attachment; filename=\"certificates.zip\"",
        ),
    ];
    Ok((headers, Body::from_stream(ReceiverStream::new(receive))).into_response())
}

/// Why an export ended early.
type Failure = Box<dyn std::error::Error + Send + Sync>;

/// An export under way.
struct Work {
    app: App,
    who: Who,
    zone: Zone,
    handle: Handle,
    filter: Filter,
    paper: Paper,
    progress: Arc<Progress>,
    about: String,
}

impl Work {
    fn write(mut self, to: Piecewise) -> Result<(), Failure> {
        let mut bundle = Bundle::new(ZipWriter::new_stream(to));
        loop {
            let lines = self.handle.block_on(self.next())?;
            let Some(last) = lines.last() else { break };
            self.filter.after = Some(last.id);
            let mut noted = Vec::with_capacity(lines.len());
            for (entry, paper) in self.entries(&lines)? {
                noted.push(paper);
                bundle.add(entry)?;
                self.progress.done.fetch_add(1, Ordering::Relaxed);
            }
            let (store, clock) = (self.app.store(), self.app.clock());
            self.handle
                .block_on(hand_out(store, clock, self.who.clone(), &noted))?;
        }
        for line in self.handle.block_on(self.keys())? {
            bundle.key(&line.key)?;
        }
        bundle.finish(&self.about)?.into_inner().flush()?;
        Ok(())
    }

    async fn next(&self) -> store::Result<Vec<Line>> {
        let mut db = self.app.store().read().await?;
        store::issued::list(&mut db, &self.filter, AT_A_TIME).await
    }

    async fn keys(&self) -> store::Result<Vec<store::keys::KeyLine>> {
        let mut db = self.app.store().read().await?;
        store::keys::all(&mut db).await
    }

    /// The files of these lines in their order, set by all processors; one export at a time sets, so
    /// that several at once do not starve the pages.
    fn entries(&self, lines: &[Line]) -> Result<Vec<(Entry, HandedOut)>, Failure> {
        let ids: Vec<CertificateId> = lines.iter().map(|line| line.id).collect();
        let mut kept = self.handle.block_on(async {
            let mut db = self.app.store().read().await?;
            store::issued::of_rows(&mut db, &ids).await
        })?;
        let mut work = Vec::with_capacity(lines.len());
        for line in lines {
            let at = kept.iter().position(|kept| kept.id == line.id);
            let at = at.ok_or("a certificate that is not there any more")?;
            work.push((line, kept.swap_remove(at)));
        }
        let _turn = self.handle.block_on(self.app.exports().turn());
        let hands = std::thread::available_parallelism().map_or(1, usize::from);
        let share = work.len().div_ceil(hands).max(1);
        let mut shares = Vec::new();
        let mut rest = work;
        while !rest.is_empty() {
            let later = rest.split_off(share.min(rest.len()));
            shares.push(std::mem::replace(&mut rest, later));
        }
        std::thread::scope(|scope| {
            let set: Vec<_> = shares
                .into_iter()
                .map(|share| {
                    scope.spawn(move || {
                        share
                            .into_iter()
                            .map(|(line, kept)| self.entry(line, kept))
                            .collect::<Result<Vec<_>, _>>()
                    })
                })
                .collect();
            let mut entries = Vec::with_capacity(lines.len());
            for hand in set {
                entries.extend(hand.join().map_err(|_| "a paper could not be set")??);
            }
            Ok(entries)
        })
    }

    fn entry(&self, line: &Line, kept: Certificate) -> Result<(Entry, HandedOut), Failure> {
        let record = serde_json::from_str(&kept.record)?;
        let pdf = paper_of(&kept, &record, self.paper)?;
        let noted = HandedOut::new(&kept, self.paper.word(), sha256_hex(&pdf));
        let seal = match &kept.seal {
            Some(seal) => Some(serde_json::to_string_pretty(seal)?),
            None => None,
        };
        let entry = Entry {
            line: row(line, &self.zone),
            number: kept.number.to_string(),
            pdf,
            record: kept.record,
            seal,
        };
        Ok((entry, noted))
    }
}

/// Writes into the body of an answer, a piece at a time.
struct Piecewise {
    gathered: Vec<u8>,
    to: mpsc::Sender<std::io::Result<Bytes>>,
}

impl Piecewise {
    fn new(to: mpsc::Sender<std::io::Result<Bytes>>) -> Self {
        Self {
            gathered: Vec::with_capacity(PIECE),
            to,
        }
    }

    fn send(&mut self) -> std::io::Result<()> {
        let piece = std::mem::replace(&mut self.gathered, Vec::with_capacity(PIECE));
        self.to
            .blocking_send(Ok(Bytes::from(piece)))
            .map_err(|_| std::io::Error::from(std::io::ErrorKind::BrokenPipe))
    }
}

impl Write for Piecewise {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.gathered.extend_from_slice(bytes);
        if self.gathered.len() >= PIECE {
            self.send()?;
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        if self.gathered.is_empty() {
            return Ok(());
        }
        self.send()
    }
}
