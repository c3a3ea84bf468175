#!/usr/bin/env python3
"""Whole commands on damaged books: takes the books under `examples/`, changes cells, rows, columns and bytes as people and
spreadsheets do, runs a command on the result, and looks at what came of it.

Every run must end by itself within the time and the memory it is given, with a status from 0 to 3, without a panic. A status
other than 0 must come with words on standard error. An answer in JSON must be JSON, and its sums must add up to the penny:
columns to what a line costs, lines to parcels, parcels to totals, in the book's own currency and in one that is only shown.

    python3 tests/fuzz/books.py --program target/debug/landwaiter --runs 2000 --seed 1

The same seed makes the same books. What fails is kept under --keep, with its command in a file `command`. Exit status 1 when
anything failed. Needs python3 and nothing else.
"""
import argparse
import collections
import concurrent.futures
import csv
import decimal
import io
import json
import pathlib
import random
import resource
import shutil
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
EXAMPLES = HERE.parent.parent / "examples"
SEEDS = ["gravel-build", "after-delivery", "first-build"]
TABLES = ["parts", "sellers", "discounts", "bikes", "parcels", "receipts", "weighings", "unknowns", "settings"]
SECONDS = 20
MEMORY = 1 << 30

ODD = [
    "", " ", "0", "-1", "0.00", "1", "2", "0.5", "1e9", "1000000", "999999999999", "79228162514264337593543950335", "0.001",
    "19,90", "1,299", "1.299", "1.299,00", "1 299.00", "12.345", "NaN", "inf", "-0", "+5", "£12.00", "12 EUR", "$5", "RMB 40",
    "50 %", "100 %", "-3 %", "2.5 % min 12.50", "yes", "no", "YES", "true", "n/a", "-", "?", "TW", "CN", "GB", "DE", "US", "XX",
    "Taiwan", "Germany", "EUR", "USD", "JPY", "KRW", "GBP", "ABC", "2026-09-23", "2026-02-30", "23/09/2026", "1999-01-01",
    "2099-12-31", "9999-12-31", "0000-00-00", "to-order", "on-order", "in-hand", "given", "bundled", "build", "option", "rival",
    "wheels", "handlebar + stem", "crankset + shifters", "tyre", "spare", "tool", "bike", "business", "private", "gift",
    "marketplace", "DDP", "sale-tax", "post", "courier", "871491", "87149910", "8714", "87", "x", "7318158200999", "item",
    "basket", "freight", "=1+1", "@SUM(A1)", "+cmd|' /C calc'!A0", "a,b", 'quo"te', "two\nlines", "tab\there", "\u202egpj", "\x1b[31m",
    "\x07", "日本", "ёлка", "🚲", "a" * 300, "finish=raw + material=steel", "freehub=hg + rear_axle=12x142", "<=32", "140|160",
    "30x20x12", "exchange:USD", "freight:Taolin Parts House", "everything", "goods", "duty", "refund", "to_pay_seller",
]
DESTINATIONS = ["GB", "DE", "FR", "US", "CA-ON", "NO", "AU", "JP", "CH", "KR", "NZ", "SG", "IE", "SE", "gb", "UK"] * 3 + ["BR", "XX"]
SHOWN = ["GBP", "EUR", "USD", "JPY", "CHF", "AUD", "XXX"]


def rows_of(data):
    try:
        return list(csv.reader(io.StringIO(data.decode("utf-8", "replace"), newline="")))
    except csv.Error:
        return []


def text_of(rows, separator):
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator="\n").writerows(rows)
    return out.getvalue()


def change_cell(rng, rows):
    row = rng.choice(rows[1:] or rows)
    if row:
        row[rng.randrange(len(row))] = rng.choice(ODD)


def copy_cell(rng, rows):
    """A cell takes what another cell of its column says: names, places and currencies that exist."""
    if len(rows) > 2:
        one, other = rng.choice(rows[1:]), rng.choice(rows[1:])
        at = rng.randrange(max(1, min(len(one), len(other))))
        if at < len(one) and at < len(other):
            one[at] = other[at]


def slip_of_a_key(rng, rows):
    row = rng.choice(rows)
    if row:
        at = rng.randrange(len(row))
        cell = row[at]
        where = rng.randrange(len(cell) + 1)
        kind = rng.randrange(3)
        if kind == 0:
            cell = cell[:where] + rng.choice("0123456789.,-% abcxyz") + cell[where:]
        elif kind == 1:
            cell = cell[:where] + cell[where + 1:]
        else:
            cell = cell[:where] + cell[where + 1:where + 2] + cell[where:where + 1] + cell[where + 2:]
        row[at] = cell


