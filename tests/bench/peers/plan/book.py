#!/usr/bin/env python3
# Own work of the project, under the project's licence; invented data only.
"""Peers: CP-SAT and HiGHS on a book's choice, one thread each.

    book.py FILE cpsat|highs packages|cases SECONDS PRICER ...

FILE is written by `plan_books ... choice` (tests/bench/plan/choice.rs says how), PRICER is the command of `plan_books ... price`.
With `packages` each package of a seller is a column with its exact cost; a seller with too many has its cases instead. With
`cases` every seller has its cases: lower bounds that are linear in the offers, each within limits of goods and of weight. What the
solver then comes to is priced exactly; where a package costs more than its bound, the difference is told to the solver, and it
solves again, until the bound of all plans is no less than the best plan. Only the processor's time
of the solver's own `solve` is on the clock.
"""

import math
import subprocess
import sys
import time

UNIT = 1_000_000


class Choice:
    """What the file says."""

    def __init__(self, path):
        self.offers, self.joints, self.fits, self.needs = [], {}, [], []
        self.free, self.counts, self.packages, self.classes, self.cases = set(), {}, {}, {}, {}
        for line in open(path):
            kind, *rest = line.split()
            if kind == "choice":
                self.places, self.required, self.goal, self.most = int(rest[0]), int(rest[1]), rest[2], int(rest[3])
                continue
            n = [int(cell) for cell in rest]
            if kind == "offer":
                self.offers.append(tuple(n[1:]))
            elif kind == "build":
                self.build = tuple(n)
            elif kind == "joint":
                self.joints[n[0]] = n[1]
            elif kind == "fits":
                self.fits.append(tuple(n))
            elif kind == "needs":
                self.needs.append((n[0], n[1:]))
            elif kind == "free":
                self.free.add(n[0])
            elif kind == "seller":
                self.counts[n[0]] = n[1]
            elif kind == "package":
                self.packages.setdefault(n[0], []).append((n[1], n[2], n[3:]))
            elif kind == "class":
                self.classes.setdefault(n[0], []).append(n[1:])
            elif kind == "case":
                self.cases.setdefault(n[0], []).append(n[1:])

    def of(self, seller):
        return [at for at, offer in enumerate(self.offers) if offer[0] == seller]


