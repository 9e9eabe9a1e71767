"""Charts of computed curves: matplotlib draws, and what it writes is made plain for the page."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from xml.etree import ElementTree

import matplotlib
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

from calc.units import show
from site_src.drawing import NUMBER, TEXT, WIDTH

SETTINGS = {
    "svg.fonttype": "none",
    "svg.hashsalt": "field book",
    "font.size": TEXT,
    "path.simplify": True,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 1.5,
    "xtick.major.size": 0,
    "ytick.major.size": 0,
    "grid.linewidth": 0.5,
    "grid.alpha": 0.5,
    "lines.linewidth": 2.5,
}
STROKES = {"solid": "-", "dashed": (0, (4, 2)), "dotted": (0, (1, 1.6)), "dashdot": (0, (6, 2, 1, 2))}
POINTS = 72
"""Points in an inch, which matplotlib's sizes go by."""

SVG = "{http://www.w3.org/2000/svg}"
KEPT = {
    "g": (),
    "path": ("d",),
    "text": ("x", "y"),
}
"""What is kept of matplotlib's SVG, and which attributes of it; the rest names ids, styles and places of its own."""

LEFT, RIGHT, TOP, BOTTOM = 40, 16, 24, 44
"""Room around the axes for what is written there [SVG unit]."""

Point = tuple[float, float]


class Chart:
    """A chart with words at its lines.

    Parameters
    ----------
    x, y : what the axes carry, with their units
    x_ticks, y_ticks : where the lines of the grid stand; the first and the last are the ends of the axes
    height : of the whole [SVG unit]
    log : whether the upright axis counts by powers
    left : room at the left for what is written there [SVG unit]
    bare : whether the upright axis is without a grid and numbers
    """

    def __init__(
        self,
        x: str,
        y: str,
        x_ticks: Sequence[float],
        y_ticks: Sequence[float],
        height: float = 264,
        log: bool = False,
        log_x: bool = False,
        left: float = LEFT,
        bare: bool = False,
    ):
        self.height = height
        with matplotlib.rc_context(SETTINGS):
            self.figure = Figure((WIDTH / POINTS, height / POINTS), POINTS)
            self.axes = self.figure.add_axes(
                (left / WIDTH, BOTTOM / height, (WIDTH - left - RIGHT) / WIDTH, (height - TOP - BOTTOM) / height)
            )
            self.axes.patch.set_visible(False)
            self.figure.patch.set_visible(False)
            self.axes.grid(True)
            self.axes.set_axisbelow(True)
        for axis, ticks, power in ((self.axes.xaxis, x_ticks, log_x), (self.axes.yaxis, y_ticks, log)):
            axis.axes.set(**{f"{axis.axis_name}scale": "log" if power else "linear"})
            axis.set_major_locator(FixedLocator(ticks))
            axis.set_minor_locator(NullLocator())
            axis.set_major_formatter(FuncFormatter(lambda value, _: show(value)))
        self.axes.set(xlim=(x_ticks[0], x_ticks[-1]), ylim=(y_ticks[0], y_ticks[-1]))
        self.axes.tick_params(pad=6)
        if bare:
            self.axes.grid(False, axis="y")
            self.axes.set_yticklabels([])
            self.axes.spines["left"].set_visible(False)
        self._write((WIDTH - RIGHT) / WIDTH, 5 / height, x, "right")
        self._write(3 / WIDTH, 1 - 13 / height, y, "left")

    def _write(self, x: float, y: float, words: str, anchor: str) -> None:
        """Write at a place of the whole, both 0 to 1."""
        with matplotlib.rc_context(SETTINGS):
            self.figure.text(x, y, words, ha=anchor, va="baseline")

    def line(self, points: Sequence[Point], stroke: str = "solid", width: float = 2.5, alpha: float = 1) -> None:
        """Draw a curve."""
        xs, ys = zip(*points, strict=True)
        with matplotlib.rc_context(SETTINGS):
            self.axes.plot(xs, ys, "k", ls=STROKES[stroke], lw=width, alpha=alpha)

    def words(self, x: float, y: float, text: str, anchor: str = "left") -> None:
        """Write at a place of the axes."""
        across, up = self.axes.transData.transform((x, y))
        lines = text.split("\n")
        for n, line in enumerate(lines):
            foot = up + ((len(lines) - 1) / 2 - n) * (TEXT + 4) - 0.36 * TEXT
            self._write(across / WIDTH, foot / self.height, line, anchor)

    def band(self, points: Sequence[Point], other: Sequence[Point], alpha: float = 0.15) -> None:
        """Shade what lies between two curves."""
        outline = [*points, *reversed(other)]
        self.axes.fill(*zip(*outline, strict=True), color="k", alpha=alpha, lw=0)

    def bar(self, y: float, low: float, high: float, thick: float, alpha: float = 0.25) -> None:
        """Draw a bar from one value to another, with an outline."""
        self.axes.barh(y, high - low, thick, low, color=(0, 0, 0, alpha), edgecolor="k", lw=1.5)

    def drawn(self) -> str:
        """Return what was drawn, as what stands inside an SVG."""
        written = io.BytesIO()
        with matplotlib.rc_context(SETTINGS):
            FigureCanvasSVG(self.figure).print_svg(written, metadata={"Date": None})
        root = ElementTree.fromstring(written.getvalue().decode())
        plain = ElementTree.Element("g", {"font-size": str(TEXT), "stroke-linecap": "butt"})
        _copy(root, plain, 1.0)
        return ElementTree.tostring(plain, encoding="unicode")


