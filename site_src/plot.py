"""Plots on logarithmic axes as SVG, the same on host and phone; stroke and name tell lines apart, not colour."""

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
DASHES = {"solid": "", "dashed": ' stroke-dasharray="9 5"', "dotted": ' stroke-dasharray="2 4"'}
LONGEST_NAME = 34


def svg(plot: Plot, key: str = "plot") -> str:
    """Return a plot as SVG; `key` begins its ids, so each plot on a page needs its own."""
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="plot" viewBox="0 0 {WIDTH} {height(plot)}" role="img" '
        f'aria-labelledby="{key}-title {key}-words" fill="none" stroke="currentColor" font-size="{TEXT}">',
        f'<title id="{key}-title">{escape(plot.title)}</title>',
        f'<desc id="{key}-words">{escape(plot.words)}</desc>',
        *axes(plot),
        *(curve(plot, line) for line in plot.lines),
        *marks(plot),
        *legend(plot),
        "</svg>",
    ]
    return "".join(parts)


def height(plot: Plot) -> int:
    """Return the picture's height: the axes, and a line of words for each line and mark."""
    return HEIGHT + 20 * (len(plot.lines) + len(plot.marks))


def along(value: float, ends: tuple[float, float]) -> float:
    """Return where a value lies between two ends on a logarithmic axis, 0 to 1, kept inside."""
    low, high = (math.log(end) for end in ends)
    return min(1.0, max(0.0, (math.log(value) - low) / (high - low)))


def spot(plot: Plot, x: float, y: float) -> str:
    """Return a point's place in the picture."""
    across = LEFT + along(x, plot.x_range) * (WIDTH - LEFT - RIGHT)
    down = HEIGHT - BOTTOM - along(y, plot.y_range) * (HEIGHT - TOP - BOTTOM)
    return f"{across:.1f},{down:.1f}"


def decades(ends: tuple[float, float]) -> list[float]:
    """Return the powers of ten within an axis."""
    first, last = math.ceil(math.log10(ends[0]) - 1e-9), math.floor(math.log10(ends[1]) + 1e-9)
    return [10.0**n for n in range(first, last + 1)]


def axes(plot: Plot) -> Iterator[str]:
    """Yield the frame, the grid with its numbers, and the axes' names."""
    low, high = plot.x_range[0], plot.y_range[1]
    yield f'<path stroke-width="1.5" d="M{spot(plot, low, high)} L{spot(plot, low, plot.y_range[0])} '
    yield f'L{spot(plot, plot.x_range[1], plot.y_range[0])}"/>'
    for x in decades(plot.x_range):
        here = spot(plot, x, plot.y_range[0])
        yield f'<path stroke-width="0.5" stroke-opacity="0.5" d="M{here} L{spot(plot, x, high)}"/>'
        across, down = here.split(",")
        yield text(float(across), float(down) + 16, show(x), "middle")
    for y in decades(plot.y_range):
        here = spot(plot, low, y)
        yield f'<path stroke-width="0.5" stroke-opacity="0.5" d="M{here} L{spot(plot, plot.x_range[1], y)}"/>'
        across, down = here.split(",")
        yield text(float(across) - 5, float(down) + 4, show(y), "end")
    yield text(WIDTH - RIGHT, HEIGHT - 10, plot.x, "end")
    yield text(4, 16, plot.y, "start")


def text(x: float, y: float, words: str, anchor: str) -> str:
    """Return words in the picture."""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="currentColor" stroke="none">{escape(words)}</text>'
    )


def curve(plot: Plot, line: Line) -> str:
    """Return a line of the plot."""
    points = " L".join(spot(plot, x, y) for x, y in line.points)
    return f'<path stroke-width="2.5"{DASHES[line.stroke]} d="M{points}"/>'


def marks(plot: Plot) -> Iterator[str]:
    """Yield the upright marks, each with its number at its head."""
    for n, (x, _) in enumerate(plot.marks, 1):
        top, foot = spot(plot, x, plot.y_range[1]), spot(plot, x, plot.y_range[0])
        yield f'<path stroke-width="1.5" stroke-dasharray="1 3" d="M{foot} L{top}"/>'
        across, down = (float(part) for part in top.split(","))
        yield text(across, down - 3, str(n), "middle")


def legend(plot: Plot) -> Iterator[str]:
    """Yield below the axes what each stroke and each mark is."""
    row = HEIGHT + 8
    for line in plot.lines:
        yield f'<path stroke-width="2.5"{DASHES[line.stroke]} d="M6,{row} L44,{row}"/>'
        yield text(52, row + 4, line.name[:LONGEST_NAME], "start")
        row += 20
    for n, (_, name) in enumerate(plot.marks, 1):
        yield text(25, row + 4, str(n), "middle")
        yield text(52, row + 4, name[:LONGEST_NAME], "start")
        row += 20
