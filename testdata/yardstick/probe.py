#!/usr/bin/python3
"""What the margin of one lot depends on, over millions of worlds: a check of `wreckoner probe`.

    probe.py LOTS.csv LOT... [--shop DIR] [--worlds N] [--seed N]
    probe.py LOTS.csv LOT... [--shop DIR] [--worlds N] [--seed N] --against PROBE.json

Writes JSON. --against reads what `wreckoner probe LOTS LOT... --format json` wrote and prints instead every figure that
is off by more than its tolerance, and the worst of each kind; exit code 1 where one is."""

import argparse
import copy
import json
import sys
import tomllib
from functools import cache
from types import SimpleNamespace

import numpy as np
from scipy.special import ndtri

from amount import Z90, amount
from damagecode import plan
from shop import Shop
from summary import highest_bid, margin, moments
from worlds import WORTH, Pool, Worlds, _charges
from yardstick import read

CHUNK = 250_000
PRICES = 400  # equal shares of the three-point price, each read at its middle
ODDS = (0, 0.5, 1, 1.5, 2, 3)
ARRAYS = ("repair", "hours", "days", "resale", "before")
NAMES = {"s": "structural", "c": "cosmetic", "r": "restraint", "m": "mechanical", "e": "electrical"}


def unknowns_of(lot):
    """[(candidate, kind)] of the candidates that are not certain."""
    return [(c, "suspected" if (c.zone, c.cls, c.grade) in lot.suspected else "hidden")
            for g in lot.groups for c in g.candidates]


def draw(lot, shop, n, seed, full=True, held=None):
    """A lot's arrays over n worlds. full adds there, which unknown occurs where (by zone, class and
    grade), and costs, what each zone and class costs in each world. held changes a pool before use."""
    w = SimpleNamespace(**{k: np.empty(n) for k in ARRAYS}, there={}, costs={}, spends={})
    for chunk, start in enumerate(range(0, n, CHUNK)):
        pool = Pool(shop, min(CHUNK, n - start), seed, chunk)
        if held:
            held(pool)
        part, now = Worlds(lot, shop, pool), slice(start, start + pool.n)
        for k in ARRAYS:
            getattr(w, k)[now] = getattr(part, k)
        if full:
            charged = _charges(lot, shop, pool)[4]
            for c, _ in unknowns_of(lot):
                key = (c.zone, c.cls, c.grade)
                w.there.setdefault(key, np.zeros(n, bool))[start + dict(charged[key[:2]])[c.grade]] = True
            for key, reach in charged.items():
                spend, hours = _group_cost(lot, shop, pool, key, reach)
                w.costs.setdefault(key, np.empty(n))[now] = spend + shop.labour_rate * hours
                w.spends.setdefault(key, np.empty(n))[now] = spend
    return w


def _group_cost(lot, shop, pool, key, reach):
    """Spend and hours of one zone and class: its highest grade that occurs is charged."""
    out = np.zeros((2, pool.n))
    for grade, worlds in sorted(reach, key=lambda r: r[0]):
        cost = pool.cost(*key, grade)
        if worlds is None:
            out[:] = cost
        else:
            out[:, worlds] = cost[:, worlds]
    return out * np.array(shop.segments[lot.segment][:2])[:, None]


def part(w, where):
    """The worlds of w in which `where` is so."""
    return SimpleNamespace(**{k: getattr(w, k)[where] for k in ARRAYS})


def figures(w, shop, lot, guide):
    """Mean margin and loss chance at the guide price, and the highest bid: all over w's own worlds."""
    m = margin(w, shop, lot, guide)
    known = {"days": {"mean": moments(w.days)[0]},
             "repair": {"mean": moments(w.repair)[0], "p80": float(np.quantile(w.repair, 0.8))}}
    bid, limit, _ = highest_bid(w, shop, lot, known, None)
    return {"margin": moments(m)[0], "loss_chance": np.count_nonzero(m < 0) / len(m), "highest_bid": bid,
            "bid_limit": limit, "worlds": len(m), "sd": moments(m)[1]}


