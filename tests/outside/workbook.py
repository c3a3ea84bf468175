#!/usr/bin/env python3
"""Holds the workbooks against LibreOffice, which recalculates every formula, and against openpyxl.

For every example and for generated books: `report -o book.xlsx`, recalculated, comes to the tool's own totals to the penny;
with an exchange figure, prices, quantities or a freight table changed in the workbook it comes to what the tool says of those;
the sheets of the largest example print on few leaves; a book that LibreOffice saved as
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
    """The sums in the order of the columns; a discount stands below zero, so that they add up across."""
    signed = [Decimal(cost["totals"][name]) * (-1 if name == "discount" else 1) for name in SUMS]
    if sum(signed[:-1]) != signed[-1]:
        faults.append(f"the sums do not add up across: {signed}")
    return signed


# Columns of the sheet of inputs, counted from zero.
QUANTITY, ROW = 3, 9


def block(book, name):
    """The rows of one block of the sheet of inputs: below its heading, to the next empty row."""
    rows = list(book["inputs"].iter_rows(min_row=2))
    start = next((at for at, row in enumerate(rows) if row[0].value == name), len(rows)) + 1
    found = []
    for row in rows[start:]:
        if row[0].value is None:
            break
        found.append(row)
    return found


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
        for row in block(sheet, "Exchange"):
            quote, base = re.fullmatch(r"(\w+) for one (\w+)", row[0].value).groups()
            row[1].value = float(round(Decimal(str(row[1].value)) * Decimal("1.013"), 5))
            changed.append((row[ROW].value, base, quote, row[1].value))
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


def opened(book, name):
    """A book's workbook, opened, and a copy of the book in which the same is to be changed."""
    path = workbook(book, name)
    copy = WORK / f"book-of-{name}"
    shutil.rmtree(copy, ignore_errors=True)
    shutil.copytree(book, copy)
    return path, openpyxl.load_workbook(path), copy


def with_prices_changed(books, factor):
    """All prices times a factor in the workbook, and the same prices in the book: least spends, groups and free freight follow."""
    cases = {}
    for name, book in books.items():
        path, sheet, copy = opened(book, f"prices-{factor}-{name}")
        parts = table_of(book / "parts.csv")
        digits = {row[0].value: 0 if row[2].value == "JPY" else 2 for row in block(sheet, "Goods")}
        for part in parts:
            part["price"] = str(round(Decimal(part["price"]) * Decimal(factor), digits[part["part"]]))
        priced = {part["part"]: float(part["price"]) for part in parts}
        for row in block(sheet, "Goods"):
            row[1].value = priced[row[0].value]
        sheet.save(path)
        write_table(copy / "parts.csv", parts)
        cases[f"{name} with prices times {factor}"] = (path, cost(copy))
    compare(cases)
    return len(cases)


def table_of(path):
    with path.open(encoding="utf-8", newline="") as rows:
        lines = [line for line in rows if not line.startswith("#")]
    return list(csv.DictReader(lines))


def write_table(path, rows):
    with path.open("w", encoding="utf-8", newline="") as out:
        writer = csv.DictWriter(out, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def with_quantities_changed(books, times, plus):
    """Every quantity times a number and more in the workbook, and the same in the book: masses, freight by tables, free freight,
    duty by the piece and limits follow."""
    cases, moved = {}, 0
    for name, book in books.items():
        path, sheet, copy = opened(book, f"quantities-{times}-{plus}-{name}")
        parts = table_of(book / "parts.csv")
        fresh = {row[0].value for row in block(sheet, "Goods")}
        many = {}
        for part in parts:
            if part["part"] in fresh and part.get("standing", "") in ("", "to-order") and part.get("role", "build") in ("", "build"):
                many[part["part"]] = int(part["quantity"] or 1) * times + plus
                part["quantity"] = many[part["part"]]
        for row in block(sheet, "Goods"):
            if row[0].value in many:
                row[QUANTITY].value = many[row[0].value]
                moved += 1
        sheet.save(path)
        write_table(copy / "parts.csv", parts)
        # where digits are open the dearest row is chosen as the sums stand, and the workbook says that it is fixed
        if '"digits-open"' in run("cost", copy, "--format", "json"):
            continue
        cases[f"{name} with quantities times {times} and {plus} more"] = (path, cost(copy))
    compare(cases)
    return moved


def with_tables_changed(books, factor):
    """The thresholds and the prices of freight tables times a factor in the workbook, and the same in the book's own rates."""
    cases, moved = {}, 0
    for name, book in books.items():
        path, sheet, copy = opened(book, f"freight-{factor}-{name}")
        steps = table_of(book / "rates" / "freight.csv")
        for step in steps:
            for column in ("up_to_g", "price"):
                whole = column == "up_to_g" or step["currency"] == "JPY"
                step[column] = str(round(Decimal(step[column]) * Decimal(factor), 0 if whole else 2))
        changed = {}
        for old, new in zip(table_of(book / "rates" / "freight.csv"), steps):
            title = f"freight table {old['schedule']}, up to {old['up_to_g']} g"
            changed[f"{title}: it serves up to"] = new["up_to_g"]
            changed[f"{title}: price"] = new["price"]
        for row in block(sheet, "Freight tables"):
            if row[0].value in changed:
                row[1].value = float(changed[row[0].value])
                moved += 1
        sheet.save(path)
        write_table(copy / "rates" / "freight.csv", steps)
        cases[f"{name} with freight tables times {factor}"] = (path, cost(copy))
    compare(cases)
    return moved


def leaves_of(path, most):
    """How many leaves a workbook prints on, as LibreOffice lays it out."""
    out = WORK / "printed"
    office("pdf", out, [path])
    leaves = len(re.findall(rb"/Type\s*/Page[^s]", (out / f"{path.stem}.pdf").read_bytes()))
    if not 0 < leaves <= most:
        faults.append(f"{path.name} prints on {leaves} leaves, and not on {most} at most")
    return leaves


def starter():
    """The lists that a new workbook offers are there, under the columns that offer them."""
    folder = WORK / "new"
    shutil.rmtree(folder, ignore_errors=True)
    run("new", folder, "--kind", "gravel", "--workbook")
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
    if total.cell(row=6, column=2).number_format not in ("#,##0.00", "#,##0"):
        faults.append(f"{path.name}: money is shown as {total.cell(row=6, column=2).number_format}")
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
    counted = sum(with_quantities_changed({**plain, "gravel-build": books["gravel-build"]}, *change) for change in ((1, 1), (3, 0)))
    print(f"{counted} quantities changed")
    tables = {"gravel-build": books["gravel-build"]}
    steps = sum(with_tables_changed(tables, factor) for factor in ("0.31", "0.72", "1.9"))
    print(f"{steps} figures of freight tables changed")
    if not counted or not steps:
        faults.append("no quantity or no freight table was changed")
    print(f"gravel-build prints on {leaves_of(cases['gravel-build'][0], 12)} leaves")
    print(f"{starter()} lists offered by a new workbook")
    books_from_spreadsheets({**books, **{name: made[name] for name in list(made)[:6]}})
    print(f"{3 * (len(books) + 6)} books read from spreadsheets")
    hostile()
    if faults:
        raise SystemExit("\n".join(faults))
    print("the workbooks hold")


main()
