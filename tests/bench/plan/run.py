#!/usr/bin/env python3
"""Measures `plan`'s search beside two general solvers, and writes the tables with the limits beside the numbers.

    python3 -m venv VENV && VENV/bin/pip install -r tests/bench/peers/plan/requirements.txt
    VENV/bin/python tests/bench/plan/run.py [PIECE ...] [--out tests/bench/plan/measured.md]

Without a piece it runs all of them, one after the other; with pieces only those, and the tables are made of what lies in
`target/plan-bench` from this and earlier runs, each with its own date. Within a piece the programs run in turn, each by
its own clock, so that a ratio is always of one run: the better of CP-SAT (one worker, linearization level 2) and HiGHS
over ours. All of them must come to the same optimum, and where CP-SAT comes to its end the frontiers must be the same.

Instances are made anew from their seeds. Their rules are their own (a limit, a fee, duty per offer, tax half up);
`instance.rs` puts them in the search's compiled form. Nothing fails when a limit is passed: times are for reading.
"""

import argparse
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
PEERS = HERE.parent / "peers" / "plan"
TARGET = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
DESK = TARGET / "plan-bench"
OURS = TARGET / "release" / "examples" / "plan_bench"
SEEDS = [7, 101, 102, 103, 104, 105]
SINGLES = {"12x8x8": 10, "16x10x10": 10, "20x15x15": 10, "20x10x3": 5, "30x20x20": 50}
FRONTIERS = {"16x10x10": 10, "20x15x15": 10, "30x20x20": 30}
HARD = {"20x10x3": [7, 101], "30x20x5": [7], "40x10x8": [7]}
GROWTH = ["8x5x4", "12x8x8", "16x10x10", "20x15x15", "30x20x20", "40x25x25"]
FRONT_GROWTH = ["8x5x4", "12x8x8", "16x10x10", "20x15x15", "30x20x20"]
LEAST, PATIENCE, MOST_MIB = 3, 120, 200
GROWTH_CAP = 20
AGAINST = [f"against-{seed}" for seed in SEEDS]
PIECES = [f"single-{s}" for s in SINGLES] + AGAINST + ["frontiers"] + [f"hard-{s}" for s in HARD] + ["growth"]


def instance(size, seed):
    """The instance's file, made if it is not there."""
    path = DESK / f"plan_{size}{'' if seed == 7 else f'_{seed}'}.txt"
    if not path.exists():
        name = size if seed == 7 else f"{size}:{seed}"
        subprocess.run([sys.executable, PEERS / "gen_plan.py", DESK, name], check=True)
    return path


def run(command):
    """What a program prints, its own time, and its peak memory."""
    process = subprocess.Popen([str(c) for c in command], stdout=subprocess.PIPE, text=True)
    text = process.stdout.read()
    _, status, use = os.wait4(process.pid, 0)
    process.returncode = status
    if status != 0:
        raise SystemExit(f"{command}: {status}")
    return text, float(re.search(r"time ([\d.]+)", text)[1]), use.ru_maxrss / 1024


def ours(path, mode, cap=PATIENCE, *more):
    return run([OURS, path, mode, cap, *more])


def peer(name, path, mode):
    return run([sys.executable, PEERS / f"{name}.py", path, mode])


def single(size):
    """One optimum under a mass limit: three programs in turn, three rounds; a peer that takes over 3 s runs once."""
    rows = started(f"single-{size}")
    for seed in SEEDS:
        if any(row["seed"] == seed for row in rows):
            continue
        path, times, cost, mib = instance(size, seed), {"ours": [], "cpsat": [], "highs": []}, None, 0
        for turn in range(3):
            text, seconds, peak = ours(path, "single")
            assert "status proven" in text, text
            cost, mass = text.split()[1:3]
            times["ours"].append(seconds)
            mib = max(mib, peak)
            for name in ("cpsat", "highs"):
                if turn > 0 and times[name][0] > 3:
                    continue
                text, seconds, _ = peer(name, path, "single")
                proven = "status OPTIMAL" in text or "kOptimal" in text
                theirs = re.search(r"single (\d+)", text)[1]
                assert not proven or theirs == cost, (name, path, text, cost)
                times[name].append(seconds)
        middle = {name: statistics.median(seen) for name, seen in times.items()}
        ratio = min(middle["cpsat"], middle["highs"]) / middle["ours"]
        rows.append({"seed": seed, "cost": cost, "mass": mass, **middle, "ratio": ratio, "mib": mib})
        print(size, rows[-1], flush=True)
        keep(f"single-{size}", rows)
    return rows


