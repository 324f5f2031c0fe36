//! Water, steam and gas: boiling, density, what trapped water does, and the energy of a gas test.
//! The formulations are in `calc::water`, `calc::saturation`, `calc::trapped`, `calc::stored_energy`.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use uom::si::mass_density::kilogram_per_cubic_meter;
use uom::si::thermodynamic_temperature::degree_celsius;
use uom::si::volume::cubic_meter;

use super::pressure::{Metal, Shape, enclosure, steps};
use super::registry::{Care, Computation, Found, No, Part, computation};
use super::typed::{Measure, Pressure, Temperature, Volume};
use crate::calc::hold::gas_loss as loss_of;
use crate::calc::quantity::{
    AbsolutePressure, PressureUnit, StampedPressure, TemperatureUnit, Unit, significant,
};
use crate::calc::saturation::{self, Advice, GlassLimits, Shield, steam_glass as glass_in};
use crate::calc::stored_energy::{Edition, Gas, gas_test};
use crate::calc::trapped::{self, State};
use crate::calc::water;
use crate::calc::working::{Source, Step};

pub(super) fn list() -> Vec<Computation> {
    vec![
        computation(
            (
                "boiling",
                "The temperature water boils at under a pressure, or the pressure at a temperature",
            ),
            (Part::Water, &[Care::Parts]),
            r#"{"pressure": {"value": 10, "unit": "bar"}, "above": "vacuum"}"#,
            boiling,
        ),
        computation(
            (
                "steam-glass",
                "How hot the glass of a steam gauge gets, and whether a shield is called for",
            ),
            (Part::Water, &[Care::Parts]),
            r#"{"pressure": {"value": 40, "unit": "bar"}, "shield": "none"}"#,
            steam_glass,
        ),
        computation(
            (
                "water",
                "Density, thermal expansion and compressibility of water",
            ),
            (Part::Water, &[]),
            r#"{"temperature": {"value": 20, "unit": "Cel"}, "pressure": {"value": 50, "unit": "bar"}, "above": "vacuum"}"#,
            water_at,
        ),
        computation(
            (
                "trapped-water",
                "What the pressure of shut-in water becomes when its temperature changes",
            ),
            (Part::Water, &[Care::Pressure]),
            r#"{"pressure": {"value": 50, "unit": "bar"}, "temperature": {"value": 20, "unit": "Cel"}, "end_temperature": {"value": 21, "unit": "Cel"}, "metal": "carbon-steel", "shape": "rigid"}"#,
            trapped_water,
        ),
        computation(
            (
                "lost-volume",
                "The water that left when a blocked-in pressure fell by so much",
            ),
            (Part::Water, &[Care::Pressure]),
            r#"{"pressure": {"value": 100, "unit": "bar"}, "temperature": {"value": 20, "unit": "Cel"}, "drop": {"value": 2, "unit": "bar"}, "volume": {"value": 2, "unit": "L"}, "metal": "carbon-steel", "shape": "thick-bore", "ratio": 3}"#,
            lost_volume,
        ),
        computation(
            (
                "stored-energy",
                "The energy a gas test would store, and the distance it asks for",
            ),
            (Part::Water, &[Care::Gas]),
            r#"{"pressure": {"value": 10, "unit": "bar"}, "volume": {"value": 10, "unit": "L"}, "edition": "of2022"}"#,
            stored_energy,
        ),
        computation(
            (
                "gas-loss",
                "Drop and leak rate of a gas test, freed from the change of temperature",
            ),
            (Part::Water, &[Care::Gas]),
            r#"{"start_pressure": {"value": 7, "unit": "bar"}, "start_temperature": {"value": 20, "unit": "Cel"}, "end_pressure": {"value": 6.98, "unit": "bar"}, "end_temperature": {"value": 20, "unit": "Cel"}, "volume": {"value": 10, "unit": "L"}, "seconds": 600}"#,
            gas_loss,
        ),
    ]
}

/// What a pressure is counted from.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum Above {
    /// The atmosphere (101 325 Pa): gauge pressure.
    #[default]
    Atmosphere,
    /// Vacuum: absolute pressure.
    Vacuum,
}

