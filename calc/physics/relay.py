"""A voltage-sensitive relay between two batteries: what it senses as it closes, while driving, and with the engine off.

The relay stands beside the starter battery. The second battery, just joined, pulls the sensed voltage down; then its
surface charges, and the voltage comes back. A battery is its resting voltage, what its surface adds, and its internal
resistance; an alternator holds its voltage behind a small resistance up to the most current that it gives.

The surface law is `calc.physics.rest_voltage.settling` turned round. It is a slow law: in the first seconds a real
battery's voltage may rise faster, so that a relay may hold where it is said to chatter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from calc.physics import network
from calc.physics.rest_voltage import settling, voltage_at_rest

STEP = 0.01
"""Most of a battery's capacity that one step of time may move; half of it changes the time by less than 2 % [-]."""

SPREAD = 0.02
"""Longest step of time, as a share of the time since the engine stopped and the settling time together [-]."""

SECONDS = 3600.0
"""Seconds in an hour; a glossary in hours and seconds needs it [-]."""

HORIZON = 720.0
"""Thirty days: what has not happened by then is said not to happen; batteries drain themselves meanwhile [h]."""

LEAST_LIMIT = 1e-6
"""An alternator that gives less than this gives nothing [A]."""


@dataclass(frozen=True)
class Circuit:
    """Alternator, starter battery, relay, cable, second battery and its load.

    Attributes
    ----------
    holds : voltage of the alternator at no current [V]
    limit : the most current that it gives, 0 or more [A]
    alternator : its resistance and that of its cable [ohm]
    starter : internal resistance of the starter battery [ohm]
    contact : of the relay, closed [ohm]
    cable : between the relay and the second battery, there and back, joints included [ohm]
    second : internal resistance of the second battery [ohm]
    load : on the second battery [A]
    """

    holds: float
    limit: float
    alternator: float
    starter: float
    contact: float
    cable: float
    second: float
    load: float

    @property
    def loop(self) -> float:
        """From the starter battery's posts to those of the second one and back [ohm]."""
        return self.contact + self.cable


@dataclass(frozen=True)
class State:
    """How the joined batteries stand.

    Attributes
    ----------
    sensed : at the relay's side of the starter battery [V]
    output : at the relay's other side [V]
    through : through the relay towards the second battery; below 0 back from it [A]
    arriving : at the posts of the second battery [V]
    helping : out of the starter battery; below 0 into it [A]
    """

    sensed: float
    output: float
    through: float
    arriving: float
    helping: float


@dataclass(frozen=True)
class Store:
    """A battery as it stands when the engine stops.

    Attributes
    ----------
    chemistry : a key of the chemistries [-]
    capacity : on the label [Ah]
    charge : state of charge [%]
    surface : what its surface charge adds [V]
    half_time : in which half of that is gone [h]
    """

    chemistry: str
    capacity: float
    charge: float
    surface: float
    half_time: float


@dataclass(frozen=True)
class Parting:
    """When the relay parts the batteries, and how they stand then.

    Attributes
    ----------
    hours : since the engine stopped; None where it does not part while the starter battery holds out [h]
    starter : charge of the starter battery then, or in the end [%]
    second : charge of the second battery then, or in the end [%]
    """

    hours: float | None
    starter: float
    second: float


def _solved(c: Circuit, near: list, far: list) -> State:
    """Return the closed circuit's state; `near` and `far` stand for the two batteries."""
    parts: list = [*near, *far]
    if c.limit > LEAST_LIMIT:
        parts.append(network.Source("alternator", "in", "0", c.holds, c.alternator, c.limit, one_way=True))
    parts.append(network.Switch("relay", "in", "out", True, c.contact))
    parts.append(network.Resistance("cable", "out", "far", c.cable))
    point = network.solve(parts)
    volts = point.voltages
    return State(volts["in"], volts["out"], point.currents["relay"], volts["far"], point.currents["starter"])


def joined(c: Circuit, starter: float, second: float) -> State:
    """Return how two joined batteries stand, with the engine running.

    Parameters
    ----------
    c : the circuit [-]
    starter : inside the starter battery: at rest, with what its surface adds [V]
    second : the same inside the second battery [V]

    Returns
    -------
    state : voltages and currents [V], [A]

    Examples
    --------
    No cable limits what two equal batteries share: the alternator's 40 A go half to each.

    >>> state = joined(Circuit(14.4, 40, 0.001, 0.010, 0.0, 0.0, 0.010, 0), 12.6, 12.6)
    >>> round(state.sensed, 3), round(state.through, 3), round(state.helping, 3)
    (12.8, 20.0, -20.0)
    """
    near = [network.Source("starter", "in", "0", starter, c.starter)]
    far = [network.Source("second", "far", "0", second, c.second), network.CurrentLoad("load", "far", "0", c.load)]
    return _solved(c, near, far)


