"""Random faces, walls, limits and uncertainty budgets, answered by general-purpose libraries.
Nothing of the product is used here; the seed is fixed.

Usage: python faces.py OUTPUT.jsonl      (pins: requirements.txt)
"""

import json
import math
import random
import sys
import time
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

import numpy as np
from dateutil.relativedelta import relativedelta
from scipy.optimize import linprog
from scipy.stats import norm, t as student

SEED = 20261126
CASES = 1500
rng = random.Random(SEED)


def written(low, high, digits):
    """A number as a person would write it."""
    return f"{rng.uniform(low, high):.{digits}f}"


# Flatness -----------------------------------------------------------------------------------------


def two_rails():
    """Readings in whole steps of an indicator, so that ties are common."""
    rails, along = rng.randint(2, 4), rng.randint(3, 15)
    pitch, apart, step = rng.choice([1.5, 25.0, 40.0]), rng.choice([1.0, 34.0]), rng.choice([1e-4, 1e-3])
    span = rng.randint(1, 40)
    return [(pitch * i, apart * r, step * rng.randint(-span, span)) for r in range(rails) for i in range(along)]


def scattered():
    n = rng.randint(4, 60)
    a, b, size = rng.uniform(-1e-3, 1e-3), rng.uniform(-1e-3, 1e-3), 10 ** rng.uniform(-5, 0)
    points = []
    for _ in range(n):
        x, y = rng.uniform(0, 400), rng.uniform(0, 50)
        points.append((x, y, a * x + b * y + rng.uniform(-size, size)))
    return points


def shaped():
    """Bows, twists and dents on a grid, as worn faces have them."""
    n, m = rng.randint(3, 10), rng.randint(2, 4)
    bow, twist, dent = (rng.choice([0.0, rng.uniform(-1, 1)]) for _ in range(3))
    at = (rng.randrange(n), rng.randrange(m))
    return [
        (i * 30.0, j * 20.0, 1e-2 * (bow * (2 * i / (n - 1) - 1) ** 2 + twist * i * j / (n * m) + dent * ((i, j) == at)))
        for i in range(n)
        for j in range(m)
    ]


def least_zone(points):
    """Twice the least half width, by linear programming on scaled residuals; and its programme."""
    xyz = np.array(points)
    design = np.c_[np.ones(len(points)), xyz[:, 0], xyz[:, 1]]
    weights = np.linalg.lstsq(design, xyz[:, 2], rcond=None)[0]
    rest = xyz[:, 2] - design @ weights
    scale = np.abs(rest).max()
    rms = math.sqrt((rest**2).mean())
    if scale < 1e-14:
        return 0.0, float(np.ptp(rest)), rms
    x = (xyz[:, 0] - xyz[:, 0].mean()) / max(np.ptp(xyz[:, 0]), 1e-300)
    y = (xyz[:, 1] - xyz[:, 1].mean()) / max(np.ptp(xyz[:, 1]), 1e-300)
    found = solve(x, y, rest / scale)
    return 2 * found.x[3] * scale, float(np.ptp(rest)), rms


def solve(x, y, z):
    ones = np.ones(len(x))
    upper = np.vstack([np.c_[-x, -y, -ones, -ones], np.c_[x, y, ones, -ones]])
    return linprog(
        [0, 0, 0, 1],
        A_ub=upper,
        b_ub=np.r_[-z, z],
        bounds=[(None, None)] * 3 + [(0, None)],
        method="highs",
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )


def flatness():
    for k in range(2 * CASES):
        points = [two_rails, scattered, shaped][k % 3]()
        zone, peak_to_valley, rms = least_zone(points)
        yield {"ask": "flatness", "points": points, "zone": zone, "least_squares": peak_to_valley, "rms": rms}


