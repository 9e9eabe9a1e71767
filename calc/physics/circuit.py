"""The two points of a vehicle's circuit, in closed form where there is one: what a trip asks ten thousand times.

Each point (the starter battery's posts, and the second battery's) carries what is straight in its voltage V, loads of
constant power, a converter at the far end of a cable, and the gassing of a battery, which grows exponentially:

    G·V + P/V + g·exp(c·V) + I(V) = J

with G the sum of all conductances, J the sum of every source's voltage times its conductance and of every current that
is given, less what is drawn; P what loads of constant power draw (below 0 it is given); I what a converter draws that
asks for Q at the far end of a resistance r, beside an idle current i0: i0 + 2Q/(V' + √(V'² − 4rQ)), V' = V − r·i0.
The upper root is the operating point, as in `calc.physics.network`, which a test compares. Without gassing it is the
root of a quadratic; with it, Newton's method takes two or three rounds from the point found before.

Where the loads ask for more than can be drawn there is no operating point; then 1 V stands for it, so that whatever
looks at it sees a voltage at which nothing works.
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp, log, sqrt

CLOSE = 1e-6
"""Newton's method ends with a step below this: what is left then is its square [V]."""

NEAR = 0.25
"""A first step of more than this from a guess is not trusted, and the point is looked for from above [V]."""

ROUNDS = 60
"""Steps of Newton's method after which no point is in sight [-]."""

GRID, HALVINGS = 118, 44
"""Pieces of half a volt that are searched for a change of sign, and halvings of one, which leave 3e-14 V [-]."""

LEAST, MOST = 1.0, 60.0
"""Voltages between which a point is looked for [V]."""

STEEPEST = 60.0
"""Exponent at which gassing is cut off, far beyond any battery [-]."""

Point = tuple[float, float, float, float, float]
"""What hangs on a point: G in siemens, J in A, P in W, g in A and c in 1/V."""


def quadratic(conductance: float, current: float, power: float) -> float:
    """Return the voltage of a point without gassing: the upper root of G·V² − J·V + P = 0.

    Parameters
    ----------
    conductance : G, in siemens, 0 or more [-]
    current : J [A]
    power : P [W]

    Returns
    -------
    voltage : the operating point, 1 where there is none [V]

    Examples
    --------
    A battery of 12.6 V behind 0.02 ohm with 300 W on it:

    >>> round(quadratic(50.0, 630.0, 300.0), 4)
    12.1043
    """
    if conductance <= 0.0:
        return MOST if current > 0.0 else LEAST
    inside = current * current - 4.0 * conductance * power
    if inside < 0.0:
        return LEAST
    voltage = (current + sqrt(inside)) / (2.0 * conductance)
    return LEAST if voltage < LEAST else MOST if voltage > MOST else voltage


def drawn(voltage: float, asked: float, idle: float, resistance: float) -> tuple[float, float]:
    """Return the current of a converter at the far end of a cable: Q = (V − r·I)·(I − i0), the smaller root.

    Parameters
    ----------
    voltage : at the near end, above 0 [V]
    asked : Q, at the far end, 0 or more [W]
    idle : i0, what it draws beside that [A]
    resistance : r, of the cable there and back [ohm]

    Returns
    -------
    current : at most what can be drawn, about V/2r [A]
    slope : how the current changes with the voltage; 0 where it is at most, in siemens [-]

    Examples
    --------
    >>> round(drawn(12.6, 300.0, 0.0, 0.02)[0], 4)
    24.7846
    """
    left = voltage - resistance * idle
    inside = left * left - 4.0 * resistance * asked
    if inside <= 0.0:
        return idle + (0.5 * left / resistance if resistance else 0.0), 0.0
    root = sqrt(inside)
    current = 2.0 * asked / (left + root)
    return idle + current, -current / root


def single(point: Point, asked: float, idle: float, resistance: float, guess: float) -> float:
    """Return the voltage of a point on its own, a converter at the end of a cable on it.

    Parameters
    ----------
    point : what hangs on it [-]
    asked : Q, what the converter asks for at its end, 0 for none [W]
    idle : i0, what it draws beside that [A]
    resistance : r, of its cable [ohm]
    guess : the voltage found before, or any [V]

    Returns
    -------
    voltage : the operating point, 1 where there is none [V]

    Examples
    --------
    >>> round(single((50.0, 630.0, 0.0, 0.0, 0.0), 300.0, 0.0, 0.02, 12.0), 4)
    12.0811
    """
    conductance, current, power, gas, _ = point
    if gas == 0.0:
        if asked == 0.0:
            return quadratic(conductance, current - idle, power)
        if power == 0.0 and conductance > 0.0:  # all that stands before the converter is a source behind a resistance
            taken, slope = drawn(current / conductance, asked, idle, resistance + 1.0 / conductance)
            if slope:
                return (current - taken) / conductance
    return _upper(excess, (point, asked, idle, resistance), guess, point)


