#!/usr/bin/env python3
# Own work of the project, under the project's licence; invented data only.
"""Generator for the planning benchmark (deterministic, seed 7).   usage: gen_plan.py OUTDIR SxKxM[:SEED] ...
Invented data.  Instance format, one record a line, integers only (pence, grams):
  plan SLOTS SELLERS BUDGET_G
  seller ID FREE_FROM VOUCHER_SPEND VOUCHER_OFF NBANDS UP_1 PRICE_1 ... UP_n PRICE_n     (-1: none; the last UP is 1000000000)
  offer SLOT SELLER PRICE WEIGHT DUTY      (DUTY: pence, the offer's duty if its seller's order is not low-value; already rounded half up)
"""
import math, os, sys
from random import Random

INF = 1_000_000_000


def make(S, K, M, seed, path):
    rnd = Random(seed * 1_000_003 + S * 10_007 + K * 101 + M)
    out, offers = [], []
    for s in range(S):
        base_p = math.exp(rnd.uniform(math.log(600), math.log(25000)))
        base_w = max(15.0, min(1800.0, rnd.lognormvariate(5.2, 0.9)))
        P = (K + 1) // 2
        prods = []
        for _ in range(P):
            q = rnd.random()
            prods.append((base_p * (0.7 + 1.3 * q ** 1.5) * rnd.uniform(0.9, 1.1), max(5, round(base_w * (1.25 - 0.5 * q) * rnd.uniform(0.93, 1.07))),
                          rnd.choice([0, 0, 370, 470, 470, 800, 1400])))
        taken = set()
        for k in range(K):
            while True:
                p, j = (k if k < P else rnd.randrange(P)), rnd.randrange(M)
                if (p, j) not in taken:
                    break
            taken.add((p, j))
            bp, w, rate = prods[p]
            price = round(bp * rnd.uniform(0.9, 1.12))
            offers.append((s, j, price, w, (price * rate * 2 + 10000) // 20000))
    lo = sum(min(o[3] for o in offers if o[0] == s) for s in range(S))
    ref = sum(min((o[2], o[3]) for o in offers if o[0] == s)[1] for s in range(S))
    out.append(f"plan {S} {M} {lo + (ref - lo) * 2 // 5}")
    for j in range(M):
        free = rnd.randrange(5000, 25001, 500) if rnd.random() < 0.6 else -1
        if rnd.random() < 0.4:
            spend = rnd.randrange(10000, 30001, 1000)
            off = round(spend * rnd.uniform(0.05, 0.12) / 100) * 100
        else:
            spend, off = -1, 0
        p = rnd.uniform(300, 1200)
        bands = []
        for up in (500, 1000, 2000, 5000, 10000, INF):
            bands += [up, round(p)]
            p *= rnd.uniform(1.15, 1.6)
        out.append(" ".join(map(str, ["seller", j, free, spend, off, len(bands) // 2] + bands)))
    out += [" ".join(map(str, ("offer",) + o)) for o in offers]
    with open(path, "w") as f:
        f.write("\n".join(out) + "\n")


if __name__ == "__main__":
    d = sys.argv[1]
    os.makedirs(d, exist_ok=True)
    for a in sys.argv[2:]:
        dims, _, seed = a.partition(":")
        S, K, M = map(int, dims.split("x"))
        make(S, K, M, int(seed or 7), f"{d}/plan_{dims}{'_' + seed if seed else ''}.txt")
