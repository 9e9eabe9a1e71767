"""Plots as SVG, the same on host and phone; stroke and name tell lines apart, not colour."""

from __future__ import annotations

import math
from collections.abc import Iterator
from html import escape

from calc.check import Line, Plot
from calc.units import show

WIDTH, HEIGHT = 328, 320
"""Size of the picture in its own units, which are about CSS pixels on a small phone."""

LEFT, RIGHT, TOP, BOTTOM = 46, 8, 30, 44
"""Room around the axes for what is written there."""

TEXT = 13
MOST_TICKS = 7
DAY = 24.0
"""[h]."""

SHORT_TIME = 2 * DAY
"""Up to this a time axis shows hours of the day, beyond it days [h]."""

DASHES = {"solid": "", "dashed": ' stroke-dasharray="9 5"', "dotted": ' stroke-dasharray="2 4"'}
LONGEST_NAME = 34


def svg(plot: Plot, key: str = "plot") -> str:
    """Return a plot as SVG; `key` begins its ids, so each plot on a page needs its own."""
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plot" viewBox="0 0 {WIDTH} {height(plot)}" role="img" '
        f'aria-labelledby="{key}-title {key}-words" fill="none" stroke="currentColor" font-size="{TEXT}">',
        f'<title id="{key}-title">{escape(plot.title)}</title>',
        f'<desc id="{key}-words">{escape(plot.words)}</desc>',
        *bands(plot),
        *axes(plot),
        *(curve(plot, line) for line in plot.lines),
        *marks(plot),
        *legend(plot),
        *cursor(plot),
        "</svg>",
    ]
    return "".join(parts)


def height(plot: Plot) -> int:
    """Return the picture's height: the axes, and a line of words for each line, mark and kind of band."""
    return HEIGHT + 20 * (len(plot.lines) + len(plot.marks) + bool(plot.bands))


def along(value: float, ends: tuple[float, float], axis: str = "log") -> float:
    """Return where a value lies between two ends of an axis, 0 to 1, kept inside."""
    low, high = ends
    if axis == "log":
        low, high, value = math.log(low), math.log(high), math.log(value)
    return min(1.0, max(0.0, (value - low) / (high - low)))


def across(plot: Plot, x: float) -> float:
    """Return how far to the right an x lies in the picture."""
    return LEFT + along(x, plot.x_range, plot.x_axis) * (WIDTH - LEFT - RIGHT)


def down(plot: Plot, y: float) -> float:
    """Return how far down a y lies in the picture."""
    return HEIGHT - BOTTOM - along(y, plot.y_range, plot.y_axis) * (HEIGHT - TOP - BOTTOM)


def spot(plot: Plot, x: float, y: float) -> str:
    """Return a point's place in the picture."""
    return f"{across(plot, x):.1f},{down(plot, y):.1f}"


Tick = tuple[float, float, str]
"""Where a line of the grid stands, where its words stand, and the words."""


def ticks(ends: tuple[float, float], axis: str) -> list[Tick]:
    """Return the lines of the grid of an axis."""
    if axis == "time":
        return times(*ends)
    values = decades(ends) if axis == "log" else rounds(*ends)
    return [(value, value, show(value)) for value in values]


def decades(ends: tuple[float, float]) -> list[float]:
    """Return the powers of ten within an axis."""
    first, last = math.ceil(math.log10(ends[0]) - 1e-9), math.floor(math.log10(ends[1]) + 1e-9)
    return [10.0**n for n in range(first, last + 1)]


def rounds(low: float, high: float) -> list[float]:
    """Return round values within a linear axis, at most MOST_TICKS.

    Examples
    --------
    >>> rounds(0, 100), rounds(11.8, 14.6)
    ([0.0, 20.0, 40.0, 60.0, 80.0, 100.0], [12.0, 12.5, 13.0, 13.5, 14.0, 14.5])
    """
    size = 10.0 ** math.floor(math.log10((high - low) / (MOST_TICKS - 1)))
    step = next(size * n for n in (1, 2, 5, 10) if (high - low) / (size * n) <= MOST_TICKS - 1)
    return every(step, low, high)


def every(step: float, low: float, high: float) -> list[float]:
    """Return the multiples of a step between two ends."""
    return [n * step for n in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)]


