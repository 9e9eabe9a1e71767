"""A set-up as a drawing: an SVG for the page, and a paragraph that says the same.

Drawn from top to bottom, for a phone held upright: the minus side at the left, the plus side beside it, words to the
right. What stands between the two (alternator, batteries, panels, loads) is a rung; what the current passes through
from the starter battery to the second one (fuses, pieces of cable, the link) lies on the plus side. Where in the cable
the link sits is not asked: it is drawn before the last piece.

What is assumed is dashed and bears a “?”; what was not entered is thin, dotted and in slanted letters. No colour and no
style is written: ink is the page's own (`currentColor`), so that a drawing follows its theme and the site's policy.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from xml.etree import ElementTree

import schemdraw
from schemdraw import elements as symbols
from schemdraw.segments import Segment

from calc.setup.model import LONGEST_NAME, SetUp
from calc.units import shorten

schemdraw.use("svg")

WIDTH = 328
"""Of the drawing [SVG unit]; as many CSS pixels on a phone of 360."""

MINUS, PLUS, WORDS = 16, 72, 98
"""Where the minus side, the plus side and the words stand, from the left [SVG unit]."""

SIDE = 28
"""Where several links beside one another join again [SVG unit]."""

MARGIN = 4
UNIT = 28
"""Length of a symbol [SVG unit]."""

TITLE, TEXT = 14, 13
"""Height of letters [SVG unit]."""

BOLD = 1.08
"""How much wider than others the letters of a title are [-]."""

LINE = 17
"""From one line of words to the next [SVG unit]."""

THIN, FINE, THICK = 2, 1.2, 4.5
"""Width of a line, of what was not entered, and of cable [SVG unit]."""

DASHES, DOTS = "5,3.5", "0.1,4"
CABLE_DASHES = "8,4"

NOT_ENTERED = "not entered yet"
CHEMISTRY = {"flooded": "flooded", "calcium": "calcium", "agm": "AGM", "gel": "gel", "lfp": "LFP"}
ALTERNATOR = {"fixed": "fixed voltage", "compensating": "falls as it warms", "smart": "smart"}
ZONE = {"engine_bay": "in the engine bay", "under": "under the body", "cabin": "inside the vehicle"}
LINK = {
    "none": "Nothing joins them",
    "wire": "Wired straight through",
    "switch": "Switch turned by hand",
    "relay": "Voltage-sensitive relay",
    "charger": "DC-DC charger",
}
BACK = {"body": "by the body", "cable": "by a cable beside it"}

ASSUMED_NOTE = "“?” and dashes: not known, a usual value stands there."
LINK_NOTE = "Where the link sits in the cable is not asked: it is drawn before the last piece."


# What is drawn


@dataclass(frozen=True)
class Item:
    """One thing in the drawing.

    Attributes
    ----------
    part : key of its part, as the drawing's groups are marked
    symbol : which symbol stands for it
    title, details : its words, the first line and those below
    said : the same inside a sentence
    value : what stands at the right end of the first line
    assumed : whether something shown of it was not given
    entered : whether anything of it was entered
    """

    part: str
    symbol: str
    title: str
    details: tuple[str, ...]
    said: str
    value: str = ""
    assumed: bool = False
    entered: bool = True

    @property
    def lines(self) -> int:
        """How many lines of words it has."""
        return 1 + len(self.details)


@dataclass(frozen=True)
class Plan:
    """Everything in the drawing, in its order.

    Attributes
    ----------
    front : between the two sides at the starter battery
    before, links, after : on the way to the second battery
    rear : between the two sides at the second battery
    back : how the current comes back, a key of BACK
    back_assumed : whether nobody said so
    notes : sentences below the drawing
    """

    front: tuple[Item, ...]
    before: tuple[Item, ...]
    links: tuple[Item, ...]
    after: tuple[Item, ...]
    rear: tuple[Item, ...]
    back: str
    back_assumed: bool
    notes: tuple[str, ...]

    @property
    def items(self) -> tuple[Item, ...]:
        """All of them."""
        return self.front + self.before + self.links + self.after + self.rear


def entered(s: SetUp, part: str, number: int = 0) -> bool:
    """Return whether anything was typed of a part."""
    return any(any(one.values()) for one in s.entries.get(part, ())[number : number + 1])


def assumed(s: SetUp, part: str, number: int, *names: str) -> bool:
    """Return whether any of some places stands for a usual value."""
    return any(s.known(part, number, name).assumed for name in names)


def shown(s: SetUp, part: str, number: int, name: str, words: Mapping[str, str] | None = None) -> str:
    """Return an entry as it is drawn, with “?” where it is assumed."""
    known = s.known(part, number, name)
    text = words[known.entry.value] if words else known.entry.text
    return f"{text}?" if known.assumed else text


def missing(part: str, symbol: str, title: str) -> Item:
    """Return what stands for a part that was not entered."""
    return Item(part, symbol, title, (NOT_ENTERED,), title.lower(), entered=False)


def which(s: SetUp, part: str, number: int) -> str:
    """Return the number that tells several of a part apart."""
    return f" {number + 1}" if s.count(part) > 1 else ""


def with_article(title: str, article: str) -> str:
    """Return a title inside a sentence: "the second battery", but "second battery 2"."""
    return title.lower() if title[-1].isdigit() else f"{article} {title.lower()}"


def plan(s: SetUp) -> Plan:
    """Return what is drawn of a set-up."""
    loads = [n for n in range(s.count("load")) if entered(s, "load", n)]
    of_starter = [n for n in loads if s.known("load", n, "battery").entry.value == "starter"]
    of_second = [n for n in loads if n not in of_starter]
    pieces = [list(piece(s, n)) for n in range(s.count("run")) if entered(s, "run", n)]
    links = tuple(link(s, n) for n in range(s.count("link")) if entered(s, "link", n))
    last = pieces.pop() if len(pieces) > 1 else []
    before = [item for one in pieces for item in one]
    front = (alternator(s), starter(s), *(load(s, n) for n in of_starter))
    before = tuple(before) or (missing("run", "piece", "Cable"),)
    rear = (*seconds(s), *panels(s), *mains(s), *(load(s, n) for n in of_second))
    rear = rear if loads else (*rear, missing("load", "load", "Loads"))
    links = links or (missing("link", "unknown", "Link"),)
    back = s.known("vehicle", 0, "earth_path")
    unsure = any(i.assumed for i in (*front, *before, *links, *last, *rear)) or back.assumed
    notes = ((LINK_NOTE,) if last and links[0].entered else ()) + ((ASSUMED_NOTE,) if unsure else ())
    return Plan(front, before, links, tuple(last), rear, back.entry.value, back.assumed, notes)


def alternator(s: SetUp) -> Item:
    """The alternator: its kind and output."""
    if not entered(s, "alternator"):
        return missing("alternator", "generator", "Alternator")
    kind = shown(s, "alternator", 0, "kind", ALTERNATOR)
    output = shown(s, "alternator", 0, "rated_output")
    unsure = assumed(s, "alternator", 0, "kind", "rated_output")
    said = f"the alternator ({kind}, {output})"
    return Item("alternator", "generator", "Alternator", (f"{output}, {kind}",), said, assumed=unsure)


def battery(s: SetUp, part: str, number: int, title: str) -> Item:
    """A battery: its capacity and chemistry."""
    if not entered(s, part, number):
        return missing(part, "battery", title)
    text = f"{shown(s, part, number, 'capacity')} {shown(s, part, number, 'chemistry', CHEMISTRY)}"
    unsure = assumed(s, part, number, "capacity", "chemistry")
    return Item(part, "battery", title, (text,), f"{with_article(title, 'the')} ({text})", assumed=unsure)


def starter(s: SetUp) -> Item:
    """The battery that starts the engine."""
    return battery(s, "starter", 0, "Starter battery")


def seconds(s: SetUp) -> tuple[Item, ...]:
    """The batteries that are lived from; one that was not entered where there is none."""
    return tuple(
        battery(s, "second", n, f"Second battery{which(s, 'second', n)}") for n in range(max(1, s.count("second")))
    )


def piece(s: SetUp, number: int) -> Iterator[Item]:
    """The fuse at the start of a piece of cable, unless there is none; the piece; the fuse at its end, if entered."""
    fuse = s.known("run", number, "fuse")
    if fuse.assumed:
        yield Item("fuse", "fuse", "Fuse?", (), "a fuse (not known)", assumed=True)
    elif fuse.entry.value:
        yield Item("fuse", "fuse", f"Fuse {fuse.entry.text}", (), f"a {fuse.entry.text} fuse")
    text = f"{shown(s, 'run', number, 'length')} of {shown(s, 'run', number, 'size')}"
    zone = shown(s, "run", number, "zone", ZONE)
    unsure = assumed(s, "run", number, "length", "size", "zone")
    short = text.replace(" overall diameter", " overall")
    yield Item("run", "piece", short, (zone,), f"{text} {zone}", assumed=unsure)
    end = s.known("run", number, "end_fuse")
    if not end.assumed and end.entry.value:
        yield Item("fuse", "fuse", f"Fuse {end.entry.text}", (), f"a {end.entry.text} fuse")


def link(s: SetUp, number: int) -> Item:
    """What joins the batteries, by its kind."""
    kind = s.known("link", number, "kind")
    title = shown(s, "link", number, "kind", LINK)
    details, names = [], ["kind"]
    if s.asked("link", number, "rating"):
        details.append(shown(s, "link", number, "rating"))
        names.append("rating")
    if s.asked("link", number, "connects_at"):
        on, off = (shown(s, "link", number, name) for name in ("connects_at", "disconnects_at"))
        details.append(f"on at {on}, off at {off}")
        names += ["connects_at", "disconnects_at"]
    if s.asked("link", number, "profile") and not assumed(s, "link", number, "profile"):
        details[-1] += f", set for {shown(s, 'link', number, 'profile', CHEMISTRY)}"
    said = f"a {title[0].lower() if title[1:2].islower() else title[0]}{title[1:]}"
    said = {"none": "a gap (nothing joins them)", "wire": "no switch (wired straight through)"}.get(
        kind.entry.value, said
    )
    said += f" of {', '.join(details)}" if details else ""
    return Item("link", kind.entry.value, title, tuple(details), said, assumed=assumed(s, "link", number, *names))


def panels(s: SetUp) -> Iterator[Item]:
    """The solar panels."""
    to_link = any(
        s.asked("link", n, "solar_input") and s.known("link", n, "solar_input").entry.value > 0
        for n in range(s.count("link"))
    )
    by = "by the charger's solar input" if to_link else "its controller is not drawn"
    for n in range(s.count("sun")):
        if entered(s, "sun", n):
            title, power = f"Solar panel{which(s, 'sun', n)}", shown(s, "sun", n, "power")
            said = f"{with_article(title, 'a')} ({power}, {by})"
            yield Item("sun", "sun", title, (by,), said, value=power, assumed=assumed(s, "sun", n, "power"))


def mains(s: SetUp) -> Iterator[Item]:
    """The charger fed from the mains, where there is one."""
    if s.known("mains", 0, "fitted").entry.value == "yes":
        rating = shown(s, "mains", 0, "rating")
        profile = "" if assumed(s, "mains", 0, "profile") else f"set for {shown(s, 'mains', 0, 'profile', CHEMISTRY)}"
        said = f"the mains charger ({rating}{', ' if profile else ''}{profile})"
        unsure = assumed(s, "mains", 0, "rating")
        yield Item("mains", "mains", "Mains charger", (profile,) if profile else (), said, value=rating, assumed=unsure)


def load(s: SetUp, number: int) -> Item:
    """What draws current: its name, and its current or power. It is dashed where nobody said from which battery too."""
    draws = "power" if s.asked("load", number, "power") else "current"
    name, current = shown(s, "load", number, "name"), shown(s, "load", number, draws)
    first, *rest = wrapped(name, room_beside(current), TEXT)
    details = (" ".join(rest),) if rest else ()
    unsure = assumed(s, "load", number, "name", draws, "battery")
    return Item("load", "load", first, details, f"{name} {current}", value=current, assumed=unsure)


# The same in words


def series(several: Iterable[str]) -> str:
    """Return "a, b and c"."""
    *most, last = several
    return f"{', '.join(most)} and {last}" if most else last


def description(set_up: SetUp) -> str:
    """Return the paragraph that says what the drawing of a set-up shows."""
    p = plan(set_up)
    seconds_there = [i.said for i in p.rear if i.part == "second" and i.entered]
    sources = [i.said for i in p.front if i.part != "load" and i.entered]
    sentences = []
    if any(i.entered for i in (*p.before, *p.links)) or seconds_there:
        before = [i.said for i in p.before if i.entered]
        way = f"From {series(sources or ['the starter battery'])}"
        way += f" through {series(before)}" if before else ""
        way += f", then {' beside '.join(i.said for i in p.links)}" if p.links[0].entered else ""
        way += f", then {series(i.said for i in p.after)}" if p.after else ""
        way += f", to {series(seconds_there or ['the second battery'])}"
        sentences.append(f"{way}, and back {BACK[p.back]}{' (not known)' if p.back_assumed else ''}.")
    elif sources:
        sentences.append(f"So far there {'are' if sources[1:] else 'is'} {series(sources)}.")
    feeds = "The second batteries feed" if len(seconds_there) > 1 else "The second battery feeds"
    for where, items in ((feeds, p.rear), ("The starter battery feeds", p.front)):
        loads = [i.said for i in items if i.part == "load" and i.entered]
        if loads:
            sentences.append(f"{where}: {', '.join(loads)}.")
    others = [i.said for i in p.rear if i.part in ("sun", "mains")]
    if others:
        sentences.append(f"{feeds.rpartition(' ')[0]} can be charged by {series(others)} too.")
    absent = list(dict.fromkeys(i.said for i in p.items if not i.entered))
    if absent:
        sentences.append(f"{NOT_ENTERED[0].upper()}{NOT_ENTERED[1:]}: {series(absent)}.")
    return " ".join((*sentences, *p.notes)).replace("\u00a0", " ")


# Words in a drawing

NARROW, SLIM, BROAD = "ijl|'.,:;!’‘·", 'frtI()[]{}/\\- \u00a0"“”*', "mwMW@%…Ω—&"


def measure(text: str, size: float) -> float:
    """Return about how wide a text is, rather too much than too little: each phone has letters of its own.

    Parameters
    ----------
    text : one line
    size : height of its letters [SVG unit]

    Returns
    -------
    width [SVG unit]
    """
    return size * sum(map(breadth, text))


def breadth(letter: str) -> float:
    """Return how wide a letter is, as a share of its height [-]."""
    if letter in NARROW:
        return 0.33
    if letter in SLIM:
        return 0.44
    if letter in BROAD:
        return 1.0
    if ord(letter) > 0x2000:
        return 1.25
    return 0.74 if letter.isupper() else 0.65


def fit(text: str, room: float, size: float) -> str:
    """Return a text, cut short with “…” where it is wider than its room."""
    if measure(text, size) <= room:
        return text
    while text and measure(f"{text}…", size) > room:
        text = text[:-1]
    return f"{text.rstrip()}…"


def room_beside(value: str) -> float:
    """Return the room that is left for words beside a value at the right end of their line [SVG unit]."""
    return WIDTH - MARGIN - WORDS - (measure(value, TEXT) + 8 if value else 0)


def wrapped(text: str, room: float, size: float) -> list[str]:
    """Return a sentence in lines that keep within a room."""
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and measure(longer, size) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


# Symbols


class Generator(symbols.Source):
    """A circle; its letter is written into it."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        del self.elmparams["theta"]  # it would stand upright, wherever it is to end