def drop_row(rng, rows):
    if len(rows) > 1:
        rows.pop(rng.randrange(len(rows)))


def repeat_row(rng, rows):
    row = list(rng.choice(rows))
    rows.insert(rng.randrange(1, len(rows) + 1), row)


def shuffle_rows(rng, rows):
    head, rest = rows[0], rows[1:]
    rng.shuffle(rest)
    rows[:] = [head, *rest]


def drop_column(rng, rows):
    at = rng.randrange(max(1, len(rows[0])))
    for row in rows:
        if at < len(row):
            row.pop(at)


def add_column(rng, rows):
    names = ["quantity", "qty", "weight", "origin", "commodity", "preference", "parcel", "paid", "packed_g", "comes_with", "needs",
             "fits", "resale", "prices_include", "terms", "insurance", "free_freight_over", "transit_days", "standing", "role", "note"]
    rows[0].append(rng.choice(names))
    for row in rows[1:]:
        row.append(rng.choice(ODD) if rng.random() < 0.4 else "")


def ragged(rng, rows):
    row = rng.choice(rows)
    if row and rng.random() < 0.5:
        row.pop()
    else:
        row.append(rng.choice(ODD))


SENSIBLE = {
    "price": ["0.05", "9.99", "134.99", "135.00", "135.01", "1499.00", "24000.00"], "amount": ["5.00", "0.01", "120.00", "0"],
    "quantity": ["1", "2", "3", "12"], "mass_g": ["4", "180.5", "1450", "9000"], "currency": ["USD", "EUR", "GBP", "JPY", "KRW", "TWD"],
    "dispatch": ["CN", "TW", "DE", "GB", "JP", "US", "FR"], "origin": ["CN", "TW", "DE", "VN", "JP", ""], "role": ["build", "option", "rival"],
    "standing": ["to-order", "on-order", "in-hand", "given", "bundled"], "paid": ["0", "12.00", "300.00", ""], "parcel": ["", "spring", "late"],
    "commodity": ["", "871491", "87149910", "73181580", "40115000"], "preference": ["yes", "no", ""], "seller": ["Taolin Parts House", "Quillfen Bikes", ""],
    "prices_include": ["", "sale-tax", "19", "20"], "collects_tax": ["yes", "no"], "terms": ["DDP", "DAP", ""], "channel": ["post", "courier", ""],
    "sender": ["business", "private", "gift", "marketplace"], "insurance": ["", "5.00", "1 %"], "freight": ["", "0", "14.90"],
    "handling": ["", "8.00", "2.5 % min 12.50"], "free_freight_over": ["", "100"], "transit_days": ["", "8", "60"], "percent": ["5", "12.5", "100"],
    "min_spend": ["", "50"], "charge": ["duty", "remedy", "tax_at_border", "handling", "to_pay_seller", "refund", "return_freight", "goods", "discount"],
    "what": ["bike", "Saltmarsh frame", "exchange:USD", "disputed"], "basis": ["showroom", "racing", "ride", ""], "chance": ["", "40 %", "0.5"],
    "value": ["GB", "DE", "2026-09-23", "2.75 %", "road", "gravel", "3300", "8700"], "place": ["wheels", "saddle", "stem", "tyre", "handlebar + stem", "tool"],
}


def sensible(rng, rows):
    """A cell takes another value that its column may hold."""
    known = [at for at, name in enumerate(rows[0]) if name in SENSIBLE]
    if known and len(rows) > 1:
        at = rng.choice(known)
        row = rng.choice(rows[1:])
        if at < len(row):
            row[at] = rng.choice(SENSIBLE[rows[0][at]])


BY_ROWS = [sensible] * 30 + [change_cell] * 6 + [copy_cell] * 4 + [slip_of_a_key] * 3 + [drop_row, repeat_row, shuffle_rows, drop_column, add_column, add_column, ragged]


def by_bytes(rng, data):
    """Damage below the rows: cut off, bytes changed, another encoding, other line ends, nothing at all."""
    kind = rng.randrange(8)
    if kind == 0:
        return data[: rng.randrange(len(data) + 1)]
    if kind == 1:
        broken = bytearray(data)
        for _ in range(rng.randrange(1, 6)):
            if broken:
                broken[rng.randrange(len(broken))] = rng.randrange(256)
        return bytes(broken)
    if kind == 2:
        return data.decode("utf-8", "replace").encode("utf-16")
    if kind == 3:
        return b"\xef\xbb\xbf" + data
    if kind == 4:
        return data.replace(b"\n", b"\r\n")
    if kind == 5:
        return data.replace(b"\n", b"\r")
    if kind == 6:
        return b""
    return data + rng.choice([b"\n\n", b"# a note\n", b'"', b"\x00", b",,,,\n"])


