//! Taking a calibration back that was recorded by mistake, with the reason. It stays on record and covers
//! nothing; once something relied on it, a recall decides.

use axum::extract::{Path, State};

use super::found;
use crate::acts;
use crate::pages::answer::{Answer, PageError, see_other};
use crate::pages::chrome::Chrome;
use crate::pages::form::Posted;
use crate::pages::mistake::{self, Subject, Typed};
use crate::pages::{App, address, show};
use crate::record::CalibrationId;
use crate::store;

async fn subject(app: &App, (number, calibration): (&str, i64)) -> Result<Subject, PageError> {
    let instrument = found(app, number).await?;
    let mut db = app.store().read().await?;
    let calibration = store::calibrations::by_id(&mut db, CalibrationId(calibration))
        .await?
        .filter(|(of, _)| *of == instrument.id)
        .map(|(_, calibration)| calibration)
        .ok_or(PageError::NotFound("calibration"))?;
    let number = &instrument.number;
    Ok(Subject {
        what: "calibration",
        made: "recorded",
        of: number.to_string(),
        page: address::instrument(number),
        says: (
            format!("Certificate {}", calibration.reference),
            format!(
                " of {}, covering until {}",
                show::date(&calibration.calibrated_on),
                show::date(&calibration.due_on)
            ),
        ),
        caution: format!(
            "Only where it belongs to another instrument or another day. The calibration before it counts again. Where something relied on {number} since, it cannot be taken back: record what its calibration really found."
        ),
        taken: "calibration",
        kept: "It stays with the calibration, under your name",
    })
}

/// The form.
pub async fn show(
    State(app): State<App>,
    chrome: Chrome,
    Path((number, calibration)): Path<(String, i64)>,
) -> Answer {
    mistake::ask(chrome, subject(&app, (&number, calibration)).await?)
}

/// Takes it back.
pub async fn take_back(
    State(app): State<App>,
    chrome: Chrome,
    Path((number, calibration)): Path<(String, i64)>,
    posted: Posted<Typed>,
) -> Answer {
    let instrument = found(&app, &number).await?;
    let done = async {
        let mut deed = chrome.deed(&posted.key).await?;
        let (id, why) = (CalibrationId(calibration), posted.form.why.as_str());
        acts::instruments::take_back_calibration(&mut deed, instrument.id, id, why).await?;
        let to = address::instrument(&instrument.number);
        deed.commit(&to).await?;
        Ok(to)
    };
    match done.await {
        Ok(to) => Ok(see_other(&to)),
        Err(error) => {
            let subject = subject(&app, (&number, calibration)).await?;
            mistake::refused(chrome, subject, posted.form, error)
        }
    }
}
