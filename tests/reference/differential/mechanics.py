"""Random cases of units, tightening, bolting, ratings, pressure tests and stored energy, answered by
general-purpose libraries. Nothing of the product is used here; the seed is fixed.

Usage: python mechanics.py OUTPUT.jsonl      (pins: requirements.txt)
"""

import json
import math
import random
import sys
from fractions import Fraction

import numpy as np
import pint
from scipy.integrate import quad
from scipy.interpolate import make_interp_spline

SEED = 20261125
CASES = 1500
rng = random.Random(SEED)
ureg = pint.UnitRegistry()
ureg.define("kgf_per_cm2 = kilogram_force / centimeter ** 2")

PRESSURE = {"[psi]": "psi", "bar": "bar", "kPa": "kPa", "MPa": "MPa", "kgf/cm2": "kgf_per_cm2"}
TORQUE = {
    "[ft_i].[lbf_av]": "foot * pound_force",
    "[in_i].[lbf_av]": "inch * pound_force",
    "N.m": "newton * meter",
    "kgf.m": "kilogram_force * meter",
}
LENGTH = {"[in_i]": "inch", "mm": "mm", "[mil_i]": "thou", "um": "um", "m": "m"}
VOLUME = {"L": "liter", "m3": "meter ** 3", "mL": "milliliter", "[cft_i]": "foot ** 3", "[cin_i]": "inch ** 3", "[gal_us]": "gallon"}
TEMPERATURE = {"[degF]": "degF", "Cel": "degC", "K": "kelvin"}


def written(low, high, digits=4):
    """A number as a person would write it."""
    return f"{rng.uniform(low, high):.{rng.randint(0, digits)}f}"


def positive(low, high, digits=4):
    while True:
        text = written(low, high, digits)
        if float(text) > 0:
            return text


def q(text, unit):
    return ureg.Quantity(float(text), unit)


def conversions(kind, units, low, high):
    for _ in range(CASES):
        value = written(low, high)
        a, b = rng.choice(list(units)), rng.choice(list(units))
        yield {"f": kind, "value": value, "from": a, "to": b, "want": q(value, units[a]).to(units[b]).magnitude}


def passes():
    for _ in range(CASES):
        target, step = positive(0.1, 300, 2), positive(5, 60, 2)
        t, d = Fraction(target), Fraction(step)
        if t <= d:
            want = [t]
        else:
            want = [d * i for i in range(1, math.floor(t / d) + 1) if d * i < t]
            if len(want) > 1 and t - want[-1] <= d / 2:
                want.pop()
            want.append(t)
        if len(want) <= 99:
            yield {"f": "passes", "target": target, "step": step, "want": [[p.numerator, p.denominator] for p in want]}


def orders():
    for n in range(1, 13):
        middle = Fraction(n + 1, 2)
        turn = lambda b: 2 * (b[1] > middle) if b[0] == "L" else 1 + 2 * (b[1] < middle)
        bolts = [(rail, place) for rail in "LR" for place in range(1, n + 1)]
        bolts.sort(key=lambda b: (abs(b[1] - middle), turn(b)))
        yield {"f": "order", "n": n, "want": [f"{rail}{place}" for rail, place in bolts]}


def threads():
    names = {4: "1/4", 5: "5/16", 6: "3/8", 7: "7/16", 8: "1/2", 9: "9/16", 10: "5/8", 12: "3/4", 14: "7/8", 16: "1", 20: "1 1/4", 24: "1 1/2", 32: "2"}
    for _ in range(CASES):
        if rng.random() < 0.5:
            size = rng.choice(list(names))
            per_inch = rng.randint(max(4, math.ceil(48 / size)), 32)
            name, d, p = f"{names[size]}-{per_inch}", q(size / 16, "inch"), q(1, "inch") / per_inch
        else:
            size = rng.choice([6, 8, 10, 12, 14, 16, 20, 24, 30, 36, 64])
            pitch = rng.choice([p for p in (50, 75, 100, 125, 150, 175, 200, 250, 300, 350, 400, 600) if 3 * p <= 100 * size])
            name, d, p = f"M{size}x{pitch / 100:g}", q(size, "mm"), q(pitch / 100, "mm")
        height = math.sqrt(3) / 2 * p
        # Both standards average pitch and minor diameter; the inch one takes the nut's minor height.
        d2 = d - 3 / 4 * height
        d3 = d - (3 / 2 if "-" in name else 17 / 12) * height
        area = math.pi / 4 * ((d2 + d3) / 2) ** 2
        yield name, d, area


