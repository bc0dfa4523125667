"""Worlds: the random points, and one lot's repair, hours, days, resale and margin in each.

A Pool holds the columns of random points that lots share (common random numbers) and what was
already worked out from them: each cost row's spend and hours at its group's scores, the worlds
in which a candidate of a given chance occurs, devaluation times value spread, fixed items.
Every column has its own PCG64 stream, keyed by seed and what the column stands for, so that no
figure depends on the order of the lots."""

import math

import numpy as np
from scipy.special import ndtri

from amount import amount
from damagecode import CLASSES, ZONES

Z, E, N, DEVALUE, WORTH, LEAD, SELL, FIXED, EXTRA, UNKNOWN = range(10)


class Pool:
    def __init__(self, shop, n, seed, chunk=0, real=np.float64):
        self.shop, self.n, self.seed, self.chunk = shop, n, seed, chunk
        self.real = real
        self.kept = {}
        self.mark = np.zeros(n, bool)

    def keep(self, key, make):
        if key not in self.kept:
            self.kept[key] = make()
        return self.kept[key]

    def normals(self, *key):
        seq = np.random.SeedSequence(self.seed, spawn_key=(self.chunk, *key))
        return np.random.Generator(np.random.PCG64(seq)).standard_normal(self.n, self.real)

    def z(self):
        return self.keep(Z, lambda: self.normals(Z))

    def _linked(self, link, own):
        own *= math.sqrt(1 - link)
        own += math.sqrt(link) * self.z()
        return own

    def scores(self, zone, cls):
        """U of a zone and class."""
        key = (E, ZONES.index(zone), CLASSES.index(cls))
        return self.keep(key, lambda: self._linked(self.shop.severity_link, self.normals(*key)))

    def occurrence(self, zone, cls, grade):
        """V of a candidate."""
        key = (N, ZONES.index(zone), CLASSES.index(cls), grade)
        return self.keep(key, lambda: self._linked(self.shop.hidden_link, self.normals(*key)))

    def cost(self, zone, cls, grade):
        """Spend and hours of a cost row, two rows of worlds, before the segment's multipliers."""
        def make():
            spend, hours, _, shape = self.shop.row(zone, cls, grade)
            u = self.scores(zone, cls)
            return np.stack((amount(spend, u, shape), amount(hours, u, shape)))
        return self.keep(("cost", zone, cls, grade), make)

    def occurs(self, zone, cls, grade, miss):
        """Indices of the worlds in which a candidate of chance 1 - miss occurs."""
        return self.keep(("occurs", zone, cls, grade, miss), lambda: np.flatnonzero(
            self.occurrence(zone, cls, grade) > ndtri(miss)))

    def occurrence_where(self, zone, cls, grade, miss):
        """V in the worlds of occurs."""
        return self.keep(("v", zone, cls, grade, miss), lambda: self.occurrence(zone, cls, grade)[
            self.occurs(zone, cls, grade, miss)])

    def step_where(self, zone, cls, seen, grade, miss):
        """Cost of a grade less that of the seen one that it takes the place of, in the worlds of occurs."""
        def make():
            idx = self.occurs(zone, cls, grade, miss)
            step = self.cost(zone, cls, grade).take(idx, axis=1)
            if seen:
                step -= self.cost(zone, cls, seen).take(idx, axis=1)
            return step
        return self.keep(("step", zone, cls, seen, grade, miss), make)

    def unit_resale(self, triple, spread):
        """Resale of a lot worth 1."""
        def make():
            d = np.clip(amount(triple, self.keep(DEVALUE, lambda: self.normals(DEVALUE))), 0, 1)
            w = self.keep(WORTH, lambda: self.normals(WORTH))
            return (1 - d) * np.exp(spread * w - spread**2 / 2)
        return self.keep(("resale", triple, spread), make)

    def lead_factor(self):
        return self.keep(LEAD, lambda: amount(self.shop.lead_spread, self.normals(LEAD)))

    def selling_days(self):
        return self.keep(SELL, lambda: amount(self.shop.sell_days, self.normals(SELL)))

    def extra(self, i):
        e = self.shop.extra[i]
        return self.keep((EXTRA, i), lambda: amount((e["low"], e["mid"], e["high"]), self.normals(EXTRA, i)))

    def unknown(self, i, chance):
        """Extra i where the lot's column is blank or unknown: charged in a share of worlds."""
        return self.keep((UNKNOWN, i, chance), lambda: self.extra(i) * (
            self.normals(UNKNOWN, i) > ndtri(1 - chance)))

    def fixed(self, extras):
        """(sum, the sum that carries VAT) of the fixed items and of extras that wait for nothing."""
        def make():
            total, taxed = np.zeros(self.n, self.real), np.zeros(self.n, self.real)
            items = [(f, amount((f["low"], f["mid"], f["high"]), self.normals(FIXED, i)))
                     for i, f in enumerate(self.shop.fixed)]
            items += [(self.shop.extra[i], self.extra(i) if c >= 1 else self.unknown(i, c)) for i, c in extras]
            for item, x in items:
                total += x
                if item.get("vat"):
                    taxed += x
            return total, taxed
        return self.keep(("fixed", extras), make)


