//! Issuing a certificate: gathers what the test and its rebuild recorded, freezes it as the record
//! and keeps it with its hash under the next number. The paper is set from that record on demand.

use serde_json::json;

use super::{found, inspector, settled, subject};
use crate::acts::{Deed, Error, Result};
use crate::record::certificate::{self, CertificateRecord, Grounds, Taken, Used, compose};
use crate::record::course::Course;
use crate::record::person::Role;
use crate::record::pressure_test::{PressureTest, TestResult, asked, certificate_number};
use crate::record::rebuild::Rebuild;
use crate::record::{CertificateNumber, RebuildId, Refusal};
use crate::store::{self, pressure_tests::NewCertificate};

/// Issues the certificate of a test and returns the record it was made from.
///
/// `check_at` gives the address at which the certificate can be compared with the register.
///
/// # Errors
/// Refuses a test that failed, that nobody witnessed, that a later one disproves, or after which the
/// gauge was worked on or its rating corrected; and a second certificate of one test.
pub async fn certify(
    deed: &mut Deed,
    number: &str,
    check_at: impl FnOnce(&CertificateNumber) -> Option<String>,
) -> Result<CertificateRecord> {
    let test = found(deed, number).await?;
    let person = inspector(deed, "A certificate is issued by an inspector")?;
    proves(deed, &test).await?;
    let plant = settled(deed).await?;
    let Some(gauge) = store::gauges::by_id(deed.db(), test.gauge_id).await? else {
        return Err(Refusal::Missing("gauge").into());
    };
    let now_asked = asked(&plant, &gauge.particulars, &test.facts.basis);
    if now_asked.is_ok_and(|now| now.rating != test.facts.rating) {
        return Err(Refusal::not_now(format!(
            "The rating of {} was corrected after this test, which was made from {}. Test it again",
            gauge.particulars.tag, test.facts.rating
        ))
        .into());
    }
    let (rebuild, course) = bench(deed, &test).await?;
    let kits = match &rebuild {
        Some(rebuild) => kits(deed, rebuild.id).await?,
        None => Vec::new(),
    };
    let instruments = match &course {
        Some(course) => instruments(deed, course).await?,
        None => Vec::new(),
    };
    let year = deed.today().year();
    let ordinal = store::pressure_tests::count_certificates_in(deed.db(), year).await? + 1;
    let certificate =
        certificate_number(&plant.number_prefix, year, ordinal).map_err(Refusal::NotNow)?;
    let issuer = (deed.who().name.clone(), Role::Inspector);
    let now = deed.now();
    let record = compose(&Grounds {
        check_at: check_at(&certificate),
        number: certificate.clone(),
        plant,
        gauge,
        test: test.clone(),
        rebuild,
        course,
        taken: kits,
        used: instruments,
        issuer,
        issued_at: now,
    });
    let kept = record.canonical().map_err(store::Error::from)?;
    let sha256 = certificate::hash(&kept);
    let new = NewCertificate {
        number: (&certificate, year, ordinal),
        test: test.id,
        record: &kept,
        sha256: &sha256,
    };
    let id = store::pressure_tests::add_certificate(deed.db(), &new, person, now).await?;
    deed.record(
        "certified",
        &subject(&test.number),
        Some(test.gauge_id),
        json!({ "certificate": certificate, "sha256": sha256 }),
        &[("certificate", id.0)],
    )
    .await?;
    Ok(record)
}

/// Whether a test proves what a certificate states.
async fn proves(deed: &mut Deed, test: &PressureTest) -> Result<()> {
    let refuse = |words: String| Err(Error::from(Refusal::NotNow(words)));
    if let Some(number) = &test.certificate {
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
    if let Some(later) = store::pressure_tests::failed_after(deed.db(), test).await? {
        return refuse(format!(
            "The gauge failed a later test, {later}; test it again"
        ));
    }
    Ok(())
}

/// The rebuild a test proves and what was recorded in it.
async fn bench(deed: &mut Deed, test: &PressureTest) -> Result<(Option<Rebuild>, Option<Course>)> {
    let Some(id) = test.rebuild_id else {
        return Ok((None, None));
    };
    let rebuild = store::rebuilds::by_id(deed.db(), id).await?;
    let course = store::bench::course(deed.db(), id).await?;
    if course
        .as_ref()
        .is_some_and(|course| course.taken_back_after(test.id))
    {
        let words = "The gauge went back to the bench after this test, which proves nothing of what was done there; test it again";
        return Err(Refusal::not_now(words).into());
    }
    Ok((rebuild, course))
}

async fn kits(deed: &mut Deed, rebuild: RebuildId) -> Result<Vec<Taken>> {
    let mut list = Vec::new();
    for (_, lot, kit, quantity) in store::kits::taken_for(deed.db(), rebuild).await? {
        let id = store::kits::id_of(deed.db(), kit.as_str()).await?;
        let named = match id {
            Some(id) => store::kits::by_id(deed.db(), id).await?,
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

async fn instruments(deed: &mut Deed, course: &Course) -> Result<Vec<Used>> {
    let zone = deed.zone().clone();
    let mut list = Vec::new();
    for (number, day, used_for) in certificate::relied_on(course, &zone) {
        let found = store::pressure_tests::instrument_on(deed.db(), number.as_str(), day).await?;
        list.extend(found.map(|instrument| Used {
            instrument,
            used_for,
        }));
    }
    Ok(list)
}