class Panel(symbols.Source):
    """A cell in a circle, its plus side first, with the light that falls on it."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        del self.elmparams["theta"]
        self.segments += [
            Segment([(0, 0), (0.42, 0)]),
            Segment([(0.42, -0.3), (0.42, 0.3)]),
            Segment([(0.6, -0.15), (0.6, 0.15)]),
            Segment([(0.6, 0), (1, 0)]),
        ]
        for x in (1.0, 1.28):
            self.segments.append(Segment([(x, -0.78), (x - 0.24, -0.46)], arrow="->", lw=1.5))


class Converter(symbols.Element2Term):
    """A square with a stroke across: what goes in stands on one side of it, what comes out on the other."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        e, half = 1.2, 0.6
        self.segments += [
            Segment([(0, 0), (0, half), (e, half), (e, -half), (0, -half), (0, 0), symbols.elements.gap, (e, 0)]),
            Segment([(0, -half), (e, half)]),
        ]


class Charger(Converter):
    """The same, as it lies on the plus side: its stroke rises to the right there too."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.segments[1].path = [(x, -y) for x, y in self.segments[1].path]


class Contact(symbols.Switch):
    """A contact that stands open."""

    def __init__(self, **kwargs):
        super().__init__(contacts=False, **kwargs)


class HandSwitch(Contact):
    """A contact with a hand's grip."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.segments.append(Segment([(0.45, -0.7), (0.45, 0.22)], ls="3,2.5", lw=1.5))
        self.segments.append(Segment([(0.2, -0.7), (0.7, -0.7)]))


