#!/usr/bin/env python3
# Own work of the project, under the project's licence; invented data only.
"""Price a long list of offers: DuckDB SQL.   usage: peer_duckdb.py [--duty distinct|wide|tenjoin] [--order sort|plan|none] [--threads 2] [--emit FILE.sql] DATADIR OFFERS.csv OUT.csv

Source: the project's own peer for bulk pricing, brought to the order of the calculation that peer_decimal.py writes out, with which it
agrees byte by byte. BIGINT minor units, integer division for the half-up rounding (exact), DECIMAL(18,2) on the way out.
--duty distinct : load the lines into a table, resolve each distinct (commodity, origin) once into disjoint date intervals, join once
--duty wide     : the same, but the intervals (and the freight bands) side by side in one row per key, chosen by CASE
--duty tenjoin  : stream the lines; left join per prefix length and per (own origin | every origin)
--order sort  : ORDER BY line_id (the lines are numbered in file order)
--order plan  : no sort; the optimiser may not swap the sides of the joins, so the lines stream through in file order (checked by comparing bytes)
--order none  : any order (not the job asked for; shown for information)
--emit FILE   : write the statements for the command-line shell instead of running the last one"""
import argparse, sys, time
t_start = time.perf_counter()
import duckdb

ap = argparse.ArgumentParser()
ap.add_argument("--duty", default="distinct", choices=["distinct", "tenjoin", "wide"])
ap.add_argument("--threads", type=int, default=2)
ap.add_argument("--order", default="sort", choices=["sort", "plan", "none"])
ap.add_argument("--emit")
ap.add_argument("--explain", action="store_true")
ap.add_argument("data"), ap.add_argument("src"), ap.add_argument("dst")
a = ap.parse_args()
t_import = time.perf_counter()
con = duckdb.connect(config={"threads": a.threads})
if a.emit:  # write the statements for the command-line shell; those before the last are run here too, for the counts that --duty wide asks for
    class Emit:
        def __init__(self, inner):
            self.f, self.inner = open(a.emit, "w"), inner
            self.f.write(f"SET threads={a.threads};\n")
        def execute(self, sql):
            if not sql.startswith("SELECT"):
                self.f.write(sql.strip() + ";\n")
            return None if sql.startswith("COPY") else self.inner.execute(sql)
    con = Emit(con)
con.execute("SET preserve_insertion_order=true")
if a.order == "plan":
    con.execute("SET disabled_optimizers='join_order,build_side_probe_side'")


def csv(name, cols, path=None):
    spec = "{" + ",".join(f"'{c}':'{t}'" for c, t in cols) + "}"
    return f"read_csv('{path or a.data + '/' + name}', header=true, auto_detect=false, delim=',', quote='\"', escape='\"', dateformat='%Y-%m-%d', columns={spec})"


con.execute(f"CREATE TEMP TABLE cur AS SELECT * FROM {csv('currencies.csv', [('currency','VARCHAR'),('minor_digits','INTEGER')])}")
con.execute(f"CREATE TEMP TABLE rates AS SELECT * FROM {csv('rates.csv', [('date','DATE'),('currency','VARCHAR'),('units_per_gbp','VARCHAR')])}")
con.execute(f"CREATE TEMP TABLE bands AS SELECT * FROM {csv('bands.csv', [('seller','VARCHAR'),('upper_g','BIGINT'),('price','DECIMAL(18,2)')])}")
con.execute(f"CREATE TEMP TABLE duty AS SELECT prefix, origin, valid_from, coalesce(valid_to, DATE '9999-12-31') AS valid_to, rate_pct FROM "
            f"{csv('duty.csv', [('prefix','VARCHAR'),('origin','VARCHAR'),('valid_from','DATE'),('valid_to','DATE'),('rate_pct','DECIMAL(5,2)')])}")
# the rate in force on every day of the span (the latest working day on or before it), as an integer of millionths
con.execute("""
CREATE TEMP TABLE day_rate AS
SELECT d.day, r.currency, (r.units_per_gbp::DECIMAL(18,6) * 1000000)::BIGINT AS rate_i, c.minor_digits
FROM (SELECT unnest(generate_series((SELECT min(date) FROM rates), (SELECT max(date) FROM rates), INTERVAL 1 DAY))::DATE AS day) d
JOIN (SELECT *, lead(date, 1, DATE '9999-12-31') OVER (PARTITION BY currency ORDER BY date) AS next FROM rates) r
  ON d.day >= r.date AND d.day < r.next JOIN cur c USING (currency)""")
con.execute("""
CREATE TEMP TABLE band AS
SELECT seller, upper_g, price, (price*100)::BIGINT AS price_i, lag(upper_g, 1, 0) OVER w AS lo,
       CASE WHEN lead(upper_g) OVER w IS NULL THEN 9223372036854775807 ELSE upper_g END AS hi
FROM bands WINDOW w AS (PARTITION BY seller ORDER BY upper_g)""")

