#!/usr/bin/python3
"""Writes a large varied lot list on standard output: lots.py --n N --seed S [--marks M] [--plain]

Sale dates are left out: screen it with --on 2026-12-03, or ages move with the year. --plain leaves out year, odometer,
quotes, coded_from and parts_value; the other columns are the same either way."""

import argparse
import csv
import pathlib
import random
import sys

from damagecode import CLASSES, ZONES

STARTER = pathlib.Path(__file__).resolve().parents[2] / "damage" / "costs" / "starter"

PLACES = {  # where each class is usually found
    "s": ZONES[:10], "c": ZONES, "r": ("cabin", "side-near", "side-off", "nose", "whole"),
    "m": ("nose", "front-near", "front-off", "rear-near", "rear-off", "under", "bay", "whole"),
    "e": ("nose", "tail", "side-near", "cabin", "under", "bay", "whole", "front-off")}


def rows(name):
    with open(STARTER / name, newline="", encoding="utf-8-sig") as f:
        return list(csv.DictReader(f))


def damage(rng, marks, exactly=False):
    """A legal code of about `marks` marks, or exactly so many: seen, suspected (with and without a chance), absent."""
    if marks == 0:
        return "none"
    groups = {}
    while sum(len(g) for g in groups.values()) < marks:
        cls = rng.choices(CLASSES, (3, 5, 1, 2, 2))[0]
        zone = rng.choice(PLACES[cls])
        if (zone, cls) in groups:
            continue
        here = groups[(zone, cls)] = []
        grades = sorted({rng.choices((1, 2, 3, 4), (35, 38, 20, 7))[0] for _ in range(rng.choices((1, 2, 3), (70, 22, 8))[0])})
        doubt = lambda g: f"{cls}{g}?" + (str(rng.randint(1, 99)) if rng.random() < .6 else "")
        first = grades[0]
        here.append(f"{cls}{first}" if rng.random() < .75 else doubt(first))
        here += [doubt(g) for g in grades[1:] if g > first]
        top = max(grades[-1], first)
        if top < 4 and rng.random() < .12:
            here.append(f"{cls}{rng.randint(top + 1, 4)}-")
    if exactly:  # the last group may have gone beyond; a group without its last marks is legal
        del here[len(here) - (sum(len(g) for g in groups.values()) - marks):]
    elif rng.random() < .25:  # looked for, and nothing of the class is there
        key = (rng.choice(ZONES), rng.choice(CLASSES))
        groups.setdefault(key, [f"{key[1]}{rng.randint(1, 3)}-"])
    zones = {}
    for (zone, _), marks in groups.items():
        zones.setdefault(zone, []).extend(marks)
    return "; ".join(f"{zone} {' '.join(marks)}" for zone, marks in zones.items())


def quotes(rng, code, costs):
    """Quotes for one or two marks of a code that can be quoted, about what the cost table says; half of them with own hours."""
    marks = []
    for group in code.split("; "):
        zone, *rest = group.split()
        marks += [(zone, m[:2]) for m in rest if not m.endswith("-")]
    out = []
    for zone, mark in rng.sample(marks, min(len(marks), rng.choice((1, 1, 2)))):
        spend = costs.get((zone, *mark)) or costs[("*", *mark)]
        hours = rng.choice(("", "", " 0h", f" {rng.randint(1, 12)}h"))
        out.append(f"{zone} {mark}={max(5, round(spend * rng.uniform(.6, 1.7)))}{hours}")
    return "; ".join(out)


def truer(rng, code, value, costs):
    """year, odometer, quotes, coded_from and parts_value of a lot."""
    age = rng.choices((rng.randint(0, 3), rng.randint(4, 8), rng.randint(9, 13), rng.randint(14, 22)), (25, 40, 25, 10))[0]
    year = "" if rng.random() < .07 else 2026 - age
    odometer = "" if rng.random() < .2 else round((age + rng.random()) * 8000 * rng.lognormvariate(0, .35))
    quoted = quotes(rng, code, costs) if code != "none" and rng.random() < .15 else ""
    coded_from = rng.choices(("", "photos", "words", "seen"), (40, 25, 20, 15))[0]
    parts = ""
    if rng.random() < .08:
        mid = value * rng.uniform(.05, .3)
        parts = f"{mid:.0f}" if rng.random() < .5 else f"{.6 * mid:.0f} {mid:.0f} {1.6 * mid:.0f}"
    return [year, odometer, quoted, coded_from, parts]


def main():
    p = argparse.ArgumentParser(description=__doc__)
    p.add_argument("--n", type=int, default=200)
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--marks", type=int, help="marks of every lot, 1 to 30; without it 0 to 10, about so many")
    p.add_argument("--plain", action="store_true", help="without year, odometer, quotes, coded_from and parts_value")
    args = p.parse_args()
    if args.marks is not None and not 1 <= args.marks <= 30:
        p.error("--marks is from 1 to 30")
    rng, more = random.Random(args.seed), random.Random(f"truer {args.seed}")
    costs = {(r["zone"], r["class"], r["grade"]): float(r["spend_mid"]) for r in rows("costs.csv")}
    segments = [row["segment"].lower() for row in rows("segments.csv")]
    sites = sorted({row["site"] for row in rows("fees.csv")} - {"*"})
    categories = sorted({row["category"] for row in rows("categories.csv")})
    usual = [c for c in categories if c not in ("A", "B")]
    out = csv.writer(sys.stdout)
    out.writerow("lot segment category damage value guide site distance vat keys starts collect_days".split() + ["log book"]
                 + ([] if args.plain else "year odometer quotes coded_from parts_value".split()))
    for i in range(1, args.n + 1):
        value = round(rng.lognormvariate(9.5, .6) / 50) * 50 + 500
        guide = "" if rng.random() < .15 else f"{value * rng.uniform(.1, .5):.2f}" if rng.random() < .1 else str(round(value * rng.uniform(.1, .5)))
        marks = min(10, rng.choices(range(11), (3, 8, 12, 14, 14, 13, 11, 9, 7, 5, 4))[0])
        row = [
            f"L{i:05d}", rng.choice(segments) if rng.random() < .95 else "",
            rng.choice(("S", "N")) if rng.random() < .7 else rng.choice(usual) if rng.random() < .93 else rng.choice(("A", "B")),
            damage(rng, args.marks or marks, args.marks is not None), value, guide, rng.choice(sites) if rng.random() < .92 else "",
            rng.choice(("", rng.randint(0, 300), f"{rng.uniform(1, 200):.1f}")), rng.choices(("margin", "", "plus"), (60, 20, 20))[0],
            *(rng.choices(("yes", "no", "unknown", ""), (50, 20, 20, 10))[0] for _ in range(2)),
            rng.choices(("", 1, 2, 5, 9), (70, 5, 10, 10, 5))[0], rng.choices(("yes", "no", "", "unknown"), (60, 20, 10, 10))[0]]
        out.writerow(row if args.plain else row + truer(more, row[3], value, costs))


if __name__ == "__main__":
    main()
