"""How much battery, sun or charger does it take to stay out for some days?"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from calc import cautions, progress
from calc.check import Cases, Check, Findings, Inputs, Output, Sheet
from calc.checks import trips
from calc.checks.trips import Outcome, Question
from calc.fields import Number
from calc.legs import Journey, Leg
from calc.physics.fridge import Fridge
from calc.physics.loads import NOMINAL, Load
from calc.setup import starts
from calc.setup.model import SetUp
from calc.setup.vehicle import bank, value, vehicle
from calc.shared_fields import LEAD_ACID
from calc.units import show

CAPACITIES, PANELS, CHARGERS = range(20, 601, 10), range(0, 1201, 20), range(5, 61, 5)
"""Sizes that are tried: battery [Ah], panels [W], DC-DC charger [A]; what lies beyond is no touring vehicle's."""

CHARGER_LOSSES = 1.25
"""What a charger may draw, by what it gives: at a low input, with its losses [-]. Common practice, no source."""

ROUNDS = 2
"""Times that the vehicle drives and then stays, so that what the drive does not bring shows in the second stay."""

SHARES = {"as it is": 0.0, "battery": 0.1, "sun": 0.4, "charger": 0.7}
"""Where each part of the work begins, as a share of the whole, for the bar of progress."""


@dataclass(frozen=True)
class Found:
    """What is computed.

    Attributes
    ----------
    now : what comes of it with the vehicle as it is
    keep : charge of the second battery that has to be kept [%]
    capacity, sun, charger : least size of each that does, the others as they are; None where no size does
    """

    now: Outcome
    keep: float
    capacity: int | None
    sun: int | None
    charger: int | None


def compute(i: Inputs, found: Findings) -> None:
    """Fill in everything."""
    f = find(i)
    answer(i, f, found)
    judge(i, f, found)
    found.sheets.append(uses(i))
    found.caution(cautions.LITHIUM_COLD if is_lithium(i.set_up) else cautions.GAS)
    found.caution(cautions.EXHAUST, cautions.LOCAL_CODE)
    working(i, f, found)


def is_lithium(s: SetUp) -> bool:
    """Return whether the second battery is a lithium one."""
    return value(s, "second", 0, "chemistry") not in LEAD_ACID


def question(i: Inputs) -> Question:
    """Return the trip that is asked about: drive, stay, and the same again."""
    stay = Leg("camp", i.days * trips.DAY)
    legs = (Leg("drive", i.drive), stay) if i.drive else (stay,)
    return Question(Journey(legs * ROUNDS), trips.weather(i), 100.0, 90.0)


def find(i: Inputs) -> Found:
    """Compute everything."""
    s, q = i.set_up, question(i)
    now = trips.follow(s, q, trips.with_progress(0.0, SHARES["battery"], "As it is"))
    keep = now.limit if i.keep is None else i.keep

    def least(sizes: range, owned: float, changed: Callable[[SetUp, int], SetUp], words: str) -> int | None:
        progress.tell(SHARES[words], f"Trying sizes of {words}")
        known = next((size for size in sizes if size >= owned), None) if does(now, keep) else None
        return smallest(sizes, lambda size: does(trips.follow(changed(s, size), q), keep), known)

    return Found(
        now,
        keep,
        least(CAPACITIES, bank(s).capacity, with_capacity, "battery"),
        least(PANELS, sum(value(s, "sun", n, "power") for n in range(s.count("sun"))), with_panels, "sun"),
        least(CHARGERS, math.inf, with_charger, "charger") if i.drive else None,
    )


def does(o: Outcome, keep: float) -> bool:
    """Return whether a vehicle stays out as long as it is wanted."""
    return o.lowest >= keep and not o.outages_that_count and not o.ended_early


def smallest(sizes: range, enough: Callable[[int], bool], known: int | None = None) -> int | None:
    """Return the smallest size that is enough, by halving, as more never is too little; None where none is.

    Parameters
    ----------
    sizes : rising
    enough : whether a size is
    known : a size that is known to be enough, so that none above is tried

    Examples
    --------
    >>> smallest(range(0, 101, 5), lambda size: size >= 42), smallest(range(0, 10), lambda size: False)
    (45, None)
    """
    if known is None and not enough(sizes[-1]):
        return None
    low, high = -1, len(sizes) - 1 if known is None else sizes.index(known)
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(sizes[middle]) else (middle, high)
    return sizes[high]


