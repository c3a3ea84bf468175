#!/usr/bin/env python3
# Own work of the project, under the project's licence; invented data only.
"""Price a long list of offers: Polars.   usage: peer_polars.py [--engine streaming|in-memory] [--join wide|asof] DATADIR OFFERS.csv OUT.csv

Source: the project's own peer for bulk pricing, brought to the order of the calculation that peer_decimal.py writes out, with which it
agrees byte by byte. Int64 minor units, floor division for the half-up rounding: exact; money written as Decimal(scale 2)."""
import argparse, os, sys, time
t_start = time.perf_counter()
os.environ.setdefault("POLARS_MAX_THREADS", "2")
import polars as pl
from polars import col as c

ap = argparse.ArgumentParser()
ap.add_argument("--engine", default="streaming", choices=["streaming", "in-memory"])
ap.add_argument("--join", default="wide", choices=["wide", "asof"])
ap.add_argument("data"), ap.add_argument("src"), ap.add_argument("dst")
a = ap.parse_args()
t_import = time.perf_counter()
I = pl.Int64


def cents(name):  # "12.34" -> 1234
    return c(name).str.replace(".", "", literal=True).cast(I)


def half_up(num, den):
    return (num * 2 + den) // (den * 2)


cur = pl.read_csv(f"{a.data}/currencies.csv")
rates = pl.read_csv(f"{a.data}/rates.csv", schema_overrides={"units_per_gbp": pl.String}, try_parse_dates=True).join(cur, on="currency")
days = pl.DataFrame({"date": pl.date_range(rates["date"].min(), rates["date"].max(), "1d", eager=True)})
rates = (days.join(cur.select("currency"), how="cross").sort("date")
         .join_asof(rates.sort("date"), on="date", by="currency", strategy="backward", check_sortedness=False)
         .with_columns(rate_i=(c("units_per_gbp").cast(pl.Decimal(18, 6)) * 1_000_000).cast(I),
                       q=pl.when(c("minor_digits") == 2).then(1).otherwise(100).cast(I))
         )
bands = pl.read_csv(f"{a.data}/bands.csv", schema_overrides={"price": pl.String}).with_columns(price_i=cents("price"), upper_g=c("upper_g").cast(I)).drop("price").sort("seller", "upper_g")
# the last band also takes all that is heavier: a row with an endless bound, its own upper_g kept for the share
last = bands.group_by("seller", maintain_order=True).last().with_columns(hi=pl.lit(1 << 60, I))
bands = pl.concat([bands.with_columns(hi=c("upper_g")), last.select("seller", "upper_g", "price_i", "hi")]).rename({"price_i": "b_price"}).sort("hi")
duty = pl.read_csv(f"{a.data}/duty.csv", schema_overrides={"prefix": pl.String, "rate_pct": pl.String, "valid_from": pl.Date, "valid_to": pl.Date}).with_columns(
    c("valid_to").fill_null(pl.date(9999, 12, 31)), n=c("prefix").str.len_chars())

schema = {"line_id": pl.Int64, "date": pl.Date, "seller": pl.String, "dispatch": pl.String, "currency": pl.String, "price": pl.String, "quantity": I,
          "mass_g": I, "commodity": pl.String, "origin": pl.String, "discount_percent": pl.String}
off = pl.scan_csv(a.src, schema=schema).drop("dispatch")
if a.engine == "in-memory":
    off = off.collect().lazy()
keys = off.select("commodity", "origin").unique().collect(engine=a.engine)
# each distinct (commodity, origin): its candidate rows, then disjoint date intervals each with the best row
cand = pl.concat([
    keys.filter(c("commodity").str.len_chars() >= n).with_columns(prefix=c("commodity").str.slice(0, n))
        .join(duty.filter((c("n") == n) & ((c("origin") == "*") == star)).select("prefix", "valid_from", "valid_to", "rate_pct", *([] if star else ["origin"])),
              on=["prefix"] if star else ["prefix", "origin"])
        .select("commodity", "origin", "valid_from", "valid_to", "rate_pct", pri=pl.lit(2 * n + (0 if star else 1)))
    for n in (2, 4, 6, 8, 10) for star in (True, False)])
cuts = pl.concat([cand.select("commodity", "origin", a="valid_from"),
                  cand.filter(c("valid_to") < pl.date(9999, 12, 31)).select("commodity", "origin", a=c("valid_to") + pl.duration(days=1))]).unique()
best = (cuts.join(cand, on=["commodity", "origin"]).filter((c("valid_from") <= c("a")) & (c("a") <= c("valid_to")))
        .sort("pri", descending=True).group_by("commodity", "origin", "a").first()
        .select("commodity", "origin", "a", duty_pct="rate_pct").sort("a"))

