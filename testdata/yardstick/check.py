#!/usr/bin/python3
"""Checks the yardstick against figures that do not come from it. Exit code 1 where one fails.

    check.py [SUMS.json]

1. One seen mark: moments and quantiles of spend + rate * hours in closed form. Both read one score, so
   quantiles add; moments of Tukey's g: Hoaglin (1985), Exploring Data Tables, Trends, and Shapes, ch. 11.
2. Resale of a lot without damage; days; outlay by hand in exact fractions.
3. Fees at a band's edge and one penny either side.
4. The highest bid against judging every step by itself, in shops registered and not.
5. VAT of a registered shop: rules of gov.uk's second-hand vehicle guidance and HMRC VATMARG02300, worked by hand.
6. Every world of 200 generated lots by itself, mark by mark and rule by rule in plain loops over the same scores.
7. Sums of correlated lognormals with hidden items: SUMS.json, where one is named."""

import csv
import json
import math
import pathlib
import subprocess
import sys
import tempfile
from fractions import Fraction

import numpy as np
from scipy.special import ndtr, ndtri

from amount import Z90, amount, tukey_s
from shop import STARTER, Shop
from summary import margin, summarise
from worlds import UNKNOWN, Pool, Worlds
from yardstick import Lot

failed = 0


def near(what, got, want, within):
    global failed
    ok = abs(got - want) <= within
    failed += not ok
    print(f"{'ok  ' if ok else 'FAIL'} {what}: {got:.6g}, want {want:.6g} within {within:.2g}")


def figures(row, shop, n, seed=7):
    lot = Lot(row, shop)
    pool = Pool(shop, n, seed)
    return lot, Worlds(lot, shop, pool), pool


def row(**cells):
    return {"lot": "1", "category": "N", "value": "10000", "damage": "none", **cells}


def one_mark():
    shop, n = Shop(), 1_000_000
    lot, w, pool = figures(row(damage="nose s1 e1- m1-", segment="executive", keys="yes", starts="yes"), shop, n)
    out = summarise(w, shop, lot)
    spend, hours, lead, _ = shop.row("nose", "s", 1)
    by_spend, by_hours, _ = shop.segments["executive"]
    parts = [(by_spend, spend), (by_hours * shop.labour_rate, hours)]
    mean = var = 0
    terms = []
    for scale, (low, mid, high) in parts:
        s = tukey_s(low, mid, high)
        k = scale * (mid - low) / -math.expm1(-s * Z90)  # scale * (mid + k (exp(s z) - 1))
        mean += scale * mid + k * math.expm1(s * s / 2)
        terms.append((s, k))
    for s1, k1 in terms:
        for s2, k2 in terms:
            var += k1 * k2 * math.exp((s1 * s1 + s2 * s2) / 2) * math.expm1(s1 * s2)
    sd = math.sqrt(var)
    near("one mark, mean", out["repair"]["mean"], mean, 4 * sd / math.sqrt(n))
    near("one mark, sd", out["repair"]["sd"], sd, .01 * sd)
    for p, z in ((.1, -Z90), (.5, 0), (.8, .8416212335729143), (.9, Z90), (.95, 1.6448536269514722)):
        want = sum(scale * float(amount(t, np.array([z]))[0]) for scale, t in parts)
        near(f"one mark, share at or under P{p * 100:g}", float((w.repair <= want).mean()), p, 4 * math.sqrt(p * (1 - p) / n))
    near("P10 is the rows' low", sum(scale * t[0] for scale, t in parts),
         sum(scale * float(amount(t, np.array([-Z90]))[0]) for scale, t in parts), 1e-9)
    # margin: everything but the outlay by its mean
    t_mean = float(np.mean(pool.lead_factor()))
    near("days", out["days"]["mean"], 3 + float(np.maximum(lead * pool.lead_factor(), 3).mean())
         + out["hours"]["mean"] / 10 + 4 + float(pool.selling_days().mean()), 1e-6)
    low, mid, high = .8, 1, 2.5
    s = math.log(1.5 / .2) / Z90
    near("lead factor, mean", t_mean, 1 + .2 * math.expm1(s * s / 2) / -math.expm1(-s * Z90), .02)


