#!/usr/bin/env python3
# Own work of the project, under the project's licence; invented data only.
"""Source: the project's own check of two results.   compare.py REFERENCE.csv OTHER.csv : same bytes? same order? else the differing lines by column, in pennies."""
import csv, filecmp, sys
from decimal import Decimal
a, b = sys.argv[1:3]
if filecmp.cmp(a, b, shallow=False):
    print(f"{b}: byte-identical to {a}")
    sys.exit(0)
fa, fb = open(a, newline=""), open(b, newline="")
ra, rb = csv.reader(fa), csv.reader(fb)
ha, hb = next(ra), next(rb)
if ha != hb:
    print("headers differ", ha, hb)
rows = {r[0]: r for r in ra}
order = iter(rows)
in_order, n, bad, cols, worst = True, 0, 0, {}, Decimal(0)
for r in rb:
    n += 1
    in_order = in_order and r[0] == next(order, None)
    x = rows[r[0]]
    if x != r:
        bad += 1
        for h, u, v in zip(ha, x, r):
            if u != v:
                cols[h] = cols.get(h, 0) + 1
                try:
                    if h == "landed":
                        worst = max(worst, abs(Decimal(u) - Decimal(v)))
                except Exception:
                    pass
print(f"{b}: {n} of {len(rows)} lines, in order: {in_order}, lines that differ: {bad}, by column {cols}, worst landed difference GBP {worst}")
sys.exit(1 if bad or n != len(rows) else 0)
