#!/usr/bin/env python3
"""Holds the workbooks against LibreOffice, which recalculates every formula, and against openpyxl.

For every example and for generated books: `report -o book.xlsx`, recalculated, comes to the tool's own totals to the penny;
with an exchange figure or prices changed in the workbook it comes to what the tool says of those; a book that LibreOffice saved as
.xlsx and as .ods costs what the CSV costs; openpyxl reads types, formulas and the values stored beside them.

    workbook.py LANDWAITER WORK [--books N]

LibreOffice and openpyxl are not the spreadsheet most people have: what holds there is not proven by this.
"""

import csv
import json
import random
import re
import shutil
import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import openpyxl

TOOL, WORK = Path(sys.argv[1]).resolve(), Path(sys.argv[2])
BOOKS = int(sys.argv[sys.argv.index("--books") + 1]) if "--books" in sys.argv else 50
HOME = Path(__file__).resolve().parents[2]
SUMS = ["goods", "discount", "freight", "insurance", "duty", "remedy", "tax_at_sale", "tax_at_border", "handling", "card_fee", "landed"]
# LibreOffice trusts stored values unless it is told to recalculate always (0).
ALWAYS = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema" xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse"><value>0</value></prop></item>
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="ODFRecalcMode" oor:op="fuse"><value>0</value></prop></item>
</oor:items>
"""
faults = []


def run(*args, cwd=HOME):
    done = subprocess.run([str(TOOL), *map(str, args)], cwd=cwd, capture_output=True, text=True)
    if done.returncode:
        raise SystemExit(f"landwaiter {' '.join(map(str, args))}\n{done.stderr}")
    return done.stdout


def office(kind, out, files):
    profile = WORK / "profile"
    (profile / "user").mkdir(parents=True, exist_ok=True)
    settings = profile / "user" / "registrymodifications.xcu"
    if not settings.exists():
        settings.write_text(ALWAYS)
    out.mkdir(parents=True, exist_ok=True)
    subprocess.run(
        ["soffice", "--headless", "--norestore", f"-env:UserInstallation=file://{profile.resolve()}", "--convert-to", kind, "--outdir", str(out), *map(str, files)],
        check=True, capture_output=True, timeout=900)


def totals_of(path):
    """The last line of the first sheet, as recalculated."""
    rows = list(csv.reader(path.open(encoding="utf-8")))
    last = [row for row in rows if row and row[0] == "together"][-1]
    return [Decimal(cell.replace(",", "")) for cell in last[1:12]]


def expected(cost):
    return [Decimal(cost["totals"][name]) for name in SUMS]


FIRST_SHEET = 'csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,1'


def compare(cases):
    """cases: name -> (workbook, what the tool says)."""
    out = WORK / "recalculated"
    shutil.rmtree(out, ignore_errors=True)
    office(FIRST_SHEET, out, [book for book, _ in cases.values()])
    for name, (book, cost) in cases.items():
        found = next(iter(out.glob(f"{book.stem}*.csv")))
        got, want = totals_of(found), expected(cost)
        if got != want:
            pairs = [f"{n} {g} for {w}" for n, g, w in zip(SUMS, got, want) if g != w]
            faults.append(f"{name}: recalculated, {'; '.join(pairs)}")


def cost(book, *more):
    return json.loads(run("cost", book, "--format", "json", *more))


def workbook(book, name, *more):
    path = WORK / f"{name}.xlsx"
    run("report", book, "-o", path, *more)
    return path


# --- generated books -------------------------------------------------------------------------------------------------

# Six digits of what is bought; any number of each, as spares, since a place on a bike is filled once.
GOODS = {"wheels": 871499, "saddle": 871495, "seatpost": 871499, "handlebar": 871499, "cassette": 871493, "chain": 731511, "tyre": 401150,
         "pedals": 871496, "calipers": 871494, "rear-mech": 871499, "crankset": 871496}
MONEY = {"GB": "GBP", "US": "USD", "TW": "USD", "CN": "USD", "JP": "JPY", "DE": "EUR", "IT": "EUR", "AU": "AUD"}


def generate(folder, seed):
    """A book of some sellers with discounts, credits, insurance, fees and prices that make ties of half a penny."""
    draw = random.Random(seed)
    folder.mkdir(parents=True, exist_ok=True)
    to = draw.choice(["GB", "DE", "US", "AU", "CA-ON", "CH", "NO", "JP", "NZ", "IE"])
    sellers, parts, discounts = [], [], []
    kinds = ["", "", "", "sale-tax", "19", "22"]
    for s in range(draw.randint(1, 4)):
        dispatch = draw.choice(list(MONEY))
        handling = draw.choice(["", "", "12.00", "2.5 % min 12.50", "3 %"])
        freight = draw.choice(["", "0", "14", "35"]) if MONEY[dispatch] != "JPY" else draw.choice(["", "0", "2400"])
        sellers.append([f"Seller {s}", dispatch, MONEY[dispatch], draw.choice(["business", "business", "private", "marketplace"]), freight,
                        draw.choice(["", "", "300"]) if freight else "", draw.choice(["", "1 %", "2"]), draw.choice(["yes", "no", ""]), draw.choice(kinds), draw.choice(["", "", "DDP"]),
                        draw.choice(["post", "courier"]), handling, "5"])
        for p in range(draw.randint(1, 6)):
            yen = MONEY[dispatch] == "JPY"
            price = draw.choice([draw.randint(400, 60000), 999, 1000, 33333]) if yen else draw.choice(
                [f"{draw.randint(3, 900)}.{draw.choice(['00', '05', '15', '25', '99'])}", "2.67", "10.05", "135.00", "33.33"])
            parts.append([f"Part {s}.{p}", "spare", GOODS[draw.choice(list(GOODS))], f"Seller {s}", price, draw.choice([1, 1, 1, 2, 3]), draw.randint(20, 1900), draw.choice(["", "CN", "TW", "DE"])])
        if draw.random() < 0.6:
            scope = draw.choice(["basket", "item", "freight"])
            part = f"Part {s}.0" if scope == "item" else ""
            least = draw.choice(["", "", "250"])
            discounts.append([f"CODE{s}", f"Seller {s}", scope, part, draw.choice([5, 7.5, 10, 12.5, 33]), draw.choice(["price", "price", "credit"]), least, "", "one"])
            if draw.random() < 0.5:
                discounts.append([f"ELSE{s}", f"Seller {s}", "basket", "", draw.choice([5, 8]), "price", "", draw.choice(["", "30"]), "one"])
    def write(name, header, rows):
        with (folder / f"{name}.csv").open("w", encoding="utf-8", newline="") as out:
            csv.writer(out).writerows([header, *rows])
    write("settings", ["setting", "value"], [["destination", to], ["date", "2026-09-23"], ["card_fee", draw.choice(["", "2.75 %", "1.5 %"])]])
    write("sellers", ["seller", "dispatch", "currency", "sender", "freight", "free_freight_over", "insurance", "collects_tax", "prices_include", "terms", "channel", "handling", "transit_days"], sellers)
    write("parts", ["part", "place", "commodity", "seller", "price", "quantity", "mass_g", "origin"], parts)
    write("discounts", ["code", "seller", "scope", "part", "percent", "pays", "min_spend", "max_off", "group"], discounts)


def examples():
    folders = sorted(p.parent for p in (HOME / "examples").glob("*/parts.csv"))
    return {p.name: p for p in folders if p.name != "everything-wrong"}


def with_rate_changed(books):
    """Every EUR-to-dollar figure times 1.013 in the workbook, and the same row in a folder of the user's own rates."""
    cases = {}
    for name, book in books.items():
        path = workbook(book, f"rate-{name}")
        sheet = openpyxl.load_workbook(path)
        changed = []
        for row in sheet["2 exchange"].iter_rows(min_row=3):
            if row[0].value and row[2].value:
                row[1].value = float(round(Decimal(str(row[1].value)) * Decimal("1.013"), 5))
                changed.append((row[3].value, row[0].value, row[2].value, row[1].value))
        sheet.save(path)
        # The tool, with those rates: laid over the book's own folder of rates.
        copy = WORK / f"changed-{name}"
        shutil.rmtree(copy, ignore_errors=True)
        shutil.copytree(book, copy)
        own = copy / "rates"
        own.mkdir(exist_ok=True)
        lines = ["use,base,quote,rate,valid_from,valid_to,source"]
        published = (HOME / "rates" / "exchange.csv").read_text(encoding="utf-8").splitlines()
        header = next(line for line in published if line.startswith("use,")).split(",")
        for place, base, quote, rate in changed:
            file, line = place.rsplit(":", 1)
            source = file if Path(file).is_absolute() else HOME / file
            old = dict(zip(header, next(csv.reader([source.read_text(encoding="utf-8").splitlines()[int(line) - 1]]))))
            row = f"{old['use']},{base},{quote},{rate},{old['valid_from']},{old['valid_to']},changed"
            if row not in lines:
                lines.append(row)
        (own / "exchange.csv").write_text("\n".join(lines) + "\n")
        cases[f"{name} with other rates"] = (path, cost(copy, "--rates", own))
    compare(cases)


