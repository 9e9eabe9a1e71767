"""Will the fridge stay on and the engine start, all the trip?"""

from __future__ import annotations

from dataclasses import dataclass

from calc import cautions
from calc.check import Cases, Check, Findings, Inputs, Line, Output, Plot, Sheet
from calc.checks import trips
from calc.checks.trips import Outcome
from calc.setup import starts
from calc.setup.vehicle import OWN, value
from calc.shared_fields import LEAD_ACID
from calc.units import show

READINGS = 97
"""Times of a trip that can be read under a finger."""

PIECES = 200
"""Pieces of a trip of which a line shows the lowest and the highest charge; they are about a pixel and a half wide."""

MOST_NIGHTS = 40
"""More nights than this are not shaded: they would be one grey."""

MOST_MARKS = 5
MOST_EVENTS = 40
"""Marks in the plot, and events in the table."""

WEEK = 7 * 24.0
"""A lead-acid battery should be filled at least this often [h]. Common practice, no source."""

STARTER_KEEPS = 50.0
"""Charge that a starter battery should keep [%]. Common practice, no source."""

SMALLEST_ENERGY = 0.5
"""An energy below this is not listed [Wh]."""

NO_BREAK = "\u00a0"
"""A space at which a line is not broken."""

SAID = {
    "leg_starts": {"drive": "Drive", "stop": "Stop", "camp": "Camp", "plugged": "Plugged in"},
    "engine_would_not_start": "The engine would not start",
    "relay_closes": "The relay closes",
    "relay_opens": "The relay opens",
    "relay_chatters": "The relay chatters",
    "charger_starts": "The DC-DC charger starts",
    "charger_stops": "The DC-DC charger stops",
    "consumer_cut": "{name} cuts out: voltage too low",
    "consumer_back": "{name} is back",
    "battery_empty": {"second": "The second battery is empty", "starter": "The starter battery is empty"},
    "battery_back": {"second": "The second battery gives again", "starter": "The starter battery gives again"},
    "battery_hot": "The {name} battery is too hot",
    "charge_refused": "The lithium battery takes no charge",
    "charge_accepted": "It takes charge again",
    "cannot_follow": "From here on it cannot be worked out",
}
"""Events that a reader is told, in words."""

GRAVE = (
    "engine_would_not_start",
    "cannot_follow",
    "battery_empty",
    "consumer_cut",
    "relay_chatters",
    "charge_refused",
    "battery_hot",
    "relay_opens",
    "charger_stops",
)
"""Events that are marked in the plot, the gravest first."""


@dataclass(frozen=True)
class Found:
    """What is computed: what comes of the trip as usual, and with what is assumed at its worse and its better end."""

    usual: Outcome
    worse: Outcome
    better: Outcome


def compute(i: Inputs, found: Findings) -> None:
    """Fill in everything."""
    f = Found(*trips.ranged(i.set_up, trips.question(i)))
    answer(f, found)
    judge(i, f, found)
    warn(i, f.usual, found)
    found.plots.append(plot(f.usual))
    found.sheets += [events_sheet(f.usual), energy_sheet(f.usual)]
    working(i, f, found)


def answer(f: Found, found: Findings) -> None:
    """Record the values."""
    o, run = f.usual, f.usual.run
    lows = [o.lowest, *(one.lowest for one in (f.worse, f.better) if not one.ended_early)]
    found.value("lowest_charge", o.lowest, min(lows), max(lows), among(o.lowest, min(lows), max(lows)))
    found.value("starter_lowest", o.starter_lowest)
    found.value("end_charge", max(0.0, run.points[-1].second))
    found.value("off_hours", o.off_hours, text=None if o.off_hours else "never")
    found.value("worn_hours", o.worn_hours)
    full = run.last_full("second")
    since = None if full is None else run.hours - full
    found.value("since_full", since, text=None if since is not None else "never full")
    for source in ("alternator", "sun", "mains"):
        found.value(f"from_{source}", run.sources[source])
    found.value("used", sum(run.consumers.values()))
    found.value("lost", sum(run.losses.values()))


def among(number: float, low: float, high: float) -> str:
    """Return a charge with its range in words."""
    return f"{show(number, '%', 0)} ({show(low, '-', 0)} to {show(high, '-', 0)})"


def nothing_off(o: Outcome) -> str:
    """Say who stays on."""
    return "The fridge never goes off" if o.fridges else "Nothing goes off"


