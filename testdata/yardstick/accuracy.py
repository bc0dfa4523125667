#!/usr/bin/python3
"""How far the figures of `wreckoner screen` are from a reference: a table for people.

    accuracy.py [LOTS.csv] [--reference FILE] [--points N,N] [--seeds N] [--worst N]
    accuracy.py [LOTS.csv] --make-reference exact|wreckoner -o FILE [--worlds N] [--first N]

Without a list, lots.py --n 260 --seed 20261125; those with a repair count. The exact reference takes a minute of CPU time
for every seven lots; the file holds what is finished, serves as it is, and the same command goes on from there."""

import argparse
import pathlib
import statistics
import subprocess
import sys
import tempfile
import tomllib

import command
import reference

HERE = pathlib.Path(__file__).resolve().parent
SMALL = 0.1  # of the mean: a smaller quantile's error is given in per cent of that


def scale(quantity, name, want, step):
    """(what an error is divided by, its unit) of one lot's figure."""
    if name == "loss_chance":
        return 0.01, "points"
    if quantity == "margin":
        return want["margin"]["sd"][0] / 100, "% of sd"
    if quantity == "bid":
        return step, "steps"
    return max(abs(want[quantity][name][0]), SMALL * want[quantity]["mean"][0]) / 100, "%"


def outside_half_point(entry, got):
    """Whether a figure, to the penny, lies outside the reference's quantiles half a point either side; None where it has none."""
    return None if len(entry) < 4 else not entry[2] - 0.005 <= got <= entry[3] + 0.005


def study(ref, runs, step):
    """Lines of the table: runs is a list of {lot: figures}, one a seed; step is that of bids, in pounds."""
    yield (f"{'figure':20}{'unit':>8}{'median':>10}{'worst lot':>11}{'outside half a point':>23}{'worst outside':>15}{'reference se':>14}")
    for quantity, names in reference.FIGURES.items():
        for name in names:
            medians, worsts, outsides, beyond, ses, unit = [], [], [], [], [], ""
            for run in runs:
                errors, out, far = [], [], []
                for lot, want in ref["lots"].items():
                    if quantity not in want:
                        continue
                    entry, got = want[quantity][name], run[lot][(quantity, name)]
                    by, unit = scale(quantity, name, want, step)
                    errors.append(abs(got - entry[0]) / by)
                    outside = outside_half_point(entry, got)
                    if outside is not None:
                        out.append(outside)
                        if outside:
                            far.append(errors[-1])
                    if entry[1] is not None:
                        ses.append(entry[1] / by)
                if errors:
                    medians.append(statistics.median(errors))
                    worsts.append(max(errors))
                if out:
                    outsides.append(100 * statistics.fmean(out))
                    beyond.append(max(far, default=0))
            if not medians:
                continue
            mid = lambda xs, form: format(statistics.median(xs), form) if xs else "-"
            share = f"{statistics.fmean(outsides):.2f} %" if outsides else "-"
            yield (f"{quantity + ' ' + name.replace('_', ' ') if quantity != 'bid' else 'highest bid':20}{unit:>8}{mid(medians, '.3f'):>10}"
                   f"{mid(worsts, '.2f'):>11}{share:>23}{mid(beyond, '.2f'):>15}{mid(ses, '.3f'):>14}")


