//! Issuing a certificate, and correcting one by another: gathers what the test and its rebuild
//! recorded, freezes it as the record, signs it with the plant's key and keeps it under the next
//! number. The paper is set from that record on demand.

use serde_json::json;
use sqlx::SqliteConnection;

use super::{found, inspector, settled, subject};
use crate::acts::{Deed, Error, Result, keys, recalled};
use crate::record::certificate::{
    self, CertificateRecord, Grounds, Superseded, Taken, Used, compose,
};
use crate::record::certificate_mark::{MarkKind, Standing, open_doubts};
use crate::record::course::Course;
use crate::record::gauge::Gauge;
use crate::record::moment::Zone;
use crate::record::person::Role;
use crate::record::plant::Plant;
use crate::record::pressure_test::{
    Certificate, Circumstances, PressureTest, TestResult, certificate_number, rated,
};
use crate::record::rebuild::Rebuild;
use crate::record::seal::{self, Seal};
use crate::record::{CertificateId, CertificateNumber, Moment, RebuildId, Refusal, TestId};
use crate::store::{self, certificates::NewMark, issued::NewCertificate};

/// What is said with the signature under a certificate.
#[derive(Debug, Clone, Copy)]
pub struct Issuing<'a> {
    /// The address of the page on which anybody can check it, where people have one.
    pub check_at: Option<&'a str>,
    /// Why it is issued ("return to service").
    pub reason: &'a str,
}

/// What a correction changes; nothing of the test itself, which is evidence.
#[derive(Debug, Clone, Default)]
pub struct Correction {
    /// Why the certificate is replaced. It stands on the new one and on the old one's page.
    pub reason: String,
    /// Where and under what circumstances the test was made, as they should have been stated.
    pub circumstances: Circumstances,
    /// A remark that stands among the deviations.
    pub remark: String,
}

/// A certificate that was just issued: the record it was made from, and its seal.
#[derive(Debug, Clone)]
pub struct Issued {
    /// What it states.
    pub record: CertificateRecord,
    /// The same as it was kept and signed.
    pub kept: String,
    /// Hash, code, signature and key.
    pub seal: Seal,
}

/// Issues the certificate of a test and returns the record it was made from.
///
/// # Errors
/// Refuses a test that failed, that nobody witnessed, that a later one disproves, or after which the
/// gauge was worked on or its rating corrected; what rests on something recalled; a missing reason; and
/// a second certificate of one test.
pub async fn certify(deed: &mut Deed, number: &str, issuing: Issuing<'_>) -> Result<Issued> {
    let test = found(deed, number).await?;
    inspector(deed, "A certificate is issued by an inspector")?;
    let plant = settled(deed).await?;
    may_be_certified(deed.db(), &test).await?;
    if !(3..=200).contains(&issuing.reason.trim().chars().count()) {
        let words = "Say in 3 to 200 characters why it is issued, such as return to service after a rebuild; it stands under your name";
        return Err(Refusal::field("reason", words).into());
    }
    let by = (deed.who().name.clone(), deed.now());
    let mut record = drafted(deed.db(), plant, test.clone(), issuing, by).await?;
    issue(deed, &test, &mut record, None).await
}

/// Whether a certificate can be issued from this test as things stand.
///
/// # Errors
/// Refuses in the words for whoever asked.
pub async fn may_be_certified(db: &mut SqliteConnection, test: &PressureTest) -> Result<()> {
    proves(&mut *db, test).await?;
    same_rating(&mut *db, test).await?;
    recalled::test_stands(&mut *db, test.id).await?;
    let (rebuild, course) = bench(&mut *db, test).await?;
    if let (Some(rebuild), Some(course)) = (rebuild, course) {
        if course.taken_back_after(test.id) {
            let words = "The gauge went back to the bench after this test, which proves nothing of what was done there; test it again";
            return Err(Refusal::not_now(words).into());
        }
        recalled::rebuild_stands(db, rebuild.id, &course).await?;
    }
    Ok(())
}

