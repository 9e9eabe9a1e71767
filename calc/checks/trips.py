"""What the checks of a whole trip share: what they ask, how the trip is run, and what came of it in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from calc import progress
from calc.check import Inputs
from calc.fields import Choice, Number, yes_no
from calc.legs import OTHER_SKIES, SKIES, Journey, Legs
from calc.physics import sun, trip
from calc.physics.fridge import Fridge
from calc.setup.model import SetUp
from calc.setup.vehicle import at_end, vehicle
from calc.tables import assumption

DAY = 24.0
"""[h]."""

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
MONTH_LENGTH = 365 / 12
"""Days in a month, on average [-]."""

JOURNEYS = (
    ("A weekend", "drive 3 h, camp 2 d, drive 3 h"),
    ("A long weekend in the heat", "drive 4 h, camp 3 d clear 18..34 degC, drive 4 h"),
    ("A short tour, on the road each day", ", ".join(["drive 3 h, stop 2 h, camp 19 h"] * 4)),
    (
        "A fortnight by the sea, a drive every third day",
        ", ".join(["camp 3 d half 15..26 degC, drive 1 h"] * 4 + ["camp 2 d half 15..26 degC, drive 3 h"]),
    ),
    (
        "A winter week, plugged in twice",
        "drive 3 h overcast -4..2 degC, camp 2 d overcast -6..1 degC, plugged 14 h overcast -6..1 degC, drive 1 h "
        "overcast -4..2 degC, camp 2 d overcast -8..0 degC, plugged 14 h overcast -6..1 degC, drive 3 h overcast "
        "-4..2 degC",
    ),
)
"""Common trips to start from."""

LEGS = Legs(
    "legs",
    "The trip, leg by leg",
    "What happens, in order; sky and air only where they differ from the rest",
    "drive 2 h, camp 2 d, drive 2 h",
    "drive 3 h, camp 2 d clear 8..22 degC, drive 3 h",
    journeys=JOURNEYS,
)
MONTH = Choice(
    "month",
    "Month",
    "It decides how high the sun stands",
    "june",
    "june",
    tuple((name.lower(), name) for name in MONTHS),
)
LATITUDE = Number("latitude", "Latitude", "South is negative; any map tells", "50 deg", "57 deg", "angle", -70, 72)
SKY = Choice("sky", "Sky on most days", "For legs that do not say", "half", "half", SKIES, OTHER_SKIES)
COLDEST = Number(
    "coldest", "Coldest at night", "For legs that do not say", "10 degC", "10 degC", "temperature", -50, 60
)
HOTTEST = Number("hottest", "Hottest by day", "For legs that do not say", "22 degC", "22 degC", "temperature", -50, 60)
BEGINS = Number(
    "begins", "Begins at", "Hour of the day, by the sun: 9.5 h is half past nine", "9 h", "9 h", "hours", 0, 23.99
)
SECOND_CHARGE = Number(
    "charge", "Second battery's charge at first", "As it sets out", "100 %", "80 %", "charge", 5, 100
)
STARTER_CHARGE = Number(
    "starter_charge", "Starter battery's charge at first", "As it sets out", "90 %", "90 %", "charge", 5, 100
)


LEFT_ON = yes_no("left_on", "Hand switch left on at camp", "Only where a switch turned by hand joins the batteries")

SURROUNDINGS = (MONTH, LATITUDE, SKY, COLDEST, HOTTEST, BEGINS)
"""When and where, as far as it matters."""

FIELDS = (LEGS, *SURROUNDINGS, SECOND_CHARGE, STARTER_CHARGE, LEFT_ON)
"""What a check asks that follows a whole trip."""


@dataclass(frozen=True)
class Weather:
    """Where and when a trip is.

    Attributes
    ----------
    latitude : south is negative [deg]
    day : of the year, as it begins [-]
    hour : of the day, as it begins [h]
    sky : a key of SKIES, where a leg says none
    coldest, hottest : of the air, where a leg says none [degC]
    """

    latitude: float
    day: int
    hour: float
    sky: str
    coldest: float
    hottest: float


@dataclass(frozen=True)
class Outage:
    """A time in which something was off that should have been on: its name, from and to [h]."""

    name: str
    start: float
    end: float


@dataclass(frozen=True)
class Outcome:
    """What came of a trip.

    Attributes
    ----------
    run : all of it
    weather : where and when
    fridges : names of the fridges
    outages : of loads, because their own protection or an empty battery turned them off
    failed_starts : when the engine would not have started [h]
    limit : charge below which the second battery is worn [%]
    """

    run: trip.Run
    weather: Weather
    fridges: tuple[str, ...]
    outages: tuple[Outage, ...]
    failed_starts: tuple[float, ...]
    limit: float

    @property
    def lowest(self) -> float:
        """Lowest charge of the second battery [%]."""
        return max(0.0, self.run.lowest("second")[1])

    @property
    def starter_lowest(self) -> float:
        """Lowest charge of the starter battery [%]."""
        return max(0.0, self.run.lowest("starter")[1])

    @property
    def off_hours(self) -> float:
        """For how long a fridge was off, or where there is none, any load [h]."""
        return sum(outage.end - outage.start for outage in self.outages_that_count)

    @property
    def outages_that_count(self) -> tuple[Outage, ...]:
        """Those of the fridges, or where there is none, of any load."""
        return tuple(o for o in self.outages if o.name in self.fridges or not self.fridges)

    @property
    def worn_hours(self) -> float:
        """For how long the second battery was below what it should not be taken to [h]."""
        return self.run.hours_below("second", self.limit)

    @property
    def mean(self) -> float:
        """Charge of the second battery, as a mean of the trip [%]."""
        points = self.run.points
        pairs = zip(points, points[1:], strict=False)
        area = sum((b.time - a.time) * (a.second + b.second) / 2 for a, b in pairs)
        return area / self.run.hours if self.run.hours else points[0].second

    @property
    def well(self) -> bool:
        """Whether nothing that counts went off, and every start was one."""
        return not self.outages_that_count and not self.failed_starts and not self.ended_early

    @property
    def ended_early(self) -> bool:
        """Whether the run could not be followed to its end."""
        return any(event.key == "cannot_follow" for event in self.run.events)

    def happened(self, key: str) -> float | None:
        """Return when something first happened [h], or None."""
        return next((event.time for event in self.run.events if event.key == key), None)

    def clock(self, time: float) -> str:
        """Return a time of the trip as a reader says it: "day 2, 14:05"."""
        return clock(time + self.weather.hour)


def clock(hours: float) -> str:
    """Return a time, counted from the first midnight, as a reader says it.

    Examples
    --------
    >>> clock(9.25), clock(47.999)
    ('day 1, 9:15', 'day 3, 0:00')
    """
    minutes = round(60 * hours)
    return f"day {minutes // 1440 + 1}, {minutes // 60 % 24}:{minutes % 60:02}"


def weather(i: Inputs) -> Weather:
    """Return where and when a trip is, from what was asked."""
    number = [name.lower() for name in MONTHS].index(i.month)
    day = round((number + 0.5) * MONTH_LENGTH)
    return Weather(i.latitude, day, i.begins, i.sky, min(i.coldest, i.hottest), max(i.coldest, i.hottest))


def eighths(sky: str) -> float:
    """Return how much of the sky is covered, in eighths, by its word."""
    return assumption(f"cloud_{sky}")["value"]


def legs(journey: Journey, w: Weather) -> tuple[trip.Leg, ...]:
    """Return the legs of a trip with what they do not say filled in."""
    overrun, idling = assumption("overrun_share")["value"], assumption("idle_share")["value"]
    return tuple(
        trip.Leg(
            leg.kind,
            leg.hours,
            eighths(leg.sky or w.sky),
            w.coldest if leg.coldest is None else leg.coldest,
            w.hottest if leg.hottest is None else leg.hottest,
            overrun,
            idling,
        )
        for leg in journey.legs
    )


@dataclass(frozen=True)
class Question:
    """All that a run rests on, beside the set-up.

    Attributes
    ----------
    journey : the trip
    weather : where and when
    charge, starter_charge : of the batteries at first [%]
    left_on : whether a switch turned by hand stays on at camp
    """

    journey: Journey
    weather: Weather
    charge: float
    starter_charge: float
    left_on: bool = False


Told = Callable[[float], None]


def question(i: Inputs) -> Question:
    """Return what a run rests on, from what was asked."""
    return Question(i.legs, weather(i), i.charge, i.starter_charge, i.left_on == "yes")


def follow(s: SetUp, q: Question, told: Told | None = None) -> Outcome:
    """Return what comes of a trip with a vehicle."""
    w = q.weather
    made = replace(vehicle(s, q.left_on), latitude=w.latitude)
    start = trip.Start(q.starter_charge, q.charge, w.hour, w.day)
    run = trip.simulate(made, legs(q.journey, w), start, told)
    fridges = tuple(c.name for c in made.consumers if isinstance(c.load, Fridge) and c.at == "second")
    failed = tuple(event.time for event in run.events if event.key == "engine_would_not_start")
    limit = assumption("stop_lfp" if made.second.chemistry == "lfp" else "stop_lead_acid")["value"]
    return Outcome(run, w, fridges, outages(run, made), failed, limit)


def outages(run: trip.Run, made: trip.Vehicle) -> tuple[Outage, ...]:
    """Return when loads were off that should have been on: cut by their own protection, or their battery empty."""
    open_: dict[str, float] = {}
    found = []
    empty = {"starter": False, "second": False}
    places = {c.name: c.at for c in made.consumers}
    for event in run.events:
        if event.key in ("battery_empty", "battery_back"):
            empty[event.name] = event.key == "battery_empty"
        off = event.key == "consumer_cut" or (event.key == "consumer_off" and empty[places[event.name]])
        if off:
            open_.setdefault(event.name, event.time)
        elif event.key in ("consumer_back", "consumer_on") and event.name in open_:
            found.append(Outage(event.name, open_.pop(event.name), event.time))
    found += [Outage(name, start, run.hours) for name, start in open_.items()]
    return tuple(sorted(found, key=lambda outage: outage.start))


def opens_on_the_road(o: Outcome) -> float | None:
    """Return when a relay first opens in a drive [h], or None."""
    kind = ""
    for event in o.run.events:
        if event.key == "leg_starts":
            kind = event.name
        elif event.key == "relay_opens" and kind == "drive":
            return event.time
    return None


def with_progress(share: float, of: float, words: str) -> Told:
    """Return what a run tells its progress to, as a part of a longer computation: from a share on, so much of it."""
    return lambda done: progress.tell(share + of * done, words)


def ranged(s: SetUp, q: Question) -> tuple[Outcome, Outcome, Outcome]:
    """Return what comes of a trip as usual, and with what is assumed at its worse and at its better end."""
    cases = ((s, "As usual"), (at_end(s, False), "At worst"), (at_end(s, True), "At best"))
    found = []
    for n, (one, words) in enumerate(cases):
        found.append(follow(one, q, with_progress(n / len(cases), 1 / len(cases), words)))
        progress.tell((n + 1) / len(cases), words)
    usual, worse, better = found
    return usual, worse, better


def at_times(points: Sequence[trip.Point], times: Sequence[float]) -> list[trip.Point]:
    """Return how things stand at rising times, straight between the points of a run."""
    found, n = [], 0
    for time in times:
        while n + 2 < len(points) and points[n + 1].time <= time:
            n += 1
        one, other = points[n], points[min(n + 1, len(points) - 1)]
        share = (time - one.time) / (other.time - one.time) if other.time > one.time else 0.0
        share = min(1.0, max(0.0, share))
        pairs = zip(fields_of(one), fields_of(other), strict=True)
        found.append(trip.Point(*(a + share * (b - a) for a, b in pairs)))
    return found


def fields_of(point: trip.Point) -> tuple[float, ...]:
    """Return a point's numbers in their order."""
    return (
        point.time,
        point.starter,
        point.second,
        point.starter_volts,
        point.second_volts,
        point.starter_amperes,
        point.second_amperes,
        point.temperature,
    )


def nights(w: Weather, hours: float) -> tuple[tuple[float, float], ...]:
    """Return the nights of a trip, from and to, counted from the first midnight [h]."""
    found = []
    for n in range(-1, int((w.hour + hours) // DAY) + 1):
        rises, sets = (sun.day(w.latitude, (w.day + d - 1) % 365 + 1, 0, ()) for d in (n + 1, n))
        if sets.sets is None or rises.rises is None:
            if sun.elevation(w.latitude, w.day, 12) < 0:
                found.append((n * DAY, (n + 1) * DAY))
            continue
        dusk = sets.sets if sets.sets > sets.rises else sets.sets + DAY
        found.append((n * DAY + dusk, (n + 1) * DAY + rises.rises))
    return tuple((max(a, w.hour), min(b, w.hour + hours)) for a, b in found if b > w.hour and a < w.hour + hours)
