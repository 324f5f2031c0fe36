"""Times the heavy computations in turns with general-purpose libraries, in one run.

    cargo bench --bench speed --no-run     prints where the benchmark program is
    python tests/bench/paired.py PROGRAM

Pinned: the same libraries as tests/reference/differential/requirements.txt (lifelines, scipy, numpy).
The turns alternate, so that a slow moment of the machine hits both; medians are told. Ends with 1
where an aim is missed.
"""

import json
import os
import statistics
import subprocess
import sys
import time

import lifelines
import numpy
import scipy
from scipy.optimize import linprog

ROUNDS = 7


def start():
    return subprocess.Popen(
        [sys.argv[1]],
        env={**os.environ, "GAUGEWRIGHT_PAIRED": "1"},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )


program = start()


def ask(line):
    program.stdin.write(line + "\n")
    program.stdin.flush()
    return program.stdout.readline()


def most_memory():
    """Megabytes the program has used at most (Linux)."""
    with open(f"/proc/{program.pid}/status") as status:
        kilobytes = next(line for line in status if line.startswith("VmHWM"))
    return int(kilobytes.split()[1]) / 1024


# The outlook alone, before anything else is made.
ask("outlook of 5 000 gauges")
peak = most_memory()
data = json.loads(ask("data"))
ages = numpy.array(data["ages"])
failed = numpy.array(data["failed"])
x, y, z = numpy.array(data["stations"]).T
n = len(z)
one = numpy.ones(n)
above = numpy.column_stack([-x, -y, -one, -one])
below = numpy.column_stack([x, y, one, -one])
limits = numpy.concatenate([-z, z])


def weibull():
    lifelines.WeibullFitter().fit(ages, failed)


def flatness():
    linprog(
        [0, 0, 0, 1],
        A_ub=numpy.vstack([above, below]),
        b_ub=limits,
        bounds=[(None, None)] * 3 + [(0, None)],
        method="highs",
    )


def seconds(function):
    begun, times = time.perf_counter(), 0
    while times == 0 or time.perf_counter() - begun < 0.05:
        function()
        times += 1
    return (time.perf_counter() - begun) / times


# Name, the library's function, least ratio, most seconds.
AIMS = [
    ("weibull of 10 000", weibull, 20, None),
    ("flatness of 40 stations", flatness, 20, None),
    ("due dates of 100 000 gauges", None, None, 0.050),
    ("demand of 5 000 kits", None, None, 0.100),
    ("outlook of 5 000 gauges", None, None, 2.0),
]

print(f"lifelines {lifelines.__version__}, scipy {scipy.__version__}, numpy {numpy.__version__}")
missed = False
for name, library, ratio, most in AIMS:
    ours, theirs = [], []
    for _ in range(ROUNDS):
        ours.append(float(ask(name)))
        if library:
            theirs.append(seconds(library))
    own = statistics.median(ours)
    text = f"{name}: {own * 1000:.3f} ms ({min(ours) * 1000:.3f} to {max(ours) * 1000:.3f})"
    if library:
        times = statistics.median(theirs) / own
        text += f"; library {statistics.median(theirs) * 1000:.3f} ms, {times:.0f} times"
        good = times >= ratio
        text += f" (at least {ratio})"
    else:
        good = own < most
        text += f" (under {most * 1000:.0f} ms)"
    missed |= not good
    print(text + ("" if good else "  MISSED"))

program.stdin.close()
program.wait()
good = peak < 100
missed |= not good
print(f"memory of the outlook at most {peak:.0f} MB (under 100 MB)" + ("" if good else "  MISSED"))
sys.exit(missed)
