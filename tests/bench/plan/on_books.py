#!/usr/bin/env python3
"""Measures `plan` on generated books beside two general solvers, and writes the table of them at the end of `measured.md`.

    python3 -m venv VENV && VENV/bin/pip install -r tests/bench/peers/plan/requirements.txt
    VENV/bin/python tests/bench/plan/on_books.py [SIZE ...] [--seeds 1] [--sought mass] [--profile release]

A size is places x offers a place x sellers; each is planned to eight destinations. CP-SAT and HiGHS get the same choice, made ready
outside their clock (`tests/bench/peers/plan/book.py` says how): the cases of the search's lower bounds, with exact costs told as they
are met, and where that leaves them near ours also every package of a seller as a column with its exact cost. Their clock runs in
`solve` alone. Ours is the whole of `plan`, from the book as read to the plan with its reasons, and beside it the search alone.

The programs run in turn, three rounds, one thread each, by the processor's clock; a solver that takes over 1 s runs once. HiGHS is
stopped where CP-SAT was long faster, and both when `--seconds` are over, or 300 times what the search took and at least 5 s; where
one is stopped before the other is done, the ratio is a floor. All that come to a proof must come to the same cost (with a budget, the same mass), and the plan must land at
as much more or less than the build as the search says.

Rows are kept in `target/plan-bench` and written together with those of earlier runs.
"""

import argparse
import decimal
import json
import os
import pathlib
import platform
import re
import statistics
import subprocess
import sys
import time

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[2]
PEER = HERE.parent / "peers" / "plan" / "book.py"
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
DESK = TARGET / "plan-bench"
TITLE = "\n# Plans of books, measured\n"
SIZES = ["12x5x5", "8x9x3", "12x9x8", "16x5x8", "20x5x8", "25x4x12", "30x9x12"]
DESTINATIONS = ["GB", "DE", "FR", "US", "CA-ON", "NO", "AU", "JP"]
# packages of one seller that are written down at most
ROOM = 60_000
# a solver that takes longer than these seconds runs once
LONG = 1
# by how many times the search must be faster for a solver to be stopped, and for packages not to be tried
STOP, CLEAR = 300, 30
SOLVERS = {"cpsat": "CP-SAT", "highs": "HiGHS"}
MEDIAN, LEAST = 10, 3
ABOUT = """\
Books are made by `tests/bench/plan/books.rs`, with a mass limit half way from the lightest bike to the build's (`mass`: the cheapest
is sought) or with the build's sum as a budget (`budget`: the lightest). CP-SAT and HiGHS, one thread each, get the same choice by
the cases of the search's lower bounds: cases, shares and limits as one linear model. What they come to is priced exactly; where a
package costs more than its bound the difference is added as a row, and they solve again from what they know, until their bound is no
less than the best plan. Where that takes over 1 s and leaves them less than 30 times slower, they also get every package as a column
with its exact cost, and the better of the two counts; on the smallest books packages served them worse by far. Cases, rows, columns
and exact costs are made ready outside their clock: theirs is `solve` alone. Ours is told twice: the search alone, which prices its
packages itself, once the book is compiled, and the whole of `plan`, from the book as read to the plan with its reasons. A solver that
is long slower is stopped (cut); where that is before the other is done, the ratio is a floor.
"""


def run(command, cap=None):
    """What a program prints."""
    done = subprocess.run([str(c) for c in command], stdout=subprocess.PIPE, text=True, check=True, timeout=cap)
    return done.stdout


def seconds(text):
    return float(re.search(r"time ([\d.]+)", text)[1])


def build_of(path):
    return next(line for line in open(path) if line.startswith("build ")).split()[1]


def agrees(text, search, path):
    """Whether the plan lands at what the search says, counted from the build: each is rounded to the minor unit."""
    build, landed = (decimal.Decimal(re.search(rf"{word} (-?[\d.]+)", text)[1]) for word in ("build", "landed"))
    digits = 0 if text.startswith("JP ") else 2
    searched = decimal.Decimal(int(search.split()[1]) - int(build_of(path))).scaleb(-2 - digits)
    assert abs(landed - build - searched) <= decimal.Decimal(1).scaleb(-digits), (text, search, path)


