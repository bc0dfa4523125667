#!/usr/bin/python3
"""A second implementation of the cost model in NumPy: a check of the engine and a speed yardstick.

    yardstick.py LOTS.csv [--shop DIR] [--worlds N] [--seed N] [--json] [--fresh] [--time]
    yardstick.py LOTS.csv --exact [--worlds N] [-o FILE]
"""

import argparse
import csv
import json
import os
import sys
import time
from fractions import Fraction
from types import SimpleNamespace

import numpy as np

from damagecode import parse, plan, suspect_structure
from fees import scaled
from shop import Shop, plain
from summary import summarise
from worlds import Pool, Worlds

CHUNK = 50_000
MEMORY = 3_000_000_000  # bytes of kept worlds at once in exact mode


def pence(cell):
    return scaled(cell.strip().lstrip("£$€").replace(",", ""), 100)


class Lot:
    """One row of the lot list, read, with its plan."""

    def __init__(self, row, shop):
        self._cells = {plain(k): (v or "").strip() for k, v in row.items() if k}
        self.name = self._text("lot")
        self.segment = self._cells["segment"] = self.cell("segment") or "family"
        self.category = self._text("category")
        if self.segment not in shop.segments:
            raise ValueError(f'segment: "{self.segment}" is not in segments.csv')
        try:
            self.rebuild, self.devaluation = shop.category(self.category.lower(), self.segment)
        except KeyError:
            raise ValueError(f'category: "{self.category}" is not in categories.csv') from None
        self.value_pence = pence(self._text("value"))
        self.value = self.value_pence / 100
        self.guide = pence(self._text("guide")) if self._text("guide") else None
        self.site = self.cell("site")
        self.distance = Fraction(self._text("distance") or 0)
        self.plus = self.cell("vat") == "plus"
        self.collect_days = self._text("collect_days") or shop.collect_days
        self.extras = shop.extras(self)
        damage = self._text("damage")
        self.status = "uncoded" if not damage else "excluded" if not self.rebuild else "unpriced" if self.guide is None else "ranked"
        try:
            self.marks = parse(damage, shop.suspected_chance) if damage else {}
        except ValueError as err:
            raise ValueError(f"damage: {err}") from None
        if self.marks and self.category.lower() == "s":
            suspect_structure(self.marks, shop.uncoded_structure)
        self.groups = plan(self.marks, self.segment, shop)
        self.suspected = {(c.zone, c.cls, c.grade): c for g in self.groups for c in g.candidates
                          if c.grade in self.marks.get((g.zone, g.cls), _NO_MARKS).suspected}

    def _text(self, name):
        return self._cells.get(plain(name), "")

    def cell(self, name):
        """A cell in lower case, "" where the list has no such column."""
        return self._text(name).lower()


_NO_MARKS = SimpleNamespace(suspected={})


def read(path, shop):
    """(lots, rejected) of a lot list."""
    lots, rejected = [], []
    with (sys.stdin if path == "-" else open(path, newline="", encoding="utf-8-sig")) as f:
        reader = csv.DictReader(f)
        _ = reader.fieldnames  # reads the header, so that line_num counts it
        while True:
            line = reader.line_num + 1
            row = next(reader, None)
            if row is None:
                return lots, rejected
            try:
                lots.append(Lot(row, shop))
            except ValueError as err:
                rejected.append({"file": path, "line": line, "problem": str(err)})


def uncoded(lot):
    return {"lot": lot.name, "status": "uncoded", "category": lot.category,
            "guide": None if lot.guide is None else lot.guide / 100, "repair": None, "hours": None, "days": None,
            "resale": None, "margin": None, "outlay": None, "highest_bid": None, "bid_limit": None}


def evaluate(lots, shop, n, seed, fresh=False, real=np.float64):
    """The figures of every lot over n worlds. fresh: nothing kept from one lot to the next."""
    pool, out = Pool(shop, n, seed, real=real), []
    for lot in lots:
        if lot.status == "uncoded":
            out.append(uncoded(lot))
            continue
        if fresh:
            pool = Pool(shop, n, seed, real=real)
        out.append(summarise(Worlds(lot, shop, pool), shop, lot, pool))
    return out