def undamaged():
    shop, n = Shop(), 1_000_000
    lot, w, _ = figures(row(guide="3000", site="Tolloway", distance="40", value="12000"), shop, n)
    out = summarise(w, shop, lot)
    s = tukey_s(.16, .23, .32)
    d = .23 + .07 * math.expm1(s * s / 2) / -math.expm1(-s * Z90)
    near("resale, mean", out["resale"]["mean"], 12000 * (1 - d), 4 * 1200 / math.sqrt(n))
    # premium 90 + 8.5 % of 3000 without VAT; with it handling 30, bid fee 18, one day of storage 15, loading 60, 40 miles
    # at 1.2
    near("outlay", out["outlay"], float(3000 + 90 + 255 + Fraction(6, 5) * (30 + 18 + 15 + 60 + 48)), 0)
    lot, w, _ = figures(row(guide="3000", site="Tolloway", distance="40", value="12000", vat="plus"), shop, n)
    near("outlay, plus", summarise(w, shop, lot)["outlay"], float(3000 + 600 + 345 + Fraction(6, 5) * 171), 0)
    # Marrow Fen: 150 under 1,000, from there 90 + 8 %; bid fee 10, then 25; handling 45, loading 60; no storage within
    # three days
    for pence, hammer, fees in ((99999, 999.99, 150 + 10 + 45 + 60), (100000, 1000, 170 + 25 + 45 + 60),
                                (100001, 1000.01, 170 + 25 + 45 + 60)):
        want = hammer + 1.2 * fees
        lot, _, _ = figures(row(site="Marrow Fen"), shop, 10)
        near(f"outlay at {pence} pence", shop.fees.at(lot, pence)[0], round(want * 100), 0)


def bids():
    global failed
    with tempfile.TemporaryDirectory() as d:
        text = (STARTER / "shop.toml").read_text(encoding="utf-8")
        registered = text.replace("vat_registered = false", "vat_registered = true").replace("# cash = 12000 ", "cash = 6500 ")
        (pathlib.Path(d) / "shop.toml").write_text(registered, encoding="utf-8")
        for shop in (Shop(), Shop(d)):
            tried = set()
            for k, code in enumerate(("nose c3 s1?", "none", "tail c2; rear-near s2? m2?30", "cabin r2 r3?", "side-off c3 s2?")):
                for vat in ("margin", "plus"):
                    for value in ("9000", "22000"):
                        lot, w, pool = figures(row(damage=code, vat=vat, value=value, site=("Tolloway", "Marrow Fen")[k % 2], distance="60"), shop, 4000)
                        out = summarise(w, shop, lot, pool)
                        want = (0, "none")
                        for h in range(2500, lot.value_pence + 1, 2500):
                            pence = shop.fees.at(lot, h)
                            m = margin(w, shop, lot, pence)
                            least = max(shop.target_margin, shop.target_return * (pence[0] / 100 + out["repair"]["mean"]))
                            limit = ("loss" if (m < 0).mean() > shop.loss_limit else "margin" if m.mean() < least
                                     else "cash" if shop.cash and pence[0] / 100 + out["repair"]["p80"] > shop.cash else None)
                            if limit:
                                want = (want[0], limit)
                                break
                            want = (h / 100, "none")
                        got = (out["highest_bid"], out["bid_limit"])
                        tried.add(got[1])
                        if got != want:
                            failed += 1
                            print(f"FAIL bid {code} {vat} {value} registered {shop.vat_registered}: {got}, want {want}")
            print(f"ok   20 bids, registered {shop.vat_registered}, limits met: {sorted(tried)}")


