#!/usr/bin/env python3
"""Check plans against another solver, and at full length what `cargo test` takes a share of.

    plans.py [--bench PATH] [--generated 200]     exit 1 when an optimum differs

CP-SAT solves 200 generated choices and the peers' named instances, and tightens the mass limit along the whole frontier of
the small ones; `plan_bench` must come to the same optimum and the same frontier. Then the tests of generated books and of
random baskets run whole, in an optimised build. If the solver is not installed, it goes into a virtual environment in a
temporary folder, which is removed again.
"""

import argparse
import contextlib
import importlib.util
import io
import os
import pathlib
import re
import runpy
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
PEERS = ROOT / "tests" / "bench" / "peers" / "plan"
SMALL = ["5x4x3", "6x4x4", "8x5x4", "8x6x3"]
NAMED = ["8x5x4", "12x8x8", "16x10x10", "20x15x15", "20x10x3"]


def again_with_solver():
    """Runs this script in an environment that has the solver, unless it is there."""
    if importlib.util.find_spec("ortools"):
        return
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([sys.executable, "-m", "venv", folder], check=True)
        python = f"{folder}/bin/python"
        subprocess.run([python, "-m", "pip", "install", "--quiet", "-r", PEERS / "requirements.txt"], check=True)
        sys.exit(subprocess.run([python, *sys.argv]).returncode)


def make(folder, name):
    subprocess.run([sys.executable, PEERS / "gen_plan.py", folder, name], check=True)
    size, _, seed = name.partition(":")
    return f"{folder}/plan_{size}{'_' + seed if seed else ''}.txt"


def cpsat(path, mode):
    """What the peer's script prints, run in this process: the solver is loaded once."""
    said, argv = io.StringIO(), sys.argv
    sys.argv = ["cpsat.py", path, mode]
    try:
        with contextlib.redirect_stdout(said):
            runpy.run_path(str(PEERS / "cpsat.py"), run_name="__main__")
    finally:
        sys.argv = argv
    return said.getvalue()


def ours(bench, path, mode):
    return subprocess.run([bench, path, mode, "120", "points"], check=True, capture_output=True, text=True).stdout


def optimum(text):
    return text.split()[1]


def differs(bench, path, frontier):
    """Whether the two disagree; a frontier is compared where CP-SAT comes to its end."""
    mine, theirs = ours(bench, path, "single"), cpsat(path, "single")
    if "status proven" not in mine or "OPTIMAL" not in theirs or optimum(mine) != optimum(theirs):
        print(f"{path}: {mine.strip()} against {theirs.strip()}")
        return True
    if not frontier:
        return False
    points = [sorted(re.findall(r"point (\d+) (\d+)", text)) for text in (ours(bench, path, "frontier"), cpsat(path, "frontier"))]
    if points[0] != points[1]:
        print(f"{path}: frontiers differ: {len(points[0])} and {len(points[1])} points")
    return points[0] != points[1]


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("--bench", default=str(ROOT / "target" / "outside" / "examples" / "plan_bench"))
    asked.add_argument("--generated", type=int, default=200)
    asked.add_argument("--no-books", action="store_true", help="the solver only")
    args = asked.parse_args()
    again_with_solver()
    sys.path.insert(0, str(PEERS))
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        for number in range(args.generated):
            size = SMALL[number % len(SMALL)]
            # the frontier of every tenth, of the smallest sizes
            wrong += differs(args.bench, make(folder, f"{size}:{1000 + number}"), number % 10 == 0)
        for size in NAMED:
            wrong += differs(args.bench, make(folder, size), size == NAMED[0])
    print(f"{args.generated} generated choices and {len(NAMED)} named ones: {wrong} differ from CP-SAT")
    if not args.no_books:
        command = ["cargo", "test", "--profile", "outside", "--lib", "planned::"]
        wrong += subprocess.run(command, cwd=ROOT, env={**os.environ, "LANDWAITER_WHOLE": "1"}).returncode != 0
    sys.exit(1 if wrong else 0)


main()