impl Above {
    fn absolute(self, pressure: StampedPressure) -> AbsolutePressure {
        match self {
            Self::Atmosphere => pressure.gauge().absolute(),
            Self::Vacuum => AbsolutePressure::from_pa(pressure.si()),
        }
    }

    fn words(self) -> &'static str {
        match self {
            Self::Atmosphere => "pressure above atmosphere",
            Self::Vacuum => "pressure above vacuum",
        }
    }
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct BoilingOf {
    /// Pressure.
    ///
    /// Either this or the temperature.
    #[schemars(extend("x-named" = ["pressure of boiling"]))]
    pressure: Option<Pressure>,
    /// Pressure counted from.
    #[serde(default)]
    above: Above,
    /// Temperature.
    ///
    /// Either this or the pressure.
    #[schemars(extend("x-named" = ["temperature of boiling"]))]
    temperature: Option<Temperature>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct BoilingFound {
    /// Temperature.
    temperature: Measure,
    /// Pressure above vacuum.
    absolute: Measure,
    /// Pressure above atmosphere.
    gauge: Measure,
}

fn boiling(of: BoilingOf) -> Found<BoilingFound> {
    let answer = |kelvin: f64, absolute: AbsolutePressure, unit: PressureUnit| BoilingFound {
        temperature: Measure::new(TemperatureUnit::Celsius.from_si(kelvin), "Cel"),
        absolute: Measure::of(unit.from_si(absolute.pa()), unit),
        gauge: Measure::of(absolute.gauge().get(unit), unit),
    };
    match (of.pressure, of.temperature) {
        (Some(pressure), None) => {
            let pressure = pressure.stamped();
            let absolute = of.above.absolute(pressure);
            let found = saturation::temperature(absolute)?;
            let celsius = found.get::<degree_celsius>();
            let step = Step::new(
                "T",
                "temperature of boiling",
                "equation 31, T(p)",
                Source::published("IAPWS R7-97(2012), equation 31"),
            )
            .with("p", of.above.words(), pressure, Source::Entered)
            .gives(format!("{} °C", significant(celsius, 8)));
            let kelvin = TemperatureUnit::Celsius.to_si(celsius);
            Ok((
                answer(kelvin, absolute, pressure.unit),
                steps("Boiling", vec![step]),
            ))
        }
        (None, Some(temperature)) => {
            let temperature = temperature.stamped();
            let absolute = saturation::pressure(temperature.temperature())?;
            let bar = PressureUnit::Bar;
            let step = Step::new(
                "p",
                "pressure of boiling, above vacuum",
                "equation 30, p(T)",
                Source::published("IAPWS R7-97(2012), equation 30"),
            )
            .with("T", "temperature", temperature, Source::Entered)
            .gives(format!(
                "{} bar",
                significant(bar.from_si(absolute.pa()), 8)
            ));
            Ok((
                answer(temperature.si(), absolute, bar),
                steps("Boiling", vec![step]),
            ))
        }
        (Some(_), Some(_)) => Err(No::At(
            "temperature",
            "it must be left out beside a pressure".to_owned(),
        )),
        (None, None) => Err(No::At(
            "pressure",
            "it is missing: give a pressure or a temperature".to_owned(),
        )),
    }
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct SteamGlassOf {
    /// Gauge pressure.
    #[schemars(extend("x-named" = ["pressure of boiling"]))]
    pressure: Pressure,
    /// Shield on the steam side.
    shield: Shield,
    /// Hottest steam on bare glass, °C.
    ///
    /// 243 where left out.
    #[schemars(extend("x-named" = ["glass limits"]))]
    bare_steam: Option<f64>,
    /// Hottest for good, °C.
    ///
    /// 280 where left out.
    lasting: Option<f64>,
    /// Hottest at all, °C.
    ///
    /// 300 where left out.
    utmost: Option<f64>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct SteamGlassFound {
    /// Advice.
    advice: Advice,
    /// Temperature of the glass.
    temperature: Measure,
}

fn steam_glass(of: SteamGlassOf) -> Found<SteamGlassFound> {
    let usual = GlassLimits::BOROSILICATE;
    let limits = GlassLimits {
        bare_steam: of.bare_steam.unwrap_or(usual.bare_steam),
        lasting: of.lasting.unwrap_or(usual.lasting),
        utmost: of.utmost.unwrap_or(usual.utmost),
    };
    let found = glass_in(of.pressure.stamped().gauge(), limits, of.shield)?;
    let answer = SteamGlassFound {
        advice: found.advice,
        temperature: Measure::new(found.celsius, "Cel"),
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct WaterOf {
    /// Water temperature.
    temperature: Temperature,
    /// Water pressure.
    pressure: Pressure,
    /// Pressure counted from.
    #[serde(default)]
    above: Above,
}

#[derive(Debug, Serialize, JsonSchema)]
struct WaterFound {
    /// Density.
    density: Measure,
    /// Thermal expansion of the volume.
    expansion: Measure,
    /// Compressibility.
    compressibility: Measure,
}

fn water_at(of: WaterOf) -> Found<WaterFound> {
    let (temperature, pressure) = (of.temperature.stamped(), of.pressure.stamped());
    let found = water::at(temperature.temperature(), of.above.absolute(pressure))?;
    let density = found.density.get::<kilogram_per_cubic_meter>();
    let source = || Source::published("IAPWS R6-95(2018)");
    let working = steps(
        "Water",
        vec![
            Step::new(
                "ρ",
                "density",
                "p = ρ·R·T·(1 + δ·∂φ/∂δ), solved for ρ",
                source(),
            )
            .with("T", "temperature", temperature, Source::Entered)
            .with("p", of.above.words(), pressure, Source::Entered)
            .gives(format!("{} kg/m³", significant(density, 8))),
            Step::new("κₜ", "compressibility", "1/(ρ·∂p/∂ρ)", source()).gives(format!(
                "{} per GPa",
                significant(found.compressibility * 1e9, 6)
            )),
            Step::new("αᵥ", "thermal expansion", "∂p/∂T · κₜ", source())
                .gives(format!("{} per K", significant(found.expansion, 6))),
        ],
    );
    let answer = WaterFound {
        density: Measure::new(density, "kg/m3"),
        expansion: Measure::new(found.expansion, "1/K"),
        compressibility: Measure::new(found.compressibility * 1e9, "1/GPa"),
    };
    Ok((answer, working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct TrappedOf {
    /// Gauge pressure before.
    #[schemars(extend("x-named" = ["water pressure"]))]
    pressure: Pressure,
    /// Temperature before.
    #[schemars(extend("x-named" = ["water temperature"]))]
    temperature: Temperature,
    /// Temperature after.
    #[schemars(extend("x-named" = ["water temperature", "change of temperature"]))]
    end_temperature: Temperature,
    /// Metal of the wall.
    metal: Metal,
    /// Shape of the wall.
    shape: Shape,
    /// Ratio of the shape.
    ///
    /// Thick bore: outer over inner radius. Tubes: diameter over wall.
    #[schemars(extend("x-named" = ["outer over inner radius", "diameter over wall"]))]
    ratio: Option<f64>,
    /// Trapped air.
    ///
    /// As a share of the volume, 0 to 0.1; none where left out.
    air: Option<f64>,
}

#[derive(Debug, Serialize, JsonSchema)]
struct TrappedFound {
    /// Gauge pressure after.
    pressure: Measure,
    /// Change.
    change: Measure,
    /// Slope at the start.
    slope: Measure,
}

fn trapped_water(of: TrappedOf) -> Found<TrappedFound> {
    let enclosure = enclosure(of.metal, of.shape, of.ratio, of.air)?;
    let (before, start, end) = (
        of.pressure.stamped(),
        of.temperature.stamped(),
        of.end_temperature.stamped(),
    );
    let state = State {
        temperature: start.temperature(),
        pressure: before.gauge().absolute(),
    };
    let slope = trapped::slope(enclosure, state)?;
    let after = trapped::pressure_after(enclosure, state, end.temperature())?;
    let unit = before.unit;
    let (value, change) = (
        after.gauge().get(unit),
        unit.from_si(after.pa() - state.pressure.pa()),
    );
    let working = steps(
        "Shut-in water after a change of temperature",
        vec![
            Step::new(
                "b",
                "rise of pressure with temperature at the start",
                "[(1 − x)·αᵥ − γ + x/T] / [(1 − x)·κₜ + c + x/p]",
                Source::published("IAPWS R6-95(2018) for αᵥ and κₜ; conservation of mass"),
            )
            .with("p₁", "gauge pressure before", before, Source::Entered)
            .with("T₁", "temperature before", start, Source::Entered)
            .with("x", "trapped air, share of the volume", enclosure.air(), Source::Entered)
            .with(
                "c",
                "give of the wall, per GPa",
                significant(enclosure.compliance() * 1e9, 4),
                Source::Arithmetic,
            )
            .gives(format!("{} MPa/K", significant(slope / 1e6, 5))),
            Step::new(
                "p₂",
                "gauge pressure after",
                "(1 − x)·ρ₁/ρ(p₂, T₂) + x·(p₁/p₂)·(T₂/T₁) = 1 + γ·(T₂ − T₁) + c·(p₂ − p₁)",
                Source::published("IAPWS R6-95(2018) for ρ; conservation of mass"),
            )
            .with("T₂", "temperature after", end, Source::Entered)
            .gives(format!("{} {unit}", significant(value, 6))),
        ],
    )
    .remark("Nothing is lost and the water is as warm as the metal. Below about 7 °C warming lowers the pressure.");
    let answer = TrappedFound {
        pressure: Measure::of(value, unit),
        change: Measure::of(change, unit),
        slope: Measure::new(slope / 1e6, "MPa/K"),
    };
    Ok((answer, working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct LostOf {
    /// Gauge pressure.
    #[schemars(extend("x-named" = ["water pressure"]))]
    pressure: Pressure,
    /// Water temperature.
    temperature: Temperature,
    /// Pressure drop.
    drop: Pressure,
    /// Enclosed volume.
    volume: Volume,
    /// Metal of the wall.
    metal: Metal,
    /// Shape of the wall.
    shape: Shape,
    /// Ratio of the shape.
    ///
    /// Thick bore: outer over inner radius. Tubes: diameter over wall.
    #[schemars(extend("x-named" = ["outer over inner radius", "diameter over wall"]))]
    ratio: Option<f64>,
    /// Trapped air.
    ///
    /// As a share of the volume, 0 to 0.1; none where left out.
    air: Option<f64>,
}

fn lost_volume(of: LostOf) -> Found<Measure> {
    let enclosure = enclosure(of.metal, of.shape, of.ratio, of.air)?;
    let (pressure, temperature) = (of.pressure.stamped(), of.temperature.stamped());
    let (drop, volume) = (of.drop.stamped(), of.volume.stamped());
    let lost = trapped::lost_volume(
        enclosure,
        State {
            temperature: temperature.temperature(),
            pressure: pressure.gauge().absolute(),
        },
        drop.si(),
        volume.si(),
    )?;
    let step = Step::new(
        "ΔV",
        "volume that left",
        "Δp·[(1 − x)·κₜ + c + x/p]·V",
        Source::published("definition of compressibility; κₜ by IAPWS R6-95(2018)"),
    )
    .with("Δp", "drop at constant temperature", drop, Source::Entered)
    .with("V", "enclosed volume", volume, Source::Entered)
    .with("p", "gauge pressure", pressure, Source::Entered)
    .with("T", "temperature", temperature, Source::Entered)
    .with(
        "x",
        "trapped air, share of the volume",
        enclosure.air(),
        Source::Entered,
    )
    .gives(format!("{} mL", significant(lost * 1e6, 4)));
    Ok((
        Measure::new(lost * 1e6, "mL"),
        steps("Lost volume", vec![step]),
    ))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct EnergyOf {
    /// Test pressure.
    pressure: Pressure,
    /// Volume.
    volume: Volume,
    /// Ratio of specific heats.
    ///
    /// Left out for air and nitrogen.
    specific_heats: Option<f64>,
    /// Edition of ASME PCC-2.
    edition: Edition,
}

#[derive(Debug, Serialize, JsonSchema)]
struct EnergyFound {
    /// Stored energy.
    energy: Measure,
    /// Mass of TNT with the same energy.
    tnt: Measure,
    /// Distance by the formula alone.
    blast: Measure,
    /// Distance to keep.
    distance: Measure,
    /// Whether it is more than one test may store.
    beyond_one_test: bool,
}

fn stored_energy(of: EnergyOf) -> Found<EnergyFound> {
    let volume = uom::si::f64::Volume::new::<cubic_meter>(of.volume.stamped().si());
    let gas = of
        .specific_heats
        .map_or(Gas::AirOrNitrogen, |k| Gas::Other { k });
    let found = gas_test(of.pressure.stamped(), volume, gas, of.edition)?;
    let answer = EnergyFound {
        energy: Measure::new(found.joules / 1000.0, "kJ"),
        tnt: Measure::new(found.tnt_kg, "kg"),
        blast: Measure::new(found.blast_m, "m"),
        distance: Measure::new(found.distance_m, "m"),
        beyond_one_test: found.beyond_one_test,
    };
    Ok((answer, found.working))
}

#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct GasLossOf {
    /// Gauge pressure at the start.
    #[schemars(extend("x-named" = ["gas pressure"]))]
    start_pressure: Pressure,
    /// Temperature at the start.
    #[schemars(extend("x-named" = ["gas temperature"]))]
    start_temperature: Temperature,
    /// Gauge pressure at the end.
    #[schemars(extend("x-named" = ["gas pressure"]))]
    end_pressure: Pressure,
    /// Temperature at the end.
    #[schemars(extend("x-named" = ["gas temperature"]))]
    end_temperature: Temperature,
    /// Enclosed volume.
    volume: Volume,
    /// Time of the test, s.
    #[schemars(extend("x-named" = ["time of the test"]))]
    seconds: u32,
}

#[derive(Debug, Serialize, JsonSchema)]
struct GasLossFound {
    /// Drop at the starting temperature.
    drop: Measure,
    /// Leak rate.
    rate: Measure,
}

fn gas_loss(of: GasLossOf) -> Found<GasLossFound> {
    let state = |pressure: StampedPressure, temperature: Temperature| State {
        temperature: temperature.stamped().temperature(),
        pressure: pressure.gauge().absolute(),
    };
    let (start, end) = (of.start_pressure.stamped(), of.end_pressure.stamped());
    let volume = of.volume.stamped();
    let found = loss_of(
        state(start, of.start_temperature),
        state(end, of.end_temperature),
        volume.si(),
        of.seconds,
    )?;
    let unit = start.unit;
    let source = || Source::published("ideal-gas law");
    let working = steps(
        "Loss of a gas test",
        vec![
            Step::new(
                "Δp",
                "drop at the starting temperature",
                "p₁ − p₂·T₁/T₂, above vacuum",
                source(),
            )
            .with("p₁", "gauge pressure at the start", start, Source::Entered)
            .with(
                "T₁",
                "temperature at the start",
                of.start_temperature.stamped(),
                Source::Entered,
            )
            .with("p₂", "gauge pressure at the end", end, Source::Entered)
            .with(
                "T₂",
                "temperature at the end",
                of.end_temperature.stamped(),
                Source::Entered,
            )
            .gives(format!(
                "{} {unit}",
                significant(unit.from_si(found.drop_pa), 4)
            )),
            Step::new("Q", "leak rate", "V·Δp/t", source())
                .with("V", "enclosed volume", volume, Source::Entered)
                .with("t", "time", format!("{} s", of.seconds), Source::Entered)
                .gives(format!("{} Pa·m³/s", significant(found.rate, 4))),
        ],
    );
    let answer = GasLossFound {
        drop: Measure::of(unit.from_si(found.drop_pa), unit),
        rate: Measure::new(found.rate, "Pa.m3/s"),
    };
    Ok((answer, working))
}
