"""A trip: two batteries, what joins them and what charges and empties them, through driving, stops and camp.

Will the fridge never go off, and will the engine always start? What follows is all that is assumed, so that another
can write it anew; a test does. Each battery obeys `calc.physics.battery`; what a source wants and when a charger
changes its stage stands in `alternator`, `charger`, `sun`, `fridge` and `loads` beside it.

The circuit, at every instant
-----------------------------
Two points: A at the posts of the starter battery (voltage VA), B at those of the second battery (VB). The currents that
come to a point and go from it are equal.

- A battery takes i + g at its point: i = (V − emf(h1) − shift(T) − s)/R, R = R_c where that is above 0, else R_d; g
  is its gas, only while i > 0. As a lead-acid battery begins to take a current, at R_d, all of it makes gas, until it
  is 1.5 times what gas alone takes; only then does it charge. A battery takes or gives nothing (1e-9 siemens) where
  it may not: empty, or parted by its own switch.
- Alternator, at A while the engine runs: (set point − VA)/r, at least 0, at most its limit. Its own temperature goes
  from what it was when the leg began to Te by T = Te + (T0 − Te)·exp(−t/warming), with Te the leg's mean air, and the
  alternator's rise above it while the engine runs.
- Link: `wire`, and a `switch` or `relay` that is closed, carry (VA − VB)/r from A to B.
- DC-DC charger: draws I1 at V1 = VA − r·I1 and gives I2 at VB, η·V1·(I1 − idle) = VB·I2. I2 is the least of: its
  rating in the heat around it, less what its own panels give; what its input limit allows; what leaves V1 at `eases`;
  and what holds VB at its set voltage; and at least 0.
- Sun, at B: its power over VB, at most its controller's rating, and at most what holds VB at its set voltage.
- Mains charger, at B: its rating, or what holds VB at its set voltage.
- Of several chargers that could hold VB the one with the highest set voltage does. Where they are alike the sun gives
  all it has, then the mains, and the DC-DC charger the rest.
- A charger with a battery sensor gives no more than `Battery.most_charge` of the second battery: less to an LFP battery
  below 10 °C, none below 0 °C; less to a lead-acid one above 43 °C, and from 49.5 °C on none until it is back at
  47.5 °C. To an LFP battery whose own switch has parted for heat it gives nothing.
- Consumers draw a current, or a power over the voltage, at their battery's point; the vehicle itself draws its base
  load at A while the engine runs.

State
-----
Of each battery h1, h2, the natural logarithm z of the surface voltage s (in volts), and T:

    h1' = (i − p)/well_1 − σ·h1          h2' = p/well_2 − σ·h2          z' = −s/(S·half) + min(0, i)/drain
    T'  = (Ta − T)/cooling + loss/heat_capacity

s is below exp(−40) V at first. The air is mean + swing·cos(2π·(hour − 15)/24), from the leg's coldest and hottest. Ta
is the air, plus `second_warmer` at the second battery, plus `bay_warmer` at the starter battery while the engine runs.

Where a charger holds VB and an LFP battery has settled (it still has to move less than 2e-6 of its first well, at a
rate of 10/h or more), it is no longer followed as fast as that: i is then what keeps emf(h1) + s where it is.

Events
------
- A charge that stops at once (i > 0 before, below 0 after) leaves s = max(s, min(S, V before − emf(h1) − shift)).
- Relay: closes once VA was above `connects_at` for its delay, opens once VA (with `either`: both VA and VB) was below
  `disconnects_at` for its delay.
- DC-DC charger: on and off by `FromStarter.wants` with its delays; off at once where its ignition wire sees no engine,
  and where the starter battery is empty and there is no engine.
- Stages: bulk until VB reaches the set voltage; absorption until the charger itself holds it and gives less than its
  `tail`, or until `longest`; float, until VB was below `rebulk` for `rebulk_after`. A mains charger begins with bulk as
  it is plugged in, the sun each morning, a DC-DC charger as it comes on.
- Smart alternator: up from each start until the starter battery is above `full_above`, again from when it is at
  `low_below`, and in the spells of `lifted`.
- Empty: h1 falls to `empty(T)`. The battery gives nothing and its consumers are off until h1 is 0.1 above it. An LFP
  battery does the same when its posts fall to `opens_below`. It takes no charge below 0 and above 45 °C, until 2 °C
  inside, nor after its posts rose to `opens_above`, until they are back at `closes_below`.
- Fridge: off when what its running current leaves (`Fridge.lowest`, with the second battery's resistance and its own
  cable's) falls to `stops`; on again once its battery's posts were above `starts` for half an hour. Other
  loads of constant power have both of their own; where no operating point can be found at all, they go off at once.
- Engine: as a drive begins after something else, `Starter.crank` says whether it would start. The run goes on as if it
  had been helped; what a start itself takes from the battery is left out.
- Overrun is lumped by `alternator.overrun`; idling counts as a mean of the limits.

Where something only switches to and fro, all stands as it does for a minute, whatever limit it oversteps.

Accuracy: charges to 0.01 %, events to a second, energy to 1e-6 of what moved. What the figures that it is given
are worth is another matter.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from calc.physics import vehicle as at
from calc.physics.events import Chatter, Lost, integrate
from calc.physics.fridge import Fridge
from calc.physics.trip_course import ABSOLUTE, Course
from calc.physics.vehicle import Consumer, Link, Vehicle

__all__ = ["Consumer", "Event", "Leg", "Link", "Point", "Run", "Start", "Vehicle", "simulate"]

ENERGY, LEAST_ENERGY = 5e-7, 1e-7
"""What a step may leave over of the batteries' energy: a share of what it moves in them [-], and at least [Wh]."""