def against(seed):
    """The frontier of 12x8x8 beside CP-SAT tightening the mass limit; stopped at 120 s its ratio is a floor."""
    path = instance("12x8x8", seed)
    seen = [ours(path, "frontier", PATIENCE, "points") for _ in range(3)]
    text = seen[0][0]
    assert "complete 1" in text, text
    mine = re.findall(r"point (\d+) (\d+)", text)
    other, theirs, _ = peer("cpsat", path, "frontier")
    full = "complete 1" in other
    assert not full or sorted(mine) == sorted(re.findall(r"point (\d+) (\d+)", other)), path
    middle = statistics.median(s[1] for s in seen)
    row = {"seed": seed, "points": len(mine), "ours": middle, "cpsat": theirs, "full": full, "ratio": theirs / middle}
    print("against", row, flush=True)
    return [row]


def frontier(size, seed, cap):
    text, seconds, mib = ours(instance(size, seed), "frontier", cap)
    points, complete, still, gap = re.search(r"frontier (\d+) complete (\d) open (\d+) gap (\d+)", text).groups()
    row = {"size": size, "seed": seed, "points": int(points), "complete": complete == "1"}
    row |= {"open": int(still), "gap": int(gap), "seconds": seconds, "mib": mib, "cap": cap}
    print(row, flush=True)
    return row


def growth():
    rows = []
    for size in GROWTH:
        runs = [ours(instance(size, seed), "single", GROWTH_CAP) for seed in SEEDS]
        row = {"size": size, "single": statistics.median(r[1] for r in runs), "worst": max(r[1] for r in runs)}
        row["mib"] = max(r[2] for r in runs)
        if size in FRONT_GROWTH:
            row["frontier"] = statistics.median(ours(instance(size, seed), "frontier")[1] for seed in SEEDS)
        rows.append(row)
        print(row, flush=True)
    return rows


def measure(piece):
    kind, _, size = piece.partition("-")
    if kind == "single":
        return single(size)
    if kind == "against":
        return against(int(size))
    if kind == "frontiers":
        return [frontier(size, seed, cap) for size, cap in FRONTIERS.items() for seed in SEEDS]
    if kind == "hard":
        return [frontier(size, seed, PATIENCE) for seed in HARD[size]]
    return growth()


def started(piece):
    """Rows of a piece that an earlier run was stopped in, where that is asked for."""
    return (load(piece) or {"rows": []})["rows"] if "--go-on" in sys.argv else []


def keep(piece, rows):
    seen = {"when": time.strftime("%Y-%m-%d"), "load": os.getloadavg()[0], "rows": rows}
    (DESK / f"{piece}.json").write_text(json.dumps(seen))


def load(piece):
    path = DESK / f"{piece}.json"
    return json.loads(path.read_text()) if path.exists() else None


def beside(have):
    return [row for piece in AGAINST for row in (have.get(piece) or {"rows": []})["rows"]]


def word(holds):
    return "yes" if holds else "**NO**"


def limits(have):
    """What is asked, what was measured, whether it holds."""
    rows = []
    for size, asked in SINGLES.items():
        if seen := have.get(f"single-{size}"):
            ratios = [r["ratio"] for r in seen["rows"]]
            middle, least = statistics.median(ratios), min(ratios)
            rows.append((f"{size}, median times faster", f"{middle:.1f}", f"at least {asked}", middle >= asked))
            rows.append((f"{size}, least times faster", f"{least:.1f}", f"at least {LEAST}", least >= LEAST))
    if rows_against := beside(have):
        ratios = [r["ratio"] for r in rows_against]
        middle, least = statistics.median(ratios), min(ratios)
        rows.append(("12x8x8 frontier, median times faster", f"{middle:.0f}", "at least 100", middle >= 100))
        rows.append(("12x8x8 frontier, least times faster", f"{least:.0f}", "at least 10", least >= 10))
    if seen := have.get("frontiers"):
        for size, cap in FRONTIERS.items():
            mine = [r for r in seen["rows"] if r["size"] == size]
            worst = max(r["seconds"] for r in mine)
            rows.append((f"{size} frontier, slowest seed proven", f"{worst:.2f} s", f"{cap} s", all(r["complete"] for r in mine)))
    for size in HARD:
        for row in (have.get(f"hard-{size}") or {"rows": []})["rows"]:
            name = f"{size} frontier, seed {row['seed']}, proven (an aim)"
            rows.append((name, f"{row['seconds']:.1f} s", f"{PATIENCE} s", row["complete"]))
    peaks = [row["mib"] for seen in have.values() for row in seen["rows"] if "mib" in row]
    if peaks:
        rows.append(("peak memory of all runs", f"{max(peaks):.0f} MiB", f"{MOST_MIB} MiB", max(peaks) <= MOST_MIB))
    return rows