def loads():
    for name, d, area in threads():
        unit, k, torque = rng.choice(list(TORQUE)), rng.uniform(0.05, 0.6), positive(0.5, 500)
        tension = (q(torque, TORQUE[unit]) / (k * d)).to("newton")
        yield {
            "f": "load", "thread": name, "torque": torque, "unit": unit, "k": k,
            "area": area.to("mm**2").magnitude, "force": tension.magnitude,
            "stress": (tension / area).to("pascal").magnitude,
        }


def wrenches():
    for _ in range(CASES):
        units = [rng.choice(list(TORQUE)) for _ in range(3)]
        high = positive(20, 200, 1)
        low = written(0, 15, 1)
        target = positive(1, 220, 2)
        t, lo, hi = (q(v, TORQUE[u]).to("N*m").magnitude for v, u in zip((target, low, high), units))
        if lo >= hi * (1 - 1e-9):
            continue
        edges = (max(lo, 0.2 * hi), hi)
        if any(abs(t / e - 1) < 1e-9 for e in edges):
            continue
        fit = "below-range" if t < edges[0] else "above-range" if t > edges[1] else "fits"
        yield {"f": "wrench", "target": target, "low": low, "high": high, "units": units, "want": fit}


def ratings():
    for _ in range(CASES):
        count = rng.randint(2, 14)
        temperatures = sorted(rng.sample(range(-50, 550), count))
        pressures = sorted((positive(5, 3000, 1) for _ in range(count)), key=float, reverse=True)
        line = make_interp_spline(np.array(temperatures, float), np.array([float(p) for p in pressures]), k=1)
        scale = rng.choice(list(TEMPERATURE))
        celsius = Fraction(rng.randint(temperatures[0] * 100 - 500, temperatures[-1] * 100 + 500), 100)
        at = {"Cel": celsius, "[degF]": celsius * 9 / 5 + 32, "K": celsius + Fraction(27315, 100)}[scale]
        inside = temperatures[0] <= celsius <= temperatures[-1]
        points = list(zip(temperatures, pressures))
        rng.shuffle(points)
        yield {
            "f": "rating", "points": points, "scale": scale, "at": f"{float(at):.3f}",
            "want": float(line(float(celsius))) if inside else None,
        }


def required():
    step = {"[psi]": Fraction(1), "bar": Fraction(1, 10), "kPa": Fraction(10), "MPa": Fraction(1, 100), "kgf/cm2": Fraction(1, 10)}
    for _ in range(CASES):
        unit, code = rng.choice(list(PRESSURE)), rng.choice(["common-practice", "asme-b313", "asme-viii-ug99", "ped"])
        rating = positive(0.5, 90 if unit == "MPa" else 900, 2)
        ratio = rng.choice([None, rng.uniform(0.6, 3), 1 + rng.randint(0, 200) / 100])
        r = max(Fraction(1), Fraction(repr(ratio)) if ratio is not None else Fraction(1))
        factor = {"common-practice": Fraction(3, 2), "asme-b313": Fraction(3, 2), "asme-viii-ug99": Fraction(13, 10)}
        exact = Fraction(rating) * (max(Fraction(5, 4) * r, Fraction(143, 100)) if code == "ped" else factor[code] * r)
        steps = exact / step[unit]
        nearest = round(steps)
        if 0 < abs(steps - nearest) < Fraction(1, 10**8):
            continue
        up = math.ceil(steps) * step[unit]
        yield {
            "f": "required", "rating": rating, "unit": unit, "code": code, "ratio": ratio,
            "exact": float(exact), "want": [up.numerator, up.denominator],
        }


def ratios():
    for _ in range(CASES):
        a, b = rng.choice(["[psi]", "MPa", "bar"]), rng.choice(["[psi]", "MPa", "bar"])
        test, design = (positive(1000, 9000, 1) if u != "MPa" else positive(20, 400, 1) for u in (a, b))
        plain = (q(test, PRESSURE[a]) / q(design, PRESSURE[b])).to("dimensionless").magnitude
        cap = rng.choice([None, 6.5])
        yield {"f": "ratio", "test": test, "from": a, "design": design, "to": b, "cap": cap,
               "want": float(np.clip(plain, 1, cap if cap else np.inf))}