class Worlds:
    """One lot's arrays. before: margin before the outlay, its finance, VAT due on a margin lot and
    VAT taken back from the outlay. Money in pounds."""

    def __init__(self, lot, shop, pool):
        self.repair, self.hours, self.spend, lead, charged = _charges(lot, shop, pool)
        base, taxed = pool.fixed(tuple((i, c) for i, c in lot.extras if not shop.extra[i]["needs"]))
        for i, chance in lot.extras:
            needs = shop.extra[i]["needs"]
            if not needs:
                continue
            x = _after(pool, needs, charged, pool.extra(i) if chance >= 1 else pool.unknown(i, chance))
            if x is not None:
                base = base + x
                if shop.vat_registered and shop.extra[i].get("vat"):
                    taxed = taxed + x
        self.days = self.hours / shop.hours_per_day
        self.days += lead
        self.days += pool.selling_days()
        self.days += float(lot.collect_days) + shop.finish_days
        self.unit_key = ("resale", lot.devaluation, shop.segments[lot.segment][2])
        self.resale = lot.value * pool.unit_resale(*self.unit_key[1:])
        holding = self.days * shop.holding_per_day
        before = self.resale * (1 - shop.sell_percent)
        before -= self.repair
        before -= holding
        before -= base
        before -= shop.sell_fixed
        if shop.vat_registered:
            g = shop.vat_rate / (1 + shop.vat_rate)
            back = shop.spend_vat_share * self.spend + taxed
            if shop.sell_vat:
                back += shop.sell_fixed + shop.sell_percent * self.resale
            if shop.holding_vat:
                back += holding
            if lot.plus:
                back -= self.resale
            before += g * back
        self.before = before


