//! Kits: which lots to issue, whether the stock covers what is wanted, what failures will ask for.
//! The rules are in `calc::lots` and `calc::demand`; ordering is in `orders`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::pressure::steps;
use super::registry::{Computation, Found, No, Part, computation};
use super::typed::Day;
use crate::calc::demand::{KitDemand, KitsPerEvent, compound_poisson, expected_events};
use crate::calc::lots::{self, Lot, Release, Wanted};
use crate::calc::quantity::significant;
use crate::calc::working::{Source, Step};

pub(super) fn list() -> Vec<Computation> {
    vec![
        computation(
            (
                "lots-to-issue",
                "Which lots to take kits from, first expired first",
            ),
            (Part::Kits, &[]),
            r#"{"lots": [{"lot": "A-17", "received": "2025-02-01", "last_usable": "2026-08-31", "kits": 3}, {"lot": "B-02", "received": "2025-09-15", "last_usable": "2027-03-31", "kits": 6}], "on": "2026-06-15", "kits": 4}"#,
            to_issue,
        ),
        computation(
            (
                "stock-cover",
                "Whether the lots cover what is wanted until a day, and on which day they fall short",
            ),
            (Part::Kits, &[]),
            r#"{"lots": [{"lot": "A-17", "received": "2025-02-01", "last_usable": "2026-08-31", "kits": 3}, {"lot": "B-02", "received": "2025-09-15", "last_usable": "2027-03-31", "kits": 2}], "wants": [{"on": "2026-06-15", "kits": 2}, {"on": "2026-10-01", "kits": 4}], "today": "2026-06-01", "until": "2026-12-31"}"#,
            cover,
        ),
        computation(
            (
                "expiry-loss",
                "Kits of a lot that will expire unused, on average",
            ),
            (Part::Kits, &[]),
            r#"{"kits": 6, "failures": 1.6, "sizes": [{"kits": 1, "share": 0.5}, {"kits": 2, "share": 0.3}, {"kits": 3, "share": 0.2}]}"#,
            expiry_loss,
        ),
        computation(
            (
                "kit-demand",
                "How many kits failures will ask for over a span: the chance of each number",
            ),
            (Part::Kits, &[]),
            r#"{"failures": 1.6, "sizes": [{"kits": 1, "share": 0.5}, {"kits": 2, "share": 0.3}, {"kits": 3, "share": 0.2}]}"#,
            kit_demand,
        ),
        computation(
            (
                "expected-events",
                "Failures to expect from a group of gauges over a span of days",
            ),
            (Part::Kits, &[]),
            r#"{"rate": 0.05, "gauges": 120, "days": 90}"#,
            events,
        ),
    ]
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct LotOf {
    /// Lot.
    lot: String,
    /// Day the lot was received.
    received: Day,
    /// Last usable day.
    last_usable: Option<Day>,
    /// Kits in the lot.
    #[schemars(extend("x-named" = ["kits of a lot"]))]
    kits: u32,
    /// Standing.
    ///
    /// Released where left out.
    release: Option<Release>,
}

impl LotOf {
    /// As `calc` takes it.
    pub(super) fn lot(&self) -> Lot<String> {
        Lot {
            key: self.lot.clone(),
            received: self.received.0,
            last_usable: self.last_usable.map(|day| day.0),
            quantity: self.kits,
            release: self.release.unwrap_or_default(),
        }
    }
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct IssueOf {
    /// Lots.
    lots: Vec<LotOf>,
    /// Day the kits are wanted.
    on: Day,
    /// Kits wanted.
    kits: u32,
    /// Days a lot must still keep.
    ///
    /// None where left out.
    #[serde(default)]
    days_left: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
struct Picked {
    /// Lot.
    lot: String,
    /// Kits.
    kits: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
struct IssueFound {
    /// Take.
    picks: Vec<Picked>,
    /// Missing.
    missing: u32,
}

fn to_issue(of: IssueOf) -> Found<IssueFound> {
    let lots: Vec<Lot<String>> = of.lots.iter().map(LotOf::lot).collect();
    let wanted = Wanted {
        on: of.on.0,
        quantity: of.kits,
    };
    let found = lots::pick(&lots, wanted, of.days_left)?;
    let answer = IssueFound {
        picks: found
            .picks
            .into_iter()
            .map(|pick| Picked {
                lot: pick.key,
                kits: pick.quantity,
            })
            .collect(),
        missing: found.missing,
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WantOf {
    /// Day the kits are wanted.
    on: Day,
    /// Kits wanted.
    kits: u32,
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct CoverOf {
    /// Lots.
    lots: Vec<LotOf>,
    /// Wants.
    wants: Vec<WantOf>,
    /// Today.
    #[schemars(extend("x-named" = ["first day"]))]
    today: Day,
    /// Last day.
    until: Day,
}

#[derive(Debug, Serialize, JsonSchema)]
struct CoverFound {
    /// Usable kits today.
    usable: u32,
    /// Kits that cannot be used.
    unusable: u32,
    /// Kits wanted until then.
    wanted: u32,
    /// Kits short.
    short: u32,
    /// First day they are short.
    short_on: Option<Day>,
    /// Kits that expire unused.
    expiring: u32,
}

fn cover(of: CoverOf) -> Found<CoverFound> {
    let lots: Vec<Lot<String>> = of.lots.iter().map(LotOf::lot).collect();
    let wants: Vec<Wanted> = of
        .wants
        .iter()
        .map(|want| Wanted {
            on: want.on.0,
            quantity: want.kits,
        })
        .collect();
    let found = lots::cover(&lots, &wants, of.today.0, of.until.0)?;
    let answer = CoverFound {
        usable: found.usable,
        unusable: found.unusable,
        wanted: found.wanted,
        short: found.short,
        short_on: found.short_on.map(Day),
        expiring: found.expiring,
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SizeOf {
    /// Kits per failure.
    kits: u32,
    /// Share of failures.
    share: f64,
}

/// The distribution of kits a failure; one kit where nothing is said.
pub(super) fn sizes(of: &[SizeOf]) -> Result<KitsPerEvent, No> {
    if of.is_empty() {
        return Ok(KitsPerEvent::one());
    }
    let shares: Vec<(u32, f64)> = of.iter().map(|size| (size.kits, size.share)).collect();
    Ok(KitsPerEvent::new(&shares)?)
}

/// The demand of so many expected failures.
pub(super) fn demand(failures: f64, of: &[SizeOf]) -> Result<KitDemand, No> {
    Ok(compound_poisson(failures, &sizes(of)?)?)
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LossOf {
    /// Kits in the lot.
    kits: u32,
    /// Expected number of failures.
    ///
    /// Until the lot's last usable day.
    #[schemars(extend("x-named" = ["expected number of kits"]))]
    failures: f64,
    /// Kits a failure takes.
    ///
    /// One where left out.
    #[serde(default)]
    #[schemars(extend("x-named" = ["sum of the shares"]))]
    sizes: Vec<SizeOf>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct LossFound {
    /// Kits lost on average.
    expected: f64,
    /// Chance that any is lost.
    chance: f64,
}

fn expiry_loss(of: LossOf) -> Found<LossFound> {
    let found = lots::expected_expiry_loss(of.kits, &demand(of.failures, &of.sizes)?);
    let answer = LossFound {
        expected: found.expected,
        chance: found.chance,
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DemandOf {
    /// Expected number of failures.
    ///
    /// In the span.
    #[schemars(extend("x-named" = ["expected number of kits"]))]
    failures: f64,
    /// Kits a failure takes.
    ///
    /// One where left out.
    #[serde(default)]
    #[schemars(extend("x-named" = ["sum of the shares"]))]
    sizes: Vec<SizeOf>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct Chance {
    /// Kits.
    kits: u32,
    /// Chance of exactly so many.
    exactly: f64,
    /// Chance of so many or fewer.
    at_most: f64,
}

#[derive(Debug, Serialize, JsonSchema)]
struct DemandFound {
    /// Kits on average.
    mean: f64,
    /// Variance.
    variance: f64,
    /// Chances, as far as they matter.
    chances: Vec<Chance>,
}

/// What is left beyond the last number shown.
const SHOWN: f64 = 1.0 - 1e-6;

fn kit_demand(of: DemandOf) -> Found<DemandFound> {
    let sizes = sizes(&of.sizes)?;
    let found = compound_poisson(of.failures, &sizes)?;
    let mut chances = Vec::new();
    for kits in 0..=found.largest() {
        chances.push(Chance {
            kits,
            exactly: found.exactly(kits),
            at_most: found.at_most(kits),
        });
        if found.at_most(kits) >= SHOWN {
            break;
        }
    }
    let listed: Vec<String> = sizes
        .shares()
        .iter()
        .map(|(kits, share)| format!("{kits}: {}", significant(*share, 4)))
        .collect();
    let working = steps(
        "Kits failures will ask for",
        vec![
            Step::new("E D", "kits on average", "Λ·E[K]", Source::Arithmetic)
                .with("Λ", "expected failures", of.failures, Source::Entered)
                .with(
                    "pₖ",
                    "share of failures that take k kits",
                    listed.join(", "),
                    Source::Entered,
                )
                .gives(significant(found.mean(), 6)),
            Step::new(
                "f(0)",
                "chance that none is wanted",
                "e^(−Λ(1−p₀))",
                Source::published("H. H. Panjer, ASTIN Bulletin 12 (1981) 22-26"),
            )
            .gives(significant(found.exactly(0), 8)),
            Step::new(
                "f(n)",
                "chance of each further number",
                "(Λ/n) Σ k·pₖ·f(n−k)",
                Source::published("H. H. Panjer, ASTIN Bulletin 12 (1981) 22-26"),
            )
            .gives("as listed"),
        ],
    );
    let answer = DemandFound {
        mean: found.mean(),
        variance: found.variance(),
        chances,
    };
    Ok((answer, working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct EventsOf {
    /// Failures per gauge and year.
    rate: f64,
    /// Gauges.
    #[schemars(extend("x-named" = ["expected number of failures"]))]
    gauges: u32,
    /// Days.
    days: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
struct EventsFound {
    /// Expected failures.
    failures: f64,
}

fn events(of: EventsOf) -> Found<EventsFound> {
    let failures = expected_events(of.rate, of.gauges, of.days)?;
    let step = Step::new(
        "Λ",
        "expected failures",
        "λ·n·d/365.25",
        Source::published("Poisson process of constant rate; Julian year"),
    )
    .with("λ", "failures a gauge and year", of.rate, Source::Entered)
    .with("n", "gauges", of.gauges, Source::Entered)
    .with("d", "days", of.days, Source::Entered)
    .gives(significant(failures, 6));
    Ok((
        EventsFound { failures },
        steps("Failures to expect", vec![step]),
    ))
}