price_t = "DECIMAL(18,2)"
cols = [('line_id','BIGINT'),('date','DATE'),('seller','VARCHAR'),('dispatch','VARCHAR'),('currency','VARCHAR'),('price',price_t),
        ('quantity','BIGINT'),('mass_g','BIGINT'),('commodity','VARCHAR'),('origin','VARCHAR'),('discount_percent','DECIMAL(5,1)')]
scan = csv(None, cols, a.src)
if a.duty in ("distinct", "wide"):
    con.execute(f"CREATE TEMP TABLE offers AS SELECT * EXCLUDE (dispatch) FROM {scan}")
    con.execute("""
    CREATE TEMP TABLE best AS
    WITH k AS (SELECT DISTINCT commodity, origin FROM offers),
    c AS (SELECT k.commodity, k.origin, d.valid_from, d.valid_to, d.rate_pct, length(d.prefix)*2 + (d.origin <> '*')::INT AS pri
          FROM k JOIN duty d ON d.prefix = left(k.commodity, 2) AND d.origin IN ('*', k.origin)
          UNION ALL SELECT k.commodity, k.origin, d.valid_from, d.valid_to, d.rate_pct, 8 + (d.origin <> '*')::INT FROM k JOIN duty d ON d.prefix = left(k.commodity, 4) AND d.origin IN ('*', k.origin)
          UNION ALL SELECT k.commodity, k.origin, d.valid_from, d.valid_to, d.rate_pct, 12 + (d.origin <> '*')::INT FROM k JOIN duty d ON d.prefix = left(k.commodity, 6) AND d.origin IN ('*', k.origin)
          UNION ALL SELECT k.commodity, k.origin, d.valid_from, d.valid_to, d.rate_pct, 16 + (d.origin <> '*')::INT FROM k JOIN duty d ON length(k.commodity) >= 8 AND d.prefix = left(k.commodity, 8) AND d.origin IN ('*', k.origin)
          UNION ALL SELECT k.commodity, k.origin, d.valid_from, d.valid_to, d.rate_pct, 20 + (d.origin <> '*')::INT FROM k JOIN duty d ON length(k.commodity) >= 10 AND d.prefix = left(k.commodity, 10) AND d.origin IN ('*', k.origin)),
    cuts AS (SELECT DISTINCT commodity, origin, day FROM (SELECT commodity, origin, valid_from AS day FROM c
             UNION ALL SELECT commodity, origin, valid_to + 1 AS day FROM c WHERE valid_to < DATE '9999-12-31')),
    iv AS (SELECT commodity, origin, day AS a, lead(day, 1, DATE '9999-12-31') OVER (PARTITION BY commodity, origin ORDER BY day) - 1 AS z FROM cuts)
    SELECT iv.commodity, iv.origin, iv.a, iv.z, arg_max(c.rate_pct, c.pri) AS duty_pct
    FROM iv JOIN c ON c.commodity = iv.commodity AND c.origin = iv.origin AND c.valid_from <= iv.a AND iv.a <= c.valid_to
    GROUP BY ALL""")
    src = "offers o"
    duty_join = "JOIN best du ON du.commodity = o.commodity AND du.origin = o.origin AND o.date BETWEEN du.a AND du.z"
    duty_pct = "du.duty_pct"
else:
    src = f"{scan} o"
    js, cs = [], []
    for n in (10, 8, 6, 4, 2):
        for tag, org in (("o", "o.origin"), ("s", None)):
            al = f"d{n}{tag}"
            con.execute(f"CREATE TEMP TABLE {al} AS SELECT * FROM duty WHERE length(prefix) = {n} AND origin {'=' if org is None else '<>'} '*'")
            js.append(f"LEFT JOIN {al} ON {al}.prefix = left(o.commodity, {n})" + (f" AND {al}.origin = {org}" if org else "") +
                      f" AND o.date BETWEEN {al}.valid_from AND {al}.valid_to")
            cs.append(f"{al}.rate_pct")
    duty_join, duty_pct = "\n".join(js), f"coalesce({', '.join(cs)})"

band_join = "JOIN band b ON b.seller = o.seller AND o.mass_g * o.quantity > b.lo AND o.mass_g * o.quantity <= b.hi"
bcol = {"price": "b.price", "price_i": "b.price_i", "upper_g": "b.upper_g"}
if a.duty == "wide":  # one row per key, its bounds side by side: every join is on equality alone
    nb = con.execute("SELECT max(n) FROM (SELECT count(*) n FROM band GROUP BY seller)").fetchone()[0]
    nd = con.execute("SELECT max(n) FROM (SELECT count(*) n FROM best GROUP BY commodity, origin)").fetchone()[0]
    def pivot(src, keys, order, vals, n):
        return (f"SELECT {keys}, " + ", ".join(f"max(CASE WHEN k = {i + 1} THEN {v} END) AS {v}_{i}" for i in range(n) for v in vals) +
                f" FROM (SELECT *, row_number() OVER (PARTITION BY {keys} ORDER BY {order}) AS k FROM {src}) GROUP BY {keys}")
    con.execute("CREATE TEMP TABLE band_w AS " + pivot("band", "seller", "hi", ["hi", "upper_g", "price", "price_i"], nb))
    con.execute("CREATE TEMP TABLE best_w AS " + pivot("best", "commodity, origin", "a", ["a", "duty_pct"], nd))
    def first(v):
        return "CASE " + " ".join(f"WHEN o.mass_g * o.quantity <= b.hi_{i} THEN b.{v}_{i}" for i in range(nb)) + " END"
    bcol = {v: first(v) for v in bcol}
    band_join = "JOIN band_w b ON b.seller = o.seller"
    duty_join = "JOIN best_w du ON du.commodity = o.commodity AND du.origin = o.origin"
    duty_pct = "CASE " + " ".join(f"WHEN o.date >= du.a_{i} THEN du.duty_pct_{i}" for i in reversed(range(nd))) + " END"