class Book:
    """One generated book: what ours and the others come to."""

    def __init__(self, ours, size, to, seed, sought, cap):
        self.asked = [ours, to, size, seed, sought]
        self.cap = cap
        self.path = DESK / f"book_{size}_{to}_{seed}_{sought}.txt"
        self.times = {name: [] for name in ("plan", "search", *SOLVERS)}
        self.proven, self.said, self.form = {}, {}, dict.fromkeys(SOLVERS, "cases")

    def ours(self):
        """Whether there is a plan at all."""
        plan, search = run([*self.asked, self.cap]), run([*self.asked, "search", self.cap])
        if " nothing: " in plan or " refused: " in plan:
            return False
        self.times["plan"].append(seconds(plan))
        self.times["search"].append(seconds(search))
        self.proven["ours"] = f" {self.asked[4]} proven " in plan and "status proven" in search
        agrees(plan, search, self.path)
        self.cost, self.mass = search.split()[1:3]
        return True

    def theirs(self, name, form, path, most):
        """What a solver says, whether it came to a proof, and its seconds."""
        said = run([sys.executable, PEER, path, name, form, most, *self.asked, "price"]).splitlines()[-1]
        proven = "status proven" in said
        mine, own = (self.cost, said.split()[1]) if self.asked[4] == "mass" else (self.mass, said.split()[2])
        assert not (proven and self.proven["ours"]) or own == mine, (path, name, said, self.cost, self.mass)
        return said, proven, seconds(said)

    def turn(self, first):
        if first or self.times["plan"][0] < LONG:
            if not self.ours():
                return False
        cap = self.patience()
        for name in SOLVERS:
            if not first and (self.times[name][0] > LONG or not self.proven[name]):
                continue
            # the second solver is stopped where the first has long been faster
            known = name == "highs" and self.proven["cpsat"]
            most = min(cap, 6 * self.times["cpsat"][0] + 2) if known else cap
            self.said[name], self.proven[name], took = self.theirs(name, "cases", self.path, most)
            self.times[name].append(took)
        return True

    def patience(self):
        """Seconds after which a solver is stopped: then its ratio is a floor that is high enough."""
        return min(self.cap, max(5, STOP * self.times["search"][0]))

    def packages(self):
        """Where the cases take a solver long, it gets the packages as well, and the better counts."""
        best = self.best()
        if best <= LONG or best > CLEAR * statistics.median(self.times["search"]):
            return
        path = self.path.with_suffix(".packages.txt")
        run([*self.asked, "choice", path, ROOM])
        for name in SOLVERS:
            said, proven, took = self.theirs(name, "packages", path, min(self.cap, 2 * best + 2))
            if proven and (not self.proven[name] or took < statistics.median(self.times[name])):
                self.said[name], self.proven[name], self.times[name] = said, True, [took]
                self.form[name] = "packages"

    def best(self):
        """Seconds of the better solver; where one was stopped before the other was done, at least so many."""
        return min(statistics.median(self.times[name]) for name in SOLVERS)


def row(ours, size, to, seed, sought, cap):
    own = {"size": size, "to": to, "seed": seed, "sought": sought}
    book = Book(ours, size, to, seed, sought, cap)
    run([*book.asked, "choice", book.path, 0])
    for turn in range(3):
        if not book.turn(turn == 0):
            return own | {"nothing": True}
    book.packages()
    middle = {name: statistics.median(seen) for name, seen in book.times.items()}
    ratios = {"ratio": book.best() / middle["plan"], "of_search": book.best() / max(middle["search"], 1e-4)}
    floor = not book.proven[min(SOLVERS, key=middle.get)]
    own |= {"cost": book.cost, "mass": book.mass, **middle, "form": book.form, "said": book.said}
    return own | {"proven": book.proven, "floor": floor, **ratios}


def file_of(size, sought):
    return DESK / f"books-{size}-{sought}.json"


def measure(ours, size, sought, args):
    path = file_of(size, sought)
    rows = json.loads(path.read_text())["rows"] if args.go_on and path.exists() else []
    for seed in args.seeds:
        for to in args.destinations:
            if any((r["to"], r["seed"]) == (to, seed) for r in rows):
                continue
            rows.append(row(ours, size, to, seed, sought, args.seconds))
            print(rows[-1], flush=True)
            seen = {"when": time.strftime("%Y-%m-%d"), "load": os.getloadavg()[0], "profile": args.profile, "rows": rows}
            path.write_text(json.dumps(seen))


def word(holds):
    return "yes" if holds else "**NO**"