class Relay(Contact):
    """A contact with the coil that moves it."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.segments.append(Segment([(0.45, -0.5), (0.45, 0.22)], ls="3,2.5", lw=1.5))
        self.segments.append(Segment([(0, -0.5), (0, -1.5), (0.9, -1.5), (0.9, -0.5), (0, -0.5)]))


class Gap(symbols.Element2Term):
    """Two ends that nothing joins."""

    def __init__(self, **kwargs):
        super().__init__(**kwargs)
        self.segments.append(Segment([(0, 0), symbols.elements.gap, (1, 0)]))
        self.segments += [Segment([(x, -0.2), (x, 0.2)]) for x in (0, 1)]


SYMBOLS = {
    "generator": Generator,
    "battery": symbols.Battery,
    "fuse": symbols.FuseIEEE,
    "load": symbols.ResistorIEC,
    "sun": Panel,
    "mains": Converter,
    "charger": Charger,
    "switch": HandSwitch,
    "relay": Relay,
    "none": Gap,
    "wire": symbols.Line,
    "unknown": Gap,
    "piece": symbols.Line,
}
"""The symbol of each kind of item."""

BESIDE = {"switch": Contact, "relay": Contact, "charger": Converter}
"""The symbol of a link that stands beside another, where that is a smaller one."""

HEIGHTS = {"generator": 38, "battery": 42, "sun": 42, "mains": 42, "load": 26, "fuse": 42, "piece": 40, "charger": 58}
"""Room that a symbol takes from top to bottom, where that is not 50 [SVG unit]."""

Place = tuple[float, float]


def height(item: Item) -> float:
    """Return the room that an item takes from top to bottom [SVG unit]."""
    return max(HEIGHTS.get(item.symbol, 50), item.lines * LINE + 10)


# The sheet

PEN = {
    "stroke": "currentColor",
    "fill": "none",
    "stroke-width": str(THIN),
    "stroke-linecap": "round",
    "stroke-linejoin": "round",
}
"""What a line is drawn with where nothing else is said of it."""

NUMBER = re.compile(r"-?\d+\.\d+(?:e-?\d+)?|-?\d+e-?\d+")


class Sheet:
    """What is drawn on, from the top down."""

    def __init__(self):
        self.svg = ElementTree.Element("svg")
        self.y = 0.0

    def group(self, part: str, item: Item | None = None) -> ElementTree.Element:
        """Return a new group for a part."""
        group = ElementTree.SubElement(self.svg, "g", {"data-part": part})
        if item and not item.entered:
            group.attrib |= {"class": "faint", "font-style": "italic"}
        elif item and item.assumed:
            group.attrib |= {"class": "assumed", "stroke-linecap": "butt"}
        return group

    def draw(self, group: ElementTree.Element, *drawn: symbols.Element) -> None:
        """Draw symbols into a group."""
        page = schemdraw.Drawing(canvas="svg", inches_per_unit=UNIT / 72, color="currentColor", lw=THIN)
        page.add_elements(*drawn)
        for shape in page.draw(show=False).getsvg():
            plain(shape)
            group.append(shape)

    def write(self, group: ElementTree.Element, x: float, y: float, text: str, size: float = TEXT, **more: str) -> None:
        """Write one line; y is its foot. What was typed is only ever text here, so it is escaped as it is put out."""
        where = {"x": f"{x:g}", "y": f"{y:g}", "font-size": f"{size:g}"}
        where |= {"fill": "currentColor", "stroke": "none"} | {k.replace("_", "-"): v for k, v in more.items()}
        line = ElementTree.SubElement(group, "text", where)
        line.text = text

    def words(self, group: ElementTree.Element, item: Item, middle: float) -> None:
        """Write an item's words beside it."""
        foot = middle - (item.lines - 1) * LINE / 2 + TEXT * 0.36
        if item.value:
            self.write(group, WIDTH - MARGIN, foot, item.value, text_anchor="end")
        if item.symbol == "load":
            self.write(group, WORDS, foot, fit(item.title, room_beside(item.value), TEXT), TEXT)
        else:
            title = fit(item.title, room_beside(item.value), TITLE * BOLD)
            self.write(group, WORDS, foot, title, TITLE, font_weight="600" if item.entered else "400")
        for n, line in enumerate(item.details, 1):
            self.write(group, WORDS, foot + n * LINE, fit(line, room_beside(""), TEXT), TEXT)