def with_capacity(s: SetUp, size: int) -> SetUp:
    """Return the set-up with one second battery of a capacity, otherwise like the first."""
    first = dict(s.entries.get("second", ({},))[0]) if s.count("second") else {}
    return replace(s, entries={**s.entries, "second": ({**first, "capacity": f"{size} Ah"},)})


def with_panels(s: SetUp, size: int) -> SetUp:
    """Return the set-up with so much sun, otherwise like the first panel."""
    first = dict(s.entries["sun"][0]) if s.count("sun") else {}
    panels = ({**first, "power": f"{size} W"},) if size else ()
    return replace(s, entries={**s.entries, "sun": panels})


def with_charger(s: SetUp, size: int) -> SetUp:
    """Return the set-up with a DC-DC charger of a rating, set for the battery, with its ignition wire."""
    charger = {
        "kind": "charger",
        "rating": f"{size} A",
        "input_limit": f"{CHARGER_LOSSES * size:g} A",
        "profile": value(s, "second", 0, "chemistry"),
        "ignition_sense": "yes",
    }
    if starts.has_charger(s) and s.typed("link", 0, "solar_input"):
        charger["solar_input"] = s.typed("link", 0, "solar_input")
    return replace(s, entries={**s.entries, "link": (charger,)})


def answer(i: Inputs, f: Found, found: Findings) -> None:
    """Record the values."""
    total = sum(daily(i).values())
    found.value("used_per_day", total)
    found.value("amp_hours_per_day", total / NOMINAL)
    found.value("lowest_charge", f.now.lowest)
    for key, size in (("capacity_needed", f.capacity), ("sun_needed", f.sun), ("charger_needed", f.charger)):
        found.value(key, size or None, text="no size does" if size is None else None if size else "none")


def daily(i: Inputs) -> dict[str, float]:
    """Return what each load of the second battery wants in a day, by its name [Wh]."""
    made, w = vehicle(i.set_up), trips.weather(i)
    return {c.name: wanted(c.load, w, made.inside_warmer) for c in made.consumers if c.at == "second"}


def wanted(load: Load | Fridge, w: trips.Weather, warmer: float) -> float:
    """Return what a load wants in a day [Wh]: a fridge by the warmth of each hour."""
    if isinstance(load, Load):
        return (load.current * NOMINAL + load.power) * load.hours
    mean, swing = (w.hottest + w.coldest) / 2, (w.hottest - w.coldest) / 2
    return sum(load.power(mean + warmer + swing * math.cos(math.tau * hour / trips.DAY)) for hour in range(24))


def judge(i: Inputs, f: Found, found: Findings) -> None:
    """Say whether it is enough, and what else would be."""
    stay, kept = i.text("days"), show(f.keep, "%", 0)
    low = f"It goes down to {show(f.now.lowest, '%', 0)}; {kept} should stay."
    if does(f.now, f.keep):
        found.verdict("ok", f"Your vehicle stays out for {stay}.", f"{low} {room(i, f)}".strip())
        return
    if f.now.off_hours:
        what = "The fridge" if f.now.fridges else "Something"
        low += f" {what} is off for {show(f.now.off_hours, 'h', 0)} of two such stays."
    level = "stop" if f.now.off_hours else "caution"
    found.verdict(level, f"As it is, your vehicle does not stay out for {stay}.", low)
    helps = [
        f"a battery of {show(f.capacity, 'Ah')}" if f.capacity else "",
        f"{show(f.sun, 'W')} of panels" if f.sun else "",
        f"a DC-DC charger of {show(f.charger, 'A')}" if f.charger else "",
    ]
    if any(helps):
        found.verdict(
            "ok",
            f"Any one of these is enough: {', or '.join(filter(None, helps))}.",
            "Each counted with the rest of the vehicle as it is; a little of two is often better than much of one.",
        )
    else:
        found.verdict(
            "stop",
            "No size of one thing alone is enough.",
            f"Not {show(CAPACITIES[-1], 'Ah')} of battery, not {show(PANELS[-1], 'W')} of panels, not a charger of "
            f"{show(CHARGERS[-1], 'A')}. Use less, drive more, or plug in between.",
        )