class MeanMargin:
    """Mean margin over w's worlds as a function of the hammer price in pence."""

    def __init__(self, w, shop, lot):
        self.shop, self.lot = shop, lot
        self.before, self.days = float(w.before.mean()), float(w.days.mean())
        self.over = None
        if shop.vat_registered and not lot.plus:
            s = np.sort(w.resale)
            self.over = s, np.append(np.cumsum(s[::-1])[::-1], 0)

    def __call__(self, pence):
        outlay, back, price = (x / 100 for x in self.shop.fees.at(self.lot, pence))
        m = self.before - outlay * (1 + self.shop.finance_rate * self.days / 365)
        if self.shop.vat_registered:
            m += back
        if self.over:
            s, top = self.over
            i = np.searchsorted(s, price, side="right")
            m -= (top[i] - price * (len(s) - i)) / len(s) * self.shop.vat_rate / (1 + self.shop.vat_rate)
        return m


def prices_of(lot, spread):
    """Equally likely hammer prices in pence."""
    z = ndtri((np.arange(PRICES) + 0.5) / PRICES)
    return [round(lot.guide * f) for f in amount(spread, z)]


def worth(prices, p, present, absent, either):
    """Mean over prices of p max(m1, 0) + (1 - p) max(m0, 0) - max(m, 0)."""
    return float(np.mean([p * max(present(h), 0) + (1 - p) * max(absent(h), 0) - max(either(h), 0) for h in prices]))


def move_odds(lot, shop, k):
    """The lot and shop with every suspected and hidden chance p at k p / (1 - p + k p)."""
    move = lambda p: k * p / (1 - p + k * p)
    shop, lot = copy.copy(shop), copy.copy(lot)
    shop.rules = [(*rule[:-1], move(rule[-1])) for rule in shop.rules]
    shop.fires = cache(shop._fires)
    lot.marks = copy.deepcopy(lot.marks)
    for m in lot.marks.values():
        m.suspected = {grade: move(p) for grade, p in m.suspected.items()}
    lot.groups = plan(lot.marks, lot.segment, shop)
    lot.suspected = {(c.zone, c.cls, c.grade): c for g in lot.groups for c in g.candidates
                     if (c.zone, c.cls) in lot.marks and c.grade in lot.marks[(c.zone, c.cls)].suspected}
    return lot, shop


def inputs_of(lot, shop, n, seed):
    """[{input, margin_at_low, margin_at_high, room}]: the mean margin with one input at its P10 and its P90, all else
    as it is. A zone and class's cost is what it comes to, 0 where nothing of it is charged; days stay as they are.
    room: what half a point either side makes of it, which matters where the chance of any cost is near 10 or 90 %."""
    w, guide = draw(lot, shop, n, seed), shop.fees.at(lot, lot.guide)
    mean = lambda w, shop, pence: float(margin(w, shop, lot, pence).mean())
    drawn = lambda lot, shop, held=None: mean(draw(lot, shop, n, seed, False, held), shop, guide)
    g = shop.spend_vat_share * shop.vat_rate / (1 + shop.vat_rate) if shop.vat_registered else 0  # taken back of spend
    whole, out = mean(w, shop, guide), []

    def add(name, low, high, room=0.0):
        out.append({"input": name, "margin_at_low": low, "margin_at_high": high, "room": room})

    for (zone, cls), cost in w.costs.items():
        net = np.sort(cost - g * w.spends[(zone, cls)])
        q = np.quantile(net, (0.095, 0.1, 0.105, 0.895, 0.9, 0.905))
        if q[1] < q[4]:
            add(f"{zone} {NAMES[cls]}", *(whole + net.mean() - x for x in q[[1, 4]]), float(max(q[2] - q[0], q[5] - q[3])))
    marker = []
    for d in np.clip(amount(lot.devaluation, np.array([-Z90, Z90])), 0, 1):
        other = copy.copy(lot)
        other.devaluation = (float(d),) * 3
        marker.append(drawn(other, shop))
    add("devaluation by the marker", *marker)
    add("resale value", *(drawn(lot, shop, lambda pool, z=z: pool.kept.update({WORTH: np.full(pool.n, z)})) for z in (-Z90, Z90)))
    add("labour rate", *(drawn(lot, changed(shop, labour_rate=k * shop.labour_rate)) for k in (0.8, 1.25)))
    add("lead time", *(drawn(lot, changed(shop, lead_spread=tuple(k * x for x in shop.lead_spread))) for k in (0.5, 2)))
    add("hammer price", *(mean(w, shop, shop.fees.at(lot, round(k * lot.guide))) for k in (0.8, 1.2)))
    return out


def changed(shop, **settings):
    other = copy.copy(shop)
    vars(other).update(settings)
    return other


