#!/usr/bin/python3
"""The whole model once more, in NumPy, with the optional keys and columns that yardstick.py does not know: METHOD.md
chapters 2 to 12. Plain draws, every random number by a label, so that lots and shops see the same luck.

    cars.py LOTS.csv [--shop DIR] [--on YYYY-MM-DD] [--draws N] [--seeds N] [--first N] [--no-stop-price] -o FILE

Writes {"made_by", "list", "tables", "lots": {lot: {quantity: {figure: [value, standard error, low, high]}}}}: means
over the seeds; low and high are the quantiles half a point either side. FILE is written after each lot of each seed is done:
the same command goes on from there. About a second of CPU time a lot and seed at 200,000 draws."""

import argparse
import csv
import json
import math
import os
import pathlib
import statistics
import tomllib
import zlib
from fractions import Fraction
from functools import lru_cache
from types import SimpleNamespace

import numpy as np
from scipy.special import ndtr, ndtri

from amount import amount
from command import digest
from damagecode import NEVER, Marks, parse, suspect_structure
from shop import STARTER, Shop, _needs, plain

FIGURES = {"repair": ("mean", "sd", "p10", "p50", "p80", "p90", "p95"), "hours": ("mean", "p10", "p50", "p90"),
           "days": ("mean", "p10", "p50", "p90"), "bay": ("mean",), "resale": ("mean",),
           "margin": ("mean", "sd", "p10", "p50", "p90", "loss_chance", "shortfall", "stop_chance", "a_bay_day",
                      "an_hour"),
           "outlay": ("at_guide",), "bid": ("highest_bid",)}


def number(text, default=0.0):
    text = (text or "").strip().replace(",", "").lstrip("£")
    return float(text) if text else default


class CarShop(Shop):
    """A shop folder with its optional keys and columns."""

    def __init__(self, folder=None):
        super().__init__(folder)
        with open(self._path("shop.toml"), "rb") as f:
            self.settings = tomllib.load(f)
        self.parts = {(r["zone"], r["class"], int(r["grade"])): number(r.get("parts"), 1)
                      for r in self.rows("costs.csv")}
        self.kinds = {r["segment"].lower(): r for r in self.rows("segments.csv")}
        self.sells = {(r["category"].lower(), (r["segment"] or "*").lower()): number(r.get("sell"), 1)
                      for r in self.rows("categories.csv")}
        ages = self.folder / "ages.csv"
        self.ages = list(csv.DictReader(open(ages, newline="", encoding="utf-8-sig"))) if ages.exists() else []

    def get(self, name, absent=0):
        return self.settings.get(name, absent)

    def step(self, name, cls):
        """coding_up or coding_down of a class."""
        x = self.get(name)
        return x.get(cls, 0) if isinstance(x, dict) else x

    def k(self, car, what):
        """By what a class's spend, or "hours", is multiplied on a car: METHOD.md 5.1 and 5.2."""
        kind = self.kinds[car.segment]
        own = number(kind.get(what), number(kind["spend"], 1))
        band = [r for r in self.ages if car.age is not None and int(r["from"]) <= car.age]
        return own * (number(band[-1].get(what), 1) if band else 1)

    def sells_in(self, car):
        key = (car.category, car.segment)
        category = self.sells.get(key, self.sells.get((car.category, "*"), 1))
        return category * number(self.kinds[car.segment].get("sell"), 1)


