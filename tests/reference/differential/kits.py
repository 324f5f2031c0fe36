"""Random kit demand, stock levels and order quantities, answered by scipy and numpy.

Usage: python kits.py OUTPUT. Prints one JSON object a line: what was asked, what the library says.
It does not read or judge the answers of the product; the Rust test beside it does.
"""

import json
import sys

import numpy as np
from scipy import stats
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_flow

SEED = 20260302
LEVELS = (0.5, 0.8, 0.9, 0.95, 0.99, 0.999)


def some_shares(rng):
    """Kits per event and their shares, as a fleet of whole gauges gives them."""
    kinds = rng.integers(1, 5)
    kits = rng.choice(np.arange(1, 9), size=kinds, replace=False)
    counts = rng.integers(1, 60, size=kinds)
    return [[int(k), int(c)] for k, c in zip(kits, counts)]


def compound(events, shares):
    """P(D = n) as Poisson weights on direct convolution powers; no recursion."""
    total = sum(count for _, count in shares)
    single = np.zeros(max(kits for kits, _ in shares) + 1)
    for kits, count in shares:
        single[kits] += count / total
    most = int(events + 12 * np.sqrt(events) + 40)  # what lies beyond is below 1e-18
    result = np.zeros(most * (len(single) - 1) + 1)
    power = np.ones(1)
    for n in range(most + 1):
        result[: len(power)] += stats.poisson.pmf(n, events) * power
        if n < most:
            power = np.convolve(power, single)
    return result


def quantile(cdf, level):
    """The smallest n with P(D <= n) at the level; nothing where rounding decides."""
    n = int(np.searchsorted(cdf, level))
    close = min(abs(cdf[n] - level), abs(cdf[n - 1] - level) if n else 1.0)
    return None if close < 1e-9 else n


def demand(rng):
    events = float(rng.choice([rng.uniform(0, 3), rng.uniform(0, 40)]))
    shares = some_shares(rng)
    mass = compound(events, shares)
    cdf, tail = np.cumsum(mass), np.cumsum(mass[::-1])[::-1]
    grid = np.arange(len(mass))
    at = int(rng.integers(0, max(2, int(1.5 * float(np.dot(grid, mass)) + 3))))
    at = min(at, len(mass) - 2) if len(mass) > 1 else 0
    return {
        "ask": "compound",
        "events": events,
        "fleet": shares,
        "at": at,
        "exactly": float(mass[at]),
        "at_most": float(cdf[at]),
        "more_than": float(tail[at + 1]) if at + 1 < len(tail) else 0.0,
        "excess": float(np.dot(np.clip(grid - at, 0, None), mass)),
        "left": float(np.dot(np.clip(at - grid, 0, None), mass)),
        "mean": float(np.dot(grid, mass)),
        "variance": float(np.dot((grid - np.dot(grid, mass)) ** 2, mass)),
        "covers": [[level, quantile(cdf, level)] for level in LEVELS],
    }


def poisson(rng):
    mean = float(rng.choice([rng.uniform(0, 10), rng.uniform(0, 500), rng.uniform(0, 10000)]))
    at = max(0, int(mean + rng.normal() * 2 * np.sqrt(mean)))
    law = stats.poisson(mean)
    return {
        "ask": "poisson",
        "mean": mean,
        "at": at,
        "exactly": float(law.pmf(at)),
        "at_most": float(law.cdf(at)),
        "more_than": float(law.sf(at)),
        # E(D - n)+ = m P(D >= n) - n P(D >= n + 1), the closed form of the Poisson law
        "excess": float(mean * law.sf(at - 1) - at * law.sf(at)),
        "covers": [[level, int(law.ppf(level))] for level in LEVELS],
    }


def long_run(rng):
    """Fill rate, backorders and stock by summing over every position and every demand."""
    events, shares = float(rng.uniform(0.05, 8)), some_shares(rng)
    point, quantity = int(rng.integers(0, 30)), int(rng.integers(1, 16))
    mass = compound(events, shares)
    grid = np.arange(len(mass))
    total = sum(count for _, count in shares)
    mean_size = sum(kits * count for kits, count in shares) / total
    met = owed = shelf = 0.0
    for position in range(point + 1, point + quantity + 1):
        net = position - grid
        owed += float(np.dot(np.clip(-net, 0, None), mass))
        shelf += float(np.dot(np.clip(net, 0, None), mass))
        for kits, count in shares:
            met += count / total * float(np.dot(np.minimum(kits, np.clip(net, 0, None)), mass))
    return {
        "ask": "long_run", "events": events, "fleet": shares, "point": point, "quantity": quantity,
        "fill_rate": met / quantity / mean_size, "backorders": owed / quantity, "on_hand": shelf / quantity,
    }


def cheapest(rng):
    """The least cost over all allowed multiples, by trying them."""
    per_year, order, keep = rng.uniform(1, 2000), rng.uniform(1, 500), rng.uniform(0.5, 60)
    pack, minimum = int(rng.integers(1, 60)), int(rng.integers(1, 120))
    exact = float(np.sqrt(2 * order * per_year / keep))
    packs = np.arange(1, int((exact + minimum) / pack) + 4) * pack
    packs = packs[packs >= minimum]
    cost = order * per_year / packs + keep * packs / 2
    return {
        "ask": "cheapest", "per_year": per_year, "order_cost": order, "holding_cost": keep,
        "pack": pack, "minimum": minimum, "exact": exact, "quantity": int(packs[np.argmin(cost)]),
        "cost": float(cost.min()),
    }


