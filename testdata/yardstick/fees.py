"""Fees, VAT and outlay in whole pence. Each line is rounded once, half away from zero."""

import bisect
from fractions import Fraction

import numpy as np

SCALE = 10**6  # percentages and VAT rates are kept as whole millionths
UNIT = 1000  # miles are kept as whole thousandths


def scaled(cell, scale):
    x = Fraction(str(cell).replace(",", "")) * scale
    if x.denominator != 1:
        raise ValueError(f"{cell} has more digits than this check keeps")
    return int(x)


def rounded(x, d):
    """x / d to the nearest whole number, half upward; x is not negative."""
    return (2 * x + d) // (2 * d)


class Fee:
    """One fee of one site: bands by hammer price."""

    def __init__(self, name, rows):
        rows = sorted(rows, key=lambda r: scaled(r["from"], 100))
        self.name = name
        self.start = np.array([scaled(r["from"], 100) for r in rows])
        if self.start[0] != 0 or len(set(self.start)) != len(rows):
            raise ValueError(f"{name}: the lowest from is 0, and each is written once")
        self.amount = np.array([scaled(r["amount"] or 0, 100 * SCALE) for r in rows])
        self.percent = np.array([scaled(r["percent"] or 0, SCALE) for r in rows])
        self.vat = np.array([r["vat"].strip().lower() == "yes" for r in rows])
        self.per = [(r["per"] or "lot").strip().lower() for r in rows]
        self.free = [Fraction(r.get("free_days") or 0) for r in rows]
        self.start_list, self.amount_list = self.start.tolist(), self.amount.tolist()
        self.percent_list, self.vat_list = self.percent.tolist(), self.vat.tolist()
        self.per_lot = all(p == "lot" for p in self.per)

    def one(self, h, rate, miles, days):
        """line at a single hammer price, in whole numbers throughout."""
        i = bisect.bisect_right(self.start_list, h) - 1
        fee = rounded((self.amount_list[i] + self.percent_list[i] * h) * self._units(i, miles, days), SCALE * UNIT)
        return (fee, rounded(fee * rate, SCALE), 0) if self.vat_list[i] else (fee, 0, fee)

    def _units(self, i, miles, days):
        """Lots, miles or days of band i, in thousandths."""
        if self.per[i] == "day":
            return scaled(max(Fraction(0), days - self.free[i]), UNIT)
        return {"lot": UNIT, "mile": miles}[self.per[i]]

    def line(self, h, rate, miles, days):
        """(fee, its VAT, the part without VAT) in pence at hammer prices h, in pence."""
        units = np.array([self._units(i, miles, days) for i in range(len(self.per))])
        i = np.searchsorted(self.start, h, side="right") - 1
        fee = rounded((self.amount[i] + self.percent[i] * h) * units[i], SCALE * UNIT)
        vat = np.where(self.vat[i], rounded(fee * rate, SCALE), 0)
        return fee, vat, np.where(self.vat[i], 0, fee)


class Fees:
    def __init__(self, rows, rate, registered, step):
        self.rate = scaled(rate, SCALE)
        self.registered = registered
        self.step = scaled(step, 100)
        by = {}
        for r in rows:
            by.setdefault((r["site"].strip().lower(), r["fee"].strip()), []).append(r)
        self.all = {key: Fee(key[1], rs) for key, rs in by.items()}
        self.sites = {site for site, _ in self.all}
        self._lists, self._grids = {}, {}

    def of(self, site):
        """The site's own fees, and "*" fees that it has none of."""
        if site not in self._lists:
            own = {f.name: f for (s, _), f in self.all.items() if s == site}
            for (s, _), f in self.all.items():
                if s == "*":
                    own.setdefault(f.name, f)
            self._lists[site] = list(own.values())
        return self._lists[site]

    def _per_lot(self, site, plus, h):
        """(outlay, VAT in it, purchase price) without the fees per mile and day."""
        vat = rounded(h * self.rate, SCALE) if plus else h * 0
        out, back, price = h + vat, vat.copy(), h.copy()
        for fee in self.of(site):
            if fee.per_lot:
                x, v, bare = fee.line(h, self.rate, 0, Fraction(0))
                out += x + v
                back += v
                if fee.name == "premium":
                    price += bare
        return out, back, price

    def _rest(self, lot, h, base):
        out, back, price = base
        for fee in self.of(lot.site):
            if not fee.per_lot:
                flat = len(fee.start) == 1 and not fee.percent[0]
                line = fee.one if flat else fee.line
                x, v, bare = line(0 if flat else h, self.rate, scaled(lot.distance, UNIT), Fraction(str(lot.collect_days)))
                out = out + (x + v)
                back = back + v
                if fee.name == "premium":
                    price = price + bare
        return out, back, price

    def at(self, lot, pence):
        """(outlay, VAT in it, purchase price) in pence at one hammer price."""
        vat = rounded(pence * self.rate, SCALE) if lot.plus else 0
        out, back, price = pence + vat, vat, pence
        for fee in self.of(lot.site):
            x, v, bare = fee.one(pence, self.rate, scaled(lot.distance, UNIT), Fraction(str(lot.collect_days)))
            out += x + v
            back += v
            if fee.name == "premium":
                price += bare
        return out, back, price

    def ladder(self, lot, top):
        """The same at every bid step up to `top` pence; the per-lot part is kept between lots."""
        n, key = top // self.step, (lot.site, lot.plus)
        if key not in self._grids or len(self._grids[key][0]) < n:
            h = np.arange(1, max(2 * n, 1600) + 1) * self.step
            self._grids[key] = (h, self._per_lot(lot.site, lot.plus, h))
        h, base = self._grids[key]
        return h[:n], self._rest(lot, h[:n], tuple(x[:n] for x in base))
