"""The gas that a battery makes while it is charged, and the air and the openings that carry it away."""

from __future__ import annotations

import math

from calc.physics import charging
from calc.tables import table

SEALED = ("agm", "gel")
"""Chemistries whose valves hold the gas back, so that most of it turns to water again."""

LITRES = 1000.0
"""Litres in a cubic metre [-]."""


def constant(key: str) -> float:
    """Return a constant of the rules for ventilation, in the unit that its table gives.

    Parameters
    ----------
    key : its name there [-]

    Returns
    -------
    value : the constant [-]

    Examples
    --------
    >>> constant("opening")
    28.0
    """
    return table("ventilation").row(key=key)["value"]


def kind(chemistry: str) -> str | None:
    """Return how the standards call a battery; a calcium battery is vented like a flooded one, if without caps.

    Parameters
    ----------
    chemistry : a key of the chemistries [-]

    Returns
    -------
    kind : "flooded" or "sealed"; None for lithium iron phosphate, which they do not cover

    Examples
    --------
    >>> kind("calcium"), kind("gel"), kind("lfp")
    ('flooded', 'sealed', None)
    """
    return None if chemistry == "lfp" else "sealed" if chemistry in SEALED else "flooded"


def gas_rate(kind: str, charging: str) -> float:
    """Return the current that makes gas for each ampere-hour: Igas = I·fg·fs (IEC 62485-2, its table).

    Holds to about 40 °C, for lead-acid plates with less than 3 % antimony, and for a charger that limits its voltage.

    Parameters
    ----------
    kind : "flooded", "sealed" or "nicd" [-]
    charging : "float" or "boost" [-]

    Returns
    -------
    rate : for each ampere-hour of 10-hour capacity [mA/Ah]

    Examples
    --------
    >>> gas_rate("flooded", "boost"), gas_rate("sealed", "float")
    (20.0, 1.0)
    """
    row = table("iec_62485_2").row(kind=kind, charging=charging)
    return row["current"] * row["emission"] * row["safety"]


def traction_gas_rate(kind: str, charger: str) -> float:
    """Return the highest current that makes gas for each ampere-hour by the standard for traction (IEC 62485-3).

    Parameters
    ----------
    kind : "flooded" or "sealed" [-]
    charger : "iu" (held at 2.4 V per cell), "iui" (no voltage limit) or, flooded only, "w" (not regulated) [-]

    Returns
    -------
    rate : for each ampere-hour of capacity [mA/Ah]

    Examples
    --------
    >>> traction_gas_rate("flooded", "w"), traction_gas_rate("sealed", "iu")
    (70.0, 10.0)
    """
    return 10 * table("iec_62485_3").row(kind=kind, charger=charger)["high"]


def heat_factor(temperature: float) -> float:
    """Return how many times the gas a battery makes that is hotter than the standard's currents hold for.

    By the gassing equation of Schiffer et al. 2007 at equal voltage; 1 up to 40 °C.

    Parameters
    ----------
    temperature : of the battery, −40 to 80 [degC]

    Returns
    -------
    factor : 1 or more [-]

    Examples
    --------
    >>> heat_factor(25), round(heat_factor(50), 2)
    (1.0, 1.82)
    """
    hottest = constant("hottest")
    volts = charging.constant("gas_volts")
    hot, base = (charging.gassing_current(volts, t, False) for t in (max(temperature, hottest), hottest))
    return hot / base


def gas_current(rate: float, capacity: float) -> float:
    """Return the current that makes gas in a battery.

    Parameters
    ----------
    rate : for each ampere-hour [mA/Ah]
    capacity : of the battery [Ah]

    Returns
    -------
    current : that makes gas in each cell [A]

    Examples
    --------
    >>> gas_current(20, 100)
    2.0
    """
    return rate * capacity / 1000


def unregulated_gas_current(rating: float, factor: float = 1.0) -> float:
    """Return the current that makes gas on a charger that limits no voltage: 40 % of its rating (IEC 62485-3).

    Heat raises it, at most to all that the charger gives.

    Parameters
    ----------
    rating : of the charger [A]
    factor : for heat, 1 or more [-]

    Returns
    -------
    current : that makes gas in each cell [A]

    Examples
    --------
    >>> unregulated_gas_current(10), unregulated_gas_current(10, 5)
    (4.0, 10.0)
    """
    return rating * min(1.0, constant("unregulated") * factor)


