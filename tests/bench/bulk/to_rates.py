#!/usr/bin/env python3
# Own work of the project, under the project's licence; invented data only.
"""Turns the tables of the bulk benchmark into the program's own form.   usage: to_rates.py DATADIR OUTDIR

Writes OUTDIR/rates (for --rates: a destination of its own, `XA`, with the law that the peers have in their code, the exchange,
the freight bands as schedules, the rates of duty) and OUTDIR/book (the sellers and what the card takes). Nothing is worked out
here: one row of theirs is one row of ours. Only the last band of a seller, which also takes all that is heavier at the same
price by the gram, is written ten times as long and ten times as dear, so that it has an end far beyond any parcel."""
import csv, os, sys
from decimal import Decimal

data, out = sys.argv[1:3]
NOTES = "# source = invented data of the benchmark\n# valid_from = 2020-01-01\n"
CHARGES = """charge,kind,order,level,of,percent,rate_from,flat,per,currency,round
intrinsic_value,value,10,consignment,goods,,,,,,
customs_value,value,20,consignment,goods + freight + insurance,,,,,,
tariff_duty,duty,30,line,customs_value,,tariff:general,,,,half_up 0.01
handling,fee,40,consignment,,,,12.00,consignment,GBP,half_up 0.01
import_tax,tax,50,consignment,customs_value + duty + fee,,taxes:vat,,,,half_up 0.01
"""
RELIEFS = """relief,order,tests,per,op,amount,currency,drops
low_value,25,intrinsic_value,consignment,<=,135.00,GBP,duty charge:handling
"""
TAXES = "tax,country,region,commodity,percent\nvat,XA,,*,20\n"


def rows(name):
    with open(f"{data}/{name}", newline="") as f:
        return list(csv.DictReader(f))


def write(path, header, table):
    os.makedirs(os.path.dirname(f"{out}/{path}"), exist_ok=True)
    with open(f"{out}/{path}", "w", newline="") as f:
        f.write(NOTES if path.startswith("rates") else "")
        w = csv.writer(f, lineterminator="\n")
        w.writerow(header.split(","))
        w.writerows(table)


def text(path, body):
    os.makedirs(os.path.dirname(f"{out}/{path}"), exist_ok=True)
    with open(f"{out}/{path}", "w") as f:
        f.write(NOTES + body)


def name(seller):
    """A schedule's name has no digits in it, or it could be taken for an amount."""
    return "bands of " + seller.translate(str.maketrans("0123456789", "abcdefghij"))


sellers = rows("sellers.csv")
money = {r["seller"]: r["currency"] for r in sellers}
bands = {}
for r in rows("bands.csv"):
    bands.setdefault(r["seller"], []).append((int(r["upper_g"]), Decimal(r["price"])))
freight = []
for seller, steps in bands.items():
    steps.sort()
    steps.append((steps[-1][0] * 10, steps[-1][1] * 10))
    freight += [(name(seller), "*", "*", "*", up, price, money[seller], "yes") for up, price in steps]
write("rates/destinations.csv", "country,currency,group,customs_exchange", [("XA", "GBP", "", "market")])
write("rates/exchange.csv", "use,base,quote,rate,valid_from",
      [("market", "GBP", r["currency"], r["units_per_gbp"], r["date"]) for r in rows("rates.csv") if r["currency"] != "GBP"])
write("rates/freight.csv", "schedule,dispatch,destination,channel,up_to_g,price,currency,pro_rata", freight)
# in the invented law nothing follows a rate that ended, so that the shorter prefix holds again
write("rates/xa/tariff.csv", "layer,commodity,origin,percent,valid_from,valid_to,after",
      [("general", r["prefix"], r["origin"], r["rate_pct"], r["valid_from"], r["valid_to"], "nothing" if r["valid_to"] else "") for r in rows("duty.csv")])
text("rates/xa/charges.csv", CHARGES)
text("rates/xa/reliefs.csv", RELIEFS)
text("rates/xa/taxes.csv", TAXES)
write("book/sellers.csv", "seller,dispatch,currency,freight,insurance,transit_days",
      [(r["seller"], r["dispatch"], r["currency"], name(r["seller"]), "1 %", "0") for r in sellers])
write("book/settings.csv", "setting,value", [("destination", "XA"), ("card_fee", "2.99"), ("date", "2025-12-31")])
