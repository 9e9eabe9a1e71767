"""Whether a battery turns an engine: the voltage at its posts while the starter motor draws its current.

A start lasts seconds, so the battery shows its inner resistance alone. That follows from the cold cranking current and
from published tables of cranking power against cold and against charge. By SAE J537 a new, full battery at −18 °C gives
that current for 30 s at 7.2 V or more; EN 50342-1 is near enough and is taken for the same. Charge is that of the
first well, see `calc.physics.battery`. The surface that a charge has just left is not counted, to be on the careful
side.

What an engine needs, in amperes and volts, stands in tables from memory with a wide spread: a start that was seen to
fail or to work tells more. Valid for 12 V, −30 to 60 °C.
"""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

from calc.physics import events, network
from calc.physics.battery import PER_AH, Battery, cold_resistance, cranking_share, figure
from calc.physics.interpolate import linear
from calc.tables import assumption, table

RATED_VOLTAGE = 7.2
"""Voltage down to which the cold cranking current is rated [V]. SAE J537, as vehicle service texts give it."""

RATED_TEMPERATURE = -17.8
"""Temperature of that rating, 0 °F [degC]."""

LEAST_SHARE = 0.01
"""Cranking power below this share counts as this, so that a resistance stays a number [-]."""

LONGEST_WAIT = 3.0
"""Nobody waits longer for another battery to help [h]."""

EXACT = 1e-7
"""Error of a well's fullness allowed in a step, when the wait is counted [-]."""


class Crank(NamedTuple):
    """What the starter motor finds.

    Attributes
    ----------
    current : that it draws [A]
    voltage : at the battery's posts meanwhile; 0 where the battery cannot give that current [V]
    low, high : the same, as far as battery and engine are not known [V]
    margin : voltage above the least one at which an engine starts [V]
    least_margin, most_margin : the same, with all that is not known [V]
    """

    current: float
    voltage: float
    low: float
    high: float
    margin: float
    least_margin: float
    most_margin: float

    @property
    def verdict(self) -> str:
        """Return "yes", "perhaps" or "no": whether the engine starts."""
        if self.least_margin >= 0:
            return "yes"
        return "perhaps" if self.most_margin >= 0 else "no"


