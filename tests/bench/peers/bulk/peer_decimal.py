#!/usr/bin/env python3
# Own work of the project, under the project's licence; invented data only.
"""Price a long list of offers: plain Python, csv + decimal.   usage: peer_decimal.py DATADIR OFFERS.csv OUT.csv

Source: the project's own peer for bulk pricing, brought to the order of the calculation that the program keeps: insurance in the
seller's money, one conversion of all that the seller is paid, its cents shared back by largest remainder, the card's fee on the
whole; customs by exact amounts, rounded only where a charge is.  This is the reference for the semantics: every rounding is
ROUND_HALF_UP, and is written out below."""
import csv, sys
from bisect import bisect_left, bisect_right
from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal as D, getcontext

data, src, dst = sys.argv[1:4]
CENT, UNIT, HUNDRED = D("0.01"), D("1"), D("100")
COLUMNS = "line_id,currency,goods,discount,freight,insurance,intrinsic_value,customs_value,duty,handling,tax,card_fee,landed"
getcontext().prec = 50


def rows(name):
    with open(f"{data}/{name}", newline="") as f:
        return list(csv.DictReader(f))


quantum = {r["currency"]: (CENT if r["minor_digits"] == "2" else UNIT) for r in rows("currencies.csv")}
rate_days, rate_vals = {}, {}
for r in sorted(rows("rates.csv"), key=lambda r: r["date"]):
    rate_days.setdefault(r["currency"], []).append(r["date"])
    rate_vals.setdefault(r["currency"], []).append(D(r["units_per_gbp"]))
uppers, prices = {}, {}
for r in rows("bands.csv"):
    uppers.setdefault(r["seller"], []).append(int(r["upper_g"]))
    prices.setdefault(r["seller"], []).append(D(r["price"]))
table = {}
for r in rows("duty.csv"):
    table.setdefault((r["prefix"], r["origin"]), []).append((r["valid_from"], r["valid_to"] or "9999-12-31", D(r["rate_pct"])))
chains = {}


def chain(commodity, origin):
    """Every row that can apply to the commodity and origin, the best first: the longest prefix, then the
    row of that origin before the row of every origin."""
    key = (commodity, origin)
    got = chains.get(key)
    if got is None:
        got = chains[key] = [row for n in (10, 8, 6, 4, 2) if n <= len(commodity)
                             for o in (origin, "*") for row in table.get((commodity[:n], o), ())]
    return got


def half_up(over, under, step=CENT):
    """The quotient rounded half up to whole steps, from exact whole numbers: no digit of the quotient is lost on the way."""
    over, under = over / step, under
    whole = (over / under).to_integral_value(ROUND_FLOOR)
    while whole * under > over:
        whole -= 1
    while (whole + 1) * under <= over:
        whole += 1
    return (whole + (1 if 2 * (over - whole * under) >= under else 0)) * step


def share(paid, cells, rate):
    """The pence paid, shared to what they were paid for: each its whole pence, the rest by largest remainder, ties in order."""
    whole, rest = [], []
    for cell in cells:
        pence = (cell * HUNDRED / rate).to_integral_value(ROUND_FLOOR)
        left = cell * HUNDRED - pence * rate
        if left < 0:
            pence, left = pence - 1, left + rate
        elif left >= rate:
            pence, left = pence + 1, left - rate
        whole.append(pence)
        rest.append(left)
    over = int(paid * HUNDRED - sum(whole))
    for at in sorted(range(len(cells)), key=lambda at: (-rest[at], at))[:over]:
        whole[at] += 1
    return [pence * CENT for pence in whole]


def main():
    q = D.quantize
    up = ROUND_HALF_UP
    zero = D("0.00")
    with open(src, newline="") as fi, open(dst, "w", newline="") as fo:
        rd = csv.reader(fi)
        next(rd)
        out = csv.writer(fo, lineterminator="\n")
        out.writerow(COLUMNS.split(","))
        for line_id, day, seller, _ship, cur, price, qty, weight, commodity, origin, pct in rd:
            quant = quantum[cur]
            qty = int(qty)
            # what the seller asks, in the seller's money
            lst = D(price) * qty
            disc = q(lst * D(pct) / HUNDRED, quant, up)
            net = lst - disc
            w = int(weight) * qty
            ups = uppers[seller]
            b = min(bisect_left(ups, w), len(ups) - 1)
            freight_cur = half_up(prices[seller][b] * w, ups[b], quant)
            ins_cur = q((net + freight_cur) * CENT, quant, up)
            # what is paid: converted once, the card's fee on the whole, both shared back
            rate = rate_vals[cur][bisect_right(rate_days[cur], day) - 1]
            paid = half_up(net + freight_cur + ins_cur, rate)
            card = q(paid * D("0.0299"), CENT, up) if cur != "GBP" else zero
            goods, off, freight, ins = share(paid, [lst, -disc, freight_cur, ins_cur], rate)
            # customs: exact, over the rate, until a charge is rounded
            value = net + freight_cur + ins_cur
            duty = fee = zero
            if net > 135 * rate:
                duty_pct = next(pct for a, z, pct in chain(commodity, origin) if a <= day <= z)
                duty = half_up(value * duty_pct, HUNDRED * rate)
                fee = D("12.00")
            tax = half_up((value + (duty + fee) * rate) * D("0.2"), rate)
            landed = paid + card + duty + fee + tax
            out.writerow((line_id, cur, q(goods, CENT), q(-off, CENT), q(freight, CENT), q(ins, CENT), half_up(net, rate), half_up(value, rate),
                          q(duty, CENT), fee, tax, card, landed))


main()