def gauges():
    scales = [0.6, 1, 1.6, 2.5, 4, 6, 10, 16, 25, 40, 60, 100, 160, 250, 400, 600, 1000, 1600]
    for _ in range(CASES):
        unit, scale_unit = rng.choice(list(PRESSURE)), rng.choice(["bar", "MPa", "kgf/cm2"])
        test = positive(0.5, 1500, 2)
        q_all = np.array([(q(s, PRESSURE[scale_unit]) / q(test, PRESSURE[unit])).to("dimensionless").magnitude for s in scales])
        if np.any(np.abs(q_all / 1.5 - 1) < 1e-9) or np.any(np.abs(q_all / 4 - 1) < 1e-9):
            continue
        suits = (q_all >= 1.5) & (q_all <= 4)
        away = np.where(suits, np.abs(np.log(q_all / 2)), np.inf)
        best = int(np.argmin(away)) if suits.any() else None
        if best is not None and np.partition(away, 1)[1] - away[best] < 1e-8:
            continue
        yield {"f": "gauge", "test": test, "unit": unit, "scales": scales, "scale_unit": scale_unit,
               "ratios": q_all.tolist(), "suits": suits.tolist(), "best": best}


def heads():
    for _ in range(CASES):
        rho = rng.uniform(600, 1500)
        unit, length = rng.choice(list(PRESSURE)), rng.choice(["[in_i]", "mm", "m"])
        limit = {"[in_i]": 700, "mm": 20000, "m": 20}[length]
        down, up = written(-limit / 4, limit), written(limit / 4, limit)
        reading = positive(1, 100)
        g = ureg.Quantity(1, "standard_gravity")
        head = lambda h: (ureg.Quantity(rho, "kg/m**3") * g * q(h, LENGTH[length])).to("pascal")
        p = q(reading, PRESSURE[unit])
        yield {
            "f": "head", "rho": rho, "down": down, "up": up, "length": length, "reading": reading, "unit": unit,
            "column": head(up).magnitude,
            "lowest": (p + head(down)).to(PRESSURE[unit]).magnitude,
            "highest": (p - head(up)).to(PRESSURE[unit]).magnitude,
        }


def energies():
    """The work of an isentropic expansion to the atmosphere, the integral of p dV from V to V2 with
    p V^k constant, by quadrature; the method's formula is its closed form."""
    for _ in range(CASES):
        k, volume, unit = rng.uniform(1.02, 5 / 3), 10 ** rng.uniform(-4, 2), rng.choice(["bar", "MPa", "[psi]"])
        pressure = positive(0.5, 90, 3)
        pa = 101_000.0
        p0 = q(pressure, PRESSURE[unit]).to("pascal").magnitude + pa
        v2 = volume * (p0 / pa) ** (1 / k)
        # Over x = ln V the integrand is smooth at any ratio.
        work, _ = quad(lambda x: p0 * volume**k * math.exp(x * (1 - k)), math.log(volume), math.log(v2), epsabs=0, epsrel=1e-12)
        air = 2.5 * p0 * volume * (1 - np.float64(pa / p0) ** 0.286)
        yield {"f": "energy", "k": k, "volume": volume, "pressure": pressure, "unit": unit, "work": work,
               "air": float(air), "radius": float(20 * np.cbrt(2 * air / 4_266_920)), "old": float(20 * np.cbrt(air / 4_266_920))}


# What follows came later: it stands at the end so that the cases above stay as they are.

# Exact by definition: the pound of 0.45359237 kg, 9.80665 m/s², the foot of 0.3048 m.
POUND_FORCE = Fraction("0.45359237") * Fraction("9.80665")
EXACT_TORQUE = {
    "[ft_i].[lbf_av]": POUND_FORCE * Fraction("0.3048"),
    "[in_i].[lbf_av]": POUND_FORCE * Fraction("0.0254"),
    "N.m": Fraction(1),
    "kgf.m": Fraction("9.80665"),
}


def steps_in():
    """The largest number of so many places that is not above the exact step in the other unit."""
    for _ in range(CASES):
        a, b = rng.choice(list(EXACT_TORQUE)), rng.choice(list(EXACT_TORQUE))
        step = positive(0.05, 60, 2)
        exact = Fraction(step) * EXACT_TORQUE[a] / EXACT_TORQUE[b]
        places = 0 if exact >= 1 else 1 if exact >= Fraction(1, 10) else 2
        down = Fraction(math.floor(exact * 10**places), 10**places)
        want = Fraction(step) if a == b else down
        yield {"f": "step_in", "step": step, "from": a, "to": b, "want": [want.numerator, want.denominator] if want else None}


def percentages():
    for _ in range(CASES):
        target, first, second = positive(0.1, 500, 2), written(19, 31, 2), written(49, 71, 2)
        good = 20 <= Fraction(first) <= 30 and 50 <= Fraction(second) <= 70
        want = [Fraction(target) * Fraction(share) / 100 for share in (first, second)] + [Fraction(target)]
        yield {"f": "by_percent", "target": target, "first": first, "second": second,
               "want": [[p.numerator, p.denominator] for p in want] if good else None}


