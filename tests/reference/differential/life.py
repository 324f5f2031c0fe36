"""Random cases of life statistics: Weibull fits and bounds, median ranks, survival curves, mean times
between failures and trends, answered by general-purpose libraries. Nothing of the product is used
here; the seed is fixed.

Usage: python life.py OUTPUT.jsonl      (pins: requirements.txt)
"""

import json
import math
import sys
import warnings

import autograd
import autograd.numpy as anp
import numpy as np
from lifelines import KaplanMeierFitter, WeibullFitter
from scipy import integrate, optimize, stats

SEED = 20261127
CASES = 1000
rng = np.random.default_rng(SEED)
warnings.filterwarnings("ignore")


def lives(kinds, late):
    """Random lives: a list of [kind, after, by, since], ages whole so that ties occur."""
    n = int(rng.integers(4, 61))
    shape, scale = rng.uniform(0.6, 5.0), 10 ** rng.uniform(1.5, 3.5)
    out = []
    for _ in range(n):
        since = 0.0
        if late and rng.random() < 0.3:
            since = round(scale * rng.uniform(0.05, 0.6), 3) + 0.0005
        age = scale * ((since / scale) ** shape - math.log(rng.random())) ** (1 / shape)
        kind = kinds[rng.integers(len(kinds))]
        age = max(1.0, round(age)) + (math.ceil(since) if age <= since + 1 else 0.0)
        if kind == "failed":
            out.append(["failed", age, age, since])
        elif kind == "good":
            out.append(["good", max(since, round(age * rng.uniform(0.2, 1.0))), math.inf, since])
        elif kind == "left" and since == 0.0:
            out.append(["found", 0.0, round(age * rng.uniform(1.0, 2.0)) + 1.0, since])
        else:
            after = max(since, math.floor(age * rng.uniform(0.5, 1.0)))
            out.append(["found", after, after + round(age * rng.uniform(0.1, 0.6)) + 1.0, since])
    return out


def pieces(data):
    arrays = {}
    for name, test in (
        ("exact", lambda d: d[0] == "failed"),
        ("right", lambda d: d[0] == "good" and d[1] > d[3]),
        ("left", lambda d: d[0] == "found" and d[1] == 0),
        ("between", lambda d: d[0] == "found" and d[1] > 0),
    ):
        arrays[name] = np.array([d[1:3] for d in data if test(d)], float).reshape(-1, 2)
    arrays["late"] = np.array([d[3] for d in data if d[3] > 0 and (d[0] != "good" or d[1] > d[3])], float)
    return arrays


def log_likelihood(p, arrays, xp=np):
    mu, sigma = p[0], xp.exp(p[1])
    total = 0.0
    if len(arrays["exact"]):
        x = np.log(arrays["exact"][:, 0])
        z = (x - mu) / sigma
        total = total + xp.sum(z - xp.exp(z) - p[1] - x)
    if len(arrays["right"]):
        total = total - xp.sum(xp.exp((np.log(arrays["right"][:, 0]) - mu) / sigma))
    if len(arrays["left"]):
        total = total + xp.sum(xp.log(-xp.expm1(-xp.exp((np.log(arrays["left"][:, 1]) - mu) / sigma))))
    if len(arrays["between"]):
        a = xp.exp((np.log(arrays["between"][:, 0]) - mu) / sigma)
        b = xp.exp((np.log(arrays["between"][:, 1]) - mu) / sigma)
        total = total - xp.sum(a) + xp.sum(xp.log(-xp.expm1(a - b)))
    if len(arrays["late"]):
        total = total + xp.sum(xp.exp((np.log(arrays["late"]) - mu) / sigma))
    return total


def fitted(data):
    """ln η, ln σ, covariance and height of the highest likelihood, or None where none is found."""
    arrays = pieces(data)
    slope = autograd.grad(lambda p: log_likelihood(p, arrays, anp))
    bend = autograd.hessian(lambda p: log_likelihood(p, arrays, anp))
    ages = [d[1] if d[1] > 0 else d[2] for d in data]
    start = np.array([math.log(np.median(ages)) + 0.5, -0.5])
    found = optimize.minimize(lambda p: -log_likelihood(p, arrays), start, method="Nelder-Mead",
                              options={"xatol": 1e-9, "fatol": 1e-11, "maxiter": 4000})
    p = found.x
    for _ in range(8):
        step = np.linalg.solve(bend(p), slope(p))
        if not np.all(np.isfinite(step)) or np.max(np.abs(step)) > 1.0:
            return None
        p = p - step
    hessian = bend(p)
    if np.max(np.abs(slope(p))) > 1e-6 or not -4.0 < p[1] < 1.8:
        return None
    if np.any(np.linalg.eigvalsh(-hessian) <= 1e-9):
        return None
    return p, np.linalg.inv(-hessian), log_likelihood(p, arrays), arrays