/// What the certificate of this test would state if it were issued now, under a number to be given.
///
/// # Errors
/// The store's failure.
pub async fn drafted(
    db: &mut SqliteConnection,
    plant: Plant,
    test: PressureTest,
    issuing: Issuing<'_>,
    by: (String, Moment),
) -> Result<CertificateRecord> {
    let Some(gauge) = store::gauges::by_id(&mut *db, test.gauge_id).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    let (rebuild, course) = bench(&mut *db, &test).await?;
    let taken = match &rebuild {
        Some(rebuild) => kits(&mut *db, rebuild.id).await?,
        None => Vec::new(),
    };
    let used = match &course {
        Some(course) => instruments(&mut *db, course, &plant.zone).await?,
        None => Vec::new(),
    };
    let earlier = store::pressure_tests::attempts(&mut *db, &test).await?;
    let in_vain = store::holds::came_to_nothing(db, &test).await?;
    Ok(compose(&Grounds {
        check_at: issuing.check_at.map(str::to_owned),
        reason: issuing.reason.trim().to_owned(),
        plant,
        gauge,
        earlier,
        in_vain,
        test,
        rebuild,
        course,
        taken,
        used,
        issuer: (by.0, Role::Inspector),
        issued_at: by.1,
    }))
}

/// Replaces a certificate by a corrected one. Both stay; the old one says by which it was replaced.
///
/// # Errors
/// Refuses anybody but an inspector, a missing reason, a certificate that was replaced or withdrawn
/// already, a rating that was corrected since (then the gauge is tested again), and a correction
/// that changes nothing.
pub async fn correct(
    deed: &mut Deed,
    number: &str,
    correction: &Correction,
    check_at: Option<&str>,
) -> Result<Issued> {
    inspector(deed, "A certificate is corrected by an inspector")?;
    let Some(old) = store::issued::by_number(deed.db(), number).await? else {
        return Err(Refusal::Missing("certificate").into());
    };
    let reason = correction.reason.trim();
    if !(3..=600).contains(&reason.chars().count()) {
        let words = "Say what was wrong in 3 to 600 characters; it stands on the new certificate";
        return Err(Refusal::field("reason", words).into());
    }
    let plant = settled(deed).await?;
    let by = (deed.who().name.clone(), deed.now());
    let (test, mut record) = corrected(deed.db(), plant, &old, correction, check_at, by).await?;
    issue(deed, &test, &mut record, Some(&old)).await
}

/// What a corrected certificate would state if it were issued now.
///
/// # Errors
/// As [`correct`], but for the reason, which may still be missing.
pub async fn corrected(
    db: &mut SqliteConnection,
    plant: Plant,
    old: &Certificate,
    correction: &Correction,
    check_at: Option<&str>,
    by: (String, Moment),
) -> Result<(PressureTest, CertificateRecord)> {
    may_be_corrected(&mut *db, old).await?;
    let before: CertificateRecord =
        serde_json::from_str(&old.record).map_err(store::Error::from)?;
    let Some(mut test) = store::pressure_tests::by_id(&mut *db, old.test_id).await? else {
        return Err(Refusal::Missing("pressure test").into());
    };
    same_rating(&mut *db, &test).await?;
    let kept = test.clone();
    test.facts.circumstances = correction.circumstances.clone();
    let issuing = Issuing {
        check_at,
        reason: &correction.reason,
    };
    let mut record = drafted(db, plant, test, issuing, by).await?;
    record.revision = before.revision + 1;
    record.supersedes = Some(Superseded {
        number: old.number.to_string(),
        reason: correction.reason.trim().to_owned(),
    });
    let remark = correction.remark.trim();
    if !remark.is_empty() {
        record.deviations.push(format!("Correction: {remark}"));
    }
    if certificate::changes(&before, &record).is_empty() {
        let words = "This changes nothing the certificate states; correct the register first, or write below what was wrong";
        return Err(Refusal::field("remark", words).into());
    }
    Ok((kept, record))
}

