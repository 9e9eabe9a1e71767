"""A lithium iron phosphate battery of four cells: resting voltage with its hysteresis, and what the cold leaves."""

from __future__ import annotations

from functools import cache

from calc.physics.interpolate import linear
from calc.tables import table

CELLS = 4
"""Cells in a 12 V lithium iron phosphate battery."""

BRANCHES = {"charge": 0.5, "load": -0.5, "unknown": 0.0}
"""Where a rested cell stands within the hysteresis, as a share of its width, by what came before."""


@cache
def curve(came_from: str) -> tuple[list[float], list[float]]:
    """Return the resting voltages of a battery of four cells, rising, and the charge at each (Naumann 2018).

    Parameters
    ----------
    came_from : what came before the rest: "charge", "load" or "unknown" (the mean of both) [-]

    Returns
    -------
    voltages, charges : points of the curve [V], [%]

    Examples
    --------
    >>> voltages, charges = curve("charge")
    >>> round(voltages[charges.index(50)], 3)
    13.235
    """
    rows = table("simses_lfp_ocv").rows
    side = BRANCHES[came_from]
    return [CELLS * (row["cell"] + side * row["hysteresis"]) for row in rows], [row["charge"] for row in rows]


def rest_voltage(charge: float, came_from: str = "unknown") -> float:
    """Return the resting voltage of four cells in series at 25 °C (Naumann 2018).

    Parameters
    ----------
    charge : state of charge, 0 to 100 [%]
    came_from : "charge", "load" or "unknown" [-]

    Returns
    -------
    voltage : of the battery [V]

    Examples
    --------
    >>> round(rest_voltage(50), 3)
    13.198
    """
    voltages, charges = curve(came_from)
    return linear(charge, charges, voltages)


def cold_share(temperature: float) -> float:
    """Return how much of its rated capacity an LFP battery gives when cold (from memory).

    Parameters
    ----------
    temperature : of the battery [degC]

    Returns
    -------
    share : 0.6 to 1 [-]

    Examples
    --------
    >>> cold_share(0)
    0.85
    """
    rows = table("memory_lfp_cold")
    return linear(temperature, rows.column("temperature"), rows.column("capacity")) / 100