def room(i: Inputs, f: Found) -> str:
    """Say how much smaller the battery might be."""
    owned = bank(i.set_up).capacity
    if f.capacity and f.capacity < owned:
        return f"{show(f.capacity, 'Ah')} would do; you have {show(owned, 'Ah')}."
    return ""


def uses(i: Inputs) -> Sheet:
    """Return what takes how much in a day."""
    rows = tuple((name, show(energy, "Wh", 0), show(energy / NOMINAL, "Ah", 0)) for name, energy in daily(i).items())
    return Sheet(
        "What each load takes in a day", ("Load", "Energy", "At 12 V"), rows or (("None is entered", "–", "–"),)
    )


def working(i: Inputs, f: Found, found: Findings) -> None:
    """Show how the numbers came about."""
    found.step(
        f"Followed as a trip: {i.text('drive')} of driving, then {i.text('days')} at camp, and the same again, from "
        "full batteries",
        f"lowest charge {show(f.now.lowest, '%', 0)}",
        "manwell-1993",
    )
    found.step(
        "Each size by halving: the smallest with which nothing goes off and the charge is kept",
        f"battery {CAPACITIES[0]} to {CAPACITIES[-1]} Ah by {CAPACITIES.step}; panels to {PANELS[-1]} W by "
        f"{PANELS.step}; charger {CHARGERS[0]} to {CHARGERS[-1]} A by {CHARGERS.step}",
        "practice",
    )
    found.step(
        "Charge that has to be kept",
        f"{show(f.keep, '%', 0)}" + ("" if i.keep is not None else ", usual for this type of battery"),
        "practice",
    )


CHECK = Check(
    id="energy-budget",
    title="Energy budget",
    question="How much battery and sun do you need?",
    about="Say how many days you want to stay at one place, and how much you drive in between. The size of battery, of "
    "panels, or of a charger that is just enough is found by following the trip with one size after another.",
    task="home",
    fields=(
        Number("days", "Days at one place", "Between two drives", "2 days", "3 days", "days", 0.1, 30),
        Number("drive", "Driving in between", "0 if you never drive there", "2 h", "2 h", "hours", 0, 48),
        Number(
            "keep",
            "Charge to keep",
            "Lead-acid lives longest above half",
            "",
            "40 %",
            "charge",
            0,
            90,
            unknown="usual for the battery's type",
        ),
        *trips.SURROUNDINGS,
    ),
    outputs=(
        Output("used_per_day", "energy", "Loads take in a day"),
        Output("amp_hours_per_day", "capacity", "The same at 12 V"),
        Output("lowest_charge", "charge", "Lowest charge, as it is"),
        Output("capacity_needed", "capacity", "Battery that is enough"),
        Output("sun_needed", "power", "Panels that are enough"),
        Output("charger_needed", "current", "DC-DC charger that is enough"),
    ),
    compute=compute,
    example={"days": "1", "drive": "1", "month": "september", "sky": "overcast"},
    example_story="On the road each day for an hour in a grey September, and the rest of the day at camp.",
    cases=(
        Cases(
            "Battery that a usual vehicle needs, by days at one place; 2 h of driving in between",
            (("Battery needed", {}),),
            tuple((show(d, "day"), {"days": str(d)}) for d in (1, 2, 3)),
            "capacity_needed",
        ),
        Cases(
            "Panels that a usual vehicle needs instead, by month and sky, at 50° north, 3 days at one place",
            tuple((month.capitalize(), {"month": month}) for month in ("june", "september")),
            tuple((words, {"sky": sky}) for sky, words in (("clear", "Clear"), ("overcast", "Overcast"))),
            "sun_needed",
            {"days": "3"},
        ),
    ),
    guides=("planning-a-trip", "sun", "why-a-second-battery", "flat-at-camp"),
    starts={"latitude": starts.at("sun", "latitude")},
    whole=True,
)