/// Whether a certificate can be replaced by a corrected one.
///
/// # Errors
/// Refuses in the words for whoever asked.
pub async fn may_be_corrected(db: &mut SqliteConnection, old: &Certificate) -> Result<()> {
    if store::certificates::current(db, old.id).await? == Standing::Withdrawn {
        let words = "This certificate is withdrawn, which is final; the gauge is tested again";
        return Err(Refusal::not_now(words).into());
    }
    if let Some(later) = &old.superseded_by {
        let words = format!("This certificate was replaced by {later}; correct that one");
        return Err(Refusal::NotNow(words).into());
    }
    Ok(())
}

/// Numbers, signs and keeps a record.
async fn issue(
    deed: &mut Deed,
    test: &PressureTest,
    record: &mut CertificateRecord,
    old: Option<&Certificate>,
) -> Result<Issued> {
    let person = deed.person()?;
    let plant = settled(deed).await?;
    let year = deed.today().year();
    let ordinal = store::issued::count_in(deed.db(), year).await? + 1;
    let number: CertificateNumber =
        certificate_number(&plant.number_prefix, year, ordinal).map_err(Refusal::NotNow)?;
    record.number = number.to_string();
    let kept = record.canonical().map_err(store::Error::from)?;
    let sha256 = certificate::hash(&kept);
    // The code on the paper is the beginning of the hash and has to lead to this record alone.
    if store::issued::by_hash(deed.db(), seal::beginning(&sha256))
        .await?
        .is_some()
    {
        let words = "Another certificate has the same code; issue it again in a moment";
        return Err(Refusal::not_now(words).into());
    }
    let (key_id, key) = keys::in_use(deed).await?;
    let signature = key.sign(&kept);
    let new = NewCertificate {
        number: (&number, year, ordinal),
        test: test.id,
        record: &kept,
        sha256: &sha256,
        supersedes: old.map(|old| old.id),
        signed: (key_id, &signature),
    };
    let now = deed.now();
    let id = store::issued::add(deed.db(), &new, person, now).await?;
    let mut rows = vec![("certificate", id.0)];
    if let Some(old) = old {
        rows.extend(carry_doubts(deed, old.id, id).await?);
    }
    let seal = Seal::new(&sha256, &signature, key.public());
    let mut facts = json!({
        "certificate": number, "sha256": sha256, "key": seal.key.fingerprint,
    });
    if let (Some(old), Some(facts)) = (old, facts.as_object_mut()) {
        let why = record.supersedes.as_ref().map(|s| s.reason.clone());
        facts.insert("replaces".to_owned(), json!(old.number));
        facts.insert("reason".to_owned(), json!(why));
    }
    deed.record(
        if old.is_some() {
            "corrected the certificate"
        } else {
            "certified"
        },
        &subject(&test.number),
        Some(test.gauge_id),
        facts,
        &rows,
    )
    .await?;
    Ok(Issued {
        record: record.clone(),
        kept,
        seal,
    })
}

/// Puts the doubts that are open on a certificate on the one that replaces it: a correction settles
/// none of them.
async fn carry_doubts(
    deed: &mut Deed,
    from: CertificateId,
    to: CertificateId,
) -> Result<Vec<(&'static str, i64)>> {
    let marks = store::certificates::marks(deed.db(), from).await?;
    let (person, now) = (deed.person()?, deed.now());
    let mut rows = Vec::new();
    for doubt in open_doubts(&marks) {
        let mark = NewMark {
            on: deed.today(),
            certificate: to,
            kind: MarkKind::Questioned,
            reason: &doubt.reason,
            recall: doubt.recall,
        };
        let row = store::certificates::add_mark(deed.db(), &mark, person, now).await?;
        rows.push(("certificate_mark", row.0));
    }
    Ok(rows)
}

