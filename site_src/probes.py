"""Where the two probes of a meter go, as a drawing: an SVG, the same on host and phone.

The circuit lies on its side: plus above, minus below; the alternator, the starter battery, the second battery and the
load stand between the two; fuses and link lie on the plus side. The probes come from outside, each told by its word
and its shape: red is round, black is square. What lies between two probes on one side is drawn thick. Ink is the page's
own (`currentColor`); the tint of the red probe comes from the style sheet and tells nothing that its word does not.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape

from calc.check import Probing
from calc.physics.faults import PROBES

WIDTH, HEIGHT = 328, 216
"""Size of the drawing [SVG unit]; as many CSS pixels on a phone of 360."""

PLUS, MINUS = 74, 142
"""Height of the plus and of the minus side, from the top [SVG unit]."""

MIDDLE = (PLUS + MINUS) / 2
ALTERNATOR, STARTER, SECOND, LOAD = 32, 98, 252, 304
"""Where what stands between the two sides is, from the left [SVG unit]."""

LINK = (STARTER + SECOND) / 2
POINTS = {
    "alternator +": (ALTERNATOR, PLUS),
    "alternator -": (ALTERNATOR, MINUS),
    "starter +": (STARTER, PLUS),
    "ground": (STARTER, MINUS),
    "front fuse": (134, PLUS),
    "link in": (157, PLUS),
    "link out": (193, PLUS),
    "rear fuse": (216, PLUS),
    "second +": (SECOND, PLUS),
    "second -": (SECOND, MINUS),
    "load +": (LOAD, PLUS),
    "load -": (LOAD, MINUS),
    "ignition": (LINK, PLUS - 17),
    "second current": (SECOND, MINUS - 10),
    "starter current": (STARTER, MINUS - 10),
}
"""Where the points of `calc.physics.faults.NODES` lie."""

BODY = {"link-in": (LINK, MINUS), "link-out": (LINK, MINUS), "ignition": (LINK, MINUS), "second-earth": (206, MINUS)}
"""Where the black probe touches the body, for the places where that is not the starter battery's minus post."""

FLAG_ABOVE, FLAG_BELOW = 39, 169
"""Height of the middle of a probe's word [SVG unit]."""

FLAG_HEIGHT = 22
FLAG_WIDTHS = {"red": 42, "black": 56, "meter": 58}
TEXT, SMALL = 14, 12.5
NAMES = {"wire": "", "switch": "switch", "relay": "relay", "charger": "charger"}
BACK = {"body": "vehicle body", "cable": "return cable"}
NOT_JOINED = "nothing joins them"


@dataclass(frozen=True)
class Vehicle:
    """How the vehicle stands while a reading is taken: its engine and its loads, in words and as drawn."""

    engine: str
    loads: str
    turns: bool
    is_on: bool


STATES = {
    "rested": Vehicle("Engine off", "loads off", False, False),
    "load-on": Vehicle("Engine off", "loads on", False, True),
    "running": Vehicle("Engine running", "loads off", True, False),
    "running-load": Vehicle("Engine running", "loads on", True, True),
    "lights": Vehicle("Engine running, headlamps on", "loads off", True, False),
    "cranking": Vehicle("Engine being started", "loads off", True, False),
}


def svg(probing: Probing, link: str, return_path: str, key: str = "probes") -> str:
    """Return the drawing of a reading in a set-up; `key` begins its ids, so each on a page needs its own."""
    state = STATES[probing.state]
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="probes" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-labelledby="{key}-title {key}-words" fill="none" stroke="currentColor" stroke-width="2" '
        f'font-size="{SMALL}">',
        f'<title id="{key}-title">Where the probes go</title>',
        f'<desc id="{key}-words">{escape(words(probing))}</desc>',
        *standing(state),
        *rungs(state),
        *way(link),
        *returning(link, return_path),
        *tested(probing),
        *probes(probing),
        "</svg>",
    ]
    return "".join(parts)