def with_prices_changed(books, factor):
    """All prices times a factor in the workbook, and the same prices in the book: least spends, groups and free freight follow."""
    cases = {}
    for name, book in books.items():
        path = workbook(book, f"prices-{factor}-{name}")
        sheet = openpyxl.load_workbook(path)
        copy = WORK / f"priced-{factor}-{name}"
        shutil.rmtree(copy, ignore_errors=True)
        shutil.copytree(book, copy)
        with (book / "parts.csv").open(encoding="utf-8", newline="") as rows:
            parts = list(csv.DictReader(rows))
        digits = {row[0].value: 0 if row[4].value == "JPY" else 2 for row in sheet["1 goods"].iter_rows(min_row=3)}
        for part in parts:
            part["price"] = str(round(Decimal(part["price"]) * Decimal(factor), digits[part["part"]]))
        priced = {part["part"]: float(part["price"]) for part in parts}
        for row in sheet["1 goods"].iter_rows(min_row=3):
            row[3].value = priced[row[0].value]
        sheet.save(path)
        with (copy / "parts.csv").open("w", encoding="utf-8", newline="") as out:
            writer = csv.DictWriter(out, list(parts[0]))
            writer.writeheader()
            writer.writerows(parts)
        cases[f"{name} with prices times {factor}"] = (path, cost(copy))
    compare(cases)
    return len(cases)