/// Whether a test proves what a certificate states.
async fn proves(db: &mut SqliteConnection, test: &PressureTest) -> Result<()> {
    let refuse = |words: String| Err(Error::from(Refusal::NotNow(words)));
    if let Some(one) = &test.certificate {
        let number = &one.number;
        return refuse(format!(
            "Certificate {number} was issued from this test already"
        ));
    }
    if test.result != TestResult::Passed {
        return refuse("This test failed; only a passed test is certified".to_owned());
    }
    if test.witness.is_none() {
        return refuse("Nobody witnessed this test yet; it is certified after that".to_owned());
    }
    if let Some(later) = store::pressure_tests::failed_after(db, test).await? {
        return refuse(format!(
            "The gauge failed a later test, {later}; test it again"
        ));
    }
    Ok(())
}

/// A rating corrected after the test makes the test one of another pressure.
async fn same_rating(db: &mut SqliteConnection, test: &PressureTest) -> Result<()> {
    let Some(gauge) = store::gauges::by_id(&mut *db, test.gauge_id).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    // A rating that was taken away proves as little as another one.
    let now = rated(&gauge.particulars, &test.facts.basis);
    if now.is_ok_and(|now| now == test.facts.rating) {
        return Ok(());
    }
    Err(Refusal::not_now(format!(
        "The rating of {} was corrected after this test, which was made from {}. Test it again",
        gauge.particulars.tag, test.facts.rating
    ))
    .into())
}

/// Holds the test a gauge passed against its rating as it stands now, before it goes back: what was proved for
/// less does not let it carry more.
///
/// # Errors
/// Refuses where the rating was raised or taken away since.
pub async fn proves_the_rating(
    db: &mut SqliteConnection,
    gauge: &Gauge,
    test: TestId,
) -> Result<()> {
    let Some((then, basis)) = store::pressure_tests::made_from(db, test).await? else {
        return Ok(());
    };
    let now = match rated(&gauge.particulars, &basis) {
        Ok(now) if now.si() <= then.si() => return Ok(()),
        Ok(now) => format!("is {now} now"),
        Err(_) => "is not in the register any more".to_owned(),
    };
    Err(Refusal::not_now(format!(
        "The test of {} was made from a rating of {then}, which {now}. Test it again before it is returned",
        gauge.particulars.tag
    ))
    .into())
}

/// The rebuild a test proves and what was recorded in it.
async fn bench(
    db: &mut SqliteConnection,
    test: &PressureTest,
) -> Result<(Option<Rebuild>, Option<Course>)> {
    let Some(id) = test.rebuild_id else {
        return Ok((None, None));
    };
    let rebuild = store::rebuilds::by_id(&mut *db, id).await?;
    let course = store::bench::course(db, id).await?;
    Ok((rebuild, course))
}

async fn kits(db: &mut SqliteConnection, rebuild: RebuildId) -> Result<Vec<Taken>> {
    let mut list = Vec::new();
    for (_, lot, kit, quantity) in store::kits::taken_for(&mut *db, rebuild).await? {
        let id = store::kits::id_of(&mut *db, kit.as_str()).await?;
        let named = match id {
            Some(id) => store::kits::by_id(&mut *db, id).await?,
            None => None,
        };
        list.push(Taken {
            name: named.map_or_else(|| "Kit".to_owned(), |kit| kit.name),
            kit,
            lot,
            quantity: u32::try_from(quantity).unwrap_or(0),
        });
    }
    Ok(list)
}

async fn instruments(db: &mut SqliteConnection, course: &Course, zone: &Zone) -> Result<Vec<Used>> {
    let mut list = Vec::new();
    for (number, day, used_for) in certificate::relied_on(course, zone) {
        // A certificate that left one out would state less than was relied on.
        let Some(instrument) = store::instruments::on_day(&mut *db, number.as_str(), day).await?
        else {
            return Err(Refusal::not_now(format!(
                "The rebuild relied on {number}, and no instrument has that number any more"
            ))
            .into());
        };
        list.push(Used {
            instrument,
            used_for,
        });
    }
    Ok(list)
}