def plain(shape: ElementTree.Element) -> None:
    """Turn a shape's style into attributes, and round its numbers, so that every machine draws the same."""
    style = shape.attrib.pop("style", "")
    for declaration in filter(None, style.split(";")):
        name, _, value = declaration.partition(":")
        value = {"currentcolor": "currentColor", "white": "none"}.get(value, value)
        if value != PEN.get(name) and (name, value) != ("stroke-dasharray", "-"):
            shape.set(name, value)
    for name in ("d", "points"):
        if name in shape.attrib:
            shape.set(name, NUMBER.sub(lambda m: f"{round(float(m[0]), 2) + 0.0:g}", shape.get(name)))


def at(x: float, y: float) -> Place:
    """Return a place of the sheet in the units of symbols, which count upwards."""
    return x / UNIT, -y / UNIT


def pen(item: Item, width: float = THIN) -> dict[str, object]:
    """Return how an item's lines are drawn."""
    if not item.entered:
        return {"lw": FINE + 0.6, "ls": DOTS}
    return {"lw": width} | ({} if not item.assumed else dashed(width))


def dashed(width: float = THIN) -> dict[str, object]:
    """Return how the lines of what is assumed are drawn."""
    return {"ls": DASHES if width == THIN else CABLE_DASHES, "capstyle": "butt"}