def pair(near: Point, far: Point, resistance: float, guess: float) -> tuple[float, float]:
    """Return the voltages of two points that a resistance joins.

    Parameters
    ----------
    near, far : what hangs on each [-]
    resistance : between them, there and back, above 0 [ohm]
    guess : the voltage of the near one found before, or any [V]

    Returns
    -------
    near : the operating point of the one [V]
    far : and of the other [V]

    Examples
    --------
    12.8 V and 12.4 V, each behind 0.01 ohm, joined by 0.02 ohm:

    >>> [round(v, 3) for v in pair((100, 1280, 0, 0, 0), (100, 1240, 0, 0, 0), 0.02, 12)]
    [12.7, 12.5]
    """

    def beyond(v: float) -> tuple[float, float]:
        out, more = excess(v, near)
        bend = 1.0 + resistance * more
        value, slope = excess(max(LEAST, v + resistance * out), far)
        return value + out, slope * bend + more

    together = (near[0] + far[0], near[1] + far[1], near[2] + far[2], near[3], near[4])
    v = _upper(beyond, (), guess, together)
    return v, v + resistance * excess(v, near)[0]


def excess(
    voltage: float, point: Point, asked: float = 0.0, idle: float = 0.0, resistance: float = 0.0
) -> tuple[float, float]:
    """Return what a point draws at a voltage beyond what it is given.

    Parameters
    ----------
    voltage : V, above 0 [V]
    point : what hangs on it [-]
    asked, idle, resistance : of a converter on it, as `drawn` takes them [W], [A], [ohm]

    Returns
    -------
    current : G·V + P/V + g·exp(c·V) + I(V) − J [A]
    slope : how it grows with the voltage, in siemens [-]

    Examples
    --------
    >>> excess(12.5, (50.0, 630.0, 125.0, 0.0, 0.0))
    (5.0, 49.2)
    """
    conductance, current, power, gas, rise = point
    value, slope = conductance * voltage - current + idle, conductance
    if power:
        taken = power / voltage
        value += taken
        slope -= taken / voltage
    if gas:
        steep = rise * voltage
        blown = gas * exp(steep if steep < STEEPEST else STEEPEST)
        value += blown
        slope += rise * blown
    if asked:
        taken, bend = drawn(voltage, asked, idle, resistance)
        value += taken - idle
        slope += bend
    return value, slope


def _above(point: Point) -> float:
    """Return a voltage at or above the operating point: what it would be without gassing, or with nothing else."""
    conductance, current, power, gas, rise = point
    most = quadratic(conductance, current, min(power, 0.0))
    given = current - min(power, 0.0) / LEAST
    return max(LEAST, min(most, log(given / gas) / rise)) if gas and given > 0.0 else most


def _upper(beyond: Callable[..., tuple[float, float]], of: tuple, guess: float, whole: Point) -> float:
    """Return the upper root of a growing excess: by Newton's method from a guess, else from above, else by halving."""
    v = guess
    for n in range(ROUNDS):
        value, slope = beyond(v, *of)
        if slope <= 0.0:
            break
        step = value / slope
        if n == 0 and not -NEAR < step < NEAR:
            v = _above(whole)
            continue
        v -= step
        if -CLOSE < step < CLOSE:
            return v
        if v < LEAST:
            break
    return _halved(lambda v: beyond(v, *of))


def _halved(beyond: Callable[[float], tuple[float, float]]) -> float:
    """Return the upper root by search from above, or the least voltage where there is none."""
    grid = [MOST - n * (MOST - LEAST) / GRID for n in range(GRID + 1)]
    below = next((n for n, v in enumerate(grid) if beyond(v)[0] < 0.0), None)
    if below is None:
        return LEAST
    if below == 0:
        return MOST
    low, high = grid[below], grid[below - 1]
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if beyond(middle)[0] < 0.0 else (low, middle)
    return high
