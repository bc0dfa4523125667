"""One lot's figures from its worlds."""

import math

import numpy as np

BLOCK = 1 << 20


def moments(x):
    """Mean and standard deviation (divisor n), summed in double precision."""
    n = len(x)
    if n <= BLOCK:
        m = float(x.mean(dtype=float))
        d = x - m
        return m, math.sqrt(float(np.dot(d, d)) / n)
    m = sum(float(x[i:i + BLOCK].sum(dtype=float)) for i in range(0, n, BLOCK)) / n
    v = 0.0
    for i in range(0, n, BLOCK):
        d = x[i:i + BLOCK].astype(float) - m
        v += float(np.dot(d, d))
    return m, math.sqrt(v / n)


def order_statistics(x, kth, bins=2048):
    """{k: the k-th smallest of x, from 0}. Exact: values are binned on an even grid, which keeps
    their order, and only the bins that hold a wanted one are sorted. Faster than np.partition."""
    low, high = x.min(), x.max()
    if low == high:
        return dict.fromkeys(kth, float(low))
    at = ((x - low) * ((bins - 1) / (float(high) - float(low)))).astype(np.int16)
    upto = np.bincount(at, minlength=bins).cumsum()
    out, last = {}, -1
    kth = sorted(kth)
    for k, b in zip(kth, np.searchsorted(upto, kth, side="right")):
        if b != last:
            here, last, below = np.sort(x[at == b]), b, upto[b - 1] if b else 0
        out[k] = float(here[k - below])
    return out


class Quantiles:
    """Type 7 of Hyndman and Fan (1996) at chosen shares; at[k] for k in also."""

    def __init__(self, x, shares, also=()):
        self.n = len(x)
        kth = set(also)
        for p in shares:
            k = math.floor((self.n - 1) * p)
            kth |= {k, min(k + 1, self.n - 1)}
        self.at = order_statistics(x, kth)

    def __call__(self, p):
        h = (self.n - 1) * p
        k = math.floor(h)
        return self.at[k] + (h - k) * (self.at[min(k + 1, self.n - 1)] - self.at[k])