def sentence(o: Outcome) -> str:
    """Say in one sentence what comes of the trip."""
    if o.well:
        return f"{nothing_off(o)}, and the engine always starts."
    said = []
    if o.outages_that_count:
        first = o.outages_that_count[0]
        who = "The fridge" if o.fridges else first.name
        said.append(f"{who} goes off on {o.clock(first.start)}, for {show(o.off_hours, 'h', 0)} in all")
    else:
        said.append(nothing_off(o))
    if o.failed_starts:
        said.append(f"the engine would not start on {o.clock(o.failed_starts[0])}")
    return f"{', and '.join(said)}."


def judge(i: Inputs, f: Found, found: Findings) -> None:
    """Say what comes of the trip, and what of it is not well."""
    o = f.usual
    time, _ = o.run.lowest("second")
    because = (
        f"The second battery goes down to {show(o.lowest, '%', 0)} on {o.clock(time)}, the starter battery to "
        f"{show(o.starter_lowest, '%', 0)}."
    )
    if o.ended_early:
        found.verdict(
            "stop",
            f"From {o.clock(o.run.hours)} on this cannot be worked out.",
            "Something only switches on and off there. Until then: " + sentence(o),
        )
    elif o.well:
        found.verdict("ok", sentence(o), because)
    else:
        found.verdict("stop", sentence(o), f"{because} {advice(o)}")
    if o.well and not f.worse.well and not f.worse.ended_early:
        found.verdict(
            "caution",
            f"If what is assumed is at its worse end: {lower(sentence(f.worse))}",
            "A hungrier fridge, an older battery or more shade do that. The more of your vehicle you describe, the "
            "surer the answer.",
        )
    judge_batteries(i, o, found)
    judge_link(o, found)


def lower(text: str) -> str:
    """Return a sentence as it goes on after a colon."""
    return text[:1].lower() + text[1:]


def advice(o: Outcome) -> str:
    """Say what would help."""
    if o.outages_that_count:
        return (
            "Drive more, plug in, or bring more battery or sun: the question “How much battery and sun?” says how much."
        )
    return "Keep loads off the starter battery, and part the two batteries whenever the engine is off."


def judge_batteries(i: Inputs, o: Outcome, found: Findings) -> None:
    """Say what the trip does to the batteries."""
    lithium = value(i.set_up, "second", 0, "chemistry") not in LEAD_ACID
    if o.worn_hours > 0:
        found.verdict(
            "caution",
            f"The second battery is below {show(o.limit, '%', 0)} for {show(o.worn_hours, 'h', 0)}.",
            "Nothing breaks at once, but each such time costs some of its life."
            if not lithium
            else "There is little left then for a grey day.",
        )
    full = o.run.last_full("second")
    if not lithium and o.run.hours - (full or 0.0) > WEEK:
        found.verdict(
            "caution",
            f"The second battery is not filled for {show((o.run.hours - (full or 0.0)) / trips.DAY, '-', 0)} days.",
            "A lead-acid battery that is not filled about every week loses capacity for good. Plug in for a night, or "
            "drive for a day.",
        )
    if o.starter_lowest < STARTER_KEEPS and not o.failed_starts:
        found.verdict(
            "caution",
            f"The starter battery goes down to {show(o.starter_lowest, '%', 0)}.",
            f"With {show(STARTER_KEEPS, '%', 0)} or more an engine starts in most weather.",
        )
    if (hot := o.happened("battery_hot")) is not None:
        found.verdict(
            "caution",
            f"A battery gets too hot to be charged on {o.clock(hot)}.",
            "Above 50 °C a lead-acid battery should not be charged. Move it, or give it air.",
        )
    if (refused := o.happened("charge_refused")) is not None:
        found.verdict(
            "caution",
            f"The lithium battery takes no charge from {o.clock(refused)}.",
            "It is too cold or too hot to be charged, or full. In the cold it must not be charged; warm its place.",
        )


def judge_link(o: Outcome, found: Findings) -> None:
    """Say what the link does while the vehicle drives."""
    if (chatters := o.happened("relay_chatters")) is not None:
        found.verdict(
            "stop",
            f"The relay chatters on {o.clock(chatters)}.",
            "It closes and opens over and over, until its contacts weld or wear. The question on the relay's settings "
            "says why and what helps.",
        )
    elif (opens := trips.opens_on_the_road(o)) is not None:
        found.verdict(
            "caution",
            f"The relay opens while you drive, first on {o.clock(opens)}.",
            "The alternator then holds less than the relay needs, as a smart one does once the starter battery is "
            "full, so the second battery is not charged. A DC-DC charger with an ignition wire cures it.",
        )


