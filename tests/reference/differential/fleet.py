"""Random cases of expected failures under rebuild programmes and of fleet outlooks, answered by
high-precision series, by another discretisation and by an independent simulation. Nothing of the
product is used here; the seed is fixed.

Usage: python fleet.py OUTPUT.jsonl      (pins: requirements.txt)
"""

import heapq
import json
import math
import sys

import mpmath as mp
import numpy as np

SEED = 20261128
CASES = 1000
rng = np.random.default_rng(SEED)
mp.mp.dps = 60


def series(shape, x):
    """Renewal function by the power series of Smith and Leadbetter."""
    b, x = mp.mpf(shape), mp.mpf(x)
    gammas, weights, total = [None], [None], mp.mpf(0)
    for k in range(1, 400):
        gammas.append(mp.gamma(k * b + 1) / mp.factorial(k))
        weights.append(gammas[k] - mp.fsum(gammas[j] * weights[k - j] for j in range(1, k)))
        term = (-1) ** (k - 1) * weights[k] * x ** (k * b) / mp.gamma(k * b + 1)
        total += term
        if k > 12 and abs(term) < mp.mpf(10) ** -16:
            return float(total)
    return None


def renewals():
    done = 0
    while done < CASES:
        shape, scale = rng.uniform(0.5, 5), 10 ** rng.uniform(0, 3)
        x = rng.uniform(0.05, 2.2)
        value = series(shape, x)
        if value is None:
            continue
        every = x * scale
        blocks = int(rng.integers(1, 6))
        rest = rng.uniform(0.05, 0.95) * x
        tail = series(shape, rest)
        if tail is None:
            continue
        yield {"ask": "renewal", "shape": shape, "scale": scale, "horizon": every, "failures": value,
               "calendar": [every, blocks * every + rest * scale, blocks * value + tail, blocks],
               "patched": blocks * x**shape + rest**shape}
        done += 1