def wire(*places: Place, **how) -> Iterator[symbols.Element]:
    """Yield lines from place to place."""
    for start, end in zip(places, places[1:], strict=False):
        yield symbols.Line(**how).at(at(*start)).to(at(*end))


def dots(*places: Place) -> Iterator[symbols.Element]:
    """Yield the dot of a junction for each place."""
    for place in places:
        yield symbols.Dot(radius=0.11).at(at(*place))


def rung(sheet: Sheet, item: Item, start: float = PLUS, end: float = MINUS) -> float:
    """Draw an item between two sides, with its words; return how high it stands [SVG unit]."""
    y = sheet.y + height(item) / 2
    group = sheet.group(item.part, item)
    symbol = SYMBOLS[item.symbol] if end == MINUS else BESIDE.get(item.symbol, SYMBOLS[item.symbol])
    sheet.draw(group, symbol(**pen(item)).at(at(start, y)).to(at(end, y)))
    letters(sheet, group, item, (start + end) / 2, y)
    sheet.words(group, item, y)
    sheet.y += height(item)
    return y


def letters(sheet: Sheet, group: ElementTree.Element, item: Item, x: float, y: float) -> None:
    """Write the letters that are part of a symbol; its middle is given."""
    written = {
        "generator": (("G", 0, 5),),
        "charger": (("=", -8, -1), ("=", 8, 12)),
        "mains": (("~", -8, -1), ("=", 8, 12)),
        "unknown": (("?", 0, 5),),
    }
    for letter, right, down in written.get(item.symbol, ()):
        sheet.write(group, x + right, y + down, letter, TITLE, text_anchor="middle")


