#!/usr/bin/env python3
# Own work of the project, under the project's licence; invented data only.
"""The benchmark of price lists, in one command, from the project's folder:

    python3 -m venv VENV && VENV/bin/pip install -r tests/bench/peers/bulk/requirements.txt
    VENV/bin/python tests/bench/bulk/run.py [--out tests/bench/bulk/measured.md] [--rounds 7] [--part peers|cold|growth ...] [--no-build]

Makes the list and the tables, turns the tables into the program's own form, checks that all write the same components, and then
measures whole processes, interleaved, after one round that is not counted. Output goes to files, as a list does. Times are
medians; memory is the kernel's account of the finished process. Only ratios from one run hold. The parts can be run apart; each
adds to the measures kept beside the data (--data), and the table is written of all that there are.
"""
import argparse, csv, json, os, pathlib, platform, statistics as st, subprocess, sys, tempfile, time

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[2]
PEERS = HERE.parent / "peers" / "bulk"
PARTS = ["same", "peers", "cold", "growth"]
MILLION = 1_000_000


def target():
    meta = subprocess.run(["cargo", "metadata", "--no-deps", "--format-version", "1"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    return pathlib.Path(json.loads(meta)["target_directory"]) / "release"


class Bench:
    def __init__(self, asked):
        self.data, self.rounds = pathlib.Path(asked.data or tempfile.mkdtemp()), asked.rounds
        self.data.mkdir(parents=True, exist_ok=True)
        self.kept = self.data / "measures.json"
        self.found = json.loads(self.kept.read_text()) if self.kept.exists() else {}
        release = target()
        self.tool, self.copy = release / "landwaiter", release / "examples" / "csv_copy"
        self.shell = pathlib.Path(sys.executable).parent / "duckdb"

    def offers(self, lines):
        path = self.data / f"offers_{lines}.csv"
        if not path.exists():
            subprocess.run([sys.executable, PEERS / "gen_bulk.py", self.data, str(lines)], check=True)
            subprocess.run([sys.executable, HERE / "to_rates.py", self.data, self.data / "ours"], check=True)
        return path

    def ours(self, lines, jobs):
        ours = self.data / "ours"
        return [self.tool, "bulk", self.offers(lines), ours / "book", "--rates", ours / "rates", "--jobs", str(jobs)]

    def peer(self, name, lines, out, *flags):
        return [sys.executable, PEERS / f"peer_{name}.py", *flags, self.data, self.offers(lines), out]

    def statements(self, lines):
        """What the DuckDB shell is given: the lines sorted by number, the fastest way found that keeps their order."""
        path, out = self.data / f"shell_{lines}.sql", self.data / f"out_shell_{lines}.csv"
        if not path.exists():
            subprocess.run(self.peer("duckdb", lines, out, "--duty", "distinct", "--order", "sort", "--emit", path), check=True, stderr=subprocess.DEVNULL)
        return path, out

    def once(self, command, stdin=None, stdout=None):
        """Wall and processor seconds, and peak MiB, of one whole process."""
        with open(stdin or os.devnull, "rb") as source, open(stdout or os.devnull, "wb") as sink:
            start = time.perf_counter()
            process = subprocess.Popen([str(c) for c in command], stdin=source, stdout=sink, stderr=subprocess.DEVNULL)
            _, status, used = os.wait4(process.pid, 0)
            wall = time.perf_counter() - start
        if status:
            sys.exit(f"{command[0]} ended with status {status}")
        return wall, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024

    def measure(self, part, commands, rounds):
        """Runs the commands in turn; the measures of each by name."""
        got = {name: [] for name in commands}
        for number in range(rounds + 1):
            for name, (command, stdin, stdout) in commands.items():
                seen = self.once(command, stdin, stdout)
                if number:
                    got[name].append(seen)
        self.found[part] = {name: [st.median(column) for column in zip(*rows)] for name, rows in got.items()}
        self.found[part]["rounds"], self.found[part]["load"] = rounds, os.getloadavg()[0]

    # the four parts

    def same(self):
        """Every component of a million lines, byte for byte: the peers among themselves, and the program after mapping columns."""
        reference = self.data / "out_decimal.csv"
        self.once(self.peer("decimal", MILLION, reference))
        sql, shell = self.statements(MILLION)
        self.once([self.shell], stdin=sql)
        polars, ours, python = (self.data / f"out_{name}.csv" for name in ("polars", "ours", "python"))
        self.once(self.peer("polars", MILLION, polars))
        self.once(self.peer("duckdb", MILLION, python, "--duty", "wide", "--order", "sort"))
        self.once(self.ours(MILLION, 2), stdout=ours)
        told = {}
        for name, other in (("DuckDB shell", shell), ("DuckDB in Python", python), ("Polars", polars)):
            alike = subprocess.run([sys.executable, PEERS / "compare.py", reference, other], capture_output=True, text=True, check=False)
            told[name] = "byte-identical" if alike.returncode == 0 and "byte-identical" in alike.stdout else alike.stdout.strip()
        told["landwaiter"] = differing(reference, ours)
        self.found["same"] = told

    def peers(self):
        sql, _ = self.statements(MILLION)
        out = self.data / "out.csv"
        self.measure("peers", {
            "floor: csv copy": ([self.copy, self.offers(MILLION)], None, out),
            "landwaiter, 1 thread": (self.ours(MILLION, 1), None, out),
            "landwaiter, 2 threads": (self.ours(MILLION, 2), None, out),
            "DuckDB shell": ([self.shell], sql, None),
            "DuckDB in Python": (self.peer("duckdb", MILLION, out, "--duty", "wide", "--order", "sort"), None, None),
            "Polars": (self.peer("polars", MILLION, out), None, None),
        }, self.rounds)
        self.found["peers"]["Python decimal, one run"] = list(self.once(self.peer("decimal", MILLION, out)))

    def cold(self):
        sql, _ = self.statements(10_000)
        out = self.data / "out.csv"
        self.measure("cold", {
            "floor: csv copy": ([self.copy, self.offers(10_000)], None, out),
            "landwaiter, 1 thread": (self.ours(10_000, 1), None, out),
            "landwaiter, 2 threads": (self.ours(10_000, 2), None, out),
            "DuckDB shell": ([self.shell], sql, None),
        }, max(self.rounds, 15))

    def growth(self):
        out = self.data / "out.csv"
        for lines in (10_000, 100_000, MILLION, 10 * MILLION):
            self.measure(f"growth {lines}", {"1": (self.ours(lines, 1), None, out), "2": (self.ours(lines, 2), None, out)}, 3)


def differing(reference, ours):
    """How many lines differ in any component, the program's columns brought to the reference's."""
    ours_name = {"handling": "handling", "tax": "tax_at_border"}
    with open(reference, newline="") as one, open(ours, newline="") as other:
        ra, rb = csv.reader(one), csv.reader(other)
        ha, hb = next(ra), next(rb)
        at = [hb.index(ours_name.get(name, name)) for name in ha]
        zero = [hb.index(name) for name in ("remedy", "tax_at_sale")]
        lines = bad = 0
        for x, y in zip(ra, rb, strict=True):
            lines += 1
            bad += x != [y[i] for i in at] or any(y[i] != "0.00" for i in zero)
    return f"{lines} lines, {bad} differ"


def table(found):
    say = []
    if "same" in found:
        say += ["## The same pennies", "", "Against the Python decimal peer, one million lines, every component:", ""]
        say += [f"- {name}: {told}" for name, told in found["same"].items()] + [""]
    if "peers" in found:
        rows = found["peers"]
        shell, floor = rows["DuckDB shell"], rows["floor: csv copy"]
        say += [f"## One million lines, medians of {rows['rounds']} interleaved rounds", "",
                "| | wall s | CPU s | peak MiB | of the shell's wall | of the shell's CPU | times the floor |", "|---|---:|---:|---:|---:|---:|---:|"]
        for name, row in rows.items():
            if isinstance(row, list):
                w, c, m = row
                say.append(f"| {name} | {w:.3f} | {c:.3f} | {m:.0f} | {w / shell[0]:.2f} | {c / shell[1]:.2f} | {w / floor[0]:.2f} |")
        one, two = rows["landwaiter, 1 thread"], rows["landwaiter, 2 threads"]
        faster = min(rows["DuckDB shell"], rows["DuckDB in Python"], rows["Polars"])
        say += ["", "| asked | measured | holds |", "|---|---:|---|",
                limit("at most half the wall of the faster exact peer, 1 thread", one[0] / faster[0], 1 / 2),
                limit("at most a third, 2 threads", two[0] / faster[0], 1 / 3),
                limit("at most a quarter of its CPU, 1 thread", one[1] / faster[1], 1 / 4),
                limit("at most a quarter of its CPU, 2 threads", two[1] / faster[1], 1 / 4),
                limit("at most 3 times the floor, 1 thread", one[0] / floor[0], 3),
                limit("at most 3 times the floor, 2 threads (2.2 is the aim)", two[0] / floor[0], 3),
                limit("at most 32 MiB, 1 thread", one[2], 32), limit("at most 32 MiB, 2 threads", two[2], 32), ""]
    if "cold" in found:
        rows = found["cold"]
        say += [f"## Ten thousand lines from a cold start, medians of {rows['rounds']} interleaved rounds", "",
                "| | wall ms | CPU ms | peak MiB |", "|---|---:|---:|---:|"]
        say += [f"| {n} | {r[0] * 1e3:.1f} | {r[1] * 1e3:.1f} | {r[2]:.0f} |" for n, r in rows.items() if isinstance(r, list)]
        best = min(rows["landwaiter, 1 thread"][0], rows["landwaiter, 2 threads"][0])
        say += ["", "| asked | measured | holds |", "|---|---:|---|",
                limit("at most a fifth of the DuckDB shell's time", best / rows["DuckDB shell"][0], 1 / 5), ""]
    grown = {int(k.split()[1]): v for k, v in found.items() if k.startswith("growth")}
    if grown:
        say += ["## Growth, medians of 3 rounds", "", "| lines | 1 thread s | ns a line | peak MiB | 2 threads s | ns a line | peak MiB |", "|---:|---:|---:|---:|---:|---:|---:|"]
        for lines, rows in sorted(grown.items()):
            (a, _, m), (b, _, n) = rows["1"], rows["2"]
            say.append(f"| {lines} | {a:.3f} | {a / lines * 1e9:.0f} | {m:.0f} | {b:.3f} | {b / lines * 1e9:.0f} | {n:.0f} |")
        say.append("")
    loads = ", ".join(f"{rows['load']:.1f}" for rows in found.values() if "load" in rows)
    rustc = subprocess.run(["rustc", "--version"], capture_output=True, text=True, check=False).stdout.strip()
    say.append(f"Measured by `tests/bench/bulk/run.py`: {os.cpu_count()} cores, {platform.system()} {platform.release()}, {rustc}; load average after each part: {loads or 'not measured'}.")
    say.append("The peers write 13 columns, landwaiter the 11 of the list and 14 more; only ratios from one run hold.")
    return "\n".join(["# Price lists, measured", "", *say, ""])


def limit(what, value, most):
    return f"| {what} ({most:.2f}) | {value:.2f} | {'yes' if value <= most else 'NO'} |"


def main():
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--out", default=HERE / "measured.md", type=pathlib.Path)
    asked.add_argument("--rounds", default=7, type=int)
    asked.add_argument("--part", action="append", choices=PARTS)
    asked.add_argument("--data", help="where lists, results and measures are kept; a temporary folder by default")
    asked.add_argument("--no-build", action="store_true")
    asked = asked.parse_args()
    if not asked.no_build:
        subprocess.run(["cargo", "build", "--release", "--locked", "--bin", "landwaiter", "--example", "csv_copy"], cwd=ROOT, check=True)
    bench = Bench(asked)
    for part in asked.part or PARTS:
        getattr(bench, part)()
        bench.kept.write_text(json.dumps(bench.found))
        asked.out.write_text(table(bench.found), encoding="utf-8")
    print(table(bench.found))


if __name__ == "__main__":
    main()
