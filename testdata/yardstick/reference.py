"""Reference figures of a lot list, nearer the truth than any run that they judge, and the file that keeps them.

{"made_by", "list", "starter": digests, "lots": {lot: {quantity: {figure: [value, standard error, low, high]}}}}

low and high are the reference's quantiles half a point either side, left out where it has none; an unknown standard
error is null."""

import csv
import hashlib
import json
import math
import os
import re
import statistics
import tempfile

import command

BATCH = 7  # lots that yardstick --exact holds at once
SEEDS = range(1001, 1017)  # none of those that accuracy.py judges
FIGURES = {"repair": ("mean", "sd", "p10", "p50", "p80", "p90", "p95"), "hours": ("mean", "p10", "p50", "p90"),
           "days": ("mean", "p10", "p50", "p90"), "resale": ("mean", "p10", "p50", "p90"),
           "margin": ("mean", "sd", "p10", "p50", "p90", "loss_chance", "shortfall"), "bid": ("highest_bid",)}


def digest(*paths):
    """What tells a list, or the starter's tables, from another."""
    h = hashlib.sha256()
    for path in paths:
        h.update(path.read_bytes())
    return h.hexdigest()[:16]


def starter():
    return digest(*sorted((command.ROOT / "damage" / "costs" / "starter").iterdir()))


def damage_codes(path):
    """{lot: damage code} of a list."""
    with open(path, newline="", encoding="utf-8-sig") as f:
        return {r["lot"]: r["damage"] for r in csv.DictReader(f)}


def unsettled(path):
    """Lots of category S without structural damage, whose structural mark goes to the zone hit worst (METHOD.md 4.7).
    They are left out: the reference was made when the two implementations still chose that zone differently."""
    with open(path, newline="", encoding="utf-8-sig") as f:
        return {r["lot"] for r in csv.DictReader(f) if r["category"] == "S" and not re.search(r"\bs[1-4](?!-)", r["damage"])}


def figures(lot):
    """{(quantity, figure): value} of a lot of `wreckoner screen --format json`; {} where it has no repair."""
    if not lot["repair"] or not lot["repair"]["mean"] > 0:
        return {}
    out = {}
    for quantity, names in FIGURES.items():
        of = {"highest_bid": lot["highest_bid"]} if quantity == "bid" else lot[quantity]
        if of is not None:
            out.update({(quantity, name): of[name] for name in names if of[name] is not None})
    return out


def read(path, lots):
    """The reference of a list. An error where it is of another list; a warning where the starter has changed since."""
    if not os.path.exists(path):
        raise SystemExit(f"{path} is not there; make it with --make-reference")
    with open(path, encoding="utf-8") as f:
        ref = json.load(f)
    if ref["list"] != digest(lots):
        raise SystemExit(f"{path} is not a reference of {lots}; make one with --make-reference")
    warning = "" if ref["starter"] == starter() else f"{path} was made with other starter tables: its figures may no longer hold"
    return ref, warning


def write(path, ref):
    with open(f"{path}.part", "w", encoding="utf-8") as f:
        head = {k: v for k, v in ref.items() if k != "lots"}
        rows = ",\n".join(f"{json.dumps(k)}: {json.dumps(v, separators=(',', ':'))}" for k, v in ref["lots"].items())
        f.write(json.dumps(head)[:-1] + ', "lots": {\n' + rows + "\n}}\n")
    os.replace(f"{path}.part", path)


def start(path, lots, made_by):
    """An unfinished reference that `path` holds, or a new one."""
    ref = {"made_by": made_by, "list": digest(lots), "starter": starter(), "lots": {}}
    if os.path.exists(path):
        with open(path, encoding="utf-8") as f:
            old = json.load(f)
        if any(old[k] != ref[k] for k in ("made_by", "list", "starter")):
            raise SystemExit(f"{path} holds another reference; remove it, or name another file")
        ref = old
    return ref


def plain(x, digits=7):
    """Rounded to some significant digits, whole where that is all."""
    x = float(f"{x:.{digits}g}")
    return int(x) if x == int(x) else x


def exact(path, lots, worlds, most):
    """From yardstick.py --exact, a batch at a time: `path` holds what is finished, and a later call goes on from there."""
    from shop import Shop
    from yardstick import evaluate_exact, read as read_lots

    ref, shop = start(path, lots, f"yardstick.py --exact --worlds {worlds}"), Shop()
    coded = [lot for lot in read_lots(lots, shop)[0] if lot.status in ("ranked", "unpriced") and lot.groups]
    todo = [lot for lot in coded[:most] if lot.name not in ref["lots"]]
    for i in range(0, len(todo), BATCH):
        for out in evaluate_exact(todo[i:i + BATCH], shop, worlds, 1):
            ref["lots"][out["lot"]] = _exact_figures(out, worlds)
        write(path, ref)


def _exact_figures(out, n):
    kept = {}
    for quantity, names in FIGURES.items():
        of = {"highest_bid": out["highest_bid"]} if quantity == "bid" else out[quantity]
        if of is None:
            continue
        here = kept[quantity] = {}
        for name in names:
            x, se, half = of[name], None, ()
            if name == "mean":
                se = of["mean_se"]
            elif name == "loss_chance":
                se = math.sqrt(x * (1 - x) / n)
            elif name in of.get("half_point", {}):  # 0.01 over the width is the density there
                half, p = of["half_point"][name], int(name[1:]) / 100
                se = math.sqrt(p * (1 - p) / n) * (half[1] - half[0]) / 0.01
            here[name] = [plain(x), None if se is None else plain(se, 2), *map(plain, half)]
    return kept


def from_wreckoner(path, lots, points, most):
    """The mean of the command's own runs with many seeds: it shows what seeds and points do, and no fault of the model."""
    ref = start(path, lots, f"wreckoner screen --points {points}, seeds {SEEDS[0]} to {SEEDS[-1]}")
    with tempfile.TemporaryDirectory() as folder:
        program, met = command.build(folder), {}
        for seed in SEEDS:
            for name, got in screen(program, lots, seed, points).items():
                for key, x in got.items():
                    met.setdefault(name, {}).setdefault(key, []).append(x)
    order = [name for name in damage_codes(lots) if name in met][:most]
    for name in order:
        kept = ref["lots"][name] = {}
        for (quantity, figure), xs in met[name].items():
            kept.setdefault(quantity, {})[figure] = [plain(statistics.fmean(xs)), plain(statistics.stdev(xs) / math.sqrt(len(xs)), 2)]
    write(path, ref)


class Refused(Exception):
    """What the command would not do, in its words."""


def screen(program, lots, seed, points=None):
    """{lot: {(quantity, figure): value}} of one run; Refused, with the command's message, where it did not run."""
    with tempfile.TemporaryDirectory() as folder:
        out = f"{folder}/figures.json"
        options = ["-q", "--format", "json", "--seed", seed, *(["--points", points] if points else [])]
        done = command.run([program, "screen", *options, lots], out=out)
        if done.refused:
            raise Refused(done.refused)
        with open(out, encoding="utf-8") as f:
            return {lot["lot"]: figures(lot) for lot in json.load(f)["lots"]}