def write(out):
    have = {piece: seen for piece in PIECES if (seen := load(piece))}
    lines = ["# Plans, measured", ""]
    say = lines.append
    say("Sizes are places x offers a place x sellers. Seconds are each program's own clock, medians of runs in turn.\n")
    say("| what | measured | asked | holds |\n|---|---:|---:|---|")
    for what, seen, asked, holds in limits(have):
        say(f"| {what} | {seen} | {asked} | {word(holds)} |")
    say("\n## One plan under a mass limit\n\nTimes faster: the better of CP-SAT and HiGHS over ours.\n")
    say("| size | seed | optimum: pence, grams | ours | CP-SAT | HiGHS | times faster |\n|---|---:|---:|---:|---:|---:|---:|")
    for size in SINGLES:
        for r in (have.get(f"single-{size}") or {"rows": []})["rows"]:
            times = f"{r['ours']:.4f} | {r['cpsat']:.3f} | {r['highs']:.3f} | {r['ratio']:.1f}"
            say(f"| {size} | {r['seed']} | {r['cost']}, {r['mass']} | {times} |")
    if rows_against := beside(have):
        say("\n## The frontier of 12x8x8\n\nCP-SAT tightens the mass limit, point by point; cut at 120 s its ratio is a floor.\n")
        say("| seed | points | ours | CP-SAT | times faster |\n|---:|---:|---:|---:|---:|")
        for r in rows_against:
            cut = "" if r["full"] else " (cut)"
            say(f"| {r['seed']} | {r['points']} | {r['ours']:.3f} | {r['cpsat']:.1f}{cut} | {r['ratio']:.0f} |")
    say("\n## Larger frontiers\n\nWhere one is not proven in time, its open corners are counted, with the largest gap of one in pence.\n")
    say("| size | seed | points | proven | seconds | open | largest gap | peak MiB |\n|---|---:|---:|---|---:|---:|---:|---:|")
    for piece in ["frontiers", *(f"hard-{s}" for s in HARD)]:
        for r in (have.get(piece) or {"rows": []})["rows"]:
            proof = f"{word(r['complete'])} | {r['seconds']:.2f} | {r['open']} | {r['gap']}"
            say(f"| {r['size']} | {r['seed']} | {r['points']} | {proof} | {r['mib']:.1f} |")
    if seen := have.get("growth"):
        say(f"\n## Growth\n\nMedians over the six seeds; one plan is stopped after {GROWTH_CAP} s, proven or not.\n")
        say("| size | one plan, s | the slowest, s | frontier, s | peak MiB, one plan |\n|---|---:|---:|---:|---:|")
        for r in seen["rows"]:
            front = f"{r['frontier']:.2f}" if "frontier" in r else ""
            say(f"| {r['size']} | {r['single']:.4f} | {r['worst']:.4f} | {front} | {r['mib']:.1f} |")
    days = sorted({seen["when"] for seen in have.values()})
    loads = [seen["load"] for seen in have.values()]
    machine = f"{platform.machine()}, {os.cpu_count()} cores, {platform.system()}"
    say(f"\nMeasured by `tests/bench/plan/run.py` on {machine}; {', '.join(days)}; load after a piece {min(loads):.1f} to {max(loads):.1f}.")
    say("Runs of one piece follow each other; ratios are of one piece. The peers' versions stand in `tests/bench/peers/plan/requirements.txt`.")
    missing = [piece for piece in PIECES if piece not in have]
    if missing:
        say(f"Not measured: {', '.join(missing)}.")
    out = pathlib.Path(out)
    # what `on_books.py` wrote stays
    _, title, books = (out.read_text(encoding="utf-8") if out.exists() else "").partition("\n# Plans of books, measured\n")
    out.write_text("\n".join(lines) + "\n" + title + books, encoding="utf-8")


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("pieces", nargs="*", metavar="PIECE", help=", ".join(PIECES))
    asked.add_argument("--out", default=str(HERE / "measured.md"))
    asked.add_argument("--only-write", action="store_true", help="measure nothing, write the tables again")
    asked.add_argument("--no-build", action="store_true")
    asked.add_argument("--go-on", action="store_true", help="keep the seeds of a single piece that are measured already")
    args = asked.parse_args()
    if unknown := [piece for piece in args.pieces if piece not in PIECES]:
        raise SystemExit(f"no such piece: {', '.join(unknown)}; there are {', '.join(PIECES)}")
    DESK.mkdir(parents=True, exist_ok=True)
    if not args.only_write:
        if not args.no_build:
            subprocess.run(["cargo", "build", "--release", "--quiet", "--example", "plan_bench"], check=True, cwd=ROOT)
        for piece in args.pieces or PIECES:
            keep(piece, measure(piece))
    write(args.out)


main()
