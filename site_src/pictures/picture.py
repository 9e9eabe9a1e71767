"""What a picture is, and the sheet that circuits are drawn on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from xml.etree import ElementTree

from schemdraw import elements as symbols

from site_src import drawing
from site_src.drawing import TEXT, WIDTH, Sheet, at, wire

SMALL = 12
"""Height of the smallest letters [SVG unit]."""


@dataclass(frozen=True)
class Picture:
    """A picture of a guide.

    Attributes
    ----------
    title : what it shows, in a few words
    words : the same as the drawing, in sentences, for everyone and for who cannot see it
    svg : what stands inside the SVG
    height, width : of the drawing [SVG unit], about CSS pixels on a small phone
    """

    title: str
    words: str
    svg: str
    height: float
    width: float = WIDTH


class Circuit(Sheet):
    """A sheet that a circuit is drawn on, place by place: right and down are positive [SVG unit]."""

    right = WIDTH - drawing.MARGIN
    """Where words have to end [SVG unit]."""

    def __init__(self):
        super().__init__()
        self.group_ = ElementTree.SubElement(self.svg, "g")

    def add(self, symbol: type[symbols.Element], start: drawing.Place, end: drawing.Place, **how) -> None:
        """Draw a symbol from one place to another."""
        self.draw(self.group_, symbol(**how).at(at(*start)).to(at(*end)))

    def line(self, *places: drawing.Place, **how) -> None:
        """Draw lines from place to place."""
        self.draw(self.group_, *wire(*places, **how))

    def dot(self, *places: drawing.Place) -> None:
        """Draw the dots of junctions."""
        self.draw(self.group_, *drawing.dots(*places))

    def body(self, place: drawing.Place) -> None:
        """Draw the symbol of the vehicle's body at the end of a line."""
        self.draw(self.group_, symbols.GroundChassis(lead=False).at(at(*place)))

    def box(self, left: float, top: float, wide: float, high: float, **more: str) -> None:
        """Draw a rectangle."""
        where = {"x": left, "y": top, "width": wide, "height": high}
        ElementTree.SubElement(self.group_, "rect", {k: f"{v:g}" for k, v in where.items()} | dashes(more))

    def path(self, d: str, **more: str) -> None:
        """Draw a path of SVG."""
        ElementTree.SubElement(self.group_, "path", {"d": d} | dashes(more))

    def arrow(self, start: drawing.Place, end: drawing.Place) -> None:
        """Draw an arrow."""
        (x0, y0), (x1, y1) = start, end
        length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        ux, uy = (x1 - x0) / length, (y1 - y0) / length
        wings = [(x1 - 8 * ux + 5 * s * uy, y1 - 8 * uy - 5 * s * ux) for s in (1, -1)]
        self.path(f"M{x0:g},{y0:g} L{x1:g},{y1:g}" + "".join(f" M{x:.1f},{y:.1f} L{x1:g},{y1:g}" for x, y in wings))

    def number(self, x: float, y: float, number: int) -> None:
        """Write a number in a ring."""
        ring = {"cx": f"{x:g}", "cy": f"{y:g}", "r": "10", "stroke-width": "1.5"}
        ElementTree.SubElement(self.group_, "circle", ring)
        self.text(x, y + 4.5, str(number), anchor="middle")

    def text(
        self, x: float, y: float, words: str, size: float = TEXT, anchor: str = "start", bold: bool = False
    ) -> None:
        """Write one line; y is its foot."""
        more = {"text_anchor": anchor} if anchor != "start" else {}
        self.write(self.group_, x, y, words, size, **more, **({"font_weight": "600"} if bold else {}))

    def lines(self, x: float, y: float, several: Iterable[str], size: float = TEXT, anchor: str = "start") -> None:
        """Write several lines below one another; y is the foot of the first."""
        for n, words in enumerate(several):
            self.text(x, y + n * (size + 4), words, size, anchor)

    def drawn(self) -> str:
        """Return what was drawn, as what stands inside an SVG."""
        return ElementTree.tostring(self.group_, encoding="unicode")


def dashes(more: dict[str, str]) -> dict[str, str]:
    """Return attributes of SVG by their names in Python."""
    return {name.replace("_", "-"): value for name, value in more.items()}
