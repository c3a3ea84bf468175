#!/usr/bin/env python3
# Own work of the project, under the project's licence; invented data only.
"""Oracle: every choice, priced.   usage: brute.py INSTANCE   (up to a few million choices)"""
import itertools, sys, time
from plan import Plan
pl = Plan(sys.argv[1])
t = time.perf_counter()
best = {}
for ch in itertools.product(*pl.slots):
    c, w = pl.cost(ch)
    if c < best.get(w, 1 << 60):
        best[w] = c
front, low = [], 1 << 60
for w in sorted(best):
    if best[w] < low:
        low = best[w]
        front.append((low, w))
opt = min((c, w) for c, w in front if w <= pl.budget)
print(f"single {opt[0]} {opt[1]} budget {pl.budget} time {time.perf_counter() - t:.3f}")
print(f"frontier {len(front)} complete 1 time {time.perf_counter() - t:.3f}")
for c, w in front:
    print("point", c, w)
