#!/usr/bin/python3
"""How far the figures of `wreckoner screen` are from those of cars.py: a table for people.

    accuracy.py [LOTS.csv] [--reference FILE] [--points N] [--seed N] [--worst N] [--program FILE]

Without a list, lots.py --n 300 --seed 20261127, whose first 200 lots that can be worked out reference.json is of:

    lots.py --n 300 --seed 20261127 > LOTS.csv; cars.py LOTS.csv --seeds 4 -o reference.json

The screen is run with --as-coded: the top-bidder allowance (METHOD.md chapter 15) is not in cars.py."""

import argparse
import json
import pathlib
import statistics
import subprocess
import sys
import tempfile

import command

HERE = pathlib.Path(__file__).resolve().parent
SMALL = 0.1  # of the mean: a smaller quantile's error is given in per cent of that
ELSEWHERE = {("bay", "mean"): lambda lot: lot["bay_days"], ("outlay", "at_guide"): lambda lot: lot["outlay"],
             ("margin", "a_bay_day"): lambda lot: lot["margin_bay_day"],
             ("margin", "an_hour"): lambda lot: lot["margin_hour"],
             ("bid", "highest_bid"): lambda lot: lot["highest_bid"]}


def lot_list(folder):
    path = pathlib.Path(folder) / "lots.csv"
    with open(path, "w", encoding="utf-8") as f:
        subprocess.run([sys.executable, HERE / "lots.py", "--n", "300", "--seed", "20261127"], stdout=f, check=True)
    return path


def screen(program, lots, on, points, seed):
    """{lot: figures} of one run."""
    with tempfile.TemporaryDirectory() as folder:
        out = f"{folder}/figures.json"
        argv = [program, "screen", "-q", "--as-coded", "--on", on, "--format", "json", "--seed", seed]
        if points:
            argv += ["--points", points]
        done = command.run([*argv, lots], out=out)
        if done.refused:
            raise SystemExit(f"accuracy.py: {done.refused}")
        with open(out, encoding="utf-8") as f:
            return {lot["lot"]: lot for lot in json.load(f)["lots"]}


def got(lot, quantity, name):
    if (quantity, name) in ELSEWHERE:
        return ELSEWHERE[quantity, name](lot)
    return lot[quantity][name]


def unit(want, quantity, name):
    """(what an error is divided by, its unit)."""
    if name in ("loss_chance", "stop_chance"):
        return 0.01, "points"
    if name in ("a_bay_day", "an_hour", "at_guide"):
        return 1, "pounds"
    if quantity == "margin":
        return want["margin"]["sd"][0] / 100, "% of sd"
    if quantity == "bid":
        return 25, "steps"
    return max(abs(want[quantity][name][0]), SMALL * want[quantity]["mean"][0]) / 100, "%"


def errors(ref, lots):
    """{(quantity, figure): [(error, standard error, within half a point, lot, got, want)]}, the largest first."""
    out = {}
    for name, want in ref["lots"].items():
        for quantity, figures in want.items():
            for figure, entry in figures.items():
                by, _ = unit(want, quantity, figure)
                if by == 0:  # of a lot that costs nothing
                    continue
                x = got(lots[name], quantity, figure)
                inside = len(entry) == 4 and entry[2] - 0.005 <= x <= entry[3] + 0.005
                row = (abs(x - entry[0]) / by, (entry[1] or 0) / by, inside, name, x, entry[0])
                out.setdefault((quantity, figure), []).append(row)
    return {key: sorted(rows, reverse=True) for key, rows in out.items()}


def table(ref, met, worst):
    yield "| figure | unit | median lot | 19 in 20 | worst lot | worst outside half a point | reference's own error |"
    yield "| --- | --- | --- | --- | --- | --- | --- |"
    first = next(iter(ref["lots"].values()))
    for (quantity, figure), rows in met.items():
        name = {"bid": "price to stop at", "outlay": "outlay at the guide"}.get(quantity, f"{quantity} {figure}")
        outside = max((r[0] for r in rows if not r[2]), default=0) if any(r[2] for r in rows) else None
        yield (f"| {name.replace('_', ' ')} | {unit(first, quantity, figure)[1]} | {statistics.median(r[0] for r in rows):.3f} "
               f"| {rows[len(rows) // 20][0]:.2f} | {rows[0][0]:.2f} | {'' if outside is None else f'{outside:.2f}'} "
               f"| {statistics.median(r[1] for r in rows):.3f} |")
        for r in rows[:worst]:
            yield f"    {r[3]}: {r[4]:.6g}, reference {r[5]:.6g}, {r[0]:.2f} off, its own error {r[1]:.2f}"


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("lots", nargs="?", type=pathlib.Path)
    p.add_argument("--reference", default=HERE / "reference.json", help="by cars.py (reference.json)")
    p.add_argument("--on", default="2026-12-03", help="as cars.py was run (2026-12-03)")
    p.add_argument("--points", type=int, help="simulate so many cars a lot")
    p.add_argument("--seed", type=int, default=1)
    p.add_argument("--worst", type=int, default=0, metavar="N", help="also the N worst lots of each figure")
    p.add_argument("--program", help="judge this wreckoner, and build none")
    args = p.parse_args()
    with open(args.reference, encoding="utf-8") as f:
        ref = json.load(f)
    with tempfile.TemporaryDirectory() as folder:
        lots = args.lots or lot_list(folder)
        if ref["list"] != command.digest(lots):
            raise SystemExit(f"accuracy.py: {args.reference} is not a reference of {lots}")
        starter = command.ROOT / "damage" / "costs" / "starter"
        if ref["tables"] != command.digest(*sorted(p for p in starter.iterdir() if p.is_file())):
            print(f"accuracy.py: {args.reference} was made with other starter tables than today's", file=sys.stderr)
        program = args.program or command.build(folder)
        judged = screen(program, lots, args.on, args.points, args.seed)
    simulated = [name for name in ref["lots"] if judged[name]["repair"]["mean"] > 0
                 and judged[name]["error"]["repair_p90"] > 0.005 * judged[name]["repair"]["p90"]]
    print(f"{len(ref['lots'])} lots; reference: {ref['made_by']}, {ref['seeds']} seeds; "
          f"simulated by the command: {len(simulated)}\n")
    print("\n".join(table(ref, errors(ref, judged), args.worst)))


if __name__ == "__main__":
    main()
