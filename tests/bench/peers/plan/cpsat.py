#!/usr/bin/env python3
# Own work of the project, under the project's licence; invented data only.
"""Peer: CP-SAT.   usage: cpsat.py INSTANCE single|frontier [--workers 1] [--lin 2] [--lex 0] [--cap 120]
One worker with linearization_level 2 was by far the fastest setting on 2 cores, so it is the default here."""
import argparse, time
from ortools.sat.python import cp_model
from plan import Plan, LOW, FEE

ap = argparse.ArgumentParser()
ap.add_argument("instance"), ap.add_argument("mode"), ap.add_argument("--workers", type=int, default=1), ap.add_argument("--lin", type=int, default=2), ap.add_argument("--lex", type=int, default=0), ap.add_argument("--nohint", action="store_true"), ap.add_argument("--log", action="store_true"), ap.add_argument("--cap", type=float, default=120)
a = ap.parse_args()
pl = Plan(a.instance)
t0 = time.perf_counter()


def build():
    m = cp_model.CpModel()
    x = [[m.new_bool_var(f"x{s}_{k}") for k in range(len(sl))] for s, sl in enumerate(pl.slots)]
    for v in x:
        m.add_exactly_one(v)
    by = {}
    for s, sl in enumerate(pl.slots):
        for k, o in enumerate(sl):
            by.setdefault(o[1], []).append((x[s][k], o))
    total = []
    for j, s in enumerate(pl.sellers):
        it = by.get(j)
        if not it:
            continue
        gmax = sum(max(o[2] for _, o in it if o[0] == sl) for sl in {o[0] for _, o in it})
        dmax = sum(max(o[4] for _, o in it if o[0] == sl) for sl in {o[0] for _, o in it})
        u, low = m.new_bool_var(f"u{j}"), m.new_bool_var(f"low{j}")
        for v, _ in it:
            m.add_implication(v, u)
        G = sum(o[2] * v for v, o in it); W = sum(o[3] * v for v, o in it); Dt = sum(o[4] * v for v, o in it)
        net = G
        if s["spend"] >= 0:
            v = m.new_bool_var(f"v{j}")
            m.add(G >= s["spend"]).only_enforce_if(v)
            net = G - s["off"] * v
        z = [m.new_bool_var(f"z{j}_{b}") for b in range(len(s["bands"]))]
        for zb, (up, _) in zip(z[:-1], s["bands"]):
            m.add(W <= up).only_enforce_if(zb)
        modes = list(z)
        if s["free"] >= 0:
            ff = m.new_bool_var(f"ff{j}")
            m.add(G >= s["free"]).only_enforce_if(ff)
            modes.append(ff)
        m.add(sum(modes) == u)
        m.add_implication(low, u)
        m.add(net <= LOW).only_enforce_if(low)
        high = m.new_bool_var(f"h{j}")
        m.add(high + low == u)
        dc = m.new_int_var(0, dmax, f"d{j}")
        m.add(dc >= Dt).only_enforce_if(high)
        X = net + sum(p * zb for zb, (_, p) in zip(z, s["bands"])) + dc + FEE * high
        vat = m.new_int_var(0, (gmax + dmax + FEE + s["bands"][-1][1]) // 5 + 1, f"t{j}")
        m.add(5 * vat >= X - 2)
        total.append(X + vat)
    cost = sum(total)
    weight = sum(o[3] * x[s][k] for s, sl in enumerate(pl.slots) for k, o in enumerate(sl))
    return m, x, cost, weight


def solve(m, x, left):
    sv = cp_model.CpSolver()
    sv.parameters.num_workers = a.workers
    sv.parameters.random_seed = 7
    sv.parameters.log_search_progress = a.log
    if a.lin >= 0:
        sv.parameters.linearization_level = a.lin
    sv.parameters.max_time_in_seconds = max(0.01, left)
    st = sv.solve(m)
    ch = None
    if st in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        ch = [next(o for k, o in enumerate(sl) if sv.boolean_value(x[s][k])) for s, sl in enumerate(pl.slots)]
    return st, ch, sv


left = lambda: a.cap - (time.perf_counter() - t0)
if a.mode == "single":
    m, x, cost, weight = build()
    m.add(weight <= pl.budget)
    m.minimize(cost)
    st, ch, sv = solve(m, x, left())
    c, w = pl.cost(ch) if ch else (-1, -1)
    print(f"single {c} {w} budget {pl.budget} status {sv.status_name(st)} bound {sv.best_objective_bound} time {time.perf_counter() - t0:.3f}")
    assert not ch or abs(sv.objective_value - c) < 0.5
else:
    big = 1 + sum(max(o[3] for o in sl) for sl in pl.slots)
    front, cap, done, prev, hint = [], None, 0, 0, None
    while left() > 0:
        m, x, cost, weight = build()
        if cap is not None:
            m.add(weight <= cap)
            m.add(cost >= prev)
            for s, sl in enumerate(pl.slots) if not a.nohint else ():
                for k, o in enumerate(sl):
                    m.add_hint(x[s][k], o == hint[s])
        m.minimize(cost * big + weight if a.lex else cost)
        st, ch, sv = solve(m, x, left())
        if st == cp_model.INFEASIBLE:
            done = 1
            break
        if st != cp_model.OPTIMAL:
            break
        c, w = pl.cost(ch)
        if front and front[-1][0] == c:                # same cost, lighter: the earlier one was dominated
            front.pop()
        front.append((c, w))
        cap, prev, hint = w - 1, c, ch
    print(f"frontier {len(front)} complete {done} time {time.perf_counter() - t0:.3f}")
    for c, w in reversed(front):
        print("point", c, w)