def starter():
    """The lists that a new workbook offers are there, under the columns that offer them."""
    folder = WORK / "new"
    shutil.rmtree(folder, ignore_errors=True)
    run("new", folder, "--workbook")
    book = openpyxl.load_workbook(next(folder.glob("*.xlsx")))
    offered = 0
    for sheet in book:
        for validation in sheet.data_validations.dataValidation:
            name, cells = validation.formula1.lstrip("=").split("!")
            head = sheet.cell(row=1, column=next(iter(validation.sqref.ranges)).min_col).value
            values = [cell.value for row in book[name][cells] for cell in row]
            if not all(values) or book[name][cells][0][0].offset(-1).value != head:
                faults.append(f"new --workbook: {sheet.title} offers {validation.formula1} under {head}")
            offered += 1
    return offered


def books_from_spreadsheets(books):
    made = WORK / "books"
    shutil.rmtree(made, ignore_errors=True)
    made.mkdir()
    for name, book in books.items():
        sheets = openpyxl.Workbook()
        sheets.remove(sheets.active)
        for table in ["settings", "sellers", "parcels", "parts", "discounts", "bikes", "unknowns", "receipts", "weighings"]:
            source = book / f"{table}.csv"
            if not source.exists():
                continue
            sheet = sheets.create_sheet(table)
            lines = [line for line in source.read_text(encoding="utf-8-sig").splitlines() if not line.startswith("#")]
            for row in csv.reader(lines):
                sheet.append([typed(cell) for cell in row])
        sheets.save(made / f"{name}.xlsx")
    files = sorted(made.glob("*.xlsx"))
    office("ods", made, files)
    office("xlsx:Calc MS Excel 2007 XML", made / "again", files)
    for name, book in books.items():
        more = ["--rates", book / "rates"] if (book / "rates").is_dir() else []
        want = expected(cost(book))
        for path in [made / f"{name}.xlsx", made / f"{name}.ods", made / "again" / f"{name}.xlsx"]:
            got = expected(cost(path, *more))
            if got != want:
                faults.append(f"{path.name}: {got} for {want}")