def probe(lot, shop, spread, n, seed):
    w = draw(lot, shop, n, seed)
    guide = shop.fees.at(lot, lot.guide)
    m = margin(w, shop, lot, guide)
    mean, sd = moments(m)
    all_of = figures(w, shop, lot, guide)
    either = MeanMargin(w, shop, lot)
    prices = prices_of(lot, spread)
    out = {"lot": lot.name, "guide": lot.guide / 100, "margin": {"mean": mean, "sd": sd, "loss_chance": all_of["loss_chance"]},
           "highest_bid": all_of["highest_bid"], "bid_limit": all_of["bid_limit"], "unknowns": []}
    for c, kind in unknowns_of(lot):
        there = w.there[(c.zone, c.cls, c.grade)]
        p = np.count_nonzero(there) / n
        row = {"zone": c.zone, "class": c.cls, "grade": c.grade, "kind": kind, "chance": p}
        out["unknowns"].append(row)
        if not 0 < p < 1:
            continue
        one, none = part(w, there), part(w, ~there)
        row["mean_cost"] = float(one.repair.mean() - none.repair.mean())
        row["present"], row["absent"] = figures(one, shop, lot, guide), figures(none, shop, lot, guide)
        m1, m0 = row["present"]["margin"], row["absent"]["margin"]
        even = m0 / (m0 - m1) if m0 != m1 else -1
        row["break_even_chance"] = even if 0 <= even <= 1 else None
        row["variance_share"] = p * (1 - p) * (m1 - m0)**2 / sd**2
        f1, f0 = MeanMargin(one, shop, lot), MeanMargin(none, shop, lot)
        row["worth_of_checking"] = worth(prices, p, f1, f0, either)
        row["worth_at_guide"] = worth([lot.guide], p, f1, f0, either)
    out["inputs"] = inputs_of(lot, shop, n // 4, seed)
    out["odds"] = []
    for k in ODDS:
        moved = move_odds(lot, shop, k)
        f = figures(draw(*moved, n, seed, False), moved[1], moved[0], guide)
        out["odds"].append({"factor": k, **{x: f[x] for x in ("margin", "loss_chance", "highest_bid")}})
    return out


def read_probes(path):
    """{lot: probe} of a file of one probe, a list of them or one after the other."""
    text, out, at = open(path, encoding="utf-8").read().strip(), {}, 0
    while at < len(text):
        value, at = json.JSONDecoder().raw_decode(text, at)
        for one in value if isinstance(value, list) else value.get("probes", [value]) if isinstance(value, dict) else []:
            out[one["lot"]] = one
        while at < len(text) and text[at].isspace():
            at += 1
    return out


def compare(ours, theirs, lot, step):
    """[(kind, what, theirs, ours, departure in tolerances)]. Tolerances: a mean 3 % of the margin's standard deviation or,
    for a rare item, 3 standard errors of as many random worlds as were theirs; worth 5 % of the lot's largest; a bid
    2 steps or 1 % of value; a chance 1 point, a conditional loss chance 1.5 points or 3 standard errors."""
    sd, rows = ours["margin"]["sd"], []
    mean_room, bid_room = 0.03 * sd, max(2 * step, 0.01 * lot.value)

    def near(kind, what, got, want, room):
        gap = 0.0 if got is None and want is None else np.inf if got is None or want is None else abs(got - want) / room
        rows.append((kind, what, got, want, gap))

    near("margin", "", theirs["margin"]["mean"], ours["margin"]["mean"], mean_room)
    near("sd", "", theirs["margin"]["sd"], sd, mean_room)
    near("loss chance", "", theirs["margin"]["loss_chance"], ours["margin"]["loss_chance"], 0.015)
    near("highest bid", "", theirs["highest_bid"], ours["highest_bid"], bid_room)
    key = lambda u: f"{u['zone']} {u['class']}{u['grade']} {u['kind']}"
    mine, other = ({key(u): u for u in x["unknowns"] if u["chance"] > 0} for x in (ours, theirs))
    largest = {k: max((u[k] for u in mine.values() if k in u), default=0) for k in ("worth_of_checking", "worth_at_guide")}
    for name in sorted(mine.keys() | other.keys()):
        a, b = other.get(name), mine.get(name)
        if a is None or b is None:
            if (a or b)["chance"] > 0.0005:  # rarer ones may be in no world of theirs
                near("unknown", name, a and a["chance"], b and b["chance"], 1)
            continue
        near("chance", name, a["chance"], b["chance"], 0.01)
        if not a.get("present") or not a.get("absent") or "present" not in b:
            continue
        slack = {}
        for side, share in (("present", b["chance"]), ("absent", 1 - b["chance"])):
            x, y = a[side], b[side]
            n = share * theirs["conditional_points"]
            slack[side] = max(mean_room, 3 * y["sd"] / n**0.5)
            near(f"{side} margin", name, x["margin"], y["margin"], slack[side])
            near(f"{side} loss chance", name, x["loss_chance"], y["loss_chance"], max(0.015, 1.5 / n**0.5))
            near(f"{side} bid", name, x["highest_bid"], y["highest_bid"], bid_room)
        near("mean cost", name, a["mean_cost"], b["mean_cost"], slack["present"])
        near("variance share", name, a["variance_share"], b["variance_share"], 0.01)
        for k, top in largest.items():
            near(k, name, a[k], b[k], max(0.05 * top, 0.002 * sd))
        m1, m0 = b["present"]["margin"], b["absent"]["margin"]
        if abs(m1) > slack["present"] and abs(m0) > slack["absent"]:  # else whether it crosses is in doubt
            near("break-even chance", name, a["break_even_chance"], b["break_even_chance"],
                 (slack["present"] + slack["absent"]) / abs(m1 - m0))
    mine, other = ({i["input"]: i for i in x["inputs"]} for x in (ours, theirs))
    for name in sorted(mine.keys() | other.keys()):
        a, b = other.get(name), mine.get(name)
        if a is None or b is None:
            near("input", name, None, b and b["margin_at_high"], 1) if b is None or b["room"] < abs(
                b["margin_at_high"] - b["margin_at_low"]) else None
            continue
        for k in ("margin_at_low", "margin_at_high"):
            near("input", f"{name} {k}", a[k], b[k], mean_room + b["room"])
    for a, b in zip(theirs["odds"], ours["odds"], strict=True):
        what = f"factor {a['factor']:g}"
        near("odds factor", what, a["factor"], b["factor"], 1e-9)
        near("odds margin", what, a["margin"], b["margin"], mean_room)
        near("odds loss chance", what, a["loss_chance"], b["loss_chance"], 0.015)
        near("odds bid", what, a["highest_bid"], b["highest_bid"], bid_room)
    return rows


def report(rows):
    """Prints [(lot, kind, what, theirs, ours, departure)]; returns how many are beyond their tolerance."""
    shown = lambda x: "none" if x is None else f"{x:.4f}" if abs(x) < 2 else f"{x:.0f}"
    line = lambda r: f"lot {r[0]} {r[1]} {r[2]}: {shown(r[3])}, here {shown(r[4])}, {r[5]:.2f} of tolerance"
    beyond = [r for r in rows if r[5] > 1]
    for r in beyond:
        print("FAIL", line(r))
    for kind in dict.fromkeys(r[1] for r in rows):
        of = [r for r in rows if r[1] == kind]
        print(f"{len(of):5} {kind}; worst: {line(max(of, key=lambda r: r[5]))}")
    print(f"{len(beyond)} of {len(rows)} beyond tolerance")
    return len(beyond)


def main():
    p = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    p.add_argument("lots")
    p.add_argument("lot", nargs="+")
    p.add_argument("--shop", help="shop folder; the starter is read for what it lacks")
    p.add_argument("--worlds", type=int, default=2_000_000)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--against", help="JSON of wreckoner probe, of the same lots")
    args = p.parse_args()
    shop = Shop(args.shop)
    with open(shop._path("shop.toml"), "rb") as f:
        spread = tuple(tomllib.load(f).get("guide_spread", (1, 1, 1)))
    lots = {lot.name: lot for lot in read(args.lots, shop)[0]}
    for name in args.lot:
        if name not in lots or lots[name].status != "ranked":
            sys.exit(f"{args.lots}: lot {name} is not in the list, or has no guide price, no damage code or a fault")
    theirs = read_probes(args.against) if args.against else {}
    out, rows = [], []
    for name in args.lot:
        out.append(probe(lots[name], shop, spread, args.worlds, args.seed))
        if args.against:
            rows += [(name, *r) for r in compare(out[-1], theirs[name], lots[name], shop.bid_step)]
    if args.against:
        return 1 if report(rows) else 0
    print(json.dumps(out, indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