def damage(rng, book):
    """Three books in five are only changed in what they say; the others are broken as well."""
    calm = rng.random() < 0.6
    for _ in range(rng.choice([0, 1, 1, 1, 2]) if calm else rng.choice([1, 1, 2, 2, 3, 5])):
        present = sorted(path for path in book.rglob("*.csv"))
        if not present:
            return
        path = rng.choice(present)
        if rng.random() < 0.4:
            path = book / "parts.csv" if (book / "parts.csv").exists() else path
        data = path.read_bytes()
        chance = 1 if calm else rng.random()
        if chance < 0.06:
            path.write_bytes(by_bytes(rng, data))
        elif chance < 0.08:
            path.unlink()
        elif chance < 0.09:
            other = rng.choice(present)
            path.write_bytes(other.read_bytes())
        else:
            rows = rows_of(data)
            if not rows:
                continue
            for _ in range(rng.choice([1, 1, 2, 4])):
                if rows:
                    (sensible if calm else rng.choice(BY_ROWS))(rng, rows)
            separator = "," if calm or rng.random() < 0.92 else rng.choice(";\t")
            path.write_bytes(text_of(rows, separator).encode("utf-8", "replace"))


def freight_as_amounts(book):
    """The examples' own schedules serve one destination and one year; amounts serve all."""
    sellers = book / "sellers.csv"
    if sellers.exists():
        rows = rows_of(sellers.read_bytes())
        at = rows[0].index("freight")
        for number, row in enumerate(rows[1:]):
            row[at] = ["14.90", "0", "1200", "7.50"][number % 4]
        sellers.write_text(text_of(rows, ","))


def own_law(rng, book):
    """Rows of law of the user's own, half of them wrong, laid over the built-in ones."""
    folder = book / "rates" / rng.choice(["gb", "de", "eu", "us", "au", "uk"])
    folder.mkdir(parents=True, exist_ok=True)
    cell = lambda *choices: rng.choice(choices)
    head = "charge,kind,order,group,level,of,percent,rate_from,flat,per,min,max,currency,round,when,valid_from,valid_to,source,evidence,certainty"
    rows = [head]
    for number in range(rng.randrange(1, 4)):
        rows.append(",".join([
            f"own_{number}", cell("fee", "duty", "tax", "remedy", "value", "sale-tax"), str(rng.randrange(1, 99)), cell("", "", "g least", "g first"),
            cell("line", "consignment", "item6", "item10", ""), cell("goods", "goods + freight", "customs_value", "duty + tax", "0.5 * goods", "nothing"),
            cell("", "", "5", "33.3", "-1"), cell("", "", "", "tariff:mfn", "taxes:vat", "taxes:nowhere"), cell("", "3", "0.50", "-2"),
            cell("", "consignment", "item", "piece", "kg"), cell("", "1", "7"), cell("", "4", "100"), cell("GBP", "EUR", ""),
            cell("half_up 0.01", "down 1", "up 0.05", ""), cell("", "goods > 100 GBP", "origin = CN", "trait.x = y", "channel != post", "goods >"),
            "2020-01-01", cell("", "2026-01-01"), "made up for this run", "read", cell("certain", "disputed", "announced")]))
    (folder / "charges.csv").write_text("\n".join(rows) + "\n")


COMMANDS = ["cost"] * 8 + ["check", "check", "compare", "rank", "plan", "leeway", "settle", "settle-add", "return", "report", "rates", "bulk", "import"]


def a_name(rng, book, column):
    try:
        rows = rows_of((book / "parts.csv").read_bytes())
        at = rows[0].index(column)
        return rng.choice([row[at] for row in rows[1:] if at < len(row)] or ["Nobody"])
    except (OSError, IndexError, ValueError):
        return "Nobody"


