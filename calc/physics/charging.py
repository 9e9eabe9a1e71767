"""Charging a 12 V battery: the voltage it wants, what too little of it can reach, and when it must not be charged."""

from __future__ import annotations

import math

from calc.physics import lead_acid, lfp
from calc.physics.interpolate import linear
from calc.tables import table

BASE_TEMPERATURE = 25.0
"""Battery temperature that charge voltages are printed for [degC]."""

TAIL = 0.02
"""Charging current, for each ampere-hour of capacity, below which a charge counts as ended [-].
Common practice, no source: chargers end between 0.01 and 0.02."""

HALF = 50.0
"""Charge that the time to charge is counted from [%]."""

PANELS = 100
"""Panels of Simpson's rule; the time changes by less than 1e-5 of itself with twice as many [-]."""


def cells(chemistry: str) -> int:
    """Return how many cells in series make the 12 V battery.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]

    Returns
    -------
    number : 6 for lead-acid, 4 for lithium iron phosphate [-]

    Examples
    --------
    >>> cells("agm"), cells("lfp")
    (6, 4)
    """
    return lfp.CELLS if chemistry == "lfp" else lead_acid.CELLS


def compensated(voltage: float, temperature: float, compensation: float) -> float:
    """Return a charge voltage at another battery temperature: U(T) = U(25) − k·(T − 25).

    A battery-education text prints the float of a lead-acid battery by this law at 15, 25 and 35 °C.

    Parameters
    ----------
    voltage : for a battery at 25 °C [V]
    temperature : of the battery, −40 to 80 [degC]
    compensation : volts to take off for each degree above 25 [-]

    Returns
    -------
    voltage : at that temperature [V]

    Examples
    --------
    >>> round(compensated(13.8, 15, 0.018), 2)
    13.98
    """
    return voltage - compensation * (temperature - BASE_TEMPERATURE)


def stage_row(chemistry: str, stage: str) -> dict:
    """Return the row of the table of charge voltages: value, unit, source, where, confidence.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    stage : "absorption_low", "absorption_high", "float_low", "float_high", "equalise_low", "equalise_high" or
        "compensation" [-]

    Returns
    -------
    row : as the table holds it [-]

    Raises
    ------
    KeyError
        where a chemistry has no such stage.

    Examples
    --------
    >>> stage_row("gel", "absorption_low")["where"]
    '2.35 V per cell for cycling'
    """
    return table("charge_voltages").row(chemistry=chemistry, stage=stage)


def stage_voltage(chemistry: str, stage: str, temperature: float) -> float:
    """Return the voltage of a stage of the charge at a battery temperature.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    stage : as in `stage_row`, such as "absorption_low" [-]
    temperature : of the battery, −40 to 80 [degC]

    Returns
    -------
    voltage : at the battery's posts [V]

    Examples
    --------
    >>> round(stage_voltage("gel", "absorption_low", 25), 2)
    14.1
    >>> stage_voltage("lfp", "absorption_high", 5)
    14.6
    """
    compensation = stage_row(chemistry, "compensation")["value"]
    return compensated(stage_row(chemistry, stage)["value"], temperature, compensation)


def constant(key: str) -> float:
    """Return a constant of Schiffer et al., in the unit that its table gives.

    Parameters
    ----------
    key : its name there [-]

    Returns
    -------
    value : the constant [-]

    Examples
    --------
    >>> constant("rho_c")
    0.42
    """
    return table("schiffer_2007").row(key=key)["value"]


def cell_voltage(rate: float, charge: float) -> float:
    """Return the voltage of a lead-acid cell that is being charged (Schiffer et al. 2007, voltage equation).

    U = U0 − g·(1 − SoC) + rho_c·(I/C)·(1 + Mc·SoC/(Cc − SoC)), at 25 °C.

    Parameters
    ----------
    rate : charging current for each ampere-hour of capacity, 0 to 1 [-]
    charge : state of charge [%]

    Returns
    -------
    voltage : of one cell [V]

    Examples
    --------
    >>> round(cell_voltage(0.1, 50), 3)
    2.181
    """
    soc = charge / 100
    transfer = constant("Mc") * soc / (constant("Cc") - soc)
    return constant("U0") - constant("g") * (1 - soc) + constant("rho_c") * rate * (1 + transfer)


def rate_at(voltage: float, charge: float) -> float:
    """Return the current that a lead-acid cell takes while it is held at a voltage: `cell_voltage` turned round.

    Parameters
    ----------
    voltage : of one cell [V]
    charge : state of charge [%]

    Returns
    -------
    rate : amperes for each ampere-hour of capacity, below 0 where the cell would discharge [-]

    Examples
    --------
    >>> round(rate_at(cell_voltage(0.1, 50), 50), 9)
    0.1
    """
    soc = charge / 100
    transfer = constant("Mc") * soc / (constant("Cc") - soc)
    return (voltage - constant("U0") + constant("g") * (1 - soc)) / (constant("rho_c") * (1 + transfer))