class Car:
    """A row of the list that was read."""

    def __init__(self, row, shop, year):
        self._cells = {plain(k): (v or "").strip() for k, v in row.items() if k}
        self.name, self.segment = self.text("lot"), self.cell("segment") or "family"
        self._cells["segment"] = self.segment
        self.category = self.cell("category")
        self.rebuild, self.marker = shop.category(self.category, self.segment)
        self.value, self.guide = number(self.text("value")), number(self.text("guide"), None)
        self.plus, self.distance = self.cell("vat") == "plus", Fraction(self.text("distance") or 0)
        self.collect_days = number(self.text("collect_days"), shop.collect_days)
        sold = int(self.text("sale_date")[:4] or year)
        self.age = max(0, sold - int(number(self.text("year")))) if self.text("year") else None
        self.year = number(self.text("year"), math.inf)
        self.parts_value = [number(x) for x in self.text("parts_value").split()]
        self.code_scale = {"": 1, "photos": 1, "words": 1.5, "seen": 0.3}[self.cell("coded_from")]
        self.quotes = {}
        for q in filter(None, self.text("quotes").lower().split(";")):
            zone, mark, spend, *hours = q.replace("=", " ").split()
            self.quotes[(zone, mark[0], int(mark[1]))] = number(spend), number(hours[0].rstrip("h")) if hours else None
        self.marks = parse(self.text("damage"), shop.suspected_chance)
        if self.category == "s":
            suspect_structure(self.marks, shop.uncoded_structure)
        self.site = self.cell("site")
        if not self.site:  # the site whose outlay is largest at the guide, the first by name of equals
            at = round(100 * (self.guide or self.value / 5))
            sites = sorted(shop.fees.sites - {"*"})
            cost = [shop.fees.at(SimpleNamespace(**self.__dict__ | {"site": s}), at)[0] for s in sites]
            self.site = sites[cost.index(max(cost))] if sites else ""

    def text(self, name):
        return self._cells.get(plain(name), "")

    def cell(self, name):
        return self.text(name).lower()


