"""A dead short: what a battery drives through it, near and far."""

from __future__ import annotations

from calc.tables import assumption

REFERENCE_CAPACITY = 100.0
"""Capacity that the tabled internal resistances stand for [Ah]."""


def internal_resistance(chemistry: str, capacity: float) -> tuple[float, float, float]:
    """Return what a 12 V battery's internal resistance may be; it falls in proportion to the capacity.

    An assumption from memory, with its spread; a battery's own sheet knows better.

    Parameters
    ----------
    chemistry : "flooded", "calcium", "agm", "gel" or "lfp" [-]
    capacity : on the label, above 0 [Ah]

    Returns
    -------
    resistance : lowest, usual and highest [ohm]

    Examples
    --------
    >>> internal_resistance("agm", 50)
    (0.005, 0.01, 0.02)
    """
    row = assumption(f"internal_resistance_{chemistry}")
    low, usual, high = (row[name] * REFERENCE_CAPACITY / capacity for name in ("low", "value", "high"))
    return low, usual, high


def driving_voltage(chemistry: str) -> tuple[float, float, float]:
    """Return the voltage inside a 12 V battery that drives a short.

    Parameters
    ----------
    chemistry : "flooded", "calcium", "agm", "gel" or "lfp" [-]

    Returns
    -------
    voltage : lowest, usual and highest [V]

    Examples
    --------
    >>> driving_voltage("agm")
    (12.0, 12.6, 13.2)
    """
    row = assumption("fault_voltage_lfp" if chemistry == "lfp" else "fault_voltage_lead_acid")
    return row["low"], row["value"], row["high"]


def short_circuit_current(voltage: float, battery: float, cable: float) -> float:
    """Return the current through a dead short: I = U / (Rbattery + Rcable).

    A cable between two batteries feeds a short from both ends: its current is the sum of the two sides.

    Parameters
    ----------
    voltage : inside the battery [V]
    battery : internal resistance, above 0 [ohm]
    cable : there and back to the short, joints included; 0 at the battery's own terminals [ohm]

    Returns
    -------
    current : through the short [A]

    Examples
    --------
    >>> round(short_circuit_current(12.0, 0.01, 0.05), 6)
    200.0
    """
    return voltage / (battery + cable)


def weakest(chemistry: str, capacity: float, cable: float) -> float:
    """Return the least that a battery drives into a dead short: empty, aged and cold.

    Parameters
    ----------
    chemistry : as in `internal_resistance` [-]
    capacity : on the label [Ah]
    cable : there and back to the short [ohm]

    Returns
    -------
    current : through the short [A]

    Examples
    --------
    >>> round(weakest("agm", 100, 0))
    1200
    """
    return short_circuit_current(driving_voltage(chemistry)[0], internal_resistance(chemistry, capacity)[2], cable)


def usual(chemistry: str, capacity: float, cable: float) -> float:
    """Return what a battery usually drives into a dead short.

    Parameters
    ----------
    chemistry : as in `internal_resistance` [-]
    capacity : on the label [Ah]
    cable : there and back to the short [ohm]

    Returns
    -------
    current : through the short [A]

    Examples
    --------
    >>> round(usual("agm", 100, 0))
    2520
    """
    return short_circuit_current(driving_voltage(chemistry)[1], internal_resistance(chemistry, capacity)[1], cable)


def strongest(chemistry: str, capacity: float, cable: float) -> float:
    """Return the most that a battery drives into a dead short: new, warm and full.

    Parameters
    ----------
    chemistry : as in `internal_resistance` [-]
    capacity : on the label [Ah]
    cable : there and back to the short [ohm]

    Returns
    -------
    current : through the short [A]

    Examples
    --------
    >>> round(strongest("agm", 100, 0))
    5280
    """
    return short_circuit_current(driving_voltage(chemistry)[2], internal_resistance(chemistry, capacity)[0], cable)
