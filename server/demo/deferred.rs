//! The one deferral of the invented plant: asked for by the engineer, signed by the inspector.
//! What else somebody opening the demo finds is in `past.rs`.

use time::{Date, Duration};

use super::past::People;
use crate::acts::{self, Deed, Error, Result};
use crate::calc::due::Moves;
use crate::record::GaugeId;

/// Defers the first of these gauges of which something falls due soon enough; none where nothing does.
///
/// # Errors
/// The store's failure.
pub async fn leave(
    deed: &mut Deed,
    people: &People,
    gauges: &[GaugeId],
    today: Date,
) -> Result<()> {
    let ask = acts::deferrals::Ask {
        moves: Moves::Rebuild,
        until: today + Duration::days(120),
        hard_limit: today + Duration::days(180),
        reason: "brine header runs alone until the spare is back".to_owned(),
        risk: "the gasket hardens further; a weep at the seal would be seen late".to_owned(),
        mitigations: "looked over every week; the drain is piped away from the walkway".to_owned(),
    };
    for gauge in gauges {
        let request = match acts::deferrals::ask(deed, *gauge, &ask).await {
            Ok(request) => request,
            Err(Error::Refused(_)) => continue,
            Err(error) => return Err(error),
        };
        let now = deed.now();
        deed.continue_as(people.inspector.clone(), now);
        acts::deferrals::sign(deed, request, "seen on site").await?;
        deed.continue_as(people.engineer.clone(), now);
        break;
    }
    Ok(())
}