def order(rng):
    needed, pack, minimum = int(rng.integers(0, 5000)), int(rng.integers(1, 300)), int(rng.integers(1, 300))
    allowed = np.arange(0, 40000 // pack) * pack
    enough = allowed[allowed >= max(needed, minimum)]
    return {
        "ask": "order_quantity", "needed": needed, "pack": pack, "minimum": minimum,
        "quantity": int(enough[0]) if needed else 0,
    }


# What follows came later: it stands at the end so that the cases above stay as they are.


def events(rng):
    """Failures to expect of a class over a span, and of several classes together."""
    rates = rng.uniform(0, 2, size=3)
    gauges, days = rng.integers(0, 400, size=3), int(rng.integers(0, 800))
    each = rates * gauges * days / np.float64(365.25)
    classes = [some_shares(rng) for _ in range(3)]
    width = 1 + max(kits for shares in classes for kits, _ in shares)
    mixed = np.zeros(width)
    for own, shares in zip(each, classes):
        for kits, count in shares:
            mixed[kits] += own * count / sum(c for _, c in shares)
    total = float(each.sum())
    return {
        "ask": "events", "rates": rates.tolist(), "gauges": gauges.tolist(), "days": days, "fleets": classes,
        "each": each.tolist(), "total": total, "shares": (mixed / total if total else mixed).tolist(),
    }


def reorder(rng):
    """Cover, shortage and fill rate for compound demand beside planned kits."""
    case = {}
    while not case or case["cover"] is None:
        mean_events, shares = float(rng.uniform(0.05, 12)), some_shares(rng)
        mass = compound(mean_events, shares)
        cdf, grid = np.cumsum(mass), np.arange(len(mass))
        level, planned = float(rng.choice(LEVELS)), int(rng.integers(0, 40))
        cover = quantile(cdf, level)
        case = {"cover": cover}
    short = float(np.dot(np.clip(grid - cover, 0, None), mass))
    return {
        "ask": "reorder", "events": mean_events, "fleet": shares, "level": level, "planned": planned,
        "cover": cover, "chance": float(cdf[cover]), "shortage": short,
        "fill_rate": 1 - short / (planned + float(np.dot(grid, mass))),
    }


def loss(rng):
    """What random demand leaves of one lot."""
    mean_events, shares = float(rng.uniform(0, 12)), some_shares(rng)
    mass = compound(mean_events, shares)
    grid, quantity = np.arange(len(mass)), int(rng.integers(0, 40))
    return {
        "ask": "loss", "events": mean_events, "fleet": shares, "quantity": quantity,
        "expected": float(np.dot(np.clip(quantity - grid, 0, None), mass)), "chance": float(mass[:quantity].sum()),
    }


def rate(rng):
    """The mean of the rate of a Poisson process after Jeffreys' prior, a gamma law."""
    failures, years = int(rng.integers(0, 200)), float(10 ** rng.uniform(-1.9, 4))
    return {"ask": "rate", "failures": failures, "years": years, "rate": float(stats.gamma.mean(failures + 0.5, scale=1 / years))}


def suggestion(rng):
    point, on_hand, on_order = (int(n) for n in rng.integers(0, 400, size=3))
    pack, minimum = int(rng.integers(1, 60)), int(rng.integers(1, 120))
    missing = int(np.clip(point - on_hand - on_order, 0, None))
    allowed = np.arange(0, 4000 // pack) * pack
    enough = allowed[allowed >= max(missing, minimum)]
    return {
        "ask": "suggest", "point": point, "on_hand": on_hand, "on_order": on_order, "pack": pack, "minimum": minimum,
        "missing": missing, "quantity": int(enough[0]) if missing else 0,
    }


def lots(rng):
    """Lots and wants by whole days: the most that can be met is a maximum flow from lots to wants,
    which knows nothing of the order lots go out in."""
    count, asked = int(rng.integers(0, 6)), int(rng.integers(0, 12))
    received = rng.integers(0, 300, size=count)
    last = received + rng.integers(0, 500, size=count)
    keeps, held = rng.random(count) < 0.2, rng.random(count) < 0.15
    quantity = rng.integers(0, 12, size=count)
    day, wanted = np.sort(rng.integers(0, 700, size=asked)), rng.integers(1, 7, size=asked)
    margin = int(rng.choice([0, 0, 14, 60]))

    def usable(at):
        return ~held & (received <= at) & (keeps | (last - at >= margin)) if count else np.zeros(0, bool)

    size = count + asked + 2
    room = np.zeros((size, size), dtype=np.int32)
    room[0, 1 : count + 1] = quantity
    room[count + 1 : size - 1, size - 1] = wanted
    for place, at in enumerate(day):
        room[1 : count + 1, count + 1 + place] = np.where(usable(at), 1000, 0)
    flow = int(maximum_flow(csr_matrix(room), 0, size - 1).flow_value)
    at = int(rng.integers(0, 700))
    return {
        "ask": "lots", "margin": margin,
        "lots": [[int(r), None if k else int(e), int(n), bool(h)] for r, e, k, n, h in zip(received, last, keeps, quantity, held)],
        "wants": [[int(d), int(n)] for d, n in zip(day, wanted)], "met": flow,
        "at": at, "usable": int(quantity[usable(at)].sum()) if count else 0,
    }


def main():
    rng = np.random.default_rng(SEED)
    with open(sys.argv[1], "w", encoding="utf-8") as out:
        for make in (demand, poisson, long_run, cheapest, order, events, reorder, loss, rate, suggestion, lots):
            for _ in range(3000 if make is lots else 1500):
                print(json.dumps(make(rng)), file=out)


if __name__ == "__main__":
    main()
