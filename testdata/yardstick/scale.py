#!/usr/bin/python3
"""What the whole command costs: CPU time, memory and lots per second on lists of 1,000 to 1,000,000 lots.

    scale.py [--sizes N,N] [--repeat N] [--workers N] [--points N] [--timeout S] [--program FILE]
    scale.py --marks       CPU time per lot against the number of damage marks
    scale.py --numpy       CPU time per lot beside that of yardstick.py (needs NumPy and SciPy)

Builds wreckoner with go build, and makes its lists with lots.py: so many varied lots (--varied) and, where a size asks for
more, the same again under fresh lot numbers. With --repeat every figure is a median. Close whatever else is running."""

import argparse
import csv
import hashlib
import json
import os
import pathlib
import re
import resource
import statistics
import subprocess
import sys
import tempfile

import command

HERE = pathlib.Path(__file__).resolve().parent
LISTS = pathlib.Path(tempfile.gettempdir()) / "wreckoner-lists"
SAMPLE = 1000  # rows of the command's own output that the floor writes
MARKS = (1, 2, 4, 6, 8, 10, 14)
MARKED = 2000  # lots of each list of so many marks


def lot_list(n, varied, seed=1, marks=None):
    """Path of a list of n lots, of which at most `varied` differ by more than their lot number."""
    tag = hashlib.sha256((HERE / "lots.py").read_bytes()).hexdigest()[:8]
    path = LISTS / f"{tag}-{n}-{min(n, varied)}-{seed}-{marks or 'any'}.csv"
    if path.exists():
        return path
    LISTS.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory(dir=LISTS) as folder:
        first, whole = (pathlib.Path(folder) / name for name in ("first.csv", "whole.csv"))
        options = ["--n", min(n, varied), "--seed", seed, *(["--marks", marks] if marks else [])]
        with open(first, "w", encoding="utf-8") as f:
            subprocess.run([sys.executable, HERE / "lots.py", *map(str, options)], stdout=f, check=True)
        with open(whole, "w", newline="", encoding="utf-8") as out:
            writer, written = csv.writer(out), 0
            while written < n:
                with open(first, newline="", encoding="utf-8") as f:
                    rows = csv.reader(f)
                    header = next(rows)
                    if not written:
                        writer.writerow(header)
                    for row in rows:
                        if written == n:
                            break
                        written += 1
                        writer.writerow([f"L{written:07d}", *row[1:]])
        os.replace(whole, path)
    return path


class Bench:
    """Runs of the built command, all with the same options."""

    def __init__(self, args, folder):
        self.args, self.folder = args, pathlib.Path(folder)
        self.program = pathlib.Path(args.program).resolve() if args.program else command.build(folder)
        self.floor_program = command.build(folder, "./testdata/yardstick/floor", "floor")
        self.options = ["-q", "--on", "2026-12-03"]
        for name in ("workers", "points"):
            if getattr(args, name) is not None:
                self.options += [f"--{name}", getattr(args, name)]
        self.sample = None

    def median(self, argv, out=os.devnull, least=1):
        """The median of each figure of --repeat runs, or of `least`; a run that is refused is returned as it is."""
        runs = []
        for _ in range(max(self.args.repeat, least)):
            runs.append(command.run(argv, self.args.timeout, out))
            if runs[-1].refused:
                return runs[-1]
        mid = lambda name: statistics.median(getattr(r, name) for r in runs)
        return command.Run(runs[-1].code, mid("wall"), mid("cpu"), mid("peak"), runs[-1].stderr)

    def ranked(self, lots):
        out = self.folder / "ranked.csv"
        run = self.median([self.program, "screen", *self.options, "--format", "csv", "-o", out, lots])
        self._keep_sample(run, out)
        return run

    def stream(self, lots):
        out = self.folder / "stream.csv"
        run = self.median([self.program, "screen", *self.options, "--stream", "--format", "csv", lots], out)
        self._keep_sample(run, out)
        return run

    def _keep_sample(self, run, out):
        if self.sample is None and not run.refused:
            self.sample = self.folder / "sample.csv"
            with open(out, newline="", encoding="utf-8-sig") as f, open(self.sample, "w", newline="", encoding="utf-8") as kept:
                writer = csv.writer(kept)
                for i, row in enumerate(csv.reader(f)):
                    if i > SAMPLE:
                        break
                    writer.writerow(row)

    def floor(self, lots):
        return self.median([self.floor_program, lots, self.sample, self.folder / "floor.csv"], least=3)

    def cpu(self, lots):
        """CPU seconds of a ranked run that must not be refused."""
        run = self.ranked(lots)
        if run.refused:
            raise SystemExit(f"scale.py: {run.refused}")
        return run.cpu