SPENDS = 0.05
"""Share of what the steps before left unused of that which a step may use beside its own [-]."""

MOST_PAUSES = 100
"""Times that something may switch to and fro without end in one trip before it is given up [-]."""

RELATIVE = 2e-6
"""Error allowed in a step as a share of each number, beside the absolute one of `calc.physics.trip_course` [-]."""


@dataclass(frozen=True)
class Leg:
    """A stretch of the trip.

    Attributes
    ----------
    kind : "drive", "stop", "camp" or "plugged" [-]
    hours : how long, above 0 [h]
    eighths : of the sky that clouds cover, 0 to 8 [-]
    coldest, hottest : of the air outside, at night and in the afternoon [degC]
    overrun : share of a drive that the vehicle rolls or brakes, 0 to 1 [-]
    idling : share of a drive that the engine idles, 0 to 1 [-]
    """

    kind: str
    hours: float
    eighths: float = 4.0
    coldest: float = 10.0
    hottest: float = 20.0
    overrun: float = 0.15
    idling: float = 0.1


@dataclass(frozen=True)
class Start:
    """How things stand as the trip begins.

    Attributes
    ----------
    starter, second : charge of the batteries, rested [%]
    hour : of the day, mean solar time, 0 to 24 [h]
    day : of the year, 1 to 366 [-]
    """

    starter: float = 100.0
    second: float = 100.0
    hour: float = 8.0
    day: int = 172


@dataclass(frozen=True, slots=True)
class Point:
    """A moment of the run.

    Attributes
    ----------
    time : since the trip began [h]
    starter, second : charge of the batteries [%]
    starter_volts, second_volts : at their posts [V]
    starter_amperes, second_amperes : into them, below 0 out of them; main reaction, without gas [A]
    temperature : of the second battery [degC]
    """

    time: float
    starter: float
    second: float
    starter_volts: float
    second_volts: float
    starter_amperes: float
    second_amperes: float
    temperature: float


@dataclass(frozen=True, slots=True)
class Event:
    """Something that happened.

    Attributes
    ----------
    time : since the trip began [h]
    key : what, a member of EVENTS [-]
    name : of the consumer, charger or battery that it happened to, or the kind of the leg; else empty
    """

    time: float
    key: str
    name: str = ""