def worst(ref, runs, codes, count):
    """Lines on the lots whose repair P90 is furthest off, by the median over seeds of its error."""
    met = []
    for lot, want in ref["lots"].items():
        entry = want["repair"]["p90"]
        by, _ = scale("repair", "p90", want, 1)
        off = sorted((abs(run[lot][("repair", "p90")] - entry[0]) / by, run[lot][("repair", "p90")]) for run in runs)
        met.append((*off[(len(off) - 1) // 2], lot, want["repair"]))
    met.sort(key=lambda m: m[0], reverse=True)
    yield f"{'lot':10}{'error':>8}{'P90':>11}{'reference':>11}{'half a point either side':>27}{'mean':>11}{'sd':>10}  damage"
    for error, got, lot, want in met[:count]:
        entry = want["p90"]
        sides = f"{entry[2]:,.2f} to {entry[3]:,.2f}" if len(entry) > 3 else "-"
        mark = "*" if outside_half_point(entry, got) else " "
        yield (f"{lot:10}{error:6.2f} %{got:11,.2f}{entry[0]:11,.2f}{sides:>26}{mark}{want['mean'][0]:11,.2f}"
               f"{want['sd'][0]:10,.2f}  {codes[lot]}")
    yield "* outside them"


def lot_list(folder):
    """The list that the committed reference is of."""
    path = pathlib.Path(folder) / "lots.csv"
    with open(path, "w", encoding="utf-8") as f:
        subprocess.run([sys.executable, HERE / "lots.py", "--n", "260", "--seed", "20261125"], stdout=f, check=True)
    return path


def bid_step():
    with open(command.ROOT / "damage" / "costs" / "starter" / "shop.toml", "rb") as f:
        return tomllib.load(f)["bid_step"]


def compare(args, lots, folder):
    ref, warning = reference.read(args.reference, lots)
    if warning:
        print(f"accuracy.py: {warning}", file=sys.stderr)
    left_out = sorted(reference.unsettled(lots) & set(ref["lots"]))
    for lot in left_out:
        del ref["lots"][lot]
    codes, program, step = reference.damage_codes(lots), command.build(folder), bid_step()
    print(f"{len(ref['lots'])} lots with a repair ({len(left_out)} left out whose code can be read in two ways); reference: {ref['made_by']}; {args.seeds} seeds. Of the seeds, the median of a run's\n"
          "median lot and of its worst lot. Outside half a point: the share of figures, and the furthest, that are not between the\n"
          f"reference's quantiles half a point either side. A quantile below {SMALL:.0%} of its mean is judged in per cent of that.")
    for points in [None, *args.points]:
        print(f"\n{'as installed' if points is None else f'--points {points}'}")
        try:
            runs = [reference.screen(program, lots, seed, points) for seed in range(1, args.seeds + 1)]
        except reference.Refused as refused:
            print(f"refused: {refused}")
            continue
        missing = sorted({f"{lot} {quantity} {name}" for run in runs for lot, want in ref["lots"].items()
                          for quantity, names in want.items() for name in names if (quantity, name) not in run.get(lot, {})})
        if missing:
            raise SystemExit(f"accuracy.py: the command leaves out {len(missing)} figures that the reference has: {', '.join(missing[:9])}")
        for line in study(ref, runs, step):
            print(line)
        if args.worst:
            print()
            for line in worst(ref, runs, codes, args.worst):
                print(line)
        sys.stdout.flush()


def numbers(text):
    return [int(x) for x in text.split(",") if x]


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("lots", nargs="?", help="lot list; its tables are the starter's")
    p.add_argument("--reference", default=HERE / "reference.json", help="reference to judge by (reference.json)")
    p.add_argument("--points", type=numbers, default=[4096, 16384, 65536], help="point counts beside the default (4096,16384,65536)")
    p.add_argument("--seeds", type=int, default=8, help="seeds 1 to N (8)")
    p.add_argument("--worst", type=int, default=0, metavar="N", help="also the N lots whose repair P90 is furthest off")
    p.add_argument("--make-reference", choices=("exact", "wreckoner"), help="write a reference to -o, and compare nothing")
    p.add_argument("--worlds", type=int, default=20_000_000, help="of the exact reference (20 million)")
    p.add_argument("--reference-points", type=int, default=131072, help="of wreckoner's (131072)")
    p.add_argument("--first", type=int, default=200, metavar="N", help="reference of the first N lots with a repair (200)")
    p.add_argument("-o", "--output")
    args = p.parse_args()
    if args.make_reference and not args.output:
        p.error("--make-reference needs -o FILE")
    if args.seeds < 1:
        p.error("--seeds is at least 1")
    with tempfile.TemporaryDirectory() as folder:
        lots = pathlib.Path(args.lots) if args.lots else lot_list(folder)
        if args.make_reference == "exact":
            reference.exact(args.output, lots, args.worlds, args.first)
        elif args.make_reference:
            reference.from_wreckoner(args.output, lots, args.reference_points, args.first)
        else:
            compare(args, lots, folder)


if __name__ == "__main__":
    main()
