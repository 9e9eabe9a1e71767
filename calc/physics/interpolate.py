"""Reading between the rows of a table."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence


def linear(x: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    """Return y at x on the straight lines between the points, level outside them.

    Parameters
    ----------
    x : where to read [-]
    xs : rising places of the points [-]
    ys : values at the points [-]

    Returns
    -------
    y : value [-]

    Examples
    --------
    >>> linear(1.5, [1, 2], [10, 20])
    15.0
    >>> linear(9, [1, 2], [10, 20])
    20
    """
    if x <= xs[0]:
        return ys[0]
    if x >= xs[-1]:
        return ys[-1]
    i = bisect_right(xs, x)
    share = (x - xs[i - 1]) / (xs[i] - xs[i - 1])
    return ys[i - 1] + share * (ys[i] - ys[i - 1])


def log_log(x: float, xs: Sequence[float], ys: Sequence[float]) -> float:
    """Return y at x on straight lines between the points on log-log axes, level outside them.

    Parameters
    ----------
    x : where to read, above 0 [-]
    xs : rising places of the points, above 0 [-]
    ys : values at the points, above 0 [-]

    Returns
    -------
    y : value [-]

    Examples
    --------
    >>> round(log_log(10, [1, 100], [2, 200]), 9)
    20.0
    """
    return math.exp(linear(math.log(x), [math.log(v) for v in xs], [math.log(v) for v in ys]))