def warn(i: Inputs, o: Outcome, found: Findings) -> None:
    """Add the cautions that belong to the trip."""
    kinds = {leg.kind for leg in i.legs.legs}
    if value(i.set_up, "second", 0, "chemistry") in LEAD_ACID:
        found.caution(cautions.GAS)
    elif min([i.coldest, *(leg.coldest for leg in i.legs.legs if leg.coldest is not None)]) < 0:
        found.caution(cautions.LITHIUM_COLD)
    if o.happened("battery_hot") is not None:
        found.caution(cautions.HOT_BATTERY)
    if value(i.set_up, "link", 0, "kind") in ("switch", "none"):
        found.caution(cautions.JOINING)
    if "plugged" in kinds:
        found.caution(cautions.MAINS)
    found.caution(cautions.EXHAUST)


# The picture and the tables


def thinned(points: list[tuple[float, float]], hours: float) -> tuple[tuple[float, float], ...]:
    """Return a line by its ends, and the lowest and highest of each of many short pieces: no eye misses the rest."""
    pieces: dict[int, list[tuple[float, float]]] = {}
    for point in points:
        pieces.setdefault(int(PIECES * (point[0] - points[0][0]) / hours), []).append(point)
    kept = {points[0], points[-1]}
    for piece in pieces.values():
        kept |= {min(piece, key=lambda p: p[1]), max(piece, key=lambda p: p[1])}
    return tuple(sorted(kept))


def plot(o: Outcome) -> Plot:
    """Return the charge of both batteries through the trip."""
    run, first = o.run, o.weather.hour
    second = [(p.time + first, min(100.0, max(0.0, p.second))) for p in run.points]
    starter = [(p.time + first, min(100.0, max(0.0, p.starter))) for p in run.points]
    times = [run.hours * n / (READINGS - 1) for n in range(READINGS)]
    readings = [(p.time + first, reading(o, p)) for p in trips.at_times(run.points, times)]
    words = (
        f"The second battery begins at {show(second[0][1], '%', 0)}, is lowest with {show(o.lowest, '%', 0)} on "
        f"{o.clock(run.lowest('second')[0])}, and ends at {show(second[-1][1], '%', 0)}. The starter battery is "
        f"lowest with {show(o.starter_lowest, '%', 0)}."
    )
    nights = trips.nights(o.weather, run.hours) if run.hours <= MOST_NIGHTS * trips.DAY else ()
    return Plot(
        "Charge of both batteries through the trip",
        "hour" if run.hours <= 2 * trips.DAY else "day",
        "charge, %",
        (first, first + run.hours),
        (0, 100),
        (
            Line("second battery", thinned(second, run.hours), "solid"),
            Line("starter battery", thinned(starter, run.hours), "dashed"),
        ),
        tuple((event.time + first, say(event)) for event in marked(o)),
        words,
        x_axis="time",
        y_axis="linear",
        bands=nights,
        band="night",
        readings=tuple(readings),
    )


def reading(o: Outcome, point) -> str:
    """Say how things stand at a time."""
    return (
        f"{o.clock(point.time).capitalize()}: second battery {show(max(0.0, point.second), '%', 0)}, "
        f"{show(point.second_volts, 'V', 1)}, {flow(point.second_amperes)}; starter battery "
        f"{show(max(0.0, point.starter), '%', 0)}, {show(point.starter_volts, 'V', 1)}"
    )


def flow(amperes: float) -> str:
    """Say which way a current flows."""
    if abs(amperes) < 0.05:
        return "no current"
    return f"{show(abs(amperes), 'A', 1)} {'in' if amperes > 0 else 'out'}"


def marked(o: Outcome) -> list:
    """Return the events that are marked in the plot: the first of each kind, the gravest kinds, in their order."""
    firsts = {}
    for event in o.run.events:
        firsts.setdefault((event.key, event.name), event)
    ranked = sorted((e for e in firsts.values() if e.key in GRAVE), key=lambda e: (GRAVE.index(e.key), e.time))
    return sorted(ranked[:MOST_MARKS], key=lambda event: event.time)


def say(event) -> str:
    """Return an event in words, "" for one that a reader is not told."""
    said = SAID.get(event.key, "")
    return said.get(event.name, "") if isinstance(said, dict) else said.format(name=event.name)


def events_sheet(o: Outcome) -> Sheet:
    """Return what happens, in order."""
    told = [
        (o.clock(event.time).capitalize().replace(" ", NO_BREAK), words)
        for event in o.run.events
        if (words := say(event))
    ]
    if len(told) > MOST_EVENTS:
        told = [*told[:MOST_EVENTS], ("Later", f"{len(told) - MOST_EVENTS} more of these")]
    return Sheet("What happens", ("When", "What"), tuple(told))