def profile(of, value, arrays, p, age):
    """Highest log-likelihood with one reduced quantity held."""

    def depth(mu, ln_sigma):
        found = -log_likelihood((mu, ln_sigma), arrays)
        return found if math.isfinite(found) else 1e12

    def along(ln_sigma):
        sigma = math.exp(ln_sigma)
        if of == "scale":
            return depth(value, ln_sigma)
        if of == "age":
            return depth(value - sigma * math.log(-math.log(0.9)), ln_sigma)
        return depth(math.log(age) - sigma * value, ln_sigma)

    if of == "shape":
        free, start = (lambda mu: depth(mu, -value)), p[0]
    else:
        free, start = along, p[1]
    return -optimize.minimize_scalar(free, bracket=(start - 0.3, start + 0.3), tol=1e-11).fun


def ratio_bounds(of, centre, error, height, arrays, p, limit, age):
    ends = []
    for sign in (-1, 1):
        excess = lambda v: 2 * (height - profile(of, v, arrays, p, age)) - limit
        near, step, end = centre, sign * error, None
        while abs(near + step - centre) < 30:
            if excess(near + step) > 0:
                end = optimize.brentq(excess, near, near + step, xtol=1e-12, rtol=1e-14)
                break
            near, step = near + step, step * 1.5
        ends.append(end)
    return ends


def weibull():
    done = 0
    mixes = (["failed", "good"], ["failed", "good", "between"], ["failed", "good", "left", "between"],
             ["good", "left", "between"], ["failed"])
    while done < CASES:
        data = lives(mixes[rng.integers(len(mixes))], late=done % 4 == 3)
        failures = sum(d[0] != "good" for d in data)
        if failures < 3:
            continue
        found = fitted(data)
        if found is None:
            continue
        p, covariance, height, arrays = found
        eta, beta = math.exp(p[0]), math.exp(-p[1])
        level = float(rng.uniform(0.55, 0.99))
        z, limit = stats.norm.ppf((1 + level) / 2), stats.chi2.ppf(level, 1)
        age = float(round(eta * rng.uniform(0.3, 1.2), 3))
        sigma, u = 1 / beta, math.log(-math.log(0.9))
        w = (math.log(age) - p[0]) / sigma
        v = covariance
        errors = {
            "shape": (-p[1], math.sqrt(v[1, 1])),
            "scale": (p[0], math.sqrt(v[0, 0])),
            "age": (p[0] + sigma * u, math.sqrt(v[0, 0] + 2 * sigma * u * v[0, 1] + (sigma * u) ** 2 * v[1, 1])),
            "survival": (w, math.sqrt(v[0, 0] / sigma**2 + 2 * w * v[0, 1] / sigma + w * w * v[1, 1])),
        }
        curvature = {of: [c - z * e, c + z * e] for of, (c, e) in errors.items()}
        ratio = {of: ratio_bounds(of, c, e, height, arrays, p, limit, age) for of, (c, e) in errors.items()}
        fitter = WeibullFitter()
        entry = [d[3] for d in data]
        entry = None if max(entry) == 0 else entry
        try:
            if all(d[0] != "found" for d in data):
                fitter.fit([d[1] for d in data], [d[0] == "failed" for d in data], entry=entry)
            else:
                fitter.fit_interval_censoring([d[1] for d in data], [d[2] for d in data], entry=entry)
            library = [fitter.lambda_, fitter.rho_, fitter.log_likelihood_]
        except Exception:  # its search does not always converge
            library = None
        yield {"ask": "weibull", "lives": [[d[0], d[1], None if d[2] == math.inf else d[2], d[3]] for d in data],
               "scale": eta, "shape": beta, "height": float(height), "covariance": [v[0, 0], v[1, 1], v[0, 1]],
               "level": level, "age": age, "curvature": curvature, "ratio": ratio, "lifelines": library}
        done += 1


