//! What steam at a pressure means for flat gauge glass: how hot it gets, and whether a shield is
//! called for. This is advice with its ground; the maker's limits and the nameplate decide.

use serde::{Deserialize, Serialize};
use uom::si::thermodynamic_temperature::degree_celsius;

use super::super::OutOfRange;
use super::super::quantity::{GaugePressure, PressureUnit, significant};
use super::super::working::{Source, Step, Working};
use super::temperature;

/// Temperatures a kind of glass stands, in degrees Celsius. Steps, never interpolated.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct GlassLimits {
    /// Hottest steam bare glass may face; above it the water etches it.
    pub bare_steam: f64,
    /// Hottest it may be for good.
    pub lasting: f64,
    /// Hottest it may be at all, under the maker's conditions.
    pub utmost: f64,
}

impl GlassLimits {
    /// Toughened borosilicate: 280 °C for good, 300 °C under special conditions and with mica (DIN
    /// 7080:2005, second hand, for round panes of the same glass); 243 °C bare in saturated steam,
    /// which is 35 bar (a glass maker's published table of working conditions, second hand).
    pub const BOROSILICATE: Self = Self {
        bare_steam: 243.0,
        lasting: 280.0,
        utmost: 300.0,
    };
}

/// Whether the steam side of the glass is covered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Shield {
    /// Mica or film between steam and glass.
    Fitted,
    /// Bare glass.
    None,
}

/// What is advised.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, schemars::JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Advice {
    /// The glass stands this steam as it is.
    Suits,
    /// A shield is called for.
    FitShield,
    /// Only under the maker's conditions for the hottest range, shielded.
    AskMaker,
    /// Too hot for this glass.
    TooHot,
}

/// The advice with its ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SteamGlass {
    /// What is advised.
    pub advice: Advice,
    /// How hot the glass in the steam space gets, °C.
    pub celsius: f64,
    /// How it was found.
    pub working: Working,
}

/// How hot the glass of a steam gauge gets, and what that calls for.
///
/// # Formula
/// T = boiling temperature at the pressure above vacuum. Above the utmost limit: too hot; above the
/// lasting limit: ask the maker; above the limit for bare glass and no shield: fit one.
///
/// # Valid range
/// That of [`temperature`]; limits finite and in rising order. The water leg of a gauge is cooler, so
/// the steam space is the ground of the advice; superheated steam is hotter and not covered.
///
/// # Errors
/// [`OutOfRange`] outside that.
///
/// # Source
/// Boiling: IAPWS R7-97(2012). That bare glass is etched by hot steam and wants a shield: common
/// practice, no source. Limits as given, see [`GlassLimits::BOROSILICATE`].
pub fn steam_glass(
    at: GaugePressure,
    limits: GlassLimits,
    shield: Shield,
) -> Result<SteamGlass, OutOfRange> {
    let rising = limits.bare_steam <= limits.lasting && limits.lasting <= limits.utmost;
    if !(rising && limits.bare_steam.is_finite() && limits.utmost.is_finite()) {
        let given = format!(
            "{}, {}, {} °C",
            limits.bare_steam, limits.lasting, limits.utmost
        );
        return Err(OutOfRange::new("glass limits", given, "in rising order"));
    }
    let celsius = temperature(at.absolute())?.get::<degree_celsius>();
    let advice = if celsius > limits.utmost {
        Advice::TooHot
    } else if celsius > limits.lasting {
        Advice::AskMaker
    } else if celsius > limits.bare_steam && shield == Shield::None {
        Advice::FitShield
    } else {
        Advice::Suits
    };
    let said = match advice {
        Advice::Suits => "the glass suits this steam",
        Advice::FitShield => "fit a shield on the steam side",
        Advice::AskMaker => "only as the maker allows for the hottest range, shielded",
        Advice::TooHot => "too hot for this glass",
    };
    let working = Working::new("Glass in steam")
        .step(
            Step::new("T", "temperature of the glass", "boiling temperature at p", Source::published("IAPWS R7-97(2012), equation 31"))
                .with("p", "gauge pressure", format!("{} bar", significant(at.get(PressureUnit::Bar), 5)), Source::Entered)
                .gives(format!("{} °C", significant(celsius, 4))),
        )
        .step(
            Step::new("advice", "what that calls for", "T against the limits", Source::CommonPractice)
                .with("bare", "hottest steam on bare glass", format!("{} °C", limits.bare_steam), Source::Plant)
                .with("lasting", "hottest for good", format!("{} °C", limits.lasting), Source::Plant)
                .with("utmost", "hottest at all", format!("{} °C", limits.utmost), Source::Plant)
                .gives(said),
        )
        .remark("Advice only: nameplate, maker's instructions and the owner's procedures decide. Superheated steam is hotter than boiling.");
    Ok(SteamGlass {
        advice,
        celsius,
        working,
    })
}