def held(rows):
    """What is asked, what was measured, whether it holds: of the search beside `solve`, and of the whole of `plan`."""
    lines = []
    for name, key in (("search", "of_search"), ("whole of `plan`", "ratio")):
        ratios = [r[key] for r in rows]
        middle, least = statistics.median(ratios), min(ratios)
        lines.append(f"| {name}, median times faster | {middle:.1f} | at least {MEDIAN} | {word(middle >= MEDIAN)} |")
        lines.append(f"| {name}, least times faster | {least:.1f} | at least {LEAST} | {word(least >= LEAST)} |")
    ours = sum(r["proven"]["ours"] for r in rows)
    lines.append(f"| proven by ours | {ours} | {len(rows)} | {word(ours == len(rows))} |")
    theirs = ", ".join(f"{sum(r['proven'][s] for r in rows)} by {name}" for s, name in SOLVERS.items())
    same = "each proven optimum is the same in all programs that came to it"
    return [*lines, f"\nOf {len(rows)} choices {theirs} within the time; {same}."]


def by_size(rows):
    lines = ["| size | sought | median, search | least, search | median, whole | least, whole |", "|---|---|---:|---:|---:|---:|"]
    for size, sought in dict.fromkeys((r["size"], r["sought"]) for r in rows):
        own = [r for r in rows if (r["size"], r["sought"]) == (size, sought)]
        figures = [f"{of([r[key] for r in own]):.1f}" for key in ("of_search", "ratio") for of in (statistics.median, min)]
        lines.append(f"| {size} | {sought} | {' | '.join(figures)} |")
    return lines


def told(r):
    form = lambda name: " (packages)" if r["form"][name] == "packages" else ""
    cut = lambda name: f"{r[name]:.3f}{form(name) if r['proven'][name] else ' (cut)'}"
    own = f"{r['search']:.4f} | {r['plan']:.4f}{'' if r['proven']['ours'] else ' (not proven)'}"
    floor = "over " if r["floor"] else ""
    where = f"{r['size']} | {r['to']} | {r['seed']} | {r['sought']}"
    return f"| {where} | {own} | {cut('cpsat')} | {cut('highs')} | {floor}{r['of_search']:.1f} | {floor}{r['ratio']:.1f} |"


def write(out):
    files = [path for sought in ("mass", "budget") for size in SIZES if (path := file_of(size, sought)).exists()]
    seen = [json.loads(path.read_text()) for path in files]
    rows = [r for one in seen for r in one["rows"] if "nothing" not in r]
    without = sum("nothing" in r for one in seen for r in one["rows"])
    lines = [ABOUT, "| what | measured | asked | holds |", "|---|---:|---:|---|", *held(rows), ""]
    if without:
        lines.append(f"In {without} more there is no plan within the limit.\n")
    lines += [*by_size(rows), "", "Seconds are medians; times faster: the better solver over ours.\n"]
    lines.append("| size | to | seed | sought | ours, search | ours, whole | CP-SAT | HiGHS | times, search | times, whole |")
    lines.append("|---|---|---:|---|---:|---:|---:|---:|---:|---:|")
    lines += map(told, rows)
    loads = [one["load"] for one in seen]
    days = ", ".join(sorted({one["when"] for one in seen}))
    machine = f"{platform.machine()}, {os.cpu_count()} cores, {platform.system()}"
    lines.append(f"\nMeasured by `tests/bench/plan/on_books.py` on {machine}; {days}; profile {', '.join(sorted({one['profile'] for one in seen}))}.")
    lines.append(f"Others were at work on the machine (load {min(loads):.1f} to {max(loads):.1f}), so all seconds are the processor's.")
    out = pathlib.Path(out)
    before = out.read_text(encoding="utf-8").partition(TITLE)[0]
    out.write_text(f"{before}{TITLE}\n" + "\n".join(lines) + "\n", encoding="utf-8")


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("sizes", nargs="*", metavar="SIZE", help=", ".join(SIZES))
    asked.add_argument("--seeds", type=int, nargs="+", default=[1])
    asked.add_argument("--destinations", nargs="+", default=DESTINATIONS)
    asked.add_argument("--sought", choices=["mass", "budget"], default="mass", help="the cheapest under a mass, the lightest under a budget")
    asked.add_argument("--seconds", type=float, default=60)
    asked.add_argument("--profile", default="release")
    asked.add_argument("--no-build", action="store_true")
    asked.add_argument("--go-on", action="store_true", help="keep what is measured already")
    asked.add_argument("--only-write", action="store_true", help="measure nothing, write the table again")
    asked.add_argument("--out", default=str(HERE / "measured.md"))
    args = asked.parse_args()
    DESK.mkdir(parents=True, exist_ok=True)
    ours = TARGET / args.profile / "examples" / "plan_books"
    if not args.only_write:
        if not args.no_build:
            subprocess.run(["cargo", "build", "--profile", args.profile, "--quiet", "--example", "plan_books"], check=True, cwd=ROOT)
        for size in args.sizes or SIZES:
            measure(ours, size, args.sought, args)
    write(args.out)


main()