EVENTS = {
    "leg_starts": "name is its kind",
    "engine_starts": "",
    "engine_would_not_start": "the run goes on as if it had been helped",
    "sun_rises": "over the panels, where there are some",
    "sun_sets": "",
    "relay_closes": "",
    "relay_opens": "",
    "relay_chatters": "it closed 20 times in an hour, and stays open until the next start",
    "charger_starts": "the DC-DC charger",
    "charger_stops": "",
    "stage_bulk": "name is charger, sun or mains",
    "stage_absorption": "",
    "stage_float": "",
    "alternator_limited": "it gives the most it can",
    "alternator_holds": "it holds its voltage",
    "alternator_rises": "a smart one",
    "alternator_rests": "",
    "consumer_on": "by the clock, or because its battery is back; name is the consumer's",
    "consumer_off": "by the clock, or because its battery is empty",
    "consumer_cut": "by its own protection",
    "consumer_back": "",
    "battery_empty": "nothing more comes; name is starter or second",
    "battery_back": "its first well has filled by a tenth",
    "battery_hot": "a lead-acid one is at 49.5 °C or above",
    "charge_refused": "the own switch of an LFP battery lets no charge in: cold, heat or too high a voltage",
    "charge_accepted": "",
    "cannot_follow": "the run ends here, as something only switches to and fro",
}
"""Keys of events, and what there is to say of them."""


@dataclass(frozen=True)
class Run:
    """What came of a trip.

    Attributes
    ----------
    hours : that were followed; less than the legs have where the run ended early [h]
    points : in the order of time, two at the same time where something jumps [-]
    events : in the order of time [-]
    sources : energy from "alternator", "sun", "mains" [Wh]
    offered : what the sun could have given [Wh]
    consumers : energy of each by its name, and of the vehicle itself under "vehicle" [Wh]
    losses : in "link", "starter" and "second", gas among them [Wh]
    gassed : of these what made gas, in "starter" and "second" [Wh]
    through : energy into the link and out of it, at its two ends [Wh], [Wh]
    into : energy into "starter" and "second" at their posts, and out of them [Wh], [Wh]
    stored : by how much the energy of "starter" and "second" grew [Wh]
    steps : that were taken [-]
    """

    hours: float
    points: tuple[Point, ...]
    events: tuple[Event, ...]
    sources: dict[str, float]
    offered: float
    consumers: dict[str, float]
    losses: dict[str, float]
    gassed: dict[str, float]
    through: tuple[float, float]
    into: dict[str, tuple[float, float]]
    stored: dict[str, float]
    steps: int

    @property
    def moved(self) -> float:
        """All energy that was given, taken or lost [Wh]."""
        given = sum(self.sources.values()) + sum(out for _, out in self.into.values())
        return given + sum(taken for taken, _ in self.into.values()) + sum(map(abs, self.losses.values()))

    @property
    def imbalance(self) -> float:
        """What is left over of all energy: sources less consumers, losses and what the batteries gained [Wh]."""
        gone = sum(self.consumers.values()) + sum(self.losses.values()) + sum(self.stored.values())
        return sum(self.sources.values()) - gone

    def lowest(self, battery: str) -> tuple[float, float]:
        """Return the time [h] and the lowest charge [%] of "starter" or "second"."""
        point = min(self.points, key=lambda p: getattr(p, battery))
        return point.time, getattr(point, battery)

    def hours_below(self, battery: str, charge: float) -> float:
        """Return how long "starter" or "second" was below a charge [%], straight between the points [h]."""
        total = 0.0
        for one, other in zip(self.points, self.points[1:], strict=False):
            a, b = getattr(one, battery) - charge, getattr(other, battery) - charge
            low = max(0.0, -a) + max(0.0, -b)
            total += (other.time - one.time) * (low / (abs(a) + abs(b)) if low else 0.0)
        return total

    def last_full(self, battery: str, charge: float = 98.0) -> float | None:
        """Return when "starter" or "second" was last at or above a charge [%]; None if never [h]."""
        return max((p.time for p in self.points if getattr(p, battery) >= charge), default=None)