def _charges(lot, shop, pool):
    """Repair, hours, spend, lead time in days, and {(zone, class): [(grade, worlds or None for all)]}."""
    charged, states, found = {}, {}, {}
    for group in lot.groups:  # suspected marks first: hidden ones read their states
        for c in group.candidates:
            if not c.states:
                found[id(c)] = pool.occurs(c.zone, c.cls, c.grade, c.miss), c.miss, None
    for group in lot.groups:
        for c in group.candidates:
            if c.states:
                found[id(c)] = _depends(lot, pool, c, found, states)
    base, worlds_of, steps = None, [], []
    always, seen_leads, late = 0.0, [], []
    for group in lot.groups:
        zone, cls = group.zone, group.cls
        reach = charged[(zone, cls)] = []
        if group.seen:
            cost = pool.cost(zone, cls, group.seen)
            base = cost.copy() if base is None else np.add(base, cost, out=base)
            reach.append((group.seen, None))
            lead = shop.row(zone, cls, group.seen)[2]
            if group.candidates:
                seen_leads.append((lead, [found[id(c)][0] for c in group.candidates]))
            else:
                always = max(always, lead)
        several = len(group.candidates) > 1
        for c in group.candidates:  # worst first: what a worse one takes is marked
            worlds, miss, kept = found[id(c)]
            reach.append((c.grade, worlds))
            step = pool.step_where(zone, cls, group.seen, c.grade, miss)
            if kept is not None:
                step = step.compress(kept, axis=1)
            if several:
                free = ~pool.mark.take(worlds)
                pool.mark[worlds] = True
                worlds, step = worlds.compress(free), step.compress(free, axis=1)
            worlds_of.append(worlds)
            steps.append(step)
            late.append((shop.row(zone, cls, c.grade)[2], worlds))
        if several:
            for c in group.candidates:
                pool.mark[found[id(c)][0]] = False
    if base is None:
        base = np.zeros((2, pool.n), pool.real)
    spend_by, hours_by, _ = shop.segments[lot.segment]
    spend, hours = base
    if steps:  # one weighted count adds every candidate's steps
        where, step = np.concatenate(worlds_of), np.concatenate(steps, axis=1)
        spend += np.bincount(where, step[0], pool.n)
        hours += np.bincount(where, step[1], pool.n)
        np.maximum(base, 0, out=base)  # rounding may leave -1e-13 where a seen cost was taken off again
    spend *= spend_by
    hours *= hours_by
    return spend + shop.labour_rate * hours, hours, spend, _lead(pool, shop, always, seen_leads, late), charged


def _depends(lot, pool, c, found, states):
    """A hidden candidate whose chance hangs on which suspected marks occur: its worlds, the miss
    of its likeliest state, and which of that state's worlds they are."""
    misses, joint = np.array([c.miss]), None
    for key, table in c.states:
        if key not in states:
            st = np.zeros(pool.n, np.int16)
            for k, grade in enumerate(sorted(lot.marks[key].suspected), 1):
                st[found[id(lot.suspected[(*key, grade)])][0]] = k
            states[key] = st
        joint = states[key] if joint is None else joint * len(table) + states[key]
        misses = np.multiply.outer(misses, np.array(table)).ravel()
    miss = float(misses.min())
    most = pool.occurs(c.zone, c.cls, c.grade, miss)
    kept = pool.occurrence_where(c.zone, c.cls, c.grade, miss) > ndtri(misses).astype(pool.real).take(joint.take(most))
    return most.compress(kept), miss, kept


def _lead(pool, shop, always, seen_leads, late):
    """max(L_seen t, strip_days + L_hidden t), L the longest lead charged of each kind, 0 where none."""
    t = pool.lead_factor()
    seen = always
    waiting = sorted((x for x in seen_leads if x[0] > always), key=lambda x: x[0])
    if waiting:
        seen = np.full(pool.n, always, pool.real)
        for lead, displaced in waiting:
            there = np.ones(pool.n, bool)
            for idx in displaced:
                there[idx] = False
            seen[there] = lead
    if not late:
        return np.maximum(seen * t, shop.strip_days)
    hidden = np.zeros(pool.n, pool.real)
    for lead, worlds in sorted(late, key=lambda x: x[0]):
        hidden[worlds] = lead
    hidden *= t
    hidden += shop.strip_days
    return np.maximum(hidden, seen * t, out=hidden)


def _after(pool, needs, charged, x):
    """x in the worlds in which one of `needs` is charged; None where that is in none."""
    where = []
    for (zone, cls), reach in charged.items():
        for want, wanted_class, least in needs:
            if cls == wanted_class and want in (None, zone):
                for grade, idx in reach:
                    if grade >= least:
                        if idx is None:
                            return x
                        where.append(idx)
    if not where:
        return None
    there = np.zeros(pool.n, bool)
    for idx in where:
        there[idx] = True
    return x * there
