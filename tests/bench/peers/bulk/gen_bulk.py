#!/usr/bin/env python3
# Own work of the project, under the project's licence; invented data only.
"""Generator for the bulk-pricing benchmark (deterministic, seed 7).
Source: the project's own generator for bulk pricing; the columns of the list have the names the program reads.

usage: gen_bulk.py OUTDIR N [N ...]
Writes OUTDIR/{currencies,rates,sellers,bands,duty}.csv (the same whatever the N) and OUTDIR/offers_<N>.csv;
a smaller offers file is a prefix of a larger one.  Invented data: no real rate, seller, tariff or price.
"""
import math, os, sys
from datetime import date, timedelta
from random import Random

SEED = 7
CUR = {  # currency: (minor digits, starting level: units of the currency per 1 GBP)
    "GBP": (2, 1.0), "EUR": (2, 1.16), "USD": (2, 1.33), "JPY": (0, 198.0), "TWD": (2, 41.0),
    "CNY": (2, 9.6), "AUD": (2, 2.05), "CAD": (2, 1.86), "CHF": (2, 1.08), "KRW": (0, 1840.0)}
SHIP = {"GBP": ["IE", "JE"], "EUR": ["DE", "FR", "IT", "ES", "NL"], "USD": ["US", "HK"], "JPY": ["JP"],
        "TWD": ["TW"], "CNY": ["CN"], "AUD": ["AU"], "CAD": ["CA"], "CHF": ["CH"], "KRW": ["KR"]}
ORIGINS = ["CN", "TW", "JP", "IT", "DE", "US", "FR", "VN", "KR", "MY", "PT", "CH", "TH", "IN"]
ORIGIN_W = [30, 25, 10, 6, 5, 5, 4, 4, 3, 2, 2, 2, 1, 1]
RATES = ["0.00", "1.70", "2.00", "2.70", "3.00", "3.70", "4.00", "4.70", "6.00", "8.00", "10.00", "12.00", "14.00"]
DISC = ["0.0", "0.0", "0.0", "5.0", "7.5", "10.0", "12.5", "15.0", "20.0", "33.3"]
D0, D1 = date(2025, 1, 1), date(2025, 12, 31)


def write(path, header, rows):
    with open(path, "w", newline="") as f:
        f.write(header + "\n")
        for r in rows:
            f.write(",".join(r) + "\n")