def typed(cell):
    """As a spreadsheet would take what is typed: days and numbers are no text. A fraction under one stays text."""
    import datetime
    if re.fullmatch(r"\d{4}-\d\d-\d\d", cell):
        return datetime.date.fromisoformat(cell)
    if re.fullmatch(r"-?\d+(\.\d+)?", cell) and not 0 < abs(float(cell)) < 1:
        return float(cell)
    return cell or None


def types(path):
    """Formulas are formulas with values beside them, figures are numbers, and no text is a formula."""
    live, stored = openpyxl.load_workbook(path), openpyxl.load_workbook(path, data_only=True)
    formulas = 0
    for sheet in live:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    formulas += 1
                    if stored[sheet.title][cell.coordinate].value is None:
                        faults.append(f"{path.name} {sheet.title}!{cell.coordinate}: no value stored")
    total = live["total"]
    if total.cell(row=5, column=2).number_format not in ("#,##0.00", "#,##0"):
        faults.append(f"{path.name}: money is shown as {total.cell(row=5, column=2).number_format}")
    return formulas


def hostile():
    """Names that would be formulas stay text."""
    folder = WORK / "hostile"
    folder.mkdir(exist_ok=True)
    (folder / "parts.csv").write_text('part,place,seller,price,currency,dispatch\n=cmd()|1!A1,wheels,=HYPERLINK("x"),250.00,USD,TW\n<script>alert(1)</script>,saddle,+1+1,50.00,USD,TW\n')
    (folder / "settings.csv").write_text("setting,value\ndestination,GB\ndate,2026-09-23\n")
    path = workbook(folder, "hostile-names")
    for sheet in openpyxl.load_workbook(path):
        for row in sheet.iter_rows():
            for cell in row:
                if isinstance(cell.value, str) and cell.value.startswith(("=cmd", "=HYPER", "+1")) and cell.data_type != "s":
                    faults.append(f"{sheet.title}!{cell.coordinate}: a name became {cell.data_type}")
    office("csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,2", WORK / "hostile-csv", [path])
    text = next((WORK / "hostile-csv").glob("*.csv")).read_text(encoding="utf-8")
    if "=cmd()|1!A1" not in text:
        faults.append("a name that looks like a formula did not come through as text")


def main():
    WORK.mkdir(parents=True, exist_ok=True)
    books = examples()
    made = {}
    for seed in range(BOOKS):
        folder = WORK / "generated" / f"book-{seed:02}"
        generate(folder, seed)
        made[f"book-{seed:02}"] = folder
    everything = {**books, **made}
    cases = {name: (workbook(book, name), cost(book)) for name, book in everything.items()}
    compare(cases)
    print(f"{len(cases)} workbooks recalculated")
    formulas = sum(types(path) for path, _ in list(cases.values())[:8])
    print(f"{formulas} formulas read by openpyxl, each with its value")
    with_rate_changed({name: everything[name] for name in list(everything)[:12]})
    print("12 workbooks with other rates")
    # which tax a price holds is fixed in a workbook, so that books of such sellers are left out
    plain = {name: book for name, book in made.items() if "sale-tax" not in (book / "sellers.csv").read_text(encoding="utf-8")}
    print(f"{sum(with_prices_changed(plain, factor) for factor in ('0.61', '1.7'))} workbooks with other prices")
    print(f"{starter()} lists offered by a new workbook")
    books_from_spreadsheets({**books, **{name: made[name] for name in list(made)[:6]}})
    print(f"{3 * (len(books) + 6)} books read from spreadsheets")
    hostile()
    if faults:
        raise SystemExit("\n".join(faults))
    print("the workbooks hold")


main()