class _Recorder:
    """What a run leaves: its points, and its sums sorted by who gave and who drew."""

    def __init__(self, course: Course, first: Sequence[float]):
        self._course, self._first, self._raw = course, first, []
        vehicle = course.vehicle
        self._totals: Sequence[float] = (0.0,) * (
            at.FRIDGES + sum(isinstance(c.load, Fridge) for c in vehicle.consumers)
        )
        self._before, self._since, self.time = self._totals, 0.0, 0.0
        self.consumers = {consumer.name: 0.0 for consumer in vehicle.consumers} | {"vehicle": 0.0}
        self.into = {"starter": [0.0, 0.0], "second": [0.0, 0.0]}
        self.steps = 0

    @property
    def start(self) -> Sequence[float]:
        """What has been summed up as the run begins: nothing."""
        return self._before

    def record(self, time: float, state: Sequence[float], totals: Sequence[float], seen: tuple) -> None:
        """Keep a point."""
        self._raw.append((time, state, seen))
        self._totals = totals
        self.time = time
        self.steps += 1

    def settle(self) -> None:
        """Sort what was summed up since the last change, before anything is turned."""
        course, grown = self._course, [b - a for a, b in zip(self._before, self._totals, strict=True)]
        hours = self.time - self._since
        volt_hours = {"starter": grown[at.NEAR_VOLT_HOURS], "second": grown[at.FAR_VOLT_HOURS]}
        number = 0
        for place, consumer in enumerate(course.vehicle.consumers):
            load = consumer.load
            if isinstance(load, Fridge):
                self.consumers[consumer.name] += grown[at.FRIDGES + number]
                number += 1
            elif course.draws(place):
                self.consumers[consumer.name] += load.current * volt_hours[consumer.at] + load.power * hours
        self.consumers["vehicle"] += course.base_current * volt_hours["starter"]
        for name, place in (("starter", at.INTO_STARTER), ("second", at.INTO_SECOND)):
            self.into[name][grown[place] < 0] += abs(grown[place])
        self._before, self._since = self._totals, self.time

    def last(self) -> tuple[float, Sequence[float], Sequence[float]]:
        """Return the time, the state and the sums of the last point, or of the beginning."""
        if not self._raw:
            return 0.0, self._first, self._totals
        time, state, _ = self._raw[-1]
        return time, state, self._totals

    def points(self) -> tuple[Point, ...]:
        """Return the points of the run."""
        near, far = self._course.vehicle.starter.mean_charge, self._course.vehicle.second.mean_charge
        return tuple(
            Point(
                time,
                near(y[0], y[1]),
                far(y[4], y[5]),
                s[at.NEAR],
                s[at.FAR],
                s[at.NEAR_AMPERES],
                s[at.FAR_AMPERES],
                y[7],
            )
            for time, y, s in self._raw
        )


def _keeper(course: Course, first: Sequence[float]) -> Callable:
    """Return what tells by how much a step breaks the balance of energy, as a share of what it may.

    It may leave over a share of what it moves, and some of what the steps before left unused of theirs: so a whole trip
    keeps to that share, and a bend in a battery's curve makes few steps short. Looked at are the batteries; of a step
    that is cut off also the two points, as a part of it lies where the law no longer held and no voltage may be found.
    """
    law, near, far = course.law, course.vehicle.starter, course.vehicle.second

    def held(state: Sequence[float]) -> float:
        return near.energy(state[0], state[1]) + far.energy(state[4], state[5])

    at_first = held(first)
    known = [first, at_first]

    def unmet(old: Sequence[float], new: Sequence[float], hours: float) -> float:
        grown = [b - a for a, b in zip(old, new, strict=True)]
        given = grown[at.FROM_ALTERNATOR] + grown[at.FROM_SUN] + grown[at.FROM_MAINS] + grown[at.OUT_OF_LINK]
        drawn = law.near_current * grown[at.NEAR_VOLT_HOURS] + law.far_current * grown[at.FAR_VOLT_HOURS]
        drawn += (law.near_power + law.far_power) * hours + sum(grown[at.FRIDGES :])
        return given - grown[at.INTO_LINK] - drawn - grown[at.INTO_STARTER] - grown[at.INTO_SECOND]

    def strays(
        before: Sequence[float], old: Sequence[float], after: Sequence[float], new: Sequence[float], hours: float
    ):
        into_1, into_2, lost_1, lost_2, *_ = old
        more_1, more_2, gone_1, gone_2 = new[0] - into_1, new[1] - into_2, new[2] - lost_1, new[3] - lost_2
        was = known[1] if known[0] is before else held(before)
        known[:] = after, held(after)
        left = abs(more_1 + more_2 - gone_1 - gone_2 - known[1] + was)
        if hours:
            left += abs(unmet(old, new, hours))
        left_before = into_1 + into_2 - lost_1 - lost_2 - was + at_first
        moved = old[at.FROM_ALTERNATOR] + old[at.FROM_SUN] + old[at.FROM_MAINS] + lost_1 + lost_2
        spare = ENERGY * moved - abs(left_before)
        allowed = LEAST_ENERGY + ENERGY * (abs(more_1) + abs(more_2) + gone_1 + gone_2)
        return left / (allowed + SPENDS * spare if spare > 0.0 else allowed)

    return strays