def flatness_time():
    """How long the library takes for forty stations, the median of many."""
    points = np.array([(25.0 * i, 34.0 * r, 1e-4 * rng.randint(-30, 30)) for r in range(2) for i in range(20)])
    taken = []
    for _ in range(200):
        begun = time.perf_counter()
        solve(points[:, 0], points[:, 1], points[:, 2])
        taken.append(time.perf_counter() - begun)
    yield {"ask": "flatness_time", "points": points.tolist(), "seconds": sorted(taken)[len(taken) // 2]}


# Conformance --------------------------------------------------------------------------------------


def conformance():
    for _ in range(2 * CASES):
        digits = rng.randint(1, 5)
        u = Decimal(written(10**-digits, 1, digits))
        if u <= 0:
            continue
        y = Decimal(written(-5, 5, digits))
        kind = rng.choice(["at_most", "at_least", "between"])
        least = y + Decimal(rng.randint(-8, 8)) * u / 2
        most = least + Decimal(rng.randint(1, 20)) * u / 2
        k = rng.choice(["0", "1", "1.5", "2", "3"])
        lower = least if kind != "at_most" else None
        upper = most if kind != "at_least" else None
        band = Decimal(k) * u
        kept = [d for d in (None if lower is None else y - lower, None if upper is None else upper - y) if d is not None]
        verdict = "undecided"
        if all(d >= band for d in kept):
            verdict = "accept"
        elif any(d < -band for d in kept):
            verdict = "reject"
        a, b, s, m = (None if v is None else float(v) for v in (lower, upper, u, y))
        if a is None:
            p = norm.cdf((b - m) / s)
        elif b is None:
            p = norm.sf((a - m) / s)
        elif m <= a:
            p = norm.sf((a - m) / s) - norm.sf((b - m) / s)
        else:
            p = norm.cdf((b - m) / s) - norm.cdf((a - m) / s)
        yield {
            "ask": "conformance",
            "y": str(y),
            "u": str(u),
            "least": None if lower is None else str(lower),
            "most": None if upper is None else str(upper),
            "k": float(k),
            "verdict": verdict,
            "probability": float(p),
        }


# Uncertainty --------------------------------------------------------------------------------------


def budgets():
    for _ in range(CASES):
        influences, variances, shared = [], [], 0.0
        for _ in range(rng.randint(1, 6)):
            kind = rng.choice(["readings", "within", "steps", "certificate", "standard"])
            size = 10 ** rng.uniform(-4, 1)
            if kind == "readings":
                values = [rng.gauss(rng.uniform(0, 5), size) for _ in range(rng.randint(2, 12))]
                u = np.std(values, ddof=1) / math.sqrt(len(values))
                influences.append({"kind": kind, "values": values})
                shared += u**4 / (len(values) - 1)
            elif kind == "within":
                u = size / math.sqrt(3)
                influences.append({"kind": kind, "half_width": size})
            elif kind == "steps":
                u = size / math.sqrt(12)
                influences.append({"kind": kind, "step": size})
            elif kind == "certificate":
                factor = rng.uniform(1, 3)
                u = size / factor
                influences.append({"kind": kind, "expanded": size, "factor": factor})
            else:
                freedom = rng.choice([None, rng.uniform(1, 60)])
                u = size
                influences.append({"kind": kind, "value": size, "freedom": freedom})
                shared += 0.0 if freedom is None else u**4 / freedom
            variances.append(u**2)
        total = float(np.sum(variances))
        freedom = None if shared == 0.0 else total**2 / shared
        yield {"ask": "budget", "influences": influences, "standard": math.sqrt(total), "freedom": freedom}


def factors():
    for _ in range(CASES):
        level = rng.uniform(0.5, 0.9999)
        freedom = rng.choice([None, rng.uniform(1, 10), rng.uniform(1, 300)])
        k = norm.ppf((1 + level) / 2) if freedom is None else student.ppf((1 + level) / 2, math.floor(freedom))
        yield {"ask": "factor", "level": level, "freedom": freedom, "k": float(k)}


# Walls --------------------------------------------------------------------------------------------

METRES = {"[in_i]": Fraction(254, 10000), "mm": Fraction(1, 1000), "[mil_i]": Fraction(254, 10**7), "um": Fraction(1, 10**6)}


def length(low, high):
    """A length between so many inches, written in some unit, with its exact size in metres."""
    unit = rng.choice(list(METRES))
    size = Fraction(rng.uniform(low, high)) * METRES["[in_i]"] / METRES[unit]
    digits = {"[in_i]": 4, "mm": 2, "[mil_i]": 1, "um": 0}[unit]
    text = f"{float(size):.{digits}f}"
    return {"value": text, "unit": unit}, Fraction(text) * METRES[unit]


def skims():
    for _ in range(CASES):
        (wall, t), (cut, c), (limit, least) = length(0.09, 0.2), length(0.002, 0.03), length(0.08, 0.12)
        done = rng.randint(0, 3)
        if t - c < least:
            skim = "too-thin"
        elif done >= 2:
            skim = "too-often"
        else:
            skim = "allowed"
        left = (t - c) / METRES[wall["unit"]]
        more = min(1 - done, (t - c - least) // c) if skim == "allowed" else 0
        yield {
            "ask": "skim", "wall": wall, "cut": cut, "limit": limit, "done": done,
            "skim": skim, "left": float(left), "skims_left": int(more), "possible": max(0, int((t - least) // c)),
        }


def lives():
    for _ in range(3 * CASES):
        on = date(1950, 1, 1) + timedelta(days=rng.randint(0, 30_000))
        limit, least = length(0.08, 0.12)
        readings, exact, start = [], [], 0
        for k in range(rng.randint(1, 6)):
            wall, size = length(0.09, 0.2)
            taken = "after-skim" if rng.random() < 0.15 else "after-service"
            if taken == "after-skim":
                start = k
            readings.append({"on": on.isoformat(), "thickness": wall, "taken": taken})
            exact.append((on, size, METRES[wall["unit"]]))
            on += timedelta(days=rng.choice([0, rng.randint(1, 60), rng.randint(200, 3000)]))
        months = rng.randint(1, 240)
        run = []
        for day, size, unit in exact[start:]:
            # Of several readings of one day the thinnest counts.
            if run and run[-1][0] == day:
                run[-1] = min(run[-1], (day, size, unit), key=lambda entry: entry[1])
            else:
                run.append((day, size, unit))
        last_day, last, unit = run[-1]
        before = [entry for entry in run if entry[0] < last_day]
        interval = last_day + relativedelta(months=months)
        rates = []
        if before:
            for day, size, _ in (run[0], before[-1]):
                rates.append((size - last) / (last_day - day).days)
        governing = max((rate for rate in rates if rate > 0), default=None)
        if last <= least:
            outlook, years, following = "spent", None, last_day
        elif not before:
            outlook, years, following = "rate-unknown", None, interval
        elif governing is None:
            outlook, years, following = "no-loss-found", None, interval
        else:
            days = (last - least) / governing
            outlook, years = "lasts", float(days / Fraction("365.25"))
            half = int(days / 2)
            following = min(interval, last_day + timedelta(days=half)) if half < 90_000 else interval
        yield {
            "ask": "life", "readings": readings, "limit": limit, "months": months,
            "rates": [float(rate * Fraction("365.25") / unit) for rate in rates],
            "outlook": outlook, "years": years, "next": following.isoformat(),
        }


# What follows came later: it stands at the end so that the cases above stay as they are.


def many_degrees():
    """Coverage factors from a few hundred degrees of freedom up to more than anybody has."""
    for _ in range(CASES):
        level, freedom = rng.uniform(0.5, 0.9999), float(math.floor(10 ** rng.uniform(2.3, 15)))
        yield {"ask": "factor", "level": level, "freedom": freedom, "k": float(student.ppf((1 + level) / 2, freedom))}


def plain_limits():
    """A feeler and a wall against their limits in other units, as exact fractions."""
    for _ in range(CASES):
        (feeler, s), (limit, most) = length(0.0005, 0.006), length(0.0005, 0.006)
        (wall, t), (least, t0) = length(0.06, 0.2), length(0.06, 0.2)
        if min(s, most, t, t0) <= 0:
            continue
        yield {"ask": "plain", "feeler": feeler, "limit": limit, "kept": s <= most, "wall": wall, "least": least, "thick": t >= t0}


def judged_faces():
    """Two rails of equal pitch, and the zone held against a limit well away from it."""
    for _ in range(CASES):
        n, pitch, apart = rng.randint(3, 12), f"{rng.uniform(10, 60):.1f}", f"{rng.uniform(15, 60):.1f}"
        left, right = ([f"{rng.randint(-40, 40) / 10000:.4f}" for _ in range(n)] for _ in range(2))
        points = [(float(pitch) * i, y, float(z)) for y, rail in ((0.0, left), (float(apart), right)) for i, z in enumerate(rail)]
        zone, _, _ = least_zone(points)
        limit = f"{rng.uniform(0.2, 2) * zone + 0.0001:.5f}"
        if float(limit) <= 0 or abs(float(limit) - zone) < 1e-8:
            continue
        yield {"ask": "face", "pitch": pitch, "apart": apart, "left": left, "right": right,
               "zone": zone, "limit": limit, "kept": bool(zone <= float(limit))}


def main():
    with open(sys.argv[1], "w", encoding="utf-8") as out:
        for asks in (flatness, flatness_time, conformance, budgets, factors, skims, lives, many_degrees, plain_limits, judged_faces):
            for case in asks():
                out.write(json.dumps(case) + "\n")


if __name__ == "__main__":
    main()