def air_flow(cells: int, gas_current: float, rounded: bool = True) -> float:
    """Return the air that keeps hydrogen below 4 %: Q = v·q·s·n·Igas (IEC 62485-2).

    v = (100 − 4)/4 = 24, q = 0.42e-3 m³/Ah, s = 5: their product 0.0504 is rounded to 0.05 in the standard.

    Parameters
    ----------
    cells : in series [-]
    gas_current : that makes gas, of all batteries side by side [A]
    rounded : whether to count 0.05, as the standard prints it, and not 0.0504 [-]

    Returns
    -------
    flow : of fresh air [m3/h]

    Examples
    --------
    >>> round(air_flow(6, 2.0), 6)
    0.6
    >>> round(air_flow(95, 7.25, rounded=False), 2)
    34.71
    """
    danger = constant("danger")
    exact = (100 - danger) / danger * constant("hydrogen") * constant("safety")
    return (constant("air_factor") if rounded else exact) * cells * gas_current


def old_rule_air_flow(cells: int, current: float, kind: str) -> float:
    """Return the air that an old Swedish rule asks for: Q = 0.017 l/s · I · n · z, z = 1 vented and 0.2 sealed.

    Parameters
    ----------
    cells : in series [-]
    current : that flows into the full battery [A]
    kind : "flooded" or "sealed" [-]

    Returns
    -------
    flow : of fresh air [m3/h]

    Examples
    --------
    >>> round(old_rule_air_flow(1, 1, "flooded"), 4)
    0.0612
    """
    return 3600 / LITRES * constant("old_rule") * constant(f"old_rule_{kind}") * cells * current


def opening_area(air_flow: float) -> float:
    """Return the area that each of inlet and outlet needs: A = 28·Q, for air that moves at 0.1 m/s (IEC 62485-2).

    Parameters
    ----------
    air_flow : of fresh air [m3/h]

    Returns
    -------
    area : of each of the two openings [cm2]

    Examples
    --------
    >>> round(opening_area(0.6), 6)
    16.8
    """
    return constant("opening") * air_flow


def round_opening(area: float) -> float:
    """Return the inner diameter of a round hole of an area.

    Parameters
    ----------
    area : of the hole [cm2]

    Returns
    -------
    diameter : of the hole [mm]

    Examples
    --------
    >>> round(round_opening(16.8), 1)
    46.2
    """
    return 10 * math.sqrt(4 * area / math.pi)


def free_volume(air_flow: float) -> float:
    """Return the free air of a large and well aired room that needs no openings of its own: V = 2.5·Q (IEC 62485-2).

    Parameters
    ----------
    air_flow : of fresh air [m3/h]

    Returns
    -------
    volume : at least [l]

    Examples
    --------
    >>> round(free_volume(0.6))
    1500
    """
    return LITRES * constant("room") * air_flow


def hours_to_danger(volume: float, cells: int, gas_current: float) -> float:
    """Return how soon hydrogen reaches 4 % in a box that lets nothing out: t = V·4 %/(q·n·Igas), evenly mixed.

    Parameters
    ----------
    volume : of air in the box [l]
    cells : in series [-]
    gas_current : that makes gas, above 0 [A]

    Returns
    -------
    hours : until the air in it can burn [h]

    Examples
    --------
    >>> round(hours_to_danger(60, 6, 2.0), 2)
    0.48
    """
    return volume / LITRES * constant("danger") / 100 / (constant("hydrogen") * cells * gas_current)


def safety_distance(cells: int, gas_current: float) -> float:
    """Return how far from the battery nothing may spark or glow: d = 28.8 mm · ∛n · ∛Igas · ∛C. From memory.

    Parameters
    ----------
    cells : in series [-]
    gas_current : that makes gas, Igas·C [A]

    Returns
    -------
    distance : through the air [m]

    Examples
    --------
    >>> round(safety_distance(6, 2.0), 2)
    0.66
    """
    return constant("distance") / 1000 * (cells * gas_current * 1000) ** (1 / 3)
