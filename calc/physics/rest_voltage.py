"""Charge from the voltage of a battery at rest, and how far the two may part."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from calc.physics import lead_acid, lfp
from calc.physics.interpolate import linear
from calc.tables import table


@dataclass(frozen=True)
class Curve:
    """Resting voltage against charge by one source.

    Attributes
    ----------
    source : key of `calc.sources`
    where : which of its figures
    voltages : rising, of the battery [V]
    charges : at each [%]
    """

    source: str
    where: str
    voltages: tuple[float, ...]
    charges: tuple[float, ...]

    def charge(self, voltage: float) -> float:
        """Return the charge at a resting voltage, 0 to 100 [%]."""
        return min(100.0, max(0.0, self.acid_charge(voltage)))

    def acid_charge(self, voltage: float) -> float:
        """Return the charge at a resting voltage; below the curve its last line goes on, below 0 as well [%]."""
        v, q = self.voltages, self.charges
        if voltage < v[0]:
            return q[0] + (q[1] - q[0]) / (v[1] - v[0]) * (voltage - v[0])
        return linear(voltage, v, q)

    def voltage(self, charge: float) -> float:
        """Return the resting voltage at a charge [V]."""
        return linear(charge, self.charges, self.voltages)


def _curve(name: str, column: str, source: str = "", where: str = "") -> Curve:
    """Return a column of a table as a curve."""
    t = table(name)
    rows = [row for row in t.rows if row[column] is not None]
    return Curve(
        source or t.head["source"],
        where or t.head["where"],
        tuple(row[column] for row in rows),
        tuple(row["charge"] for row in rows),
    )


def _agm(column: str, full: str) -> Curve:
    """Return one reading of the vehicle maker's AGM table, its open flat end closed from memory."""
    maker, flat = _curve("agm_vehicle_rest_voltage", column), _curve("memory_rest_voltage", "agm")
    where = f"{maker.where}, full at {full}; its flat end from memory"
    return Curve(maker.source, where, flat.voltages + maker.voltages, flat.charges + maker.charges)


@cache
def curves(chemistry: str, came_from: str = "unknown") -> tuple[Curve, ...]:
    """Return every curve of a chemistry; the first is the one an answer follows, the others widen its range.

    Parameters
    ----------
    chemistry : "flooded", "calcium", "agm", "gel" or "lfp" [-]
    came_from : for LFP, what came before the rest: "charge", "load" or "unknown" [-]

    Returns
    -------
    curves : at least one [V], [%]

    Examples
    --------
    >>> [c.source for c in curves("flooded")]
    ['bci', 'tm-5-3805', 'sign-manual']
    """
    if chemistry == "flooded":
        return (
            _curve("bci_rest_voltage", "voltage"),
            _curve("tm_5_3805_rest_voltage", "voltage"),
            _curve("sign_manual_rest_voltage", "voltage"),
        )
    if chemistry == "agm":
        return _agm("voltage_low", "12.8 V"), _agm("voltage_high", "13.2 V")
    if chemistry in ("calcium", "gel"):
        return (_curve("memory_rest_voltage", chemistry),)
    branches = ("unknown", "charge", "load") if came_from == "unknown" else (came_from,)
    words = {"unknown": "mean of both ways", "charge": "after charge", "load": "after load"}
    return tuple(Curve("simses-lfp", words[b], *map(tuple, lfp.curve(b))) for b in branches)


def charge_at_rest(voltage: float, chemistry: str, came_from: str = "unknown") -> float:
    """Return the charge that a fully rested battery has at a voltage, at the temperature of its table.

    Lead-acid at 26.7 °C (flooded: BCI; AGM: a vehicle maker's table; calcium and gel from memory), LFP by Naumann
    2018. Straight lines between the points; level outside them.

    Parameters
    ----------
    voltage : at rest [V]
    chemistry : "flooded", "calcium", "agm", "gel" or "lfp" [-]
    came_from : for LFP, what came before the rest: "charge", "load" or "unknown" [-]

    Returns
    -------
    charge : state of charge, 0 to 100 [%]

    Examples
    --------
    >>> round(charge_at_rest(12.24, "flooded"), 6)
    50.0
    """
    return curves(chemistry, came_from)[0].charge(voltage)


