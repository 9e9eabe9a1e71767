"""From a set-up to the vehicle that a trip is computed with: each part as far as it is known, the rest as usual.

Where the link sits in the run nobody asks: it is taken to stand before the last piece, as it is drawn. Second batteries
stand side by side and count as one, of the first one's type.
"""

from __future__ import annotations

from dataclasses import replace

from calc.physics import alternator, charger, fridge, loads
from calc.physics.battery import Battery, health_at
from calc.physics.loads import NOMINAL
from calc.physics.starting import Starter
from calc.physics.sun import Panel
from calc.physics.vehicle import Consumer, Link, Vehicle
from calc.setup.model import Known, SetUp
from calc.setup.starts import before_last, body_resistance, has_charger, piece_resistance
from calc.tables import assumption

SECONDS, MINUTES = 3600, 60
"""In an hour [-]."""

SOLAR_ROOM = 1.25
"""A controller's current by that of its panels at 12 V: it is bought with room [-]. Common practice, no source."""

FRIDGE_SETTING = "medium"
"""How a fridge's battery protection is set, where nobody asks."""

OWN = "vehicle"
"""Under which a trip counts what the vehicle itself draws with the engine running."""

PARKED = "The vehicle itself, parked"
"""What a reader calls what a parked vehicle draws."""


def value(s: SetUp, part: str, number: int, name: str):
    """Return what stands at a place, typed or usual."""
    return s.known(part, number, name).entry.value


def usual(key: str) -> float:
    """Return a usual value, in the unit that its row gives."""
    return assumption(key)["value"]


def vehicle(s: SetUp, left_on: bool = False) -> Vehicle:
    """Return the vehicle of a set-up; `left_on` says whether a switch turned by hand stays on at camp."""
    first, second = starter(s), bank(s)
    capacity = second.capacity
    outside = value(s, "vehicle", 0, "ambient")
    own_input = solar_input(s)
    return Vehicle(
        starter=first,
        second=second,
        link=link(s, capacity, left_on),
        engine=engine(s, first),
        alternator=alternator.alternator(
            *(value(s, "alternator", 0, name) for name in ("kind", "set_point", "rated_output", "idle_output"))
        ),
        alternator_resistance=usual("alternator_resistance"),
        base_load=usual("vehicle_base_load"),
        consumers=consumers(s),
        panels=panels(s),
        solar=None if own_input or not s.count("sun") else controller(s, capacity),
        latitude=value(s, "sun", 0, "latitude"),
        mains=mains(s, capacity),
        inside_warmer=usual("inside_warmer"),
        second_warmer=max(0.0, value(s, "second", 0, "heat") - outside),
        bay_warmer=max(0.0, value(s, "vehicle", 0, "engine_bay_heat") - outside),
    )


def health(s: SetUp, part: str, number: int) -> float:
    """Return which share of a battery's capacity is left: as measured, else by its age [-]."""
    measured = s.known(part, number, "health")
    if not measured.assumed:
        return measured.entry.value / 100
    return health_at(value(s, part, number, "chemistry"), value(s, part, number, "age"))


def starter(s: SetUp) -> Battery:
    """Return the starter battery."""
    return Battery(
        value(s, "starter", 0, "chemistry"), value(s, "starter", 0, "capacity"), health=health(s, "starter", 0)
    )


def bank(s: SetUp) -> Battery:
    """Return all second batteries as one."""
    numbers = range(max(1, s.count("second")))
    capacities = [value(s, "second", n, "capacity") for n in numbers]
    left = sum(capacity * health(s, "second", n) for n, capacity in zip(numbers, capacities, strict=True))
    return Battery(value(s, "second", 0, "chemistry"), sum(capacities), health=left / sum(capacities))


def engine(s: SetUp, battery: Battery) -> Starter:
    """Return what the starter battery has to start."""
    rated = s.known("starter", 0, "cold_cranking")
    return Starter(battery, value(s, "vehicle", 0, "engine"), None if rated.assumed else rated.entry.value)


def link(s: SetUp, capacity: float, left_on: bool) -> Link:
    """Return what joins the batteries, with all cable between them, or before a DC-DC charger."""
    kind = value(s, "link", 0, "kind")
    pieces = before_last(s) if kind == "charger" else range(max(1, s.count("run")))
    resistance = body_resistance(s) + sum(piece_resistance(s, n)[0] for n in pieces)
    if kind in ("relay", "switch"):
        resistance += usual(f"{kind}_contact")
    delay = value(s, "link", 0, "delay") / SECONDS
    return Link(
        kind,
        resistance,
        value(s, "link", 0, "connects_at"),
        value(s, "link", 0, "disconnects_at"),
        delay,
        delay,
        left_on=left_on,
        charger=dc_charger(s, capacity) if kind == "charger" else None,
    )