def opened(c: Circuit, starter: float) -> float:
    """Return the voltage that the relay senses while it is open, the engine running.

    Parameters
    ----------
    c : the circuit [-]
    starter : inside the starter battery [V]

    Returns
    -------
    sensed : at the starter battery's posts [V]

    Examples
    --------
    >>> round(opened(Circuit(14.4, 40, 0.001, 0.010, 0.0, 0.0, 0.010, 0), 12.6), 3)
    13.0
    """
    parts: list = [network.Source("starter", "in", "0", starter, c.starter)]
    if c.limit > LEAST_LIMIT:
        parts.append(network.Source("alternator", "in", "0", c.holds, c.alternator, c.limit, one_way=True))
    return network.solve(parts).voltages["in"]


def risen(c: Circuit, rest: float, connects_at: float) -> float:
    """Return the voltage inside the starter battery as the relay closes: what brings the sensed voltage to that point.

    Where the alternator alone reaches the point, the battery still stands at rest; else its surface has charged until
    the two reach it together. It is the lowest voltage at which the relay can close, so the worst.

    Parameters
    ----------
    c : the circuit; its alternator holds more than connects_at [-]
    rest : resting voltage of the starter battery [V]
    connects_at : where the relay closes [V]

    Returns
    -------
    starter : inside the starter battery [V]

    Examples
    --------
    >>> round(risen(Circuit(14.4, 40, 0.001, 0.010, 0.0, 0.0, 0.010, 0), 12.6, 13.3), 3)
    12.9
    >>> risen(Circuit(14.4, 400, 0.001, 0.010, 0.0, 0.0, 0.010, 0), 12.6, 13.3)
    12.6
    """
    given = min(c.limit, max(0.0, c.holds - connects_at) / c.alternator)
    return max(rest, connects_at - c.starter * given)


def needed(c: Circuit, starter: float, sensed: float) -> float:
    """Return the voltage inside the second battery at which the closed relay senses just that: `joined` turned round.

    Parameters
    ----------
    c : the circuit [-]
    starter : inside the starter battery [V]
    sensed : wanted at the relay [V]

    Returns
    -------
    second : inside the second battery; more gives more [V]

    Examples
    --------
    >>> c = Circuit(14.2, 30, 0.004, 0.006, 0.0005, 0.010, 0.005, 4)
    >>> round(needed(c, 12.9, joined(c, 12.9, 11.8).sensed), 6)
    11.8
    """
    given = min(c.limit, max(0.0, c.holds - sensed) / c.alternator)
    through = given + (starter - sensed) / c.starter
    return sensed - through * c.loop - (through - c.load) * c.second


def rise(most: float, half_time: float, passed: float) -> float:
    """Return what the surface of a battery adds to its voltage after charging for a while: most · t / (t + half_time).

    A law of our own, from memory: the settling of `rest_voltage.settling`, turned round.

    Parameters
    ----------
    most : in the end [V]
    half_time : in which half of it is there [h]
    passed : since charging began, 0 or more [s]

    Returns
    -------
    added : to the resting voltage [V]

    Examples
    --------
    >>> rise(0.5, 0.5, 1800)
    0.25
    """
    return most - settling(most, half_time, passed / SECONDS)


def rise_time(wanted: float, most: float, half_time: float) -> float:
    """Return how long the surface of a battery takes to add a voltage: `rise` turned round.

    Parameters
    ----------
    wanted : added to the resting voltage [V]
    most : in the end [V]
    half_time : in which half of it is there [h]

    Returns
    -------
    passed : 0 where nothing is wanted; infinity where it never gets there [s]

    Examples
    --------
    >>> rise_time(0.25, 0.5, 0.5)
    1800.0
    """
    if wanted <= 0:
        return 0.0
    return SECONDS * half_time * wanted / (most - wanted) if wanted < most else math.inf


