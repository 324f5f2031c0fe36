//! The words of the trade as this register uses them, in plain language.
//! Which formula stands behind a number is told by its working.

use askama::Template;

use crate::pages::address;
use crate::pages::answer::{self, Answer};
use crate::pages::chrome::Chrome;

/// A word and what is meant by it; the mark is where pages link to.
struct Word {
    mark: &'static str,
    term: &'static str,
    meaning: &'static str,
}

/// Words of one matter.
struct Matter {
    heading: &'static str,
    words: &'static [Word],
}

const fn word(mark: &'static str, term: &'static str, meaning: &'static str) -> Word {
    Word {
        mark,
        term,
        meaning,
    }
}

const MATTERS: &[Matter] = &[
    Matter {
        heading: "The gauge",
        words: &[
            word(
                "gauge",
                "Armoured level gauge",
                "A strip of flat tempered glass clamped between a metal chamber and a bolted cover, through which the level of a vessel is seen.",
            ),
            word(
                "section",
                "Section",
                "One chamber with its glass and cover. Long gauges have several sections above each other.",
            ),
            word(
                "chamber",
                "Chamber",
                "The body the liquid stands in. Its through-bore is the channel of the liquid; its recess is the machined seat of the seal gasket.",
            ),
            word(
                "reflex",
                "Reflex gauge",
                "One glass a section, with prisms on the liquid side that face the chamber. Liquid shows dark, vapour bright.",
            ),
            word(
                "transparent",
                "Transparent gauge",
                "Two glasses a section, in front and at the back, so that one looks through the liquid. On steam each may carry a shield.",
            ),
            word(
                "shield",
                "Shield",
                "A sheet of mica or a plastic film on the wetted side of a transparent gauge\u{2019}s glass, where the contents attack it.",
            ),
            word(
                "seal-gasket",
                "Seal gasket",
                "The gasket between glass and chamber. It is wetted and keeps the contents in.",
            ),
            word(
                "cushion-gasket",
                "Cushion gasket",
                "The gasket between glass and cover. It is dry and lets the cover press evenly.",
            ),
            word(
                "bolting",
                "Cover bolting",
                "The bolts, studs or U-bolts with nuts and washers that press the cover on. Two legs of one U-bolt are one station.",
            ),
            word(
                "nameplate",
                "Nameplate",
                "The metal tag under a cover bolt: order number, kit, materials, rating and torque. The register keeps it as stamped, value and unit, with a photograph.",
            ),
            word(
                "tag-number",
                "Tag number",
                "The number the plant knows the gauge by, such as LG-1107A.",
            ),
            word(
                "service-class",
                "Service class",
                "What stands behind the glass and how hard it is on it. It sets the intervals.",
            ),
            word(
                "isolable",
                "Isolable in service",
                "Whether the gauge valves shut it off while the vessel works. If not, it can only be worked on in a shutdown window.",
            ),
        ],
    },
    Matter {
        heading: "Due dates",
        words: &[
            word(
                "rebuild-interval",
                "Rebuild interval",
                "The longest time between two rebuilds of a service class, counted in months from the return to service.",
            ),
            word(
                "look-over",
                "Look-over",
                "A short visual inspection in service.",
            ),
            word(
                "failure",
                "Failure",
                "What went wrong in service: a leak, a cracked glass. It makes the gauge due now.",
            ),
            word(
                "latest-date",
                "Latest date",
                "The earliest of the dates the rules give; where the gauge cannot be isolated, the end of the last shutdown window before it.",
            ),
            word(
                "no-window",
                "No window",
                "No shutdown window ends before the date. Somebody has to find one, or defer.",
            ),
            word(
                "deferral",
                "Deferral",
                "A later date with a reason, the risk and what is done meanwhile, asked for by one person and signed by another. It cannot go past the date it names as never past.",
            ),
            word(
                "resting",
                "Resting",
                "Out of service for now; no date runs.",
            ),
            word(
                "re-torque",
                "Re-torque",
                "Tightening once more, cold and without pressure, after the first heat cycle, where the practice asks for it.",
            ),
        ],
    },
    Matter {
        heading: "At the bench",
        words: &[
            word(
                "rebuild",
                "Rebuild",
                "One strip, inspection, assembly, test and return. Its states: planned, ready, at the bench, on test, returned, or abandoned with a reason.",
            ),
            word(
                "bench-sheet",
                "Bench sheet",
                "What is filled in during a rebuild, step by step; on the screen or on paper.",
            ),
            word(
                "made-safe",
                "Made safe",
                "Isolated, locked out and tagged, drained, vented, proved free of pressure, cold. Of a gauge that cannot be isolated in service: its vessel out of service and free of pressure. Nothing is loosened before.",
            ),
            word(
                "flatness",
                "Flatness",
                "The distance of the two closest parallel planes that hold all readings of a face (minimum zone, ISO 12781-1).",
            ),
            word(
                "wall",
                "Wall",
                "The metal left between through-bore and recess. It gets thinner by wear and by each skim.",
            ),
            word(
                "skim",
                "Skim",
                "A light cut on a mill that makes a gouged face flat again. It costs wall and is done once or twice in a chamber\u{2019}s life.",
            ),
            word(
                "pass",
                "Pass",
                "One round over all nuts of a section at one torque. Passes rise in equal steps, the last one to the nameplate torque.",
            ),
            word(
                "hung-nut",
                "Hung nut",
                "A nut that does not run freely by hand; its torque reading lies.",
            ),
            word(
                "guard-band",
                "Guard band",
                "The margin by which a measured value must keep clear of its limit so that measurement uncertainty cannot hide a fault (ISO 14253-1).",
            ),
        ],
    },
    Matter {
        heading: "Tests and certificates",
        words: &[
            word(
                "required-pressure",
                "Required pressure",
                "The pressure a test has to reach, worked out from the rating by the code that was chosen and rounded up.",
            ),
            word(
                "hold",
                "Hold",
                "The time the pressure stands and every joint is looked at; no leak may show. The register\u{2019}s clock counts it.",
            ),
            word(
                "witness",
                "Witness",
                "The inspector who saw the test. One who was named and did not see it says so, and another is named.",
            ),
            word(
                "certificate",
                "Certificate",
                "The signed record of a test. It is never changed: a corrected one supersedes it, a withdrawal says why.",
            ),
            word(
                "questioned",
                "Questioned",
                "Something the certificate relied on is in doubt. The reliability engineer decides whether it stands; an inspector may withdraw it.",
            ),
            word(
                "recall",
                "Recall",
                "What follows when an instrument is found out of tolerance or a lot is found bad: all that relied on it is decided one by one.",
            ),
            word(
                "check-code",
                "Short code",
                "The beginning of a certificate\u{2019}s fingerprint, to be typed on the check page.",
            ),
        ],
    },
    Matter {
        heading: "The storeroom",
        words: &[
            word(
                "kit",
                "Kit",
                "Glass and gaskets of one section side. A transparent gauge takes two a section.",
            ),
            word(
                "lot",
                "Lot",
                "Kits of one delivery under the maker\u{2019}s mark, with one expiry date.",
            ),
            word(
                "first-expired",
                "First expired, first out",
                "The lot that expires first is issued first. A lot past its date is refused.",
            ),
            word(
                "count",
                "Count",
                "What stands on the shelf, counted by hand. A difference is written with its reason; nothing is overwritten.",
            ),
            word(
                "service-level",
                "Service level",
                "How sure the plant wants to be that the shelf lasts until the next order comes.",
            ),
            word(
                "lead-time",
                "Lead time",
                "Days from placing an order to having the kits.",
            ),
            word(
                "order-by",
                "Order-by date",
                "The latest day to order so that the kits come in time.",
            ),
            word(
                "shortfall",
                "Shortfall",
                "Kits missing on the day they are wanted.",
            ),
            word(
                "fill-rate",
                "Fill rate",
                "The share of kits wanted that are expected to come straight from the shelf.",
            ),
        ],
    },
    Matter {
        heading: "Numbers and how long gauges last",
        words: &[
            word(
                "working",
                "Working",
                "The shown calculation behind a number: formula, values with units, source, rounding.",
            ),
            word(
                "suspension",
                "Suspension",
                "A gauge taken out of the count before it failed, such as one rebuilt in time. It tells that it lasted at least so long.",
            ),
            word(
                "weibull",
                "Weibull shape and scale",
                "Shape (β) tells whether failures come early (below 1), by chance (1) or by wear (above 1). Scale (η) is the age by which 63.2 % have failed.",
            ),
            word(
                "b10",
                "B10",
                "The age by which one in ten is expected to have failed.",
            ),
            word(
                "bad-actor",
                "Bad actor",
                "A gauge that fails clearly more often than its class.",
            ),
        ],
    },
];

#[derive(Template)]
#[template(path = "help/words.html")]
struct Page {
    chrome: Chrome,
    matters: &'static [Matter],
}

/// The page.
pub async fn show(chrome: Chrome) -> Answer {
    answer::page(&Page {
        chrome,
        matters: MATTERS,
    })
}
