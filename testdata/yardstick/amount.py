"""Three-point amounts: low, mid, high read at standard normal scores."""

import math

import numpy as np
from scipy.special import betaincinv, ndtr

Z90 = 1.2815515655446004


def tukey_s(low, mid, high):
    """The skew s of a P10, P50, P90 triple; None for a fixed amount."""
    a, b = mid - low, high - mid
    if a == 0 and b == 0:
        return None
    if low < 0 or a <= 0 or b <= 0:
        raise ValueError(f"{low}, {mid}, {high} is not a low, mid, high triple")
    return math.log(b / a) / Z90


def amount(triple, z, shape=""):
    """The amount at scores z, cut at 0. Tukey's g-distribution through P10, P50, P90;
    shape "pert" or "triangle" reads the triple as minimum, mode, maximum instead."""
    low, mid, high = triple
    if shape in ("", "g"):
        s = tukey_s(low, mid, high)
        if s is None:
            return np.full_like(z, mid)
        a = mid - low
        if s == 0:
            x = z * (a / Z90)
        else:
            x = np.expm1(z * s)
            x *= a / -math.expm1(-s * Z90)
        x += mid
        return np.maximum(x, 0, out=x)
    if not 0 <= low <= mid <= high:
        raise ValueError(f"{low}, {mid}, {high} is not a minimum, mode, maximum")
    if low == high:
        return np.full_like(z, mid)
    u, width = ndtr(z), high - low
    if shape == "pert":
        return low + width * betaincinv(1 + 4 * (mid - low) / width, 1 + 4 * (high - mid) / width, u)
    if shape == "triangle":
        rising = low + np.sqrt(u * width * (mid - low))
        falling = high - np.sqrt(ndtr(-z) * width * (high - mid))
        return np.where(u * width < mid - low, rising, falling)
    raise ValueError(f"unknown shape {shape!r}")
