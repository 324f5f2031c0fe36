//! What was found when a section was stripped: glass, gaskets and shield side by side, where it leaked,
//! the bolting as found, and the cause of the work as it showed. Old glass and gaskets are thrown away.

use serde::{Deserialize, Serialize};

use super::gauge::Kind;
use super::rebuild::Cause;
use super::sentence::Sentence;
use super::words::words;

words! {
    /// What the glass looked like.
    GlassFound, "what the glass looked like" {
        Sound: "sound", "sound";
        Cracked: "cracked", "cracked";
        Chipped: "chipped", "chipped or scratched";
        Etched: "etched", "etched or thinned";
        Clouded: "clouded", "clouded";
    }
}

words! {
    /// What the gaskets looked like.
    GasketFound, "what the gasket looked like" {
        Sound: "sound", "sound";
        Hardened: "hardened", "hardened";
        Extruded: "extruded", "squeezed out";
        Torn: "torn", "torn or blown";
    }
}

words! {
    /// What the shield on the wetted side of a glass looked like.
    ShieldFound, "what the shield looked like" {
        None: "none", "none fitted";
        Sound: "sound", "sound";
        Clouded: "clouded", "clouded";
        Split: "split", "split or flaking";
        Thinned: "thinned", "thinned or holed";
    }
}

words! {
    /// Where it leaked.
    LeakPath, "where it leaked" {
        None: "none", "no leak";
        SealGasket: "seal-gasket", "past the seal gasket";
        ThroughGlass: "through-glass", "through the glass";
        Bolting: "bolting", "loose bolting";
        Valve: "valve", "gauge valve";
    }
}

words! {
    /// What the bolting looked like before it was loosened.
    BoltingFound, "what the bolting looked like" {
        Sound: "sound", "sound and tight";
        Loose: "loose", "loose";
        Uneven: "uneven", "unevenly tight";
        Corroded: "corroded", "corroded";
        Stretched: "stretched", "stretched or bent";
        Damaged: "damaged", "threads damaged";
        Missing: "missing", "parts missing";
    }
}

/// One side of a section as found.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Side {
    /// The seal gasket, on the liquid.
    pub seal: GasketFound,
    /// The cushion gasket, under the cover.
    pub cushion: GasketFound,
    /// The shield, where one may be fitted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shield: Option<ShieldFound>,
}

/// What is asked where it is not confirmed that the old parts are thrown away.
pub const THROWN_AWAY: &str =
    "Old glass and gaskets are thrown away: tick this when it is so, however sound they look";

/// What was found in a section. What older entries do not hold was not asked then.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stripping {
    /// The glass; of a transparent gauge the one in front.
    pub glass: GlassFound,
    /// The glass at the back of a transparent gauge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub back_glass: Option<GlassFound>,
    /// Gaskets and shield; of a transparent gauge those in front.
    #[serde(flatten)]
    pub front: Side,
    /// Gaskets and shield at the back of a transparent gauge.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub back: Option<Side>,
    /// Where it leaked.
    pub leak: LeakPath,
    /// The bolting before it was loosened.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bolting: Option<BoltingFound>,
    /// Whether it was confirmed that old glass and gaskets are thrown away; older entries confirmed it and
    /// keep no word of it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub thrown_away: bool,
    /// The cause of the work as it showed when the gauge was open.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cause: Option<Cause>,
    /// Anything else seen.
    pub note: String,
}

impl Stripping {
    /// What does not fit a gauge of this kind: the field, and why.
    ///
    /// # Errors
    /// A side that is missing, or that the gauge does not have; old parts that are not thrown away.
    pub fn fits(&self, kind: Kind) -> Result<(), (&'static str, &'static str)> {
        if !self.thrown_away {
            return Err(("thrown", THROWN_AWAY));
        }
        let reflex = "A reflex gauge has no glass at the back";
        match (kind, self.back_glass, &self.back) {
            (Kind::Transparent, None, _) => Err((
                "back_glass",
                "Choose one: what the glass at the back looked like",
            )),
            (Kind::Transparent, Some(_), None) => Err((
                "back_seal",
                "Choose one: what the gasket at the back looked like",
            )),
            (Kind::Reflex, Some(_), _) => Err(("back_glass", reflex)),
            (Kind::Reflex, None, Some(_)) => Err(("back_seal", reflex)),
            _ => Ok(()),
        }
    }

    /// What was found, as pairs of a label and what stands beside it, without the note.
    pub fn told(&self) -> Vec<(&'static str, Sentence)> {
        let mut pairs = Vec::new();
        match &self.back_glass {
            None => {
                pairs.push(("Glass", Sentence::of(self.glass)));
                pairs.push(("Seal gasket", Sentence::of(self.front.seal)));
                pairs.push(("Cushion gasket", Sentence::of(self.front.cushion)));
            }
            Some(back) => {
                pairs.push(("Glass in front", Sentence::of(self.glass)));
                pairs.push(("Glass at the back", Sentence::of(back)));
                let both = |front: GasketFound, back: Option<GasketFound>| match back {
                    Some(back) => Sentence::of(format!("{front} in front, {back} at the back")),
                    None => Sentence::of(front),
                };
                let at_back = self.back.as_ref();
                let seal = both(self.front.seal, at_back.map(|side| side.seal));
                let cushion = both(self.front.cushion, at_back.map(|side| side.cushion));
                pairs.push(("Seal gasket", seal));
                pairs.push(("Cushion gasket", cushion));
            }
        }
        let shields = (self.front.shield, self.back.as_ref().and_then(|b| b.shield));
        match shields {
            (Some(front), Some(back)) => {
                let both = format!("{front} in front, {back} at the back");
                pairs.push(("Shield", Sentence::of(both)));
            }
            (Some(one), None) | (None, Some(one)) => pairs.push(("Shield", Sentence::of(one))),
            (None, None) => {}
        }
        pairs.push(("Leak path", Sentence::of(self.leak)));
        let bolting = self.bolting.iter();
        pairs.extend(bolting.map(|found| ("Bolting as found", Sentence::of(found))));
        let cause = self.cause.iter();
        pairs.extend(cause.map(|cause| ("Cause of the work", Sentence::of(cause))));
        if self.thrown_away {
            pairs.push(("Thrown away", Sentence::of("old glass and gaskets")));
        }
        pairs
    }
}