def margin_scheme():
    with tempfile.TemporaryDirectory() as d:
        d = pathlib.Path(d)
        (d / "shop.toml").write_text("vat_registered = true\nvat_rate = 0.2\nspend_vat_share = 1\n")
        (d / "segments.csv").write_text("segment,spend,hours,value_spread\nfamily,1,1,0\n")
        (d / "categories.csv").write_text("category,rebuild,segment,low,mid,high,builds,note\nN,yes,*,0,0,0,9,none\n")
        (d / "hidden.csv").write_text("when_zone,when_class,when_grade,then_zone,then_class,then_grade,segment,chance,seen,why\n")
        (d / "costs.csv").write_text("zone,class,grade,spend_low,spend_mid,spend_high,hours_low,hours_mid,hours_high,lead_days,builds,basis,shape\n"
                                    "nose,c,1,1800,1800,1800,0,0,0,0,9,fixed,\n")
        (d / "fees.csv").write_text("site,fee,from,amount,percent,vat,per,free_days\nbare,premium,0,360,0,no,lot,\nshown,premium,0,360,0,yes,lot,\n")
        shop = Shop(d)
        for site, vat, value, want in (
                ("bare", "margin", 6500, 6500 - 3360 - 1800 + 300 - 3140 / 6),  # VAT due 523.33
                ("bare", "margin", 3300, 3300 - 3360 - 1800 + 300),  # no margin, no VAT
                ("shown", "margin", 6500, 6500 - 3432 + 72 - 1800 + 300 - 3500 / 6),  # VAT due 583.33
                ("shown", "plus", 6500, 6500 - 4032 + 672 - 1800 + 300 - 6500 / 6)):
            lot, w, pool = figures(row(damage="nose c1", guide="3000", value=str(value), site=site, vat=vat), shop, 10)
            near(f"margin, registered, premium {site}, {vat}, sold at {value}", summarise(w, shop, lot, pool)["margin"]["mean"], want, 1e-9)


def one_world(lot, shop, pool, i):
    """(repair, hours, days, margin before the outlay) of world i, straight from METHOD.md, chapters 4 to 9."""
    occurs = lambda zone, cls, grade, chance: ndtr(pool.occurrence(zone, cls, grade)[i]) > 1 - chance
    there = {}  # (zone, class): {grade: seen}
    for key, m in lot.marks.items():
        there[key] = {m.seen: True} if m.seen else {}
        there[key].update({g: False for g, p in m.suspected.items() if occurs(*key, g, p)})
    by_target = {}
    for (zone, cls), grades in there.items():
        if grades:
            fits = [r for r in shop.rules if r[0] in (zone, "*") and r[1] == cls and r[2] <= max(grades) and r[6] in ("*", lot.segment)]
            for target in {(zone if r[3] == "same" else r[3], r[4], r[5]) for r in fits}:
                mine = [r for r in fits if (zone if r[3] == "same" else r[3], r[4], r[5]) == target]
                mine = [r for r in mine if r[0] == zone] or mine
                by_target.setdefault(target, []).append(max(mine, key=lambda r: (r[2], r[6] != "*"))[7])
    for (zone, cls, grade), chances in by_target.items():
        m = lot.marks.get((zone, cls))
        if m and (grade <= m.seen or grade in m.suspected or grade >= m.absent):
            continue
        if occurs(zone, cls, grade, 1 - math.prod(1 - c for c in chances)):
            there.setdefault((zone, cls), {})[grade] = False
    spend = hours = longest_seen = longest_hidden = 0
    spend_by, hours_by, spread = shop.segments[lot.segment]
    top = {}
    for (zone, cls), grades in there.items():
        if grades:
            g = top[(zone, cls)] = max(grades)
            s, h, lead, shape = shop.row(zone, cls, g)
            u = pool.scores(zone, cls)[i:i + 1]
            spend += spend_by * amount(s, u, shape)[0]
            hours += hours_by * amount(h, u, shape)[0]
            if grades[g]:
                longest_seen = max(longest_seen, lead)
            else:
                longest_hidden = max(longest_hidden, lead)
    t = pool.lead_factor()[i]
    days = (float(lot.collect_days) + max(longest_seen * t, shop.strip_days + longest_hidden * t) + hours / shop.hours_per_day
            + shop.finish_days + pool.selling_days()[i])
    repair = spend + shop.labour_rate * hours
    resale = lot.value * pool.unit_resale(lot.devaluation, spread)[i]
    fixed = pool.fixed(())[0][i]
    for k, e in enumerate(shop.extra):
        if "column" in e:
            cell = lot.cell(e["column"])
            if cell in ("", "unknown"):
                if not pool.normals(UNKNOWN, k)[i] > ndtri(1 - e.get("unknown_chance", 0)):
                    continue
            elif cell != e["value"].lower():
                continue
        wants = [t.split() for t in e.get("after", [])]
        if wants and not any(cls == w[-1][0] and g >= int(w[-1][1]) and w[0] in (zone, w[-1])
                             for w in wants for (zone, cls), g in top.items()):
            continue
        fixed += pool.extra(k)[i]
    return repair, hours, days, resale * (1 - shop.sell_percent) - shop.sell_fixed - repair - days * shop.holding_per_day - fixed


