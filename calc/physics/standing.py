"""How a vehicle's sources and batteries stand, and the search for a way in which all agree.

A source that gives all it can stops doing so at its voltage, one that holds its voltage stops at the most it can give;
a battery charges or discharges, or may do neither. Each way of standing comes with what has to be at or above 0 for it,
as a function of time, state and what `calc.physics.vehicle.Law` found there. `calc.physics.trip_course` watches these.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from calc.physics import vehicle as at
from calc.physics.vehicle import (
    CHARGING,
    DISCHARGING,
    EASED,
    FEEDING,
    FILLING,
    FLOATING,
    HOLDS,
    IDLE,
    INPUT,
    LIMITED,
    RATED,
    RESTING,
    STARVED,
    Law,
)

TURNS = "sun", "mains", "charger"
"""Of chargers that stop at one voltage, those named first give all they can [-]."""

SLACK = 1e-9
"""By how much a limit may be overstepped by rounding [V], [A]."""

STIFF_SLACK = 1e-6
"""The same of an alternator's current, which a rounding of its voltage moves far [A]."""

BEGINS = 1.5
"""How many times what gas alone would take a lead-acid battery takes before it counts as charging [-]."""

LEVEL = 1e-12
"""By how much the fullness of two level wells may differ by rounding [-]."""

STRAYS = 1e-3
"""By how much the voltage may leave that of a floating battery before it counts as charging or discharging [V]."""

MOST_TURNS = 24
"""Sources and batteries that may change how they stand in one event [-]."""


class Rule(NamedTuple):
    """What has to be at or above 0 as things stand, the name of what turns else, and how it stands then."""

    value: Callable[[float, tuple, tuple], float]
    name: str
    new: str


class Store:
    """What is discrete about one battery: whether it may take and give, and where it stands in state and findings."""

    def __init__(self, name: str, battery, place: int, volts: int, inner: int, stands: str):
        self.name, self.battery, self.place, self.volts, self.inner = name, battery, place, volts, inner
        self.stands, self.takes, self.void = (
            stands,
            volts - at.NEAR + at.NEAR_TAKES,
            volts - at.NEAR + at.NEAR_EMPTY,
        )
        self.may_charge = self.may_discharge = True
        self.empty = self.hot = False
        self.refuses = ""