def spread(x, shares, exact, sd=False, worst=False):
    """{"mean", "sd", "p10"...}; worst adds the shortfall; exact adds the mean's standard error and, for each quantile, the
    quantiles half a point either side."""
    mean, dev = moments(x)
    sides = [p + d for p in shares for d in (-0.005, 0.005)] if exact else []
    q = Quantiles(x, shares + sides, [len(x) // 10] if worst else [])
    out = {"mean": mean, **({"sd": dev} if sd else {}), **{f"p{round(100 * p)}": q(p) for p in shares}}
    if worst:
        out["shortfall"] = shortfall(x, q.at[len(x) // 10])
    if exact:
        out["mean_se"] = dev / math.sqrt(len(x))
        out["half_point"] = {f"p{round(100 * p)}": [q(p - 0.005), q(p + 0.005)] for p in shares}
    return out


def shortfall(x, edge):
    """Mean of the worst tenth, edge its best value; where n / 10 is not whole, edge counts in part."""
    below = x[x < edge]
    tenth = len(x) / 10
    return (float(below.sum(dtype=float)) + (tenth - len(below)) * edge) / tenth


def margin(w, shop, lot, pence):
    """Margin in each world at a hammer price; (outlay, VAT, purchase price) in pence."""
    outlay, back, price = (x / 100 for x in pence)
    m = w.days * (-shop.finance_rate * outlay / 365)
    m += w.before
    if shop.vat_registered:
        m += back - outlay
        if not lot.plus:
            m -= np.maximum(w.resale - price, 0) * (shop.vat_rate / (1 + shop.vat_rate))
    else:
        m -= outlay
    return m


def summarise(w, shop, lot, pool=None, exact=False):
    """w: Worlds, or an object with the same arrays. pool: where to keep what lots share."""
    out = {"lot": lot.name, "status": lot.status, "category": lot.category,
           "guide": None if lot.guide is None else lot.guide / 100,
           "repair": spread(w.repair, [.1, .5, .8, .9, .95], exact, sd=True),
           "hours": spread(w.hours, [.1, .5, .9], exact),
           "days": spread(w.days, [.1, .5, .9], exact),
           "resale": None, "margin": None, "outlay": None, "highest_bid": None, "bid_limit": None}
    if lot.status == "excluded":
        return out
    if pool:
        unit = pool.keep(("unit", *w.unit_key), lambda: spread(pool.kept[w.unit_key], [.1, .5, .9], False))
        out["resale"] = {k: lot.value * x for k, x in unit.items()}
    else:
        out["resale"] = spread(w.resale, [.1, .5, .9], exact)
    if lot.guide is not None:
        pence = shop.fees.at(lot, lot.guide)
        m = margin(w, shop, lot, pence)
        out["margin"] = {**spread(m, [.1, .5, .9], exact, sd=True, worst=True),
                         "loss_chance": np.count_nonzero(m < 0) / len(m)}
        out["outlay"] = pence[0] / 100
    bid, limit, why = highest_bid(w, shop, lot, out, pool)
    out["highest_bid"], out["bid_limit"] = bid, limit
    if exact:
        out["at_limit"] = why
    return out


def highest_bid(w, shop, lot, out, pool):
    """(bid, limit that binds, figures one step higher). Every step up to the value is judged."""
    h, (outlay, back, price) = shop.fees.ladder(lot, lot.value_pence)
    if not len(h):
        return 0, "none", None
    outlay, back, price = outlay / 100, back / 100, price / 100
    g = shop.vat_rate / (1 + shop.vat_rate)
    mean_days = out["days"]["mean"]
    mean = float(w.before.mean(dtype=float)) - outlay * (1 + shop.finance_rate * mean_days / 365)
    taxed = shop.vat_registered and not lot.plus
    if shop.vat_registered:
        mean += back
    if taxed:
        mean -= g * _mean_over(w, lot, price, pool)
    rich = mean >= np.maximum(shop.target_margin, shop.target_return * (outlay + out["repair"]["mean"]))
    paid = np.ones(len(h), bool) if shop.cash is None else outlay + out["repair"]["p80"] <= shop.cash
    most = math.floor(shop.loss_limit * len(w.before) + 1e-9)  # worlds that may lose
    if most >= len(w.before):
        safe = np.ones(len(h), bool)
    elif not shop.vat_registered:
        b = w.before / (1 + (shop.finance_rate / 365) * w.days)  # loses where the outlay is above it
        safe = outlay <= order_statistics(b, [most])[most]
    else:
        loses = lambda i: np.count_nonzero(margin(w, shop, lot, (outlay[i] * 100, back[i] * 100, price[i] * 100)) < 0) > most
        safe = _first_loss(loses, outlay, back, price if taxed else price * 0, g, int(np.argmin(rich & paid)) if not (rich & paid).all() else len(h) - 1)
    ok = safe & rich & paid
    if ok.all():
        return float(h[-1]) / 100, "none", None
    i = int(np.argmin(ok))
    limit = "loss" if not safe[i] else "margin" if not rich[i] else "cash"
    bid = float(h[i - 1]) / 100 if i else 0
    return bid, limit, {"hammer": float(h[i]) / 100, "outlay": float(outlay[i]), "margin": float(mean[i])}


def _first_loss(loses, outlay, back, price, g, last):
    """safe[] up to the first step that loses too often, looking no further than `last`.

    Between two steps every world's margin falls where the net outlay rises by at least the VAT that
    the dearer purchase saves. Such runs are bisected; where it may rise (a band's edge) a new run starts."""
    net = np.diff(outlay - back)
    rises = (net < g * np.maximum(np.diff(price), 0) - 1e-9) | (np.diff(outlay) < 0)
    starts = [0, *(np.flatnonzero(rises) + 1)]
    safe = np.ones(len(outlay), bool)
    for a, b in zip(starts, [*starts[1:], len(outlay)]):
        if a > last:
            break
        lo, hi = a, min(b - 1, last)
        if not loses(hi):
            continue
        while lo < hi:
            mid = (lo + hi) // 2
            lo, hi = (lo, mid) if loses(mid) else (mid + 1, hi)
        safe[lo:] = False
        break
    return safe


def _mean_over(w, lot, price, pool):
    """E max(0, S - price) at every price, from sorted resale and its sums from the top."""
    def make(x):
        s = np.sort(x)
        top = np.append(np.cumsum(s[::-1], dtype=float)[::-1], 0)
        return s, top
    if pool:
        s, top = pool.keep(("over", *w.unit_key), lambda: make(pool.kept[w.unit_key]))
        scale = lot.value
    else:
        (s, top), scale = make(w.resale), 1
    i = np.searchsorted(s, price / scale, side="right")
    return (scale * top[i] - price * (len(s) - i)) / len(s)