def settled(c: Circuit, tails: tuple[float, float], rests: tuple[float, float], flat: float) -> State:
    """Return how the joined batteries stand in the end, engine running: each takes the current that a charge ends with.

    Where the alternator cannot give that and the load, both batteries help, from rest. Where the cable cannot bring
    that, the second battery has gone flat and stands there.

    Parameters
    ----------
    c : the circuit [-]
    tails : what the starter and the second battery still take when full [A]
    rests : their resting voltages when full [V]
    flat : resting voltage of the second battery when flat [V]

    Returns
    -------
    state : voltages and currents [V], [A]

    Examples
    --------
    >>> c = Circuit(14.2, 90, 0.004, 0.006, 0.0005, 0.0095, 0.005, 4)
    >>> state = settled(c, (1.4, 2.0), (12.8, 12.8), 11.8)
    >>> round(state.sensed, 3), round(state.arriving, 3)
    (14.17, 14.11)
    """
    first, other = tails
    if first + other + c.load > c.limit:
        return joined(c, *rests)
    sensed = c.holds - c.alternator * (first + other + c.load)
    if sensed - c.loop * (other + c.load) >= flat:
        far = [network.CurrentLoad("second", "far", "0", other + c.load)]
    else:
        far = [
            network.Source("second", "far", "0", flat - c.second * other, c.second),
            network.CurrentLoad("load", "far", "0", c.load),
        ]
    state = _solved(c, [network.CurrentLoad("starter", "in", "0", first)], far)
    return State(state.sensed, state.output, state.through, state.arriving, -first)


def _slope(b: Store, charge: float) -> float:
    """Return how fast a battery's resting voltage falls with each ampere-hour taken."""
    high, low = (voltage_at_rest(min(100.0, max(0.0, charge + d)), b.chemistry) for d in (0.5, -0.5))
    return max(0.0, high - low) / (b.capacity / 100)


def _share(out: float, load: float, q1: float, q2: float) -> float:
    """Return what the starter battery gives: a full battery takes nothing, a flat second one gives nothing."""
    out = max(out, 0.0) if q1 >= 100 else out
    out = min(out, load) if q2 >= 100 else out
    return max(out, load) if q2 <= 0 else out


def parting(c: Circuit, disconnects_at: float, delay: float, either: bool, starter: Store, second: Store) -> Parting:
    """Return when the relay parts the batteries after the engine stops, and how they stand then.

    Both stand at rest, with what is left of their surface charge, and share the load. A full battery takes no more:
    its voltage rises with the other's instead. A flat second battery gives nothing. Time goes in steps; within one the
    current follows the voltages (implicit Euler), so that a battery on the steep end of its curve does no harm.

    Parameters
    ----------
    c : the circuit; its alternator does not count [-]
    disconnects_at : where the relay opens [V]
    delay : before it opens [s]
    either : whether it looks at both of its sides and opens only if both are low [-]
    starter, second : the batteries as the engine stops [-]

    Returns
    -------
    parting : time and charges [h], [%]

    Examples
    --------
    Without load, surface charge alone decides: two equal batteries at 12.24 V with 0.5 V on them pass 12.49 V after
    one settling time.

    >>> b = Store("flooded", 100, 50, 0.5, 0.5)
    >>> c = Circuit(0, 0, 0.004, 0.005, 0.0005, 0.01, 0.005, 0)
    >>> round(parting(c, 12.49, 0, False, b, b).hours, 2)
    0.5
    """
    resistance = c.starter + c.loop + c.second
    q1, q2, passed, before = starter.charge, second.charge, 0.0, None
    while True:
        e1, e2 = (
            voltage_at_rest(q, b.chemistry) + settling(b.surface, b.half_time, passed)
            for q, b in ((q1, starter), (q2, second))
        )
        drive = e1 - e2 + c.second * c.load
        out = _share(drive / resistance, c.load, q1, q2)
        lifted = q1 >= 100 and drive < 0
        sensed = e2 - c.second * (c.load - out) + c.loop * out if lifted else e1 - c.starter * out
        sensed += c.contact * max(0.0, -out) if either else 0.0
        if sensed < disconnects_at:
            if before is not None:
                then, stood, *charges = before
                share = (stood - disconnects_at) / (stood - sensed)
                passed, q1, q2 = (a + share * (b - a) for a, b in zip((then, *charges), (passed, q1, q2), strict=True))
            last = delay / SECONDS
            q1 -= 100 * out * last / starter.capacity
            q2 -= 100 * (c.load - out) * last / second.capacity
            return Parting(passed + last, min(100.0, max(0.0, q1)), min(100.0, max(0.0, q2)))
        if passed >= HORIZON or q1 <= 0:
            return Parting(None, q1, q2)
        before = passed, sensed, q1, q2
        step = SPREAD * (passed + min(starter.half_time, second.half_time))
        for amperes, b in ((out, starter), (c.load - out, second)):
            if amperes:
                step = min(step, STEP * b.capacity / abs(amperes))
        step = min(max(step, 1e-4), HORIZON - passed + 1e-9)
        k1, k2 = _slope(starter, q1), _slope(second, q2)
        out = _share((drive + step * k2 * c.load) / (resistance + step * (k1 + k2)), c.load, q1, q2)
        q1 = min(100.0, max(0.0, q1 - 100 * out * step / starter.capacity))
        q2 = min(100.0, max(0.0, q2 - 100 * (c.load - out) * step / second.capacity))
        passed += step