class Standing:
    """How everything stands, turned until all agree.

    Attributes
    ----------
    rules : of how things stand
    """

    def __init__(self, law: Law, near: Store, far: Store, overloaded: Callable[[float], None]):
        """Stand by a law; `overloaded` turns off what asks for too much at a time."""
        self.law, self.near, self.far, self._overloaded = law, near, far, overloaded
        link = law.vehicle.link
        self.dc = link.charger if link.kind == "charger" else None
        self.rules: list[Rule] = []
        self._known: dict[tuple, list[Rule]] = {}

    def settle(self, time: float, state: tuple) -> tuple:
        """Turn what stands where it cannot until all agree, and return the rates then.

        Of several that cannot stand so, the one turns that has turned least. Where all chargers give what they can and
        the batteries help, and still nothing agrees, loads of constant power ask for more than there is; their own
        protection turns them off.
        """
        for help_along in (None, self._lean, lambda: self._overloaded(time)):
            if help_along:
                help_along()
            turned: list[str] = []
            while len(turned) < MOST_TURNS:
                found = self.law.rates(time, state)
                self.rules = self._stands()
                turns = [rule for rule in self.rules if rule.value(time, state, found[2]) < 0]
                if not turns:
                    return found
                turn = min(turns, key=lambda turn: turned.count(turn.name))
                turned.append(turn.name)
                setattr(self.law, turn.name, turn.new)
        return found

    def _lean(self) -> None:
        """Let every charger and the alternator give what they can, and every battery that may help."""
        law = self.law
        for store in (self.near, self.far):
            if store.may_discharge:
                setattr(law, store.stands, DISCHARGING)
        law.alternator = law.alternator and LIMITED
        law.sun, law.mains, law.charger = law.sun and LIMITED, law.mains and RATED, law.charger and RATED

    def _stands(self) -> list[Rule]:
        """Return what must be at or above 0 for everything to stand as it does, and how it stands otherwise."""
        law, near, far = self.law, self.near, self.far
        stands = law.near, law.far, law.near_pipe, law.far_pipe, law.alternator, law.charger, law.mains, law.sun
        key = (*stands, near.may_charge, near.may_discharge, far.may_charge, far.may_discharge)
        if key not in self._known:
            self._known[key] = [Rule(*rule) for rule in self._rules()]
        return self._known[key]

    def _rules(self) -> list[tuple[Callable, str, str]]:
        """Return the same, made anew."""
        found = []
        law = self.law
        for store in (self.near, self.far):
            found += self._battery_stands(store)
        holder = self.holder()
        found += self._yields(holder)
        if law.charger:
            found += self._charger_stands(holder)
        if law.mains:
            found += _source_stands("mains", law.mains, holder, at.MAINS_SET, at.MAINS_RATED, at.MAINS_AMPERES)
        if law.sun:
            found += self._sun_stands(holder)
        return found + self._alternator_stands() if law.alternator else found

    def _taken(self, store: Store) -> Callable:
        """Return the limit at which a lead-acid battery begins to charge: once it takes clearly more than gas would."""
        volts, inner, takes, place = store.volts, store.inner, store.takes, store.place
        gassing = store.battery.gassing

        def spare(t: float, y: tuple, s: tuple) -> float:
            above = s[volts] - s[inner]
            return SLACK - above if above <= 0 else SLACK + BEGINS * gassing(s[volts], y[place + 3]) - s[takes]

        return spare

    def holder(self) -> str | None:
        """Return which charger holds the second battery's voltage."""
        return next((name for name in TURNS if getattr(self.law, name) is HOLDS), None)

    def _yields(self, holder: str | None) -> list:
        """Return where a charger that holds the voltage must give all it can, as one after it stops there too."""
        rest = LIMITED if holder == "sun" else RATED
        return [
            (lambda t, y, s, place=place: s[place] - s[at.FAR] - SLACK, holder, rest)
            for name, place, _ in self.running()
            if holder and getattr(self.law, name) is RATED and TURNS.index(name) > TURNS.index(holder)
        ]

    def _alternator_stands(self) -> list:
        """Return the limits of how the alternator stands."""
        stands, resistance = self.law.alternator, self.law.vehicle.alternator_resistance
        if stands is HOLDS:
            return [
                (lambda t, y, s: s[at.ALTERNATOR] + STIFF_SLACK, "alternator", IDLE),
                (lambda t, y, s: s[at.ALTERNATOR_LIMIT] - s[at.ALTERNATOR] + STIFF_SLACK, "alternator", LIMITED),
            ]
        if stands is LIMITED:

            def spare(t, y, s):
                return (s[at.ALTERNATOR_HOLDS] - s[at.NEAR]) / resistance - s[at.ALTERNATOR_LIMIT] + STIFF_SLACK

            return [(spare, "alternator", HOLDS)]
        return [(lambda t, y, s: s[at.NEAR] - s[at.ALTERNATOR_HOLDS] + SLACK, "alternator", HOLDS)]

    def _battery_stands(self, store: Store) -> list:
        """Return the limits of how a battery stands, and of which way the charge goes between its wells."""
        return [self._pipe(store), *self._reaction(store)]

    def _pipe(self, store: Store) -> tuple[Callable, str, str]:
        """Return where the charge between a battery's wells turns round."""
        name, place = f"{store.stands}_pipe", store.place
        if getattr(self.law, name) is FILLING:
            return lambda t, y, s: y[place] - y[place + 1] + LEVEL, name, FEEDING
        return lambda t, y, s: y[place + 1] - y[place] + LEVEL, name, FILLING

    def _reaction(self, store: Store) -> list:
        """Return where a battery turns from charge to discharge and back."""
        volts, inner, name, battery = store.volts, store.inner, store.stands, store.battery
        stands = getattr(self.law, name)
        if stands is FLOATING:
            edge = STRAYS if self.holder() else -1.0
            return [
                (lambda t, y, s: s[inner] - s[volts] + edge, name, CHARGING),
                (lambda t, y, s: s[volts] - s[inner] + edge, name, DISCHARGING),
            ]
        above = lambda t, y, s: s[volts] - s[inner] + SLACK  # noqa: E731
        below = lambda t, y, s: s[inner] - s[volts] + SLACK  # noqa: E731
        if stands is CHARGING:
            return [(above if store.may_charge else _broken, name, DISCHARGING if store.may_charge else RESTING)]
        if stands is DISCHARGING:
            found = [
                (self._taken(store) if battery.lead_acid else below, name, CHARGING if store.may_charge else RESTING)
            ]
            return found if store.may_discharge else [*found, (above, name, RESTING)]
        found = [(below, name, DISCHARGING)] if store.may_charge else []
        return [*found, (above, name, DISCHARGING)] if store.may_discharge else found

    def _charger_stands(self, holder: str | None) -> list:
        """Return the limits of how the DC-DC charger stands."""
        dc, name, stands = self.dc, "charger", self.law.charger
        full = IDLE if holder not in (None, name) else HOLDS
        reaches = lambda t, y, s: s[at.CHARGER_SET] - s[at.FAR] + SLACK, name, full  # noqa: E731
        rated = lambda t, y, s: s[at.CHARGER_RATED] - self._from_sun(s) - s[at.LINK_OUT] + SLACK, name, RATED  # noqa: E731
        draws = lambda t, y, s: dc.input_limit - s[at.LINK_IN] + SLACK, name, INPUT  # noqa: E731
        sinks = lambda t, y, s: s[at.INPUT_VOLTS] - dc.eases + SLACK, name, EASED  # noqa: E731
        gives = lambda t, y, s: s[at.LINK_OUT] + SLACK, name, IDLE  # noqa: E731
        if stands is RATED:
            return [reaches, gives, draws, sinks]
        if stands is HOLDS:
            return [gives, rated, draws, sinks]
        if stands is INPUT:
            return [reaches, rated, sinks]
        if stands is EASED:
            starves = lambda t, y, s: s[at.LINK_IN] - dc.idle + SLACK, name, STARVED  # noqa: E731
            return [reaches, starves, rated, draws]
        if stands is STARVED:
            return [(lambda t, y, s: dc.eases - s[at.INPUT_VOLTS] + SLACK, name, EASED)]
        back = RATED if holder else HOLDS
        return [(lambda t, y, s: s[at.FAR] - s[at.CHARGER_SET] + SLACK, name, back)]

    def _from_sun(self, seen: tuple) -> float:
        """Return what of the DC-DC charger's rating its own panels take."""
        return seen[at.SUN_AMPERES] if self.dc and self.law.solar and not self.law.vehicle.solar else 0.0

    def _sun_stands(self, holder: str | None) -> list:
        """Return the limits of how the solar controller stands."""
        if self.law.sun is LIMITED:
            full = IDLE if holder not in (None, "sun") else HOLDS
            return [
                (lambda t, y, s: s[at.SUN_SET] - s[at.FAR] + SLACK, "sun", full),
                (lambda t, y, s: s[at.SUN_RATED] - s[at.SUN_AMPERES] + SLACK, "sun", RATED),
            ]
        found = _source_stands("sun", self.law.sun, holder, at.SUN_SET, at.SUN_RATED, at.SUN_AMPERES)
        if self.law.sun is RATED:
            found.append((lambda t, y, s: s[at.SUN_WATTS] / s[at.FAR] - s[at.SUN_RATED] + SLACK, "sun", LIMITED))
        elif self.law.sun is HOLDS:
            found.append((lambda t, y, s: s[at.SUN_WATTS] / s[at.FAR] - s[at.SUN_AMPERES] + SLACK, "sun", LIMITED))
        return found

    def running(self) -> list[tuple[str, int, int]]:
        """Return the chargers that are on, each with the places of its set voltage and its current."""
        places = (
            ("charger", at.CHARGER_SET, at.LINK_OUT),
            ("mains", at.MAINS_SET, at.MAINS_AMPERES),
            ("sun", at.SUN_SET, at.SUN_AMPERES),
        )
        return [place for place in places if getattr(self.law, place[0])]


def _source_stands(name: str, stands: str, holder: str | None, volts: int, rated: int, amperes: int) -> list:
    """Return the limits of how a source stands that gives its rated current, holds its voltage, or is idle."""
    if stands is RATED:
        full = IDLE if holder not in (None, name) else HOLDS
        return [(lambda t, y, s: s[volts] - s[at.FAR] + SLACK, name, full)]
    if stands is HOLDS:
        return [
            (lambda t, y, s: s[amperes] + SLACK, name, IDLE),
            (lambda t, y, s: s[rated] - s[amperes] + SLACK, name, RATED),
        ]
    first = holder and TURNS.index(name) < TURNS.index(holder)
    slack = -SLACK if first else SLACK
    return [(lambda t, y, s: s[at.FAR] - s[volts] + slack, name, RATED if holder else HOLDS)]


def _broken(time: float, state: tuple, seen: tuple) -> float:
    """Return what no limit allows."""
    return -1.0
