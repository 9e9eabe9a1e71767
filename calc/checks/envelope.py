"""The picture of a fuse against its cable: when the fuse opens, and how long the cable stands it."""

from __future__ import annotations

from calc.check import Line, Plot
from calc.physics import adiabatic, fuse
from calc.units import show

TIMES = (0.01, 1000.0)
"""Ends of the picture's time axis [s]."""

MULTIPLES = (1.0, 100.0)
"""Ends of its current axis, as multiples of the fuse's rating [-]."""

STEPS = 60
NEVER = 1e9


def currents(rating: float) -> list[float]:
    """Return the currents at which the lines are drawn, evenly on a logarithmic axis [A]."""
    low, high = MULTIPLES
    return [rating * low * (high / low) ** (n / STEPS) for n in range(STEPS + 1)]


def within(points: list[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """Return the points that lie within the picture's times."""
    return tuple((x, t) for x, t in points if TIMES[0] <= t <= TIMES[1])


def envelope_plot(key: str, rating: float, name: str, cable: str, factor: float, copper: float, faults: dict) -> Plot:
    """Return the plot of a fuse and its cable.

    Parameters
    ----------
    key, rating, name : of the fuse: its family, its rating [A], and its words
    cable : the cable's words
    factor, copper : k and S of the cable's I²t = k²S²
    faults : words → fault current, marked where it is within the picture [A]
    """
    along = currents(rating)
    slow = [(x, fuse.slowest(key, rating, x) or NEVER) for x in along]
    lines = (
        Line("the fuse opens at the soonest", within([(x, fuse.fastest(key, rating, x)) for x in along]), "dashed"),
        Line("the fuse opens at the latest", within(slow), "solid"),
        Line(
            f"what {cable} stands", within([(x, adiabatic.withstand_time(x, factor, copper)) for x in along]), "dotted"
        ),
    )
    marks = tuple((x, f"{words}, {show(x, 'A', 0)}") for words, x in faults.items() if along[0] <= x <= along[-1])
    words = f"A {name} must open, even at the latest, before the cable's insulation is spoilt. "
    for what, current in faults.items():
        latest = fuse.slowest(key, rating, current)
        opens = f"within {show(latest, 's')}" if latest is not None else "perhaps never"
        stands = adiabatic.withstand_time(current, factor, copper)
        words += f"{what[0].upper()}{what[1:]}, {show(current, 'A', 0)}: the fuse opens {opens}, "
        words += f"and the cable stands it for {show(stands, 's')}. "
    ends = (along[0], along[-1])
    drawn = tuple(line for line in lines if line.points)
    return Plot("The fuse against its cable", "current, A", "time, s", ends, TIMES, drawn, marks, words.strip())
