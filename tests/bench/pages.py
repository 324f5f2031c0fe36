#!/usr/bin/env python3
"""Server time of the pages that matter, on a small and a large invented plant, in turns.

Makes both plants with the given program (unless their folders hold one already), serves them side by
side on loopback, signs in, and asks each page of the one and of the other alternately, since a busy
machine slows both. The time is what the server says of itself (Server-Timing), so the network and this
script are left out. Prints for each page the least and the median in milliseconds and their ratios.

    tests/bench/pages.py target/release/gaugewright
    tests/bench/pages.py PROGRAM --gauges 100000 --kits 500 --stock-lines 2000000 --times 40
    tests/bench/pages.py PROGRAM --into FOLDER      keeps the plants there for the next time
    tests/bench/pages.py PROGRAM --small-gauges 2000 against a plant whose lists fill a page as well
"""

import argparse
import http.client
import json
import re
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.parse
from pathlib import Path

PASSWORD_LINE = re.compile(r"the password of all is: (.*)")
# What a page of the large plant may cost of what it costs on the small one.
MOST = 1.5
# These reckon with as many lives as there are, up to the bound they state: more is no fault.
UNBOUND = ["life"]


class Plant:
    """A plant that is served, and somebody signed in to it."""

    def __init__(self, program, folder, size, log):
        self.folder = folder
        make = [program, "demo", "--data", str(folder)]
        make += [f"--{name}={value}" for name, value in size.items() if value is not None]
        begun = time.monotonic()
        subprocess.run([*make, "--only-make"], check=True, stdout=subprocess.DEVNULL, stderr=log)
        self.made = time.monotonic() - begun
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.process = subprocess.Popen(
            [*make, "--listen", f"127.0.0.1:{self.port}"],
            stdout=subprocess.PIPE,
            stderr=log,
            text=True,
        )
        self.cookies = {}
        self.password = ""
        for line in self.process.stdout:
            if found := PASSWORD_LINE.search(line):
                self.password = found.group(1).strip()
            if "serves http" in line:
                break
        else:
            raise SystemExit(f"the server of {folder} did not start; see {log.name}")

    def ask(self, method, path, body=None):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=600)
        headers = {"Cookie": "; ".join(f"{name}={value}" for name, value in self.cookies.items()), "Sec-Fetch-Site": "same-origin"}
        if body is not None:
            body = urllib.parse.urlencode(body)
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        connection.request(method, path, body, headers)
        answer = connection.getresponse()
        text = answer.read().decode("utf-8", "replace")
        for cookie in answer.headers.get_all("Set-Cookie") or []:
            name, value = cookie.split(";")[0].split("=", 1)
            self.cookies[name] = value
        connection.close()
        return answer, text

    def sign_in(self, name):
        answer, _ = self.ask("POST", "/people/sign-in", {"name": name, "password": self.password})
        if answer.status != 303:
            raise SystemExit(f"could not sign in as {name}: {answer.status}")

    def page(self, path):
        answer, text = self.ask("GET", path)
        if answer.status != 200:
            raise SystemExit(f"{path} answers {answer.status}")
        found = re.search(r"dur=([0-9.]+)", answer.headers.get("Server-Timing", ""))
        if not found:
            raise SystemExit(f"{path} says no Server-Timing")
        return float(found.group(1)), text

    def first(self, path, pattern):
        """The first link of this form on a page."""
        _, text = self.page(path)
        found = re.search(f'href="({pattern})"', text)
        return found.group(1) if found else None

    def pages(self):
        """The pages that are measured, by name, each with its address on this plant."""
        tag = r"/gauges/(?!new|bring-in)[^/\"?]+"
        window = self.first("/windows", r"/windows/[^/\"]+/\d{4}-\d\d-\d\d")
        return {
            "board": "/",
            "gauges": "/gauges",
            "one gauge": self.first("/gauges", tag),
            "due": "/due",
            "calendar": "/calendar",
            "needs": "/needs",
            "one kit's needs": self.first("/needs", r"/needs/kits/[^/\"?]+"),
            "windows": "/windows",
            "one window": window,
            "one window's plan": window and f"{window}/plan",
            "storeroom": "/storeroom",
            "one kit": self.first("/storeroom", r"/storeroom/kits/[^/\"?]+"),
            "ledger": "/storeroom/ledger",
            "orders": "/orders",
            "pressure tests": "/pressure-tests",
            "certificates": "/pressure-tests/certificates",
            "what waits": "/pressure-tests/inspect",
            "search": "/search?q=LG-1",
            "life": "/life",
        }

    def peak(self):
        """The most memory the server had so far, in MB; none where the system does not say."""
        try:
            status = Path(f"/proc/{self.process.pid}/status").read_text()
        except OSError:
            return None
        found = re.search(r"VmHWM:\s+(\d+) kB", status)
        return int(found.group(1)) / 1000 if found else None

    def stop(self):
        self.process.terminate()
        self.process.wait(timeout=30)