@cache
def _line(name: str, across: str, up: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return two columns of a table to read between."""
    return tuple(table(name).column(across)), tuple(table(name).column(up))


@cache
def _warm_current(engine: str, column: str) -> float:
    """Return the current that a warm engine's starter motor draws [A]."""
    return table("engine_starting").row(key=engine)[column]


def needed_current(engine: str, temperature: float, column: str = "current") -> float:
    """Return the current that an engine's starter motor draws: warm from memory, in the cold by a published share.

    Parameters
    ----------
    engine : a key of the table of engines: "petrol_small", "petrol", "diesel" or "diesel_large" [-]
    temperature : of the engine, −30 to 60 [degC]
    column : "current" for the usual one, or the ends of its spread, "low" and "high" [-]

    Returns
    -------
    current : drawn [A]

    Examples
    --------
    >>> needed_current("diesel", 26.7), round(needed_current("diesel", -17.8), 3)
    (200.0, 420.0)
    """
    cold = linear(temperature, *_line("cold_engine", "temperature", "needed")) / 100
    return _warm_current(engine, column) * cold


def usual_cold_cranking(chemistry: str, capacity: float) -> float:
    """Return the cold cranking current that a lead-acid battery is likely to have, where its label is not at hand.

    Parameters
    ----------
    chemistry : "flooded", "calcium", "agm" or "gel" [-]
    capacity : of its label [Ah]

    Returns
    -------
    current : at −18 °C for 30 s to 7.2 V (from memory) [A]

    Examples
    --------
    >>> usual_cold_cranking("calcium", 70)
    630.0
    """
    return figure(f"cold_cranking_{chemistry}") * capacity


def charge_share(charge: float) -> float:
    """Return the cranking power of a lead-acid battery as a share of a full one's (US Army TM 5-1185, table IV).

    Down to half full, where the table ends; from there straight on, towards nothing when flat.

    Parameters
    ----------
    charge : state of charge [%]

    Returns
    -------
    share : 0.01 to 1 [-]

    Examples
    --------
    >>> charge_share(75), charge_share(20)
    (0.75, 0.2)
    """
    charges, powers = _line("tm_5_1185_cranking", "charge", "cranking")
    if charge < charges[0]:
        return max(LEAST_SHARE, powers[0] / 100 * charge / charges[0])
    return linear(charge, charges, powers) / 100


def cranking_resistance(battery: Battery, h1: float, temperature: float, cold_cranking: float | None = None) -> float:
    """Return the resistance that a battery shows to a start.

    Lead-acid: R = (E − 7.2 V) / (CCA · p(T) / p(−17.8 °C) · p(charge)), times its wear, with E its voltage at rest,
    p(T) the cranking power of US Army TM 5-4210-230-14&P-1, table 3, and p(charge) that of TM 5-1185, table IV. LFP
    has no such rating: its inner resistance, doubled with each so many degrees of cold.

    Parameters
    ----------
    battery : a `calc.physics.battery.Battery` [-]
    h1 : how full its first well is [-]
    temperature : of the battery [degC]
    cold_cranking : of its label when new, SAE J537; None for the usual one of its size [A]

    Returns
    -------
    resistance : inside, for some seconds [ohm]

    Examples
    --------
    >>> new = Battery("calcium", 70)
    >>> [round(cranking_resistance(new, h1, -17.8, 600), 4) for h1 in (1.0, 0.5)]
    [0.0092, 0.0192]
    """
    if not battery.lead_acid:
        inner = assumption("internal_resistance_lfp")["value"] * PER_AH / battery.capacity
        return inner * battery.wear * cold_resistance("lfp", temperature)
    rated = cold_cranking or usual_cold_cranking(battery.chemistry, battery.capacity)
    cold = cranking_share(temperature) / cranking_share(RATED_TEMPERATURE)
    # Where a table of power ends, so does the fall of the voltage, or a weaker battery would seem the better one.
    emf = battery.emf(max(h1, battery.fullness(100 * LEAST_SHARE))) + min(0.0, battery.warmth(temperature)[0])
    return (emf - RATED_VOLTAGE) / (rated * cold * charge_share(battery.charge(h1))) * battery.wear


class Starter:
    """A battery and the engine that it has to start.

    Attributes
    ----------
    battery, engine, cold_cranking : as given, see `needed_current` and `cranking_resistance`
    """

    def __init__(self, battery: Battery, engine: str, cold_cranking: float | None = None):
        """Put a battery to an engine.

        Parameters
        ----------
        battery : a `calc.physics.battery.Battery` [-]
        engine : a key of the table of engines [-]
        cold_cranking : of the battery's label; None for the usual one of its size [A]
        """
        self.battery, self.engine, self.cold_cranking = battery, engine, cold_cranking

    def source(self, h1: float, temperature: float) -> tuple[float, float]:
        """Return voltage [V] and resistance [ohm] of the battery for a start at a fullness [-] and a temperature.

        A first well above full, as a charge leaves it for a while, counts as full.
        """
        emf = self.battery.emf(min(h1, 1.0)) + self.battery.warmth(temperature)[0]
        return emf, cranking_resistance(self.battery, h1, temperature, self.cold_cranking)

    def margin(self, h1: float, temperature: float) -> float:
        """Return by how much the posts stay above the least voltage [V] at a fullness [-] and temperature [degC].

        Smooth in h1, so that an event may stand on it; battery and engine are at the same temperature.
        """
        emf, resistance = self.source(h1, temperature)
        current = needed_current(self.engine, temperature)
        if _trips(self.battery, current):
            return -figure("cranking_voltage")
        return emf - current * resistance - figure("cranking_voltage")

    def crank(self, h1: float, temperature: float) -> Crank:
        """Return what a start finds at a fullness of the first well [-] and a temperature [degC]."""
        emf, resistance = self.source(h1, temperature)
        current = needed_current(self.engine, temperature)
        if _trips(self.battery, current):
            emf = resistance = 0.0
        return self._crank(temperature, emf, resistance)

    def crank_joined(
        self, h1: float, temperature: float, helper: Battery, helper_h1: float, helper_temperature: float, link: float
    ) -> Crank:
        """Return what a start finds at once as another battery is joined.

        Parameters
        ----------
        h1 : how full the first well of the starter battery is [-]
        temperature : of the starter battery and the engine [degC]
        helper : the other battery
        helper_h1 : how full its first well is [-]
        helper_temperature : of it [degC]
        link : resistance of what joins them, there and back [ohm]
        """
        emf, resistance = self.source(h1, temperature)
        other, its = Starter(helper, self.engine).source(helper_h1, helper_temperature)
        point = _joined(emf, resistance, other, its + link, needed_current(self.engine, temperature))
        if _trips(helper, point.currents["helper"]):
            return self.crank(h1, temperature)
        whole = resistance * (its + link) / (resistance + its + link)
        return self._crank(temperature, point.voltages["posts"] + whole * point.currents["motor"], whole)

    def _crank(self, temperature: float, emf: float, resistance: float) -> Crank:
        """Return a start from a voltage behind a resistance; doubts that know nothing of each other add as squares."""
        usual, low, high = (needed_current(self.engine, temperature, c) for c in ("current", "low", "high"))
        spread, least = figure("cranking_spread"), table("battery_models").row(key="cranking_voltage")
        voltage = emf - usual * resistance
        down = math.hypot((high - usual) * resistance, usual * resistance * (spread - 1))
        up = math.hypot((usual - low) * resistance, usual * resistance * (1 - 1 / spread))
        margin = voltage - least["value"]
        return Crank(
            usual,
            max(0.0, voltage),
            max(0.0, voltage - down),
            max(0.0, voltage + up),
            margin,
            margin - math.hypot(down, least["high"] - least["value"]),
            margin + math.hypot(up, least["value"] - least["low"]),
        )


def _trips(battery: Battery, current: float) -> bool:
    """Return whether an LFP battery's own switch opens at a current."""
    return not battery.lead_acid and current > figure("trips_above_lfp") * battery.capacity


def _joined(emf: float, resistance: float, other: float, its: float, current: float) -> network.Solution:
    """Return the operating point of two batteries side by side on one starter motor."""
    return network.solve(
        [
            network.Source("own", "posts", network.GROUND, emf, max(resistance, network.IDEAL)),
            network.Source("helper", "posts", network.GROUND, other, max(its, network.IDEAL)),
            network.CurrentLoad("motor", "posts", network.GROUND, current),
        ]
    )


class Wait(NamedTuple):
    """How long two batteries have to stay joined before the engine starts, None where it never does.

    Attributes
    ----------
    joined : until both together start it [h]
    alone : until the starter battery does so alone [h]
    """

    joined: float | None
    alone: float | None


def wait(
    starter: Starter, charge: float, temperature: float, helper: Battery, helper_charge: float, link: float
) -> Wait:
    """Return how long a joined second battery has to charge the starter battery before the engine starts.

    Both at rest at first. The helper gives what flows by itself: the difference of the two through both resistances
    and the link; no engine, no sun. Both batteries keep their temperature, taken to be the same.

    Parameters
    ----------
    starter : the starter battery and its engine [-]
    charge : of the starter battery, before [%]
    temperature : of batteries and engine, −30 to 60 [degC]
    helper : the second battery [-]
    helper_charge : of it, before [%]
    link : resistance of what joins them, there and back [ohm]

    Returns
    -------
    wait : for both together, and for the starter battery alone, 3 h at most [h]

    Examples
    --------
    >>> flat = Starter(Battery("calcium", 70), "diesel", 640)
    >>> found = wait(flat, 20, 10, Battery("agm", 100), 90, 0.015)
    >>> round(60 * found.joined), round(60 * found.alone)
    (0, 62)
    """
    own, state = starter.battery, []
    for battery, percent in ((own, charge), (helper, helper_charge)):
        state += [battery.fullness(percent)] * 2
    rates = _charging(own, helper, temperature, link)

    def joined(y: tuple) -> float:
        return starter.crank_joined(y[0], temperature, helper, y[2], temperature, link).margin

    def alone(y: tuple) -> float:
        return starter.margin(y[0], temperature)

    return Wait(_until(joined, rates, state), _until(alone, rates, state))


def _charging(own: Battery, helper: Battery, temperature: float, link: float):
    """Return the rates of both batteries' wells while the helper charges the other."""
    shift_1, _, r_c, _, _, _ = own.warmth(temperature)
    shift_2, r_d, _, available, _, _ = helper.warmth(temperature)

    def rates(_: float, y: tuple) -> tuple:
        a1, a2, b1, b2 = y
        resistance = own.charge_resistance_at(a1, r_c) + link + helper.discharge_resistance_at(b1, r_d, available)
        i = max(0.0, helper.emf(b1) + shift_2 - own.emf(a1) - shift_1) / resistance if b1 > 1 - available else 0.0
        p = (own.flow if a1 < a2 else own.flow_in) * (a1 - a2)
        q = (helper.flow if b1 < b2 else helper.flow_in) * (b1 - b2)
        return ((i - p) / own.well_1, p / own.well_2, (-i - q) / helper.well_1, q / helper.well_2), (), None

    return rates


def _until(margin, rates, state: list[float]) -> float | None:
    """Return when a margin rises to 0 [h]: now, later, or None."""
    if margin(state) >= 0:
        return 0.0
    mode = events.Mode(rates, lambda t, y, seen: (-margin(y),), LONGEST_WAIT)
    time, _, _ = events.integrate(mode, 0.0, state, (), lambda *event: None, (EXACT,) * 4)
    return time if time < LONGEST_WAIT else None