def voltage_at_rest(charge: float, chemistry: str, came_from: str = "unknown") -> float:
    """Return the voltage at which a fully rested battery has a charge: the inverse of `charge_at_rest`.

    Parameters
    ----------
    charge : state of charge, 0 to 100 [%]
    chemistry : "flooded", "calcium", "agm", "gel" or "lfp" [-]
    came_from : for LFP, what came before the rest: "charge", "load" or "unknown" [-]

    Returns
    -------
    voltage : at rest [V]

    Examples
    --------
    >>> round(voltage_at_rest(50, "flooded"), 6)
    12.24
    """
    return curves(chemistry, came_from)[0].voltage(charge)


def settling(start: float, half_time: float, rested: float) -> float:
    """Return how far a resting battery still reads from its settled voltage: start / (1 + rested / half_time).

    A law of our own, from memory of how batteries settle: fast at first, then ever slower, so that a trace is left
    after a night. Test guides ask for at least 8 h of rest, better 24 h.

    Parameters
    ----------
    start : distance as the current stops [V]
    half_time : when half of it is gone [h]
    rested : since then, 0 or more [h]

    Returns
    -------
    distance : still left [V]

    Examples
    --------
    >>> settling(0.5, 0.5, 0.5)
    0.25
    """
    return start / (1 + rested / half_time)


def band(
    voltage: float,
    shift: float,
    reads_high: float,
    reads_low: float,
    other: float,
) -> tuple[float, float]:
    """Return the settled voltages that a reading may stand for.

    The doubts have nothing to do with each other, so they add as squares: √(a² + b²).

    Parameters
    ----------
    voltage : the reading [V]
    shift : what is added to it for its temperature [V]
    reads_high : by how much it may still stand above the settled voltage [V]
    reads_low : by how much it may still stand below [V]
    other : all doubts that act both ways, already added as squares [V]

    Returns
    -------
    low, high : settled voltage [V], [V]

    Examples
    --------
    >>> band(12.5, 0, 0.3, 0, 0.4)
    (12.0, 12.9)
    """
    settled = voltage + shift
    return settled - math.hypot(reads_high, other), settled + math.hypot(reads_low, other)


def charge_range(low: float, high: float, chemistry: str, came_from: str = "unknown") -> tuple[float, float]:
    """Return the least and the most charge between two settled voltages, by any curve of the chemistry.

    Parameters
    ----------
    low : lowest settled voltage [V]
    high : highest settled voltage [V]
    chemistry : "flooded", "calcium", "agm", "gel" or "lfp" [-]
    came_from : for LFP, what came before the rest: "charge", "load" or "unknown" [-]

    Returns
    -------
    low, high : state of charge, 0 to 100 [%], [%]

    Examples
    --------
    >>> [round(q, 1) for q in charge_range(12.24, 12.24, "flooded")]
    [50.0, 55.0]
    """
    known = curves(chemistry, came_from)
    return min(c.charge(low) for c in known), max(c.charge(high) for c in known)


def weakest_acid(low: float, chemistry: str) -> float:
    """Return the least charge that the acid may stand at, below 0 % for a battery flatter than flat.

    Parameters
    ----------
    low : lowest settled voltage [V]
    chemistry : "flooded", "calcium", "agm" or "gel" [-]

    Returns
    -------
    charge : for `calc.physics.lead_acid.gravity` [%]

    Examples
    --------
    >>> round(weakest_acid(11.72, "flooded"), 1)
    -25.0
    """
    return min(c.acid_charge(low) for c in curves(chemistry))


def temperature_shift(temperature: float, coefficient: float, chemistry: str) -> float:
    """Return what is added to a reading to bring it to the temperature of the table: n · c · (T_table − T).

    Parameters
    ----------
    temperature : of the battery [degC]
    coefficient : c, volts per degree and cell; its unit is V per °C [-]
    chemistry : "flooded", "calcium", "agm", "gel" or "lfp" [-]

    Returns
    -------
    shift : added to the reading [V]

    Examples
    --------
    >>> round(temperature_shift(-3.3, 0.0002, "flooded"), 3)
    0.036
    """
    if chemistry == "lfp":
        return lfp.CELLS * coefficient * (LFP_TABLE_TEMPERATURE - temperature)
    return lead_acid.CELLS * coefficient * (lead_acid.TABLE_TEMPERATURE - temperature)


LFP_TABLE_TEMPERATURE = 25.0
"""Temperature of the measured LFP curve [degC]. Naumann 2018."""