def dc_charger(s: SetUp, capacity: float) -> charger.FromStarter:
    """Return the DC-DC charger."""
    rating, limit = s.known("link", 0, "rating"), s.known("link", 0, "input_limit")
    losses = s.usual("link", "input_limit").value / s.usual("link", "rating").value
    draws = limit.entry.value if rating.assumed or not limit.assumed else losses * rating.entry.value
    sensor = value(s, "link", 0, "temperature_sensor") == "yes"
    return charger.from_starter(
        rating.entry.value,
        draws,
        value(s, "link", 0, "ignition_sense") == "yes",
        solar_input(s),
        usual("charger_efficiency"),
        charger.profile(value(s, "link", 0, "profile"), capacity, sensor),
    )


def solar_input(s: SetUp) -> float:
    """Return how much sun the DC-DC charger's own input takes, 0 where it has none [W]."""
    return value(s, "link", 0, "solar_input") if has_charger(s) else 0.0


def panels(s: SetUp) -> tuple[Panel, ...]:
    """Return the solar panels."""
    return tuple(
        Panel(
            value(s, "sun", n, "power"),
            value(s, "sun", n, "tilt"),
            value(s, "sun", n, "shade") / 100,
            usual("solar_efficiency"),
        )
        for n in range(s.count("sun"))
    )


def controller(s: SetUp, capacity: float) -> charger.Charger:
    """Return the solar controller, which nobody asks about: set for the battery, and large enough."""
    watts = sum(value(s, "sun", n, "power") for n in range(s.count("sun")))
    treats = charger.profile(value(s, "second", 0, "chemistry"), capacity, False)
    return charger.Charger(SOLAR_ROOM * watts / NOMINAL, treats)


def mains(s: SetUp, capacity: float) -> charger.Charger | None:
    """Return the mains charger, or None."""
    if value(s, "mains", 0, "fitted") != "yes":
        return None
    treats = charger.profile(value(s, "mains", 0, "profile"), capacity, False)
    return charger.Charger(value(s, "mains", 0, "rating"), treats)


def consumers(s: SetUp) -> tuple[Consumer, ...]:
    """Return everything that draws, no two under one name."""
    names = [value(s, "load", n, "name") for n in range(s.count("load"))]
    told = [f"{name} ({n})" if names.count(name) > 1 or name == OWN else name for n, name in enumerate(names, 1)]
    return (
        *(consumer(s, n, name) for n, name in enumerate(told)),
        Consumer(PARKED, loads.parasitic(), "starter"),
    )


def consumer(s: SetUp, n: int, name: str) -> Consumer:
    """Return a load: a fridge by turns, a big one through an inverter, any other as a current."""
    at, use = (value(s, "load", n, part) for part in ("battery", "use"))
    if use == "duty":
        running = value(s, "load", n, "current") * NOMINAL
        duty = value(s, "load", n, "duty") / 100
        made = fridge.fridge(running, duty, usual("fridge_watched_at"), FRIDGE_SETTING)
        return Consumer(name, made, at, usual("fridge_cable"))
    if use == "burst":
        minutes = MINUTES * value(s, "load", n, "hours")
        return Consumer(name, loads.inverter(value(s, "load", n, "power"), minutes, usual("burst_begins")), at)
    current = value(s, "load", n, "current")
    if use == "timed":
        return Consumer(name, loads.timed(current, value(s, "load", n, "hours"), loads.evening()), at)
    return Consumer(name, loads.steady(current), at)


ENDS = {
    ("load", "duty"): ("high", "low"),
    ("load", "current"): ("high", "low"),
    ("load", "power"): ("high", "low"),
    ("second", "capacity"): ("low", "high"),
    ("second", "age"): ("high", "low"),
    ("starter", "age"): ("high", "low"),
    ("sun", "power"): ("low", "high"),
    ("sun", "shade"): ("high", "low"),
}
"""Places whose spread counts in a range: at which end the battery fares worse, and at which better."""


def ranging(s: SetUp) -> list[Known]:
    """Return what is assumed of loads, batteries and sun, whose spread makes the range of an answer."""
    found = []
    for part, name in ENDS:
        for n in range(max(1, s.count(part)) if part in ("second", "starter") else s.count(part)):
            known = s.known(part, n, name)
            measured = name == "age" and not s.known(part, n, "health").assumed
            if known.assumed and not measured and s.asked(part, n, name):
                found.append(known)
    return found


def at_end(s: SetUp, better: bool) -> SetUp:
    """Return the set-up with what is assumed of loads, batteries and sun at the end where the battery fares so."""
    for known in ranging(s):
        part, _, name = known.place
        s = s.changed(known.place, getattr(known.usual, ENDS[part, name][better]))
    return s


def with_link(s: SetUp, kind: str) -> SetUp:
    """Return the set-up with another way of joining the batteries, fitted as it should be, the rest as usual."""
    if value(s, "link", 0, "kind") == kind:
        return s
    fitted = {"kind": kind}
    if kind == "charger":
        fitted |= {"profile": value(s, "second", 0, "chemistry"), "ignition_sense": "yes"}
    return replace(s, entries={**s.entries, "link": (fitted,)})
