"""What a meter shows in a vehicle that is well: at every test point a usual reading, and how far it may stray.

The circuit is that of `calc.physics.faults`, in many vehicles that are spread evenly over all that nobody knows, each
with its own meter. Those whose alternator is too weak to charge both batteries are left out: they are not well. The
usual reading is the middle one of them; how far it may stray leaves out the odd ones, and allows for what moves a
reading besides: its last digits, and a vehicle that does not stand quite still.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from calc.physics import faults
from calc.physics.diagnosis import COUNT, Reading, error, lattice
from calc.physics.faults import Cause, Circuit, Vehicle

LEFT_OUT = 0.02
"""Share of the vehicles that is left out at each end [-]."""

LEAST_KEPT = 0.25
"""Where less than this share of the vehicles charges, the set-up itself is so, and all of them count [-]."""

SHOWN = 100
"""Steps in a volt or an ampere that are shown: ends are rounded outwards to them [-]."""


@dataclass(frozen=True)
class Expected:
    """A reading to expect.

    Attributes
    ----------
    usual : in the middle of all that may be [V], [A]
    low, high : between which it lies where all is well; of a drop, 0 and the most that it may be [V], [A]
    limit : most that handbooks let a drop test lose there; None where it is none, or they give none [V]
    drop : whether it is a loss on the way, that may be read either way round [-]
    """

    usual: float
    low: float
    high: float
    limit: float | None
    drop: bool

    @property
    def above_limit(self) -> bool:
        """Whether this very vehicle may lose more than the handbooks allow, though all is well."""
        return self.limit is not None and self.high > self.limit

    def allows(self, shown: float) -> bool:
        """Return whether a reading passes."""
        return self.low <= (abs(shown) if self.drop else shown) <= self.high


def middle(v: Vehicle, charge: float | None = None) -> Circuit:
    """Return the vehicle that is well, in the middle of all that nobody knows.

    Parameters
    ----------
    v : the set-up [-]
    charge : of its second battery; None for the middle of what it may be [%]

    Returns
    -------
    circuit : ready to be read [-]

    Examples
    --------
    >>> middle(faults.example_vehicle("relay"), 50).charge
    50
    """
    c = faults.broken(faults.healthy(v, [0.5] * faults.DIMENSIONS), _nothing(v), [0.5])
    if charge is not None:
        c.charge = charge
        faults.prepare(c)
    return c


def _nothing(v: Vehicle) -> Cause:
    """Return the cause that changes nothing."""
    return next(cause for cause in faults.causes(v) if cause.key == "nothing")


def charges(c: Circuit) -> bool:
    """Return whether both batteries are charged with the engine running and the loads off.

    Parameters
    ----------
    c : from `calc.physics.faults.broken` [-]

    Returns
    -------
    charges : whether neither stands below its rest; with no link only one is there to charge [-]

    Examples
    --------
    >>> charges(middle(faults.example_vehicle("relay")))
    True
    """
    if c.vehicle.link == "none":
        return True
    points = faults.at_points(c, "running")
    starter, second = (faults.read(points, place) for place in ("starter", "second"))
    return starter > c.starter_rest and second > c.second_rest


@lru_cache(maxsize=4)
def vehicles(v: Vehicle) -> tuple[Circuit, ...]:
    """Return vehicles of a set-up that are well, spread evenly over all that nobody knows.

    Parameters
    ----------
    v : the set-up [-]

    Returns
    -------
    circuits : ready to be read [-]

    Examples
    --------
    >>> len(vehicles(faults.example_vehicle("none")))
    257
    """
    well = _nothing(v)
    spread = tuple(faults.broken(faults.healthy(v, u), well, u[-2:]) for u in lattice(COUNT, faults.DIMENSIONS))
    charging = tuple(filter(charges, spread))
    return charging if len(charging) >= LEAST_KEPT * len(spread) else spread


@lru_cache(maxsize=4)
def expected(v: Vehicle) -> dict[Reading, Expected]:
    """Return what to expect of every reading that can be taken in a set-up that is well.

    Parameters
    ----------
    v : the set-up [-]

    Returns
    -------
    expected : of each reading, in the order of the table [V], [A]

    Examples
    --------
    >>> found = expected(faults.example_vehicle("relay"))
    >>> found["second", "rested"].allows(12.5), found["second", "rested"].allows(11.5)
    (True, False)
    >>> found["front-fuse", "running"].high, found["front-fuse", "running"].allows(-0.19)
    (0.2, True)
    """
    found = {}
    for state in faults.STATES:
        there = [reading for reading in faults.places_in(v) if reading[1] == state]
        if not there:
            continue
        points = [(c.meter, faults.at_points(c, state)) for c in vehicles(v)]
        for place, _ in there:
            found[place, state] = _between(place, state, [faults.read(each, place, meter) for meter, each in points])
    return {reading: found[reading] for reading in faults.places_in(v)}


def _between(place: str, state: str, shown: list[float]) -> Expected:
    """Return a reading to expect from what it is in many vehicles; of a drop only its size counts."""
    limit = faults.drop_limit(place, state)
    drop = limit is not None or place in faults.EITHER_SIGN
    shown = sorted(map(abs, shown) if drop else shown)
    edge, off = round(LEFT_OUT * len(shown)), error((place, state))
    usual, low, high = shown[len(shown) // 2], shown[edge], shown[-1 - edge]
    low, high = low - off.at(low), high + off.at(high)
    low, high = math.floor(SHOWN * low) / SHOWN, math.ceil(SHOWN * high) / SHOWN
    return (
        Expected(usual, 0.0, max(high, limit or 0.0), limit, drop) if drop else Expected(usual, low, high, None, False)
    )