def law():
    for _ in range(CASES):
        beta, eta = rng.uniform(0.3, 12), 10 ** rng.uniform(-1, 4)
        at, share = eta * rng.uniform(0.01, 2.0), rng.uniform(0.001, 0.999)
        weibull_law = stats.weibull_min(beta, scale=eta)
        yield {"ask": "law", "shape": beta, "scale": eta, "at": at, "share": share,
               "survival": weibull_law.sf(at), "failed": weibull_law.cdf(at), "hazard": math.exp(weibull_law.logpdf(at) - weibull_law.logsf(at)),
               "cumulative": -weibull_law.logsf(at), "mean": weibull_law.mean(), "deviation": weibull_law.std(),
               "quantile": weibull_law.ppf(share)}


def one_parameter():
    for _ in range(CASES + 100):
        data = lives(["failed", "good", "good"], late=rng.random() < 0.3)
        beta, level = rng.uniform(0.5, 6), rng.uniform(0.5, 0.999)
        total = sum(d[1] ** beta - d[3] ** beta for d in data)
        r = sum(d[0] == "failed" for d in data)
        if total <= 0:
            continue
        yield {"ask": "one_parameter", "lives": [[d[0], d[1], None, d[3]] for d in data], "shape": beta, "level": level,
               "scale": (total / r) ** (1 / beta) if r else None,
               "at_least": (2 * total / stats.chi2.ppf(level, 2 * r + 2)) ** (1 / beta)}


def ranks():
    for _ in range(CASES + 100):
        data = lives(["failed", "failed", "good"], late=False)
        n = len(data)
        rank, found = 0.0, []
        for i, d in enumerate(sorted(data, key=lambda d: (d[1], d[0] == "good"))):
            if d[0] == "failed":
                rank += (n + 1 - rank) / (1 + n - i)
                found.append((d[1], rank))
        if len(found) < 3 or len({t for t, _ in found}) < 2:
            continue
        t, i = np.array(found).T
        exact = stats.beta.ppf(0.5, i, n - i + 1)
        lines = []
        for share in (exact, (i - 0.3) / (n + 0.4)):
            x, y = np.log(t), np.log(-np.log1p(-share))
            by_age = stats.linregress(y, x)
            by_share = stats.linregress(x, y)
            lines.append([1 / by_age.slope, math.exp(by_age.intercept)])
            lines.append([by_share.slope, math.exp(-by_share.intercept / by_share.slope)])
        if max(line[0] for line in lines) > 99:
            continue
        yield {"ask": "ranks", "lives": [[d[0], d[1], None, 0.0] for d in data], "ranks": list(i),
               "exact": list(exact), "lines": lines, "r_squared": by_share.rvalue**2}


def curves():
    for _ in range(CASES + 100):
        data = lives(["failed", "good"], late=rng.random() < 0.3)
        data = [d for d in data if d[1] > d[3]]
        if not any(d[0] == "failed" for d in data):
            continue
        level = rng.uniform(0.55, 0.99)
        fitter = KaplanMeierFitter(alpha=1 - level)
        fitter.fit([d[1] for d in data], [d[0] == "failed" for d in data], entry=[d[3] for d in data])
        table = fitter.event_table
        rows, G, S = [], 0.0, 1.0
        z = stats.norm.ppf((1 + level) / 2)
        for t in table.index[table["observed"] > 0]:
            n = sum(d[3] < t <= d[1] for d in data)
            d_ = int(table.loc[t, "observed"])
            survival = float(fitter.survival_function_.loc[t].iloc[0])
            low, high = (float(x) for x in fitter.confidence_interval_.loc[t])
            S *= 1 - d_ / n
            if d_ < n and S > 0:
                G += d_ / (n * (n - d_))
                root = math.sqrt(G)
                bounds = [max(0, S - z * S * root), min(1, S + z * S * root), S * math.exp(-z * root), min(1, S * math.exp(z * root)), low, high]
                rows.append([float(t), n, d_, survival, S * root, bounds])
            else:
                rows.append([float(t), n, d_, survival, None, None])
                break
        yield {"ask": "curve", "lives": [[d[0], d[1], None, d[3]] for d in data], "level": level, "rows": rows}