joined = f"""
SELECT o.*, r.rate_i, r.minor_digits, {bcol['price']} AS b_price, {bcol['price_i']} AS b_price_i, {bcol['upper_g']} AS upper_g, o.mass_g * o.quantity AS w, {duty_pct} AS duty_pct
FROM {src}
JOIN day_rate r ON r.currency = o.currency AND r.day = o.date
{band_join}
{duty_join}"""
def money(x):  # pence -> DECIMAL(18,2)
    return f"(({x})::DECIMAL(16,0) * 0.01::DECIMAL(2,2))"


sql = f"""
WITH j AS ({joined}),
s0 AS (SELECT *, CASE minor_digits WHEN 2 THEN 1 ELSE 100 END AS q, (price * 100)::BIGINT * quantity AS lst, (discount_percent * 10)::BIGINT AS d10 FROM j),
s1 AS (SELECT *, (lst * d10 + 500 * q) // (1000 * q) * q AS disc, (b_price_i * w * 2 + upper_g * q) // (2 * upper_g * q) * q AS fr FROM s0),
s2 AS (SELECT *, lst - disc AS net, (lst - disc + fr + 50 * q) // (100 * q) * q AS ins FROM s1),
s3 AS (SELECT *, net + fr + ins AS val, lst * 1000000 // rate_i AS f0, -((disc * 1000000 + rate_i - 1) // rate_i) AS f1,
              fr * 1000000 // rate_i AS f2, ins * 1000000 // rate_i AS f3 FROM s2),
s4 AS (SELECT *, (val * 2000000 + rate_i) // (2 * rate_i) AS paid, lst * 1000000 - f0 * rate_i AS r0, -disc * 1000000 - f1 * rate_i AS r1,
              fr * 1000000 - f2 * rate_i AS r2, ins * 1000000 - f3 * rate_i AS r3,
              CASE WHEN net * 1000000 <= 13500 * rate_i THEN 0 ELSE 1200 END AS fee FROM s3),
s5 AS (SELECT *, paid - f0 - f1 - f2 - f3 AS left_over, CASE WHEN currency = 'GBP' THEN 0 ELSE (paid * 299 + 5000) // 10000 END AS card,
              CASE WHEN fee = 0 THEN 0 ELSE (val * 200 * (duty_pct * 100)::BIGINT + rate_i) // (2 * rate_i) END AS duty FROM s4),
s6 AS (SELECT *, f0 + ((r1 > r0)::INT + (r2 > r0)::INT + (r3 > r0)::INT < left_over)::INT AS goods,
              -f1 - ((r0 >= r1)::INT + (r2 > r1)::INT + (r3 > r1)::INT < left_over)::INT AS off,
              f2 + ((r0 >= r2)::INT + (r1 >= r2)::INT + (r3 > r2)::INT < left_over)::INT AS freight,
              f3 + ((r0 >= r3)::INT + (r1 >= r3)::INT + (r2 >= r3)::INT < left_over)::INT AS insurance,
              (val * 2000000 + (duty + fee) * rate_i * 2 + 5 * rate_i) // (10 * rate_i) AS tax FROM s5)
SELECT line_id, currency, {money('goods')} AS goods, {money('off')} AS discount, {money('freight')} AS freight, {money('insurance')} AS insurance,
       {money('(net * 2000000 + rate_i) // (2 * rate_i)')} AS intrinsic_value, {money('paid')} AS customs_value, {money('duty')} AS duty,
       {money('fee')} AS handling, {money('tax')} AS tax, {money('card')} AS card_fee, {money('paid + duty + fee + tax + card')} AS landed
FROM s6"""
if a.explain:
    print(con.execute("EXPLAIN ANALYZE " + sql).fetchall()[0][1])
if a.order == "sort":
    sql += " ORDER BY line_id"
con.execute(f"COPY ({sql}) TO '{a.dst}' (FORMAT csv, HEADER, DELIMITER ',')")
print(f"import {t_import - t_start:.3f} s, work {time.perf_counter() - t_import:.3f} s", file=sys.stderr)