def words(probing: Probing) -> str:
    """Return what the drawing shows, in words."""
    state = STATES[probing.state]
    where = f"Red probe: {probing.red}. Black probe: {probing.black}." if probing.black else f"Meter: {probing.red}."
    return f"{where} {state.engine}, {state.loads}."


def text(x: float, y: float, said: str, anchor: str = "middle", weight: str = "") -> str:
    """Return words in the drawing."""
    bold = f' font-weight="{weight}" font-size="{TEXT}"' if weight else ""
    return f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}" fill="currentColor" stroke="none"{bold}>{said}</text>'


def line(*points: tuple[float, float], more: str = "") -> str:
    """Return a line through some points."""
    return f'<path d="M{" L".join(f"{x:g},{y:g}" for x, y in points)}"{more}/>'


def box(x: float, y: float, wide: float, high: float, more: str = "") -> str:
    """Return a rectangle about a middle."""
    return f'<rect x="{x - wide / 2:g}" y="{y - high / 2:g}" width="{wide:g}" height="{high:g}"{more}/>'


def standing(state: Vehicle) -> Iterator[str]:
    """Yield how the vehicle stands: a square for an engine that is off, a triangle for one that turns, and words."""
    mark = "M4,5 L4,19 L16,12 Z" if state.turns else "M4,6 L16,6 L16,18 L4,18 Z"
    yield f'<path d="{mark}" fill="currentColor" stroke="none"/>'
    yield text(22, 17, state.engine, "start", "700")
    yield text(WIDTH - 4, 17, state.loads, "end", "700")


def rungs(state: Vehicle) -> Iterator[str]:
    """Yield what stands between plus and minus, each with its name below."""
    yield line((ALTERNATOR, PLUS), (ALTERNATOR, MIDDLE - 14))
    yield line((ALTERNATOR, MIDDLE + 14), (ALTERNATOR, MINUS))
    yield f'<circle cx="{ALTERNATOR}" cy="{MIDDLE:g}" r="14"/>' + text(ALTERNATOR, MIDDLE + 5, "G", weight="700")
    if state.turns:
        yield f'<path d="M{ALTERNATOR + 14},{MIDDLE - 14:g} a20,20 0 0 1 0,28 l-1,-7 m1,7 l7,-1"/>'
    for x in (STARTER, SECOND):
        yield line((x, PLUS), (x, MIDDLE - 4)) + line((x, MIDDLE + 4), (x, MINUS))
        yield line((x - 14, MIDDLE - 4), (x + 14, MIDDLE - 4))
        yield line((x - 8, MIDDLE + 4), (x + 8, MIDDLE + 4), more=' stroke-width="5"')
        yield text(x - 11 if x == STARTER else x + 11, MIDDLE - 9, "+", weight="700")
    open_end = (LOAD, MIDDLE - 8) if state.is_on else (LOAD + 12, MIDDLE - 13)
    yield line((LOAD, PLUS), (LOAD, MIDDLE - 24)) + line((LOAD, MIDDLE - 24), open_end)
    yield line((LOAD, MIDDLE - 8), (LOAD, MIDDLE)) + box(LOAD, MIDDLE + 9, 18, 18)
    yield line((LOAD, MIDDLE + 18), (LOAD, MINUS))
    for x, name in ((ALTERNATOR, "Alternator"), (LOAD, "Load")):
        yield text(x, HEIGHT - 19, name)
    for x, name in ((STARTER, "Starter"), (SECOND, "Second")):
        yield text(x, HEIGHT - 19, name) + text(x, HEIGHT - 5, "battery")


def way(link: str) -> Iterator[str]:
    """Yield the plus side: fuses, the link and the cables between them."""
    yield line((ALTERNATOR, PLUS), (STARTER, PLUS)) + line((SECOND, PLUS), (LOAD, PLUS))
    if link == "none":
        yield text(LINK, PLUS + 5, NOT_JOINED)
        return
    yield line((STARTER, PLUS), (SECOND, PLUS))
    for x in ((STARTER + POINTS["front fuse"][0]) / 2, (POINTS["rear fuse"][0] + SECOND) / 2):
        yield box(x, PLUS, 20, 10, ' rx="2"') + text(x, PLUS + 20, "fuse")
    if link != "wire":
        yield box(LINK, PLUS, 30, 20, ' class="paper"') + text(LINK, PLUS + 28, NAMES[link])