def taper_charge(voltage: float, rate: float) -> float:
    """Return the charge at which a lead-acid cell, held at a voltage, takes no more than a given current.

    `cell_voltage` solved for the charge: with A = U − U0 + g − r and r = rho_c·I/C,
    g·SoC² − (A + g·Cc + r·Mc)·SoC + A·Cc = 0, of which the smaller root is meant.

    Parameters
    ----------
    voltage : of one cell [V]
    rate : amperes for each ampere-hour of capacity, above 0 [-]

    Returns
    -------
    charge : state of charge, 0 where even an empty cell takes less [%]

    Examples
    --------
    >>> round(taper_charge(2.40, 0.01), 1), round(taper_charge(2.20, 0.01), 1)
    (98.7, 94.3)
    """
    g, limit = constant("g"), constant("Cc")
    loss = constant("rho_c") * rate
    spare = voltage - constant("U0") + g - loss
    if spare <= 0:
        return 0.0
    middle = spare + g * limit + loss * constant("Mc")
    # The smaller root, written so that nothing cancels.
    soc = 2 * spare * limit / (middle + math.sqrt(middle**2 - 4 * g * spare * limit))
    return 100 * min(1.0, soc)


def cell_voltage_at_25(chemistry: str, voltage: float, temperature: float) -> float:
    """Return the cell voltage at 25 °C that charges as much as a battery's voltage does at its own temperature.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    voltage : at the battery's posts [V]
    temperature : of the battery [degC]

    Returns
    -------
    voltage : of one cell at 25 °C [V]

    Examples
    --------
    >>> round(cell_voltage_at_25("agm", 14.4, 15), 3)
    2.37
    """
    compensation = stage_row(chemistry, "compensation")["value"]
    return compensated(voltage, temperature, -compensation) / cells(chemistry)


def reachable_charge(chemistry: str, voltage: float, temperature: float) -> float:
    """Return the charge that a battery reaches at a voltage, however long it stands on it.

    Lead-acid: the charge at which the current has tapered to TAIL, by Schiffer et al. 2007, as a share of the charge
    that the low end of the absorption range reaches by the same rule; what is still missing then takes days. Cold and
    heat enter as the shift of the charge voltage alone; age, sulphation and the charger's own limit are not known.
    Lithium iron phosphate: the charge at which a cell that was charged rests at this voltage (Naumann 2018).

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    voltage : at the battery's posts at the end of the charge, 0 to 60 [V]
    temperature : of the battery, −40 to 80 [degC]

    Returns
    -------
    charge : 100 where the voltage is in the absorption range or above it [%]

    Examples
    --------
    >>> reachable_charge("agm", 14.4, 25)
    100.0
    >>> round(reachable_charge("agm", 13.2, 25))
    92
    """
    if voltage >= stage_voltage(chemistry, "absorption_low", temperature):
        return 100.0
    if chemistry == "lfp":
        return linear(voltage, *lfp.curve("charge"))
    enough = stage_row(chemistry, "absorption_low")["value"] / cells(chemistry)
    reached = taper_charge(cell_voltage_at_25(chemistry, voltage, temperature), TAIL)
    return min(100.0, 100 * reached / taper_charge(enough, TAIL))


def charging_hours(voltage: float, first: float, last: float) -> float:
    """Return the least time a lead-acid cell needs from one charge to another while it is held at a voltage.

    The integral of dSoC / (I/C) with the current of `rate_at`: no charger is stronger than that, so a real one
    takes longer.

    Parameters
    ----------
    voltage : of one cell, at 25 °C [V]
    first : charge at the start [%]
    last : charge at the end, not above what the voltage reaches [%]

    Returns
    -------
    hours : at least; 0 where the end lies below the start [h]

    Examples
    --------
    >>> round(charging_hours(2.40, 50, 95), 1)
    3.2
    """
    if last <= first:
        return 0.0
    width = (last - first) / PANELS
    each = [1 / rate_at(voltage, first + n * width) for n in range(PANELS + 1)]
    inner = 4 * sum(each[1:-1:2]) + 2 * sum(each[2:-1:2])
    return (each[0] + inner + each[-1]) * width / 3 / 100


def gassing_current(voltage: float, temperature: float, sealed: bool) -> float:
    """Return the current that makes gas in a lead-acid battery of 100 Ah (Schiffer et al. 2007, gassing equation).

    I = I0 · exp(cu·(U − 2.23 V) + cT·(T − 298 K)). For a new battery; an aged one gasses up to five times as much.

    Parameters
    ----------
    voltage : of one cell, about 2.0 to 2.7 [V]
    temperature : of the battery [degC]
    sealed : whether it is sealed (AGM, gel) [-]

    Returns
    -------
    current : for each 100 Ah of capacity [A]

    Examples
    --------
    >>> round(gassing_current(2.40, 24.85, True), 3)
    0.065
    """
    base = constant("gas_sealed" if sealed else "gas_flooded")
    volts = constant("gas_per_volt") * (voltage - constant("gas_volts"))
    heat = constant("gas_per_degree") * (temperature - constant("gas_temperature"))
    return base * math.exp(volts + heat)


def temperature_band(chemistry: str, temperature: float) -> dict:
    """Return the row of the table of charging temperatures that a battery's temperature falls in.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]
    temperature : of the battery, −60 to 300 [degC]

    Returns
    -------
    row : level ("ok", "caution" or "stop"), low, high, rate, source and where [-]

    Examples
    --------
    >>> [temperature_band("lfp", t)["level"] for t in (-1, 0, 45, 46)]
    ['stop', 'caution', 'ok', 'stop']
    >>> [temperature_band("agm", t)["level"] for t in (42, 43, 50)]
    ['ok', 'caution', 'stop']
    """
    kind = "lfp" if chemistry == "lfp" else "lead"
    rows = table("charge_temperatures").rows
    return next(row for row in rows if row["kind"] == kind and row["low"] <= temperature <= row["high"])
