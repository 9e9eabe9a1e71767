"""Peukert's law: how long a battery lasts at another current than it is rated at."""

from __future__ import annotations

import math


def hours(capacity: float, rated_hours: float, current: float, exponent: float) -> float:
    """Return how long a full battery lasts at a steady current (Peukert 1897).

    t = H · (C / (I·H))^k, with C the capacity at the H-hour rate. The other reading of the law, in which C is the
    capacity at one ampere, gives other hours for the same battery. It holds for a steady current within a few
    times the rated one; it counts no recovery in pauses, and promises too much at currents far below the rated one.

    Parameters
    ----------
    capacity : C, at the rated time [Ah]
    rated_hours : H, 20 for most labels [h]
    current : I, above 0 [A]
    exponent : k, 1 to 2 [-]

    Returns
    -------
    hours : from full to flat [h]

    Examples
    --------
    >>> round(hours(100, 20, 10, 1.2), 2)
    8.71
    >>> hours(100, 20, 5, 1.2)
    20.0
    """
    return rated_hours * (capacity / (current * rated_hours)) ** exponent


def lasts(capacity: float, rated_hours: float, current: float, exponent: float, points: float) -> float:
    """Return how long a load runs on some points of charge.

    Peukert's law above the rated current; at or below it plain division, as no gain is counted there.

    Parameters
    ----------
    capacity : at the rated time [Ah]
    rated_hours : 20 for most labels [h]
    current : above 0 [A]
    exponent : 1 to 2 [-]
    points : of charge that are used [%]

    Returns
    -------
    hours : until they are gone [h]

    Examples
    --------
    >>> lasts(100, 20, 2.5, 1.2, 50), round(lasts(100, 20, 10, 1.2, 50), 2)
    (20.0, 4.35)
    """
    if current <= capacity / rated_hours:
        return capacity * points / 100 / current
    return hours(capacity, rated_hours, current, exponent) * points / 100


def capacity_at(capacity: float, rated_hours: float, current: float, exponent: float) -> float:
    """Return the ampere-hours that a full battery gives at a steady current: I·t (Peukert 1897).

    Parameters
    ----------
    capacity : at the rated time [Ah]
    rated_hours : 20 for most labels [h]
    current : above 0 [A]
    exponent : 1 to 2 [-]

    Returns
    -------
    capacity : at that current [Ah]

    Examples
    --------
    >>> round(capacity_at(100, 20, 50, 1.1), 1)
    79.4
    """
    return current * hours(capacity, rated_hours, current, exponent)


def exponent(current_1: float, hours_1: float, current_2: float, hours_2: float) -> float:
    """Return Peukert's exponent from two tests of one battery: (ln t2 − ln t1) / (ln I1 − ln I2).

    Parameters
    ----------
    current_1 : of the first test [A]
    hours_1 : it lasted [h]
    current_2 : of the second test, another current [A]
    hours_2 : it lasted [h]

    Returns
    -------
    exponent : k [-]

    Examples
    --------
    >>> round(exponent(5, 20, 10, 8.7055), 3)
    1.2
    """
    return (math.log(hours_2) - math.log(hours_1)) / (math.log(current_1) - math.log(current_2))