def evaluate_exact(lots, shop, n, seed):
    """The same over very many worlds, drawn in chunks and kept in single precision."""
    names = ("repair", "hours", "days", "resale", "before")
    batch = max(1, MEMORY // (len(names) * 4 * n))
    out = {id(lot): uncoded(lot) for lot in lots if lot.status == "uncoded"}
    coded = [lot for lot in lots if lot.status != "uncoded"]
    for first in range(0, len(coded), batch):
        now = coded[first:first + batch]
        kept = [SimpleNamespace(**{k: np.empty(n, np.float32) for k in names}) for _ in now]
        for chunk, start in enumerate(range(0, n, CHUNK)):
            pool = Pool(shop, min(CHUNK, n - start), seed, chunk)
            for lot, k in zip(now, kept):
                w = Worlds(lot, shop, pool)
                for name in names:
                    getattr(k, name)[start:start + pool.n] = getattr(w, name)
        for i, lot in enumerate(now):
            out[id(lot)] = summarise(kept[i], shop, lot, exact=True)
            kept[i] = None
        print(f"{min(first + batch, len(coded))} of {len(coded)} lots", file=sys.stderr)
    return [out[id(lot)] for lot in lots]


def table(results):
    yield f"{'lot':10}{'repair':>9}{'P10':>8}{'P50':>8}{'P90':>8}{'hours':>7}{'days':>6}{'resale':>9}{'margin':>9}{'loss':>7}{'outlay':>11}{'bid':>8}  limit"
    cell = lambda x, width, form: f"{'-' if x is None else format(x, form):>{width}}"
    for r in results:
        rep, mar = r["repair"] or {}, r["margin"] or {}
        yield (f"{r['lot']:10}" + cell(rep.get("mean"), 9, ".0f") + "".join(cell(rep.get(k), 8, ".0f") for k in ("p10", "p50", "p90"))
               + cell((r["hours"] or {}).get("mean"), 7, ".1f") + cell((r["days"] or {}).get("mean"), 6, ".0f")
               + cell((r["resale"] or {}).get("mean"), 9, ".0f") + cell(mar.get("mean"), 9, ".0f")
               + cell(mar.get("loss_chance"), 7, ".3f") + cell(r["outlay"], 11, ".2f") + cell(r["highest_bid"], 8, ".0f")
               + f"  {r['bid_limit'] or r['status']}")


def main():
    p = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    p.add_argument("lots")
    p.add_argument("--shop", help="shop folder; the starter is read for what it lacks")
    p.add_argument("--worlds", type=int, help="10000, or 20 million with --exact")
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--json", action="store_true")
    p.add_argument("--fresh", action="store_true", help="keep nothing between lots")
    p.add_argument("--single", action="store_true", help="single precision")
    p.add_argument("--exact", action="store_true", help="very many worlds; JSON with standard errors and half-point brackets")
    p.add_argument("--time", action="store_true", help="CPU time per lot on standard error")
    p.add_argument("-o", "--output")
    args = p.parse_args()
    n = args.worlds or (20_000_000 if args.exact else 10_000)

    begun = time.process_time()
    shop = Shop(args.shop)
    shop_read = time.process_time()
    lots, rejected = read(args.lots, shop)
    lots_read = time.process_time()
    results = evaluate_exact(lots, shop, n, args.seed) if args.exact else evaluate(lots, shop, n, args.seed, args.fresh,
                                                                                np.float32 if args.single else np.float64)
    done = time.process_time()
    for r in rejected:
        print(f"{r['file']}:{r['line']}: {r['problem']}", file=sys.stderr)
    if args.time and lots:
        us = 1e6 / len(lots)
        print(f"{len(lots)} lots, {n} worlds: shop {shop_read - begun:.3f} s; per lot reading and planning "
              f"{(lots_read - shop_read) * us:.0f} us, worlds and figures {(done - lots_read) * us:.0f} us of CPU", file=sys.stderr)
    if args.json or args.exact:
        text = json.dumps({"seed": args.seed, "points": n, "shop": os.path.basename(str(shop.folder)),
                           "rejected": rejected, "lots": results}, indent=1)
    else:
        text = "\n".join(table(results))
    if args.output:
        with open(args.output + ".part", "w", encoding="utf-8") as f:
            f.write(text + "\n")
        os.replace(args.output + ".part", args.output)
    else:
        print(text)
    return 3 if rejected else 0


if __name__ == "__main__":
    sys.exit(main())
