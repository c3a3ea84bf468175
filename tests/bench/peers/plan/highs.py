#!/usr/bin/env python3
# Own work of the project, under the project's licence; invented data only.
"""Peer: HiGHS.   usage: highs.py INSTANCE single|frontier [--threads 2] [--cap 120]"""
import argparse, time
import highspy
from plan import Plan, LOW, FEE

ap = argparse.ArgumentParser()
ap.add_argument("instance"), ap.add_argument("mode"), ap.add_argument("--threads", type=int, default=2), ap.add_argument("--lb", type=int, default=1), ap.add_argument("--start", type=int, default=0), ap.add_argument("--cap", type=float, default=120)
a = ap.parse_args()
pl = Plan(a.instance)
t0 = time.perf_counter()


def build():
    h = highspy.Highs()
    h.silent()
    x = [[h.addBinary() for _ in sl] for sl in pl.slots]
    for v in x:
        h.addConstr(h.qsum(v) == 1)
    by = {}
    for s, sl in enumerate(pl.slots):
        for k, o in enumerate(sl):
            by.setdefault(o[1], []).append((x[s][k], o))
    total = []
    for j, s in enumerate(pl.sellers):
        it = by.get(j)
        if not it:
            continue
        mx = lambda f: sum(max(o[f] for _, o in it if o[0] == sl) for sl in {o[0] for _, o in it})
        gmax, wmax, dmax = mx(2), mx(3), mx(4)
        u, low, high = h.addBinary(), h.addBinary(), h.addBinary()
        for sl in {o[0] for _, o in it}:                # one per slot: tighter than one per offer
            h.addConstr(h.qsum([v for v, o in it if o[0] == sl]) <= u)
        G = h.qsum([o[2] * v for v, o in it]); W = h.qsum([o[3] * v for v, o in it]); Dt = h.qsum([o[4] * v for v, o in it])
        X = [o[2] * v for v, o in it]
        offx = 0
        if s["spend"] >= 0:
            v = h.addBinary()
            h.addConstr(G >= s["spend"] * v)
            offx = s["off"] * v
            X.append(-s["off"] * v)
        z = [h.addBinary() for _ in s["bands"]]
        modes = list(z)
        rest = 0
        if s["free"] >= 0:
            ff = h.addBinary()
            h.addConstr(G >= s["free"] * ff)
            modes.append(ff)
            rest = wmax * ff
        h.addConstr(W <= h.qsum([min(up, wmax) * zb for zb, (up, _) in zip(z, s["bands"])]) + rest)
        h.addConstr(h.qsum(modes) == u)
        h.addConstr(low + high == u)
        h.addConstr(G - offx <= LOW * low + gmax * high)
        dc = h.addVariable(lb=0, ub=dmax)
        if dmax:
            h.addConstr(dc >= Dt - dmax * low)
        X += [p * zb for zb, (_, p) in zip(z, s["bands"])] + [1 * dc, FEE * high]
        vat = h.addIntegral(lb=0, ub=(gmax + dmax + FEE + s["bands"][-1][1]) // 5 + 1)
        h.addConstr(5 * vat >= h.qsum(X) - 2)
        total += X + [1 * vat]
    cost = h.qsum(total)
    weight = h.qsum([o[3] * x[s][k] for s, sl in enumerate(pl.slots) for k, o in enumerate(sl)])
    return h, x, cost, weight


def solve(h, x, obj, left):
    h.setOptionValue("threads", a.threads)
    h.setOptionValue("random_seed", 7)
    h.setOptionValue("time_limit", max(0.01, left))
    h.setOptionValue("mip_rel_gap", 0.0)
    h.setOptionValue("mip_abs_gap", 0.9)               # the costs are whole pence
    h.setOptionValue("mip_feasibility_tolerance", 1e-9)
    h.setOptionValue("primal_feasibility_tolerance", 1e-9)
    h.minimize(obj)
    st = h.getModelStatus()
    ch = None
    sol = h.getSolution().col_value
    if st == highspy.HighsModelStatus.kOptimal or (h.getInfo().primal_solution_status == 2):
        ch = [max(((sol[x[s][k].index], -k, o) for k, o in enumerate(sl)))[2] for s, sl in enumerate(pl.slots)]
    return st, ch, h.getInfo()


left = lambda: a.cap - (time.perf_counter() - t0)
if a.mode == "single":
    h, x, cost, weight = build()
    h.addConstr(weight <= pl.budget)
    st, ch, info = solve(h, x, cost, left())
    c, w = pl.cost(ch) if ch else (-1, -1)
    print(f"single {c} {w} budget {pl.budget} status {st} bound {info.mip_dual_bound:.1f} objective {info.objective_function_value:.2f} nodes {info.mip_node_count} time {time.perf_counter() - t0:.3f}")
else:
    front, cap, done, prev = [], None, 0, 0
    while left() > 0:
        h, x, cost, weight = build()
        if cap is not None:
            h.addConstr(weight <= cap)
            if a.lb:
                h.addConstr(cost >= prev)
        st, ch, info = solve(h, x, cost, left())
        if st == highspy.HighsModelStatus.kInfeasible:
            done = 1
            break
        if st != highspy.HighsModelStatus.kOptimal:
            break
        c, w = pl.cost(ch)
        if front and front[-1][0] == c:                # same cost, lighter: the earlier one was dominated
            front.pop()
        front.append((c, w))
        cap, prev = w - 1, c
    print(f"frontier {len(front)} complete {done} time {time.perf_counter() - t0:.3f}")
    for c, w in reversed(front):
        print("point", c, w)