def command_line(rng, book):
    command = rng.choice(COMMANDS)
    words = [command, str(book)]
    if command == "settle-add":
        row = rng.choice(["receipts,{s},handling,5.00,GBP,2026-11-01", "weighings,{p},{n}", "receipts,{s},{o},{o},{o},{o}", "{o},{o}", "weighings,bike,8000"])
        row = row.format(s=a_name(rng, book, "seller"), p=a_name(rng, book, "part"), n=rng.choice(["120", "0", "-3", "abc"]), o=rng.choice(ODD))
        words = ["settle", str(book), "--add", row]
    elif command == "return":
        words += ["--part", a_name(rng, book, "part")]
    elif command == "report":
        made = rng.choice(["page.html", "sums.xlsx", "pictures"])
        words += ["--pictures", str(book.parent / made)] if made == "pictures" else ["-o", str(book.parent / made)]
        if rng.random() < 0.3:
            words += ["--hide", rng.choice(["prices", "sellers", "sellers,prices"])]
    elif command == "bulk":
        write_list(rng, book)
        words = ["bulk", str(book.parent / "list.csv")] + ([str(book)] if rng.random() < 0.6 else [])
        if rng.random() < 0.5:
            words += ["--keep-going", str(book.parent / "bad.csv")]
        if rng.random() < 0.3:
            words += ["--jobs", rng.choice(["1", "2", "3"])]
    elif command == "import":
        own = book.parent / "published.csv"
        own.write_bytes(by_bytes(rng, b"Date,USD,JPY,\n2026-10-29,1.1234,171.2,\n2026-10-30,1.1240,171.9,\n"))
        words = ["rates", "import", str(own), "--rates", str(book.parent / "ours")]
    elif command == "rates":
        words = ["rates"] + (["--gaps"] if rng.random() < 0.3 else [])
    if command == "plan":
        words += ["--limit", "1"] + (["--frontier"] if rng.random() < 0.3 else [])
    if rng.random() < 0.55 and command != "import":
        words += ["--to", rng.choice(DESTINATIONS)]
    if command not in ("bulk", "import", "check", "rates") and rng.random() < 0.25:
        words += ["--in", rng.choice(SHOWN)]
    if command != "import" and rng.random() < 0.25:
        words += ["--on", rng.choice(["2026-09-23", "2026-10-30", "2025-08-29", "2026-08-15", "2024-02-29", "2027-01-15", "2026-07-24", "1999-01-01", "yesterday"])]
    if command in ("cost", "compare", "rank", "plan", "leeway", "settle", "return", "check"):
        words += ["--format", rng.choice(["json", "json", "json", "table", "csv", "markdown"])]
        if rng.random() < 0.2:
            words += ["--trail"]
    if rng.random() < 0.08 and command not in ("bulk", "import", "rates"):
        words += rng.choice([["--max-mass", "8000"], ["--budget", "2000"], ["--card-fee", "2.5"], ["--remedies", "show"], ["--choice", "x=y"], ["--kind", "road"]])
    return command, words


def write_list(rng, book):
    lines = ["date,seller,price,currency,dispatch,commodity,quantity,mass_g,origin,note"]
    for _ in range(rng.randrange(0, 30)):
        cells = [f"2026-0{rng.randrange(1, 9)}-1{rng.randrange(9)}", f"Seller {rng.randrange(3)}", f"{rng.randrange(90000) / 100:.2f}",
                 rng.choice(["USD", "EUR", "GBP", "JPY"]), rng.choice(["TW", "DE", "CN", "GB"]), rng.choice(["87149910", "871499", "87149110", "40115000"]),
                 str(rng.randrange(1, 4)), str(rng.randrange(0, 2000)), rng.choice(["TW", "CN", ""]), rng.choice(["", "words", "=1+1"])]
        if rng.random() < 0.1:
            cells[rng.randrange(len(cells))] = rng.choice([odd for odd in ODD if "\n" not in odd and "," not in odd and '"' not in odd])
        lines.append(",".join(cells))
    (book.parent / "list.csv").write_text("\n".join(lines) + "\n", encoding="utf-8", errors="replace")


ADDENDS = ["goods", "freight", "insurance", "duty", "remedy", "tax", "handling", "card_fee"]


def money(value):
    return decimal.Decimal(value)


def adds_up(answer):
    """What does not add up in the JSON of `cost`."""
    found = []

    def one(name, row):
        total = sum(money(row[key]) for key in ADDENDS) - money(row["discount"])
        if total != money(row["landed"]):
            found.append(f"{name}: columns give {total}, landed is {row['landed']}")
        if money(row["tax_at_sale"]) + money(row["tax_at_border"]) != money(row["tax"]):
            found.append(f"{name}: the parts of the tax give another tax")

    columns = [*ADDENDS, "discount", "tax_at_sale", "tax_at_border", "landed"]
    sums = collections.Counter()
    for parcel in answer["consignments"]:
        one(parcel["id"], parcel)
        for line in parcel["lines"]:
            one(f"{parcel['id']}, {line['part']}", line)
        for key in columns:
            lines = sum(money(line[key]) for line in parcel["lines"])
            if lines != money(parcel[key]):
                found.append(f"{parcel['id']}: {key} of the lines gives {lines}, of the parcel {parcel[key]}")
            sums[key] += money(parcel[key])
    for row in answer["held"]:
        # What is here already costs what was paid for it.
        for key in ("goods", "landed"):
            sums[key] += money(row["paid"] or 0)
    totals = answer["totals"]
    one("totals", totals)
    for key in columns:
        if sums[key] != money(totals[key]):
            found.append(f"totals: {key} of the parcels gives {sums[key]}, of the totals {totals[key]}")
    if money(totals["to_pay_seller"]) + money(totals["to_pay_carrier"]) != money(totals["to_pay"]):
        found.append("totals: to_pay is not the sum of its two parts")
    return found


