"""A shop folder: settings, costs, hidden rules, segments, categories, fees."""

import csv
import pathlib
import tomllib
from functools import cache

from amount import amount, tukey_s
from damagecode import CLASSES, ZONES
from fees import Fees

STARTER = pathlib.Path(__file__).resolve().parents[2] / "damage" / "costs" / "starter"
ABSENT = {  # what a setting that shop.toml leaves out stands for
    "labour_rate": 0, "hours_per_day": 8, "collect_days": 0, "finish_days": 0, "strip_days": 0,
    "lead_spread": [1, 1, 1], "sell_days": [0, 0, 0], "holding_per_day": 0, "holding_vat": False,
    "finance_rate": 0, "vat_registered": False, "vat_rate": 0.2, "spend_vat_share": 1,
    "sell_fixed": 0, "sell_percent": 0, "sell_vat": False, "target_margin": 0, "target_return": 0,
    "loss_limit": 1, "cash": None, "bid_step": 25, "severity_link": 0, "hidden_link": 0,
    "suspected_chance": 0.5, "uncoded_structure": 0, "fixed": [], "extra": [],
}


def plain(name):
    """A column name without case, spaces, underscores and hyphens."""
    return "".join(ch for ch in name.lower() if ch not in " _-")


def triple(row, prefix=""):
    return tuple(float(row[prefix + k]) for k in ("low", "mid", "high"))


def money(cell):
    return float(cell.replace(",", ""))


class Shop:
    def __init__(self, folder=None):
        self.folder = pathlib.Path(folder) if folder else STARTER
        with open(self._path("shop.toml"), "rb") as f:
            settings = tomllib.load(f)
        for name, absent in ABSENT.items():
            setattr(self, name, settings.get(name, absent))
        self.book = {}
        for r in self.rows("costs.csv"):
            key = (r["zone"], r["class"], int(r["grade"]))
            self.book[key] = (triple(r, "spend_"), triple(r, "hours_"), float(r["lead_days"]),
                              (r.get("shape") or "").strip().lower())
            for t in self.book[key][:2]:
                if self.book[key][3] == "":
                    tukey_s(*t)
        self.rules = [(r["when_zone"], r["when_class"], int(r["when_grade"]), r["then_zone"],
                       r["then_class"], int(r["then_grade"]), (r.get("segment") or "*").strip().lower() or "*",
                       float(r["chance"])) for r in self.rows("hidden.csv")]
        self.segments = {r["segment"].lower(): (float(r["spend"]), float(r["hours"]), float(r["value_spread"]))
                         for r in self.rows("segments.csv")}
        self.categories = {(r["category"].lower(), (r["segment"] or "*").lower()):
                           (r["rebuild"].strip().lower() == "yes", triple(r)) for r in self.rows("categories.csv")}
        self.fees = Fees(self.rows("fees.csv"), self.vat_rate, self.vat_registered, self.bid_step)
        for e in self.extra:
            e["needs"] = [_needs(text) for text in e.get("after", [])]
        self.fires = cache(self._fires)
        self.row = cache(self._row)

    def _path(self, name):
        path = self.folder / name
        return path if path.exists() else STARTER / name

    def rows(self, name):
        with open(self._path(name), newline="", encoding="utf-8-sig") as f:
            return list(csv.DictReader(f))

    def _row(self, zone, cls, grade):
        """(spend triple, hours triple, lead days, shape): the zone's own row before "*"."""
        return self.book.get((zone, cls, grade)) or self.book[("*", cls, grade)]

    def _fires(self, zone, cls, grade, segment):
        """{(zone, class, grade): chance} of the rules that apply where `grade` is the highest
        of its zone and class to occur: own zone before "*", then the highest when_grade, then
        a rule for the segment before one for any."""
        best = {}
        for wz, wc, wg, tz, tc, tg, seg, chance in self.rules:
            if wc != cls or wg > grade or wz not in (zone, "*") or seg not in (segment, "*"):
                continue
            target = (zone if tz == "same" else tz, tc, tg)
            rank = (wz != "*", wg, seg != "*")
            if target not in best or rank > best[target][0]:
                best[target] = (rank, chance)
        return {target: chance for target, (_, chance) in best.items()}

    def category(self, name, segment):
        """(may be rebuilt, devaluation triple): the segment's row before "*"."""
        return self.categories.get((name, segment)) or self.categories[(name, "*")]

    def extras(self, lot):
        """[(index, chance)] of the extras that the lot's columns call for, certain ones at 1."""
        out = []
        for i, e in enumerate(self.extra):
            chance = 1.0
            if e.get("column"):
                cell = lot.cell(e["column"])
                if cell in ("", "unknown"):
                    chance = float(e.get("unknown_chance", 0))
                elif cell != str(e["value"]).strip().lower():
                    chance = 0.0
            if chance > 0:
                out.append((i, chance))
        return out


def _needs(text):
    """(zone or None, class, grade) of an extra's `after` entry."""
    words = text.lower().split()
    zone, mark = (words[0], words[1]) if len(words) == 2 else (None, words[0])
    if (zone and zone not in ZONES) or mark[0] not in CLASSES:
        raise ValueError(f"after: {text!r}")
    return zone, mark[0], int(mark[1:])