def wrenches_over_passes():
    for _ in range(CASES):
        target, step = positive(5, 200, 1), positive(5, 40, 1)
        a, b = rng.choice(list(EXACT_TORQUE)), rng.choice(list(EXACT_TORQUE))
        high, low = positive(40, 250, 1), written(0, 30, 1)
        t, d = Fraction(target), Fraction(step)
        passes = [t] if t <= d else [d * i for i in range(1, math.floor(t / d) + 1) if d * i < t]
        if t > d:
            if len(passes) > 1 and t - passes[-1] <= d / 2:
                passes.pop()
            passes.append(t)
        edges = (max(Fraction(low), Fraction(high) / 5) * EXACT_TORQUE[b], Fraction(high) * EXACT_TORQUE[b])
        if Fraction(low) >= Fraction(high) or len(passes) > 99:
            continue
        fit = lambda p: "below-range" if p < edges[0] else "above-range" if p > edges[1] else "fits"
        yield {"f": "wrench_passes", "target": target, "step": step, "unit": a, "low": low, "high": high, "wrench": b,
               "want": [fit(p * EXACT_TORQUE[a]) for p in passes]}


def divisions():
    for _ in range(CASES):
        a, b = rng.choice(list(PRESSURE)), rng.choice(list(PRESSURE))
        test = positive(1, 1500, 2)
        share = rng.uniform(0.001, 0.06)
        division = f"{(q(test, PRESSURE[b]) * share).to(PRESSURE[a]).magnitude:.6f}"
        limit = rng.choice([0.01, 0.02, 0.05])
        if float(division) == 0:
            continue
        found = (q(division, PRESSURE[a]) / q(test, PRESSURE[b])).to("dimensionless").magnitude
        if abs(found / limit - 1) < 1e-8:
            continue
        yield {"f": "division", "division": division, "from": a, "test": test, "to": b, "limit": limit,
               "share": found, "want": bool(found <= limit)}


def readings():
    """The least reading that leaves the highest point at the required pressure, rounded up."""
    step = {"[psi]": 1.0, "bar": 0.1, "kPa": 10.0, "MPa": 0.01, "kgf/cm2": 0.1}
    for _ in range(CASES):
        unit, rho = rng.choice(list(PRESSURE)), rng.uniform(600, 1500)
        required = positive(5, 60 if unit == "MPa" else 600, 2)
        if float(required) * {"kPa": 0.01, "[psi]": 0.07}.get(unit, 1) < 4:
            required = f"{float(required) + 400:.2f}"
        down, up = written(-5, 20, 3), written(6, 20, 3)
        g = ureg.Quantity(1, "standard_gravity")
        head = lambda h: (ureg.Quantity(rho, "kg/m**3") * g * q(h, "m")).to(PRESSURE[unit]).magnitude
        steps = (float(required) + head(up)) / step[unit]
        if abs(steps - round(steps)) < 1e-7:
            continue
        reading = math.ceil(steps) * step[unit]
        yield {"f": "reading", "rho": rho, "required": required, "unit": unit, "down": down, "up": up,
               "want": reading, "lowest": reading + head(down)}


def weakest_parts():
    for _ in range(CASES):
        parts = [(positive(5, 90, 2), rng.choice(list(PRESSURE))) for _ in range(rng.randint(1, 6))]
        pascal = np.array([q(value, PRESSURE[unit]).to("pascal").magnitude for value, unit in parts])
        order = np.sort(pascal)
        if len(order) > 1 and order[1] / order[0] - 1 < 1e-8:
            continue
        yield {"f": "weakest", "parts": parts, "want": int(np.argmin(pascal))}


def digits():
    """numpy writes the exact binary value to so many places; digits before the point are kept."""
    for _ in range(CASES):
        value = rng.choice([-1, 1]) * 10 ** rng.uniform(-9, 9)
        count = rng.randint(1, 9)
        places = max(0, count - 1 - math.floor(math.log10(abs(value))))
        text = np.format_float_positional(value, precision=places, unique=False, trim="-")
        yield {"f": "significant", "value": value, "digits": count, "want": text}


def main(path):
    with open(path, "w", encoding="utf-8") as out:
        for group in (
            conversions("pressure", PRESSURE, -1, 5000), conversions("torque", TORQUE, 0, 1000),
            conversions("length", LENGTH, -5, 400), conversions("temperature", TEMPERATURE, 0, 900),
            passes(), orders(), loads(), wrenches(), ratings(), required(), ratios(), gauges(), heads(), energies(),
            conversions("volume", VOLUME, 0, 5000), steps_in(), percentages(), wrenches_over_passes(),
            divisions(), readings(), weakest_parts(), digits(),
        ):
            for case in group:
                out.write(json.dumps(case) + "\n")


if __name__ == "__main__":
    main(sys.argv[1])