def by_age(shape, scale, every, horizon, age, n):
    """Failures and planned rebuilds by the horizon, of a gauge of some age and of a new one, by the
    trapezoidal rule; the planned rebuilds of never-failing gauges are kept apart."""
    h = every / n
    hazard = lambda x: (x / scale) ** shape
    F = lambda x: -np.expm1(-hazard(x))
    steps = int(math.ceil(horizon / h)) + 1
    grid = np.arange(steps + 1) * h
    # New gauge: renewal equation N(t) = F(t ^ T) + int N(t - x) dF(x) + R(T) N(t - T).
    f = F(np.arange(n + 1) * h)
    df = np.diff(f)
    keep = 1 - f[n]
    new = np.zeros(steps + 1)
    for i in range(1, steps + 1):
        k = min(i, n)
        a, c = new[i - np.arange(0, k)], new[i - np.arange(1, k + 1)]
        total = f[k] + np.dot(df[1:k], (a[1:] + c[1:]) / 2) + df[0] * c[0] / 2
        if i >= n:
            total += keep * new[i - n]
        new[i] = total / (1 - df[0] / 2)
    planned = np.zeros(steps + 1)
    for i in range(n, steps + 1):
        # Just after i h: the rebuild at the whole interval is in.
        planned[i] = keep * (1 + new[i - n] + planned[i - n])

    # The rebuilds of gauges that never failed come at whole intervals, R(T)^k of them.
    jumps = [(m * every, keep**m) for m in range(1, steps // n + 1)]
    for m, (_, jump) in enumerate(jumps, start=1):
        planned[m * n :] -= jump
    at = lambda curve, t: np.interp(t, grid, curve)
    left = every - age
    survive = math.exp(-hazard(age))
    stop = min(left, horizon)
    x = np.linspace(0, stop, 4 * n + 1)
    first = 1 - np.exp(-hazard(age + x)) / survive
    mid, weight = (x[1:] + x[:-1]) / 2, np.diff(first)
    failures = float(np.dot(weight, 1 + at(new, horizon - mid)))
    rebuilds = float(np.dot(weight, at(planned, horizon - mid)))
    for when, jump in jumps:
        if when < horizon:
            rebuilds += jump * (1 - math.exp(-hazard(age + min(stop, horizon - when))) / survive)
    if horizon > left:
        stays = float(1 - first[-1])
        failures += stays * float(at(new, horizon - left))
        rebuilds += stays * (1 + float(at(planned, horizon - left)))
        rebuilds += stays * sum(jump for when, jump in jumps if when < horizon - left)
    fresh = float(at(planned, horizon)) + sum(jump for when, jump in jumps if when < horizon)
    return failures, rebuilds, float(at(new, horizon)), fresh


def outlooks():
    for _ in range(CASES):
        shape, scale = rng.uniform(1.0, 5), rng.uniform(20, 200)
        every = rng.uniform(0.3, 1.2) * min(scale, 70)
        years = int(rng.integers(1, 7))
        age = rng.uniform(0, 0.98) * every
        failures, rebuilds, new, fresh = by_age(shape, scale, every, 12.0 * years, age, 160)
        coarse = by_age(shape, scale, every, 12.0 * years, age, 80)
        failures, rebuilds, new, fresh = ((4 * f - c) / 3 for f, c in zip((failures, rebuilds, new, fresh), coarse))
        yield {"ask": "aged", "shape": shape, "scale": scale, "every": every, "years": years, "age": age,
               "failures": failures, "planned": rebuilds, "new_failures": new, "new_planned": fresh}


RUNS = 300


def play(gauges, windows, bench, horizon):
    """One run, plainly: a heap of events, the rules as described for the outlook."""
    failures = planned = kits = 0
    overdue = 0.0
    heap, state, waiting = [], [], []
    count = 0

    def push(time, kind, gauge, serial):
        nonlocal count
        count += 1
        heapq.heappush(heap, (time, count, kind, gauge, serial))

    def plan(i):
        shape, scale, every, _, _, only = gauges[i]
        rebuilt, fails, serial = state[i]
        due = rebuilt + every
        if only:
            before = [w for w in windows if rebuilt < w <= due]
            after = [w for w in windows if w > due]
            at = before[-1] if before else (after[0] if after else math.inf)
            push(at, "window", i, serial)
        else:
            push(max(due, 0.0), "due", i, serial)
        push(fails, "failure", i, serial)

    def rebuild(i, time, failed):
        nonlocal failures, planned, kits, overdue
        shape, scale, every, _, each, _ = gauges[i]
        rebuilt, _, serial = state[i]
        overdue += max(0.0, time - max(rebuilt + every, 0.0))
        failures, planned, kits = failures + failed, planned + (not failed), kits + each
        state[i] = (time, time + scale * (-math.log(1 - rng.random())) ** (1 / shape), serial + 1)
        plan(i)

    for shape, scale, every, age, each, only in gauges:
        drawn = scale * ((age / scale) ** shape - math.log(1 - rng.random())) ** (1 / shape)
        state.append((-age, drawn - age, 0))
    for i in sorted(range(len(gauges)), key=lambda i: gauges[i][2] - gauges[i][3]):
        if gauges[i][3] >= gauges[i][2] and not gauges[i][5]:
            waiting.append((i, 0))
            push(state[i][1], "failure", i, 0)
        else:
            plan(i)
    for month in range(int(horizon)):
        push(float(month), "month", -1, 0)
    # A new month comes before anything else at its instant.
    heap = [(t, -1 if kind == "month" else c, kind, i, s) for t, c, kind, i, s in heap]
    heapq.heapify(heap)
    free = 0
    while heap and heap[0][0] < horizon:
        time, _, kind, i, serial = heapq.heappop(heap)
        if kind == "month":
            free = bench
            while free > 0 and waiting:
                j, waits = waiting.pop(0)
                if state[j][2] == waits:
                    rebuild(j, time, False)
                    free -= 1
        elif state[i][2] == serial:
            if kind == "failure":
                free = max(0, free - 1)
                rebuild(i, time, True)
            elif kind == "window":
                rebuild(i, time, False)
            elif free > 0:
                free -= 1
                rebuild(i, time, False)
            else:
                waiting.append((i, serial))
    for i, (rebuilt, _, _) in enumerate(state):
        overdue += max(0.0, horizon - max(rebuilt + gauges[i][2], 0.0))
    return failures, planned, kits, overdue


def played():
    for _ in range(CASES):
        years = int(rng.integers(1, 5))
        horizon = 12.0 * years
        windows = sorted(float(w) for w in rng.uniform(0, horizon, int(rng.integers(0, 4))))
        bench = int(rng.integers(0, 3))
        shape, scale, every = rng.uniform(0.8, 4), rng.uniform(15, 80), rng.uniform(6, 30)
        gauges = [(shape, scale, every, rng.uniform(0, 1.3) * every, int(rng.integers(1, 4)), bool(rng.random() < 0.3))
                  for _ in range(int(rng.integers(2, 7)))]
        runs = np.array([play(gauges, windows, bench, horizon) for _ in range(RUNS)], float)
        yield {"ask": "played", "years": years, "windows": windows, "bench": bench, "shape": shape, "scale": scale, "every": every,
               "gauges": [[g[3], g[4], g[5]] for g in gauges], "runs": RUNS,
               "mean": list(runs.mean(axis=0)), "error": list(runs.std(axis=0, ddof=1) / math.sqrt(RUNS))}


def next_failures():
    for _ in range(CASES):
        shape, scale = rng.uniform(0.3, 8), 10 ** rng.uniform(0, 3)
        age, ahead = scale * rng.uniform(0, 1.5), scale * rng.uniform(0.001, 1.0)
        with_digits = (mp.mpf(age + ahead) / scale) ** mp.mpf(shape) - (mp.mpf(age) / scale) ** mp.mpf(shape)
        yield {"ask": "next", "shape": shape, "scale": scale, "age": age, "ahead": ahead,
               "patched": float(with_digits), "chance": float(-mp.expm1(-with_digits))}


def plain(value):
    return value.item() if isinstance(value, np.generic) else str(value)


def main(path):
    with open(path, "w", encoding="utf-8") as out:
        for make in (next_failures, renewals, outlooks, played):
            for case in make():
                out.write(json.dumps(case, default=plain) + "\n")


if __name__ == "__main__":
    main(sys.argv[1])