o = off.with_columns(w=c("mass_g") * c("quantity"))
o = o.join(rates.lazy().select("currency", "date", "rate_i", "q"), on=["currency", "date"], how="left", maintain_order="left")
if a.join == "asof":
    o = o.sort("w").join_asof(bands.lazy(), left_on="w", right_on="hi", by="seller", strategy="forward", check_sortedness=False)
    o = o.sort("date").join_asof(best.lazy(), left_on="date", right_on="a", by=["commodity", "origin"], strategy="backward", check_sortedness=False)
else:
    # one row per key with its bounds side by side, so that every join is on equality and keeps the order of the lines
    def wide(df, by, order, vals):
        df = df.sort(*by, order).with_columns(k=pl.int_range(pl.len()).over(by))
        n = df["k"].max() + 1
        return n, df.group_by(by).agg(*[pl.col(v).filter(pl.col("k") == i).first().alias(f"{v}_{i}") for i in range(n) for v in vals])
    nb, bw = wide(bands.rename({"upper_g": "ug"}), ["seller"], "hi", ["hi", "ug", "b_price"])
    nd, dw = wide(best, ["commodity", "origin"], "a", ["a", "duty_pct"])
    o = o.join(bw.lazy(), on="seller", how="left", maintain_order="left").join(dw.lazy(), on=["commodity", "origin"], how="left", maintain_order="left")
    def first_band(v):
        e = c(f"{v}_{nb - 1}")
        for i in reversed(range(nb - 1)):
            e = pl.when(c("w") <= c(f"hi_{i}")).then(c(f"{v}_{i}")).otherwise(e)
        return e
    e = c("duty_pct_0")
    for i in range(1, nd):
        e = pl.when(c("date") >= c(f"a_{i}")).then(c(f"duty_pct_{i}")).otherwise(e)
    o = o.with_columns(upper_g=first_band("ug"), b_price=first_band("b_price"), duty_pct=e)
M = 1_000_000
r, q = c("rate_i"), c("q")
o = o.with_columns(lst=cents("price") * c("quantity"), d10=cents("discount_percent"), duty_bp=cents("duty_pct"))
o = o.with_columns(disc=half_up(c("lst") * c("d10"), 1000 * q) * q, fr=half_up(c("b_price") * c("w"), c("upper_g") * q) * q)
o = o.with_columns(net=c("lst") - c("disc"))
o = o.with_columns(ins=(c("net") + c("fr") + 50 * q) // (100 * q) * q)
o = o.with_columns(val=c("net") + c("fr") + c("ins"), f0=c("lst") * M // r, f1=-((c("disc") * M + r - 1) // r), f2=c("fr") * M // r, f3=c("ins") * M // r)
o = o.with_columns(paid=half_up(c("val") * M, r), r0=c("lst") * M - c("f0") * r, r1=-c("disc") * M - c("f1") * r, r2=c("fr") * M - c("f2") * r,
                   r3=c("ins") * M - c("f3") * r, fee=pl.when(c("net") * M <= 13500 * r).then(0).otherwise(1200).cast(I))
o = o.with_columns(left_over=c("paid") - c("f0") - c("f1") - c("f2") - c("f3"),
                   card=pl.when(c("currency") == "GBP").then(0).otherwise((c("paid") * 299 + 5000) // 10000).cast(I),
                   duty=pl.when(c("fee") == 0).then(0).otherwise(half_up(c("val") * 100 * c("duty_bp"), r)).cast(I))


def extra(at):  # 1 where this cell is among the largest remainders that the left-over pence go to; ties in order
    before = [(c(f"r{o_}") >= c(f"r{at}")) if o_ < at else (c(f"r{o_}") > c(f"r{at}")) for o_ in range(4) if o_ != at]
    return (sum(b.cast(I) for b in before) < c("left_over")).cast(I)


o = o.with_columns(goods=c("f0") + extra(0), off=-c("f1") - extra(1), freight=c("f2") + extra(2), insurance=c("f3") + extra(3),
                   tax=(c("val") * 2 * M + (c("duty") + c("fee")) * r * 2 + 5 * r) // (10 * r))


def money(e):
    return (e.cast(pl.Decimal(18, 2)) * pl.lit("0.01").cast(pl.Decimal(18, 2))).cast(pl.Decimal(18, 2))


if a.join == "asof":
    o = o.sort("line_id")
o = o.select(
    "line_id", "currency", goods=money(c("goods")), discount=money(c("off")), freight=money(c("freight")), insurance=money(c("insurance")),
    intrinsic_value=money(half_up(c("net") * M, r)), customs_value=money(c("paid")), duty=money(c("duty")), handling=money(c("fee")), tax=money(c("tax")),
    card_fee=money(c("card")), landed=money(c("paid") + c("duty") + c("fee") + c("tax") + c("card")))
if a.engine == "streaming":
    o.sink_csv(a.dst, engine="streaming")
else:
    o.collect(engine="in-memory").write_csv(a.dst)
print(f"import {t_import - t_start:.3f} s, work {time.perf_counter() - t_import:.3f} s", file=sys.stderr)
