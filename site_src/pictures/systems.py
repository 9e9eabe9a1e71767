"""Pictures of a whole vehicle, from the alternator to the loads, with something written at each part."""

from __future__ import annotations

from schemdraw import elements as symbols

from calc.checks import fault_finder
from calc.tables import table
from calc.units import show
from site_src.drawing import Generator, Relay, measure, wrapped
from site_src.pictures.picture import SMALL, Circuit, Picture

PLUS, MINUS, WORDS = 112, 44, 136
"""Where the plus side, the minus side and the words stand [SVG unit]."""

RING = 28
"""Room of a number in a ring before its words [SVG unit]."""

THICK = 4.5
"""Width of a cable's line [SVG unit]."""

PLACES = {
    "alternator": 34,
    "feed": 78,
    "starter": 122,
    "front fuse": 206,
    "cable": 256,
    "link": 302,
    "rear fuse": 360,
    "second": 412,
    "load fuse": 468,
    "load": 522,
}
"""How high each part stands [SVG unit]."""

BELOW, BESIDE = 44, 62
"""How far a joint to the body hangs below its part, and where words beside it begin [SVG unit]."""

EARTHS = {"front earth": "starter", "rear earth": "load"}
"""The joints to the body: each hangs below a part."""

HEIGHT = 594


def whole(c: Circuit) -> None:
    """Draw a vehicle with a relay and the body as the way back."""
    at = PLACES
    for symbol, part in ((Generator, "alternator"), (symbols.Battery, "starter"), (symbols.Battery, "second")):
        c.add(symbol, (PLUS, at[part]), (MINUS, at[part]))
    c.text((PLUS + MINUS) / 2, at["alternator"] + 5, "G", 14, "middle")
    c.add(symbols.ResistorIEC, (PLUS, at["load"]), (MINUS, at["load"]))
    end = at["alternator"]
    for symbol, part, half in (
        (symbols.FuseIEEE, "front fuse", 24),
        (symbols.Line, "cable", 26),
        (Relay, "link", 28),
        (symbols.FuseIEEE, "rear fuse", 24),
        (symbols.FuseIEEE, "load fuse", 24),
    ):
        c.line((PLUS, end), (PLUS, at[part] - half))
        c.add(symbol, (PLUS, at[part] - half), (PLUS, at[part] + half), **({"lw": THICK} if part == "cable" else {}))
        end = at[part] + half
    c.line((PLUS, end), (PLUS, at["load"]))
    for first, last in (("alternator", "starter"), ("second", "load")):
        c.line((MINUS, at[first]), (MINUS, at[last] + 38))
        c.body((MINUS, at[last] + 38))
    c.dot((PLUS, at["starter"]), (MINUS, at["starter"]), (PLUS, at["second"]), (MINUS, at["load"]))


def marked(c: Circuit, marks: dict[str, str], numbered: bool = False) -> None:
    """Write words beside the parts; with numbers, in the order given."""
    for n, (part, words) in enumerate(marks.items(), 1):
        x, y = WORDS, PLACES[EARTHS.get(part, part)]
        if part in EARTHS:
            y += BELOW
            x = WORDS if numbered or measure(words, SMALL) > PLUS - BESIDE else BESIDE
        if numbered:
            c.number((BESIDE if part in EARTHS else WORDS) + 10, y, n)
            x += RING
        lines = wrapped(words, c.right - x, SMALL)
        c.lines(x, y + 4.5 - (len(lines) - 1) * 8, lines, SMALL)


def system(title: str, words: str, marks: dict[str, str], numbered: bool = False) -> Picture:
    """Return a picture of a whole vehicle."""
    c = Circuit()
    whole(c)
    marked(c, marks, numbered)
    return Picture(title, words, c.drawn(), HEIGHT)


def words() -> Picture:
    """Return a whole vehicle with its words."""
    said = (
        "From the top: the alternator and the starter battery, side by side between plus and the body. From their "
        "plus a fuse, a thick cable, the link (here a relay) and a second fuse lead to the second battery; from "
        "there a fuse box feeds the loads. The negatives go to the body: the earths."
    )
    marks = {
        "alternator": "alternator",
        "starter": "starter battery",
        "front earth": "earth",
        "front fuse": "fuse at the starter battery",
        "cable": "cable, thick",
        "link": "link: here a relay",
        "rear fuse": "fuse at the second battery",
        "second": "second battery",
        "load fuse": "fuse box of the loads",
        "load": "loads: fridge, lights",
        "rear earth": "earth",
    }
    return system("The whole thing, with its words", said, marks)


def fitted_by_somebody_else() -> Picture:
    """Return a whole vehicle with the places to look at, numbered."""
    marks = {
        "alternator": "alternator: its kind, its volts",
        "starter": "starter battery: age, held",
        "front fuse": "a fuse, and how near?",
        "cable": "cable: size, chafing",
        "link": "link: does it work?",
        "rear fuse": "a fuse here too?",
        "second": "second battery: age, type, air",
        "load fuse": "a fuse for each circuit",
        "load": "loads: all run, none hot",
    }
    return system("Nine places to look at", listed("Where to look, along the way of the current", marks), marks, True)


def listed(lead: str, marks: dict[str, str]) -> str:
    """Return what the numbers stand for, in a sentence."""
    return f"{lead}: {'; '.join(f'{n}, {words[0].lower()}{words[1:]}' for n, words in enumerate(marks.values(), 1))}."


def faults(title: str, places: dict[str, str]) -> Picture:
    """Return a whole vehicle with the places of some faults, each by its key of the table of causes."""
    marks = {place: fault_finder.name(key) for place, key in places.items()}
    return system(title, listed("Where these faults sit", marks), marks, True)


def faults_at_the_engine() -> Picture:
    """Return where the faults at the engine sit."""
    places = {"alternator": "alternator_dead", "feed": "alternator_cable", "starter": "starter_worn"}
    return faults("Faults at the engine", places | {"front earth": "engine_earth"})


def faults_on_the_way() -> Picture:
    """Return where the faults between the batteries sit."""
    places = {"front fuse": "front_fuse", "cable": "thin_cable", "link": "link_contact", "rear fuse": "rear_fuse"}
    return faults("Faults on the way", places | {"second": "rear_joint", "rear earth": "second_earth"})


def faults_at_the_battery() -> Picture:
    """Return where the faults at the second battery and its loads sit."""
    places = {"second": "dead_cell", "load fuse": "load_fuse", "load": "overload", "rear earth": "load_earth"}
    return faults("Faults at the second battery", places)


def voltage_drops() -> Picture:
    """Return a whole vehicle with the most that each piece may lose."""
    limits = {row["place"]: row["limit"] for row in table("fault_limits").rows}
    places = {
        "feed": ("alternator-cable", "alternator to battery"),
        "front earth": ("engine-earth", "earth of the engine"),
        "front fuse": ("front-fuse", "fuse and its joints"),
        "cable": ("front-cable", "cable"),
        "link": ("link", "relay or switch"),
        "rear fuse": ("rear-fuse", "fuse and its joints"),
        "load fuse": ("load-plus", "to the load, plus side"),
        "rear earth": ("second-earth", "earth of the second"),
    }
    marks = {part: f"{words}: {show(limits[place], 'V')}" for part, (place, words) in places.items()}
    said = f"The most that each piece may lose while the current of real use flows: {'; '.join(marks.values())}."
    return system("What each piece may lose", said, marks)


PICTURES = (
    words,
    fitted_by_somebody_else,
    faults_at_the_engine,
    faults_on_the_way,
    faults_at_the_battery,
    voltage_drops,
)