class Luck:
    """Standard normal scores by label."""

    def __init__(self, shop, n, seed):
        self.shop, self.n, self.seed = shop, n, seed
        self.own = lru_cache(maxsize=400_000_000 // n)(self._own)

    def _own(self, label):
        return np.random.default_rng([self.seed, zlib.crc32(label.encode())]).standard_normal(self.n)

    def linked(self, link, label):
        return math.sqrt(link) * self.own("Z") + math.sqrt(1 - link) * self.own(label)

    def there(self, item, stay):
        """Where an item occurs that stays away with chance `stay`, a number or one a car: METHOD.md 7.2."""
        return self.linked(self.shop.hidden_link, f"there {item}") > ndtri(stay)

    def misread(self, item, chance):
        """Where a step of chapter 6 happens: by a score of its own."""
        return self.own(f"step {item}") > ndtri(1 - chance)


def occurring(car, shop, luck):
    """{item: where it occurs} of all that may be charged: METHOD.md 4 and 6."""
    there, stay = {}, {}
    for (zone, cls), m in car.marks.items():
        for g, p in m.suspected.items():
            there[(zone, cls, g)] = luck.there((zone, cls, g), 1 - p)
    coded = dict(there)
    for (zone, cls), m in car.marks.items():
        grades = ([m.seen] if m.seen else []) + sorted(m.suspected)
        fires = {g: shop.fires(zone, cls, g, car.segment) for g in grades}
        for target in {t for f in fires.values() for t in f}:
            p = np.zeros(luck.n)
            for g in grades:
                p = np.where(True if g == m.seen else coded[(zone, cls, g)], fires[g].get(target, 0.0), p)
            stay[target] = stay.get(target, 1) * (1 - p)
    for (zone, cls, g), s in stay.items():
        m = car.marks.get((zone, cls), Marks())
        if g > m.seen and g not in m.suspected and g < m.absent:
            there[(zone, cls, g)] = luck.there((zone, cls, g), s) & (s < 1)
    for (zone, cls), m in car.marks.items():
        g = m.seen
        if not g:
            continue
        up, down = (min(0.95, car.code_scale * shop.step(name, cls)) for name in ("coding_up", "coding_down"))
        if (zone, cls, g) in car.quotes:
            up = down = 0
        everywhere = np.ones(luck.n, bool)
        if g == 1 or down == 0:
            there[(zone, cls, g)] = everywhere
        else:
            there[(zone, cls, g)], there[(zone, cls, g - 1)] = luck.misread((zone, cls, g), 1 - down), everywhere
        if up > 0 and g < 4 and g + 1 not in m.suspected and m.absent > g + 1:
            step, item = luck.misread((zone, cls, g + 1), up), (zone, cls, g + 1)
            there[item] = there[item] | step if item in there else step
    return there


def simulate(car, shop, luck):
    """One array a quantity: METHOD.md 5, 7, 8 and 9."""
    there, n = occurring(car, shop, luck), luck.n
    spend, hours, seen, hidden = (np.zeros(n) for _ in range(4))
    charged = {}
    for spot in {item[:2] for item in there}:
        u, done = luck.linked(shop.severity_link, f"cost {spot}"), np.zeros(n, bool)
        for g in sorted((i[2] for i in there if i[:2] == spot), reverse=True):
            item = (*spot, g)
            here, done = there[item] & ~done, done | there[item]
            charged[item] = here
            row = shop.row(*item)
            key = item if item in shop.parts else ("*", *item[1:])
            quote = car.quotes.get(item)
            money = amount(row[0], u, row[3]) * (1 + shop.parts[key] * (shop.k(car, spot[1]) - 1))
            own = amount(row[1], u, row[3]) * shop.k(car, "hours")
            if quote:
                money, own = np.full(n, quote[0]), own if quote[1] is None else np.full(n, quote[1])
            spend += np.where(here, money, 0)
            hours += np.where(here, own, 0)
            into = seen if car.marks.get(spot, Marks()).seen == g else hidden
            np.maximum(into, np.where(here, row[2], 0), out=into)
    stretch = amount(shop.lead_spread, luck.own("lead"))
    bay = (np.maximum(seen * stretch, shop.strip_days + hidden * stretch) + shop.finish_days
           + hours * shop.get("cars_at_once", 1) / shop.hours_per_day * 7 / shop.get("work_days", 7))
    sale = amount(shop.sell_days, luck.own("sell")) * shop.sells_in(car)
    days = car.collect_days + bay + sale
    v = number(shop.kinds[car.segment]["value_spread"])
    price = car.value * (1 - np.clip(amount(car.marker, luck.own("marker")), 0, 1))
    price *= np.exp(v * luck.own("market") - v * v / 2) * (1 - shop.get("fade")) ** (days.mean() / 30)
    items, taxed, late = (np.zeros(n) for _ in range(3))
    fixed = [(f, amount((f["low"], f["mid"], f["high"]), luck.own(f"fixed {i}"))) for i, f in enumerate(shop.fixed)]
    for x, a in [*fixed, *extras(car, shop, luck, charged)]:
        items += a
        taxed += a if x.get("vat") else 0
        late += a if x.get("when") == "after sale" else 0
    return SimpleNamespace(spend=spend, hours=hours, repair=spend + shop.labour_rate * hours, bay=bay, sale=sale,
                           days=days, resale=price, items=items, taxed=taxed, late=late)


def extras(car, shop, luck, charged):
    """(extra, its amount in each car) of those that apply: METHOD.md 5.4, 5.5 and 9.5."""
    years = 6 if car.age is None else car.age
    miles = number(car.text("odometer"), years * shop.get("miles_a_year", 8000))
    worn = {x["name"]: i for i, x in enumerate(shop.extra) if ("odometer_from" in x or "age_from" in x)
            and miles >= x.get("odometer_from", 0) and years >= x.get("age_from", 0)}
    for i, x in enumerate(shop.extra):
        if ("odometer_from" in x or "age_from" in x) and worn.get(x["name"]) != i or car.year < x.get("year_from", 0):
            continue
        on = np.ones(luck.n, bool)
        if x.get("column"):
            cell = car.cell(x["column"])
            if cell in ("", "unknown"):
                on = luck.own(f"unknown {i}") > ndtri(1 - x.get("unknown_chance", 0))
            elif cell != x["value"].lower():
                continue
        if x.get("after"):
            hit = np.zeros(luck.n, bool)
            for zone, cls, grade in map(_needs, x["after"]):
                for (z, c, g), here in charged.items():
                    if c == cls and g >= grade and zone in (None, z):
                        hit |= here
            on = on & hit
        k = shop.k(car, x["scale"]) if x.get("scale") else 1
        yield x, np.where(on, k * amount((x["low"], x["mid"], x["high"]), luck.own(f"extra {i}")), 0)


class Deal:
    """The margin of one car at hammer prices in pounds: METHOD.md 9.10 and 10."""

    def __init__(self, car, shop, w, luck):
        self.car, self.shop, self.w = car, shop, w
        hold = (w.days - w.sale) * shop.holding_per_day + w.sale * shop.get("holding_for_sale", shop.holding_per_day)
        selling = shop.sell_fixed + shop.sell_percent * w.resale
        self.within = shop.vat_rate / (1 + shop.vat_rate) if shop.vat_registered else 0
        back = self.within * (shop.spend_vat_share * w.spend + w.taxed + (hold if shop.holding_vat else 0))
        self.costs = w.repair + hold + w.items - back
        self.kept = w.resale - selling * (1 - self.within * shop.sell_vat) - self.costs
        self.error, self.brings_score = luck.own("what the strip shows"), luck.own("what it brings")
        self.w_spend80, self.w_before = np.quantile(w.spend, 0.8), (w.items - w.late).mean()

    def due(self, price, bought):
        return self.within * (price if self.car.plus else np.maximum(0, price - bought))

    def brings(self, h):
        car, sell_on = self.car, self.shop.get("sell_on", None)
        ways = []
        if sell_on is not None:
            ways.append(amount(sell_on, self.brings_score) * (min(h, car.guide) if car.guide else h))
        if car.parts_value:
            parts = car.parts_value if len(car.parts_value) == 3 else 3 * car.parts_value
            ways.append(amount(parts, self.brings_score))
        return max(ways, key=lambda b: b.mean()) if ways else None

    def at(self, h):
        """(margin of the car finished, margin with the right to stop, where it is stopped, outlay)."""
        shop, w = self.shop, self.w
        outlay, back, bought = (x / 100 for x in shop.fees.at(self.car, round(100 * h)))
        back = back if self.within else 0
        m = self.kept - outlay * (1 + shop.finance_rate * w.days / 365) + back - self.due(w.resale, bought)
        b = self.brings(h)
        if b is None:
            return m, m, np.zeros(len(m), bool), outlay
        t = self.car.collect_days + shop.strip_days
        hold = t * shop.holding_per_day * (1 - self.within * shop.holding_vat)
        left = (b - shop.sell_percent * b * (1 - self.within * shop.sell_vat) - self.due(b, bought)
                - outlay * (1 + shop.finance_rate * t / 365) + back - shop.get("strip_hours") * shop.labour_rate - hold)
        c, tau = self.costs, shop.get("strip_error")
        most = c.mean() + m.mean() - left.mean()
        if most <= 0:
            stop = np.ones(len(m), bool)
        elif tau == 0 or c.std() < 1e-9 * c.mean():
            stop = c > most
        else:
            s2 = math.log1p(c.var() / c.mean() ** 2)
            mu, r = math.log(c.mean()) - s2 / 2, s2 / (s2 + tau * tau)
            limit = mu + (math.log(most) - s2 * (1 - r) / 2 - mu) / r
            with np.errstate(divide="ignore"):
                stop = np.log(c) + tau * self.error > limit
        return m, np.where(stop, left, m), stop, outlay

    def fails(self, h):
        shop = self.shop
        m, stopping, _, outlay = self.at(h)
        loss = min((m < 0).mean(), (stopping < 0).mean())
        cash = shop.get("cash", None)
        target = max(shop.target_margin, shop.target_return * (outlay + self.w.repair.mean()))
        return (loss > shop.loss_limit or stopping.mean() < target
                or bool(cash) and outlay + self.w_before + self.w_spend80 > cash)

    def highest_bid(self):
        """METHOD.md 12.1 and 12.3: by halves between the prices at which a fee changes."""
        step, last = self.shop.bid_step, int(self.car.value / self.shop.bid_step)
        changes = {start for f in self.shop.fees.of(self.car.site) for start in f.start_list[1:]}
        ends = sorted({(start - 1) // (100 * step) for start in changes} | {last})
        low = 0
        for end in (int(min(e, last)) for e in ends):
            if end <= low:
                continue
            if self.fails(end * step):
                while end - low > 1:
                    mid = (low + end) // 2
                    low, end = (low, mid) if self.fails(mid * step) else (mid, end)
                return low * step
            low = end
        return low * step


def spread(x, names):
    """{figure: (value, quantile half a point below, above)} of an array."""
    out = {"mean": (x.mean(),), "sd": (x.std(),)}
    for name in names:
        if name[0] == "p":
            p = int(name[1:]) / 100
            low, at, high = np.quantile(x, [p - 0.005, p, p + 0.005])
            out[name] = (at, low, high)
    return {name: out[name] for name in names}


def evaluate(car, shop, n, seed, luck, price=True):
    """{quantity: {figure: (value, low, high)}} of a car; low and high where it is a quantile."""
    w = simulate(car, shop, luck)
    out = {q: spread(getattr(w, q), FIGURES[q]) for q in ("repair", "hours", "days", "bay", "resale")}
    deal = Deal(car, shop, w, luck)
    if car.guide:
        finished, m, stop, outlay = deal.at(car.guide)
        here = out["margin"] = spread(m, FIGURES["margin"][:5])
        here["loss_chance"] = (min((finished < 0).mean(), (m < 0).mean()),)
        here["shortfall"] = (np.partition(m, n // 10)[:n // 10].mean(),)
        here["stop_chance"] = (stop.mean(),)
        here["a_bay_day"] = (m.mean() / w.bay.mean(),)
        here["an_hour"] = ((m.mean() + shop.labour_rate * w.hours.mean()) / max(1, w.hours.mean()),)
        out["outlay"] = {"at_guide": (outlay,)}
    if price:
        out["bid"] = {"highest_bid": (deal.highest_bid(),)}
    return out


def over_seeds(runs):
    """[value, standard error, low, high] of each figure, from a run a seed."""
    out = {}
    for q, figures in runs[0].items():
        for name in figures:
            xs = [r[q][name] for r in runs if q in r]
            se = statistics.stdev(x[0] for x in xs) / math.sqrt(len(xs)) if len(xs) > 1 else None
            means = [statistics.fmean(x[i] for x in xs) for i in range(len(xs[0]))]
            short = [float(f"{y:.7g}") for y in means]
            out.setdefault(q, {})[name] = [short[0], None if se is None else float(f"{se:.2g}"), *short[1:]]
    return out


def tables(folder):
    return digest(*sorted(p for p in pathlib.Path(folder).iterdir() if p.is_file()))


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("lots")
    p.add_argument("--shop", default=STARTER, help="shop folder (the starter)")
    p.add_argument("--on", default="2026-12-03", help="day of the sale of lots without one (2026-12-03)")
    p.add_argument("--draws", type=int, default=200_000)
    p.add_argument("--seeds", type=int, default=1)
    p.add_argument("--first", type=int, default=200, help="lots, of those that can be worked out (200)")
    p.add_argument("--no-stop-price", action="store_true", help="without prices to stop at, two thirds of the work")
    p.add_argument("-o", "--output", required=True)
    args = p.parse_args()
    shop, lots = CarShop(args.shop), pathlib.Path(args.lots)
    with open(lots, newline="", encoding="utf-8-sig") as f:
        cars = [Car(r, shop, args.on[:4]) for r in csv.DictReader(f) if r["damage"].strip()]
    cars = [c for c in cars if c.rebuild][:args.first]
    head = {"made_by": f"cars.py --draws {args.draws} --on {args.on}", "list": digest(lots),
            "tables": tables(args.shop)}
    parts, runs = pathlib.Path(args.output + ".part"), {}
    if parts.exists():
        for line in open(parts, encoding="utf-8"):
            seed, name, got = json.loads(line)
            runs.setdefault(name, {})[seed] = got
    with open(parts, "a", encoding="utf-8") as f:
        for seed in range(1, args.seeds + 1):
            luck = Luck(shop, args.draws, seed)
            for car in cars:
                if seed not in runs.setdefault(car.name, {}):
                    got = runs[car.name][seed] = evaluate(car, shop, args.draws, seed, luck, not args.no_stop_price)
                    f.write(json.dumps([seed, car.name, got], default=float) + "\n")
                    f.flush()
    with open(args.output + ".new", "w", encoding="utf-8") as f:
        figures = {c.name: over_seeds(list(runs[c.name].values())) for c in cars}
        rows = ",\n".join(f"{json.dumps(n)}: {json.dumps(x, separators=(',', ':'))}" for n, x in figures.items())
        f.write(json.dumps(head | {"seeds": args.seeds})[:-1] + ', "lots": {\n' + rows + "\n}}\n")
    os.replace(args.output + ".new", args.output)
    parts.unlink()


if __name__ == "__main__":
    main()