def times(start: float, end: float) -> list[Tick]:
    """Return the lines of a time axis: hours of the day, or midnights with each day's number between them."""
    if end - start <= SHORT_TIME:
        step = next(n for n in (1, 2, 3, 6, 12) if (end - start) / n <= MOST_TICKS or n == 12)
        return [(hour, hour, f"{hour % DAY:.0f}:00") for hour in every(step, start, end)]
    days = math.ceil(end / DAY) - math.floor(start / DAY)
    step = next(n for n in (1, 2, 5, 10, 20, 50, 100) if days / n <= MOST_TICKS)
    midnights = every(step * DAY, start, end)
    first = math.floor(start / DAY) * DAY
    noons = [(midnight, midnight + DAY / 2) for midnight in dict.fromkeys([first, *midnights])]
    return [(at, noon, f"{at / DAY + 1:.0f}" if start <= noon <= end else "") for at, noon in noons]


def bands(plot: Plot) -> Iterator[str]:
    """Yield the shaded stretches."""
    top, foot = TOP, HEIGHT - BOTTOM
    for start, end in plot.bands:
        left, right = across(plot, start), across(plot, end)
        if right > left:
            yield shade(left, top, right - left, foot - top)


def shade(left: float, top: float, wide: float, high: float) -> str:
    """Return a shaded rectangle."""
    return (
        f'<rect x="{left:.1f}" y="{top:.1f}" width="{wide:.1f}" height="{high:.1f}" '
        'fill="currentColor" fill-opacity="0.13" stroke="none"/>'
    )


def axes(plot: Plot) -> Iterator[str]:
    """Yield the frame, the grid with its numbers, and the axes' names."""
    left, right, top, foot = LEFT, WIDTH - RIGHT, TOP, HEIGHT - BOTTOM
    yield f'<path stroke-width="1.5" d="M{left},{top} L{left},{foot} L{right},{foot}"/>'
    for x, words_at, words in ticks(plot.x_range, plot.x_axis):
        if plot.x_range[0] <= x:
            yield f'<path stroke-width="0.5" stroke-opacity="0.5" d="M{spot(plot, x, plot.y_range[0])} L'
            yield f'{across(plot, x):.1f},{top}"/>'
        yield text(inside(across(plot, words_at), words), foot + 16, words, "middle")
    for y, _, words in ticks(plot.y_range, plot.y_axis):
        yield f'<path stroke-width="0.5" stroke-opacity="0.5" d="M{left},{down(plot, y):.1f} L'
        yield f'{right},{down(plot, y):.1f}"/>'
        yield text(left - 5, down(plot, y) + 4, words, "end")
    yield text(WIDTH - RIGHT, HEIGHT - 10, plot.x, "end")
    yield text(4, 16, plot.y, "start")


def text(x: float, y: float, words: str, anchor: str) -> str:
    """Return words in the picture."""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="currentColor" stroke="none">{escape(words)}</text>'
    )


def inside(x: float, words: str) -> float:
    """Return where words that are centred on an x have to stand so as not to stick out."""
    half = 0.3 * TEXT * len(words)
    return min(max(x, half), WIDTH - half)


def curve(plot: Plot, line: Line) -> str:
    """Return a line of the plot."""
    points = " L".join(spot(plot, x, y) for x, y in line.points)
    return f'<path stroke-width="2.5"{DASHES[line.stroke]} d="M{points}"/>'


def marks(plot: Plot) -> Iterator[str]:
    """Yield the upright marks, each with its number at its head."""
    for n, (x, _) in enumerate(plot.marks, 1):
        here = across(plot, x)
        yield f'<path stroke-width="1.5" stroke-dasharray="1 3" d="M{here:.1f},{HEIGHT - BOTTOM} L{here:.1f},{TOP}"/>'
        yield text(inside(here, str(n)), TOP - 3, str(n), "middle")


def cursor(plot: Plot) -> Iterator[str]:
    """Yield the upright line that follows a finger, at first unseen."""
    if plot.readings:
        yield f'<path class="cursor" stroke-width="2" hidden="" d="M0,{TOP} L0,{HEIGHT - BOTTOM}"/>'


def readings(plot: Plot) -> list[tuple[float, str]]:
    """Return where each reading lies in the picture, and its words."""
    return [(round(across(plot, x), 1), words) for x, words in plot.readings]


def legend(plot: Plot) -> Iterator[str]:
    """Yield below the axes what each stroke, each mark and the shading is."""
    row = HEIGHT + 8
    for line in plot.lines:
        yield f'<path stroke-width="2.5"{DASHES[line.stroke]} d="M6,{row} L44,{row}"/>'
        yield text(52, row + 4, line.name[:LONGEST_NAME], "start")
        row += 20
    if plot.bands:
        yield shade(6, row - 7, 38, 14)
        yield text(52, row + 4, plot.band[:LONGEST_NAME], "start")
        row += 20
    for n, (_, name) in enumerate(plot.marks, 1):
        yield text(25, row + 4, str(n), "middle")
        yield text(52, row + 4, name[:LONGEST_NAME], "start")
        row += 20