def measure(small, large, times):
    """Times of every page on both plants, asked in turns."""
    pages = [plant.pages() for plant in (small, large)]
    lines = []
    for name in pages[0]:
        addresses = [of[name] for of in pages]
        if None in addresses:
            lines.append((name, None, None))
            continue
        taken = ([], [])
        for turn in range(times + 3):
            for plant, address, list_ in zip((small, large), addresses, taken):
                spent, _ = plant.page(address)
                # The first turns fill what is kept between visits.
                if turn >= 3:
                    list_.append(spent)
        lines.append((name, *taken))
    return lines


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("program")
    parser.add_argument("--gauges", type=int, default=100_000)
    parser.add_argument("--kits", type=int, default=500)
    parser.add_argument("--stock-lines", type=int, default=2_000_000)
    parser.add_argument(
        "--small-gauges",
        type=int,
        help="gauges of the small plant instead of those of the demo: full pages against full pages",
    )
    parser.add_argument("--times", type=int, default=30)
    parser.add_argument("--as", dest="person", default="engineer", help="who signs in")
    parser.add_argument("--into", type=Path, help="where the plants are made, and kept")
    parser.add_argument("--json", action="store_true", help="one JSON object a line")
    asked = parser.parse_args()

    with tempfile.TemporaryDirectory() as scratch:
        into = asked.into or Path(scratch)
        into.mkdir(parents=True, exist_ok=True)
        sizes = {
            "small": {"gauges": asked.small_gauges},
            "large": {
                "gauges": asked.gauges,
                "kits": asked.kits,
                "stock-lines": asked.stock_lines,
            },
        }
        plants = []
        with open(into / "servers.log", "w") as log:
            try:
                for name, size in sizes.items():
                    print(f"making and serving the {name} plant …", file=sys.stderr)
                    folder = into / name
                    folder.mkdir(exist_ok=True)
                    plants.append(Plant(asked.program, folder, size, log))
                    plants[-1].sign_in(asked.person)
                lines = measure(*plants, asked.times)
                peaks = [plant.peak() for plant in plants]
            finally:
                for plant in plants:
                    plant.stop()
    over = report(lines, asked)
    print(f"peak memory of the servers in MB: small {peaks[0]}, large {peaks[1]}", file=sys.stderr)
    return 1 if over else 0


def report(lines, asked):
    over = 0
    if not asked.json:
        print(f"{asked.times} times each, in turns, as {asked.person}; milliseconds of the server")
        print(f"{'page':<18} {'small':>16} {'large':>16} {'ratio':>12}")
        print(f"{'':<18} {'least':>8}{'median':>8} {'least':>8}{'median':>8} {'least':>6}{'median':>6}")
    for name, small, large in lines:
        if small is None:
            print(f"{name:<18} not on both plants")
            continue
        least = min(small), min(large)
        middle = statistics.median(small), statistics.median(large)
        ratios = least[1] / max(least[0], 0.001), middle[1] / max(middle[0], 0.001)
        too_much = ratios[0] > MOST and name not in UNBOUND
        over += too_much
        if asked.json:
            print(json.dumps({"page": name, "least": least, "median": middle, "ratios": ratios}))
        else:
            mark = f"  over {MOST}" if too_much else ""
            print(
                f"{name:<18} {least[0]:>8.2f}{middle[0]:>8.2f} {least[1]:>8.2f}{middle[1]:>8.2f}"
                f" {ratios[0]:>6.2f}{ratios[1]:>6.2f}{mark}"
            )
    return over


if __name__ == "__main__":
    sys.exit(main())
