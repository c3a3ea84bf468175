#!/usr/bin/env python3
"""The benchmark of plans, in one command, from the project's folder:

    python3 -m venv VENV && VENV/bin/pip install -r tests/bench/peers/plan/requirements.txt
    VENV/bin/python tests/bench/plan/run.py OUT.md [--quick]

Makes the instances, runs the program's search, CP-SAT (one worker, linearization level 2) and HiGHS in turn, each by its own
clock, checks that all find the same optimum, and writes tables of medians and ratios. Only ratios from one run hold.
"""
import os, pathlib, re, resource, statistics as st, subprocess, sys, tempfile

here = pathlib.Path(__file__).resolve().parent
peers = here.parent / "peers" / "plan"
quick = "--quick" in sys.argv
out = sys.argv[1]
tmp = tempfile.mkdtemp()
SEEDS = [7, 101, 102, 103, 104, 105]
SINGLE = ["12x8x8", "16x10x10", "20x15x15", "20x10x3", "30x20x20"]
TARGET = {"12x8x8": 10, "16x10x10": 10, "20x15x15": 10, "20x10x3": 5, "30x20x20": 50}
subprocess.run(["cargo", "build", "--release", "--example", "plan_bench"], check=True)
meta = subprocess.run(["cargo", "metadata", "--no-deps", "--format-version", "1"], capture_output=True, text=True, check=True).stdout
OURS = re.search(r'"target_directory":"([^"]+)"', meta)[1] + "/release/examples/plan_bench"


def path(size, seed):
    name = f"{tmp}/plan_{size}{'' if seed == 7 else '_' + str(seed)}.txt"
    if not os.path.exists(name):
        subprocess.run([sys.executable, peers / "gen_plan.py", tmp, size + ("" if seed == 7 else f":{seed}")], check=True)
    return name


def run(cmd):
    p = subprocess.Popen([str(c) for c in cmd], stdout=subprocess.PIPE, text=True)
    text = p.stdout.read()
    _, status, use = os.wait4(p.pid, 0)
    assert status == 0, cmd
    return text, float(re.search(r"time ([\d.]+)", text)[1]), use.ru_maxrss / 1024


def ours(f, mode, cap=120, *more):
    return run([OURS, f, mode, cap, *more])


lines = []
say = lambda s="": (lines.append(s), print(s, flush=True))
say("## Single problems, seconds by each one's own clock\n")
say("| size | seed | optimum | ours | CP-SAT | HiGHS | times faster than the better |\n|---|---|---|---|---|---|---|")
summary = []
for size in SINGLE:
    ratios = []
    for seed in SEEDS:
        f = path(size, seed)
        mine, cp, hi = [], [], []
        for _ in range(1 if quick else 3):
            text, t, _ = ours(f, "single")
            mine.append(t)
            best = text.split()[1:3]
            assert "status proven" in text
            text, t, _ = run([sys.executable, peers / "cpsat.py", f, "single"])
            cp.append(t)
            assert text.split()[1] == best[0] or "OPTIMAL" not in text, (f, text, best)
            if t > 5:                                   # a slow peer is not run again
                break
            if not quick and len(hi) == 0:
                text, t, _ = run([sys.executable, peers / "highs.py", f, "single"])
                hi.append(t)
        better = min(st.median(cp), st.median(hi) if hi else 1e9)
        ratios.append(better / st.median(mine))
        say(f"| {size} | {seed} | {best[0]}, {best[1]} | {st.median(mine):.4f} | {st.median(cp):.3f} | {st.median(hi) if hi else 0:.3f} | {ratios[-1]:.1f} |")
    summary.append((size, st.median(ratios), min(ratios)))
say("\n| size | median ratio | least ratio | asked |\n|---|---|---|---|")
for size, median, least in summary:
    say(f"| {size} | {median:.1f} | {least:.1f} | {TARGET[size]}, none under 3 |")

say("\n## Frontier of 12x8x8 against CP-SAT tightening the mass limit (stopped at 120 s: the ratio is then a floor)\n")
say("| seed | points | ours | CP-SAT | ratio |\n|---|---|---|---|---|")
ratios = []
for seed in SEEDS:
    f = path("12x8x8", seed)
    text, t, _ = ours(f, "frontier", 120, "points")
    mine = re.findall(r"point (\d+) (\d+)", text)
    other, tc, _ = run([sys.executable, peers / "cpsat.py", f, "frontier"])
    theirs = re.findall(r"point (\d+) (\d+)", other)
    full = "complete 1" in other
    assert not full or sorted(mine) == sorted(theirs), f
    ratios.append(tc / t)
    say(f"| {seed} | {len(mine)} | {t:.3f} | {tc:.1f}{'' if full else ' (unfinished)'} | {ratios[-1]:.0f} |")
say(f"\nMedian {st.median(ratios):.0f}, least {min(ratios):.0f}; asked: 100 and 10.")

say("\n## Larger frontiers\n\n| size | seed | points | proven | s | peak MiB |\n|---|---|---|---|---|---|")
for size, cap in [("16x10x10", 10), ("20x15x15", 10), ("30x20x20", 30), ("20x10x3", 120), ("30x20x5", 120), ("40x10x8", 120)]:
    for seed in SEEDS if size in ("16x10x10", "20x15x15", "30x20x20") else ([7, 101] if not quick else []):
        text, t, mib = ours(path(size, seed), "frontier", cap)
        points, complete, still = re.search(r"frontier (\d+) complete (\d) open (\d+)", text).groups()
        say(f"| {size} | {seed} | {points} | {'yes' if complete == '1' else 'no, open corners: ' + still} | {t:.2f} | {mib:.0f} |")

say("\n## Growth (seed 7)\n\n| size | single s | peak MiB |\n|---|---|---|")
for size in ["8x5x4", "12x8x8", "16x10x10", "20x15x15", "30x20x20", "40x25x25", "50x30x30"]:
    _, t, mib = ours(path(size, 7), "single")
    say(f"| {size} | {t:.4f} | {mib:.0f} |")
say(f"\nLoad average after: {os.getloadavg()[0]:.1f}")
open(out, "w").write("\n".join(lines) + "\n")