def on_the_way(sheet: Sheet, item: Item, by_cable: bool) -> None:
    """Draw an item that lies on the plus side."""
    top, bottom = sheet.y, sheet.y + height(item)
    middle = (top + bottom) / 2
    group = sheet.group(item.part, item)
    width = THICK if item.symbol == "piece" else THIN
    drawn = [SYMBOLS[item.symbol](**pen(item, width)).at(at(PLUS, top)).to(at(PLUS, bottom))]
    if item.symbol == "piece":
        for end in (top, bottom):
            drawn += wire((PLUS - 5, end), (PLUS + 5, end), lw=THIN)
    sheet.draw(group, *drawn)
    letters(sheet, group, item, PLUS, middle)
    if item.symbol == "charger":
        to_minus(sheet, group, middle, by_cable)
    if item.symbol == "relay":
        sheet.write(group, PLUS - UNIT, middle + 3, "U>", TEXT, text_anchor="middle")
    sheet.words(group, item, middle)
    sheet.y = bottom


def to_minus(sheet: Sheet, group: ElementTree.Element, y: float, by_cable: bool) -> None:
    """Draw a charger's own joint to the minus side."""
    edge = PLUS - 0.6 * UNIT
    if by_cable:
        sheet.draw(group, *wire((edge, y), (MINUS, y)), *dots((MINUS, y)))
    else:
        ground = symbols.GroundChassis(lead=False).at(at(edge - 12, y + 8))
        sheet.draw(group, *wire((edge, y), (edge - 12, y), (edge - 12, y + 8)), ground)