def sizes(bench):
    args = bench.args
    print(f"at most {args.varied:,} lots of a list differ by more than their lot number; floor: the same rows read and written with\n"
          f"encoding/csv and nothing else; median of {args.repeat}; {os.cpu_count()} processors; a peak of "
          f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / 1e6:.0f} MB or less is this script's own")
    print(f"{'lots':>9}  {'run':8}{'wall s':>10}{'CPU s':>10}{'CPU us/lot':>12}{'peak MB':>9}{'lots/s':>10}{'CPU/floor':>11}")
    for n in args.sizes:
        lots = lot_list(n, args.varied)
        floor = None
        for name in ("ranked", "stream", "floor"):
            if name == "floor":
                if floor is None:
                    continue
                run = floor
            else:
                run = getattr(bench, name)(lots)
            if run.refused:
                print(f"{n:9,}  {name:8}refused: {run.refused}", flush=True)
                continue
            if floor is None:
                floor = bench.floor(lots)
                if floor.refused:
                    raise SystemExit(f"scale.py: {floor.refused}")
            print(f"{n:9,}  {name:8}{run.wall:10.3f}{run.cpu:10.3f}{1e6 * run.cpu / n:12.2f}{run.peak / 1e6:9.1f}"
                  f"{n / run.wall:10,.0f}{run.cpu / floor.cpu:11.2f}", flush=True)


def marks(bench):
    start = bench.cpu(lot_list(1, 1))
    print(f"start-up, by a list of one lot: {1000 * start:.1f} ms of CPU; taken off below. {MARKED:,} lots of each; median of {bench.args.repeat}")
    print(f"{'marks':>6}{'CPU us/lot':>12}{'us/mark':>10}{'beside one mark':>17}")
    one = None
    for m in MARKS:
        us = 1e6 * (bench.cpu(lot_list(MARKED, MARKED, marks=m)) - start) / MARKED
        one = one or us
        print(f"{m:6}{us:12.2f}{us / m:10.2f}{us / one:17.2f}", flush=True)


def beside_numpy(bench):
    few, many = 300, 3300
    lots, more = lot_list(few, many), lot_list(many, many)
    a, b = bench.cpu(lots), bench.cpu(more)
    us = 1e6 * (b - a) / (many - few)
    points = points_of(bench, lots)
    said = f"{points:,} worlds" if points else "no number of worlds"
    print(f"wreckoner: {us:.1f} us of CPU a lot, the slope from {few:,} to {many:,} lots; start-up {1000 * (a - few * us / 1e6):.0f} ms; it says {said}")
    for worlds in dict.fromkeys((10_000, points or 10_000)):
        kind, numpy = min(((kind, numpy_cpu(lots, worlds, kind, bench.args.repeat)) for kind in ("double", "single")), key=lambda x: x[1])
        equal = " (equal worlds)" if worlds == points else ""
        print(f"yardstick.py: {numpy:.1f} us of CPU a lot, {worlds:,} worlds, {kind} precision, {few:,} lots, without start-up;"
              f" {numpy / us:.2f} times wreckoner's{equal}", flush=True)


def points_of(bench, lots):
    """The worlds per lot that the command says it used; None where it says none."""
    out = bench.folder / "points.json"
    done = command.run([bench.program, "screen", *bench.options, "--format", "json", lots], bench.args.timeout, out)
    if done.refused:
        raise SystemExit(f"scale.py: {done.refused}")
    with open(out, encoding="utf-8") as f:
        return json.load(f).get("points") or None


def numpy_cpu(lots, worlds, kind, repeat):
    """Median CPU microseconds a lot of yardstick.py, reading and planning included."""
    argv = [sys.executable, HERE / "yardstick.py", lots, "--time", "--worlds", str(worlds), *(["--single"] if kind == "single" else [])]
    met = []
    for _ in range(repeat):
        done = subprocess.run(argv, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
        us = re.search(r"reading and planning (\d+) us, worlds and figures (\d+) us", done.stderr)
        if done.returncode or not us:
            raise SystemExit(f"scale.py: yardstick.py: {done.stderr.strip()}")
        met.append(int(us[1]) + int(us[2]))
    return statistics.median(met)


def numbers(text):
    return [int(x.replace("_", "")) for x in text.split(",") if x]


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("--sizes", type=numbers, default=[1_000, 10_000, 100_000, 1_000_000], help="lots of each list (1000,10000,100000,1000000)")
    p.add_argument("--varied", type=int, default=20_000, help="lots that differ; a larger list repeats them (20000)")
    p.add_argument("--repeat", type=int, default=1, help="runs of each; the median is printed (1)")
    p.add_argument("--workers", type=int, help="passed on")
    p.add_argument("--points", type=int, help="passed on")
    p.add_argument("--timeout", type=float, default=900, help="seconds before a run is ended and counted as refused (900)")
    p.add_argument("--program", help="measure this wreckoner, and build none")
    p.add_argument("--marks", action="store_true")
    p.add_argument("--numpy", action="store_true")
    args = p.parse_args()
    if min(args.repeat, args.varied, *args.sizes) < 1:
        p.error("--repeat, --varied and --sizes are at least 1")
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(args, folder)
        if args.marks:
            marks(bench)
        if args.numpy:
            beside_numpy(bench)
        if not (args.marks or args.numpy):
            sizes(bench)


if __name__ == "__main__":
    main()