class Linear:
    """A model of variables that are 0 or 1, with rows between two limits. Both solvers get the same."""

    def __init__(self, choice, all_cases):
        self.cost, self.mass, self.whole, self.rows = [], [], [], []
        self.choice = choice
        self.takes = [[] for _ in choice.offers]                # variables that take an offer
        self.by_cases = {}                                      # the offers' variables of sellers that have cases
        self.where = [[] for _ in range(choice.places)]
        for seller in sorted({offer[0] for offer in choice.offers}):
            if seller in choice.free:
                for at in choice.of(seller):
                    self.take([at], self.var(0, choice.offers[at][2]))
            elif all_cases or choice.counts[seller] < 0:
                self.seller_by_cases(seller)
            else:
                columns = []
                for cost, mass, offers in choice.packages.get(seller, []):
                    columns.append(self.var(cost, mass))
                    self.take(offers, columns[-1])
                self.row(None, 1, [(v, 1) for v in columns])
        for place, taken in enumerate(self.where):
            self.row(1 if choice.required >> place & 1 else None, 1, [(v, 1) for v in taken])
        self.couple()
        minimum, limited = (self.cost, self.mass) if choice.goal == "cheapest" else (self.mass, self.cost)
        if choice.most >= 0:
            self.row(None, choice.most, None)                   # its terms grow with the cuts
        self.minimum, self.limited = minimum, limited

    def var(self, cost=0, mass=0, whole=True):
        """A variable of 0 or 1; one that is so anyhow where the others are need not be whole."""
        self.cost.append(cost), self.mass.append(mass), self.whole.append(whole)
        return len(self.cost) - 1

    def row(self, least, most, terms):
        if terms is None or terms:
            self.rows.append((least, most, terms))

    def take(self, offers, var):
        for at in offers:
            self.takes[at].append(var)
            for place in range(self.choice.places):
                if self.choice.offers[at][1] >> place & 1:
                    self.where[place].append(var)

    def seller_by_cases(self, seller):
        offers, classes, cases = self.choice.of(seller), self.choice.classes[seller], self.choice.cases[seller]
        x = {at: self.var(0, self.choice.offers[at][2]) for at in offers}
        self.by_cases[seller] = x
        used = self.var()
        for at, v in x.items():
            self.take([at], v)
        places = [[v for at, v in x.items() if self.choice.offers[at][1] >> p & 1] for p in range(self.choice.places)]
        for taken in places:
            self.row(None, 0, [(v, 1) for v in taken] + [(used, -1)] if taken else [])
        self.row(0, None, [(v, 1) for v in x.values()] + [(used, -1)])
        all_of = lambda cell: sum(self.choice.offers[at][cell] for at in offers)
        goods, weight = all_of(3), all_of(4)
        z = [(self.var(case[1] // UNIT), case) for case in cases if case[2] <= goods]
        self.row(0, 0, [(v, 1) for v, _ in z] + [(used, -1)])
        sum_of = lambda cell: [(v, self.choice.offers[at][cell]) for at, v in x.items()]
        self.row(0, None, sum_of(3) + [(v, -case[2]) for v, case in z if case[2] > 0])
        self.row(None, 0, sum_of(3) + [(v, -min(case[3], goods)) for v, case in z])
        self.row(None, 0, sum_of(4) + [(v, -min(case[4], weight)) for v, case in z])
        by_class = {}
        for v, case in z:
            by_class.setdefault(case[0], []).append(v)
        shares = {at: [] for at in offers}
        for number, those in by_class.items():
            of_class = {at: self.var(share // UNIT, 0, False) for at, share in zip(offers, classes[number])}
            for at, y in of_class.items():
                shares[at].append(y)
            for taken in places:                                # of a place one offer at most, in one class at most
                ys = [(of_class[at], 1) for at, v in x.items() if v in taken]
                self.row(None, 0, ys + [(v, -1) for v in those] if ys else [])
        for at, ys in shares.items():
            self.row(0, 0, [(y, 1) for y in ys] + [(x[at], -1)])

    def couple(self):
        """Joints agree on one value each, and what an offer needs is taken with it."""
        values = {}
        for key in {key for _, key, _ in self.choice.fits}:
            bits = [bit for bit in range(64) if self.choice.joints[key] >> bit & 1]
            said = 0
            for _, other, mask in self.choice.fits:
                said |= mask if other == key else 0
            values[key] = {bit: self.var() for bit in bits if said >> bit & 1}
            self.row(1, 1, [(v, 1) for v in values[key].values()])
        alike = {}
        for at, key, mask in self.choice.fits:
            alike.setdefault((self.choice.offers[at][1], key, mask), []).append(at)
        for (_, key, mask), ats in alike.items():               # offers of one place exclude each other
            any_of = [(v, -1) for bit, v in values[key].items() if mask >> bit & 1]
            self.row(None, 0, [(v, 1) for at in ats for v in self.takes[at]] + any_of)
        for at, any_of in self.choice.needs:
            both = {v: 1 for v in self.takes[at]}
            for other in any_of:
                for v in self.takes[other]:
                    both[v] = both.get(v, 0) - 1
            self.row(None, 0, [term for term in both.items() if term[1] != 0])

    def terms(self, row):
        least, most, terms = row
        return least, most, [(v, c) for v, c in enumerate(self.limited) if c] if terms is None else terms

    def dearer(self, seller, package, by):
        """A package costs this much more than its bound says; one that cannot be had is shut out."""
        x = self.by_cases[seller]
        more = [] if by is None else [(self.var(by, 0, False), 1)]
        others = [(v, 1) for at, v in x.items() if at not in package]
        self.row(1 - len(package), None, [(x[at], -1) for at in package] + others + more)


def coarse(figures):
    """The figures in the largest unit that all of them are whole in."""
    unit = math.gcd(*figures) or 1
    return unit, [figure // unit for figure in figures]


def highs(model, seconds, known):
    import highspy
    import numpy

    h = highspy.Highs()
    h.silent()
    for name, value in (("threads", 1), ("random_seed", 7), ("time_limit", max(0.01, seconds)), ("mip_rel_gap", 0.0),
                        ("mip_abs_gap", 0.9), ("mip_feasibility_tolerance", 1e-9), ("primal_feasibility_tolerance", 1e-9)):
        assert h.setOptionValue(name, value) == highspy.HighsStatus.kOk, name
    unit, minimum = coarse(model.minimum)
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(model.cost), len(model.rows)
    lp.col_cost_ = numpy.array(minimum, dtype=float)
    lp.col_lower_, lp.col_upper_ = numpy.zeros(lp.num_col_), numpy.ones(lp.num_col_)
    kinds = highspy.HighsVarType
    lp.integrality_ = [kinds.kInteger if whole else kinds.kContinuous for whole in model.whole]
    starts, index, value, low, high = [0], [], [], [], []
    for row in model.rows:
        least, most, terms = model.terms(row)
        if row[2] is None:
            step, figures = coarse([c for _, c in terms])       # a limit's figures in their largest common unit
            most, terms = most // step, list(zip([v for v, _ in terms], figures))
        index += [v for v, _ in terms]
        value += [c for _, c in terms]
        starts.append(len(index))
        low.append(-highspy.kHighsInf if least is None else least)
        high.append(highspy.kHighsInf if most is None else most)
    lp.row_lower_, lp.row_upper_ = numpy.array(low, dtype=float), numpy.array(high, dtype=float)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_, lp.a_matrix_.index_ = numpy.array(starts), numpy.array(index)
    lp.a_matrix_.value_ = numpy.array(value, dtype=float)
    assert h.passModel(lp) == highspy.HighsStatus.kOk
    if known:
        solution = highspy.HighsSolution()
        solution.col_value = [float(v) for v in known]
        h.setSolution(solution)
    begun = time.process_time()
    h.run()
    took = time.process_time() - begun
    status, info = h.getModelStatus(), h.getInfo()
    proven = status == highspy.HighsModelStatus.kOptimal
    if not proven and info.primal_solution_status != 2:
        return took, proven, None, 0
    values = [round(v) for v in h.getSolution().col_value]
    bound = round(info.objective_function_value) if proven else math.ceil(info.mip_dual_bound - 1e-6)
    return took, proven, values, bound * unit


def cpsat(model, seconds, known):
    from ortools.sat.python import cp_model

    m = cp_model.CpModel()
    x = [m.new_bool_var("") for _ in model.cost]
    for row in model.rows:
        least, most, terms = model.terms(row)
        ones = all(c == 1 for _, c in terms)
        if ones and most == 1 and least == 1:
            m.add_exactly_one([x[v] for v, _ in terms])
        elif ones and most == 1 and least is None:
            m.add_at_most_one([x[v] for v, _ in terms])
        else:
            held = cp_model.LinearExpr.weighted_sum([x[v] for v, _ in terms], [c for _, c in terms])
            m.add_linear_constraint(held, -(1 << 55) if least is None else least, 1 << 55 if most is None else most)
    unit, minimum = coarse(model.minimum)
    m.minimize(cp_model.LinearExpr.weighted_sum(x, minimum))
    for v, value in enumerate(known):
        m.add_hint(x[v], value)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 7
    solver.parameters.linearization_level = 2
    solver.parameters.max_time_in_seconds = max(0.01, seconds)
    begun = time.process_time()
    status = solver.solve(m)
    took = time.process_time() - begun
    proven = status == cp_model.OPTIMAL
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return took, proven, None, 0
    return took, proven, [solver.value(v) for v in x], round(solver.best_objective_bound) * unit


def chosen(model, values):
    """The offers that a solution takes."""
    return [at for at, takes in enumerate(model.takes) if any(values[v] for v in takes)]


class Pricer:
    """What packages cost exactly, asked of the program."""

    def __init__(self, command):
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def price(self, seller, package):
        print(seller, *package, file=self.process.stdin, flush=True)
        return int(self.process.stdout.readline())


def price(choice, pricer, offers):
    """Packages of a choice with their exact costs, free ones aside."""
    packages = {}
    for at in offers:
        if choice.offers[at][0] not in choice.free:
            packages.setdefault(choice.offers[at][0], []).append(at)
    return {seller: (package, pricer.price(seller, package)) for seller, package in packages.items()}


def bound_of(choice, seller, package):
    """What the least of its cases says of a package, as the model counts it."""
    offers, classes = choice.of(seller), choice.classes[seller]
    goods, weight = (sum(choice.offers[at][cell] for at in package) for cell in (3, 4))
    own = lambda c: sum(classes[c[0]][offers.index(at)] // UNIT for at in package)
    return min(c[1] // UNIT + own(c) for c in choice.cases[seller] if c[2] <= goods <= c[3] and weight <= c[4])


def main():
    path, solver, form, seconds, command = sys.argv[1], sys.argv[2], sys.argv[3], float(sys.argv[4]), sys.argv[5:]
    choice = Choice(path)
    model = Linear(choice, form == "cases")
    pricer = Pricer(command)
    solve = {"cpsat": cpsat, "highs": highs}[solver]
    took, rounds, best, proven, told, known = 0.0, 0, None, False, set(), []
    while took < seconds:
        own, ended, values, bound = solve(model, seconds - took, known)
        took, rounds = took + own, rounds + 1
        if values is None:
            break
        offers = chosen(model, values)
        priced = price(choice, pricer, offers)
        had = all(cost >= 0 for _, cost in priced.values())
        cost, mass = sum(cost for _, cost in priced.values()), sum(choice.offers[at][2] for at in offers)
        aims, limited = (cost, mass) if choice.goal == "cheapest" else (mass, cost)
        if had and (choice.most < 0 or limited <= choice.most) and (best is None or aims < best[0]):
            best = (aims, cost, mass)
        if not ended:
            break
        if best and bound >= best[0]:
            proven = True
            break
        new = False
        for seller, (package, cost) in priced.items():
            if seller in model.by_cases and (seller, tuple(package)) not in told:
                told.add((seller, tuple(package)))
                model.dearer(seller, package, None if cost < 0 else max(0, cost - bound_of(choice, seller, package)))
                new = True
        # what was found is known in the next round, with what it costs more
        known = values + [1] * (len(model.cost) - len(values))
        assert new, (path, solver, bound, best, "the bound does not move")
    least, cost, mass = best or (-1, -1, -1)
    size = f"columns {len(model.cost)} rows {len(model.rows)} rounds {rounds}"
    print(f"{form} {cost} {mass} status {'proven' if proven else 'cut'} {size} time {took:.4f}")


if __name__ == "__main__":
    main()