def energy_sheet(o: Outcome) -> Sheet:
    """Return where the energy comes from and where it goes."""
    run = o.run
    unused = run.offered - run.sources["sun"]
    rows = [
        ("From the alternator", run.sources["alternator"]),
        ("From the sun", run.sources["sun"]),
        ("Sun not used, as the battery was full", unused if run.offered else 0.0),
        ("From the mains", run.sources["mains"]),
        *((f"To: {name}", energy) for name, energy in run.consumers.items() if name != OWN),
        ("To the vehicle itself, driving", run.consumers[OWN]),
        ("Lost in cable and link", run.losses["link"]),
        ("Lost in the second battery", run.losses["second"]),
        ("Lost in the starter battery", run.losses["starter"]),
        ("Gained by the second battery", run.stored["second"]),
        ("Gained by the starter battery", run.stored["starter"]),
    ]
    shown = tuple((name, show(energy, "Wh", 0)) for name, energy in rows if abs(energy) >= SMALLEST_ENERGY)
    return Sheet("Energy of the whole trip", ("What", "How much"), shown or (("None", show(0.0, "Wh", 0)),))


def working(i: Inputs, f: Found, found: Findings) -> None:
    """Show how the numbers came about."""
    run = f.usual.run
    found.step(
        "Each battery as two wells of charge, the one feeding the loads, the other feeding it through a pipe",
        "h1′ = (I − p) / C1, h2′ = p / C2, p = k · (h1 − h2)",
        "manwell-1993",
    )
    found.step(
        "Its voltage from its charge at rest and its resistance; lead-acid gasses as it is charged",
        "U = E(h1) + s + I · R",
        "schiffer-2007",
    )
    found.step(
        "Current through cable and link at every moment, from both batteries, what charges and what draws",
        f"R = {show(1000 * link_resistance(i), 'mohm')}; lost in all {show(run.losses['link'], 'Wh', 0)}",
        "ohm",
    )
    found.step(
        "The fridge's running time follows the warmth of the air",
        "share = share seen at 25 °C · (T − Ti)(T − Ti + l) / …",
        "practice",
    )
    if run.offered:
        found.step(
            "Sun on the panels, from where it stands, under a sky of haze and cloud",
            f"offered {show(run.offered, 'Wh', 0)}, taken {show(run.sources['sun'], 'Wh', 0)}",
            "ineichen-2008",
        )
    found.step(
        "Followed from event to event; no energy is lost on the way",
        f"{run.steps} steps; sources − loads − losses − gained = {show(abs(run.imbalance), 'Wh', 2)}",
        "ohm",
    )


def link_resistance(i: Inputs) -> float:
    """Return the resistance of the run [ohm]."""
    number, _, _ = starts.run_resistance(i.set_up).text.partition(" ")
    return float(number) / 1000


CHECK = Check(
    id="trip",
    title="A trip",
    question="Will the fridge stay on and the engine start, all the trip?",
    about="Both batteries are followed hour by hour through driving, stops and camp, with sun, cold and heat. Say what "
    "the trip is like; your vehicle is taken from its set-up.",
    task="home",
    fields=trips.FIELDS,
    outputs=(
        Output("lowest_charge", "charge", "Second battery, lowest charge"),
        Output("starter_lowest", "charge", "Starter battery, lowest charge"),
        Output("end_charge", "charge", "Second battery at the end"),
        Output("off_hours", "hours", "Fridge or load off, in all"),
        Output("worn_hours", "hours", "Second battery below its limit, in all"),
        Output("since_full", "hours", "Since the second battery was last full"),
        Output("from_alternator", "energy", "From the alternator"),
        Output("from_sun", "energy", "From the sun"),
        Output("from_mains", "energy", "From the mains"),
        Output("used", "energy", "Used by all loads and the vehicle"),
        Output("lost", "energy", "Lost in cables and batteries"),
    ),
    compute=compute,
    example={"legs": "drive 3 h, camp 2 d clear 12..27 degC, drive 2 h", "month": "july", "latitude": "48 deg"},
    example_story="A weekend at a lake: half a day's drive, two hot days at camp, and home.",
    cases=(
        Cases(
            "Second battery's lowest charge in a usual vehicle, by days at camp and warmth; 3 h of driving before",
            tuple((show(d, "day"), {"legs": f"drive 3 h, camp {d} d"}) for d in (1, 2, 3)),
            tuple(
                (f"{low} to {high}\u00a0°C", {"coldest": f"{low} degC", "hottest": f"{high} degC"})
                for low, high in ((5, 15), (10, 22), (18, 32))
            ),
            "lowest_charge",
        ),
    ),
    guides=("planning-a-trip", "sun", "flat-at-camp", "joined-and-parted"),
    starts={"latitude": starts.at("sun", "latitude")},
    whole=True,
)