def tables(out):
    rnd = Random(SEED)
    write(f"{out}/currencies.csv", "currency,minor_digits", ((c, str(m)) for c, (m, _) in CUR.items()))
    # rates on working days only, from before the first line's date; 6 significant digits; units per 1 GBP
    rows, level = [], {c: v for c, (_, v) in CUR.items()}
    d = date(2024, 12, 30)
    while d <= D1:
        if d.weekday() < 5:
            for c in CUR:
                if c != "GBP":
                    level[c] *= 1 + rnd.uniform(-0.006, 0.006)
                v = level[c]
                rows.append((d.isoformat(), c, f"{v:.{5 - math.floor(math.log10(v))}f}"))
        d += timedelta(days=1)
    write(f"{out}/rates.csv", "date,currency,units_per_gbp", rows)
    # sellers and their freight bands (price of a full parcel of the band, in the seller's currency)
    sellers, bands = [], []
    for i in range(200):
        c = rnd.choices(list(CUR), [6, 20, 16, 8, 12, 18, 4, 4, 4, 8])[0]
        s = f"S{i:04d}"
        sellers.append((s, rnd.choice(SHIP[c]), c))
        minor, lvl = CUR[c]
        p = rnd.uniform(2.5, 9.0)
        for up in sorted(rnd.sample([100, 250, 500, 1000, 1500, 2000, 3000, 5000, 7500], rnd.randint(3, 7))) + [10000, 30000]:
            p *= rnd.uniform(1.15, 1.7)
            bands.append((s, str(up), f"{round(p * lvl, minor):.2f}"))
    write(f"{out}/sellers.csv", "seller,dispatch,currency", sellers)
    write(f"{out}/bands.csv", "seller,upper_g,price", bands)
    # duty table: 2,000 rows; prefixes of 2, 4, 6, 8 or 10 digits; '*' = every origin; no two rows of one
    # (prefix, origin) overlap in time; every chapter has a '*' row without end, so a match always exists
    seen, duty, nodes = set(), [], {2: [], 4: [], 6: [], 8: [], 10: []}

    def add(prefix, origin):
        if (prefix, origin) in seen:
            return
        seen.add((prefix, origin))
        kind = rnd.random() if len(prefix) > 2 else 1.0
        if kind < 0.3:      # a change of rate inside the year
            cut = D0 + timedelta(days=rnd.randint(20, 340))
            duty.append((prefix, origin, "2020-01-01", (cut - timedelta(days=1)).isoformat(), rnd.choice(RATES)))
            duty.append((prefix, origin, cut.isoformat(), "", rnd.choice(RATES)))
        elif kind < 0.4:    # valid for a window only
            a = D0 + timedelta(days=rnd.randint(0, 200))
            b = a + timedelta(days=rnd.randint(30, 160))
            duty.append((prefix, origin, a.isoformat(), b.isoformat(), rnd.choice(RATES)))
        else:
            duty.append((prefix, origin, "2020-01-01", "", rnd.choice(RATES)))
        if origin != "*" and len(prefix) >= 8 and rnd.random() < 0.1:
            duty[-1] = duty[-1][:4] + ("48.50",)
        if prefix not in nodes[len(prefix)]:
            nodes[len(prefix)].append(prefix)

    for ch in range(1, 98):
        if ch != 77:
            add(f"{ch:02d}", "*")
    active = rnd.sample(nodes[2], 24) + ["87", "40"]
    while len(duty) < 2000:
        n = rnd.choices([4, 6, 8, 10], [15, 30, 35, 20])[0]
        parents = active if n == 4 else (nodes[n - 2] or active)
        p = rnd.choice(parents)
        p += "".join(rnd.choice("0123456789") for _ in range(n - len(p)))
        add(p, "*" if rnd.random() < 0.55 else rnd.choices(ORIGINS, ORIGIN_W)[0])
        if rnd.random() < 0.35 and nodes[n]:
            add(rnd.choice(nodes[n]), rnd.choices(ORIGINS, ORIGIN_W)[0])
    del duty[2000:]
    rnd.shuffle(duty)
    write(f"{out}/duty.csv", "prefix,origin,valid_from,valid_to,rate_pct", duty)
    # 3,000 commodity codes of 6, 8 or 10 digits, most of them below a node of the table. None stops above rows of the table,
    # with or without zeros at its end: there the program counts the dearest row, the peers the longest prefix
    longer = [p for k in (8, 10) for p in nodes[k]]

    def stops_above_rows(code):
        shortest = code[:max(6, len(code.rstrip("0")) + len(code.rstrip("0")) % 2)]
        return any(p.startswith(shortest) and not code.startswith(p) for p in longer)

    pool = []
    while len(pool) < 3000:
        n = rnd.choices([6, 8, 10], [2, 3, 5])[0]
        k = rnd.choice([k for k in (2, 4, 6, 6, 8, 8, 10) if k <= n and nodes[k]])
        p = rnd.choice(nodes[k] if k > 2 else active)
        code = p + "".join(rnd.choice("0123456789") for _ in range(n - len(p)))
        if not stops_above_rows(code):
            pool.append(code)
    return sellers, pool


def offers(out, n, sellers, pool):
    rnd = Random(SEED + 1)
    days = [(D0 + timedelta(days=i)).isoformat() for i in range((D1 - D0).days + 1)]
    with open(f"{out}/offers_{n}.csv", "w", newline="") as f:
        f.write("line_id,date,seller,dispatch,currency,price,quantity,mass_g,commodity,origin,discount_percent\n")
        for i in range(1, n + 1):
            s, ship, c = sellers[int(rnd.random() * len(sellers))]
            minor, lvl = CUR[c]
            price = round(math.exp(rnd.uniform(math.log(2), math.log(900))) * lvl, minor)
            qty = min(12, 1 + int(rnd.expovariate(0.9)))
            w = max(3, min(3500, int(rnd.lognormvariate(5.4, 1.0))))
            com = pool[int(rnd.random() ** 2 * len(pool))]
            org = rnd.choices(ORIGINS, ORIGIN_W)[0]
            f.write(f"{i},{days[int(rnd.random() * 365)]},{s},{ship},{c},{price:.2f},{qty},{w},{com},{org},{DISC[int(rnd.random() * len(DISC))]}\n")


if __name__ == "__main__":
    out = sys.argv[1]
    os.makedirs(out, exist_ok=True)
    sellers, pool = tables(out)
    for n in sys.argv[2:]:
        offers(out, int(n), sellers, pool)