def mean_times():
    for _ in range(CASES):
        time, r, c = 10 ** rng.uniform(0, 7), int(rng.integers(0, 300)), rng.uniform(0.5, 0.999)
        by_time = bool(r == 0 or rng.random() < 0.5)
        below = 2 * r + 2 if by_time else 2 * r
        yield {"ask": "mean_time", "time": time, "failures": r, "level": c, "by_time": by_time,
               "lower": 2 * time / stats.chi2.ppf((1 + c) / 2, below) if r else None,
               "upper": 2 * time / stats.chi2.ppf((1 - c) / 2, 2 * r) if r else None,
               "at_least": 2 * time / stats.chi2.ppf(c, below)}


def trends():
    for _ in range(CASES):
        systems = []
        for _ in range(int(rng.integers(1, 5))):
            end = 10 ** rng.uniform(1, 4)
            times = np.sort(end * rng.random(int(rng.integers(5, 40))) ** rng.uniform(0.4, 2.5))
            systems.append((times, end) if rng.random() < 0.5 else (times, None))
        top, bottom, sum_ln, m_all = 0.0, 0.0, 0.0, 0
        for times, end in systems:
            free, last = (times, end) if end else (times[:-1], times[-1])
            top += free.sum() - len(free) * last / 2
            bottom += len(free) * last**2 / 12
            sum_ln += np.log(last / free).sum()
            m_all += len(free)
        u = top / math.sqrt(bottom)
        times, end = systems[0]
        free, last = (times, end) if end else (times[:-1], times[-1])
        n, m, s = len(times), len(free), np.log(last / free).sum()
        beta = n / s
        unbiased = beta * (n - (1 if end else 2)) / n
        level = rng.uniform(0.55, 0.99)
        uniform = (free / last) ** unbiased
        yield {"ask": "trend", "systems": [[list(t), e] for t, e in systems], "level": level,
               "laplace": u, "chance": 2 * stats.norm.sf(abs(u)), "chi_squared": 2 * sum_ln,
               "below": stats.chi2.cdf(2 * sum_ln, 2 * m_all), "above": stats.chi2.sf(2 * sum_ln, 2 * m_all),
               "growth": beta, "unbiased": unbiased, "lambda": n / last**beta, "now": last / (n * beta),
               "low": stats.chi2.ppf((1 - level) / 2, 2 * m) / (2 * s), "high": stats.chi2.ppf((1 + level) / 2, 2 * m) / (2 * s),
               "misfit": stats.cramervonmises(uniform, "uniform").statistic}


def ages():
    for _ in range(CASES):
        beta, eta = rng.uniform(1.1, 9), 10 ** rng.uniform(0, 4)
        planned = 10 ** rng.uniform(-1, 4)
        failure = planned * 10 ** rng.uniform(0.1, 2)
        cycle = lambda x: integrate.quad(lambda y: math.exp(-(y**beta)), 0, x, epsabs=0, epsrel=1e-12, limit=200)[0]
        rate = lambda x: (planned * math.exp(-(x**beta)) - failure * math.expm1(-(x**beta))) / (eta * cycle(x))
        ratio = planned / (failure - planned)
        condition = lambda x: beta * x ** (beta - 1) * cycle(x) + math.expm1(-(x**beta)) - ratio
        high = 1.0
        while condition(high) < 0:
            high *= 1.5
        best = optimize.brentq(condition, 1e-4, high, xtol=1e-14, rtol=1e-13)
        at = rng.uniform(0.05, 2.5)
        yield {"ask": "age", "shape": beta, "scale": eta, "planned": planned, "failure": failure, "best": best * eta,
               "rate": rate(best), "never": failure / stats.weibull_min(beta, scale=eta).mean(), "at": at * eta, "rate_at": rate(at)}


def plain(value):
    return value.item() if isinstance(value, np.generic) else str(value)


def main(path):
    with open(path, "w", encoding="utf-8") as out:
        for make in (law, one_parameter, ranks, curves, mean_times, trends, ages, weibull, law, ages):
            for case in make():
                out.write(json.dumps(case, default=plain) + "\n")


if __name__ == "__main__":
    main(sys.argv[1])