def worlds_by_hand():
    shop, n, worst, met = Shop(), 25, 0.0, 0
    here = pathlib.Path(__file__).resolve().parent
    text = subprocess.run([sys.executable, here / "lots.py", "--n", "200", "--seed", "9"], capture_output=True, text=True, check=True).stdout
    pool = Pool(shop, n, 3)
    for cells in csv.DictReader(text.splitlines()):
        lot = Lot(cells, shop)
        w = Worlds(lot, shop, pool)
        for i in range(n):
            got = (w.repair[i], w.hours[i], w.days[i], w.before[i])
            worst = max(worst, *(abs(a - b) for a, b in zip(got, one_world(lot, shop, pool, i))))
            met += 1
    near(f"{met} worlds by hand, largest difference", worst, 0, 1e-8)


def sums(path):
    zones = ("nose", "front-near", "front-off", "side-near", "side-off", "rear-near", "rear-off", "tail")
    n = 1_000_000
    for case in json.loads(pathlib.Path(path).read_text())["cases"]:
        rho = case["rho"]
        model = case["models"]["B" if "B" in case["models"] and rho > 0 else "A"]["values"]
        with tempfile.TemporaryDirectory() as d:
            d = pathlib.Path(d)
            book = ["zone,class,grade,spend_low,spend_mid,spend_high,hours_low,hours_mid,hours_high,lead_days,builds,basis,shape"]
            code = []
            for zone, c in zip(zones, case["components"]):
                lo, hi = (math.exp(c["mu"] + k * Z90 * c["sigma"]) for k in (-1, 1))
                book.append(f"{zone},c,1,{lo!r},{math.exp(c['mu'])!r},{hi!r},0,0,0,0,9,published,")
                code.append(f"{zone} c1" + ("" if c["prob"] == 1 else f"?{round(100 * c['prob'])}"))
            (d / "costs.csv").write_text("\n".join(book))
            (d / "hidden.csv").write_text("when_zone,when_class,when_grade,then_zone,then_class,then_grade,segment,chance,seen,why\n")
            (d / "shop.toml").write_text(f"severity_link = {rho}\nhidden_link = {rho}\n")
            shop = Shop(d)
            _, w, _ = figures(row(damage="; ".join(code)), shop, n)
        r = w.repair + case["fixed"]
        near(f"{case['id']} mean", r.mean(), model["mean"], 4 * model["sd"] / math.sqrt(n))
        near(f"{case['id']} sd", r.std(), model["sd"], .02 * model["sd"])
        for p in (10, 50, 80, 90, 95):
            if model[f"P{p}"] > 0:
                near(f"{case['id']} share at or under P{p}", float((r <= model[f"P{p}"]).mean()), p / 100, 4 * math.sqrt(p * (100 - p) / 1e4 / n))


one_mark()
undamaged()
bids()
margin_scheme()
worlds_by_hand()
if len(sys.argv) > 1:
    sums(sys.argv[1])
print("all checks pass" if not failed else f"{failed} checks fail")
sys.exit(failed > 0)