def returning(link: str, return_path: str) -> Iterator[str]:
    """Yield the minus side: the engine's strap, the way back, the load's wire."""
    yield line((ALTERNATOR, MINUS), (STARTER, MINUS)) + text((ALTERNATOR + STARTER) / 2, MINUS - 9, "strap")
    yield line((SECOND, MINUS), (LOAD, MINUS))
    if link != "none":
        yield line((STARTER, MINUS), (SECOND, MINUS)) + text(LINK, MINUS - 9, BACK[return_path])


def tested(probing: Probing) -> Iterator[str]:
    """Yield what lies between the probes, where both are on one side."""
    (red_x, red_y), (black_x, black_y) = ends(probing)
    if red_y == black_y and probing.black:
        yield line((red_x, red_y), (black_x, black_y), more=' stroke-width="9" stroke-opacity="0.3"')


def ends(probing: Probing) -> list[tuple[float, float]]:
    """Return where the red and the black probe touch."""
    red, black = PROBES[probing.place]
    return [POINTS[red], BODY.get(probing.place, POINTS[black])]


def probes(probing: Probing) -> Iterator[str]:
    """Yield the two probes, or the meter around a lead."""
    red, black = ends(probing)
    if probing.place == "ignition":
        yield line(red, (LINK, PLUS - 10)) + text(LINK + 10, PLUS - 13, "ignition wire", "start")
    if not probing.black:
        x, y = red
        yield f'<ellipse cx="{x}" cy="{y:g}" rx="11" ry="5" stroke-width="3"/>'
        yield from flag("meter", (x, y + 5), x, FLAG_BELOW)
        return
    reds, blacks = places(red, black)
    yield from flag("red", red, reds, above_or_below(red))
    yield from flag("black", black, blacks, above_or_below(black))


def above_or_below(point: tuple[float, float]) -> float:
    """Return the height of the word of a probe that touches a point."""
    return FLAG_ABOVE if point[1] <= PLUS else FLAG_BELOW


def places(red: tuple[float, float], black: tuple[float, float]) -> tuple[float, float]:
    """Return where the words of both probes stand, from the left: beside each other where they come from one side."""
    at = {"red": inside("red", red[0]), "black": inside("black", black[0])}
    if above_or_below(red) == above_or_below(black):
        left, right = sorted(at, key=at.get)
        room = (FLAG_WIDTHS[left] + FLAG_WIDTHS[right]) / 2 + 6
        short = max(0.0, room - (at[right] - at[left]))
        at[left] = inside(left, at[left] - short / 2)
        at[right] = inside(right, max(at[left] + room, at[right]))
        at[left] = min(at[left], at[right] - room)
    return at["red"], at["black"]


def inside(name: str, x: float) -> float:
    """Return where a probe's word has to stand so as not to stick out of the drawing."""
    half = FLAG_WIDTHS[name] / 2 + 2
    return min(max(x, half), WIDTH - half)


def flag(name: str, tip: tuple[float, float], x: float, y: float) -> Iterator[str]:
    """Yield a probe: its word in a frame, its lead, and its tip, round for red and square for black."""
    x_tip, y_tip = tip
    toward = FLAG_HEIGHT / 2 if y < y_tip else -FLAG_HEIGHT / 2
    yield f'<g class="{name}-probe" stroke-width="2.5">'
    yield line((x, y + toward), tip)
    round_ends = f' rx="{FLAG_HEIGHT / 2:g}"' if name == "red" else ""
    yield box(x, y, FLAG_WIDTHS[name], FLAG_HEIGHT, round_ends + ' class="paper"')
    yield text(x, y + 5, name.upper(), weight="700")
    if name == "red":
        yield f'<circle cx="{x_tip:g}" cy="{y_tip:g}" r="5" fill="currentColor"/>'
    elif name == "black":
        yield box(x_tip, y_tip, 9, 9, ' fill="currentColor"')
    yield "</g>"
