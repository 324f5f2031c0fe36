"""Random month arithmetic and due dates, answered by python-dateutil and datetime.

Usage: python dates.py OUTPUT. Prints one JSON object a line: what was asked, what the library says.
It does not read or judge the answers of the product; the Rust test beside it does.
"""

import json
import random
import sys
from datetime import date, timedelta

from dateutil.relativedelta import relativedelta

SEED = 20260301
FIRST, LAST = date(1900, 1, 1), date(2200, 12, 31)
SPAN = (LAST - FIRST).days


def some_day(rng, first=FIRST, last=LAST):
    """A date; every third one near the end of a month, where clamping happens."""
    day = first + timedelta(days=rng.randint(0, (last - first).days))
    if rng.random() < 0.33:
        end = (day.replace(day=1) + relativedelta(months=1)) - timedelta(days=1)
        day = min(max(end - timedelta(days=rng.randint(0, 3)), first), last)
    return day


def inside(day):
    """The date as text, or nothing where it leaves the years 1900 to 2200."""
    return day.isoformat() if FIRST <= day <= LAST else None


def shifted(day, delta):
    try:
        return inside(day + delta)
    except (OverflowError, ValueError):
        return None


def due(rng):
    """A gauge and its governing date, by the rules written out with the library's arithmetic."""
    def maybe(chance=0.5):
        return some_day(rng, date(2015, 1, 1), date(2035, 12, 31)) if rng.random() < chance else None

    facts = {
        "anchor": maybe(0.8),
        "rebuild_months": rng.choice([None, 6, 12, 13, 18, 24, 30, 36, 60]),
        "look_over_anchor": maybe(0.5),
        "look_over_months": rng.choice([None, 1, 2, 3, 6]),
        "wall_due": maybe(0.2),
        "gasket_due": maybe(0.3),
        "failure_on": maybe(0.1),
        "retorque_due": maybe(0.1),
        "recall_on": maybe(0.1),
    }
    until, limit = maybe(0.4), maybe(1.0)
    facts["deferral"] = None if until is None else {"until": until, "hard_limit": limit}
    facts["isolation"] = rng.choice(["in-service", "shutdown-only"])
    facts["windows"] = []
    for _ in range(rng.randint(0, 5)):
        start = some_day(rng, date(2015, 1, 1), date(2035, 12, 1))
        facts["windows"].append({"starts": start, "ends": start + timedelta(days=rng.randint(0, 25))})

    deferrable, fixed = [], []
    if facts["anchor"] and facts["rebuild_months"]:
        deferrable.append((facts["anchor"] + relativedelta(months=facts["rebuild_months"]), True))
    if facts["gasket_due"]:
        deferrable.append((facts["gasket_due"], True))
    if facts["look_over_anchor"] and facts["look_over_months"]:
        deferrable.append((facts["look_over_anchor"] + relativedelta(months=facts["look_over_months"]), False))
    for name in ("wall_due", "retorque_due", "recall_on"):
        if facts[name]:
            fixed.append((facts[name], True))
    if until is not None:
        moved = min(until, limit)
        deferrable = [(max(day, moved), needs) for day, needs in deferrable]
    failure = facts["failure_on"]
    candidates = deferrable + fixed
    dates = [day for day, _ in candidates] + ([failure] if failure else [])
    governing = min(dates, default=None)
    latest = governing
    work = min((day for day, needs in candidates if needs), default=None)
    window = "not-needed"
    if facts["isolation"] == "shutdown-only" and work and not (failure and failure <= work):
        ends = [
            one["ends"] for one in facts["windows"]
            if one["ends"] <= work and (facts["anchor"] is None or one["starts"] > facts["anchor"])
        ]
        window = "pulled-to" if ends else "no-window"
        if ends:
            latest = min(latest, max(ends))
    return {"facts": facts, "governing": governing, "latest": latest, "window": window, **rebuild(facts)}


def rebuild(facts):
    """The same rules without look-over and re-torque, which open no gauge."""
    anchor, months, deferral = facts["anchor"], facts["rebuild_months"], facts["deferral"]
    movable = [anchor + relativedelta(months=months)] if anchor and months else []
    movable += [facts["gasket_due"]] if facts["gasket_due"] else []
    if deferral:
        movable = [max(day, min(deferral["until"], deferral["hard_limit"])) for day in movable]
    work = min(movable + [facts[name] for name in ("wall_due", "recall_on") if facts[name]], default=None)
    failure = facts["failure_on"]
    governing = latest = min((day for day in (work, failure) if day), default=None)
    if facts["isolation"] == "shutdown-only" and work and not (failure and failure <= work):
        ends = [
            one["ends"] for one in facts["windows"]
            if one["ends"] <= work and (anchor is None or one["starts"] > anchor)
        ]
        latest = min([latest, max(ends)]) if ends else latest
    return {"rebuild": governing, "rebuild_latest": latest}


def main():
    rng = random.Random(SEED)
    with open(sys.argv[1], "w", encoding="utf-8") as out:
        def put(line):
            print(json.dumps(line, default=date.isoformat), file=out)

        for _ in range(5000):
            day, months = some_day(rng), rng.choice([rng.randint(0, 60), rng.randint(0, 4000)])
            put({"ask": "add_months", "from": day, "by": months, "to": shifted(day, relativedelta(months=months))})
            put({"ask": "months_before", "from": day, "by": months, "to": shifted(day, relativedelta(months=-months))})
            days = rng.choice([rng.randint(0, 400), rng.randint(0, 150000)])
            put({"ask": "days_after", "from": day, "by": days, "to": shifted(day, timedelta(days=days))})
            put({"ask": "days_before", "from": day, "by": days, "to": shifted(day, timedelta(days=-days))})
            put({"ask": "first_of_month", "from": day, "by": 0, "to": inside(day + relativedelta(day=1))})
            put({"ask": "last_of_month", "from": day, "by": 0, "to": inside(day + relativedelta(day=31))})
        for _ in range(5000):
            put({"ask": "due", **due(rng)})
        for _ in range(2000):
            made, months = some_day(rng), rng.randint(1, 600)
            put({"ask": "last_usable_day", "from": made, "by": months, "to": shifted(made, relativedelta(months=months))})
            short, lead, today = some_day(rng), rng.randint(0, 700), some_day(rng)
            by = shifted(short, timedelta(days=-lead))
            days = None if by is None else (date.fromisoformat(by) - today).days
            put({"ask": "order_by", "from": short, "by": lead, "today": today, "to": by, "days": days})
            day = some_day(rng, date(1850, 1, 1), date(2250, 12, 31))
            put({"ask": "require", "from": day, "by": 0, "to": inside(day)})


if __name__ == "__main__":
    main()