def side_by_side(sheet: Sheet, items: tuple[Item, ...]) -> None:
    """Draw several links beside one another."""
    top = sheet.y
    heights = [rung(sheet, item, PLUS, SIDE) for item in items]
    foot = sheet.y + 4
    group = sheet.group("plus")
    lines = [*wire((PLUS, top), (PLUS, heights[-1])), *wire((SIDE, heights[0]), (SIDE, foot), (PLUS, foot))]
    sheet.draw(group, *lines, *dots(*((PLUS, y) for y in heights[:-1]), *((SIDE, y) for y in heights[1:])))
    sheet.y = foot


def rungs(sheet: Sheet, items: tuple[Item, ...]) -> list[float]:
    """Draw a block of rungs; return how high each stands."""
    return [rung(sheet, item) for item in items]


def to_body(sheet: Sheet, group: ElementTree.Element, y: float, sure: bool) -> None:
    """Draw the minus side's joint to the body, from a height down."""
    how = {} if sure else dashed()
    foot = y + 16
    sheet.draw(group, *wire((MINUS, y), (MINUS, foot), **how), symbols.GroundChassis(lead=False).at(at(MINUS, foot)))
    sheet.write(group, MINUS + 9, foot + 10, "body" if sure else "body?")


def drawing(set_up: SetUp, key: str = "drawing") -> str:
    """Return a set-up's drawing as SVG, to stand inside a page.

    Parameters
    ----------
    set_up : what is drawn
    key : begins the ids inside, so that two drawings can stand on one page
    """
    p, sheet = plan(set_up), Sheet()
    title, words = f"{key}-title", f"{key}-words"
    ElementTree.SubElement(
        sheet.svg, "title", {"id": title}
    ).text = f"The set-up {shorten(set_up.name, LONGEST_NAME)}".strip()
    ElementTree.SubElement(sheet.svg, "desc", {"id": words}).text = description(set_up)
    poles = sheet.group("poles")
    sheet.write(poles, MINUS, 14, "−", TITLE, text_anchor="middle")
    sheet.write(poles, PLUS, 14, "+", TITLE, text_anchor="middle")
    sheet.y = 16
    by_cable = p.back == "cable"
    minus = {"lw": THICK} | (dashed(THICK) if p.back_assumed else {})

    front = rungs(sheet, p.front)
    way = sheet.y
    for item in p.before:
        on_the_way(sheet, item, by_cable)
    if len(p.links) > 1:
        side_by_side(sheet, p.links)
    else:
        on_the_way(sheet, p.links[0], by_cable)
    for item in p.after:
        on_the_way(sheet, item, by_cable)
    arrived = sheet.y
    rear = rungs(sheet, p.rear)

    plus = sheet.group("plus")
    lines = [*wire((PLUS, front[0]), (PLUS, way)), *wire((PLUS, arrived), (PLUS, rear[-1]))]
    sheet.draw(plus, *lines, *dots(*((PLUS, y) for y in front[1:] + rear[:-1])))
    back = sheet.group("back")
    lines = [*wire((MINUS, front[0]), (MINUS, front[-1])), *wire((MINUS, rear[0]), (MINUS, rear[-1]))]
    sheet.draw(back, *lines, *dots(*((MINUS, y) for y in front[1:] + rear[:-1])))
    if by_cable:
        sheet.draw(back, *wire((MINUS, front[-1]), (MINUS, rear[0]), **minus))
        sheet.write(back, MINUS + 8, way + 14, "back")
        sheet.write(back, MINUS + 8, way + 14 + LINE, "cable?" if p.back_assumed else "cable")
    else:
        to_body(sheet, back, front[-1], not p.back_assumed)
        to_body(sheet, back, rear[-1], not p.back_assumed)
        sheet.y = max(sheet.y, rear[-1] + 34)

    notes = sheet.group("notes")
    sheet.y += 6
    for note in p.notes:
        for line in wrapped(note, WIDTH - 2 * MARGIN, TEXT):
            sheet.y += LINE
            sheet.write(notes, MARGIN, sheet.y, line)
    for name, value in {
        "xmlns": "http://www.w3.org/2000/svg",
        "class": "drawing",
        "viewBox": f"0 0 {WIDTH} {sheet.y + 8:g}",
        "role": "img",
        "aria-labelledby": title,
        "aria-describedby": words,
        "font-family": "system-ui, sans-serif",
        **PEN,
    }.items():
        sheet.svg.set(name, value)
    return ElementTree.tostring(sheet.svg, encoding="unicode")