def _copy(source: ElementTree.Element, into: ElementTree.Element, seen: float) -> None:
    """Copy shapes and words from matplotlib's SVG, their style as attributes and black as the page's own ink."""
    for shape in source:
        tag = shape.tag.removeprefix(SVG)
        if tag not in KEPT:
            continue
        style = dict(pair.strip().split(": ", 1) for pair in shape.get("style", "").split(";") if ": " in pair)
        opacity = seen * float(style.get("opacity", 1))
        if tag == "g":
            _copy(shape, into, opacity)
        elif tag == "text" or style.get("stroke", "none") != "none" or style.get("fill") != "none":
            copied = ElementTree.SubElement(into, tag, attributes(tag, shape, style, opacity))
            copied.text = shape.text


def attributes(tag: str, shape: ElementTree.Element, style: dict[str, str], opacity: float) -> dict[str, str]:
    """Return what a shape of matplotlib's needs on the page."""
    kept = {name: rounded(shape.get(name)) for name in KEPT[tag] if name in shape.attrib}
    if tag == "text":
        turned = re.match(r"rotate\((-?[\d.]+)", shape.get("transform", ""))
        if turned and float(turned[1]):
            kept["transform"] = f"rotate({float(turned[1]):g} {kept['x']} {kept['y']})"
        anchor = style.get("text-anchor")
        return kept | {"fill": "currentColor", "stroke": "none"} | ({"text-anchor": anchor} if anchor else {})
    if style.get("fill", "#000000") != "none":
        kept |= {"fill": "currentColor", "fill-opacity": f"{float(style.get('fill-opacity', opacity)):g}"}
    if style.get("stroke", "none") == "none":
        return kept | {"stroke": "none"}
    kept["stroke-width"] = style.get("stroke-width", "1")
    if "stroke-dasharray" in style:
        kept["stroke-dasharray"] = style["stroke-dasharray"]
    seen = float(style.get("stroke-opacity", opacity))
    return kept | ({"stroke-opacity": f"{seen:g}"} if seen < 1 else {})


def rounded(numbers: str) -> str:
    """Return a path or a place with its numbers to a tenth, so that every machine draws the same."""
    return NUMBER.sub(lambda m: f"{round(float(m[0]), 1) + 0.0:g}", " ".join(numbers.split()))
