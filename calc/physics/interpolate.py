"""Reading between the rows of a table."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence


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


def _end_slope(near: float, far: float, line: float, next_line: float) -> float:
    """Return the slope at an end: three-point, held to the sign of its line and to three times its steepness."""
    slope = ((2 * near + far) * line - near * next_line) / (near + far)
    if slope * line <= 0:
        return 0.0
    return 3 * line if line * next_line <= 0 and abs(slope) > 3 * abs(line) else slope


def monotone_slopes(xs: Sequence[float], ys: Sequence[float]) -> list[float]:
    """Return the slopes at which cubics through points never overshoot them (Fritsch and Butland 1984).

    Inside, the harmonic mean of the lines on both sides, weighted by their widths, 0 at a turning point; at the ends
    the three-point formula, limited (Fritsch and Carlson 1980). SciPy's PchipInterpolator has the same.

    Parameters
    ----------
    xs : rising places of the points, three or more [-]
    ys : values at the points [-]

    Returns
    -------
    slopes : at each point [-]

    Examples
    --------
    >>> [round(slope, 9) for slope in monotone_slopes([0, 1, 2, 4], [0, 1, 4, 16])]
    [0.0, 1.5, 3.857142857, 8.0]
    """
    widths = [b - a for a, b in zip(xs, xs[1:], strict=False)]
    lines = [(b - a) / width for a, b, width in zip(ys, ys[1:], widths, strict=False)]
    slopes = [_end_slope(widths[0], widths[1], lines[0], lines[1])]
    for before, after, left, right in zip(widths, widths[1:], lines, lines[1:], strict=False):
        if left * right <= 0:
            slopes.append(0.0)
            continue
        near, far = 2 * after + before, after + 2 * before
        slopes.append((near + far) / (near / left + far / right))
    slopes.append(_end_slope(widths[-1], widths[-2], lines[-1], lines[-2]))
    return slopes


def monotone_cubic(xs: Sequence[float], ys: Sequence[float]) -> tuple[Callable, Callable, Callable]:
    """Return a smooth curve through points that never overshoots them, its integral and its slope, as fast functions.

    Cubics with `monotone_slopes`; outside the points the slopes of the ends go straight on. The integral is counted
    from the first point.

    Parameters
    ----------
    xs : rising places of the points, three or more [-]
    ys : values at the points [-]

    Returns
    -------
    value, integral, slope : functions of one place [-]

    Examples
    --------
    >>> value, integral, slope = monotone_cubic([0, 1, 2], [0, 2, 4])
    >>> value(1.5), integral(2), slope(3)
    (3.0, 4.0, 2.0)
    """
    slopes = monotone_slopes(xs, ys)
    pieces = [(xs[0], 0.0, ys[0], slopes[0], 0.0, 0.0)]
    area = 0.0
    for i, (left, right) in enumerate(zip(xs, xs[1:], strict=False)):
        width, begin, end = right - left, slopes[i], slopes[i + 1]
        line = (ys[i + 1] - ys[i]) / width
        bend, twist = (3 * line - 2 * begin - end) / width, (begin + end - 2 * line) / width**2
        pieces.append((left, area, ys[i], begin, bend, twist))
        area += width * (ys[i] + width * (begin / 2 + width * (bend / 3 + width * twist / 4)))
    pieces.append((xs[-1], area, ys[-1], slopes[-1], 0.0, 0.0))
    places = tuple(xs)
    values = tuple((x, a, b, c, d) for x, _, a, b, c, d in pieces)
    integrals = tuple((x, s, a, b / 2, c / 3, d / 4) for x, s, a, b, c, d in pieces)
    derivatives = tuple((x, b, 2 * c, 3 * d) for x, _, _, b, c, d in pieces)

    def value(x: float) -> float:
        left, a, b, c, d = values[bisect_right(places, x)]
        t = x - left
        return a + t * (b + t * (c + t * d))

    def integral(x: float) -> float:
        left, area, a, b, c, d = integrals[bisect_right(places, x)]
        t = x - left
        return area + t * (a + t * (b + t * (c + t * d)))

    def slope(x: float) -> float:
        left, b, c, d = derivatives[bisect_right(places, x)]
        t = x - left
        return b + t * (c + t * d)

    return value, integral, slope