def limits():
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))


def judge(command, words, ran):
    """What is wrong with one run, as lines."""
    wrong = []
    err = ran.stderr.decode("utf-8", "replace")
    if ran.returncode not in (0, 1, 2, 3):
        wrong.append(f"status {ran.returncode}")
    if "panicked" in err:
        wrong.append("a panic")
    # `check` tells what it finds as its result; `bulk` may set bad lines apart and then only counts them.
    told = err + (ran.stdout.decode("utf-8", "replace") if command == "check" else "")
    if ran.returncode and not told.strip():
        wrong.append(f"status {ran.returncode} without a word")
    if ran.returncode == 1 and "error" not in told and not (command == "bulk" and "not priced" in told):
        wrong.append("status 1 without an error named")
    if b"\x1b" in ran.stdout or "\x1b" in err:
        wrong.append("an escape character reached the output")
    if ran.returncode == 0 and "json" in words:
        try:
            answer = json.loads(ran.stdout)
        except ValueError as error:
            return [*wrong, f"not JSON: {error}"]
        if command == "cost":
            wrong += adds_up(answer)
    return wrong


def one_run(program, seed, keep):
    rng = random.Random(seed)
    with tempfile.TemporaryDirectory() as scratch:
        book = pathlib.Path(scratch) / "book"
        shutil.copytree(EXAMPLES / rng.choice(SEEDS), book, ignore=shutil.ignore_patterns("pictures", "expected*", "README.md"))
        if rng.random() < 0.6:
            freight_as_amounts(book)
        damage(rng, book)
        if rng.random() < 0.15:
            own_law(rng, book)
        command, words = command_line(rng, book)
        # A word on a command line holds no null character.
        words = [word.replace("\x00", "") for word in words]
        call = [str(program), *words]
        try:
            ran = subprocess.run(call, capture_output=True, timeout=SECONDS, preexec_fn=limits, cwd=scratch, stdin=subprocess.DEVNULL,
                                 env={"NO_COLOR": "1", "PATH": "/usr/bin:/bin", "HOME": scratch}, check=False)
            wrong, status = judge(command, words, ran), ran.returncode
        except subprocess.TimeoutExpired:
            wrong, status = [f"not done after {SECONDS} seconds"], "time"
        if wrong and keep:
            kept = pathlib.Path(keep) / str(seed)
            shutil.rmtree(kept, ignore_errors=True)
            shutil.copytree(scratch, kept)
            (kept / "command").write_text(" ".join(words) + "\n" + "\n".join(wrong) + "\n")
        return seed, command, status, words, wrong


def main():
    options = argparse.ArgumentParser(description="Whole commands on damaged books.")
    options.add_argument("--program", required=True, type=pathlib.Path)
    options.add_argument("--runs", type=int, default=2000)
    options.add_argument("--seed", type=int, default=1, help="the first seed; each run takes the next one")
    options.add_argument("--jobs", type=int, default=2)
    options.add_argument("--keep", help="a folder for the books of runs that failed")
    chosen = options.parse_args()
    program = chosen.program.resolve()
    counts, bad = collections.Counter(), []
    with concurrent.futures.ThreadPoolExecutor(chosen.jobs) as pool:
        runs = pool.map(lambda seed: one_run(program, seed, chosen.keep), range(chosen.seed, chosen.seed + chosen.runs))
        for seed, command, status, words, wrong in runs:
            counts[command, status] += 1
            if wrong:
                bad.append(seed)
                print(f"seed {seed}: {' '.join(words)}\n    " + "\n    ".join(wrong), flush=True)
    by_command = collections.defaultdict(dict)
    for (command, status), count in sorted(counts.items(), key=str):
        by_command[command][status] = count
    for command, statuses in by_command.items():
        print(f"{command}: " + ", ".join(f"{count} with status {status}" for status, count in statuses.items()))
    print(f"{chosen.runs} runs from seed {chosen.seed}, {len(bad)} failed")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