def simulate(
    vehicle: Vehicle,
    legs: Sequence[Leg],
    start: Start | None = None,
    progress: Callable[[float], None] | None = None,
) -> Run:
    """Return what comes of a trip.

    Parameters
    ----------
    vehicle : all that takes part [-]
    legs : of the trip, one after the other [-]
    start : how things stand as it begins; None for full batteries on a summer's morning [-]
    progress : told the share of the hours that is done, 0 to 1, at every event [-]

    Returns
    -------
    run : points, events and energies [-]

    Examples
    --------
    A box of 100 Ah that runs lamps of 5 A and nothing else:

    >>> from calc.physics.battery import Battery
    >>> from calc.physics.loads import steady
    >>> box = Vehicle(Battery("agm", 70), Battery("agm", 100), Link("none"), consumers=(Consumer("Lamps", steady(5)),))
    >>> run = simulate(box, [Leg("camp", 30, coldest=25, hottest=25)])
    >>> [(round(event.time, 1), event.key) for event in run.events if event.key == "battery_empty"]
    [(20.0, 'battery_empty')]
    """
    course = Course(vehicle, tuple(legs), start or Start(), progress)
    mode, first = course.begin(course.first_state())
    recorder = _Recorder(course, first)

    def change(time: float, state: Sequence[float], which: int | None, seen: tuple):
        recorder.settle()
        return course.change(time, state, which, seen)

    near, far, strays = vehicle.starter, vehicle.second, _keeper(course, first)
    time, last, totals = 0.0, first, recorder.start
    for _ in range(MOST_PAUSES):
        try:
            time, last, totals = integrate(
                mode, time, last, totals, change, ABSOLUTE, RELATIVE, recorder.record, strays=strays
            )
            break
        except Chatter:
            time, last, totals = recorder.last()
            recorder.settle()
            mode, last = course.pause(time, last)
        except Lost:
            course.give_up(time)
            break
    else:
        course.give_up(time)
    if not course.over:
        time, last, totals = recorder.last()
        recorder.settle()
    link = totals[at.INTO_LINK] - totals[at.OUT_OF_LINK]
    return Run(
        time,
        recorder.points(),
        tuple(Event(*event) for event in course.events),
        {
            "alternator": totals[at.FROM_ALTERNATOR],
            "sun": totals[at.FROM_SUN],
            "mains": totals[at.FROM_MAINS],
        },
        totals[at.SUN_OFFERED],
        recorder.consumers,
        {"link": link, "starter": totals[at.STARTER_LOSS], "second": totals[at.SECOND_LOSS]},
        {"starter": totals[at.STARTER_GAS], "second": totals[at.SECOND_GAS]},
        (totals[at.INTO_LINK], totals[at.OUT_OF_LINK]),
        {name: (taken, given) for name, (taken, given) in recorder.into.items()},
        {
            "starter": near.energy(last[0], last[1]) - near.energy(first[0], first[1]),
            "second": far.energy(last[4], last[5]) - far.energy(first[4], first[5]),
        },
        recorder.steps,
    )
