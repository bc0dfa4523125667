#!/usr/bin/python3
"""What each of the truer figures moves on the sample sale, one taken away at a time: a table for people.

    changes.py [LOTS.csv] [--shop DIR] [--program FILE]

From a copy of the shop folder one key or column is taken away, the list is screened again, and what moved is printed:
the mean size of the change of a lot's mean repair, mean margin and price to stop at, which way, and how many verdicts
changed.
Lots without the figure are left out. --as-coded throughout, but for the last line, which is the top-bidder allowance."""

import argparse
import csv
import json
import pathlib
import re
import shutil
import statistics
import tempfile

import command

STARTER = command.ROOT / "damage" / "costs" / "starter"


def without_columns(name, *columns):
    def change(folder):
        path = folder / name
        with open(path, newline="", encoding="utf-8-sig") as f:
            rows = list(csv.DictReader(f))
        kept = [c for c in rows[0] if c not in columns]
        with open(path, "w", newline="", encoding="utf-8") as f:
            out = csv.DictWriter(f, kept, extrasaction="ignore")
            out.writeheader()
            out.writerows(rows)
    return change


def without_keys(*keys):
    def change(folder):
        path = folder / "shop.toml"
        text = path.read_text(encoding="utf-8")
        for key in keys:
            text, n = re.subn(rf"(?m)^{key}\s*=.*\n", "", text)
            if n != 1:
                raise SystemExit(f"changes.py: {path} has {n} lines for {key}")
        path.write_text(text, encoding="utf-8")
    return change


def without_extras(mark):
    """Without the extras that have a key."""
    def change(folder):
        path = folder / "shop.toml"
        head, *tables = re.split(r"(?m)^(?=\[\[)", path.read_text(encoding="utf-8"))
        path.write_text(head + "".join(t for t in tables if not re.search(rf"(?m)^{mark}\s*=", t)), encoding="utf-8")
    return change


def several(*changes):
    def change(folder):
        for c in changes:
            c(folder)
    return change


CHANGES = (
    ("a car's age (`ages.csv`)", lambda folder: (folder / "ages.csv").unlink()),
    ("car types class by class (`s` to `e` of `segments.csv`)", without_columns("segments.csv", *"scrme")),
    ("what follows the car and what does not (`parts` of `costs.csv`)", without_columns("costs.csv", "parts")),
    ("the three together",
     several(lambda folder: (folder / "ages.csv").unlink(), without_columns("segments.csv", *"scrme"),
             without_columns("costs.csv", "parts"))),
    ("wear by miles and age (`odometer_from`)", without_extras("odometer_from")),
    ("a seen mark is not certain (`coding_up`, `coding_down`)", without_keys("coding_up", "coding_down")),
    ("hours and weekends shared (`cars_at_once`, `work_days`)", without_keys("cars_at_once", "work_days")),
    ("a car for sale stands outside (`holding_for_sale`)", without_keys("holding_for_sale")),
    ("days for sale by category and type (`sell`)",
     several(without_columns("segments.csv", "sell"), without_columns("categories.csv", "sell"))),
    ("the price that time takes (`fade`)", without_keys("fade")),
    ("what comes back after the sale (`when`)", without_extras("when")),
    ("the right to stop (`sell_on`)", without_keys("sell_on")),
    ("the strip shows costs with an error (`strip_error`)", without_keys("strip_error")),
)


def screen(program, shop, lots, *more):
    with tempfile.TemporaryDirectory() as folder:
        out = f"{folder}/figures.json"
        argv = [program, "screen", "-q", "--shop", shop, "--on", "2026-12-03", "--format", "json", *more, lots]
        done = command.run(argv, out=out)
        if done.refused:
            raise SystemExit(f"changes.py: {done.refused}")
        with open(out, encoding="utf-8") as f:
            return {lot["lot"]: lot for lot in json.load(f)["lots"]}


FIGURES = (lambda lot: lot["repair"] and lot["repair"]["mean"], lambda lot: lot["margin"] and lot["margin"]["mean"],
           lambda lot: lot["highest_bid"])


def line(what, full, changed):
    cells = []
    for figure in FIGURES:
        pairs = [(figure(full[n]), figure(changed[n])) for n in full]
        moved = [a - b for a, b in pairs if a is not None and b is not None]
        cells.append(f"{statistics.fmean(map(abs, moved)):,.0f} ({statistics.fmean(moved):+,.0f})")
    verdicts = sum(full[n]["verdict"] != changed[n]["verdict"] for n in full)
    return f"| {what} | {' | '.join(cells)} | {verdicts} |"


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("lots", nargs="?", type=pathlib.Path, default=command.ROOT / "samples" / "sale.csv")
    p.add_argument("--shop", type=pathlib.Path, default=STARTER)
    p.add_argument("--program", help="ask this wreckoner, and build none")
    args = p.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        program = args.program or command.build(folder)
        full = screen(program, args.shop, args.lots, "--as-coded")
        print(f"{len(full)} lots. In brackets: by how much it raises or lowers the figure on average, in pounds.\n")
        print("| what is taken away | mean repair, pounds | mean margin | price to stop at | verdicts |\n"
              "| --- | --- | --- | --- | --- |")
        for n, (what, change) in enumerate(CHANGES):
            shop = folder / f"shop{n}"
            shutil.copytree(args.shop, shop)
            change(shop)
            print(line(what, full, screen(program, shop, args.lots, "--as-coded")), flush=True)
        print(line("the top-bidder allowance", screen(program, args.shop, args.lots), full))


if __name__ == "__main__":
    main()
